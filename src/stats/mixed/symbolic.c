/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the factor has numbers. The pattern of a column is that of M's column together with the
 * patterns of the columns whose first row below the diagonal is this one (George and Liu 1981).
 * Neighbours whose patterns are alike become one supernode (Ng and Peyton 1993); a supernode
 * never holds both random and fixed columns. */
#include "stats/mixed/inside.h"

#include <string.h>

/* Places of rows, not scalars; the pattern of supernode s is list[begin[s]] up to
 * list[begin[s + 1]], its own columns first. */
struct planning {
  const struct be_cross *pattern;
  size_t n, fixed; /* fixed: first place of a fixed column */
  uint32_t *list;
  size_t list_size, list_room;
  size_t *begin;
  uint32_t *columns; /* how many each supernode has */
  size_t supers;
  uint32_t *child, *sibling; /* closed supernodes by the place of their first row below */
  uint32_t *mark, *found;
  size_t found_count;
};

/* No factor may take more than 8 GiB. */
static const size_t factor_most = (size_t)1 << 30;

/* Shell's sort: the lists are short and need no heap. */
static void sort_places(uint32_t *x, size_t count)
{
  static const size_t gaps[] = {88573, 29524, 9841, 3280, 1093, 364, 121, 40, 13, 4, 1};
  for (size_t g = 0; g < sizeof gaps / sizeof gaps[0]; g++)
    for (size_t i = gaps[g]; i < count; i++) {
      uint32_t moved = x[i];
      size_t j = i;
      for (; j >= gaps[g] && x[j - gaps[g]] > moved; j -= gaps[g]) x[j] = x[j - gaps[g]];
      x[j] = moved;
    }
}

static void find(struct planning *planning, uint32_t column, const uint32_t *rows, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    if (rows[i] < column || planning->mark[rows[i]] == column + 1) continue;
    planning->mark[rows[i]] = column + 1;
    planning->found[planning->found_count++] = rows[i];
  }
}

static size_t below(const struct planning *planning, size_t s)
{
  size_t end = s + 1 == planning->supers ? planning->list_size : planning->begin[s + 1];
  return end - planning->begin[s] - planning->columns[s];
}

static void find_below(struct planning *planning, uint32_t column, size_t s)
{
  find(planning, column, planning->list + planning->begin[s] + planning->columns[s],
       below(planning, s));
}

/* Hangs the last supernode under the column of its first row below. */
static void close_super(struct planning *planning)
{
  size_t s = planning->supers - 1;
  if (below(planning, s) == 0) return;
  uint32_t parent = planning->list[planning->begin[s] + planning->columns[s]];
  planning->sibling[s] = planning->child[parent];
  planning->child[parent] = (uint32_t)s;
}

static enum be_status open_super(struct planning *planning, struct be_err *err)
{
  sort_places(planning->found, planning->found_count);
  void *list = planning->list;
  enum be_status status = be_grow(&list, &planning->list_room, sizeof *planning->list,
                                  planning->list_size + planning->found_count, factor_most, err);
  planning->list = list;
  if (status != BE_OK) return status;
  memcpy(planning->list + planning->list_size, planning->found,
         planning->found_count * sizeof *planning->found);
  planning->begin[planning->supers] = planning->list_size;
  planning->columns[planning->supers++] = 1;
  planning->list_size += planning->found_count;
  return BE_OK;
}

/* Whether the columns of the last supernode, and the one at hand, are worth one pattern: the rows
 * that only the latter has are then zeros in the former (Ashcraft and Grimes 1989). */
static bool worth(const struct planning *planning, size_t last, size_t under)
{
  size_t more = planning->found_count - under, columns = planning->columns[last];
  return more * 4 <= planning->found_count && (more == 0 || columns < 32);
}

/* Takes the column at hand into the last supernode. */
static enum be_status widen(struct planning *planning, struct be_err *err)
{
  size_t last = planning->supers - 1, from = planning->begin[last] + planning->columns[last]++;
  if (from + planning->found_count == planning->list_size) return BE_OK;
  sort_places(planning->found, planning->found_count);
  void *list = planning->list;
  enum be_status status = be_grow(&list, &planning->list_room, sizeof *planning->list,
                                  from + planning->found_count, factor_most, err);
  planning->list = list;
  if (status != BE_OK) return status;
  memcpy(planning->list + from, planning->found, planning->found_count * sizeof *planning->found);
  planning->list_size = from + planning->found_count;
  return BE_OK;
}

