/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The forms of the bench, one or two a step. */
#include "app/live/live.h"
#include "app/survey/survey.h"

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

/* What was typed into a form that was refused stands in it again. */
static const char *sent_value(const struct be_request *sent, const char *name)
{
  return sent ? be_request_form(sent, name) : NULL;
}

/* value: filled in, unless something was sent; null: empty. form: tells its fields from those of
 * another form of the page. */
static void field_of(struct be_buf *html, const struct be_request *sent, char form,
                     const char *name, const char *label, const char *list, const char *value)
{
  if (sent) value = be_request_form(sent, name);
  char id[32];
  snprintf(id, sizeof id, "%c-%s", form, name);
  for (char *at = id; *at; at++)
    if (*at == ' ') *at = '-';
  be_buf_format(html,
                "<p class=\"field\"><label for=\"%s\">%s</label>"
                "<input id=\"%s\" name=\"%s\" autocomplete=\"off\"%s%s%s",
                id, label, id, name, list ? " list=\"" : "", list ? list : "", list ? "\"" : "");
  if (value && *value) text(html, " value=\"", value, "\"");
  be_buf_text(html, "></p>\n");
}

static void filled_field(struct be_buf *html, const struct be_request *sent, const char *name,
                         const char *label, const char *list, const char *value)
{
  field_of(html, sent, 'f', name, label, list, value);
}

static void typed_field(struct be_buf *html, const struct be_request *sent, const char *name,
                        const char *label, const char *list)
{
  filled_field(html, sent, name, label, list, NULL);
}

/* Names of files; the usual one is shown, and not sent. */
static void name_field(struct be_buf *html, const struct be_request *sent, const char *name,
                       const char *label, const char *code, const char *ending)
{
  be_buf_format(html,
                "<p class=\"field\"><label for=\"f-%s\">%s</label>"
                "<input id=\"f-%s\" name=\"%s\" autocomplete=\"off\" placeholder=\"",
                name, label, name, name);
  be_markup_text(html, code);
  be_buf_format(html, "-1.%s\"", ending);
  const char *value = sent_value(sent, name);
  if (value && *value) text(html, " value=\"", value, "\"");
  be_buf_text(html, "></p>\n");
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
                         const struct be_session_view *view, const struct be_request *sent,
                         bool open)
{
  be_buf_format(html, "<details%s><summary>Another specimen</summary>\n", open ? " open" : "");
  open_form(html, view, "choose");
  lists(html, survey);
  typed_field(html, sent, "specimen", "Its code", NULL);
  be_buf_text(html,
              "<p class=\"note\">A planned specimen needs its code alone; of others, tell what "
              "it is. A plain line has the knot &quot;none&quot;.</p>\n");
  be_write_alike(html, survey, sent, view, filled_field);
  button(html, "o", "Take this one", !open);
  be_buf_text(html, "</form></details>\n");
}

static void write_choose(struct be_buf *html, const struct survey *survey,
                         const struct be_session_view *view, const struct be_request *sent)
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
  choose_other(html, survey, view, sent, count == 0 || sent);
}

