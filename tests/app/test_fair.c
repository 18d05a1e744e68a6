/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What may be compared, and what may be claimed of it. */
#include "app_test.h"

/* alpha keeps 90 % of spool 1 (100 N), beta 80 % of spool 2 (120 N): beta's
 * loads are higher, and alpha is the stronger knot. */
static void a_strong_spool_is_no_strong_knot(void **state)
{
  (void)state;
  char sheet[4096];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "p1,none,nylon,S1,,dry,,99,,,,\np2,none,nylon,S1,,dry,,100,,,,\n"
           "p3,none,nylon,S1,,dry,,101,,,,\nq1,none,nylon,S2,,dry,,119,,,,\n"
           "q2,none,nylon,S2,,dry,,120,,,,\nq3,none,nylon,S2,,dry,,121,,,,\n"
           "a1,alpha,nylon,S1,,dry,,89,,,,\na2,alpha,nylon,S1,,dry,,90,,,,\n"
           "a3,alpha,nylon,S1,,dry,,91,,,,\nb1,beta,nylon,S2,,dry,,95,,,,\n"
           "b2,beta,nylon,S2,,dry,,96,,,,\nb3,beta,nylon,S2,,dry,,97,,,,\n");
  struct be_arena *arena = test_survey("spools.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "The alpha held most in nylon, dry"));
  be_doc_free(doc);
  int a = be_knot_find(&survey, "alpha", NULL), b = be_knot_find(&survey, "beta", NULL);
  assert_int_equal(be_versus_doc(&survey, b, a, &doc, NULL), BE_OK);
  assert_true(says(doc, "The alpha held more than the beta"));
  assert_true(says(doc, "10.0 pts"));
  be_doc_free(doc);
  be_arena_free(arena);
}

/* The same without plain lines: loads across spools say nothing of the knots. */
static void spools_without_plain_lines_are_not_compared(void **state)
{
  (void)state;
  char sheet[2048];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "a1,alpha,nylon,S1,,dry,,89,,,,\na2,alpha,nylon,S1,,dry,,90,,,,\n"
           "b1,beta,nylon,S2,,dry,,119,,,,\nb2,beta,nylon,S2,,dry,,120,,,,\n");
  struct be_arena *arena = test_survey("bare-spools.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "Cannot separate the first from 1 other"));
  assert_true(says(doc, "a strong spool may pass"));
  be_doc_free(doc);
  assert_int_equal(be_versus_doc(&survey, 0, 1, &doc, NULL), BE_OK);
  assert_true(says(doc, "no combination in which their events can be compared"));
  be_doc_free(doc);
  be_arena_free(arena);
}

/* Only S1 was pulled plain: its mean is no measure of a knot tied on S2. */
static void another_spools_plain_line_separates_nothing(void **state)
{
  (void)state;
  char sheet[4096];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "p1,none,nylon,S1,,dry,500,99,,,,\np2,none,nylon,S1,,dry,500,100,,,,\n"
           "p3,none,nylon,S1,,dry,500,101,,,,\na1,alpha,nylon,S1,,dry,500,79,,,,\n"
           "a2,alpha,nylon,S1,,dry,500,80,,,,\na3,alpha,nylon,S1,,dry,500,81,,,,\n"
           "b1,beta,nylon,S2,,dry,500,91,,,,\nb2,beta,nylon,S2,,dry,500,92,,,,\n"
           "b3,beta,nylon,S2,,dry,500,93,,,,\nc1,gamma,nylon,S1,,dry,50,69,,,,\n"
           "c2,gamma,nylon,S1,,dry,50,70,,,,\nc3,gamma,nylon,S1,,dry,50,71,,,,\n");
  struct be_arena *arena = test_survey("fallback.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "Cannot separate the first from 2 others"));
  be_doc_free(doc);
  for (int other = 1; other < 3; other++) {
    assert_int_equal(be_versus_doc(&survey, 0, other, &doc, NULL), BE_OK);
    assert_true(says(doc, "no combination in which their events can be compared"));
    be_doc_free(doc);
  }
  be_arena_free(arena);
}

