/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The statistics held against published figures. "Memory, verified" means that
 * the published digits were recalled and then reproduced with R 4.2.2; "derived"
 * that no print was at hand and R alone gave the value. */
#include "stats/stats.h"
#include "test.h"

static const double endless = INFINITY;

static struct be_estimate mean_of(const double *x, size_t n)
{
  struct be_summary summary;
  be_summary_of(x, n, &summary);
  return be_estimate_mean(&summary);
}

static struct be_estimate of_figures(double mean, double sd, size_t n)
{
  const struct be_summary summary = {n, mean, sd, mean, mean};
  return be_estimate_mean(&summary);
}

/* ---- rates ---- */

/* Newcombe, Stat. Med. 17 (1998), table I, Clopper-Pearson: memory, verified;
 * further digits and 400/400 derived. */
static void binomial_intervals(void **state)
{
  (void)state;
  static const struct {
    size_t k, n;
    double low, high;
  } rows[] = {
      {81, 263, 0.2527367456, 0.3676219226},
      {1, 29, 0.0008726468836, 0.1776442955},
      {400, 400, 0.9908201954, 1},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct be_interval interval = be_rate_exact(rows[i].k, rows[i].n, 0.95);
    assert_near(interval.low, rows[i].low, 1e-10);
    assert_near(interval.high, rows[i].high, 1e-10);
  }
  assert_true(be_rate_exact(400, 400, 0.95).high == 1);
  assert_near(1 - be_rate_upper(0, 400, 0.95), 0.9925386445, 1e-10);
}

/* Hanley and Lippman-Hand, JAMA 249 (1983); success-run sample sizes
 * n = ceil(ln(1 - C) / ln R): memory, verified. */
static void rule_of_three(void **state)
{
  (void)state;
  assert_near(be_rate_upper(0, 400, 0.95), 0.007461355529, 1e-12);
  assert_near(be_rate_upper(0, 400, 0.95), 3.0 / 400, 5e-5);
  assert_near(be_rate_upper(0, 30, 0.95), 0.09503385286, 1e-11);
  static const struct {
    double holds, level;
    size_t n;
  } runs[] = {{0.9, 0.95, 29}, {0.95, 0.95, 59}, {0.99, 0.95, 299}, {0.9, 0.9, 22},
              {0.99, 0.99, 459}};
  for (size_t i = 0; i < sizeof runs / sizeof runs[0]; i++) {
    assert_true(be_rate_upper(0, runs[i].n, runs[i].level) <= 1 - runs[i].holds);
    assert_true(be_rate_upper(0, runs[i].n - 1, runs[i].level) > 1 - runs[i].holds);
  }
}

/* ---- alarms ---- */

/* One-sided critical values, so twice their alpha here. Grubbs, Technometrics 11
 * (1969), and ASTM E178: memory, verified (printed to 3 decimals, off by up to
 * 0.001 themselves); the 2-decimal list derived from E178: read. */
static void grubbs_critical_values(void **state)
{
  (void)state;
  static const struct {
    double alpha;
    size_t n;
    double printed, within, value;
  } rows[] = {
      {0.05, 3, 1.153, 0.0011, 1.153118061},   {0.05, 5, 1.672, 0.0011, 1.671385669},
      {0.05, 10, 2.176, 0.0011, 2.176068394},  {0.05, 30, 2.745, 0.0011, 2.745131724},
      {0.025, 3, 1.155, 0.0011, 1.154304851},  {0.025, 10, 2.290, 0.0011, 2.289954084},
      {0.025, 20, 2.709, 0.0011, 2.708245646}, {0.025, 3, 1.15, 0.011, 1.154304851},
      {0.025, 4, 1.48, 0.011, 1.48125},        {0.025, 5, 1.71, 0.011, 1.715037312},
      {0.025, 6, 1.89, 0.011, 1.887145118},    {0.025, 7, 2.02, 0.011, 2.019968508},
      {0.025, 8, 2.13, 0.011, 2.126645087},
  };
  static const double x[30] = {1.5, 2.5};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct be_alarm alarm;
    be_grubbs(x, rows[i].n, 2 * rows[i].alpha, &alarm);
    assert_near(alarm.critical, rows[i].printed, rows[i].within);
    assert_near(alarm.critical, rows[i].value, 1e-9);
  }
}

