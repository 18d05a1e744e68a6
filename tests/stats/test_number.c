/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"
#include "stats/number/number.h"
#include "test.h"

#include <float.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_gamma.h>

#define assert_ratio(got, want, tolerance) assert_near((got) / (want), 1, tolerance)

/* ---- the normal ---- */

/* Derived with R 4.2.2 (pnorm, lower = FALSE, log = TRUE). */
static void normal_log_upper_has_the_values_of_r(void **state)
{
  (void)state;
  assert_ratio(be_normal_log_upper(41.3), -857.48538644936036, 1e-14);
  assert_ratio(be_normal_log_upper(-2.3), -0.010782027739052059, 1e-14);
  assert_ratio(be_normal_log_upper(1234.5), -762003.16236049822, 1e-15);
  /* Its slope is -(z + 1 / z), next to the place where the series takes over. */
  double fall = be_normal_log_upper(34.9999) - be_normal_log_upper(35.0001);
  assert_near(fall, 0.0002 * (35 + 1 / 35.0), 1e-8);
  assert_near(be_normal_log_upper(0), -log(2), 1e-16);
  assert_true(be_normal_log_upper(INFINITY) == -INFINITY);
  assert_true(be_normal_log_upper(-INFINITY) == 0);
}

/* Derived with R 4.2.2 (qnorm), and there and back. */
static void normal_quantile_is_full(void **state)
{
  (void)state;
  assert_ratio(be_normal_quantile(1e-300), 37.04709629936120, 4e-16);
  assert_ratio(be_normal_quantile(3.7e-17), 8.34046334363010899, 4e-16);
  assert_ratio(be_normal_quantile(0.0123), 2.24762675579513794, 4e-16);
  assert_ratio(be_normal_quantile(0.4999), 0.00025066283008800752, 4e-13); /* of 0.4999 itself */
  assert_ratio(be_normal_quantile(0.731), -0.61584018874797186, 4e-16);
  assert_true(be_normal_quantile(0.5) == 0);
  struct be_random random;
  be_random_init(&random, 31, 7);
  for (int i = 0; i < 20000; i++) {
    double upper = exp(-600 * pow(be_random_unit(&random), 3)) * be_random_unit(&random);
    if (upper <= 0) continue;
    double z = be_normal_quantile(upper);
    assert_near(z, gsl_cdf_ugaussian_Qinv(upper), 1e-12 * fmax(1, fabs(z)));
    /* A rounding of z moves the tail by z times as much. */
    assert_ratio(be_normal_upper(z), upper, 4 * DBL_EPSILON * (1 + z * z));
  }
}

/* ---- gamma and chi-square ---- */

static void gamma_agrees_with_gsl(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 20260302, 0);
  for (int i = 0; i < 20000; i++) {
    double a = exp(16 * be_random_unit(&random) - 5);
    double x = a + (be_random_unit(&random) - 0.4) * 12 * sqrt(a);
    if (x <= 0) continue;
    double lower = be_gamma_lower(a, x), upper = be_gamma_upper(a, x);
    assert_near(lower + upper, 1, 1e-15);
    if (a < 50) {
      assert_ratio(lower, gsl_sf_gamma_inc_P(a, x), 1e-12);
      if (upper > 1e-3) assert_ratio(upper, gsl_sf_gamma_inc_Q(a, x), 1e-9);
    } else {
      assert_near(lower, gsl_sf_gamma_inc_P(a, x), 1e-8); /* where GSL expands */
    }
  }
  /* In 40 digits (mpmath). */
  assert_ratio(be_gamma_lower(30000.5, 30100), 0.71760751625584116, 1e-14);
  assert_ratio(be_chi2_upper(163.66652324885084, 55), 9.9999999998101221e-13, 1e-14);
}

/* Q(n, x) = e^-x sum x^k / k!, k < n; Q(1/2, x) = erfc(sqrt(x)). */
static void gamma_has_its_closed_forms(void **state)
{
  (void)state;
  static const double at[] = {1e-9, 0.31, 2.7, 7.9, 8.1, 33.3, 230};
  for (size_t i = 0; i < sizeof at / sizeof at[0]; i++) {
    double x = at[i], term = 1, sum = 0;
    for (int k = 0; k < 7; k++) sum += term, term *= x / (k + 1);
    assert_ratio(be_gamma_upper(7, x), exp(-x) * sum, 2e-14 * fmax(1, x / 10));
    assert_ratio(be_gamma_lower(1, x), -expm1(-x), 2e-15);
    assert_ratio(be_gamma_upper(0.5, x), erfc(sqrt(x)), 2e-14 * fmax(1, x / 10));
    assert_ratio(be_gamma_lower(0.5, x), erf(sqrt(x)), 2e-15);
  }
  assert_true(be_gamma_lower(2.5, 0) == 0 && be_gamma_upper(2.5, 0) == 1);
  assert_true(be_gamma_lower(2.5, INFINITY) == 1 && be_gamma_upper(2.5, INFINITY) == 0);
  assert_true(isnan(be_gamma_lower(2.5, NAN)) && isnan(be_gamma_upper(2.5, NAN)));
}

