/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The deviance where some rows are lower bounds, by Laplace's approximation: the likelihood of
 * the rows given b, times b's density, is taken as normal about its highest point in b and beta
 * (Tierney and Kadane 1986; for mixed models Pinheiro and Bates 1995):
 *   sum over events (y - eta)^2 / sigma^2 + log(2 pi sigma^2)
 *   - 2 sum over bounds log Q(a) + u'u / sigma^2 + log|M_ZZ|,  a = (t - eta) / sigma,
 * and for REML with beta among what is integrated, log|M| - p log(2 pi sigma^2). In M a bound
 * counts by its curvature w = lambda (lambda - a), lambda = phi(a) / Q(a), an event by 1. Without
 * random terms ML is exact, without bounds both are the deviance of profile.c.
 *
 * The highest point is found by Newton's steps, each the plain penalised least squares of bounds
 * put at eta + sigma lambda / w with the weight w; log Q is concave, so that it is the only one. */
#include "stats/mixed/inside.h"
#include "stats/number/number.h"

#include <math.h>
#include <string.h>

enum {
  STEPS_MOST = 60,
  W = BE_MIXED_WIDTH_MAX,
  BE_ROW_SCALARS = BE_MIXED_TERMS_MAX * W + BE_MIXED_FIXED_MAX
};

static const double log_two_pi = 1.8378770664093454;
/* In sigmas. Steps square what is missing, so that the last leaves rounding alone. */
static const double still = 1e-9;

struct site {
  double weight, pull; /* w; w times (where it is put - eta) */
  double log_q;
};

static struct site site_of(double limit, double eta, double sigma)
{
  double a = (limit - eta) / sigma, log_q = be_normal_log_upper(a);
  double lambda = exp(-a * a / 2 - log_two_pi / 2 - log_q);
  /* Far above eta lambda - a is 1 / a - 2 / a^3: the difference has no digits left. */
  double weight = a > 1e4 ? 1 - 1 / (a * a) : fmin(1, fmax(0, lambda * (lambda - a)));
  return (struct site){weight, sigma * lambda, log_q};
}

/* The number of row entry e times that of column entry c, at the block of both. */
static void add_row(const struct be_bounds *bounds, size_t b, const struct be_entry *entries,
                    size_t count, double weight)
{
  const size_t *at = bounds->pair + bounds->pair_first[b];
  double *value = bounds->profile->factor.cross.value;
  const uint32_t *place = bounds->place;
  for (size_t x = 0; x < count; x++)
    for (size_t y = 0; y <= x; y++) {
      bool turned = place[entries[x].node] < place[entries[y].node];
      const struct be_entry *row = &entries[turned ? y : x], *column = &entries[turned ? x : y];
      double *block = value + *at++;
      for (size_t c = 0; c < column->width; c++)
        for (size_t r = 0; r < row->width; r++)
          block[c * row->width + r] += weight * column->value[c] * row->value[r];
    }
}

/* Puts every bound at its present eta; what they add to the deviance beside the squares. */
static double put_bounds(struct be_bounds *bounds, double sigma)
{
  struct be_factor *factor = &bounds->profile->factor;
  double deviance = 0, squares = 0;
  memcpy(factor->cross.value, bounds->value,
         factor->cross.values[factor->nodes] * sizeof *bounds->value);
  memcpy(factor->right, bounds->right, factor->columns * sizeof *bounds->right);
  for (size_t b = 0; b < bounds->count; b++) {
    double eta = bounds->eta[b];
    struct site site = site_of(bounds->limit[b], eta, sigma);
    bounds->weights[bounds->row[b]] = site.weight;
    deviance -= 2 * site.log_q;
    if (site.weight == 0) continue;
    size_t count = be_nodes_row(bounds->nodes, bounds->row[b], bounds->entries);
    add_row(bounds, b, bounds->entries, count, site.weight);
    double apart = site.pull / site.weight, put = site.weight * eta + site.pull;
    squares += site.weight * (eta + apart) * (eta + apart);
    deviance -= site.weight * apart * apart / (sigma * sigma);
    for (size_t e = 0; e < count; e++) {
      const struct be_entry *entry = &bounds->entries[e];
      double *right = factor->right + factor->scalar[bounds->place[entry->node]];
      for (size_t c = 0; c < entry->width; c++) right[c] += entry->value[c] * put;
    }
  }
  factor->square = bounds->square + squares;
  return deviance;
}

