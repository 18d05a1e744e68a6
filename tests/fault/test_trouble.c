/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What goes wrong at the bench is said plainly, costs nothing that was pulled, and is over when its
 * cause is. */
#define _POSIX_C_SOURCE 200809L
#include "fault/bench_trial.h"
#include "test.h"

#include <errno.h>
#include <sqlite3.h>
#include <unistd.h>

enum { SEED = 4711 };

static struct bench_trial trial;
static struct be_session *session;
static struct be_session_view view;

static const struct be_told specimen = {.name = {"specimen", "knot", "line A", "soak"},
                                        .value = {"K7Q4", "palomar", "nylon 12 lb", "dry"},
                                        .count = 4};
static const struct be_told broke = {
    .name = {"what", "where"}, .value = {"broke", "in the knot"}, .count = 2};

static int start(void **state)
{
  (void)state;
  bench_start(&trial, SEED);
  bench_restore(&trial);
  session = NULL;
  return 0;
}

static int stop(void **state)
{
  (void)state;
  failing_calls = (struct failing_calls){.at = 0};
  bench_close(session);
  bench_stop(&trial);
  return 0;
}

/* ---- pieces ---- */

static void looks(void)
{
  be_session_look(session, &view);
}

static void says(const char *text, const char *part)
{
  if (!strstr(text, part)) print_error("\"%s\" is not in: %s\n", part, text);
  assert_non_null(strstr(text, part));
}

static void begin(void)
{
  session = bench_open(&trial, true, NULL);
  assert_non_null(session);
  looks();
  assert_int_equal(be_session_choose(session, view.step_number, &specimen, NULL), BE_OK);
  looks();
  assert_int_equal(be_session_guard(session, view.step_number, NULL), BE_OK);
}

/* Hands the runs from one on, up to a share of the pull, or until it is over. */
static size_t pull_to(size_t run, double share)
{
  const struct told_pull *pull = &trial.pull;
  for (looks(); run < (size_t)(share * (double)pull->count) && view.step == BE_STEP_PULL; run++) {
    told_time(pull->at_ns[run]);
    told_hand(pull->bytes + pull->from[run], pull->from[run + 1] - pull->from[run]);
    be_session_tick(session);
    looks();
  }
  return run;
}

static enum be_status answer(struct be_err *err)
{
  looks();
  return be_session_answer(session, view.step_number, &broke, err);
}

/* The one pull of the book, its trace that of a pull that nothing befell. */
static void is_kept_whole(void)
{
  struct be_book *book = NULL;
  struct be_record record;
  struct be_book_check checked;
  struct be_buf trace;
  struct be_arena *arena = be_arena_create();
  be_buf_init(&trace, 1024 * 1024);
  assert_int_equal(be_book_open(trial.book, true, &book, NULL), BE_OK);
  assert_int_equal(be_book_read(book, arena, &record, NULL), BE_OK);
  assert_int_equal(record.pulls_count, 1);
  assert_int_equal(be_book_file(book, record.pulls[0].trace, &trace, NULL), BE_OK);
  assert_int_equal(trace.size, trial.whole.size);
  assert_memory_equal(trace.data, trial.whole.data, trace.size);
  assert_int_equal(be_book_check(book, &checked, NULL), BE_OK);
  be_buf_free(&trace);
  be_book_close(book);
  be_arena_free(arena);
}

static void fail_all(enum call_kind kind, const char *ending, int code)
{
  failing_calls = (struct failing_calls){
      .kind = kind, .end = CALL_FAILS_FOR_EVER, .at = 1, .code = code, .ending = ending};
}

static void well_again(void)
{
  failing_calls = (struct failing_calls){.at = 0};
}

/* ---- the disk ---- */

static void a_full_disk_in_mid_pull_is_said_and_made_up_for(void **state)
{
  (void)state;
  begin();
  size_t run = pull_to(0, 0.4);
  assert_string_equal(view.trouble, "");
  fail_all(CALL_WRITE, ".live", ENOSPC);
  run = pull_to(run, 0.6);
  says(view.trouble, "the pull is kept in memory");
  says(view.trouble, "the disk is full: make room");
  well_again();
  run = pull_to(run, 0.7);
  assert_string_equal(view.trouble, "");
  struct held held;
  bench_close(session); /* as at the end of the program: all until now is in the journal */
  session = NULL;
  bench_held(&trial, &held);
  assert_true(held.right);
  assert_int_equal(held.runs, run);
}

