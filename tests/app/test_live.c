/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A session at the bench: a pull from the rig goes into the book, whatever happens on the way. */
#define _POSIX_C_SOURCE 200809L
#include "live_test.h"

#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* ---- from the rig ---- */

static void a_pull_from_the_rig_goes_into_the_book(void **state)
{
  (void)state;
  struct be_err err = {0};
  struct be_session *session = open_session(PULL, &err);
  assert_non_null(session);
  begin(session);
  assert_int_equal(view.step, BE_STEP_PULL);
  assert_string_equal(view.specimen, "K7Q4");
  assert_true(go_on(session, BE_STEP_ANSWER, 30));
  assert_true(view.suggested);
  assert_int_equal(view.suggestion.result, BE_SUGGEST_EVENT);
  assert_int_equal(view.suggestion.what, BE_LET_GO_BROKE);
  assert_near(view.suggested_N, 61.7, 0.8);
  float highest = 0;
  for (size_t i = 0; i < view.points_count; i++)
    highest = view.points[i].high_N > highest ? view.points[i].high_N : highest;
  assert_near((double)highest, 61.7, 0.8);
  assert_false(view.interrupted);
  assert_int_equal(be_session_answer(session, view.step_number, &broke, &err), BE_OK);
  be_session_look(session, &view);
  assert_int_equal(view.step, BE_STEP_CHOOSE);
  assert_string_equal(view.last, "K7Q4");
  be_session_close(session);
  const struct be_pull *pull = only_pull();
  assert_string_equal(pull->code, "K7Q4");
  assert_string_equal(record.knots[pull->knot].name, "palomar");
  assert_string_equal(pull->session, "2026-11-02");
  assert_int_equal(pull->kind, BE_KIND_EVENT);
  assert_int_equal(pull->what, BE_WHAT_BROKE);
  assert_near(pull->load_N, 61.7, 0.8);
  assert_true(pull->trace > 0);
  be_arena_free(arena);
  assert_false(be_file_exists(journal)); /* nothing waits */
}

static void slips_are_told_to_who_comes_later(void **state)
{
  (void)state;
  struct be_buf events;
  struct be_session *session = open_session(PULL " slips=3 slip_share=0.2", NULL);
  begin(session);
  be_buf_init(&events, 1024 * 1024);
  be_session_tell(session, &events);
  assert_non_null(strstr(events.data, "\"slips\":[],"));
  assert_true(go_on(session, BE_STEP_ANSWER, 30));
  events.size = 0;
  be_session_tell(session, &events);
  const char *slips = strstr(events.data, "\"slips\":[[");
  assert_non_null(slips);
  size_t count = 0;
  for (const char *at = slips; strncmp(at, "]]", 2) != 0; at++) count += *at == ',';
  assert_int_equal(count, 5); /* of three rows of two */
  be_buf_free(&events);
  be_session_close(session);
}

static void what_found_no_room_is_said(void **state)
{
  (void)state;
  const struct be_rig_options rig = {
      .source = &be_rig_simulated,
      .source_settings = "rate_Hz=10000 break_N=61.7 time_s=8 slack_s=4 after_s=6 seed=7",
      .frames = "timed-s",
      .frame_settings = "unit=N",
      .samples_room = 8,
      .clock = &held_clock};
  const struct be_session_options options = {.book_path = book, .rig = &rig};
  struct be_session *session;
  assert_int_equal(be_session_open(&options, NULL, &session, NULL), BE_OK);
  go_on(session, BE_STEP_ANSWER, 1);
  assert_non_null(strstr(view.trouble, "The machine was too busy, and the page missed "));
  struct be_buf events;
  be_buf_init(&events, 1024 * 1024);
  be_session_tell(session, &events);
  assert_non_null(strstr(events.data, "\"trouble\":\"The machine was too busy"));
  be_buf_free(&events);
  be_session_close(session);
}

