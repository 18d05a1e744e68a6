/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rule sheets: what a trial fixes. A rule told anew is a new row with its reason;
 * the last row is in force. Values are kept in one spelling: words as in the list,
 * numbers in plain digits (metres, minutes, a level as a share). */
#include "book/inside.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define X(code, word, others) [code] = {word, others},
static const struct {
  const char *word, *values; /* '|' between; none: any text, or a number */
} table[BE_RULES] = {BE_RULE_LIST(X)};
#undef X

static const double level_least = 0.5, level_most = 0.9999;

const char *be_rule_word(enum be_rule rule)
{
  return rule >= 0 && rule < BE_RULES ? table[rule].word : "not recorded";
}

enum be_rule be_rule_find(const char *word)
{
  int i = 0;
  while (i < BE_RULES && !be_text_same(word, table[i].word)) i++;
  return (enum be_rule)i;
}

void be_rule_usual(enum be_rule rule, char *value, size_t size)
{
  const char *values = *table[rule].values ? table[rule].values : "not told";
  snprintf(value, size, "%.*s", (int)strcspn(values, "|"), values);
}

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

static const char *kept(const char *text, struct be_err *err)
{
  if (!text) be_fail(err, BE_NO_MEMORY, "no memory for a rule");
  return text;
}

/* ---- values ---- */

static enum be_status bad_value(struct entering *in, const char *what, const char *remedy,
                                struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "\"%s\" is not %s", text_of(in, FIELD_VALUE), what);
  be_fail_remedy(err, "%s", remedy);
  return be_fail_here(in, FIELD_VALUE, err);
}

/* One of the words of a rule, in the spelling of the list. */
static enum be_status read_word(struct entering *in, enum be_rule rule, const char **value,
                                struct be_err *err)
{
  char word[64], list[200] = "write one of: ";
  for (const char *at = table[rule].values; *at;) {
    size_t length = strcspn(at, "|"), used = strlen(list);
    snprintf(word, sizeof word, "%.*s", (int)length, at);
    if (be_text_same(*value, word)) {
      *value = kept(be_arena_text(in->arena, word, length), err);
      return *value ? BE_OK : BE_NO_MEMORY;
    }
    at += length + (at[length] == '|');
    snprintf(list + used, sizeof list - used, "%s%s", word, *at ? ", " : "");
  }
  return bad_value(in, "a value of this rule", list, err);
}

/* Digits alone, for a seed may be longer than a double holds. */
static enum be_status read_whole(struct entering *in, enum be_rule rule, const char **value,
                                 struct be_err *err)
{
  const char *text = *value;
  errno = 0;
  unsigned long long number = strtoull(text, NULL, 10);
  if (text[strspn(text, "0123456789")] || errno == ERANGE)
    return bad_value(in, "a whole number", "write it in digits alone", err);
  if (rule == BE_RULE_NUMBER && number == 0)
    return bad_value(in, "a number of specimens", "write 1 or more", err);
  *value = kept(be_arena_format(in->arena, "%llu", number), err);
  return *value ? BE_OK : BE_NO_MEMORY;
}

static enum be_status read_number(struct entering *in, enum be_rule rule, const char **value,
                                  struct be_err *err)
{
  enum be_dimension dimension = rule == BE_RULE_METRES    ? BE_LENGTH
                                : rule == BE_RULE_MINUTES ? BE_TIME
                                                          : BE_RATIO;
  const struct be_unit *unit =
      rule == BE_RULE_MINUTES ? be_unit_find_in(BE_TIME, "min", 3) : be_unit_si(dimension);
  struct be_quantity quantity;
  enum be_status status = be_field_number(in, FIELD_VALUE, dimension, unit, &quantity, err);
  if (status != BE_OK) return status;
  double number = rule == BE_RULE_MINUTES ? quantity.value / unit->factor : quantity.value;
  if (rule == BE_RULE_LEVEL && !(number >= level_least && number <= level_most))
    return bad_value(in, "a level", "write a share between 0.5 and 0.9999, such as 0.95", err);
  if (!(number > 0)) return bad_value(in, "above zero", "write a number above zero", err);
  *value = kept(be_arena_format(in->arena, "%.15g", number), err);
  return *value ? BE_OK : BE_NO_MEMORY;
}

