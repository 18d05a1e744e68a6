/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the numbers of a field are, and which fields a kind of sheet cannot do without. */
#include "book/inside.h"

enum be_dimension be_field_dimension(enum field field)
{
  if (field >= FIELD_HANDLING && field <= FIELD_HANDLING_LAST)
    return be_handling_dimension((enum be_handling)(field - FIELD_HANDLING));
  switch (field) {
  case FIELD_LOAD:
  case FIELD_RESOLUTION:
  case FIELD_DRIFT:
  case FIELD_ZERO_BEFORE:
  case FIELD_ZERO_AFTER:
  case FIELD_APPLIED:
  case FIELD_WEIGHT:
  case FIELD_LABEL: return BE_FORCE;
  case FIELD_LENGTH:
  case FIELD_OVERLAP:
  case FIELD_ON_HAND:
  case FIELD_DIAMETER: return BE_LENGTH;
  case FIELD_TIE_TIME:
  case FIELD_SOAK: return BE_TIME;
  case FIELD_SPEED: return BE_SPEED;
  case FIELD_TURNS:
  case FIELD_TURNS_B:
  case FIELD_CROSSINGS_A:
  case FIELD_CROSSINGS_B:
  case FIELD_CALIBRATION:
  case FIELD_MISSED:
  case FIELD_MONTHS:
  case FIELD_REFERENCE:
  case FIELD_BLOCK:
  case FIELD_VALUE:
  case FIELD_ORDER: return BE_RATIO;
  default: return BE_DIMENSIONS;
  }
}

static bool has(const struct fields *fields, enum field field)
{
  return fields->column[field] >= 0 || fields->constant[field] || fields->titled == (int)field;
}

/* The first field that the kind of sheet needs and lacks; FIELDS if none. What was
 * tied is told by the sheet, or, where specimens have codes, perhaps by the book. */
enum field be_field_missing(const struct fields *fields)
{
  static const enum field needed[][3] = {
      [SHEET_LINES] = {FIELD_LINE, FIELD_LINE, FIELD_LINE},
      [SHEET_KNOTS] = {FIELD_KNOT, FIELD_KNOT, FIELD_KNOT},
      [SHEET_BENCHES] = {FIELD_BENCH, FIELD_BENCH, FIELD_BENCH},
      [SHEET_TRIALS] = {FIELD_TRIAL, FIELD_SPECIMEN, FIELD_ORDER},
      [SHEET_RULES] = {FIELD_TRIAL, FIELD_RULE, FIELD_VALUE},
      [SHEET_EVIDENCE] = {FIELD_SPECIMEN, FIELD_SPECIMEN, FIELD_SPECIMEN},
      [SHEET_CALIBRATIONS] = {FIELD_BENCH, FIELD_CALIBRATION_NAME, FIELD_DATE},
      [SHEET_WEIGHTS] = {FIELD_BENCH, FIELD_DATE, FIELD_WEIGHT},
  };
  if (fields->kind == SHEET_PULLS) {
    bool load = fields->column[FIELD_LOAD] >= 0 || fields->column[FIELD_TRACE] >= 0;
    if (fields->column[FIELD_CORRECTION] >= 0) return FIELDS;
    if (!load) return FIELD_LOAD;
    return has(fields, FIELD_KNOT) || fields->column[FIELD_SPECIMEN] >= 0 ? FIELDS : FIELD_KNOT;
  }
  for (int i = 0; i < 3; i++)
    if (!has(fields, needed[fields->kind][i])) return needed[fields->kind][i];
  return FIELDS;
}
