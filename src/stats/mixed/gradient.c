/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the deviance changes with theta. With S the inverse of M at the places of its pattern,
 *   d log|M| = tr(S dM),   d r^2 = -2 (Z'(y - Z L u - X beta))' dL u,
 * the latter because u and beta minimise what is differentiated. */
#include "stats/mixed/inside.h"

#include <math.h>

enum { W = BE_MIXED_WIDTH_MAX };

/* By term, row and column of T. */
struct slopes {
  double of[BE_MIXED_TERMS_MAX + 1][W * W];
};

/* The part of tr(S dM) from T of the columns' term: (B' T_r G)[i, j]; and, off the diagonal, from
 * T of the rows' term: (B T_c G')[i, j]. G is S at this block, both rows x columns. */
static void add_trace(const double *block, const double *g, size_t rows, size_t columns,
                      const double *tri_r, const double *tri_c, double *slope_r, double *slope_c)
{
  for (size_t j = 0; j < columns; j++)
    for (size_t i = j; i < columns; i++)
      for (size_t k = 0; k < rows; k++) {
        double scaled = 0;
        for (size_t m = 0; m <= k; m++) scaled += tri_r[k * W + m] * g[j * rows + m];
        slope_c[i * W + j] += 2 * block[i * rows + k] * scaled;
      }
  if (!slope_r) return;
  for (size_t j = 0; j < rows; j++)
    for (size_t i = j; i < rows; i++)
      for (size_t k = 0; k < columns; k++) {
        double scaled = 0;
        for (size_t m = 0; m <= k; m++) scaled += tri_c[k * W + m] * g[m * rows + j];
        slope_r[i * W + j] += 2 * block[k * rows + i] * scaled;
      }
}

static void add_place(const struct be_profile *profile, const struct be_lambda *lambda,
                      const struct be_super *super, uint32_t k, struct slopes *slopes)
{
  const struct be_factor *factor = &profile->factor;
  const struct be_cross *cross = &factor->cross;
  const double *block = cross->value + cross->values[k];
  uint32_t term = factor->term[k];
  size_t columns = factor->scalar[k + 1] - factor->scalar[k];
  for (size_t b = cross->start[k]; b < cross->start[k + 1]; b++) {
    uint32_t place = cross->row[b], row = factor->scalar[place], other = factor->term[place];
    size_t rows = factor->scalar[place + 1] - row;
    const double *s = profile->inverse + factor->block_at[b];
    double g[W * W];
    for (size_t c = 0; c < columns; c++)
      for (size_t r = 0; r < rows; r++)
        g[c * rows + r] = place == k && r < c ? s[r * super->rows + c] : s[c * super->rows + r];
    if (profile->restricted || row < factor->columns - factor->fixed)
      add_trace(block, g, rows, columns, lambda->tri[other], lambda->tri[term],
                place == k ? NULL : slopes->of[other], slopes->of[term]);
    block += rows * columns;
  }
}

/* The same where every block is one number. */
static void add_numbers(const struct be_profile *profile, const struct be_lambda *lambda,
                        uint32_t k, struct slopes *slopes)
{
  const struct be_factor *factor = &profile->factor;
  const struct be_cross *cross = &factor->cross;
  const double *value = cross->value + cross->values[k] - cross->start[k];
  uint32_t term = factor->term[k], end = (uint32_t)(factor->columns - factor->fixed);
  double theta = lambda->tri[term][0], own = 0;
  for (size_t b = cross->start[k]; b < cross->start[k + 1]; b++) {
    uint32_t place = cross->row[b], other = factor->term[place];
    if (place >= end && !profile->restricted) continue;
    double part = 2 * value[b] * profile->inverse[factor->block_at[b]];
    own += part * lambda->tri[other][0];
    if (place != k) slopes->of[other][0] += part * theta;
  }
  slopes->of[term][0] += own;
}

static void log_slopes(struct be_profile *profile, const struct be_lambda *lambda,
                       struct slopes *slopes)
{
  struct be_factor *factor = &profile->factor;
  be_factor_inverse(factor, profile->restricted, profile->inverse, profile->block);
  for (size_t s = 0; s < factor->super_count; s++) {
    const struct be_super *super = &factor->supers[s];
    if (super->scalar >= factor->columns - factor->fixed) break;
    for (uint32_t k = super->first; k < super->first + super->count; k++)
      if (factor->wide) add_place(profile, lambda, super, k, slopes);
      else add_numbers(profile, lambda, k, slopes);
  }
}

static void square_slopes(struct be_profile *profile, const struct be_lambda *lambda,
                          struct slopes *slopes)
{
  const struct be_factor *factor = &profile->factor;
  be_profile_effects(profile, lambda);
  be_cross_multiply(factor, profile->effects, profile->product);
  for (size_t k = 0; k < factor->nodes; k++) {
    uint32_t first = factor->scalar[k];
    size_t width = factor->scalar[k + 1] - first;
    for (size_t i = 0; i < width; i++) {
      double left = factor->right[first + i] - profile->product[first + i];
      for (size_t j = 0; j <= i; j++)
        slopes->of[factor->term[k]][i * W + j] -= 2 * left * profile->solution[first + j];
    }
  }
}

bool be_profile_slope(struct be_profile *profile, const double *theta, struct be_point *point)
{
  if (!be_profile_at(profile, theta, point)) return false;
  struct be_lambda lambda;
  struct slopes logs = {{{0}}}, squares = {{{0}}};
  be_profile_lambda(profile, theta, &lambda);
  log_slopes(profile, &lambda, &logs);
  square_slopes(profile, &lambda, &squares);
  for (size_t i = 0; i < profile->parameters; i++) {
    const struct be_parameter *where = &profile->where[i];
    point->log_slope[i] = logs.of[where->term][where->row * W + where->column];
    point->square_slope[i] = squares.of[where->term][where->row * W + where->column];
  }
  return true;
}

double be_point_slope(const struct be_profile *profile, const struct be_point *point, size_t i)
{
  return point->log_slope[i] + profile->freedom * point->square_slope[i] / point->pieces.square;
}

/* How the slopes over theta change with parameter j, sigma held: central differences, whose formula
 * errs by some step^2 = 1e-7 of the curvature, rounding by about 1e-13 / step. One-sided without a
 * visitor: half the work, and good enough to begin with. */
static bool curve(struct be_profile *profile, const double *theta, const struct be_point *point,
                  const struct be_visitor *visitor, size_t j, double *column)
{
  double moved[BE_MIXED_THETA_MAX], step = 3e-4 * fmax(fabs(theta[j]), 0.1), apart = 2 * step;
  double variance = point->sigma * point->sigma;
  struct be_point low = *point, high;
  for (size_t i = 0; i < profile->parameters; i++) moved[i] = theta[i];
  if (visitor) {
    moved[j] = theta[j] - step;
    if (!be_profile_slope(profile, moved, &low)) return false;
    visitor->visit(visitor->context, j, -1, step);
  } else {
    apart = step = 3e-5 * fmax(fabs(theta[j]), 0.1);
  }
  moved[j] = theta[j] + step;
  if (!be_profile_slope(profile, moved, &high)) return false;
  if (visitor) visitor->visit(visitor->context, j, 1, step);
  for (size_t i = 0; i < profile->parameters; i++)
    column[i] = (high.log_slope[i] - low.log_slope[i] +
                 (high.square_slope[i] - low.square_slope[i]) / variance) /
                apart;
  return true;
}

bool be_profile_curvature(struct be_profile *profile, const double *theta,
                          const struct be_point *point, const struct be_visitor *visitor,
                          double *curvature)
{
  size_t m = profile->parameters, stride = m + 1;
  double sigma = point->sigma, variance = sigma * sigma, column[BE_MIXED_THETA_MAX];
  for (size_t j = 0; j < m; j++) {
    if (!curve(profile, theta, point, visitor, j, column)) return false;
    for (size_t i = 0; i < m; i++) curvature[i * stride + j] = column[i];
    curvature[m * stride + j] = curvature[j * stride + m] =
        -2 * point->square_slope[j] / (variance * sigma);
  }
  for (size_t i = 0; i < m; i++)
    for (size_t j = 0; j < i; j++)
      curvature[i * stride + j] = curvature[j * stride + i] =
          (curvature[i * stride + j] + curvature[j * stride + i]) / 2;
  curvature[m * stride + m] =
      6 * point->pieces.square / (variance * variance) - 2 * profile->freedom / variance;
  return true;
}
