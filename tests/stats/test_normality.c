/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

enum { PULLS_MAX = 1000 };

/* Whole numbers by a rule, so that R has the same: i^2 x 7919 modulo 1009. */
static void fill(double *x, size_t n)
{
  for (size_t i = 1; i <= n; i++) x[i - 1] = (double)(i * i * 7919 % 1009);
}

/* R 4.2.2's shapiro.test, which holds its coefficients in six digits as the paper does. */
static void royston_agrees_with_r(void **state)
{
  (void)state;
  static const struct {
    size_t n;
    double w, p;
  } rows[] = {
      {3, 0.99867116248791, 0.93036404294696},       {4, 0.98688326860101, 0.94101079734679},
      {5, 0.98968231159089, 0.9785696325286},        {6, 0.9834692474966, 0.96744621466645},
      {8, 0.96294519958916, 0.83764325509741},       {11, 0.95064307024369, 0.65218131560071},
      {12, 0.94015053210234, 0.50002461500856},      {20, 0.90796899519986, 0.058309214252603},
      {50, 0.96020539166195, 0.090672743305382},     {499, 0.9554607818587, 3.9624234797801e-11},
      {1000, 0.95471311307775, 5.1557600325582e-17},
  };
  static double x[PULLS_MAX];
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct be_fitness fit;
    fill(x, rows[i].n);
    be_sort(x, rows[i].n);
    be_shapiro_wilk(x, rows[i].n, &fit);
    assert_near(fit.statistic, rows[i].w, 1e-9);
    assert_near(fit.significance, rows[i].p, 1e-6 * rows[i].p);
  }
}

static void royston_knows_skew(void **state)
{
  (void)state;
  double x[30];
  struct be_fitness fit;
  fill(x, 30);
  for (size_t i = 0; i < 30; i++) x[i] = exp(x[i] / 150);
  be_sort(x, 7);
  be_shapiro_wilk(x, 7, &fit);
  assert_near(fit.statistic, 0.6617970350188, 1e-9);
  assert_near(fit.significance, 0.0013986477221459, 1e-8);
  be_sort(x, 30);
  be_shapiro_wilk(x, 30, &fit);
  assert_near(fit.statistic, 0.68077884317491, 1e-9);
  assert_near(fit.significance, 8.2918117285007e-07, 1e-12);
}

/* Three pulls, two alike: W is 3/4, the least, and its significance 0. */
static void royston_has_ends(void **state)
{
  (void)state;
  struct be_fitness fit;
  const double skew[] = {30.1, 30.1, 34.7}, even[] = {30, 32, 34};
  be_shapiro_wilk(skew, 3, &fit);
  assert_near(fit.statistic, 0.75, 1e-14);
  assert_near(fit.significance, 0, 1e-7);
  be_shapiro_wilk(even, 3, &fit);
  assert_near(fit.statistic, 1, 1e-14);
  assert_near(fit.significance, 1, 1e-6);
  const double lone[] = {30.1, 30.1, 30.1, 30.1, 30.1, 30.1, 30.1, 30.1, 30.1, 30.1, 70.3};
  be_shapiro_wilk(lone, 11, &fit);
  assert_true(fit.significance < 1e-6 && fit.statistic < 0.4);
  be_shapiro_wilk(lone, 10, &fit);
  assert_true(isnan(fit.statistic) && isnan(fit.significance));
  be_shapiro_wilk(lone, 2, &fit);
  assert_true(isnan(fit.statistic));
}

/* ---- Anderson and Darling ---- */

/* A^2 = n times the integral of (F_n - F)^2 / (F (1 - F)) dF, by a fine sum between the
 * places where F_n steps. */
static double a2_by_its_integral(const double *f, size_t n)
{
  enum { STEPS = 20000 };
  double sum = 0;
  for (size_t i = 0; i <= n; i++) {
    double low = i == 0 ? 0 : f[i - 1], high = i == n ? 1 : f[i], share = (double)i / (double)n;
    for (int s = 0; s < STEPS; s++) {
      double u = low + (high - low) * (s + 0.5) / STEPS;
      sum += (share - u) * (share - u) / (u * (1 - u)) * (high - low) / STEPS;
    }
  }
  return (double)n * sum;
}