static void a_disk_that_stays_full_costs_no_pull(void **state)
{
  (void)state;
  struct be_err err = {0};
  begin();
  size_t run = pull_to(0, 0.4);
  fail_all(CALL_WRITE, NULL, ENOSPC);
  pull_to(run, 1);
  assert_int_equal(view.step, BE_STEP_ANSWER);
  assert_true(view.suggested);
  assert_int_equal(answer(&err), BE_FAILED);
  says(err.what, "the disk is full");
  says(err.remedy, "make room");
  looks();
  assert_int_equal(view.step, BE_STEP_ANSWER);
  well_again();
  assert_int_equal(answer(&err), BE_OK);
  is_kept_whole();
}

static void without_room_for_a_journal_no_pull_begins(void **state)
{
  (void)state;
  struct be_err err = {0};
  session = bench_open(&trial, true, NULL);
  looks();
  assert_int_equal(be_session_choose(session, view.step_number, &specimen, NULL), BE_OK);
  fail_all(CALL_WRITE, ".live", ENOSPC);
  looks();
  assert_int_equal(be_session_guard(session, view.step_number, &err), BE_FAILED);
  says(err.what, "cannot write the journal: No space left");
  says(err.file, ".live");
  says(err.remedy, "make room");
  looks();
  assert_int_equal(view.step, BE_STEP_GUARD);
  well_again();
  assert_int_equal(be_session_guard(session, view.step_number, NULL), BE_OK);
}

static void a_disk_that_does_not_settle_is_said(void **state)
{
  (void)state;
  begin();
  size_t run = pull_to(0, 0.3);
  fail_all(CALL_SYNC, ".live", EIO);
  run = pull_to(run, 0.5);
  says(view.trouble, "cannot settle the journal");
  says(view.trouble, "a loss of power now may cost the last of the pull");
  well_again();
  pull_to(run, 1);
  assert_string_equal(view.trouble, "");
  assert_int_equal(answer(NULL), BE_OK);
  is_kept_whole();
}

/* A folder or a disk that is only read, as the journal and the book meet it. */
static void a_folder_that_is_only_read_is_said(void **state)
{
  (void)state;
  struct be_err err = {0};
  fail_all(CALL_OPEN, ".live", EROFS);
  session = bench_open(&trial, true, &err);
  assert_null(session);
  says(err.what, "cannot open the journal: Read-only");
  says(err.file, "evening.book.live");
  says(err.remedy, "rights");
  fail_all(CALL_OPEN, ".live", EACCES);
  assert_null(bench_open(&trial, true, &err));
  says(err.remedy, "check the rights of the file and of its folder");
  well_again();
}

static void a_book_that_is_only_read_costs_no_pull(void **state)
{
  (void)state;
  struct be_err err = {0};
  begin();
  pull_to(0, 1);
  fail_all(CALL_OPEN, ".book", EROFS);
  assert_int_not_equal(answer(&err), BE_OK);
  assert_true(*err.what && *err.remedy);
  well_again();
  fail_all(CALL_OPEN, ".book-journal", EACCES);
  assert_int_equal(answer(&err), BE_FAILED);
  says(err.what, "the book cannot be written");
  says(err.remedy, "check the rights of the file and of its folder");
  well_again();
  assert_int_equal(answer(&err), BE_OK);
  is_kept_whole();
}

/* ---- another program ---- */

static sqlite3 *hold_book(void)
{
  sqlite3 *other = NULL;
  assert_int_equal(sqlite3_open(trial.book, &other), SQLITE_OK);
  assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
  return other;
}

static void a_book_that_is_held_by_another_costs_no_answer(void **state)
{
  (void)state;
  struct be_err err = {0};
  begin();
  pull_to(0, 1);
  sqlite3 *other = hold_book();
  assert_int_equal(answer(&err), BE_FAILED);
  says(err.what, "another program is writing to the book");
  says(err.remedy, "try again");
  /* It is in the journal: opened again while the book is still held, it says why it is asked. */
  bench_close(session);
  session = bench_open(&trial, false, NULL);
  looks();
  assert_int_equal(view.step, BE_STEP_ANSWER);
  says(view.trouble, "another program is writing to the book");
  sqlite3_close(other);
  bench_close(session);
  session = bench_open(&trial, false, NULL);
  looks();
  assert_int_equal(view.step, BE_STEP_CHOOSE);
  assert_string_equal(view.last, "K7Q4");
  is_kept_whole();
}

