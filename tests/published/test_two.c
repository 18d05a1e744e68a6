/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two sets, ratios of means and pulls needed, held against published figures. "Memory,
 * verified" means that the published digits were recalled and then reproduced with R 4.2.2,
 * which gave the further ones; "derived", that R alone gave the value. */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

/* ---- sleep: "Student", Biometrika 6 (1908), hours won by ten patients ---- */

static const double sleep_one[] = {0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0, 2};
static const double sleep_two[] = {1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};

/* R's help of t.test: memory, verified. */
static void sleep_by_welch_and_in_pairs(void **state)
{
  (void)state;
  struct be_summary one, two;
  be_summary_of(sleep_one, 10, &one);
  be_summary_of(sleep_two, 10, &two);
  struct be_estimate a = be_estimate_mean(&one), b = be_estimate_mean(&two);
  struct be_difference d;
  be_welch(&a, &b, 0.95, &d);
  assert_near(d.t, -1.8608, 5e-5);
  assert_near(d.t, -1.860813467, 1e-9);
  assert_near(d.df, 17.776, 5e-4);
  assert_near(d.df, 17.77647352, 1e-8);
  assert_near(d.p, 0.07939, 5e-6);
  assert_near(d.p, 0.07939414019, 1e-11);
  assert_near(d.interval.low, -3.3654832, 5e-8);
  assert_near(d.interval.high, 0.2054832, 5e-8);
  be_paired(sleep_one, sleep_two, 10, 0.95, &d);
  assert_near(d.t, -4.0621, 5e-5);
  assert_near(d.t, -4.062127683, 1e-9);
  assert_near(d.df, 9, 0);
}

/* ---- NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B, from its printed figures: memory, verified ----
 */

static void nist_auto83b(void **state)
{
  (void)state;
  const struct be_summary us = {249, 20.14458, 6.41470, NAN, NAN};
  const struct be_summary japan = {79, 30.48101, 6.10771, NAN, NAN};
  struct be_estimate a = be_estimate_mean(&us), b = be_estimate_mean(&japan);
  struct be_difference d;
  be_welch(&a, &b, 0.95, &d);
  assert_near(d.t, -12.94627, 2e-4);
  assert_near(d.t, -12.94626757, 1e-8);
  assert_near(d.df, 136.8750, 2e-3);
  assert_near(d.df, 136.8749901, 1e-7);
  be_student(&us, &japan, 0.95, &d);
  assert_near(d.t, -12.62059, 2e-4);
  assert_near(d.t, -12.620585, 1e-6);
  assert_near(d.df, 326, 0);
  double pooled = d.value / d.t / sqrt(1.0 / 249 + 1.0 / 79);
  assert_near(pooled, 6.34260, 2e-5);
  assert_near(pooled, 6.342600815, 1e-8);
}

/* ---- ASAT of Hauschke, Kieser and Hothorn, Biometrical J. 41 (1999) ---- */

/* Data as in the R package mratios (read); no printed limits were at hand: derived, in closed
 * form and by inverting the test. */
static const double control[] = {1.33, 1.78, 1.53, 1.95, 1.83, 1.47, 1.87, 1.55, 2.58, 2.17,
                                 1.97, 1.62, 2.25, 3.53, 2.92, 1.78, 2.22, 2.55, 2.75};
static const double treated[] = {1.53, 1.75, 2.12, 2.83, 2.58, 2.37, 2.92, 2.08,
                                 3.01, 2.67, 2.06, 2.25, 3.08, 2.01, 1.58};

