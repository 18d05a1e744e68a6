/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A strand as a curve: a uniform cubic spline by the vertices of its path, which it stays near. The
 * height goes from one pass to the next like a cosine. Corners put in between draw the spline
 * nearer to the polygon, whose drawing is sure. */
#include "knot/layout/inside.h"
#include "knot/curve/vector.h"

static const double height = 0.6;
enum { PER_SPAN = 8 };

/* Of a path each of whose edges is in so many pieces. */
static struct be_point corner(const struct graph *graph, const struct run *path, size_t pieces,
                              ptrdiff_t i)
{
  ptrdiff_t n = (ptrdiff_t)(path->count * pieces), last = n - (ptrdiff_t)pieces;
  if (path->closed) i = (i + n) % n;
  else if (i < 0) return blend(corner(graph, path, pieces, 0), corner(graph, path, pieces, -i), -1);
  else if (i > last)
    return blend(corner(graph, path, pieces, last), corner(graph, path, pieces, 2 * last - i), -1);
  size_t at = (size_t)i / pieces;
  return blend(graph->at[path->vertex[at]], graph->at[path->vertex[(at + 1) % path->count]],
               (double)((size_t)i % pieces) / (double)pieces);
}

static struct be_point on_spline(const struct be_point p[4], double t)
{
  double s = 1 - t;
  const double share[4] = {s * s * s / 6, (3 * t * t * t - 6 * t * t + 4) / 6,
                           (3 * s * s * s - 6 * s * s + 4) / 6, t * t * t / 6};
  struct be_point sum = {0, 0, 0};
  for (int k = 0; k < 4; k++) {
    sum.x += share[k] * p[k].x;
    sum.y += share[k] * p[k].y;
  }
  return sum;
}

static void lay_flat(const struct graph *graph, const struct run *path, size_t pieces, double scale,
                     struct be_curve *fine)
{
  size_t spans = (path->count - !path->closed) * pieces;
  for (size_t s = 0; s <= spans; s++) {
    struct be_point p[4];
    for (int k = 0; k < 4; k++) {
      p[k] = corner(graph, path, pieces, (ptrdiff_t)s + k - 1);
      p[k].x *= scale;
      p[k].y *= scale;
    }
    for (size_t i = 0; i < PER_SPAN && s * PER_SPAN + i < fine->count; i++)
      fine->points[s * PER_SPAN + i] = on_spline(p, (double)i / PER_SPAN);
  }
}

/* From one place where the height is told to the next. */
struct told {
  size_t point;
  double z;
};

static void raise_between(struct be_curve *fine, const double *along, struct told a, struct told b)
{
  const double pi = 3.14159265358979323846;
  double all = along[fine->count], from = along[a.point], to = along[b.point];
  size_t points = b.point - a.point;
  if (b.point <= a.point) {
    points += fine->count;
    to += all;
  }
  for (size_t i = 0; i < points; i++) {
    size_t p = (a.point + i) % fine->count;
    double at = along[p] + (a.point + i >= fine->count ? all : 0);
    double share = (at - from) / (to - from);
    fine->points[p].z = a.z + (b.z - a.z) * (1 - cos(pi * share)) / 2;
  }
}

static void raise_all(const struct graph *graph, size_t s, size_t pieces, const double *along,
                      struct be_curve *fine)
{
  const struct run *path = &graph->path[s];
  size_t crossings = graph->diagram->crossings, k = 0;
  struct told before = {0, 0}, first = {0, 0};
  for (size_t i = 0; i < path->count; i++) {
    if (path->vertex[i] >= crossings) continue;
    bool over = graph->diagram->strand[s].pass[k].over;
    struct told now = {i * pieces * PER_SPAN, over ? height : -height};
    if (k++ == 0) first = now;
    if (k > 1 || !path->closed) raise_between(fine, along, before, now);
    before = now;
  }
  raise_between(fine, along, before, path->closed ? first : (struct told){fine->count - 1, 0});
}

enum be_status be_strand_curve(const struct graph *graph, size_t s, size_t pieces, double scale,
                               struct be_arena *arena, struct be_curve *curve, struct be_err *err)
{
  const struct run *path = &graph->path[s];
  size_t count = (path->count - !path->closed) * pieces * PER_SPAN + !path->closed;
  struct be_curve fine = {be_arena_alloc(arena, count * sizeof *fine.points), count, path->closed};
  double *along = be_arena_alloc(arena, (count + 1) * sizeof *along);
  if (!fine.points || !along) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  lay_flat(graph, path, pieces, scale, &fine);
  be_curve_distances(&fine, along);
  raise_all(graph, s, pieces, along, &fine);
  *curve = fine;
  return BE_OK;
}
