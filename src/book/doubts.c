/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that would be entered and are likely no pulls: those of means, which look like any other,
 * and those with a mark where a name is not known. Who has a name like that says so by a rule. */
#include "book/inside.h"

#include <string.h>

/* Words of means and sums, in languages that sheets are kept in; the second list only where nothing
 * else stands in the cell, for they are names of people too. */
static const char *const sums[] = {"average",
                                   "averages",
                                   "avg",
                                   "mean",
                                   "means",
                                   "median",
                                   "total",
                                   "totals",
                                   "subtotal",
                                   "stdev",
                                   "std dev",
                                   "std.dev",
                                   "standard deviation",
                                   "durchschnitt",
                                   "mittelwert",
                                   "mittel",
                                   "gesamt",
                                   "summe",
                                   "moyenne",
                                   "somme",
                                   "promedio",
                                   "gemiddelde"};
static const char *const alone[] = {"sum",   "min",    "max",     "minimum", "maximum", "sd",
                                    "std",   "media",  "range",   "count",   "suma",    "best",
                                    "worst", "spread", "highest", "lowest"};

static bool is_letter(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80;
}

static bool starts_with(const char *text, size_t size, const char *word)
{
  char start[24];
  size_t length = strlen(word);
  if (size < length || length >= sizeof start) return false;
  memcpy(start, text, length);
  start[length] = '\0';
  return be_text_same(start, word);
}

/* "Mean", "Average:", "Total of ten", "palomar average". */
bool be_tells_sums(const char *text)
{
  size_t size = strlen(text);
  while (size && strchr(" .:=", text[size - 1])) size--;
  for (size_t i = 0; i < sizeof sums / sizeof sums[0]; i++) {
    size_t length = strlen(sums[i]);
    if (starts_with(text, size, sums[i]) && !is_letter(text[length])) return true;
    if (size > length && !is_letter(text[size - length - 1]) &&
        starts_with(text + size - length, length, sums[i]))
      return true;
  }
  for (size_t i = 0; i < sizeof alone / sizeof alone[0]; i++)
    if (size == strlen(alone[i]) && starts_with(text, size, alone[i])) return true;
  return false;
}

/* "?", "-", "--", "n/a": how a cell is filled of which nothing is known. */
static bool is_mark(const char *text)
{
  static const char *const marks[] = {"n/a", "n.a.", "unknown", "tbd", "#n/a", "n.b."};
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (be_text_same(text, marks[i])) return true;
  for (; *text; text++)
    if (is_letter(*text) || (*text >= '0' && *text <= '9')) return false;
  return true;
}

static enum be_status refuse_sum(struct entering *in, size_t column, struct be_err *err)
{
  const char *text = be_sheet_cell(&in->sheet, in->row, column),
             *head = be_sheet_cell(&in->sheet, 0, column);
  be_fail(err, BE_BAD_INPUT, "column \"%.60s\": \"%.60s\" tells a row of means or totals, no pull",
          head, text);
  be_fail_at(err, in->name, in->sheet.lines[in->row], column + 1);
  return be_fail_remedy(err,
                        "pass over it with --pass-over '%.60s = %.60s'; if it is a pull, write "
                        "another word",
                        head, text);
}

static enum be_status refuse_mark(struct entering *in, enum field field, const char *text,
                                  struct be_err *err)
{
  const char *name = be_field_name(field);
  bool needed = field == FIELD_KNOT || field == FIELD_LINE_A;
  be_fail(err, BE_BAD_INPUT, "\"%.60s\" is a mark, no %s", text, name);
  if (needed)
    be_fail_remedy(err,
                   "write which it was; a pull of which it is not known is passed over with "
                   "--pass-over '%.60s = %.60s'",
                   in->fields.column[field] < 0
                       ? name
                       : be_sheet_cell(&in->sheet, 0, (size_t)in->fields.column[field]),
                   text);
  else
    be_fail_remedy(
        err,
        "leave it empty where it is not known, write none where there was none, or say what it "
        "means: --word '%s: %.60s = not recorded'",
        name, text);
  return be_fail_here(in, field, err);
}

static enum be_status refuse_day(struct entering *in, const char *text, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "\"%.40s\" is no day in the order %s", text, in->fields.days[0]);
  be_fail_remedy(err, "mend the cell, or say another order");
  return be_fail_here(in, FIELD_SESSION, err);
}