/* Between our opening and our lock the program that had it may have removed it: what would be
 * written into it then would have no name. */
static void a_journal_that_was_just_removed_is_not_taken(void **state)
{
  (void)state;
  struct be_err err = {0};
  failing_calls.loses = trial.journal;
  session = bench_open(&trial, true, &err);
  assert_null(session);
  says(err.what, "another program has this journal");
  session = bench_open(&trial, true, &err);
  assert_non_null(session);
}

static void the_name_of_a_journal_is_settled(void **state)
{
  (void)state;
  struct be_err err = {0};
  fail_all(CALL_SYNC, strrchr(trial.folder, '/'), EIO);
  assert_null(bench_open(&trial, true, &err));
  says(err.what, "cannot settle the folder of the journal");
  well_again();
}

/* ---- the cable ---- */

static void a_cable_that_is_pulled_is_said_and_the_pull_goes_on(void **state)
{
  (void)state;
  char words[BE_SESSION_TROUBLE];
  begin();
  size_t run = pull_to(0, 0.6);
  assert_true(view.phase == BE_LIVE_PULLING);
  told_unplug();
  for (int i = 0; i < 10000 && view.rig_state != BE_RIG_AWAY; i++) {
    be_session_tick(session);
    looks();
  }
  assert_int_equal(view.rig_state, BE_RIG_AWAY);
  says(view.trouble, "The rig is away: the other side closed the line");
  says(view.trouble, "what came is kept, and the pull goes on when the rig is back");
  assert_true(be_session_waits(session, words));
  says(words, "The pull of K7Q4 is not in the book yet");
  told_plug();
  told_time(trial.pull.at_ns[run]);
  for (int i = 0; i < 10000 && view.rig_state == BE_RIG_AWAY; i++) {
    told_time(trial.pull.at_ns[run] + i * 1000000);
    be_session_tick(session);
    looks();
  }
  assert_string_equal(view.trouble, "");
  int64_t late_ns = told_clock.now_ns(NULL) - trial.pull.at_ns[run];
  for (size_t i = run; i < trial.pull.count; i++) trial.pull.at_ns[i] += late_ns;
  pull_to(run, 1);
  assert_int_equal(view.step, BE_STEP_ANSWER);
  assert_int_equal(view.gaps, 1);
  assert_int_equal(answer(NULL), BE_OK);
}

/* ---- codes ---- */

static void a_code_that_the_book_has_is_refused_before_the_pull(void **state)
{
  (void)state;
  struct be_err err = {0};
  begin();
  pull_to(0, 1);
  assert_int_equal(answer(NULL), BE_OK);
  looks();
  assert_int_equal(be_session_choose(session, view.step_number, &specimen, &err), BE_BAD_INPUT);
  says(err.what, "has its result already");
  says(err.remedy, "give the code of this one");
}

/* The book could not be asked then, and is there again at the answer: two pulls of one code that
 * are answered alike are two pulls. */
static void a_second_pull_of_one_code_is_not_lost(void **state)
{
  (void)state;
  struct be_err err = {0};
  begin();
  pull_to(0, 1);
  assert_int_equal(answer(NULL), BE_OK);
  bench_close(session);
  told_pull_make(&trial.pull, SEED + 1);
  session = bench_open(&trial, true, NULL);
  looks();
  sqlite3 *other = hold_book();
  assert_int_equal(be_session_choose(session, view.step_number, &specimen, NULL), BE_OK);
  sqlite3_close(other);
  failing_calls.later_s = 1; /* a pull begins in another second than the one before it */
  looks();
  assert_int_equal(be_session_guard(session, view.step_number, NULL), BE_OK);
  pull_to(0, 1);
  assert_int_equal(answer(&err), BE_BAD_INPUT);
  says(err.what, "has its result already");
  const struct be_told renamed = {
      .name = {"what", "where", "specimen"}, .value = {"broke", "in the knot", "K7Q5"}, .count = 3};
  looks();
  assert_int_equal(be_session_answer(session, view.step_number, &renamed, &err), BE_OK);
  looks();
  assert_string_equal(view.last, "K7Q5");
}

