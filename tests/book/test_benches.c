/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bench sheets, and how the rows of a pull sheet find the benches. */
#include "book/book_test.h"

static const double pound_N = 9.80665 * 0.45359237;

static const char *const sheet =
    "bench,calibration (%),resolution,drift (lb),peak missed,certificate,calibrated\n"
    "shed one,0.43,0.02 lb,0.07,1.3 %,C-118,2025-11-03\n"
    "shed two,0.9 %,1 N,none,none,none,none\n"
    "shed three,,,,,,\n"
    "shed four,none,none,0,0 %,,\n";

static void a_bench_sheet_is_kept(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "benches.csv", sheet);
  assert_string_equal(shelf->entered.kind, "bench sheet");
  assert_int_equal(shelf->entered.rows, 4);
  assert_int_equal(shelf->entered.benches, 4);
  assert_int_equal(shelf->entered.known + shelf->entered.notes_count, 0);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->benches_count, 4);
  const struct be_bench *bench = record->benches;
  assert_string_equal(bench[0].name, "shed one");
  assert_near(bench[0].calibration, 0.0043, 1e-18);
  assert_near(bench[0].resolution_N, 0.02 * pound_N, 1e-15);
  assert_near(bench[0].drift_N, 0.07 * pound_N, 1e-15);
  assert_near(bench[0].missed, 0.013, 1e-17);
  assert_string_equal(bench[0].certificate, "C-118");
  assert_string_equal(bench[0].calibrated, "2025-11-03");
  assert_sound(shelf);
}

/* Empty is not recorded; "none" of a drift or of a missed peak is zero, of the
 * other figures it can only mean that there is no figure; words stay words. */
static void a_bench_has_three_states(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "benches.csv", sheet);
  const struct be_bench *bench = read_shelf(shelf)->benches;
  assert_near(bench[1].calibration, 0.009, 2e-18); /* 0.01 is rounded, and the product */
  assert_near(bench[1].resolution_N, 1, 0);
  assert_near(bench[1].drift_N, 0, 0);
  assert_near(bench[1].missed, 0, 0);
  assert_string_equal(bench[1].certificate, "none");
  assert_string_equal(bench[1].calibrated, "none");
  assert_true(isnan(bench[2].calibration) && isnan(bench[2].resolution_N));
  assert_true(isnan(bench[2].drift_N) && isnan(bench[2].missed));
  assert_null(bench[2].certificate);
  assert_null(bench[2].calibrated);
  assert_true(isnan(bench[3].calibration) && isnan(bench[3].resolution_N));
  assert_near(bench[3].drift_N, 0, 0);
  assert_near(bench[3].missed, 0, 0);
}

static void bad_rows_are_refused(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *row, *what, *remedy;
    size_t column;
  } cases[] = {
      {",0.5 %,,,,,", "the bench has no name", "every row of a bench sheet", 1},
      {"none,0.5 %,,,,,", "the bench has no name", "every row of a bench sheet", 1},
      {"b,0.5,,,,,", "\"0.5\" has no unit", "a share of the force: \"0.5 %\"", 2},
      {"b,half,,,,,", "\"half\" is not a ratio", "\"0.5 %\"", 2},
      {"b,0.5 N,,,,,", "\"N\" is not a unit of ratio", "\"0.5 %\"", 2},
      {"b,-0.5 %,,,,,", "\"-0.5 %\" is below zero", "\"0.5 %\"", 2},
      {"b,0 %,,,,,", "a calibration must be above zero", "leave the cell empty", 2},
      {"b,100 %,,,,,", "100 % is the whole force or more", "below 100 %", 2},
      {"b,,0.02,,,,", "\"0.02\" has no unit", "after the number", 3},
      {"b,,0 N,,,,", "a resolution must be above zero", "leave the cell empty", 3},
      {"b,,-1 N,,,,", "\"-1 N\" is below zero", "", 3},
      {"b,,1 mm,,,,", "\"mm\" is not a unit of force", "", 3},
      {"b,,,0.3,,,", "\"0.3\" has no unit", "", 4},
      {"b,,,-0.3 N,,,", "\"-0.3 N\" is below zero", "", 4},
      {"b,,,,2 kg,,", "\"kg\" is not a unit of ratio", "\"0.5 %\"", 5},
      {"b,,,,130 %,,", "130 % is the whole force or more", "below 100 %", 5},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[256];
    snprintf(text, sizeof text,
             "bench,calibration,resolution,drift,peak missed,certificate,calibrated\n"
             "a,0.25 %%,1 N,,,,\n%s\n",
             cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 3, cases[i].column);
    assert_part(err.remedy, cases[i].remedy);
    assert_true(err.remedy[0]);
  }
  struct be_err err = refuse_text(shelf, "calibration (N),bench\n0.5,b\n",
                                  "\"N\" in column \"calibration (N)\" is not a unit");
  assert_place(&err, 1, 1);
  assert_part(err.remedy, "write \"calibration (%)\"");
  err = refuse_text(shelf, "bench,peak missed (lb),drift\nb,0.5,\n", "is not a unit");
  assert_part(err.remedy, "write \"peak missed (%)\"");
  refuse_text(shelf, "bench,resolution (%)\nb,1\n",
              "\"%\" in column \"resolution (%)\" is not a "
              "unit of force");
  err = refuse_text(shelf, "bench,calibration,weather\nb,1 %,x\n",
                    "column \"weather\" is not one that a bench sheet has");
  assert_place(&err, 1, 3);
  refuse_text(shelf, "calibration,resolution\n1 %,1 N\n", "not one of a pull, line, knot, bench");
  assert_int_equal(read_shelf(shelf)->benches_count, 0);
}

