/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Several benches, and what is in doubt on one. */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

static const double endless = INFINITY;

/* ---- several ---- */

static const double first[] = {24.5, 23.5, 24.5, 28}, third[] = {31.2, 26.9, 28.4};
static const double second[] = {21, 26.5, 22, 22.5, 19.5, 16.5}, fourth[] = {29.7, 27.3};

static void fill_four(struct be_summary *benches)
{
  be_summary_of(first, 4, &benches[0]);
  be_summary_of(second, 6, &benches[1]);
  be_summary_of(third, 3, &benches[2]);
  be_summary_of(fourth, 2, &benches[3]);
}

/* Derived with R 4.2.2: anova of lm, and the variance components from its mean squares. */
static void unequal_benches_agree_with_r(void **state)
{
  (void)state;
  struct be_summary benches[4];
  struct be_precision precision;
  double h[4], k[4];
  fill_four(benches);
  be_precision_of(benches, 4, &precision, h, k);
  assert_int_equal(precision.benches, 4);
  assert_near(precision.mean, 25.9479166666667, 1e-12);
  assert_near(precision.cell_deviation, 3.50287167245729, 1e-12);
  assert_near(precision.repeatability, 2.68713263874, 1e-10);
  assert_near(precision.between, 3.45122878314903, 1e-12);
  assert_near(precision.reproducibility, 4.37397552940322, 1e-12);
  assert_near(precision.limit_r, 2.8 * 2.68713263874, 1e-10);
  assert_near(precision.limit_R, 2.8 * 4.37397552940322, 1e-11);
  assert_near(precision.h_critical, 1.4925, 5e-5);
  assert_near(precision.k_critical, 1.94808978686770, 1e-11);
  static const double want_h[] = {-0.234926295798151, -1.31737150681748, 0.823728910583393,
                                  0.728568892032243};
  static const double want_k[] = {0.734532608699215, 1.2379961966422, 0.812206354529944,
                                  0.631549128011583};
  for (size_t i = 0; i < 4; i++) {
    assert_near(h[i], want_h[i], 1e-13);
    assert_near(k[i], want_k[i], 1e-13);
  }
}

/* E691's own formulas, which know only equal cells. */
static void equal_benches_are_as_e691_says(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 691, 0);
  for (int round = 0; round < 40; round++) {
    enum { P = 6, N = 4 };
    struct be_summary benches[P];
    double x[N], means = 0, squares = 0, within = 0, h[P], k[P];
    for (size_t i = 0; i < P; i++) {
      double shift = (round % 4) * be_random_normal(&random);
      for (size_t j = 0; j < N; j++) x[j] = 140.3 + shift + 3.1 * be_random_normal(&random);
      be_summary_of(x, N, &benches[i]);
      means += benches[i].mean / P;
      within += benches[i].sd * benches[i].sd / P;
    }
    for (size_t i = 0; i < P; i++) squares += pow(benches[i].mean - means, 2) / (P - 1);
    struct be_precision precision;
    be_precision_of(benches, P, &precision, h, k);
    double among = fmax(0, squares - within / N);
    double both = fmax(within, squares + within * (N - 1) / N);
    assert_near(precision.cell_deviation, sqrt(squares), 1e-11);
    assert_near(precision.repeatability, sqrt(within), 1e-12);
    assert_near(precision.between * precision.between, among, 1e-10);
    assert_near(precision.reproducibility, sqrt(both), 1e-11);
    assert_true(precision.reproducibility >= precision.repeatability);
    double sum_h = 0, sum_k2 = 0;
    for (size_t i = 0; i < P; i++) sum_h += h[i], sum_k2 += k[i] * k[i];
    assert_near(sum_h, 0, 1e-11);
    assert_near(sum_k2, P, 1e-12);
  }
}

static void benches_of_one_pull_are_left_out(void **state)
{
  (void)state;
  struct be_summary benches[6], four[4];
  struct be_precision precision, want;
  double h[6], k[6], want_h[4], want_k[4];
  fill_four(four);
  be_precision_of(four, 4, &want, want_h, want_k);
  benches[0] = four[0];
  be_summary_of(third, 1, &benches[1]);
  benches[2] = four[1];
  benches[3] = four[2];
  be_summary_of(third, 0, &benches[4]);
  benches[5] = four[3];
  be_precision_of(benches, 6, &precision, h, k);
  assert_int_equal(precision.benches, 4);
  assert_true(precision.mean == want.mean && precision.between == want.between);
  assert_true(isnan(h[1]) && isnan(k[1]) && isnan(h[4]) && isnan(k[4]));
  assert_true(h[5] == want_h[3] && k[3] == want_k[2]);
  be_precision_of(benches, 2, &precision, h, k);
  assert_int_equal(precision.benches, 1);
  assert_true(isnan(precision.mean) && isnan(precision.repeatability) && isnan(h[0]));
  assert_true(isnan(precision.h_critical) && isnan(precision.limit_R) && isnan(k[0]));
  be_precision_of(benches, 0, &precision, h, k);
  assert_true(precision.benches == 0 && isnan(precision.between));
}

