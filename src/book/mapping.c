/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules of a sheet of the tester's own shape, as they are written; what its words mean, and
 * which of its rows are no specimens. */
#include "book/inside.h"

#include <stddef.h>
#include <stdio.h>
#include <string.h>

/* ---- reading ---- */

enum be_status be_rule_bad(const char *rule, const char *why, struct be_err *err)
{
  be_fail(err, BE_WRONG_USE, "the mapping rule \"%s\" %s", rule, why);
  be_fail_remedy(err, "rules are \"FIELD = COLUMN\", \"FIELD := VALUE\", \"FIELD: WORD = "
                      "MEANING\", \"ignore = COLUMN\", \"as above = COLUMN\", \"titles = FIELD\" "
                      "or \"pass over: COLUMN "
                      "= WORD\"; docs/formats.md lists the fields");
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
  if (!word && !constant && be_text_same(rule->field, "as above")) rule->kind = MAPPING_ABOVE;
  if (!word && !constant && be_text_same(rule->field, "titles")) rule->kind = MAPPING_TITLES;
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

/* ---- what is near ---- */

enum { NEAR_MAX = 60 /* bytes of a name that is compared */ };

static char small(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Letters to put in, take out or change until one is the other (V. I. Levenshtein, 1966). */
static size_t letters_apart(const char *a, const char *b)
{
  size_t row[NEAR_MAX + 1], m = strlen(a), n = strlen(b);
  if (m > NEAR_MAX || n > NEAR_MAX) return SIZE_MAX;
  for (size_t k = 0; k <= n; k++) row[k] = k;
  for (size_t i = 1; i <= m; i++) {
    size_t corner = row[0];
    row[0] = i;
    for (size_t k = 1; k <= n; k++) {
      size_t change = corner + (small(a[i - 1]) != small(b[k - 1]));
      corner = row[k];
      size_t other = (row[k] < row[k - 1] ? row[k] : row[k - 1]) + 1;
      row[k] = change < other ? change : other;
    }
  }
  return row[n];
}

const char *be_name_near(const char *const *names, size_t count, const char *meant)
{
  size_t least = (strlen(meant) + 2) / 3;
  const char *near = NULL;
  for (size_t i = 0; i < count; i++) {
    size_t apart = letters_apart(names[i], meant);
    if (apart > least || apart >= strlen(names[i])) continue;
    bool alike = small(names[i][0]) == small(meant[0]);
    if (apart == least && near && (!alike || small(near[0]) == small(meant[0]))) continue;
    least = apart;
    near = names[i];
  }
  return near;
}

enum be_status be_rule_near(const char *near, struct be_err *err)
{
  struct be_err before;
  if (err && near) {
    before = *err;
    be_fail_remedy(err, "write \"%.60s\" if you mean that; %.400s", near, before.remedy);
  }
  return BE_WRONG_USE;
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

void be_rows_fill_down(struct sheet *sheet, size_t column)
{
  for (size_t row = 2; row <= sheet->rows; row++) {
    char **cell = sheet->cells + row * sheet->columns + column;
    if (!**cell) *cell = cell[-(ptrdiff_t)sheet->columns];
  }
}

size_t be_rows_pass_over(struct sheet *sheet, size_t column, const char *text)
{
  size_t kept = 0;
  for (size_t row = 1; row <= sheet->rows; row++) {
    if (be_text_same(be_sheet_cell(sheet, row, column), text)) continue;
    be_row_move(sheet, ++kept, row);
  }
  size_t passed = sheet->rows - kept;
  sheet->rows = kept;
  return passed;
}

/* ---- kept under names ---- */

enum be_status be_book_mappings(struct be_book *book, struct be_arena *arena,
                                struct be_mapping **list, size_t *count, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  size_t most = 0;
  *count = 0;
  enum be_status status =
      be_count_rows(book, "SELECT count(*) FROM mapping WHERE ?1 = ?1", 0, &most, err);
  *list = status == BE_OK ? be_arena_alloc(arena, (most + 1) * sizeof **list) : NULL;
  if (status == BE_OK && !*list) status = be_fail(err, BE_NO_MEMORY, "no memory for the rules");
  if (status == BE_OK)
    status =
        be_sql_prepare(book->db, "SELECT name, rules FROM mapping ORDER BY name", &rows.s, err);
  for (; be_next_row(&rows, *count, most, &status, err); ++*count)
    (*list)[*count] = (struct be_mapping){be_column_text(&rows, 0), be_column_text(&rows, 1)};
  sqlite3_finalize(rows.s);
  return status;
}

static enum be_status run_of(struct be_book *book, const char *sql, const char *name,
                             struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status = be_sql_prepare(book->db, sql, &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, name);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  return status;
}

/* Whoever enters the files again, as the check does, is not to keep the rules again. */
enum be_status be_book_mapping_forget(struct be_book *book, const char *name, struct be_err *err)
{
  enum be_status status = be_book_begin(book, err);
  if (status != BE_OK) return status;
  status = run_of(book, "DELETE FROM mapping WHERE name = ?1", name, err);
  if (status == BE_OK && sqlite3_changes(book->db) == 0) {
    be_fail(err, BE_WRONG_USE, "the book has no mapping called \"%.80s\"", name);
    be_fail_remedy(err, "`bitterend enter BOOK --mappings` lists them");
    status = BE_WRONG_USE;
  }
  if (status == BE_OK)
    status = run_of(book, "UPDATE entered SET save_as = NULL WHERE save_as = ?1", name, err);
  return be_book_end(book, status, err);
}
