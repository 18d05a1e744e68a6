/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ties of one line: what the line is when its end is lifted towards the reader and led far outside
 * to its beginning, how often the drawing crosses itself, and how often the line goes round a ring.
 * Both hands are mirror images. */
#include "arena.h"
#include "knot/knot.h"
#include "test.h"

enum { ANY = -1 };

static const struct row {
  const char *tie, *set, *knot;
  int determinant, signature, crossings, round; /* without signs; ANY: not compared */
  const char *source;
} rows[] = {
    {"figure eight", "", "4_1", 5, 0, 4, ANY, "twist knot of 2 half twists"},
    {"stevedore", "", "6_1", 9, 0, 6, ANY, "twist knot of 4 half twists"},
    {"stevedore", "turns=2", "8_1", 13, 0, 8, ANY, "twist knot of 6 half twists"},
    {"stevedore", "turns=4", NULL, 21, 0, 12, ANY, "twist knot of 10 half twists"},
    {"slipped overhand", "", "0_1", 1, 0, 5, ANY, "a bight comes out as it went in"},
    {"ashley stopper", "", NULL, ANY, ANY, 7, ANY,
     "a slipped overhand's 5; its bight is crossed twice"},
    {"clinch", "turns=1", "3_1", 3, 2, ANY, 1, "twist knot of 1 half twist"},
    {"clinch", "turns=2", "5_2", 7, 2, ANY, 1, "twist knot of 3 half twists"},
    {"clinch", "turns=3", "7_2", 11, 2, ANY, 1, "twist knot of 5 half twists"},
    {"clinch", "", NULL, 19, 2, ANY, 1, "twist knot of 9 half twists"},
    {"clinch", "turns=10", NULL, 39, 2, ANY, 1, "twist knot of 19 half twists"},
    {"improved clinch", "", NULL, ANY, ANY, ANY, 1, "once through the ring"},
    {"two-pass clinch", "", NULL, ANY, ANY, ANY, 2, "twice through the ring"},
    {"doubled clinch", "", "0_1", 1, 0, ANY, 0, "a bight goes out and comes back"},
    {"uni", "", "0_1", 1, 0, ANY, 1, "it runs on the line: without the ring it comes apart"},
    {"uni", "turns=10", "0_1", 1, 0, ANY, 1, "it runs on the line"},
    {"two-pass uni", "", "0_1", 1, 0, ANY, 2, "it runs on the line"},
    {"cow hitch", "", "0_1", 1, 0, 2, 0, "round the ring once each way"},
    {"clove hitch", "", "0_1", 1, 0, ANY, ANY, "without its rod it comes apart"},
    {"rolling hitch", "", "0_1", 1, 0, ANY, ANY, "without its rod it comes apart"},
    {"round turn and two half hitches", "", NULL, ANY, ANY, ANY, 2, "a round turn: twice through"},
    {"anchor bend", "", NULL, ANY, ANY, ANY, 2, "a round turn: twice through the ring"},
    {"snell", "turns=1", "3_1", 3, 2, ANY, ANY, "T(2,3): a multiple overhand in barrel form"},
    {"snell", "", NULL, 13, 12, ANY, ANY, "T(2,13)"},
    {"palomar", "", "0_1", 1, 0, 20, 0, "tied in the bight"},
    {"reversed clinch", "", NULL, ANY, ANY, ANY, 1, "once through the ring"},
    {"arbor", "", "3_1", 3, 2, ANY, ANY, "of its two overhands the one at the end stays"},
    {"overhand loop", "", "0_1", 1, 0, 12, ANY, "tied in the bight; 4 times 3 crossings"},
    {"figure-eight loop", "", "0_1", 1, 0, 16, ANY, "tied in the bight; 4 times 4 crossings"},
    {"surgeon's loop", "", "0_1", 1, 0, 20, ANY, "tied in the bight; 4 times 5 crossings"},
    {"surgeon's loop", "passes=4", "0_1", 1, 0, 36, ANY, "4 times 9 crossings"},
    {"bowline", "", NULL, ANY, ANY, 7, ANY,
     "a loop, a bight through it, round the standing part: 1, 4, 2"},
    {"double bowline", "", NULL, ANY, ANY, 14, ANY, "of our drawing, counted; not published"},
    {"perfection loop", "", "0_1", 1, 0, 10, ANY, "no end goes through: turns are laid and drawn"},
    {"non-slip loop", "turns=1", "5_2", 7, 2, 9, ANY, "twist knot of 3 half twists"},
    {"non-slip loop", "", NULL, 19, 2, 15, ANY, "twist knot of 9 half twists"},
    {"dropper loop", "turns=1", "3_1", 3, 2, 7, ANY, "T(2,3); its bight adds 4 crossings"},
    {"dropper loop", "", "5_1", 5, 4, 9, ANY, "T(2,5)"},
    {"dropper loop", "turns=6", NULL, 13, 12, 17, ANY, "T(2,13)"},
    {"butterfly loop", "", "0_1", 1, 0, 12, ANY, "tied in the bight"},
    {"spider hitch", "", "0_1", 1, 0, 76, ANY, "tied in the bight; 4 times 4 turns + 3"},
    {"spider hitch", "turns=7", "0_1", 1, 0, 124, ANY, "4 times 4 turns + 3"},
    {"double overhand noose", "", "0_1", 1, 0, ANY, ANY, "it runs on the line"},
    {"long twist", "", "0_1", 1, 0, ANY, ANY, "each turn of the end undoes a twist"},
    {"long twist", "turns=31", "0_1", 1, 0, ANY, ANY, "each turn of the end undoes a twist"},
};

