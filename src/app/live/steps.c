/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From step to step: what a person or the load does, what the journal keeps of it, and what the
 * book is given. The lock is held by the callers in session_posix.c. */
#include "app/live/session.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double before_s = 2; /* kept of the time before a pull began */

const char *be_live_step_word(enum be_live_step step)
{
  static const char *const words[] = {
#define X(code, word) [code] = word,
      BE_STEP_LIST(X)
#undef X
  };
  return words[step];
}

bool be_told_keep(struct kept_told *kept, const struct be_told *told)
{
  struct be_buf text;
  be_buf_init(&text, BE_KEPT_TOLD_MAX);
  be_told_write(told, &text);
  bool fits = text.status == BE_OK;
  kept->told.count = 0;
  kept->text[0] = '\0';
  if (fits && text.size > 0) memcpy(kept->text, text.data, text.size + 1);
  be_buf_free(&text);
  return fits && be_told_read(kept->text, &kept->told);
}

static void say_step(struct be_session *s)
{
  if (!s->news) return;
  struct be_buf data;
  be_buf_init(&data, 1024 * 1024);
  be_write_step(s, &data);
  if (data.status == BE_OK) be_news_say(s->news, "step", data.data);
  be_buf_free(&data);
}

void be_step_to(struct be_session *s, enum be_live_step step)
{
  s->step = step;
  s->step_number++;
  say_step(s);
}

static void trouble(struct be_session *s, const struct be_err *err)
{
  snprintf(s->trouble, sizeof s->trouble, "%.300s%s%.90s", err->what, *err->remedy ? ": " : "",
           err->remedy);
}

/* ---- the pull is over ---- */

static void write_ns(char *bytes, int64_t ns)
{
  for (int i = 0; i < 8; i++) bytes[i] = (char)((uint64_t)ns >> 8 * i & 0xFF);
}

static int64_t read_ns(const char *bytes)
{
  uint64_t value = 0;
  for (int i = 0; i < 8; i++) value |= (uint64_t)(unsigned char)bytes[i] << 8 * i;
  return (int64_t)value;
}

static enum be_status make_trace(struct be_session *s, struct be_buf *text,
                                 struct be_captured *captured, struct be_err *err)
{
  return be_capture_text(&s->kept, &s->window, s->pull_frames, s->pull_settings, &s->pull_reckoning,
                         text, captured, err);
}

static enum be_status find_events(const struct be_buf *text, struct be_trace_events *events,
                                  struct be_err *err)
{
  struct be_trace_file *file = NULL;
  const struct be_trace_options options = {.threads = 1, .decimal = '.', .sign = 1};
  enum be_status status = be_trace_read_bytes(text->data, text->size, &options, &file, err);
  if (status == BE_OK) status = be_trace_find(&file->tests[0], events, err);
  be_trace_file_free(file);
  return status;
}

static int64_t ns_of(const struct be_session *s, double time_s)
{
  return s->base_ns + llround(time_s * 1e9);
}

/* What the trace suggests, by the same rules as for any trace. */
static void suggest(struct be_session *s)
{
  struct be_trace_events events;
  struct be_err err = {0};
  struct be_buf text;
  struct be_captured captured;
  be_buf_init(&text, BE_BOOK_FILE_MAX);
  enum be_status status = make_trace(s, &text, &captured, &err);
  s->gaps = captured.gaps;
  s->pulled = captured.pulled;
  if (status == BE_OK) status = find_events(&text, &events, &err);
  s->suggested = status == BE_OK;
  if (s->suggested) {
    s->suggestion = events.suggestion;
    s->suggested_N = events.rise_N;
    if (s->live.over) s->suggestion.result = BE_SUGGEST_BOUND;
  } else {
    trouble(s, &err);
  }
  be_buf_free(&text);
}

