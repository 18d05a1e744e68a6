/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

#include <gsl/gsl_cdf.h>

/* P(T > t), t > 0, of the noncentral t as a sum of incomplete beta functions
 * weighed by Poisson terms (Lenth, Appl. Stat. 38, 1989, AS 243). */
static double slow_upper(double t, double df, double shift)
{
  double half = shift * shift / 2, y = df / (t * t + df), sum = 0;
  for (int j = 0; j < 2000; j++) {
    double p = exp(-half + j * log(half) - lgamma(j + 1.0));
    double q = shift / sqrt(2) * exp(-half + j * log(half) - lgamma(j + 1.5));
    sum += p * gsl_cdf_beta_Q(y, df / 2, j + 0.5) + q * gsl_cdf_beta_Q(y, df / 2, j + 1.0);
  }
  return 1 - gsl_cdf_ugaussian_P(-shift) - sum / 2;
}

static void power_agrees_with_a_series(void **state)
{
  (void)state;
  static const double ns[] = {1.05, 1.3, 2, 2.5, 3, 5, 9.7, 22.0211, 64, 393.4, 2500};
  static const double shifts[] = {0.03, 0.2, 0.8, 1, 1.7, 3.1, 6, 14};
  static const double alphas[] = {0.001, 0.05, 0.32};
  int compared = 0;
  for (size_t i = 0; i < sizeof ns / sizeof ns[0]; i++)
    for (size_t j = 0; j < sizeof shifts / sizeof shifts[0]; j++)
      for (size_t k = 0; k < sizeof alphas / sizeof alphas[0]; k++) {
        double shift = shifts[j] * sqrt(ns[i] / 2), df = 2 * (ns[i] - 1);
        double critical = be_t_quantile(alphas[k] / 2, df);
        if (shift > 36) continue; /* exp(-shift^2 / 2) of the series is 0 */
        compared++;
        assert_near(be_power_two(shifts[j], ns[i], alphas[k]), slow_upper(critical, df, shift),
                    1e-9);
      }
  assert_true(compared > 200);
}

static void power_agrees_with_trials(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 9, 9);
  enum { TRIALS = 40000, N = 5 };
  int found = 0;
  for (int i = 0; i < TRIALS; i++) {
    double a[N], b[N];
    for (int j = 0; j < N; j++) {
      a[j] = 1.9 + be_random_normal(&random);
      b[j] = be_random_normal(&random);
    }
    struct be_summary groups[2];
    be_summary_of(a, N, &groups[0]);
    be_summary_of(b, N, &groups[1]);
    double v = (groups[0].sd * groups[0].sd + groups[1].sd * groups[1].sd) / N;
    found += (groups[0].mean - groups[1].mean) / sqrt(v) > 2.306004135204166; /* t 0.975, 8 df */
  }
  assert_near(found / (double)TRIALS, be_power_two(1.9, N, 0.05), 0.01); /* 4 deviations */
}

static void power_at_its_edges(void **state)
{
  (void)state;
  assert_near(be_power_two(0, 7.3, 0.05), 0.025, 1e-12);
  assert_near(be_power_two(-1, 20, 0.05), be_power_two(1, 20, 0.05), 0);
  assert_true(isnan(be_power_two(1, 1, 0.05)) && isnan(be_power_two(1, 0, 0.05)));
  assert_true(isnan(be_power_two(NAN, 5, 0.05)));
  assert_true(be_power_two(INFINITY, 5, 0.05) == 1);
  assert_true(be_power_two(1e5, 3, 0.05) == 1);
  assert_true(be_power_two(0.3, INFINITY, 0.05) == 1);
  assert_near(be_power_two(0, INFINITY, 0.05), 0.025, 1e-15);
  /* With so many pulls t is normal: the power is that of the z test. */
  double z = 1e-6 * sqrt(4e12) - 1.959963984540054;
  assert_near(be_power_two(1e-6, 8e12, 0.05), be_normal_upper(-z), 1e-10);
}

static void pulls_needed_reach_the_power(void **state)
{
  (void)state;
  static const double shifts[] = {0.011, 0.37, 1, 2.9};
  static const double powers[] = {0.5, 0.8, 0.95};
  for (size_t i = 0; i < sizeof shifts / sizeof shifts[0]; i++)
    for (size_t j = 0; j < sizeof powers / sizeof powers[0]; j++) {
      double n = be_power_two_n(shifts[i], 0.05, powers[j]);
      if (n > 2) assert_near(be_power_two(shifts[i], n, 0.05), powers[j], 1e-9);
      assert_true(be_power_two(shifts[i], n, 0.05) >= powers[j] - 1e-12);
    }
  assert_near(be_power_two_n(-1, 0.05, 0.9), be_power_two_n(1, 0.05, 0.9), 0);
  assert_true(be_power_two_n(50, 0.05, 0.8) == 2);
  assert_true(isinf(be_power_two_n(0, 0.05, 0.8)));
  assert_true(isinf(be_power_two_n(0, 0.05, 0.01)));
  assert_true(isnan(be_power_two_n(NAN, 0.05, 0.8)));
  assert_true(isinf(be_power_two_n(1e-200, 0.05, 0.8)));
}

/* ---- many sets and sameness ---- */

/* Derived with R 4.2.2: pf with ncp (good to 1e-9 by its help), qf, uniroot to 1e-12. */
static void power_of_many_agrees_with_r(void **state)
{
  (void)state;
  assert_near(be_power_many(4, 1, 3, 12, 0.05), 0.802953711947505, 1e-9);
  assert_near(be_power_many(3, 2.7, 8.1, 5, 0.01), 0.0994036407387552, 1e-9);
  assert_near(be_power_many(7, 0.31, 2.9, 23.5, 0.1), 0.89835815615985, 1e-8);
  assert_near(be_power_many_n(5, 0.4, 3.3, 0.01, 0.9), 44.1103431739458, 1e-6);
}

