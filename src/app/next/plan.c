/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A group as cells and weights. A knot's value is the mean over the combinations of a complete
 * block of its log mean share, or log mean load where not every knot has a plain line: so a cell
 * weighs 1/combinations, and a set of plain pulls what the pulls divided by it weigh, negative
 * (forms.c). A set that weighs the same in all knots cancels, and is no cell. */
#include "app/next/next.h"
#include "app/scatter.h"

#include <math.h>
#include <string.h>

enum { SPECIMENS_USUAL = 12, SPECIMENS_MAX = 1000, MINUTES_EACH_USUAL = 5, LEAST = 2 };
enum { WEIGHTS_MAX = 10000000 };
/* No knot is tied and pulled faster, and no bench keeps one longer. */
static const double MINUTES_EACH_MIN = 0.1, MINUTES_EACH_MAX = 1440;
/* A knot and two ends; a spool. */
static const double METRES_EACH_MIN = 0.1, METRES_EACH_MAX = 1000;
/* Sums of weights in another order differ by so little. */
static const double SAME_WEIGHT = 1e-12;

double be_plain_minutes(const struct be_tying *asked)
{
  return asked->minutes_each * 3 / MINUTES_EACH_USUAL;
}

enum be_status be_next_usual(struct be_tying *asked, struct be_err *err)
{
  if (asked->specimens && asked->minutes != 0)
    return be_fail(err, BE_WRONG_USE, "specimens and minutes cannot both be given");
  if ((asked->a != NULL) != (asked->b != NULL))
    return be_fail(err, BE_WRONG_USE, "a pair takes two knots, between one and another");
  if (asked->a && asked->top)
    return be_fail(err, BE_WRONG_USE, "first places and a pair cannot both be asked for");
  if (asked->specimens > SPECIMENS_MAX)
    return be_fail(err, BE_WRONG_USE, "at most %d specimens can be planned at once", SPECIMENS_MAX);
  if (asked->minutes_each == 0) asked->minutes_each = MINUTES_EACH_USUAL;
  if (!(asked->minutes_each >= MINUTES_EACH_MIN && asked->minutes_each <= MINUTES_EACH_MAX))
    return be_fail(err, BE_WRONG_USE, "a specimen takes from %g to %g minutes", MINUTES_EACH_MIN,
                   MINUTES_EACH_MAX);
  if (asked->metres_each != 0 &&
      !(asked->metres_each >= METRES_EACH_MIN && asked->metres_each <= METRES_EACH_MAX))
    return be_fail(err, BE_WRONG_USE, "a specimen takes from %g to %g m of line", METRES_EACH_MIN,
                   METRES_EACH_MAX);
  if (asked->minutes != 0 && !(asked->minutes >= asked->minutes_each && isfinite(asked->minutes)))
    return be_fail(err, BE_WRONG_USE, "%g minutes are not enough for a specimen, which takes %g",
                   asked->minutes, asked->minutes_each);
  if (asked->minutes > SPECIMENS_MAX * be_plain_minutes(asked))
    return be_fail(err, BE_WRONG_USE,
                   "%g minutes are more than the %d specimens that can be planned", asked->minutes,
                   SPECIMENS_MAX);
  if (!asked->top) asked->top = 1;
  if (!asked->specimens && asked->minutes == 0) asked->specimens = SPECIMENS_USUAL;
  return BE_OK;
}

/* ---- scatter ---- */

/* Two knots pulled against each other hold what the weaker one holds. */
static bool is_asked(const struct combination *where)
{
  return !be_is_plain(where) && where->design != BE_DESIGN_TWO_DIFFERENT;
}

/* Of the block; where no knot of it has two pulls that differ, of the book. */
static struct scatter_pool pool_of(const struct survey *survey, struct plan *plan)
{
  struct scatter_pool pool = {0, 0};
  const struct grid *block = &plan->block;
  for (size_t c = 0; c < block->combinations; c++)
    for (size_t k = 0; k < block->knots; k++) {
      struct be_summary own =
          be_cell_scatter(be_grid_cell(block, k, c), be_grid_by_share(block, c));
      be_pool_add(&pool, &own);
    }
  plan->borrowed = pool.df == 0;
  for (size_t i = 0; i < survey->cells_count && plan->borrowed; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n == 0 || !is_asked(&survey->combinations[cell->combination])) continue;
    struct be_summary own = be_cell_scatter(cell, false);
    be_pool_add(&pool, &own);
  }
  plan->known = pool.df > 0;
  return pool;
}