void be_pull_over(struct be_session *s, int64_t from_ns, int64_t to_ns)
{
  char window[16];
  s->window = (struct be_window){from_ns, to_ns};
  write_ns(window, from_ns);
  write_ns(window + 8, to_ns);
  struct be_err err = {0};
  bool told = s->kept.failed.status != BE_OK; /* that the disk does not take it */
  if ((be_journal_add(s->kept.journal, BE_LIVE_WINDOW, window, sizeof window, &err) != BE_OK ||
       be_journal_settle(s->kept.journal, &err) != BE_OK) &&
      !told)
    trouble(s, &err);
  suggest(s);
  be_step_to(s, BE_STEP_ANSWER);
}

/* ---- what a person does ---- */

static enum be_status is_at(const struct be_session *s, uint64_t number, enum be_live_step step,
                            struct be_err *err)
{
  if (s->step_number == number && s->step == step) return BE_OK;
  be_fail(err, BE_WRONG_USE, "the bench has gone on: it is at \"%s\" now",
          be_live_step_word(s->step));
  be_fail_remedy(err, "look at the bench again");
  return BE_WRONG_USE;
}

/* On which bench, by which calibration. Another bench than the calibrated rig's would be refused by
 * the book when the pull is over. */
static enum be_status tell_bench(const struct be_session *s, struct be_told *all,
                                 struct be_err *err)
{
  const char *bench = be_told_value(all, "bench");
  enum be_status status = BE_OK;
  if (bench && s->bench && s->reckoning.known && !be_text_same(bench, s->bench)) {
    be_fail(err, BE_BAD_INPUT, "this rig is calibrated as bench \"%.60s\"", s->bench);
    be_fail_remedy(err, "leave the bench out, or serve with the rig of the other one");
    return BE_BAD_INPUT;
  }
  if (!bench && s->bench) status = be_told_set(all, "bench", s->bench, err);
  if (status == BE_OK && s->reckoning.known)
    status = be_told_set(all, "calibration", s->reckoning.by.name, err);
  return status;
}

enum be_status be_do_choose(struct be_session *s, uint64_t number, const struct be_told *specimen,
                            struct be_err *err)
{
  enum be_status status = is_at(s, number, BE_STEP_CHOOSE, err);
  if (status != BE_OK) return status;
  const char *code = be_told_value(specimen, "specimen");
  if (!code || !*code || strlen(code) > 80)
    return be_fail(err, BE_BAD_INPUT, "a specimen needs its code, of 80 bytes at most");
  struct be_told all = *specimen;
  if (s->session && !be_told_value(&all, "session"))
    status = be_told_set(&all, "session", s->session, err);
  if (status == BE_OK) status = tell_bench(s, &all, err);
  if (status == BE_OK) status = be_evening_add(&s->evening, &all, err);
  if (status != BE_OK) return status;
  if (all.count > BE_TOLD_MAX - BE_TOLD_OF_RIG_MAX || !be_told_keep(&s->specimen, &all)) {
    s->specimen.told.count = 0;
    return be_fail(err, BE_BAD_INPUT, "too much is told of this specimen, or a line break");
  }
  s->points_count = s->in_point = s->slips_count = s->slips_told = 0;
  be_step_to(s, BE_STEP_GUARD);
  return BE_OK;
}

enum be_status be_do_evening(struct be_session *s, uint64_t number,
                             const struct be_evening *evening, struct be_err *err)
{
  enum be_status status = is_at(s, number, BE_STEP_CHOOSE, err);
  if (status != BE_OK || !evening) return status;
  char now[32];
  be_now(now);
  s->evening = *evening;
  s->evening.today = true;
  snprintf(s->evening.day, sizeof s->evening.day, "%.10s", now);
  be_step_to(s, BE_STEP_CHOOSE);
  return BE_OK;
}

