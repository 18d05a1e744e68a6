/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is told of a session: JSON for those who listen. docs/formats.md has the names. */
#include "app/live/session.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void number(struct be_buf *data, const char *name, double value)
{
  if (isfinite(value)) be_buf_format(data, ",\"%s\":%.7g", name, value);
  else be_buf_format(data, ",\"%s\":null", name);
}

static void text(struct be_buf *data, const char *name, const char *value)
{
  be_buf_format(data, ",\"%s\":", name);
  be_json_string(data, value);
}

const char *be_phase_words(bool rig, bool unusable, enum be_live_phase phase)
{
  return !rig ? "typed" : unusable ? "the rig sends no unit of force" : be_live_word(phase);
}

/* ---- trouble ---- */

static void add(char words[BE_SESSION_TROUBLE], const char *format, ...) BE_PRINTF(2, 3);
static void add(char words[BE_SESSION_TROUBLE], const char *format, ...)
{
  size_t length = strlen(words);
  va_list list;
  if (length > 0 && length + 2 < BE_SESSION_TROUBLE) strcpy(words + length, ". ");
  length = strlen(words);
  va_start(list, format);
  vsnprintf(words + length, BE_SESSION_TROUBLE - length, format, list);
  va_end(list);
}

static void add_line(const struct be_session *s, char words[BE_SESSION_TROUBLE])
{
  const struct be_err *lost = &s->counts.lost;
  bool away = s->rig && s->counts.state == BE_RIG_AWAY;
  if (!away || lost->status == BE_OK) return; /* else it is only not reached yet */
  add(words, "The rig is away: %.150s%s; %.150s%s", lost->what,
      s->step == BE_STEP_PULL ? "; what came is kept, and the pull goes on when the rig is back"
                              : "",
      *lost->remedy ? lost->remedy : "look at its cable and that it is on",
      s->counts.tries ? "; it is tried again and again" : "");
}

void be_trouble_words(const struct be_session *s, char words[BE_SESSION_TROUBLE])
{
  const struct be_err *failed = &s->kept.failed;
  words[0] = '\0';
  if (*s->trouble) add(words, "%s", s->trouble);
  if (failed->status != BE_OK)
    add(words,
        "%.150s; the pull is kept in memory, and goes to the disk when that takes it: %.150s",
        failed->what, failed->remedy);
  if (s->unsafe.status != BE_OK && failed->status == BE_OK)
    add(words, "%.150s; a loss of power now may cost the last of the pull: %.150s", s->unsafe.what,
        s->unsafe.remedy);
  if (s->step == BE_STEP_PULL && s->counts.chunks_lost - s->lost_before + s->lost > 0)
    add(words, "Some of this pull found no room and is lost; stop it and make it void");
  if (s->counts.overruns > 0)
    add(words, "The machine was too busy, and the page missed %llu samples: the record has them",
        (unsigned long long)s->counts.overruns);
  add_line(s, words);
}

/* What changes with every tick. */
static void loads(const struct be_session *s, struct be_buf *data)
{
  be_buf_format(data, "\"step\":%llu", (unsigned long long)s->step_number);
  text(data, "phase", be_phase_words(s->rig, s->unusable, s->live.phase));
  number(data, "load_N", s->live.load_N);
  number(data, "peak_N", s->live.peak_N);
  number(data, "rate_N_s", s->rate_N_s);
  number(data, "zero_N", s->live.zero_N);
  number(data, "time_s", s->live.last_s);
  number(data, "peak_s", s->live.peak_s);
  char trouble[BE_SESSION_TROUBLE];
  be_trouble_words(s, trouble);
  text(data, "trouble", trouble);
}

static void slips(const struct be_session *s, size_t from, struct be_buf *data)
{
  be_buf_text(data, ",\"slips\":[");
  for (size_t i = from; i < s->slips_count; i++)
    be_buf_format(data, "%s[%.3f,%.5g]", i > from ? "," : "", s->slips[i].time_s,
                  s->slips[i].load_N);
  be_buf_char(data, ']');
}

void be_write_load(const struct be_session *s, struct be_buf *data)
{
  be_buf_char(data, '{');
  loads(s, data);
  number(data, "low_N", s->moved ? (double)s->low_N : NAN);
  number(data, "high_N", s->moved ? (double)s->high_N : NAN);
  slips(s, s->slips_told, data);
  be_buf_char(data, '}');
}

void be_write_step(const struct be_session *s, struct be_buf *data)
{
  const char *code = be_told_value(&s->specimen.told, "specimen");
  be_buf_char(data, '{');
  loads(s, data);
  text(data, "at", be_live_step_word(s->step));
  text(data, "specimen", code ? code : "");
  slips(s, 0, data);
  be_buf_text(data, ",\"points\":[");
  for (size_t i = 0; i < s->points_count; i++)
    be_buf_format(data, "%s[%.3f,%.5g,%.5g]", i ? "," : "", s->points[i].time_s,
                  (double)s->points[i].low_N, (double)s->points[i].high_N);
  be_buf_text(data, "]}");
}
