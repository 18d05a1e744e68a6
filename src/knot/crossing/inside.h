/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_KNOT_CROSSING_INSIDE_H
#define BE_KNOT_CROSSING_INSIDE_H

#include "knot/crossing/crossing.h"
#include "knot/curve/vector.h"

#include <string.h>

/* Edges of all lines as they lie in a view; z is the height. */
struct flat_edge {
  struct be_point from, to;
  size_t line, edge, of; /* edge, of so many of its line */
  bool closed;
  double along, length; /* along the line in space */
};
struct flat {
  struct flat_edge *edges;
  size_t count;
};
enum be_status be_flat_make(const struct be_lines *lines, const struct be_view *view,
                            struct be_arena *arena, struct flat *flat, struct be_err *err);

/* What two points that close an open line, after its last, add to its writhe. */
enum be_status be_writhe_of_closing(const struct be_curve *curve, const struct be_point way[2],
                                    struct be_arena *arena, double *writhe, struct be_err *err);

#endif
