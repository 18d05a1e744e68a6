/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The grid of knots by combinations, and its largest complete block: what may
 * be compared without mixing line sets. */
#ifndef BE_APP_GRID_H
#define BE_APP_GRID_H

#include "app/survey/survey.h"

/* A grid of knots by combinations, row-major; a cell is null where there are
 * no events. Arrays are in the survey's arena. */
struct grid {
  size_t knots, combinations;
  int *knot;
  const struct combination **where;
  const struct cell **cell;
};

/* The cell of a knot in a combination, if it has events; else null. */
const struct cell *be_cell_find(const struct survey *survey, const struct combination *where,
                                int knot);
/* The grid of some combinations and every knot with events there. */
enum be_status be_grid_make(const struct survey *survey, const struct combination *const *where,
                            size_t count, struct grid *grid, struct be_err *err);
/* The largest complete block: most cells, of at least two knots. */
enum be_status be_grid_block(const struct survey *survey, const struct grid *all,
                             struct grid *block, struct be_err *err);
const struct cell *be_grid_cell(const struct grid *grid, size_t knot, size_t combination);
bool be_grid_has(const struct grid *grid, int knot);

/* How loads are compared in a combination of a block: by each pull's share of
 * its own plain line where every knot has one, else by load. */
bool be_grid_by_share(const struct grid *block, size_t combination);

#endif