/* ---- an interrupted one that was none ---- */

static void one_that_saw_no_load_may_be_left(void **state)
{
  (void)state;
  begin();
  pull_to(0, 0.4); /* steady, and no load yet */
  bench_close(session);
  session = bench_open(&trial, false, NULL);
  looks();
  assert_int_equal(view.step, BE_STEP_ANSWER);
  assert_true(view.may_leave);
  assert_int_equal(be_session_leave(session, view.step_number, NULL), BE_OK);
  looks();
  assert_int_equal(view.step, BE_STEP_CHOOSE);
  assert_false(view.interrupted);
}

static void one_that_saw_a_load_may_not(void **state)
{
  (void)state;
  struct be_err err = {0};
  begin();
  pull_to(0, 0.7);
  bench_close(session);
  session = bench_open(&trial, false, NULL);
  looks();
  assert_false(view.may_leave);
  assert_int_equal(be_session_leave(session, view.step_number, &err), BE_WRONG_USE);
  assert_int_equal(answer(NULL), BE_OK);
}

/* ---- the moment of settling ---- */

/* By the clock of the session, at 30 ticks a second: what came is settled soon enough that the disk
 * has most of the quarter of a second that is promised. */
static void nothing_stays_unsettled_for_long(void **state)
{
  (void)state;
  begin();
  static const double tick_s = 1.0 / 30, longest_s = 0.1;
  const int64_t tick_ns = (int64_t)(tick_s * 1e9);
  int64_t now_ns = trial.pull.at_ns[0], oldest_ns = 0, worst_ns = 0;
  size_t run = 0, settled = 0;
  failing_calls = (struct failing_calls){.kind = CALL_SYNC, .ending = ".live"};
  for (looks(); view.step == BE_STEP_PULL && run < trial.pull.count; now_ns += tick_ns) {
    for (; run < trial.pull.count && trial.pull.at_ns[run] <= now_ns; run++) {
      told_time(trial.pull.at_ns[run]);
      told_hand(trial.pull.bytes + trial.pull.from[run],
                trial.pull.from[run + 1] - trial.pull.from[run]);
      if (!oldest_ns) oldest_ns = trial.pull.at_ns[run];
    }
    told_time(now_ns);
    size_t syncs = failing_calls.calls[CALL_SYNC];
    be_session_tick(session);
    looks();
    if (failing_calls.calls[CALL_SYNC] == syncs) continue;
    settled++;
    if (now_ns - oldest_ns > worst_ns) worst_ns = now_ns - oldest_ns;
    oldest_ns = 0;
  }
  print_message("# longest unsettled: %.3f s\n", (double)worst_ns * 1e-9);
  assert_true(settled > 20);
  assert_true((double)worst_ns * 1e-9 <= longest_s);
}

int main(void)
{
#define alone(test) cmocka_unit_test_setup_teardown(test, start, stop)
  const struct CMUnitTest tests[] = {
      alone(a_full_disk_in_mid_pull_is_said_and_made_up_for),
      alone(a_disk_that_stays_full_costs_no_pull),
      alone(without_room_for_a_journal_no_pull_begins),
      alone(a_disk_that_does_not_settle_is_said),
      alone(a_folder_that_is_only_read_is_said),
      alone(a_book_that_is_only_read_costs_no_pull),
      alone(a_book_that_is_held_by_another_costs_no_answer),
      alone(a_journal_that_was_just_removed_is_not_taken),
      alone(the_name_of_a_journal_is_settled),
      alone(a_cable_that_is_pulled_is_said_and_the_pull_goes_on),
      alone(a_code_that_the_book_has_is_refused_before_the_pull),
      alone(a_second_pull_of_one_code_is_not_lost),
      alone(one_that_saw_no_load_may_be_left),
      alone(one_that_saw_a_load_may_not),
      alone(nothing_stays_unsettled_for_long),
  };
  return be_tests("fault: trouble at the bench", tests);
}
