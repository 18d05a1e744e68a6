/* SPDX-License-Identifier: GPL-3.0-or-later */
/* units: quantities as people write them. Numbers in either decimal style are
 * read exactly; units convert at the edge, and inside the program everything
 * is SI. */
#ifndef BE_UNITS_H
#define BE_UNITS_H

#include "base/base.h"

/* ---- numbers ----------------------------------------------------------- */

/* Reads one number at the start of text[0..size): sign, digits, one decimal
 * mark (`mark` is '.' or ','), exponent. Correctly rounded, as strtod would.
 * Returns the bytes read; 0 if there is no number. No thousands marks, no
 * hexadecimal, no "inf" or "nan". Never reads past size. */
size_t be_number_scan(const char *text, size_t size, char mark, double *value);

/* digits / 10^decimals, correctly rounded, where both are exact enough for it to
 * be told: up to 19 digits and 27 decimals. False leaves *value alone. */
bool be_number_ratio(uint64_t digits, int decimals, double *value);

/* Each of `count` texts less the first of them: the decimals are subtracted exactly and only
 * the difference is rounded, once, so that 1000000000000.4 keeps its last digit. Each text is one
 * whole number, as be_number_scan reads it. Errors name the text, counted from 1: BE_BAD_INPUT
 * when it is no number, BE_TOO_LARGE when it or the difference is no double or needs more than
 * a thousand digits. */
enum be_status be_number_offsets(const char *const *texts, size_t count, char mark, double *offsets,
                                 struct be_err *err);

/* How a number that a person typed was understood. */
enum be_number_style {
  BE_NUMBER_PLAIN,     /* digits only, or marks that fit the expected style */
  BE_NUMBER_COMMA,     /* a comma was taken for the decimal mark */
  BE_NUMBER_POINT,     /* a point was taken for the decimal mark though commas are usual here */
  BE_NUMBER_THOUSANDS, /* marks in threes were taken for thousands */
};

/* Reads a whole typed number. `usual` is the decimal mark of the rest of the
 * column ('.' or ',', or 0 when not known). The rule, stated once:
 *   both marks present: the one that comes last is the decimal mark;
 *   the usual mark: the decimal mark;
 *   the other mark, once, not before exactly three digits: the decimal mark;
 *   the other mark, repeated before groups of three: thousands;
 *   the other mark, once, before exactly three digits: BE_ASK (1,234 is both).
 * Spaces (also thin and no-break) and apostrophes between groups of three are
 * thousands marks. BE_BAD_INPUT when it is not a number. */
enum be_status be_number_parse(const char *text, size_t size, char usual, double *value,
                               enum be_number_style *style, struct be_err *err);

/* ---- units ------------------------------------------------------------- */

enum be_dimension {
  BE_FORCE,          /* newton */
  BE_LENGTH,         /* metre */
  BE_TIME,           /* second */
  BE_SPEED,          /* metre per second */
  BE_LINEAR_DENSITY, /* kilogram per metre */
  BE_VOLTAGE,        /* volt */
  BE_TEMPERATURE,    /* kelvin */
  BE_RATIO,          /* 1 */
  BE_DIMENSIONS
};

/* A mass unit (kg, g, lb, oz) names the force of that mass under standard
 * gravity, 9.80665 m/s2, because that is what anglers mean by it. */
struct be_unit {
  const char *name;  /* as printed: "lb", "kg", "N", "mm" */
  const char *words; /* other spellings, one space between, lower case */
  enum be_dimension dimension;
  double factor, zero; /* SI = factor * value + zero; only temperatures have a zero of their own */
};
double be_unit_to_si(double value, const struct be_unit *unit);
double be_unit_from_si(double value, const struct be_unit *unit);

/* Finds a unit by any of its spellings, letter case aside except where case
 * tells units apart (mN is not MN), in eight languages. Null if unknown. size may cover spaces.
 * Temperatures are found only where one is looked for: C, F and K name much else in a trace. */
const struct be_unit *be_unit_find(const char *text, size_t size);
/* The same, but only among the units of one dimension ("m" as metre or minute). */
const struct be_unit *be_unit_find_in(enum be_dimension dimension, const char *text, size_t size);
const struct be_unit *be_unit_si(enum be_dimension dimension);
const char *be_dimension_word(enum be_dimension dimension);

/* ---- quantities -------------------------------------------------------- */

/* A number with a unit as typed: "20 lb", "14,5", "3.2 kN". */
struct be_quantity {
  double value; /* SI */
  const struct be_unit *unit;
  enum be_number_style style;
};

/* Reads a quantity of the wanted dimension. `fallback` is the unit when none
 * is written; null makes a missing unit an error. `usual` as for
 * be_number_parse. */
enum be_status be_quantity_parse(const char *text, size_t size, enum be_dimension dimension,
                                 const struct be_unit *fallback, char usual,
                                 struct be_quantity *quantity, struct be_err *err);

/* Prints value (SI) in a unit with a fixed number of decimals and a decimal
 * point, without the unit's name. Not-a-number prints as "-". */
void be_quantity_print(char *text, size_t size, double value, const struct be_unit *unit,
                       int decimals);
/* Decimals that show about three figures of a typical value (SI) in a unit. */
int be_quantity_decimals(double typical, const struct be_unit *unit);

/* ---- classes of line ---------------------------------------------------- */

/* Line of a record class lets go at its limit or below, tested wet. */
struct be_line_class {
  double limit_N;
  int kg, lb; /* its names: kilograms are the rule, pounds the custom */
};
/* The smallest class that a line of this strength is in; null for one above all of them, and for
 * what is no load. */
const struct be_line_class *be_line_class_of(double force_N);

#endif