/* The journal begins; without it no pull begins. */
static enum be_status begin(struct be_session *s, struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, BE_JOURNAL_RECORD_MAX);
  s->pull_frames[0] = s->pull_settings[0] = '\0';
  be_now(s->begun);
  be_buf_format(&text, "begun=%s\n", s->begun);
  if (s->rig) {
    snprintf(s->pull_frames, sizeof s->pull_frames, "%s", s->frames);
    snprintf(s->pull_settings, sizeof s->pull_settings, "%s", s->frame_settings);
    be_buf_format(&text, "frames=%s\nframe settings=%s\n", s->frames, s->frame_settings);
  }
  be_told_write(&s->specimen.told, &text);
  s->pull_reckoning = s->reckoning;
  enum be_status status = be_buf_status(&text, err);
  if (status == BE_OK) status = be_journal_clear(s->kept.journal, err);
  if (status == BE_OK)
    status = be_journal_add(s->kept.journal, BE_LIVE_BEGIN, text.data, text.size, err);
  text.size = 0;
  if (s->reckoning.known) be_calibration_write(&text, &s->reckoning.by);
  if (status == BE_OK) status = be_buf_status(&text, err);
  if (status == BE_OK && text.size)
    status = be_journal_add(s->kept.journal, BE_LIVE_CALIBRATION, text.data, text.size, err);
  if (status == BE_OK) status = be_journal_settle(s->kept.journal, err);
  be_buf_free(&text);
  return status;
}

enum be_status be_do_guard(struct be_session *s, uint64_t number, struct be_err *err)
{
  enum be_status status = is_at(s, number, BE_STEP_GUARD, err);
  if (status == BE_OK) status = begin(s, err);
  if (status != BE_OK) return status;
  s->kept.failed = (struct be_err){0};
  s->kept.spare.size = 0;
  s->points_count = s->in_point = s->slips_count = s->slips_told = 0;
  s->points_each = 1;
  s->suggested = s->interrupted = false;
  s->window = (struct be_window){0};
  s->gaps = 0;
  s->lost = 0;
  s->lost_before = s->counts.chunks_lost;
  s->trouble[0] = '\0';
  be_live_next(&s->live);
  be_step_to(s, s->rig ? BE_STEP_PULL : BE_STEP_ANSWER);
  return BE_OK;
}

enum be_status be_do_stop(struct be_session *s, uint64_t number, struct be_err *err)
{
  enum be_status status = is_at(s, number, BE_STEP_PULL, err);
  if (status != BE_OK) return status;
  if (isnan(s->live.began_s) || isnan(s->live.peak_N))
    return be_fail(err, BE_WRONG_USE, "nothing was pulled yet: leave the specimen instead");
  be_do_done(s);
  return BE_OK;
}

void be_do_done(struct be_session *s)
{
  be_pull_over(s, ns_of(s, s->live.began_s - before_s), ns_of(s, s->live.last_s));
}

static enum be_status try_trace(const struct be_buf *text, struct be_err *err)
{
  struct be_trace_file *file = NULL;
  const struct be_trace_options options = {.threads = 1, .decimal = '.', .sign = 1};
  enum be_status status = be_trace_read_bytes(text->data, text->size, &options, &file, err);
  be_trace_file_free(file);
  return status;
}

struct zeros {
  char before[40], after[40];
};

/* The means of the slack before the pull and of what followed it, where these are flat. */
static enum be_status tell_zeros(const struct be_buf *trace, struct be_told *told,
                                 struct zeros *zeros, struct be_err *err)
{
  struct be_trace_events events;
  enum be_status status = find_events(trace, &events, NULL);
  if (status != BE_OK)
    return status == BE_NO_MEMORY ? be_fail(err, status, "no memory for the pull") : BE_OK;
  snprintf(zeros->before, sizeof zeros->before, "%.9g N", events.zero_N);
  snprintf(zeros->after, sizeof zeros->after, "%.9g N", events.zero_after_N);
  if (!isnan(events.zero_N)) status = be_told_set(told, "zero before", zeros->before, err);
  if (status == BE_OK && !isnan(events.zero_after_N))
    status = be_told_set(told, "zero after", zeros->after, err);
  return status;
}