/* What hung on the rig when the zero was taken is told by nothing else. */
static void the_zero_is_told(void **state)
{
  (void)state;
  struct be_buf events;
  struct be_session *session = open_session(PULL, NULL);
  be_buf_init(&events, 1024 * 1024);
  be_session_tell(session, &events);
  assert_non_null(strstr(events.data, "\"zero_N\":null"));
  events.size = 0;
  while (be_session_look(session, &view), view.phase != BE_LIVE_READY) {
    atomic_fetch_add(&clock_ns, 20000000);
    pause_shortly();
  }
  be_session_tell(session, &events);
  const char *zero = strstr(events.data, "\"zero_N\":");
  assert_non_null(zero);
  assert_near(strtod(zero + strlen("\"zero_N\":"), NULL), view.zero_N, 0.05);
  be_buf_free(&events);
  be_session_close(session);
}

static void silence_is_said_once_it_is_seen(void **state)
{
  (void)state;
  struct be_news *news;
  assert_int_equal(be_news_open(&news, NULL), BE_OK);
  const struct be_rig_options rig = {.source = &be_rig_simulated,
                                     .source_settings = "rate_Hz=100 time_s=0.5 after_s=0.1",
                                     .frames = "timed-s",
                                     .frame_settings = "unit=N",
                                     .clock = &held_clock};
  const struct be_session_options options = {.book_path = book, .rig = &rig};
  struct be_session *session;
  assert_int_equal(be_session_open(&options, news, &session, NULL), BE_OK);
  go_on(session, BE_STEP_ANSWER, 2);
  uint64_t said = be_news_said(news);
  assert_true(said > 0);
  assert_int_not_equal(view.phase, BE_LIVE_SILENT);
  atomic_fetch_add(&clock_ns, 3000000000);
  while (be_session_look(session, &view), view.phase != BE_LIVE_SILENT) pause_shortly();
  assert_true(be_news_said(news) > said);
  be_session_close(session);
  be_news_end(news);
  be_news_close(news);
}

static void an_answer_may_be_given_again(void **state)
{
  (void)state;
  struct be_session *session = open_session(PULL, NULL);
  struct be_err err = {0};
  assert_int_equal(be_session_again(session, &broke, &err), BE_WRONG_USE);
  begin(session);
  assert_true(go_on(session, BE_STEP_ANSWER, 30));
  assert_int_equal(be_session_answer(session, view.step_number, &broke, NULL), BE_OK);
  const struct be_told other = {
      .name = {"what", "where"}, .value = {"slipped out", "in the knot"}, .count = 2};
  assert_int_equal(be_session_again(session, &other, NULL), BE_OK);
  be_session_close(session);
  const struct be_pull *pull = only_pull();
  assert_int_equal(pull->what, BE_WHAT_SLIPPED_OUT);
  assert_int_equal(pull->corrections, 1);
  assert_near(pull->load_N, 61.7, 0.8);
  be_arena_free(arena);
}

static void one_that_is_let_down_is_stopped_by_a_person(void **state)
{
  (void)state;
  struct be_session *session = open_session(PULL, NULL);
  struct be_err err = {0};
  begin(session);
  go_on(session, BE_STEP_ANSWER, 2);
  assert_int_equal(be_session_stop(session, number_of(session), &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "nothing was pulled"));
  go_on(session, BE_STEP_ANSWER, 7);
  assert_int_equal(view.phase, BE_LIVE_PULLING);
  assert_int_equal(be_session_leave(session, number_of(session), &err), BE_WRONG_USE);
  assert_int_equal(be_session_stop(session, number_of(session), NULL), BE_OK);
  be_session_look(session, &view);
  assert_int_equal(view.step, BE_STEP_ANSWER);
  assert_int_equal(view.suggestion.result, BE_SUGGEST_BOUND);
  const struct be_told held = {.name = {"what"}, .value = {"nothing"}, .count = 1};
  assert_int_equal(be_session_answer(session, view.step_number, &held, NULL), BE_OK);
  be_session_close(session);
  assert_int_equal(only_pull()->kind, BE_KIND_BOUND);
  be_arena_free(arena);
}

/* ---- typed ---- */

