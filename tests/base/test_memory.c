/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"
#include "fault/failing.h"
#include "test.h"

#include <stdalign.h>

static struct be_failing failing;

static int start(void **state)
{
  (void)state;
  be_failing_start(&failing, 0, false);
  return 0;
}

/* After every test: all was given back, undamaged. */
static int stop(void **state)
{
  (void)state;
  be_failing_stop();
  return failing.blocks || failing.bytes || failing.broken;
}

static bool aligned(const void *block)
{
  return (uintptr_t)block % alignof(max_align_t) == 0;
}

static void blocks_know_their_size(void **state)
{
  (void)state;
  static const size_t sizes[] = {0, 1, 7, 16, 113, 70001};
  for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
    char *block = be_alloc(sizes[i]);
    assert_non_null(block);
    assert_true(aligned(block));
    assert_int_equal(be_block_size(block), sizes[i]);
    memset(block, 'w', sizes[i]);
    block = be_resize(block, sizes[i] + 3);
    assert_int_equal(be_block_size(block), sizes[i] + 3);
    for (size_t k = 0; k < sizes[i]; k++) assert_int_equal(block[k], 'w');
    be_free(block);
  }
  assert_int_equal(be_block_size(NULL), 0);
  be_free(NULL);
}

static void arrays_are_zeroed_and_checked(void **state)
{
  (void)state;
  double *values = be_alloc_array(37, sizeof *values);
  for (int i = 0; i < 37; i++) assert_true(values[i] == 0);
  assert_int_equal(be_block_size(values), 37 * sizeof *values);
  be_free(values);
  size_t calls = failing.calls;
  assert_null(be_alloc_array(SIZE_MAX / 8 + 1, 8));
  assert_null(be_alloc_array(SIZE_MAX, SIZE_MAX));
  assert_null(be_alloc(SIZE_MAX));
  assert_null(be_alloc(SIZE_MAX - 3));
  assert_int_equal(failing.calls, calls);
  void *none = be_alloc_array(0, 8);
  assert_non_null(none);
  be_free(none);
  none = be_alloc_array(8, 0);
  assert_non_null(none);
  be_free(none);
}

static void a_failed_resize_keeps_the_block(void **state)
{
  (void)state;
  char *block = be_alloc(6);
  memcpy(block, "albri", 6);
  failing.fail_at = failing.calls + 1;
  assert_null(be_resize(block, 600));
  assert_int_equal(be_block_size(block), 6);
  assert_null(be_resize(block, SIZE_MAX));
  assert_string_equal(block, "albri");
  be_free(block);
}

static void growing_doubles_up_to_the_ceiling(void **state)
{
  (void)state;
  void *block = NULL;
  size_t capacity = 0;
  static const struct {
    size_t needed, capacity;
  } steps[] = {{0, 0},   {1, 16},  {16, 16},   {17, 32},   {100, 128},
               {90, 128}, {300, 512}, {513, 1000}, {1000, 1000}};
  for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
    assert_int_equal(be_grow(&block, &capacity, 12, steps[i].needed, 1000, NULL), BE_OK);
    assert_int_equal(capacity, steps[i].capacity);
    assert_int_equal(be_block_size(block), 12 * capacity);
  }
  struct be_err err;
  void *before = block;
  assert_int_equal(be_grow(&block, &capacity, 12, 1001, 1000, &err), BE_TOO_LARGE);
  assert_non_null(strstr(err.what, "1000"));
  assert_ptr_equal(block, before);
  assert_int_equal(capacity, 1000);
  be_free(block);
}

static void a_small_ceiling_is_not_passed(void **state)
{
  (void)state;
  void *block = NULL;
  size_t capacity = 0;
  assert_int_equal(be_grow(&block, &capacity, 3, 2, 5, NULL), BE_OK);
  assert_int_equal(capacity, 5);
  assert_int_equal(be_grow(&block, &capacity, 3, 6, 5, NULL), BE_TOO_LARGE);
  be_free(block);
}

static void growing_never_overflows(void **state)
{
  (void)state;
  void *block = NULL;
  size_t capacity = 0;
  assert_int_equal(be_grow(&block, &capacity, 24, SIZE_MAX / 16, SIZE_MAX, NULL), BE_TOO_LARGE);
  assert_int_equal(be_grow(&block, &capacity, 1, SIZE_MAX, SIZE_MAX, NULL), BE_NO_MEMORY);
  assert_null(block);
  assert_int_equal(capacity, 0);
}