/* Derived with R 4.2.2 (qchisq), and there and back. */
static void chi2_quantile_undoes_chi2(void **state)
{
  (void)state;
  assert_ratio(be_chi2_quantile(0.05, 3.7), 8.9971355676276836, 1e-13);
  assert_ratio(be_chi2_quantile(0.975, 0.3), 2.6300743566293681e-11, 1e-11);
  assert_ratio(be_chi2_quantile(1e-12, 55), 163.66652324885084, 1e-12);
  static const double dfs[] = {0.02, 1, 6.4, 77, 12345.6, 3e8};
  static const double uppers[] = {1e-200, 3e-7, 0.0123, 0.5, 0.77, 0.999};
  for (size_t i = 0; i < sizeof dfs / sizeof dfs[0]; i++)
    for (size_t j = 0; j < sizeof uppers / sizeof uppers[0]; j++) {
      double x = be_chi2_quantile(uppers[j], dfs[i]);
      if (x > 0) assert_ratio(be_chi2_upper(x, dfs[i]), uppers[j], fmax(1e-12, dfs[i] * 1e-16));
    }
  assert_true(be_chi2_quantile(1 - DBL_EPSILON, 0.02) < DBL_MIN); /* 1e-1566 */
}

/* ---- F ---- */

static void f_agrees_with_gsl(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 9);
  for (int i = 0; i < 20000; i++) {
    double df = exp(6 * be_random_unit(&random) - 1), df2 = exp(6 * be_random_unit(&random) - 1);
    double f = exp(4 * be_random_unit(&random) - 2), upper = be_f_upper(f, df, df2);
    assert_near(upper, gsl_cdf_fdist_Q(f, df, df2), 1e-12);
    if (upper > 1e-250 && upper < 0.999) assert_ratio(be_f_quantile(upper, df, df2), f, 1e-9);
  }
  assert_near(be_f_upper(1.7 * 1.7, 1, 9.3), 2 * be_t_upper(1.7, 9.3), 1e-15);
  assert_near(be_f_upper(1.7, 4.5, INFINITY), gsl_cdf_chisq_Q(1.7 * 4.5, 4.5), 1e-14);
  assert_near(be_f_upper(1.7, 4.5, 1e12), be_f_upper(1.7, 4.5, INFINITY), 1e-11);
  assert_true(be_f_upper(-1, 2, 3) == 1 && be_f_upper(INFINITY, 2, 3) == 0);
  assert_true(isnan(be_f_upper(NAN, 2, 3)));
  /* Derived with R 4.2.2 (qf). */
  assert_ratio(be_f_quantile(0.05, 3.3, 17.1), 3.1117339476170094, 1e-13);
  assert_ratio(be_f_quantile(0.95, 2, INFINITY), 0.051293294387550578, 1e-13);
}

/* Many pulls: beta loses no digits to the size of its arguments. */
static void beta_of_a_million(void **state)
{
  (void)state;
  /* Symmetric, so exactly one half; and near it by the normal, whose next term is 1 / (8 a). */
  assert_near(be_beta_lower(0.5, 0.5, 1e6, 1e6), 0.5, 1e-13);
  double z = 1.3, x = 0.5 - z / (2 * sqrt(2e6 + 1));
  assert_near(be_beta_lower(x, 1 - x, 1e6, 1e6), be_normal_upper(z), 1e-6);
  /* I_x(a, b) - I_x(a + 1, b) = x^a y^b / (a B(a, b)) (NIST DLMF 8.17.20). */
  double a = 2.5e5, b = 7.5e5, y = 0.7504;
  double gap = be_beta_lower(1 - y, y, a, b) - be_beta_lower(1 - y, y, a + 1, b);
  double density = exp(a * log1p(-y) + b * log(y) - gsl_sf_lnbeta(a, b)); /* good to 1e-9 */
  assert_near(gap, density / a, 1e-12);
}

/* ---- noncentral t and F ---- */

