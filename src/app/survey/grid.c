/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/survey/grid.h"

#include <string.h>

enum { ENUMERATED = 12 };

const struct cell *be_cell_find(const struct survey *survey, const struct combination *where,
                                int knot)
{
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    if (survey->cells[i].knot == knot && survey->cells[i].knot_b < 0 && survey->cells[i].n > 0)
      return &survey->cells[i];
  return NULL;
}

const struct cell *be_grid_cell(const struct grid *grid, size_t knot, size_t combination)
{
  return grid->cell[knot * grid->combinations + combination];
}

bool be_grid_has(const struct grid *grid, int knot)
{
  for (size_t i = 0; i < grid->knots; i++)
    if (grid->knot[i] == knot) return true;
  return false;
}

bool be_grid_by_share(const struct grid *block, size_t combination)
{
  for (size_t k = 0; k < block->knots; k++)
    if (!be_grid_cell(block, k, combination)->shares) return false;
  return true;
}

static enum be_status make_room(const struct survey *survey, size_t knots, size_t combinations,
                                struct grid *grid, struct be_err *err)
{
  *grid = (struct grid){.knots = knots, .combinations = combinations};
  grid->knot = be_arena_alloc(survey->arena, knots * sizeof *grid->knot);
  grid->where = be_arena_alloc(survey->arena, combinations * sizeof *grid->where);
  grid->cell = be_arena_alloc(survey->arena, knots * combinations * sizeof *grid->cell);
  return grid->knot && grid->where && grid->cell ? BE_OK : be_no_memory(err);
}

enum be_status be_grid_make(const struct survey *survey, const struct combination *const *where,
                            size_t count, struct grid *grid, struct be_err *err)
{
  bool *seen = be_alloc_array(survey->record.knots_count + 1, sizeof *seen);
  if (!seen) return be_no_memory(err);
  size_t knots = 0;
  for (size_t c = 0; c < count; c++)
    for (size_t i = 0; i < where[c]->cells_count; i++) {
      const struct cell *cell = &survey->cells[where[c]->first_cell + i];
      if (cell->n == 0 || cell->knot < 0 || cell->knot_b >= 0 || seen[cell->knot]) continue;
      seen[cell->knot] = true;
      knots++;
    }
  enum be_status status = make_room(survey, knots, count, grid, err);
  size_t at = 0;
  for (size_t k = 0; status == BE_OK && k < survey->record.knots_count; k++)
    if (seen[k]) grid->knot[at++] = (int)k;
  for (size_t c = 0; status == BE_OK && c < count; c++) {
    grid->where[c] = where[c];
    for (size_t k = 0; k < knots; k++)
      grid->cell[k * count + c] = be_cell_find(survey, where[c], grid->knot[k]);
  }
  be_free(seen);
  return status;
}

/* ---- the largest complete block ---- */

static bool complete(const struct grid *grid, size_t knot, const bool *in)
{
  for (size_t c = 0; c < grid->combinations; c++)
    if (in[c] && !be_grid_cell(grid, knot, c)) return false;
  return true;
}

static size_t count_complete(const struct grid *grid, const bool *in)
{
  size_t knots = 0;
  for (size_t k = 0; k < grid->knots; k++) knots += complete(grid, k, in);
  return knots;
}

static size_t count_in(const struct grid *grid, const bool *in)
{
  size_t count = 0;
  for (size_t c = 0; c < grid->combinations; c++) count += in[c];
  return count;
}

/* Cells in the block of these combinations; 0 unless two knots share them. */
static size_t block_size(const struct grid *grid, const bool *in)
{
  size_t knots = count_complete(grid, in);
  return knots < 2 ? 0 : knots * count_in(grid, in);
}

/* Every choice is looked at; ties go to fewer combinations, that is to more knots. */
static void choose_among_all(const struct grid *grid, bool *in)
{
  size_t best = 0, best_set = 0, best_count = 0;
  for (size_t set = 1; set < (size_t)1 << grid->combinations; set++) {
    for (size_t c = 0; c < grid->combinations; c++) in[c] = set >> c & 1;
    size_t size = block_size(grid, in), count = count_in(grid, in);
    if (size < best || size == 0 || (size == best && count >= best_count)) continue;
    best = size;
    best_set = set;
    best_count = count;
  }
  for (size_t c = 0; c < grid->combinations; c++) in[c] = best_set >> c & 1;
}

/* Combinations are added from the fullest on, as long as the block grows;
 * whole[k] tells whether knot k has every cell chosen so far. */
static void choose_by_growing(const struct grid *grid, bool *in, bool *whole)
{
  size_t best = 0, chosen = 0;
  for (size_t k = 0; k < grid->knots; k++) whole[k] = true;
  for (;;) {
    size_t pick = grid->combinations;
    for (size_t c = 0; c < grid->combinations; c++) {
      size_t knots = 0;
      for (size_t k = 0; k < grid->knots && !in[c]; k++)
        knots += whole[k] && be_grid_cell(grid, k, c);
      if (knots < 2 || knots * (chosen + 1) <= best) continue;
      best = knots * (chosen + 1);
      pick = c;
    }
    if (pick == grid->combinations) return;
    in[pick] = true;
    chosen++;
    for (size_t k = 0; k < grid->knots; k++) whole[k] &= be_grid_cell(grid, k, pick) != NULL;
  }
}

enum be_status be_grid_block(const struct survey *survey, const struct grid *all,
                             struct grid *block, struct be_err *err)
{
  bool *in = be_arena_alloc(survey->arena, all->combinations);
  bool *whole = be_arena_alloc(survey->arena, all->knots);
  if (!in || !whole) return be_no_memory(err);
  if (all->combinations <= ENUMERATED) choose_among_all(all, in);
  else choose_by_growing(all, in, whole);
  size_t combinations = count_in(all, in), knots = count_complete(all, in), at = 0;
  if (combinations == 0) knots = 0;
  enum be_status status = make_room(survey, knots, combinations, block, err);
  for (size_t c = 0, to = 0; status == BE_OK && c < all->combinations; c++)
    if (in[c]) block->where[to++] = all->where[c];
  for (size_t k = 0; status == BE_OK && combinations && k < all->knots; k++) {
    if (!complete(all, k, in)) continue;
    for (size_t c = 0, to = 0; c < all->combinations; c++)
      if (in[c]) block->cell[at * combinations + to++] = be_grid_cell(all, k, c);
    block->knot[at++] = all->knot[k];
  }
  return status;
}
