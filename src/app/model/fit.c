/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The fit of a sample, and what it says of the knots. ln share (or load) = knot + group +
 * combination
 * + spool + knot x combination + day + tyer + the pull itself, all but knot and group random. */
#include "app/model/model.h"

#include <math.h>
#include <string.h>

enum { TOP = 3, PAIRED_MAX = 200 };

/* ---- the fit ---- */

/* Knots, then groups less one by differences from their mean, so that a knot's coefficient is
 * its mean over all groups, each counted once. */
static enum be_status make_design(const struct modelled *m, struct be_mixed_design *design,
                                  struct be_err *err)
{
  const struct model_sample *sample = m->sample;
  size_t effects = sample->groups - 1, most = sample->n * (1 + effects), at = 0;
  size_t *start = be_arena_alloc(m->arena, (sample->n + 1) * sizeof *start);
  uint32_t *column = be_arena_alloc(m->arena, most * sizeof *column);
  double *value = be_arena_alloc(m->arena, most * sizeof *value);
  if (!start || !column || !value) return be_no_memory(err);
  for (size_t i = 0; i < sample->n; i++) {
    const struct model_row *row = &sample->rows[i];
    column[at] = row->knot;
    value[at++] = 1;
    bool last = row->group == effects;
    for (size_t g = 0; g < effects; g++) {
      if (!last && g != row->group) continue;
      column[at] = (uint32_t)(sample->knots + g);
      value[at++] = last ? -1 : 1;
    }
    start[i + 1] = at;
  }
  *design = (struct be_mixed_design){sample->knots + effects, start, column, value};
  return BE_OK;
}

/* Where bounds keep REML from coming to rest, ML is tried: mixed.h takes bounds by both. */
static enum be_status fit_data(const struct be_mixed_data *data, struct be_mixed **fit,
                               struct be_err *err)
{
  enum be_status status = be_mixed_fit(data, BE_MIXED_REML, fit, err);
  if (status != BE_OK || !data->bound || be_mixed_summary(*fit)->converged) return status;
  struct be_mixed *other = NULL;
  status = be_mixed_fit(data, BE_MIXED_ML, &other, err);
  if (status == BE_OK && be_mixed_summary(other)->converged) {
    be_mixed_free(*fit);
    *fit = other;
    return BE_OK;
  }
  be_mixed_free(other);
  return status == BE_NO_MEMORY ? status : BE_OK;
}

enum be_status be_model_fit(struct modelled *m, struct be_err *err)
{
  const struct model_sample *sample = m->sample;
  struct be_mixed_term terms[MODEL_TERMS];
  double *y = be_arena_alloc(m->arena, sample->n * sizeof *y);
  bool *bound = be_arena_alloc(m->arena, sample->n * sizeof *bound);
  if (!y || !bound) return be_no_memory(err);
  struct be_mixed_data data = {.n = sample->n, .y = y, .terms = terms};
  for (size_t i = 0; i < sample->n; i++) {
    y[i] = sample->rows[i].y;
    bound[i] = sample->rows[i].bound;
  }
  if (sample->bounds) data.bound = bound;
  for (size_t kind = 0; kind < MODEL_TERMS; kind++) {
    const struct model_term *term = &sample->term[kind];
    if (!term->in) continue;
    m->of_term[kind] = data.term_count;
    terms[data.term_count++] =
        (struct be_mixed_term){term->name, term->level, term->levels, 1, {term->told}};
  }
  enum be_status status = make_design(m, &data.fixed, err);
  return status == BE_OK ? fit_data(&data, &m->fit, err) : status;
}

/* ---- means, ranks, chances ---- */

/* What differences share has cancelled in them, so that their degrees of freedom are not those of
 * the means: a mean over two lines hangs on how two lines differ, a difference does not. Beyond
 * PAIRED_MAX knots, each with the first and the next alone. */
