/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a specimen was handled: one list of fields for its pull and its plan. */
#include "book/inside.h"

#include <math.h>
#include <string.h>

#define X(code, column, key, dimension) {column, key, dimension},
static const struct {
  const char *column, *key;
  enum be_dimension dimension;
} table[BE_HANDLINGS] = {BE_HANDLING_LIST(X)};
#undef X

const char *be_handling_column(enum be_handling handling)
{
  return table[handling].column;
}

const char *be_handling_key(enum be_handling handling)
{
  return table[handling].key;
}

enum be_dimension be_handling_dimension(enum be_handling handling)
{
  return table[handling].dimension;
}

static bool is_text(int handling)
{
  return table[handling].dimension == BE_DIMENSIONS;
}

/* ---- a row of a sheet ---- */

/* In a correction a rule's value says nothing: it is for rows that are new. */
static const char *text_of(const struct entering *in, enum field field)
{
  bool corrects = in->fields.kind == SHEET_PULLS &&
                  be_field_text(&in->sheet, &in->fields, in->row, FIELD_CORRECTION);
  if (corrects && in->fields.column[field] < 0) return NULL;
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

static enum be_status refuse(struct entering *in, enum field field, const char *what,
                             const char *remedy, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "\"%s\" %s", text_of(in, field), what);
  be_fail_remedy(err, "%s", remedy);
  return be_fail_here(in, field, err);
}

/* A line melts long before this. */
static const double hottest_K = 500;

static enum be_status read_temperature(struct entering *in, double *kelvin, struct be_err *err)
{
  static const enum field field = FIELD_HANDLING + BE_HANDLED_TEMPERATURE;
  struct be_quantity quantity;
  enum be_status status = be_field_signed(in, field, BE_TEMPERATURE, NULL, &quantity, err);
  *kelvin = quantity.value;
  if (status == BE_BAD_INPUT)
    be_fail_remedy(err, "write \"21 C\" or \"70 F\", or the unit in the head, such as "
                        "\"temperature (C)\"");
  if (status != BE_OK || isnan(quantity.value)) return status;
  if (quantity.value < 0)
    return refuse(in, field, "is below absolute zero", "check the number and its unit", err);
  if (quantity.value > hottest_K)
    return refuse(in, field, "is more than a line bears", "check the number and its unit", err);
  return BE_OK;
}

static enum be_status read_humidity(struct entering *in, double *share, struct be_err *err)
{
  static const enum field field = FIELD_HANDLING + BE_HANDLED_HUMIDITY;
  struct be_quantity quantity;
  const struct be_unit *percent = be_unit_find_in(BE_RATIO, "%", 1);
  enum be_status status = be_field_number(in, field, BE_RATIO, percent, &quantity, err);
  *share = quantity.value;
  if (status == BE_BAD_INPUT)
    be_fail_remedy(err, "write a number from 0 to 100, such as \"55 %%\"");
  if (status != BE_OK || isnan(quantity.value)) return status;
  if (quantity.value > 1)
    return refuse(in, field, "is above 100 %", "a relative humidity is from 0 to 100 %", err);
  if (quantity.value > 0 && quantity.value <= 0.01 && quantity.unit == percent)
    be_note_here(in, in->sheet.lines[in->row],
                 "column \"%s\": \"%s\" was taken for %g %%; a share has the head \"humidity (1)\"",
                 be_field_name(field), text_of(in, field), 100 * quantity.value);
  return BE_OK;
}

/* "none" is zero: it was not drawn up with a load, or not held, or the tag was cut at the knot. */
static enum be_status read_amount(struct entering *in, int handling, double *value,
                                  struct be_err *err)
{
  enum field field = FIELD_OF(handling);
  enum be_dimension dimension = table[handling].dimension;
  const char *text = text_of(in, field);
  struct be_quantity quantity;
  const struct be_unit *usual = handling == BE_HANDLED_TAG    ? be_unit_find_in(BE_LENGTH, "mm", 2)
                                : handling == BE_HANDLED_HELD ? be_unit_si(BE_TIME)
                                                              : NULL;
  enum be_status status = be_field_number(in, field, dimension, usual, &quantity, err);
  *value = be_text_same(text, "none") ? 0 : quantity.value;
  if (status == BE_OK && handling == BE_HANDLED_SEATING && *value > 0 &&
      be_load_possible(*value, err) != BE_OK)
    return be_fail_here(in, field, err);
  return status;
}

/* A date, which the row's session, if it is one, does not come before. */
static enum be_status read_tied(struct entering *in, const char **tied, struct be_err *err)
{
  static const enum field field = FIELD_HANDLING + BE_HANDLED_TIED;
  const char *session = in->fields.kind == SHEET_PULLS
                            ? be_field_text(&in->sheet, &in->fields, in->row, FIELD_SESSION)
                            : NULL;
  char date[DATE_MAX + 1], pulled[DATE_MAX + 1];
  *tied = text_of(in, field);
  if (be_text_same(*tied, "none")) return BE_OK;
  if (!be_when_read(*tied, date))
    return refuse(in, field, "is not a date",
                  "write when it was tied as 2026-03-01, or with a time: 2026-03-01 18:30; or say "
                  "the order of its days: --column 'tied (d/m/y) = ...', or (m/d/y)",
                  err);
  if (session && be_when_read(session, pulled) && strncmp(date, pulled, 10) > 0)
    be_note_here(in, in->sheet.lines[in->row], "tied %s, which is after its session, %s", *tied,
                 session);
  *tied = be_arena_text(in->arena, date, strlen(date));
  return *tied ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a specimen");
}

static enum be_status read_one(struct entering *in, int handling, struct be_handled *handled,
                               struct be_err *err)
{
  handled->text = NULL;
  switch (handling) {
  case BE_HANDLED_TIED: return read_tied(in, &handled->text, err);
  case BE_HANDLED_TEMPERATURE: return read_temperature(in, &handled->number, err);
  case BE_HANDLED_HUMIDITY: return read_humidity(in, &handled->number, err);
  case BE_HANDLED_SEATING:
  case BE_HANDLED_HELD:
  case BE_HANDLED_TAG: return read_amount(in, handling, &handled->number, err);
  default: handled->text = text_of(in, FIELD_OF(handling)); return BE_OK;
  }
}

enum be_status be_handling_read(struct entering *in, const struct be_handled *planned,
                                struct be_handled handled[BE_HANDLINGS], struct be_err *err)
{
  enum be_status status = BE_OK;
  for (int i = 0; i < BE_HANDLINGS && status == BE_OK; i++) {
    handled[i] = planned ? planned[i] : (struct be_handled){NAN, NULL};
    if (text_of(in, FIELD_OF(i))) status = read_one(in, i, &handled[i], err);
  }
  return status;
}

/* ---- in the tables ---- */

void be_handling_bind(sqlite3_stmt *statement, int at, const struct be_handled handled[])
{
  for (int i = 0; i < BE_HANDLINGS; i++)
    if (is_text(i)) be_bind_text(statement, at + i, handled[i].text);
    else be_bind_number(statement, at + i, handled[i].number);
}

void be_handling_columns(struct rows *rows, int at, struct pool pools[BE_HANDLINGS],
                         struct be_handled handled[BE_HANDLINGS])
{
  for (int i = 0; i < BE_HANDLINGS; i++)
    handled[i] = is_text(i) ? (struct be_handled){NAN, be_column_pooled(rows, at + i, &pools[i])}
                            : (struct be_handled){be_column_number(rows->s, at + i), NULL};
}
