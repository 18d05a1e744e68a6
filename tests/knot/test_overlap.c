/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "fault/failing.h"
#include "knot/curve/vector.h"
#include "knot/measure/measure.h"
#include "shapes.h"

static struct be_curve straight(struct be_point from, struct be_point to, size_t edges)
{
  struct be_curve curve = {be_arena_alloc(arena, (edges + 1) * sizeof from), edges + 1, false};
  for (size_t i = 0; i <= edges; i++) curve.points[i] = blend(from, to, (double)i / (double)edges);
  return curve;
}

static void one_stretch(const struct be_stretches *stretches, double from, double to)
{
  assert_int_equal(stretches->count, 1);
  assert_near(stretches->list[0].from, from, 1e-9);
  assert_near(stretches->list[0].to, to, 1e-9);
  assert_near(stretches->length, to - from, 1e-9);
}

/* Two straight lines of unlike thickness, one 1.1 above the other, crossing at 40 degrees: lengths
 * by Pythagoras. */
static void two_straight_lines(void **state)
{
  (void)state;
  const double angle = 40 * pi / 180, high = 1.1, mean = (1 + 0.6) / 2, tolerance = 0.45;
  for (size_t edges = 1; edges < 400; edges = 3 * edges + 1) {
    struct be_lines lines = {2, {{0}}, {1, 0.6}};
    struct be_overlap overlaps[BE_OVERLAPS_MAX];
    lines.line[0] = straight((struct be_point){-7, 0, 0}, (struct be_point){9, 0, 0}, edges);
    lines.line[1] = straight((struct be_point){-8 * cos(angle), -8 * sin(angle), high},
                             (struct be_point){8 * cos(angle), 8 * sin(angle), high}, edges + 5);
    assert_int_equal(be_overlaps(&lines, &be_view_top, tolerance, arena, overlaps, NULL), BE_OK);
    double reach = mean * (1 + tolerance), touch = sqrt(reach * reach - high * high) / sin(angle);
    double cover = mean / sin(angle);
    const struct be_overlap *a = &overlaps[1], *b = &overlaps[2];
    one_stretch(&a->touching, 7 - touch, 7 + touch);
    one_stretch(&a->under, 7 - cover, 7 + cover);
    one_stretch(&a->beneath, 7 - touch, 7 + touch);
    assert_int_equal(a->over.count + a->on.count, 0);
    one_stretch(&b->touching, 8 - touch, 8 + touch);
    one_stretch(&b->over, 8 - cover, 8 + cover);
    one_stretch(&b->on, 8 - touch, 8 + touch);
    assert_int_equal(b->under.count + b->beneath.count, 0);
    assert_int_equal(overlaps[0].touching.count + overlaps[3].touching.count, 0);
    assert_int_equal(overlaps[0].over.count + overlaps[0].under.count, 0);
  }
}

/* Side by side in the drawing: they touch, and neither lies on the other. */
static void side_by_side(void **state)
{
  (void)state;
  struct be_lines lines = {2, {{0}}, {1, 1}};
  struct be_overlap overlaps[BE_OVERLAPS_MAX];
  lines.line[0] = straight((struct be_point){-7, 0, 0.2}, (struct be_point){9, 0, 0.2}, 33);
  lines.line[1] = straight((struct be_point){-4, 1.05, 0}, (struct be_point){5, 1.05, 0}, 20);
  assert_int_equal(be_overlaps(&lines, &be_view_top, 0.25, arena, overlaps, NULL), BE_OK);
  double more = sqrt(1.25 * 1.25 - 1.05 * 1.05 - 0.2 * 0.2);
  one_stretch(&overlaps[1].touching, 3 - more, 12 + more);
  assert_int_equal(overlaps[1].over.count + overlaps[1].under.count, 0);
  struct be_view side = be_view_of(0, 90); /* from the front: y is depth */
  assert_int_equal(be_overlaps(&lines, &side, 0.25, arena, overlaps, NULL), BE_OK);
  one_stretch(&overlaps[1].touching, 3 - more, 12 + more);
  assert_int_equal(overlaps[1].over.count + overlaps[1].under.count, 1);
  assert_true(overlaps[1].on.length + overlaps[1].beneath.length > 9);
}

