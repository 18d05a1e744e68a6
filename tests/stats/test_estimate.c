/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/stats.h"
#include "test.h"

static const double unknown = NAN, endless = INFINITY;

/* Mean and deviation in long double, by the definition. */
static void slow_summary(const double *x, size_t n, double *mean, double *sd)
{
  long double sum = 0, squares = 0;
  for (size_t i = 0; i < n; i++) sum += (long double)x[i];
  long double m = sum / n;
  for (size_t i = 0; i < n; i++) squares += ((long double)x[i] - m) * ((long double)x[i] - m);
  *mean = (double)m;
  *sd = (double)sqrtl(squares / (n - 1));
}

static void summary_agrees_with_the_definition(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 41, 0);
  for (size_t n = 2; n < 300; n += 7) {
    double x[300], mean, sd;
    double offset = n % 2 ? 1e7 : 31.7;
    for (size_t i = 0; i < n; i++) x[i] = offset + 2.81 * be_random_normal(&random);
    slow_summary(x, n, &mean, &sd);
    struct be_summary summary;
    be_summary_of(x, n, &summary);
    assert_int_equal(summary.n, n);
    assert_near(summary.mean / mean, 1, 1e-15);
    assert_near(summary.sd / sd, 1, 1e-14);
  }
}

/* Rounding always goes the same way here: the first mean is off by 3 % of
 * the deviation. */
static void summary_takes_out_the_error_of_its_mean(void **state)
{
  (void)state;
  enum { N = 300000 };
  static double x[N];
  struct be_random random;
  be_random_init(&random, 42, 0);
  double mean, sd, sum = 0;
  for (size_t i = 0; i < N; i++) {
    x[i] = 1e9 + 0.02 + 0.0137 * be_random_normal(&random);
    sum += x[i];
  }
  slow_summary(x, N, &mean, &sd);
  struct be_summary summary;
  be_summary_of(x, N, &summary);
  assert_true(fabs(sum / N - mean) > 0.01 * sd);
  assert_near(summary.mean, mean, 1.2e-7); /* one step of a double there */
  assert_near(summary.sd / sd, 1, 1e-11);
}

static void summary_of_few(void **state)
{
  (void)state;
  struct be_summary summary;
  be_summary_of(NULL, 0, &summary);
  assert_int_equal(summary.n, 0);
  assert_true(isnan(summary.mean) && isnan(summary.sd) && isnan(summary.min) &&
              isnan(summary.max));
  const double x[] = {17.3, 14.1};
  be_summary_of(x, 1, &summary);
  assert_true(summary.mean == 17.3 && isnan(summary.sd) && summary.min == 17.3);
  be_summary_of(x, 2, &summary);
  assert_near(summary.mean, 15.7, 1e-15);
  assert_near(summary.sd, 3.2 / sqrt(2), 1e-15);
  assert_true(summary.min == 14.1 && summary.max == 17.3);
}

/* 30.1 has no exact double, and 7 of them do not add up to 7 times it. */
static void equal_pulls_have_no_deviation(void **state)
{
  (void)state;
  double x[1001];
  for (size_t n = 2; n <= 1001; n++) {
    for (size_t i = 0; i < n; i++) x[i] = 30.1;
    struct be_summary summary;
    be_summary_of(x, n, &summary);
    assert_true(summary.mean == 30.1 && summary.sd == 0);
  }
}

static struct be_estimate mean_of(const double *x, size_t n)
{
  struct be_summary summary;
  be_summary_of(x, n, &summary);
  return be_estimate_mean(&summary);
}

static void mean_knows_its_own_variance(void **state)
{
  (void)state;
  const double x[] = {13.5, 16, 17, 11.5};
  struct be_estimate e = mean_of(x, 4);
  assert_near(e.value, 14.5, 1e-15);
  assert_near(e.variance, 18.5 / 3 / 4, 1e-15);
  assert_true(e.df == 3 && e.n == 4);
  struct be_interval interval = be_estimate_interval(&e, 0.9);
  double half = 2.3533634348018264 * sqrt(18.5 / 12); /* t 0.95, 3 df: R 4.2 */
  assert_near(interval.low, 14.5 - half, 1e-13);
  assert_near(interval.high, 14.5 + half, 1e-13);
  assert_true(interval.level == 0.9);
}

static void few_pulls_have_no_interval(void **state)
{
  (void)state;
  const double x[] = {13.5};
  for (size_t n = 0; n < 2; n++) {
    struct be_estimate e = mean_of(x, n);
    assert_true(isnan(e.variance) && e.df == 0 && e.n == n);
    assert_true(n == 0 ? isnan(e.value) : e.value == 13.5);
    struct be_interval interval = be_estimate_interval(&e, 0.95);
    assert_true(isnan(interval.low) && isnan(interval.high) && interval.level == 0.95);
  }
}

