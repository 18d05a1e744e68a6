/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this folder share. */
#ifndef BE_KNOT_PICTURE_INSIDE_H
#define BE_KNOT_PICTURE_INSIDE_H

#include "knot/curve/vector.h"
#include "knot/picture/picture.h"

/* A short piece of a tube. Those of a line follow one another. */
struct piece {
  struct be_point from, to; /* in the drawing */
  double x, y, z;           /* its middle */
  double start, end;        /* along the line */
  double drawn;             /* length in the drawing from where the line starts there */
  double length;            /* its own there */
  double radius;            /* as drawn */
  unsigned line;
  bool to_come;
};
struct pieces {
  struct piece *list;
  size_t count;
  size_t first[BE_LINES_MAX + 1]; /* of each line */
};

/* The square of how far a point is from an edge in the drawing. */
static inline double be_flat_square(struct be_point p, struct be_point a, struct be_point b)
{
  double ux = b.x - a.x, uy = b.y - a.y, all = ux * ux + uy * uy;
  double at = all > 0 ? ((p.x - a.x) * ux + (p.y - a.y) * uy) / all : 0;
  at = fmin(1, fmax(0, at));
  double dx = p.x - a.x - at * ux, dy = p.y - a.y - at * uy;
  return dx * dx + dy * dy;
}

/* What is drawn of each line: open ones are cut off outside of the knot. */
void be_picture_keep(const struct be_lines *lines, const struct be_view *view,
                     const struct be_crossing *crossings, size_t count, bool whole,
                     struct be_stretch *keep);
enum be_status be_pieces_cut(const struct be_lines *lines, const struct be_view *view,
                             const struct be_stretch *keep, const struct be_stretch *laid,
                             struct be_arena *arena, struct pieces *pieces, struct be_err *err);
/* Of each piece: those that hide some of it are above[first[i] .. first[i + 1]), and below[i] is
 * how many it hides some of. */
struct covers {
  unsigned *above, *below;
  size_t *first;
};
enum be_status be_covers_find(const struct be_lines *lines, const struct pieces *pieces,
                              struct be_arena *arena, struct covers *covers, struct be_err *err);
/* The spans, by what covers what. */
enum be_status be_spans_order(const struct be_lines *lines, const struct pieces *pieces,
                              struct be_arena *arena, struct be_picture *picture,
                              struct be_err *err);

#endif
