/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calibration sheets, check weight sheets, and the calibration that is in force for a pull. */
#include "book/book_test.h"

#define HEAD                                                                                       \
  "bench,calibration,certificate,date,months,unit,load applied (N),reading,direction,reference,"   \
  "resolution,curve\n"

static const char winter[] = HEAD "shed,winter,K-7,2026-01-15,12,kg,0,0.013,,0.05 %,0.02 N,bent\n"
                                  "shed,winter,,,,kg,98.0665,10.013,,,,\n"
                                  "shed,winter,,,,kg,196.133,20.031,,,,\n"
                                  "shed,winter,,,,kg,294.1995,30.017,,,,\n"
                                  "shed,winter,,,,kg,98.0665,10.021,falling,,,\n";

static void a_calibration_is_kept_reading_by_reading(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "winter.csv", winter);
  assert_string_equal(shelf->entered.kind, "calibration sheet");
  assert_int_equal(shelf->entered.calibrations, 1);
  assert_int_equal(shelf->entered.benches, 1);
  assert_note(shelf, "new bench \"shed\"");
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->calibrations_count, 1);
  const struct be_kept_calibration *kept = &record->calibrations[0];
  long day = 0;
  assert_int_equal(be_date_read("2026-01-15", 10, &day, NULL), BE_OK);
  assert_int_equal(kept->bench, 0);
  assert_string_equal(kept->is.name, "winter");
  assert_string_equal(kept->is.certificate, "K-7");
  assert_string_equal(kept->is.unit, "kg");
  assert_true(kept->is.dated);
  assert_int_equal(kept->is.day, day);
  assert_int_equal(kept->is.months, 12);
  assert_int_equal(kept->is.curve, BE_CURVE_BENT);
  assert_near(kept->is.reference_percent, 0.05, 1e-12);
  assert_near(kept->is.resolution_N, 0.02, 1e-15);
  assert_int_equal(kept->is.points_count, 5);
  assert_true(kept->is.points[1].reading == 10.013);
  assert_true(kept->is.points[4].falling && !kept->is.points[3].falling);
  assert_near(kept->is.points[3].load_N, 294.1995, 1e-9);
  assert_string_equal(kept->file, "winter.csv");
  assert_int_equal(kept->file_line, 2);
  assert_sound(shelf);
}

/* What a later row tells that the first left out is taken; the unit may stand at each number. */
static void what_is_told_may_stand_on_any_row(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "a.csv",
             "rig,calibration,date,load applied,reading,months until due,reference\n"
             "shed,A,2026-02-28,none,-0.31 mV,,\n"
             "shed,A,,10 kg,\"7,25 mV\",18,\n"
             "shed,A,2026-02-28,20 kg,14.5 mV,18,0.1 %\n"
             "shed,B,2026-03-07,3 lb,311,,\nshed,B,2026-03-07,7 lb,727,,\n");
  assert_int_equal(shelf->entered.calibrations, 2);
  assert_note(shelf, "a comma that does not stand before three digits");
  const struct be_record *record = read_shelf(shelf);
  const struct be_calibration *a = &record->calibrations[0].is, *b = &record->calibrations[1].is;
  assert_string_equal(a->unit, "mV");
  assert_int_equal(a->months, 18);
  assert_near(a->reference_percent, 0.1, 1e-12);
  assert_true(a->points[0].reading == -0.31 && a->points[1].reading == 7.25);
  assert_true(a->points[0].load_N == 0);
  assert_true(isnan(a->resolution_N));
  assert_string_equal(b->unit, "");
  assert_int_equal(b->months, 0);
  assert_true(isnan(b->reference_percent));
  assert_near(b->points[1].load_N, 7 * 4.4482216152605, 1e-9);
  assert_sound(shelf);
}

