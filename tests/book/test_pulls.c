/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/book_test.h"
#include "book/inside.h"

/* Force of a mass under standard gravity, and of the pound (0.45359237 kg):
 * exact by definition; source: NIST SP 811 (2008), appendix B. */
static const double kilogram_N = 9.80665, pound_N = 9.80665 * 0.45359237;

static void every_field_of_a_row_is_kept(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,design,knot,version,turns,line A,spool A,line B,spool B,hardware,soak,"
             "speed,free length,tyer,lubricant,session,order,load (lb),what,where,which,reason,"
             "note\n"
             "K-07,two different,uni,well tied,6,nylon 12 lb,s3,braid 20 lb,s9,ring,90 min,"
             "175 mm/min,0.62 m,left hand,spit,2026-03-01,17,8.35,slipped then broke,at its entry,"
             "line B,,\"tag moved, then held\"\n");
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->pulls_count, 1);
  assert_int_equal(record->lines_count, 2);
  assert_int_equal(record->knots_count, 1);
  const struct be_pull *pull = &record->pulls[0];
  assert_string_equal(pull->code, "K-07");
  assert_int_equal(pull->design, BE_DESIGN_TWO_DIFFERENT);
  assert_string_equal(record->knots[pull->knot].full, "uni, 6 turns (well tied)");
  assert_string_equal(record->lines[pull->line_a].name, "nylon 12 lb");
  assert_string_equal(record->lines[pull->line_a].spool, "s3");
  assert_string_equal(record->lines[pull->line_b].name, "braid 20 lb");
  assert_string_equal(record->lines[pull->line_b].spool, "s9");
  assert_string_equal(pull->hardware, "ring");
  assert_int_equal(pull->soak, BE_SOAK_SOAKED);
  assert_near(pull->soak_s, 5400, 0);
  assert_near(pull->speed_m_s, 0.175 / 60, 1e-15);
  assert_near(pull->length_m, 0.62, 1e-15);
  assert_string_equal(pull->tyer, "left hand");
  assert_string_equal(pull->lubricant, "spit");
  assert_string_equal(pull->session, "2026-03-01");
  assert_near(pull->order, 17, 0);
  assert_int_equal(pull->kind, BE_KIND_EVENT);
  assert_near(pull->load_N, 8.35 * pound_N, 1e-12);
  assert_string_equal(pull->load_text, "8.35");
  assert_string_equal(pull->load_unit, "lb");
  assert_int_equal(pull->what, BE_WHAT_SLIPPED_BROKE);
  assert_int_equal(pull->where, BE_WHERE_ENTRY);
  assert_int_equal(pull->which, BE_WHICH_B);
  assert_null(pull->reason);
  assert_string_equal(pull->note, "tag moved, then held");
  assert_int_equal(pull->corrections, 0);
  assert_string_equal(pull->file, "day.csv");
  assert_int_equal(pull->file_line, 2);
  assert_int_equal(pull->trace, 0);
  assert_sound(shelf);
}

/* An empty cell is "not recorded"; "none" is a value. */
static void not_recorded_is_not_none(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "two.csv",
             "knot,line,soak,which,lubricant,hardware,turns,speed,line B,load (N),trace\n"
             "reef,nylon,,,,,,,,31.7,\n"
             "reef,nylon,none,none,none,none,none,none,none,32.9,none\n");
  const struct be_record *record = read_shelf(shelf);
  const struct be_pull *blank = &record->pulls[0], *none = &record->pulls[1];
  assert_int_equal(blank->soak, BE_SOAK_UNKNOWN);
  assert_int_equal(none->soak, BE_SOAK_DRY);
  assert_int_equal(blank->which, BE_WHICH_UNKNOWN);
  assert_int_equal(none->which, BE_WHICH_NONE);
  assert_null(blank->lubricant);
  assert_string_equal(none->lubricant, "none");
  assert_null(blank->hardware);
  assert_string_equal(none->hardware, "none");
  assert_true(isnan(blank->speed_m_s) && isnan(none->speed_m_s));
  assert_true(isnan(blank->order) && isnan(blank->length_m) && isnan(blank->soak_s));
  assert_int_equal(blank->line_b, BE_NO_INDEX);
  assert_int_equal(none->line_b, BE_NO_INDEX);
  assert_int_equal(blank->design, BE_DESIGN_UNKNOWN);
  assert_int_equal(none->trace, 0);
  assert_true(isnan(record->lines[0].label_N));
  assert_string_equal(record->lines[0].material, "nylon");
}

