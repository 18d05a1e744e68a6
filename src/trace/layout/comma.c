/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Commas, points and spaces that can be two things: a decimal mark, a mark
 * between columns, or a mark of thousands. */
#include "trace/layout/layout.h"

#include <stdio.h>
#include <string.h>

enum { LOOKED_AT = 600 };

/* Rows of the candidate, one after another; false past the last looked at. */
static bool next_row(struct be_lines *lines, const struct be_candidate *rows, struct be_span *line,
                     struct be_cells *cells)
{
  while (lines->number < rows->first.number + LOOKED_AT && be_lines_next(lines, line)) {
    if (be_span_trim(*line).size == 0) continue;
    be_cells_split(*line, rows->delimiter, cells);
    if (cells->count == rows->columns && cells->count <= BE_TRACE_COLUMNS_MAX) return true;
  }
  return false;
}

static size_t head_cells(struct be_lines from, const struct be_candidate *rows)
{
  struct be_span line, last = {0};
  while (from.number < rows->first.number && be_lines_next(&from, &line))
    if (be_span_trim(line).size) last = line;
  struct be_cells cells;
  if (last.size == 0) return 0;
  be_cells_split(last, rows->delimiter, &cells);
  return cells.count;
}

/* Asks what the first row is; each reading in words. */
static enum be_status ask(const struct be_candidate *best, const char *one, const char *other,
                          const char *remedy, struct be_err *err)
{
  struct be_lines lines = best->first;
  struct be_span line = {0};
  char row[60];
  do {
    if (!be_lines_next(&lines, &line)) break;
  } while (be_span_trim(line).size == 0);
  be_span_copy(be_span_trim(line), row, sizeof row);
  be_fail(err, BE_ASK, "the row \"%s\" is %s, or %s: nothing tells which", row, one, other);
  be_fail_at(err, NULL, lines.number, 0);
  be_fail_remedy(err, "%s", remedy);
  return BE_ASK;
}

/* ---- two columns, or a decimal comma ---- */

enum comma { COMMA_SPLITS, COMMA_IS_DECIMAL, COMMA_UNSURE };

/* "12,5": two whole numbers, or one with a decimal comma? */
static enum comma judge_comma(struct be_lines from, const struct be_candidate *pairs)
{
  struct be_lines lines = pairs->first;
  struct be_span line;
  struct be_cells cells;
  double before = 0, step = 0, value;
  bool even = true;
  size_t rows = 0, heads = head_cells(from, pairs);
  if (heads == 2) return COMMA_SPLITS;
  while (next_row(&lines, pairs, &line, &cells)) {
    if (cells.cell[0].size == 0) continue;
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

static enum be_status settle_pair(struct be_lines from, const struct be_candidate *one_column,
                                  struct be_candidate *best, struct be_err *err)
{
  enum comma comma = judge_comma(from, best);
  if (comma == COMMA_IS_DECIMAL) *best = *one_column;
  if (comma != COMMA_UNSURE) return BE_OK;
  struct be_lines lines = best->first;
  struct be_span line;
  struct be_cells cells;
  char one[80], other[80];
  if (!next_row(&lines, best, &line, &cells)) return BE_OK;
  int a = cells.cell[0].size > 20 ? 20 : (int)cells.cell[0].size;
  int b = cells.cell[1].size > 20 ? 20 : (int)cells.cell[1].size;
  snprintf(one, sizeof one, "%.*s.%.*s with a comma for its decimal mark", a, cells.cell[0].text, b,
           cells.cell[1].text);
  snprintf(other, sizeof other, "%.*s and %.*s in two columns", a, cells.cell[0].text, b,
           cells.cell[1].text);
  return ask(best, one, other, "say which with --decimal comma or --decimal point", err);
}

/* ---- many whole numbers, or half as many with decimal commas ---- */

struct wholes {
  bool all;    /* every cell is digits alone, a sign aside */
  bool zeros;  /* one that would be decimals starts with 0: "0,5,12,03" */
  bool rising; /* the first column rises */
};

static struct wholes look_at_wholes(const struct be_candidate *best)
{
  struct be_lines lines = best->first;
  struct be_span line;
  struct be_cells cells;
  struct wholes wholes = {.all = true, .rising = true};
  double before = -1, value;
  while (wholes.all && next_row(&lines, best, &line, &cells)) {
    if (memchr(line.text, '"', line.size)) wholes.all = false;
    for (size_t c = 0; c < cells.count; c++) {
      struct be_span cell = cells.cell[c];
      size_t k = cell.size && (cell.text[0] == '-' || cell.text[0] == '+');
      if (k && c % 2) wholes.all = false;
      for (; k < cell.size; k++) wholes.all = wholes.all && be_is_digit(cell.text[k]);
      wholes.zeros |= c % 2 && cell.size > 1 && cell.text[0] == '0';
    }
    if (be_cell_read(cells.cell[0], '.', &value) != BE_CELL_NUMBER) continue;
    wholes.rising = wholes.rising && value > before;
    before = value;
  }
  return wholes;
}

/* "0.1,1,234.5": a cell of one to three digits, then one of three, in all rows. */
static bool has_thousands(const struct be_candidate *best, bool *zeros)
{
  struct be_lines lines = best->first;
  struct be_span line;
  struct be_cells cells;
  uint64_t pairs = ~UINT64_C(0), zero = 0;
  size_t rows = 0;
  while (next_row(&lines, best, &line, &cells)) {
    rows++;
    if (memchr(line.text, '"', line.size)) return false;
    for (size_t c = 0; c + 1 < cells.count; c++) {
      struct be_span high = cells.cell[c], low = cells.cell[c + 1];
      size_t k = high.size && high.text[0] == '-', digits = 0;
      bool pair = high.size > k && high.size <= k + 3 && high.text[k] != '0';
      for (; k < high.size; k++) pair = pair && be_is_digit(high.text[k]);
      while (digits < low.size && be_is_digit(low.text[digits])) digits++;
      pair = pair && digits == 3 && (digits == low.size || low.text[digits] == '.');
      if (!pair) pairs &= ~(UINT64_C(1) << c);
      else if (low.text[0] == '0') zero |= UINT64_C(1) << c;
    }
  }
  if (best->columns < BE_TRACE_COLUMNS_MAX) pairs &= (UINT64_C(1) << (best->columns - 1)) - 1;
  *zeros = (zero & pairs) != 0;
  return rows > 0 && pairs;
}

static enum be_status settle_thousands(struct be_lines from, const struct be_candidate *best,
                                       struct be_err *err)
{
  bool zeros;
  size_t heads = head_cells(from, best);
  if (heads == best->columns || !has_thousands(best, &zeros)) return BE_OK;
  if (!zeros && !(heads >= 2 && heads < best->columns)) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "commas are used both between thousands and between columns");
  be_fail_at(err, NULL, best->first.number + 1, 0);
  be_fail_remedy(err, "export without marks between thousands, or with semicolons between columns");
  return BE_BAD_INPUT;
}

static enum be_status clash(const struct be_candidate *best, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "commas are used both for decimals and between columns");
  be_fail_at(err, NULL, best->first.number + 1, 0);
  be_fail_remedy(err, "export with a semicolon or a tab between columns");
  return BE_BAD_INPUT;
}