/* A hairpin of the tightest bend: each leg touches the other all along, the bend itself does not
 * count as touching itself. */
static void a_hairpin_touches_itself(void **state)
{
  (void)state;
  enum { LEG = 60, BEND = 24 };
  struct be_lines lines = {
      1, {{be_arena_alloc(arena, 200 * sizeof(struct be_point)), 0, false}}, {1}};
  struct be_curve *line = &lines.line[0];
  for (int i = 0; i < LEG; i++)
    line->points[line->count++] = (struct be_point){-6 + 0.1 * i, -0.5, 0};
  for (int i = 0; i <= BEND; i++)
    line->points[line->count++] =
        (struct be_point){0.5 * sin(pi * i / BEND), -0.5 * cos(pi * i / BEND), 0};
  for (int i = 1; i <= LEG; i++) line->points[line->count++] = (struct be_point){-0.1 * i, 0.5, 0};
  struct be_overlap overlaps[BE_OVERLAPS_MAX];
  assert_int_equal(be_overlaps(&lines, &be_view_top, 0, arena, overlaps, NULL), BE_OK);
  assert_near(overlaps[0].touching.length, 12, 0.21);
  assert_int_equal(be_overlaps(&lines, &be_view_top, 0.25, arena, overlaps, NULL), BE_OK);
  assert_true(overlaps[0].touching.length > 12.4);
  assert_true(overlaps[0].touching.length < be_curve_length(line) + 1e-9);
}

/* ---- the slow way: places, one by one ---- */

static struct be_curve random_walk(struct be_random *random, bool closed)
{
  size_t n = 20 + be_random_below(random, 181);
  struct be_curve curve = {be_arena_alloc(arena, n * sizeof *curve.points), n, closed};
  for (size_t i = 0; i < n; i++)
    curve.points[i] = (struct be_point){4 * be_random_normal(random), 4 * be_random_normal(random),
                                        4 * be_random_normal(random)};
  return curve;
}

static bool holds(const struct be_stretches *stretches, double along)
{
  for (size_t i = 0; i < stretches->count; i++)
    if (stretches->list[i].from <= along && along <= stretches->list[i].to) return true;
  return false;
}

/* The nearest of an edge to a point. */
static struct be_point nearest(struct be_point p, struct be_point from, struct be_point to)
{
  struct be_point v = minus(to, from);
  return blend(from, to, fmin(1, fmax(0, dot(minus(p, from), v) / dot(v, v))));
}

struct slow {
  bool touching, over, under;
  bool doubtful; /* the sides: a line may run steeply through the other's height, as no tube can */
};

static void look(const struct be_point *p, const struct be_point q[2], double reach, bool flat,
                 struct slow *slow)
{
  struct be_point a = *p, b[2] = {q[0], q[1]};
  if (flat) a.z = b[0].z = b[1].z = 0;
  struct be_point near = nearest(a, b[0], b[1]);
  if (distance(a, near) > reach) return;
  if (!flat) {
    slow->touching = true;
    return;
  }
  double all = distance(b[0], b[1]);
  double height = q[0].z + distance(b[0], near) / all * (q[1].z - q[0].z);
  if (fabs(height - p->z) < 0.9 * fabs(q[1].z - q[0].z) + 4) slow->doubtful = true;
  if (p->z > height) slow->over = true;
  else slow->under = true;
}

struct looking {
  const struct be_lines *lines;
  const struct be_view *view;
  size_t a, b;
};