static void loads_may_be_typed(void **state)
{
  (void)state;
  struct be_session *session = open_session(NULL, NULL);
  struct be_err err = {0};
  begin(session);
  assert_int_equal(view.step, BE_STEP_ANSWER);
  assert_int_equal(be_session_answer(session, view.step_number, &broke, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "load is missing"));
  const struct be_told typed = {
      .name = {"load", "what", "where"}, .value = {"13.2 lb", "broke", "in the knot"}, .count = 3};
  assert_int_equal(be_session_answer(session, view.step_number, &typed, NULL), BE_OK);
  be_session_close(session);
  assert_near(only_pull()->load_N, 13.2 * 4.4482216152605, 1e-9);
  be_arena_free(arena);
}

static void what_the_book_refuses_is_asked_again(void **state)
{
  (void)state;
  struct be_session *session = open_session(NULL, NULL);
  struct be_err err = {0};
  begin(session);
  const struct be_told odd = {
      .name = {"load", "what"}, .value = {"13.2 lb", "exploded"}, .count = 2};
  assert_int_equal(be_session_answer(session, view.step_number, &odd, &err), BE_BAD_INPUT);
  be_session_look(session, &view);
  assert_int_equal(view.step, BE_STEP_ANSWER);
  const struct be_told typed = {
      .name = {"load", "what"}, .value = {"13.2 lb", "broke"}, .count = 2};
  assert_int_equal(be_session_answer(session, view.step_number, &typed, NULL), BE_OK);
  be_session_close(session);
}

static void an_old_page_changes_nothing(void **state)
{
  (void)state;
  struct be_session *session = open_session(NULL, NULL);
  struct be_err err = {0};
  uint64_t old = number_of(session);
  begin(session);
  assert_int_equal(be_session_choose(session, old, &specimen, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "gone on"));
  assert_int_equal(be_session_guard(session, view.step_number, &err), BE_WRONG_USE);
  assert_int_equal(be_session_answer(session, old, &broke, &err), BE_WRONG_USE);
  be_session_close(session);
}

static void what_is_told_is_one_line_each(void **state)
{
  (void)state;
  struct be_session *session = open_session(NULL, NULL);
  struct be_err err = {0};
  static char long_code[100];
  memset(long_code, 'K', sizeof long_code - 1);
  const struct be_told none = {.name = {"knot"}, .value = {"palomar"}, .count = 1};
  const struct be_told lines = {
      .name = {"specimen", "note"}, .value = {"K1", "two\nlines"}, .count = 2};
  const struct be_told too_long = {.name = {"specimen"}, .value = {long_code}, .count = 1};
  const struct be_told *const odd[] = {&none, &lines, &too_long};
  for (size_t i = 0; i < 3; i++)
    assert_int_equal(be_session_choose(session, number_of(session), odd[i], &err), BE_BAD_INPUT);
  assert_int_equal(view.step, BE_STEP_CHOOSE);
  be_session_close(session);
}

static void a_specimen_may_be_left(void **state)
{
  (void)state;
  struct be_session *session = open_session(NULL, NULL);
  assert_int_equal(be_session_choose(session, number_of(session), &specimen, NULL), BE_OK);
  assert_int_equal(be_session_leave(session, number_of(session), NULL), BE_OK);
  be_session_look(session, &view);
  assert_int_equal(view.step, BE_STEP_CHOOSE);
  assert_string_equal(view.specimen, "");
  be_session_close(session);
}

/* ---- what goes wrong ---- */

static void a_pull_that_the_program_did_not_outlive_is_there(void **state)
{
  (void)state;
  pull_and_die(9, false); /* five seconds into the pull */
  struct be_session *session = open_session(NULL, NULL);
  be_session_look(session, &view);
  assert_int_equal(view.step, BE_STEP_ANSWER);
  assert_true(view.interrupted && !view.finished);
  assert_string_equal(view.specimen, "K7Q4");
  assert_true(view.suggested);
  assert_true(view.suggested_N > 20 && view.suggested_N < 61);
  const struct be_told held = {
      .name = {"what", "result"}, .value = {"nothing", "lower bound"}, .count = 2};
  assert_int_equal(be_session_answer(session, view.step_number, &held, NULL), BE_OK);
  be_session_close(session);
  const struct be_pull *pull = only_pull();
  assert_int_equal(pull->kind, BE_KIND_BOUND);
  assert_near(pull->load_N, view.suggested_N, 1e-6);
  be_arena_free(arena);
}