/* A set with lower bounds tells its mean better than by its events alone. */
static double deviation_of_set(const struct survey *survey, const struct plain_set *set,
                               double pooled)
{
  const struct plain_family *family = &survey->families[set->family];
  if (!(family->df > 0) || !(family->cv2 > 0)) return pooled;
  struct be_summary own = {.n = (size_t)family->df + 1,
                           .sd = sqrt(family->cv2 * (double)set->n / set->worth)};
  return be_next_deviation(&own, pooled);
}

/* ---- values and weights ---- */

static const struct form *form_of(const struct grid *block, size_t knot, size_t combination)
{
  const struct cell *cell = be_grid_cell(block, knot, combination);
  return be_grid_by_share(block, combination) ? &cell->log_share : &cell->log_load;
}

/* The weights of the sets of plain pulls: knots x sets. */
static void weigh_sets(const struct survey *survey, const struct grid *block, double *weights)
{
  for (size_t k = 0; k < block->knots; k++)
    for (size_t c = 0; c < block->combinations; c++) {
      const struct form *form = form_of(block, k, c);
      for (size_t i = 0; i < form->count && form->terms[i].source < survey->sets_count; i++)
        weights[k * survey->sets_count + form->terms[i].source] +=
            form->terms[i].weight / (double)block->combinations;
    }
}

static bool cancels(const struct survey *survey, const struct grid *block, const double *weights,
                    size_t set)
{
  for (size_t k = 1; k < block->knots; k++)
    if (fabs(weights[k * survey->sets_count + set] - weights[set]) > SAME_WEIGHT) return false;
  return true;
}

static enum be_status make_room(const struct survey *survey, struct plan *plan, size_t sets,
                                double **value, double **weights, struct be_next_cell **cell,
                                struct be_err *err)
{
  struct be_arena *arena = survey->arena;
  size_t knots = plan->block.knots, cells = knots * plan->block.combinations + sets;
  if (cells > WEIGHTS_MAX / knots)
    return be_fail(err, BE_TOO_LARGE, "%s: %zu knots by %zu cells are too many to plan for",
                   plan->place, knots, cells);
  plan->spots = be_arena_alloc(arena, cells * sizeof *plan->spots);
  plan->order = be_arena_alloc(arena, knots * sizeof *plan->order);
  *value = be_arena_alloc(arena, knots * sizeof **value);
  *weights = be_arena_alloc(arena, knots * cells * sizeof **weights);
  *cell = be_arena_alloc(arena, cells * sizeof **cell);
  if (!plan->spots || !plan->order || !*value || !*weights || !*cell) return be_no_memory(err);
  plan->state = (struct be_next_state){knots, cells, *value, *weights, *cell, 0};
  return BE_OK;
}

static enum be_status fill_state(const struct survey *survey, const struct be_tying *asked,
                                 struct plan *plan, const double *of_sets,
                                 struct be_next_cell **cells_of, struct be_err *err)
{
  const struct grid *block = &plan->block;
  struct scatter_pool pool = pool_of(survey, plan);
  double pooled = sqrt(pool.squares / pool.df), *value = NULL, *weights = NULL;
  struct be_next_cell *cell = NULL;
  size_t sets = 0, at = 0;
  for (size_t s = 0; s < survey->sets_count; s++) sets += !cancels(survey, block, of_sets, s);
  enum be_status status = make_room(survey, plan, sets, &value, &weights, &cell, err);
  if (status != BE_OK) return status;
  size_t cells = plan->state.cells;
  *cells_of = cell;
  plan->state.df = pool.df;
  for (size_t k = 0; k < block->knots; k++)
    for (size_t c = 0; c < block->combinations; c++, at++) {
      const struct cell *from = be_grid_cell(block, k, c);
      struct be_summary own = be_cell_scatter(from, be_grid_by_share(block, c));
      value[k] += form_of(block, k, c)->value / (double)block->combinations;
      weights[k * cells + at] = 1 / (double)block->combinations;
      plan->spots[at].cell = from;
      cell[at] = (struct be_next_cell){be_next_deviation(&own, pooled), from->n, LEAST, SIZE_MAX,
                                       asked->minutes_each};
    }
  for (size_t s = 0; s < survey->sets_count; s++) {
    if (cancels(survey, block, of_sets, s)) continue;
    const struct plain_set *set = &survey->sets[s];
    plan->spots[at].set = set;
    cell[at] = (struct be_next_cell){deviation_of_set(survey, set, pooled), set->n, LEAST, SIZE_MAX,
                                     be_plain_minutes(asked)};
    for (size_t k = 0; k < block->knots; k++)
      weights[k * cells + at] = of_sets[k * survey->sets_count + s];
    at++;
  }
  return BE_OK;
}

