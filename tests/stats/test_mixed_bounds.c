/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lower bounds in mixed models: beside the exact likelihood where that can be had. */
#include "mixed_rows.h"
#include "stats/censored/censored.h"
#include "stats/number/number.h"

#include <nlopt.h>

static struct rows rows;

/* ---- no random term: exact ---- */

static void without_terms_it_is_the_censored_fit(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 6; seed++) {
    struct be_held held[60];
    struct be_random random;
    be_random_init(&random, 77, seed);
    double stop = 3.2 + 0.2 * (double)seed;
    size_t bounds = 0;
    rows_init(&rows, 1);
    for (size_t i = 0; i < 60; i++) {
      double y = 3.9 + 0.47 * be_random_normal(&random);
      held[i] = (struct be_held){fmin(y, stop), y > stop, 1};
      rows_add(&rows, held[i].load);
      rows_fixed(&rows, 0, 1);
      if (held[i].bound) rows_bound(&rows);
      bounds += held[i].bound;
    }
    struct be_fit want;
    be_fit_censored(BE_FAMILY_NORMAL, held, 60, &want);
    assert_true(want.converged && bounds > 3);
    struct be_mixed *fit = rows_fit(&rows, BE_MIXED_ML);
    assert_true(be_mixed_summary(fit)->converged);
    assert_int_equal(be_mixed_summary(fit)->bounds, bounds);
    assert_near(be_mixed_beta(fit)[0], want.mu, 1e-6 * want.mu);
    assert_near(be_mixed_summary(fit)->sigma, want.sigma, 1e-6 * want.sigma);
    /* By differences of steps of 1e-3, which leave some 1e-6. */
    assert_near(rows_coefficient(fit, 0).se, want.se_mu, 1e-5 * want.se_mu);
    be_mixed_free(fit);
  }
}

/* ---- one random intercept: beside numerical integration ---- */

enum { LINES = 10, NODES = 97 };

struct exact {
  double mu, between, sigma;
};

/* -log-likelihood of (mu, log between, log sigma), each line's intercept integrated from -6 to 6
 * of its deviations by the trapezoidal rule, which for such integrands is exact to about 1e-12. */
static double exact_likelihood(unsigned count, const double *x, double *slope, void *unused)
{
  (void)count;
  (void)slope;
  (void)unused;
  double between = exp(x[1]), sigma = exp(x[2]), total = 0;
  for (uint32_t l = 0; l < LINES; l++) {
    double sum = 0;
    for (int k = 0; k < NODES; k++) {
      double z = -6 + 12. * k / (NODES - 1), part = -z * z / 2;
      for (size_t i = 0; i < rows.data.n; i++) {
        if (rows.level[0][i] != l) continue;
        double a = (rows.y[i] - x[0] - between * z) / sigma;
        part += rows.bound[i] ? be_normal_log_upper(a) : -a * a / 2 - x[2] - 0.9189385332046727;
      }
      sum += exp(part);
    }
    total -= log(sum * 12 / (NODES - 1)) - 0.9189385332046727;
  }
  return total;
}

static struct exact exact_fit(const struct exact *start)
{
  double x[3] = {start->mu, log(fmax(start->between, 0.05)), log(start->sigma)}, least;
  nlopt_opt search = nlopt_create(NLOPT_LN_BOBYQA, 3);
  nlopt_set_min_objective(search, exact_likelihood, NULL);
  nlopt_set_initial_step1(search, 0.05);
  nlopt_set_xtol_abs1(search, 1e-6);
  nlopt_set_maxeval(search, 400);
  assert_true(nlopt_optimize(search, x, &least) > 0);
  nlopt_destroy(search);
  return (struct exact){x[0], exp(x[1]), exp(x[2])};
}

/* LINES lines of `pulls` pulls about 4, deviations 0.3 between and 0.2 within, stopped at stop. */
static size_t draw(size_t pulls, double stop, uint64_t seed)
{
  struct be_random random;
  size_t bounds = 0;
  be_random_init(&random, 4711, seed);
  rows_init(&rows, 1);
  rows_term(&rows, 0, "line", LINES);
  rows.data.bound = rows.bound;
  for (size_t l = 0; l < LINES; l++) {
    double line = 4 + 0.3 * be_random_normal(&random);
    for (size_t i = 0; i < pulls; i++) {
      double y = line + 0.2 * be_random_normal(&random);
      rows_add(&rows, fmin(y, stop));
      rows_fixed(&rows, 0, 1);
      rows_level(&rows, 0, (double)l);
      if (y > stop) rows_bound(&rows);
      bounds += y > stop;
    }
  }
  return bounds;
}

struct bias {
  double mu, between, sigma, most, share;
};

/* Means of (approximate - exact) in exact sigmas, over `sets` sets. */
static struct bias measure(size_t pulls, double stop, size_t sets)
{
  struct bias bias = {0};
  for (size_t s = 0; s < sets; s++) {
    bias.share += (double)draw(pulls, stop, s) / (double)(rows.data.n * sets);
    struct be_mixed *fit = rows_fit(&rows, BE_MIXED_ML);
    assert_true(be_mixed_summary(fit)->converged);
    struct exact ours = {be_mixed_beta(fit)[0], rows_deviation(fit, 0), be_mixed_summary(fit)->sigma};
    struct exact exact = exact_fit(&ours);
    bias.mu += (ours.mu - exact.mu) / exact.sigma / (double)sets;
    bias.between += (ours.between - exact.between) / exact.sigma / (double)sets;
    bias.sigma += (ours.sigma - exact.sigma) / exact.sigma / (double)sets;
    bias.most = fmax(bias.most, fabs(ours.mu - exact.mu) / exact.sigma);
    be_mixed_free(fit);
  }
  return bias;
}

static void the_bias_of_the_approximation_is_known(void **state)
{
  (void)state;
  const double stops[] = {4.5, 4.25, 4.0};
  const size_t pulls[] = {3, 6, 20};
  for (size_t s = 0; s < 3; s++)
    for (size_t p = 0; p < 3; p++) {
      struct bias bias = measure(pulls[p], stops[s], 25);
      printf("# %zu pulls stop %g: share %.3f mu %.4f between %.4f sigma %.4f most %.4f\n", pulls[p],
             stops[s], bias.share, bias.mu, bias.between, bias.sigma, bias.most);
    }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(without_terms_it_is_the_censored_fit),
      cmocka_unit_test(the_bias_of_the_approximation_is_known),
  };
  return be_tests("stats: mixed models with lower bounds", tests);
}
