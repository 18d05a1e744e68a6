/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The change of a figure split into parts that add up: the record is swapped piece by piece, and
 * each record in between is worked out like any other, so that lower bounds, spools and the
 * weaker of two lines are treated as ever. */
#include "app/moved/moved.h"

#include <math.h>
#include <string.h>

/* ---- what came since ---- */

static const struct be_record *older(const struct moved *moved)
{
  return &moved->step[STEP_THEN]->record;
}

/* Pulls are only ever added behind, so one has the same place in both records. */
static size_t place_of(const struct moved *moved, const struct be_pull *pull)
{
  return (size_t)(pull - moved->step[STEP_NOW]->record.pulls);
}

bool be_moved_is_new(const struct moved *moved, const struct be_pull *pull)
{
  return place_of(moved, pull) >= older(moved)->pulls_count;
}

static bool same_number(double a, double b)
{
  return a == b || (isnan(a) && isnan(b));
}

bool be_moved_is_corrected(const struct moved *moved, const struct be_pull *pull)
{
  if (be_moved_is_new(moved, pull)) return false;
  const struct be_pull *was = &older(moved)->pulls[place_of(moved, pull)];
  return was->corrections != pull->corrections || was->kind != pull->kind ||
         !same_number(was->load_N, pull->load_N);
}

/* ---- the records in between ---- */

static bool is_plain(const struct be_pull *pull)
{
  return pull->design == BE_DESIGN_PLAIN;
}

/* What came since: of plain lines, of knots. */
struct news {
  size_t plain, corrected, pulled;
};

static struct news find_news(struct moved *moved)
{
  const struct be_record *now = &moved->step[STEP_NOW]->record;
  struct news news = {0, 0, 0};
  for (size_t i = 0; i < now->pulls_count; i++) {
    const struct be_pull *pull = &now->pulls[i];
    bool added = be_moved_is_new(moved, pull), corrected = be_moved_is_corrected(moved, pull);
    moved->pulls += added;
    moved->corrections += corrected;
    if (is_plain(pull)) news.plain += added || corrected;
    else {
      news.pulled += added;
      news.corrected += corrected;
    }
  }
  return news;
}

/* Plain pulls as they were; results of knots as they are, with their new pulls or without. */
static enum be_status mix(const struct moved *moved, bool new_pulls, const struct survey **out,
                          struct be_err *err)
{
  const struct survey *now = moved->step[STEP_NOW];
  struct be_record record = now->record;
  struct survey *survey = be_arena_alloc(now->arena, sizeof *survey);
  record.pulls = be_arena_alloc(now->arena, record.pulls_count * sizeof *record.pulls);
  if (!survey || !record.pulls) return be_no_memory(err);
  record.pulls_count = 0;
  for (size_t i = 0; i < now->record.pulls_count; i++) {
    const struct be_pull *pull = &now->record.pulls[i];
    bool added = be_moved_is_new(moved, pull);
    if (added && (is_plain(pull) || !new_pulls)) continue;
    record.pulls[record.pulls_count++] = is_plain(pull) ? older(moved)->pulls[i] : *pull;
  }
  *out = survey;
  return be_survey_of(&record, &now->how, now->arena, survey, err);
}

/* Steps at which nothing is swapped are not worked out again. */
enum be_status be_moved_steps(const struct survey *then, const struct survey *now,
                              struct moved *moved, struct be_err *err)
{
  moved->step[STEP_THEN] = then;
  moved->step[STEP_NOW] = now;
  const struct news news = find_news(moved);
  enum be_status status = BE_OK;
  const struct survey **corrected = &moved->step[STEP_CORRECTED];
  const struct survey **pulled = &moved->step[STEP_PULLED];
  *corrected = then;
  if (news.corrected && !news.pulled && !news.plain) *corrected = now;
  else if (news.corrected) status = mix(moved, false, corrected, err);
  *pulled = news.plain ? *corrected : now;
  if (status == BE_OK && news.plain && news.pulled) status = mix(moved, true, pulled, err);
  return status;
}

/* ---- a figure along the steps ---- */

const struct cell *be_moved_cell(const struct survey *survey, const char *combination, int knot)
{
  for (size_t c = 0; c < survey->combinations_count; c++) {
    const struct combination *where = &survey->combinations[c];
    if (strcmp(where->name, combination) != 0) continue;
    for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
      if (survey->cells[i].knot == knot && survey->cells[i].knot_b < 0) return &survey->cells[i];
  }
  return NULL;
}

/* As in ranking.c: mean efficiency over the combinations, or geometric mean load. */
static double figure_of(const struct survey *survey, const struct grid *block, int knot,
                        bool by_load)
{
  double sum = 0;
  for (size_t c = 0; c < block->combinations; c++) {
    const struct cell *cell = be_moved_cell(survey, block->where[c]->name, knot);
    double figure = !cell || cell->n == 0 ? NAN
                    : by_load             ? log(cell->load.value)
                                          : cell->efficiency.value;
    sum += figure / (double)block->combinations;
  }
  return by_load ? exp(sum) : sum;
}

void be_moved_parts(const struct moved *moved, const struct moved_place *place, struct move *move)
{
  const struct ranking *then = place->then, *now = place->now;
  bool both = move->then != NOT_RANKED && move->now != NOT_RANKED;
  move->by_load = (move->then != NOT_RANKED && isnan(then->efficiency[move->then])) ||
                  (move->now != NOT_RANKED && isnan(now->efficiency[move->now]));
  move->was = move->is = NAN;
  for (int i = 0; i < PARTS; i++) move->part[i] = NAN;
  if (move->then != NOT_RANKED)
    move->was = move->by_load ? then->load[move->then] : then->efficiency[move->then];
  if (move->now != NOT_RANKED)
    move->is = move->by_load ? now->load[move->now] : now->efficiency[move->now];
  if (!both) return;
  double last = move->was;
  for (int i = STEP_CORRECTED; i < STEPS_MOVED; i++) {
    double next = figure_of(moved->step[i], &then->block, move->knot, move->by_load);
    move->part[PART_CORRECTIONS + i - STEP_CORRECTED] = next - last;
    last = next;
  }
  move->part[PART_BLOCK] = move->is - last;
}
