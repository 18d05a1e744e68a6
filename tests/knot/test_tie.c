/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/knot.h"
#include "test.h"

static struct be_arena *arena;

static int start(void **state)
{
  (void)state;
  arena = be_arena_create();
  return arena ? 0 : -1;
}

static int end(void **state)
{
  (void)state;
  be_arena_free(arena);
  return 0;
}

/* Strands touch and do not overlap. */
static void every_tie_of_the_library_is_seated(void **state)
{
  (void)state;
  size_t count;
  const struct be_tie_entry *entry = be_tie_library(&count);
  assert_true(count >= 6);
  for (size_t i = 0; i < count; i++) {
    struct be_tie tie;
    struct be_err err = {0};
    if (be_tie_named(entry[i].name, arena, &tie, &err) != BE_OK)
      fail_msg("%s: %zu:%zu: %s", entry[i].name, err.line, err.column, err.what);
    assert_string_equal(tie.name, entry[i].name);
    assert_string_equal(tie.also, entry[i].also);
    assert_string_equal(tie.kind, entry[i].kind);
    double clearance = be_lines_clearance(&tie.lines, 2);
    if (!(clearance >= be_tie_seated)) fail_msg("%s: clearance %.3f", tie.name, clearance);
  }
}

int main(void)
{
#define with_arena(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      with_arena(every_tie_of_the_library_is_seated),
  };
  return be_tests("knot: tie", tests);
}