static void a_bad_calibration_is_refused_whole(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *rows, *what;
    size_t line, column;
  } cases[] = {
      {"shed,,,2026-01-15,,kg,1,1,,,,\n", "the calibration is missing", 2, 2},
      {",x,,2026-01-15,,kg,1,1,,,,\n", "the bench is missing", 2, 1},
      {"shed,x[1],,2026-01-15,,kg,1,1,,,,\n", "one line without brackets", 2, 2},
      {"shed,x,\"a\nb\",2026-01-15,,kg,1,1,,,,\n", "one line without brackets", 2, 2},
      {"shed,x,,,,kg,1,1,,,,\n", "the date is missing", 2, 4},
      {"shed,x,,15.01.2026,,kg,1,1,,,,\n", "\"15.01.2026\" is not a date", 2, 4},
      {"shed,x,,2026-02-29,,kg,1,1,,,,\n", "\"2026-02-29\" is not a date", 2, 4},
      {"shed,x,,2026-01-15,7.5,kg,1,1,,,,\n", "this months cannot be", 2, 5},
      {"shed,x,,2026-01-15,1201,kg,1,1,,,,\n", "this months cannot be", 2, 5},
      {"shed,x,,2026-01-15,0,kg,1,1,,,,\n", "this months cannot be", 2, 5},
      {"shed,x,,2026-01-15,,stone,1,1,,,,\n", "\"stone\" is not a unit", 2, 6},
      {"shed,x,,2026-01-15,,kg,1,1 stone,,,,\n", "\"stone\" is not a unit", 2, 8},
      {"shed,x,,2026-01-15,,kg,,1,,,,\n", "the load applied is missing", 2, 7},
      {"shed,x,,2026-01-15,,kg,-3,1,,,,\n", "\"-3\" is below zero", 2, 7},
      {"shed,x,,2026-01-15,,kg,1,,,,,\n", "the reading is missing", 2, 8},
      {"shed,x,,2026-01-15,,kg,1,full,,,,\n", "\"full\" is not a number", 2, 8},
      {"shed,x,,2026-01-15,,kg,1,1,sideways,,,\n", "not one of the words", 2, 9},
      {"shed,x,,2026-01-15,,kg,1,1,,130 %,,\n", "this reference cannot be", 2, 10},
      {"shed,x,,2026-01-15,,kg,1,1,,,0 N,\n", "this resolution cannot be", 2, 11},
      {"shed,x,,2026-01-15,,kg,1,1,,,,wavy\n", "not one of the words", 2, 12},
      {"shed,x,,2026-01-15,,kg,1,1,,,,\nshed,x,,2026-01-16,,kg,2,2,,,,\n",
       "has another date on a row before", 3, 4},
      {"shed,x,,2026-01-15,,kg,1,1,,,,\nboat,x,,2026-01-15,,kg,2,2,,,,\n",
       "has another bench on a row before", 3, 1},
      {"shed,x,a,2026-01-15,,kg,1,1,,,,\nshed,x,b,,,kg,2,2,,,,\n",
       "has another certificate on a row before", 3, 3},
      {"shed,x,,2026-01-15,9,kg,1,1,,,,\nshed,x,,,8,kg,2,2,,,,\n",
       "has another months on a row before", 3, 5},
      {"shed,x,,2026-01-15,,kg,1,1,,,,\nshed,x,,,,lb,2,2,,,,\n", "a reading in another unit", 3, 8},
      {"shed,x,,2026-01-15,,kg,1,1,,,,\nshed,x,,,,,2,2,,,,\n", "a reading in another unit", 3, 8},
      {"shed,x,,2026-01-15,,kg,1,1,,1 %,,\nshed,x,,,,kg,2,2,,2 %,,\n",
       "has another reference on a row before", 3, 10},
      {"shed,x,,2026-01-15,,kg,1,1,,,1 N,\nshed,x,,,,kg,2,2,,,2 N,\n",
       "has another resolution on a row before", 3, 11},
      {"shed,x,,2026-01-15,,kg,1,1,,,,bent\nshed,x,,,,kg,2,2,,,,straight\n",
       "has another curve on a row before", 3, 12},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[600];
    snprintf(text, sizeof text, "%s%s", HEAD, cases[i].rows);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, cases[i].line, cases[i].column);
    assert_true(*err.remedy);
  }
  assert_int_equal(read_shelf(shelf)->calibrations_count, 0);
}

/* Two loads at least for a straight line, and no more readings than the arithmetic has room for. */
static void one_that_gives_no_curve_is_refused(void **state)
{
  struct shelf *shelf = *state;
  struct be_err err =
      refuse_text(shelf, HEAD "shed,x,,2026-01-15,,kg,1,1,,,,\nshed,x,,2026-01-15,,kg,1,1.1,,,,\n",
                  "the calibration \"x\":");
  assert_place(&err, 2, 0);
  static char many[20000];
  size_t used = (size_t)snprintf(many, sizeof many, "%s", HEAD);
  for (int i = 0; i < 201; i++)
    used += (size_t)snprintf(many + used, sizeof many - used,
                             "shed,x,,2026-01-15,,kg,%d,%d.5,,,,\n", i, i);
  refuse_text(shelf, many, "a calibration has 201 readings, and 200 are the most");
  char long_name[200];
  memset(long_name, 'n', sizeof long_name);
  char text[600];
  snprintf(text, sizeof text, "%sshed,%.64s,,2026-01-15,,kg,1,1,,,,\n", HEAD, long_name);
  err = refuse_text(shelf, text, "the name is too long");
  assert_place(&err, 2, 2);
  snprintf(text, sizeof text, "%sshed,x,%.64s,2026-01-15,,kg,1,1,,,,\n", HEAD, long_name);
  err = refuse_text(shelf, text, "the name is too long");
  assert_place(&err, 2, 3);
}