static void units_and_marks_are_understood(void **state)
{
  static const struct {
    const char *text;
    double load_N;
    const char *unit, *note;
  } cases[] = {
      {"knot,line,load (kg)\nreef,nylon,3.7\n", 3.7 * kilogram_N, "kg", NULL},
      {"knot,line,load [lb]\nreef,nylon,3.7 N\n", 3.7, "N", NULL},
      {"knot;line;load\nreef;nylon;14,5 lb\n", 14.5 * pound_N, "lb", NULL},
      {"knot;line;load (lb)\nreef;nylon;14,5\nreef;nylon;2,25\n", 14.5 * pound_N, "lb", NULL},
      {"knot;line;load (lb)\nreef;nylon;\"14,5\"\nx;nylon;2.25\nx;nylon;1.75\n", 14.5 * pound_N,
       "lb", "line 2: column \"load\": \"14,5\" was taken for 14.5 lb: a comma"},
      {"knot\tline\tload\nreef\tnylon\t1,5 kN\nreef\tnylon\t\"2,5 kN\"\n", 1500, "kN", NULL},
      {"knot,line,load (N)\nreef,nylon,\"1,234.5\"\nreef,nylon,9.5\n", 1234.5, "N",
       "\"1,234.5\" was taken for 1234.5 N: marks before groups"},
      {"\xEF\xBB\xBFknot,line,load (N)\nreef,nylon,88.25\n", 88.25, "N", NULL},
      {"knot;line;load (N)\nn\xE9gli;nylon;88,25\n", 88.25, "N", NULL},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct shelf *shelf = *state;
    enter_text(shelf, "case.csv", cases[i].text);
    const struct be_record *record = read_shelf(shelf);
    assert_near(record->pulls[0].load_N, cases[i].load_N, 1e-12 * cases[i].load_N);
    assert_string_equal(record->pulls[0].load_unit, cases[i].unit);
    if (cases[i].note) assert_note(shelf, cases[i].note);
    assert_string_equal(record->unit, cases[i].unit);
    shelf_teardown(state);
    shelf_setup(state);
  }
}

static void a_mark_that_reads_two_ways_is_asked_about(void **state)
{
  struct shelf *shelf = *state;
  const char *text = "knot;line;load (N)\nreef;nylon;1,234\n";
  struct be_err err = refuse_with(shelf, "a.csv", text, NULL, BE_ASK, "1,234");
  assert_place(&err, 2, 3);
  struct be_entering how = {.decimal = ','};
  enter_with(shelf, "a.csv", text, &how);
  assert_near(read_shelf(shelf)->pulls[0].load_N, 1.234, 1e-15);
  how.decimal = '.';
  enter_with(shelf, "b.csv", "knot;line;load (N)\nreef;nylon;2,345\n", &how);
  assert_near(read_shelf(shelf)->pulls[1].load_N, 2345, 0);
  assert_note(shelf, "\"2,345\" was taken for 2345 N");
  how.decimal = ',';
  enter_with(shelf, "c.csv", "knot;line;load\nreef;nylon;3.456 N\n", &how);
  assert_near(read_shelf(shelf)->pulls[2].load_N, 3456, 0);
}

