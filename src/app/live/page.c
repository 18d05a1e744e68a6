/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page of the bench: what is next, the load, the answer. It is forms alone, and works without
 * script; bench.js makes the load live and the keys work. */
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void text(struct be_buf *html, const char *before, const char *value, const char *after)
{
  be_buf_text(html, before);
  be_markup_text(html, value);
  be_buf_text(html, after);
}

/* ---- the load ---- */

/* A book without loads has no decimals yet. */
static int decimals_of(const struct survey *survey)
{
  return survey->decimals > 0 ? survey->decimals : 1;
}

static void output(struct be_buf *html, const char *id, double value, int decimals)
{
  be_buf_format(html, "<output id=\"%s\">", id);
  if (isfinite(value)) be_buf_format(html, "%.*f", decimals, value);
  else be_buf_text(html, "-");
  be_buf_text(html, "</output>");
}

static void write_load(struct be_buf *html, const struct survey *survey,
                       const struct be_session_view *view)
{
  if (!view->rig) return;
  int decimals = decimals_of(survey);
  const char *unit = survey->how.unit->name;
  double peak_N = view->step == BE_STEP_ANSWER ? view->suggested_N : view->peak_N;
  be_buf_text(html, "<div class=\"live\">\n<div><p class=\"load\">");
  output(html, "load", be_shown(survey, view->load_N), decimals);
  text(html, " <span class=\"unit\">", unit, "</span></p>\n<p class=\"note\">peak ");
  output(html, "peak", be_shown(survey, peak_N), decimals);
  text(html, " ", unit, ", rate ");
  output(html, "rate", be_shown(survey, view->rate_N_s), decimals);
  text(html, " ", unit, "/s, zero taken at ");
  output(html, "zero", be_shown(survey, view->zero_N), decimals);
  text(html, " ", unit, "; <span id=\"phase\" role=\"status\">");
  be_buf_text(html, be_phase_words(view->rig, view->unusable, view->phase));
  be_buf_text(html, "</span></p></div>\n");
  if (view->step == BE_STEP_PULL || view->step == BE_STEP_ANSWER)
    be_buf_text(html, "<div><canvas id=\"trace\" role=\"img\" aria-describedby=\"told\" "
                      "aria-label=\"Load of this pull over time\"></canvas>\n"
                      "<p class=\"note\" id=\"told\" aria-live=\"polite\"></p></div>\n");
  be_buf_text(html, "</div>\n");
}

/* ---- what is said ---- */

static const struct be_planned *find_planned(const struct survey *survey, const char *code)
{
  for (size_t t = 0; t < survey->record.trials_count; t++)
    for (size_t i = 0; i < survey->record.trials[t].planned_count; i++)
      if (strcmp(survey->record.trials[t].planned[i].code, code) == 0)
        return &survey->record.trials[t].planned[i];
  return NULL;
}

static void say_specimen(struct be_doc *doc, const struct survey *survey,
                         const struct be_session_view *view)
{
  const struct be_planned *planned = find_planned(survey, view->specimen);
  static const char *const then[] = {[BE_STEP_GUARD] = "put it on the rig",
                                     [BE_STEP_PULL] = "pull it",
                                     [BE_STEP_ANSWER] = "say what let go"};
  if (!planned || planned->line_a < 0)
    be_doc_sentence(doc, "Specimen %s: %s.", view->specimen, then[view->step]);
  else
    be_doc_sentence(doc, "Specimen %s, %s%s%s: %s.", view->specimen,
                    survey->record.lines[planned->line_a].name,
                    planned->line_b >= 0 ? " to "
                    : planned->hardware  ? " to "
                                         : "",
                    planned->line_b >= 0 ? survey->record.lines[planned->line_b].name
                    : planned->hardware  ? planned->hardware
                                         : "",
                    then[view->step]);
}

static void say_suggestion(struct be_doc *doc, const struct survey *survey,
                           const struct be_session_view *view)
{
  if (view->interrupted)
    be_doc_sentence(
        doc,
        view->may_leave  ? "The program ended during this pull, before a load was seen: if it was "
                           "not pulled, take another specimen or this one again."
        : view->finished ? "The program ended when this pull was over, before it was answered."
                         : "The program ended during this pull. What came until then is kept: say "
                           "what it was, or that it is void.");
  if (view->gaps > 0)
    be_doc_sentence(doc,
                    "The rig was away or lost samples, %zu %s during this pull: what the load did "
                    "then is not known, and its peak may be higher.",
                    view->gaps, view->gaps == 1 ? "time" : "times");
  if (view->suggested)
    be_doc_sentence(doc, "The trace suggests: %s, %s, %s%.*f %s (%s).",
                    be_suggested_word(view->suggestion.result),
                    be_let_go_word(view->suggestion.what), view->over ? "at least " : "",
                    decimals_of(survey), be_shown(survey, view->suggested_N),
                    survey->how.unit->name, view->suggestion.evidence);
}

