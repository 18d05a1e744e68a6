/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One bad cell refuses the whole file, says where and why, and leaves the book
 * as it was (refuse_with compares its bytes). */
#include "book/book_test.h"

static void each_bad_cell_is_named(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *row, *what, *remedy;
    size_t column;
  } cases[] = {
      {"Z,,reef,nylon,,,7.5,,exploded,,,", "\"exploded\" is not one of the words",
       "broke, slipped out, slipped then broke, strand, hardware, nothing", 9},
      {"Z,,reef,nylon,,,7.5,,,nowhere,,", "\"nowhere\" is not one", "at its entry", 10},
      {"Z,,reef,nylon,,,7.5,,,,line C,", "\"line C\" is not one", "line A, line B, tag", 11},
      {"Z,,reef,nylon,,,7.5,perhaps,,,,", "\"perhaps\" is not one", "event, lower bound, void", 8},
      {"Z,triple,reef,nylon,,,7.5,,,,,", "\"triple\" is not one", "plain line, single knot", 2},
      {"Z,,reef,nylon,,,7.5,void,,,,", "a void needs its reason", "column \"reason\"", 8},
      {"Z,,reef,nylon,,,,,,,,", "there is no load", "give the load or a trace", 7},
      {"Z,,reef,nylon,,,none,,,,,", "there is no load", "", 7},
      {"Z,,reef,nylon,,,0,,,,,", "a load must be above zero", "", 7},
      {"Z,,reef,nylon,,,1000.5 kN,,,,,", "1.0005e+06 N is not a load that a line can bear",
       "its decimal mark and its unit", 7},
      {"Z,,reef,nylon,,,0.00099,,,,,", "0.00099 N is not a load that a rig can read", "check", 7},
      {"Z,,reef,nylon,,,7.5 stone,,,,,", "\"stone\" is not a unit of force", "unit", 7},
      {"Z,,reef,nylon,,,-3.5,,,,,", "\"-3.5\" is below zero", "its unit", 7},
      {"Z,,reef,nylon,,,strong,,,,,", "\"strong\"", "such as \"12.5 N\"", 7},
      {"Z,,reef,nylon,,,7.5 mm,,,,,", "mm", "", 7},
      {"Z,,reef,nylon,,,1e999,,,,,", "\"1e999\" is too large", "", 7},
      {"Z,,,nylon,,,7.5,,,,,", "the knot is not named", "write \"none\" for a plain line", 3},
      {"Z,single knot,none,nylon,,,7.5,,,,,", "the knot is not named", "", 3},
      {"Z,plain line,reef,nylon,,,7.5,,,,,", "a plain line has no knot", "", 3},
      {"Z,,reef,,,,7.5,,,,,", "the line is not named", "\"line A\" or \"spool A\"", 4},
      {"Z,,reef,nylon,soon,,7.5,,,,,", "\"soon\"", "such as \"120 min\"", 5},
      {"Z,,reef,nylon,-5 min,,7.5,,,,,", "\"-5 min\" is below zero", "", 5},
      {"Z,,reef,nylon,,-20,7.5,,,,,", "\"-20\" is below zero", "", 6},
      {"a,,reef,nylon,,,7.5,,,,,", "specimen \"a\" has its result already, on line 2 of this sheet",
       "\"correction\"", 1},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[512];
    snprintf(text, sizeof text,
             "specimen,design,knot,line,soak,speed,load (N),result,what,where,which,reason\n"
             "A,,granny,braid,,,6.5,,,,,\n%s\n",
             cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 3, cases[i].column);
    assert_part(err.what, "column \"");
    assert_part(err.remedy, cases[i].remedy);
    if (!err.remedy[0]) print_error("no remedy: %s\n", err.what);
    assert_true(err.remedy[0]);
  }
  assert_int_equal(read_shelf(shelf)->pulls_count, 0);
  assert_int_equal(shelf->record.knots_count + shelf->record.lines_count, 0);
}

static void a_constant_has_no_column_to_name(void **state)
{
  struct shelf *shelf = *state;
  struct be_entering how = {.mapping = "what := vanished"};
  struct be_err err = refuse_with(shelf, "a.csv", "knot,line,load (N)\nreef,nylon,7.5\n", &how,
                                  BE_BAD_INPUT, "\"vanished\" is not one");
  assert_place(&err, 2, 0);
}

static void a_load_needs_its_unit(void **state)
{
  struct shelf *shelf = *state;
  struct be_err err = refuse_text(shelf, "knot,line,load\nreef,nylon,7.5\n", "column \"load\"");
  assert_place(&err, 2, 3);
}