/* Once a sheet: the calibration in force hangs on the day. */
static void note_day(struct entering *in, const char *text)
{
  if (in->day_noted) return;
  in->day_noted = true;
  int column = in->fields.column[FIELD_SESSION];
  be_note_here(in, in->sheet.lines[in->row],
               "the session \"%.40s\" is kept as a name, for it may be two days; to make days of "
               "such, say --column 'session (d/m/y) = %.60s', or (m/d/y)",
               text, column < 0 ? "COLUMN" : be_sheet_cell(&in->sheet, 0, (size_t)column));
}

/* Names by which pulls are told apart, counted or grouped. */
static const enum field names[] = {
    FIELD_KNOT,
    FIELD_KNOT_B,
    FIELD_LINE_A,
    FIELD_LINE_B,
    FIELD_SPOOL_A,
    FIELD_SPOOL_B,
    FIELD_SPECIMEN,
    FIELD_HARDWARE,
    FIELD_TYER,
    FIELD_LUBRICANT,
    FIELD_OF(BE_HANDLED_GLUE),
    FIELD_OF(BE_HANDLED_WATER),
    FIELD_OF(BE_HANDLED_GRIPS),
    FIELD_SESSION,
    FIELD_BENCH,
    FIELD_JUDGED,
};

/* The field that takes its text from a column; FIELDS: none does. */
static enum field taken_by(const struct fields *fields, size_t column)
{
  int i = 0;
  while (i < FIELDS && fields->column[i] != (int)column) i++;
  return (enum field)i;
}

/* A column that is passed over may be the one that tells. */
static bool may_tell_sums(enum field field)
{
  return field == FIELDS || field == FIELD_SPECIMEN || field == FIELD_KNOT ||
         field == FIELD_LINE_A || field == FIELD_SPOOL_A || field == FIELD_ORDER;
}

/* Remarks, which may well begin with such a word, are not named so. */
static bool is_one_of(const char *text)
{
  for (size_t i = 0; i < sizeof sums / sizeof sums[0]; i++)
    if (be_text_same(text, sums[i])) return true;
  return false;
}

static const char *cell_of(const struct entering *in, enum field field)
{
  int column = in->fields.column[field];
  return column < 0 ? NULL : be_sheet_cell(&in->sheet, in->row, (size_t)column);
}

/* A load alone may be a pull of which rules say the rest. */
static enum be_status refuse_title(struct entering *in, const char *text, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "a row of one cell, \"%.60s\", that is no load", text);
  be_fail_at(err, in->name, in->sheet.lines[in->row], 0);
  return be_fail_remedy(err, "if it is the title of what is below, say which field it tells, such "
                             "as --titles 'line A'; else take it out");
}

enum be_status be_row_doubt(struct entering *in, struct be_err *err)
{
  if (in->how->like) return BE_OK; /* it was entered before, and is in the book */
  const char *only = be_row_only(&in->sheet, in->row);
  bool coded = only == cell_of(in, FIELD_SPECIMEN) && in->fields.column[FIELD_KNOT] < 0;
  if (only && in->sheet.columns > 1 && only != cell_of(in, FIELD_LOAD) &&
      only != cell_of(in, FIELD_TRACE) && !coded)
    return refuse_title(in, only, err);
  for (size_t i = 0; i < in->sheet.columns; i++) {
    enum field field = taken_by(&in->fields, i);
    const char *text = be_sheet_cell(&in->sheet, in->row, i);
    const char *meant = field == FIELDS ? text : be_word_meant(&in->fields, field, text);
    if (may_tell_sums(field) && meant == text && be_tells_sums(text) &&
        (field < FIELDS || is_one_of(text)))
      return refuse_sum(in, i, err);
  }
  const char *session = be_field_text(&in->sheet, &in->fields, in->row, FIELD_SESSION);
  if (session && be_day_is_unread(session)) {
    if (in->fields.days[0]) return refuse_day(in, session, err);
    note_day(in, session);
  }
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    const char *text = be_field_text(&in->sheet, &in->fields, in->row, names[i]);
    if (text && is_mark(text)) return refuse_mark(in, names[i], text, err);
  }
  return BE_OK;
}