static enum be_status plan_column(struct planning *planning, uint32_t k, struct be_err *err)
{
  const struct be_cross *pattern = planning->pattern;
  planning->found_count = 0;
  find(planning, k, pattern->row + pattern->start[k], pattern->start[k + 1] - pattern->start[k]);
  for (uint32_t s = planning->child[k]; s != BE_NOBODY; s = planning->sibling[s])
    find_below(planning, k, s);
  if (planning->supers > 0) {
    size_t last = planning->supers - 1, under = below(planning, last);
    const uint32_t *rows = planning->list + planning->begin[last] + planning->columns[last];
    if (under > 0 && rows[0] == k) {
      find_below(planning, k, last);
      if (k != planning->fixed && worth(planning, last, under)) return widen(planning, err);
    }
    if (under > 0 && rows[0] != k) close_super(planning);
  }
  return open_super(planning, err);
}

static enum be_status plan_columns(struct planning *planning, struct be_err *err)
{
  size_t n = planning->n;
  planning->begin = be_alloc_array(n + 1, sizeof *planning->begin);
  planning->columns = be_alloc_array(n, sizeof *planning->columns);
  planning->child = be_alloc_array(n, sizeof *planning->child);
  planning->sibling = be_alloc_array(n, sizeof *planning->sibling);
  planning->mark = be_alloc_array(n, sizeof *planning->mark);
  planning->found = be_alloc_array(n, sizeof *planning->found);
  if (!planning->begin || !planning->columns || !planning->child || !planning->sibling ||
      !planning->mark || !planning->found)
    return be_fail(err, BE_NO_MEMORY, "no memory to plan a mixed model");
  for (size_t k = 0; k < n; k++) planning->child[k] = BE_NOBODY;
  enum be_status status = BE_OK;
  for (size_t k = 0; k < n && status == BE_OK; k++)
    status = plan_column(planning, (uint32_t)k, err);
  return status;
}

/* ---- from places to scalars ---- */

static void fill_super(const struct planning *planning, size_t s, struct be_factor *factor,
                       size_t *row_count)
{
  struct be_super *super = &factor->supers[s];
  const uint32_t *list = planning->list + planning->begin[s];
  size_t count = below(planning, s) + planning->columns[s];
  super->first = list[0];
  super->count = planning->columns[s];
  super->scalar = factor->scalar[super->first];
  super->width = factor->scalar[super->first + super->count] - super->scalar;
  super->rows_at = *row_count;
  super->values_at = factor->size;
  for (size_t i = 0; i < count; i++)
    for (uint32_t r = factor->scalar[list[i]]; r < factor->scalar[list[i] + 1]; r++) {
      if (factor->rows) factor->rows[*row_count] = r;
      ++*row_count;
    }
  if (factor->rows) factor->rows[*row_count] = (uint32_t)factor->columns;
  ++*row_count;
  super->rows = (uint32_t)(*row_count - super->rows_at);
  factor->size += (size_t)super->rows * super->width;
  for (uint32_t c = 0; c < super->width; c++) factor->super_of[super->scalar + c] = (uint32_t)s;
}

static void name_places(const struct be_nodes *nodes, const uint32_t *place,
                        struct be_factor *factor)
{
  for (size_t k = 0; k < nodes->count; k++) factor->node[place[k]] = (uint32_t)k;
  size_t scalar = 0;
  for (size_t k = 0; k < nodes->count; k++) {
    factor->term[k] = (uint32_t)be_nodes_term(nodes, factor->node[k]);
    factor->scalar[k] = (uint32_t)scalar;
    scalar += be_nodes_width(nodes, factor->node[k]);
  }
  factor->scalar[nodes->count] = (uint32_t)scalar;
}

static enum be_status fill_factor(const struct planning *planning, struct be_arena *arena,
                                  struct be_factor *factor, struct be_err *err)
{
  size_t columns = factor->columns, supers = planning->supers, row_count = 0;
  factor->super_count = supers;
  factor->supers = be_arena_array(arena, supers, sizeof *factor->supers);
  factor->super_of = be_arena_array(arena, columns + 1, sizeof *factor->super_of);
  factor->local = be_arena_array(arena, columns + 1, sizeof *factor->local);
  factor->head = be_arena_array(arena, supers, sizeof *factor->head);
  factor->next = be_arena_array(arena, supers, sizeof *factor->next);
  factor->at = be_arena_array(arena, supers, sizeof *factor->at);
  factor->right = be_arena_array(arena, columns, sizeof *factor->right);
  if (!factor->supers || !factor->super_of || !factor->local || !factor->head || !factor->next ||
      !factor->at || !factor->right)
    return be_fail(err, BE_NO_MEMORY, "no memory for the factor of a mixed model");
  for (size_t s = 0; s < supers; s++) fill_super(planning, s, factor, &row_count);
  if (factor->size > factor_most) {
    be_fail(err, BE_TOO_LARGE, "the levels of the random terms meet in too many ways: %zu numbers",
            factor->size);
    return be_fail_remedy(err, "leave out a random term with many levels");
  }
  factor->rows = be_arena_array(arena, row_count, sizeof *factor->rows);
  factor->values = be_arena_array(arena, factor->size, sizeof *factor->values);
  if (!factor->rows || !factor->values)
    return be_fail(err, BE_NO_MEMORY, "no memory for %zu numbers of a mixed model", factor->size);
  row_count = factor->size = 0;
  for (size_t s = 0; s < supers; s++) fill_super(planning, s, factor, &row_count);
  return BE_OK;
}