/* Alike benches: nothing between, exactly 0. */
static void alike_benches(void **state)
{
  (void)state;
  struct be_summary benches[3];
  struct be_precision precision;
  double h[3], k[3];
  for (size_t i = 0; i < 3; i++) be_summary_of(first, 4, &benches[i]);
  be_precision_of(benches, 3, &precision, h, k);
  assert_true(precision.between == 0 && isnan(h[1]));
  assert_true(precision.reproducibility == precision.repeatability);
  assert_near(k[1], 1, 1e-15);
  const double flat[] = {30.3, 30.3}, higher[] = {31.7, 31.7};
  be_summary_of(flat, 2, &benches[0]);
  be_summary_of(higher, 2, &benches[1]);
  be_precision_of(benches, 2, &precision, h, k);
  assert_true(precision.repeatability == 0 && isnan(k[0]));
  assert_near(precision.reproducibility, 1.4 / sqrt(2), 1e-13);
  assert_near(h[1], 1 / sqrt(2), 1e-13);
}

/* Derived with R 4.2.2. And h of two benches is always 1 / sqrt 2. */
static void critical_values_agree_with_r(void **state)
{
  (void)state;
  assert_near(be_h_critical(4, 0.005), 1.4925, 1e-12);
  assert_near(be_h_critical(30, 0.01), 2.45085349361107, 1e-12);
  assert_near(be_k_critical(12, 6, 0.01), 1.67754938150697, 1e-12);
  assert_near(be_k_critical(2, 4, 0.005), 1.39954814264715, 1e-12);
  assert_near(be_h_critical(2, 0.01), 1 / sqrt(2), 1e-15);
  assert_true(isnan(be_h_critical(1, 0.01)) && isnan(be_k_critical(1, 5, 0.01)));
  assert_true(isnan(be_k_critical(5, 1, 0.01)));
}

/* By trials: h beyond its critical value at a share alpha, k likewise. */
static void critical_values_agree_with_trials(void **state)
{
  (void)state;
  enum { P = 5, N = 3, TRIALS = 20000 };
  struct be_random random;
  be_random_init(&random, 5725, 0);
  double h_most = be_h_critical(P, 0.05), k_most = be_k_critical(P, N, 0.05);
  size_t h_beyond = 0, k_beyond = 0;
  for (size_t trial = 0; trial < TRIALS; trial++) {
    struct be_summary benches[P];
    struct be_precision precision;
    double x[N], h[P], k[P];
    for (size_t i = 0; i < P; i++) {
      for (size_t j = 0; j < N; j++) x[j] = be_random_normal(&random);
      be_summary_of(x, N, &benches[i]);
    }
    be_precision_of(benches, P, &precision, h, k);
    h_beyond += fabs(h[trial % P]) > h_most;
    k_beyond += k[trial % P] > k_most;
  }
  /* 4 deviations of a share of 0.05. */
  assert_near((double)h_beyond / TRIALS, 0.05, 4 * sqrt(0.05 * 0.95 / TRIALS));
  assert_near((double)k_beyond / TRIALS, 0.05, 4 * sqrt(0.05 * 0.95 / TRIALS));
}

/* ---- one ---- */

