/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/curve/curve.h"
#include "test.h"

#include <math.h>

enum { CIRCLE = 720 };

/* Of radius r round (x, 0, 0), upright or lying. */
static struct be_curve circle(struct be_arena *arena, double r, double x, bool upright)
{
  struct be_curve curve = {be_arena_alloc(arena, CIRCLE * sizeof *curve.points), CIRCLE, true};
  for (size_t i = 0; i < CIRCLE; i++) {
    double at = 2 * acos(-1) * ((double)i + 0.3) / CIRCLE, c = r * cos(at), s = r * sin(at);
    curve.points[i] = upright ? (struct be_point){x + c, 0, s} : (struct be_point){x + c, s, 0};
  }
  return curve;
}

static void a_circle_has_its_length_and_curvature(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_curve curve = circle(arena, 3.5, -1.25, false);
  double curvature[CIRCLE], along[CIRCLE + 1];
  /* An inscribed polygon: 2 n r sin(pi / n). */
  double length = 2 * CIRCLE * 3.5 * sin(acos(-1) / CIRCLE);
  assert_true(fabs(be_curve_length(&curve) - length) < 1e-12 * length);
  be_curve_distances(&curve, along);
  assert_true(fabs(along[CIRCLE / 4] - length / 4) < 1e-12 * length);
  assert_true(fabs(along[CIRCLE] - length) < 1e-12 * length);
  be_curve_curvature(&curve, curvature);
  for (size_t i = 0; i < CIRCLE; i++) assert_true(fabs(curvature[i] * 3.5 - 1) < 1e-9);
  be_arena_free(arena);
}

static void steps_are_equal(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_point corner[] = {{0, 0, 0}, {2.5, 0, 0}, {2.5, 3.25, 0}, {2.5, 3.25, 1.75}};
  struct be_curve open = {corner, 4, false}, closed = {corner, 4, true}, to;
  double along[200];
  assert_int_equal(be_curve_resample(&open, 0.25, arena, &to, NULL), BE_OK);
  assert_int_equal(to.count, 31); /* 7.5 long: 30 steps, whose corners fall on points */
  be_curve_distances(&to, along);
  for (size_t i = 0; i < 31; i++) assert_true(fabs(along[i] - 0.25 * (double)i) < 1e-12);
  assert_true(to.points[30].z == 1.75);
  assert_int_equal(be_curve_resample(&closed, 0.1, arena, &to, NULL), BE_OK);
  assert_true(to.closed && to.count > 100);
  assert_true(be_curve_length(&to) <= be_curve_length(&closed) + 1e-12);
  assert_int_equal(be_curve_resample(&open, 0, arena, &to, NULL), BE_WRONG_USE);
  assert_int_equal(be_curve_resample(&open, 1e-9, arena, &to, NULL), BE_WRONG_USE);
  be_arena_free(arena);
}

static double nearest(const struct be_curve *curve, struct be_point p)
{
  double least = INFINITY;
  for (size_t i = 0; i < curve->count; i++) {
    const struct be_point *q = &curve->points[i];
    least = fmin(least, hypot(hypot(p.x - q->x, p.y - q->y), p.z - q->z));
  }
  return least;
}

static void it_runs_through_its_waypoints(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_point way[] = {{0, 0, 0}, {1.5, 0.25, 1}, {2, 3, -1}, {-1, 2.5, 0.5}, {-2, 0, 0}};
  for (int closed = 0; closed < 2; closed++) {
    struct be_curve waypoints = {way, 5, closed}, to;
    assert_int_equal(be_curve_through(&waypoints, 0.01, arena, &to, NULL), BE_OK);
    assert_int_equal(be_curve_check(&to, NULL), BE_OK);
    for (size_t i = 0; i < 5; i++) assert_true(nearest(&to, way[i]) < 0.011);
    double curvature[4096];
    assert_in_range(to.count, 100, 4096);
    be_curve_curvature(&to, curvature);
    for (size_t i = 0; i < to.count; i++) assert_true(curvature[i] < 25); /* no corner */
  }
  be_arena_free(arena);
}

/* Two rings of radius 1 through each other's centre are 1 apart. */
static void rings_keep_their_distance(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_lines lines = {2, {circle(arena, 1, 0, false), circle(arena, 1, 1, true)}, {1, 1}};
  assert_true(fabs(be_lines_clearance(&lines, 2) - 1) < 1e-4);
  lines.count = 1; /* alone: across, or just farther along than 2 */
  assert_true(fabs(be_lines_clearance(&lines, 2) - 2 * sin(1)) < 0.01);
  be_arena_free(arena);
}

static void views_are_rotations(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 20261126, 3);
  for (int i = 0; i < 100; i++) {
    struct be_view view = i % 2 ? be_view_random(&random) : be_view_of(37.5 * i, 11.25 * i - 500);
    struct be_point p = {0.3, -1.7, 2.9}, q = {-4.1, 0.6, 0.2};
    struct be_point a = be_view_point(&view, &p), b = be_view_point(&view, &q);
    assert_true(fabs(a.x * b.x + a.y * b.y + a.z * b.z - (p.x * q.x + p.y * q.y + p.z * q.z)) <
                1e-12);
    double volume = view.right[0] * (view.up[1] * view.eye[2] - view.up[2] * view.eye[1]) -
                    view.right[1] * (view.up[0] * view.eye[2] - view.up[2] * view.eye[0]) +
                    view.right[2] * (view.up[0] * view.eye[1] - view.up[1] * view.eye[0]);
    assert_true(fabs(volume - 1) < 1e-12);
  }
}

static void what_is_no_line_is_refused(void **state)
{
  (void)state;
  struct be_err err;
  struct be_point points[] = {{0, 0, 0}, {1, 0, 0}, {1, 0, 0}, {NAN, 0, 0}};
  assert_int_equal(be_curve_check(&(struct be_curve){points, 2, true}, &err), BE_BAD_INPUT);
  assert_int_equal(be_curve_check(&(struct be_curve){points, 1, false}, &err), BE_BAD_INPUT);
  assert_int_equal(be_curve_check(&(struct be_curve){points, 3, false}, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "point 3"));
  assert_int_equal(be_curve_check(&(struct be_curve){points, 4, false}, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "point 4"));
  assert_int_equal(be_curve_check(&(struct be_curve){points, 2, false}, &err), BE_OK);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_circle_has_its_length_and_curvature),
      cmocka_unit_test(steps_are_equal),
      cmocka_unit_test(it_runs_through_its_waypoints),
      cmocka_unit_test(rings_keep_their_distance),
      cmocka_unit_test(views_are_rotations),
      cmocka_unit_test(what_is_no_line_is_refused),
  };
  return be_tests("knot: curve", tests);
}
