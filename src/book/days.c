/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Days as people write them, "3/4/25", by the order that they are said to have. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

static const enum field fields_of[] = {FIELD_SESSION, FIELD_OF(BE_HANDLED_TIED)};

const char *be_day_order(enum field field, const char *unit)
{
  static const char *const orders[] = {"d/m/y", "m/d/y", "y/m/d"};
  for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++)
    if ((field == fields_of[0] || field == fields_of[1]) && be_text_same(unit, orders[i]))
      return orders[i];
  return NULL;
}

/* Three numbers with one mark between. */
static bool read_three(const char *text, int part[3])
{
  char mark[2] = "", again[2] = "";
  int used = 0;
  bool three = sscanf(text, "%4d%1[-/. ]%4d%1[-/. ]%4d%n", &part[0], mark, &part[1], again,
                      &part[2], &used) == 5;
  return three && *mark == *again && !text[used] && part[0] >= 0 && part[1] >= 0 && part[2] >= 0;
}

static bool is_day(const char *text)
{
  char date[DATE_MAX + 1];
  return be_when_read(text, date);
}

bool be_day_is_unread(const char *text)
{
  int part[3];
  return read_three(text, part) && !is_day(text);
}

/* Years of two digits are those from 1970 to 2069 (as POSIX has it near enough, %y). */
static char *day_of(char *text, const char *order, struct be_arena *arena)
{
  int part[3], year = 0, month = 0, day = 0;
  if (!read_three(text, part)) return text;
  for (int i = 0; i < 3; i++)
    *(order[2 * i] == 'y' ? &year : order[2 * i] == 'm' ? &month : &day) = part[i];
  if (year < 100) year += year < 70 ? 2000 : 1900;
  char *made = be_arena_format(arena, "%04d-%02d-%02d", year, month, day);
  return made && !is_day(made) ? text : made;
}

enum be_status be_days_read(struct sheet *sheet, struct fields *fields, struct be_arena *arena,
                            struct be_err *err)
{
  for (size_t k = 0; k < 2; k++) {
    int column = fields->column[fields_of[k]];
    for (size_t row = 1; fields->days[k] && column >= 0 && row <= sheet->rows; row++) {
      char **cell = sheet->cells + row * sheet->columns + (size_t)column;
      char *made = day_of(*cell, fields->days[k], arena);
      if (!made) return be_fail(err, BE_NO_MEMORY, "no memory for the days of a sheet");
      *cell = made;
    }
  }
  return BE_OK;
}