/* Where each block of M begins in the factor: a node's rows always stay together. */
static void find_blocks(struct be_factor *factor)
{
  const struct be_cross *cross = &factor->cross;
  for (size_t s = 0; s < factor->super_count; s++) {
    const struct be_super *super = &factor->supers[s];
    for (uint32_t i = 0; i < super->rows; i++) factor->local[factor->rows[super->rows_at + i]] = i;
    for (uint32_t k = super->first; k < super->first + super->count; k++)
      for (size_t b = cross->start[k]; b < cross->start[k + 1]; b++)
        factor->block_at[b] = (uint32_t)(super->values_at +
                                         (size_t)(factor->scalar[k] - super->scalar) * super->rows +
                                         factor->local[factor->scalar[cross->row[b]]]);
  }
}

static bool small(const struct be_super *super)
{
  return super->width == 1 && super->rows <= BE_SMALL_ROWS;
}

/* The products of a small column's numbers below its diagonal, pair by pair, y's square aside. */
static void find_spread(struct be_factor *factor)
{
  uint32_t at = 0;
  for (size_t s = 0; s < factor->super_count; s++) {
    const struct be_super *super = &factor->supers[s];
    const uint32_t *rows = factor->rows + super->rows_at;
    factor->spread_at[s] = small(super) ? at : BE_NOBODY;
    for (uint32_t a = 1; a + 1 < super->rows && small(super); a++) {
      const struct be_super *owner = &factor->supers[factor->super_of[rows[a]]];
      const uint32_t *theirs = factor->rows + owner->rows_at;
      for (uint32_t b = a, i = 0; b < super->rows; b++) {
        while (theirs[i] != rows[b]) i++;
        factor->spread[at++] =
            (uint32_t)(owner->values_at + (size_t)(rows[a] - owner->scalar) * owner->rows + i);
      }
    }
  }
}

static enum be_status plan_places(struct be_arena *arena, struct be_factor *factor,
                                  struct be_err *err)
{
  size_t spread = 0;
  for (size_t s = 0; s < factor->super_count; s++)
    if (small(&factor->supers[s]))
      spread += (size_t)factor->supers[s].rows * factor->supers[s].rows / 2;
  factor->block_at =
      be_arena_array(arena, factor->cross.start[factor->nodes], sizeof *factor->block_at);
  factor->spread_at = be_arena_array(arena, factor->super_count, sizeof *factor->spread_at);
  factor->spread = be_arena_array(arena, spread, sizeof *factor->spread);
  if (!factor->block_at || !factor->spread_at || !factor->spread)
    return be_fail(err, BE_NO_MEMORY, "no memory to plan a mixed model");
  find_blocks(factor);
  find_spread(factor);
  return BE_OK;
}

enum be_status be_factor_plan(const struct be_nodes *nodes, const struct be_cross *cross,
                              const uint32_t *place, struct be_arena *arena,
                              struct be_factor *factor, struct be_err *err)
{
  struct planning planning = {.pattern = cross, .n = nodes->count};
  planning.fixed = nodes->term_first[nodes->data->term_count];
  *factor = (struct be_factor){.nodes = nodes->count, .columns = nodes->columns, .cross = *cross};
  factor->fixed = nodes->count - planning.fixed;
  factor->wide = nodes->columns > nodes->count;
  factor->node = be_arena_array(arena, nodes->count, sizeof *factor->node);
  factor->term = be_arena_array(arena, nodes->count, sizeof *factor->term);
  factor->scalar = be_arena_array(arena, nodes->count + 1, sizeof *factor->scalar);
  enum be_status status = BE_NO_MEMORY;
  if (!factor->node || !factor->term || !factor->scalar) {
    be_fail(err, status, "no memory to plan a mixed model");
    goto done;
  }
  name_places(nodes, place, factor);
  status = plan_columns(&planning, err);
  if (status == BE_OK) status = fill_factor(&planning, arena, factor, err);
  if (status == BE_OK) status = plan_places(arena, factor, err);
done:
  be_free(planning.found);
  be_free(planning.mark);
  be_free(planning.sibling);
  be_free(planning.child);
  be_free(planning.columns);
  be_free(planning.begin);
  be_free(planning.list);
  return status;
}