/* One row of a thousand is bad: nothing of the file is kept. */
static void one_bad_row_of_a_thousand_refuses_all(void **state)
{
  enum { ROWS = 1000, BAD = 617, SIZE = ROWS * 48 };
  struct shelf *shelf = *state;
  enter_text(shelf, "before.csv", "specimen,knot,line,load (N)\nB1,reef,nylon,31.75\n");
  char *text = calloc(1, SIZE);
  assert_non_null(text);
  size_t used = (size_t)snprintf(text, SIZE, "specimen,knot,line,load (N)\n");
  size_t bad_at = 0;
  for (int i = 1; i <= ROWS; i++) {
    if (i == BAD) bad_at = used;
    used += (size_t)snprintf(text + used, SIZE - used, "S%d,knot %d,nylon,%d.25\n", i, i % 7, i);
  }
  char *cell = strstr(text + bad_at, "617.25");
  memcpy(cell, "617.2x", 6);
  struct be_err err =
      refuse_with(shelf, "thousand.csv", text, NULL, BE_BAD_INPUT, "\"x\" is not a");
  assert_place(&err, BAD + 1, 4);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->pulls_count, 1);
  assert_int_equal(record->knots_count, 1);
  assert_string_equal(record->pulls[0].code, "B1");
  assert_near(record->pulls[0].load_N, 31.75, 0);
  assert_sound(shelf);
  memcpy(cell, "617.25", 6);
  enter_text(shelf, "thousand.csv", text);
  assert_int_equal(shelf->entered.pulls, ROWS);
  assert_near(pull_of(shelf, "S617")->load_N, 617.25, 0);
  assert_int_equal(pull_of(shelf, "S617")->file_line, 618);
  free(text);
}

static void bad_shapes_are_refused(void **state)
{
  struct shelf *shelf = *state;
  struct be_err err =
      refuse_text(shelf, "knot,line,load (N)\nreef,nylon,7.5\nreef,nylon\n", "there is no load");
  assert_place(&err, 3, 3);
  err = refuse_text(shelf, "knot,line,load (N)\nreef,nylon,7.5,8.5\n", "this row has 4 cells");
  assert_place(&err, 2, 0);
  err = refuse_text(shelf, "knot,line,load (N)\nreef,\"nylon,7.5\n", "not closed");
  assert_place(&err, 2, 0);
  err = refuse_text(shelf, "knot,line,load (N),weather\nreef,nylon,7.5,cold\n",
                    "column \"weather\" is not one");
  assert_place(&err, 1, 4);
  refuse_text(shelf, "specimen,knot,line\nA,reef,nylon\n", "no column \"load\"");
  refuse_text(shelf, "", "the file is empty");
  refuse_text(shelf, "just words\n",
              "not one of a pull, line, knot, bench, trial, rule, calibration");
}

/* ---- corrections ---- */

static const char *const first_day = "specimen,knot,line,load (lb),what,where,result,reason,note\n"
                                     "C1,reef,nylon,8.25,broke,in the knot,,,first\n"
                                     "C2,reef,nylon,9.75,broke,in the knot,,,\n";

static void a_correction_keeps_the_old_result(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  enter_text(shelf, "fix.csv",
             "specimen,knot,line,load (lb),what,where,correction,note\n"
             "c1,reef,nylon,8.75,slipped out,,misread the gauge,second\n");
  assert_int_equal(shelf->entered.corrections, 1);
  assert_int_equal(shelf->entered.pulls, 0);
  enter_text(shelf, "void.csv",
             "specimen,knot,line,load (kg),result,reason,correction,judged by\n"
             "C1,reef,nylon,3.5,void,hook slid,seen on film,Wren\n");
  assert_int_equal(read_shelf(shelf)->pulls_count, 2);
  const struct be_pull *pull = pull_of(shelf, "C1");
  assert_int_equal(pull->kind, BE_KIND_VOID);
  assert_near(pull->load_N, 3.5 * 9.80665, 1e-12);
  assert_int_equal(pull->corrections, 2);
  assert_string_equal(pull->file, "void.csv");
  assert_int_equal(pull->what, BE_WHAT_UNKNOWN);
  assert_int_equal(pull_of(shelf, "C2")->corrections, 0);
  struct be_result *list;
  size_t count;
  assert_int_equal(be_book_results(shelf->book, pull->id, shelf->arena, &list, &count, NULL),
                   BE_OK);
  assert_int_equal(count, 3);
  assert_int_equal(list[0].id, pull->result);
  assert_string_equal(list[0].why, "seen on film");
  assert_string_equal(list[0].reason, "hook slid");
  assert_string_equal(list[0].judged_by, "Wren");
  assert_int_equal(strlen(list[0].entered_at), strlen("2026-03-01T09:30:00Z"));
  assert_near(list[1].load_N, 8.75 * 9.80665 * 0.45359237, 1e-12);
  assert_int_equal(list[1].what, BE_WHAT_SLIPPED_OUT);
  assert_string_equal(list[1].why, "misread the gauge");
  assert_null(list[1].judged_by);
  assert_near(list[2].load_N, 8.25 * 9.80665 * 0.45359237, 1e-12);
  assert_int_equal(list[2].kind, BE_KIND_EVENT);
  assert_null(list[2].why);
  assert_int_equal(count_of(shelf, "SELECT count(*) FROM result"), 4);
  assert_int_equal(be_book_results(shelf->book, pull->id + 99, shelf->arena, &list, &count, NULL),
                   BE_OK);
  assert_int_equal(count, 0);
  assert_sound(shelf);
}

