/* SPDX-License-Identifier: GPL-3.0-or-later */
/* picture: what is seen of tubes from a view, in the order in which it is painted. Lengths are in
 * the unit of the points, x to the right, y up, z towards the eye. No colours, no markup. */
#ifndef BE_KNOT_PICTURE_H
#define BE_KNOT_PICTURE_H

#include "knot/crossing/crossing.h"
#include "knot/curve/curve.h"

/* Tubes are drawn a little thinner than they are, and the paper shows beside a tube that passes
 * over another: shares of its diameter. Of two tubes that lie side by side neither covers the
 * other. */
#define BE_PICTURE_TUBE 0.88
#define BE_PICTURE_GAP 0.1

struct be_picture_asked {
  bool loaded[BE_LINES_MAX][2];  /* pulled at its first point, at its last */
  bool hardware[BE_LINES_MAX];   /* has neither arrows nor tags */
  bool whole;                    /* long ends are not cut off */
  const struct be_stretch *laid; /* of each line: what is tied already; null: all of it */
};

/* Painted one after the other: each hides what it passes over, and BE_PICTURE_GAP beside it. At a
 * joint with what was painted before there is no gap for a while, so that it does not show. */
struct be_span {
  size_t line;
  bool to_come; /* not laid yet: all these come first */
  struct be_stretch along;
  double drawn;                  /* length in the drawing from the start of the line to its own */
  double width;                  /* as drawn */
  double whole[2];               /* no gap so far from its first point, from its last */
  const struct be_point *points; /* z is the height */
  size_t count;
};

enum be_end_kind {
  BE_END_LOADED, /* an arrow outwards */
  BE_END_TAG     /* a short bar across; also of what is laid so far */
};
struct be_end {
  size_t line;
  int which; /* 0 the first point, 1 the last */
  enum be_end_kind kind;
  bool cut;                    /* the line goes on: a break mark */
  struct be_point at, outward; /* outward has length 1 in the drawing, z is 0 */
  double width;
};

/* The number of a crossing stands at x, y; far from it there is a leader. */
struct be_number_place {
  double x, y;
  bool leader;
};

struct be_picture {
  struct be_span *spans;
  size_t spans_count;
  struct be_end ends[2 * BE_LINES_MAX]; /* of what is laid */
  size_t ends_count;
  double left, right, bottom, top; /* of all spans */
};

/* In the arena. crossings: as be_crossings_find found them in this view. BE_BAD_INPUT as
 * be_curve_check. */
enum be_status be_picture_make(const struct be_lines *lines, const struct be_view *view,
                               const struct be_crossing *crossings, size_t count,
                               const struct be_picture_asked *asked, struct be_arena *arena,
                               struct be_picture *picture, struct be_err *err);

/* Places for the numbers of crossings, the widest of them so wide and so high: near by, on paper
 * rather than on a tube, never one on another. One of each, in the arena. */
enum be_status be_picture_numbers(const struct be_picture *picture,
                                  const struct be_crossing *crossings, size_t count, double width,
                                  double height, struct be_arena *arena,
                                  struct be_number_place **numbers, struct be_err *err);

/* A knot as it is tied, in so many steps of about as many passes over or under a line each: line
 * after line, from a loaded end on. Hardware is there from the start, and so is a line that is
 * pulled at both ends, beside one that is not. laid[s * lines->count + l].
 */
enum be_status be_picture_steps(const struct be_lines *lines, const struct be_crossing *crossings,
                                size_t count, const struct be_picture_asked *asked, size_t steps,
                                struct be_arena *arena, struct be_stretch **laid,
                                struct be_err *err);

#endif