/* What a result is when the sheet does not say. */
static void kind_follows_what_let_go(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *row;
    enum be_kind kind;
  } cases[] = {
      {"reef,,broke,in the knot,", BE_KIND_EVENT},
      {"reef,,broke,at its entry,", BE_KIND_EVENT},
      {"reef,,broke,clear of it,", BE_KIND_BOUND},
      {"reef,,broke,grip,", BE_KIND_BOUND},
      {"reef,,broke,eye,", BE_KIND_EVENT},
      {"reef,,broke,not seen,", BE_KIND_EVENT},
      {"reef,,slipped out,,", BE_KIND_EVENT},
      {"reef,,strand,in the knot,", BE_KIND_EVENT},
      {"reef,,hardware,,", BE_KIND_BOUND},
      {"reef,,nothing,,", BE_KIND_BOUND},
      {"reef,,,,", BE_KIND_EVENT},
      {"reef,proof hold,,,", BE_KIND_BOUND},
      {"reef,two same,broke,clear of it,", BE_KIND_BOUND},
      {"none,,broke,clear of it,", BE_KIND_EVENT},
      {"none,,broke,grip,", BE_KIND_BOUND},
      {"none,,slipped out,,", BE_KIND_BOUND},
      {"none,,slipped then broke,,", BE_KIND_EVENT},
      {"plain line,,broke,,", BE_KIND_EVENT},
      {",plain,broke,clear of it,", BE_KIND_EVENT},
      {"reef,,broke,clear of it,event", BE_KIND_EVENT},
      {"reef,,broke,in the knot,lower bound", BE_KIND_BOUND},
      {"reef,,nothing,,void", BE_KIND_VOID},
  };
  enum { CASES = sizeof cases / sizeof cases[0] };
  char text[4096] = "knot,design,what,where,result,line,load (N),reason\n";
  for (size_t i = 0; i < CASES; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%s,nylon,%zu.5,shook\n",
             cases[i].row, 20 + i);
  enter_text(shelf, "kinds.csv", text);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->pulls_count, CASES);
  for (size_t i = 0; i < CASES; i++) {
    if (record->pulls[i].kind != cases[i].kind) print_error("%s\n", cases[i].row);
    assert_int_equal(record->pulls[i].kind, cases[i].kind);
    assert_near(record->pulls[i].load_N, 20.5 + (double)i, 0);
    bool plain = i >= 13 && i <= 18;
    assert_int_equal(record->pulls[i].knot == BE_NO_INDEX, plain);
    if (plain) assert_int_equal(record->pulls[i].design, BE_DESIGN_PLAIN);
  }
  assert_note(shelf, "line 21: taken as an event because the sheet says so");
  assert_int_equal(shelf->entered.notes_count, 2 + 1);
  assert_sound(shelf);
}

static void a_void_may_lack_its_load(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "void.csv",
             "specimen,knot,line,load (N),result,reason\n"
             "V1,reef,nylon,,void,the grip slipped\n"
             "V2,reef,nylon,12.75,void,cut by hand\n");
  assert_true(isnan(pull_of(shelf, "V1")->load_N));
  assert_string_equal(pull_of(shelf, "V1")->reason, "the grip slipped");
  assert_null(pull_of(shelf, "V1")->load_text);
  assert_null(pull_of(shelf, "V1")->load_unit);
  assert_near(pull_of(shelf, "V2")->load_N, 12.75, 0);
  assert_sound(shelf);
}

/* A specimen without a code is called by its sheet and line. */
static void specimens_get_codes(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "far/away/tuesday.csv",
             "# cold\nspecimen,knot,line,load (N)\n"
             ",reef,nylon,7.5\nB2,reef,nylon,8.5\n,reef,nylon,9.5\n");
  assert_near(pull_of(shelf, "tuesday.csv:3")->load_N, 7.5, 0);
  assert_near(pull_of(shelf, "B2")->load_N, 8.5, 0);
  assert_near(pull_of(shelf, "tuesday.csv:5")->load_N, 9.5, 0);
  assert_string_equal(pull_of(shelf, "B2")->file, "far/away/tuesday.csv");
}

static void the_same_bytes_are_entered_once(void **state)
{
  struct shelf *shelf = *state;
  const char *text = "knot,line,load (N)\nreef,nylon,7.5\n";
  enter_text(shelf, "one.csv", text);
  assert_false(shelf->entered.already);
  assert_int_equal(shelf->entered.pulls, 1);
  struct be_buf before = book_bytes(shelf);
  enter_text(shelf, "renamed.csv", text);
  assert_true(shelf->entered.already);
  assert_int_equal(shelf->entered.pulls, 0);
  struct be_buf after = book_bytes(shelf);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, after.size);
  be_buf_free(&before);
  be_buf_free(&after);
  assert_int_equal(read_shelf(shelf)->pulls_count, 1);
}

static void the_unit_of_the_record_is_the_usual_one(void **state)
{
  struct shelf *shelf = *state;
  assert_string_equal(read_shelf(shelf)->unit, "N");
  assert_int_equal(shelf->record.pulls_count, 0);
  enter_text(shelf, "mixed.csv",
             "knot,line,load\nreef,nylon,7.5 lb\nreef,nylon,3 kg\n"
             "reef,nylon,3.25 kg\n");
  assert_string_equal(read_shelf(shelf)->unit, "kg");
}

