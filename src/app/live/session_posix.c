/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The session's thread: sixty times a second, as often as a screen shows anything, it takes what
 * waits in the rings, and says what is new. The rig's own thread never waits for it, nor for a book
 * or a disk. */
#define _POSIX_C_SOURCE 200809L
#include "app/live/session.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { TICKS_A_SECOND = 60, SAMPLES_AT_ONCE = 4096 };
static const double quiet_s = 1;
/* Of the 0.25 s in which all that came is to be settled, most is left to the disk. */
static const int64_t settle_every_ns = 60 * 1000000;

/* ---- points of the chart ---- */

/* Two by two, so that a pull of any length keeps its lows and highs. */
static void halve_points(struct be_session *s)
{
  for (size_t i = 0; i < BE_SESSION_POINTS / 2; i++) {
    const struct be_session_point *a = &s->points[2 * i], *b = a + 1;
    s->points[i] = (struct be_session_point){.time_s = b->time_s,
                                             .low_N = fminf(a->low_N, b->low_N),
                                             .high_N = fmaxf(a->high_N, b->high_N)};
  }
  s->points_count = BE_SESSION_POINTS / 2;
  s->points_each *= 2;
  s->in_point = 0;
}

/* While a specimen is on the rig; the time before a pull is kept to five seconds. */
static void add_point(struct be_session *s)
{
  enum { BEFORE = 5 * TICKS_A_SECOND };
  if (s->step != BE_STEP_PULL || !s->moved) return;
  if (s->points_count == BE_SESSION_POINTS) halve_points(s);
  if (s->in_point == 0) {
    bool waits = isnan(s->live.peak_N) && s->points_count >= BEFORE;
    if (waits) memmove(s->points, s->points + 1, --s->points_count * sizeof *s->points);
    s->points[s->points_count++] =
        (struct be_session_point){.low_N = s->low_N, .high_N = s->high_N};
  }
  struct be_session_point *point = &s->points[s->points_count - 1];
  point->time_s = s->live.last_s;
  point->low_N = fminf(point->low_N, s->low_N);
  point->high_N = fmaxf(point->high_N, s->high_N);
  s->in_point = (s->in_point + 1) % s->points_each;
}

/* ---- one tick ---- */

static void take_chunks(struct be_session *s)
{
  struct be_rig_chunk chunk;
  char bytes[BE_CHUNK_BYTES_MAX];
  struct be_err err = {0};
  while (be_rig_take_chunk(s->rig, &chunk, bytes)) {
    if (s->step != BE_STEP_PULL) continue;
    if (be_chunk_keep(&s->kept, &chunk, bytes, &err) != BE_OK) s->lost++;
    s->unsettled = true;
  }
}

/* The mean slope of the last third of a second. */
static void take_rate(struct be_session *s)
{
  double now_s = s->live.last_s, span_s = now_s - s->rate_from_s;
  if (!(span_s < 0.33)) {
    s->rate_N_s = span_s < 1 ? (s->live.load_N - s->rate_from_N) / span_s : NAN;
    s->rate_from_s = now_s;
    s->rate_from_N = s->live.load_N;
  }
}

static void take_sample(struct be_session *s, const struct be_rig_sample *sample)
{
  bool over = (sample->flags & BE_SAMPLE_OVER) != 0;
  s->unusable = !over && isnan(sample->force_N);
  if (s->unusable) return;
  be_live_take(&s->live, (double)(sample->host_ns - s->base_ns) * 1e-9,
               over ? INFINITY : sample->force_N);
  if (isnan(s->live.load_N) || over) return;
  float load = (float)s->live.load_N;
  s->low_N = s->moved ? fminf(s->low_N, load) : load;
  s->high_N = s->moved ? fmaxf(s->high_N, load) : load;
  s->moved = true;
}