/* ASTM E178, breaking strength of ten hard-drawn copper wires, lb: data and T
 * from memory, verified by arithmetic. */
static void grubbs_copper_wire(void **state)
{
  (void)state;
  const double x[] = {568, 570, 570, 570, 572, 572, 572, 578, 584, 596};
  struct be_summary summary;
  be_summary_of(x, 10, &summary);
  assert_near(summary.mean, 575.2, 1e-12);
  assert_near(summary.sd, 8.702490065, 1e-9);
  struct be_alarm alarm;
  be_grubbs(x, 10, 0.05, &alarm);
  assert_near(alarm.statistic, 2.390120511, 1e-9);
  assert_true(alarm.raised && alarm.index == 9);
}

/* ---- two samples ---- */

/* "Student", Biometrika 6 (1908): hours of sleep won by ten patients with two
 * drugs; Welch as in R's help of t.test: memory, verified. */
static const double sleep_one[] = {0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0, 2};
static const double sleep_two[] = {1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};

static void student_sleep(void **state)
{
  (void)state;
  struct be_estimate a = mean_of(sleep_one, 10), b = mean_of(sleep_two, 10);
  struct be_difference d;
  be_welch(&a, &b, 0.95, &d);
  assert_near(d.t, -1.860813467, 1e-9);
  assert_near(d.df, 17.77647352, 1e-8);
  assert_near(d.p, 0.07939414019, 1e-11);
  assert_near(d.interval.low, -3.365483231, 1e-9);
  assert_near(d.interval.high, 0.2054832307, 1e-10);
}

static void student_sleep_paired(void **state)
{
  (void)state;
  double won[10];
  for (size_t i = 0; i < 10; i++) won[i] = sleep_one[i] - sleep_two[i];
  struct be_estimate mean = mean_of(won, 10);
  const struct be_estimate nothing = {0, 0, endless, 0};
  struct be_difference d;
  be_welch(&mean, &nothing, 0.95, &d);
  assert_near(d.t, -4.062127683, 1e-9);
  assert_near(d.df, 9, 1e-12);
}

/* The two as estimates with one pooled variance and n1 + n2 - 2 degrees of
 * freedom, which are dealt out so that Satterthwaite's formula gives them back. */
static void pool(struct be_estimate *a, struct be_estimate *b, double part_a, double part_b)
{
  double df = a->df + b->df;
  double squares = a->variance * (double)a->n * a->df + b->variance * (double)b->n * b->df;
  a->variance = squares / df / (double)a->n;
  b->variance = squares / df / (double)b->n;
  a->df = df * a->variance * part_a / (a->variance * part_a + b->variance * part_b);
  b->df = df - a->df;
}

/* NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B from its printed figures: memory, verified. */
static void nist_handbook_auto83b(void **state)
{
  (void)state;
  struct be_estimate a = of_figures(20.14458, 6.41470, 249), b = of_figures(30.48101, 6.10771, 79);
  struct be_difference d;
  be_welch(&a, &b, 0.95, &d);
  assert_near(d.t, -12.94627, 2e-4);
  assert_near(d.t, -12.94626757, 1e-8);
  assert_near(d.df, 136.8749901, 1e-7);
  pool(&a, &b, 1, 1);
  assert_near(sqrt(a.variance * 249), 6.342600815, 1e-9);
  be_welch(&a, &b, 0.95, &d);
  assert_near(d.t, -12.620585, 1e-6);
  assert_near(d.df, 326, 1e-9);
}

/* ASAT of Hauschke, Kieser and Hothorn, Biometrical J. 41 (1999), data as in the
 * R package mratios (read); the limits are derived, in closed form and by
 * inverting the test. */
static const double asat_control[] = {1.33, 1.78, 1.53, 1.95, 1.83, 1.47, 1.87, 1.55, 2.58, 2.17,
                                      1.97, 1.62, 2.25, 3.53, 2.92, 1.78, 2.22, 2.55, 2.75};
static const double asat_treated[] = {1.53, 1.75, 2.12, 2.83, 2.58, 2.37, 2.92, 2.08,
                                      3.01, 2.67, 2.06, 2.25, 3.08, 2.01, 1.58};

