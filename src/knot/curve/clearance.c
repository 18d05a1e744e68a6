/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The smallest distance between edges (Lumelsky 1985), over all pairs whose bounding spheres come
 * near enough. */
#include "knot/curve/vector.h"

static double clamp(double value)
{
  return value < 0 ? 0 : value > 1 ? 1 : value;
}

/* Between p + s u and q + t v, s and t from 0 to 1. */
static double between_edges(struct be_point p, struct be_point u, struct be_point q,
                            struct be_point v)
{
  struct be_point w = minus(p, q);
  double a = dot(u, u), b = dot(u, v), c = dot(v, v), d = dot(u, w), e = dot(v, w);
  double denominator = a * c - b * b;
  double s = denominator > 0 ? clamp((b * e - c * d) / denominator) : 0;
  double t = clamp((b * s + e) / c);
  s = clamp((b * t - d) / a);
  struct be_point from = {p.x + s * u.x, p.y + s * u.y, p.z + s * u.z};
  struct be_point to = {q.x + t * v.x, q.y + t * v.y, q.z + t * v.z};
  return distance(from, to);
}

static double between_curves(const struct be_curve *a, const struct be_curve *b, double apart,
                             double least)
{
  bool same = a == b;
  double all = same ? be_curve_length(a) : 0, along_i = 0;
  for (size_t i = 0; i < be_curve_edges(a); i++) {
    struct be_point u = edge_of(a, i);
    double along_j = same ? along_i : 0;
    for (size_t j = same ? i : 0; j < be_curve_edges(b); j++) {
      struct be_point v = edge_of(b, j), p = a->points[i], q = b->points[j];
      double way = along_j - along_i;
      if (same && a->closed && way > all / 2) way = all - way;
      along_j += norm(v);
      if (same && way <= apart) continue;
      if (distance(p, q) - norm(u) - norm(v) < least)
        least = fmin(least, between_edges(p, u, q, v));
    }
    along_i += norm(u);
  }
  return least;
}

double be_lines_clearance(const struct be_lines *lines, double apart)
{
  double least = INFINITY;
  for (size_t a = 0; a < lines->count; a++)
    for (size_t b = a; b < lines->count; b++)
      least = between_curves(&lines->line[a], &lines->line[b], apart, least);
  return least;
}