static void sort_knots(struct plan *plan)
{
  const double *value = plan->state.value;
  for (size_t k = 0; k < plan->state.knots; k++) {
    size_t at = k;
    for (; at > 0 && value[plan->order[at - 1]] < value[k]; at--)
      plan->order[at] = plan->order[at - 1];
    plan->order[at] = k;
  }
}

static bool any_mixed(const struct grid *block)
{
  for (size_t c = 0; c < block->combinations; c++)
    for (size_t a = 0; a < block->knots; a++)
      for (size_t b = a + 1; b < block->knots; b++)
        if (!be_fair(be_grid_cell(block, a, c), be_grid_cell(block, b, c))) return true;
  return false;
}

/* ---- the list ---- */

/* The list as far as there is line for it: what can no longer be tied is closed, and the rest asked
 * anew, so that cells may share a spool. */
static enum be_status list_what_bears(const struct survey *survey, const struct be_tying *asked,
                                      struct plan *plan, size_t most, struct be_next_cell *cell,
                                      struct be_err *err)
{
  double minutes = asked->minutes > 0 ? asked->minutes : INFINITY;
  enum be_status status = be_stock_begin(survey, asked, &plan->stock, err);
  size_t got = 1, taken = 0;
  while (status == BE_OK && taken < got) {
    plan->stock.closed = 0;
    for (size_t i = 0; i < plan->state.cells; i++) {
      bool bears = be_stock_bears(&plan->stock, &plan->spots[i]);
      cell[i].most = bears ? SIZE_MAX : cell[i].n;
      plan->stock.closed += !bears;
    }
    struct be_next *list = plan->list + plan->count;
    status =
        be_next_list(&plan->state, &plan->question, minutes, most - plan->count, list, &got, err);
    for (taken = 0; status == BE_OK && taken < got; taken++) {
      size_t at = list[taken].cell;
      if (!be_stock_take(&plan->stock, &plan->spots[at])) break;
      cell[at].n++;
      minutes -= cell[at].cost;
    }
    plan->count += taken;
  }
  for (size_t i = 0; i < plan->count; i++) cell[plan->list[i].cell].n--;
  return status;
}

static enum be_status make_list(const struct survey *survey, const struct be_tying *asked,
                                struct plan *plan, struct be_next_cell *cell, struct be_err *err)
{
  size_t most = asked->specimens ? asked->specimens : SPECIMENS_MAX;
  plan->list = be_arena_alloc(survey->arena, most * sizeof *plan->list);
  if (!plan->list) return be_no_memory(err);
  enum be_status status = be_next_wrong(&plan->state, &plan->question, &plan->wrong, err);
  if (status == BE_OK && !plan->stop.settled)
    status = list_what_bears(survey, asked, plan, most, cell, err);
  if (status != BE_OK) return status;
  plan->after = plan->count ? plan->list[plan->count - 1].wrong : plan->wrong;
  for (size_t i = 0; i < plan->count; i++) {
    struct spot *spot = &plan->spots[plan->list[i].cell];
    if (spot->tied++ == 0) spot->first = i + 1;
    plan->minutes += cell[plan->list[i].cell].cost;
  }
  return BE_OK;
}

static enum be_status make_plan(const struct survey *survey, const struct be_tying *asked,
                                struct plan *plan, struct be_err *err)
{
  size_t room = plan->block.knots * survey->sets_count;
  double *of_sets = be_alloc_array(room ? room : 1, sizeof *of_sets);
  if (!of_sets) return be_no_memory(err);
  for (size_t i = 0; i < room; i++) of_sets[i] = 0;
  weigh_sets(survey, &plan->block, of_sets);
  struct be_next_cell *cell = NULL;
  enum be_status status = fill_state(survey, asked, plan, of_sets, &cell, err);
  be_free(of_sets);
  if (status != BE_OK) return status;
  sort_knots(plan);
  plan->mixed = any_mixed(&plan->block);
  plan->wrong = plan->after = NAN;
  status = be_stop_look(survey, plan, err);
  return status == BE_OK && plan->known ? make_list(survey, asked, plan, cell, err) : status;
}

/* ---- every question ---- */

