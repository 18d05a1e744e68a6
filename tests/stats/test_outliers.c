/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

/* ---- the distribution of Dixon's ratios ---- */

/* Three pulls: r has the density 3 sqrt(3) / (2 pi (r^2 - r + 1)) (Dixon 1951). */
static void three_pulls_are_known_exactly(void **state)
{
  (void)state;
  double pi = acos(-1.0);
  for (int i = 1; i < 20; i++) {
    double r = i / 20.0, below = 3 / pi * (atan((2 * r - 1) / sqrt(3)) + pi / 6);
    assert_near(be_dixon_upper(r, 3, 1, 1), 1 - below, 1e-11);
    assert_near(be_dixon_critical(3, 1, 1, 1 - below), r, 1e-10);
  }
}

/* At r = 0 it is certain, at 1 impossible. */
static void the_whole_is_one(void **state)
{
  (void)state;
  for (size_t n = 5; n <= 30; n += 5)
    for (unsigned near = 1; near <= 2; near++)
      for (unsigned far = 1; far <= 3 && near + far < n; far++) {
        assert_near(be_dixon_upper(0, n, near, far), 1, 1e-10);
        assert_near(be_dixon_upper(1, n, near, far), 0, 1e-10);
      }
}

/* Simulated; 40000 rounds put five deviations of a share of 0.1 at 0.0075. */
static void ratios_occur_as_often_as_said(void **state)
{
  (void)state;
  static const struct {
    size_t n;
    unsigned near, far;
  } rows[] = {{5, 1, 1}, {9, 1, 2}, {12, 2, 2}, {22, 2, 3}, {16, 1, 3}};
  struct be_random random;
  be_random_init(&random, 61, 0);
  for (size_t row = 0; row < sizeof rows / sizeof rows[0]; row++) {
    size_t n = rows[row].n, over = 0;
    double critical = be_dixon_critical(n, rows[row].near, rows[row].far, 0.1), x[22];
    for (int round = 0; round < 40000; round++) {
      for (size_t i = 0; i < n; i++) x[i] = be_random_normal(&random);
      be_sort(x, n);
      double span = x[n - 1] - x[rows[row].far - 1];
      over += x[n - 1] - x[n - 1 - rows[row].near] > critical * span;
    }
    assert_near((double)over / 40000, 0.1, 0.0075);
  }
}

/* ---- Dixon's test ---- */

/* A set in disorder with its outlier at the top, and turned over at the bottom. */
static void dixon_finds_either_end(void **state)
{
  (void)state;
  static const struct {
    size_t n;
    unsigned near, far;
  } rows[] = {{3, 1, 1},  {7, 1, 1},  {8, 1, 2},  {10, 1, 2},
              {11, 2, 2}, {13, 2, 2}, {14, 2, 3}, {30, 2, 3}};
  double x[30], sorted[30];
  struct be_alarm alarm;
  for (size_t row = 0; row < sizeof rows / sizeof rows[0]; row++) {
    size_t n = rows[row].n;
    for (size_t i = 0; i < n; i++) x[i] = 50 + (double)(i * 7 % 31) + 0.3 * (double)(i % 3);
    x[n / 2] = 423.7;
    memcpy(sorted, x, n * sizeof *x);
    be_sort(sorted, n);
    double ratio = (sorted[n - 1] - sorted[n - 1 - rows[row].near]) /
                   (sorted[n - 1] - sorted[rows[row].far - 1]);
    double critical = be_dixon_critical(n, rows[row].near, rows[row].far, 0.025);
    be_dixon(x, n, 0.05, &alarm);
    assert_near(alarm.statistic, ratio, 1e-15);
    assert_true(alarm.critical == critical && alarm.index == n / 2);
    assert_true(alarm.raised == (ratio > critical));
    assert_true(alarm.raised || n == 3);
    for (size_t i = 0; i < n; i++) x[i] = -x[i];
    be_dixon(x, n, 0.05, &alarm);
    assert_near(alarm.statistic, ratio, 1e-15);
    assert_int_equal(alarm.index, n / 2);
  }
}

