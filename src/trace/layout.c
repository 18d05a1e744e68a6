/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which delimiter and decimal mark make the most rows of numbers. Each pair is
 * tried on the first lines; a row counts when all its filled cells are numbers
 * and a neighbour has as many cells. */
#include "trace/inside.h"

#include <string.h>

enum { WINDOW_LINES = 600, MIXED_ROWS = 5 };

struct row_shape {
  size_t count;
  size_t numbers;
  size_t texts;   /* cells that do not even start like a number */
  uint64_t words; /* bit of each cell that is neither number nor empty */
};

static struct row_shape shape_of(struct be_span line, char delimiter, char decimal)
{
  struct be_cells cells;
  struct row_shape shape = {0};
  double value;
  be_cells_split(line, delimiter, &cells);
  shape.count = cells.count;
  for (size_t i = 0; i < cells.count && i < BE_TRACE_COLUMNS_MAX; i++) {
    enum be_cell_kind kind = be_cell_read(cells.cell[i], decimal, &value);
    shape.numbers += kind == BE_CELL_NUMBER;
    shape.texts += kind == BE_CELL_TEXT;
    if (kind == BE_CELL_TEXT || kind == BE_CELL_BROKEN) shape.words |= UINT64_C(1) << i;
  }
  return shape;
}

/* ---- one candidate ---- */

struct candidate {
  char delimiter, decimal;
  bool mixed;
  size_t columns;
  size_t rows;           /* rows of that many cells in the window */
  struct be_lines first; /* before the first of them */
};

struct run {
  struct row_shape shape;
  struct be_lines start;
  size_t length;
};

static bool is_row(const struct row_shape *shape, bool mixed)
{
  return shape->numbers > 0 && (mixed || shape->words == 0) && shape->count <= BE_TRACE_COLUMNS_MAX;
}

static bool same_row(const struct row_shape *a, const struct row_shape *b)
{
  return a->count == b->count && a->words == b->words;
}

/* Tallies the rows of a window; true when there are enough. *lines ends past it. */
static bool tally(struct be_lines *lines, struct candidate *candidate)
{
  size_t rows[BE_TRACE_COLUMNS_MAX + 1] = {0};
  struct be_lines first[BE_TRACE_COLUMNS_MAX + 1];
  struct run run = {0};
  struct be_span line;
  const size_t least = candidate->mixed ? MIXED_ROWS : 2;
  /* A comma is both only when quotes keep the decimal ones inside. */
  bool plausible = candidate->delimiter != candidate->decimal;
  for (size_t i = 0; i < WINDOW_LINES; i++) {
    struct be_lines before = *lines;
    if (!be_lines_next(lines, &line)) break;
    if (be_span_trim(line).size == 0) continue;
    struct row_shape shape = shape_of(line, candidate->delimiter, candidate->decimal);
    if (!is_row(&shape, candidate->mixed)) {
      run.length = 0;
      continue;
    }
    if (run.length == 0 || !same_row(&shape, &run.shape))
      run = (struct run){.shape = shape, .start = before};
    run.length++;
    plausible = plausible || memchr(line.text, '"', line.size);
    if (run.length < least) continue;
    if (rows[shape.count] == 0) first[shape.count] = run.start;
    rows[shape.count] += run.length == least ? least : 1;
  }
  candidate->rows = 0;
  for (size_t count = 1; plausible && count <= BE_TRACE_COLUMNS_MAX; count++)
    if (rows[count] && rows[count] >= candidate->rows) {
      candidate->rows = rows[count];
      candidate->columns = count;
      candidate->first = first[count];
    }
  return candidate->rows > 0;
}

static bool better(const struct candidate *a, const struct candidate *b)
{
  if (a->rows != b->rows) return a->rows > b->rows;
  return a->columns > b->columns;
}

/* ---- a comma that is both ---- */

enum comma { COMMA_SPLITS, COMMA_IS_DECIMAL, COMMA_UNSURE };

