/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets as spreadsheet programs leave them: titles, two rows of header, merged cells, totals; and
 * rules that are misspelt, kept and forgotten. */
#include "book/book_test.h"
#include "book/sheet.h"

static void titles_above_the_header_are_passed_over(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "titles.csv",
             "Knots of spring,,,\n,,,\nOn nylon,,,\nspecimen,knot,line,load (lb)\n"
             "T1,uni,nylon 3,7.25\n");
  assert_int_equal(shelf->entered.pulls, 1);
  assert_note(shelf, "line 4: taken for the header");
  assert_sound(shelf);
  refuse_text(shelf, "specimen\nT1\nT2,uni\n", "the header, \"T2\", \"uni\", is not one of");
  refuse_text(shelf, "knot\n7,uni\n", "has 2 cells; the header has 1");
}

static void a_row_of_units_tells_those_of_the_columns(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "units.csv",
             "specimen,knot,line,load,speed,note\n,,,[lb],(mm/min),\nU1,uni,nylon 3,7.25,300,dry\n"
             "U2,uni,nylon 3,3.5 kg,300,\n");
  assert_note(shelf, "line 2: taken for the units of the columns");
  assert_near(pull_of(shelf, "U1")->load_N, 7.25 * 4.4482216152605, 1e-12);
  assert_near(pull_of(shelf, "U1")->speed_m_s, 0.005, 1e-15);
  assert_near(pull_of(shelf, "U2")->load_N, 3.5 * 9.80665, 1e-12);
  assert_int_equal(shelf->record.pulls_count, 2);
  assert_sound(shelf);
  static const char *const none[] = {
      "specimen,knot,line,load\n,,,mm\nV1,uni,nylon 3,7 N\n",     /* of something else */
      "specimen,knot,line,load (kg)\n,,,lb\nV1,uni,nylon 3,7\n",  /* the head says another */
      "specimen,knot,line,load\n,lb,,lb\nV1,uni,nylon 3,7 N\n",   /* a knot has none */
      "specimen,knot,line,load\nkg,,,kg\nV1,uni,nylon 3,7.5 N\n", /* nor a code */
  };
  for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
    struct be_err err = refuse_text(shelf, none[i], "");
    assert_int_equal(err.line, 2);
  }
}

static void an_empty_cell_means_the_one_above_where_that_is_said(void **state)
{
  struct shelf *shelf = *state;
  static const char sheet[] = "nr,knot,line,load (lb)\n,uni,nylon 3,7.25\n,,,7.75\n"
                              ",none,,9.5\nmean,,,8.25\n";
  struct be_entering how = {.mapping = "specimen = nr\npass over: nr = mean\nas above = Knot\n"
                                       "as above = line"};
  enter_with(shelf, "merged.csv", sheet, &how);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->pulls_count, 3);
  assert_int_equal(record->pulls[1].knot, record->pulls[0].knot);
  assert_int_equal(record->pulls[2].design, BE_DESIGN_PLAIN);
  assert_int_equal(record->pulls[2].line_a, record->pulls[0].line_a);
  assert_sound(shelf);
  how.mapping = "specimen = nr";
  struct be_err err =
      refuse_with(shelf, "b.csv", "nr,knot,line,load (lb)\nq,uni,nylon 3,7.25\n,,,7.5\n", &how,
                  BE_BAD_INPUT, "is not named");
  assert_part(err.remedy, "--as-above 'knot'");
  err = refuse_with(shelf, "c.csv", "nr,knot,line,load (lb)\nTotal,,,41.5\n", &how, BE_BAD_INPUT,
                    "a row of means or totals");
  assert_part(err.remedy, "--pass-over 'nr = Total'");
}

static void what_is_no_number_says_what_to_do(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *load, *remedy;
  } cases[] = {{">20", "\"lower bound\" in a column \"result\""},
               {"slipped", "--word 'load: slipped = not recorded'"},
               {"-", "--word 'load: - = not recorded'"},
               {"?", "needs a trace, or is void with its reason"},
               {"85 %", "a share is no load"},
               {"slipped @ 14", "--word 'load: slipped @ 14 = ...'"},
               {"10+", "\"lower bound\" in a column"},
               {"12lb17oz", "the unit after the number"}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char sheet[120];
    snprintf(sheet, sizeof sheet, "knot,line,load (lb)\nuni,nylon 3,%s\n", cases[i].load);
    struct be_err err = refuse_text(shelf, sheet, "");
    assert_part(err.remedy, cases[i].remedy);
    assert_place(&err, 2, 3);
  }
  const struct be_entering share = {.mapping = "load (lb) = kept %"};
  refuse_with(shelf, "share.csv", "knot,line,kept %\nuni,nylon 3,85\n", &share, BE_WRONG_USE,
              "takes a share, in %, for a load");
  enter_text(shelf, "oz.csv", "specimen,knot,line,load (lb)\nZ1,uni,nylon 3,12lb4oz\n");
  assert_near(pull_of(shelf, "Z1")->load_N, 12.25 * 4.4482216152605, 1e-12);
  assert_sound(shelf);
}

