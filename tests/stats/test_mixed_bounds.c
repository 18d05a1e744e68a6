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

/* The standard error of mu by the exact likelihood's second differences. */
static double exact_se(const struct exact *at)
{
  const double step = 2e-3;
  double x[3] = {at->mu, log(at->between), log(at->sigma)}, h[3][3];
  for (size_t i = 0; i < 3; i++)
    for (size_t j = 0; j < 3; j++) {
      double sum = 0;
      for (int s = -1; s < 2; s += 2)
        for (int t = -1; t < 2; t += 2) {
          double y[3] = {x[0], x[1], x[2]};
          y[i] += s * step;
          y[j] += t * step;
          sum += s * t * exact_likelihood(3, y, NULL, NULL);
        }
      h[i][j] = sum / (4 * step * step);
    }
  double minor = h[1][1] * h[2][2] - h[1][2] * h[2][1];
  double whole = h[0][0] * minor - h[0][1] * (h[1][0] * h[2][2] - h[1][2] * h[2][0]) +
                 h[0][2] * (h[1][0] * h[2][1] - h[1][1] * h[2][0]);
  return sqrt(minor / whole);
}

struct bias {
  double mu, between, sigma; /* means of (approximate - exact), in exact sigmas */
  double most;               /* the largest of one set, mu */
  double se;                 /* mean of approximate / exact */
  double share;              /* of bounds */
};

static struct bias measure(size_t pulls, double stop, size_t sets)
{
  struct bias bias = {0};
  double each = 1 / (double)sets;
  for (size_t s = 0; s < sets; s++) {
    bias.share += each * (double)draw(pulls, stop, s) / (double)rows.data.n;
    struct be_mixed *fit = rows_fit(&rows, BE_MIXED_ML);
    assert_true(be_mixed_summary(fit)->converged);
    struct be_mixed_contrast mu = rows_coefficient(fit, 0);
    struct exact ours = {mu.value, rows_deviation(fit, 0), be_mixed_summary(fit)->sigma};
    struct exact exact = exact_fit(&ours);
    bias.mu += each * (ours.mu - exact.mu) / exact.sigma;
    bias.between += each * (ours.between - exact.between) / exact.sigma;
    bias.sigma += each * (ours.sigma - exact.sigma) / exact.sigma;
    bias.most = fmax(bias.most, fabs(ours.mu - exact.mu) / exact.sigma);
    bias.se += each * mu.se / exact_se(&exact);
    be_mixed_free(fit);
  }
  return bias;
}

/* What was found, in sigmas, for lines that differ by 1.5 of them: with a quarter of the pulls
 * bounds mu is low by 0.004 and the deviation between lines by 0.013, and the standard error of
 * mu by 1 %; with half of them by 0.016, 0.06 and 6 %. Limits leave room for other draws. */
static void the_bias_of_the_approximation_is_small(void **state)
{
  (void)state;
  static const struct {
    size_t pulls;
    double stop, share, mu, between, sigma, most, se;
  } cases[] = {
      {6, 4.5, 0.09, 0.003, 0.008, 0.002, 0.02, 0.01},
      {6, 4.25, 0.24, 0.006, 0.02, 0.004, 0.05, 0.03},
      {6, 4.0, 0.48, 0.03, 0.08, 0.01, 0.15, 0.1},
      {20, 4.0, 0.49, 0.012, 0.045, 0.003, 0.06, 0.05},
  };
  for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
    struct bias bias = measure(cases[c].pulls, cases[c].stop, 20);
    assert_near(bias.share, cases[c].share, 0.03);
    assert_near(bias.mu, 0, cases[c].mu);
    assert_near(bias.between, 0, cases[c].between);
    assert_near(bias.sigma, 0, cases[c].sigma);
    assert_true(bias.most < cases[c].most);
    assert_near(bias.se, 1, cases[c].se);
  }
}

/* ---- bounds that say nothing, or all ---- */

static void bounds_far_below_tell_nothing(void **state)
{
  (void)state;
  draw(7, INFINITY, 3);
  struct be_mixed *plain = rows_fit(&rows, BE_MIXED_REML);
  for (size_t l = 0; l < LINES; l++) {
    rows_add(&rows, 4 - 20 * 0.2);
    rows_fixed(&rows, 0, 1);
    rows_level(&rows, 0, (double)l);
    rows_bound(&rows);
  }
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  assert_int_equal(be_mixed_summary(fit)->bounds, LINES);
  assert_true(be_mixed_summary(fit)->converged);
  assert_near(be_mixed_summary(fit)->criterion, be_mixed_summary(plain)->criterion, 1e-8);
  assert_near(be_mixed_summary(fit)->sigma, be_mixed_summary(plain)->sigma, 1e-7);
  assert_near(rows_deviation(fit, 0), rows_deviation(plain, 0), 1e-6);
  struct be_mixed_contrast ours = rows_coefficient(fit, 0), want = rows_coefficient(plain, 0);
  assert_near(ours.value, want.value, 1e-8);
  assert_near(ours.se, want.se, 1e-6);
  assert_near(ours.df, want.df, 1e-3 * want.df);
  be_mixed_free(fit);
  be_mixed_free(plain);
}

static void no_bound_among_the_flags_is_no_bound(void **state)
{
  (void)state;
  draw(5, INFINITY, 8);
  struct be_mixed *flagged = rows_fit(&rows, BE_MIXED_REML);
  rows.data.bound = NULL;
  struct be_mixed *plain = rows_fit(&rows, BE_MIXED_REML);
  assert_memory_equal(be_mixed_summary(flagged), be_mixed_summary(plain),
                      sizeof *be_mixed_summary(plain));
  be_mixed_free(flagged);
  be_mixed_free(plain);
}

/* A knot of which every pull held has no highest likelihood: said, with its column. */
static void a_column_of_bounds_alone_is_refused(void **state)
{
  (void)state;
  draw(6, 4.2, 5);
  rows.data.fixed.columns = 2;
  size_t at = 0;
  for (size_t i = 0; i < rows.data.n; i++) {
    rows.column[at] = 0;
    rows.value[at++] = 1;
    if (rows.bound[i] && i % 2) rows.column[at] = 1, rows.value[at++] = 1;
    rows.start[i + 1] = at;
  }
  struct be_mixed *fit;
  struct be_err err = {0};
  assert_int_equal(be_mixed_fit(&rows.data, BE_MIXED_REML, &fit, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "column 2"));
  assert_true(err.remedy[0]);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(without_terms_it_is_the_censored_fit),
      cmocka_unit_test(the_bias_of_the_approximation_is_small),
      cmocka_unit_test(bounds_far_below_tell_nothing),
      cmocka_unit_test(no_bound_among_the_flags_is_no_bound),
      cmocka_unit_test(a_column_of_bounds_alone_is_refused),
  };
  return be_tests("stats: mixed models with lower bounds", tests);
}
