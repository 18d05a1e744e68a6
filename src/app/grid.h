/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The grid of knots by combinations, and its largest complete block: what may
 * be compared without mixing line sets. */
#ifndef BE_APP_GRID_H
#define BE_APP_GRID_H

#include "app/survey.h"

enum { KNOTS_MAX = 200, COMBINATIONS_MAX = 200 };

/* A grid of knots by combinations; cell is null where nothing was pulled. */
struct grid {
  size_t knots, combinations;
  int knot[KNOTS_MAX];
  const struct combination *where[COMBINATIONS_MAX];
  const struct cell *cell[KNOTS_MAX][COMBINATIONS_MAX];
};

/* The cell of a knot in a combination, if it has events; else null. */
const struct cell *be_cell_find(const struct survey *survey, const struct combination *where,
                                int knot);
/* Finds the knots and cells of the combinations already in the grid. */
void be_grid_fill(const struct survey *survey, struct grid *grid);
bool be_grid_has(const struct grid *grid, int knot);
/* The largest complete block: most cells, of at least two knots. */
void be_grid_block(const struct grid *all, struct grid *block);

#endif
