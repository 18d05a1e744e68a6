/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A survey seen with factors: cells that differ only by a factor are put together, so that the
 * model finds rows of one knot, or of one combination, that differ by it. */
#include "app/model/model.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool same_text(const char *a, const char *b)
{
  return a == b || (a && b && be_text_same(a, b));
}

static bool is_single(const struct survey *survey, const struct cell *cell)
{
  return survey->combinations[cell->combination].design == BE_DESIGN_SINGLE && cell->knot >= 0 &&
         cell->knot_b < 0;
}

/* The nth pull of a cell that a model takes: events first. */
static const struct be_pull *nth(const struct cell *cell, size_t i)
{
  return i < cell->n ? cell->events[i] : cell->lower[i - cell->n];
}

/* ---- which factors can be used at all ---- */

/* Of a knot whose turns are not known nothing is to be told of turns: it stands by itself. */
static bool same_but_turns(const struct be_knot *a, const struct be_knot *b)
{
  return same_text(a->name, b->name) && same_text(a->version, b->version) && !isnan(a->turns) &&
         !isnan(b->turns);
}

static bool any_knot_differs_by_turns(const struct survey *survey)
{
  const struct be_record *record = &survey->record;
  for (size_t a = 0; a < record->knots_count; a++)
    for (size_t b = a + 1; b < record->knots_count; b++)
      if (same_but_turns(&record->knots[a], &record->knots[b]) &&
          fabs(record->knots[a].turns - record->knots[b].turns) > 0)
        return true;
  return false;
}

static enum be_status judge(const struct survey *survey, enum be_factor factor, const char **why,
                            struct be_err *err)
{
  size_t all = 0, told = 0;
  bool differ = false;
  struct factor_value first = {NULL, NAN};
  for (size_t c = 0; c < survey->cells_count; c++) {
    const struct cell *cell = &survey->cells[c];
    if (!is_single(survey, cell)) continue;
    for (size_t i = 0; i < cell->n + cell->lower_count; i++, all++) {
      struct factor_value value = be_factor_value(survey, factor, nth(cell, i));
      if (!be_factor_told(&value)) continue;
      if (told++ == 0) first = value;
      differ |= !be_factor_same(&value, &first);
    }
  }
  if (told == 0) *why = "not recorded";
  else if (2 * told < all && factor != BE_FACTOR_TURNS)
    *why = be_arena_format(survey->arena, "recorded of %zu of %zu pulls only", told, all);
  else if (!differ)
    *why =
        be_arena_format(survey->arena, "all are %s", be_factor_say(survey->arena, factor, &first));
  else if (factor == BE_FACTOR_TURNS && !any_knot_differs_by_turns(survey))
    *why = "no knot of one name and version was tied with different turns";
  else return BE_OK;
  return *why ? BE_OK : be_no_memory(err);
}

enum be_status be_model_usable(const struct survey *survey, unsigned *factors, struct be_err *err)
{
  *factors = 0;
  for (int factor = 0; factor < BE_FACTORS; factor++) {
    const char *why = NULL;
    enum be_status status = judge(survey, (enum be_factor)factor, &why, err);
    if (status != BE_OK) return status;
    if (!why) *factors |= 1U << factor;
  }
  return BE_OK;
}

/* ---- what is one ---- */

struct part {
  const struct cell *cell;
  size_t where;
  int knot;
};

static int by_place(const void *a_, const void *b_)
{
  const struct part *a = a_, *b = b_;
  if (a->where != b->where) return a->where < b->where ? -1 : 1;
  if (a->knot != b->knot) return a->knot < b->knot ? -1 : 1;
  return a->cell < b->cell ? -1 : a->cell > b->cell;
}

static bool uses(const struct survey *survey, enum be_factor factor)
{
  return survey->how.factors >> factor & 1;
}

/* Knots that differ by turns alone have the first of them for all. */
static enum be_status join_knots(struct survey *seen, int *knot, struct be_err *err)
{
  size_t count = seen->record.knots_count;
  struct be_knot *knots = be_arena_alloc(seen->arena, count * sizeof *knots);
  if (!knots) return be_no_memory(err);
  for (size_t k = 0; k < count; k++) {
    size_t first = k;
    knots[k] = seen->record.knots[k];
    for (size_t i = 0; uses(seen, BE_FACTOR_TURNS) && i < k && first == k; i++)
      if (same_but_turns(&seen->record.knots[i], &knots[k])) first = i;
    knot[k] = (int)first;
    if (first == k) continue;
    const char *version = knots[k].version;
    knots[first].full = be_arena_format(seen->arena, "%s%s%s%s", knots[k].name, version ? " (" : "",
                                        version ? version : "", version ? ")" : "");
    if (!knots[first].full) return be_no_memory(err);
  }
  seen->record.knots = knots;
  return BE_OK;
}