static void asat_ratio_of_means(void **state)
{
  (void)state;
  struct be_summary top, bottom;
  be_summary_of(treated, 15, &top);
  be_summary_of(control, 19, &bottom);
  struct be_estimate a = be_estimate_mean(&top), b = be_estimate_mean(&bottom);
  struct be_ratio ratio;
  be_ratio_fieller_pooled(&top, &bottom, 0.95, &ratio);
  assert_int_equal(ratio.shape, BE_RATIO_PIECE);
  assert_near(ratio.value, 1.113005464, 1e-9);
  assert_near(ratio.df, 32, 0);
  assert_near(ratio.interval.low, 0.9348870551, 1e-10);
  assert_near(ratio.interval.high, 1.324610989, 1e-9);
  be_ratio_fieller_pooled(&top, &bottom, 0.90, &ratio); /* one-sided 95 % */
  assert_near(ratio.interval.high, 1.286014831, 1e-9);
  be_ratio_fieller(&a, &b, 0.95, &ratio);
  assert_near(ratio.df, 31.97935991, 1e-8);
  assert_near(ratio.interval.low, 0.9376688781, 1e-10);
  assert_near(ratio.interval.high, 1.325086168, 1e-9);
  a.df = b.df = INFINITY; /* the normal quantile, as Wald */
  be_ratio_log(&a, &b, 0.95, &ratio);
  assert_near(ratio.interval.low, 0.9433834935, 1e-10);
  assert_near(ratio.interval.high, 1.313125757, 1e-9);
  double z = be_normal_quantile(0.025);
  double se = ratio.value * log(ratio.interval.high / ratio.interval.low) / (2 * z);
  assert_near(se, 0.09389531329, 1e-10);
}

/* The same data moved down until the control means nothing: the set is the outside of a
 * piece, then the whole line (the trap of Fieller 1954), by the sign of the coefficients. */
static void asat_without_a_denominator(void **state)
{
  (void)state;
  struct be_summary top, bottom;
  be_summary_of(treated, 15, &top);
  be_summary_of(control, 19, &bottom);
  struct be_ratio ratio;
  bottom.mean = 0.11;
  be_ratio_fieller_pooled(&top, &bottom, 0.95, &ratio);
  assert_int_equal(ratio.shape, BE_RATIO_OUTSIDE);
  assert_true(ratio.interval.low < 0 && ratio.interval.high > 0);
  assert_true(ratio.value > ratio.interval.high);
  top.mean = 0.07;
  be_ratio_fieller_pooled(&top, &bottom, 0.95, &ratio);
  assert_int_equal(ratio.shape, BE_RATIO_ALL);
  assert_true(isinf(ratio.interval.low) && isinf(ratio.interval.high));
}

/* ---- signed ranks: depression, Hollander and Wolfe (1973), R's help of wilcox.test ---- */

/* V and p one-sided: memory, verified; two-sided derived. */
static void hollander_depression(void **state)
{
  (void)state;
  const double x[] = {1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30};
  const double y[] = {0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29};
  double d[9], v, greater, p;
  for (size_t i = 0; i < 9; i++) d[i] = x[i] - y[i];
  be_signed_rank(d, 9, &v, &greater, &p);
  assert_near(v, 40, 0);
  assert_near(greater, 0.01953, 5e-6);
  assert_near(greater, 0.01953125, 1e-15);
  assert_near(p, 0.0390625, 1e-15);
}

/* ---- power ---- */

/* R's help of power.t.test and power.anova.test; Cohen (1988) tables 2.4.1 and 8.4.4, whole
 * n, so give or take 1: memory, verified. R's own searches stop at 1e-4. */
static void power_and_pulls(void **state)
{
  (void)state;
  assert_near(be_power_two(1, 20, 0.05), 0.8689528, 5e-8);
  assert_near(be_power_two(1, 20, 0.05), 0.8689528017, 1e-10);
  assert_near(be_power_two_n(1, 0.05, 0.9), 22.02110, 2e-4);
  assert_near(be_power_many_n(4, 1, 3, 0.05, 0.8), 11.92613, 2e-4);
  assert_near(be_power_two_n(0.2, 0.05, 0.8), 393, 1);
  assert_near(be_power_two_n(0.8, 0.05, 0.8), 26, 1);
  /* f of 0.25 in 4 sets: the means' variance, divided by 4, is f^2. */
  double n = be_power_many_n(4, 0.0625 * 4 / 3, 1, 0.05, 0.8);
  assert_near(n, 45, 1);
  assert_near(n, 44.59929912, 1e-4);
  assert_near(n, 44.5992742847236, 1e-7); /* derived, searched to 1e-12 */
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sleep_by_welch_and_in_pairs), cmocka_unit_test(nist_auto83b),
      cmocka_unit_test(asat_ratio_of_means),         cmocka_unit_test(asat_without_a_denominator),
      cmocka_unit_test(hollander_depression),        cmocka_unit_test(power_and_pulls),
  };
  return be_tests("published: two sets", tests);
}