static void a_contradiction_names_its_field(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "benches.csv", sheet);
  static const struct {
    const char *row, *what;
    size_t column;
  } cases[] = {
      {"Shed One,0.44,0.02 lb,0.07,1.3 %,C-118,2025-11-03",
       "the bench \"Shed One\" is in the book already, with another calibration", 2},
      {"shed one,0.43,0.021 lb,0.07,1.3 %,C-118,2025-11-03", "with another resolution", 3},
      {"shed one,0.43,0.02 lb,0.08,1.3 %,C-118,2025-11-03", "with another drift", 4},
      {"shed two,0.9,1 N,0.01,,,", "with another drift", 4},
      {"shed one,0.43,0.02 lb,0.07,1.4 %,C-118,2025-11-03", "with another peak missed", 5},
      {"shed one,0.43,0.02 lb,0.07,1.3 %,C-119,2025-11-03", "with another certificate", 6},
      {"shed one,,,,,none,", "with another certificate", 6},
      {"shed one,0.43,0.02 lb,0.07,1.3 %,C-118,2025-11-04", "with another calibrated", 7},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[256];
    snprintf(text, sizeof text,
             "bench,calibration (%%),resolution,drift (lb),peak missed,certificate,calibrated\n"
             "%s\n",
             cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 2, cases[i].column);
    assert_part(err.remedy, "what is in the book stays");
  }
  /* Within one sheet, and where a rule says it. */
  refuse_text(shelf, "bench,calibration\nx,1 %\nX,2 %\n", "with another calibration");
  struct be_entering how = {.mapping = "calibration := 2 %"};
  struct be_err err = refuse_with(shelf, "a.csv", "bench,resolution\nshed one,0.02 lb\n", &how,
                                  BE_BAD_INPUT, "with another calibration");
  assert_place(&err, 2, 1);
}

static void what_was_not_recorded_may_be_told_later(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", "specimen,knot,line,bench,load (N)\nA,reef,nylon,Shed,50.5\n");
  assert_note(shelf, "line 2: new bench \"Shed\": its figures are not recorded");
  assert_int_equal(shelf->entered.benches, 1);
  enter_text(shelf, "benches.csv", "rig,calibration,drift\nshed,0.5 %,\n");
  assert_int_equal(shelf->entered.benches, 0);
  assert_int_equal(shelf->entered.known, 1);
  enter_text(shelf, "more.csv",
             "bench,calibration,resolution,drift,peak missed,certificate,calibrated\n"
             "shed,,0.1 N,0.3 N,2 %,C-7,2026-02-01\nattic,1 %,,,,,\n");
  assert_int_equal(shelf->entered.benches, 1);
  assert_int_equal(shelf->entered.known, 1);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->benches_count, 2);
  assert_string_equal(record->benches[0].name, "Shed");
  assert_near(record->benches[0].calibration, 0.005, 1e-18);
  assert_near(record->benches[0].resolution_N, 0.1, 0);
  assert_near(record->benches[0].drift_N, 0.3, 0);
  assert_near(record->benches[0].missed, 0.02, 1e-18);
  assert_string_equal(record->benches[0].certificate, "C-7");
  assert_string_equal(record->benches[0].calibrated, "2026-02-01");
  assert_int_equal(record->pulls[0].bench, 0);
  refuse_text(shelf, "bench,calibration\nshed,0.51 %\n", "with another calibration");
  enter_text(shelf, "again.csv", "bench,calibration\nSHED,0.5 %\nattic,1 %\n");
  assert_int_equal(shelf->entered.known, 2);
  enter_text(shelf, "again too.csv", "bench,calibration\nSHED,0.5 %\nattic,1 %\n");
  assert_true(shelf->entered.already);
  assert_sound(shelf);
}