static void a_failed_growth_changes_nothing(void **state)
{
  (void)state;
  void *block = NULL;
  size_t capacity = 0;
  assert_int_equal(be_grow(&block, &capacity, 5, 11, 999, NULL), BE_OK);
  void *before = block;
  failing.fail_at = failing.calls + 1;
  struct be_err err;
  assert_int_equal(be_grow(&block, &capacity, 5, 41, 999, &err), BE_NO_MEMORY);
  assert_non_null(strstr(err.what, "memory"));
  assert_ptr_equal(block, before);
  assert_int_equal(capacity, 16);
  be_free(block);
}

/* Odd sizes, some larger than a chunk: every piece is zeroed, aligned and its own. */
static void an_arena_hands_out_memory_of_its_own(void **state)
{
  (void)state;
  enum { PIECES = 400 };
  unsigned char *pieces[PIECES];
  size_t sizes[PIECES];
  struct be_random random;
  be_random_init(&random, 40417, 0);
  struct be_arena *arena = be_arena_create();
  for (size_t i = 0; i < PIECES; i++) {
    sizes[i] = be_random_below(&random, i % 50 == 49 ? 200000 : 3000);
    pieces[i] = be_arena_alloc(arena, sizes[i]);
    assert_non_null(pieces[i]);
    assert_true(aligned(pieces[i]));
    for (size_t k = 0; k < sizes[i]; k++) assert_int_equal(pieces[i][k], 0);
    memset(pieces[i], (int)(i % 255) + 1, sizes[i]);
  }
  for (size_t i = 0; i < PIECES; i++)
    for (size_t k = 0; k < sizes[i]; k++) assert_int_equal(pieces[i][k], i % 255 + 1);
  assert_false(be_arena_ran_out(arena));
  assert_null(be_arena_alloc(arena, SIZE_MAX - 100));
  assert_true(be_arena_ran_out(arena));
  assert_non_null(be_arena_alloc(arena, 7));
  assert_true(be_arena_ran_out(arena)); /* it is not forgotten */
  be_arena_free(arena);
  be_arena_free(NULL);
}

static void an_arena_keeps_texts(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  assert_string_equal(be_arena_text(arena, "double uni", 6), "double");
  assert_string_equal(be_arena_text(arena, "", 0), "");
  assert_string_equal(be_arena_format(arena, "%s %d lb, %.1f%%", "braid", 17, 83.25),
                      "braid 17 lb, 83.2%");
  char *wide = be_arena_format(arena, "%*d", 70000, 4);
  assert_int_equal(strlen(wide), 70000);
  assert_int_equal(wide[69999], '4');
  be_arena_free(arena);
}

static void an_arena_without_memory_says_null(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  assert_null(be_arena_alloc(arena, SIZE_MAX));
  assert_null(be_arena_alloc(arena, SIZE_MAX - 70000));
  failing.fail_at = failing.calls + 1;
  failing.for_ever = true;
  assert_null(be_arena_alloc(arena, 3));
  assert_null(be_arena_text(arena, "abc", 3));
  assert_null(be_arena_format(arena, "%d", 3));
  assert_null(be_arena_create());
  be_arena_free(arena);
}

#define UNDER_WATCH(test) cmocka_unit_test_setup_teardown(test, start, stop)

int main(void)
{
  const struct CMUnitTest tests[] = {
      UNDER_WATCH(blocks_know_their_size),
      UNDER_WATCH(arrays_are_zeroed_and_checked),
      UNDER_WATCH(a_failed_resize_keeps_the_block),
      UNDER_WATCH(growing_doubles_up_to_the_ceiling),
      UNDER_WATCH(a_small_ceiling_is_not_passed),
      UNDER_WATCH(growing_never_overflows),
      UNDER_WATCH(a_failed_growth_changes_nothing),
      UNDER_WATCH(an_arena_hands_out_memory_of_its_own),
      UNDER_WATCH(an_arena_keeps_texts),
      UNDER_WATCH(an_arena_without_memory_says_null),
  };
  return be_tests("base: memory", tests);
}