/* Reads eta off the effects; how far it moved, in sigmas. */
static double read_eta(struct be_bounds *bounds, double sigma)
{
  const struct be_profile *profile = bounds->profile;
  double most = 0;
  for (size_t b = 0; b < bounds->count; b++) {
    size_t count = be_nodes_row(bounds->nodes, bounds->row[b], bounds->entries);
    double eta = 0;
    for (size_t e = 0; e < count; e++) {
      const struct be_entry *entry = &bounds->entries[e];
      const double *effects = profile->effects + profile->factor.scalar[bounds->place[entry->node]];
      for (size_t c = 0; c < entry->width; c++) eta += entry->value[c] * effects[c];
    }
    most = fmax(most, fabs(eta - bounds->eta[b]) / sigma);
    bounds->eta[b] = eta;
  }
  return most;
}

double be_bounds_deviance(struct be_bounds *bounds, const double *theta, double sigma)
{
  struct be_profile *profile = bounds->profile;
  struct be_lambda lambda;
  struct be_pieces pieces;
  double variance = sigma * sigma;
  be_profile_lambda(profile, theta, &lambda);
  for (int steps = 0; steps < STEPS_MOST; steps++) {
    double deviance = put_bounds(bounds, sigma);
    profile->evaluations++;
    if (!be_factor_compute(&profile->factor, &lambda)) return HUGE_VAL;
    be_factor_pieces(&profile->factor, &pieces);
    be_profile_effects(profile, &lambda);
    double moved = read_eta(bounds, sigma);
    if (!isfinite(moved)) return HUGE_VAL;
    if (moved > still) continue;
    double events = (double)(profile->data->n - bounds->count);
    deviance +=
        pieces.square / variance + events * (log_two_pi + log(variance)) + pieces.log_random;
    if (profile->restricted)
      deviance += pieces.log_fixed - (double)profile->factor.fixed * (log_two_pi + log(variance));
    return deviance;
  }
  return HUGE_VAL;
}

/* ---- from the highest point to the mean ---- */

/* The variance of eta of a row over sigma^2, given theta: z' L S L' z, by REML with beta's part. */
static double variance_of(const struct be_bounds *bounds, const struct be_lambda *lambda,
                          const struct be_entry *entries, size_t count)
{
  const struct be_profile *profile = bounds->profile;
  const struct be_factor *factor = &profile->factor;
  uint32_t scalar[BE_ROW_SCALARS];
  double value[BE_ROW_SCALARS], variance = 0;
  size_t n = 0;
  for (size_t e = 0; e < count; e++) {
    uint32_t place = bounds->place[entries[e].node];
    const double *tri = lambda->tri[factor->term[place]];
    if (factor->term[place] == profile->data->term_count && !profile->restricted) break;
    for (size_t c = 0; c < entries[e].width && n < BE_ROW_SCALARS; c++, n++) {
      scalar[n] = factor->scalar[place] + (uint32_t)c;
      value[n] = 0;
      for (size_t r = c; r < entries[e].width; r++)
        value[n] += tri[r * W + c] * entries[e].value[r];
    }
  }
  for (size_t x = 0; x < n; x++)
    for (size_t y = 0; y <= x; y++)
      variance += (x == y ? 1 : 2) * value[x] * value[y] *
                  be_factor_at(factor, profile->inverse, scalar[x], scalar[y]);
  return variance;
}

/* log|M| falls or rises with eta, by way of the weights: half its slope moves beta from where the
 * density of y and b is highest to where Laplace's likelihood is, and b to its mean (Tierney and
 * Kadane 1986, section 2). dw/da = 2 lambda w - lambda - a w. */
