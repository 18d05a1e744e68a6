/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets that are no plain table: blocks with a title above each, headers that stand there again,
 * and rows with several loads. They are made rows of one pull each. */
#include "book/inside.h"

#include <string.h>

void be_row_move(struct sheet *sheet, size_t to, size_t from)
{
  sheet->lines[to] = sheet->lines[from];
  if (sheet->above) sheet->above[to] = sheet->above[from];
  memmove(sheet->cells + to * sheet->columns, sheet->cells + from * sheet->columns,
          sheet->columns * sizeof *sheet->cells);
}

/* ---- blocks ---- */

const char *be_row_only(const struct sheet *sheet, size_t row)
{
  const char *only = NULL;
  for (size_t i = 0; i < sheet->columns; i++) {
    const char *text = be_sheet_cell(sheet, row, i);
    if (*text && only) return NULL;
    if (*text) only = text;
  }
  return only;
}

enum be_status be_titles_take(struct sheet *sheet, struct fields *fields, struct be_arena *arena,
                              struct be_err *err)
{
  const char *title = sheet->title;
  size_t kept = 0;
  fields->titles = title != NULL;
  sheet->above = be_arena_alloc(arena, (sheet->rows + 1) * sizeof *sheet->above);
  if (!sheet->above) return be_fail(err, BE_NO_MEMORY, "no memory for the titles of a sheet");
  sheet->above[0] = NULL;
  for (size_t row = 1; row <= sheet->rows; row++) {
    const char *only = be_row_only(sheet, row);
    fields->titles += only != NULL;
    if (only) title = only;
    if (only) continue;
    sheet->above[row] = title;
    be_row_move(sheet, ++kept, row);
  }
  sheet->rows = kept;
  return BE_OK;
}

void be_headers_pass_over(struct sheet *sheet, struct fields *fields)
{
  size_t kept = 0;
  for (size_t row = 1; row <= sheet->rows; row++) {
    size_t i = 0;
    while (i < sheet->columns && !strcmp(be_sheet_cell(sheet, row, i), be_sheet_cell(sheet, 0, i)))
      i++;
    if (i < sheet->columns) be_row_move(sheet, ++kept, row);
  }
  fields->headers = sheet->rows - kept;
  sheet->rows = kept;
}

/* ---- several loads a row ---- */

int be_field_column(const struct sheet *sheet, const struct fields *fields, size_t row,
                    enum field field)
{
  return field == FIELD_LOAD && sheet->spread ? (int)sheet->spread[row] : fields->column[field];
}

static bool has_load(const struct sheet *sheet, const struct fields *fields, size_t row,
                     size_t column)
{
  const char *text = be_word_meant(fields, FIELD_LOAD, be_sheet_cell(sheet, row, column));
  return text && *text;
}

/* Nothing but loads stands in their columns. */
static enum be_status expect_loads_alone(const struct sheet *sheet, const struct fields *fields,
                                         struct be_err *err)
{
  for (int i = 0; i < FIELDS; i++) {
    int column = i == FIELD_LOAD ? -1 : fields->column[i];
    if (column < fields->column[FIELD_LOAD] || column > fields->spread_last) continue;
    be_fail(err, BE_WRONG_USE,
            "column \"%.80s\" is among those of the loads, and is taken for %s too",
            be_sheet_cell(sheet, 0, (size_t)column), be_field_name((enum field)i));
    be_fail_remedy(err, "name other columns in one of the two rules");
    return BE_WRONG_USE;
  }
  return BE_OK;
}

static size_t count_loads(const struct sheet *sheet, struct fields *fields, size_t first,
                          size_t last)
{
  size_t loads = 0;
  for (size_t row = 1; row <= sheet->rows; row++)
    for (size_t i = first; i <= last; i++) loads += has_load(sheet, fields, row, i);
  fields->empty = sheet->rows * (last - first + 1) - loads;
  return loads;
}

enum be_status be_loads_unfold(struct sheet *sheet, struct fields *fields, struct be_arena *arena,
                               struct be_err *err)
{
  if (fields->spread_last < 0) return BE_OK;
  enum be_status status = expect_loads_alone(sheet, fields, err);
  if (status != BE_OK) return status;
  size_t first = (size_t)fields->column[FIELD_LOAD], last = (size_t)fields->spread_last, to = 0;
  size_t loads = count_loads(sheet, fields, first, last), width = sheet->columns;
  if (loads > SHEET_ROWS_MAX)
    return be_fail(err, BE_TOO_LARGE, "more than %d loads in a sheet", SHEET_ROWS_MAX);
  struct sheet made = *sheet;
  made.lines = be_arena_alloc(arena, (loads + 1) * sizeof *made.lines);
  made.spread = be_arena_alloc(arena, (loads + 1) * sizeof *made.spread);
  made.above = be_arena_alloc(arena, (loads + 1) * sizeof *made.above);
  made.cells = be_arena_alloc(arena, (loads + 1) * width * sizeof *made.cells);
  if (!made.lines || !made.spread || !made.above || !made.cells)
    return be_fail(err, BE_NO_MEMORY, "no memory for the loads of a sheet");
  for (size_t row = 0; row <= sheet->rows; row++)
    for (size_t i = first; i <= last; i++) {
      if (row ? !has_load(sheet, fields, row, i) : i > first) continue;
      made.lines[to] = sheet->lines[row];
      made.spread[to] = i;
      made.above[to] = sheet->above ? sheet->above[row] : NULL;
      memcpy(made.cells + to++ * width, sheet->cells + row * width, width * sizeof *made.cells);
    }
  made.rows = loads;
  *sheet = made;
  return BE_OK;
}
