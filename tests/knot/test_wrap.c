/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "fault/failing.h"
#include "knot/curve/vector.h"
#include "knot/measure/measure.h"
#include "shapes.h"

/* An axis of constant bend, 0: straight, and a helix of so many turns about it. */
static struct be_lines helix(double turns, int hand, double bend, double radius, double pitch)
{
  enum { EACH = 40 };
  struct be_lines lines = {2, {{0}}, {1, 1}};
  double length = turns * pitch;
  size_t n = (size_t)(turns * EACH) + 1, m = 400;
  struct be_curve *coil = &lines.line[0], *axis = &lines.line[1];
  *coil = (struct be_curve){be_arena_alloc(arena, n * sizeof *coil->points), n, false};
  *axis = (struct be_curve){be_arena_alloc(arena, m * sizeof *axis->points), m, false};
  for (size_t k = 0; k < n + m; k++) {
    bool is_coil = k < n;
    size_t i = is_coil ? k : k - n;
    double s = is_coil ? length * (double)i / (double)(n - 1)
                       : (length + 6) * (double)i / (double)(m - 1) - 3;
    double u = hand * 2 * pi * s / pitch, r = is_coil ? radius : 0;
    double side = r * cos(u), up = r * sin(u);
    struct be_point *p = is_coil ? &coil->points[i] : &axis->points[i];
    *p = bend > 0 ? (struct be_point){(1 / bend - side) * sin(bend * s),
                                      side * cos(bend * s) + (1 - cos(bend * s)) / bend, up}
                  : (struct be_point){s, side, up};
  }
  return lines;
}

static const struct be_wrap *only(const struct be_lines *lines, size_t line, size_t other)
{
  struct be_wrap *wraps;
  size_t count, found = 0, at = 0;
  assert_int_equal(be_wraps(lines, 0, 0, arena, &wraps, &count, NULL), BE_OK);
  for (size_t i = 0; i < count; i++)
    if (wraps[i].line == line && wraps[i].other == other) found++, at = i;
  assert_int_equal(found, 1);
  return &wraps[at];
}

