/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said of a row: its errors, its notes, its numbers. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum be_status be_fail_here(struct entering *in, enum field field, struct be_err *err)
{
  int column = be_field_column(&in->sheet, &in->fields, in->row, field);
  be_fail_at(err, in->name, in->sheet.lines[in->row], column >= 0 ? (size_t)column + 1 : 0);
  if (err && column >= 0) {
    char what[sizeof err->what];
    snprintf(what, sizeof what, "column \"%.100s\": %.280s",
             be_sheet_cell(&in->sheet, 0, (size_t)column), err->what);
    memcpy(err->what, what, sizeof what);
  }
  return err ? err->status : BE_BAD_INPUT;
}

void be_note_here(struct entering *in, size_t line, const char *format, ...)
{
  struct be_entered *entered = in->entered;
  char text[512];
  size_t used = 0;
  if (line) used = (size_t)snprintf(text, sizeof text, "line %zu: ", line);
  va_list list;
  va_start(list, format);
  vsnprintf(text + used, sizeof text - used, format, list);
  va_end(list);
  char *copy = entered->notes_count < BE_BOOK_NOTES_MAX
                   ? be_arena_text(in->arena, text, strlen(text))
                   : NULL;
  if (copy) entered->notes[entered->notes_count++] = copy;
  else entered->notes_dropped++;
}

/* What the user says of the decimal mark settles what else would be asked:
 * with a point said, 1,234 is a thousand and more. */
static enum be_status read_as_said(struct entering *in, const char *text,
                                   enum be_dimension dimension, const struct be_unit *unit,
                                   struct be_quantity *quantity, struct be_err *err)
{
  char plain[128];
  size_t used = 0;
  char thousands = in->how->decimal == '.' ? ',' : '.';
  for (; *text && used + 1 < sizeof plain; text++)
    if (*text != thousands) plain[used++] = *text;
  enum be_status status =
      be_quantity_parse(plain, used, dimension, unit, in->how->decimal, quantity, err);
  quantity->style = BE_NUMBER_THOUSANDS;
  return status;
}

static void note_style(struct entering *in, enum field field, const char *text,
                       const struct be_quantity *quantity)
{
  size_t line = in->sheet.lines[in->row];
  double typed = be_unit_from_si(quantity->value, quantity->unit);
  if (quantity->style == BE_NUMBER_COMMA || quantity->style == BE_NUMBER_POINT) {
    bool comma = quantity->style == BE_NUMBER_COMMA;
    be_note_here(in, line,
                 "column \"%s\": \"%s\" was taken for %g %s: a %s that does not stand "
                 "before three digits is a decimal mark%s",
                 be_field_name(field), text, typed, quantity->unit->name, comma ? "comma" : "point",
                 in->sheet.usual ? ", though the rest of the sheet writes the other" : "");
  } else if (quantity->style == BE_NUMBER_THOUSANDS) {
    be_note_here(in, line,
                 "column \"%s\": \"%s\" was taken for %g %s: marks before groups of three "
                 "digits are thousands",
                 be_field_name(field), text, typed, quantity->unit->name);
  }
}

/* What to do about a cell that should be a number, by what stands in it. */
static void advise(const struct entering *in, enum field field, const char *text,
                   struct be_err *err)
{
  if (!err) return;
  bool digits = strpbrk(text, "0123456789") != NULL;
  bool pulls = in->fields.kind == SHEET_PULLS;
  if (pulls && field == FIELD_LOAD && strchr(text, '%')) {
    be_fail_remedy(err, "a share is no load: enter the load that it was worked out from");
    return;
  }
  bool least = digits && (strchr("><", *text) || text[strlen(text) - 1] == '+');
  if (pulls && field == FIELD_LOAD && least)
    be_fail_remedy(
        err, "where it held at least so much, write the number alone here and \"lower bound\" "
             "in a column \"result\"");
  else if (pulls && field == FIELD_LOAD && digits && !strchr("0123456789", *text))
    be_fail_remedy(err,
                   "write the number alone, then its unit, or say what it means: --word 'load: "
                   "%.40s = ...'; what let go has its columns \"what\" and \"where\"",
                   text);
  else if (!digits) {
    char before[160];
    snprintf(before, sizeof before, "%.159s", err->remedy);
    be_fail_remedy(err,
                   "%s; where there is none, leave it empty or say --word '%s: %.40s = not "
                   "recorded'%s",
                   before, be_field_name(field), text,
                   pulls && field == FIELD_LOAD
                       ? "; a pull without a load needs a trace, or is void with its reason"
                       : "");
  }
}

