/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Vectors: small sums that every folder of this room needs. */
#ifndef BE_KNOT_CURVE_VECTOR_H
#define BE_KNOT_CURVE_VECTOR_H

#include "knot/curve/curve.h"

#include <math.h>

static inline struct be_point minus(struct be_point a, struct be_point b)
{
  return (struct be_point){a.x - b.x, a.y - b.y, a.z - b.z};
}

static inline double dot(struct be_point a, struct be_point b)
{
  return a.x * b.x + a.y * b.y + a.z * b.z;
}

static inline struct be_point cross(struct be_point a, struct be_point b)
{
  return (struct be_point){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

static inline double norm(struct be_point a)
{
  return sqrt(dot(a, a));
}

static inline double distance(struct be_point a, struct be_point b)
{
  return norm(minus(a, b));
}

/* a at 0, b at 1. */
static inline struct be_point blend(struct be_point a, struct be_point b, double at)
{
  return (struct be_point){a.x + at * (b.x - a.x), a.y + at * (b.y - a.y), a.z + at * (b.z - a.z)};
}

static inline struct be_point edge_of(const struct be_curve *curve, size_t i)
{
  return minus(curve->points[i + 1 < curve->count ? i + 1 : 0], curve->points[i]);
}

static inline double edge_length(const struct be_curve *curve, size_t i)
{
  return norm(edge_of(curve, i));
}

#endif
