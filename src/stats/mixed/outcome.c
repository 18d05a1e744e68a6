/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is kept of a search. Where there are bounds the cross products stand as the search left
 * them, each row counted by what it tells, so that a bound does not count as an event. */
#include "stats/mixed/inside.h"

#include <math.h>
#include <string.h>

enum { W = BE_MIXED_WIDTH_MAX };

static enum be_status no_memory(struct be_err *err)
{
  return be_fail(err, BE_NO_MEMORY, "no memory for what a mixed model found");
}

static void keep_beta(const struct be_outcome *outcome)
{
  const struct be_profile *profile = outcome->profile;
  struct be_mixed *fit = outcome->fit;
  for (size_t j = 0; j < fit->columns; j++) fit->beta[j] = NAN;
  uint32_t first = outcome->nodes->term_first[fit->term_count];
  for (size_t k = 0; k < fit->least.kept; k++) {
    uint32_t scalar = profile->factor.scalar[outcome->place[first + k]];
    fit->beta[fit->least.column[k]] = fit->least.beta[k] + profile->effects[scalar];
  }
}

/* sigma^2 T S T' of one node, S the inverse of M there. */
static void keep_mode(const struct be_outcome *outcome, const struct be_lambda *lambda, size_t t,
                      size_t level)
{
  const struct be_profile *profile = outcome->profile;
  const struct be_factor *factor = &profile->factor;
  struct be_mixed *fit = outcome->fit;
  uint32_t first = factor->scalar[outcome->place[outcome->nodes->term_first[t] + level]];
  const struct be_super *super = &factor->supers[factor->super_of[first]];
  const double *s = profile->inverse + super->values_at;
  size_t at = first - super->scalar, width = fit->width[t];
  double sigma = fit->summary.sigma;
  for (size_t e = 0; e < width; e++) {
    double variance = 0;
    for (size_t a = 0; a <= e; a++)
      for (size_t b = 0; b <= e; b++) {
        size_t low = a > b ? a : b, over = a > b ? b : a;
        variance += lambda->tri[t][e * W + a] * lambda->tri[t][e * W + b] *
                    s[(at + over) * super->rows + at + low];
      }
    fit->mode[t][level * width + e] = profile->effects[first + e];
    fit->mode_variance[t][level * width + e] = sigma * sigma * variance;
  }
}

static void keep_terms(const struct be_outcome *outcome, const struct be_lambda *lambda)
{
  struct be_mixed *fit = outcome->fit;
  struct be_profile *profile = outcome->profile;
  double variance = fit->summary.sigma * fit->summary.sigma;
  be_factor_inverse(&profile->factor, false, profile->inverse, profile->block);
  for (size_t t = 0; t < fit->term_count; t++) {
    for (size_t a = 0; a < fit->width[t]; a++)
      for (size_t b = 0; b < fit->width[t]; b++) {
        double sum = 0;
        for (size_t k = 0; k <= a && k <= b; k++)
          sum += lambda->tri[t][a * W + k] * lambda->tri[t][b * W + k];
        fit->covariance[t][a * W + b] = variance * sum;
      }
    for (size_t level = 0; level < fit->levels[t]; level++) keep_mode(outcome, lambda, t, level);
  }
}

