/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figures of a cell: strength, and the share of the plain line it kept.
 *
 * Each pull is divided by the plain line of its own spool, soak, speed, bench and length; a
 * knot's efficiency is the mean of these shares. Where a spool has no plain
 * pulls of that kind the match falls back in steps, and the worst
 * step is said. The plain line is known no better than it was measured: its
 * part of the uncertainty is carried as terms on the sets of plain pulls. */
#include "app/survey/survey.h"

#include <math.h>
#include <string.h>

/* ---- matching a knot's pulls with them ---- */

/* The pulls of one spool, pulled alike, and the plain line they are matched with. */
struct stratum {
  const struct be_pull *like;
  int line;
  size_t n;     /* pulls of the knot */
  double loads; /* their sum */
  enum match match;
  size_t plain_n;
  double plain; /* mean of plain_n plain pulls */
};

static int line_of(const struct be_pull *pull, int side)
{
  return side == 0 ? pull->line_a : pull->line_b;
}

static bool matches(const struct survey *survey, const struct plain_set *set,
                    const struct stratum *stratum)
{
  if (set->like->soak != stratum->like->soak) return false;
  switch (stratum->match) {
  case MATCH_ALL: return set->line == stratum->line && be_pulled_alike(set->like, stratum->like);
  case MATCH_SPEED: return set->line == stratum->line && be_same_speed(set->like, stratum->like);
  case MATCH_SPOOL: return set->line == stratum->line;
  default: return survey->name_of_line[set->line] == survey->name_of_line[stratum->line];
  }
}

static void match_stratum(const struct survey *survey, struct stratum *stratum)
{
  for (size_t least = 2; least >= 1; least--)
    for (int match = MATCH_ALL; match <= MATCH_LINE; match++) {
      stratum->match = (enum match)match;
      stratum->plain_n = 0;
      stratum->plain = 0;
      for (size_t i = 0; i < survey->sets_count; i++) {
        if (!matches(survey, &survey->sets[i], stratum)) continue;
        stratum->plain_n += survey->sets[i].n;
        stratum->plain += (double)survey->sets[i].n * survey->sets[i].mean;
      }
      if (stratum->plain_n < least) continue;
      stratum->plain /= (double)stratum->plain_n;
      return;
    }
  stratum->match = MATCH_NONE;
}

static size_t find_strata(const struct cell *cell, int side, struct stratum *strata)
{
  size_t count = 0;
  for (size_t i = 0; i < cell->n; i++) {
    const struct be_pull *pull = cell->events[i];
    size_t k = 0;
    while (k < count &&
           !(strata[k].line == line_of(pull, side) && be_pulled_alike(strata[k].like, pull)))
      k++;
    if (k == count) strata[count++] = (struct stratum){.like = pull, .line = line_of(pull, side)};
    strata[k].n++;
    strata[k].loads += cell->loads[i];
  }
  return count;
}

static const struct stratum *stratum_of(const struct stratum *strata, const struct be_pull *pull,
                                        int side)
{
  while (!(strata->line == line_of(pull, side) && be_pulled_alike(strata->like, pull))) strata++;
  return strata;
}

/* ---- the share of a plain line that a cell kept ---- */

struct kept {
  struct denominator plain;
  struct be_estimate share;
  struct form log_share; /* terms in the arena */
};

/* d log(mean share) = - sum over strata of (its part of the sum of shares) times
 * d log(its plain mean), which is spread over the sets behind that mean. weights has a place
 * for each set. */
static void weigh_sets(const struct survey *survey, const struct stratum *strata, size_t count,
                       double *weights)
{
  double shares = 0;
  for (size_t i = 0; i < survey->sets_count; i++) weights[i] = 0;
  for (size_t k = 0; k < count; k++) shares += strata[k].loads / strata[k].plain;
  for (size_t k = 0; k < count; k++) {
    double part = strata[k].loads / strata[k].plain / shares;
    for (size_t i = 0; i < survey->sets_count; i++) {
      const struct plain_set *set = &survey->sets[i];
      if (!matches(survey, set, &strata[k])) continue;
      double of_mean = (double)set->n * set->mean / ((double)strata[k].plain_n * strata[k].plain);
      weights[i] -= part * of_mean;
    }
  }
}

