/* SPDX-License-Identifier: GPL-3.0-or-later */
/*   | head: size | the caller's bytes | guard |
 * The head keeps what was asked for, to be compared with the old size that the
 * next call gives; the guard lies right behind the last byte. */
#define _POSIX_C_SOURCE 200809L
#include "fault/failing.h"

#include "test.h"

#include <pthread.h>
#include <sys/wait.h>
#include <unistd.h>

enum { FRESH = 0xA7, DEAD = 0xD9, GUARD = 8 };
/* Nothing larger is asked of malloc: a sanitizer would end the program. */
static const size_t size_max = (size_t)1 << 36;
static const unsigned char guard_bytes[GUARD] = {0x5B, 0xC3, 0x91, 0x17, 0xE5, 0x3D, 0x8F, 0x62};

union head {
  size_t size;
  max_align_t align;
};

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

/* How a copy of the process ends in which all was well; any other end is looked at again. */
enum { REFUSED = 40, DONE_ALL_THE_SAME };

/* A copy of a process under sanitizers takes some milliseconds: there, beyond the first calls, only
 * each seventh is tried. The usual build tries all. */
#ifdef __SANITIZE_ADDRESS__
enum { ALL_OF_FIRST = 1000, STRIDE = 7 };
#else
enum { ALL_OF_FIRST = 0, STRIDE = 1 };
#endif

/* The run whose calls are failed in copies. */
static struct {
  bool on, is_copy;
  size_t points, borne;
  size_t bad; /* the first call whose copy did not end well; 0: none */
} apart;

/* True in a copy, where this call is the one that fails. */
static bool copy_fails(void)
{
  if (!apart.on || apart.bad) return false;
  apart.points++;
  if (apart.points > ALL_OF_FIRST && apart.points % STRIDE != 0) return false;
  int how = 0;
  pid_t copy = fork();
  if (copy == 0) {
    apart.on = false;
    apart.is_copy = true;
    return true;
  }
  bool ended = copy > 0 && waitpid(copy, &how, 0) == copy && WIFEXITED(how);
  if (ended && WEXITSTATUS(how) == DONE_ALL_THE_SAME) apart.borne++;
  else if (!ended || WEXITSTATUS(how) != REFUSED) apart.bad = apart.points;
  return false;
}

bool be_failing_apart(void)
{
  return apart.on || apart.is_copy;
}

static void *create(struct be_failing *failing, size_t size)
{
  bool counts = size >= failing->at_least && (!failing->at_most || size <= failing->at_most);
  failing->calls += counts;
  if (counts && copy_fails()) failing->fail_at = failing->calls;
  if (counts && failing->fail_at &&
      (failing->for_ever ? failing->calls >= failing->fail_at
                         : failing->calls == failing->fail_at)) {
    failing->failed++;
    return NULL;
  }
  union head *head = size <= size_max ? malloc(sizeof *head + size + GUARD) : NULL;
  if (!head) return NULL;
  head->size = size;
  unsigned char *bytes = (unsigned char *)(head + 1);
  memset(bytes, FRESH, size);
  memcpy(bytes + size, guard_bytes, GUARD);
  failing->blocks++;
  failing->bytes += size;
  return bytes;
}

static void destroy(struct be_failing *failing, void *block, size_t old_size)
{
  union head *head = (union head *)block - 1;
  size_t size = head->size;
  if (size != old_size || memcmp((char *)block + size, guard_bytes, GUARD) != 0) failing->broken++;
  memset(block, DEAD, size);
  failing->blocks--;
  failing->bytes -= size;
  free(head);
}

static void *resize(void *host, void *block, size_t old_size, size_t new_size)
{
  struct be_failing *failing = host;
  void *moved = NULL;
  pthread_mutex_lock(&lock);
  if (new_size) moved = create(failing, new_size);
  if (moved && block) memcpy(moved, block, old_size < new_size ? old_size : new_size);
  if (block && (moved || !new_size)) destroy(failing, block, old_size);
  pthread_mutex_unlock(&lock);
  return moved;
}

static struct be_failing *present;

void be_failing_start(struct be_failing *failing, size_t fail_at, bool for_ever)
{
  *failing = (struct be_failing){.fail_at = fail_at, .for_ever = for_ever};
  present = failing;
  be_allocator_install(&(struct be_allocator){resize, failing});
}

