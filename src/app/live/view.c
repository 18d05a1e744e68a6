/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bench for programs: what its page shows, as JSON. docs/formats.md has the names. */
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <math.h>
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

/* What was told of the specimen, by columns of a pull sheet. */
static void told(struct be_buf *out, const struct survey *survey,
                 const struct be_session_view *view)
{
  struct be_told told;
  char *lines = be_arena_text(survey->arena, view->told, strlen(view->told));
  if (!lines) out->status = BE_NO_MEMORY;
  if (!lines || !be_told_read(lines, &told)) told.count = 0;
  be_buf_text(out, ",\n \"told\":{");
  for (size_t i = 0, said = 0; i < told.count; i++) {
    if (be_evening_marks(told.name[i])) continue;
    if (said++ > 0) be_buf_char(out, ',');
    be_json_string(out, told.name[i]);
    be_buf_char(out, ':');
    be_json_string(out, told.value[i]);
  }
  be_buf_char(out, '}');
}

static void evening(struct be_buf *out, const struct be_evening *of)
{
  be_buf_text(out, ",\n \"evening\":{");
  for (int i = 0; i < BE_EVENINGS; i++) {
    be_buf_text(out, i ? "," : "");
    be_json_string(out, be_evening_field(i));
    be_buf_char(out, ':');
    if (*of->value[i]) be_json_string(out, of->value[i]);
    else be_buf_text(out, "null");
  }
  be_buf_char(out, '}');
}

/* A place in a list of the record. */
static void row(struct be_buf *out, const char *name, int at)
{
  if (at < 0) be_buf_format(out, ",\"%s\":null", name);
  else be_buf_format(out, ",\"%s\":%d", name, at);
}

/* What is known of it, from its plan and from what was told. */
static void subject(struct be_buf *out, const struct survey *survey,
                    const struct be_session_view *view)
{
  struct be_subject of;
  be_buf_text(out, ",\n \"subject\":");
  if (!*view->specimen) {
    be_buf_text(out, "null");
    return;
  }
  if (be_subject_of(survey, view, &of, NULL) != BE_OK) {
    out->status = BE_NO_MEMORY;
    return;
  }
  be_buf_format(out, "{\"planned\":%s", of.planned ? "true" : "false");
  row(out, "trial", of.trial ? (int)(of.trial - survey->record.trials) : BE_NO_INDEX);
  number(out, "block", of.planned ? of.planned->block : NAN);
  number(out, "order", of.planned ? of.planned->order : NAN);
  row(out, "knot", of.knot);
  row(out, "line_a", of.line_a);
  row(out, "line_b", of.line_b);
  text(out, "soak", of.soak ? be_soak_word(of.soak) : "");
  text(out, "hardware", of.hardware ? of.hardware : "");
  text(out, "tyer", of.tyer ? of.tyer : "");
  number(out, "free_length_m", of.length_m);
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
  truth(out, "may_leave", view->may_leave);
  be_buf_format(out, ",\"gaps\":%zu", view->gaps);
  text(out, "calibration", view->calibration);
  text(out, "last", view->last);
  text(out, "trouble", view->trouble);
  suggestion(out, view);
  told(out, survey, view);
  subject(out, survey, view);
  lists(out, survey, view);
  evening(out, &view->evening);
  be_buf_text(out, "}}\n");
}
