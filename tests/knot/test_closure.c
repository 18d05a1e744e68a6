/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "fault/failing.h"
#include "knot/curve/vector.h"
#include "knot/measure/measure.h"
#include "shapes.h"

/* Two straight lines from the left to the right. */
static struct be_lines two_lines(void)
{
  static struct be_point a[] = {{-5, 1, 0}, {0, 1.2, 0.1}, {6, 1.1, 0}};
  static struct be_point b[] = {{-5.3, -1, 0.2}, {0.2, -1.3, 0}, {5.5, -1, 0}};
  return (struct be_lines){2, {{a, 3, false}, {b, 3, false}}, {1, 0.8}};
}

static struct be_closed closed_as(const struct be_lines *lines, const struct be_ends *ends,
                                  enum be_closure closure)
{
  struct be_closed closed;
  struct be_err err = {0};
  if (be_close(lines, ends, &be_view_top, closure, arena, &closed, &err) != BE_OK)
    fail_msg("%s", err.what);
  for (size_t l = 0; l < closed.lines.count; l++) {
    assert_true(closed.lines.line[l].closed);
    assert_int_equal(be_curve_check(&closed.lines.line[l], NULL), BE_OK);
  }
  return closed;
}

/* Two straight lines: which rings each rule makes of them, and that rings lie apart. */
static void rules_join_what_they_say(void **state)
{
  (void)state;
  static const size_t rings[BE_CLOSURES] = {2, 2, 1, 1, 1, 1, 2};
  struct be_lines lines = two_lines();
  struct be_ends ends = {{{true, false}, {true, false}}, {false}};
  for (int c = 0; c < BE_CLOSURES; c++) {
    struct be_closed closed = closed_as(&lines, &ends, (enum be_closure)c);
    assert_true(strlen(be_closures[c].name) > 3 && strlen(be_closures[c].words) > 20);
    assert_int_equal(closed.lines.count, rings[c]);
    assert_int_equal(closed.joins, 2);
    assert_int_equal(closed.led, 0);
    assert_int_equal(closed.outside, 0);
    assert_int_equal(closed.of[0], 0);
    struct be_crossing *crossings;
    size_t count;
    struct be_view view = be_view_of(1.7, 0.9);
    assert_int_equal(be_crossings_find(&closed.lines, &view, arena, &crossings, &count, NULL),
                     BE_OK);
    assert_int_equal(count, 0);
    /* The line itself is in it, in its direction. */
    assert_memory_equal(closed.lines.line[0].points, lines.line[0].points,
                        3 * sizeof(struct be_point));
  }
}

/* Ends that alternate round the drawing: the joins of a cross must cross, once, over or under. */
static void alternate_ends_cross_outside(void **state)
{
  (void)state;
  struct be_point a[] = {{-5, 0.3, 0}, {6, 0.2, 0}}, b[] = {{0.1, -7, 1}, {0.3, 5, 1}};
  struct be_lines lines = {2, {{a, 2, false}, {b, 2, false}}, {1, 1}};
  int sign[2];
  for (int k = 0; k < 2; k++) {
    struct be_closed closed = closed_as(&lines, NULL, k ? BE_CLOSE_EACH_UNDER : BE_CLOSE_EACH);
    assert_int_equal(closed.outside, 1);
    assert_int_equal(closed.lines.count, 2);
    assert_int_equal(be_linking(&closed.lines, 0, 1, arena, &sign[k], NULL), BE_OK);
  }
  /* One of the two is a pair of linked rings. */
  assert_int_equal(abs(sign[0]) + abs(sign[1]), 1);
}

/* An end inside the drawing is led out past what is there, and this is told; rings stay. */
static void leads_that_pass_something_are_counted(void **state)
{
  (void)state;
  struct be_point a[] = {{-6, 0.2, 0.3}, {0.1, 0.1, 0.3}},
                  b[] = {{3, -4, 0}, {3.1, 0.1, 0}, {3, 5, 0}};
  struct be_point ring[] = {{-2, -2, 4}, {-1, -2, 4}, {-1.5, -1, 4}};
  struct be_lines lines = {3, {{a, 2, false}, {b, 3, false}, {ring, 3, true}}, {1, 1, 0.4}};
  struct be_closed closed = closed_as(&lines, NULL, BE_CLOSE_EACH);
  assert_int_equal(closed.led, 1);
  assert_int_equal(closed.lines.count, 3);
  assert_ptr_equal(closed.lines.line[2].points, ring);
  assert_int_equal(closed.of[2], 2);
  assert_near(closed.lines.diameter[2], 0.4, 0);
}