/* The factor as it stands, and where each level and kept column is in it. */
static enum be_status keep_factor(const struct be_outcome *outcome, struct be_err *err)
{
  struct be_mixed *fit = outcome->fit;
  const struct be_factor *factor = &outcome->profile->factor;
  const struct be_super *last = &factor->supers[factor->super_count - 1];
  size_t rows = last->rows_at + last->rows;
  struct be_factor *kept = &fit->factor;
  *kept = (struct be_factor){.columns = factor->columns,
                             .fixed = factor->fixed,
                             .super_count = factor->super_count,
                             .size = factor->size};
  kept->supers = be_arena_array(fit->arena, factor->super_count, sizeof *kept->supers);
  kept->rows = be_arena_array(fit->arena, rows, sizeof *kept->rows);
  kept->values = be_arena_array(fit->arena, factor->size, sizeof *kept->values);
  if (!kept->supers || !kept->rows || !kept->values) return no_memory(err);
  memcpy(kept->supers, factor->supers, factor->super_count * sizeof *kept->supers);
  memcpy(kept->rows, factor->rows, rows * sizeof *kept->rows);
  memcpy(kept->values, factor->values, factor->size * sizeof *kept->values);
  for (size_t t = 0; t <= fit->term_count; t++) {
    uint32_t first = outcome->nodes->term_first[t],
             count = outcome->nodes->term_first[t + 1] - first;
    fit->scalar_of[t] = be_arena_array(fit->arena, count, sizeof **fit->scalar_of);
    if (!fit->scalar_of[t]) return no_memory(err);
    for (uint32_t i = 0; i < count; i++)
      fit->scalar_of[t][i] = factor->scalar[outcome->place[first + i]];
  }
  return BE_OK;
}

/* ---- how well the fixed part is known ---- */

struct visiting {
  const struct be_outcome *outcome;
  double *inverse, *scratch;
};

/* The inverse of the fixed part by the kept, less what stands in to, over divisor. */
static void put_base(const struct visiting *visiting, double *to, double divisor)
{
  const struct be_outcome *outcome = visiting->outcome;
  const struct be_factor *factor = &outcome->profile->factor;
  size_t p = factor->fixed, begin = factor->columns - p;
  uint32_t first = outcome->nodes->term_first[outcome->fit->term_count];
  be_factor_fixed_inverse(factor, visiting->inverse, visiting->scratch);
  for (size_t a = 0; a < p; a++) {
    size_t row = factor->scalar[outcome->place[first + a]] - begin;
    for (size_t b = 0; b < p; b++) {
      size_t column = factor->scalar[outcome->place[first + b]] - begin;
      to[a * p + b] = (visiting->inverse[row * p + column] - to[a * p + b]) / divisor;
    }
  }
}

static void visit(void *context, size_t parameter, int side, double step)
{
  const struct visiting *visiting = context;
  put_base(visiting, visiting->outcome->fit->slopes[parameter], side < 0 ? 1 : 2 * step);
}

/* Twice the inverse of the curvature over what is not frozen, column by column. */
static void keep_spread(const struct be_outcome *outcome, const double *curvature)
{
  struct be_mixed *fit = outcome->fit;
  size_t m = outcome->profile->parameters, stride = m + 1;
  bool frozen[BE_MIXED_THETA_MAX + 1] = {false};
  for (size_t i = 0; i < m; i++) frozen[i] = outcome->search->frozen[i];
  fit->has_spread = true;
  for (size_t j = 0; j < stride; j++) {
    double unit[BE_MIXED_THETA_MAX + 1] = {0};
    unit[j] = 2;
    if (!be_search_solve(curvature, stride, stride, frozen, unit, fit->spread + j * stride))
      fit->has_spread = false;
  }
  /* What was found frozen on the way must count nowhere. */
  for (size_t i = 0; i < stride; i++)
    for (size_t j = 0; j < stride; j++)
      if (frozen[i] || frozen[j]) fit->spread[j * stride + i] = 0;
}

/* With bounds beta hangs on theta and sigma, so that what is not known of these adds to what is
 * not known of it: G A G', G how beta changes with them, by differences. */