void be_failing_stop(void)
{
  present = NULL;
  be_allocator_install(NULL);
}

void be_failing_relent(void)
{
  if (present) present->fail_at = 0;
}

/* What one try did wrong, or null. */
static const char *judge(const struct be_failing *failing, bool may_bear, enum be_status status,
                         const struct be_err *err)
{
  bool borne = may_bear && status == BE_OK;
  if (failing->broken) return "a block was damaged or given back with a wrong size";
  if (failing->blocks) return "memory leaked";
  if (failing->failed && borne) return NULL;
  if (failing->failed && status == BE_OK) return "it says done, though memory ran out";
  if (failing->failed && status != BE_NO_MEMORY) return "the status is not \"out of memory\"";
  if (failing->failed && (err->status != status || !err->what[0])) return "the error is not told";
  if (!failing->failed && status != BE_OK) return "it fails though memory is plenty";
  return NULL;
}

/* Call number `at` fails; 0: none. */
static enum be_status try_at(be_operation *operation, void *context, size_t at, bool for_ever,
                             bool may_bear, struct be_fail_report *report)
{
  struct be_failing failing;
  struct be_err err = {0};
  be_failing_start(&failing, at, for_ever);
  enum be_status status = operation(context, &err);
  be_failing_stop();
  report->fault = judge(&failing, may_bear, status, &err);
  report->at = failing.failed ? at : 0;
  return status;
}

static void search(be_operation *operation, void *context, bool for_ever, bool may_bear,
                   struct be_fail_report *report)
{
  *report = (struct be_fail_report){0};
  for (size_t at = 1; at <= BE_FAIL_POINTS_MAX; at++) {
    enum be_status status = try_at(operation, context, at, for_ever, may_bear, report);
    if (report->fault || !report->at) return;
    report->points = at;
    report->borne += status == BE_OK;
  }
  report->fault = "it never succeeds";
}

void be_fail_search_apart(be_operation *operation, void *context, bool for_ever,
                          struct be_fail_report *report)
{
  memset(&apart, 0, sizeof apart);
  *report = (struct be_fail_report){0};
  apart.on = true;
  enum be_status status = try_at(operation, context, 0, for_ever, true, report);
  if (apart.is_copy)
    _exit(report->fault ? EXIT_FAILURE : status == BE_OK ? DONE_ALL_THE_SAME : REFUSED);
  apart.on = false;
  report->points = apart.points;
  report->borne = apart.borne;
  if (report->fault || !apart.bad) return;
  try_at(operation, context, apart.bad, for_ever, true, report);
  if (!report->fault) report->fault = "only a copy of the process shows the fault";
  report->at = apart.bad;
}

static void assert_borne(const struct be_fail_report *report, bool for_ever, size_t known)
{
  if (report->fault)
    print_error("failing call %zu %s: %s\n", report->at, for_ever ? "for ever" : "once",
                report->fault);
  assert_null(report->fault);
  if (report->points < known) print_error("only %zu calls were tried\n", report->points);
  assert_true(report->points >= known);
}

static void loop(be_operation *operation, void *context, bool may_bear, size_t known)
{
  for (int for_ever = 0; for_ever < 2; for_ever++) {
    struct be_fail_report report;
    search(operation, context, for_ever, may_bear, &report);
    assert_borne(&report, for_ever, known);
  }
}

void be_fail_search(be_operation *operation, void *context, bool for_ever,
                    struct be_fail_report *report)
{
  search(operation, context, for_ever, false, report);
}

void be_fail_loop(be_operation *operation, void *context, size_t known)
{
  loop(operation, context, false, known);
}

void be_fail_search_bearing(be_operation *operation, void *context, bool for_ever,
                            struct be_fail_report *report)
{
  search(operation, context, for_ever, true, report);
}

void be_fail_loop_bearing(be_operation *operation, void *context, size_t known)
{
  loop(operation, context, true, known);
}

void be_fail_loop_apart(be_operation *operation, void *context, size_t known)
{
  for (int for_ever = 0; for_ever < 2; for_ever++) {
    struct be_fail_report report;
    be_fail_search_apart(operation, context, for_ever, &report);
    assert_borne(&report, for_ever, known);
  }
}