static void what_does_not_fit_is_refused(void **state)
{
  (void)state;
  struct be_lines lines = two_lines(), one = lines;
  struct be_ends three = {{{true, true}, {true, false}}, {false}};
  struct be_closed closed;
  struct be_err err;
  one.count = 1;
  for (int c = BE_CLOSE_ENDS; c < BE_CLOSURES; c++) {
    assert_int_equal(be_close(&one, NULL, &be_view_top, (enum be_closure)c, arena, &closed, &err),
                     BE_NO);
    assert_non_null(strstr(err.what, "for two open lines"));
  }
  assert_int_equal(be_close(&lines, &three, &be_view_top, BE_CLOSE_LOADED, arena, &closed, &err),
                   BE_NO);
  assert_non_null(strstr(err.what, "3 of four ends"));
  lines.line[1].count = 1;
  assert_int_equal(be_close(&lines, NULL, &be_view_top, BE_CLOSE_EACH, arena, &closed, NULL),
                   BE_BAD_INPUT);
}

/* An overhand with long ends is a trefoil from all sides but a few; a straight line is none. */
static void shares_of_directions(void **state)
{
  (void)state;
  struct be_shares shares;
  struct be_curve overhand = multiple_overhand(1, 1, arena), line = two_lines().line[0];
  assert_int_equal(be_closure_shares(&overhand, 60, 5, &shares, NULL), BE_OK);
  assert_int_equal(shares.directions, 60);
  assert_string_equal(shares.share[0].name, "3_1");
  assert_true(shares.share[0].count > 45);
  size_t sum = 0;
  for (size_t i = 0; i < shares.count; i++) sum += shares.share[i].count;
  assert_int_equal(sum, 60);
  struct be_shares again;
  assert_int_equal(be_closure_shares(&overhand, 60, 5, &again, NULL), BE_OK);
  assert_memory_equal(&again, &shares, sizeof shares);
  assert_int_equal(be_closure_shares(&line, 40, 6, &shares, NULL), BE_OK);
  assert_int_equal(shares.count, 1);
  assert_string_equal(shares.share[0].name, "0_1");
  line.closed = true;
  assert_int_equal(be_closure_shares(&line, 40, 6, &shares, NULL), BE_WRONG_USE);
}

/* Writhe over all pairs and the twist of a ribbon that faces the eye make the signs of the drawing,
 * from any side; of an open line they do not make a whole number. */
static void writhe_and_twist_make_a_whole(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 5, 41);
  for (int i = 0; i < 30; i++) {
    struct be_lines one = {1, {multiple_overhand(1 + i % 3, i % 2 ? 1 : -1, arena)}, {1}};
    struct be_closed closed = closed_as(&one, NULL, BE_CLOSE_EACH);
    struct be_view view = be_view_random(&random);
    struct be_ribbon ribbon;
    double pairs;
    assert_int_equal(be_ribbon(&closed.lines.line[0], &view, arena, &ribbon, NULL), BE_OK);
    assert_int_equal(be_writhe_all_pairs(&closed.lines.line[0], arena, &pairs, NULL, NULL), BE_OK);
    assert_true(ribbon.closed);
    assert_near(ribbon.writhe, pairs, 1e-9);
    assert_near(pairs + ribbon.twist, ribbon.signs, 1e-9);
    assert_true(ribbon.error < 1e-9);
    assert_int_equal(be_ribbon(&one.line[0], &view, arena, &ribbon, NULL), BE_OK);
    assert_false(ribbon.closed);
    assert_near(ribbon.sum, ribbon.writhe + ribbon.twist, 0);
    assert_true(ribbon.error > 1e-6);
  }
}

struct trial {
  struct be_lines lines;
  int what;
};

static enum be_status attempt(void *context, struct be_err *err)
{
  const struct trial *trial = context;
  struct be_closed closed;
  struct be_shares shares;
  struct be_ribbon ribbon;
  if (trial->what == 1) return be_closure_shares(&trial->lines.line[0], 2, 3, &shares, err);
  struct be_arena *own = be_arena_create();
  if (!own) return be_fail(err, BE_NO_MEMORY, "no memory for the test");
  enum be_status status =
      be_close(&trial->lines, NULL, &be_view_top, BE_CLOSE_EACH, own, &closed, err);
  if (status == BE_OK && trial->what == 2)
    status = be_ribbon(&closed.lines.line[0], &be_view_top, own, &ribbon, err);
  be_arena_free(own);
  return status;
}

static void memory_runs_out(void **state)
{
  (void)state;
  for (int what = 0; what < 3; what++) {
    struct trial trial = {{1, {multiple_overhand(1, 1, arena)}, {1}}, what};
    be_fail_loop(attempt, &trial, 2);
  }
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(rules_join_what_they_say),
      drawn(alternate_ends_cross_outside),
      drawn(leads_that_pass_something_are_counted),
      drawn(what_does_not_fit_is_refused),
      drawn(shares_of_directions),
      drawn(writhe_and_twist_make_a_whole),
      drawn(memory_runs_out),
  };
  return be_tests("knot: closure", tests);
}
