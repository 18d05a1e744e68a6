/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/mixed/inside.h"

#include <float.h>
#include <math.h>
#include <string.h>

/* All that a fit needs and nobody keeps. */
struct fitting {
  const struct be_mixed_data *data;
  struct be_mixed *fit;
  struct be_arena *arena;
  struct be_nodes nodes;
  uint32_t *place;
  struct be_profile profile;
  struct be_search search;
  struct be_bounds bounds;
  double *y; /* what least squares leaves */
};

static enum be_status no_memory(struct be_err *err)
{
  return be_fail(err, BE_NO_MEMORY, "no memory for a mixed model");
}

/* ---- before the search ---- */

static void name_parameters(struct fitting *fitting)
{
  struct be_profile *profile = &fitting->profile;
  for (size_t t = 0; t < fitting->data->term_count; t++)
    for (size_t c = 0; c < fitting->data->terms[t].width; c++)
      for (size_t r = c; r < fitting->data->terms[t].width; r++)
        profile->where[profile->parameters++] =
            (struct be_parameter){(uint8_t)t, (uint8_t)r, (uint8_t)c};
}

static void name_nodes(struct fitting *fitting)
{
  const struct be_mixed_data *data = fitting->data;
  struct be_nodes *nodes = &fitting->nodes;
  nodes->data = data;
  nodes->kept = fitting->fit->least.index;
  for (size_t t = 0; t < data->term_count; t++) {
    nodes->term_first[t] = (uint32_t)nodes->count;
    nodes->count += data->terms[t].levels;
    nodes->columns += data->terms[t].levels * data->terms[t].width;
  }
  nodes->term_first[data->term_count] = (uint32_t)nodes->count;
  nodes->count += fitting->fit->least.kept;
  nodes->columns += fitting->fit->least.kept;
  nodes->term_first[data->term_count + 1] = (uint32_t)nodes->count;
  for (size_t i = 0; i < data->n; i++) {
    size_t entries = data->fixed.start[i + 1] - data->fixed.start[i] + data->term_count;
    if (entries > nodes->row_most) nodes->row_most = entries;
  }
}

/* Something must scatter about the fixed columns; what rounding leaves is nothing. */
static enum be_status check_left(const struct fitting *fitting, struct be_err *err)
{
  const struct be_mixed_data *data = fitting->data;
  double largest = 0, squares = 0, rank = (double)fitting->fit->least.kept;
  for (size_t i = 0; i < data->n; i++) {
    largest = fmax(largest, fabs(data->y[i]));
    squares += fitting->y[i] * fitting->y[i];
  }
  double hair = 64 * DBL_EPSILON * largest;
  if (fitting->fit->least.kept == 0)
    return be_fail(err, BE_BAD_INPUT, "all fixed columns are 0 throughout");
  if (fitting->fit->least.kept >= data->n) {
    be_fail(err, BE_BAD_INPUT, "%zu pulls are too few for %zu fixed columns", data->n,
            fitting->fit->least.kept);
    return be_fail_remedy(err, "leave out fixed columns, or add pulls");
  }
  if (squares <= (double)data->n * hair * hair)
    return be_fail(err, BE_BAD_INPUT, "nothing scatters about the %g fixed columns", rank);
  return BE_OK;
}

static enum be_status begin(struct fitting *fitting, struct be_err *err)
{
  const struct be_mixed_data *data = fitting->data;
  struct be_mixed *fit = fitting->fit;
  struct be_bounds *bounds = &fitting->bounds;
  enum be_status status = be_least_squares(data, fit->arena, &fit->least, err);
  if (status != BE_OK) return status;
  name_nodes(fitting);
  name_parameters(fitting);
  fitting->y = be_arena_array(fitting->arena, data->n, sizeof *fitting->y);
  fitting->place = be_arena_array(fitting->arena, fitting->nodes.count, sizeof *fitting->place);
  bounds->entries =
      be_arena_array(fitting->arena, fitting->nodes.row_most, sizeof *bounds->entries);
  if (data->bound) bounds->weights = be_arena_array(fitting->arena, data->n, sizeof(double));
  if (!fitting->y || !fitting->place || !bounds->entries || (data->bound && !bounds->weights))
    return no_memory(err);
  bounds->profile = &fitting->profile;
  bounds->nodes = &fitting->nodes;
  bounds->place = fitting->place;
  bounds->y = fitting->y;
  be_least_residuals(data, &fit->least, data->y, fitting->y);
  return check_left(fitting, err);
}

