/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sparse fit beside a dense one, which forms the covariance of all rows and factors it with
 * GSL. */
#include "mixed_rows.h"
#include "stats/number/number.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

static struct rows rows;

/* ---- the slow way ---- */

enum { W = BE_MIXED_WIDTH_MAX };

/* V = I + Z L L' Z' of all rows, its factor, and what follows from it. */
struct dense {
  size_t n, p, q;
  gsl_matrix *x, *z, *spread; /* spread: L L' over all levels */
  gsl_matrix *v;              /* factored */
  gsl_matrix *vx, *xvx;       /* V^-1 X, (X'V^-1 X)^-1 */
  gsl_vector *beta, *left, *modes;
  double square, log_v, log_xvx;
};

static void dense_take(struct dense *dense)
{
  const struct be_mixed_data *data = &rows.data;
  *dense = (struct dense){.n = data->n, .p = data->fixed.columns};
  for (size_t t = 0; t < data->term_count; t++)
    dense->q += data->terms[t].levels * data->terms[t].width;
  dense->x = gsl_matrix_calloc(dense->n, dense->p);
  dense->z = gsl_matrix_calloc(dense->n, dense->q);
  dense->spread = gsl_matrix_calloc(dense->q, dense->q);
  dense->v = gsl_matrix_calloc(dense->n, dense->n);
  dense->vx = gsl_matrix_calloc(dense->n, dense->p);
  dense->xvx = gsl_matrix_calloc(dense->p, dense->p);
  dense->beta = gsl_vector_calloc(dense->p);
  dense->left = gsl_vector_calloc(dense->n);
  dense->modes = gsl_vector_calloc(dense->q);
  for (size_t i = 0; i < dense->n; i++) {
    for (size_t k = rows.start[i]; k < rows.start[i + 1]; k++)
      gsl_matrix_set(dense->x, i, rows.column[k], rows.value[k]);
    for (size_t t = 0, first = 0; t < data->term_count; t++) {
      const struct be_mixed_term *term = &data->terms[t];
      for (size_t c = 0; c < term->width; c++)
        gsl_matrix_set(dense->z, i, first + term->level[i] * term->width + c,
                       term->z[c] ? term->z[c][i] : 1);
      first += term->levels * term->width;
    }
  }
}

static void dense_free(struct dense *dense)
{
  gsl_matrix *matrices[] = {dense->x, dense->z, dense->spread, dense->v, dense->vx, dense->xvx};
  for (size_t i = 0; i < sizeof matrices / sizeof matrices[0]; i++) gsl_matrix_free(matrices[i]);
  gsl_vector_free(dense->beta);
  gsl_vector_free(dense->left);
  gsl_vector_free(dense->modes);
}

static void dense_spread(struct dense *dense, const double *theta)
{
  const struct be_mixed_data *data = &rows.data;
  size_t first = 0, at = 0;
  gsl_matrix_set_zero(dense->spread);
  for (size_t t = 0; t < data->term_count; t++) {
    size_t width = data->terms[t].width;
    double l[W][W] = {{0}};
    for (size_t c = 0; c < width; c++)
      for (size_t r = c; r < width; r++) l[r][c] = theta[at++];
    for (size_t level = 0; level < data->terms[t].levels; level++, first += width)
      for (size_t a = 0; a < width; a++)
        for (size_t b = 0; b < width; b++) {
          double sum = 0;
          for (size_t k = 0; k < width; k++) sum += l[a][k] * l[b][k];
          gsl_matrix_set(dense->spread, first + a, first + b, sum);
        }
  }
}

static double log_determinant(const gsl_matrix *factor)
{
  double sum = 0;
  for (size_t i = 0; i < factor->size1; i++) sum += 2 * log(gsl_matrix_get(factor, i, i));
  return sum;
}