/* ", dry" stands at the end of the name of a combination of single knots, and of its group. */
static const char *without_soak(struct be_arena *arena, const char *name)
{
  const char *comma = strrchr(name, ',');
  return comma ? be_arena_text(arena, name, (size_t)(comma - name)) : name;
}

static bool same_but_soak(const struct combination *a, const struct combination *b)
{
  return a->line_a == b->line_a && a->line_b == b->line_b && same_text(a->hardware, b->hardware);
}

static enum be_status add_combination(struct survey *seen, struct combination where,
                                      struct be_err *err)
{
  if (uses(seen, BE_FACTOR_SOAK)) {
    where.soak = BE_SOAK_UNKNOWN;
    where.name = without_soak(seen->arena, where.name);
    where.group = without_soak(seen->arena, where.group);
    if (!where.name || !where.group) return be_no_memory(err);
  }
  where.first_cell = where.cells_count = 0;
  seen->combinations[seen->combinations_count++] = where;
  return BE_OK;
}

/* Combinations of a group stand together, groups in the order met. */
static void sort_by_group(struct survey *seen, size_t *now)
{
  size_t count = seen->combinations_count;
  struct combination *list = seen->combinations;
  for (size_t i = 0; i < count; i++) now[i] = i;
  for (size_t i = 1; i < count; i++) {
    size_t at = i;
    while (at > 0 && strcmp(list[at - 1].group, list[i].group) != 0) at--;
    if (at == 0) continue;
    struct combination moved = list[i];
    memmove(&list[at + 1], &list[at], (i - at) * sizeof *list);
    list[at] = moved;
    for (size_t k = 0; k <= i; k++)
      if (now[k] == i) now[k] = at;
      else if (now[k] >= at && now[k] < i) now[k]++;
  }
}

static bool has_single(const struct survey *survey, const struct combination *where)
{
  bool has = false;
  for (size_t i = 0; i < where->cells_count; i++)
    has |= is_single(survey, &survey->cells[where->first_cell + i]);
  return has;
}

static enum be_status join_combinations(const struct survey *survey, struct survey *seen,
                                        size_t *where, struct be_err *err)
{
  size_t count = survey->combinations_count;
  size_t *now = be_arena_alloc(seen->arena, count * sizeof *now);
  seen->combinations = be_arena_alloc(seen->arena, count * sizeof *seen->combinations);
  seen->combinations_count = 0;
  if (!now || !seen->combinations) return be_no_memory(err);
  for (size_t c = 0; c < count; c++) {
    where[c] = SIZE_MAX;
    if (!has_single(survey, &survey->combinations[c])) continue;
    size_t k = uses(seen, BE_FACTOR_SOAK) ? 0 : seen->combinations_count;
    while (k < seen->combinations_count &&
           !same_but_soak(&seen->combinations[k], &survey->combinations[c]))
      k++;
    where[c] = k;
    if (k < seen->combinations_count) continue;
    enum be_status status = add_combination(seen, survey->combinations[c], err);
    if (status != BE_OK) return status;
  }
  sort_by_group(seen, now);
  for (size_t c = 0; c < count; c++)
    if (where[c] != SIZE_MAX) where[c] = now[where[c]];
  return BE_OK;
}

/* ---- cells ---- */

/* The first factor that the pull lacks; BE_FACTORS: none. A knot without turns stays, as tied. */
static int lacks(const struct survey *seen, const struct be_pull *pull)
{
  for (int factor = BE_FACTOR_TURNS + 1; factor < BE_FACTORS; factor++) {
    struct factor_value value = be_factor_value(seen, (enum be_factor)factor, pull);
    if (uses(seen, (enum be_factor)factor) && !be_factor_told(&value)) return factor;
  }
  return BE_FACTORS;
}