static void take_samples(struct be_session *s)
{
  static _Thread_local struct be_rig_sample samples[SAMPLES_AT_ONCE];
  for (size_t count; (count = be_rig_take_samples(s->rig, samples, SAMPLES_AT_ONCE)) > 0;) {
    be_reckon(&s->reckoning, samples, count);
    for (size_t i = 0; i < count; i++) take_sample(s, &samples[i]);
  }
}

/* What waits in memory is tried again; false when there is nothing to settle. */
static bool prepare_settling(struct be_session *s)
{
  if (!s->unsettled && s->kept.failed.status == BE_OK) return false;
  be_kept_retry(&s->kept);
  s->unsettled = false;
  return true;
}

static void settled(struct be_session *s, const struct be_err *unsafe)
{
  s->unsafe = *unsafe;
  if (unsafe->status != BE_OK) s->unsettled = true;
}

/* By the ticks, where the session has no thread that does it. */
static void settle(struct be_session *s, int64_t now_ns)
{
  struct be_err unsafe = {0};
  if (now_ns - s->settled_ns < settle_every_ns || !prepare_settling(s)) return;
  be_journal_settle(s->kept.journal, &unsafe);
  settled(s, &unsafe);
  s->settled_ns = now_ns;
}

static void take_slip(struct be_session *s)
{
  size_t seen = s->slips_seen;
  s->slips_seen = s->live.slips;
  if (s->step != BE_STEP_PULL) return;
  if (s->live.slips < seen) s->slips_count = s->slips_told = 0; /* that was no pull */
  if (s->live.slips > seen && s->slips_count < BE_SESSION_SLIPS)
    s->slips[s->slips_count++] = (struct be_session_slip){s->live.slip_s, s->live.slip_N};
}

/* When something is new, and now and then, so that a page knows that nothing is. */
static void say_load(struct be_session *s)
{
  double now_s = be_clock_s();
  char words[BE_SESSION_TROUBLE];
  if (!s->news) return;
  be_trouble_words(s, words);
  bool new = s->moved || s->live.phase != s->phase_told || strcmp(words, s->told) != 0;
  if (!new &&now_s - s->told_s < quiet_s) return;
  memcpy(s->told, words, sizeof words);
  struct be_buf data;
  be_buf_init(&data, 4096);
  be_write_load(s, &data);
  if (data.status == BE_OK) be_news_say(s->news, "load", data.data);
  be_buf_free(&data);
  s->phase_told = s->live.phase;
  s->slips_told = s->slips_count;
  s->told_s = now_s;
}

/* Samples before chunks: what was seen of the load is always in the chunks that were taken. */
static void tick(struct be_session *s)
{
  s->moved = false;
  take_samples(s);
  take_chunks(s);
  be_rig_count(s->rig, &s->counts);
  int64_t now_ns = s->clock->now_ns(s->clock->host);
  be_live_tick(&s->live, (double)(now_ns - s->base_ns) * 1e-9);
  take_rate(s);
  take_slip(s);
  add_point(s);
  if (s->held) settle(s, now_ns);
  if (s->step == BE_STEP_PULL && s->live.phase == BE_LIVE_DONE) be_do_done(s);
  if (s->step != BE_STEP_PULL && s->live.phase == BE_LIVE_DONE) be_live_next(&s->live);
  say_load(s);
}

static struct timespec later(struct timespec moment, long ns)
{
  moment.tv_nsec += ns;
  moment.tv_sec += moment.tv_nsec / 1000000000;
  moment.tv_nsec %= 1000000000;
  return moment;
}

/* Until that moment, or the end of the session. */
static void wait_until(struct be_session *s, const struct timespec *moment)
{
  while (!s->ending && pthread_cond_timedwait(&s->wake, &s->lock, moment) == 0) continue;
}

/* A disk may take a tenth of a second: it is waited for by a thread of its own, without the lock.
 */