static void hauschke_ratio_of_means(void **state)
{
  (void)state;
  struct be_estimate a = mean_of(asat_treated, 15), b = mean_of(asat_control, 19);
  struct be_ratio ratio;
  be_ratio_fieller(&a, &b, 0.95, &ratio);
  assert_int_equal(ratio.shape, BE_RATIO_PIECE);
  assert_near(ratio.value, 1.113005464, 1e-9);
  assert_near(ratio.df, 31.97935991, 1e-8);
  assert_near(ratio.interval.low, 0.9376688781, 1e-10);
  assert_near(ratio.interval.high, 1.325086168, 1e-9);
  a.df = b.df = endless; /* the normal quantile instead of Student's */
  be_ratio_log(&a, &b, 0.95, &ratio);
  assert_near(ratio.interval.low, 0.9433834935, 1e-10);
  assert_near(ratio.interval.high, 1.313125757, 1e-9);
}

static void hauschke_ratio_pooled(void **state)
{
  (void)state;
  struct be_estimate a = mean_of(asat_treated, 15), b = mean_of(asat_control, 19);
  double r = a.value / b.value;
  pool(&a, &b, 1, r * r);
  struct be_ratio ratio;
  be_ratio_fieller(&a, &b, 0.95, &ratio);
  assert_near(ratio.df, 32, 1e-12);
  assert_near(ratio.interval.low, 0.9348870551, 1e-10);
  assert_near(ratio.interval.high, 1.324610989, 1e-9);
  be_ratio_fieller(&a, &b, 0.90, &ratio);
  assert_near(ratio.interval.high, 1.286014831, 1e-9);
}

/* ---- degrees of freedom and Student's t: JCGM 100:2008 (GUM), memory, verified ---- */

static void gum_effective_degrees_of_freedom(void **state)
{
  (void)state;
  const double weights[] = {1, 1, 1, 1, 1, 1};
  /* H.1, end gauge, nm. */
  const struct be_estimate end_gauge[] = {
      {0, 25 * 25, 18, 0}, {0, 5.8 * 5.8, 24, 0}, {0, 3.9 * 3.9, 5, 0},
      {0, 6.7 * 6.7, 8, 0}, {0, 2.9 * 2.9, 50, 0}, {0, 16.675 * 16.675, 2, 0}};
  struct be_estimate sum = be_estimate_combine(end_gauge, weights, 6);
  assert_near(sqrt(sum.variance), 31.7, 0.05);
  assert_near(sum.df, 16.7, 0.1);
  /* G.4.1, product of three, relative per cent. */
  const struct be_estimate product[] = {
      {0, 0.25 * 0.25, 9, 0}, {0, 0.57 * 0.57, 4, 0}, {0, 0.82 * 0.82, 14, 0}};
  sum = be_estimate_combine(product, weights, 3);
  assert_near(sqrt(sum.variance), 1.029465881, 1e-9);
  assert_near(sum.df, 18.99874231, 1e-8);
}

static void gum_table_of_t(void **state)
{
  (void)state;
  static const struct {
    double df, level, t;
  } rows[] = {{1, 0.95, 12.70620474},   {10, 0.95, 2.228138852}, {50, 0.9545, 2.051250782},
              {5, 0.9973, 5.506984967}, {20, 0.99, 2.84533971},  {16, 0.99, 2.920781622},
              {19, 0.95, 2.093024054}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const struct be_estimate unit = {0, 1, rows[i].df, 0};
    assert_near(be_estimate_interval(&unit, rows[i].level).high, rows[i].t, 6e-9);
  }
}

/* ---- power ---- */

/* R's help of power.t.test, and Cohen (1988) table 2.4.1 (whole n, so give or
 * take 1): memory, verified; more digits derived. */
static void power_and_pulls(void **state)
{
  (void)state;
  assert_near(be_power_two(1, 20, 0.05), 0.8689528, 5e-8);
  assert_near(be_power_two(1, 20, 0.05), 0.8689528017, 1e-10);
  assert_near(be_power_two_n(1, 0.05, 0.9), 22.02110, 5e-6);
  assert_near(be_power_two_n(0.2, 0.05, 0.8), 393, 1);
  assert_near(be_power_two_n(0.8, 0.05, 0.8), 26, 1);
  /* R stops its search at 1e-4. */
  assert_near(be_power_two_n(0.2, 0.05, 0.8), 393.4066562, 1e-3);
  assert_near(be_power_two_n(0.8, 0.05, 0.8), 25.52462949, 1e-3);
}