static double least_df(const struct modelled *m)
{
  size_t knots = m->sample->knots;
  double least = INFINITY;
  for (size_t i = 0; i < knots; i++)
    for (size_t k = i + 1; k < knots; k++) {
      if (knots > PAIRED_MAX && i > 0 && k > i + 1) break;
      uint32_t a = (uint32_t)m->order[i], b = (uint32_t)m->order[k];
      const uint32_t column[] = {a < b ? a : b, a < b ? b : a};
      const double weight[] = {1, -1};
      struct be_mixed_contrast apart;
      be_mixed_contrast(m->fit, column, weight, 2, m->survey->how.level, &apart);
      if (apart.df < least) least = apart.df;
    }
  return isinf(least) ? NAN : least;
}

static void sort_knots(struct modelled *m)
{
  for (size_t i = 0; i < m->sample->knots; i++) {
    size_t at = i;
    for (; at > 0 && m->value[m->order[at - 1]] < m->value[i]; at--)
      m->order[at] = m->order[at - 1];
    m->order[at] = i;
  }
}

static enum be_status make_room(struct modelled *m, struct be_err *err)
{
  size_t knots = m->sample->knots;
  m->mean = be_arena_alloc(m->arena, knots * sizeof *m->mean);
  m->value = be_arena_alloc(m->arena, knots * sizeof *m->value);
  m->set = be_arena_alloc(m->arena, knots * sizeof *m->set);
  m->chance = be_arena_alloc(m->arena, knots * sizeof *m->chance);
  m->apart = be_arena_alloc(m->arena, knots * knots * sizeof *m->apart);
  m->letters = be_arena_alloc(m->arena, knots * sizeof *m->letters);
  m->order = be_arena_alloc(m->arena, knots * sizeof *m->order);
  bool all = m->mean && m->value && m->set && m->chance && m->apart && m->letters && m->order;
  return all ? BE_OK : be_no_memory(err);
}

/* Ranks that cannot be had are said, and are no failure; memory is. */
static enum be_status rank(struct modelled *m, struct be_err *err)
{
  size_t knots = m->sample->knots;
  const struct be_answering *how = &m->survey->how;
  if (isnan(m->df)) {
    m->why_unranked = "the degrees of freedom are not known";
    return BE_OK;
  }
  double *covariance = be_arena_alloc(m->arena, knots * knots * sizeof *covariance);
  if (!covariance) return be_no_memory(err);
  for (size_t a = 0; a < knots; a++)
    for (size_t b = 0; b < knots; b++)
      covariance[a * knots + b] = be_mixed_covariance(m->fit, a, b);
  const struct be_standing standing = {knots, m->value, covariance, m->df};
  const struct be_resampling by = {.seed = how->seed, .times = how->resamples, .level = how->level};
  struct be_err why = {0};
  enum be_status status =
      be_rank_sets(&standing, BE_SEPARATE_STEPWISE, true, &by, m->set, m->apart, &why);
  if (status == BE_OK)
    status = be_chances(&standing, TOP < knots ? TOP : knots, &by, m->chance, &why);
  if (status == BE_NO_MEMORY) return be_no_memory(err);
  m->ranked = status == BE_OK;
  if (!m->ranked) {
    m->why_unranked = be_arena_text(m->arena, why.what, strlen(why.what));
    return m->why_unranked ? BE_OK : be_no_memory(err);
  }
  status = be_letters(m->apart, m->value, knots, m->letters, NULL);
  m->lettered = status == BE_OK;
  /* Past 64 letters they would tell nobody anything. */
  return status == BE_OK || status == BE_TOO_LARGE ? BE_OK : be_no_memory(err);
}

enum be_status be_model_work_out(struct modelled *m, struct be_err *err)
{
  const double one = 1;
  enum be_status status = make_room(m, err);
  if (status != BE_OK) return status;
  for (uint32_t k = 0; k < m->sample->knots; k++) {
    be_mixed_contrast(m->fit, &k, &one, 1, m->survey->how.level, &m->mean[k]);
    m->value[k] = m->mean[k].value;
  }
  sort_knots(m);
  m->df = least_df(m);
  return rank(m, err);
}