/* A point against what lies farther along than `apart`: edges are cut where they pass that. */
static struct slow look_round(const struct looking *w, double along, struct be_point p, bool flat,
                              double reach, double apart)
{
  const struct be_curve *y = &w->lines->line[w->b];
  double all = be_curve_length(y), walked = 0;
  struct slow slow = {false, false, false, false};
  for (size_t j = 0; j < be_curve_edges(y); j++) {
    struct be_point q0 = y->points[j], q1 = y->points[(j + 1) % y->count];
    double length = distance(q0, q1), cuts[8] = {0, 1};
    size_t count = 2;
    for (int k = -1; k <= 1 && w->a == w->b; k++)
      for (int side = -1; side <= 1; side += 2) {
        double at = (along + side * apart + k * all - walked) / length;
        if (at > 0 && at < 1 && (k == 0 || y->closed)) cuts[count++] = at;
      }
    for (size_t i = 0; i < count; i++)
      for (size_t k = i + 1; k < count; k++)
        if (cuts[k] < cuts[i]) {
          double swap = cuts[i];
          cuts[i] = cuts[k];
          cuts[k] = swap;
        }
    for (size_t i = 0; i + 1 < count; i++) {
      double way = fabs(walked + (cuts[i] + cuts[i + 1]) / 2 * length - along);
      if (y->closed) way = fmin(way, all - way);
      if (w->a == w->b && way <= apart) continue;
      struct be_point q[2] = {blend(q0, q1, cuts[i]), blend(q0, q1, cuts[i + 1])};
      for (int k = 0; k < 2 && flat; k++) q[k] = be_view_point(w->view, &q[k]);
      look(&p, q, reach, flat, &slow);
    }
    walked += length;
  }
  return slow;
}

/* False when it would be otherwise with a little more or less. */
static bool sure_round(const struct looking *w, double along, struct be_point p, bool flat,
                       double reach, struct slow *slow)
{
  double apart = pi / 2 * w->lines->diameter[w->a];
  *slow = look_round(w, along, p, flat, reach, apart);
  for (int k = 0; k < 4; k++) {
    struct slow other = look_round(w, along, p, flat, reach + (k % 2 ? 1e-7 : -1e-7),
                                   apart * (k / 2 ? 1.02 : 0.98));
    if (other.touching != slow->touching || other.over != slow->over || other.under != slow->under)
      return false;
  }
  return true;
}

static size_t compare_places(const struct looking *w, const struct be_overlap *overlap,
                             double tolerance)
{
  const struct be_curve *x = &w->lines->line[w->a];
  double mean = (w->lines->diameter[w->a] + w->lines->diameter[w->b]) / 2, walked = 0;
  size_t sure = 0;
  for (size_t i = 0; i < be_curve_edges(x); i++) {
    double length = norm(edge_of(x, i));
    for (double at = 0.13; at < 1; at += 0.31) {
      struct be_point p = blend(x->points[i], x->points[(i + 1) % x->count], at);
      struct be_point seen = be_view_point(w->view, &p);
      double along = walked + at * length;
      struct slow slow;
      if (sure_round(w, along, p, false, mean * (1 + tolerance), &slow)) {
        assert_int_equal(holds(&overlap->touching, along), slow.touching);
        sure += slow.touching;
      }
      if (!sure_round(w, along, seen, true, mean, &slow)) continue;
      bool over = holds(&overlap->over, along), under = holds(&overlap->under, along);
      assert_int_equal(over || under, slow.over || slow.under);
      if (slow.doubtful) continue;
      assert_int_equal(over, slow.over);
      assert_int_equal(under, slow.under);
      sure += over || under;
    }
    walked += length;
  }
  return sure;
}