static enum be_status plan(struct fitting *fitting, struct be_err *err)
{
  const struct be_nodes *nodes = &fitting->nodes;
  struct be_arena *arena = be_arena_create();
  struct be_cross pattern, cross;
  enum be_status status = arena ? BE_OK : no_memory(err);
  for (size_t k = 0; k < nodes->count; k++) fitting->place[k] = (uint32_t)k;
  if (status == BE_OK)
    status = be_cross_form(nodes, fitting->place, NULL, NULL, arena, &pattern, err);
  if (status == BE_OK) status = be_order_nodes(nodes, &pattern, fitting->place, err);
  if (status == BE_OK)
    status = be_cross_form(nodes, fitting->place, NULL, &pattern, fitting->arena, &cross, err);
  be_arena_free(arena);
  if (status == BE_OK)
    status = be_factor_plan(nodes, &cross, fitting->place, fitting->arena, &fitting->profile.factor,
                            err);
  return status;
}

static enum be_status take_scratch(struct fitting *fitting, struct be_err *err)
{
  struct be_profile *profile = &fitting->profile;
  size_t columns = fitting->nodes.columns;
  profile->inverse = be_arena_array(fitting->arena, profile->factor.size, sizeof(double));
  profile->block =
      be_arena_array(fitting->arena, be_factor_inverse_room(&profile->factor), sizeof(double));
  profile->solution = be_arena_array(fitting->arena, columns, sizeof(double));
  profile->effects = be_arena_array(fitting->arena, columns, sizeof(double));
  profile->product = be_arena_array(fitting->arena, columns, sizeof(double));
  if (!profile->inverse || !profile->block || !profile->solution || !profile->effects ||
      !profile->product)
    return no_memory(err);
  return BE_OK;
}

/* ---- the whole ---- */

static void summarise(struct fitting *fitting)
{
  struct be_mixed_summary *summary = &fitting->fit->summary;
  const struct be_search *search = &fitting->search;
  const struct be_profile *profile = &fitting->profile;
  summary->converged = !search->why;
  summary->why = search->why;
  summary->criterion = search->point.criterion;
  summary->sigma = search->point.sigma;
  summary->parameters = profile->parameters;
  for (size_t i = 0; i < profile->parameters; i++) {
    summary->theta[i] = search->theta[i];
    summary->zeros += search->theta[i] == 0 && profile->where[i].row == profile->where[i].column;
  }
  summary->gradient = search->gradient;
  summary->decrement = search->decrement;
  summary->factor_size = profile->factor.size;
}

static enum be_status run(struct fitting *fitting, enum be_mixed_method method, struct be_err *err)
{
  struct be_profile *profile = &fitting->profile;
  struct be_mixed *fit = fitting->fit;
  enum be_status status = begin(fitting, err);
  if (status == BE_OK) status = plan(fitting, err);
  if (status == BE_OK) status = take_scratch(fitting, err);
  if (status != BE_OK) return status;
  profile->data = fitting->data;
  profile->restricted = method == BE_MIXED_REML;
  fit->summary.method = method;
  fit->summary.n = fitting->data->n;
  fit->summary.rank = fit->least.kept;
  for (size_t i = 0; i < fitting->data->n && fitting->data->bound; i++)
    fit->summary.bounds += fitting->data->bound[i];
  profile->freedom = (double)(fitting->data->n - (profile->restricted ? fit->least.kept : 0));
  be_factor_load(&profile->factor, &fitting->nodes, fitting->place, fitting->y, NULL,
                 fitting->bounds.entries);
  be_search_find(profile, &fitting->search);
  if (fit->summary.bounds > 0) {
    status = be_bounds_begin(&fitting->bounds, fitting->arena, err);
    if (status != BE_OK) return status;
    be_bounds_find(&fitting->bounds, &fitting->search);
  }
  summarise(fitting);
  const struct be_outcome outcome = {fit,
                                     fitting->arena,
                                     &fitting->nodes,
                                     fitting->place,
                                     profile,
                                     &fitting->search,
                                     fit->summary.bounds > 0 ? &fitting->bounds : NULL};
  status = be_outcome_keep(&outcome, err);
  fit->summary.evaluations = profile->evaluations;
  return status;
}

enum be_status be_mixed_fit(const struct be_mixed_data *data, enum be_mixed_method method,
                            struct be_mixed **fit, struct be_err *err)
{
  *fit = NULL;
  enum be_status status = be_mixed_check(data, err);
  if (status != BE_OK) return status;
  struct fitting *fitting = be_alloc_array(1, sizeof *fitting);
  if (!fitting) return no_memory(err);
  fitting->data = data;
  fitting->arena = be_arena_create();
  fitting->fit = be_alloc_array(1, sizeof *fitting->fit);
  if (fitting->fit) fitting->fit->arena = be_arena_create();
  if (fitting->arena && fitting->fit && fitting->fit->arena) status = run(fitting, method, err);
  else status = no_memory(err);
  if (status == BE_OK) *fit = fitting->fit;
  else be_mixed_free(fitting->fit);
  be_arena_free(fitting->arena);
  be_free(fitting);
  return status;
}

void be_mixed_free(struct be_mixed *fit)
{
  if (!fit) return;
  be_arena_free(fit->arena);
  be_free(fit);
}