static enum be_status read_value(struct entering *in, enum be_rule rule, const char **value,
                                 struct be_err *err)
{
  *value = text_of(in, FIELD_VALUE);
  if (in->fields.unit[FIELD_VALUE]) {
    be_fail(err, BE_BAD_INPUT, "the values of rules have no unit in common");
    be_fail_remedy(err, "leave the brackets out of the head, and write the unit behind its number");
    return be_fail_here(in, FIELD_VALUE, err);
  }
  if (!*value) {
    be_fail(err, BE_BAD_INPUT, "the rule \"%s\" has no value", table[rule].word);
    be_fail_remedy(err, "give it one, or take the row out");
    return be_fail_here(in, FIELD_VALUE, err);
  }
  if (*table[rule].values) return read_word(in, rule, value, err);
  switch (rule) {
  case BE_RULE_SEED:
  case BE_RULE_NUMBER: return read_whole(in, rule, value, err);
  case BE_RULE_LEVEL:
  case BE_RULE_METRES:
  case BE_RULE_MINUTES: return read_number(in, rule, value, err);
  default: return BE_OK;
  }
}

static enum be_status read_rule(struct entering *in, enum be_rule *rule, struct be_err *err)
{
  const char *word = text_of(in, FIELD_RULE);
  *rule = word ? be_rule_find(word) : BE_RULES;
  if (*rule != BE_RULES) return BE_OK;
  char list[400] = "";
  for (int i = 0; i < BE_RULES; i++) {
    size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", table[i].word);
  }
  be_fail(err, BE_BAD_INPUT, "\"%s\" is not a rule of a trial", word ? word : "");
  be_fail_remedy(err, "write one of: %s", list);
  return be_fail_here(in, FIELD_RULE, err);
}

/* ---- rows ---- */

struct ruling {
  sqlite3_stmt *last, *add;
};

/* How the row stands to what the book has of this rule. */
struct standing {
  bool told, same, usual;
  int64_t pulled;
};

static enum be_status look(struct entering *in, struct ruling *out, int64_t trial,
                           enum be_rule rule, const char *value, struct standing *standing,
                           struct be_err *err)
{
  bool row = false;
  char usual[64];
  sqlite3_bind_int64(out->last, 1, trial);
  be_bind_text(out->last, 2, table[rule].word);
  enum be_status status = be_sql_step(out->last, &row, err);
  *standing = (struct standing){.told = row, .same = row && be_same_text(out->last, 0, value)};
  if (row && !sqlite3_column_text(out->last, 0))
    status = be_fail(err, BE_NO_MEMORY, "no memory for a rule");
  sqlite3_reset(out->last);
  if (status == BE_OK) status = be_trial_pulled(in->book, trial, &standing->pulled, err);
  be_rule_usual(rule, usual, sizeof usual);
  standing->usual = strcmp(usual, value) == 0;
  return status;
}

/* What was fixed, or was silent while specimens were pulled, changes with a reason. */
static enum be_status expect_reason(struct entering *in, enum be_rule rule,
                                    const struct standing *standing, struct be_err *err)
{
  bool first = !standing->told && (standing->usual || !standing->pulled);
  if (first || text_of(in, FIELD_REASON)) return BE_OK;
  if (standing->told)
    be_fail(err, BE_BAD_INPUT, "the rule \"%s\" was told before, with another value",
            table[rule].word);
  else
    be_fail(err, BE_BAD_INPUT, "the rule \"%s\" is told after %lld pull%s of the trial",
            table[rule].word, (long long)standing->pulled, standing->pulled == 1 ? "" : "s");
  be_fail_remedy(err, "what a trial fixed is changed with a \"reason\", and both are kept");
  return be_fail_here(in, in->fields.column[FIELD_REASON] >= 0 ? FIELD_REASON : FIELD_VALUE, err);
}

