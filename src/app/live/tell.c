/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is told of a session: JSON for those who listen. docs/formats.md has the names. */
#include "app/live/session.h"

#include <math.h>

static void number(struct be_buf *data, const char *name, double value)
{
  if (isfinite(value)) be_buf_format(data, ",\"%s\":%.7g", name, value);
  else be_buf_format(data, ",\"%s\":null", name);
}

static void text(struct be_buf *data, const char *name, const char *value)
{
  be_buf_format(data, ",\"%s\":\"", name);
  for (; *value; value++) {
    unsigned char c = (unsigned char)*value;
    if (c == '"' || c == '\\') be_buf_format(data, "\\%c", c);
    else if (c < ' ') be_buf_format(data, "\\u%04x", c);
    else be_buf_char(data, (char)c);
  }
  be_buf_char(data, '"');
}

/* What changes with every tick. */
static void loads(const struct be_session *s, struct be_buf *data)
{
  be_buf_format(data, "\"step\":%llu", (unsigned long long)s->step_number);
  text(data, "phase", s->rig ? be_live_word(s->live.phase) : "typed");
  number(data, "load_N", s->live.load_N);
  number(data, "peak_N", s->live.peak_N);
  number(data, "rate_N_s", s->rate_N_s);
  number(data, "time_s", s->live.last_s);
  number(data, "peak_s", s->live.peak_s);
  text(data, "trouble", s->trouble);
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
