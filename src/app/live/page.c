/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page of the bench: what is next, the load, the answer. It is forms alone, and works without
 * script; bench.js makes the load live and the keys work. */
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- pieces ---- */

static void text(struct be_buf *html, const char *before, const char *value, const char *after)
{
  be_buf_text(html, before);
  be_markup_text(html, value);
  be_buf_text(html, after);
}

static void open_form(struct be_buf *html, const struct be_session_view *view, const char *what)
{
  be_buf_format(html,
                "<form method=\"post\"><input type=\"hidden\" name=\"step\" value=\"%llu\">"
                "<input type=\"hidden\" name=\"do\" value=\"%s\">\n",
                (unsigned long long)view->step_number, what);
}

/* key: one that presses it, shown on it. */
static void button(struct be_buf *html, const char *key, const char *words, bool first)
{
  be_buf_format(html, "<button class=\"%s\" data-key=\"%s\"><kbd>%s</kbd> ",
                first ? "first" : "second", key, key);
  text(html, "", words, "</button>\n");
}

/* value: filled in; null: empty. */
static void filled_field(struct be_buf *html, const char *name, const char *label, const char *list,
                         const char *value)
{
  char id[32];
  snprintf(id, sizeof id, "f-%s", name);
  for (char *at = id; *at; at++)
    if (*at == ' ') *at = '-';
  be_buf_format(html,
                "<p class=\"field\"><label for=\"%s\">%s</label>"
                "<input id=\"%s\" name=\"%s\" autocomplete=\"off\"%s%s%s",
                id, label, id, name, list ? " list=\"" : "", list ? list : "", list ? "\"" : "");
  if (value) text(html, " value=\"", value, "\"");
  be_buf_text(html, "></p>\n");
}

static void typed_field(struct be_buf *html, const char *name, const char *label, const char *list)
{
  filled_field(html, name, label, list, NULL);
}

/* Names of files; the usual one is shown, and not sent. */
static void name_field(struct be_buf *html, const char *name, const char *label, const char *code,
                       const char *ending)
{
  be_buf_format(html,
                "<p class=\"field\"><label for=\"f-%s\">%s</label>"
                "<input id=\"f-%s\" name=\"%s\" autocomplete=\"off\" placeholder=\"",
                name, label, name, name);
  be_markup_text(html, code);
  be_buf_format(html, "-1.%s\"></p>\n", ending);
}

/* ---- choose ---- */

static void option(struct be_buf *html, const char *value)
{
  text(html, "<option value=\"", value, "\"></option>");
}

static void lists(struct be_buf *html, const struct survey *survey)
{
  be_buf_text(html, "<datalist id=\"knots\">");
  for (size_t i = 0; i < survey->record.knots_count; i++)
    option(html, survey->record.knots[i].name);
  be_buf_text(html, "</datalist>\n<datalist id=\"lines\">");
  for (size_t i = 0; i < survey->line_names_count; i++) option(html, survey->line_names[i]);
  be_buf_text(html, "</datalist>\n<datalist id=\"spools\">");
  for (size_t i = 0; i < survey->record.lines_count; i++)
    if (survey->record.lines[i].spool) option(html, survey->record.lines[i].spool);
  be_buf_text(html, "</datalist>\n");
}

static void choose_other(struct be_buf *html, const struct survey *survey,
                         const struct be_session_view *view, bool open)
{
  be_buf_format(html, "<details%s><summary>Another specimen</summary>\n", open ? " open" : "");
  open_form(html, view, "choose");
  lists(html, survey);
  typed_field(html, "specimen", "Its code", NULL);
  be_buf_text(html,
              "<p class=\"note\">A planned specimen needs its code alone; of others, tell what "
              "it is. A plain line has the knot &quot;none&quot;.</p>\n");
  be_write_alike(html, survey, view->last, filled_field);
  button(html, "o", "Take this one", !open);
  be_buf_text(html, "</form></details>\n");
}

static void write_choose(struct be_buf *html, const struct survey *survey,
                         const struct be_session_view *view)
{
  const struct be_planned *waiting[BE_LIVE_WAITING];
  size_t count = be_live_waiting(survey, waiting);
  if (count > 0) {
    open_form(html, view, "choose");
    be_buf_text(html, "<p class=\"field\"><label for=\"next\">Next in the plan</label>"
                      "<select id=\"next\" name=\"specimen\">");
    for (size_t i = 0; i < count; i++) text(html, "<option>", waiting[i]->code, "</option>");
    be_buf_text(html, "</select></p>\n");
    button(html, "n", "Take it", true);
    be_buf_text(html, "</form>\n");
  }
  choose_other(html, survey, view, count == 0);
}