static void add_part(struct seen *seen, struct cell *to, const struct cell *from, bool *shared)
{
  for (size_t i = 0; i < from->n + from->lower_count; i++) {
    const struct be_pull *pull = nth(from, i);
    int lacking = lacks(&seen->survey, pull);
    if (lacking < BE_FACTORS) {
      seen->without[lacking]++;
      continue;
    }
    if (i >= from->n) {
      to->lower[to->lower_count++] = pull;
      continue;
    }
    *shared &= from->shares != NULL;
    if (from->shares) {
      to->shares[to->n] = from->shares[i];
      to->share.value += from->shares[i];
    }
    to->loads[to->n] = from->loads[i];
    to->load.value += from->loads[i];
    to->events[to->n++] = pull;
  }
}

/* Parts [from, to) as one cell. */
static enum be_status put_together(struct seen *seen, const struct part *from,
                                   const struct part *to, struct be_err *err)
{
  struct be_arena *arena = seen->survey.arena;
  struct cell *cell = &seen->survey.cells[seen->survey.cells_count++];
  struct combination *where = &seen->survey.combinations[from->where];
  size_t events = 0, lower = 0;
  bool shared = true;
  for (const struct part *part = from; part < to; part++) {
    events += part->cell->n;
    lower += part->cell->lower_count;
  }
  *cell = (struct cell){.combination = from->where, .knot = from->knot, .knot_b = -1};
  cell->events = be_arena_alloc(arena, events * sizeof *cell->events);
  cell->loads = be_arena_alloc(arena, events * sizeof *cell->loads);
  cell->shares = be_arena_alloc(arena, events * sizeof *cell->shares);
  cell->lower = be_arena_alloc(arena, lower * sizeof *cell->lower);
  if (!cell->events || !cell->loads || !cell->shares || !cell->lower) return be_no_memory(err);
  for (const struct part *part = from; part < to; part++) add_part(seen, cell, part->cell, &shared);
  if (!shared || cell->n == 0) cell->shares = NULL;
  cell->load.value /= (double)cell->n;
  cell->efficiency.value = cell->share.value /= (double)cell->n;
  if (where->cells_count++ == 0) where->first_cell = seen->survey.cells_count - 1;
  return BE_OK;
}

static enum be_status join_cells(const struct survey *survey, struct seen *seen, const int *knot,
                                 const size_t *where, struct be_err *err)
{
  struct be_arena *arena = survey->arena;
  size_t count = 0;
  struct part *parts = be_arena_alloc(arena, survey->cells_count * sizeof *parts);
  seen->survey.cells = be_arena_alloc(arena, survey->cells_count * sizeof *seen->survey.cells);
  seen->survey.cells_count = 0;
  if (!parts || !seen->survey.cells) return be_no_memory(err);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (is_single(survey, cell))
      parts[count++] = (struct part){cell, where[cell->combination], knot[cell->knot]};
  }
  qsort(parts, count, sizeof *parts, by_place);
  enum be_status status = BE_OK;
  for (size_t i = 0, next; i < count && status == BE_OK; i = next) {
    for (next = i + 1;
         next < count && parts[next].where == parts[i].where && parts[next].knot == parts[i].knot;)
      next++;
    status = put_together(seen, parts + i, parts + next, err);
  }
  return status;
}

/* Combinations of two knots against each other, or of none, hold no cell here and are left out, so
 * that every one has cells and cells stand in their order. */
enum be_status be_model_see(const struct survey *survey, struct seen *seen, struct be_err *err)
{
  *seen = (struct seen){.survey = *survey};
  for (int factor = 0; factor < BE_FACTORS; factor++) {
    if (!uses(survey, (enum be_factor)factor)) continue;
    enum be_status status = judge(survey, (enum be_factor)factor, &seen->why[factor], err);
    if (status != BE_OK) return status;
    if (seen->why[factor]) seen->survey.how.factors &= ~(1U << factor);
  }
  int *knot = be_arena_alloc(survey->arena, survey->record.knots_count * sizeof *knot);
  size_t *where = be_arena_alloc(survey->arena, survey->combinations_count * sizeof *where);
  if (!knot || !where) return be_no_memory(err);
  enum be_status status = join_knots(&seen->survey, knot, err);
  if (status == BE_OK) status = join_combinations(survey, &seen->survey, where, err);
  return status == BE_OK ? join_cells(survey, seen, knot, where, err) : status;
}