static void a_calibration_is_entered_once(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "winter.csv", winter);
  struct be_err err = refuse_text(shelf, HEAD "shed,WINTER,,2026-07-15,,kg,1,1,,,,\n",
                                  "the calibration \"WINTER\" is in the book already");
  assert_place(&err, 2, 2);
}

/* ---- in force ---- */

static void enter_two_benches(struct shelf *shelf)
{
  enter_text(shelf, "calibrations.csv",
             "bench,calibration,date,load applied (N),reading\n"
             "shed,old,2025-11-03,10,10.1\nshed,old,,50,50.3\n"
             "shed,new,2026-03-09,10,10.2\nshed,new,,50,50.5\n"
             "boat,boat one,2026-02-28,10,10.2\nboat,boat one,,50,50.5\n");
}

static const char *in_force(struct shelf *shelf, const char *code)
{
  const struct be_pull *pull = pull_of(shelf, code);
  return pull->calibration == BE_NO_INDEX ? "none"
                                          : shelf->record.calibrations[pull->calibration].is.name;
}

static void the_last_before_the_pull_is_in_force(void **state)
{
  struct shelf *shelf = *state;
  enter_two_benches(shelf);
  enter_text(shelf, "pulls.csv",
             "specimen,knot,line,load (N),bench,session\n"
             "before,uni,nylon,31,shed,2025-11-02\n"
             "first day,uni,nylon,31,shed,2025-11-03\n"
             "eve,uni,nylon,31,shed,2026-03-08\n"
             "same day,uni,nylon,31,shed,2026-03-09\n"
             "evening,uni,nylon,31,shed,2026-03-09T18:30\n"
             "other,uni,nylon,31,boat,2026-03-09\n"
             "early boat,uni,nylon,31,boat,2026-02-27\n"
             "no bench,uni,nylon,31,,2026-03-09\n"
             "no date,uni,nylon,31,shed,spring\n"
             "odd date,uni,nylon,31,shed,2026-02-30\n");
  assert_string_equal(in_force(shelf, "before"), "none");
  assert_string_equal(in_force(shelf, "first day"), "old");
  assert_string_equal(in_force(shelf, "eve"), "old");
  assert_string_equal(in_force(shelf, "same day"), "new");
  assert_string_equal(in_force(shelf, "evening"), "new");
  assert_string_equal(in_force(shelf, "other"), "boat one");
  assert_string_equal(in_force(shelf, "early boat"), "none");
  assert_string_equal(in_force(shelf, "no bench"), "none");
  /* The day it was entered, which is later than all of these. */
  assert_string_equal(in_force(shelf, "no date"), "new");
  assert_string_equal(in_force(shelf, "odd date"), "new");
}

static void of_two_of_one_day_the_one_entered_last_is(void **state)
{
  struct shelf *shelf = *state;
  enter_two_benches(shelf);
  enter_text(shelf, "again.csv",
             "bench,calibration,date,load applied (N),reading\n"
             "shed,again,2026-03-09,10,10.2\nshed,again,,50,50.5\n"
             "shed,late,2025-12-24,10,10.2\nshed,late,,50,50.5\n");
  enter_text(shelf, "pulls.csv",
             "specimen,knot,line,load (N),bench,session\n"
             "a,uni,nylon,31,shed,2026-03-09\nb,uni,nylon,31,shed,2026-01-01\n");
  assert_string_equal(in_force(shelf, "a"), "again");
  assert_string_equal(in_force(shelf, "b"), "late");
}

