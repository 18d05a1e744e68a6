/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ties of the library: seated at all their settings, found by name, and, closed far outside, what
 * they are by the mathematics of torus knots and sums. */
#include "arena.h"
#include "knot/knot.h"
#include "test.h"

static struct be_tie named(const char *words)
{
  struct be_tie tie;
  struct be_err err = {0};
  if (be_tie_named(words, arena, &tie, &err) != BE_OK)
    fail_msg("%s: %zu:%zu: %s", words, err.line, err.column, err.what);
  return tie;
}

/* ---- seated ---- */

static void assert_seated(const char *words)
{
  struct be_tie tie = named(words);
  double clearance = be_tie_clearance(&tie);
  if (!(clearance >= be_tie_seated)) fail_msg("%s: clearance %.3f", words, clearance);
  bool loaded = false;
  for (size_t l = 0; l < tie.lines.count; l++)
    loaded = loaded || tie.loaded[l][0] || tie.loaded[l][1];
  if (!loaded || !tie.kind[0]) fail_msg("%s: neither a kind nor an end that is pulled", words);
}

/* Each setting at its ends, the others as usual. */
static void try_setting(const char *name, const struct be_tie_setting *s)
{
  char words[200];
  if (s->number) {
    snprintf(words, sizeof words, "%s %s=%g", name, s->name, s->least);
    assert_seated(words);
    snprintf(words, sizeof words, "%s %s=%g", name, s->name, s->most);
    assert_seated(words);
    return;
  }
  for (const char *at = s->choices; *at; at += strspn(at, ", ")) {
    size_t length = strcspn(at, ",");
    snprintf(words, sizeof words, "%s %s=%.*s", name, s->name, (int)length, at);
    assert_seated(words);
    at += length;
  }
}

static void strands_touch_and_do_not_overlap(void **state)
{
  (void)state;
  size_t count;
  const struct be_tie_entry *entry = be_tie_library(&count);
  assert_true(count >= 6);
  for (size_t i = 0; i < count; i++) {
    struct be_tie tie = named(entry[i].name);
    assert_string_equal(tie.name, entry[i].name);
    assert_string_equal(tie.also, entry[i].also);
    assert_string_equal(tie.kind, entry[i].kind);
    assert_seated(entry[i].name);
    for (size_t s = 0; s < tie.settings; s++) try_setting(entry[i].name, &tie.setting[s]);
  }
}

/* The one tie whose wraps are laid on others: at all turns, by either hand. */
static void wraps_laid_on_others_do_not_overlap(void **state)
{
  (void)state;
  for (int turns = 2; turns <= 10; turns++)
    for (int left = 0; left < 2; left++) {
      char words[80];
      snprintf(words, sizeof words, "multiple overhand bend lay=over turns=%d hand=%s", turns,
               left ? "left" : "right");
      assert_seated(words);
    }
}

/* ---- found ---- */

static void names_are_found(void **state)
{
  (void)state;
  const struct be_tie_entry *entry;
  struct be_err err = {0};
  static const char *const names[] = {"clinch", "HALF BLOOD KNOT", "Clinch Knot"};
  for (size_t i = 0; i < 3; i++) {
    assert_int_equal(be_tie_find(names[i], &entry, NULL), BE_OK);
    assert_string_equal(entry->name, "clinch");
  }
  assert_int_equal(be_tie_find("clich", &entry, &err), BE_NO);
  assert_non_null(strstr(err.what, "no tie is called \"clich\""));
  assert_non_null(strstr(err.remedy, "clinch"));
  assert_int_equal(be_tie_find("fisherman", &entry, &err), BE_NO);
  assert_non_null(strstr(err.remedy, "barrel bend"));
  assert_int_equal(be_tie_find("", &entry, &err), BE_NO);
}

/* No name leads to two ties. */
static void names_are_apart(void **state)
{
  (void)state;
  size_t count;
  const struct be_tie_entry *list = be_tie_library(&count), *found;
  for (size_t i = 0; i < count; i++) {
    char all[500];
    snprintf(all, sizeof all, "%s, %s", list[i].name, list[i].also);
    for (char *name = all, *next; *name; name = next) {
      next = strstr(name, ", ");
      if (next) *next = 0;
      next = next ? next + 2 : name + strlen(name);
      if (!*name) continue;
      assert_int_equal(be_tie_find(name, &found, NULL), BE_OK);
      if (found != &list[i]) fail_msg("%s is %s and %s", name, list[i].name, found->name);
    }
  }
}

static void ties_are_named_with_their_settings(void **state)
{
  (void)state;
  struct be_tie tie = named("  Barrel Overhand  turns=4, hand=left ");
  assert_string_equal(tie.name, "barrel overhand");
  assert_string_equal(tie.setting[0].value, "4");
  assert_string_equal(tie.setting[1].value, "left");
  tie = named("tie of mine\nline A -9,0 9,0");
  assert_string_equal(tie.name, "of mine");
  struct be_err err;
  assert_int_equal(be_tie_named("clinch turns=99", arena, &tie, &err), BE_BAD_INPUT);
  assert_int_equal(be_tie_named("no such thing turns=9", arena, &tie, &err), BE_NO);
  assert_non_null(strstr(err.what, "\"no such thing\""));
}

/* ---- what it is ---- */

static void go(struct be_curve *to, double x, double y, double z)
{
  to->points[to->count++] = (struct be_point){x, y, z};
}

