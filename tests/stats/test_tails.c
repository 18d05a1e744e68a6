/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "test.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>

/* Simpson's rule, the slow and obvious way. */
static double simpson(double (*f)(double x, const void *context), const void *context, double low,
                      double high, int steps)
{
  double h = (high - low) / steps, sum = f(low, context) + f(high, context);
  for (int i = 1; i < steps; i++) sum += (i % 2 ? 4 : 2) * f(low + h * i, context);
  return sum * h / 3;
}

struct figure {
  size_t groups;        /* a range, when lambda is null */
  const double *lambda; /* of groups comparisons */
  bool one_sided;
  double q, df, w;
};

static double inner(double z, const void *context)
{
  const struct figure *of = context;
  if (!of->lambda) {
    double share = gsl_cdf_ugaussian_P(z) - gsl_cdf_ugaussian_P(z - of->w);
    return (double)of->groups * gsl_ran_ugaussian_pdf(z) * pow(share, (double)of->groups - 1);
  }
  double product = gsl_ran_ugaussian_pdf(z);
  for (size_t i = 0; i < of->groups; i++) {
    double lambda = of->lambda[i], rest = sqrt(1 - lambda * lambda);
    product *= gsl_cdf_ugaussian_P((lambda * z + of->w) / rest) -
               (of->one_sided ? 0 : gsl_cdf_ugaussian_P((lambda * z - of->w) / rest));
  }
  return product;
}

static double outer(double s, const void *context)
{
  struct figure of = *(const struct figure *)context;
  of.w = of.q * s;
  double density = s > 0 ? 2 * of.df * s * gsl_ran_chisq_pdf(of.df * s * s, of.df) : 0;
  return density * simpson(inner, &of, -9, 9, 400);
}

static double slow_upper(struct figure of)
{
  of.w = of.q;
  if (isinf(of.df)) return 1 - simpson(inner, &of, -9, 9, 2000);
  return 1 - simpson(outer, &of, 0, 1 + 9 / sqrt(of.df), 1000);
}

static void range_agrees_with_simpson(void **state)
{
  (void)state;
  static const size_t groups[] = {2, 3, 5, 13, 40};
  static const double dfs[] = {3, 7.3, 60, INFINITY}, at[] = {0.8, 2.9, 4.4};
  struct be_tail tail;
  for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++) {
    be_range_init(&tail, groups[i]);
    for (size_t j = 0; j < sizeof dfs / sizeof dfs[0]; j++)
      for (size_t k = 0; k < sizeof at / sizeof at[0]; k++)
        assert_near(be_tail_upper(&tail, at[k], dfs[j]),
                    slow_upper((struct figure){groups[i], NULL, false, at[k], dfs[j], 0}), 1e-9);
  }
}

/* Two normals differ by sqrt(2) of one, so that Q / sqrt(2) is |t|. */
static void range_of_two_is_t(void **state)
{
  (void)state;
  static const double dfs[] = {0.7, 1, 2, 5.5, 33, 1234, INFINITY};
  struct be_tail tail;
  be_range_init(&tail, 2);
  for (size_t i = 0; i < sizeof dfs / sizeof dfs[0]; i++) {
    for (double q = 0.01; q < 1000; q *= 1.7)
      assert_near(be_tail_upper(&tail, q, dfs[i]), 2 * be_t_upper(q / sqrt(2), dfs[i]), 1e-13);
    double q = be_tail_quantile(&tail, 0.0123, dfs[i]);
    assert_near(q / (sqrt(2) * be_t_quantile(0.0123 / 2, dfs[i])), 1, 1e-11);
  }
}

/* W(w) of k normals for w near 0 it is k^(1/2) (w / sqrt(2 pi))^(k-1). */
static void range_near_its_ends(void **state)
{
  (void)state;
  struct be_tail tail;
  be_range_init(&tail, 3);
  double within = 1 - be_tail_upper(&tail, 0.01, INFINITY);
  assert_near(within / (sqrt(3) * 1e-4 / (2 * acos(-1))), 1, 1e-4);
  assert_true(be_tail_upper(&tail, 0, 7.7) == 1 && be_tail_upper(&tail, -3, 7.7) == 1);
  assert_true(be_tail_upper(&tail, INFINITY, 7.7) == 0);
  assert_true(be_tail_upper(&tail, 99, INFINITY) == 0);
  assert_true(isnan(be_tail_upper(&tail, NAN, 7.7)));
}

