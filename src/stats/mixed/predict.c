/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fixed and random parts together: v' M^-1 v by two triangular solves, v the sum in the terms of
 * the factor (random weights by Lambda').
 *
 * How f = v' M^-1 v changes with theta: with x = M^-1 v, the first rows of M x = v say
 * Lambda' (Z'Z Lambda x + Z'X x) + x = Lambda' w, so that what the product rule gives,
 * 2 (dLambda x)' (w - Z'Z Lambda x - Z'X x), is 2 (dLambda x)' Lambda'^-1 x. */
#include "stats/mixed/inside.h"

#include <assert.h>
#include <math.h>

enum { W = BE_MIXED_WIDTH_MAX };

struct prediction {
  const struct be_mixed *fit;
  const struct be_mixed_part *parts;
  size_t part_count;
  double *x;                            /* v, then M^-1 v */
  double form;                          /* v' M^-1 v, and what new levels add */
  double slope[BE_MIXED_THETA_MAX + 1]; /* of the form */
};

static void put_parts(struct prediction *p, double *value)
{
  for (size_t i = 0; i < p->part_count; i++) {
    const struct be_mixed_part *part = &p->parts[i];
    const struct be_mixed *fit = p->fit;
    assert(part->term < fit->term_count && part->effect < fit->width[part->term]);
    const double *tri = fit->lambda.tri[part->term] + part->effect * W;
    bool new = part->level == BE_MIXED_NEW;
    assert(new || part->level < fit->levels[part->term]);
    for (size_t c = 0; c <= part->effect; c++) {
      double weight = part->weight * tri[c];
      if (new) p->form += weight * weight;
      else p->x[fit->scalar_of[part->term][part->level] + c] += weight;
    }
    if (new) continue;
    size_t at = part->level * fit->width[part->term] + part->effect;
    *value += part->weight * fit->mode[part->term][at];
  }
}

/* Lambda'^-1 x of one level; false where it cannot be had. */
static bool divide(const double *tri, size_t width, const double *x, double *divided)
{
  for (size_t r = width; r-- > 0;) {
    double sum = x[r];
    for (size_t k = r + 1; k < width; k++) sum -= tri[k * W + r] * divided[k];
    if (tri[r * W + r] == 0) return false;
    divided[r] = sum / tri[r * W + r];
  }
  return true;
}

/* The slopes of parameters `first` and on, which are those of a term. */
static bool add_slopes(struct prediction *p, size_t term, size_t first)
{
  const struct be_mixed *fit = p->fit;
  const double *tri = fit->lambda.tri[term];
  size_t width = fit->width[term];
  for (size_t level = 0; level < fit->levels[term]; level++) {
    const double *x = p->x + fit->scalar_of[term][level];
    double divided[W];
    if (!divide(tri, width, x, divided)) return false;
    for (size_t c = 0, i = first; c < width; c++)
      for (size_t r = c; r < width; r++, i++) p->slope[i] += 2 * x[c] * divided[r];
  }
  for (size_t k = 0; k < p->part_count; k++) {
    const struct be_mixed_part *part = &p->parts[k];
    if (part->term != term || part->level != BE_MIXED_NEW) continue;
    for (size_t c = 0, i = first; c < width; c++)
      for (size_t r = c; r < width; r++, i++)
        if (r == part->effect) p->slope[i] += 2 * part->weight * part->weight * tri[r * W + c];
  }
  return true;
}

/* A parameter that is not free, such as a deviation of 0, has no spread and no slope. */
static double degrees(struct prediction *p, double variance)
{
  const struct be_mixed *fit = p->fit;
  size_t m = fit->summary.parameters, i = 0;
  double sigma = fit->summary.sigma;
  for (size_t t = 0; t < fit->term_count; t++) {
    size_t count = fit->width[t] * (fit->width[t] + 1) / 2;
    bool is_free = false;
    for (size_t k = i; k < i + count; k++) is_free |= fit->spread[k * (m + 1) + k] > 0;
    if (is_free && !add_slopes(p, t, i)) return NAN;
    i += count;
  }
  for (i = 0; i < m; i++) p->slope[i] *= sigma * sigma;
  p->slope[m] = 2 * variance / sigma;
  return be_satterthwaite(fit, p->slope, variance);
}

enum be_status be_mixed_predict(const struct be_mixed *fit, const uint32_t *column,
                                const double *weights, size_t count,
                                const struct be_mixed_part *parts, size_t part_count, double level,
                                struct be_mixed_contrast *prediction, struct be_err *err)
{
  assert(level > 0 && level < 1);
  *prediction = (struct be_mixed_contrast){false, NAN, NAN, NAN, NAN, NAN, {NAN, NAN, level}};
  for (size_t i = 0; i < count; i++) assert(column[i] < fit->columns);
  /* No factor: the fit came to nothing. */
  if (!fit->factor.values || !be_estimable(fit, column, weights, count)) return BE_OK;
  struct prediction p = {.fit = fit, .parts = parts, .part_count = part_count};
  p.x = be_alloc_array(fit->factor.columns, sizeof *p.x);
  if (!p.x) return be_fail(err, BE_NO_MEMORY, "no memory for a prediction");
  prediction->estimable = true;
  prediction->value = 0;
  for (size_t i = 0; i < count; i++) {
    if (be_mixed_dropped(fit, column[i])) continue;
    prediction->value += weights[i] * fit->beta[column[i]];
    p.x[fit->scalar_of[fit->term_count][fit->least.index[column[i]]]] += weights[i];
  }
  put_parts(&p, &prediction->value);
  be_factor_forward(&fit->factor, p.x);
  for (size_t i = 0; i < fit->factor.columns; i++) p.form += p.x[i] * p.x[i];
  be_factor_back(&fit->factor, p.x);
  double variance = fit->summary.sigma * fit->summary.sigma * p.form;
  prediction->se = sqrt(variance);
  if (variance > 0 && fit->has_spread) be_contrast_finish(prediction, degrees(&p, variance), level);
  be_free(p.x);
  return BE_OK;
}
