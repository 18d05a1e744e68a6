/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that are no plain rows, one at a time: quotes and words, gaps, remarks,
 * errors, and where a test ends. */
#include "trace/rows/rows.h"

#include <math.h>
#include <string.h>

enum verdict { ROW_READ, ROW_PASSED, ROW_ENDS, ROW_FAILS };

static struct be_span cell_at(const struct be_cells *cells, size_t column)
{
  return column < cells->count ? cells->cell[column] : (struct be_span){0};
}

static size_t count_numbers(const struct be_cells *cells, char decimal)
{
  size_t numbers = 0;
  double value;
  for (size_t c = 0; c < cells->count && c < BE_TRACE_COLUMNS_MAX; c++) {
    enum be_cell_kind kind = be_cell_read(cells->cell[c], decimal, &value);
    numbers += kind == BE_CELL_NUMBER || kind == BE_CELL_CLOCK;
  }
  return numbers;
}

static bool all_empty(const struct be_cells *cells)
{
  for (size_t c = 0; c < cells->count && c < BE_TRACE_COLUMNS_MAX; c++)
    if (cells->cell[c].size) return false;
  return true;
}

static enum verdict end_at(struct be_reader *r, struct be_span cell, size_t column)
{
  r->end->column = column + 1;
  be_span_copy(cell, r->end->cell, sizeof r->end->cell);
  return ROW_ENDS;
}

static enum verdict not_a_number(struct be_reader *r, struct be_span cell, size_t column)
{
  char text[48];
  be_span_copy(cell, text, sizeof text);
  be_fail(r->err, BE_BAD_INPUT, "\"%s\" in column %zu is not a number", text, column + 1);
  be_fail_at(r->err, NULL, r->line + 1, column + 1);
  be_fail_remedy(r->err, "mend that cell, or write nan where there is no reading");
  return ROW_FAILS;
}

static enum verdict check_width(struct be_reader *r, const struct be_cells *cells)
{
  size_t columns = r->head->columns_count;
  bool more = cells->count > BE_TRACE_COLUMNS_MAX;
  for (size_t c = columns; c < cells->count && !more; c++) more = cells->cell[c].size > 0;
  if (!more) return ROW_READ;
  be_fail(r->err, BE_BAD_INPUT, "this row has %zu columns where the rows before have %zu",
          cells->count, columns);
  be_fail_at(r->err, NULL, r->line + 1, columns + 1);
  be_fail_remedy(r->err, "look for a decimal comma among columns parted by commas");
  return ROW_FAILS;
}

/* Reads time and extension of a row whose force is a number. */
static enum verdict read_axes(struct be_reader *r, struct be_lane *lane,
                              const struct be_cells *cells, double value[BE_ROLES])
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    size_t column = lane->roles->column[role];
    if (column == BE_NOWHERE || role == BE_ROLE_FORCE) continue;
    struct be_span cell = cell_at(cells, column);
    enum be_cell_kind kind = be_cell_read(cell, r->head->decimal, &value[role]);
    if (kind == BE_CELL_TEXT) return end_at(r, cell, column);
    if (kind == BE_CELL_BROKEN || kind == BE_CELL_DATE) return not_a_number(r, cell, column);
    if (kind == BE_CELL_CLOCK) value[role] = be_clock_go_on(&lane->clock, value[role]);
    if (kind == BE_CELL_EMPTY || kind == BE_CELL_MISSING) value[role] = NAN;
    int decimals = be_cell_decimals(cell, r->head->decimal);
    if (decimals > lane->decimals[role]) lane->decimals[role] = decimals;
  }
  return check_width(r, cells);
}

static bool has_axis_number(const struct be_reader *r, const struct be_lane *lane,
                            const struct be_cells *cells)
{
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++) {
    double value;
    size_t column = lane->roles->column[role];
    if (column == BE_NOWHERE || role == BE_ROLE_FORCE) continue;
    if (be_cell_read(cell_at(cells, column), r->head->decimal, &value) == BE_CELL_NUMBER)
      return true;
  }
  return false;
}

static enum verdict pass_gap(const struct be_reader *r, struct be_lane *lane, bool over)
{
  be_lane_pass_gap(lane, r->line + 1, over);
  return ROW_PASSED;
}