/* ---- guard and pull ---- */

static void caution(struct be_buf *html, const char *words)
{
  text(html, "<p class=\"caution\" role=\"note\"><strong>CAUTION</strong> ", words, "</p>\n");
}

static void write_guard(struct be_buf *html, const struct be_session_view *view)
{
  caution(html, "A stretched line stores energy and whips back. Guard down, eyes covered, nobody "
                "in line with the pull, hands off until the load reads zero.");
  open_form(html, view, "guard");
  button(html, "g", "Guard down, eyes covered, everybody clear", true);
  be_buf_text(html, "</form>\n");
  open_form(html, view, "leave");
  button(html, "o", "Another specimen", false);
  be_buf_text(html, "</form>\n");
}

static void write_pull(struct be_buf *html, const struct be_session_view *view)
{
  caution(html, "Guard down, eyes covered, nobody in line with the pull. Hands off until the load "
                "reads zero, also after it let go.");
  open_form(html, view, "stop");
  button(html, "s", "Let down without a break: stop", false);
  be_buf_text(html, "</form>\n");
  open_form(html, view, "leave");
  button(html, "o", "Nothing was pulled: another specimen", false);
  be_buf_text(html, "</form>\n");
}

/* ---- the answer ---- */

struct choice {
  const char *word, *key;
};
static const struct choice whats[] = {
    {"broke", "1"},  {"slipped out", "2"}, {"slipped then broke", "3"},
    {"strand", "4"}, {"hardware", "5"},    {"nothing", "6"}};
static const struct choice wheres[] = {{"in the knot", "k"}, {"at its entry", "e"},
                                       {"clear of it", "c"}, {"grip", "r"},
                                       {"eye", "y"},         {"not seen", "x"}};
static const struct choice whichs[] = {
    {"line A", "a"}, {"line B", "b"}, {"tag", "t"}, {"none", "-"}};
static const struct choice results[] = {
    {"", "u"}, {"event", "v"}, {"lower bound", "l"}, {"void", "d"}};

static void tiles(struct be_buf *html, const char *title, const char *name,
                  const struct choice *list, size_t count, const char *chosen)
{
  be_buf_format(html, "<fieldset class=\"tiles\"><legend>%s</legend>\n", title);
  for (size_t i = 0; i < count; i++)
    be_buf_format(html,
                  "<label><input type=\"radio\" name=\"%s\" value=\"%s\" data-key=\"%s\"%s> "
                  "<kbd>%s</kbd> %s</label>\n",
                  name, list[i].word, list[i].key,
                  chosen && strcmp(chosen, list[i].word) == 0 ? " checked" : "", list[i].key,
                  *list[i].word ? list[i].word : "by the rules");
  be_buf_text(html, "</fieldset>\n");
}

#define TILES(html, title, name, list, chosen)                                                     \
  tiles(html, title, name, list, sizeof(list) / sizeof *(list), chosen)

static void write_fields(struct be_buf *html, const char *code, const char *what, bool load_first)
{
  if (load_first) typed_field(html, "load", "Load, with its unit", NULL);
  TILES(html, "What let go", "what", whats, what);
  TILES(html, "Where", "where", wheres, NULL);
  TILES(html, "Which", "which", whichs, NULL);
  be_buf_text(html, "<details><summary>Note, photo, void, another load</summary>\n");
  TILES(html, "It counts as", "result", results, "");
  typed_field(html, "reason", "Why it is void", NULL);
  if (!load_first)
    typed_field(html, "load", "Load as the instrument showed it, with its unit", NULL);
  typed_field(html, "judged by", "Judged by (a name or initials)", NULL);
  name_field(html, "photo", "Names of photos, with ; between: the files stay where they are", code,
             "jpg");
  name_field(html, "clip", "Names of clips", code, "mp4");
  typed_field(html, "note", "Note", NULL);
  be_buf_text(html, "</details>\n");
}