void be_bounds_lean(struct be_bounds *bounds, const double *theta, double sigma)
{
  struct be_profile *profile = bounds->profile;
  struct be_factor *factor = &profile->factor;
  struct be_lambda lambda;
  be_profile_lambda(profile, theta, &lambda);
  be_factor_inverse(factor, profile->restricted, profile->inverse, profile->block);
  for (size_t b = 0; b < bounds->count; b++) {
    struct site site = site_of(bounds->limit[b], bounds->eta[b], sigma);
    double a = (bounds->limit[b] - bounds->eta[b]) / sigma, mills = site.pull / sigma;
    double bend = 2 * mills * site.weight - mills - a * site.weight;
    size_t count = be_nodes_row(bounds->nodes, bounds->row[b], bounds->entries);
    double lean = sigma * bend * variance_of(bounds, &lambda, bounds->entries, count) / 2;
    for (size_t e = 0; e < count; e++) {
      const struct be_entry *entry = &bounds->entries[e];
      double *right = factor->right + factor->scalar[bounds->place[entry->node]];
      for (size_t c = 0; c < entry->width; c++) right[c] += entry->value[c] * lean;
    }
  }
  /* The sum of squares is set to what goes with sigma. */
  struct be_pieces pieces;
  factor->square = 0;
  if (!be_factor_compute(factor, &lambda)) return;
  be_factor_pieces(factor, &pieces);
  factor->square = profile->freedom * sigma * sigma - pieces.square;
}

/* ---- what stays the same ---- */

/* Where in value the block of two places begins. */
static size_t find_pair(const struct be_factor *factor, uint32_t a, uint32_t b)
{
  const struct be_cross *cross = &factor->cross;
  uint32_t column = a < b ? a : b, row = a < b ? b : a;
  size_t at = cross->values[column], width = factor->scalar[column + 1] - factor->scalar[column];
  for (size_t k = cross->start[column]; cross->row[k] != row; k++)
    at += width * (factor->scalar[cross->row[k] + 1] - factor->scalar[cross->row[k]]);
  return at;
}

static void find_pairs(struct be_bounds *bounds)
{
  size_t at = 0;
  for (size_t b = 0; b < bounds->count; b++) {
    size_t count = be_nodes_row(bounds->nodes, bounds->row[b], bounds->entries);
    bounds->pair_first[b] = at;
    for (size_t x = 0; x < count; x++)
      for (size_t y = 0; y <= x; y++)
        bounds->pair[at++] =
            find_pair(&bounds->profile->factor, bounds->place[bounds->entries[x].node],
                      bounds->place[bounds->entries[y].node]);
  }
}

enum be_status be_bounds_begin(struct be_bounds *bounds, struct be_arena *arena, struct be_err *err)
{
  const struct be_mixed_data *data = bounds->profile->data;
  struct be_factor *factor = &bounds->profile->factor;
  size_t pairs = 0, values = factor->cross.values[factor->nodes];
  for (size_t i = 0, b = 0; i < data->n; i++) {
    if (!data->bound[i]) continue;
    size_t count = be_nodes_row(bounds->nodes, i, bounds->entries);
    pairs += count * (count + 1) / 2;
    bounds->count = ++b;
  }
  bounds->row = be_arena_array(arena, bounds->count, sizeof *bounds->row);
  bounds->limit = be_arena_array(arena, bounds->count, sizeof *bounds->limit);
  bounds->eta = be_arena_array(arena, bounds->count, sizeof *bounds->eta);
  bounds->pair_first = be_arena_array(arena, bounds->count, sizeof *bounds->pair_first);
  bounds->pair = be_arena_array(arena, pairs, sizeof *bounds->pair);
  bounds->value = be_arena_array(arena, values, sizeof *bounds->value);
  bounds->right = be_arena_array(arena, factor->columns, sizeof *bounds->right);
  if (!bounds->row || !bounds->limit || !bounds->eta || !bounds->pair_first || !bounds->pair ||
      !bounds->value || !bounds->right)
    return be_fail(err, BE_NO_MEMORY, "no memory for %zu lower bounds", bounds->count);
  for (size_t i = 0, b = 0; i < data->n; i++) {
    bounds->weights[i] = !data->bound[i];
    if (!data->bound[i]) continue;
    bounds->row[b] = i;
    bounds->limit[b++] = bounds->y[i];
  }
  const struct be_cross like = factor->cross;
  enum be_status status = be_cross_form(bounds->nodes, bounds->place, bounds->weights, &like, arena,
                                        &factor->cross, err);
  if (status != BE_OK) return status;
  memcpy(bounds->value, factor->cross.value, values * sizeof *bounds->value);
  be_factor_load(factor, bounds->nodes, bounds->place, bounds->y, bounds->weights, bounds->entries);
  memcpy(bounds->right, factor->right, factor->columns * sizeof *bounds->right);
  bounds->square = factor->square;
  find_pairs(bounds);
  return BE_OK;
}
