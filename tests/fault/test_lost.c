/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Nothing is lost: a pull at the bench whose program is killed at each call that changes a file,
 * torn in the middle of it, and at random samples; and whose calls fail. Afterwards it is there up
 * to the last sample that was taken, a person is asked, and it is in the book once. */
#include "fault/bench_trial.h"
#include "test.h"

#include <errno.h>

enum { SEED = 20261126 };
/* Under sanitizers, where a process takes three times as long, each third call; else all. */
#ifdef __SANITIZE_ADDRESS__
enum { STRIDE = 3 };
#else
enum { STRIDE = 1 };
#endif

static struct bench_trial trial;

static int start(void **state)
{
  (void)state;
  bench_start(&trial, SEED);
  return 0;
}

static int stop(void **state)
{
  (void)state;
  bench_stop(&trial);
  return 0;
}

static void assert_no_fault(const char *fault, const char *what, size_t at)
{
  if (fault)
    print_error("%s %zu: %s (%zu of %zu runs said to be taken, %s, %s)\n", what, at, fault,
                trial.said->runs, trial.pull.count, trial.said->began ? "begun" : "not begun",
                trial.said->kept ? "kept" : "not kept");
  assert_null(fault);
}

/* The fault of the first call at which one shows, or null, where each stride-th is tried; *points
 * is how many calls there were. */
static const char *search(const struct failing_calls *how, size_t stride, size_t *points)
{
  for (*points = 0;; *points += stride) {
    struct failing_calls calls = *how;
    calls.at = *points + 1;
    bool ended = bench_run(&trial, &calls);
    const char *fault = bench_judge(&trial);
    if (!fault && trial.said->ended && !ended) fault = "it fails for good though the disk does not";
    if (fault || (trial.said->ended && !trial.said->failed)) return fault;
  }
}

static void killed_before_each_call(void **state)
{
  (void)state;
  size_t points;
  const struct failing_calls how = {.kind = CALL_ANY, .end = CALL_DIES};
  const char *fault = search(&how, STRIDE, &points);
  print_message("# killed before each of %zu calls\n", points);
  assert_no_fault(fault, "killed before call", points + 1);
  assert_true(points >= 120);
}

static void killed_in_the_middle_of_each_write(void **state)
{
  (void)state;
  size_t points;
  const struct failing_calls how = {.kind = CALL_WRITE, .end = CALL_TEARS};
  const char *fault = search(&how, STRIDE, &points);
  print_message("# killed in the middle of each of %zu writes\n", points);
  assert_no_fault(fault, "killed in write", points + 1);
  assert_true(points >= 70);
}

static void each_call_fails_once(void **state)
{
  (void)state;
  size_t points;
  const struct failing_calls how = {.kind = CALL_ANY, .end = CALL_FAILS, .code = ENOSPC};
  const char *fault = search(&how, STRIDE, &points);
  print_message("# no room at each of %zu calls\n", points);
  assert_no_fault(fault, "failing call", points + 1);
  assert_true(points >= 120);
}

/* The answer was in the journal, and the program is killed again while it enters it. */
static void killed_again_while_it_is_entered(void **state)
{
  (void)state;
  struct held held = {0};
  size_t at = 0, points = 0;
  const struct failing_calls dying = {.kind = CALL_SYNC, .end = CALL_DIES};
  struct failing_calls calls = dying;
  for (; !held.answered; bench_held(&trial, &held)) {
    calls.at = ++at;
    bench_run(&trial, &calls);
    assert_false(trial.said->kept);
  }
  for (bool killed = true; killed; points += killed ? STRIDE : 0) {
    calls = dying;
    calls.at = at;
    bench_run(&trial, &calls);
    calls = (struct failing_calls){.kind = CALL_ANY, .end = CALL_DIES, .at = points + 1};
    killed = !bench_run_again(&trial, &calls);
    bench_held(&trial, &held);
    if (!held.begun) trial.said->kept = true; /* so it must be in the book */
    assert_no_fault(bench_judge(&trial), "killed again before call", points + 1);
  }
  print_message("# killed again before each of %zu calls\n", points);
  assert_true(points >= 40);
}

