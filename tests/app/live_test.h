/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of sessions share: a book, and a simulated rig whose time goes as they let it. The
 * file that includes this says _POSIX_C_SOURCE first. */
#ifndef BE_LIVE_TEST_H
#define BE_LIVE_TEST_H

#include "app/live/live.h"
#include "test.h"

#include <signal.h>
#include <stdatomic.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* ---- a clock that goes as far as the test lets it ---- */

static _Atomic int64_t clock_ns;

static inline int64_t held_now(void *host)
{
  (void)host;
  return atomic_load(&clock_ns);
}

static inline void pause_shortly(void)
{
  const struct timespec moment = {.tv_nsec = 200000};
  nanosleep(&moment, NULL);
}

static inline void held_sleep(void *host, int64_t ns)
{
  (void)host;
  for (int i = 0; i < 50 && atomic_load(&clock_ns) < ns; i++) pause_shortly();
}

static const struct be_rig_clock held_clock = {held_now, held_sleep, NULL};

/* ---- a book and a session on it ---- */

static char folder[64], book[96], journal[112];

/* The sessions of a test that needs a calibration are opened with it. */
static const struct be_reckoning *reckoning;
static const char *bench;

static inline int enter(void **state)
{
  (void)state;
  strcpy(folder, "/tmp/be-live-XXXXXX");
  if (!mkdtemp(folder)) return 1;
  snprintf(book, sizeof book, "%s/evening.book", folder);
  snprintf(journal, sizeof journal, "%s.live", book);
  atomic_store(&clock_ns, 5000000000);
  reckoning = NULL;
  bench = NULL;
  return be_book_create(book, NULL);
}

static inline int leave(void **state)
{
  (void)state;
  unlink(book);
  unlink(journal);
  return rmdir(folder);
}

#define PULL "rate_Hz=100 break_N=61.7 time_s=8 slack_s=4 after_s=6 noise_N=0.05 seed=7"

static inline struct be_session *open_session(const char *pull, struct be_err *err)
{
  const struct be_rig_options rig = {.source = &be_rig_simulated,
                                     .source_settings = pull,
                                     .frames = "timed-s",
                                     .frame_settings = "unit=N",
                                     .clock = &held_clock};
  const struct be_session_options options = {.book_path = book,
                                             .rig = pull ? &rig : NULL,
                                             .session = "2026-11-02",
                                             .reckoning = reckoning,
                                             .bench = bench};
  struct be_session *session = NULL;
  if (be_session_open(&options, NULL, &session, err) != BE_OK && err)
    print_error("%s\n", err->what);
  return session;
}

static const struct be_told specimen = {.name = {"specimen", "knot", "line A", "soak"},
                                        .value = {"K7Q4", "palomar", "nylon 12 lb", "dry"},
                                        .count = 4};
static const struct be_told broke = {
    .name = {"what", "where"}, .value = {"broke", "in the knot"}, .count = 2};

static struct be_session_view view;

static inline uint64_t number_of(struct be_session *session)
{
  be_session_look(session, &view);
  return view.step_number;
}

/* Lets time go on until the session is at a step, or so many seconds have passed. */
static inline bool go_on(struct be_session *session, enum be_live_step until, double seconds)
{
  for (int i = 0; i < (int)(seconds * 50); i++) {
    atomic_fetch_add(&clock_ns, 20000000);
    pause_shortly();
    be_session_look(session, &view);
    if (view.step == until) return true;
  }
  /* What is on its way may come; no more time passes. It comes late on a machine that is busy, so
   * one that must come is waited for. */
  for (int i = 0; i < (seconds < 30 ? 3000 : 100000); i++) {
    pause_shortly();
    be_session_look(session, &view);
    if (view.step == until) return true;
  }
  return false;
}

static inline void begin(struct be_session *session)
{
  assert_int_equal(be_session_choose(session, number_of(session), &specimen, NULL), BE_OK);
  assert_int_equal(be_session_guard(session, number_of(session), NULL), BE_OK);
  be_session_look(session, &view);
}

static struct be_record record;
static struct be_arena *arena;

static inline const struct be_pull *only_pull(void)
{
  struct be_book *opened;
  arena = be_arena_create();
  assert_int_equal(be_book_open(book, false, &opened, NULL), BE_OK);
  assert_int_equal(be_book_read(opened, arena, &record, NULL), BE_OK);
  be_book_close(opened);
  assert_int_equal(record.pulls_count, 1);
  return &record.pulls[0];
}

/* In a process of its own: pulls for so long, then is killed. */
static inline void pull_and_die(double seconds, bool answers)
{
  pid_t child = fork();
  if (child == 0) {
    struct be_session *session = open_session(PULL, NULL);
    if (!session) _exit(1);
    begin(session);
    go_on(session, BE_STEP_ANSWER, seconds);
    if (answers) be_session_answer(session, number_of(session), &broke, NULL);
    kill(getpid(), SIGKILL);
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_true(WIFSIGNALED(status));
}

#define alone(test) cmocka_unit_test_setup_teardown(test, enter, leave)

#endif