/* The deviance at theta, everything else filled in. */
static double dense_at(struct dense *dense, const double *theta, bool restricted)
{
  size_t n = dense->n, p = dense->p;
  gsl_matrix *zs = gsl_matrix_calloc(n, dense->q);
  gsl_vector *y = gsl_vector_calloc(n), *xy = gsl_vector_calloc(p), *vy = gsl_vector_calloc(n);
  dense_spread(dense, theta);
  gsl_blas_dgemm(CblasNoTrans, CblasNoTrans, 1, dense->z, dense->spread, 0, zs);
  gsl_matrix_set_identity(dense->v);
  gsl_blas_dgemm(CblasNoTrans, CblasTrans, 1, zs, dense->z, 1, dense->v);
  gsl_linalg_cholesky_decomp1(dense->v);
  for (size_t j = 0; j < p; j++) {
    gsl_vector_view from = gsl_matrix_column(dense->x, j), to = gsl_matrix_column(dense->vx, j);
    gsl_linalg_cholesky_solve(dense->v, &from.vector, &to.vector);
  }
  gsl_blas_dgemm(CblasTrans, CblasNoTrans, 1, dense->x, dense->vx, 0, dense->xvx);
  for (size_t i = 0; i < n; i++) gsl_vector_set(y, i, rows.y[i]);
  gsl_blas_dgemv(CblasTrans, 1, dense->vx, y, 0, xy);
  gsl_linalg_cholesky_decomp1(dense->xvx);
  gsl_linalg_cholesky_solve(dense->xvx, xy, dense->beta);
  dense->log_v = log_determinant(dense->v);
  dense->log_xvx = log_determinant(dense->xvx);
  gsl_linalg_cholesky_invert(dense->xvx);
  gsl_vector_memcpy(dense->left, y);
  gsl_blas_dgemv(CblasNoTrans, -1, dense->x, dense->beta, 1, dense->left);
  gsl_linalg_cholesky_solve(dense->v, dense->left, vy);
  gsl_blas_ddot(dense->left, vy, &dense->square);
  gsl_blas_dgemv(CblasTrans, 1, zs, vy, 0, dense->modes);
  gsl_matrix_free(zs);
  gsl_vector_free(y);
  gsl_vector_free(xy);
  gsl_vector_free(vy);
  double freedom = (double)(restricted ? n - p : n);
  return dense->log_v + (restricted ? dense->log_xvx : 0) +
         freedom * (1 + log(2 * M_PI * dense->square / freedom));
}

/* Variance of effect e given beta, over sigma^2: S - S Z' V^-1 Z S. */
static double dense_mode_variance(const struct dense *dense, size_t e)
{
  gsl_vector *zs = gsl_vector_calloc(dense->n), *vz = gsl_vector_calloc(dense->n);
  gsl_vector_const_view row = gsl_matrix_const_row(dense->spread, e);
  double taken;
  gsl_blas_dgemv(CblasNoTrans, 1, dense->z, &row.vector, 0, zs);
  gsl_linalg_cholesky_solve(dense->v, zs, vz);
  gsl_blas_ddot(zs, vz, &taken);
  gsl_vector_free(zs);
  gsl_vector_free(vz);
  return gsl_matrix_get(dense->spread, e, e) - taken;
}

static void modes_agree(const struct dense *dense, const struct be_mixed *fit)
{
  double variance = pow(be_mixed_summary(fit)->sigma, 2);
  for (size_t t = 0, e = 0; t < rows.data.term_count; t++)
    for (size_t l = 0; l < rows.term[t].levels; l++)
      for (size_t c = 0; c < rows.term[t].width; c++, e++) {
        struct be_estimate mode = be_mixed_mode(fit, t, l, c);
        assert_near(mode.value, gsl_vector_get(dense->modes, e), 1e-9);
        assert_near(mode.variance, variance * dense_mode_variance(dense, e), 1e-10);
      }
}

/* Both forms are sums of some hundred terms of size 1: 1e-9 is some thousand roundings of the
 * dense one, whose V has a condition of about 1e3. */