static void a_correction_twice_in_a_sheet_chains(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  enter_text(shelf, "fix.csv",
             "specimen,knot,line,load (lb),correction\n"
             "C1,reef,nylon,7.25,once\nC1,reef,nylon,7.5,twice\n");
  assert_string_equal(pull_of(shelf, "C1")->load_text, "7.5");
  assert_int_equal(pull_of(shelf, "C1")->corrections, 2);
  assert_sound(shelf);
}

static void bad_corrections_are_refused(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  struct be_err err = refuse_text(shelf,
                                  "specimen,knot,line,load (lb),correction\n"
                                  "C9,reef,nylon,7.5,typo\n",
                                  "no specimen \"C9\" to correct");
  assert_place(&err, 2, 1);
  assert_part(err.remedy, "check its code");
  err = refuse_text(shelf, "specimen,knot,line,load (lb),correction\nC1,reef,nylon,,typo\n",
                    "there is no load");
  assert_place(&err, 2, 4);
  err = refuse_text(shelf,
                    "specimen,knot,line,load (lb),correction\nC1,reef,nylon,7,typo\n"
                    "C2,reef,nylon,7,\n",
                    "has its result already");
  assert_place(&err, 3, 1);
}

/* A result is corrected; what was tied is not, so that must not be passed over. */
static void a_correction_cannot_change_the_specimen(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  struct be_err err =
      refuse_text(shelf, "specimen,knot,line,load (lb),correction\nC1,granny,nylon,7.5,typo\n",
                  "specimen \"C1\" has another knot in the book");
  assert_place(&err, 2, 2);
  err = refuse_text(shelf, "specimen,knot,line,load (lb),correction\nC1,reef,braid,7.5,typo\n",
                    "specimen \"C1\" has another line A in the book");
  assert_place(&err, 2, 3);
  err = refuse_text(shelf,
                    "specimen,knot,line,line B,load (lb),correction\n"
                    "C1,reef,nylon,nylon,7.5,typo\n",
                    "specimen \"C1\" has another line B in the book");
  assert_place(&err, 2, 4);
  assert_part(err.remedy, "make the result void");
  refuse_text(shelf, "specimen,design,load (lb),correction\nD9,proof hold,7.5,typo\n",
              "no specimen \"D9\"");
}

/* What a correction leaves out of the specimen is what the book has, also for
 * the rule that tells a lower bound. */
static void a_correction_need_not_name_what_was_tied(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv",
             "specimen,design,knot,line,line B,load (lb),what,where\n"
             "C1,two same,reef,nylon,braid,8.25,broke,in the knot\n"
             "C2,,none,nylon,,9.75,broke,clear of it\n");
  enter_text(shelf, "fix.csv",
             "specimen,load (lb),what,where,correction\n"
             "C1,8.75,broke,clear of it,seen on film\nC2,9.5,broke,clear of it,misread\n");
  assert_int_equal(shelf->entered.corrections, 2);
  const struct be_pull *pull = pull_of(shelf, "C1");
  assert_string_equal(pull->load_text, "8.75");
  assert_int_equal(pull->kind, BE_KIND_BOUND);
  assert_int_equal(pull->design, BE_DESIGN_TWO_SAME);
  assert_int_equal(pull_of(shelf, "C2")->kind, BE_KIND_EVENT);
  struct be_err err =
      refuse_text(shelf, "specimen,knot,line B,load (lb),correction\nC1,,none,7.5,typo\n",
                  "specimen \"C1\" has another line B");
  assert_place(&err, 2, 3);
  err = refuse_text(shelf, "specimen,design,load (lb),correction\nC1,proof hold,7.5,typo\n",
                    "specimen \"C1\" has another design");
  assert_place(&err, 2, 2);
  enter_text(shelf, "void.csv", "specimen,result,reason,correction\nC1,void,hook slid,film\n");
  assert_int_equal(pull_of(shelf, "C1")->kind, BE_KIND_VOID);
  assert_int_equal(read_shelf(shelf)->lines_count, 2);
  assert_sound(shelf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(each_bad_cell_is_named),
      on_a_shelf(a_constant_has_no_column_to_name),
      on_a_shelf(a_load_needs_its_unit),
      on_a_shelf(one_bad_row_of_a_thousand_refuses_all),
      on_a_shelf(bad_shapes_are_refused),
      on_a_shelf(a_correction_keeps_the_old_result),
      on_a_shelf(a_correction_twice_in_a_sheet_chains),
      on_a_shelf(bad_corrections_are_refused),
      on_a_shelf(a_correction_cannot_change_the_specimen),
      on_a_shelf(a_correction_need_not_name_what_was_tied),
  };
  return be_tests("book: refusals and corrections", tests);
}