static enum be_status keep_answer(struct be_session *s, const struct be_told *answer,
                                  struct be_err *err)
{
  struct be_buf text, trace;
  struct be_captured captured;
  be_buf_init(&text, BE_KEPT_TOLD_MAX);
  be_buf_init(&trace, BE_BOOK_FILE_MAX);
  be_told_write(answer, &text);
  enum be_status status = BE_OK;
  if (text.status == BE_TOO_LARGE)
    status = be_fail(err, BE_BAD_INPUT, "too much is told of this pull: %d bytes at most",
                     BE_KEPT_TOLD_MAX);
  else status = be_buf_status(&text, err);
  const char *result = be_told_value(answer, "result");
  bool loaded = be_told_value(answer, "load") || (result && strcmp(result, "void") == 0);
  bool traced = *s->pull_frames && s->window.to_ns > s->window.from_ns;
  struct be_told specimen = s->specimen.told;
  struct zeros zeros;
  if (status == BE_OK && !loaded && !traced)
    status = be_fail(err, BE_BAD_INPUT, "the load is missing: type it with its unit, as 13.2 lb");
  if (status == BE_OK && traced) status = make_trace(s, &trace, &captured, err);
  /* Of a pull cut short before its first loads there is no trace; a load or "void" is enough. */
  if (status == BE_OK && traced && loaded) status = try_trace(&trace, err);
  if (status == BE_BAD_INPUT && traced && loaded) {
    status = BE_OK;
    traced = false;
  }
  if (status == BE_OK && traced) status = tell_zeros(&trace, &specimen, &zeros, err);
  /* First into the journal, so that a book that cannot be had now costs no answer. */
  struct be_err journal = {0};
  if (status == BE_OK) {
    be_journal_add(s->kept.journal, BE_LIVE_ANSWER, text.size ? text.data : "", text.size,
                   &journal);
    be_journal_settle(s->kept.journal, &journal);
    status = be_live_enter(s->book_path, &specimen, answer, traced ? &trace : NULL, s->begun, err);
  }
  be_buf_free(&text);
  be_buf_free(&trace);
  return status;
}

/* The pull is in the book: the journal may forget it. */
static void forget(struct be_session *s, const struct be_told *answer)
{
  struct be_err err = {0};
  const char *code = be_told_value(answer, "specimen");
  if (code) be_told_set(&s->specimen.told, "specimen", code, NULL);
  be_told_keep(&s->last, &s->specimen.told);
  s->specimen.told.count = 0;
  s->suggested = s->interrupted = false;
  s->window = (struct be_window){0};
  s->trouble[0] = '\0';
  if (be_journal_clear(s->kept.journal, &err) != BE_OK) trouble(s, &err);
  be_live_next(&s->live);
  be_step_to(s, BE_STEP_CHOOSE);
}

enum be_status be_do_answer(struct be_session *s, uint64_t number, const struct be_told *answer,
                            struct be_err *err)
{
  enum be_status status = is_at(s, number, BE_STEP_ANSWER, err);
  if (status == BE_OK) status = keep_answer(s, answer, err);
  if (status != BE_OK) return status;
  const char *load = be_told_value(answer, "load");
  snprintf(s->last_load, sizeof s->last_load, "%s", load ? load : "");
  forget(s, answer);
  return BE_OK;
}

bool be_may_leave(const struct be_session *s)
{
  return s->step == BE_STEP_ANSWER && s->interrupted && !s->pulled;
}

enum be_status be_do_leave(struct be_session *s, uint64_t number, struct be_err *err)
{
  bool pulled = s->step == BE_STEP_PULL && !isnan(s->live.peak_N);
  if (s->step != BE_STEP_GUARD && s->step != BE_STEP_PULL && !be_may_leave(s))
    return is_at(s, number, BE_STEP_GUARD, err);
  enum be_status status = is_at(s, number, s->step, err);
  if (status == BE_OK && pulled)
    status =
        be_fail(err, BE_WRONG_USE, "this specimen was pulled: stop, and keep it as it is or void");
  if (status == BE_OK) status = be_journal_clear(s->kept.journal, err);
  if (status != BE_OK) return status;
  s->specimen.told.count = 0;
  s->interrupted = s->suggested = false;
  be_live_next(&s->live);
  be_step_to(s, BE_STEP_CHOOSE);
  return BE_OK;
}

