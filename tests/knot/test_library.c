/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "knot/knot.h"
#include "test.h"

#include <math.h>

/* Closed far away, above or below: its ends run outwards in the page, then up or down. */
static struct be_curve closed(const struct be_curve *open, double height)
{
  struct be_curve to = {be_arena_alloc(arena, (open->count + 2) * sizeof *to.points), 0, true};
  const struct be_point *p = open->points, *last = p + open->count - 1;
  double first_out = 1 + 60 / hypot(p->x, p->y), last_out = 1 + 60 / hypot(last->x, last->y);
  to.points[to.count++] = (struct be_point){first_out * p->x, first_out * p->y, height};
  for (size_t i = 0; i < open->count; i++) to.points[to.count++] = p[i];
  to.points[to.count++] = (struct be_point){last_out * last->x, last_out * last->y, height};
  return to;
}

static void is_consistent_with(const struct be_curve *curve, const char *name, const char *tie)
{
  struct be_lines lines = {.count = 1, .line = {*curve}, .diameter = {1}};
  struct be_view view = be_view_of(3.713, 11.31);
  struct be_crossing *crossings;
  size_t count, names;
  struct be_diagram diagram;
  struct be_polynomial polynomial;
  struct be_named named[BE_NAMED_MAX];
  int signature;
  assert_int_equal(be_crossings_find(&lines, &view, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_crossings_diagram(&lines, crossings, count, arena, &diagram, NULL), BE_OK);
  assert_int_equal(be_alexander(&diagram, arena, &polynomial, NULL), BE_OK);
  assert_int_equal(be_signature(&diagram, arena, &signature, NULL), BE_OK);
  be_names_find(&polynomial, signature, named, &names);
  if (names == 0 || strcmp(named[0].name, name) != 0)
    fail_msg("%s: %s, not %s", tie, names ? named[0].name : "none", name);
}

static const struct row {
  const char *tie;
  const char *alone[2];
  size_t crossings; /* of the standard drawing; 0: it has none */
  int linking;      /* |linking|, one closed above and the other below */
  const char *source;
} rows[] = {
    {"reef", {"0_1", "0_1"}, 6, 0, "two bights that come apart"},
    {"granny", {"0_1", "0_1"}, 6, 3, "six crossings of one sign"},
    {"thief", {"0_1", "0_1"}, 6, 0, "the reef with other ends pulled"},
    {"grief", {"0_1", "0_1"}, 6, 3, "the granny with other ends pulled"},
    {"sheet bend", {"0_1", "0_1"}, 7, 1, "6 of A with B, by hand: 4 of one sign, 2 of the other"},
    {"sheet bend turns=2", {"0_1", "0_1"}, 0, 1, "a turn more goes round both parts of the bight"},
    {"sheet bend turns=3", {"0_1", "0_1"}, 0, 1, "a turn more goes round both parts of the bight"},
    {"carrick bend", {"0_1", "0_1"}, 8, 1, "6 of A with B, by hand: 2 of one sign, 4 of the other"},
    {"figure-eight bend", {"4_1", "4_1"}, 16, 0, "4 crossings of each line alone, doubled"},
    {"water knot", {"3_1", "3_1"}, 12, 3, "3 crossings doubled; linking is the writhe"},
    {"fisherman's knot", {"3_1", "3_1"}, 10, 2, "an overhand round each other's line"},
    {"barrel bend turns=1", {"3_1", "3_1"}, 0, 2, "torus knot of 2 and 2n + 1; n of each round it"},
    {"barrel bend turns=3", {"7_1", "7_1"}, 0, 6, "torus knot of 2 and 2n + 1; n of each round it"},
    {"multiple overhand bend turns=2", {"5_1", "5_1"}, 0, 4, "torus knot of 2 and 2n + 1"},
    {"multiple overhand bend turns=4 lay=over", {"9_1", "9_1"}, 0, 8, "however it is laid"},
    {"multiple overhand bend turns=3 hand=left", {"7_1", "7_1"}, 0, 6, "torus knot of 2, 2n + 1"},
    {"zeppelin bend", {"3_1", "3_1"}, 0, 0, "its image through a point has the other sign"},
    {"hunter's bend",
     {"3_1", "3_1"},
     13,
     4,
     "side by side in one loop: 4 crossings, and 9 of ends"},
    {"ashley's bend", {"3_1", "3_1"}, 12, 1, "overhands; counts ours, computed, not published"},
    {"butterfly bend", {"3_1", "3_1"}, 0, 1, "three turns on the hand, followed"},
    {"interlocked loops", {"0_1", "0_1"}, 0, 0, "tied in the bight: unknotted; loops come apart"},
    {"interlocked loops linked=girth", {"0_1", "0_1"}, 0, 0, "the same, drawn otherwise"},
    {"surgeon's join passes=1", {"3_1", "3_1"}, 0, 6, "a companion beside a twist: 2n + 1, twice"},
    {"surgeon's join passes=2", {"5_1", "5_1"}, 0, 10, "a companion beside a twist: 2n + 1, twice"},
    {"surgeon's join passes=3", {"7_1", "7_1"}, 0, 14, "a companion beside a twist: 2n + 1, twice"},
    {"blood knot", {"0_1", "0_1"}, 0, 10, "n turns of each about the other"},
    {"blood knot seat=badly", {"0_1", "0_1"}, 0, 10, "n turns of each about the other"},
    {"blood knot turns=1 hand=left", {"0_1", "0_1"}, 0, 2, "n turns of each about the other"},
    {"double uni turns=2", {"5_1", "5_1"}, 0, 4, "a barrel bend when drawn up: 2 and 2n + 1; n, n"},
    {"double uni turns=4 hand=left", {"9_1", "9_1"}, 0, 8, "as a barrel bend"},
    {"nail knot turns=4", {"0_1", "9_1"}, 0, 5, "a straight line, and a multiple overhand"},
    {"albright", {"0_1", "0_1"}, 0, 0, "in and out of a bight on the same side"},
    {"albright wraps=outandback", {"0_1", "0_1"}, 0, 0, "in and out of a bight, the same side"},
    {"bristol knot", {"0_1", "0_1"}, 0, 1, "once through a bight"},
    {"weave-on leader knot", {"0_1", "0_1"}, 0, 9, "n turns out, n back, less 3 hitches"},
    {"doubled-line overhand bend",
     {"0_1", "3_1"},
     23,
     0,
     "12 of A, 3 of B, 8 between: 3 x 4, 3, 4 x 2"},
    {"doubled-line overhand bend hand=left", {"0_1", "3_1"}, 23, 0, "its image in a mirror"},
    {"crossed wraps", {"0_1", "0_1"}, 0, 10, "n turns out, n back, less 2 hitches"},
};

static void each_line_alone_is_what_is_known(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const struct row *row = &rows[i];
    struct be_tie tie;
    struct be_err err = {0};
    if (be_tie_named(row->tie, arena, &tie, &err) != BE_OK)
      fail_msg("%s: %zu:%zu: %s", row->tie, err.line, err.column, err.what);
    struct be_lines pair = {.count = 2, .diameter = {1, 1}};
    for (size_t l = 0; l < 2; l++) {
      pair.line[l] = closed(&tie.lines.line[l], l ? -150 : 150);
      is_consistent_with(&pair.line[l], row->alone[l], row->tie);
    }
    int linking;
    assert_int_equal(be_linking(&pair, 0, 1, arena, &linking, NULL), BE_OK);
    if (abs(linking) != row->linking) fail_msg("%s: linking %d", row->tie, linking);
    struct be_crossing *crossings;
    size_t count;
    if (row->crossings == 0) continue;
    assert_int_equal(be_crossings_find(&tie.lines, &be_view_top, arena, &crossings, &count, NULL),
                     BE_OK);
    if (count != row->crossings) fail_msg("%s: %zu crossings", row->tie, count);
  }
}

