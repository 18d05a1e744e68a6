/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

enum { PULLS_MAX = 210 };
static double scratch[PULLS_MAX * (PULLS_MAX - 1) / 2 + PULLS_MAX];

static const double x7[] = {31.2, 36.9, 28.4, 33.3, 35.1, 38.7, 37.2};
static const double x14[] = {3.1, 2.7, 4.4, 4.1, 5.2, 3.9, 4.8, 6.3, 5.9, 5.0, 6.1, 7.7, 6.6, 7.2};

static struct be_drift drift_of(const double *x, size_t n, double level)
{
  struct be_drift drift;
  be_drift_of(x, n, level, scratch, &drift);
  return drift;
}

/* ---- runs ---- */

/* All ways to choose which pulls lie above. */
static double runs_by_all_ways(size_t runs, size_t above, size_t n)
{
  size_t few = 0, many = 0, all = 0;
  for (size_t ways = 0; ways < (size_t)1 << n; ways++) {
    size_t ones = ways & 1, changes = 1;
    for (size_t i = 1; i < n; i++) {
      ones += ways >> i & 1;
      changes += (ways >> i & 1) != (ways >> (i - 1) & 1);
    }
    if (ones != above) continue;
    all++;
    few += changes <= runs;
    many += changes >= runs;
  }
  return fmin(1, 2.0 * (double)(few < many ? few : many) / (double)all);
}

/* Pulls 20.1 above and 10.1 below a median that two pulls set; these are left out. */
static void runs_are_exact_for_few(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 41, 0);
  double x[14];
  for (int round = 0; round < 60; round++) {
    size_t half = 1 + (size_t)be_random_below(&random, 6), above = 0;
    for (size_t i = 0; i < 2 * half; i++) {
      bool up = be_random_below(&random, 2 * half - i) < half - above;
      above += up;
      x[i] = up ? 20.1 + (double)i : 10.1 - (double)i;
    }
    x[2 * half] = x[2 * half + 1] = 15.7;
    struct be_drift drift = drift_of(x, 2 * half + 2, 0.95);
    assert_true(drift.above == half && drift.below == half);
    assert_near(drift.runs_p, runs_by_all_ways(drift.runs, half, 2 * half), 1e-14);
  }
}

/* combn of R 4.2.2 for 5 and 5 with 3 runs; ties at the median make the sides uneven. */
static void runs_about_the_median(void **state)
{
  (void)state;
  const double x[] = {1.1, 2.2, 3.3, 9.9, 8.8, 7.7, 6.6, 5.5, 2.9, 3.1};
  struct be_drift drift = drift_of(x, 10, 0.95);
  assert_true(drift.runs == 3 && drift.above == 5 && drift.below == 5);
  assert_near(drift.runs_p, 0.079365079365079, 1e-14);
  assert_near(drift.runs_z, (3 - 6) / sqrt(50.0 * 40 / (100 * 9)), 1e-14);
  const double tied[] = {5.2, 5.2, 7.1, 5.2, 3.3, 2.1, 5.2};
  drift = drift_of(tied, 7, 0.95);
  assert_true(drift.runs == 2 && drift.above == 1 && drift.below == 2);
  assert_near(drift.runs_p, 1, 1e-14);
  const double alike[] = {5.2, 5.2, 5.2};
  drift = drift_of(alike, 3, 0.95);
  assert_true(drift.runs == 0 && isnan(drift.runs_z) && isnan(drift.runs_p) && isnan(drift.lag1));
  assert_true(drift.slope == 0);
  assert_near(drift.slope_p, 1, 1e-14);
}

/* ---- Kendall ---- */

static int score(const double *x, size_t n)
{
  int s = 0;
  for (size_t i = 0; i < n; i++)
    for (size_t j = i + 1; j < n; j++) s += (x[j] > x[i]) - (x[j] < x[i]);
  return s;
}

/* All orders of x, by Heap's exchanges. */
static void all_orders(double *x, size_t n, size_t k, int s, size_t *out, size_t *all)
{
  if (k <= 1) {
    ++*all;
    *out += abs(score(x, n)) >= abs(s);
    return;
  }
  for (size_t i = 0; i < k; i++) {
    all_orders(x, n, k - 1, s, out, all);
    size_t other = k % 2 ? 0 : i;
    double kept = x[other];
    x[other] = x[k - 1];
    x[k - 1] = kept;
  }
}

static void kendall_counts_all_orders(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 43, 0);
  for (int round = 0; round < 40; round++) {
    double x[7];
    size_t n = 2 + (size_t)be_random_below(&random, 6), out = 0, all = 0;
    size_t values = round % 2 ? 3 : 1000;
    for (size_t i = 0; i < n; i++) x[i] = 12.5 + (double)be_random_below(&random, values);
    struct be_drift drift = drift_of(x, n, 0.95);
    all_orders(x, n, n, score(x, n), &out, &all);
    assert_near(drift.slope_p, (double)out / (double)all, 1e-14);
  }
}

