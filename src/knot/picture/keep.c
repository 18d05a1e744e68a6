/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is drawn of each line: all between its first crossing and its last, and beyond them as far
 * as a little outside of the box that holds this of all lines. */
#include "knot/picture/inside.h"

#include <float.h>

struct box {
  double left, right, bottom, top;
};

static void take_in(struct box *box, struct be_point p)
{
  box->left = fmin(box->left, p.x);
  box->right = fmax(box->right, p.x);
  box->bottom = fmin(box->bottom, p.y);
  box->top = fmax(box->top, p.y);
}

static bool holds(const struct box *box, struct be_point p)
{
  return p.x >= box->left && p.x <= box->right && p.y >= box->bottom && p.y <= box->top;
}

/* How far on the way from p, which is inside, to q, which is not. */
static double leaves_at(const struct box *box, struct be_point p, struct be_point q)
{
  double at = 1;
  if (q.x < box->left) at = fmin(at, (box->left - p.x) / (q.x - p.x));
  if (q.x > box->right) at = fmin(at, (box->right - p.x) / (q.x - p.x));
  if (q.y < box->bottom) at = fmin(at, (box->bottom - p.y) / (q.y - p.y));
  if (q.y > box->top) at = fmin(at, (box->top - p.y) / (q.y - p.y));
  return at;
}

/* The stretch from the first crossing of a line to its last; all of it where there is none. */
static struct be_stretch knotted(const struct be_lines *lines, size_t l,
                                 const struct be_crossing *crossings, size_t count)
{
  double length = be_curve_length(&lines->line[l]);
  struct be_stretch stretch = {length, 0};
  for (size_t i = 0; i < count; i++)
    for (int k = 0; k < 2; k++)
      if (crossings[i].line[k] == l) {
        stretch.from = fmin(stretch.from, crossings[i].along[k]);
        stretch.to = fmax(stretch.to, crossings[i].along[k]);
      }
  if (lines->line[l].closed || stretch.from > stretch.to) stretch = (struct be_stretch){0, length};
  return stretch;
}

static void box_of(const struct be_curve *curve, const struct be_view *view,
                   struct be_stretch stretch, struct box *box)
{
  double along = 0;
  for (size_t i = 0; i < be_curve_edges(curve); i++) {
    double length = edge_length(curve, i);
    double from = fmax(0, (stretch.from - along) / length);
    double to = fmin(1, (stretch.to - along) / length);
    struct be_point p = curve->points[i], q = curve->points[i + 1 < curve->count ? i + 1 : 0];
    if (from <= to) {
      struct be_point a = blend(p, q, from), b = blend(p, q, to);
      take_in(box, be_view_point(view, &a));
      take_in(box, be_view_point(view, &b));
    }
    along += length;
  }
}

/* From so far along an open line on, forwards or backwards, to where it leaves the box. */
static double walk(const struct be_curve *curve, const struct be_view *view, const struct box *box,
                   double start, bool forwards)
{
  double along = 0, reached = forwards ? 0 : start;
  bool left = false;
  for (size_t i = 0; i < curve->count - 1; i++) {
    double length = edge_length(curve, i), first = along;
    struct be_point p = curve->points[i], q = curve->points[i + 1];
    along += length;
    if (forwards ? along <= start : first >= start) continue;
    double cut = fmin(1, fmax(0, (start - first) / length));
    struct be_point middle = blend(p, q, cut);
    struct be_point near = be_view_point(view, forwards ? (cut > 0 ? &middle : &p) : &p);
    struct be_point far = be_view_point(view, forwards ? &q : (cut < 1 ? &middle : &q));
    if (forwards && !left) {
      left = holds(box, near) && !holds(box, far);
      double from = fmax(first, start);
      reached = left ? from + leaves_at(box, near, far) * (along - from) : along;
    }
    /* Backwards the last time that it comes in counts. */
    if (!forwards && !holds(box, near) && holds(box, far)) {
      double to = fmin(along, start);
      reached = to - leaves_at(box, far, near) * (to - first);
      left = true;
    }
  }
  return forwards || left ? reached : 0;
}

void be_picture_keep(const struct be_lines *lines, const struct be_view *view,
                     const struct be_crossing *crossings, size_t count, bool whole,
                     struct be_stretch *keep)
{
  const double beyond = 2.4; /* diameters: room for a break mark, and to see where it goes */
  struct box box = {DBL_MAX, -DBL_MAX, DBL_MAX, -DBL_MAX};
  double thick = 0;
  for (size_t l = 0; l < lines->count; l++) {
    keep[l] = knotted(lines, l, crossings, count);
    box_of(&lines->line[l], view, keep[l], &box);
    if (!lines->line[l].closed) thick = fmax(thick, lines->diameter[l]);
  }
  box.left -= beyond * thick;
  box.right += beyond * thick;
  box.bottom -= beyond * thick;
  box.top += beyond * thick;
  for (size_t l = 0; l < lines->count; l++) {
    const struct be_curve *curve = &lines->line[l];
    if (curve->closed) continue;
    double length = be_curve_length(curve);
    double from = walk(curve, view, &box, keep[l].from, false);
    double to = walk(curve, view, &box, keep[l].to, true);
    keep[l] = whole ? (struct be_stretch){0, length}
                    : (struct be_stretch){fmax(0, from), fmin(length, to)};
    /* A rest that is shorter than its break mark is drawn. */
    double rest = 0.5 * lines->diameter[l];
    if (keep[l].from < rest) keep[l].from = 0;
    if (length - keep[l].to < rest) keep[l].to = length;
  }
}
