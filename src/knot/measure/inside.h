/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_KNOT_MEASURE_INSIDE_H
#define BE_KNOT_MEASURE_INSIDE_H

#include "knot/curve/vector.h"
#include "knot/measure/measure.h"

/* The tightest half turn that a tube makes, over its diameter. */
static const double half_turn = 1.57079632679489662;

/* How far it is along a line from one place to another; all: its length if it is closed, or 0. */
static inline double way_along(double from, double to, double all)
{
  double way = fabs(to - from);
  return all > 0 && way > all / 2 ? all - way : way;
}

/* ---- stretches that are gathered ---- */

struct gather {
  struct be_stretch *list; /* on the heap */
  size_t count, capacity;
};
enum be_status be_gather_add(struct gather *gather, double from, double to, struct be_err *err);
/* Puts in order and joins what touches, within `slack`; frees the list. */
enum be_status be_gather_finish(struct gather *gather, double slack, struct be_arena *arena,
                                struct be_stretches *stretches, struct be_err *err);
/* What both have. */
enum be_status be_stretches_both(const struct be_stretches *a, const struct be_stretches *b,
                                 struct be_arena *arena, struct be_stretches *both,
                                 struct be_err *err);

/* ---- a line as a tree of its edges ---- */

/* A node has edges that follow each other, its children half of them each; its ball holds them. */
struct node {
  struct be_point middle;
  double radius, low, high; /* low, high: of the height */
  unsigned first, count;    /* edges */
  unsigned left;            /* its children are left and left + 1; 0: one edge alone */
};
struct tree {
  struct node *nodes;
  const struct be_point *points; /* flat: z is 0 */
  const double *heights;         /* null: in space */
  const double *along;           /* at each point, then of all */
  size_t edges, count;           /* of points */
  bool closed;
};
enum be_status be_tree_make(const struct be_curve *curve, const struct be_view *view,
                            struct be_arena *arena, struct tree *tree, struct be_err *err);

/* view: null in space. */
struct nearness {
  const struct tree *of, *to;
  double reach;  /* nearer than this */
  double apart;  /* of a line and itself: farther than this along it; else negative */
  bool levelled; /* flat: over and under are kept apart */
};
enum { NEAR_OVER, NEAR_UNDER, NEAR_KINDS };
/* Stretches of a line that are near another; not levelled: only the first is filled. */
enum be_status be_near(const struct nearness *near, struct be_arena *arena,
                       struct be_stretches found[NEAR_KINDS], struct be_err *err);

#endif
