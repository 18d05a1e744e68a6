/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is compared stratum by stratum: slopes, rates and scatters. */
#include "fault/failing.h"
#include "stats/stats.h"
#include "test.h"

static const size_t stratum[] = {1, 1, 1, 1, 4, 4, 4, 9, 9, 9, 9, 9};
static const double side[] = {0, 1, 1, 0, 0, 1, 0, 1, 0, 1, 0, 1};
static const double y[] = {3.71, 3.82, 3.79, 3.66, 4.12, 4.31, 4.20, 2.95, 2.88, 3.07, 2.79, 2.99};

/* Derived with R 4.2.2: lm(y ~ x + factor(stratum)). */
static void a_slope_within_strata(void **state)
{
  (void)state;
  static const double x[] = {1.5, 3, 4.2, 7, 2, 9, 11, 4, 5, 6.5, 8, 13};
  size_t strata;
  struct be_estimate got = be_within(side, y, stratum, 12, &strata);
  assert_true(strata == 3 && got.n == 12);
  assert_near(got.value, 0.147209302325580854, 1e-14);
  assert_near(sqrt(got.variance), 0.027779505384651907, 1e-14);
  assert_near(got.df, 8, 0);
  assert_near(be_estimate_p(&got), 0.000729088088288179, 1e-14);
  got = be_within(x, y, stratum, 12, &strata);
  assert_near(got.value, 0.00503457981201221, 1e-14);
  assert_near(sqrt(got.variance), 0.00932388335329326, 1e-14);
}

/* One stratum of two sides is Student's test. */
static void one_stratum_is_students(void **state)
{
  (void)state;
  static const size_t one[] = {7, 7, 7, 7, 7};
  static const double x[] = {1, 1, 0, 0, 0}, z[] = {31.5, 33.25, 29, 28.5, 30.75};
  size_t strata;
  struct be_summary a, b;
  struct be_difference want;
  be_summary_of(z, 2, &a);
  be_summary_of(z + 2, 3, &b);
  be_student(&a, &b, 0.95, &want);
  struct be_estimate got = be_within(x, z, one, 5, &strata);
  assert_near(got.value, want.value, 1e-14);
  assert_near(got.df, want.df, 0);
  assert_near(be_estimate_p(&got), want.p, 1e-13);
}

/* A stratum of one side only tells nothing, and must not lend its scatter either. */
static void a_stratum_of_one_side_takes_no_part(void **state)
{
  (void)state;
  static const size_t two[] = {1, 1, 1, 2, 2, 2};
  static const double x[] = {0, 1, 0, 1, 1, 1}, z[] = {5.5, 6.5, 5.75, 100, -100, 37};
  size_t strata;
  struct be_estimate all = be_within(x, z, two, 6, &strata);
  assert_true(strata == 1 && all.n == 3);
  struct be_estimate first = be_within(x, z, two, 3, &strata);
  assert_near(all.value, first.value, 0);
  assert_near(all.variance, first.variance, 0);
  all = be_within(x + 3, z + 3, two + 3, 3, &strata);
  assert_true(strata == 0 && isnan(all.value) && isnan(all.variance) && all.df == 0);
  assert_true(isnan(be_estimate_p(&all)));
}

static void no_scatter_is_not_known(void **state)
{
  (void)state;
  static const size_t two[] = {1, 1, 2, 2};
  static const double x[] = {0, 1, 0, 1}, z[] = {5.5, 6.6, 7.7, 8.8};
  size_t strata;
  struct be_estimate got = be_within(x, z, two, 4, &strata);
  assert_near(got.value, 1.1, 1e-14);
  assert_true(isnan(got.variance) && got.df == 0);
}

/* ---- rates ---- */

static const struct be_two_rates tables[] = {
    {5, 14, 1, 15}, {3, 7, 2, 13}, {0, 8, 1, 7}, {4, 5, 2, 7}};