static void say_last(struct be_doc *doc, const struct survey *survey,
                     const struct be_session_view *view)
{
  for (size_t i = survey->record.pulls_count; *view->last && i-- > 0;) {
    const struct be_pull *pull = &survey->record.pulls[i];
    if (strcmp(pull->code, view->last) != 0) continue;
    if (pull->kind == BE_KIND_VOID) be_doc_sentence(doc, "Kept: %s, void.", view->last);
    else
      be_doc_sentence(doc, "Kept: %s, %s%.*f %s, %s, %s.", view->last,
                      pull->kind == BE_KIND_BOUND ? "at least " : "", survey->decimals,
                      be_shown(survey, pull->load_N), survey->how.unit->name,
                      be_what_word(pull->what), be_where_word(pull->where));
    return;
  }
}

/* Where the book has it, also that it is overdue. */
static void say_calibration(struct be_doc *doc, const struct survey *survey,
                            const struct be_session_view *view)
{
  char now[32];
  long today = 0, left = 0;
  if (!*view->calibration) return;
  be_now(now);
  be_date_read(now, 10, &today, NULL);
  for (size_t i = 0; i < survey->record.calibrations_count; i++) {
    const struct be_calibration *is = &survey->record.calibrations[i].is;
    if (!be_text_same(is->name, view->calibration)) continue;
    if (be_calibration_due(is, today, &left) && left < 0)
      be_doc_sentence(doc, "Loads are by the calibration %s, which is overdue by %ld days.",
                      view->calibration, -left);
    else be_doc_sentence(doc, "Loads are by the calibration %s.", view->calibration);
    return;
  }
  be_doc_sentence(doc, "Loads are by the calibration %s, of the rig's own file.",
                  view->calibration);
}

static void say_next(struct be_doc *doc, const struct survey *survey)
{
  const struct be_planned *waiting[BE_LIVE_WAITING];
  if (be_live_waiting(survey, waiting) == 0) {
    be_doc_sentence(doc, "No planned specimen waits: say which one is pulled.");
    return;
  }
  const struct be_subject next = be_subject_planned(survey, waiting[0]->code);
  be_doc_sentence(doc, "Next is specimen %s.", waiting[0]->code);
  be_say_subject(doc, survey, &next, true);
}

static void say_step(struct be_doc *doc, const struct survey *survey,
                     const struct be_session_view *view, const struct be_subject *subject)
{
  if (view->step == BE_STEP_CHOOSE) say_next(doc, survey);
  else {
    say_specimen(doc, survey, view);
    be_say_subject(doc, survey, subject, subject->planned == NULL);
  }
  if (view->step == BE_STEP_GUARD || view->step == BE_STEP_PULL)
    be_say_energy(doc, survey, subject);
  if (view->step == BE_STEP_ANSWER) say_suggestion(doc, survey, view);
  if (view->step == BE_STEP_CHOOSE) say_last(doc, survey, view);
  if (view->step == BE_STEP_CHOOSE && !be_evening_told(&view->evening))
    be_doc_sentence(doc, "What stays the same for the evening, such as temperature, grips, speed "
                         "and who ties, is not told yet: tell it once, below.");
  if (view->step == BE_STEP_CHOOSE) say_calibration(doc, survey, view);
}

/* It comes and goes while one looks: bench.js keeps it up. */
static void write_trouble(struct be_buf *html, const struct be_session_view *view)
{
  text(html, "<p id=\"trouble\" class=\"caution\" role=\"alert\">",
       *view->trouble ? "Trouble: " : "", "");
  text(html, "", view->trouble, *view->trouble ? ".</p>\n" : "</p>\n");
}

enum be_status be_live_page(const struct survey *survey, const struct be_session_view *view,
                            const struct be_bench_asked *asked, struct be_doc **out,
                            struct be_buf *html, struct be_err *err)
{
  struct be_subject subject;
  enum be_status status = be_subject_of(survey, view, &subject, err);
  struct be_doc *doc = status == BE_OK ? be_doc_create("bench", "Bench") : NULL;
  if (!doc) return status == BE_OK ? be_no_memory(err) : status;
  const struct be_err *wrong = asked->wrong, *unread = asked->unread;
  const struct be_request *sent = wrong ? asked->sent : NULL;
  if (wrong)
    be_doc_sentence(doc, "Not done: %s%s%s.", wrong->what, *wrong->remedy ? "; " : "",
                    wrong->remedy);
  if (unread)
    be_doc_sentence(doc,
                    "The book cannot be read now: %s%s%s. The bench goes on without it: what is "
                    "pulled is kept, and can be answered when the book is there again.",
                    unread->what, *unread->remedy ? "; " : "", unread->remedy);
  say_step(doc, survey, view, &subject);
  double shown_per_N = be_shown(survey, 1);
  be_buf_format(html,
                "<section class=\"bench\" id=\"bench\" aria-label=\"The bench\" "
                "data-step=\"%llu\" data-at=\"%s\" data-per-newton=\"%.9g\" "
                "data-decimals=\"%d\" data-unit=\"%s\"%s>\n",
                (unsigned long long)view->step_number, be_live_step_word(view->step), shown_per_N,
                decimals_of(survey), survey->how.unit->name, view->rig ? " data-rig" : "");
  write_trouble(html, view);
  write_load(html, survey, view);
  be_write_forms(html, survey, view, sent);
  if (view->step != BE_STEP_CHOOSE) be_write_which_knot(html, survey, &subject);
  be_buf_text(html, "</section>\n");
  return be_doc_done(doc, be_buf_status(html, err), out);
}