static void places_say_what_stretches_say(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 31);
  size_t sure = 0;
  for (int i = 0; i < 6; i++) {
    struct be_lines lines = {
        2, {random_walk(&random, i % 2), random_walk(&random, i % 3 == 0)}, {1, 0.7}};
    struct be_view view = be_view_random(&random);
    struct be_overlap overlaps[BE_OVERLAPS_MAX];
    assert_int_equal(be_overlaps(&lines, &view, 0.25, arena, overlaps, NULL), BE_OK);
    for (size_t k = 0; k < 4; k++) {
      assert_int_equal(overlaps[k].line, k / 2);
      assert_int_equal(overlaps[k].other, k % 2);
      sure += compare_places(&(struct looking){&lines, &view, k / 2, k % 2}, &overlaps[k], 0.25);
    }
  }
  assert_true(sure > 1000);
}

/* Turned, larger, finer, mirrored: what is measured stays. */
static void what_should_not_matter_does_not(void **state)
{
  (void)state;
  struct be_lines bend = barrel_bend(3, 1, arena), turned = bend, finer = bend;
  struct be_random random;
  be_random_init(&random, 5, 32);
  struct be_view view = be_view_random(&random);
  for (size_t l = 0; l < 2; l++) {
    const struct be_curve *from = &bend.line[l];
    turned.diameter[l] = 2.5;
    turned.line[l].points = be_arena_alloc(arena, from->count * sizeof *from->points);
    for (size_t i = 0; i < from->count; i++) {
      struct be_point p = be_view_point(&view, &from->points[i]);
      turned.line[l].points[i] = (struct be_point){2.5 * p.x, 2.5 * p.y, 2.5 * p.z};
    }
    assert_int_equal(be_curve_resample(from, 0.031, arena, &finer.line[l], NULL), BE_OK);
  }
  struct be_overlap one[BE_OVERLAPS_MAX], two[BE_OVERLAPS_MAX], three[BE_OVERLAPS_MAX];
  assert_int_equal(be_overlaps(&bend, &view, 0.25, arena, one, NULL), BE_OK);
  assert_int_equal(be_overlaps(&turned, &be_view_top, 0.25, arena, two, NULL), BE_OK);
  assert_int_equal(be_overlaps(&finer, &view, 0.25, arena, three, NULL), BE_OK);
  for (size_t k = 0; k < 4; k++) {
    assert_true(one[k].touching.length > 3);
    assert_near(two[k].touching.length, 2.5 * one[k].touching.length, 1e-6);
    assert_near(two[k].over.length, 2.5 * one[k].over.length, 1e-6);
    assert_near(two[k].under.length, 2.5 * one[k].under.length, 1e-6);
    assert_near(three[k].touching.length, one[k].touching.length, 0.4);
    assert_near(three[k].over.length, one[k].over.length, 0.4);
  }
}

static void what_is_wrong_is_refused(void **state)
{
  (void)state;
  struct be_lines lines = {
      1, {straight((struct be_point){0, 0, 0}, (struct be_point){3, 1, 2}, 4)}, {1}};
  struct be_overlap overlaps[BE_OVERLAPS_MAX];
  struct be_err err;
  assert_int_equal(be_overlaps(&lines, &be_view_top, 0.51, arena, overlaps, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "tolerance"));
  assert_int_equal(be_overlaps(&lines, &be_view_top, -0.1, arena, overlaps, NULL), BE_WRONG_USE);
  lines.line[0].points[2].y = NAN;
  assert_int_equal(be_overlaps(&lines, &be_view_top, 0.25, arena, overlaps, NULL), BE_BAD_INPUT);
}

/* ---- load path ---- */

