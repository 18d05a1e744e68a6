/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The record as it stood before an entering, and which entering a name or a date means. */
#include "book/book_test.h"

#define HEAD "specimen,knot,line A,spool A,bench,load (N),correction\n"

static void enter_days(struct shelf *shelf)
{
  enter_text(shelf, "monday.csv",
             HEAD "a1,uni,nylon 12 lb,S1,east,41.7,\n"
                  "a2,uni,nylon 12 lb,S1,east,43.9,\n");
  enter_text(shelf, "tuesday.csv",
             HEAD "a1,uni,nylon 12 lb,S1,east,14.7,digits swapped\n"
                  "b1,palomar,nylon 12 lb,S2,west,47.3,\n");
  enter_text(shelf, "lines.csv", "line,spool,material\nnylon 12 lb,S1,nylon\n");
  enter_text(shelf, "friday.csv",
             HEAD "a1,uni,nylon 12 lb,S1,east,41.1,read again\n"
                  "b2,snell,nylon 6 lb,,,23.1,\n");
}

static struct be_moment moment_of(struct shelf *shelf, const char *since)
{
  struct be_moment moment;
  struct be_err err = {0};
  enum be_status status = be_book_moment(shelf->book, since, shelf->arena, &moment, &err);
  if (status != BE_OK) print_error("%s\n", err.what);
  assert_int_equal(status, BE_OK);
  return moment;
}

static const struct be_record *read_until(struct shelf *shelf, const char *since)
{
  int64_t id = moment_of(shelf, since).id;
  assert_int_equal(be_book_read_until(shelf->book, id, shelf->arena, &shelf->record, NULL), BE_OK);
  return &shelf->record;
}

static void results_are_those_of_that_time(void **state)
{
  struct shelf *shelf = *state;
  enter_days(shelf);
  const struct be_record *record = read_until(shelf, "tuesday.csv");
  assert_int_equal(record->pulls_count, 2);
  assert_near(record->pulls[0].load_N, 41.7, 1e-12);
  assert_int_equal(record->pulls[0].corrections, 0);
  record = read_until(shelf, "friday.csv");
  assert_int_equal(record->pulls_count, 3);
  assert_near(record->pulls[0].load_N, 14.7, 1e-12);
  assert_int_equal(record->pulls[0].corrections, 1);
  assert_int_equal(record->pulls[0].entering, moment_of(shelf, "tuesday.csv").id);
  assert_int_equal(record->pulls[1].entering, moment_of(shelf, "monday.csv").id);
  record = read_shelf(shelf);
  assert_int_equal(record->pulls_count, 4);
  assert_near(record->pulls[0].load_N, 41.1, 1e-12);
  assert_int_equal(record->pulls[0].corrections, 2);
}

/* Indexes are the same in both, for what came later lies behind. */
static void later_lines_knots_and_benches_are_not_there_yet(void **state)
{
  struct shelf *shelf = *state;
  enter_days(shelf);
  const struct be_record *record = read_until(shelf, "monday.csv");
  assert_int_equal(record->pulls_count + record->lines_count, 0);
  assert_int_equal(record->knots_count + record->benches_count, 0);
  record = read_until(shelf, "tuesday.csv");
  assert_int_equal(record->lines_count, 1);
  assert_int_equal(record->knots_count, 1);
  assert_int_equal(record->benches_count, 1);
  /* What a later sheet told of a line is not taken back. */
  assert_string_equal(record->lines[0].material, "nylon");
  record = read_until(shelf, "friday.csv");
  assert_int_equal(record->lines_count, 2);
  assert_string_equal(record->knots[record->pulls[2].knot].name, "palomar");
  assert_string_equal(record->benches[record->pulls[2].bench].name, "west");
  record = read_shelf(shelf);
  assert_int_equal(record->lines_count, 3);
  assert_string_equal(record->knots[record->pulls[2].knot].name, "palomar");
}

static void a_trace_that_came_later_is_not_there_yet(void **state)
{
  struct shelf *shelf = *state;
  char trace[TRACE_SIZE];
  make_trace(trace, 0.4, 44.1, 0);
  enter_days(shelf);
  enter_text(shelf, "a2.csv", trace);
  const struct be_record *record = read_until(shelf, "a2.csv");
  assert_int_equal(record->pulls[1].trace, 0);
  assert_true(isnan(record->pulls[1].trace_peak_N));
  record = read_shelf(shelf);
  assert_int_equal(record->pulls[1].trace, moment_of(shelf, "a2.csv").id);
  assert_near(record->pulls[1].trace_peak_N, 44.1, 0.01);
}