static enum be_status add_plain_terms(const struct survey *survey, const struct cell *cell,
                                      const double *weights, struct kept *kept, struct be_err *err)
{
  size_t count = 0, pulls = 0;
  for (size_t i = 0; i < survey->sets_count; i++) count += weights[i] != 0;
  struct term *terms = be_arena_alloc(survey->arena, (count + 1) * sizeof *terms);
  if (!terms) return be_no_memory(err);
  struct form sum = {.terms = terms};
  for (size_t i = 0; i < survey->sets_count; i++) {
    if (weights[i] == 0) continue;
    terms[sum.count++] = (struct term){i, weights[i]};
    pulls += survey->sets[i].n;
  }
  kept->plain.estimate = be_form_estimate(survey, &sum);
  kept->plain.estimate.n = pulls;
  terms[sum.count++] = (struct term){survey->sets_count + (size_t)(cell - survey->cells), 1};
  sum.value = log(kept->share.value);
  sum.n = cell->n;
  kept->log_share = sum;
  return BE_OK;
}

static size_t count_plain_bounds(const struct survey *survey, const struct cell *cell, int side)
{
  int name = survey->name_of_line[line_of(cell->events[0], side)];
  size_t count = 0;
  for (size_t i = 0; i < survey->plain_bounds_count; i++)
    count += survey->plain_bounds[i]->soak == cell->events[0]->soak &&
             survey->name_of_line[survey->plain_bounds[i]->line_a] == name;
  return count;
}

/* Room for the pulls of the largest cell; weights of all sets of plain pulls. */
struct room {
  double *shares[2], *scratch, *weights;
  struct stratum *strata;
  struct be_held *held;
};

/* A lower bound on a spool or at a speed of which there is no event is left out of the
 * mean share: it has no plain line that was matched. */
static size_t add_lower_shares(const struct cell *cell, int side, const struct stratum *strata,
                               size_t count, struct be_held *held)
{
  size_t all = cell->n;
  for (size_t i = 0; i < cell->lower_count; i++) {
    const struct be_pull *pull = cell->lower[i];
    for (size_t k = 0; k < count; k++)
      if (strata[k].line == line_of(pull, side) && be_pulled_alike(strata[k].like, pull)) {
        held[all++] = (struct be_held){pull->load_N / strata[k].plain, true, 1};
        break;
      }
  }
  return all;
}

/* By what each event and its plain pulls are alike, as far as the record says. */
static void count_likeness(const struct survey *survey, const struct stratum *strata, size_t count,
                           struct denominator *plain)
{
  for (size_t k = 0; k < count; k++) {
    enum likeness like[MATCHED_BY] = {LIKE_SAME};
    for (size_t i = 0; i < survey->sets_count; i++)
      if (matches(survey, &survey->sets[i], &strata[k]))
        be_match_look(survey, strata[k].like, strata[k].line, &survey->sets[i], like);
    for (int by = 0; by < MATCHED_BY; by++) plain->by[by][like[by]] += strata[k].n;
  }
}

/* Divides a cell's pulls by the plain line of one side; shares is n long. */
static enum be_status divide(const struct survey *survey, const struct cell *cell, int side,
                             const struct room *room, struct kept *kept, struct be_err *err)
{
  memset(kept, 0, sizeof *kept);
  double *shares = room->shares[side];
  struct stratum *strata = room->strata;
  size_t count = find_strata(cell, side, strata);
  for (size_t k = 0; k < count; k++) {
    match_stratum(survey, &strata[k]);
    if (strata[k].match == MATCH_NONE) {
      kept->plain.match = MATCH_NONE;
      return BE_OK;
    }
    if (strata[k].match > kept->plain.match) kept->plain.match = strata[k].match;
  }
  count_likeness(survey, strata, count, &kept->plain);
  for (size_t i = 0; i < cell->n; i++) {
    shares[i] = cell->loads[i] / stratum_of(strata, cell->events[i], side)->plain;
    room->held[i] = (struct be_held){shares[i], false, 1};
  }
  struct be_summary summary;
  be_summary_of(shares, cell->n, &summary);
  size_t all = add_lower_shares(cell, side, strata, count, room->held);
  struct mean mean = be_mean_with_bounds(&summary, room->held, all);
  kept->share = mean.estimate;
  kept->plain.line_row = line_of(cell->events[0], side);
  kept->plain.line = survey->name_of_line[kept->plain.line_row];
  kept->plain.bounds = count_plain_bounds(survey, cell, side);
  weigh_sets(survey, strata, count, room->weights);
  enum be_status status = add_plain_terms(survey, cell, room->weights, kept, err);
  /* The plain line that gives this efficiency, with its relative scatter. */
  struct be_estimate *plain = &kept->plain.estimate;
  plain->value = cell->load.value / kept->share.value;
  plain->variance *= plain->value * plain->value;
  return status;
}