static void a_budget_by_hand(void **state)
{
  (void)state;
  const struct be_source_of_doubt sources[] = {
      {"repeated pulls", 0.43, BE_SPREAD_NORMAL, 1, 9},
      {"calibration of the cell", 0.6, BE_SPREAD_RECTANGULAR, -0.8, endless},
      {"step of the display", 0.1, BE_SPREAD_STEP, 1, endless},
      {"angle of the pull, degrees", 2.1, BE_SPREAD_TRIANGULAR, 0.07, 12},
  };
  struct be_budget budget;
  double deviations[4], shares[4];
  be_budget_of(sources, 4, 0.95, &budget, deviations, shares);
  const double u[] = {0.43, 0.8 * 0.6 / sqrt(3), 0.1 / sqrt(12), 0.07 * 2.1 / sqrt(6)};
  double variance = 0, inverse = 0, sum = 0;
  for (size_t i = 0; i < 4; i++) {
    assert_near(deviations[i], u[i], 1e-16);
    variance += u[i] * u[i];
    inverse += pow(u[i], 4) / sources[i].df;
    sum += shares[i];
  }
  assert_near(budget.combined, sqrt(variance), 1e-15);
  assert_near(budget.df, variance * variance / inverse, 1e-12);
  assert_near(sum, 1, 1e-15);
  assert_near(shares[1], u[1] * u[1] / variance, 1e-15);
  assert_near(budget.coverage, be_t_quantile(0.025, floor(budget.df)), 1e-13);
  assert_near(budget.expanded, budget.coverage * budget.combined, 1e-15);
  assert_true(budget.level == 0.95);
}

static void a_budget_in_another_unit(void **state)
{
  (void)state;
  for (double unit = 1e-200; unit < 1e250; unit *= 1e50) {
    const struct be_source_of_doubt sources[] = {
        {"one", 0.43 * unit, BE_SPREAD_NORMAL, 1, 7},
        {"another", 0.31 * unit, BE_SPREAD_NORMAL, 1, 5},
    };
    struct be_budget budget;
    be_budget_of(sources, 2, 0.9, &budget, NULL, NULL);
    assert_near(budget.combined / unit, hypot(0.43, 0.31), 1e-15);
    double a = 0.43 * 0.43, b = 0.31 * 0.31;
    assert_near(budget.df, (a + b) * (a + b) / (a * a / 7 + b * b / 5), 1e-13);
  }
}

/* 1 / (1 / 49) is less than 49: the cut to a whole number must not make it 48. */
static void degrees_are_cut_but_not_by_rounding(void **state)
{
  (void)state;
  for (size_t df = 1; df < 200; df++) {
    const struct be_source_of_doubt source = {"only one", 0.37, BE_SPREAD_NORMAL, 1.3, (double)df};
    struct be_budget budget;
    be_budget_of(&source, 1, 0.95, &budget, NULL, NULL);
    assert_near(budget.coverage, be_t_quantile(0.025, (double)df), 1e-12 * budget.coverage);
  }
  const struct be_source_of_doubt source = {"few", 0.37, BE_SPREAD_NORMAL, 1.3, 5.97};
  const struct be_source_of_doubt fewer = {"less than one", 0.37, BE_SPREAD_NORMAL, 1.3, 0.7};
  struct be_budget budget;
  be_budget_of(&source, 1, 0.95, &budget, NULL, NULL);
  assert_near(budget.coverage, be_t_quantile(0.025, 5), 1e-13);
  be_budget_of(&fewer, 1, 0.95, &budget, NULL, NULL);
  assert_near(budget.coverage, be_t_quantile(0.025, 0.7), 1e-9);
}

static void nothing_in_doubt(void **state)
{
  (void)state;
  const struct be_source_of_doubt sources[] = {
      {"none", 0, BE_SPREAD_STEP, 1, endless},
      {"of no weight", 3.7, BE_SPREAD_NORMAL, 0, 4},
  };
  struct be_budget budget;
  double shares[2] = {-7, -7};
  be_budget_of(sources, 2, 0.95, &budget, NULL, shares);
  assert_true(budget.combined == 0 && budget.expanded == 0 && budget.df == 4);
  assert_true(isnan(shares[0]) && isnan(shares[1]));
  be_budget_of(sources, 0, 0.95, &budget, NULL, NULL);
  assert_true(budget.combined == 0 && isinf(budget.df));
  assert_near(budget.coverage, 1.959963984540054, 1e-12);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(unequal_benches_agree_with_r),
      cmocka_unit_test(equal_benches_are_as_e691_says),
      cmocka_unit_test(benches_of_one_pull_are_left_out),
      cmocka_unit_test(alike_benches),
      cmocka_unit_test(critical_values_agree_with_r),
      cmocka_unit_test(critical_values_agree_with_trials),
      cmocka_unit_test(a_budget_by_hand),
      cmocka_unit_test(a_budget_in_another_unit),
      cmocka_unit_test(degrees_are_cut_but_not_by_rounding),
      cmocka_unit_test(nothing_in_doubt),
  };
  return be_tests("stats: benches", tests);
}