/* The same knot tied in another way, by moves. */
static const struct {
  const char *a, *b;
  bool held; /* with every end held; else closed, each line's ends joined */
} ones[] = {
    {"fisherman's knot", "barrel bend turns=1 hand=left", true},
    {"multiple overhand bend turns=2", "barrel bend", true},
    {"multiple overhand bend turns=3 hand=left", "barrel bend turns=3 hand=left", true},
    {"double uni turns=1", "barrel bend turns=1 hand=left", false},
    {"tie the sheet bend with its ends joined\nline A\n14,0 . 3.3,0 -0.2,0 -1.1,0.7 . -1.6,3.6\n"
     "-2.6,4.6 -3.8,3.6 u u -3.8,-3.6 -2.6,-4.6 0.2,-4.6 1.2,-3.6 o u o 1.2,6\n"
     "0,9 -8,11 -15,6 -16,1 -14,-2 -11,-2 . . 3,-2 4.6,-1 o 4.6,1 3,2 . u . -10,2\npulled A "
     "first\n",
     "bowline hand=left", false},
    {"tie the loop with its bight cut\nline A\n-16,-1 . -5,-1 o o o 5,3 6,4.5 6,6.5 5,8 . u . "
     "-5,12\n"
     "-8,12.5 -9.6,10.4 -9.6,8 o -9.6,-4 -8.6,-6 -6,-7 -3.4,-6 -2.5,-4 u u o o -2.5,24\nline B\n"
     "2.5,24 o o u u 2.5,-4 3.4,-6 6,-7 8.6,-6 9.6,-4 o 9.6,8 9.6,10.4 8,12.5 5,12 . . . -5,8\n"
     "-6,6.5 -6,4.5 -5,3 . . . 5,-1 . 16,-1\npulled A first, B last\n",
     "butterfly bend", false},
};