/* Derived with R 4.2.2: mantelhaen.test(exact = TRUE), fisher.test. */
static void rates_in_strata(void **state)
{
  (void)state;
  struct be_strata got;
  assert_int_equal(be_rates_strata(tables, 4, 0.95, &got, NULL), BE_OK);
  assert_near(got.p, 0.0227141994814001, 1e-13);
  /* By hand, weights na nb / (na + nb). */
  double w[4], sum = 0, difference = 0;
  for (int i = 0; i < 4; i++) {
    double na = (double)tables[i].na, nb = (double)tables[i].nb;
    w[i] = na * nb / (na + nb);
    sum += w[i];
    difference += w[i] * ((double)tables[i].ka / na - (double)tables[i].kb / nb);
  }
  assert_near(got.difference.value, difference / sum, 1e-15);
  assert_true(got.difference.interval.low > 0);
  assert_int_equal(be_rates_strata(tables, 1, 0.95, &got, NULL), BE_OK);
  assert_near(got.p, 0.0800766283524904, 1e-13);
  struct be_rates one;
  be_rates_compare(5, 14, 1, 15, 0.95, &one);
  assert_near(got.p, one.fisher_p, 1e-14);
  assert_near(got.difference.value, one.difference.value, 1e-15);
  assert_near(got.difference.interval.low, one.difference.interval.low, 1e-15);
  assert_near(got.difference.interval.high, one.difference.interval.high, 1e-15);
}

/* One slip in all, of 3 and 4: it may be on either side; no p below that of the rarer. */
static void the_least_p_of_few_slips(void **state)
{
  (void)state;
  static const struct be_two_rates one = {1, 3, 0, 4};
  struct be_strata got;
  assert_int_equal(be_rates_strata(&one, 1, 0.9, &got, NULL), BE_OK);
  assert_near(got.p, 3.0 / 7, 1e-15);
  assert_near(got.least_p, 3.0 / 7, 1e-15);
  static const struct be_two_rates all = {3, 3, 4, 4};
  assert_int_equal(be_rates_strata(&all, 1, 0.9, &got, NULL), BE_OK);
  assert_near(got.p, 1, 0);
  assert_int_equal(be_rates_strata(NULL, 0, 0.9, &got, NULL), BE_OK);
  assert_true(isnan(got.p) && isnan(got.difference.value));
}

/* Large tables as small ones: against Fisher's own test, which steps another way. */
static void large_tables(void **state)
{
  (void)state;
  for (size_t k = 0; k <= 400; k += 57) {
    const struct be_two_rates table = {k, 400, 31, 900};
    struct be_strata got;
    struct be_rates want;
    assert_int_equal(be_rates_strata(&table, 1, 0.95, &got, NULL), BE_OK);
    be_rates_compare(k, 400, 31, 900, 0.95, &want);
    assert_near(got.p, want.fisher_p, 1e-12);
  }
}

/* Derived with R 4.2.2: binom.test. Off a half R sums what is not likelier, and here the smaller
 * tail is doubled: 5 of 40 against 0.3, 2 pbinom(5, 40, 0.3). */
static void one_rate_against_another(void **state)
{
  (void)state;
  assert_near(be_rate_against(17, 23, 0.5), 0.0346896648406983, 1e-15);
  assert_near(be_rate_against(5, 40, 0.3), 0.0172361066227, 1e-13);
  assert_near(be_rate_against(0, 9, 0.5), 0.00390625, 1e-17);
  assert_near(be_rate_against(12, 24, 0.5), 1, 0);
  assert_true(isnan(be_rate_against(0, 0, 0.5)));
}

/* ---- scatters ---- */

static const double loads[] = {3.71, 3.82, 3.79, 3.66, 4.12, 4.31, 4.20, 4.44, 4.01};
static const bool first[] = {true, true, true, true, false, false, false, false, false};
static const size_t alike[] = {2, 2, 2, 2, 2, 2, 2, 2, 2};

