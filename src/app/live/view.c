/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bench for programs: what its page shows, as JSON. docs/formats.md has the names. */
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <string.h>

size_t be_live_waiting(const struct survey *survey,
                       const struct be_planned *waiting[static BE_LIVE_WAITING])
{
  size_t count = 0;
  for (size_t t = 0; t < survey->record.trials_count; t++) {
    const struct be_trial *trial = &survey->record.trials[t];
    for (size_t i = 0; i < trial->planned_count && count < BE_LIVE_WAITING; i++)
      if (trial->planned[i].pull == BE_NO_INDEX) waiting[count++] = &trial->planned[i];
  }
  return count;
}

static void number(struct be_buf *out, const char *name, double value)
{
  be_buf_format(out, ",\"%s\":", name);
  be_json_number(out, value);
}

/* null for an empty one. */
static void text(struct be_buf *out, const char *name, const char *value)
{
  be_buf_format(out, ",\"%s\":", name);
  if (*value) be_json_string(out, value);
  else be_buf_text(out, "null");
}

static void truth(struct be_buf *out, const char *name, bool value)
{
  be_buf_format(out, ",\"%s\":%s", name, value ? "true" : "false");
}

static void suggestion(struct be_buf *out, const struct be_session_view *view)
{
  be_buf_text(out, ",\n \"suggestion\":");
  if (!view->suggested) {
    be_buf_text(out, "null");
    return;
  }
  be_buf_text(out, "{\"result\":");
  be_json_string(out, be_suggested_word(view->suggestion.result));
  text(out, "what", be_let_go_word(view->suggestion.what));
  number(out, "load_N", view->suggested_N);
  text(out, "evidence", view->suggestion.evidence);
  be_buf_char(out, '}');
}

static void lists(struct be_buf *out, const struct survey *survey,
                  const struct be_session_view *view)
{
  const struct be_planned *waiting[BE_LIVE_WAITING];
  size_t count = be_live_waiting(survey, waiting);
  be_buf_text(out, ",\n \"waiting\":[");
  for (size_t i = 0; i < count; i++) {
    if (i > 0) be_buf_char(out, ',');
    be_json_string(out, waiting[i]->code);
  }
  be_buf_text(out, "],\n \"points\":[");
  for (size_t i = 0; i < view->points_count; i++)
    be_buf_format(out, "%s[%.3f,%.5g,%.5g]", i ? "," : "", view->points[i].time_s,
                  (double)view->points[i].low_N, (double)view->points[i].high_N);
  be_buf_char(out, ']');
}

void be_live_view(const struct survey *survey, const struct be_session_view *view,
                  struct be_buf *out)
{
  be_buf_format(out, "{\"format\":%d,\"bench\":{\n \"step\":%llu", BE_JSON_FORMAT,
                (unsigned long long)view->step_number);
  text(out, "at", be_live_step_word(view->step));
  text(out, "specimen", view->specimen);
  truth(out, "rig", view->rig);
  text(out, "phase", be_phase_words(view->rig, view->unusable, view->phase));
  number(out, "load_N", view->load_N);
  number(out, "peak_N", view->peak_N);
  number(out, "zero_N", view->zero_N);
  number(out, "rate_N_s", view->rate_N_s);
  truth(out, "over", view->over);
  truth(out, "unusable", view->unusable);
  truth(out, "interrupted", view->interrupted);
  text(out, "last", view->last);
  text(out, "trouble", view->trouble);
  suggestion(out, view);
  lists(out, survey, view);
  be_buf_text(out, "}}\n");
}
