/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weighing instruments send the unit beside each number, and a key on them can
 * change it in the middle of a record. */
#include "trace/inside.h"

#include <stdio.h>

/* The unit right of the force; *ends is set by a line that is no row. */
static const struct be_unit *unit_at(struct be_span line, const struct be_block *block,
                                     size_t force, bool *ends)
{
  struct be_cells cells;
  double value;
  be_cells_split(line, block->delimiter, &cells);
  *ends = force < cells.count &&
          be_cell_read(cells.cell[force], block->decimal, &value) == BE_CELL_TEXT;
  if (*ends || force + 1 >= cells.count) return NULL;
  return be_unit_find_in(BE_FORCE, cells.cell[force + 1].text, cells.cell[force + 1].size);
}

enum be_status be_unit_beside(const struct be_block *block, struct be_trace_layout *layout,
                              struct be_roles *roles, struct be_err *err)
{
  size_t force = roles->column[BE_ROLE_FORCE];
  bool ends = false;
  struct be_lines lines = block->rows;
  struct be_span line;
  const struct be_unit *unit = NULL;
  if (!block->mixed || layout->columns[force].unit || force + 1 >= block->columns_count)
    return BE_OK;
  while (!ends && be_lines_next(&lines, &line)) {
    const struct be_unit *here = unit_at(line, block, force, &ends);
    if (!unit) unit = here;
    if (!here || here == unit) continue;
    be_fail(err, BE_BAD_INPUT, "the unit changes from %s to %s", unit->name, here->name);
    be_fail_at(err, NULL, lines.number, force + 2);
    be_fail_remedy(err, "cut the file there and read the parts one by one");
    return BE_BAD_INPUT;
  }
  if (!unit) return BE_OK;
  struct be_trace_column *column = &layout->columns[force];
  column->unit = unit;
  column->sureness = BE_LIKELY;
  snprintf(column->why, sizeof column->why, "numbers with their unit in the next column");
  roles->scale[BE_ROLE_FORCE] = unit->factor;
  return BE_OK;
}