/* Derived with R 4.2.2 (pt and qt with ncp). */
static void noncentral_t_has_the_values_of_r(void **state)
{
  (void)state;
  assert_near(be_noncentral_t_upper(2.3, 7.5, 1.1), 0.165703737802385342, 1e-12);
  assert_near(be_noncentral_t_upper(-1.7, 4, -2.2), 0.299079982289802926, 1e-12);
  assert_near(be_noncentral_t_upper(0.9, 31, -1.3), 0.014672536471020403, 1e-12);
  assert_near(be_noncentral_t_upper(-0.4, 3, 2.1), 0.992669426953968981, 1e-12);
  double shift = 1.6448536269514722 * sqrt(10);
  assert_ratio(be_noncentral_t_quantile(0.05, 9, shift), 9.2052745707536587, 1e-10);
  assert_ratio(be_noncentral_t_quantile(0.95, 5, -1.7), -4.7252918115538165, 1e-10);
  assert_ratio(be_noncentral_t_quantile(0.9, 12, 2.5), 1.2055465935925369, 1e-10);
}

/* P(T > t), t > 0, as a sum of incomplete beta functions weighed by Poisson terms
 * (Lenth, Appl. Stat. 38, 1989, AS 243). */
static double slow_t_upper(double t, double df, double shift)
{
  double half = shift * shift / 2, y = df / (t * t + df), sum = 0;
  for (int j = 0; j < 1000; j++) {
    double p = exp(-half + j * log(half) - lgamma(j + 1.0));
    double q = shift / sqrt(2) * exp(-half + j * log(half) - lgamma(j + 1.5));
    sum += p * gsl_cdf_beta_Q(y, df / 2, j + 0.5) + q * gsl_cdf_beta_Q(y, df / 2, j + 1.0);
  }
  return 1 - gsl_cdf_ugaussian_P(-shift) - sum / 2;
}

static void noncentral_t_agrees_with_a_series(void **state)
{
  (void)state;
  static const double dfs[] = {0.3, 1, 2.7, 9, 40.5, 333}, at[] = {0.03, 0.7, 1.9, 4.4, 17};
  static const double shifts[] = {-9, -2.6, -0.4, 0.11, 1.3, 5.2, 16};
  for (size_t i = 0; i < sizeof dfs / sizeof dfs[0]; i++)
    for (size_t j = 0; j < sizeof at / sizeof at[0]; j++)
      for (size_t k = 0; k < sizeof shifts / sizeof shifts[0]; k++) {
        double slow = slow_t_upper(at[j], dfs[i], shifts[k]);
        assert_near(be_noncentral_t_upper(at[j], dfs[i], shifts[k]), slow, 1e-11);
        assert_near(be_noncentral_t_upper(-at[j], dfs[i], -shifts[k]), 1 - slow, 1e-11);
        if (slow < 1e-6 || slow > 1 - 1e-6) continue;
        double t = be_noncentral_t_quantile(slow, dfs[i], shifts[k]);
        assert_near(be_noncentral_t_upper(t, dfs[i], shifts[k]), slow, 1e-13);
        assert_ratio(t, at[j], 1e-5);
      }
}

static void noncentral_t_at_its_edges(void **state)
{
  (void)state;
  assert_near(be_noncentral_t_upper(1.9, 6.5, 0), be_t_upper(1.9, 6.5), 1e-14);
  assert_near(be_noncentral_t_upper(-1.9, 6.5, 0), be_t_upper(-1.9, 6.5), 1e-14);
  assert_near(be_noncentral_t_upper(1.9, INFINITY, 0.7), be_normal_upper(1.2), 0);
  assert_near(be_noncentral_t_upper(1.9, 1e13, 0.7), be_normal_upper(1.2), 1e-12);
  assert_near(be_noncentral_t_upper(0, 3.5, 0.7), be_normal_upper(-0.7), 0);
  assert_true(be_noncentral_t_upper(INFINITY, 3.5, 0.7) == 0);
  assert_true(be_noncentral_t_upper(-INFINITY, 3.5, 0.7) == 1);
  assert_true(be_noncentral_t_upper(3, 4, 1e5) == 1);
  assert_true(be_noncentral_t_upper(-3, 4, -1e5) == 0);
  assert_true(isnan(be_noncentral_t_upper(NAN, 3, 1)));
}

