/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Four sets of ten pulls as one tester typed them, with the means and
 * deviations that the tester published: a public angling forum, 23 May 2006.
 * The Welch and ratio figures were worked out from the same loads with R 4.2.2. */
#include "app_test.h"

static const char sheet[] =
    "series,knot,pulled,string,load (lb)\n"
    "0,overhand,middle,copolymer 40 lb,32\n0,overhand,middle,copolymer 40 lb,34.5\n"
    "0,overhand,middle,copolymer 40 lb,33.5\n0,overhand,middle,copolymer 40 lb,32\n"
    "0,overhand,middle,copolymer 40 lb,34.5\n0,overhand,middle,copolymer 40 lb,30\n"
    "0,overhand,middle,copolymer 40 lb,32\n0,overhand,middle,copolymer 40 lb,29\n"
    "0,overhand,middle,copolymer 40 lb,30.5\n0,overhand,middle,copolymer 40 lb,31\n"
    "1,dropper,along,copolymer 40 lb,13.5\n1,dropper,along,copolymer 40 lb,13\n"
    "1,dropper,along,copolymer 40 lb,16\n1,dropper,along,copolymer 40 lb,17\n"
    "1,dropper,along,copolymer 40 lb,16\n1,dropper,along,copolymer 40 lb,13\n"
    "1,dropper,along,copolymer 40 lb,\"14,5\"\n1,dropper,along,copolymer 40 lb,11.5\n"
    "1,dropper,along,copolymer 40 lb,15\n1,dropper,along,copolymer 40 lb,21.5\n"
    "2,dropper,by its loop,copolymer 40 lb,21\n2,dropper,by its loop,copolymer 40 lb,26.5\n"
    "2,dropper,by its loop,copolymer 40 lb,22\n2,dropper,by its loop,copolymer 40 lb,22.5\n"
    "2,dropper,by its loop,copolymer 40 lb,19.5\n2,dropper,by its loop,copolymer 40 lb,16.5\n"
    "2,dropper,by its loop,copolymer 40 lb,15\n2,dropper,by its loop,copolymer 40 lb,13.5\n"
    "2,dropper,by its loop,copolymer 40 lb,16\n2,dropper,by its loop,copolymer 40 lb,23.5\n"
    "3,other loop,along,copolymer 40 lb,24.5\n3,other loop,along,copolymer 40 lb,23.5\n"
    "3,other loop,along,copolymer 40 lb,24.5\n3,other loop,along,copolymer 40 lb,28\n"
    "3,other loop,along,copolymer 40 lb,24\n3,other loop,along,copolymer 40 lb,22\n"
    "3,other loop,along,copolymer 40 lb,14\n3,other loop,along,copolymer 40 lb,22.5\n"
    "3,other loop,along,copolymer 40 lb,24\n3,other loop,along,copolymer 40 lb,25.5\n";

static const char mapping[] = "version = pulled\nline A = string\nignore = series\n"
                              "design := two different\n";

struct fixture {
  char book[512];
  struct be_arena *arena;
  struct survey survey;
};

static int make(void **state)
{
  struct fixture *fixture = calloc(1, sizeof *fixture);
  struct be_answering how = {.relative_to = "overhand"};
  test_book(fixture->book, "ten.book", sheet, mapping);
  fixture->arena = be_arena_create();
  assert_int_equal(be_survey_read(fixture->book, &how, fixture->arena, &fixture->survey, NULL),
                   BE_OK);
  *state = fixture;
  return 0;
}

static int done(void **state)
{
  struct fixture *fixture = *state;
  be_arena_free(fixture->arena);
  free(fixture);
  return 0;
}

static const char place[] = "copolymer 40 lb, soak not recorded, two different";

static void means_and_deviations_as_published(void **state)
{
  struct fixture *fixture = *state;
  static const struct {
    const char *knot;
    double mean, sd, mean_tolerance, sd_tolerance; /* half of the last digit printed */
  } published[] = {{"overhand (middle)", 31.9, 1.853, 0.05, 0.0005},
                   {"dropper (along)", 15.1, 2.8, 0.05, 0.05},
                   {"dropper (by its loop)", 19.6, 4.215, 0.05, 0.0005},
                   {"other loop (along)", 23.25, 3.646, 0.005, 0.0005}};
  for (size_t i = 0; i < 4; i++) {
    const struct cell *cell = test_cell(&fixture->survey, place, published[i].knot);
    assert_int_equal(cell->n, 10);
    assert_near(be_shown(&fixture->survey, cell->summary.mean), published[i].mean,
                published[i].mean_tolerance);
    assert_near(be_shown(&fixture->survey, cell->summary.sd), published[i].sd,
                published[i].sd_tolerance);
  }
}

