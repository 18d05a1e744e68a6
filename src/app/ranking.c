/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/ranking.h"

#include <math.h>
#include <string.h>

static enum be_status make_room(const struct survey *survey, struct ranking *r, struct be_err *err)
{
  size_t knots = r->block.knots;
  struct be_arena *arena = survey->arena;
  r->rank = be_arena_alloc(arena, knots * sizeof *r->rank);
  r->order = be_arena_alloc(arena, knots * sizeof *r->order);
  r->together = be_arena_alloc(arena, knots * knots * sizeof *r->together);
  r->load = be_arena_alloc(arena, knots * sizeof *r->load);
  r->efficiency = be_arena_alloc(arena, knots * sizeof *r->efficiency);
  r->efficiency_interval = be_arena_alloc(arena, knots * sizeof *r->efficiency_interval);
  r->n = be_arena_alloc(arena, knots * sizeof *r->n);
  r->told = be_arena_alloc(arena, knots * sizeof *r->told);
  r->slips = be_arena_alloc(arena, knots * sizeof *r->slips);
  r->bounds = be_arena_alloc(arena, knots * sizeof *r->bounds);
  bool all = r->rank && r->order && r->together && r->load && r->efficiency &&
             r->efficiency_interval && r->n && r->told && r->slips && r->bounds;
  return all ? BE_OK : be_no_memory(err);
}

bool be_ranking_together(const struct ranking *ranking, size_t a, size_t b)
{
  return ranking->together[a * ranking->block.knots + b];
}

size_t be_ranking_followers(const struct ranking *ranking)
{
  size_t first = ranking->order[0], count = 0;
  for (size_t k = 0; k < ranking->block.knots; k++)
    count += k != first && be_ranking_together(ranking, first, k);
  return count;
}

/* ---- figures of each knot ---- */

/* Efficiencies over several combinations share plain lines; as one form these
 * count once. d e = e d log e. */
static enum be_status work_out_efficiency(const struct survey *survey, struct ranking *r,
                                          size_t knot, struct be_err *err)
{
  const struct grid *block = &r->block;
  struct form mean = {0};
  double sum = 0;
  bool known = true;
  enum be_status status = BE_OK;
  r->efficiency_interval[knot] = (struct be_interval){NAN, NAN, survey->how.level};
  for (size_t c = 0; c < block->combinations; c++) {
    const struct cell *cell = be_grid_cell(block, knot, c);
    sum += cell->efficiency.value / (double)block->combinations;
    known &= cell->shares != NULL;
    if (cell->shares && status == BE_OK)
      status = be_form_add(&mean, &cell->log_share,
                           cell->efficiency.value / (double)block->combinations, err);
  }
  r->efficiency[knot] = sum;
  if (block->combinations == 1) {
    r->efficiency_interval[knot] = be_grid_cell(block, knot, 0)->efficiency.interval;
  } else if (status == BE_OK && known) {
    mean.value = sum;
    struct be_estimate estimate = be_form_estimate(survey, &mean);
    r->efficiency_interval[knot] = be_estimate_interval(&estimate, survey->how.level);
  }
  be_form_free(&mean);
  return status;
}

static void count_pulls(struct ranking *r, size_t knot)
{
  double log_load = 0;
  for (size_t c = 0; c < r->block.combinations; c++) {
    const struct cell *cell = be_grid_cell(&r->block, knot, c);
    r->n[knot] += cell->n;
    r->told[knot] += cell->told;
    r->slips[knot] += cell->slips;
    r->bounds[knot] += cell->bounds;
    log_load += log(cell->load.value) / (double)r->block.combinations;
  }
  r->load[knot] = exp(log_load);
}

/* ---- ranks ---- */

static bool has_scatter(const struct ranking *r, size_t knot)
{
  for (size_t c = 0; c < r->block.combinations; c++)
    if (!(be_grid_cell(&r->block, knot, c)->load.variance > 0)) return false;
  return true;
}

/* Resampled are the events; where lower bounds are in the mean, the events are moved and
 * stretched so that their mean and its variance are those with the bounds. */