static void noncentral_f_agrees(void **state)
{
  (void)state;
  /* Derived with R 4.2.2 (pf with ncp), which stops its sum at 1e-9; and the same sum in 30
   * digits (mpmath). */
  assert_near(be_noncentral_f_upper(3.1, 3, 44.7, 11.9), 0.75617573194323673, 1e-9);
  assert_near(be_noncentral_f_upper(3.1, 3, 44.7, 11.9), 0.75617573167534888, 1e-14);
  assert_near(be_noncentral_f_upper(1.3, 7, 12.5, 0.7), 0.37892982228388900, 1e-9);
  assert_near(be_noncentral_f_upper(1.3, 7, 12.5, 0.7), 0.37892982217889288, 1e-14);
  assert_near(be_noncentral_f_upper(2.2, 4, INFINITY, 6.1), 0.52721541560526430, 1e-12);
  /* F with one degree of freedom is t squared. */
  static const double shifts[] = {0.3, 2.2, 7.7, 41};
  for (size_t i = 0; i < sizeof shifts / sizeof shifts[0]; i++) {
    double t = shifts[i] * 0.9 + 0.4, df = 11.5;
    double both =
        be_noncentral_t_upper(t, df, shifts[i]) + 1 - be_noncentral_t_upper(-t, df, shifts[i]);
    assert_near(be_noncentral_f_upper(t * t, 1, df, shifts[i] * shifts[i]), both, 1e-12);
  }
  assert_near(be_noncentral_f_upper(1.7, 3, 8, 0), be_f_upper(1.7, 3, 8), 0);
  assert_true(be_noncentral_f_upper(-1, 3, 8, 2) == 1);
  assert_true(be_noncentral_f_upper(INFINITY, 3, 8, 2) == 0);
  assert_true(isnan(be_noncentral_f_upper(NAN, 3, 8, 2)));
}

/* ---- solving and sorting ---- */

struct counted {
  double target;
  int *calls;
};

static double cube(double x, const void *context)
{
  const struct counted *counted = context;
  if (counted->calls) ++*counted->calls;
  return x * x * x - counted->target;
}

static double step_at(double x, const void *context)
{
  return x < *(const double *)context ? 1 : -1;
}

static double not_a_number(double x, const void *context)
{
  (void)context;
  return x > 0.3 && x < 0.9 ? NAN : x - 0.5;
}

static void root_is_found_to_the_last_double(void **state)
{
  (void)state;
  static const double targets[] = {1e-30, 0.001, 0.7, 12, 8.8e14};
  for (size_t i = 0; i < sizeof targets / sizeof targets[0]; i++) {
    int calls = 0;
    const struct counted counted = {targets[i], &calls};
    double root = be_root(cube, &counted, -3, 1e5);
    assert_ratio(root, cbrt(targets[i]), 4 * DBL_EPSILON);
    assert_true(calls < 160);
    assert_ratio(be_root(cube, &counted, 1e5, -3), root, 4 * DBL_EPSILON); /* ends turned */
  }
  const double edge = 0.7123;
  assert_ratio(be_root(step_at, &edge, 0, 4096), edge, 2 * DBL_EPSILON);
  const double tiny = 3.3e-290; /* bisection all the way */
  assert_ratio(be_root(step_at, &tiny, 0, 1), tiny, 2 * DBL_EPSILON);
  const struct counted eight = {8, NULL};
  assert_true(be_root(cube, &eight, 2, 5) == 2 && be_root(cube, &eight, -5, 2) == 2);
  assert_true(isnan(be_root(cube, &eight, 3, 5)));
  assert_true(isnan(be_root(not_a_number, NULL, 0, 1)));
  assert_true(isnan(be_root(not_a_number, NULL, 0.4, 1)));
}

static void sort_agrees_with_order(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 2, 2);
  for (size_t n = 0; n < 300; n++) {
    double x[300], keys[300];
    size_t order[300];
    for (size_t i = 0; i < n; i++)
      keys[i] = x[i] = floor(100 * be_random_normal(&random)) * 0.37; /* with ties */
    be_sort(x, n);
    be_order(keys, n, order);
    for (size_t i = 0; i < n; i++) assert_true(x[i] == keys[order[i]]);
  }
  double ends[] = {3.5, INFINITY, -INFINITY, -2};
  be_sort(ends, 4);
  assert_true(ends[0] == -INFINITY && ends[1] == -2 && ends[2] == 3.5 && ends[3] == INFINITY);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(normal_log_upper_has_the_values_of_r),
      cmocka_unit_test(normal_quantile_is_full),
      cmocka_unit_test(gamma_agrees_with_gsl),
      cmocka_unit_test(gamma_has_its_closed_forms),
      cmocka_unit_test(chi2_quantile_undoes_chi2),
      cmocka_unit_test(f_agrees_with_gsl),
      cmocka_unit_test(beta_of_a_million),
      cmocka_unit_test(noncentral_t_has_the_values_of_r),
      cmocka_unit_test(noncentral_t_agrees_with_a_series),
      cmocka_unit_test(noncentral_t_at_its_edges),
      cmocka_unit_test(noncentral_f_agrees),
      cmocka_unit_test(root_is_found_to_the_last_double),
      cmocka_unit_test(sort_agrees_with_order),
  };
  return be_tests("stats: number", tests);
}