static char small_letter(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool has_part(const char *text, const char *part)
{
  if (!part) return true;
  size_t size = strlen(part), all = strlen(text);
  for (size_t at = 0; at + size <= all; at++) {
    size_t i = 0;
    while (i < size && small_letter(text[at + i]) == small_letter(part[i])) i++;
    if (i == size) return true;
  }
  return false;
}

/* By the chance of a wrong answer; unknown last. */
static void insert_plan(struct plans *plans, const struct plan *plan)
{
  size_t at = plans->count++;
  for (; at > 0 && !(plans->list[at - 1].wrong >= plan->wrong) && !isnan(plan->wrong); at--)
    plans->list[at] = plans->list[at - 1];
  plans->list[at] = *plan;
}

static enum be_status ask_group(const struct survey *survey, const struct be_tying *asked,
                                const struct combination *const *where, size_t count,
                                struct plans *plans, struct be_err *err)
{
  struct plan plan = {.place = where[0]->group, .question = {BE_QUESTION_TOP, asked->top, 0, 0}};
  plans->named = true;
  enum be_status status = be_grid_make(survey, where, count, &plan.all, err);
  if (status == BE_OK) status = be_grid_block(survey, &plan.all, &plan.block, err);
  if (status != BE_OK || plan.block.knots < 2) return status;
  if (plan.block.knots <= asked->top) {
    plans->small++;
    if (plan.block.knots > plans->small_knots) plans->small_knots = plan.block.knots;
    return BE_OK;
  }
  status = make_plan(survey, asked, &plan, err);
  if (status == BE_OK) insert_plan(plans, &plan);
  return status;
}

/* Combinations stand by group. */
static enum be_status ask_groups(const struct survey *survey, const struct be_tying *asked,
                                 const struct combination **where, struct plans *plans,
                                 struct be_err *err)
{
  size_t count = survey->combinations_count;
  enum be_status status = BE_OK;
  for (size_t i = 0, next; i < count && status == BE_OK; i = next) {
    const char *group = survey->combinations[i].group;
    size_t members = 0;
    for (next = i; next < count && strcmp(survey->combinations[next].group, group) == 0; next++)
      if (is_asked(&survey->combinations[next])) where[members++] = &survey->combinations[next];
    if (members && has_part(group, asked->group))
      status = ask_group(survey, asked, where, members, plans, err);
  }
  return status;
}

/* Over every combination where the two can be compared, as versus does; but one pull of a knot
 * is enough to be given a second. */
static enum be_status ask_pair(const struct survey *survey, const struct be_tying *asked,
                               const struct combination **where, const int knots[2],
                               struct plans *plans, struct be_err *err)
{
  size_t count = 0;
  struct plan plan = {.question = {BE_QUESTION_PAIR, 0, 0, 1}};
  for (size_t i = 0; i < survey->combinations_count; i++) {
    const struct combination *at = &survey->combinations[i];
    if (!is_asked(at) || !has_part(at->group, asked->group)) continue;
    plans->named = true;
    const struct cell *a = be_cell_find(survey, at, knots[0]);
    const struct cell *b = be_cell_find(survey, at, knots[1]);
    if (!a || !b) continue;
    if (be_fair(a, b)) where[count++] = at;
    else plans->passed++;
  }
  plan.block = (struct grid){2, count, be_arena_alloc(survey->arena, 2 * sizeof(int)), where,
                             be_arena_alloc(survey->arena, 2 * count * sizeof(struct cell *))};
  plan.place = be_arena_format(survey->arena, "%s or %s", be_knot_name(survey, knots[0]),
                               be_knot_name(survey, knots[1]));
  if (!plan.block.knot || !plan.block.cell || !plan.place) return be_no_memory(err);
  for (size_t k = 0; k < 2; k++) {
    plan.block.knot[k] = knots[k];
    for (size_t c = 0; c < count; c++)
      plan.block.cell[k * count + c] = be_cell_find(survey, where[c], knots[k]);
  }
  plan.all = plan.block;
  if (count == 0) return BE_OK;
  enum be_status status = make_plan(survey, asked, &plan, err);
  if (status == BE_OK) insert_plan(plans, &plan);
  return status;
}

enum be_status be_plans_make(const struct survey *survey, const struct be_tying *asked, int a,
                             int b, struct plans *plans, struct be_err *err)
{
  *plans = (struct plans){0};
  size_t count = survey->combinations_count;
  const struct combination **where = be_arena_alloc(survey->arena, count * sizeof *where);
  plans->list = be_arena_alloc(survey->arena, (count + 1) * sizeof *plans->list);
  if (!where || !plans->list) return be_no_memory(err);
  if (a >= 0) return ask_pair(survey, asked, where, (const int[2]){a, b}, plans, err);
  return ask_groups(survey, asked, where, plans, err);
}
