/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/moved/moved.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int be_moved_index(const struct ranking *ranking, int knot)
{
  for (size_t i = 0; ranking && i < ranking->block.knots; i++)
    if (ranking->block.knot[i] == knot) return (int)i;
  return NOT_RANKED;
}

int be_moved_verdict(const struct ranking *ranking, int a, int b)
{
  if (be_ranking_together(ranking, (size_t)a, (size_t)b)) return 0;
  return ranking->rank[a].rank < ranking->rank[b].rank ? 1 : -1;
}

/* ---- what a move means ---- */

static bool is_next_to(const struct ranking *ranking, int a, int b)
{
  return labs((long)ranking->rank[a].rank - (long)ranking->rank[b].rank) == 1;
}

static bool is_first(const struct ranking *ranking, int index)
{
  return ranking->rank[index].rank == 1;
}

/* How a knot stands with those that are ranked both times, then and now. */
struct against {
  bool verdict, order; /* one of them changed */
  bool near;           /* a verdict with one that is or was the first or a neighbour did */
};

static struct against look_at_others(const struct moved_place *place, const struct move *move)
{
  const struct ranking *then = place->then, *now = place->now;
  struct against against = {false, false, false};
  for (int now_b = 0; now_b < (int)now->block.knots; now_b++) {
    int then_b = be_moved_index(then, now->block.knot[now_b]);
    if (then_b == NOT_RANKED || now_b == move->now) continue;
    bool was_above = then->rank[then_b].rank < then->rank[move->then].rank;
    bool is_above = now->rank[now_b].rank < now->rank[move->now].rank;
    against.order |= was_above != is_above;
    if (be_moved_verdict(then, move->then, then_b) == be_moved_verdict(now, move->now, now_b))
      continue;
    against.verdict = true;
    against.near |= is_next_to(then, move->then, then_b) || is_next_to(now, move->now, now_b) ||
                    is_first(then, then_b) || is_first(now, now_b) || is_first(then, move->then) ||
                    is_first(now, move->now);
  }
  return against;
}

static bool holds(const struct rank *a, const struct rank *b)
{
  return a->low <= b->low && a->high >= b->high;
}

/* Whether the knot is to be told of, and what its move means. */
static bool judge(const struct moved_place *place, struct move *move)
{
  if (move->then == NOT_RANKED || move->now == NOT_RANKED) {
    move->how = move->now == NOT_RANKED ? MOVED_LEFT : MOVED_NEW;
    return true;
  }
  const struct rank *was = &place->then->rank[move->then], *is = &place->now->rank[move->now];
  const struct against against = look_at_others(place, move);
  bool same_place = was->rank == is->rank && was->low == is->low && was->high == is->high;
  if (against.near) move->how = MOVED_EARNEST;
  else if (!same_place && !against.verdict && !against.order) move->how = MOVED_FIELD;
  else if (!against.verdict && (holds(was, is) || holds(is, was))) move->how = MOVED_WITHIN;
  else move->how = MOVED_RANGE;
  /* Sums in another order differ by rounding. */
  const double rounding = 1e-12;
  return !same_place || fabs(move->is - move->was) > rounding * fabs(move->was);
}

/* ---- one place ---- */

static void count_own(const struct moved *moved, const struct ranking *ranking,
                      const struct ranking *but, struct move *move)
{
  const struct survey *now = moved->step[STEP_NOW];
  for (size_t c = 0; ranking && c < ranking->block.combinations; c++) {
    const char *name = ranking->block.where[c]->name;
    bool counted = false;
    for (size_t i = 0; but && i < but->block.combinations; i++)
      counted |= strcmp(but->block.where[i]->name, name) == 0;
    const struct cell *cell = counted ? NULL : be_moved_cell(now, name, move->knot);
    for (size_t i = 0; cell && i < cell->count; i++) {
      const struct be_pull *pull = cell->pulls[i];
      move->pulls += be_moved_is_new(moved, pull) && pull->kind != BE_KIND_VOID;
      move->corrections += be_moved_is_corrected(moved, pull);
    }
  }
}

static void add_move(const struct moved *moved, struct moved_place *place, int knot)
{
  struct move *move = &place->moves[place->count];
  *move = (struct move){.knot = knot,
                        .then = be_moved_index(place->then, knot),
                        .now = be_moved_index(place->now, knot)};
  be_moved_parts(moved, place, move);
  if (!judge(place, move)) return;
  if (move->then != NOT_RANKED) move->n_was = place->then->n[move->then];
  if (move->now != NOT_RANKED) move->n_is = place->now->n[move->now];
  count_own(moved, place->now, NULL, move);
  count_own(moved, place->then, place->now, move);
  place->count++;
}

/* By rank now; those that left come last, by rank then. */
static enum be_status find_moves(const struct moved *moved, struct moved_place *place,
                                 struct be_err *err)
{
  if (!place->then || !place->now) return BE_OK;
  const struct grid *then = &place->then->block, *now = &place->now->block;
  place->moves = be_arena_alloc(moved->step[STEP_NOW]->arena,
                                (then->knots + now->knots) * sizeof *place->moves);
  if (!place->moves) return be_no_memory(err);
  for (size_t i = 0; i < now->knots; i++) add_move(moved, place, now->knot[place->now->order[i]]);
  for (size_t i = 0; i < then->knots; i++) {
    int knot = then->knot[place->then->order[i]];
    if (!be_grid_has(now, knot)) add_move(moved, place, knot);
  }
  return BE_OK;
}

/* ---- all places ---- */

static struct moved_place *find_place(struct moved *moved, const struct place *place)
{
  struct moved_place *found = moved->places;
  for (; found < moved->places + moved->count; found++)
    if (found->group == place->group && strcmp(found->name, place->name) == 0) return found;
  moved->count++;
  *found = (struct moved_place){.name = place->name, .group = place->group};
  return found;
}

static enum be_status rank_places(const struct survey *survey, struct place *places, size_t count,
                                  bool is_now, struct moved *moved, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (!be_place_ranked(&places[i])) continue;
    status = be_place_rank(survey, &places[i], err);
    struct moved_place *place = find_place(moved, &places[i]);
    if (is_now) place->now = places[i].ranking;
    else place->then = places[i].ranking;
  }
  return status;
}

enum be_status be_moved_compare(const struct survey *then, const struct survey *now,
                                struct place *places, size_t count, struct moved *moved,
                                struct be_err *err)
{
  struct place *older;
  size_t older_count;
  *moved = (struct moved){0};
  enum be_status status = be_moved_steps(then, now, moved, err);
  if (status == BE_OK) status = be_places(then, &older, &older_count, err);
  if (status != BE_OK) return status;
  moved->places = be_arena_alloc(now->arena, (older_count + count) * sizeof *moved->places);
  if (!moved->places) return be_no_memory(err);
  status = rank_places(now, places, count, true, moved, err);
  if (status == BE_OK) status = rank_places(then, older, older_count, false, moved, err);
  for (size_t i = 0; i < moved->count && status == BE_OK; i++)
    status = find_moves(moved, &moved->places[i], err);
  return status;
}