static void *run_settling(void *session)
{
  struct be_session *s = session;
  pthread_mutex_lock(&s->lock);
  while (!s->ending) {
    struct be_err unsafe = {0};
    struct timespec now;
    if (prepare_settling(s)) {
      pthread_mutex_unlock(&s->lock);
      be_journal_settle(s->kept.journal, &unsafe);
      pthread_mutex_lock(&s->lock);
      settled(s, &unsafe);
    }
    clock_gettime(CLOCK_MONOTONIC, &now);
    const struct timespec next = later(now, settle_every_ns);
    wait_until(s, &next);
  }
  pthread_mutex_unlock(&s->lock);
  return NULL;
}

static void *run(void *session)
{
  struct be_session *s = session;
  struct timespec next;
  clock_gettime(CLOCK_MONOTONIC, &next);
  pthread_mutex_lock(&s->lock);
  while (!s->ending) {
    tick(s);
    next = later(next, 1000000000 / TICKS_A_SECOND);
    wait_until(s, &next);
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    if (now.tv_sec > next.tv_sec + 1) next = now; /* the machine slept: no ticks to catch up with */
  }
  take_chunks(s); /* all that came until now */
  pthread_mutex_unlock(&s->lock);
  return NULL;
}

/* ---- opening and closing ---- */

static char *copy(const char *text)
{
  char *to = text ? be_alloc_array(1, strlen(text) + 1) : NULL;
  return to ? strcpy(to, text) : NULL;
}

static enum be_status copy_texts(struct be_session *s, const struct be_session_options *options,
                                 struct be_err *err)
{
  const struct be_rig_options *rig = options->rig;
  s->book_path = copy(options->book_path);
  s->session = copy(options->session);
  s->bench = copy(options->bench);
  if (options->reckoning) s->reckoning = *options->reckoning;
  bool whole = s->book_path && (s->session || !options->session) && (s->bench || !options->bench);
  if (rig) {
    s->frames = copy(rig->frames);
    s->frame_settings = copy(rig->frame_settings ? rig->frame_settings : "");
    whole = whole && s->frames && s->frame_settings;
  }
  return whole ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for the session");
}

static void end_thread(struct be_session *s, pthread_t thread)
{
  pthread_mutex_lock(&s->lock);
  s->ending = true;
  pthread_cond_broadcast(&s->wake);
  pthread_mutex_unlock(&s->lock);
  pthread_join(thread, NULL);
}

static enum be_status start_threads(struct be_session *s, struct be_err *err)
{
  bool settles = pthread_create(&s->settling, NULL, run_settling, s) == 0;
  if (settles && pthread_create(&s->thread, NULL, run, s) == 0) return BE_OK;
  if (settles) end_thread(s, s->settling);
  be_rig_stop(s->rig);
  s->rig = NULL;
  return be_fail(err, BE_FAILED, "the thread of the session cannot be started");
}

enum be_status be_session_open(const struct be_session_options *options, struct be_news *news,
                               struct be_session **session, struct be_err *err)
{
  *session = NULL;
  struct be_session *s = be_alloc_array(1, sizeof *s);
  if (!s) return be_fail(err, BE_NO_MEMORY, "no memory for the session");
  size_t room = sizeof s->journal_path;
  if (snprintf(s->journal_path, room, "%s.live", options->book_path) >= (int)room) {
    be_free(s);
    return be_fail(err, BE_WRONG_USE, "the name of the book is too long");
  }
  pthread_condattr_t monotonic;
  pthread_condattr_init(&monotonic);
  pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
  pthread_mutex_init(&s->lock, NULL);
  pthread_cond_init(&s->wake, &monotonic);
  pthread_condattr_destroy(&monotonic);
  s->news = news;
  s->held = options->held;
  s->step_number = options->after;
  if (options->evening) s->evening = *options->evening;
  s->points_each = 1;
  s->rate_N_s = s->rate_from_s = NAN;
  s->clock = options->rig && options->rig->clock ? options->rig->clock : &be_rig_clock_system;
  s->base_ns = s->clock->now_ns(s->clock->host);
  be_buf_init(&s->kept.spare, 256 * 1024 * 1024);
  be_live_start(&s->live, &options->live);
  enum be_status status = copy_texts(s, options, err);
  if (status == BE_OK) status = be_session_take_up(s, err);
  if (status == BE_OK && options->rig) status = be_rig_start(options->rig, &s->rig, err);
  if (status == BE_OK && options->after) be_step_to(s, s->step);
  if (status == BE_OK && s->rig && !s->held) status = start_threads(s, err);
  if (status == BE_OK) *session = s;
  else be_session_close(s);
  return status;
}