static void killed_at_random_samples(void **state)
{
  (void)state;
  enum { TRIES = 100 };
  struct be_random random;
  const struct failing_calls none = {.kind = CALL_ANY};
  be_random_init(&random, SEED, 9);
  print_message("# killed at %d random samples, seed %d\n", TRIES, SEED);
  for (size_t i = 0; i < TRIES; i++) {
    told_pull_make(&trial.pull, be_random_u64(&random));
    /* The last tenth comes after the pull is over. */
    trial.die_after = 1 + (size_t)be_random_below(&random, trial.pull.samples * 9 / 10);
    assert_false(bench_run(&trial, &none));
    const char *fault = bench_judge(&trial);
    assert_no_fault(fault, "killed at sample", trial.die_after);
  }
}

/* ---- planted bugs ---- */

static enum be_status say_kept_first(struct bench_trial *t, struct be_session *session)
{
  t->said->kept = true;
  return bench_answer(t, session);
}

static enum be_status say_kept_anyway(struct bench_trial *t, struct be_session *session)
{
  static struct be_session_view view;
  const struct be_told refused = {.name = {"what"}, .value = {"exploded"}, .count = 1};
  be_session_look(session, &view);
  be_session_answer(session, view.step_number, &refused, NULL);
  t->said->kept = true;
  return BE_OK;
}

/* Past the journal, and then through it under another code. */
static enum be_status enter_twice(struct bench_trial *t, struct be_session *session)
{
  const struct be_told told = {.name = {"specimen", "knot", "line A", "load", "what"},
                               .value = {"K7Q4b", "palomar", "nylon 12 lb", "13.9 lb", "broke"},
                               .count = 5};
  const struct be_told nothing = {.count = 0};
  be_live_enter(t->book, &told, &nothing, NULL, NULL, NULL);
  return bench_answer(t, session);
}

static void planted_bugs_are_caught(void **state)
{
  (void)state;
  static const struct {
    enum be_status (*answer)(struct bench_trial *, struct be_session *);
    struct failing_calls how;
    const char *fault;
  } bugs[] = {
      {say_kept_first, {CALL_ANY, CALL_DIES}, "said kept, but it is asked again"},
      {say_kept_first, {CALL_WRITE, CALL_TEARS}, "said kept, but it is asked again"},
      {say_kept_anyway, {CALL_ANY, CALL_FAILS, .code = ENOSPC}, "said kept, but it is asked again"},
      {enter_twice, {CALL_ANY, CALL_DIES}, "the pull was entered twice"},
  };
  for (size_t i = 0; i < sizeof bugs / sizeof bugs[0]; i++) {
    size_t points;
    trial.answer = bugs[i].answer;
    const char *fault = search(&bugs[i].how, 1, &points); /* it may show at one call alone */
    assert_non_null(fault);
    assert_string_equal(fault, bugs[i].fault);
  }
}

static void samples_lost_at_random_moments_are_caught(void **state)
{
  (void)state;
  const struct failing_calls none = {.kind = CALL_ANY};
  trial.die_after = trial.pull.samples / 3;
  trial.boast = 2;
  bench_run(&trial, &none);
  const char *fault = bench_judge(&trial);
  assert_non_null(fault);
  assert_string_equal(fault, "samples are lost");
}

/* A write of the journal that says done and does nothing: the runs of the others do not hide it. */
static void a_disk_that_lies_is_caught(void **state)
{
  (void)state;
  const struct failing_calls none = {.kind = CALL_ANY};
  const struct failing_calls lies = {
      .kind = CALL_WRITE, .end = CALL_LIES, .ending = ".live", .at = 17};
  trial.die_after = trial.pull.samples / 2;
  bench_run(&trial, &none);
  assert_null(bench_judge(&trial));
  bench_run(&trial, &lies);
  const char *fault = bench_judge(&trial);
  assert_non_null(fault);
  assert_string_equal(fault, "the journal holds what was not sent, or not in its order");
}

int main(void)
{
#define alone(test) cmocka_unit_test_setup_teardown(test, start, stop)
  const struct CMUnitTest tests[] = {
      alone(killed_before_each_call),
      alone(killed_in_the_middle_of_each_write),
      alone(each_call_fails_once),
      alone(killed_again_while_it_is_entered),
      alone(killed_at_random_samples),
      alone(planted_bugs_are_caught),
      alone(samples_lost_at_random_moments_are_caught),
      alone(a_disk_that_lies_is_caught),
  };
  return be_tests("fault: nothing lost", tests);
}