static void agrees_with_dense(enum be_mixed_method method)
{
  struct dense dense;
  dense_take(&dense);
  struct be_mixed *fit = rows_fit(&rows, method);
  const struct be_mixed_summary *summary = be_mixed_summary(fit);
  assert_true(summary->converged);
  double theta[BE_MIXED_THETA_MAX];
  memcpy(theta, summary->theta, sizeof theta);
  /* Nowhere near it is lower: 1e-3 either way costs at least some 1e-7. */
  for (size_t i = 0; i < summary->parameters; i++)
    for (int side = -1; side < 2; side += 2) {
      theta[i] = summary->theta[i] + side * 1e-3;
      assert_true(dense_at(&dense, theta, method == BE_MIXED_REML) > summary->criterion - 1e-9);
      theta[i] = summary->theta[i];
    }
  assert_near(dense_at(&dense, theta, method == BE_MIXED_REML), summary->criterion, 1e-8);
  double freedom = (double)(method == BE_MIXED_REML ? dense.n - dense.p : dense.n);
  assert_near(summary->sigma, sqrt(dense.square / freedom), 1e-10);
  for (size_t a = 0; a < dense.p; a++) {
    assert_near(be_mixed_beta(fit)[a], gsl_vector_get(dense.beta, a), 1e-9);
    for (size_t b = 0; b < dense.p; b++)
      assert_near(be_mixed_covariance(fit, a, b),
                  pow(summary->sigma, 2) * gsl_matrix_get(dense.xvx, a, b), 1e-9);
  }
  modes_agree(&dense, fit);
  be_mixed_free(fit);
  dense_free(&dense);
}

static void sparse_agrees_with_dense(void **state)
{
  (void)state;
  for (size_t width = 1; width <= 3; width++)
    for (uint64_t seed = 1; seed <= 4; seed++) {
      rows_made(&rows, 97 + 13 * seed, width, seed);
      agrees_with_dense(BE_MIXED_REML);
      agrees_with_dense(BE_MIXED_ML);
    }
}

/* Sets whose covariance of three effects is all but of rank two: a search that keeps the diagonal
 * at 0 or above sticks at 0 beside the wrong sign of what lies below it. */
static void covariances_of_lower_rank_are_found(void **state)
{
  (void)state;
  static const size_t seeds[] = {12, 30, 51, 52, 80, 100};
  for (size_t i = 0; i < sizeof seeds / sizeof seeds[0]; i++) {
    rows_made(&rows, 40 + seeds[i], 3, seeds[i]);
    agrees_with_dense(BE_MIXED_REML);
    agrees_with_dense(BE_MIXED_ML);
  }
}

/* Of fixed columns alone a prediction is a contrast, whose df come by differences; wide terms
 * and narrow ones. */
static void a_prediction_of_fixed_columns_is_a_contrast(void **state)
{
  (void)state;
  for (size_t width = 1; width <= 2; width++) {
    rows_made(&rows, 240, width, 31);
    struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
    const uint32_t column[] = {0, 3, 5};
    const double weights[] = {1, 1, 0.71};
    struct be_mixed_contrast want, got;
    be_mixed_contrast(fit, column, weights, 3, 0.9, &want);
    assert_int_equal(be_mixed_predict(fit, column, weights, 3, NULL, 0, 0.9, &got, NULL), BE_OK);
    assert_near(got.value, want.value, 1e-12);
    assert_near(got.se, want.se, 1e-10);
    assert_near(got.df, want.df, 1e-4 * want.df);
    assert_near(got.p, want.p, 1e-6);
    /* One level's effect is its mode: less certain than given beta, more than before any pull. */
    const struct be_mixed_part part = {0, 4, width - 1, 1};
    struct be_estimate mode = be_mixed_mode(fit, 0, 4, width - 1);
    assert_int_equal(be_mixed_predict(fit, NULL, NULL, 0, &part, 1, 0.9, &got, NULL), BE_OK);
    assert_near(got.value, mode.value, 1e-12);
    double prior[9];
    be_mixed_term_covariance(fit, 0, prior);
    assert_true(got.se * got.se > mode.variance);
    assert_true(got.se * got.se < prior[width * width - 1]);
    be_mixed_free(fit);
  }
}