static void write_answer(struct be_buf *html, const struct survey *survey,
                         const struct be_session_view *view)
{
  caution(html, "Hands off until the load reads zero.");
  static const char *const words[] = {[BE_LET_GO_UNSEEN] = NULL,
                                      [BE_LET_GO_BROKE] = "broke",
                                      [BE_LET_GO_SLIPPED_BROKE] = "slipped then broke",
                                      [BE_LET_GO_SLIPPED_OUT] = "slipped out",
                                      [BE_LET_GO_STRAND] = "strand",
                                      [BE_LET_GO_NOTHING] = "nothing"};
  open_form(html, view, "answer");
  be_write_unit(html, survey);
  write_fields(html, view->specimen, view->suggested ? words[view->suggestion.what] : NULL,
               !view->suggested);
  button(html, "Enter", "Keep it", true);
  be_buf_text(html, "</form>\n");
}

static void write_again(struct be_buf *html, const struct survey *survey,
                        const struct be_session_view *view)
{
  if (!*view->last) return;
  text(html, "<details class=\"again\"><summary>Answer ", view->last, " again</summary>\n");
  open_form(html, view, "again");
  be_write_unit(html, survey);
  be_buf_text(html, "<p class=\"note\">The answer that was kept stays on record, and this one goes "
                    "before it.</p>\n");
  write_fields(html, view->last, NULL, false);
  button(html, "Enter", "Keep this answer", true);
  be_buf_text(html, "</form></details>\n");
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
  be_buf_text(html, "<p class=\"load\">");
  output(html, "load", be_shown(survey, view->load_N), decimals);
  text(html, " <span class=\"unit\">", unit, "</span></p>\n<p class=\"note\">peak ");
  output(html, "peak", be_shown(survey, peak_N), decimals);
  text(html, " ", unit, ", rate ");
  output(html, "rate", be_shown(survey, view->rate_N_s), decimals);
  text(html, " ", unit, "/s; <span id=\"phase\" role=\"status\">");
  be_buf_text(html, view->unusable ? "the rig sends no unit of force" : be_live_word(view->phase));
  be_buf_text(html, "</span></p>\n");
  if (view->step == BE_STEP_PULL || view->step == BE_STEP_ANSWER)
    be_buf_text(html, "<canvas id=\"trace\" role=\"img\" "
                      "aria-label=\"Load of this pull over time\"></canvas>\n");
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
    be_doc_sentence(doc, "The program ended during this pull. What came until then is kept: say "
                         "what it was, or that it is void.");
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
  if (view->step == BE_STEP_CHOOSE) say_calibration(doc, survey, view);
  if (*view->trouble) be_doc_sentence(doc, "Trouble: %s.", view->trouble);
}

enum be_status be_live_page(const struct survey *survey, const struct be_session_view *view,
                            const struct be_err *wrong, struct be_doc **out, struct be_buf *html,
                            struct be_err *err)
{
  struct be_subject subject;
  enum be_status status = be_subject_of(survey, view, &subject, err);
  struct be_doc *doc = status == BE_OK ? be_doc_create("bench", "Bench") : NULL;
  if (!doc) return status == BE_OK ? be_no_memory(err) : status;
  if (wrong)
    be_doc_sentence(doc, "Not done: %s%s%s.", wrong->what, *wrong->remedy ? "; " : "",
                    wrong->remedy);
  say_step(doc, survey, view, &subject);
  double shown_per_N = be_shown(survey, 1);
  be_buf_format(html,
                "<section class=\"bench\" id=\"bench\" aria-label=\"The bench\" "
                "data-step=\"%llu\" data-at=\"%s\" data-per-newton=\"%.9g\" "
                "data-decimals=\"%d\">\n",
                (unsigned long long)view->step_number, be_live_step_word(view->step), shown_per_N,
                decimals_of(survey));
  write_load(html, survey, view);
  switch (view->step) {
  case BE_STEP_CHOOSE: write_choose(html, survey, view); break;
  case BE_STEP_GUARD: write_guard(html, view); break;
  case BE_STEP_PULL: write_pull(html, view); break;
  case BE_STEP_ANSWER: write_answer(html, survey, view); break;
  }
  if (view->step == BE_STEP_CHOOSE) write_again(html, survey, view);
  else be_write_which_knot(html, survey, &subject);
  be_buf_text(html, "</section>\n");
  return be_doc_done(doc, be_buf_status(html, err), out);
}