/* Line A straight from the left, pulled there, over the middle of B; B pulled at both ends. */
static void the_load_path_of_a_cross(void **state)
{
  (void)state;
  struct be_lines lines = {2, {{0}}, {1, 1}};
  lines.line[0] = straight((struct be_point){-7, 0, 1}, (struct be_point){9, 0, 1}, 50);
  lines.line[1] = straight((struct be_point){0, -5, 0}, (struct be_point){0, 6, 0}, 50);
  struct be_overlap overlaps[BE_OVERLAPS_MAX];
  struct be_ends ends = {{{true, false}, {true, true}}, {false}};
  struct be_load_counts counts;
  enum be_part parts[4][2];
  /* The second crossing is one of a tag of A with a standing part of B; they are made up. */
  struct be_crossing crossings[4] = {{.line = {0, 1}, .along = {7, 5}},
                                     {.line = {1, 0}, .along = {9, 15}},
                                     {.line = {0, 1}, .along = {2, 1}},
                                     {.line = {0, 1}, .along = {7.1, 0.5}}};
  assert_int_equal(be_overlaps(&lines, &be_view_top, 0.25, arena, overlaps, NULL), BE_OK);
  assert_int_equal(be_load_path(&lines, &ends, overlaps, crossings, 4, &counts, parts, NULL),
                   BE_OK);
  assert_true(counts.line[0].touches);
  assert_near(counts.line[0].from, 7 - 0.75, 1e-9);
  assert_near(counts.line[0].to, 7 + 0.75, 1e-9);
  assert_near(counts.line[0].turned_deg, 0, 1e-5);
  assert_int_equal(counts.inside, 1);
  assert_int_equal(counts.tags, 1);
  assert_int_equal(counts.standing, 1);
  assert_int_equal(counts.half, 1);
  assert_int_equal(parts[0][0], BE_IN_KNOT);
  assert_int_equal(parts[1][0], BE_STANDING);
  assert_int_equal(parts[1][1], BE_TAG);
  assert_int_equal(parts[3][1], BE_STANDING);
  struct be_ends none = {{{false}}, {false}};
  assert_int_equal(be_load_path(&lines, &none, overlaps, crossings, 4, &counts, NULL, NULL), BE_NO);
}

/* In a reef knot all six crossings are in the knot; each line turns by one whole turn and more. */
static void the_load_path_of_a_reef(void **state)
{
  (void)state;
  struct be_lines reef = half_knots(1, -1, arena);
  struct be_ends ends = {{{true, false}, {true, false}}, {false}};
  struct be_overlap overlaps[BE_OVERLAPS_MAX];
  struct be_crossing *crossings;
  struct be_load_counts counts;
  size_t count;
  assert_int_equal(be_overlaps(&reef, &be_view_top, 0.25, arena, overlaps, NULL), BE_OK);
  assert_int_equal(be_crossings_find(&reef, &be_view_top, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_load_path(&reef, &ends, overlaps, crossings, count, &counts, NULL, NULL),
                   BE_OK);
  assert_int_equal(counts.inside, 6);
  assert_int_equal(counts.half + counts.tags + counts.standing, 0);
  assert_near(counts.line[0].from, counts.line[1].from, 1e-6);
  assert_near(counts.line[0].turned_deg, counts.line[1].turned_deg, 1e-6);
  assert_true(counts.line[0].turned_deg > 360);
}

/* ---- memory ---- */

static enum be_status attempt(void *context, struct be_err *err)
{
  struct be_overlap overlaps[BE_OVERLAPS_MAX];
  struct be_arena *own = be_arena_create();
  if (!own) return be_fail(err, BE_NO_MEMORY, "no memory for the test");
  enum be_status status = be_overlaps(context, &be_view_top, 0.25, own, overlaps, err);
  be_arena_free(own);
  return status;
}

static void memory_runs_out(void **state)
{
  (void)state;
  struct be_lines reef = half_knots(1, -1, arena);
  be_fail_loop(attempt, &reef, 10);
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(two_straight_lines),
      drawn(side_by_side),
      drawn(a_hairpin_touches_itself),
      drawn(places_say_what_stretches_say),
      drawn(what_should_not_matter_does_not),
      drawn(what_is_wrong_is_refused),
      drawn(the_load_path_of_a_cross),
      drawn(the_load_path_of_a_reef),
      drawn(memory_runs_out),
  };
  return be_tests("knot: overlap", tests);
}