/* 100, 105 and 112 mm/min overlap as "the same speed"; each pull counts once. */
static void near_speeds_do_not_count_a_pull_twice(void **state)
{
  (void)state;
  char sheet[2048];
  struct survey survey;
  size_t used = (size_t)snprintf(sheet, sizeof sheet, "%s", TEST_HEAD);
  static const int speeds[] = {100, 112, 105};
  for (int i = 0; i < 12; i++)
    used += (size_t)snprintf(sheet + used, sizeof sheet - used,
                             "p%d,none,nylon,S1,,dry,%d,%d,,,,\n", i, speeds[i / 4], 57 + i);
  snprintf(sheet + used, sizeof sheet - used,
           "a1,alpha,nylon,S1,,dry,105,50,,,,\n"
           "a2,alpha,nylon,S1,,dry,105,51,,,,\n");
  struct be_arena *arena = test_survey("speeds.book", sheet, &survey);
  size_t n = 0;
  for (size_t i = 0; i < survey.sets_count; i++) n += survey.sets[i].n;
  assert_int_equal(n, 12);
  assert_true(test_cell(&survey, "nylon, dry", "alpha")->plain.estimate.n <= 12);
  be_arena_free(arena);
}

/* A keeps 90 and 50 %, B 68 and 68 %: ahead in points, behind in per cent. */
static void points_and_per_cent_that_disagree_set_nobody_apart(void **state)
{
  (void)state;
  char sheet[4096];
  struct survey survey;
  size_t used = (size_t)snprintf(sheet, sizeof sheet, "%s", TEST_HEAD);
  static const struct {
    const char *knot, *line;
    double mean;
  } cells[] = {{"none", "nylon 6 lb", 100}, {"none", "nylon 12 lb", 200},
               {"A", "nylon 6 lb", 90},     {"A", "nylon 12 lb", 100},
               {"B", "nylon 6 lb", 68},     {"B", "nylon 12 lb", 136}};
  for (size_t i = 0; i < 6; i++)
    for (int k = 0; k < 6; k++)
      used +=
          (size_t)snprintf(sheet + used, sizeof sheet - used, "%zu-%d,%s,%s,,,dry,,%.3f,,,,\n", i,
                           k, cells[i].knot, cells[i].line, cells[i].mean * (0.9975 + 0.001 * k));
  struct be_arena *arena = test_survey("contrary.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_versus_doc(&survey, 0, 1, &doc, NULL), BE_OK);
  assert_true(
      says(doc, "Which is the stronger depends on the line: the A held more in nylon 6 lb"));
  assert_false(says(doc, "held more than the"));
  assert_true(says(doc, "point opposite ways"));
  be_doc_free(doc);
  be_arena_free(arena);
}

static void one_weak_neighbour_does_not_set_the_first_apart(void **state)
{
  (void)state;
  char sheet[4096];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "a1,alpha,nylon,,,dry,,99,,,,\na2,alpha,nylon,,,dry,,100,,,,\n"
           "a3,alpha,nylon,,,dry,,101,,,,\na4,alpha,nylon,,,dry,,100,,,,\n"
           "b1,beta,nylon,,,dry,,79,,,,\nb2,beta,nylon,,,dry,,80,,,,\n"
           "b3,beta,nylon,,,dry,,81,,,,\nb4,beta,nylon,,,dry,,80,,,,\n"
           "c1,gamma,nylon,,,dry,,60,,,,\n");
  struct be_arena *arena = test_survey("thin.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "Cannot separate the first from 1 other in nylon, dry: alpha and gamma."));
  be_doc_free(doc);
  be_arena_free(arena);
}

/* gamma never let go below 130: a bound is not ranked, but it is not forgotten. */
static void lower_bounds_are_not_forgotten(void **state)
{
  (void)state;
  char sheet[4096];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "a1,alpha,nylon,,,dry,,99,,,,\na2,alpha,nylon,,,dry,,100,,,,\n"
           "a3,alpha,nylon,,,dry,,101,,,,\na4,alpha,nylon,,,dry,,100,,,,\n"
           "b1,beta,nylon,,,dry,,79,,,,\nb2,beta,nylon,,,dry,,80,,,,\n"
           "b3,beta,nylon,,,dry,,81,,,,\nb4,beta,nylon,,,dry,,80,,,,\n"
           "c1,gamma,nylon,,,dry,,130,broke,clear of it,,\nc2,gamma,nylon,,,dry,,131,N,,,\n");
  struct be_arena *arena = test_survey("bounds.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "the gamma held at least"));
  assert_true(says(
      doc, "The alpha has the highest mean in nylon, dry, but another a lower bound above it."));
  assert_true(says(doc, "gave only lower bounds here, 2 pulls"));
  be_doc_free(doc);
  assert_int_equal(be_versus_doc(&survey, 0, 2, &doc, NULL), BE_OK);
  assert_true(says(doc, "held at least 131"));
  be_doc_free(doc);
  be_arena_free(arena);
}

/* Derived with R 4.2.2: survreg of the normal, good to about 1e-9. */
static void a_mean_with_bounds_is_that_of_a_censored_normal(void **state)
{
  (void)state;
  static const double loads[] = {79.3, 84.1, 88.6, 76.2};
  static const struct be_held held[] = {{79.3, false, 1}, {84.1, false, 1}, {88.6, false, 1},
                                        {76.2, false, 1}, {85.0, true, 1},  {81.5, true, 1}};
  const double mu = 83.89403201863, sigma = 5.036129043641, se = 2.274110681026;
  struct be_summary summary;
  be_summary_of(loads, 4, &summary);
  struct mean mean = be_mean_with_bounds(&summary, held, 6);
  assert_true(mean.counted_in);
  assert_near(mean.estimate.value, mu, 1e-8 * mu);
  assert_near(mean.estimate.variance, se * se * 4 / 3, 1e-8 * se * se);
  assert_true(mean.estimate.df == 3);
  assert_near(mean.cv2, sigma * sigma / (mu * mu) * 4 / 3, 1e-10);
  mean = be_mean_with_bounds(&summary, held, 4);
  struct be_estimate plain = be_estimate_mean(&summary);
  assert_false(mean.counted_in);
  assert_true(mean.estimate.value == plain.value && mean.estimate.variance == plain.variance);
}

/* One event says nothing of its scatter, whatever the bounds above it. */
static void one_event_with_bounds_has_no_known_scatter(void **state)
{
  (void)state;
  static const double load = 79.3;
  static const struct be_held held[] = {{79.3, false, 1}, {85.0, true, 1}, {81.5, true, 1}};
  struct be_summary summary;
  be_summary_of(&load, 1, &summary);
  struct mean mean = be_mean_with_bounds(&summary, held, 3);
  assert_false(mean.counted_in);
  assert_true(mean.estimate.value == load && mean.estimate.df == 0);
  assert_true(isnan(mean.estimate.variance) && isnan(mean.cv2));
}

/* Two combinations divided by the same five plain pulls: their errors add. */
static void a_shared_plain_line_counts_once(void **state)
{
  (void)state;
  char sheet[8192];
  struct survey survey;
  size_t used = (size_t)snprintf(sheet, sizeof sheet, "%s", TEST_HEAD);
  static const double plain[] = {90, 95, 100, 105, 110}, knot[] = {79, 80, 81};
  for (int i = 0; i < 5; i++)
    used += (size_t)snprintf(sheet + used, sizeof sheet - used,
                             "p%d,none,nylon,,,dry,,%g,,,,\nb%d,none,braid,,,dry,,%g,,,,\n", i,
                             plain[i], i, 3 * plain[i]);
  for (int i = 0; i < 3; i++)
    used += (size_t)snprintf(sheet + used, sizeof sheet - used,
                             "k%d,alpha,nylon,,,dry,,%g,,,,\nm%d,alpha,braid,,nylon,dry,,%g,,,,\n",
                             i, knot[i], i, knot[i]);
  struct be_arena *arena = test_survey("shared.book", sheet, &survey);
  const struct cell *one = test_cell(&survey, "nylon, dry", "alpha");
  const struct cell *two = test_cell(&survey, "braid to nylon, dry", "alpha");
  struct form mean = {0};
  assert_int_equal(be_form_add(&mean, &one->log_share, 0.5, NULL), BE_OK);
  assert_int_equal(be_form_add(&mean, &two->log_share, 0.5, NULL), BE_OK);
  struct be_estimate estimate = be_form_estimate(&survey, &mean);
  /* By hand: half the variance of a mean of three knots, all of that of the plain mean. */
  double knot_part = 1.0 / 3 / (80 * 80), plain_part = 62.5 / 5 / (100.0 * 100);
  assert_near(estimate.variance, knot_part / 2 + plain_part, 1e-12);
  be_form_free(&mean);
  be_arena_free(arena);
}

static void identical_readings_are_no_proof(void **state)
{
  (void)state;
  char sheet[2048];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "a1,alpha,nylon,,,dry,,100,,,,\na2,alpha,nylon,,,dry,,100,,,,\n"
           "b1,beta,nylon,,,dry,,95,,,,\nb2,beta,nylon,,,dry,,95,,,,\n");
  struct be_arena *arena = test_survey("steps.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_versus_doc(&survey, 0, 1, &doc, NULL), BE_OK);
  assert_true(says(doc, "Cannot separate the alpha and the beta"));
  be_doc_free(doc);
  be_arena_free(arena);
}

static bool has_nan(const struct be_doc *doc)
{
  struct be_buf text;
  be_buf_init(&text, 1 << 24);
  assert_int_equal(be_doc_text(doc, 0, &text, NULL), BE_OK);
  bool found = strstr(text.data, "nan") != NULL;
  if (found) print_error("%s\n", strstr(text.data, "nan"));
  be_buf_free(&text);
  return found;
}

/* One plain pull, one knot pull, only bounds, only voids: nothing prints "nan". */
static void what_is_not_known_is_not_printed_as_a_number(void **state)
{
  (void)state;
  char sheet[4096];
  struct survey survey;
  snprintf(
      sheet, sizeof sheet, "%s%s", TEST_HEAD,
      "p1,none,nylon,,,dry,,100,,,,\na1,alpha,nylon,,,dry,,80,,,,\na2,alpha,nylon,,,dry,,82,,,,\n"
      "b1,beta,nylon,,,dry,,70,,,,\nc1,gamma,nylon,,,dry,,90,N,,,\n"
      "d1,delta,nylon,,,dry,,10,,,void,torn\ne1,epsilon,braid,,nylon,dry,,60,,,,\n");
  struct be_arena *arena = test_survey("unknown.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_strength_doc(&survey, &doc, NULL), BE_OK);
  assert_false(has_nan(doc));
  assert_true(says(doc, "gamma: only lower bounds, 1 pull"));
  assert_true(says(doc, "delta: every pull is void"));
  be_doc_free(doc);
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_false(has_nan(doc));
  be_doc_free(doc);
  assert_int_equal(be_versus_doc(&survey, 0, 1, &doc, NULL), BE_OK);
  assert_false(has_nan(doc));
  be_doc_free(doc);
  be_arena_free(arena);
}

/* What let go was not written down: that it did not slip is not known. */
static void silence_is_no_slip_rate(void **state)
{
  (void)state;
  char sheet[2048];
  struct survey survey;
  snprintf(sheet, sizeof sheet, "%s%s", TEST_HEAD,
           "a1,alpha,nylon,,,dry,,80,,,,\na2,alpha,nylon,,,dry,,82,,,,\n"
           "a3,alpha,nylon,,,dry,,81,broke,,,\n");
  struct be_arena *arena = test_survey("silence.book", sheet, &survey);
  const struct cell *cell = test_cell(&survey, "nylon, dry", "alpha");
  assert_int_equal(cell->n, 3);
  assert_int_equal(cell->told, 1);
  assert_int_equal(cell->slips, 0);
  be_arena_free(arena);
}

/* Twenty draws of one knot: whatever leads, it is not set apart. */
static void twenty_alike_knots_are_not_separated(void **state)
{
  (void)state;
  char sheet[8192];
  struct survey survey;
  struct be_random random;
  be_random_init(&random, 7, 0);
  size_t used = (size_t)snprintf(sheet, sizeof sheet, "%s", TEST_HEAD);
  for (int knot = 0; knot < 20; knot++)
    for (int i = 0; i < 5; i++)
      used += (size_t)snprintf(sheet + used, sizeof sheet - used,
                               "%d-%d,knot %c,nylon,,,dry,,%.2f,,,,\n", knot, i, 'a' + knot,
                               80 * (1 + 0.08 * be_random_normal(&random)));
  struct be_arena *arena = test_survey("alike.book", sheet, &survey);
  struct be_doc *doc = NULL;
  assert_int_equal(be_standings_doc(&survey, &doc, NULL), BE_OK);
  assert_true(says(doc, "Cannot separate the first from 19 others"));
  assert_true(says(doc, "and 12 more"));
  be_doc_free(doc);
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_strong_spool_is_no_strong_knot),
      cmocka_unit_test(spools_without_plain_lines_are_not_compared),
      cmocka_unit_test(another_spools_plain_line_separates_nothing),
      cmocka_unit_test(near_speeds_do_not_count_a_pull_twice),
      cmocka_unit_test(points_and_per_cent_that_disagree_set_nobody_apart),
      cmocka_unit_test(one_weak_neighbour_does_not_set_the_first_apart),
      cmocka_unit_test(lower_bounds_are_not_forgotten),
      cmocka_unit_test(a_mean_with_bounds_is_that_of_a_censored_normal),
      cmocka_unit_test(one_event_with_bounds_has_no_known_scatter),
      cmocka_unit_test(a_shared_plain_line_counts_once),
      cmocka_unit_test(identical_readings_are_no_proof),
      cmocka_unit_test(what_is_not_known_is_not_printed_as_a_number),
      cmocka_unit_test(silence_is_no_slip_rate),
      cmocka_unit_test(twenty_alike_knots_are_not_separated),
  };
  return be_tests("app: fair comparisons", tests);
}