static void rows_find_their_bench(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "benches.csv", sheet);
  enter_text(shelf, "day.csv",
             "specimen,knot,line,rig,load (N)\nA,reef,nylon,SHED TWO,50.5\n"
             "B,reef,nylon,,51.5\nC,reef,nylon,none,52.5\nD,reef,nylon,loft,53.5\n"
             "E,reef,nylon,Loft,54.5\nF,reef,nylon,shed one,55.5\n");
  assert_int_equal(shelf->entered.benches, 1);
  static const int benches[] = {1, BE_NO_INDEX, BE_NO_INDEX, 4, 4, 0};
  const struct be_record *record = read_shelf(shelf);
  for (size_t i = 0; i < 6; i++) assert_int_equal(record->pulls[i].bench, benches[i]);
  assert_string_equal(record->benches[4].name, "loft");
  assert_true(isnan(record->benches[4].calibration));
  assert_sound(shelf);
}

static void the_header_and_rules_tell_a_bench_sheet(void **state)
{
  (void)state;
  static const struct {
    const char *text, *mapping, *kind;
  } cases[] = {
      {"bench,calibration\nb,1 %\n", NULL, "bench sheet"},
      {"Resolution (N);RIG\n1;b\n", NULL, "bench sheet"},
      {"bench,peak_missed (%)\nb,1\n", NULL, "bench sheet"},
      {"banco,calibration\nb,1 %\n", "bench = banco", "bench sheet"},
      {"banco,cal\nb,1\n", "bench = banco\ncalibration (%) = cal", "bench sheet"},
      {"knot,line,bench,load (N)\nreef,nylon,b,7\n", NULL, "pull sheet"},
      {"knot,line,load (N)\nreef,nylon,7\n", "bench := b", "pull sheet"},
      {"time (s),force (N),drift\n0,1,2\n", NULL, "trace"},
      {"bench\nb\n", NULL, "trace"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const char *text = cases[i].text;
    assert_string_equal(be_book_kind(text, strlen(text), cases[i].mapping), cases[i].kind);
  }
}

/* A session's rule names the bench of new pulls; in a correction it says nothing. */
static void a_correction_keeps_to_its_bench(void **state)
{
  struct shelf *shelf = *state;
  struct be_entering how = {.mapping = "bench := shed two"};
  enter_text(shelf, "benches.csv", sheet);
  enter_text(shelf, "day.csv",
             "specimen,knot,line,bench,load (N)\nA,reef,nylon,shed one,50.5\nB,reef,nylon,,51.5\n");
  static const char *const others[] = {
      "specimen,bench,load (N),correction\nA,shed two,49.5,typo\n",
      "specimen,bench,load (N),correction\nA,none,49.5,typo\n",
      "specimen,bench,load (N),correction\nB,shed one,49.5,typo\n",
      "specimen,bench,load (N),correction\nB,cellar,49.5,typo\n",
  };
  for (size_t i = 0; i < 4; i++) {
    struct be_err err = refuse_text(shelf, others[i], "has another bench in the book");
    assert_place(&err, 2, 2);
    assert_part(err.remedy, "a correction replaces the result alone");
  }
  enter_text(shelf, "fix.csv",
             "specimen,bench,load (N),correction\nA,SHED ONE,49.5,typo\nB,,48.5,typo\n");
  enter_with(shelf, "more.csv", "specimen,load (N),correction\nA,47.5,again\n", &how);
  assert_near(pull_of(shelf, "A")->load_N, 47.5, 0);
  assert_int_equal(pull_of(shelf, "A")->bench, 0);
  assert_int_equal(pull_of(shelf, "B")->bench, BE_NO_INDEX);
  assert_int_equal(read_shelf(shelf)->benches_count, 4);
  enter_with(shelf, "next.csv", "specimen,knot,line,load (N)\nC,reef,nylon,47.5\n", &how);
  assert_int_equal(pull_of(shelf, "C")->bench, 1);
  assert_sound(shelf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_bench_sheet_is_kept),
      on_a_shelf(a_bench_has_three_states),
      on_a_shelf(bad_rows_are_refused),
      on_a_shelf(a_contradiction_names_its_field),
      on_a_shelf(what_was_not_recorded_may_be_told_later),
      on_a_shelf(rows_find_their_bench),
      on_a_shelf(the_header_and_rules_tell_a_bench_sheet),
      on_a_shelf(a_correction_keeps_to_its_bench),
  };
  return be_tests("book: benches", tests);
}