/* ---- one cell ---- */

/* The weaker of two lines is the one with the smaller plain strength. */
static enum be_status choose_weaker(const struct survey *survey, struct cell *cell,
                                    const struct room *room, struct kept *kept, int *side,
                                    struct be_err *err)
{
  struct kept other;
  *side = 0;
  cell->weaker_sure = 1;
  enum be_status status = divide(survey, cell, 0, room, kept, err);
  if (status != BE_OK || survey->combinations[cell->combination].line_b < 0) return status;
  status = divide(survey, cell, 1, room, &other, err);
  if (status != BE_OK) return status;
  if (kept->plain.match == MATCH_NONE || other.plain.match == MATCH_NONE) {
    cell->other_missing = kept->plain.match != other.plain.match;
    kept->plain.match = MATCH_NONE;
    return BE_OK;
  }
  struct be_difference apart;
  be_welch(&kept->plain.estimate, &other.plain.estimate, survey->how.level, &apart);
  bool unlike = kept->plain.line != other.plain.line;
  cell->weaker_uncertain = unlike && !(apart.interval.low > 0 || apart.interval.high < 0);
  /* One-sided, by Welch: not-a-number where the scatter of either is not known. */
  if (unlike) cell->weaker_sure = 1 - apart.p / 2;
  if (other.plain.estimate.value >= kept->plain.estimate.value) return BE_OK;
  *kept = other;
  *side = 1;
  return BE_OK;
}

static bool same_spools(const struct be_pull *a, const struct be_pull *b)
{
  return a->line_a == b->line_a && a->line_b == b->line_b;
}

/* Mean load with the scatter inside each pair of spools, which takes the place of that of
 * all events in the variance. */
static struct be_estimate pool_cell(const struct cell *cell, const struct room *room)
{
  size_t count = 0;
  struct stratum *strata = room->strata;
  for (size_t i = 0; i < cell->n; i++) {
    size_t k = 0;
    while (k < count && !same_spools(strata[k].like, cell->events[i])) k++;
    if (k == count) strata[count++] = (struct stratum){.like = cell->events[i]};
  }
  double squares = 0;
  for (size_t k = 0; k < count; k++) {
    struct be_summary group;
    size_t n = 0;
    for (size_t i = 0; i < cell->n; i++)
      if (same_spools(strata[k].like, cell->events[i])) room->scratch[n++] = cell->loads[i];
    be_summary_of(room->scratch, n, &group);
    if (n > 1) squares += (double)(n - 1) * group.sd * group.sd;
  }
  struct be_estimate pooled = cell->load;
  if (cell->n <= count || !(squares > 0)) return pooled;
  pooled.df = (double)(cell->n - count);
  pooled.variance *= squares / pooled.df / (cell->summary.sd * cell->summary.sd);
  return pooled;
}

static struct mean mean_of_cell(const struct cell *cell, const struct room *room)
{
  size_t all = 0;
  for (size_t i = 0; i < cell->n; i++)
    room->held[all++] = (struct be_held){cell->loads[i], false, 1};
  for (size_t i = 0; i < cell->lower_count; i++)
    room->held[all++] = (struct be_held){cell->lower[i]->load_N, true, 1};
  return be_mean_with_bounds(&cell->summary, room->held, all);
}

static enum be_status keep_log_load(const struct survey *survey, struct cell *cell,
                                    struct be_err *err)
{
  struct term *term = be_arena_alloc(survey->arena, sizeof *term);
  if (!term) return be_no_memory(err);
  *term =
      (struct term){survey->sets_count + survey->cells_count + (size_t)(cell - survey->cells), 1};
  cell->log_load =
      (struct form){.value = log(cell->load.value), .n = cell->n, .terms = term, .count = 1};
  return BE_OK;
}