static size_t head_cells(struct be_lines from, const struct candidate *rows)
{
  struct be_span line, last = {0};
  while (from.number < rows->first.number && be_lines_next(&from, &line))
    if (be_span_trim(line).size) last = line;
  struct be_cells cells;
  if (last.size == 0) return 0;
  be_cells_split(last, ',', &cells);
  return cells.count;
}

/* "12,5": two whole numbers, or one with a decimal comma? */
static enum comma judge_comma(struct be_lines from, const struct candidate *pairs)
{
  struct be_lines lines = pairs->first;
  struct be_span line;
  double before = 0, step = 0;
  bool even = true;
  size_t rows = 0;
  size_t heads = head_cells(from, pairs);
  if (heads == 2) return COMMA_SPLITS;
  while (rows < WINDOW_LINES && be_lines_next(&lines, &line)) {
    struct be_cells cells;
    double value;
    be_cells_split(line, ',', &cells);
    if (cells.count != 2 || cells.cell[0].size == 0) continue;
    if (cells.cell[1].size > 1 && cells.cell[1].text[0] == '0') return COMMA_IS_DECIMAL;
    if (be_cell_read(cells.cell[0], '.', &value) != BE_CELL_NUMBER) continue;
    if (rows == 1) step = value - before;
    if (rows > 0 && (!(step > 0) || value - before < step || value - before > step)) even = false;
    before = value;
    rows++;
  }
  if (heads == 1) return COMMA_IS_DECIMAL;
  return even && rows > 2 ? COMMA_SPLITS : COMMA_UNSURE;
}

/* "0,5,12,03": a decimal comma and a comma between columns. */
static bool commas_clash(const struct candidate *best)
{
  struct be_lines lines = best->first;
  struct be_span line;
  bool zeros = false;
  if (best->delimiter != ',' || best->decimal != '.' || best->columns < 4 || best->columns % 2)
    return false;
  for (size_t i = 0; i < WINDOW_LINES && be_lines_next(&lines, &line); i++) {
    struct be_cells cells;
    be_cells_split(line, ',', &cells);
    if (cells.count != best->columns) continue;
    for (size_t c = 0; c < cells.count; c++) {
      struct be_span cell = cells.cell[c];
      for (size_t k = c % 2 ? 0 : cell.size && cell.text[0] == '-'; k < cell.size; k++)
        if (cell.text[k] < '0' || cell.text[k] > '9') return false;
      zeros |= c % 2 && cell.size > 1 && cell.text[0] == '0';
    }
  }
  return zeros;
}

/* ---- finding ---- */

static const struct {
  char delimiter, decimal;
} pairs[] = {{'\t', '.'}, {';', '.'}, {',', '.'}, {' ', '.'},
             {'\t', ','}, {';', ','}, {' ', ','}, {',', ','}};
enum { PAIRS = sizeof pairs / sizeof pairs[0] };

/* The best pair of a window; rows is 0 if none makes rows of numbers. */
static struct candidate best_of(struct be_lines *from, char decimal, bool mixed,
                                struct candidate *one_column)
{
  struct candidate best = {0};
  struct be_lines after = *from;
  *one_column = (struct candidate){0};
  for (size_t i = 0; i < PAIRS; i++) {
    struct candidate candidate = {
        .delimiter = pairs[i].delimiter, .decimal = pairs[i].decimal, .mixed = mixed};
    if (decimal && decimal != candidate.decimal) continue;
    struct be_lines lines = *from;
    bool found = tally(&lines, &candidate);
    after = lines;
    if (!found) continue;
    if (better(&candidate, &best)) best = candidate;
    if (candidate.decimal == ',' && candidate.columns == 1 && better(&candidate, one_column))
      *one_column = candidate;
  }
  *from = after;
  return best;
}