/* What the record was before an entering knows no calibration that came later. */
static void an_earlier_record_has_the_earlier_calibration(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "pulls.csv",
             "specimen,knot,line,load (N),bench,session\n"
             "a,uni,nylon,31,shed,2026-03-09\n");
  struct be_moment moment;
  enter_two_benches(shelf);
  assert_int_equal(be_book_moment(shelf->book, "calibrations.csv", shelf->arena, &moment, NULL),
                   BE_OK);
  struct be_record then;
  assert_int_equal(be_book_read_until(shelf->book, moment.id, shelf->arena, &then, NULL), BE_OK);
  assert_int_equal(then.calibrations_count, 0);
  assert_int_equal(then.pulls[0].calibration, BE_NO_INDEX);
  assert_string_equal(in_force(shelf, "a"), "new");
}

static void a_pull_may_tell_its_calibration_and_its_zeros(void **state)
{
  struct shelf *shelf = *state;
  enter_two_benches(shelf);
  enter_text(shelf, "pulls.csv",
             "specimen,knot,line,load (N),bench,session,calibration,zero before (N),zero after\n"
             "a,uni,nylon,31,shed,2026-03-09,OLD,-0.37,0.21 N\n"
             "b,uni,nylon,31,shed,2026-03-09,summer,,none\n");
  assert_note(shelf, "line 3: the calibration \"summer\" is not in the book yet");
  const struct be_pull *a = pull_of(shelf, "a");
  assert_string_equal(a->calibration_told, "OLD");
  assert_string_equal(shelf->record.calibrations[a->calibration].is.name, "old");
  assert_true(a->zero_before_N == -0.37 && a->zero_after_N == 0.21);
  const struct be_pull *b = pull_of(shelf, "b");
  assert_int_equal(b->calibration, BE_NO_INDEX);
  assert_true(isnan(b->zero_before_N) && isnan(b->zero_after_N));
  enter_text(shelf, "summer.csv",
             "bench,calibration,date,load applied (N),reading\n"
             "shed,summer,2026-06-09,10,10.2\nshed,summer,,50,50.5\n");
  assert_string_equal(in_force(shelf, "b"), "summer");
  assert_sound(shelf);
}

static void a_pull_is_refused_a_calibration_of_another_bench(void **state)
{
  struct shelf *shelf = *state;
  enter_two_benches(shelf);
  struct be_err err = refuse_text(shelf,
                                  "specimen,knot,line,load (N),bench,calibration\n"
                                  "a,uni,nylon,31,boat,new\n",
                                  "the calibration \"new\" is of another bench");
  assert_place(&err, 2, 6);
  err = refuse_text(shelf, "specimen,knot,line,load (N),zero after (kg)\na,uni,nylon,31,2000000\n",
                    "is not a zero of a rig");
  assert_place(&err, 2, 5);
}

static void a_correction_leaves_them_as_they_are(void **state)
{
  struct shelf *shelf = *state;
  enter_two_benches(shelf);
  enter_text(shelf, "pulls.csv",
             "specimen,knot,line,load (N),bench,calibration,zero before (N),zero after (N)\n"
             "a,uni,nylon,31,shed,new,-0.37,0.21\n");
  static const char *const cases[] = {"calibration\na,why,29,old\n",
                                      "zero before (N)\na,why,29,0.3\n",
                                      "zero after (N)\na,why,29,0.3\n"};
  for (size_t i = 0; i < 3; i++) {
    char text[200];
    snprintf(text, sizeof text, "specimen,correction,load (N),%s", cases[i]);
    struct be_err err = refuse_text(shelf, text, "specimen \"a\" has another ");
    assert_place(&err, 2, 4);
  }
  enter_text(shelf, "fine.csv",
             "specimen,correction,load (N),calibration,zero before (N)\n"
             "a,misread,29,NEW,-0.37\n");
  assert_true(pull_of(shelf, "a")->load_N == 29);
  assert_sound(shelf);
}

/* ---- check weights ---- */

static void check_weights_are_kept_by_date(void **state)
{
  struct shelf *shelf = *state;
  enter_two_benches(shelf);
  enter_text(shelf, "log.csv",
             "bench,when,weight (kg),reading (kg),session,note\n"
             "shed,2026-03-09 18:30,5,5.003,evening,warm\nshed,2026-03-09,5,4.997,,\n"
             "boat,2025-01-02,5,5.1 lb,,\n");
  assert_string_equal(shelf->entered.kind, "check weight sheet");
  assert_int_equal(shelf->entered.weights, 3);
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->weights_count, 3);
  const struct be_check_weight *w = record->weights;
  assert_string_equal(w[0].unit, "lb");
  assert_int_equal(w[0].calibration, BE_NO_INDEX);
  assert_true(w[1].reading == 4.997 && w[2].reading == 5.003);
  assert_string_equal(w[2].date, "2026-03-09T18:30");
  assert_string_equal(w[2].session, "evening");
  assert_string_equal(w[2].note, "warm");
  assert_int_equal(w[1].day, w[2].day);
  assert_near(w[1].weight_N, 5 * 9.80665, 1e-12);
  assert_string_equal(record->calibrations[w[2].calibration].is.name, "new");
  assert_sound(shelf);
}

