/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/mixed/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

enum { W = BE_MIXED_WIDTH_MAX };

const struct be_mixed_summary *be_mixed_summary(const struct be_mixed *fit)
{
  return &fit->summary;
}

const double *be_mixed_beta(const struct be_mixed *fit)
{
  return fit->beta;
}

bool be_mixed_dropped(const struct be_mixed *fit, size_t column)
{
  assert(column < fit->columns);
  return fit->least.index[column] == BE_NOBODY;
}

double be_mixed_covariance(const struct be_mixed *fit, size_t a, size_t b)
{
  assert(a < fit->columns && b < fit->columns);
  if (be_mixed_dropped(fit, a) || be_mixed_dropped(fit, b)) return NAN;
  double sigma = fit->summary.sigma;
  return sigma * sigma *
         fit->base[(size_t)fit->least.index[a] * fit->least.kept + fit->least.index[b]];
}

void be_mixed_term_covariance(const struct be_mixed *fit, size_t term, double covariance[W * W])
{
  assert(term < fit->term_count);
  size_t width = fit->width[term];
  for (size_t a = 0; a < width; a++)
    for (size_t b = 0; b < width; b++) covariance[a * width + b] = fit->covariance[term][a * W + b];
}

struct be_estimate be_mixed_mode(const struct be_mixed *fit, size_t term, size_t level,
                                 size_t effect)
{
  assert(term < fit->term_count && level < fit->levels[term] && effect < fit->width[term]);
  size_t at = level * fit->width[term] + effect;
  return (struct be_estimate){fit->mode[term][at], fit->mode_variance[term][at], INFINITY,
                              fit->summary.n};
}

/* ---- contrasts ---- */

struct sum {
  const struct be_mixed *fit;
  const uint32_t *column;
  const double *weights;
  size_t count;
};

/* A sum of coefficients means something whichever columns are left out when each column left
 * out, being a sum of kept ones, has the weight that this sum has (Searle 1971, section 5.4).
 * The hair is far above the digits that least squares loses and far below any weight meant. */
bool be_estimable(const struct be_mixed *fit, const uint32_t *column, const double *weights,
                  size_t count)
{
  const struct be_least *least = &fit->least;
  for (size_t j = 0; j < fit->columns; j++) {
    if (least->which[j] == BE_NOBODY) continue;
    const double *sums = least->sums + least->which[j] * least->kept;
    double left = 0, size = 0;
    for (size_t i = 0; i < count; i++) {
      uint32_t kept = least->index[column[i]];
      double part = kept != BE_NOBODY ? sums[kept] * weights[i] : 0;
      if (column[i] == j) part = -weights[i];
      left += part;
      size += fabs(part);
    }
    if (fabs(left) > 1e-6 * size) return false;
  }
  return true;
}

/* c' B c, B over the kept. */
static double form(const struct sum *sum, const double *matrix)
{
  const struct be_least *least = &sum->fit->least;
  double total = 0;
  for (size_t i = 0; i < sum->count; i++) {
    uint32_t a = least->index[sum->column[i]];
    for (size_t j = 0; j < sum->count && a != BE_NOBODY; j++) {
      uint32_t b = least->index[sum->column[j]];
      if (b != BE_NOBODY)
        total += sum->weights[i] * sum->weights[j] * matrix[(size_t)a * least->kept + b];
    }
  }
  return total;
}

/* df = 2 v^2 / var(v), var(v) = g' A g, g how v changes with theta and sigma, A their covariance
 * by the curvature (Giesbrecht and Burns 1985, (3)-(5); Fai and Cornelius 1996, section 2). */
double be_satterthwaite(const struct be_mixed *fit, const double *slope, double variance)
{
  if (!fit->has_spread) return NAN;
  size_t stride = fit->summary.parameters + 1;
  double spread = 0;
  for (size_t i = 0; i < stride; i++)
    for (size_t j = 0; j < stride; j++) spread += slope[i] * slope[j] * fit->spread[j * stride + i];
  return spread > 0 ? 2 * variance * variance / spread : NAN;
}

static double satterthwaite(const struct sum *sum, double variance)
{
  const struct be_mixed *fit = sum->fit;
  if (!fit->has_spread) return NAN;
  size_t m = fit->summary.parameters;
  double slope[BE_MIXED_THETA_MAX + 1], sigma = fit->summary.sigma;
  for (size_t i = 0; i < m; i++) slope[i] = sigma * sigma * form(sum, fit->slopes[i]);
  slope[m] = 2 * variance / sigma;
  return be_satterthwaite(fit, slope, variance);
}

void be_contrast_finish(struct be_mixed_contrast *contrast, double df, double level)
{
  contrast->df = df;
  if (isnan(df)) return;
  contrast->t = contrast->value / contrast->se;
  contrast->p = 2 * be_t_upper(fabs(contrast->t), df);
  double half = contrast->se * be_t_quantile((1 - level) / 2, df);
  contrast->interval.low = contrast->value - half;
  contrast->interval.high = contrast->value + half;
}

void be_mixed_contrast(const struct be_mixed *fit, const uint32_t *column, const double *weights,
                       size_t count, double level, struct be_mixed_contrast *contrast)
{
  assert(level > 0 && level < 1);
  const struct sum sum = {fit, column, weights, count};
  *contrast = (struct be_mixed_contrast){false, NAN, NAN, NAN, NAN, NAN, {NAN, NAN, level}};
  for (size_t i = 0; i < count; i++) assert(column[i] < fit->columns);
  contrast->estimable = be_estimable(fit, column, weights, count);
  if (!contrast->estimable) return;
  contrast->value = 0;
  for (size_t i = 0; i < count; i++)
    if (!be_mixed_dropped(fit, column[i])) contrast->value += weights[i] * fit->beta[column[i]];
  double sigma = fit->summary.sigma, variance = sigma * sigma * form(&sum, fit->base);
  contrast->se = sqrt(variance);
  if (variance > 0) be_contrast_finish(contrast, satterthwaite(&sum, variance), level);
}