/* To a hundredth; a right-handed helix is positive whichever way either line is read. */
static void a_helix_has_its_turns(void **state)
{
  (void)state;
  static const struct {
    double turns, bend, radius, pitch;
  } cases[] = {{5, 0, 1, 1},      {1, 0, 1, 1.3},      {9.5, 0, 1.1, 1.05}, {3.25, 0, 1.7, 2.2},
               {5, 0.05, 1, 1.2}, {7, 0.09, 1.2, 1.1}, {2, 0.15, 1, 3}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    for (int k = 0; k < 8; k++) {
      int hand = k & 1 ? -1 : 1;
      struct be_lines lines =
          helix(cases[i].turns, hand, cases[i].bend, cases[i].radius, cases[i].pitch);
      for (size_t l = 0; l < 2; l++) {
        struct be_curve *line = &lines.line[l];
        for (size_t a = 0, b = line->count - 1; (k >> (l + 1) & 1) && a < b; a++, b--) {
          struct be_point swap = line->points[a];
          line->points[a] = line->points[b];
          line->points[b] = swap;
        }
      }
      const struct be_wrap *wrap = only(&lines, 0, 1);
      double length = be_curve_length(&lines.line[0]);
      assert_near(wrap->turns, hand * cases[i].turns, 0.01 * cases[i].turns);
      assert_near(wrap->apart, cases[i].radius, 0.02);
      assert_near(wrap->from, 0, 0.08 * length / cases[i].turns);
      assert_near(wrap->to, length, 0.08 * length / cases[i].turns);
      assert_near(wrap->other_to - wrap->other_from, cases[i].turns * cases[i].pitch,
                  0.16 * cases[i].pitch + 0.1);
    }
}

/* Neighbouring turns lie side by side: the coil does not wrap itself, nor the axis the coil. */
static void a_coil_does_not_wrap_itself(void **state)
{
  (void)state;
  struct be_lines lines = helix(12, 1, 0, 1, 1.02);
  struct be_wrap *wraps;
  size_t count;
  assert_int_equal(be_wraps(&lines, 0, 0, arena, &wraps, &count, NULL), BE_OK);
  assert_int_equal(count, 1);
  assert_int_equal(wraps[0].line, 0);
  assert_int_equal(wraps[0].other, 1);
}

/* Two lines laid up in a helix of half a diameter go round each other, both ways told. The frame
 * that is carried along one of them turns by its torsion, c / sqrt(r^2 + c^2) of a turn each turn
 * (c: pitch over 2 pi), so that is how often the other goes round it. */
static void two_laid_up(void **state)
{
  (void)state;
  const double pitch = 7, c = pitch / (2 * pi), share = c / sqrt(0.25 + c * c);
  struct be_lines one = helix(4, 1, 0, 0.5, pitch), lines = {2, {{0}}, {1, 1}};
  struct be_view half = be_view_of(0, 180); /* y and z turn round */
  lines.line[0] = lines.line[1] = one.line[0];
  lines.line[1].points = be_arena_alloc(arena, one.line[0].count * sizeof(struct be_point));
  for (size_t i = 0; i < one.line[0].count; i++)
    lines.line[1].points[i] = be_view_point(&half, &one.line[0].points[i]);
  assert_near(only(&lines, 0, 1)->turns, 4 * share, 0.04 + 0.1 * share);
  assert_near(only(&lines, 1, 0)->turns, 4 * share, 0.04 + 0.1 * share);
}

/* A barrel of n turns and a quarter goes round both cores that it holds, and along the tag. */
static void barrels_have_their_turns(void **state)
{
  (void)state;
  for (int n = 1; n <= 6; n++)
    for (int hand = -1; hand <= 1; hand += 2) {
      struct be_lines bend = barrel_bend(n, hand, arena);
      struct be_wrap *wraps;
      size_t count, own = 0;
      const struct be_wrap *a = only(&bend, 0, 1), *b = only(&bend, 1, 0);
      assert_near(fabs(a->turns), n + 0.25, 0.25);
      assert_near(b->turns, a->turns, 0.02);
      assert_true((a->turns < 0) == (hand > 0)); /* it goes to the left */
      assert_int_equal(be_wraps(&bend, 0, 0, arena, &wraps, &count, NULL), BE_OK);
      for (size_t i = 0; i < count; i++) {
        if (wraps[i].line != 0 || wraps[i].other != 0) continue;
        own++;
        assert_near(wraps[i].turns, a->turns, 0.35);
      }
      assert_int_equal(own, 2);
    }
}

/* A straight line across another makes less than half a turn: never told. */
static void a_crossing_is_no_wrap(void **state)
{
  (void)state;
  struct be_point a[] = {{-9, 0, 1.1}, {-3, 0, 1.1}, {9, 0, 1.1}},
                  b[] = {{0.3, -8, 0}, {0.1, 7, 0}};
  struct be_lines lines = {2, {{a, 3, false}, {b, 2, false}}, {1, 1}};
  struct be_wrap *wraps;
  size_t count;
  assert_int_equal(be_wraps(&lines, 0, 0.5, arena, &wraps, &count, NULL), BE_OK);
  assert_int_equal(count, 0);
}

/* Five turns to the right, a lead beside the other, three to the left: two wraps. */
static void there_and_back(void **state)
{
  (void)state;
  struct shape *shape = be_arena_alloc(arena, sizeof *shape);
  for (double u = 0; u <= 5; u += 0.05) to(shape, u * 1.2, cos(2 * pi * u), sin(2 * pi * u));
  for (double x = 6.6; x < 12; x += 0.6) to(shape, x, 1, 0);
  for (double u = 0; u <= 3; u += 0.05) to(shape, 12 + u * 1.2, cos(2 * pi * u), -sin(2 * pi * u));
  struct be_point axis[] = {{-4, 0, 0}, {5, 0, 0}, {22, 0, 0}};
  struct be_lines lines = {2, {drawn_through(shape, 0.05, arena), {axis, 3, false}}, {1, 1}};
  struct be_wrap *wraps;
  size_t count;
  assert_int_equal(be_wraps(&lines, 0, 0, arena, &wraps, &count, NULL), BE_OK);
  assert_int_equal(count, 2);
  assert_near(wraps[0].turns, 5, 0.05);
  assert_near(wraps[1].turns, -3, 0.05);
  double coil = hypot(2 * pi, 1.2);
  assert_near(wraps[0].to, 5 * coil, 0.4);
  assert_near(wraps[1].from, 5 * coil + 6, 0.4);
}

/* Once round a ring's own line, and a closed line that is wrapped over its first point. */
static void closed_lines(void **state)
{
  (void)state;
  enum { N = 300 };
  struct be_curve ring = {be_arena_alloc(arena, N * sizeof *ring.points), N, true};
  struct shape *shape = be_arena_alloc(arena, sizeof *shape);
  for (int i = 0; i < N; i++)
    ring.points[i] = (struct be_point){9 * cos(2 * pi * i / N), 9 * sin(2 * pi * i / N), 0};
  for (double u = -2; u <= 2; u += 0.05) {
    double w = 9 + 1.1 * cos(2 * pi * u), at = u * 1.3 / 9;
    to(shape, w * cos(at), w * sin(at), 1.1 * sin(2 * pi * u));
  }
  struct be_lines lines = {2, {drawn_through(shape, 0.05, arena), ring}, {1, 1}};
  const struct be_wrap *wrap = only(&lines, 0, 1);
  assert_near(fabs(wrap->turns), 4, 0.06);
  assert_true(wrap->other_from < 0 && wrap->other_to > 0);
  assert_near(wrap->other_to - wrap->other_from, 4 * 1.3, 0.3);
}

static enum be_status attempt(void *context, struct be_err *err)
{
  struct be_wrap *wraps;
  size_t count;
  struct be_arena *own = be_arena_create();
  if (!own) return be_fail(err, BE_NO_MEMORY, "no memory for the test");
  enum be_status status = be_wraps(context, 0, 0, own, &wraps, &count, err);
  be_arena_free(own);
  return status;
}

static void memory_runs_out(void **state)
{
  (void)state;
  struct be_lines bend = barrel_bend(2, 1, arena);
  be_fail_loop(attempt, &bend, 3);
  bend.line[1].points[7].x = INFINITY;
  assert_int_equal(attempt(&bend, NULL), BE_BAD_INPUT);
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(a_helix_has_its_turns), drawn(a_coil_does_not_wrap_itself),
      drawn(two_laid_up),           drawn(barrels_have_their_turns),
      drawn(a_crossing_is_no_wrap), drawn(there_and_back),
      drawn(closed_lines),          drawn(memory_runs_out),
  };
  return be_tests("knot: wrap", tests);
}