static void a_bad_check_weight_is_refused(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *row, *what;
    size_t column;
  } cases[] = {
      {",2026-03-09,5,5", "the bench has no name", 1},
      {"none,2026-03-09,5,5", "the bench has no name", 1},
      {"shed,,5,5", "the date is missing", 2},
      {"shed,March,5,5", "\"March\" is not a date", 2},
      {"shed,2026-03-09,,5", "a check weight must be above zero", 3},
      {"shed,2026-03-09,0,5", "a check weight must be above zero", 3},
      {"shed,2026-03-09,5 stone,5", "stone", 3},
      {"shed,2026-03-09,5,", "the reading is missing", 4},
      {"shed,2026-03-09,5,much", "\"much\" is not a number", 4},
      {"shed,2026-03-09,5,5 stone", "\"stone\" is not a unit", 4},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[200];
    snprintf(text, sizeof text, "bench,date,weight (kg),reading\n%s\n", cases[i].row);
    struct be_err err = refuse_text(shelf, text, cases[i].what);
    assert_place(&err, 2, cases[i].column);
  }
  struct be_err err = refuse_text(shelf, "date,weight (kg),reading\n2026-03-09,5,5\n",
                                  "there is no column \"bench\"");
  assert_place(&err, 1, 0);
  refuse_text(shelf, "bench,load applied (kg),reading\nshed,5,5\n",
              "there is no column \"calibration\"");
}

/* ---- is it still right ---- */

static void what_was_changed_behind_its_back_is_found(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *change, *back, *what;
  } cases[] = {
      {"UPDATE calibration SET months = 24", "UPDATE calibration SET months = 12",
       "calibration \"winter\": months is 24"},
      {"UPDATE calibration_point SET reading = 10.5 WHERE id = 2",
       "UPDATE calibration_point SET reading = 10.013 WHERE id = 2",
       "a reading of calibration \"winter\": reading is 10.5"},
      {"UPDATE check_weight SET reading = 5", "UPDATE check_weight SET reading = 4.997",
       "a check weight on bench \"shed\": reading is 5,"},
      {"UPDATE pull SET zero_after_N = 0", "UPDATE pull SET zero_after_N = 0.21",
       "the pull of specimen \"a\": zero after is 0,"},
      {"UPDATE pull SET calibration = 'x'", "UPDATE pull SET calibration = 'winter'",
       "the pull of specimen \"a\": calibration is \"x\""},
  };
  enter_text(shelf, "winter.csv", winter);
  enter_text(shelf, "log.csv", "bench,when,weight (kg),reading (kg)\nshed,2026-03-09,5,4.997\n");
  enter_text(shelf, "pulls.csv",
             "specimen,knot,line,load (N),bench,calibration,zero after (N)\n"
             "a,uni,nylon,31,shed,winter,0.21\n");
  assert_sound(shelf);
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_book_check checked;
    struct be_err err = {0};
    tamper(shelf, cases[i].change);
    assert_int_equal(be_book_check(shelf->book, &checked, &err), BE_NO);
    assert_part(err.what, cases[i].what);
    tamper(shelf, cases[i].back);
  }
  assert_sound(shelf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_calibration_is_kept_reading_by_reading),
      on_a_shelf(what_is_told_may_stand_on_any_row),
      on_a_shelf(a_bad_calibration_is_refused_whole),
      on_a_shelf(one_that_gives_no_curve_is_refused),
      on_a_shelf(a_calibration_is_entered_once),
      on_a_shelf(the_last_before_the_pull_is_in_force),
      on_a_shelf(of_two_of_one_day_the_one_entered_last_is),
      on_a_shelf(an_earlier_record_has_the_earlier_calibration),
      on_a_shelf(a_pull_may_tell_its_calibration_and_its_zeros),
      on_a_shelf(a_pull_is_refused_a_calibration_of_another_bench),
      on_a_shelf(a_correction_leaves_them_as_they_are),
      on_a_shelf(check_weights_are_kept_by_date),
      on_a_shelf(a_bad_check_weight_is_refused),
      on_a_shelf(what_was_changed_behind_its_back_is_found),
  };
  return be_tests("book: calibrations", tests);
}
