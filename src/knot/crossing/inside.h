/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_KNOT_CROSSING_INSIDE_H
#define BE_KNOT_CROSSING_INSIDE_H

#include "knot/crossing/crossing.h"
#include "knot/curve/vector.h"

#include <string.h>

/* Of numbers that are some; fmin and fmax would be calls. */
static inline double lesser(double a, double b)
{
  return a < b ? a : b;
}

static inline double greater(double a, double b)
{
  return a > b ? a : b;
}

enum { LEVELS_OF_BOXES = 32 };

/* Edges of all lines as they lie in a view; z is the height. */
struct flat_edge {
  struct be_point from, to;
  size_t line, edge, of; /* edge, of so many of its line */
  bool closed;
  double along, length; /* along the line in space */
};
struct box {
  double left, right, low, high;
};
/* Boxes of edges, and by level of each two neighbours below, up to one at the top. */
struct flat {
  const struct be_lines *lines;
  struct flat_edge *edges;
  size_t count;
  struct box *box[LEVELS_OF_BOXES];
  size_t boxes[LEVELS_OF_BOXES], top;
};
/* Room for the lines, which stay where they are, then as many looks at them as are wanted. */
enum be_status be_flat_make(const struct be_lines *lines, struct be_arena *arena, struct flat *flat,
                            struct be_err *err);
enum be_status be_flat_look(struct flat *flat, const struct be_view *view, struct be_err *err);
/* Crossings of the last look, counted no farther than `most`, at least 1. Fails as
 * be_crossings_find does. */
enum be_status be_flat_count(const struct flat *flat, size_t most, size_t *count,
                             struct be_err *err);

/* What two points that close an open line, after its last, add to its writhe. */
enum be_status be_writhe_of_closing(const struct be_curve *curve, const struct be_point way[2],
                                    struct be_arena *arena, double *writhe, struct be_err *err);

#endif