static void one_that_was_over_and_not_answered_is_there_whole(void **state)
{
  (void)state;
  pull_and_die(30, false);
  struct be_session *session = open_session(PULL, NULL);
  be_session_look(session, &view);
  assert_true(view.interrupted && view.finished);
  assert_near(view.suggested_N, 61.7, 0.8);
  assert_int_equal(be_session_answer(session, view.step_number, &broke, NULL), BE_OK);
  be_session_close(session);
  assert_near(only_pull()->load_N, 61.7, 0.8);
  be_arena_free(arena);
}

static void one_that_was_answered_is_in_the_book_once(void **state)
{
  (void)state;
  pull_and_die(30, true);
  struct be_session *session = open_session(NULL, NULL);
  be_session_look(session, &view);
  assert_int_equal(view.step, BE_STEP_CHOOSE);
  be_session_close(session);
  only_pull();
  be_arena_free(arena);
}

static void a_session_is_had_by_one_program(void **state)
{
  (void)state;
  struct be_session *first = open_session(NULL, NULL), *second = NULL;
  struct be_err err = {0};
  const struct be_session_options options = {.book_path = book};
  assert_int_equal(be_session_open(&options, NULL, &second, &err), BE_FAILED);
  assert_null(second);
  be_session_close(first);
}

static void a_full_disk_keeps_the_running_pull(void **state)
{
  (void)state;
  struct rlimit before;
  signal(SIGXFSZ, SIG_IGN);
  getrlimit(RLIMIT_FSIZE, &before);
  struct be_session *session = open_session(PULL, NULL);
  begin(session);
  go_on(session, BE_STEP_ANSWER, 7);
  struct rlimit full = {be_file_size(journal) + 100, before.rlim_max};
  setrlimit(RLIMIT_FSIZE, &full);
  bool over = go_on(session, BE_STEP_ANSWER, 30);
  char words[BE_SESSION_TROUBLE];
  bool waits = be_session_waits(session, words);
  struct be_err err = {0};
  enum be_status refused = be_session_answer(session, view.step_number, &broke, &err);
  setrlimit(RLIMIT_FSIZE, &before);
  assert_true(over);
  const char *trouble = strstr(view.trouble, "cannot write the journal");
  assert_non_null(trouble);
  assert_null(strstr(trouble + 1, "cannot write the journal")); /* said once */
  assert_true(waits);
  assert_non_null(strstr(words, "The rest is in memory alone"));
  assert_near(view.suggested_N, 61.7, 0.8);
  assert_int_equal(refused, BE_FAILED);
  assert_int_equal(be_session_answer(session, number_of(session), &broke, NULL), BE_OK);
  be_session_close(session);
  assert_near(only_pull()->load_N, 61.7, 0.8);
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      alone(a_pull_from_the_rig_goes_into_the_book),
      alone(slips_are_told_to_who_comes_later),
      alone(what_found_no_room_is_said),
      alone(silence_is_said_once_it_is_seen),
      alone(the_zero_is_told),
      alone(an_answer_may_be_given_again),
      alone(one_that_is_let_down_is_stopped_by_a_person),
      alone(loads_may_be_typed),
      alone(what_the_book_refuses_is_asked_again),
      alone(an_old_page_changes_nothing),
      alone(what_is_told_is_one_line_each),
      alone(a_specimen_may_be_left),
      alone(a_pull_that_the_program_did_not_outlive_is_there),
      alone(one_that_was_over_and_not_answered_is_there_whole),
      alone(one_that_was_answered_is_in_the_book_once),
      alone(a_session_is_had_by_one_program),
      alone(a_full_disk_keeps_the_running_pull),
  };
  return be_tests("app: live", tests);
}