static enum be_status add_spread(const struct be_outcome *outcome, struct be_err *err)
{
  struct be_mixed *fit = outcome->fit;
  struct be_profile *profile = outcome->profile;
  size_t p = fit->least.kept, m = profile->parameters, k = m + 1;
  uint32_t first = outcome->nodes->term_first[fit->term_count];
  double at[BE_MIXED_THETA_MAX + 1], sigma = fit->summary.sigma;
  double *g = be_arena_array(outcome->arena, p * k, sizeof *g);
  double *ga = be_arena_array(outcome->arena, p * k, sizeof *ga);
  if (!g || !ga) return no_memory(err);
  memcpy(at, outcome->search->theta, m * sizeof *at);
  at[m] = sigma;
  for (size_t j = 0; j < k; j++) {
    double was = at[j], step = 1e-3 * (j == m ? sigma : fmax(fabs(was), 0.1));
    for (int side = -1; side < 2; side += 2) {
      at[j] = was + side * step;
      if (!isfinite(be_bounds_deviance(outcome->bounds, at, at[m]))) return BE_OK;
      for (size_t a = 0; a < p; a++)
        g[a * k + j] +=
            side * profile->effects[profile->factor.scalar[outcome->place[first + a]]] / (2 * step);
    }
    at[j] = was;
  }
  for (size_t a = 0; a < p; a++)
    for (size_t j = 0; j < k; j++)
      for (size_t i = 0; i < k; i++) ga[a * k + j] += g[a * k + i] * fit->spread[j * k + i];
  for (size_t a = 0; a < p; a++)
    for (size_t b = 0; b < p; b++)
      for (size_t j = 0; j < k; j++)
        fit->base[a * p + b] += ga[a * k + j] * g[b * k + j] / (sigma * sigma);
  return BE_OK;
}

static bool take_kept(const struct be_outcome *outcome)
{
  struct be_mixed *fit = outcome->fit;
  size_t p = fit->least.kept, stride = outcome->profile->parameters + 1;
  fit->beta = be_arena_array(fit->arena, fit->columns, sizeof *fit->beta);
  fit->base = be_arena_array(fit->arena, p * p, sizeof *fit->base);
  fit->spread = be_arena_array(fit->arena, stride * stride, sizeof *fit->spread);
  bool fine = fit->beta && fit->base && fit->spread;
  for (size_t i = 0; i + 1 < stride && fine; i++)
    fine = (fit->slopes[i] = be_arena_array(fit->arena, p * p, sizeof(double))) != NULL;
  for (size_t t = 0; t < fit->term_count && fine; t++) {
    size_t effects = fit->levels[t] * fit->width[t];
    fit->mode[t] = be_arena_array(fit->arena, effects, sizeof(double));
    fit->mode_variance[t] = be_arena_array(fit->arena, effects, sizeof(double));
    fine = fit->mode[t] && fit->mode_variance[t];
  }
  return fine;
}

enum be_status be_outcome_keep(const struct be_outcome *outcome, struct be_err *err)
{
  struct be_mixed *fit = outcome->fit;
  struct be_profile *profile = outcome->profile;
  const struct be_mixed_data *data = profile->data;
  fit->columns = data->fixed.columns;
  fit->term_count = data->term_count;
  for (size_t t = 0; t < data->term_count; t++) {
    fit->width[t] = data->terms[t].width;
    fit->levels[t] = data->terms[t].levels;
  }
  size_t p = fit->least.kept;
  struct visiting visiting = {outcome, be_arena_array(outcome->arena, p * p, sizeof(double)),
                              be_arena_array(outcome->arena, 2 * p * p, sizeof(double))};
  if (!take_kept(outcome) || !visiting.inverse || !visiting.scratch) return no_memory(err);
  struct be_point point;
  struct be_lambda lambda;
  be_profile_lambda(profile, outcome->search->theta, &lambda);
  bool known = be_profile_slope(profile, outcome->search->theta, &point);
  if (!known) {
    for (size_t j = 0; j < fit->columns; j++) fit->beta[j] = NAN;
    for (size_t i = 0; i < p * p; i++) fit->base[i] = NAN;
    return BE_OK;
  }
  keep_beta(outcome);
  keep_terms(outcome, &lambda);
  fit->lambda = lambda;
  enum be_status status = keep_factor(outcome, err);
  if (status != BE_OK) return status;
  put_base(&visiting, fit->base, 1);
  double curvature[BE_CURVATURE_MAX];
  const struct be_visitor visitor = {visit, &visiting};
  if (!outcome->search->why &&
      be_profile_curvature(profile, outcome->search->theta, &point, &visitor, curvature))
    keep_spread(outcome, outcome->bounds ? outcome->search->curvature : curvature);
  if (outcome->bounds && fit->has_spread) return add_spread(outcome, err);
  return BE_OK;
}