/* No random term at all is least squares: 3 knots by hand. */
static void without_terms_it_is_least_squares(void **state)
{
  (void)state;
  const double y[] = {3.1, 3.7, 4.4, 5.2, 4.9, 1.3, 2.2, 1.9};
  const size_t knot[] = {0, 0, 0, 1, 1, 2, 2, 2};
  rows_init(&rows, 3);
  for (size_t i = 0; i < 8; i++) {
    rows_add(&rows, y[i]);
    rows_factor(&rows, knot[i]);
  }
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  double m0 = (3.1 + 3.7 + 4.4) / 3, m1 = (5.2 + 4.9) / 2, m2 = (1.3 + 2.2 + 1.9) / 3, squares = 0;
  for (size_t i = 0; i < 8; i++) squares += pow(y[i] - (knot[i] ? knot[i] > 1 ? m2 : m1 : m0), 2);
  assert_near(be_mixed_summary(fit)->sigma, sqrt(squares / 5), 1e-14);
  struct be_mixed_contrast second = rows_coefficient(fit, 1);
  assert_near(second.value, m1 - m0, 1e-14);
  assert_near(second.se, sqrt(squares / 5 * (1. / 3 + 1. / 2)), 1e-14);
  assert_near(second.df, 5, 1e-12);
  assert_near(second.p, 2 * be_t_upper(fabs(second.value / second.se), 5), 1e-14);
  be_mixed_free(fit);
}

/* ---- figures that must not move ---- */

static void same_input_same_bits(void **state)
{
  (void)state;
  rows_made(&rows, 133, 2, 7);
  struct be_mixed *first = rows_fit(&rows, BE_MIXED_REML), *again = rows_fit(&rows, BE_MIXED_REML);
  assert_memory_equal(be_mixed_summary(first), be_mixed_summary(again),
                      sizeof *be_mixed_summary(first));
  assert_memory_equal(be_mixed_beta(first), be_mixed_beta(again), 6 * sizeof(double));
  be_mixed_free(first);
  be_mixed_free(again);
}

/* 1e6 has 1e-10 left behind the point: the residuals hold as many digits. */
static void a_large_mean_costs_no_more_digits_than_it_must(void **state)
{
  (void)state;
  rows_made(&rows, 120, 1, 3);
  struct be_mixed *plain = rows_fit(&rows, BE_MIXED_REML);
  for (size_t i = 0; i < rows.data.n; i++) rows.y[i] += 1e6;
  struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
  assert_near(be_mixed_summary(fit)->sigma, be_mixed_summary(plain)->sigma, 1e-9);
  assert_near(be_mixed_summary(fit)->criterion, be_mixed_summary(plain)->criterion, 1e-6);
  assert_near(be_mixed_beta(fit)[0], be_mixed_beta(plain)[0] + 1e6, 1e-8);
  assert_near(be_mixed_beta(fit)[3], be_mixed_beta(plain)[3], 1e-8);
  be_mixed_free(fit);
  be_mixed_free(plain);
}

/* Days that differ not at all beyond the scatter: their deviation is zero, the others' are
 * those of the model without days. */
static void a_deviation_of_zero_is_zero(void **state)
{
  (void)state;
  size_t zeros = 0;
  for (uint64_t seed = 30; seed < 45; seed++) {
    rows_made(&rows, 120, 1, seed);
    struct be_random random;
    be_random_init(&random, seed, 1);
    for (size_t i = 0; i < rows.data.n; i++)
      rows.level[2][i] = (uint32_t)be_random_below(&random, 5);
    struct be_mixed *fit = rows_fit(&rows, BE_MIXED_REML);
    assert_true(be_mixed_summary(fit)->converged);
    double deviation = rows_deviation(fit, 2);
    assert_true(deviation == 0 || deviation > 1e-3);
    if (deviation == 0) {
      zeros++;
      rows.data.term_count = 2;
      struct be_mixed *less = rows_fit(&rows, BE_MIXED_REML);
      assert_near(be_mixed_summary(fit)->criterion, be_mixed_summary(less)->criterion, 1e-9);
      assert_near(rows_coefficient(fit, 2).df, rows_coefficient(less, 2).df, 1e-3);
      assert_int_equal(be_mixed_summary(fit)->zeros, 1 + be_mixed_summary(less)->zeros);
      be_mixed_free(less);
    }
    be_mixed_free(fit);
  }
  assert_true(zeros >= 3 && zeros < 15);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sparse_agrees_with_dense),
      cmocka_unit_test(covariances_of_lower_rank_are_found),
      cmocka_unit_test(a_prediction_of_fixed_columns_is_a_contrast),
      cmocka_unit_test(without_terms_it_is_least_squares),
      cmocka_unit_test(same_input_same_bits),
      cmocka_unit_test(a_large_mean_costs_no_more_digits_than_it_must),
      cmocka_unit_test(a_deviation_of_zero_is_zero),
  };
  return be_tests("stats: mixed models", tests);
}
