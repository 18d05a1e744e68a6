/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The form that tells how a specimen was tied and pulled, and what it sends: an evidence sheet of
 * one row. What was not recorded is filled in; what was is told anew, with the reason. */
#include "app/site/site.h"

#include "app/typed.h"

#include <stdio.h>
#include <string.h>

enum { SHEET_MAX = 16 * 1024, SEEN_MAX = 24 };

bool be_pull_handles(const struct visit *visit)
{
  const char *what = be_request_form(visit->request, "do");
  return what && strcmp(what, "handle") == 0;
}

/* A mark of what the form showed, by which one that is old is known. */
static void mark_seen(const struct survey *survey, const struct be_handled made[BE_MADES],
                      char seen[SEEN_MAX])
{
  uint64_t mark = 14695981039346656037u; /* FNV-1a */
  for (int i = 0; i < BE_MADES; i++) {
    const char *words = be_made_words(survey, made, i);
    for (const char *at = words ? words : ""; *at; at++)
      mark = (mark ^ (unsigned char)*at) * 1099511628211u;
    mark = (mark ^ '\n') * 1099511628211u;
  }
  snprintf(seen, SEEN_MAX, "%016llx", (unsigned long long)mark);
}

static const char *sent_value(const struct visit *visit, const char *name)
{
  bool stands = visit->wrong.status != BE_OK && be_pull_handles(visit);
  return stands ? be_request_form(visit->request, name) : NULL;
}

void be_handle_form(struct visit *visit, const struct be_pull *pull)
{
  struct be_handled made[BE_MADES];
  struct be_field fields[BE_MADES + 3];
  char seen[SEEN_MAX];
  size_t count = 0;
  if (!visit->takes_posts) return;
  be_pull_made(pull, made);
  mark_seen(&visit->survey, made, seen);
  fields[count++] = (struct be_field){.name = "seen", .value = seen};
  for (int i = 0; i < BE_MADES; i++) {
    int which = (BE_MADE_SOAK + i) % BE_MADES;
    const char *name = be_made_column(which), *sent = sent_value(visit, name);
    const char *words = be_made_words(&visit->survey, made, which);
    fields[count++] = (struct be_field){.name = name,
                                        .label = be_made_label(which),
                                        .value = sent    ? sent
                                                 : words ? words
                                                         : ""};
  }
  fields[count++] = (struct be_field){.name = "reason",
                                      .label = "Why, where something on record is changed",
                                      .value = sent_value(visit, "reason")};
  fields[count++] = (struct be_field){.name = "judged by",
                                      .label = "Told by (a name or initials)",
                                      .value = sent_value(visit, "judged by")};
  const struct be_form form = {.title = "How it was tied, gripped and pulled",
                               .button = "Keep it",
                               .fields = fields,
                               .count = count,
                               .folded = true,
                               .open = visit->wrong.status != BE_OK && be_pull_handles(visit),
                               .does = "handle",
                               .note = "What is empty is not recorded, and can be told now. What "
                                       "is changed goes before what is here, which stays on "
                                       "record."};
  be_form_html(&visit->html, &form, NULL);
}

/* ---- what it sends ---- */

struct telling {
  struct be_buf head, row;
  const char *changed, *was; /* the first that was on record otherwise, or null */
  size_t count;
};

static void tell(struct telling *out, const char *name, const char *value)
{
  be_typed_cell(&out->head, name, ",");
  be_typed_cell(&out->row, value, ",");
}

static enum be_status take_fields(const struct visit *visit, const struct be_pull *pull,
                                  struct telling *out, struct be_err *err)
{
  struct be_handled made[BE_MADES];
  be_pull_made(pull, made);
  for (int i = 0; i < BE_MADES; i++) {
    const char *name = be_made_column(i), *sent = be_request_form(visit->request, name);
    const char *words = be_made_words(&visit->survey, made, i);
    if (!sent || (words && be_text_same(sent, words))) continue;
    if (!sent[strspn(sent, " \t")]) {
      if (!words) continue;
      be_fail(err, BE_BAD_INPUT, "%s is on record as \"%.80s\" and cannot be emptied", name, words);
      return be_fail_remedy(err, "write what it was instead");
    }
    enum be_status status = be_typed_check(name, sent, err);
    if (status != BE_OK) return status;
    tell(out, name, sent);
    out->count++;
    if (words && !out->changed) out->changed = name, out->was = words;
  }
  if (out->count) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "nothing was told that is not on record");
  return be_fail_remedy(err, "fill in or change a field first");
}