static void what_was_entered_is_counted(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "s.csv",
             "specimen,knot,line,line B,load (N)\nA,reef,nylon,braid,7.5\n"
             "B,granny,nylon,pe 8,8.5\nC,reef,nylon,,9.5\n");
  const struct be_entered *entered = &shelf->entered;
  assert_string_equal(entered->kind, "pull sheet");
  assert_int_equal(entered->rows, 3);
  assert_int_equal(entered->pulls, 3);
  assert_int_equal(entered->lines, 3);
  assert_int_equal(entered->knots, 2);
  assert_int_equal(entered->traces + entered->corrections, 0);
  assert_int_equal(entered->notes_count, 5);
  assert_int_equal(entered->notes_dropped, 0);
  assert_note(shelf, "line 2: new knot \"reef\"");
  assert_note(shelf, "line 3: new line \"pe 8\": material braid, label not recorded");
}

/* More notes than are kept are counted. */
static void notes_have_a_ceiling(void **state)
{
  struct shelf *shelf = *state;
  static char text[BE_BOOK_NOTES_MAX * 40];
  strcpy(text, "knot,line,load (N)\n");
  for (int i = 0; i < BE_BOOK_NOTES_MAX + 9; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "knot %d,nylon,8.5\n", i);
  enter_text(shelf, "many.csv", text);
  assert_int_equal(shelf->entered.notes_count, BE_BOOK_NOTES_MAX);
  assert_int_equal(shelf->entered.notes_dropped, 10);
}

/* ---- what reading costs ---- */

enum { ROWS_MAX = 3200, ROW_MAX = 160 };

static void enter_rows(struct shelf *shelf, const char *name, int rows)
{
  static char text[ROWS_MAX * ROW_MAX];
  size_t used = (size_t)snprintf(text, sizeof text, "specimen,knot,line,load (N),note\n");
  for (int i = 0; i < rows; i++)
    used += (size_t)snprintf(text + used, sizeof text - used, "%s%d,uni,nylon 12 lb,41.%d,%090d\n",
                             name, i, i % 10, i);
  assert_true(used < sizeof text);
  enter_text(shelf, name, text);
}

/* Pages of the book that are looked at to read it, a pull. */
static double pages_a_pull(struct shelf *shelf)
{
  const int counters[] = {SQLITE_DBSTATUS_CACHE_HIT, SQLITE_DBSTATUS_CACHE_MISS};
  int pages = 0, now, most;
  shelf_reopen(shelf, false);
  const struct be_record *record = read_shelf(shelf);
  for (size_t i = 0; i < 2; i++) {
    assert_int_equal(sqlite3_db_status(shelf->book->db, counters[i], &now, &most, 0), SQLITE_OK);
    pages += now;
  }
  shelf_reopen(shelf, true);
  assert_true(pages > 0);
  return pages / (double)record->pulls_count;
}

/* The bytes of a sheet stand in the book too, and are not gone through for each of its pulls; trees
 * of more rows have a level more. */
static void long_sheet_costs_no_more(struct shelf *shelf, bool corrected)
{
  enter_rows(shelf, "short", 200);
  if (corrected)
    enter_text(shelf, "again.csv",
               "specimen,knot,line,load (N),correction\nshort0,uni,nylon 12 lb,44.1,read again\n");
  double of_short = pages_a_pull(shelf);
  enter_rows(shelf, "long", ROWS_MAX);
  double of_long = pages_a_pull(shelf);
  if (of_long >= 3 * of_short) print_error("%.1f pages a pull, then %.1f\n", of_short, of_long);
  assert_true(of_long < 3 * of_short);
}

static void a_pull_of_a_long_sheet_costs_no_more_to_read(void **state)
{
  long_sheet_costs_no_more(*state, false);
}

static void nor_where_pulls_are_corrected(void **state)
{
  long_sheet_costs_no_more(*state, true);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(every_field_of_a_row_is_kept),
      on_a_shelf(not_recorded_is_not_none),
      on_a_shelf(units_and_marks_are_understood),
      on_a_shelf(a_mark_that_reads_two_ways_is_asked_about),
      on_a_shelf(kind_follows_what_let_go),
      on_a_shelf(a_void_may_lack_its_load),
      on_a_shelf(specimens_get_codes),
      on_a_shelf(the_same_bytes_are_entered_once),
      on_a_shelf(the_unit_of_the_record_is_the_usual_one),
      on_a_shelf(what_was_entered_is_counted),
      on_a_shelf(notes_have_a_ceiling),
      on_a_shelf(a_pull_of_a_long_sheet_costs_no_more_to_read),
      on_a_shelf(nor_where_pulls_are_corrected),
  };
  return be_tests("book: pulls", tests);
}
