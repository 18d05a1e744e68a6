/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules of a sheet of the tester's own shape, as they are written; what its words mean, and
 * which of its rows are no specimens. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

/* ---- reading ---- */

enum be_status be_rule_bad(const char *rule, const char *why, struct be_err *err)
{
  be_fail(err, BE_WRONG_USE, "the mapping rule \"%s\" %s", rule, why);
  be_fail_remedy(err, "rules are \"FIELD = COLUMN\", \"FIELD := VALUE\", \"FIELD: WORD = "
                      "MEANING\", \"ignore = COLUMN\" or \"pass over: COLUMN = WORD\"; "
                      "docs/formats.md lists the fields");
  return BE_WRONG_USE;
}

/* What stands between from and end, without blanks. */
static const char *trimmed(char *from, char *end)
{
  while (end > from && (end[-1] == ' ' || end[-1] == '\t')) end--;
  *end = '\0';
  return from + strspn(from, " \t");
}

/* The last "=" ends a word, for a word may hold one. */
static enum be_status cut(struct mapping_rule *rule, struct be_err *err)
{
  char *text = rule->text, *equals = strchr(text, '='), *colon = strchr(text, ':');
  if (!equals) return be_rule_bad(rule->whole, "has no \"=\"", err);
  bool constant = colon && colon + 1 == equals, word = colon && colon + 1 < equals;
  if (word) equals = strrchr(colon, '=');
  rule->kind = word ? MAPPING_WORD : constant ? MAPPING_VALUE : MAPPING_COLUMN;
  rule->value = equals + 1 + strspn(equals + 1, " \t");
  rule->word = word ? trimmed(colon + 1, equals) : NULL;
  rule->field = trimmed(text, colon && colon < equals ? colon : equals);
  if (word && be_text_same(rule->field, "pass over")) rule->kind = MAPPING_PASS;
  if (!word && !constant && be_text_same(rule->field, "ignore")) rule->kind = MAPPING_IGNORE;
  if (word && (!*rule->word || (rule->kind == MAPPING_WORD && !*rule->value)))
    return be_rule_bad(rule->whole, "lacks a word", err);
  return BE_OK;
}

enum be_status be_mapping_next(const char **mapping, struct mapping_rule *rule, struct be_err *err)
{
  rule->kind = MAPPING_END;
  while (*mapping && **mapping) {
    size_t length = strcspn(*mapping, "\n");
    if (length > MAPPING_RULE_MOST) {
      snprintf(rule->whole, sizeof rule->whole, "%.40s...", *mapping);
      return be_rule_bad(rule->whole, "is too long", err);
    }
    snprintf(rule->whole, sizeof rule->whole, "%.*s", (int)length, *mapping);
    *mapping += length + ((*mapping)[length] == '\n');
    size_t size = strlen(rule->whole);
    while (size && (rule->whole[size - 1] == ' ' || rule->whole[size - 1] == '\r'))
      rule->whole[--size] = '\0';
    if (size == 0 || rule->whole[0] == '#') continue;
    memcpy(rule->text, rule->whole, sizeof rule->text);
    return cut(rule, err);
  }
  return BE_OK;
}

/* ---- words and rows ---- */

struct told_word {
  enum field field;
  const char *theirs, *ours; /* null ours: not recorded */
  const struct told_word *next;
};

enum be_status be_word_add(struct fields *fields, enum field field, const char *theirs,
                           const char *ours, struct be_arena *arena, struct be_err *err)
{
  struct told_word *word = be_arena_alloc(arena, sizeof *word);
  const char *kept = be_arena_text(arena, theirs, strlen(theirs)),
             *said = be_arena_text(arena, ours, strlen(ours));
  if (!word || !kept || !said) return be_fail(err, BE_NO_MEMORY, "no memory for a rule");
  bool silent = be_text_same(ours, "not recorded");
  *word = (struct told_word){field, kept, silent ? NULL : said, fields->words};
  fields->words = word;
  return BE_OK;
}

/* The last rule is the first in the list, so that rules given now go before saved ones. */
const char *be_word_meant(const struct fields *fields, enum field field, const char *text)
{
  for (const struct told_word *word = fields->words; word; word = word->next)
    if (word->field == field && be_text_same(word->theirs, text)) return word->ours;
  return text;
}

size_t be_rows_pass_over(struct sheet *sheet, size_t column, const char *text)
{
  size_t kept = 0;
  for (size_t row = 1; row <= sheet->rows; row++) {
    if (be_text_same(be_sheet_cell(sheet, row, column), text)) continue;
    kept++;
    sheet->lines[kept] = sheet->lines[row];
    memmove(sheet->cells + kept * sheet->columns, sheet->cells + row * sheet->columns,
            sheet->columns * sizeof *sheet->cells);
  }
  size_t passed = sheet->rows - kept;
  sheet->rows = kept;
  return passed;
}