static enum be_status settle_comma(struct be_lines from, const struct candidate *one_column,
                                   struct candidate *best, struct be_err *err)
{
  if (commas_clash(best)) {
    be_fail(err, BE_BAD_INPUT, "commas are used both for decimals and between columns");
    be_fail_at(err, NULL, best->first.number + 1, 0);
    be_fail_remedy(err, "export with a semicolon or a tab between columns");
    return BE_BAD_INPUT;
  }
  if (best->delimiter != ',' || best->decimal != '.' || best->columns != 2 ||
      one_column->rows < best->rows)
    return BE_OK;
  enum comma comma = judge_comma(from, best);
  if (comma == COMMA_IS_DECIMAL) *best = *one_column;
  if (comma != COMMA_UNSURE) return BE_OK;
  be_fail(err, BE_ASK, "a comma in each row can be a decimal mark or lie between two columns");
  be_fail_at(err, NULL, best->first.number + 1, 0);
  be_fail_remedy(err, "say which with --decimal point or --decimal comma");
  return BE_ASK;
}

static enum be_status no_rows(struct be_lines from, struct be_err *err)
{
  struct be_span line;
  bool filled = false;
  while (!filled && be_lines_next(&from, &line)) filled = be_span_trim(line).size > 0;
  if (!filled) be_fail(err, BE_BAD_INPUT, "the file is empty");
  else be_fail(err, BE_BAD_INPUT, "this is not a load trace: no two rows of numbers were found");
  be_fail_at(err, NULL, filled ? from.number : 1, 0);
  be_fail_remedy(err, "a trace has one row a reading, with the force as a number in one column");
  return BE_BAD_INPUT;
}

/* Rows right above the first good ones belong to them even when one holds a
 * broken number or too many: it must be reported, not taken for a head. */
static struct be_lines first_row(struct be_lines from, const struct candidate *best)
{
  struct be_lines start = best->first;
  struct be_span line;
  bool open = false;
  if (best->mixed) return start;
  while (from.number < best->first.number) {
    struct be_lines before = from;
    if (!be_lines_next(&from, &line)) break;
    if (be_span_trim(line).size == 0) continue;
    struct row_shape shape = shape_of(line, best->delimiter, best->decimal);
    bool wide = shape.count >= best->columns || shape.count >= 2;
    bool row = shape.texts == 0 && wide && (shape.numbers > 0 || (open && best->columns == 1));
    if (row && !open) start = before;
    if (!row) start = best->first;
    open = row;
  }
  return start;
}

static void fill_block(struct be_lines from, const struct candidate *best, struct be_block *block)
{
  *block = (struct be_block){.delimiter = best->delimiter,
                             .decimal = best->decimal,
                             .mixed = best->mixed,
                             .columns_count = best->columns,
                             .rows = first_row(from, best)};
  block->header_lines = block->rows.number - from.number;
  be_head_read(from, block);
}

enum be_status be_block_find(struct be_lines from, const struct be_trace_options *options,
                             struct be_block *block, struct be_err *err)
{
  struct candidate best = {0}, one_column = {0};
  for (int mixed = 0; mixed < 2 && best.rows == 0; mixed++) {
    struct be_lines window = from;
    while (best.rows == 0 && window.at != window.end)
      best = best_of(&window, options->decimal, mixed, &one_column);
  }
  if (best.rows == 0) return no_rows(from, err);
  enum be_status status = settle_comma(from, &one_column, &best, err);
  if (status == BE_OK) fill_block(from, &best, block);
  return status;
}

enum be_status be_block_next(struct be_lines from, const struct be_block *before,
                             struct be_block *block)
{
  struct candidate next = {
      .delimiter = before->delimiter, .decimal = before->decimal, .mixed = before->mixed};
  struct be_lines lines = from;
  struct run run = {0};
  struct be_span line;
  for (;;) {
    struct be_lines at = lines;
    if (!be_lines_next(&lines, &line)) return BE_NO;
    if (be_span_trim(line).size == 0) continue;
    struct row_shape shape = shape_of(line, next.delimiter, next.decimal);
    bool row = is_row(&shape, next.mixed) && (!next.mixed || shape.count == before->columns_count);
    if (row && run.length == 1 && same_row(&shape, &run.shape)) break;
    run = (struct run){.shape = shape, .start = at, .length = row};
  }
  next.columns = run.shape.count;
  next.first = run.start;
  fill_block(from, &next, block);
  return BE_OK;
}
