/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "knot/crossing/crossing.h"
#include "knot/curve/vector.h"
#include "test.h"

#include <string.h>

static struct be_curve random_polygon(struct be_random *random, bool closed)
{
  size_t n = 20 + be_random_below(random, 181);
  struct be_curve curve = {be_arena_alloc(arena, n * sizeof *curve.points), n, closed};
  for (size_t i = 0; i < n; i++)
    curve.points[i] = (struct be_point){be_random_normal(random), be_random_normal(random),
                                        be_random_normal(random)};
  return curve;
}

static struct be_curve torus(size_t n, double p, double q)
{
  struct be_curve curve = {be_arena_alloc(arena, n * sizeof *curve.points), n, true};
  for (size_t i = 0; i < n; i++) {
    double t = 2 * acos(-1) * (double)i / (double)n, w = 2 + cos(q * t);
    curve.points[i] = (struct be_point){w * cos(p * t), w * sin(p * t), sin(q * t)};
  }
  return curve;
}

/* By boxes and by all pairs: the same. */
static void boxes_find_what_pairs_find(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 1);
  for (int i = 0; i < 200; i++) {
    struct be_lines lines = {1 + (size_t)i % 3, {{0}}, {1, 1, 1}};
    for (size_t l = 0; l < lines.count; l++) lines.line[l] = random_polygon(&random, i % 2);
    struct be_view view = be_view_random(&random);
    struct be_crossing *fast, *slow;
    size_t fast_count, slow_count;
    assert_int_equal(be_crossings_find(&lines, &view, arena, &fast, &fast_count, NULL), BE_OK);
    assert_int_equal(be_crossings_all_pairs(&lines, &view, arena, &slow, &slow_count, NULL), BE_OK);
    assert_int_equal(fast_count, slow_count);
    assert_true(fast_count > 10);
    for (size_t c = 0; c < fast_count; c++) {
      assert_memory_equal(fast[c].edge, slow[c].edge, sizeof fast[c].edge);
      assert_memory_equal(fast[c].along, slow[c].along, sizeof fast[c].along);
      assert_int_equal(fast[c].sign, slow[c].sign);
    }
    struct be_diagram diagram;
    if (fast_count > BE_CROSSINGS_MAX) continue;
    assert_int_equal(be_crossings_diagram(&lines, fast, fast_count, arena, &diagram, NULL), BE_OK);
    assert_int_equal(be_diagram_check(&diagram, NULL), BE_OK);
  }
}

static void writhe_by_one_view_is_writhe_by_pairs(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 2);
  for (int i = 0; i < 100; i++) {
    struct be_curve curve = random_polygon(&random, true);
    double one, pairs, crossings;
    assert_int_equal(be_writhe(&curve, arena, &one, NULL), BE_OK);
    assert_int_equal(be_writhe_all_pairs(&curve, arena, &pairs, &crossings, NULL), BE_OK);
    /* 20,000 angles at most, each a rounding or two off. */
    assert_true(fabs(one - pairs) < 1e-10);
    assert_true(crossings >= fabs(pairs));
  }
}

