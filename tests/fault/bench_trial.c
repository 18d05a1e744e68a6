/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#define _DEFAULT_SOURCE
#include "fault/bench_trial.h"

#include "test.h"

#include <signal.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

static const struct be_told specimen = {.name = {"specimen", "knot", "line A", "soak"},
                                        .value = {"K7Q4", "palomar", "nylon 12 lb", "dry"},
                                        .count = 4};
static const struct be_told broke = {
    .name = {"what", "where"}, .value = {"broke", "in the knot"}, .count = 2};
static const struct be_told broke_typed = {
    .name = {"load", "what", "where"}, .value = {"12.9 lb", "broke", "in the knot"}, .count = 3};

/* Of so few no trace may come. */
enum { RUNS_FEW = 4 };

/* ---- a folder with a book ---- */

static void remove_files(struct bench_trial *trial)
{
  char beside[128];
  snprintf(beside, sizeof beside, "%s-journal", trial->book);
  unlink(beside);
  snprintf(beside, sizeof beside, "%s.pages", trial->book);
  unlink(beside); /* a page that took long was kept */
  unlink(trial->journal);
  unlink(trial->book);
}

void bench_stop(struct bench_trial *trial)
{
  failing_calls = (struct failing_calls){.at = 0};
  remove_files(trial);
  be_buf_free(&trial->empty_book);
  be_buf_free(&trial->whole);
  munmap(trial->said, sizeof *trial->said);
  assert_int_equal(rmdir(trial->folder), 0);
}

void bench_restore(struct bench_trial *trial)
{
  failing_calls = (struct failing_calls){.at = 0};
  remove_files(trial);
  assert_int_equal(be_file_write(trial->book, trial->empty_book.data, trial->empty_book.size, NULL),
                   BE_OK);
  *trial->said = (struct said){0};
}

/* ---- a pull ---- */

struct be_session *bench_open(struct bench_trial *trial, bool rig, struct be_err *err)
{
  const struct be_rig_options told = {.source = &told_rig,
                                      .source_settings = "",
                                      .frames = "timed-s",
                                      .frame_settings = "unit=N",
                                      .clock = &told_clock,
                                      .samples_room = 1024,
                                      .bytes_room = 64 * 1024};
  const struct be_session_options options = {
      .book_path = trial->book, .rig = rig ? &told : NULL, .session = "2026-11-02", .held = true};
  struct be_session *session = NULL;
  told_reset();
  told_time(trial->pull.at_ns[0]);
  be_session_open(&options, NULL, &session, err);
  return session;
}

void bench_close(struct be_session *session)
{
  told_release();
  be_session_close(session);
}

static uint64_t number_of(struct be_session *session)
{
  static struct be_session_view view;
  be_session_look(session, &view);
  return view.step_number;
}

enum be_status bench_answer(struct bench_trial *trial, struct be_session *session)
{
  enum be_status status = be_session_answer(session, number_of(session), &broke, NULL);
  if (status == BE_FAILED) status = be_session_answer(session, number_of(session), &broke, NULL);
  if (status == BE_OK) trial->said->kept = true;
  return status;
}

static void hand_run(struct bench_trial *trial, size_t run)
{
  const struct told_pull *pull = &trial->pull;
  told_time(pull->at_ns[run]);
  told_hand(pull->bytes + pull->from[run], pull->from[run + 1] - pull->from[run]);
}

/* Dying by the number of samples: in the middle of what the session does with a run. */
static size_t samples_before(const struct told_pull *pull, size_t run)
{
  size_t count = 0;
  for (size_t i = 0; i < pull->from[run]; i++) count += pull->bytes[i] == '\n';
  return count;
}

static enum be_status pull_on(struct bench_trial *trial, struct be_session *session)
{
  static struct be_session_view view;
  enum be_status status = be_session_guard(session, number_of(session), NULL);
  if (status != BE_OK) status = be_session_guard(session, number_of(session), NULL);
  if (status != BE_OK) return status;
  trial->said->began = true;
  for (size_t run = 0; run < trial->pull.count; run++) {
    if (trial->die_after && samples_before(&trial->pull, run + 1) >= trial->die_after) {
      hand_run(trial, run);
      kill(getpid(), SIGKILL);
    }
    hand_run(trial, run);
    be_session_tick(session);
    be_session_look(session, &view);
    trial->said->runs = run + 1 + trial->boast;
    if (view.step != BE_STEP_PULL) break;
  }
  return view.step == BE_STEP_ANSWER ? trial->answer(trial, session) : BE_NO;
}

enum be_status bench_pull(struct bench_trial *trial)
{
  struct be_err err = {0};
  struct be_session *session = bench_open(trial, true, &err);
  if (!session) session = bench_open(trial, true, &err);
  if (!session) return err.status;
  enum be_status status = be_session_choose(session, number_of(session), &specimen, &err);
  if (status == BE_OK) status = pull_on(trial, session);
  bench_close(session);
  return status;
}