/* ---- knots ---- */

/* Ten pulls each, lb, read off a spring scale in steps of 0.5: a post in a public
 * angling forum, 23 May 2006, with the means and deviations its author printed
 * (read; the fourth digits, Welch and the ratios derived). */
static const double pulls[4][10] = {
    {32, 34.5, 33.5, 32, 34.5, 30, 32, 29, 30.5, 31},
    {13.5, 13, 16, 17, 16, 13, 14.5, 11.5, 15, 21.5},
    {21, 26.5, 22, 22.5, 19.5, 16.5, 15, 13.5, 16, 23.5},
    {24.5, 23.5, 24.5, 28, 24, 22, 14, 22.5, 24, 25.5},
};

static void knot_pulls_summary(void **state)
{
  (void)state;
  static const double mean[] = {31.9, 15.1, 19.6, 23.25};
  static const double printed[] = {1.853, 2.8, 4.215, 3.646};
  static const double within[] = {0.0005, 0.05, 0.0005, 0.0005};
  static const double sd[] = {1.8529, 2.8067, 4.2151, 3.6458};
  for (size_t i = 0; i < 4; i++) {
    struct be_summary summary;
    be_summary_of(pulls[i], 10, &summary);
    assert_near(summary.mean, mean[i], 1e-13);
    assert_near(summary.sd, printed[i], within[i]);
    assert_near(summary.sd, sd[i], 5e-5);
  }
}

static void knot_pulls_compared(void **state)
{
  (void)state;
  struct be_estimate test[4];
  for (size_t i = 0; i < 4; i++) test[i] = mean_of(pulls[i], 10);
  struct be_difference d;
  be_welch(&test[3], &test[1], 0.95, &d);
  assert_near(d.value, 8.15, 1e-13);
  assert_near(d.t, 5.6015, 5e-5);
  assert_near(d.df, 16.895, 5e-4);
  assert_near(d.interval.low, 5.079, 5e-4);
  assert_near(d.interval.high, 11.221, 5e-4);
  struct be_ratio ratio;
  be_ratio_log(&test[1], &test[0], 0.95, &ratio);
  assert_near(ratio.value, 0.4734, 5e-5);
  assert_near(ratio.interval.low, 0.4132, 5e-5);
  assert_near(ratio.interval.high, 0.5423, 5e-5);
  assert_near(ratio.df, 10.741, 5e-4);
  be_ratio_log(&test[3], &test[0], 0.95, &ratio);
  assert_near(ratio.value, 0.7288, 5e-5);
  assert_near(ratio.interval.low, 0.6491, 5e-5);
  assert_near(ratio.interval.high, 0.8184, 5e-5);
  assert_near(ratio.df, 11.424, 5e-4);
}

static void knot_pulls_alarm(void **state)
{
  (void)state;
  struct be_alarm alarm;
  be_grubbs(pulls[3], 10, 0.05, &alarm);
  assert_true(alarm.raised && alarm.index == 6);
  be_grubbs(pulls[0], 10, 0.05, &alarm);
  assert_false(alarm.raised);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(binomial_intervals),
      cmocka_unit_test(rule_of_three),
      cmocka_unit_test(grubbs_critical_values),
      cmocka_unit_test(grubbs_copper_wire),
      cmocka_unit_test(student_sleep),
      cmocka_unit_test(student_sleep_paired),
      cmocka_unit_test(nist_handbook_auto83b),
      cmocka_unit_test(hauschke_ratio_of_means),
      cmocka_unit_test(hauschke_ratio_pooled),
      cmocka_unit_test(gum_effective_degrees_of_freedom),
      cmocka_unit_test(gum_table_of_t),
      cmocka_unit_test(power_and_pulls),
      cmocka_unit_test(knot_pulls_summary),
      cmocka_unit_test(knot_pulls_compared),
      cmocka_unit_test(knot_pulls_alarm),
  };
  return be_tests("published: statistics", tests);
}