/* The mean over views, as it is defined. */
/* A corner of one lies over the other: seen a little aside it does not. */
static void near_a_view_that_is_not_generic_is_one_that_is(void **state)
{
  (void)state;
  struct be_point bent[] = {{-3, 1, 2}, {0.1, 0, 2}, {3, 1, 2}}, b[] = {{0.1, -3, 0}, {0.1, 3, 0}};
  struct be_lines lines = {2, {{bent, 3, false}, {b, 2, false}}, {1, 1}};
  struct be_crossing *crossings;
  struct be_view view = be_view_top;
  size_t count;
  assert_int_equal(be_crossings_find(&lines, &view, arena, &crossings, &count, NULL), BE_NO);
  assert_int_equal(be_crossings_near(&lines, &view, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(count, 1);
  double apart_deg = acos(view.eye[2]) * 57.29577951308232;
  assert_true(apart_deg > 0 && apart_deg < 1);
  for (int i = 0; i < 3; i++) bent[i].z = 0;
  view = be_view_top;
  assert_int_equal(be_crossings_near(&lines, &view, arena, &crossings, &count, NULL), BE_BAD_INPUT);
}

static void average_crossings_are_a_mean_over_views(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 3);
  struct be_lines lines = {1, {torus(90, 2, 3)}, {1}};
  double average, writhe, sum = 0, signs = 0;
  enum { VIEWS = 4000 };
  assert_int_equal(be_writhe_all_pairs(&lines.line[0], arena, &writhe, &average, NULL), BE_OK);
  for (int i = 0; i < VIEWS; i++) {
    struct be_view view = be_view_random(&random);
    struct be_crossing *crossings;
    struct be_crossing_counts counts;
    size_t count;
    assert_int_equal(be_crossings_find(&lines, &view, arena, &crossings, &count, NULL), BE_OK);
    be_crossings_count(crossings, count, &counts);
    sum += (double)count / VIEWS;
    signs += (double)counts.own_sign[0] / VIEWS;
  }
  /* Counts scatter by about 2 about their mean: four standard errors. */
  assert_true(fabs(sum - average) < 4 * 2 / sqrt(VIEWS));
  assert_true(fabs(signs - writhe) < 4 * 2 / sqrt(VIEWS));
}

static void links_are_counted_two_ways(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 4);
  int most = 0;
  for (int i = 0; i < 60; i++) {
    struct be_lines lines = {
        2, {random_polygon(&random, true), random_polygon(&random, true)}, {1, 1}};
    double integral;
    int linking;
    assert_int_equal(be_linking(&lines, 0, 1, arena, &linking, NULL), BE_OK);
    assert_int_equal(be_linking_integral(&lines.line[0], &lines.line[1], arena, &integral, NULL),
                     BE_OK);
    assert_true(fabs(integral - linking) < 1e-9);
    most = linking > most ? linking : most;
  }
  assert_true(most >= 2);
  struct be_lines open = {
      2, {random_polygon(&random, true), random_polygon(&random, false)}, {1, 1}};
  int linking;
  assert_int_equal(be_linking(&open, 0, 1, arena, &linking, NULL), BE_WRONG_USE);
}

/* Turned, made larger, resampled at its own points, mirrored. */
static void what_should_not_matter_does_not(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 5);
  for (int i = 0; i < 30; i++) {
    struct be_curve curve = random_polygon(&random, true), turned = curve, finer = curve;
    struct be_view view = be_view_random(&random);
    double w, w_turned, w_finer;
    turned.points = be_arena_alloc(arena, curve.count * sizeof *curve.points);
    finer.count = 3 * curve.count;
    finer.points = be_arena_alloc(arena, finer.count * sizeof *curve.points);
    for (size_t k = 0; k < curve.count; k++) {
      struct be_point p = be_view_point(&view, &curve.points[k]);
      turned.points[k] = (struct be_point){17.5 * p.x, 17.5 * p.y, -17.5 * p.z};
      for (size_t j = 0; j < 3; j++)
        finer.points[3 * k + j] =
            blend(curve.points[k], curve.points[(k + 1) % curve.count], (double)j / 3);
    }
    assert_int_equal(be_writhe(&curve, arena, &w, NULL), BE_OK);
    assert_int_equal(be_writhe(&turned, arena, &w_turned, NULL), BE_OK);
    assert_int_equal(be_writhe(&finer, arena, &w_finer, NULL), BE_OK);
    assert_true(fabs(w + w_turned) < 1e-10); /* its mirror image */
    assert_true(fabs(w - w_finer) < 1e-10);
  }
}