static void dixon_has_limits(void **state)
{
  (void)state;
  double x[31];
  struct be_alarm alarm;
  for (size_t i = 0; i < 31; i++) x[i] = 40.4;
  be_dixon(x, 2, 0.05, &alarm);
  assert_true(!alarm.raised && isnan(alarm.statistic) && isnan(alarm.critical));
  be_dixon(x, 31, 0.05, &alarm);
  assert_true(isnan(alarm.statistic) && isnan(alarm.critical));
  be_dixon(x, 9, 0.05, &alarm);
  assert_true(!alarm.raised && isnan(alarm.statistic) && alarm.critical > 0.5);
  /* r11 of nine leaves the lowest out of the span: at the top 0 to 0, below all of it. */
  x[4] = 31.1;
  be_dixon(x, 9, 0.05, &alarm);
  assert_true(alarm.raised && alarm.index == 4 && alarm.statistic == 1);
}

/* ---- generalized ESD ---- */

/* The same by the letter: remove the furthest, each time anew. */
static void esd_is_grubbs_again_and_again(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 67, 0);
  double x[20], scratch[20];
  struct be_alarm alarms[6];
  for (int round = 0; round < 200; round++) {
    size_t n = 8 + (size_t)be_random_below(&random, 13), raised, want = 0;
    bool gone[20] = {false};
    for (size_t i = 0; i < n; i++) x[i] = 30 + 0.1 * floor(20 * be_random_normal(&random));
    x[3] += round % 9;
    x[n - 2] += round % 11;
    be_esd(x, n, 6, 0.1, scratch, alarms, &raised);
    for (size_t step = 0; step < 6; step++) {
      double mean = 0, squares = 0, left = (double)(n - step), most = -1;
      for (size_t i = 0; i < n; i++) mean += gone[i] ? 0 : x[i] / left;
      for (size_t i = 0; i < n; i++) {
        if (gone[i]) continue;
        squares += (x[i] - mean) * (x[i] - mean);
        most = fmax(most, fabs(x[i] - mean));
      }
      double t = be_t_quantile(0.05 / left, left - 2);
      double lambda = (left - 1) * t / sqrt((left - 2 + t * t) * left);
      assert_near(alarms[step].statistic, most / sqrt(squares / (left - 1)), 1e-11);
      assert_near(alarms[step].critical, lambda, 1e-12);
      if (alarms[step].statistic > lambda) want = step + 1;
      assert_false(gone[alarms[step].index]);
      assert_near(fabs(x[alarms[step].index] - mean), most, 1e-11);
      gone[alarms[step].index] = true;
    }
    assert_int_equal(raised, want);
    for (size_t step = 0; step < 6; step++) assert_true(alarms[step].raised == (step < raised));
  }
}

/* Two at one end hide each other from Grubbs, but not from this. */
static void esd_sees_two_that_hide_each_other(void **state)
{
  (void)state;
  const double x[] = {31.2, 32.9, 30.4, 33.3, 31.8, 60.7, 32.2, 61.9, 31.5, 32.5};
  struct be_alarm alarms[3];
  double scratch[10];
  size_t raised;
  be_grubbs(x, 10, 0.05, &alarms[0]);
  assert_false(alarms[0].raised);
  be_esd(x, 10, 3, 0.05, scratch, alarms, &raised);
  assert_int_equal(raised, 2);
  assert_true(alarms[0].raised && alarms[0].index == 7 && alarms[1].raised);
  assert_true(alarms[1].index == 5 && !alarms[2].raised);
}

static void esd_runs_out_of_pulls(void **state)
{
  (void)state;
  const double x[] = {31.2, 31.2, 31.2, 31.2};
  struct be_alarm alarms[6];
  double scratch[4];
  size_t raised = 9;
  be_esd(x, 4, 6, 0.05, scratch, alarms, &raised);
  assert_int_equal(raised, 0);
  for (size_t i = 0; i < 6; i++) assert_true(!alarms[i].raised && isnan(alarms[i].statistic));
  assert_true(isnan(alarms[2].critical) && !isnan(alarms[1].critical));
  be_esd(NULL, 0, 1, 0.05, NULL, alarms, &raised);
  assert_true(raised == 0 && isnan(alarms[0].critical));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(three_pulls_are_known_exactly),
      cmocka_unit_test(the_whole_is_one),
      cmocka_unit_test(ratios_occur_as_often_as_said),
      cmocka_unit_test(dixon_finds_either_end),
      cmocka_unit_test(dixon_has_limits),
      cmocka_unit_test(esd_is_grubbs_again_and_again),
      cmocka_unit_test(esd_sees_two_that_hide_each_other),
      cmocka_unit_test(esd_runs_out_of_pulls),
  };
  return be_tests("stats: outliers", tests);
}
