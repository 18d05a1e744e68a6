/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a knot of the book runs. */
#include "app/anatomy/anatomy.h"
#include "app/knots/knots.h"

#include <math.h>
#include <string.h>

const char *be_knot_tie(const struct be_knot *knot)
{
  return knot->tie && *knot->tie && !be_text_same(knot->tie, "none") ? knot->tie : NULL;
}

const char *be_knot_tie_words(const struct survey *survey, const struct be_knot *knot)
{
  enum { WORDS_MAX = 40 };
  const char *text = be_knot_tie(knot);
  if (!text) return "";
  if (strncmp(text, "tie ", 4) == 0) text += 4;
  text += strspn(text, " \t\r\n");
  size_t whole = strcspn(text, "\r\n"), length = whole;
  if (length > WORDS_MAX)
    for (length = WORDS_MAX; length > 0 && ((unsigned char)text[length] & 0xC0) == 0x80;) length--;
  const char *words =
      be_arena_format(survey->arena, "%.*s%s", (int)length, text, length < whole ? "..." : "");
  return words ? words : "?";
}

const char *be_knot_tie_way(const struct survey *survey, const struct be_knot *knot,
                            const char *text)
{
  const struct be_tie_kept kept = {
      .knot = knot->name,
      .version = knot->version,
      .turns = isnan(knot->turns) ? NULL : be_arena_format(survey->arena, "%.4g", knot->turns),
      .text = text};
  const char *way = be_tie_address_of(survey->arena, "/tie", &kept);
  return way ? way : "";
}

static const struct be_tie_entry *entry_of(const struct survey *survey, const struct be_knot *knot)
{
  const struct be_tie_entry *entry = NULL;
  if (be_tie_find(knot->name, &entry, NULL) == BE_OK) return entry;
  for (const char *at = knot->aliases; at && *at;) {
    size_t length = strcspn(at, ",");
    const char *alias = be_arena_text(survey->arena, at, length);
    if (alias && be_tie_find(alias, &entry, NULL) == BE_OK) return entry;
    at += length + (at[length] == ',');
    at += strspn(at, " ");
  }
  return NULL;
}

const char *be_knot_tie_by_name(const struct survey *survey, const struct be_knot *knot)
{
  const struct be_tie_entry *entry = entry_of(survey, knot);
  if (!entry) return NULL;
  const char *text = be_arena_text(survey->arena, entry->text, entry->size);
  if (!text || isnan(knot->turns) || !strstr(text, "\nset turns ")) return entry->name;
  return be_arena_format(survey->arena, "%s turns=%.4g", entry->name, knot->turns);
}

/* As it is written, a row for each of its lines. */
static void say_text(struct be_doc *doc, const char *text)
{
  static const struct be_column columns[] = {{"text", "as it is written", BE_COLUMN_TEXT, false}};
  struct be_table *table = be_doc_table(doc, "tie", "Its tie as text", columns, 1);
  while (*text) {
    size_t length = strcspn(text, "\n");
    size_t shown = length > 0 && text[length - 1] == '\r' ? length - 1 : length;
    be_table_text(table, "%.*s", (int)shown, text);
    text += length + (text[length] == '\n');
  }
  be_table_fold(table);
}

/* A tie that cannot be read is no reason to be without the knot's strength. */
enum be_status be_say_tie(struct be_doc *doc, const struct survey *survey,
                          const struct be_knot *knot, struct be_err *err)
{
  const char *text = be_knot_tie(knot);
  struct be_doc *anatomy = NULL;
  struct be_err why = {0};
  if (!text) {
    be_doc_note(doc, "How it runs is not recorded: the column \"tie\" of a knot sheet tells it, or "
                     "the page of ties.");
    return BE_OK;
  }
  enum be_status status = be_tie_doc(text, survey->arena, &anatomy, &why);
  if (status == BE_NO_MEMORY || status == BE_FAILED) {
    if (err) *err = why;
    return status;
  }
  if (status == BE_OK) {
    be_doc_heading(doc, "How it runs");
    be_doc_join(doc, anatomy);
  } else {
    be_doc_note(doc, "Its tie cannot be read: %s%s%s.", why.what, *why.remedy ? "; " : "",
                why.remedy);
  }
  say_text(doc, text);
  return BE_OK;
}
