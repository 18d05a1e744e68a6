/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The harness itself: it must catch each kind of planted bug. */
#define _POSIX_C_SOURCE 200809L
#include "fault/failing.h"
#include "test.h"

#include <unistd.h>

enum { BLOCKS = 7 };

/* Which bug the operation below has. */
enum bug {
  SOUND,
  LEAKS_ON_FAILURE,
  LEAKS_ALWAYS,
  WRITES_PAST_THE_END,
  SWALLOWS_THE_FAILURE,
  WRONG_STATUS,
  SAYS_NOTHING,
  NEVER_SUCCEEDS
};

/* Keeps what is leaked on purpose within reach, or a leak sanitizer tells too. */
static void remember(void *block)
{
  enum { MOST = 40 };
  static void *volatile leaked[MOST];
  static size_t count;
  assert_true(count < MOST && !leaked[count]);
  leaked[count++] = block;
}

static enum be_status allocate(void *context, struct be_err *err)
{
  enum bug bug = *(enum bug *)context;
  char *blocks[BLOCKS] = {0};
  enum be_status status = BE_OK;
  for (size_t i = 0; i < BLOCKS && status == BE_OK; i++) {
    blocks[i] = be_alloc(3 + 11 * i);
    if (!blocks[i]) status = BE_NO_MEMORY;
    else blocks[i][0] = 'k';
  }
  if (status == BE_NO_MEMORY && bug == WRONG_STATUS) status = BE_FAILED;
  if (status != BE_OK && bug != SAYS_NOTHING) be_fail(err, status, "no memory");
  if (bug == WRITES_PAST_THE_END && blocks[0]) {
    volatile char *block = blocks[0];
    block[3] = 'x';
  }
  bool leaks = bug == LEAKS_ALWAYS || (bug == LEAKS_ON_FAILURE && status != BE_OK);
  if (leaks) remember(blocks[0]);
  for (size_t i = leaks; i < BLOCKS; i++) be_free(blocks[i]);
  if (bug == SWALLOWS_THE_FAILURE) return BE_OK;
  if (bug == NEVER_SUCCEEDS && status == BE_OK) return be_fail(err, BE_FAILED, "never");
  return status;
}

static struct be_fail_report search(enum bug bug, bool for_ever)
{
  struct be_fail_report report;
  be_fail_search(allocate, &bug, for_ever, &report);
  return report;
}

static void a_sound_operation_passes(void **state)
{
  (void)state;
  enum bug bug = SOUND;
  be_fail_loop(allocate, &bug, BLOCKS);
  assert_int_equal(search(SOUND, false).points, BLOCKS);
  assert_int_equal(search(SOUND, true).points, BLOCKS);
}

static void planted_bugs_are_caught(void **state)
{
  (void)state;
  static const struct {
    enum bug bug;
    size_t at;
    const char *fault;
  } cases[] = {
      {LEAKS_ON_FAILURE, 2, "memory leaked"},
      {LEAKS_ALWAYS, 2, "memory leaked"},
      {WRITES_PAST_THE_END, 2, "a block was damaged or given back with a wrong size"},
      {SWALLOWS_THE_FAILURE, 1, "it says done, though memory ran out"},
      {WRONG_STATUS, 1, "the status is not \"out of memory\""},
      {SAYS_NOTHING, 1, "the error is not told"},
      {NEVER_SUCCEEDS, 0, "it fails though memory is plenty"},
  };
  for (int for_ever = 0; for_ever < 2; for_ever++)
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
      struct be_fail_report report = search(cases[i].bug, for_ever);
      assert_non_null(report.fault);
      assert_string_equal(report.fault, cases[i].fault);
      assert_int_equal(report.at, cases[i].at);
    }
}

static void the_nth_call_fails(void **state)
{
  (void)state;
  struct be_failing failing;
  for (int for_ever = 0; for_ever < 2; for_ever++) {
    be_failing_start(&failing, 3, for_ever);
    void *blocks[5];
    for (int i = 0; i < 5; i++) blocks[i] = be_alloc(19);
    assert_non_null(blocks[0]);
    assert_non_null(blocks[1]);
    assert_null(blocks[2]);
    assert_int_equal(blocks[3] != NULL, !for_ever);
    assert_int_equal(blocks[4] != NULL, !for_ever);
    assert_int_equal(failing.calls, 5);
    assert_int_equal(failing.failed, for_ever ? 3 : 1);
    assert_int_equal(failing.blocks, for_ever ? 2 : 4);
    for (int i = 0; i < 5; i++) be_free(blocks[i]);
    be_failing_stop();
    assert_int_equal(failing.blocks, 0);
    assert_int_equal(failing.bytes, 0);
    assert_int_equal(failing.broken, 0);
  }
}