/* Worst is what is entered and is none. */
static void a_row_of_means_is_no_pull_though_every_cell_is_filled(void **state)
{
  struct shelf *shelf = *state;
  static const char *const cells[] = {"Average,uni",  "AVG.,uni", "Mean of 5,uni", "X1,uni average",
                                      "std dev:,uni", "Max,uni",  "Summe,uni"};
  char sheet[160];
  for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++) {
    snprintf(sheet, sizeof sheet,
             "specimen,knot,line,load (lb)\nM1,uni,nylon 3,7\n%s,nylon 3,7.5\n", cells[i]);
    struct be_err err = refuse_text(shelf, sheet, "a row of means or totals");
    assert_part(err.remedy, i == 3 ? "'knot = uni average'" : "--pass-over 'specimen = ");
    assert_int_equal(err.line, 3);
  }
  struct be_entering how = {.mapping = "ignore = no"};
  refuse_with(shelf, "no.csv", "no,knot,line,load (lb)\n1,uni,nylon 3,7\nMean,uni,nylon 3,7\n",
              &how, BE_BAD_INPUT, "\"Mean\" tells a row of means or totals");
  how.mapping = "specimen: Mean = M9";
  enter_with(shelf, "its name.csv",
             "specimen,knot,line,load (lb),tyer,note\nMean,uni,nylon 3,7,Max,average\n"
             "Meander,eclipse totale,nylon 3,7,Min,\n",
             &how);
}

static void a_mark_is_no_name(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *cells, *remedy;
  } cases[] = {{"C1,?,nylon 3,,", "--pass-over 'knot = ?'"},
               {"C1,uni,n/a,,", "--pass-over 'line = n/a'"},
               {"C1,uni,nylon 3,--,", "--word 'hardware: -- = not recorded'"},
               {"?,uni,nylon 3,,", "--word 'specimen: ? = not recorded'"},
               {"C1,uni,nylon 3,,unknown", "--word 'tyer: unknown = not recorded'"}};
  char sheet[160];
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    snprintf(sheet, sizeof sheet, "load (lb),specimen,knot,line,hardware,tyer\n7.5,%s\n",
             cases[i].cells);
    struct be_err err = refuse_text(shelf, sheet, "is a mark, no ");
    assert_part(err.remedy, cases[i].remedy);
  }
  struct be_entering how = {.mapping = "tyer: ? = not recorded\nhardware: - = none"};
  enter_with(shelf, "marks.csv",
             "specimen,knot,line,load (lb),hardware,tyer\nC1,uni,nylon 3,7.5,-,?\n", &how);
  assert_null(pull_of(shelf, "C1")->tyer);
  assert_string_equal(pull_of(shelf, "C1")->hardware, "none");
  assert_sound(shelf);
}

/* A trace has a column of loads too. */
static void a_pull_sheet_with_an_unknown_column_is_no_trace(void **state)
{
  struct shelf *shelf = *state;
  static const char *const sheets[] = {
      "specimen,knot,line,load (lb),void\nE1,uni,nylon 3,7.5,\nE2,uni,nylon 3,7.25,\n",
      "specimen,load (lb),void\nE1,7.5,\nE2,7.75,yes\n",
      "specimen,load (lb),void\nE1,7.5,\n",
      "load (lb),what,void\n7.5,broke,no\n7.75,broke,no\n",
      "line,tyer,void,load (kg)\nnylon 3,kim,1,7.5\nnylon 3,kim,2,7.75\n",
  };
  for (size_t i = 0; i < sizeof sheets / sizeof sheets[0]; i++) {
    struct be_err err = refuse_text(shelf, sheets[i], "column \"void\" is not one that a pull");
    assert_part(err.remedy, "--ignore 'void'");
  }
  enter_text(shelf, "pull.csv", "specimen,knot,line,load (lb)\nE7,uni,nylon 3,7.5\n");
  const struct be_entering trace = {.specimen = "E7"};
  enter_with(shelf, "E7.csv",
             "specimen,time (s),load (N)\nE7,0,0\nE7,0.1,9\nE7,0.2,20\nE7,0.3,33.4\nE7,0.4,0\n"
             "E7,0.5,0\n",
             &trace);
  assert_int_equal(shelf->entered.traces, 1);
  enter_text(shelf, "more.csv", "specimen,knot,line,load (lb)\nE8,uni,nylon 3,7.5\n");
  enter_text(shelf, "E8.csv",
             "date,time (s),load (N),rig,note\n2026-03-01,0,0,shed,x\n2026-03-01,0.1,9,shed,x\n"
             "2026-03-01,0.2,20,shed,x\n2026-03-01,0.3,33.4,shed,x\n2026-03-01,0.4,0,shed,x\n");
  assert_int_equal(shelf->entered.traces, 1);
  assert_sound(shelf);
}