static enum be_status settle_many(struct be_lines from, const struct be_trace_options *options,
                                  const struct be_candidate *best, struct be_err *err)
{
  struct wholes wholes = look_at_wholes(best);
  size_t heads = head_cells(from, best);
  bool even = best->columns % 2 == 0;
  if (!wholes.all || heads == best->columns) return BE_OK;
  if (even && best->columns >= 4 && (wholes.zeros || heads == best->columns / 2))
    return clash(best, err);
  /* "1,2,5" under two names. */
  if (heads >= 2 && heads < best->columns && best->columns <= 2 * heads) return clash(best, err);
  if (!even || best->columns < 4 || wholes.rising || options->decimal == '.' ||
      options->force_column)
    return BE_OK;
  char one[60], other[80];
  snprintf(one, sizeof one, "%zu whole numbers", best->columns);
  snprintf(other, sizeof other, "%zu numbers with commas for their decimal marks",
           best->columns / 2);
  return ask(best, one, other,
             "say --decimal point if they are whole; if not, export with a semicolon between "
             "columns",
             err);
}

/* ---- thousands ---- */

/* The one mark of a number stands before exactly three digits and behind one to
 * three that do not start with 0: "1,234". */
static bool is_one_group(struct be_span cell, const char *mark)
{
  const char *end = cell.text + cell.size, *p = cell.text;
  if (p < end && (*p == '-' || *p == '+')) p++;
  if (mark - p < 1 || mark - p > 3 || *p == '0' || end - mark != 4) return false;
  for (; p < end; p++)
    if (p != mark && !be_is_digit(*p)) return false;
  return true;
}

/* The first cell whose decimal mark is beyond doubt; empty if there is none.
 * *doubtful is the first that has the mark at all. */
static struct be_span surest_cell(const struct be_candidate *rows, size_t *line_number,
                                  struct be_span *doubtful)
{
  struct be_lines lines = rows->first;
  struct be_span line;
  struct be_cells cells;
  double value;
  *doubtful = (struct be_span){0};
  while (next_row(&lines, rows, &line, &cells))
    for (size_t c = 0; c < cells.count; c++) {
      struct be_span cell = cells.cell[c];
      const char *mark = cell.size ? memchr(cell.text, rows->decimal, cell.size) : NULL;
      if (!mark || be_cell_read(cell, rows->decimal, &value) != BE_CELL_NUMBER) continue;
      *line_number = lines.number;
      if (!is_one_group(cell, mark)) return cell;
      if (!doubtful->size) *doubtful = cell;
    }
  return (struct be_span){0};
}