enum be_status be_do_again(struct be_session *s, const struct be_told *answer, struct be_err *err)
{
  const char *code = be_told_value(&s->last.told, "specimen");
  if (!code) return be_fail(err, BE_WRONG_USE, "no pull was kept in this session yet");
  char now[32], why[64];
  be_now(now);
  snprintf(why, sizeof why, "answered again at %s", now);
  struct be_told specimen = {{"specimen", "correction"}, {code, why}, 2};
  if (*s->last_load)
    specimen = (struct be_told){{"specimen", "correction", "load"}, {code, why, s->last_load}, 3};
  return be_live_enter(s->book_path, &specimen, answer, NULL, NULL, err);
}

/* ---- a pull that the program did not outlive ---- */

struct found {
  struct be_session *s;
  struct kept_told answer;
  bool begun, windowed, answered;
  int64_t first_ns, last_ns;
};

static enum be_status see(void *found_, unsigned kind, const char *bytes, size_t size,
                          struct be_err *err)
{
  struct found *found = found_;
  struct kept_told *kept = kind == BE_LIVE_BEGIN ? &found->s->specimen : &found->answer;
  if (kind == BE_LIVE_CHUNK && size >= 9) {
    found->last_ns = read_ns(bytes + 1);
    if (!found->first_ns) found->first_ns = found->last_ns;
  } else if (kind == BE_LIVE_WINDOW && size == 16) {
    found->s->window = (struct be_window){read_ns(bytes), read_ns(bytes + 8)};
    found->windowed = true;
  } else if (kind == BE_LIVE_CALIBRATION) {
    struct be_calibration by;
    enum be_status status = be_calibration_parse(bytes, size, NULL, &by, err);
    return status == BE_OK ? be_reckoning_set(&found->s->pull_reckoning, &by, err) : status;
  } else if ((kind == BE_LIVE_BEGIN || kind == BE_LIVE_ANSWER) && size < sizeof kept->text) {
    memcpy(kept->text, bytes, size);
    kept->text[size] = '\0';
    bool fine = be_told_read(kept->text, &kept->told);
    found->begun = found->begun || (kind == BE_LIVE_BEGIN && fine);
    found->answered = found->answered || (kind == BE_LIVE_ANSWER && fine);
  }
  return BE_OK;
}

static void drop_first(struct be_told *told, size_t count)
{
  told->count -= count;
  memmove(told->name, told->name + count, told->count * sizeof *told->name);
  memmove(told->value, told->value + count, told->count * sizeof *told->value);
}

/* What `begin` put in front of the specimen. The frames of that time, which may not be those of
 * this rig; what is left is the specimen. */
static void take_frames(struct be_session *s)
{
  struct be_told *told = &s->specimen.told;
  const char *begun = told->count && strcmp(told->name[0], "begun") == 0 ? told->value[0] : "";
  snprintf(s->begun, sizeof s->begun, "%s", begun);
  if (*begun) drop_first(told, 1);
  const char *frames = be_told_value(told, "frames");
  const char *settings = be_told_value(told, "frame settings");
  if (!frames || !settings) return;
  snprintf(s->pull_frames, sizeof s->pull_frames, "%s", frames);
  snprintf(s->pull_settings, sizeof s->pull_settings, "%s", settings);
  drop_first(told, 2);
}

enum be_status be_session_take_up(struct be_session *s, struct be_err *err)
{
  struct found found = {.s = s};
  enum be_status status = be_journal_open(s->journal_path, see, &found, &s->kept.journal, err);
  if (status != BE_OK || !found.begun) return status;
  take_frames(s);
  if (!found.windowed) s->window = (struct be_window){found.first_ns, found.last_ns};
  struct be_err why = {0};
  if (found.answered && keep_answer(s, &found.answer.told, &why) == BE_OK) {
    forget(s, &found.answer.told);
    return BE_OK;
  }
  if (found.answered) trouble(s, &why);
  s->interrupted = true;
  s->finished = found.windowed;
  if (s->window.to_ns > s->window.from_ns) suggest(s);
  be_step_to(s, BE_STEP_ANSWER);
  return BE_OK;
}