static enum be_status take(const struct visit *visit, const struct be_pull *pull,
                           struct telling *out, struct be_err *err)
{
  const char *why = be_request_form(visit->request, "reason");
  const char *by = be_request_form(visit->request, "judged by");
  bool reasoned = why && why[strspn(why, " \t")];
  tell(out, "specimen", pull->code);
  enum be_status status = take_fields(visit, pull, out, err);
  if (status != BE_OK) return status;
  if (out->changed && !reasoned) {
    be_fail(err, BE_BAD_INPUT, "%s is on record as \"%.80s\"", out->changed, out->was);
    return be_fail_remedy(err, "say why it is changed");
  }
  if (by && *by) tell(out, "judged by", by);
  be_typed_cell(&out->head, "reason", "\n");
  be_typed_cell(&out->row, reasoned ? why : "", "\n");
  return BE_OK;
}

/* The remark makes it another file than one that told the same before. */
static enum be_status enter(const struct visit *visit, const struct be_pull *pull,
                            const struct telling *told, struct be_err *err)
{
  static const struct be_entering how = {.decimal = '.'};
  struct be_buf sheet;
  char name[128];
  be_buf_init(&sheet, SHEET_MAX);
  be_buf_format(&sheet, "# after file %lld\n", (long long)visit->survey.record.last.id);
  be_buf_add(&sheet, told->head.data, told->head.size);
  be_buf_add(&sheet, told->row.data, told->row.size);
  snprintf(name, sizeof name, "%.80s.handling.csv", pull->code);
  enum be_status status = be_typed_enter(visit->book_path, name, &sheet, &how, NULL, err);
  be_buf_free(&sheet);
  return status;
}

enum be_status be_pull_handle(struct visit *visit, const struct be_pull *pull, struct be_err *err)
{
  struct be_handled made[BE_MADES];
  struct telling told = {.count = 0};
  const char *seen = be_request_form(visit->request, "seen");
  char now[SEEN_MAX];
  be_pull_made(pull, made);
  mark_seen(&visit->survey, made, now);
  if (seen && strcmp(seen, now) != 0) {
    be_fail(err, BE_WRONG_USE, "how specimen \"%s\" was handled was told meanwhile", pull->code);
    return be_fail_remedy(err, "look at what it is now, then tell what is to be changed");
  }
  be_buf_init(&told.head, SHEET_MAX);
  be_buf_init(&told.row, SHEET_MAX);
  enum be_status status = take(visit, pull, &told, err);
  if (status == BE_OK) status = be_buf_status(&told.head, err);
  if (status == BE_OK) status = be_buf_status(&told.row, err);
  if (status == BE_OK) status = enter(visit, pull, &told, err);
  be_buf_free(&told.head);
  be_buf_free(&told.row);
  return status;
}

/* ---- what was told anew ---- */

enum be_status be_say_retold(struct be_doc *doc, const struct survey *survey, struct be_book *book,
                             const struct be_pull *pull, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"field", "field", BE_COLUMN_TEXT, false},
      {"was", "was", BE_COLUMN_TEXT, false},
      {"told", "told anew", BE_COLUMN_TEXT, false},
      {"why", "why", BE_COLUMN_TEXT, false},
      {"told_by", "told by", BE_COLUMN_TEXT, false},
      {"entered_at", "entered (UTC)", BE_COLUMN_TEXT, false},
  };
  struct be_retold *list = NULL;
  size_t count = 0;
  enum be_status status = be_book_retold(book, pull->id, survey->arena, &list, &count, err);
  if (status != BE_OK || !count) return status;
  struct be_table *table = be_doc_table(doc, "handling", "What was told anew of how it was handled",
                                        columns, sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < count; i++) {
    struct be_handled one[BE_MADES];
    const char *words[2];
    for (int k = 0; k < 2; k++) {
      one[list[i].made] = k ? list[i].is : list[i].was;
      words[k] = be_made_words(survey, one, list[i].made);
    }
    be_table_text(table, "%s", be_made_column(list[i].made));
    be_table_text(table, "%s", words[0] ? words[0] : "not recorded");
    be_table_text(table, "%s", words[1] ? words[1] : "not recorded");
    be_table_text(table, "%s", list[i].why);
    be_table_text(table, "%s", list[i].told_by ? list[i].told_by : "not recorded");
    be_table_text(table, "%.10s %.5s", list[i].entered_at, list[i].entered_at + 11);
  }
  return BE_OK;
}
