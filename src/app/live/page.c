/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page of the bench: what is next, the load, the answer. It is forms alone, and works without
 * script; bench.js makes the load live and the keys work. */
#include "app/live/live.h"
#include "app/survey/survey.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WAITING_MAX = 40 };

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

static void typed_field(struct be_buf *html, const char *name, const char *label, const char *list)
{
  char id[32];
  snprintf(id, sizeof id, "f-%s", name);
  for (char *at = id; *at; at++)
    if (*at == ' ') *at = '-';
  be_buf_format(html,
                "<p class=\"field\"><label for=\"%s\">%s</label>"
                "<input id=\"%s\" name=\"%s\" autocomplete=\"off\"%s%s%s></p>\n",
                id, label, id, name, list ? " list=\"" : "", list ? list : "", list ? "\"" : "");
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

/* The specimens of all trials that wait to be pulled, in their order. */
static size_t list_waiting(const struct survey *survey, const struct be_planned **waiting)
{
  size_t count = 0;
  for (size_t t = 0; t < survey->record.trials_count; t++) {
    const struct be_trial *trial = &survey->record.trials[t];
    for (size_t i = 0; i < trial->planned_count && count < WAITING_MAX; i++)
      if (trial->planned[i].pull == BE_NO_INDEX) waiting[count++] = &trial->planned[i];
  }
  return count;
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
  typed_field(html, "knot", "Knot", "knots");
  typed_field(html, "version", "Version of the knot", NULL);
  typed_field(html, "turns", "Turns", NULL);
  typed_field(html, "line A", "Line A", "lines");
  typed_field(html, "spool A", "Spool A", "spools");
  typed_field(html, "line B", "Line B, of a joint", "lines");
  typed_field(html, "spool B", "Spool B", "spools");
  typed_field(html, "hardware", "Hardware", NULL);
  typed_field(html, "soak", "Soak: dry, or minutes", NULL);
  typed_field(html, "tyer", "Tied by", NULL);
  button(html, "o", "Take this one", !open);
  be_buf_text(html, "</form></details>\n");
}

static void write_choose(struct be_buf *html, const struct survey *survey,
                         const struct be_session_view *view)
{
  const struct be_planned *waiting[WAITING_MAX];
  size_t count = list_waiting(survey, waiting);
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

static void write_guard(struct be_buf *html, const struct be_session_view *view)
{
  be_buf_text(html,
              "<p class=\"caution\" role=\"note\"><strong>CAUTION</strong> A stretched line stores "
              "energy and whips back. Guard down, eyes covered, nobody in line with the pull, "
              "hands off until the load reads zero.</p>\n");
  open_form(html, view, "guard");
  button(html, "g", "Guard down, eyes covered, everybody clear", true);
  be_buf_text(html, "</form>\n");
  open_form(html, view, "leave");
  button(html, "o", "Another specimen", false);
  be_buf_text(html, "</form>\n");
}

static void write_pull(struct be_buf *html, const struct be_session_view *view)
{
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

static void write_fields(struct be_buf *html, const char *what, bool load_first)
{
  if (load_first) typed_field(html, "load", "Load, with its unit", NULL);
  TILES(html, "What let go", "what", whats, what);
  TILES(html, "Where", "where", wheres, NULL);
  TILES(html, "Which", "which", whichs, NULL);
  be_buf_text(html, "<details><summary>Note, void, another load</summary>\n");
  TILES(html, "It counts as", "result", results, "");
  typed_field(html, "reason", "Why it is void", NULL);
  if (!load_first)
    typed_field(html, "load", "Load as the instrument showed it, with its unit", NULL);
  typed_field(html, "note", "Note", NULL);
  be_buf_text(html, "</details>\n");
}

static void write_answer(struct be_buf *html, const struct be_session_view *view)
{
  static const char *const words[] = {[BE_LET_GO_UNSEEN] = NULL,
                                      [BE_LET_GO_BROKE] = "broke",
                                      [BE_LET_GO_SLIPPED_BROKE] = "slipped then broke",
                                      [BE_LET_GO_SLIPPED_OUT] = "slipped out",
                                      [BE_LET_GO_STRAND] = "strand",
                                      [BE_LET_GO_NOTHING] = "nothing"};
  open_form(html, view, "answer");
  write_fields(html, view->suggested ? words[view->suggestion.what] : NULL, !view->suggested);
  button(html, "Enter", "Keep it", true);
  be_buf_text(html, "</form>\n");
}

static void write_again(struct be_buf *html, const struct be_session_view *view)
{
  if (!*view->last) return;
  text(html, "<details class=\"again\"><summary>Answer ", view->last, " again</summary>\n");
  open_form(html, view, "again");
  be_buf_text(html, "<p class=\"note\">The answer that was kept stays on record, and this one goes "
                    "before it.</p>\n");
  write_fields(html, NULL, false);
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
  be_buf_text(html, "<div class=\"live\">\n<div><p class=\"load\">");
  output(html, "load", be_shown(survey, view->load_N), decimals);
  text(html, " <span class=\"unit\">", unit, "</span></p>\n<p class=\"note\">peak ");
  output(html, "peak", be_shown(survey, peak_N), decimals);
  text(html, " ", unit, ", rate ");
  output(html, "rate", be_shown(survey, view->rate_N_s), decimals);
  text(html, " ", unit, "/s; <span id=\"phase\" role=\"status\">");
  be_buf_text(html, view->unusable ? "the rig sends no unit of force" : be_live_word(view->phase));
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

static void say_step(struct be_doc *doc, const struct survey *survey,
                     const struct be_session_view *view)
{
  const struct be_planned *waiting[WAITING_MAX];
  if (view->step != BE_STEP_CHOOSE) say_specimen(doc, survey, view);
  else if (list_waiting(survey, waiting) > 0)
    be_doc_sentence(doc, "Next is specimen %s.", waiting[0]->code);
  else be_doc_sentence(doc, "No planned specimen waits: say which one is pulled.");
  if (view->step == BE_STEP_ANSWER) say_suggestion(doc, survey, view);
  if (view->step == BE_STEP_CHOOSE) say_last(doc, survey, view);
  if (*view->trouble) be_doc_sentence(doc, "Trouble: %s.", view->trouble);
}

enum be_status be_live_page(const struct survey *survey, const struct be_session_view *view,
                            const struct be_err *wrong, struct be_doc **out, struct be_buf *html,
                            struct be_err *err)
{
  struct be_doc *doc = be_doc_create("bench", "Bench");
  if (!doc) return be_no_memory(err);
  if (wrong)
    be_doc_sentence(doc, "Not done: %s%s%s.", wrong->what, *wrong->remedy ? "; " : "",
                    wrong->remedy);
  say_step(doc, survey, view);
  double shown_per_N = be_shown(survey, 1);
  be_buf_format(html,
                "<section class=\"bench\" id=\"bench\" aria-label=\"The bench\" "
                "data-step=\"%llu\" data-at=\"%s\" data-per-newton=\"%.9g\" "
                "data-decimals=\"%d\" data-unit=\"%s\"%s>\n"
                "<p id=\"word\" role=\"status\"></p>\n",
                (unsigned long long)view->step_number, be_live_step_word(view->step), shown_per_N,
                decimals_of(survey), survey->how.unit->name, view->rig ? " data-rig" : "");
  write_load(html, survey, view);
  switch (view->step) {
  case BE_STEP_CHOOSE: write_choose(html, survey, view); break;
  case BE_STEP_GUARD: write_guard(html, view); break;
  case BE_STEP_PULL: write_pull(html, view); break;
  case BE_STEP_ANSWER: write_answer(html, view); break;
  }
  if (view->step == BE_STEP_CHOOSE) write_again(html, view);
  be_buf_text(html, "</section>\n");
  return be_doc_done(doc, be_buf_status(html, err), out);
}
