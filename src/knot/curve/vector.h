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

static inline struct be_point unit_of(struct be_point v)
{
  double length = norm(v);
  return (struct be_point){v.x / length, v.y / length, v.z / length};
}

/* What lies normal to a unit vector. */
static inline struct be_point normal_part(struct be_point v, struct be_point unit)
{
  double along = dot(v, unit);
  return (struct be_point){v.x - along * unit.x, v.y - along * unit.y, v.z - along * unit.z};
}

static inline double signed_angle(struct be_point from, struct be_point to, struct be_point axis)
{
  return atan2(dot(cross(from, to), axis), dot(from, to) * norm(axis));
}

/* v turned as the unit vector t is on its shortest way to u (Rodrigues), of v normal to t. */
static inline struct be_point carried(struct be_point v, struct be_point t, struct be_point u)
{
  struct be_point axis = cross(t, u), side = cross(axis, v);
  double c = dot(t, u), k = dot(axis, v) / (1 + c);
  return (struct be_point){v.x * c + side.x + axis.x * k, v.y * c + side.y + axis.y * k,
                           v.z * c + side.z + axis.z * k};
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