/* "1,234" in every row: 1.234, or 1234? */
static enum be_status settle_group(const struct be_candidate *best,
                                   const struct be_trace_options *options, struct be_err *err)
{
  struct be_span doubtful;
  size_t line;
  if (best->decimal != ',' || options->decimal || surest_cell(best, &line, &doubtful).size ||
      !doubtful.size)
    return BE_OK;
  const char *mark = memchr(doubtful.text, ',', doubtful.size);
  int before = (int)(mark - doubtful.text);
  be_fail(err, BE_ASK,
          "\"%.*s\" is %.*s.%.*s with a comma for its decimal mark, or %.*s%.*s with one between "
          "thousands: nothing tells which",
          (int)doubtful.size, doubtful.text, before, doubtful.text, 3, mark + 1, before,
          doubtful.text, 3, mark + 1);
  be_fail_at(err, NULL, best->first.number + 1, 0);
  be_fail_remedy(err, "say --decimal comma; if they are thousands, export without them");
  return BE_ASK;
}

/* "1 234,5" in every row: one number, or two? */
static enum be_status settle_spaces(struct be_lines from, const struct be_candidate *best,
                                    const struct be_trace_options *options, struct be_err *err)
{
  struct be_lines lines = best->first;
  struct be_span line;
  struct be_cells cells;
  size_t rows = 0;
  if (best->delimiter != ' ' || best->columns < 2 || best->mixed || options->force_column)
    return BE_OK;
  if (head_cells(from, best) >= best->columns) return BE_OK;
  while (next_row(&lines, best, &line, &cells)) {
    rows++;
    if (memchr(line.text, '\t', line.size)) return BE_OK;
    for (size_t c = 0; c < cells.count; c++) {
      struct be_span cell = cells.cell[c];
      size_t digits = 0, sign = c == 0 && (cell.text[0] == '-' || cell.text[0] == '+');
      while (sign + digits < cell.size && be_is_digit(cell.text[sign + digits])) digits++;
      bool ends = sign + digits == cell.size ||
                  (c + 1 == cells.count && cell.text[digits] == best->decimal);
      if (!ends || digits > 3 || digits == 0 || (c > 0 && digits < 3)) return BE_OK;
      if (c == 0 && cell.text[sign] == '0') return BE_OK;
      if (c > 0 && cell.text[-1] == ' ' && cell.text - line.text > 1 && cell.text[-2] == ' ')
        return BE_OK;
    }
  }
  if (rows == 0) return BE_OK;
  char one[60];
  snprintf(one, sizeof one, "%zu numbers", best->columns);
  return ask(best, one, "one number with spaces between thousands",
             "say --columns force=1 or force=2 if they are columns; if not, export without spaces "
             "between thousands",
             err);
}

/* ---- all ---- */

enum be_status be_marks_settle(struct be_lines from, const struct be_candidate *one_column,
                               const struct be_trace_options *options, struct be_candidate *best,
                               struct be_err *err)
{
  enum be_status status = BE_OK;
  if (best->delimiter == ',' && best->decimal == '.') {
    if (best->columns == 2 && one_column->rows >= best->rows)
      status = settle_pair(from, one_column, best, err);
    else if (best->columns > 2) status = settle_many(from, options, best, err);
    if (status == BE_OK && best->delimiter == ',' && best->columns > 2)
      status = settle_thousands(from, best, err);
  }
  if (status == BE_OK) status = settle_spaces(from, best, options, err);
  return status == BE_OK ? settle_group(best, options, err) : status;
}

void be_marks_explain(const struct be_trace_options *options, struct be_block *block)
{
  struct be_candidate rows = {.delimiter = block->delimiter,
                              .decimal = block->decimal,
                              .columns = block->columns_count,
                              .first = block->rows};
  struct be_span doubtful, cell;
  size_t line = 0;
  char *why = block->decimal_why;
  const size_t size = sizeof block->decimal_why;
  cell = surest_cell(&rows, &line, &doubtful);
  int shown = (int)(cell.size > 30 ? 30 : cell.size);
  if (options->decimal) snprintf(why, size, "as told");
  else if (cell.size) snprintf(why, size, "as in \"%.*s\" on line %zu", shown, cell.text, line);
  else if (doubtful.size)
    snprintf(why, size, "likely: every mark stands before three digits, as in \"%.*s\"",
             (int)doubtful.size, doubtful.text);
  else snprintf(why, size, "no number of the first rows has a mark");
}
