/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The form that corrects the result of a pull, and what it sends: a pull sheet of one row, which is
 * entered as anybody's. It names the result that was seen, so that a newer one is not passed over.
 */
#include "app/site/site.h"

#include "app/live/live.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Which result it corrects and why, then columns of a pull sheet. */
const char *const be_correct_takes[] = {"corrects",  "correction", "load",   "what",
                                        "where",     "which",      "result", "reason",
                                        "judged by", "note",       NULL};
static const char *const *const result_fields = be_correct_takes + 2;

/* ---- the form ---- */

static void text(struct be_buf *html, const char *before, const char *value, const char *after)
{
  be_buf_text(html, before);
  be_markup_text(html, value);
  be_buf_text(html, after);
}

static void label(struct be_buf *html, const char *name, const char *words)
{
  be_buf_text(html, "<div><label for=\"c-");
  for (const char *at = name; *at; at++) be_buf_char(html, *at == ' ' ? '-' : *at);
  text(html, "\">", words, "</label>");
}

static void named(struct be_buf *html, const char *tag, const char *name)
{
  be_buf_format(html, "<%s id=\"c-", tag);
  for (const char *at = name; *at; at++) be_buf_char(html, *at == ' ' ? '-' : *at);
  text(html, "\" name=\"", name, "\"");
}

/* What was sent and refused stands there again; else what the book has. */
static const char *value_of(const struct visit *visit, const char *name, const char *kept)
{
  const char *sent = be_request_form(visit->request, name);
  if (sent && visit->wrong.status != BE_OK) return sent;
  return kept ? kept : "";
}

static void typed(const struct visit *visit, struct be_buf *html, const char *name,
                  const char *words, const char *kept)
{
  label(html, name, words);
  named(html, "input", name);
  text(html, " autocomplete=\"off\" value=\"", value_of(visit, name, kept), "\"");
  be_buf_text(html, strcmp(name, "correction") == 0 ? " required></div>\n" : "></div>\n");
}

static void option(struct be_buf *html, const char *value, const char *words, const char *now)
{
  text(html, "<option value=\"", value, strcmp(value, now) == 0 ? "\" selected>" : "\">");
  text(html, "", words, "</option>\n");
}

static const char *what_word(int at)
{
  return be_what_word((enum be_what)at);
}

static const char *where_word(int at)
{
  return be_where_word((enum be_where)at);
}

static const char *which_word(int at)
{
  return be_which_word((enum be_which)at);
}

static const char *kind_word(int at)
{
  return be_kind_word((enum be_kind)at);
}

struct list {
  const char *name, *label, *none; /* none: its first word, which is sent as nothing */
  const char *(*word)(int at);
  int last;
};

static void chosen(const struct visit *visit, struct be_buf *html, const struct list *list,
                   int kept)
{
  const char *now = value_of(visit, list->name, kept ? list->word(kept) : "");
  label(html, list->name, list->label);
  named(html, "select", list->name);
  be_buf_text(html, ">\n");
  option(html, "", list->none, now);
  for (int i = 1; i <= list->last; i++) option(html, list->word(i), list->word(i), now);
  be_buf_text(html, "</select></div>\n");
}

/* The load as a sheet takes it: with a point and its unit, however it was typed. */
static void load_words(const struct be_pull *pull, char words[64])
{
  const char *name = pull->load_unit;
  const struct be_unit *unit = name ? be_unit_find_in(BE_FORCE, name, strlen(name)) : NULL;
  words[0] = '\0';
  if (pull->load_text && unit && !isnan(pull->load_N))
    snprintf(words, 64, "%.12g %s", pull->load_N / unit->factor, unit->name);
}

static void fields(const struct visit *visit, const struct be_pull *pull, struct be_buf *html)
{
  static const struct list what = {"what", "What let go", "not recorded", what_word,
                                   BE_WHAT_NOTHING},
                           where = {"where", "Where", "not recorded", where_word,
                                    BE_WHERE_NOT_SEEN},
                           result = {"result", "It counts as", "by the rules", kind_word,
                                     BE_KIND_VOID};
  const struct list which = {"which", "Which", "not recorded", which_word,
                             pull->knot_b < 0 ? BE_WHICH_NONE : BE_WHICH_KNOT_B};
  char load[64];
  bool is_void = pull->kind == BE_KIND_VOID;
  load_words(pull, load);
  typed(visit, html, "correction", "Why it is corrected", NULL);
  typed(visit, html, "load",
        pull->trace ? "Load, with its unit; empty: that of the trace" : "Load, with its unit",
        load);
  chosen(visit, html, &what, (int)pull->what);
  chosen(visit, html, &where, (int)pull->where);
  chosen(visit, html, &which, (int)pull->which);
  chosen(visit, html, &result, is_void ? (int)BE_KIND_VOID : 0);
  typed(visit, html, "reason", "Why it is void, if so", is_void ? pull->reason : NULL);
  typed(visit, html, "judged by", "Judged by (a name or initials)", pull->judged_by);
  typed(visit, html, "note", "Note", pull->note);
}

void be_correct_form(struct visit *visit, const struct be_pull *pull)
{
  struct be_buf *html = &visit->html;
  if (!visit->takes_posts) return;
  be_buf_format(html,
                "<section class=\"correct\" aria-labelledby=\"correct-name\">"
                "<h2 id=\"correct-name\">Correct the result</h2>\n"
                "<p class=\"note\">What is here now stays on record, and this goes before it. What "
                "was tied cannot be corrected.</p>\n"
                "<form method=\"post\" action=\"/pull/%lld",
                (long long)pull->id);
  if (*visit->unit) text(html, "?", visit->unit, "");
  be_buf_format(html, "\"><input type=\"hidden\" name=\"corrects\" value=\"%lld\">\n",
                (long long)pull->result);
  fields(visit, pull, html);
  be_buf_text(html, "<button type=\"submit\">Keep the correction</button>\n</form></section>\n");
}

/* ---- what it sends ---- */

static enum be_status take(const struct be_request *request, const struct be_pull *pull,
                           struct be_told *told, struct be_err *err)
{
  const char *why = be_request_form(request, "correction");
  if (!why || !why[strspn(why, " \t")])
    return be_fail(err, BE_BAD_INPUT, "a correction needs its reason: say why it is corrected");
  told->count = 0;
  enum be_status status = be_told_set(told, "specimen", pull->code, err);
  if (status == BE_OK) status = be_told_set(told, "correction", why, err);
  for (size_t i = 0; result_fields[i] && status == BE_OK; i++) {
    const char *value = be_request_form(request, result_fields[i]);
    if (value && *value) status = be_told_set(told, result_fields[i], value, err);
  }
  return status;
}

enum be_status be_pull_correct(struct visit *visit, struct be_err *err)
{
  const char *seen = be_request_form(visit->request, "corrects");
  const struct be_pull *pull = be_pull_at(visit);
  struct be_told told;
  size_t result = 0;
  if (!pull) return be_fail(err, BE_NO, "there is no such pull");
  if (!seen || !be_index_read(seen, SIZE_MAX, &result) || result == 0)
    return be_fail(err, BE_WRONG_USE, "the form does not say which result it corrects");
  enum be_status status = take(visit->request, pull, &told, err);
  return status == BE_OK ? be_live_correct(visit->book_path, &told, (int64_t)result, err) : status;
}
