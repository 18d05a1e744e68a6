/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/grid.h"

#include <string.h>

enum { ENUMERATED = 12 };

const struct cell *be_cell_find(const struct survey *survey, const struct combination *where,
                                int knot)
{
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    if (survey->cells[i].knot == knot && survey->cells[i].n > 0) return &survey->cells[i];
  return NULL;
}

bool be_grid_has(const struct grid *grid, int knot)
{
  for (size_t i = 0; i < grid->knots; i++)
    if (grid->knot[i] == knot) return true;
  return false;
}

void be_grid_fill(const struct survey *survey, struct grid *grid)
{
  for (size_t c = 0; c < grid->combinations; c++)
    for (size_t i = 0; i < grid->where[c]->cells_count; i++) {
      const struct cell *cell = &survey->cells[grid->where[c]->first_cell + i];
      if (cell->n > 0 && !be_grid_has(grid, cell->knot) && grid->knots < KNOTS_MAX)
        grid->knot[grid->knots++] = cell->knot;
    }
  for (size_t k = 0; k < grid->knots; k++)
    for (size_t c = 0; c < grid->combinations; c++)
      grid->cell[k][c] = be_cell_find(survey, grid->where[c], grid->knot[k]);
}

/* ---- the largest complete block ---- */

static bool complete(const struct grid *grid, size_t knot, const bool *in)
{
  for (size_t c = 0; c < grid->combinations; c++)
    if (in[c] && !grid->cell[knot][c]) return false;
  return true;
}

/* Cells in the block of these combinations; 0 unless two knots share them. */
static size_t block_size(const struct grid *grid, const bool *in)
{
  size_t knots = 0, combinations = 0;
  for (size_t c = 0; c < grid->combinations; c++) combinations += in[c];
  for (size_t k = 0; k < grid->knots; k++) knots += complete(grid, k, in);
  return knots < 2 ? 0 : knots * combinations;
}

/* Up to ENUMERATED combinations every choice is looked at; ties go to fewer
 * combinations, that is to more knots. Beyond that, combinations are added
 * from the fullest on, as long as the block grows. */
static void choose_block(const struct grid *grid, bool *in)
{
  size_t best = 0, best_set = 0;
  memset(in, 0, COMBINATIONS_MAX * sizeof *in);
  if (grid->combinations <= ENUMERATED) {
    for (size_t set = 1; set < (size_t)1 << grid->combinations; set++) {
      size_t count = 0, best_count = 0;
      for (size_t c = 0; c < grid->combinations; c++) {
        in[c] = set >> c & 1;
        count += in[c];
        best_count += best_set >> c & 1;
      }
      size_t size = block_size(grid, in);
      if (size > best || (size == best && size && count < best_count)) best = size, best_set = set;
    }
    for (size_t c = 0; c < grid->combinations; c++) in[c] = best_set >> c & 1;
    return;
  }
  for (bool grew = true; grew;) {
    size_t pick = grid->combinations;
    grew = false;
    for (size_t c = 0; c < grid->combinations; c++) {
      if (in[c]) continue;
      in[c] = true;
      size_t size = block_size(grid, in);
      if (size > best) best = size, pick = c;
      in[c] = false;
    }
    if (pick < grid->combinations) in[pick] = grew = true;
  }
}

static void take_block(const struct grid *from, const bool *in, struct grid *block)
{
  block->knots = block->combinations = 0;
  for (size_t c = 0; c < from->combinations; c++)
    if (in[c]) block->where[block->combinations++] = from->where[c];
  for (size_t k = 0; k < from->knots; k++) {
    if (!complete(from, k, in)) continue;
    size_t at = 0;
    for (size_t c = 0; c < from->combinations; c++)
      if (in[c]) block->cell[block->knots][at++] = from->cell[k][c];
    block->knot[block->knots++] = from->knot[k];
  }
}

void be_grid_block(const struct grid *all, struct grid *block)
{
  bool in[COMBINATIONS_MAX];
  choose_block(all, in);
  take_block(all, in, block);
}
