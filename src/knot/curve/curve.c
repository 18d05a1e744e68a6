/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/curve/vector.h"

#include <math.h>

static const size_t points_most = 1000000;

size_t be_curve_edges(const struct be_curve *curve)
{
  return curve->closed ? curve->count : curve->count - 1;
}

static bool is_finite(const struct be_point *p)
{
  return isfinite(p->x) && isfinite(p->y) && isfinite(p->z);
}

enum be_status be_curve_check(const struct be_curve *curve, struct be_err *err)
{
  size_t least = curve->closed ? 3 : 2;
  if (curve->count < least)
    return be_fail(err, BE_BAD_INPUT, "a line needs at least %zu points, and has %zu", least,
                   curve->count);
  if (curve->count > points_most)
    return be_fail(err, BE_TOO_LARGE, "a line may have %zu points, and has %zu", points_most,
                   curve->count);
  for (size_t i = 0; i < curve->count; i++)
    if (!is_finite(&curve->points[i]))
      return be_fail(err, BE_BAD_INPUT, "point %zu of the line is not a number", i + 1);
  for (size_t i = 0; i < be_curve_edges(curve); i++)
    if (!(edge_length(curve, i) > 0))
      return be_fail(err, BE_BAD_INPUT, "point %zu of the line is the same as the one before it",
                     (i + 1) % curve->count + 1);
  return BE_OK;
}

double be_curve_length(const struct be_curve *curve)
{
  double length = 0;
  for (size_t i = 0; i < be_curve_edges(curve); i++) length += edge_length(curve, i);
  return length;
}

void be_curve_distances(const struct be_curve *curve, double *along)
{
  double length = 0;
  for (size_t i = 0; i < curve->count; i++) {
    along[i] = length;
    if (i < be_curve_edges(curve)) length += edge_length(curve, i);
  }
  along[curve->count] = length;
}

void be_curve_curvature(const struct be_curve *curve, double *curvature)
{
  size_t n = curve->count;
  for (size_t i = 0; i < n; i++) {
    curvature[i] = 0;
    if (!curve->closed && (i == 0 || i + 1 == n)) continue;
    struct be_point u = edge_of(curve, (i + n - 1) % n), v = edge_of(curve, i);
    struct be_point w = {u.x + v.x, u.y + v.y, u.z + v.z};
    /* 1 / R = 4 area / (product of the sides) */
    double sides = norm(u) * norm(v) * norm(w);
    curvature[i] = sides > 0 ? 2 * norm(cross(u, v)) / sides : INFINITY;
  }
}

/* ---- in equal steps ---- */

enum be_status be_curve_resample(const struct be_curve *curve, double step, struct be_arena *arena,
                                 struct be_curve *to, struct be_err *err)
{
  double length = be_curve_length(curve), walked = 0;
  if (!(step > 0) || !(length / step < (double)points_most))
    return be_fail(err, BE_WRONG_USE, "the step along the line is too small");
  size_t edges = (size_t)fmax(curve->closed ? 3 : 1, round(length / step));
  size_t count = curve->closed ? edges : edges + 1, at = 0;
  struct be_point *points = be_arena_alloc(arena, count * sizeof *points);
  if (!points) return be_fail(err, BE_NO_MEMORY, "no memory for the line");
  for (size_t i = 0; i < count; i++) {
    double wanted = length * (double)i / (double)edges;
    while (at + 1 < be_curve_edges(curve) && walked + edge_length(curve, at) < wanted)
      walked += edge_length(curve, at++);
    double share = fmin(1, (wanted - walked) / edge_length(curve, at));
    struct be_point edge = edge_of(curve, at), from = curve->points[at];
    points[i] = (struct be_point){from.x + share * edge.x, from.y + share * edge.y,
                                  from.z + share * edge.z};
  }
  if (!curve->closed) points[count - 1] = curve->points[curve->count - 1];
  *to = (struct be_curve){points, count, curve->closed};
  return BE_OK;
}

/* ---- through waypoints ---- */

/* Neighbours of a waypoint; past an open end the line goes straight on. */
static struct be_point waypoint(const struct be_curve *way, ptrdiff_t i)
{
  ptrdiff_t n = (ptrdiff_t)way->count;
  if (way->closed) return way->points[(i % n + n) % n];
  if (i < 0) return blend(way->points[0], way->points[1], -1);
  if (i >= n) return blend(way->points[n - 1], way->points[n - 2], -1);
  return way->points[i];
}

/* The pyramid of Barry and Goldman between p[1] and p[2], at t from 0 to 1, with knots apart by the
 * square root of the chords. */
static struct be_point between(const struct be_point p[4], double t)
{
  double k[4] = {0};
  for (int i = 1; i < 4; i++) k[i] = k[i - 1] + sqrt(distance(p[i - 1], p[i]));
  double at = k[1] + t * (k[2] - k[1]);
  struct be_point a[3], b[2];
  for (int i = 0; i < 3; i++) a[i] = blend(p[i], p[i + 1], (at - k[i]) / (k[i + 1] - k[i]));
  for (int i = 0; i < 2; i++) b[i] = blend(a[i], a[i + 1], (at - k[i]) / (k[i + 2] - k[i]));
  return blend(b[0], b[1], (at - k[1]) / (k[2] - k[1]));
}

enum be_status be_curve_through(const struct be_curve *waypoints, double step,
                                struct be_arena *arena, struct be_curve *to, struct be_err *err)
{
  enum { PER_SPAN = 32 };
  enum be_status status = be_curve_check(waypoints, err);
  if (status != BE_OK) return status;
  size_t spans = be_curve_edges(waypoints), count = spans * PER_SPAN + !waypoints->closed;
  struct be_curve fine = {be_arena_alloc(arena, count * sizeof *fine.points), count,
                          waypoints->closed};
  if (!fine.points) return be_fail(err, BE_NO_MEMORY, "no memory for the line");
  for (size_t s = 0; s < spans; s++) {
    struct be_point p[4];
    for (int i = 0; i < 4; i++) p[i] = waypoint(waypoints, (ptrdiff_t)s + i - 1);
    for (int i = 0; i < PER_SPAN; i++)
      fine.points[s * PER_SPAN + (size_t)i] = between(p, (double)i / PER_SPAN);
  }
  if (!waypoints->closed) fine.points[count - 1] = waypoints->points[waypoints->count - 1];
  return be_curve_resample(&fine, step, arena, to, err);
}