static void the_view_with_the_fewest_is_found(void **state)
{
  (void)state;
  static const struct {
    double p, q;
    size_t fewest;
  } knots[] = {{2, 3, 3}, {2, 7, 7}, {3, 4, 8}};
  struct be_random random;
  be_random_init(&random, 5, 6);
  for (size_t i = 0; i < sizeof knots / sizeof knots[0]; i++) {
    struct be_curve curve = torus(2000, knots[i].p, knots[i].q);
    struct be_view turn = be_view_random(&random), view;
    for (size_t k = 0; k < curve.count; k++)
      curve.points[k] = be_view_point(&turn, &curve.points[k]);
    struct be_lines lines = {1, {curve}, {1}};
    size_t crossings;
    assert_int_equal(be_view_fewest(&lines, 60, 1, arena, &view, &crossings, NULL), BE_OK);
    assert_int_equal(crossings, knots[i].fewest);
  }
}

/* Where nothing crosses in the first views, nothing can be better. */
static void a_line_laid_out_crosses_nothing(void **state)
{
  (void)state;
  struct be_point points[40];
  for (int i = 0; i < 40; i++)
    points[i] = (struct be_point){0.37 * i, sin(0.21 * i), 0.3 * cos(0.17 * i)};
  struct be_lines lines = {1, {{points, 40, false}}, {1}};
  struct be_view view;
  size_t fewest = 7;
  assert_int_equal(be_view_fewest(&lines, 20, 1, arena, &view, &fewest, NULL), BE_OK);
  assert_int_equal(fewest, 0);
}

/* Views are counted only as far as need be: what comes of it is counted to its end. */
static void the_fewest_are_all_that_are_there(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 7);
  for (int i = 0; i < 20; i++) {
    struct be_lines lines = {
        2, {random_polygon(&random, i % 2), random_polygon(&random, i % 3)}, {1, 1}};
    struct be_view view;
    struct be_crossing *crossings;
    size_t fewest, count, first;
    assert_int_equal(be_view_fewest(&lines, 10, 1, arena, &view, &fewest, NULL), BE_OK);
    assert_int_equal(be_crossings_all_pairs(&lines, &view, arena, &crossings, &count, NULL), BE_OK);
    assert_int_equal(fewest, count);
    view = be_view_of(0, 90); /* one of those along the axes */
    assert_int_equal(be_crossings_all_pairs(&lines, &view, arena, &crossings, &first, NULL), BE_OK);
    assert_true(fewest <= first);
  }
}

static void views_that_hide_something_are_refused(void **state)
{
  (void)state;
  struct be_point upright[] = {{0, 0, 0}, {2, 0, 0}, {2, 2, 1}, {1, -1, 1}, {1, 0, 3}, {1, 3, 2}};
  struct be_lines lines = {1, {{upright, 6, false}}, {1}};
  struct be_crossing *crossings;
  size_t count;
  struct be_err err;
  /* The fifth point lies over the first edge. */
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &count, &err), BE_NO);
  assert_non_null(strstr(err.what, "passes through a point"));
  struct be_point meeting[] = {{-1, 0, 0}, {1, 0, 0}, {0, 1, 1}, {0, -1, -1}};
  lines.line[0] = (struct be_curve){meeting, 4, false};
  assert_int_equal(be_crossings_find(&lines, &be_view_top, arena, &crossings, &count, &err),
                   BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "meet in space"));
  struct be_view view;
  assert_int_equal(be_view_fewest(&lines, 9, 1, arena, &view, &count, &err), BE_BAD_INPUT);
  meeting[2].x = meeting[2].y = 1.5e308; /* seen askew, their sum is no number */
  view = be_view_of(40, 20);
  assert_int_equal(be_crossings_find(&lines, &view, arena, &crossings, &count, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "point 3 of the line is too far out"));
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(boxes_find_what_pairs_find),
      drawn(writhe_by_one_view_is_writhe_by_pairs),
      drawn(near_a_view_that_is_not_generic_is_one_that_is),
      drawn(average_crossings_are_a_mean_over_views),
      drawn(links_are_counted_two_ways),
      drawn(what_should_not_matter_does_not),
      drawn(the_view_with_the_fewest_is_found),
      drawn(a_line_laid_out_crosses_nothing),
      drawn(the_fewest_are_all_that_are_there),
      drawn(views_that_hide_something_are_refused),
  };
  return be_tests("knot: crossing", tests);
}
