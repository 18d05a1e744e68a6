/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weighing instruments send the unit with each number, "12.3kg" or "12.3,kg",
 * and a key on them can change it in the middle of a record. */
#include "trace/layout/layout.h"

#include <stdio.h>
#include <string.h>

enum { BESIDE_LINES = 600 };

static struct be_span cell_at(const struct be_cells *cells, size_t column)
{
  return column < cells->count && column < BE_TRACE_COLUMNS_MAX ? cells->cell[column]
                                                                : (struct be_span){0};
}

static bool is_number(struct be_span cell, char decimal)
{
  double value;
  return be_cell_read(cell, decimal, &value) == BE_CELL_NUMBER;
}

/* The unit in the cell of a role, or in the column right of the force. */
static const struct be_unit *unit_at(const struct be_block *block, const struct be_cells *cells,
                                     size_t column, enum be_role role, size_t *at)
{
  const struct be_unit *unit = be_cell_unit(cell_at(cells, column), block->decimal);
  *at = column;
  if (unit || role != BE_ROLE_FORCE || !block->mixed) return unit;
  *at = column + 1;
  struct be_span beside = cell_at(cells, column + 1);
  return be_unit_find_in(BE_FORCE, beside.text, beside.size);
}

static enum be_status take(const struct be_block *block, struct be_trace_column *column,
                           struct be_roles *roles, enum be_role role, size_t line,
                           struct be_err *err)
{
  static const enum be_dimension dimension[BE_ROLES] = {
      [BE_ROLE_TIME] = BE_TIME, [BE_ROLE_FORCE] = BE_FORCE, [BE_ROLE_EXTENSION] = BE_LENGTH};
  const struct be_unit *unit = roles->written[role];
  size_t at = roles->written_at[role];
  bool volts = role == BE_ROLE_FORCE && unit->dimension == BE_VOLTAGE;
  if (unit->dimension != dimension[role]) {
    /* "5 m" in a column of times is a minute. */
    const struct be_unit *other = be_unit_find_in(dimension[role], unit->name, strlen(unit->name));
    if (other) roles->written[role] = unit = other;
  }
  if (unit->dimension != dimension[role] && !volts) {
    be_fail(err, BE_BAD_INPUT, "the numbers of column %zu carry \"%s\", which is no unit of %s",
            roles->column[role] + 1, unit->name, be_dimension_word(dimension[role]));
    be_fail_at(err, NULL, line, at + 1);
    be_fail_remedy(err, "say which column is which: --columns force=2,time=1");
    return BE_BAD_INPUT;
  }
  const struct be_heading *heading = &block->headings[roles->column[role]];
  if (column->unit && column->unit == heading->unit && column->unit != unit) {
    be_fail(err, BE_BAD_INPUT, "the heading of column %zu says %s, but its numbers carry %s",
            roles->column[role] + 1, column->unit->name, unit->name);
    be_fail_at(err, NULL, line, at + 1);
    be_fail_remedy(err, "mend the heading or the numbers");
    return BE_BAD_INPUT;
  }
  if (column->unit || volts) return BE_OK;
  column->unit = unit;
  if (column->sureness == BE_GUESS) column->sureness = BE_LIKELY;
  snprintf(column->why, sizeof column->why, "numbers with their unit in %s",
           at == roles->column[role] ? "the same cell" : "the next column");
  roles->scale[role] = unit->factor;
  return BE_OK;
}

enum be_status be_unit_beside(const struct be_block *block, struct be_trace_layout *layout,
                              struct be_roles *roles, struct be_err *err)
{
  struct be_lines lines = block->rows;
  struct be_span line;
  for (size_t i = 0; i < BESIDE_LINES && be_lines_next(&lines, &line); i++) {
    struct be_cells cells;
    be_cells_split(line, block->delimiter, &cells);
    struct be_span force = cell_at(&cells, roles->column[BE_ROLE_FORCE]);
    double value;
    if (be_cell_read(force, block->decimal, &value) == BE_CELL_TEXT) break;
    for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
      size_t column = roles->column[role];
      if (column == BE_NOWHERE || roles->written[role]) continue;
      roles->written[role] =
          unit_at(block, &cells, column, (enum be_role)role, &roles->written_at[role]);
      if (!roles->written[role]) continue;
      roles->watched = true;
      enum be_status status =
          take(block, &layout->columns[column], roles, (enum be_role)role, lines.number, err);
      if (status != BE_OK) return status;
    }
  }
  return BE_OK;
}

enum be_status be_unit_same(const struct be_roles *roles, char decimal,
                            const struct be_cells *cells, size_t line, struct be_err *err)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    const struct be_unit *unit = roles->written[role], *here;
    size_t column = roles->column[role], at = roles->written_at[role];
    if (column == BE_NOWHERE) continue;
    if (!unit) at = column;
    struct be_span cell = cell_at(cells, at);
    bool glued = at == column;
    if (glued && !is_number(cell, decimal)) continue;
    here = be_cell_unit(cell, decimal);
    if (!unit && !here) continue;
    if (!unit) {
      be_fail(err, BE_BAD_INPUT, "this number carries %s, and those before it no unit", here->name);
      be_fail_at(err, NULL, line, at + 1);
      be_fail_remedy(err, "cut the file there and read the parts one by one");
      return BE_BAD_INPUT;
    }
    if (!glued) here = be_unit_find_in(unit->dimension, cell.text, cell.size);
    if (here && here != unit)
      here = be_unit_find_in(unit->dimension, here->name, strlen(here->name));
    /* An indicator blanks the unit of a reading that is not steady. */
    if (here == unit || (!glued && !here)) continue;
    if (here) be_fail(err, BE_BAD_INPUT, "the unit changes from %s to %s", unit->name, here->name);
    else be_fail(err, BE_BAD_INPUT, "this number carries no %s as the others do", unit->name);
    be_fail_at(err, NULL, line, at + 1);
    be_fail_remedy(err, "cut the file there and read the parts one by one");
    return BE_BAD_INPUT;
  }
  return BE_OK;
}