/* Two parts, by the formula written out. */
static void combine_follows_satterthwaite(void **state)
{
  (void)state;
  const struct be_estimate parts[] = {{15.1, 0.7877, 9, 10}, {23.25, 1.3292, 6, 7}};
  const double weights[] = {0.3, -1.7};
  struct be_estimate sum = be_estimate_combine(parts, weights, 2);
  double v1 = 0.09 * 0.7877, v2 = 2.89 * 1.3292;
  assert_near(sum.value, 0.3 * 15.1 - 1.7 * 23.25, 1e-13);
  assert_near(sum.variance, v1 + v2, 1e-14);
  assert_near(sum.df, (v1 + v2) * (v1 + v2) / (v1 * v1 / 9 + v2 * v2 / 6), 1e-12);
  assert_int_equal(sum.n, 17);
}

static void combine_at_its_edges(void **state)
{
  (void)state;
  const struct be_estimate parts[] = {
      {15.1, 0.7877, 9, 10}, {23.25, unknown, 0, 1}, {20, 0, endless, 0}, {31.9, 0, 4, 5}};
  const double both[] = {1, 1}, first[] = {1, 0, -1, 0}, still[] = {0, 0, 1, 1};
  struct be_estimate sum = be_estimate_combine(parts, both, 2);
  assert_true(isnan(sum.variance) && sum.df == 0 && sum.n == 11);
  assert_near(sum.value, 38.35, 1e-14);
  const struct be_estimate no_df[] = {{15.1, 0.7877, 9, 10}, {23.25, 0.41, 0, 1}};
  sum = be_estimate_combine(no_df, both, 2);
  assert_true(isnan(sum.variance) && sum.df == 0);
  sum = be_estimate_combine(parts, first, 4);
  assert_true(sum.df == 9 && sum.n == 10 && sum.variance == 0.7877);
  sum = be_estimate_combine(parts, still, 4);
  assert_true(sum.variance == 0 && sum.df == 4);
  sum = be_estimate_combine(parts, first, 0);
  assert_true(isnan(sum.value) && isnan(sum.variance) && sum.df == 0 && sum.n == 0);
}

/* The mean of all pulls, with the scatter inside the groups only. */
static void pooled_leaves_out_what_groups_differ_by(void **state)
{
  (void)state;
  const double x[] = {12.5, 13.5, 14.6, 40.1, 44.7, 91.3};
  struct be_summary groups[4], all;
  be_summary_of(x, 3, &groups[0]);
  be_summary_of(x + 3, 2, &groups[1]);
  be_summary_of(x + 5, 1, &groups[2]);
  be_summary_of(x, 0, &groups[3]);
  be_summary_of(x, 6, &all);
  struct be_estimate e = be_estimate_pooled(groups, 4);
  assert_near(e.value, all.mean, 1e-13);
  double within = 2 * groups[0].sd * groups[0].sd + groups[1].sd * groups[1].sd;
  assert_near(e.variance, within / 3 / 6, 1e-13);
  assert_true(e.df == 3 && e.n == 6);
  e = be_estimate_pooled(groups + 2, 2);
  assert_true(e.value == 91.3 && isnan(e.variance) && e.df == 0);
  e = be_estimate_pooled(groups, 0);
  assert_true(isnan(e.value) && isnan(e.variance) && e.df == 0 && e.n == 0);
}

static void welch_at_its_edges(void **state)
{
  (void)state;
  const struct be_estimate known = {23.25, 1.3292, 9, 10}, single = {15.1, unknown, 0, 1};
  const struct be_estimate still = {15.1, 0, 4, 5};
  struct be_difference d;
  be_welch(&known, &single, 0.95, &d);
  assert_near(d.value, 8.15, 1e-14);
  assert_true(isnan(d.t) && isnan(d.df) && isnan(d.p) && isnan(d.interval.low));
  be_welch(&still, &still, 0.95, &d);
  assert_true(d.value == 0 && isnan(d.t) && isnan(d.p) && isnan(d.interval.high));
  be_welch(&known, &still, 0.95, &d);
  assert_near(d.df, 9, 1e-13);
  assert_near(d.t, 8.15 / sqrt(1.3292), 1e-13);
  struct be_difference back;
  be_welch(&still, &known, 0.95, &back);
  assert_true(back.t == -d.t && back.p == d.p && back.interval.low == -d.interval.high);
}

/* The interval at level 1 - p has 0 for an end. */
static void welch_interval_and_p_say_the_same(void **state)
{
  (void)state;
  const struct be_estimate a = {23.25, 1.3292, 9, 10}, b = {19.63, 1.7767, 6, 7};
  struct be_difference d, again;
  be_welch(&a, &b, 0.95, &d);
  be_welch(&a, &b, 1 - d.p, &again);
  assert_near(again.interval.low, 0, 1e-12);
  assert_true(d.p > 0.05 && d.interval.low < 0);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(summary_agrees_with_the_definition),
      cmocka_unit_test(summary_takes_out_the_error_of_its_mean),
      cmocka_unit_test(summary_of_few),
      cmocka_unit_test(equal_pulls_have_no_deviation),
      cmocka_unit_test(mean_knows_its_own_variance),
      cmocka_unit_test(few_pulls_have_no_interval),
      cmocka_unit_test(combine_follows_satterthwaite),
      cmocka_unit_test(combine_at_its_edges),
      cmocka_unit_test(pooled_leaves_out_what_groups_differ_by),
      cmocka_unit_test(welch_at_its_edges),
      cmocka_unit_test(welch_interval_and_p_say_the_same),
  };
  return be_tests("stats: estimates", tests);
}