/* A remark between rows: "# gust". A line that names columns is a head. */
static bool is_remark(struct be_span line, const struct be_cells *cells)
{
  line = be_span_trim(line);
  if (line.text[0] != '#' && line.text[0] != '%') return false;
  for (size_t c = 0; c < cells->count && c < BE_TRACE_COLUMNS_MAX; c++)
    if (be_text_is_heading(cells->cell[c])) return false;
  return true;
}

static enum verdict judge_lane(struct be_reader *r, struct be_lane *lane,
                               const struct be_cells *cells, double value[BE_ROLES])
{
  size_t column = lane->roles->column[BE_ROLE_FORCE], numbers;
  char decimal = r->head->decimal;
  struct be_span cell = cell_at(cells, column);
  enum be_cell_kind kind = be_cell_read(cell, decimal, &value[BE_ROLE_FORCE]);
  if (kind == BE_CELL_NUMBER) {
    if (be_unit_same(lane->roles, decimal, cells, r->line + 1, r->err) != BE_OK) return ROW_FAILS;
    int decimals = be_cell_decimals(cell, decimal);
    if (decimals > lane->decimals[BE_ROLE_FORCE]) lane->decimals[BE_ROLE_FORCE] = decimals;
    return read_axes(r, lane, cells, value);
  }
  if (kind == BE_CELL_MISSING) return pass_gap(r, lane, be_span_is_over(cell));
  bool axis_number = has_axis_number(r, lane, cells);
  numbers = count_numbers(cells, decimal);
  if (kind == BE_CELL_EMPTY && numbers > 0 && (lane->axis == BE_ROLE_NONE || axis_number))
    return pass_gap(r, lane, false);
  /* The shorter of two tests side by side ends before the other. */
  if (kind == BE_CELL_EMPTY && numbers > 0 && r->lane_count > 1) return ROW_PASSED;
  bool broken = kind == BE_CELL_BROKEN && (r->head->columns_count == 1 || numbers > 0);
  if (broken || kind == BE_CELL_CLOCK || (cell.size && axis_number))
    return not_a_number(r, cell, column);
  return end_at(r, cell, column);
}

/* A line that the window happens to hold is no better than one that it does not. */
static bool is_too_long(const struct be_reader *r, struct be_span line)
{
  if (line.size < BE_WINDOW) return false;
  be_feed_too_long(r->feed, r->err);
  be_fail_at(r->err, NULL, r->line + 1, BE_WINDOW + 1);
  return true;
}

static bool has_zero(const struct be_reader *r, struct be_span line)
{
  const char *nul = line.size ? memchr(line.text, '\0', line.size) : NULL;
  if (!nul) return false;
  size_t at = (size_t)(nul - line.text) + 1;
  be_fail(r->err, BE_BAD_INPUT, "this is not a text file: byte %zu of line %zu is 0", at,
          r->line + 1);
  be_fail_at(r->err, NULL, r->line + 1, at);
  be_fail_remedy(r->err, "the file is damaged there: cut off what is no text");
  return true;
}

void be_reader_judge(struct be_reader *r, struct be_text_block *block)
{
  struct be_lines lines = {block->at, block->text + block->size, r->line, r->feed->eol};
  struct be_cells cells;
  struct be_span line = {0};
  be_lines_next(&lines, &line);
  struct be_span whole = {block->at, (size_t)(lines.at - block->at)};
  if (whole.text[whole.size - 1] == lines.eol) whole.size--;
  if (is_too_long(r, whole) || has_zero(r, whole)) {
    be_reader_fail(r, BE_BAD_INPUT);
    return;
  }
  be_cells_split(line, r->head->delimiter, &cells);
  bool empty = all_empty(&cells), passed = empty || is_remark(line, &cells);
  for (size_t k = 0; k < r->lane_count && r->status == BE_OK && !r->ended; k++) {
    struct be_lane *lane = &r->lane[k];
    double value[BE_ROLES] = {0};
    enum verdict verdict = ROW_PASSED;
    if (!passed) verdict = judge_lane(r, lane, &cells, value);
    if (verdict != ROW_READ) be_lane_release(r, lane);
    if (empty) lane->blanks++;
    if (verdict == ROW_READ) be_lane_keep_row(r, lane, value, r->line + 1);
    if (verdict == ROW_FAILS) be_reader_fail(r, BE_BAD_INPUT);
    if (verdict == ROW_ENDS) r->ended = true;
  }
  if (r->ended) return;
  block->at = lines.at;
  r->line++;
}