/* ---- rules ---- */

static const char plain[] = "specimen,knot,line,load (lb)\nR1,uni,nylon 3,7.25\n";

static void a_misspelt_column_is_not_dropped_where_the_rules_are_meant(void **state)
{
  struct shelf *shelf = *state;
  struct be_entering how = {.mapping = "pass over: specimne = mean", .rules_bind = true};
  struct be_err err = refuse_with(shelf, "a.csv", plain, &how, BE_WRONG_USE,
                                  "\"pass over: specimne = mean\" names a column that the sheet");
  assert_part(err.remedy, "write \"specimen\" if you mean that");
  how.mapping = "laod = load (lb)";
  err = refuse_with(shelf, "a.csv", plain, &how, BE_WRONG_USE, "names a field that does not exist");
  assert_part(err.remedy, "write \"load\" if you mean that");
  assert_false(be_book_rules_fit(shelf->book, plain, strlen(plain), &how));
  how.mapping = "pass over: specimen = maen";
  assert_true(be_book_rules_fit(shelf->book, plain, strlen(plain), &how));
  enter_with(shelf, "a.csv", plain, &how);
  assert_note(shelf, "\"pass over: specimen = maen\" met no row");
}

static void what_is_near_is_named(void **state)
{
  (void)state;
  static const char *const names[] = {"knot", "note", "Load (kg)", "x"};
  static const struct {
    const char *meant;
    int near;
  } cases[] = {{"load (kg", 2},  {"noet", 1}, {"not", 1}, {"kot", 0},
               {"LOAD (KG)", 2}, {"y", -1},   {"", -1},   {"zebra", -1}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const char *near = be_name_near(names, 4, cases[i].meant);
    const char *want = cases[i].near < 0 ? NULL : names[cases[i].near];
    if (near != want) fail_msg("%s: %s", cases[i].meant, near ? near : "none");
  }
}

static void rules_are_listed_and_forgotten(void **state)
{
  struct shelf *shelf = *state;
  struct be_mapping *list = NULL;
  size_t count = 99;
  struct be_entering how = {.mapping = "specimen = nr", .save_as = "notebook"};
  enter_with(shelf, "a.csv", "nr,knot,line,load (lb)\nR1,uni,nylon 3,7.25\n", &how);
  how.save_as = "Atlas";
  enter_with(shelf, "b.csv", "nr,knot,line,load (lb)\nR2,uni,nylon 3,7.75\n", &how);
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_book_mappings(shelf->book, arena, &list, &count, NULL), BE_OK);
  assert_int_equal(count, 2);
  assert_string_equal(list[0].name, "Atlas");
  assert_string_equal(list[1].name, "notebook");
  assert_string_equal(list[1].rules, "specimen = nr");
  struct be_err err = {0};
  assert_int_equal(be_book_mapping_forget(shelf->book, "notebok", &err), BE_WRONG_USE);
  assert_part(err.remedy, "--mappings");
  assert_int_equal(be_book_mapping_forget(shelf->book, "notebook", &err), BE_OK);
  assert_int_equal(be_book_mappings(shelf->book, arena, &list, &count, NULL), BE_OK);
  assert_int_equal(count, 1);
  be_arena_free(arena);
  assert_sound(shelf); /* what was entered by it stays, and is still told how */
  how = (struct be_entering){.mapping_of = "notebook"};
  refuse_with(shelf, "c.csv", plain, &how, BE_WRONG_USE, "no mapping called \"notebook\"");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(titles_above_the_header_are_passed_over),
      on_a_shelf(a_row_of_units_tells_those_of_the_columns),
      on_a_shelf(an_empty_cell_means_the_one_above_where_that_is_said),
      on_a_shelf(what_is_no_number_says_what_to_do),
      on_a_shelf(a_row_of_means_is_no_pull_though_every_cell_is_filled),
      on_a_shelf(a_mark_is_no_name),
      on_a_shelf(a_pull_sheet_with_an_unknown_column_is_no_trace),
      on_a_shelf(a_misspelt_column_is_not_dropped_where_the_rules_are_meant),
      on_a_shelf(what_is_near_is_named),
      on_a_shelf(rules_are_listed_and_forgotten),
  };
  return be_tests("book: sheets as spreadsheets leave them", tests);
}