/* Filled in as it is told or, until it is, as it was the last time. */
static void write_evening(struct be_buf *html, const struct survey *survey,
                          const struct be_session_view *view, const struct be_request *sent)
{
  char words[BE_EVENING_WORDS], now[32];
  struct be_evening shown = view->evening;
  bool told = be_evening_told(&shown);
  be_now(now);
  now[10] = '\0';
  if (!told) be_evening_last(survey, now, &shown);
  be_evening_words(&view->evening, words);
  be_buf_format(html, "<details%s><summary>%s</summary>\n", sent ? " open" : "",
                told ? "This evening" : "This evening: told once, for every pull");
  open_form(html, view, "evening");
  be_buf_text(html, "<p class=\"note\">Every pull from now on has what stands here, where neither "
                    "it nor its plan says otherwise. ");
  if (!told && be_evening_told(&shown)) text(html, "Filled in as on ", shown.day, ".");
  be_buf_text(html, "</p>\n");
  be_buf_text(html, "<div class=\"fields\">\n");
  for (int i = 0; i < BE_EVENINGS; i++)
    field_of(html, sent, 'e', be_evening_field(i), be_evening_label(i), NULL, shown.value[i]);
  be_buf_text(html, "</div>\n");
  button(html, "t", "Keep it for every pull", false);
  be_buf_text(html, "</form></details>\n");
  if (told) text(html, "<p class=\"note\">Told of every pull: ", words, ".</p>\n");
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
                  const struct choice *list, size_t count, const char *chosen,
                  const struct be_request *sent)
{
  const char *before = sent_value(sent, name);
  if (before) chosen = before;
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
  tiles(html, title, name, list, sizeof(list) / sizeof *(list), chosen, sent)

static void load_field(struct be_buf *html, const struct survey *survey, const char *label,
                       const struct be_request *sent)
{
  be_write_unit(html, survey);
  typed_field(html, sent, "load", label, NULL);
}

static void write_fields(struct be_buf *html, const struct survey *survey, const char *code,
                         const char *what, bool load_first, const struct be_request *sent)
{
  if (load_first) load_field(html, survey, "Load, with its unit", sent);
  TILES(html, "What let go", "what", whats, what);
  TILES(html, "Where", "where", wheres, NULL);
  TILES(html, "Which", "which", whichs, NULL);
  be_buf_format(html, "<details%s><summary>Note, photo, void, another load</summary>\n",
                sent ? " open" : "");
  TILES(html, "It counts as", "result", results, "");
  typed_field(html, sent, "reason", "Why it is void", NULL);
  if (!load_first)
    load_field(html, survey, "Load as the instrument showed it, with its unit", sent);
  typed_field(html, sent, "judged by", "Judged by (a name or initials)", NULL);
  name_field(html, sent, "photo", "Names of photos, with ; between: the files stay where they are",
             code, "jpg");
  name_field(html, sent, "clip", "Names of clips", code, "mp4");
  typed_field(html, sent, "note", "Note", NULL);
}

static void write_answer(struct be_buf *html, const struct survey *survey,
                         const struct be_session_view *view, const struct be_request *sent)
{
  caution(html, "Hands off until the load reads zero.");
  static const char *const words[] = {[BE_LET_GO_UNSEEN] = NULL,
                                      [BE_LET_GO_BROKE] = "broke",
                                      [BE_LET_GO_SLIPPED_BROKE] = "slipped then broke",
                                      [BE_LET_GO_SLIPPED_OUT] = "slipped out",
                                      [BE_LET_GO_STRAND] = "strand",
                                      [BE_LET_GO_NOTHING] = "nothing"};
  open_form(html, view, "answer");
  write_fields(html, survey, view->specimen, view->suggested ? words[view->suggestion.what] : NULL,
               !view->suggested, sent);
  typed_field(html, sent, "specimen", "Another code, where the book has this one already", NULL);
  be_buf_format(html,
                "</details>\n<details%s><summary>How it was tied and gripped, and in what air"
                "</summary>\n<p class=\"note\">What is left empty is as it was told before, or "
                "planned.</p>\n",
                sent ? " open" : "");
  be_write_handling(html, sent, filled_field);
  be_buf_text(html, "</details>\n");
  button(html, "Enter", "Keep it", true);
  be_buf_text(html, "</form>\n");
  if (!view->may_leave) return;
  open_form(html, view, "leave");
  button(html, "o", "Nothing was pulled: another specimen", false);
  be_buf_text(html, "</form>\n");
}

static void write_again(struct be_buf *html, const struct survey *survey,
                        const struct be_session_view *view, const struct be_request *sent)
{
  if (!*view->last) return;
  be_buf_format(html, "<details class=\"again\"%s>", sent ? " open" : "");
  text(html, "<summary>Answer ", view->last, " again</summary>\n");
  open_form(html, view, "again");
  be_buf_text(html, "<p class=\"note\">The answer that was kept stays on record, and this one goes "
                    "before it.</p>\n");
  write_fields(html, survey, view->last, NULL, false, sent);
  be_buf_text(html, "</details>\n");
  button(html, "Enter", "Keep this answer", true);
  be_buf_text(html, "</form></details>\n");
}

/* ---- by step ---- */

/* The form that was sent, if it is this one. */
static const struct be_request *sent_to(const struct be_request *sent, const char *what)
{
  const char *did = sent_value(sent, "do");
  return did && strcmp(did, what) == 0 ? sent : NULL;
}

void be_write_forms(struct be_buf *html, const struct survey *survey,
                    const struct be_session_view *view, const struct be_request *sent)
{
  switch (view->step) {
  case BE_STEP_CHOOSE: write_choose(html, survey, view, sent_to(sent, "choose")); break;
  case BE_STEP_GUARD: write_guard(html, view); break;
  case BE_STEP_PULL: write_pull(html, view); break;
  case BE_STEP_ANSWER: write_answer(html, survey, view, sent_to(sent, "answer")); break;
  }
  if (view->step == BE_STEP_CHOOSE) write_evening(html, survey, view, sent_to(sent, "evening"));
  if (view->step == BE_STEP_CHOOSE) write_again(html, survey, view, sent_to(sent, "again"));
}
