/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"
#include "stats/number/number.h"
#include "test.h"

#include <gsl/gsl_cdf.h>

static void beta_agrees_with_gsl(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 20260301, 0);
  for (int i = 0; i < 20000; i++) {
    double a = exp(8 * be_random_unit(&random) - 1), b = exp(8 * be_random_unit(&random) - 1);
    double x = a / (a + b);
    x += (be_random_unit(&random) - 0.5) * 2 * sqrt(x * (1 - x) / (a + b + 1));
    if (x <= 0 || x >= 1) continue;
    double got = be_beta_lower(x, 1 - x, a, b);
    assert_near(got, gsl_cdf_beta_P(x, a, b), 2e-11);
    assert_near(be_beta_lower(1 - x, x, b, a), 1 - got, 2e-13);
  }
  assert_true(be_beta_lower(0, 1, 2.5, 3.5) == 0);
  assert_true(be_beta_lower(1, 0, 2.5, 3.5) == 1);
}

/* I_x(a, 1) = x^a and I_x(1, b) = 1 - (1 - x)^b. */
static void beta_has_its_closed_forms(void **state)
{
  (void)state;
  assert_near(be_beta_lower(0.37, 0.63, 7.25, 1), pow(0.37, 7.25), 1e-16);
  assert_near(be_beta_lower(1e-9, 1 - 1e-9, 1, 12345), -expm1(12345 * log1p(-1e-9)), 1e-18);
  assert_near(be_beta_lower(1 - 1e-9, 1e-9, 12345, 1), exp(12345 * log1p(-1e-9)), 1e-13);
}

static void beta_quantile_undoes_beta(void **state)
{
  (void)state;
  static const double shapes[][2] = {{0.5, 2.5}, {1, 40}, {81, 183}, {3.7, 250000}, {5e5, 5e5}};
  static const double shares[] = {1e-12, 0.0123, 0.5, 0.975, 1 - 1e-9};
  for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++)
    for (size_t j = 0; j < sizeof shares / sizeof shares[0]; j++) {
      double x = be_beta_quantile(shares[j], shapes[i][0], shapes[i][1]);
      double back = be_beta_lower(x, 1 - x, shapes[i][0], shapes[i][1]);
      assert_near(back / shares[j], 1, shapes[i][0] < 1000 ? 1e-11 : 3e-9);
    }
}

/* df 1 is Cauchy's: P(T > t) = 1/2 - atan(t)/pi; df 2: (1 - t/sqrt(t^2 + 2))/2. */
static void t_has_its_closed_forms(void **state)
{
  (void)state;
  static const double at[] = {1e-8, 0.31, 1.7, 12.5, 4321};
  for (size_t i = 0; i < sizeof at / sizeof at[0]; i++) {
    double t = at[i];
    assert_near(be_t_upper(t, 1) / (atan2(1, t) / acos(-1)), 1, 1e-14);
    double root = sqrt(t * t + 2);
    assert_near(be_t_upper(t, 2) / (1 / (root * (root + t))), 1, 1e-13);
  }
  assert_near(be_t_upper(-1.7, 1), 1 - be_t_upper(1.7, 1), 1e-16);
  assert_near(be_t_upper(1.7, INFINITY), be_normal_upper(1.7), 0);
  assert_true(be_t_upper(INFINITY, 3.5) == 0);
  assert_true(isnan(be_t_upper(NAN, 3.5)));
}

/* GSL goes over to an expansion above 30 degrees of freedom, hence the bound. */
static void t_agrees_with_gsl(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 77, 1);
  for (int i = 0; i < 20000; i++) {
    double df = exp(9 * be_random_unit(&random) - 1), t = 8 * be_random_unit(&random) - 2;
    assert_near(be_t_upper(t, df), gsl_cdf_tdist_Q(t, df), 1e-8);
    if (df < 29) assert_near(be_t_upper(t, df), gsl_cdf_tdist_Q(t, df), 2e-13);
  }
}

static double t_density(double t, double df)
{
  return exp(lgamma((df + 1) / 2) - lgamma(df / 2)) / sqrt(df * acos(-1)) *
         pow(1 + t * t / df, -(df + 1) / 2);
}

/* Against the density, summed by Simpson's rule. */
static void t_agrees_with_its_density(void **state)
{
  (void)state;
  static const double dfs[] = {3.3, 16.895, 47.1, 136.875};
  for (size_t i = 0; i < sizeof dfs / sizeof dfs[0]; i++) {
    enum { PIECES = 2000 };
    double end = 2.37, h = end / PIECES, sum = t_density(0, dfs[i]) + t_density(end, dfs[i]);
    for (int k = 1; k < PIECES; k++) sum += (k % 2 ? 4 : 2) * t_density(k * h, dfs[i]);
    assert_near(be_t_upper(end, dfs[i]), 0.5 - sum * h / 3, 1e-13);
  }
}

static void t_joins_the_normal(void **state)
{
  (void)state;
  for (double t = 0.1; t < 7; t += 0.37) {
    double below = be_t_upper(t, 1e4), above = be_t_upper(t, 1e4 * (1 + 1e-15));
    assert_near(above / below, 1, 1e-11);
  }
}

static void t_quantile_undoes_t(void **state)
{
  (void)state;
  static const double dfs[] = {0.4, 1, 9.37, 411, 3e6, INFINITY};
  static const double shares[] = {1e-7, 0.0025, 0.025, 0.31, 0.4999};
  for (size_t i = 0; i < sizeof dfs / sizeof dfs[0]; i++)
    for (size_t j = 0; j < sizeof shares / sizeof shares[0]; j++) {
      double t = be_t_quantile(shares[j], dfs[i]);
      assert_near(be_t_upper(t, dfs[i]) / shares[j], 1, 1e-11);
    }
  assert_near(be_t_quantile(0.5, 7.3), 0, 1e-15);
  assert_near(be_t_quantile(0.025, INFINITY), 1.959963984540054, 1e-14);
  /* The leading term of the far tail: P(T > t) = t^-df df^(df/2) / (df B(df/2, 1/2)). */
  assert_near(log(be_t_quantile(1e-9, 0.11)) * 0.11,
              -log(1e-9) + 0.055 * log(0.11) - log(0.11) - lgamma(0.055) - lgamma(0.5) +
                  lgamma(0.555),
              1e-12);
  assert_true(isinf(be_t_quantile(0.025, 0.001)));
}

static void order_agrees_with_a_slow_sort(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 5);
  for (size_t count = 0; count < 200; count++) {
    double key[200];
    size_t order[200], rank[200];
    for (size_t i = 0; i < count; i++) key[i] = (double)be_random_below(&random, 1 + count / 3);
    if (count > 4) key[3] = -INFINITY;
    be_order(key, count, order);
    for (size_t i = 0; i < count; i++) {
      rank[i] = 0;
      for (size_t j = 0; j < count; j++)
        if (key[j] < key[i] || (key[j] == key[i] && j < i)) rank[i]++;
    }
    for (size_t i = 0; i < count; i++) assert_int_equal(order[rank[i]], i);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(beta_agrees_with_gsl),      cmocka_unit_test(beta_has_its_closed_forms),
      cmocka_unit_test(beta_quantile_undoes_beta), cmocka_unit_test(t_has_its_closed_forms),
      cmocka_unit_test(t_agrees_with_gsl),         cmocka_unit_test(t_agrees_with_its_density),
      cmocka_unit_test(t_joins_the_normal),        cmocka_unit_test(t_quantile_undoes_t),
      cmocka_unit_test(order_agrees_with_a_slow_sort),
  };
  return be_tests("stats: distributions", tests);
}
