/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The fit of a sample, and what it says of the knots. ln share (or load) = knot + group + factors
 * + combination + spool + knot x combination + day + tyer + the pull itself; from combination on
 * random, and what is held fixed as a factor left out there. */
#include "app/model/model.h"

#include <math.h>
#include <string.h>

enum { TOP = 3, PAIRED_MAX = 200 };

/* ---- the fit ---- */

/* Knots, then groups less one by differences from their mean, so that a knot's coefficient is
 * its mean over all groups, each counted once; then factors. */
static size_t fill_row(const struct model_sample *sample, size_t i, uint32_t *column, double *value)
{
  const struct model_row *row = &sample->rows[i];
  size_t effects = sample->groups - 1, at = 0;
  bool last = row->group == effects;
  column[at] = row->knot;
  value[at++] = 1;
  for (size_t g = 0; g < effects; g++) {
    if (!last && g != row->group) continue;
    column[at] = (uint32_t)(sample->knots + g);
    value[at++] = last ? -1 : 1;
  }
  for (int kind = 0; kind < BE_FACTORS; kind++) {
    const struct model_factor *factor = &sample->factor[kind];
    for (size_t c = 0; c < factor->columns; c++) {
      double weight = be_factor_weight(factor, factor->of_row[i], c);
      if (weight == 0) continue;
      column[at] = (uint32_t)(factor->column + c);
      value[at++] = weight;
    }
  }
  return at;
}

static enum be_status make_design(const struct modelled *m, struct be_mixed_design *design,
                                  struct be_err *err)
{
  const struct model_sample *sample = m->sample;
  size_t most = sample->n * (1 + sample->columns - sample->knots);
  size_t *start = be_arena_alloc(m->arena, (sample->n + 1) * sizeof *start);
  uint32_t *column = be_arena_alloc(m->arena, most * sizeof *column);
  double *value = be_arena_alloc(m->arena, most * sizeof *value);
  if (!start || !column || !value) return be_no_memory(err);
  for (size_t i = 0; i < sample->n; i++)
    start[i + 1] = start[i] + fill_row(sample, i, column + start[i], value + start[i]);
  *design = (struct be_mixed_design){sample->columns, start, column, value};
  return BE_OK;
}

/* Where bounds keep REML from coming to rest, ML is tried: mixed.h takes bounds by both. */
enum be_status be_model_fit_data(const struct be_mixed_data *data, struct be_mixed **fit,
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

/* What a fit is made from, but for y. */
static enum be_status gather(struct modelled *m, bool *bound, struct be_mixed_term *terms,
                             struct be_mixed_data *data, struct be_err *err)
{
  const struct model_sample *sample = m->sample;
  *data = (struct be_mixed_data){.n = sample->n, .terms = terms};
  for (size_t i = 0; i < sample->n; i++) bound[i] = sample->rows[i].bound;
  if (sample->bounds) data->bound = bound;
  for (size_t kind = 0; kind < MODEL_TERMS; kind++) {
    const struct model_term *term = &sample->term[kind];
    if (!term->in) continue;
    m->of_term[kind] = data->term_count;
    terms[data->term_count++] =
        (struct be_mixed_term){term->name, term->level, term->levels, 1, {term->told}};
  }
  return make_design(m, &data->fixed, err);
}

/* A column left out is a sum of those before it. */
static bool drop_confounded(struct modelled *m)
{
  bool dropped = false;
  for (int kind = 0; kind < BE_FACTORS; kind++) {
    const struct model_factor *factor = &m->sample->factor[kind];
    bool confounded = false;
    for (size_t c = 0; c < factor->columns; c++)
      confounded |= be_mixed_dropped(m->fit, factor->column + c);
    if (!confounded) continue;
    be_model_drop_factor(m->sample, (enum be_factor)kind,
                         "it cannot be told from the knots, the groups and what else is fixed");
    for (size_t i = 0; i < m->sample->crossed; i++)
      if (m->sample->crosses[i] == (enum be_factor)kind) {
        m->sample->term[MODEL_CROSSED + i].in = false;
        m->sample->term[MODEL_CROSSED + i].why = "its factor is not in";
      }
    dropped = true;
    break; /* the columns of the others have moved */
  }
  return dropped;
}

/* Plain lines are soaked, and pulled at a speed and a length, like the knots that are divided by
 * them: of shares these factors tell what the knot does beside its line, of loads what both do. */
static bool wants_loads(const struct model_sample *sample)
{
  return sample->by_share &&
         (sample->factor[BE_FACTOR_SOAK].in || sample->factor[BE_FACTOR_SPEED].in ||
          sample->factor[BE_FACTOR_LENGTH].in);
}

enum be_status be_model_fit(struct modelled *m, struct be_err *err)
{
  const struct model_sample *sample = m->sample;
  struct be_mixed_term terms[MODEL_TERMS];
  struct be_mixed_data data;
  double *y = be_arena_alloc(m->arena, sample->n * sizeof *y);
  bool *bound = be_arena_alloc(m->arena, sample->n * sizeof *bound);
  if (!y || !bound) return be_no_memory(err);
  enum be_status status;
  do {
    for (size_t i = 0; i < sample->n; i++) y[i] = sample->rows[i].y;
    be_mixed_free(m->fit);
    m->fit = NULL;
    status = gather(m, bound, terms, &data, err);
    data.y = y;
    if (status == BE_OK) status = be_model_fit_data(&data, &m->fit, err);
  } while (status == BE_OK && drop_confounded(m));
  if (status != BE_OK || !wants_loads(sample)) return status;
  for (size_t i = 0; i < sample->n; i++) y[i] = log(sample->rows[i].pull->load_N);
  status = be_model_fit_data(&data, &m->of_loads, err);
  return status == BE_NO_MEMORY ? status : BE_OK;
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
