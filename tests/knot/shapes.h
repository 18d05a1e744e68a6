/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knots built from helices, for tests alone. */
#ifndef BE_TEST_KNOT_SHAPES_H
#define BE_TEST_KNOT_SHAPES_H

#include "knot/curve/curve.h"
#include "test.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

/* Waypoints that are added one by one. */
struct shape {
  struct be_point at[4000];
  size_t count;
};

static inline void to(struct shape *shape, double x, double y, double z)
{
  assert_true(shape->count < sizeof shape->at / sizeof shape->at[0]);
  shape->at[shape->count++] = (struct be_point){x, y, z};
}

static inline struct be_curve drawn_through(struct shape *shape, double step, struct be_arena *room)
{
  struct be_curve way = {shape->at, shape->count, false}, curve;
  assert_int_equal(be_curve_through(&way, step, room, &curve, NULL), BE_OK);
  return curve;
}

/* Half a turn about the axis of height. */
static inline struct be_curve half_turned(const struct be_curve *curve, struct be_arena *room)
{
  struct be_curve made = {be_arena_alloc(room, curve->count * sizeof *made.points), curve->count,
                          curve->closed};
  for (size_t i = 0; i < curve->count; i++)
    made.points[i] =
        (struct be_point){-curve->points[i].x, -curve->points[i].y, curve->points[i].z};
  return made;
}

/* Two half-knots one above the other, each of three half turns about a level axis; line B is line A
 * turned round the upright axis. A's ends are both at the left: the first below, the last above.
 * hands 1, -1: a reef knot; 1, 1: a granny. */
static inline struct be_lines half_knots(int lower, int upper, struct be_arena *room)
{
  enum { STEPS = 24 };
  const double wide = 3, radius = 0.6, apart = 3.5;
  struct be_lines lines = {2, {{0}}, {1, 1}};
  for (int b = 0; b < 2; b++) {
    struct shape *shape = be_arena_alloc(room, sizeof *shape);
    double side = b ? -1 : 1;
    to(shape, -9 * side, -2.5, 0);
    for (int half = 0; half < 2; half++) {
      int hand = half ? upper : lower;
      double go = half ? -side : side, level = half ? apart : 0;
      for (int i = 0; i <= STEPS; i++) {
        double x = wide * go * (2.0 * i / STEPS - 1);
        /* The angle by place from the left: what is at the bottom there is at the top at the right,
         * and the other line is opposite. */
        double u = (x / wide + 1) / 2 * 3 * pi;
        double from = go > 0 ? -pi / 2 : pi / 2;
        to(shape, x, level + radius * sin(from + u), hand * radius * cos(from + u));
      }
      if (half == 0) to(shape, 4.5 * side, apart / 2, 0);
    }
    to(shape, -9 * side, apart + 2.5, 0);
    lines.line[b] = drawn_through(shape, 0.07, room);
  }
  return lines;
}

/* A barrel: from the left along (y, z) = (-0.5, 0) to the right, then back in `turns` turns and a
 * quarter round an axis through the origin, and out to the right through them. right: handedness.
 */
static inline struct be_curve barrel(double turns, int hand, double start, struct be_arena *room)
{
  enum { STEPS = 24 };
  const double radius = 1.6, pitch = 1.1, inner = 0.87;
  struct shape *shape = be_arena_alloc(room, sizeof *shape);
  double whole = turns + 0.25, right = start + pitch * whole;
  int steps = (int)(STEPS * whole);
  to(shape, -18, -0.5, 0);
  for (double x = -17; x < right + 0.5; x += 1) to(shape, x, -0.5, 0);
  to(shape, right + 0.9, -0.9, 0);
  for (int i = 0; i <= steps; i++) {
    double angle = pi + hand * 2 * pi * whole * i / steps;
    to(shape, right - pitch * whole * i / steps, radius * cos(angle), radius * sin(angle));
  }
  double in = hand * inner; /* a quarter on from pi: below for the right hand */
  to(shape, start - 0.6, 0, -in * 1.2);
  for (double x = start + 0.2; x < right + 6; x += 0.7) to(shape, x, 0, -in);
  return drawn_through(shape, 0.07, room);
}

/* Two of them, each round the other's standing part too. */
static inline struct be_lines barrel_bend(double turns, int hand, struct be_arena *room)
{
  struct be_lines lines = {2, {{0}}, {1, 1}};
  lines.line[0] = barrel(turns, hand, 1.5, room);
  lines.line[1] = half_turned(&lines.line[0], room);
  return lines;
}

/* n half-turned overhands side by side: the torus curve of 2 and 2n + 1 turns, cut at its outside
 * and led away. */
static inline struct be_curve multiple_overhand(int n, int hand, struct be_arena *room)
{
  struct shape *shape = be_arena_alloc(room, sizeof *shape);
  int steps = 60 * (2 * n + 1);
  double ring = 0.6 * (2 * n + 1);
  to(shape, 2 * ring, -ring - 4, -5.5 * hand);
  to(shape, ring + 3, -2, -2.5 * hand);
  for (int i = 1; i < steps; i++) {
    double t = 2 * pi * i / steps, u = (2 * n + 1) * t, w = ring + cos(u);
    to(shape, w * cos(2 * t), w * sin(2 * t), hand * sin(u));
  }
  to(shape, ring + 3, 2, 2.5 * hand);
  to(shape, 2 * ring, ring + 4, 5.5 * hand);
  return drawn_through(shape, 0.07, room);
}

#endif
