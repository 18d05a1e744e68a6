/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The deviance with beta and sigma profiled out (Bates, Maechler, Bolker and Walker 2015, (34)
 * and (41)):
 *   ML:   log|M_ZZ| + n (1 + log(2 pi r^2 / n))
 *   REML: log|M| + (n - p) (1 + log(2 pi r^2 / (n - p)))
 * r^2 being the penalised residual sum of squares, the last pivot of M. */
#include "stats/mixed/inside.h"

#include <math.h>
#include <string.h>

enum { W = BE_MIXED_WIDTH_MAX };
static const double two_pi = 6.283185307179586;

void be_profile_lambda(const struct be_profile *profile, const double *theta,
                       struct be_lambda *lambda)
{
  memset(lambda, 0, sizeof *lambda);
  for (size_t i = 0; i < profile->parameters; i++) {
    const struct be_parameter *where = &profile->where[i];
    lambda->tri[where->term][where->row * W + where->column] = theta[i];
  }
  lambda->tri[profile->data->term_count][0] = 1;
}

bool be_profile_at(struct be_profile *profile, const double *theta, struct be_point *point)
{
  struct be_lambda lambda;
  be_profile_lambda(profile, theta, &lambda);
  profile->evaluations++;
  if (!be_factor_compute(&profile->factor, &lambda)) return false;
  be_factor_pieces(&profile->factor, &point->pieces);
  if (!(point->pieces.square > 0)) return false;
  double freedom = profile->freedom, variance = point->pieces.square / freedom;
  point->sigma = sqrt(variance);
  point->criterion = point->pieces.log_random +
                     (profile->restricted ? point->pieces.log_fixed : 0) +
                     freedom * (1 + log(two_pi * variance));
  return isfinite(point->criterion);
}

void be_profile_effects(struct be_profile *profile, const struct be_lambda *lambda)
{
  const struct be_factor *factor = &profile->factor;
  be_factor_solve(factor, profile->solution);
  for (size_t k = 0; k < factor->nodes; k++) {
    const double *tri = lambda->tri[factor->term[k]];
    uint32_t first = factor->scalar[k];
    size_t width = factor->scalar[k + 1] - first;
    for (size_t r = 0; r < width; r++) {
      double sum = 0;
      for (size_t c = 0; c <= r; c++) sum += tri[r * W + c] * profile->solution[first + c];
      profile->effects[first + r] = sum;
    }
  }
}

/* Where every block is one number, places and scalars are the same. */
static void multiply_numbers(const struct be_factor *factor, const double *x, double *product)
{
  const struct be_cross *cross = &factor->cross;
  for (size_t k = 0; k < factor->nodes; k++) {
    const double *value = cross->value + cross->values[k] - cross->start[k];
    size_t diagonal = cross->start[k];
    double own = value[diagonal] * x[k], here = x[k];
    for (size_t b = diagonal + 1; b < cross->start[k + 1]; b++) {
      product[cross->row[b]] += value[b] * here;
      own += value[b] * x[cross->row[b]];
    }
    product[k] += own;
  }
}

void be_cross_multiply(const struct be_factor *factor, const double *x, double *product)
{
  const struct be_cross *cross = &factor->cross;
  memset(product, 0, factor->columns * sizeof *product);
  if (!factor->wide) {
    multiply_numbers(factor, x, product);
    return;
  }
  for (size_t k = 0; k < factor->nodes; k++) {
    const double *block = cross->value + cross->values[k];
    uint32_t column = factor->scalar[k];
    size_t columns = factor->scalar[k + 1] - column;
    for (size_t b = cross->start[k]; b < cross->start[k + 1]; b++) {
      uint32_t place = cross->row[b], row = factor->scalar[place];
      size_t rows = factor->scalar[place + 1] - row;
      for (size_t c = 0; c < columns; c++)
        for (size_t r = 0; r < rows; r++) {
          product[row + r] += block[c * rows + r] * x[column + c];
          if (place != k) product[column + c] += block[c * rows + r] * x[row + r];
        }
      block += rows * columns;
    }
  }
}

/* ---- signs and zeros ---- */

static bool same_column(const struct be_parameter *a, const struct be_parameter *b)
{
  return a->term == b->term && a->column == b->column;
}

void be_profile_turn(const struct be_profile *profile, double *theta, bool *turned)
{
  bool turn = false;
  for (size_t i = 0; i < profile->parameters; i++) {
    const struct be_parameter *where = &profile->where[i];
    if (where->row == where->column) turn = theta[i] < 0;
    if (turn) theta[i] = -theta[i];
    if (turned) turned[i] = turn;
  }
}

bool be_profile_zero(const struct be_profile *profile, const double *theta, size_t i)
{
  const struct be_parameter *where = &profile->where[i];
  bool zero = where->row == where->column;
  for (size_t j = i; j < profile->parameters && zero; j++)
    zero = !same_column(where, &profile->where[j]) || theta[j] == 0;
  return zero;
}

void be_profile_snap(const struct be_profile *profile, double *theta, double *least,
                     double (*deviance)(void *context, const double *theta), void *context)
{
  const double small = 0.1;
  for (size_t i = 0; i < profile->parameters; i++) {
    const struct be_parameter *where = &profile->where[i];
    double was[BE_MIXED_THETA_MAX], most = 0;
    if (where->row != where->column) continue;
    memcpy(was, theta, profile->parameters * sizeof *was);
    for (size_t j = i; j < profile->parameters; j++) {
      if (!same_column(where, &profile->where[j])) continue;
      most = fmax(most, fabs(theta[j]));
      theta[j] = 0;
    }
    double zero = most > 0 && most <= small ? deviance(context, theta) : HUGE_VAL;
    if (zero <= *least + 1e-12 * fabs(*least)) *least = zero;
    else memcpy(theta, was, profile->parameters * sizeof *theta);
  }
}