static void a2_is_its_integral(void **state)
{
  (void)state;
  const double x[] = {27.3, 29.9, 30.2, 33.1, 35.8, 41.7};
  double f[6];
  struct be_fitness fit;
  for (size_t i = 0; i < 6; i++) f[i] = be_normal_upper((32.4 - x[i]) / 4.4);
  be_anderson_darling(x, 6, BE_FAMILY_NORMAL, 32.4, 4.4, &fit);
  assert_near(fit.statistic, a2_by_its_integral(f, 6), 1e-6);
  for (size_t i = 0; i < 6; i++) f[i] = be_normal_upper((3.47 - log(x[i])) / 0.14);
  be_anderson_darling(x, 6, BE_FAMILY_LOGNORMAL, 3.47, 0.14, &fit);
  assert_near(fit.statistic, a2_by_its_integral(f, 6), 1e-6);
  for (size_t i = 0; i < 6; i++) f[i] = 1 - exp(-pow(x[i] / 35.1, 6.2));
  be_anderson_darling(x, 6, BE_FAMILY_WEIBULL, log(35.1), 1 / 6.2, &fit);
  assert_near(fit.statistic, a2_by_its_integral(f, 6), 1e-6);
  assert_near(fit.significance,
              1 / (1 + exp(-0.10 + 1.24 * log((1 + 0.2 / sqrt(6)) * fit.statistic) +
                           4.48 * (1 + 0.2 / sqrt(6)) * fit.statistic)),
              1e-12);
}

/* A pull 60 deviations out is beyond doubt, and A^2 still a number. */
static void a2_bears_what_lies_far_out(void **state)
{
  (void)state;
  const double x[] = {29.9, 30.2, 33.1, 35.8, 300};
  struct be_fitness fit;
  be_anderson_darling(x, 5, BE_FAMILY_NORMAL, 32.4, 4.4, &fit);
  assert_true(isfinite(fit.statistic) && fit.statistic > 300 && fit.significance == 0);
  be_anderson_darling(x, 5, BE_FAMILY_WEIBULL, 3.5, 0.01, &fit);
  assert_true(isfinite(fit.statistic) || fit.statistic > 1e6);
}

static void what_has_no_significance(void **state)
{
  (void)state;
  const double x[] = {-0.2, 30.2, 33.1};
  struct be_fitness fit;
  be_anderson_darling(x, 3, BE_FAMILY_NORMAL, 21, 18, &fit);
  assert_true(fit.statistic > 0 && isnan(fit.significance));
  be_anderson_darling(x, 3, BE_FAMILY_WEIBULL, 3, 0.2, &fit);
  assert_true(isnan(fit.statistic) && isnan(fit.significance));
  be_anderson_darling(x, 2, BE_FAMILY_NORMAL, 15, 20, &fit);
  assert_true(isnan(fit.statistic));
  be_anderson_darling(x, 3, BE_FAMILY_NORMAL, 15, 0, &fit);
  assert_true(isnan(fit.statistic));
}

static void plots_place_pulls(void **state)
{
  (void)state;
  for (size_t i = 1; i <= 9; i++) {
    double share = (i - 0.3) / 9.4, z = be_plot_position(i, 9, BE_FAMILY_NORMAL);
    assert_near(be_normal_upper(-z), share, 1e-15);
    assert_true(be_plot_position(i, 9, BE_FAMILY_LOGNORMAL) == z);
    double w = be_plot_position(i, 9, BE_FAMILY_WEIBULL);
    assert_near(1 - exp(-exp(w)), share, 1e-15);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(royston_agrees_with_r),      cmocka_unit_test(royston_knows_skew),
      cmocka_unit_test(royston_has_ends),           cmocka_unit_test(a2_is_its_integral),
      cmocka_unit_test(a2_bears_what_lies_far_out), cmocka_unit_test(what_has_no_significance),
      cmocka_unit_test(plots_place_pulls),
  };
  return be_tests("stats: normality", tests);
}