/* The line with its end lifted and led to its beginning. */
static struct be_curve closed(const struct be_curve *line)
{
  struct be_curve to = {be_arena_alloc(arena, (line->count + 3) * sizeof *to.points), 0, true};
  memcpy(to.points, line->points, line->count * sizeof *to.points);
  struct be_point last = line->points[line->count - 1];
  to.points[line->count] = (struct be_point){last.x + 0.31, last.y - 0.17, 61};
  to.points[line->count + 1] = (struct be_point){-307, 0.37, 63};
  to.points[line->count + 2] = (struct be_point){-311, 0.29, 0.1};
  to.count = line->count + 3;
  return to;
}

struct found {
  struct be_polynomial alexander;
  int signature, round;
  uint64_t determinant;
};

static struct found look_at(const struct be_tie *tie)
{
  struct be_view aslant = be_view_of(7.5, 3.25);
  struct be_lines one = {1, {closed(&tie->lines.line[0])}, {1}};
  struct be_lines two = {2, {one.line[0], tie->lines.line[1]}, {1, 1}};
  struct be_crossing *crossings;
  struct be_diagram diagram;
  struct found found = {.round = ANY};
  size_t count;
  assert_int_equal(be_crossings_find(&one, &aslant, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_crossings_diagram(&one, crossings, count, arena, &diagram, NULL), BE_OK);
  assert_int_equal(be_alexander(&diagram, arena, &found.alexander, NULL), BE_OK);
  assert_int_equal(be_signature(&diagram, arena, &found.signature, NULL), BE_OK);
  assert_int_equal(be_determinant(&diagram, arena, &found.determinant, NULL), BE_OK);
  if (tie->lines.count == 2 && tie->lines.line[1].closed)
    assert_int_equal(be_linking(&two, 0, 1, arena, &found.round, NULL), BE_OK);
  return found;
}

static struct be_tie named(const struct row *row, const char *hand)
{
  struct be_tie tie;
  struct be_err err = {0};
  char words[120];
  snprintf(words, sizeof words, "%s %s%s", row->tie, row->set, hand);
  if (be_tie_named(words, arena, &tie, &err) != BE_OK)
    fail_msg("%s: %zu:%zu: %s", words, err.line, err.column, err.what);
  return tie;
}

static size_t own_crossings(const struct be_tie *tie)
{
  struct be_crossing_counts counts;
  struct be_crossing *crossings;
  struct be_view above = be_view_of(0.2, 0.1); /* the very top may hide strands */
  size_t count;
  assert_int_equal(be_crossings_find(&tie->lines, &above, arena, &crossings, &count, NULL), BE_OK);
  be_crossings_count(crossings, count, &counts);
  return counts.own[0];
}

static void a_line_closed_is_what_it_should_be(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const struct row *row = &rows[i];
    struct be_tie tie = named(row, "");
    struct found found = look_at(&tie);
    struct be_named names[BE_NAMED_MAX];
    size_t count, k = 0;
    if (row->determinant != ANY &&
        (found.determinant != (uint64_t)row->determinant || abs(found.signature) != row->signature))
      fail_msg("%s %s: determinant %d, signature %d", row->tie, row->set, (int)found.determinant,
               found.signature);
    if (row->round != ANY && abs(found.round) != row->round)
      fail_msg("%s %s: round the ring %d times", row->tie, row->set, found.round);
    if (row->crossings != ANY && own_crossings(&tie) != (size_t)row->crossings)
      fail_msg("%s %s: %zu crossings", row->tie, row->set, own_crossings(&tie));
    be_names_find(&found.alexander, found.signature, names, &count);
    while (row->knot && k < count && strcmp(names[k].name, row->knot) != 0) k++;
    if (row->knot && k == count) fail_msg("%s %s: not %s", row->tie, row->set, row->knot);
  }
}

static void hands_are_mirror_images(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    if (strcmp(rows[i].tie, "cow hitch") == 0) continue; /* it has none */
    struct be_tie right = named(&rows[i], " hand=right"), left = named(&rows[i], " hand=left");
    assert_int_equal(right.lines.count, left.lines.count);
    for (size_t l = 0; l < right.lines.count; l++)
      for (size_t k = 0; k < right.lines.line[l].count; k++)
        assert_float_equal(right.lines.line[l].points[k].z, -left.lines.line[l].points[k].z, 1e-12);
    struct found a = look_at(&right), b = look_at(&left);
    if (rows[i].determinant == ANY) continue; /* closed aside, some depend on the side */
    assert_int_equal(a.determinant, b.determinant);
    assert_int_equal(a.signature, -b.signature);
  }
}

int main(void)
{
#define with_arena(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      with_arena(a_line_closed_is_what_it_should_be),
      with_arena(hands_are_mirror_images),
  };
  return be_tests("knot: ties of one line", tests);
}
