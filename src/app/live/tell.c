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
  be_buf_format(data, ",\"%s\":", name);
  be_json_string(data, value);
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
}

void be_write_load(const struct be_session *s, struct be_buf *data)
{
  be_buf_char(data, '{');
  loads(s, data);
  number(data, "low_N", s->low_N);
  number(data, "high_N", s->high_N);
  be_buf_char(data, '}');
}

void be_write_step(const struct be_session *s, struct be_buf *data)
{
  const char *code = be_told_value(&s->specimen.told, "specimen");
  be_buf_char(data, '{');
  loads(s, data);
  text(data, "at", be_live_step_word(s->step));
  text(data, "specimen", code ? code : "");
  text(data, "trouble", s->trouble);
  be_buf_text(data, ",\"points\":[");
  for (size_t i = 0; i < s->points_count; i++)
    be_buf_format(data, "%s[%.3f,%.5g,%.5g]", i ? "," : "", s->points[i].time_s,
                  (double)s->points[i].low_N, (double)s->points[i].high_N);
  be_buf_text(data, "]}");
}
