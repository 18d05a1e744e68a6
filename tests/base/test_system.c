/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "base/base.h"
#include "test.h"

#include <sched.h>
#include <signal.h>
#include <stdatomic.h>
#include <unistd.h>

enum { MOST = 10007 };

static atomic_int done[MOST];

static void count(void *context, size_t i)
{
  atomic_int *counts = context;
  atomic_fetch_add(&counts[i], 1);
}

static void each_piece_of_work_is_done_once(void **state)
{
  (void)state;
  static const unsigned threads[] = {0, 1, 2, 3, 7, 64, 65, 4000};
  static const size_t counts[] = {0, 1, 2, 63, 64, 65, MOST};
  for (size_t t = 0; t < sizeof threads / sizeof threads[0]; t++)
    for (size_t c = 0; c < sizeof counts / sizeof counts[0]; c++) {
      for (size_t i = 0; i < MOST; i++) atomic_store(&done[i], 0);
      be_parallel(counts[c], threads[t], count, done);
      for (size_t i = 0; i < MOST; i++)
        assert_int_equal(atomic_load(&done[i]), i < counts[c] ? 1 : 0);
    }
}

/* Two pieces that wait for each other can only end on two threads. */
struct meeting {
  atomic_int arrived;
  atomic_bool met;
};

static void meet(void *context, size_t i)
{
  (void)i;
  struct meeting *meeting = context;
  atomic_fetch_add(&meeting->arrived, 1);
  double start = be_clock_s();
  while (atomic_load(&meeting->arrived) < 2 && be_clock_s() - start < 60) sched_yield();
  if (atomic_load(&meeting->arrived) == 2) atomic_store(&meeting->met, true);
}

static void two_threads_work_at_once(void **state)
{
  (void)state;
  struct meeting meeting;
  atomic_init(&meeting.arrived, 0);
  atomic_init(&meeting.met, false);
  be_parallel(2, 2, meet, &meeting);
  assert_true(atomic_load(&meeting.met));
}

static void there_is_a_processor(void **state)
{
  (void)state;
  assert_in_range(be_processors(), 1, 64);
}

static void the_clock_goes_forward(void **state)
{
  (void)state;
  double before = be_clock_s();
  for (int i = 0; i < 1000; i++) {
    double now = be_clock_s();
    assert_true(now >= before);
    before = now;
  }
}

static void now_is_a_date_and_time(void **state)
{
  (void)state;
  char text[32];
  be_now(text);
  int year, month, day, hour, minute, second, length = 0;
  assert_int_equal(sscanf(text, "%4d-%2d-%2dT%2d:%2d:%2dZ%n", &year, &month, &day, &hour, &minute,
                          &second, &length),
                   6);
  assert_int_equal(length, 20);
  assert_int_equal(strlen(text), 20);
  assert_in_range(year, 2025, 9999);
  assert_in_range(month, 1, 12);
  assert_in_range(day, 1, 31);
  assert_in_range(hour, 0, 23);
  assert_in_range(minute, 0, 59);
  assert_in_range(second, 0, 60);
}

/* Held signals do not end the process; waiting takes one at a time. */
static void the_end_is_waited_for(void **state)
{
  (void)state;
  be_end_hold();
  kill(getpid(), SIGTERM);
  kill(getpid(), SIGINT);
  be_end_wait();
  be_end_wait();
  sigset_t pending;
  sigpending(&pending);
  assert_false(sigismember(&pending, SIGTERM));
  assert_false(sigismember(&pending, SIGINT));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_piece_of_work_is_done_once),
      cmocka_unit_test(two_threads_work_at_once),
      cmocka_unit_test(there_is_a_processor),
      cmocka_unit_test(the_clock_goes_forward),
      cmocka_unit_test(now_is_a_date_and_time),
      cmocka_unit_test(the_end_is_waited_for),
  };
  return be_tests("base: threads, clock, signals", tests);
}
