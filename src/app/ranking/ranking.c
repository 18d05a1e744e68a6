/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/ranking/ranking.h"

#include <math.h>
#include <string.h>

static enum be_status make_room(const struct survey *survey, struct ranking *r, struct be_err *err)
{
  size_t knots = r->block.knots;
  struct be_arena *arena = survey->arena;
  r->rank = be_arena_alloc(arena, knots * sizeof *r->rank);
  r->order = be_arena_alloc(arena, knots * sizeof *r->order);
  r->together = be_arena_alloc(arena, knots * knots * sizeof *r->together);
  r->letters = be_arena_alloc(arena, knots * sizeof *r->letters);
  r->load = be_arena_alloc(arena, knots * sizeof *r->load);
  r->load_interval = be_arena_alloc(arena, knots * sizeof *r->load_interval);
  r->efficiency = be_arena_alloc(arena, knots * sizeof *r->efficiency);
  r->efficiency_interval = be_arena_alloc(arena, knots * sizeof *r->efficiency_interval);
  r->n = be_arena_alloc(arena, knots * sizeof *r->n);
  r->told = be_arena_alloc(arena, knots * sizeof *r->told);
  r->slips = be_arena_alloc(arena, knots * sizeof *r->slips);
  r->bounds = be_arena_alloc(arena, knots * sizeof *r->bounds);
  bool all = r->rank && r->order && r->together && r->letters && r->load && r->load_interval &&
             r->efficiency && r->efficiency_interval && r->n && r->told && r->slips && r->bounds;
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

bool be_ranking_bare(const struct ranking *ranking)
{
  size_t first = ranking->order[0], single = ranking->block.combinations, others = 0;
  for (size_t k = 0; k < ranking->block.knots; k++) others += k != first && ranking->n[k] > single;
  return be_ranking_followers(ranking) && (ranking->n[first] <= single || !others);
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
  for (size_t c = 0; c < r->block.combinations; c++) {
    const struct cell *cell = be_grid_cell(&r->block, knot, c);
    r->n[knot] += cell->n;
    r->told[knot] += cell->told;
    r->slips[knot] += cell->slips;
    r->bounds[knot] += cell->bounds;
  }
}

/* Of one combination by t, of several by the mean of logs, in which each counts once. */
static enum be_status work_out_load(const struct survey *survey, struct ranking *r, size_t knot,
                                    struct be_err *err)
{
  const struct grid *block = &r->block;
  const struct cell *only = be_grid_cell(block, knot, 0);
  struct form logs = {0};
  double log_load = 0;
  enum be_status status = BE_OK;
  for (size_t c = 0; c < block->combinations && status == BE_OK; c++) {
    const struct cell *cell = be_grid_cell(block, knot, c);
    log_load += log(cell->load.value) / (double)block->combinations;
    status = be_form_add(&logs, &cell->log_load, 1 / (double)block->combinations, err);
  }
  struct be_estimate mean = be_form_estimate(survey, &logs);
  struct be_interval interval = be_estimate_interval(&mean, survey->how.level);
  be_form_free(&logs);
  r->load[knot] = exp(log_load);
  r->load_interval[knot] =
      block->combinations == 1
          ? be_load_interval(&only->load, survey->how.level)
          : (struct be_interval){exp(interval.low), exp(interval.high), survey->how.level};
  return status;
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

/* What the scores of a table are known by. */
struct scores {
  struct form *form;
  double *value, *covariance; /* knots; knots x knots */
  double df;                  /* the smallest of a difference */
  double *p;                  /* of the pairs, in the order (0,1), (0,2), ... (1,2), ... */
};

static struct be_estimate apart_by(const struct survey *survey, const struct form *a,
                                   const struct form *b, struct be_err *err, enum be_status *status)
{
  struct form apart = {0};
  *status = be_form_add(&apart, a, 1, err);
  if (*status == BE_OK) *status = be_form_add(&apart, b, -1, err);
  struct be_estimate estimate = be_form_estimate(survey, &apart);
  be_form_free(&apart);
  return estimate;
}

/* Twice a covariance is what two variances have more than that of the difference. */
static enum be_status compare_scores(const struct survey *survey, struct ranking *r,
                                     struct scores *scores, struct be_err *err)
{
  const struct be_estimate nothing = {0, 0, INFINITY, 0};
  size_t knots = r->block.knots, at = 0;
  enum be_status status = BE_OK;
  scores->df = INFINITY;
  for (size_t k = 0; k < knots; k++) {
    struct be_estimate own = be_form_estimate(survey, &scores->form[k]);
    scores->value[k] = own.value;
    scores->covariance[k * knots + k] = own.variance;
  }
  for (size_t a = 0; a < knots && status == BE_OK; a++)
    for (size_t b = a + 1; b < knots && status == BE_OK; b++) {
      struct be_estimate apart = apart_by(survey, &scores->form[a], &scores->form[b], err, &status);
      struct be_difference difference;
      be_welch(&apart, &nothing, survey->how.level, &difference);
      double shared =
          (scores->covariance[a * knots + a] + scores->covariance[b * knots + b] - apart.variance) /
          2;
      scores->covariance[a * knots + b] = scores->covariance[b * knots + a] = shared;
      if (apart.df > 0) scores->df = fmin(scores->df, apart.df);
      bool fair = comparable(&r->block, a, b);
      if (!fair) r->mixed = true;
      scores->p[at++] = fair && !isnan(difference.p) ? difference.p : 1;
    }
  return status;
}

/* Welch on log scores for every pair, adjusted by Holm over the table: so the chance that
 * any two are wrongly told apart is 1 - level at most. A pair whose scatter is not known
 * cannot be separated. */
static enum be_status judge_pairs(const struct survey *survey, struct ranking *r, double *p,
                                  struct be_err *err)
{
  size_t knots = r->block.knots, at = 0;
  enum be_status status = be_holm(p, knots * (knots - 1) / 2, p, err);
  for (size_t a = 0; a < knots && status == BE_OK; a++)
    for (size_t b = a + 1; b < knots; b++)
      r->together[a * knots + b] = r->together[b * knots + a] = p[at++] > 1 - survey->how.level;
  return status;
}

/* A knot stands behind all that are apart from it and stronger, and before all that are apart and
 * weaker: ranges that hold for all knots at once, since the verdicts do (Mogstad, Romano, Shaikh
 * and Wilhelm 2024, with Holm's verdicts). */
static void find_ranges(struct ranking *r)
{
  size_t knots = r->block.knots;
  for (size_t k = 0; k < knots; k++) {
    struct rank *rank = &r->rank[k];
    *rank = (struct rank){r->rank[k].score, 1, 1, knots, NAN, NAN};
    for (size_t i = 0; i < knots; i++) {
      if (i == k) continue;
      double other = r->rank[i].score;
      bool stronger = other > rank->score || (other == rank->score && i < k);
      rank->rank += stronger;
      if (be_ranking_together(r, k, i)) continue;
      rank->low += stronger;
      rank->high -= !stronger;
    }
    r->order[rank->rank - 1] = k;
  }
}

/* By drawing about the estimates, if asked for; spools that cannot be compared leave no chance to
 * be told. */
static enum be_status find_chances(const struct survey *survey, struct ranking *r,
                                   const struct scores *scores, struct be_err *err)
{
  enum { TOP = 3 };
  size_t knots = r->block.knots;
  if (r->mixed || !isfinite(scores->df) || survey->how.resamples == 0) return BE_OK;
  struct be_chance *chances = be_alloc_array(knots, sizeof *chances);
  if (!chances) return be_no_memory(err);
  const struct be_standing standing = {knots, scores->value, scores->covariance, scores->df};
  const struct be_resampling by = {
      .seed = survey->how.seed, .times = survey->how.resamples, .level = survey->how.level};
  enum be_status status = be_chances(&standing, TOP < knots ? TOP : knots, &by, chances, err);
  for (size_t k = 0; k < knots && status == BE_OK; k++) {
    r->rank[k].best = chances[k].best;
    r->rank[k].top = chances[k].top;
  }
  be_free(chances);
  return status;
}

static enum be_status write_letters(const struct survey *survey, struct ranking *r,
                                    struct be_err *err)
{
  size_t knots = r->block.knots;
  bool *apart = be_alloc_array(knots * knots, sizeof *apart);
  double *order = be_alloc_array(knots, sizeof *order);
  uint64_t *letters = be_alloc_array(knots, sizeof *letters);
  enum be_status status = apart && order && letters ? BE_OK : be_no_memory(err);
  for (size_t a = 0; a < knots && status == BE_OK; a++) {
    order[a] = r->rank[a].score;
    r->letters[a] = "";
    for (size_t b = 0; b < knots; b++)
      apart[a * knots + b] = a != b && !be_ranking_together(r, a, b);
  }
  if (status == BE_OK) status = be_letters(apart, order, knots, letters, err);
  for (size_t k = 0; k < knots && status == BE_OK; k++) {
    char text[160];
    be_letters_text(letters[k], text, sizeof text);
    r->letters[k] = be_arena_text(survey->arena, text, strlen(text));
    if (!r->letters[k]) status = be_no_memory(err);
  }
  be_free(letters);
  be_free(order);
  be_free(apart);
  /* Past 64 letters they would tell nobody anything. */
  return status == BE_TOO_LARGE ? BE_OK : status;
}

static enum be_status separate(const struct survey *survey, struct ranking *r, struct be_err *err)
{
  size_t knots = r->block.knots;
  struct scores scores = {.form = be_alloc_array(knots, sizeof *scores.form),
                          .value = be_alloc_array(knots, sizeof *scores.value),
                          .covariance = be_alloc_array(knots * knots, sizeof *scores.covariance),
                          .p = be_alloc_array(knots * (knots - 1) / 2, sizeof *scores.p)};
  bool room = scores.form && scores.value && scores.covariance && scores.p;
  enum be_status status = room ? BE_OK : be_no_memory(err);
  for (size_t k = 0; k < knots && status == BE_OK; k++)
    status = score_of(r, k, &scores.form[k], err);
  for (size_t k = 0; k < knots && status == BE_OK; k++) r->rank[k].score = scores.form[k].value;
  if (status == BE_OK) status = compare_scores(survey, r, &scores, err);
  if (status == BE_OK) status = judge_pairs(survey, r, scores.p, err);
  if (status == BE_OK) find_ranges(r);
  if (status == BE_OK) status = find_chances(survey, r, &scores, err);
  if (status == BE_OK) status = write_letters(survey, r, err);
  for (size_t k = 0; scores.form && k < knots; k++) be_form_free(&scores.form[k]);
  be_free(scores.p);
  be_free(scores.covariance);
  be_free(scores.value);
  be_free(scores.form);
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
    status = work_out_load(survey, ranking, k, err);
    if (status == BE_OK) status = work_out_efficiency(survey, ranking, k, err);
  }
  if (status == BE_OK) status = separate(survey, ranking, err);
  if (status != BE_OK) return status;
  ranking->unlike_speeds = any_unlike_speed(block);
  ranking->rival = find_rival(survey, ranking);
  for (size_t k = 0; k < block->knots; k++)
    ranking->other_in_points |=
        ranking->efficiency[k] > ranking->efficiency[ranking->order[0]] + 0.0005;
  return BE_OK;
}