static const double *sample_of(const struct survey *survey, const struct cell *cell, bool by_share,
                               struct be_err *err)
{
  const double *x = by_share ? cell->shares : cell->loads;
  const struct be_estimate *mean = by_share ? &cell->share : &cell->load;
  if (!cell->counted_in || !(mean->variance > 0)) return x;
  double *moved = be_arena_alloc(survey->arena, cell->n * sizeof *moved);
  if (!moved) {
    be_no_memory(err);
    return NULL;
  }
  struct be_summary events;
  be_summary_of(x, cell->n, &events);
  double stretch = sqrt((double)cell->n * mean->variance) / events.sd;
  for (size_t i = 0; i < cell->n; i++) {
    moved[i] = mean->value + stretch * (x[i] - events.mean);
    if (!(moved[i] > 0)) return x;
  }
  return moved;
}

static enum be_status rank_knots(const struct survey *survey, struct ranking *r, struct be_err *err)
{
  const struct grid *block = &r->block;
  struct be_sample *samples = be_alloc_array(block->knots * block->combinations, sizeof *samples);
  if (!samples) return be_no_memory(err);
  for (size_t c = 0; c < block->combinations; c++) {
    bool by_share = be_grid_by_share(block, c);
    for (size_t k = 0; k < block->knots; k++) {
      const struct cell *cell = be_grid_cell(block, k, c);
      const double *x = sample_of(survey, cell, by_share, err);
      if (!x) {
        be_free(samples);
        return BE_NO_MEMORY;
      }
      samples[k * block->combinations + c] = (struct be_sample){x, cell->n};
    }
  }
  struct be_resampling how = {
      .seed = survey->how.seed, .times = survey->how.resamples, .level = survey->how.level};
  enum be_status status =
      be_rank_resample(samples, block->knots, block->combinations, &how, r->rank, err);
  be_free(samples);
  for (size_t k = 0; status == BE_OK && k < block->knots; k++) r->order[r->rank[k].rank - 1] = k;
  return status;
}

/* A knot of unknown scatter could stand anywhere, and each such knot could
 * push every other by a place. */
static void widen_ranges(struct ranking *r)
{
  size_t knots = r->block.knots, unknown = 0;
  for (size_t k = 0; k < knots; k++) unknown += !has_scatter(r, k);
  for (size_t k = 0; k < knots && unknown; k++) {
    struct be_rank *rank = &r->rank[k];
    bool known = has_scatter(r, k);
    size_t apart = known ? unknown : knots;
    rank->low = rank->low > apart ? rank->low - apart : 1;
    rank->high = rank->high + apart < knots ? rank->high + apart : knots;
    rank->best = NAN;
  }
}

/* ---- who cannot be separated ---- */

static enum be_status score_of(const struct ranking *r, size_t knot, struct form *score,
                               struct be_err *err)
{
  const struct grid *block = &r->block;
  enum be_status status = BE_OK;
  for (size_t c = 0; c < block->combinations && status == BE_OK; c++) {
    const struct cell *cell = be_grid_cell(block, knot, c);
    status = be_form_add(score, be_grid_by_share(block, c) ? &cell->log_share : &cell->log_load,
                         1.0 / (double)block->combinations, err);
  }
  return status;
}

/* Knots tied on other spools or at other speeds, not each with its own plain
 * line, differ by more than the knot. */
static bool comparable(const struct grid *block, size_t a, size_t b)
{
  for (size_t c = 0; c < block->combinations; c++)
    if (!be_fair(be_grid_cell(block, a, c), be_grid_cell(block, b, c))) return false;
  return true;
}

static double p_of(const struct survey *survey, const struct form *a, const struct form *b,
                   struct be_err *err, enum be_status *status)
{
  struct form apart = {0};
  *status = be_form_add(&apart, a, 1, err);
  if (*status == BE_OK) *status = be_form_add(&apart, b, -1, err);
  struct be_estimate estimate = be_form_estimate(survey, &apart), nothing = {0, 0, INFINITY, 0};
  be_form_free(&apart);
  struct be_difference difference;
  be_welch(&estimate, &nothing, survey->how.level, &difference);
  return isnan(difference.p) ? 1 : difference.p;
}