/* A number that may be below zero. */
static enum be_status read_text(struct entering *in, enum field field, const char *text,
                                enum be_dimension dimension, const struct be_unit *unit,
                                struct be_quantity *quantity, struct be_err *err)
{
  char usual = in->how->decimal ? in->how->decimal : in->sheet.usual;
  enum be_status status =
      be_quantity_parse(text, strlen(text), dimension, unit, usual, quantity, err);
  if (status == BE_ASK && in->how->decimal)
    status = read_as_said(in, text, dimension, unit, quantity, err);
  if (status == BE_BAD_INPUT) advise(in, field, text, err);
  if (status == BE_BAD_INPUT && dimension == BE_RATIO && unit) {
    be_fail(err, BE_BAD_INPUT, "\"%s\" is not a number", text);
    be_fail_remedy(err, "write it in digits, without a unit");
  }
  if (status == BE_OK && !isfinite(quantity->value)) {
    status = be_fail(err, BE_BAD_INPUT, "\"%s\" is too large", text);
    be_fail_remedy(err, "check the number and its unit");
  }
  if (status == BE_OK) note_style(in, field, text, quantity);
  else be_fail_here(in, field, err);
  return status;
}

enum be_status be_field_signed(struct entering *in, enum field field, enum be_dimension dimension,
                               const struct be_unit *fallback, struct be_quantity *quantity,
                               struct be_err *err)
{
  const char *text = be_field_text(&in->sheet, &in->fields, in->row, field);
  const struct be_unit *unit = in->fields.unit[field] ? in->fields.unit[field] : fallback;
  *quantity = (struct be_quantity){.value = NAN};
  if (!text || be_text_same(text, "none")) return BE_OK;
  return read_text(in, field, text, dimension, unit, quantity, err);
}

enum be_status be_field_number(struct entering *in, enum field field, enum be_dimension dimension,
                               const struct be_unit *fallback, struct be_quantity *quantity,
                               struct be_err *err)
{
  enum be_status status = be_field_signed(in, field, dimension, fallback, quantity, err);
  if (status != BE_OK || !(quantity->value < 0)) return status;
  be_fail(err, BE_BAD_INPUT, "\"%s\" is below zero",
          be_field_text(&in->sheet, &in->fields, in->row, field));
  be_fail_remedy(err, "check the number and its unit");
  return be_fail_here(in, field, err);
}

/* ---- what an instrument showed ---- */

/* The unit of the text itself, else of the head, else of its column; "none" there: a bare number.
 */
static enum be_status shown_unit(struct entering *in, const char *own, const struct be_unit **unit,
                                 struct be_err *err)
{
  const char *column = be_field_text(&in->sheet, &in->fields, in->row, FIELD_UNIT);
  *unit = in->fields.unit[FIELD_READING];
  if (!*own && (*unit || !column || be_text_same(column, "none"))) return BE_OK;
  const char *text = *own ? own : column;
  *unit = be_unit_find(text, strlen(text));
  if (*unit) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "\"%s\" is not a unit", text);
  be_fail_remedy(err,
                 "write one such as kg, lb, N or mV, or none where the instrument shows a bare "
                 "number");
  return be_fail_here(in, *own ? FIELD_READING : FIELD_UNIT, err);
}

enum be_status be_field_shown(struct entering *in, struct shown *shown, struct be_err *err)
{
  const char *text = be_field_text(&in->sheet, &in->fields, in->row, FIELD_READING);
  struct be_quantity quantity = {.value = NAN};
  *shown = (struct shown){.value = NAN};
  if (!text || be_text_same(text, "none")) return BE_OK;
  size_t size = strlen(text), digits = size;
  while (digits > 0 && (text[digits - 1] < '0' || text[digits - 1] > '9')) digits--;
  if (digits == 0) digits = size;
  const char *own = text + digits + strspn(text + digits, " .,");
  const char *number = be_arena_format(in->arena, "%.*s", (int)digits, text);
  if (!number) return be_fail(err, BE_NO_MEMORY, "no memory for a reading");
  enum be_status status =
      read_text(in, FIELD_READING, number, BE_RATIO, be_unit_si(BE_RATIO), &quantity, err);
  shown->value = quantity.value;
  return status == BE_OK ? shown_unit(in, own, &shown->unit, err) : status;
}

enum be_status be_turns_read(struct entering *in, enum field field, double *turns,
                             struct be_err *err)
{
  struct be_quantity quantity;
  enum be_status status =
      be_field_number(in, field, BE_RATIO, be_unit_si(BE_RATIO), &quantity, err);
  *turns = quantity.value;
  if (status != BE_OK || !(quantity.value > TURNS_MOST)) return status;
  be_fail(err, BE_BAD_INPUT, "%g is more turns than a knot has", quantity.value);
  be_fail_remedy(err, "turns are between 0 and %d", TURNS_MOST);
  return be_fail_here(in, field, err);
}