/* A closed polygon: the line, the other backwards (or none), joined far above and far below. */
static struct be_curve joined(const struct be_curve *a, const struct be_curve *b)
{
  struct be_curve to = {
      be_arena_alloc(arena, (a->count + (b ? b->count : 0) + 8) * sizeof *to.points), 0, true};
  for (size_t i = 0; i < a->count; i++) go(&to, a->points[i].x, a->points[i].y, a->points[i].z);
  double far = b ? -201 : 201; /* a stopper's tag leaves to the right, a bend's line to its side */
  go(&to, far, 9, 0.1);
  go(&to, far - 1, 150, 0);
  go(&to, -far, 151, 0.2);
  go(&to, -far + 1, 10, 0.3);
  for (size_t i = b ? b->count : 0; i-- > 0;)
    go(&to, b->points[i].x, b->points[i].y, b->points[i].z);
  if (!b) return to;
  go(&to, -far, -9, 0.1);
  go(&to, -far + 1, -150, 0);
  go(&to, far, -151, 0.2);
  go(&to, far - 1, -10, 0.3);
  return to;
}

static struct be_diagram seen(const struct be_curve *curve, const struct be_view *view)
{
  struct be_lines lines = {1, {*curve}, {1}};
  struct be_crossing *crossings;
  struct be_diagram diagram;
  size_t count;
  assert_int_equal(be_crossings_find(&lines, view, arena, &crossings, &count, NULL), BE_OK);
  assert_int_equal(be_crossings_diagram(&lines, crossings, count, arena, &diagram, NULL), BE_OK);
  return diagram;
}

/* T(2, 2n + 1): |signature| 2n, determinant 2n + 1, coefficients 1 and -1 by turns. */
static void assert_torus(const struct be_curve *curve, const struct be_view *view, int n, int hand)
{
  struct be_diagram diagram = seen(curve, view);
  struct be_polynomial alexander;
  int signature;
  assert_int_equal(be_alexander(&diagram, arena, &alexander, NULL), BE_OK);
  assert_int_equal(alexander.count, 2 * n + 1);
  for (size_t i = 0; i < alexander.count; i++)
    assert_int_equal(alexander.coefficient[i], i % 2 ? -1 : 1);
  assert_int_equal(be_signature(&diagram, arena, &signature, NULL), BE_OK);
  assert_int_equal(signature, 2 * n * hand);
}

static void both_forms_of_the_multiple_overhand_are_torus_knots(void **state)
{
  (void)state;
  struct be_view aslant = be_view_of(7.5, 3.25);
  for (int n = 1; n <= 10; n++)
    for (int left = 0; left < 2; left++) {
      char words[80];
      const char *hand = left ? "left" : "right";
      snprintf(words, sizeof words, "overhand turns=%d hand=%s", n, hand);
      struct be_tie braid = named(words);
      struct be_curve closed = joined(&braid.lines.line[0], NULL);
      struct be_diagram diagram = seen(&closed, &be_view_top);
      assert_int_equal(diagram.crossings, 2 * n + 1);
      assert_torus(&closed, &aslant, n, left ? 1 : -1);
      /* Its wraps are right-handed, and it is the left-handed knot. */
      snprintf(words, sizeof words, "barrel overhand turns=%d hand=%s", n, hand);
      struct be_tie barrel = named(words);
      closed = joined(&barrel.lines.line[0], NULL);
      assert_torus(&closed, &aslant, n, left ? -1 : 1);
    }
}

static void reef_and_granny_are_told_apart(void **state)
{
  (void)state;
  static const struct {
    const char *name;
    int signature;
  } bends[] = {{"reef", 0}, {"granny", 4}};
  for (size_t i = 0; i < 2; i++) {
    struct be_tie tie = named(bends[i].name);
    struct be_crossing *crossings;
    size_t count;
    assert_int_equal(be_crossings_find(&tie.lines, &be_view_top, arena, &crossings, &count, NULL),
                     BE_OK);
    assert_int_equal(count, 6);
    struct be_curve closed = joined(&tie.lines.line[0], &tie.lines.line[1]);
    struct be_diagram diagram = seen(&closed, &be_view_top);
    int signature;
    uint64_t determinant;
    assert_int_equal(be_signature(&diagram, arena, &signature, NULL), BE_OK);
    assert_int_equal(be_determinant(&diagram, arena, &determinant, NULL), BE_OK);
    assert_int_equal(abs(signature), bends[i].signature);
    assert_int_equal(determinant, 9);
  }
}

/* Each line a multiple overhand round the other's standing part. */
static void barrels_hold_the_other_line(void **state)
{
  (void)state;
  struct be_view aslant = be_view_of(7.5, 3.25);
  for (int n = 1; n <= 10; n++) {
    char words[80];
    snprintf(words, sizeof words, "barrel bend turns=%d", n);
    struct be_tie tie = named(words);
    struct be_curve a = joined(&tie.lines.line[0], NULL);
    assert_torus(&a, &aslant, n, 1);
    for (size_t i = 0; i < tie.lines.line[1].count; i++) /* B from left to right, as A */
      tie.lines.line[1].points[i].x = -tie.lines.line[1].points[i].x;
    struct be_curve b = joined(&tie.lines.line[1], NULL);
    assert_torus(&b, &aslant, n, -1);
  }
}

int main(void)
{
#define with_arena(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      with_arena(strands_touch_and_do_not_overlap),
      with_arena(wraps_laid_on_others_do_not_overlap),
      with_arena(names_are_found),
      with_arena(names_are_apart),
      with_arena(ties_are_named_with_their_settings),
      with_arena(both_forms_of_the_multiple_overhand_are_torus_knots),
      with_arena(reef_and_granny_are_told_apart),
      with_arena(barrels_hold_the_other_line),
  };
  return be_tests("knot: library of ties", tests);
}