/* Welch on log scores for every pair, adjusted by Holm over the table. A pair
 * whose scatter is not known cannot be separated. */
static enum be_status judge_pairs(const struct survey *survey, struct ranking *r,
                                  const struct form *scores, double *p, struct be_err *err)
{
  size_t knots = r->block.knots, at = 0;
  enum be_status status = BE_OK;
  for (size_t a = 0; a < knots && status == BE_OK; a++)
    for (size_t b = a + 1; b < knots && status == BE_OK; b++) {
      p[at] = p_of(survey, &scores[a], &scores[b], err, &status);
      if (!comparable(&r->block, a, b)) {
        p[at] = 1;
        r->mixed = true;
      }
      at++;
    }
  if (status == BE_OK) status = be_holm(p, at, p, err);
  at = 0;
  for (size_t a = 0; a < knots && status == BE_OK; a++)
    for (size_t b = a + 1; b < knots; b++)
      r->together[a * knots + b] = r->together[b * knots + a] = p[at++] > 1 - survey->how.level;
  return status;
}

static enum be_status separate(const struct survey *survey, struct ranking *r, struct be_err *err)
{
  size_t knots = r->block.knots;
  struct form *scores = be_alloc_array(knots, sizeof *scores);
  double *p = be_alloc_array(knots * (knots - 1) / 2, sizeof *p);
  enum be_status status = scores && p ? BE_OK : be_no_memory(err);
  for (size_t k = 0; k < knots && status == BE_OK; k++) status = score_of(r, k, &scores[k], err);
  if (status == BE_OK) status = judge_pairs(survey, r, scores, p, err);
  for (size_t k = 0; scores && k < knots; k++) be_form_free(&scores[k]);
  be_free(scores);
  be_free(p);
  return status;
}

/* ---- doubts about the whole ---- */

static bool any_unlike_speed(const struct grid *block)
{
  for (size_t c = 0; c < block->combinations; c++)
    for (size_t k = 0; k < block->knots; k++) {
      const struct cell *cell = be_grid_cell(block, k, c);
      for (size_t i = 0; i < cell->n; i++)
        if (!be_same_speed(cell->events[i], be_grid_cell(block, 0, c)->events[0])) return true;
    }
  return false;
}

/* The highest lower bound, in no mean, of another knot that beats the first one's mean. */
static const struct cell *find_rival(const struct survey *survey, const struct ranking *r)
{
  const struct cell *rival = NULL;
  size_t first = r->order[0];
  for (size_t c = 0; c < r->block.combinations; c++) {
    const struct combination *where = r->block.where[c];
    const struct cell *leader = be_grid_cell(&r->block, first, c);
    for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
      const struct cell *cell = &survey->cells[i];
      if (cell->knot == leader->knot || !cell->highest || cell->counted_in) continue;
      if (cell->highest->load_N <= leader->load.value) continue;
      if (!rival || cell->highest->load_N > rival->highest->load_N) rival = cell;
    }
  }
  return rival;
}

enum be_status be_ranking_make(const struct survey *survey, const struct grid *block,
                               struct ranking *ranking, struct be_err *err)
{
  *ranking = (struct ranking){.block = *block};
  enum be_status status = make_room(survey, ranking, err);
  for (size_t k = 0; k < block->knots && status == BE_OK; k++) {
    count_pulls(ranking, k);
    status = work_out_efficiency(survey, ranking, k, err);
  }
  if (status == BE_OK) status = rank_knots(survey, ranking, err);
  if (status == BE_OK) widen_ranges(ranking);
  if (status == BE_OK) status = separate(survey, ranking, err);
  if (status != BE_OK) return status;
  ranking->unlike_speeds = any_unlike_speed(block);
  ranking->rival = find_rival(survey, ranking);
  for (size_t k = 0; k < block->knots; k++)
    ranking->other_in_points |=
        ranking->efficiency[k] > ranking->efficiency[ranking->order[0]] + 0.0005;
  return BE_OK;
}