static void ties_that_are_one_are_found_to_be(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof ones / sizeof ones[0]; i++) {
    const char *const words[] = {ones[i].a, ones[i].b};
    struct be_tie tie[2];
    struct be_ends ends[2] = {0};
    struct be_tied tied[2];
    struct be_compared compared;
    for (int k = 0; k < 2; k++) {
      assert_int_equal(be_tie_named(words[k], arena, &tie[k], NULL), BE_OK);
      memcpy(ends[k].loaded, tie[k].loaded, sizeof tie[k].loaded);
      tied[k] = (struct be_tied){&tie[k].lines, &ends[k], &be_view_top};
    }
    assert_int_equal(
        be_ties_compare(&tied[0], &tied[1], BE_CLOSE_EACH, arena, NULL, &compared, NULL), BE_OK);
    const struct be_same *same = ones[i].held ? &compared.held : &compared.closed;
    if (same->verdict != BE_SAME) fail_msg("%s: %s", ones[i].b, same->words);
  }
}

/* Least, usual and most of every number, and every choice, seated. */
static void every_setting_is_seated(void **state)
{
  (void)state;
  static const char *const asked[] = {"turns=1",  "turns=2 hand=left", "turns=10",
                                      "passes=4", "hitches=1",         "hitches=6"};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    for (size_t k = 0; k < sizeof asked / sizeof asked[0]; k++) {
      struct be_tie tie;
      size_t size = strcspn(rows[i].tie, "=");
      if (rows[i].tie[size]) continue;
      const char *words = be_arena_format(arena, "%s %s", rows[i].tie, asked[k]);
      if (be_tie_named(words, arena, &tie, NULL) != BE_OK) continue;
      double clearance = be_lines_clearance(&tie.lines, 2);
      if (!(clearance >= be_tie_seated)) fail_msg("%s: clearance %.3f", words, clearance);
    }
}

int main(void)
{
#define with_arena(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      with_arena(each_line_alone_is_what_is_known),
      with_arena(every_setting_is_seated),
      with_arena(ties_that_are_one_are_found_to_be),
  };
  return be_tests("knot: library", tests);
}
