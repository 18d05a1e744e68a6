/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that tests draw: none nearer to another than their diameter. */
#ifndef BE_TEST_PICTURE_LINES_H
#define BE_TEST_PICTURE_LINES_H

#include "knot/knot.h"
#include "test.h"

enum shape { TREFOIL, REEF, RINGS, WRAPS, SHAPES };
static const struct {
  struct be_view view;
} shapes[SHAPES] = {
    {{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}},
    {{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}},
    {{{0.8, 0.6, 0}, {-0.36, 0.48, 0.8}, {0.48, -0.64, 0.6}}},
    {{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}},
};

static inline struct be_curve curve_of(size_t count, bool closed, struct be_arena *arena)
{
  struct be_curve curve = {be_arena_alloc(arena, count * sizeof *curve.points), count, closed};
  assert_non_null(curve.points);
  return curve;
}

static inline void make_trefoil(struct be_arena *arena, struct be_lines *lines)
{
  *lines = (struct be_lines){1, {curve_of(307, true, arena)}, {1}};
  for (size_t i = 0; i < 307; i++) {
    double t = 6.283185307179586 * (double)i / 307;
    lines->line[0].points[i] = (struct be_point){
        1.7 * (sin(t) + 2 * sin(2 * t)), 1.7 * (cos(t) - 2 * cos(2 * t)), -1.4 * sin(3 * t)};
  }
}

/* Two bights through one another; the second is the first turned round the upright axis. */
static inline void make_reef(struct be_arena *arena, struct be_lines *lines)
{
  static const double half[][3] = {{-40, .6, .6},   {-9, .6, .6},    {-5, .6, .6},
                                   {-2.9, .62, .6}, {-1.5, .7, 0},   {0, 1.25, -.6},
                                   {1.5, 1.8, -.1}, {2.6, 1.2, .55}, {2.95, 0, .6}};
  struct be_curve way = curve_of(16, false, arena);
  for (size_t i = 0; i < 9; i++)
    way.points[i] = (struct be_point){half[i][0], half[i][1], half[i][2]};
  for (size_t i = 9; i < 15; i++)
    way.points[i] = (struct be_point){half[16 - i][0], -half[16 - i][1], half[16 - i][2]};
  way.points[15] = (struct be_point){-6.2, -.6, .6};
  *lines = (struct be_lines){2, {{0}}, {1, 1}};
  for (int l = 0; l < 2; l++) {
    assert_int_equal(be_curve_through(&way, 0.05, arena, &lines->line[l], NULL), BE_OK);
    for (size_t i = 0; i < 16; i++) {
      way.points[i].x *= -1;
      way.points[i].z *= -1;
    }
  }
}

static inline void make_rings(struct be_arena *arena, struct be_lines *lines)
{
  *lines = (struct be_lines){3, {{0}}, {1, 1.2, 0.9}};
  for (int l = 0; l < 3; l++) {
    lines->line[l] = curve_of(211, true, arena);
    for (size_t i = 0; i < 211; i++) {
      double t = 6.283185307179586 * (double)i / 211, a = 6 * cos(t), b = 3 * sin(t);
      lines->line[l].points[i] = l == 0   ? (struct be_point){a, b, 0}
                                 : l == 1 ? (struct be_point){0, a, b}
                                          : (struct be_point){b, 0, a};
    }
  }
}

/* Wraps side by side round a straight line, nearly touching it and one another. */
static inline void make_wraps(struct be_arena *arena, struct be_lines *lines)
{
  enum { COUNT = 641, TURNS = 4 };
  *lines = (struct be_lines){2, {curve_of(COUNT, false, arena), curve_of(2, false, arena)}, {1, 1}};
  for (size_t i = 0; i < COUNT; i++) {
    double u = (double)i / (COUNT - 1), t = 6.283185307179586 * TURNS * u;
    lines->line[0].points[i] =
        (struct be_point){1.06 * TURNS * (u - 0.5), 1.04 * sin(t), 1.04 * cos(t)};
  }
  lines->line[1].points[0] = (struct be_point){-6, 0, 0};
  lines->line[1].points[1] = (struct be_point){6, 0.017, 0};
}

static inline void make_lines(int shape, struct be_arena *arena, struct be_lines *lines)
{
  static void (*const makers[SHAPES])(struct be_arena *, struct be_lines *) = {
      make_trefoil, make_reef, make_rings, make_wraps};
  makers[shape](arena, lines);
}

#endif