static enum be_status keep_shares(const struct survey *survey, struct cell *cell,
                                  const struct kept *kept, const double *shares, struct be_err *err)
{
  cell->plain = kept->plain;
  if (kept->plain.match == MATCH_NONE) return BE_OK;
  cell->share = kept->share;
  cell->log_share = kept->log_share;
  cell->shares = be_arena_alloc(survey->arena, cell->n * sizeof *shares);
  if (!cell->shares) return be_no_memory(err);
  memcpy(cell->shares, shares, cell->n * sizeof *shares);
  double ratio = cell->load.value / cell->share.value;
  struct be_estimate load = cell->share;
  load.value = cell->load.value;
  load.variance *= ratio * ratio;
  be_ratio_log(&load, &cell->plain.estimate, survey->how.level, &cell->efficiency);
  be_ratio_fieller(&load, &cell->plain.estimate, survey->how.level, &cell->fieller);
  /* Where Fieller's set is open the plain line is hardly known, and an interval
   * by logarithms would say nothing. */
  if (cell->fieller.shape == BE_RATIO_PIECE) return BE_OK;
  const struct be_interval unknown = {NAN, NAN, survey->how.level};
  cell->efficiency.shape = BE_RATIO_UNKNOWN;
  cell->efficiency.interval = unknown;
  return BE_OK;
}

/* Fewer pulls than this raise an alarm by a rounding step alone. (Ours.) */
enum { ALARM_FROM = 6 };

static enum be_status work_out(const struct survey *survey, struct cell *cell,
                               const struct room *room, struct be_err *err)
{
  size_t held = 0;
  be_summary_of(cell->loads, cell->n, &cell->summary);
  for (size_t i = 0; i < cell->n; i++)
    if (cell->events[i]->what != BE_WHAT_SLIPPED_OUT) room->scratch[held++] = cell->loads[i];
  be_summary_of(room->scratch, held, &cell->held);
  const struct be_interval unknown = {NAN, NAN, survey->how.level};
  cell->efficiency = cell->fieller =
      (struct be_ratio){.value = NAN, .df = NAN, .shape = BE_RATIO_UNKNOWN, .interval = unknown};
  if (cell->n == 0) return BE_OK;
  enum be_status status = be_kinds_sort(survey, cell, err);
  if (status != BE_OK) return status;
  if (cell->n >= ALARM_FROM) be_grubbs(cell->loads, cell->n, 0.05, &cell->alarm);
  struct mean mean = mean_of_cell(cell, room);
  cell->load = mean.estimate;
  cell->counted_in = mean.counted_in;
  cell->pooled = pool_cell(cell, room);
  status = keep_log_load(survey, cell, err);
  if (status != BE_OK || be_is_plain(&survey->combinations[cell->combination])) return status;
  struct kept kept;
  int side = 0;
  status = choose_weaker(survey, cell, room, &kept, &side, err);
  return status == BE_OK ? keep_shares(survey, cell, &kept, room->shares[side], err) : status;
}

enum be_status be_cells_work_out(struct survey *survey, struct be_err *err)
{
  size_t events = 0, all = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n > events) events = cell->n;
    if (cell->n + cell->lower_count > all) all = cell->n + cell->lower_count;
  }
  struct room room = {{be_arena_alloc(survey->arena, events * sizeof(double)),
                       be_arena_alloc(survey->arena, events * sizeof(double))},
                      be_arena_alloc(survey->arena, events * sizeof(double)),
                      be_arena_alloc(survey->arena, survey->plain_count * sizeof(double)),
                      be_arena_alloc(survey->arena, events * sizeof(struct stratum)),
                      be_arena_alloc(survey->arena, all * sizeof(struct be_held))};
  if (!room.shares[0] || !room.shares[1] || !room.scratch || !room.weights || !room.strata ||
      !room.held)
    return be_no_memory(err);
  enum be_status status = be_plain_sets(survey, err);
  be_progress_step("working out the cells", "cells", survey->cells_count);
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; be_progress_at(++i))
    status = work_out(survey, &survey->cells[i], &room, err);
  return status;
}