/* R 4.2.2's cor.test, exact for 7 and 14, else normal with correction; tied 25 too. */
static void kendall_agrees_with_r(void **state)
{
  (void)state;
  assert_near(drift_of(x7, 7, 0.95).slope_p, 0.13611111111111, 1e-14);
  assert_near(drift_of(x14, 14, 0.95).slope_p, 0.00014457073918872, 1e-16);
  double x[25];
  for (size_t i = 1; i <= 25; i++) x[i - 1] = (double)(i * i * 7919 % 1009) / 10 + 3 * (double)i;
  assert_near(drift_of(x, 25, 0.95).slope_p, 0.010906151033361, 1e-14);
  static const double tied[] = {4, 2, 4, 3, 2, 4, 4, 3, 5, 6, 5, 3, 4,
                                4, 7, 3, 3, 7, 4, 5, 4, 6, 7, 7, 5};
  assert_near(drift_of(tied, 25, 0.95).slope_p, 0.005722476650859, 1e-14);
}

/* ---- Theil and Sen ---- */

/* Ranks of the slopes, their level and the normal's ranks for 25: R 4.2.2. */
static void slopes_agree_with_r(void **state)
{
  (void)state;
  struct be_drift drift = drift_of(x7, 7, 0.95);
  assert_near(drift.slope, 1.05, 1e-14);
  assert_near(drift.slope_interval.low, -1.4, 1e-13);
  assert_near(drift.slope_interval.high, 3.4333333333333, 1e-13);
  assert_near(drift.slope_interval.level, 0.96984126984127, 1e-14);
  drift = drift_of(x14, 14, 0.95);
  assert_near(drift.slope, 0.325, 1e-14);
  assert_near(drift.slope_interval.low, 0.22, 1e-14);
  assert_near(drift.slope_interval.high, 0.42, 1e-14);
  assert_near(drift.slope_interval.level, 0.95282400089072, 1e-14);
  double x[25];
  for (size_t i = 1; i <= 25; i++) x[i - 1] = (double)(i * i * 7919 % 1009) / 10 + 3 * (double)i;
  drift = drift_of(x, 25, 0.95);
  assert_near(drift.slope, 2.6, 1e-13);
  assert_near(drift.slope_interval.low, 0.69, 1e-13);
  assert_near(drift.slope_interval.high, 3.92, 1e-13);
  assert_true(drift.slope_interval.level == 0.95);
}

/* A line whose noise is far smaller than its steps. */
static void a_line_is_found(void **state)
{
  (void)state;
  double x[40];
  for (size_t i = 0; i < 40; i++) x[i] = 88.8 - 0.7 * (double)i + 0.01 * (double)(i * i % 7);
  struct be_drift drift = drift_of(x, 40, 0.99);
  assert_near(drift.slope, -0.7, 0.002);
  assert_true(drift.slope_interval.low < -0.699 && drift.slope_interval.high > -0.701);
  assert_true(drift.slope_p < 1e-12 && drift.lag1 > 0.9 && drift.runs == 2);
}

static void few_pulls_have_no_drift(void **state)
{
  (void)state;
  const double x[] = {30.2, 31.3, 33.9};
  struct be_drift drift = drift_of(x, 1, 0.95);
  assert_true(isnan(drift.slope) && isnan(drift.slope_p) && isnan(drift.lag1));
  drift = drift_of(x, 2, 0.95);
  assert_near(drift.slope, 1.1, 1e-13);
  assert_near(drift.slope_p, 1, 1e-15);
  assert_true(isnan(drift.slope_interval.low) && isnan(drift.slope_interval.high));
  drift = drift_of(x, 3, 0.95);
  assert_near(drift.slope_interval.low, 1.1, 1e-13);
  assert_near(drift.slope_interval.high, 2.6, 1e-13);
  assert_near(drift.slope_interval.level, 2.0 / 3, 1e-15);
  static const double none[1];
  drift = drift_of(none, BE_HODGES_LEHMANN_MAX + 1, 0.95);
  assert_true(isnan(drift.slope) && drift.runs == 0);
}

static void neighbours_alike_or_not(void **state)
{
  (void)state;
  const double x[] = {3, 5, 3.5, 6, 2.5};
  /* Deviations -1, 1, -0.5, 2, -1.5. */
  struct be_summary summary;
  be_summary_of(x, 5, &summary);
  assert_near(be_lag1(x, &summary), (-1 - 0.5 - 1 - 3) / 8.5, 1e-15);
  be_summary_of(x, 1, &summary);
  assert_true(isnan(be_lag1(x, &summary)));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(runs_are_exact_for_few),    cmocka_unit_test(runs_about_the_median),
      cmocka_unit_test(kendall_counts_all_orders), cmocka_unit_test(kendall_agrees_with_r),
      cmocka_unit_test(slopes_agree_with_r),       cmocka_unit_test(a_line_is_found),
      cmocka_unit_test(few_pulls_have_no_drift),   cmocka_unit_test(neighbours_alike_or_not),
  };
  return be_tests("stats: drift", tests);
}