/* ---- which entering is meant ---- */

static void date_all(struct shelf *shelf)
{
  enter_days(shelf);
  tamper(shelf, "UPDATE file SET entered_at = '2026-10-05T09:30:00Z' WHERE name = 'monday.csv';"
                "UPDATE file SET entered_at = '2026-10-06T17:59:58Z' WHERE name = 'tuesday.csv';"
                "UPDATE file SET entered_at = '2026-10-06T18:20:00Z' WHERE name = 'lines.csv';"
                "UPDATE file SET entered_at = '2026-10-09T08:00:00Z' WHERE name = 'friday.csv'");
}

static void a_date_means_the_first_file_from_then_on(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *since, *file;
  } cases[] = {
      {"2026-10-05", "monday.csv"},         {"2026-10-06", "tuesday.csv"},
      {"2026-10-06T17:59", "tuesday.csv"},  {"2026-10-06T18:00", "lines.csv"},
      {"2026-10-06 18:00", "lines.csv"},    {"2026-10-06T17:59:58Z", "tuesday.csv"},
      {"2026-10-06T17:59:59", "lines.csv"}, {"2026-10-07", "friday.csv"},
      {"2024-02-29", "monday.csv"},         {"2026-10-09T08:00Z", "friday.csv"},
  };
  date_all(shelf);
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    assert_string_equal(moment_of(shelf, cases[i].since).file, cases[i].file);
  assert_string_equal(moment_of(shelf, "2026-10-07").entered_at, "2026-10-09T08:00:00Z");
  const struct be_moment none = moment_of(shelf, "2026-10-09T08:00:01");
  assert_null(none.file);
  assert_int_equal(none.id, INT64_MAX);
}

static void of_files_of_one_name_the_last_is_meant(void **state)
{
  struct shelf *shelf = *state;
  date_all(shelf);
  int64_t first = moment_of(shelf, "monday.csv").id;
  enter_text(shelf, "monday.csv", HEAD "c1,uni,nylon 12 lb,S1,east,40.3,\n");
  assert_true(moment_of(shelf, "monday.csv").id > first);
  /* A file whose name looks like a date is a file. */
  enter_text(shelf, "2026-10-05", HEAD "c2,uni,nylon 12 lb,S1,east,40.9,\n");
  assert_string_equal(moment_of(shelf, "2026-10-05").file, "2026-10-05");
}

static void what_is_neither_is_refused(void **state)
{
  struct shelf *shelf = *state;
  static const char *const wrong[] = {"",
                                      "monday",
                                      "2026-13-01",
                                      "2026-00-10",
                                      "2026-02-29",
                                      "2026-04-31",
                                      "2026-10-00",
                                      "2026-1-05",
                                      "26-10-05",
                                      "2026/10/05",
                                      "2026-10-05T24:00",
                                      "2026-10-05T18",
                                      "2026-10-05T18:60",
                                      "2026-10-05T18:00:61",
                                      "2026-10-05x18:00",
                                      "2026-10-05T18.00",
                                      "2026-10-05T18:00+02:00",
                                      "2026-10-05TZ"};
  date_all(shelf);
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    struct be_moment moment;
    struct be_err err = {0};
    enum be_status status = be_book_moment(shelf->book, wrong[i], shelf->arena, &moment, &err);
    if (status != BE_WRONG_USE) print_error("taken: %s\n", wrong[i]);
    assert_int_equal(status, BE_WRONG_USE);
    assert_part(err.what, "is neither a file that was entered nor a date");
    assert_part(err.remedy, "2026-10-01T18:00");
    assert_string_equal(err.file, shelf->path);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(results_are_those_of_that_time),
      on_a_shelf(later_lines_knots_and_benches_are_not_there_yet),
      on_a_shelf(a_trace_that_came_later_is_not_there_yet),
      on_a_shelf(a_date_means_the_first_file_from_then_on),
      on_a_shelf(of_files_of_one_name_the_last_is_meant),
      on_a_shelf(what_is_neither_is_refused),
  };
  return be_tests("book: moments", tests);
}