/* Of one stratum, derived with R 4.2.2: var, digamma, trigamma. */
static void scatters_of_one_stratum(void **state)
{
  (void)state;
  const struct be_resampling how = {.seed = 11, .times = 3000, .level = 0.95};
  struct be_scattered got;
  assert_int_equal(be_scatter_within(loads, first, alike, 9, &how, &got, NULL), BE_OK);
  assert_true(got.n == 9 && got.strata == 1);
  assert_near(got.ratio.value, 0.462158305581503, 1e-12);
  assert_near(got.ratio.interval.low, 0.134853908492586, 1e-12);
  assert_near(got.ratio.interval.high, 1.583864359628174, 1e-12);
  assert_true(got.p > 0.05);
  struct be_scattered again;
  assert_int_equal(be_scatter_within(loads, first, alike, 9, &how, &again, NULL), BE_OK);
  assert_near(again.p, got.p, 0);
}

/* Strata of wholly unlike scatter, the first side twice as wide in each: found; and where the
 * sides are alike p is below 0.05 in 1 book of 20: of 400, P(more than 36) < 0.0003. */
static void twice_the_scatter_is_found_and_none_where_there_is_none(void **state)
{
  (void)state;
  enum { STRATA = 12, EACH = 8, N = STRATA * EACH };
  struct be_random random;
  be_random_init(&random, 77, 0);
  size_t wrong = 0;
  for (int round = 0; round < 401; round++) {
    double z[N];
    bool mine[N];
    size_t of[N];
    for (size_t i = 0; i < N; i++) {
      of[i] = i / EACH;
      mine[i] = i % 2 == 0;
      double scatter = 0.01 * (double)(1 + of[i] * of[i]) * (round == 0 && mine[i] ? 2 : 1);
      z[i] = (double)of[i] + 0.3 * mine[i] + scatter * be_random_normal(&random);
    }
    const struct be_resampling how = {.seed = 5, .times = 199, .level = 0.95};
    struct be_scattered got;
    assert_int_equal(be_scatter_within(z, mine, of, N, &how, &got, NULL), BE_OK);
    if (round == 0) {
      assert_near(got.p, 1.0 / 200, 1e-15);
      assert_true(got.ratio.interval.low > 1 && got.ratio.interval.low < 2);
      assert_true(got.ratio.interval.high > 2);
    } else wrong += got.p <= 0.05;
  }
  assert_true(wrong > 3 && wrong <= 36);
}

static void what_does_not_scatter(void **state)
{
  (void)state;
  static const double flat[] = {5.5, 5.5, 6.25, 6.5};
  static const bool two[] = {true, true, false, false};
  struct be_resampling how = {.seed = 1, .times = 9, .level = 0.9};
  struct be_scattered got;
  assert_int_equal(be_scatter_within(flat, two, alike, 4, &how, &got, NULL), BE_OK);
  assert_true(got.strata == 0 && isnan(got.p) && isnan(got.ratio.value));
  how.times = 0;
  assert_int_equal(be_scatter_within(flat, two, alike, 4, &how, &got, NULL), BE_WRONG_USE);
}

static enum be_status scatter_trial(void *context, struct be_err *err)
{
  (void)context;
  const struct be_resampling how = {.seed = 11, .times = 3, .level = 0.95};
  struct be_scattered got;
  return be_scatter_within(loads, first, alike, 9, &how, &got, err);
}

static enum be_status rates_trial(void *context, struct be_err *err)
{
  (void)context;
  struct be_strata got;
  return be_rates_strata(tables, 4, 0.95, &got, err);
}

static void memory_fails(void **state)
{
  (void)state;
  be_fail_loop(scatter_trial, NULL, 3);
  be_fail_loop(rates_trial, NULL, 3);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_slope_within_strata),
      cmocka_unit_test(one_stratum_is_students),
      cmocka_unit_test(a_stratum_of_one_side_takes_no_part),
      cmocka_unit_test(no_scatter_is_not_known),
      cmocka_unit_test(rates_in_strata),
      cmocka_unit_test(the_least_p_of_few_slips),
      cmocka_unit_test(large_tables),
      cmocka_unit_test(one_rate_against_another),
      cmocka_unit_test(scatters_of_one_stratum),
      cmocka_unit_test(twice_the_scatter_is_found_and_none_where_there_is_none),
      cmocka_unit_test(what_does_not_scatter),
      cmocka_unit_test(memory_fails),
  };
  return be_tests("stats: strata", tests);
}