/* ---- in a process of its own ---- */

static bool run_apart(struct bench_trial *trial, const struct failing_calls *calls, bool again)
{
  pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    failing_calls = *calls;
    enum be_status status = BE_OK;
    if (again) bench_close(bench_open(trial, false, NULL));
    else status = bench_pull(trial);
    trial->said->ended = true;
    trial->said->calls = failing_calls.calls[calls->kind];
    trial->said->failed = failing_calls.failed;
    _exit(status == BE_OK ? 0 : 1);
  }
  int how = 0;
  assert_int_equal(waitpid(child, &how, 0), child);
  assert_true(WIFEXITED(how) || WTERMSIG(how) == SIGKILL);
  bool ended = WIFEXITED(how) && WEXITSTATUS(how) == 0;
  if (again && ended) trial->said->kept = true;
  return ended;
}

bool bench_run(struct bench_trial *trial, const struct failing_calls *calls)
{
  bench_restore(trial);
  return run_apart(trial, calls, false);
}

bool bench_run_again(struct bench_trial *trial, const struct failing_calls *calls)
{
  return run_apart(trial, calls, true);
}

/* ---- its beginning and end ---- */

static void keep_whole(struct bench_trial *trial)
{
  const struct failing_calls none = {.kind = CALL_ANY};
  struct be_book *book = NULL;
  struct be_record record;
  struct be_arena *arena = be_arena_create();
  be_buf_init(&trial->whole, 1024 * 1024);
  assert_true(bench_run(trial, &none));
  assert_int_equal(be_book_open(trial->book, false, &book, NULL), BE_OK);
  assert_int_equal(be_book_read(book, arena, &record, NULL), BE_OK);
  assert_int_equal(record.pulls_count, 1);
  assert_near(record.pulls[0].load_N, 61.7, 0.75);
  assert_int_equal(be_book_file(book, record.pulls[0].trace, &trial->whole, NULL), BE_OK);
  be_book_close(book);
  be_arena_free(arena);
}