static void memory_is_rubbish_and_moves(void **state)
{
  (void)state;
  struct be_failing failing;
  be_failing_start(&failing, 0, false);
  unsigned char *block = be_alloc(5);
  for (int i = 0; i < 5; i++) assert_int_equal(block[i], 0xA7);
  memcpy(block, "bitte", 5);
  uintptr_t before = (uintptr_t)block;
  block = be_resize(block, 9);
  assert_true((uintptr_t)block != before);
  assert_memory_equal(block, "bitte\xA7\xA7\xA7\xA7", 9);
  block = be_resize(block, 2);
  assert_memory_equal(block, "bi", 2);
  be_free(block);
  be_failing_stop();
  assert_int_equal(failing.broken, 0);
  assert_int_equal(failing.calls, 3);
}

static void only_some_sizes_count(void **state)
{
  (void)state;
  struct be_failing failing;
  be_failing_start(&failing, 0, true);
  void *first = be_alloc(100);
  failing.at_least = failing.at_most = failing.bytes;
  failing.fail_at = failing.calls + 1;
  void *less = be_alloc(99), *same = be_alloc(100), *more = be_alloc(101);
  assert_true(first && less && !same && more);
  assert_int_equal(failing.calls, 2);
  be_failing_relent();
  same = be_alloc(100);
  assert_non_null(same);
  assert_int_equal(failing.failed, 1);
  be_free(first);
  be_free(less);
  be_free(same);
  be_free(more);
  be_failing_stop();
  assert_int_equal(failing.blocks, 0);
}

/* Does without its first block, if it must. */
static enum be_status bear(void *context, struct be_err *err)
{
  (void)context;
  void *wanted = be_alloc(17), *needed = be_alloc(29);
  enum be_status status = needed ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory");
  be_free(wanted);
  be_free(needed);
  return status;
}

static void a_loss_may_be_borne(void **state)
{
  (void)state;
  struct be_fail_report report;
  be_fail_search_bearing(bear, NULL, false, &report);
  assert_null(report.fault);
  assert_int_equal(report.points, 2);
  assert_int_equal(report.borne, 1);
  be_fail_loop_bearing(bear, NULL, 2);
  be_fail_search(bear, NULL, false, &report);
  assert_string_equal(report.fault, "it says done, though memory ran out");
  enum bug bug = LEAKS_ALWAYS;
  be_fail_search_bearing(allocate, &bug, false, &report);
  assert_string_equal(report.fault, "memory leaked");
}

/* Copies see what trying in turn sees, and a fault is shown again where it can be looked at. */
static void copies_see_the_same(void **state)
{
  (void)state;
  for (int for_ever = 0; for_ever < 2; for_ever++) {
    for (enum bug bug = SOUND; bug <= NEVER_SUCCEEDS; bug++) {
      struct be_fail_report one = search(bug, for_ever), apart;
      be_fail_search_apart(allocate, &bug, for_ever, &apart);
      if (bug == SWALLOWS_THE_FAILURE) {
        assert_null(apart.fault);
        assert_int_equal(apart.borne, BLOCKS);
        continue;
      }
      assert_int_equal(apart.fault != NULL, one.fault != NULL);
      if (one.fault) assert_string_equal(apart.fault, one.fault);
      if (apart.at) assert_int_equal(apart.at, one.at);
      if (!one.fault) assert_int_equal(apart.points, one.points);
    }
    struct be_fail_report report;
    be_fail_search_apart(bear, NULL, for_ever, &report);
    assert_null(report.fault);
    assert_int_equal(report.points, 2);
    assert_int_equal(report.borne, !for_ever);
  }
  enum bug bug = SOUND;
  be_fail_loop_apart(allocate, &bug, BLOCKS);
}

/* A copy that ends before it was judged has borne nothing. */
static enum be_status end_at_once(void *context, struct be_err *err)
{
  (void)context;
  pid_t process = getpid();
  char *block = be_alloc(23);
  if (getpid() != process) _exit(EXIT_SUCCESS);
  be_free(block);
  return block ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory");
}

static void a_copy_that_ends_early_is_told(void **state)
{
  (void)state;
  struct be_fail_report report;
  be_fail_search_apart(end_at_once, NULL, false, &report);
  assert_non_null(report.fault);
  assert_string_equal(report.fault, "only a copy of the process shows the fault");
  assert_int_equal(report.at, 1);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_sound_operation_passes), cmocka_unit_test(planted_bugs_are_caught),
      cmocka_unit_test(the_nth_call_fails),       cmocka_unit_test(memory_is_rubbish_and_moves),
      cmocka_unit_test(only_some_sizes_count),    cmocka_unit_test(a_loss_may_be_borne),
      cmocka_unit_test(copies_see_the_same),      cmocka_unit_test(a_copy_that_ends_early_is_told),
  };
  return be_tests("fault: the failing allocator", tests);
}
