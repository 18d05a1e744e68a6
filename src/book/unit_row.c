/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two rows of header: names, and under them units. */
#include "book/inside.h"

#include <string.h>

static const struct be_unit *unit_in(const char *text)
{
  size_t size = strlen(text);
  bool brackets = size > 2 && (*text == '(' || *text == '[') && strchr(")]", text[size - 1]);
  return brackets ? be_unit_find(text + 1, size - 2) : be_unit_find(text, size);
}

/* The field that takes its numbers from a column; FIELDS for none. */
static enum field number_of(const struct fields *fields, size_t column)
{
  int i = 0, first = fields->column[FIELD_LOAD];
  if ((int)column >= first && (int)column <= fields->spread_last) return FIELD_LOAD;
  while (i < FIELDS &&
         (fields->column[i] != (int)column || be_field_dimension((enum field)i) >= BE_DIMENSIONS))
    i++;
  return (enum field)i;
}

/* Whether every cell of the row that is told is a unit of its column. */
static bool is_of_units(const struct sheet *sheet, const struct fields *fields, size_t row)
{
  size_t told = 0;
  for (size_t i = 0; i < sheet->columns; i++) {
    const char *text = be_sheet_cell(sheet, row, i);
    const struct be_unit *unit = *text ? unit_in(text) : NULL;
    enum field field = number_of(fields, i);
    if (!*text) continue;
    if (!unit || field == FIELDS || unit->dimension != be_field_dimension(field)) return false;
    if (fields->unit[field] && fields->unit[field] != unit) return false;
    told++;
  }
  return told > 0;
}

void be_unit_row_take(struct sheet *sheet, struct fields *fields)
{
  if (fields->kind != SHEET_PULLS || !sheet->rows || !is_of_units(sheet, fields, 1)) return;
  for (size_t i = 0; i < sheet->columns; i++) {
    const char *text = be_sheet_cell(sheet, 1, i);
    if (*text) fields->unit[number_of(fields, i)] = unit_in(text);
  }
  fields->unit_line = sheet->lines[1];
  for (size_t row = 2; row <= sheet->rows; row++) be_row_move(sheet, row - 1, row);
  sheet->rows--;
}