void be_session_close(struct be_session *s)
{
  if (!s) return;
  if (s->rig) {
    if (s->held) take_chunks(s);
    else {
      end_thread(s, s->thread);
      end_thread(s, s->settling);
    }
    be_rig_stop(s->rig);
    be_kept_retry(&s->kept);
    be_journal_settle(s->kept.journal, NULL);
  }
  bool empty = s->kept.journal && (s->step == BE_STEP_CHOOSE || s->step == BE_STEP_GUARD);
  if (empty) be_file_remove(s->journal_path, NULL); /* under its lock, so that it is ours */
  be_journal_close(s->kept.journal);
  be_buf_free(&s->kept.spare);
  be_free(s->book_path);
  be_free(s->session);
  be_free(s->bench);
  be_free(s->frames);
  be_free(s->frame_settings);
  pthread_cond_destroy(&s->wake);
  pthread_mutex_destroy(&s->lock);
  be_free(s);
}

/* ---- asked and told, under the lock ---- */

void be_session_look(struct be_session *s, struct be_session_view *view)
{
  pthread_mutex_lock(&s->lock);
  const char *code = be_told_value(&s->specimen.told, "specimen");
  const char *last = be_told_value(&s->last.told, "specimen");
  *view = (struct be_session_view){.step = s->step,
                                   .step_number = s->step_number,
                                   .rig = s->rig,
                                   .rig_state = s->counts.state,
                                   .phase = s->live.phase,
                                   .load_N = s->live.load_N,
                                   .peak_N = s->live.peak_N,
                                   .zero_N = s->live.zero_N,
                                   .rate_N_s = s->rate_N_s,
                                   .over = s->live.over,
                                   .silences = s->live.silences,
                                   .touches = s->live.touches,
                                   .unusable = s->unusable,
                                   .interrupted = s->interrupted,
                                   .finished = s->finished,
                                   .may_leave = be_may_leave(s),
                                   .gaps = s->gaps,
                                   .suggested = s->suggested,
                                   .suggestion = s->suggestion,
                                   .suggested_N = s->suggested_N,
                                   .points_count = s->points_count};
  memcpy(view->points, s->points, s->points_count * sizeof *s->points);
  snprintf(view->specimen, sizeof view->specimen, "%s", code ? code : "");
  view->evening = s->evening;
  snprintf(view->last, sizeof view->last, "%s", last ? last : "");
  struct be_buf told;
  be_buf_init(&told, sizeof view->told - 1);
  be_told_write(&s->specimen.told, &told);
  snprintf(view->told, sizeof view->told, "%s", told.status == BE_OK && told.size ? told.data : "");
  be_buf_free(&told);
  if (s->rig && s->reckoning.known)
    snprintf(view->calibration, sizeof view->calibration, "%s", s->reckoning.by.name);
  be_trouble_words(s, view->trouble);
  pthread_mutex_unlock(&s->lock);
}

void be_session_tick(struct be_session *s)
{
  pthread_mutex_lock(&s->lock);
  tick(s);
  pthread_mutex_unlock(&s->lock);
}