/* Two sets: F is t^2, and both of its tails. between is half the squared difference. */
static void two_sets_are_many(void **state)
{
  (void)state;
  static const double shifts[] = {0.3, 0.9, 1.7}, ns[] = {2, 5.7, 23};
  for (size_t i = 0; i < 3; i++)
    for (size_t j = 0; j < 3; j++) {
      double df = 2 * (ns[j] - 1), off = shifts[i] * sqrt(ns[j] / 2);
      double wrong = be_noncentral_t_upper(be_t_quantile(0.025, df), df, -off);
      double both = be_power_two(shifts[i], ns[j], 0.05) + wrong;
      assert_near(be_power_many(2, shifts[i] * shifts[i] / 2, 1, ns[j], 0.05), both, 1e-10);
    }
}

static void power_of_many_at_its_edges(void **state)
{
  (void)state;
  assert_near(be_power_many(5, 0, 3.3, 7, 0.05), 0.05, 1e-12);
  assert_true(be_power_many(5, 1e9, 3.3, 7, 0.05) == 1);
  assert_true(be_power_many(5, 1e200, 3.3, 7, 0.05) == 1);
  /* Of few degrees of freedom even so much does not tell; either way of reckoning. */
  double less = be_power_many(2, 4.464285e7, 0.5, 1.12, 0.05);
  double more = be_power_many(2, 4.464287e7, 0.5, 1.12, 0.05);
  assert_near(less, more, 2e-7); /* which is what the power rises by */
  assert_true(less > 0.3 && less < more && more < 0.9);
  assert_true(isnan(be_power_many(5, -0.1, 3.3, 7, 0.05)));
  assert_true(isnan(be_power_many(5, 0.1, 0, 7, 0.05)));
  assert_true(isnan(be_power_many(5, 0.1, 3.3, 1, 0.05)));
  assert_true(isinf(be_power_many_n(5, 0, 3.3, 0.05, 0.8)));
  assert_true(isnan(be_power_many_n(5, NAN, 3.3, 0.05, 0.8)));
  assert_true(be_power_many_n(5, 1e7, 3.3, 0.05, 0.8) == 2);
  double n = be_power_many_n(3, 1e-5, 2.7, 0.05, 0.9);
  assert_near(be_power_many(3, 1e-5, 2.7, n, 0.05), 0.9, 1e-8);
}

/* Derived with R 4.2.2: integrate over the deviation, uniroot to 1e-12. */
static void pulls_for_sameness_agree_with_r(void **state)
{
  (void)state;
  assert_near(be_power_same_n(1, 0.05, 0.8), 17.84712062353362, 1e-8);
  assert_near(be_power_same_n(0.5, 0.05, 0.9), 87.26259709917547, 1e-8);
  assert_near(be_power_same_n(2.3, 0.05, 0.9), 4.957473664625, 1e-9);
  assert_near(be_power_same_n(0.21, 0.025, 0.8), 477.48953096173267, 1e-7);
  assert_near(be_power_same_n(4.1, 0.05, 0.95), 2.66001394978238, 1e-9);
  assert_true(be_power_same_n(61, 0.05, 0.9) == 2);
  /* With many pulls the deviation is known: Phi(r - z) - Phi(z - r) = power. */
  double z = be_t_quantile(0.05, INFINITY), reach = z + be_t_quantile(0.1, INFINITY);
  double n = 2 * reach * reach / (1e-3 * 1e-3);
  assert_near(be_power_same_n(1e-3, 0.05, 0.8) / n, 1, 1e-6);
}

/* Trials of the whole rule, means and deviations and all. */
static void sameness_agrees_with_trials(void **state)
{
  (void)state;
  enum { N = 9, TRIALS = 20000 };
  struct be_random random;
  be_random_init(&random, 1987, 0);
  double margin = 1.43;
  size_t found = 0;
  for (size_t trial = 0; trial < TRIALS; trial++) {
    double x[2][N];
    struct be_summary sets[2];
    for (size_t g = 0; g < 2; g++) {
      for (size_t i = 0; i < N; i++) x[g][i] = 30.3 + be_random_normal(&random);
      be_summary_of(x[g], N, &sets[g]);
    }
    struct be_difference d;
    struct be_sameness same;
    be_student(&sets[0], &sets[1], 0.95, &d);
    double variance = (sets[0].sd * sets[0].sd + sets[1].sd * sets[1].sd) / N;
    be_same_within(&d, variance, margin, 0.05, &same);
    found += same.same;
  }
  double power = (double)found / TRIALS; /* 4 deviations are 0.0113 */
  assert_true(be_power_same_n(margin, 0.05, power - 0.0113) < N);
  assert_true(be_power_same_n(margin, 0.05, power + 0.0113) > N);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(power_agrees_with_a_series),
      cmocka_unit_test(power_agrees_with_trials),
      cmocka_unit_test(power_at_its_edges),
      cmocka_unit_test(pulls_needed_reach_the_power),
      cmocka_unit_test(power_of_many_agrees_with_r),
      cmocka_unit_test(two_sets_are_many),
      cmocka_unit_test(power_of_many_at_its_edges),
      cmocka_unit_test(pulls_for_sameness_agree_with_r),
      cmocka_unit_test(sameness_agrees_with_trials),
  };
  return be_tests("stats: power", tests);
}