void bench_start(struct bench_trial *trial, uint64_t seed)
{
  memset(trial, 0, sizeof *trial);
  strcpy(trial->folder, "/tmp/be-lost-XXXXXX");
  assert_non_null(mkdtemp(trial->folder));
  snprintf(trial->book, sizeof trial->book, "%s/evening.book", trial->folder);
  snprintf(trial->journal, sizeof trial->journal, "%s.live", trial->book);
  trial->said =
      mmap(NULL, sizeof *trial->said, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  assert_true(trial->said != MAP_FAILED);
  trial->answer = bench_answer;
  told_pull_make(&trial->pull, seed);
  failing_calls = (struct failing_calls){.at = 0};
  assert_int_equal(be_book_create(trial->book, NULL), BE_OK);
  be_buf_init(&trial->empty_book, 8 * 1024 * 1024);
  assert_int_equal(be_file_read(trial->book, &trial->empty_book, NULL), BE_OK);
  keep_whole(trial);
}

/* ---- what is there ---- */

struct reading {
  const struct told_pull *pull;
  struct held *held;
};

static enum be_status see(void *reading_, unsigned kind, const char *bytes, size_t size,
                          struct be_err *err)
{
  (void)err;
  struct reading *reading = reading_;
  struct held *held = reading->held;
  const struct told_pull *pull = reading->pull;
  held->begun = held->begun || kind == BE_LIVE_BEGIN;
  held->over = held->over || kind == BE_LIVE_WINDOW;
  held->answered = held->answered || kind == BE_LIVE_ANSWER;
  if (kind != BE_LIVE_CHUNK || bytes[0] != BE_CHUNK_BYTES) return BE_OK;
  int64_t at_ns = 0;
  for (int i = 8; i > 0; i--) at_ns = (int64_t)((uint64_t)at_ns << 8 | (unsigned char)bytes[i]);
  size_t run = held->runs++, from = run < pull->count ? pull->from[run] : 0;
  held->right = held->right && run < pull->count && size - 9 == pull->from[run + 1] - from &&
                at_ns == pull->at_ns[run] && memcmp(bytes + 9, pull->bytes + from, size - 9) == 0;
  return BE_OK;
}

void bench_held(struct bench_trial *trial, struct held *held)
{
  struct be_journal *journal;
  struct reading reading = {&trial->pull, held};
  *held = (struct held){.right = true};
  if (!be_file_exists(trial->journal)) return;
  held->right =
      be_journal_open(trial->journal, see, &reading, &journal, NULL) == BE_OK && held->right;
  be_journal_close(journal);
}

/* ---- judgement ---- */

/* Each whole frame of the first runs but the first, which a line that is taken up in its middle
 * gives up, stands in the trace as it came. */
static const char *judge_trace(const struct bench_trial *trial, const char *trace, size_t runs)
{
  const char *at = trial->pull.bytes, *end = at + trial->pull.from[runs];
  size_t frames = 0;
  for (const char *stop; at < end && (stop = memchr(at, '\r', (size_t)(end - at))); at = stop + 2) {
    char quoted[80];
    snprintf(quoted, sizeof quoted, ",\"%.*s\"", (int)(stop - at), at);
    const char *row = strstr(trace, quoted);
    if (!row && frames > 0) return "a sample is missing in the book";
    if (row) trace = row + 1;
    frames++;
  }
  const char *rest = strchr(trace, '\n');
  return rest && strstr(rest, ",\"") ? "the book has a sample that was not sent" : NULL;
}

/* The trace is that of the whole pull, or of its first runs. */
static const char *judge_bytes(const struct bench_trial *trial, const struct held *held,
                               const struct be_buf *trace)
{
  const struct be_buf *whole = &trial->whole;
  if (!held->over && !trial->said->kept) return judge_trace(trial, trace->data, held->runs);
  if (whole->size == trace->size && memcmp(whole->data, trace->data, trace->size) == 0) return NULL;
  return "the trace is not that of the whole pull";
}

/* The book holds the pull so many times, with its trace where one is asked of it. */
static const char *judge_book(struct bench_trial *trial, size_t pulls, bool traced,
                              const struct held *held)
{
  struct be_book *book = NULL;
  struct be_record record;
  struct be_book_check checked;
  struct be_buf trace;
  const char *fault = NULL;
  /* To enter all again takes as long as all else: where the entering was cut short, and of the
   * others each fifth. */
  bool checks = (held->answered && !trial->said->kept) || trial->tries++ % 5 == 0;
  struct be_arena *arena = be_arena_create();
  be_buf_init(&trace, 1024 * 1024);
  if (be_book_open(trial->book, true, &book, NULL) != BE_OK ||
      be_book_read(book, arena, &record, NULL) != BE_OK)
    fault = "the book cannot be read";
  else if (record.pulls_count > pulls) fault = "the pull was entered twice";
  else if (record.pulls_count < pulls) fault = "the pull is not in the book";
  else if (checks && be_book_check(book, &checked, NULL) != BE_OK) fault = "the book is not sound";
  else if (traced && be_book_file(book, record.pulls[0].trace, &trace, NULL) != BE_OK)
    fault = "the pull has no trace";
  else if (traced) fault = judge_bytes(trial, held, &trace);
  be_buf_free(&trace);
  be_book_close(book);
  be_arena_free(arena);
  return fault;
}

static const char *judge_held(const struct bench_trial *trial, const struct held *held)
{
  const struct said *said = trial->said;
  if (!held->right) return "the journal holds what was not sent, or not in its order";
  if (said->began && !said->kept && !held->answered && !held->begun) return "a pull is lost";
  if (held->begun && !said->kept && held->runs < said->runs && !held->answered)
    return "samples are lost";
  if (held->runs > said->runs + 1) return "it tells of fewer samples than it has";
  return NULL;
}

/* At the step that is right for what the journal held; and the answer is taken. */
static const char *judge_session(const struct bench_trial *trial, const struct held *held,
                                 struct be_session *session)
{
  static struct be_session_view view;
  be_session_look(session, &view);
  bool kept = trial->said->kept || held->answered;
  if (kept || !held->begun) {
    if (kept && view.step != BE_STEP_CHOOSE) return "said kept, but it is asked again";
    return view.step == BE_STEP_CHOOSE ? NULL : "there is a pull that never began";
  }
  if (view.step != BE_STEP_ANSWER) return "a pull that began is not asked for";
  if (!view.interrupted) return "an interrupted pull is not called so";
  if (strcmp(view.specimen, "K7Q4") != 0) return "the specimen is not known any more";
  enum be_status status = be_session_answer(session, view.step_number, &broke, NULL);
  if (status == BE_BAD_INPUT &&
      held->runs < RUNS_FEW) /* no whole frame came: a load may be typed */
    status = be_session_answer(session, view.step_number, &broke_typed, NULL);
  return status == BE_OK ? NULL : "an interrupted pull cannot be answered";
}

const char *bench_judge(struct bench_trial *trial)
{
  struct held held;
  failing_calls = (struct failing_calls){.at = 0};
  bench_held(trial, &held);
  const char *fault = judge_held(trial, &held);
  if (fault) return fault;
  struct be_session *session = bench_open(trial, false, NULL);
  if (!session) return "the bench cannot be opened again";
  fault = judge_session(trial, &held, session);
  bench_close(session);
  if (fault) return fault;
  if (be_file_exists(trial->journal)) return "the journal is left behind";
  bool there = trial->said->kept || held.begun;
  bool traced = there && (trial->said->kept || held.runs >= RUNS_FEW);
  return judge_book(trial, there, traced, &held);
}