static void quantiles_undo_tails(void **state)
{
  (void)state;
  static const double uppers[] = {1e-6, 0.0123, 0.05, 0.5, 0.93};
  static const double dfs[] = {1, 2.2, 9, 1e4, INFINITY};
  static const double lambda[] = {0.3, 0.77, 0.77, 0.95};
  struct be_tail tails[4];
  be_range_init(&tails[0], 3);
  be_range_init(&tails[1], 15);
  be_dunnett_init(&tails[2], lambda, 4, false);
  be_dunnett_init(&tails[3], lambda, 4, true);
  for (size_t tail = 0; tail < 4; tail++)
    for (size_t i = 0; i < sizeof uppers / sizeof uppers[0]; i++)
      for (size_t j = 0; j < sizeof dfs / sizeof dfs[0]; j++) {
        double q = be_tail_quantile(&tails[tail], uppers[i], dfs[j]);
        assert_near(be_tail_upper(&tails[tail], q, dfs[j]) / uppers[i], 1, 1e-8);
      }
  assert_true(be_tail_quantile(&tails[3], 0.93, 9) < 0);
}

/* Derived with R 4.2.2: nested integrate() of the double integral, and, to 1e-6, pmvt of
 * mvtnorm by another way. */
static void dunnett_has_the_values_of_r(void **state)
{
  (void)state;
  const double lambda[] = {sqrt(4 / 10.0), sqrt(11 / 17.0), sqrt(7 / 13.0), sqrt(3 / 9.0)};
  const double steep[] = {sqrt(40 / 42.0), sqrt(3 / 5.0)};
  struct be_tail tail;
  be_dunnett_init(&tail, lambda, 4, false);
  assert_near(be_tail_upper(&tail, 2.31, 17), 0.1054759314671066, 1e-11);
  assert_near(be_tail_upper(&tail, 2.2, INFINITY), 0.09243920188388599, 1e-13);
  be_dunnett_init(&tail, lambda, 4, true);
  assert_near(be_tail_upper(&tail, 1.9, 17), 0.1095920384376093, 1e-11);
  assert_near(be_tail_upper(&tail, -0.4, 5), 0.9063518718968944, 1e-11);
  be_dunnett_init(&tail, steep, 2, false);
  assert_near(be_tail_upper(&tail, 2.9, 3.7), 0.07226024598581911, 1e-11);
}

static void dunnett_agrees_with_simpson(void **state)
{
  (void)state;
  static const double lambda[] = {0.12, 0.88, 0.5, 0.5, 0.71};
  static const double dfs[] = {3, 21.5, INFINITY}, at[] = {-0.9, 0.6, 2.2, 3.9};
  for (size_t count = 1; count <= 5; count += 2)
    for (int one = 0; one < 2; one++) {
      struct be_tail tail;
      be_dunnett_init(&tail, lambda, count, one);
      for (size_t i = 0; i < sizeof dfs / sizeof dfs[0]; i++)
        for (size_t j = 0; j < sizeof at / sizeof at[0]; j++) {
          double got = be_tail_upper(&tail, at[j], dfs[i]);
          if (at[j] < 0 && !one) assert_true(got == 1);
          else
            assert_near(got, slow_upper((struct figure){count, lambda, one, at[j], dfs[i], 0}),
                        1e-9);
        }
    }
}

/* One comparison is Student's t; comparisons with a reference that is known (lambda 0) are
 * independent when the deviation is. */
static void dunnett_has_its_closed_forms(void **state)
{
  (void)state;
  static const double one[] = {0.83}, none[] = {0, 0, 0};
  struct be_tail tail;
  be_dunnett_init(&tail, one, 1, false);
  assert_near(be_tail_upper(&tail, 1.7, 6.5), 2 * be_t_upper(1.7, 6.5), 1e-13);
  be_dunnett_init(&tail, one, 1, true);
  assert_near(be_tail_upper(&tail, 1.7, 6.5), be_t_upper(1.7, 6.5), 1e-13);
  assert_near(be_tail_upper(&tail, -1.7, 6.5), be_t_upper(-1.7, 6.5), 1e-13);
  be_dunnett_init(&tail, none, 3, true);
  assert_near(be_tail_upper(&tail, 1.1, INFINITY), 1 - pow(gsl_cdf_ugaussian_P(1.1), 3), 1e-13);
  assert_true(be_tail_upper(&tail, -40, INFINITY) == 1);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(range_agrees_with_simpson),    cmocka_unit_test(range_of_two_is_t),
      cmocka_unit_test(range_near_its_ends),          cmocka_unit_test(quantiles_undo_tails),
      cmocka_unit_test(dunnett_has_the_values_of_r),  cmocka_unit_test(dunnett_agrees_with_simpson),
      cmocka_unit_test(dunnett_has_its_closed_forms),
  };
  return be_tests("stats: tails of ranges and of comparisons with one", tests);
}