bool be_session_waits(struct be_session *s, char words[BE_SESSION_TROUBLE])
{
  pthread_mutex_lock(&s->lock);
  const char *code = be_told_value(&s->specimen.told, "specimen");
  bool waits = s->step == BE_STEP_PULL || s->step == BE_STEP_ANSWER;
  if (waits)
    snprintf(words, BE_SESSION_TROUBLE,
             "The pull of %.100s is not in the book yet: %s kept in %.400s, and the bench of "
             "this book asks what let go the next time it is used (`bitterend pull` or `serve`).%s",
             code ? code : "a specimen",
             s->kept.spare.size ? "what the disk took of it is" : "it is", s->journal_path,
             s->kept.spare.size ? " The rest is in memory alone: it is lost if the program ends "
                                  "before there is room on the disk."
                                : "");
  pthread_mutex_unlock(&s->lock);
  return waits;
}

void be_session_tell(struct be_session *s, struct be_buf *events)
{
  struct be_buf data;
  be_buf_init(&data, 1024 * 1024);
  pthread_mutex_lock(&s->lock);
  be_write_step(s, &data);
  pthread_mutex_unlock(&s->lock);
  if (data.status == BE_OK) be_news_event(events, "step", data.data);
  else events->status = data.status;
  be_buf_free(&data);
}

#define UNDER_LOCK(call)                                                                           \
  do {                                                                                             \
    pthread_mutex_lock(&s->lock);                                                                  \
    enum be_status status = call;                                                                  \
    pthread_mutex_unlock(&s->lock);                                                                \
    return status;                                                                                 \
  } while (0)

enum be_status be_session_choose(struct be_session *s, uint64_t number,
                                 const struct be_told *specimen, struct be_err *err)
{
  const char *code = be_told_value(specimen, "specimen");
  if (code && *code && be_live_pulled(s->book_path, code)) {
    be_fail(err, BE_BAD_INPUT, "specimen \"%.80s\" has its result already", code);
    be_fail_remedy(err, "a specimen is pulled once: give the code of this one");
    return BE_BAD_INPUT;
  }
  UNDER_LOCK(be_do_choose(s, number, specimen, err));
}

enum be_status be_session_evening(struct be_session *s, uint64_t number,
                                  const struct be_evening *evening, struct be_err *err)
{
  pthread_mutex_lock(&s->lock);
  enum be_status checked = be_do_evening(s, number, NULL, err);
  pthread_mutex_unlock(&s->lock);
  if (checked == BE_OK) checked = be_evening_check(s->book_path, evening, err);
  if (checked != BE_OK) return checked;
  UNDER_LOCK(be_do_evening(s, number, evening, err));
}

enum be_status be_session_guard(struct be_session *s, uint64_t number, struct be_err *err)
{
  UNDER_LOCK(be_do_guard(s, number, err));
}

enum be_status be_session_stop(struct be_session *s, uint64_t number, struct be_err *err)
{
  UNDER_LOCK(be_do_stop(s, number, err));
}

enum be_status be_session_answer(struct be_session *s, uint64_t number,
                                 const struct be_told *answer, struct be_err *err)
{
  UNDER_LOCK(be_do_answer(s, number, answer, err));
}

enum be_status be_session_leave(struct be_session *s, uint64_t number, struct be_err *err)
{
  UNDER_LOCK(be_do_leave(s, number, err));
}

enum be_status be_session_rests(struct be_session *s, uint64_t *number, struct be_evening *evening,
                                struct be_err *err)
{
  pthread_mutex_lock(&s->lock);
  *number = s->step_number;
  *evening = s->evening;
  bool rests = s->step == BE_STEP_CHOOSE;
  pthread_mutex_unlock(&s->lock);
  if (rests) return BE_OK;
  be_fail(err, BE_WRONG_USE, "a specimen is at the bench, and its pull goes by the rig of now");
  be_fail_remedy(err, "finish it at the bench, or take another specimen there, then try again");
  return BE_WRONG_USE;
}

enum be_status be_session_again(struct be_session *s, const struct be_told *answer,
                                struct be_err *err)
{
  UNDER_LOCK(be_do_again(s, answer, err));
}