static enum be_status add_rule(struct entering *in, struct ruling *out, int64_t trial,
                               enum be_rule rule, const char *value, int64_t pulled,
                               struct be_err *err)
{
  sqlite3_bind_int64(out->add, 1, trial);
  be_bind_text(out->add, 2, table[rule].word);
  be_bind_text(out->add, 3, value);
  be_bind_text(out->add, 4, text_of(in, FIELD_REASON));
  sqlite3_bind_int64(out->add, 5, pulled);
  sqlite3_bind_int64(out->add, 6, in->file);
  sqlite3_bind_int64(out->add, 7, (int64_t)in->sheet.lines[in->row]);
  enum be_status status = be_sql_step(out->add, NULL, err);
  sqlite3_reset(out->add);
  in->entered->rules += status == BE_OK;
  return status;
}

static enum be_status enter_row(struct entering *in, struct ruling *out, struct be_err *err)
{
  int64_t trial = 0;
  enum be_rule rule = BE_RULES;
  const char *value = NULL;
  struct standing standing = {0};
  enum be_status status = be_trial_resolve(in, &trial, err);
  if (status == BE_OK) status = read_rule(in, &rule, err);
  if (status == BE_OK) status = read_value(in, rule, &value, err);
  if (status == BE_OK) status = look(in, out, trial, rule, value, &standing, err);
  if (status != BE_OK) return status;
  if (standing.same) {
    in->entered->known++;
    return BE_OK;
  }
  status = expect_reason(in, rule, &standing, err);
  return status == BE_OK ? add_rule(in, out, trial, rule, value, standing.pulled, err) : status;
}

enum be_status be_enter_rule_rows(struct entering *in, struct be_err *err)
{
  struct ruling out = {0};
  sqlite3 *db = in->book->db;
  enum be_status status = be_sql_prepare(
      db, "SELECT value FROM rule WHERE trial = ?1 AND rule = ?2 ORDER BY id DESC LIMIT 1",
      &out.last, err);
  if (status == BE_OK)
    status = be_sql_prepare(db,
                            "INSERT INTO rule (trial, rule, value, reason, pulled, file, file_line)"
                            " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                            &out.add, err);
  for (in->row = 1; in->row <= in->sheet.rows && status == BE_OK; in->row++)
    status = enter_row(in, &out, err);
  sqlite3_finalize(out.last);
  sqlite3_finalize(out.add);
  return status;
}

/* ---- in force ---- */

enum be_status be_kind_rules(struct be_book *book, int64_t trial, struct kind_rules *rules,
                             struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool row = true;
  *rules = (struct kind_rules){false, false, false};
  enum be_status status = be_sql_prepare(
      book->db, "SELECT rule, value FROM rule WHERE trial = ?1 ORDER BY id", &s, err);
  if (status == BE_OK) sqlite3_bind_int64(s, 1, trial);
  while (status == BE_OK) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    const char *word = (const char *)sqlite3_column_text(s, 0);
    const char *value = (const char *)sqlite3_column_text(s, 1);
    if (!word || !value) status = be_fail(err, BE_NO_MEMORY, "no memory for the rules");
    else if (strcmp(word, table[BE_RULE_GRIP].word) == 0)
      rules->void_at_grip = strcmp(value, "void") == 0;
    else if (strcmp(word, table[BE_RULE_CLEAR].word) == 0)
      rules->event_clear = strcmp(value, "event") == 0;
    else if (strcmp(word, table[BE_RULE_SLIP].word) == 0)
      rules->void_slip = strcmp(value, "void") == 0;
  }
  sqlite3_finalize(s);
  return status;
}