static void two_knots_by_welch(void **state)
{
  struct fixture *fixture = *state;
  struct be_difference apart;
  be_welch(&test_cell(&fixture->survey, place, "other loop (along)")->pooled,
           &test_cell(&fixture->survey, place, "dropper (along)")->pooled, 0.95, &apart);
  assert_near(apart.t, 5.6015, 5e-5);
  assert_near(apart.df, 16.895, 5e-4);
  assert_near(be_shown(&fixture->survey, apart.value), 8.15, 1e-9);
  assert_near(be_shown(&fixture->survey, apart.interval.low), 5.079, 5e-4);
  assert_near(be_shown(&fixture->survey, apart.interval.high), 11.221, 5e-4);
}

static void ratios_to_the_reference_knot(void **state)
{
  struct fixture *fixture = *state;
  static const struct {
    const char *knot;
    double value, low, high, df;
  } published[] = {{"dropper (along)", 0.4734, 0.4132, 0.5423, 10.741},
                   {"other loop (along)", 0.7288, 0.6491, 0.8184, 11.424}};
  const struct cell *reference = test_cell(&fixture->survey, place, "overhand (middle)");
  for (size_t i = 0; i < 2; i++) {
    struct be_ratio ratio;
    be_ratio_log(&test_cell(&fixture->survey, place, published[i].knot)->pooled, &reference->pooled,
                 0.95, &ratio);
    assert_near(ratio.value, published[i].value, 5e-5);
    assert_near(ratio.interval.low, published[i].low, 5e-5);
    assert_near(ratio.interval.high, published[i].high, 5e-5);
    assert_near(ratio.df, published[i].df, 5e-4);
  }
}

static void no_plain_line_no_efficiency(void **state)
{
  struct fixture *fixture = *state;
  struct be_doc *doc = NULL;
  for (size_t i = 0; i < fixture->survey.cells_count; i++)
    assert_true(isnan(fixture->survey.cells[i].efficiency.value));
  assert_int_equal(be_strength_doc(&fixture->survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "No plain line was pulled, so no efficiency can be given"));
  assert_true(says(doc, "Relative to a knot, never an efficiency."));
  assert_true(says(doc, "Each specimen holds two knots"));
  assert_true(says(doc, "steps of 0.5 lb"));
  be_doc_free(doc);
}

static void the_fourteen_is_an_alarm_with_and_without(void **state)
{
  struct fixture *fixture = *state;
  const struct cell *cell = test_cell(&fixture->survey, place, "other loop (along)");
  assert_true(cell->alarm.raised);
  assert_near(be_shown(&fixture->survey, cell->loads[cell->alarm.index]), 14, 1e-9);
  /* (23.25 - 14) / 3.6458 against Grubbs' 2.290 for ten (Technometrics 11, 1969). */
  assert_near(cell->alarm.statistic, 2.537, 5e-4);
  assert_near(cell->alarm.critical, 2.290, 5e-4);
  assert_int_equal(cell->n, 10);
  for (size_t i = 0; i < fixture->survey.cells_count; i++)
    if (&fixture->survey.cells[i] != cell) assert_false(fixture->survey.cells[i].alarm.raised);
  struct be_doc *doc = NULL;
  assert_int_equal(be_strength_doc(&fixture->survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "23.25")); /* with */
  assert_true(says(doc, "24.28")); /* without: (232.5 - 14) / 9 */
  be_doc_free(doc);
}

static void the_typed_comma_is_said(void **state)
{
  (void)state;
  char book[512], path[512];
  struct be_doc *doc = NULL;
  struct be_entering how = {.mapping = mapping};
  test_path(path, "ten.book.csv");
  test_path(book, "said.book");
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &how, &doc, NULL), BE_OK);
  assert_true(says(doc, "line 18: column \"load\": \"14,5\" was taken for 14.5 lb"));
  be_doc_free(doc);
  assert_int_equal(be_app_enter(book, paths, 1, &how, &doc, NULL), BE_OK);
  assert_true(says(doc, "was entered before; nothing was added"));
  be_doc_free(doc);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(means_and_deviations_as_published),
      cmocka_unit_test(two_knots_by_welch),
      cmocka_unit_test(ratios_to_the_reference_knot),
      cmocka_unit_test(no_plain_line_no_efficiency),
      cmocka_unit_test(the_fourteen_is_an_alarm_with_and_without),
      cmocka_unit_test(the_typed_comma_is_said),
  };
  cmocka_set_message_output(CM_OUTPUT_TAP);
  return cmocka_run_group_tests_name("app: four sets of ten pulls", tests, make, done);
}
