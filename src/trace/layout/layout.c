/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which delimiter and decimal mark make the most rows of numbers. Each pair is
 * tried on the first lines; a row counts when all its filled cells are numbers
 * and a neighbour has as many cells. */
#include "trace/layout/layout.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>

enum { WINDOW_LINES = 200, MIXED_ROWS = 5 };

struct row_shape {
  size_t count;
  size_t numbers;
  size_t texts;        /* cells that do not even start like a number */
  uint64_t words;      /* bit of each cell that is neither number nor empty */
  uint64_t empty;      /* bit of each empty cell */
  bool broken;         /* a cell starts like a number and is none */
  bool grouped;        /* a space stands inside a number */
  struct be_span text; /* the first cell that is neither number nor empty */
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
    if (kind == BE_CELL_EMPTY) shape.empty |= UINT64_C(1) << i;
    shape.texts += kind == BE_CELL_TEXT;
    shape.broken |= kind == BE_CELL_BROKEN;
    if (kind == BE_CELL_NUMBER && memchr(cells.cell[i].text, ' ', cells.cell[i].size))
      shape.grouped |= !be_cell_unit(cells.cell[i], decimal);
    if (kind != BE_CELL_TEXT && kind != BE_CELL_BROKEN) continue;
    if (shape.words == 0) shape.text = cells.cell[i];
    shape.words |= UINT64_C(1) << i;
  }
  return shape;
}

/* ---- one candidate ---- */

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
  return a->count == b->count && !((a->words ^ b->words) & ~(a->empty | b->empty));
}

/* Words beside one number are those of a record when a few come again and again;
 * the keys of a head all differ. Beside two numbers they may be notes. */
struct texts {
  size_t count; /* of those that differ; no more than are kept are told apart */
  struct be_span text[8];
};

static void add_text(struct texts *texts, struct be_span text)
{
  size_t kept = texts->count < 8 ? texts->count : 8;
  for (size_t i = 0; i < kept; i++) {
    struct be_span known = texts->text[i];
    if (known.size == text.size && (!text.size || memcmp(known.text, text.text, text.size) == 0))
      return;
  }
  if (kept < 8) texts->text[kept] = text;
  texts->count++;
}

/* Tallies the rows of a window; true when there are enough. *lines ends past it. */
static bool tally(struct be_lines *lines, struct be_candidate *candidate)
{
  size_t rows[BE_TRACE_COLUMNS_MAX + 1] = {0};
  struct texts texts[BE_TRACE_COLUMNS_MAX + 1];
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
    candidate->grouped += shape.grouped;
    candidate->broken += shape.broken;
    if (rows[shape.count] == 0 && run.length == 0) texts[shape.count].count = 0;
    if (shape.numbers < 2) add_text(&texts[shape.count], shape.text);
    run.length++;
    plausible = plausible || memchr(line.text, '"', line.size);
    if (run.length < least) continue;
    if (rows[shape.count] == 0) first[shape.count] = run.start;
    rows[shape.count] += run.length == least ? least : 1;
  }
  candidate->rows = 0;
  for (size_t count = 1; plausible && count <= BE_TRACE_COLUMNS_MAX; count++)
    if (rows[count] && rows[count] >= candidate->rows &&
        texts[count].count * 2 <= rows[count] + 1) {
      candidate->rows = rows[count];
      candidate->columns = count;
      candidate->first = first[count];
    }
  return candidate->rows > 0;
}

static bool better(const struct be_candidate *a, const struct be_candidate *b)
{
  if (a->rows != b->rows) return a->rows > b->rows;
  /* "0.5,20.5,row" is not cut where it should be. */
  if (a->broken != b->broken) return a->broken < b->broken;
  if (a->grouped != b->grouped) return a->grouped < b->grouped;
  return a->columns > b->columns;
}

/* ---- finding ---- */

static const struct {
  char delimiter, decimal;
} pairs[] = {{'\t', '.'}, {';', '.'}, {',', '.'}, {' ', '.'},
             {'\t', ','}, {';', ','}, {' ', ','}, {',', ','}};
enum { PAIRS = sizeof pairs / sizeof pairs[0] };

/* What is told beforehand; 0: nothing. */
struct search {
  char decimal, delimiter;
};

static void look_for_delimiters(struct be_lines lines, bool seen[UCHAR_MAX + 1])
{
  struct be_span line;
  memset(seen, 0, (UCHAR_MAX + 1) * sizeof *seen);
  for (size_t i = 0; i < WINDOW_LINES && be_lines_next(&lines, &line); i++)
    for (size_t k = 0; k < line.size; k++) seen[(unsigned char)line.text[k]] = true;
}

/* The best pair of a window; rows is 0 if none makes rows of numbers. */
static struct be_candidate best_of(struct be_lines *from, const struct search *search, bool mixed,
                                   struct be_candidate *one_column)
{
  struct be_candidate best = {0};
  struct be_lines after = *from;
  bool seen[UCHAR_MAX + 1];
  *one_column = (struct be_candidate){0};
  look_for_delimiters(*from, seen);
  for (size_t i = 0; i < PAIRS; i++) {
    /* One that does not occur makes one column; once is enough for each mark. */
    if (pairs[i].delimiter != ',' && pairs[i].delimiter != '\t' &&
        !seen[(unsigned char)pairs[i].delimiter] && !search->delimiter)
      continue;
    struct be_candidate candidate = {
        .delimiter = pairs[i].delimiter, .decimal = pairs[i].decimal, .mixed = mixed};
    if (search->decimal && search->decimal != candidate.decimal) continue;
    if (search->delimiter && search->delimiter != candidate.delimiter) continue;
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
static struct be_lines first_row(struct be_lines from, const struct be_candidate *best)
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

/* "2026,03,01" or "09,30,00": year, month and day, or hours, minutes and seconds
 * in two digits each. */
static bool is_stamp(struct be_span line, char delimiter)
{
  struct be_cells cells;
  size_t years = 0, twos = 0;
  be_cells_split(line, delimiter, &cells);
  if (cells.count != 3) return false;
  for (size_t i = 0; i < 3; i++) {
    struct be_span cell = cells.cell[i];
    for (size_t k = 0; k < cell.size; k++)
      if (cell.text[k] < '0' || cell.text[k] > '9') return false;
    years += cell.size == 4 && (!memcmp(cell.text, "20", 2) || !memcmp(cell.text, "19", 2));
    twos += cell.size == 2 && cell.text[0] <= '5';
  }
  return (years == 1 && twos == 2) || twos == 3;
}

/* Past one or two stamps at the top of the rows. */
static struct be_lines without_stamps(struct be_lines rows, const struct be_candidate *best)
{
  enum { FEW = 2 };
  struct be_lines lines = rows, after = lines;
  struct be_span line;
  size_t stamps = 0;
  if (best->columns != 3) return rows;
  while (be_lines_next(&lines, &line) && is_stamp(line, best->delimiter)) after = lines, stamps++;
  return stamps <= FEW ? after : rows;
}

static void fill_block(struct be_lines from, const struct be_candidate *best,
                       struct be_block *block)
{
  *block = (struct be_block){.delimiter = best->delimiter,
                             .decimal = best->decimal,
                             .mixed = best->mixed,
                             .columns_count = best->columns,
                             .rows = without_stamps(first_row(from, best), best)};
  block->header_lines = block->rows.number - from.number;
  be_head_read(from, block);
}

/* The best of the first window that has rows, looked at again from its first row
 * on. Rows with words beside the numbers are taken only where there are hardly
 * any without. */
static struct be_candidate best_rows(struct be_lines from, const struct search *search,
                                     struct be_candidate *one_column)
{
  enum { FAR_MORE = 4 };
  struct be_candidate best = {0};
  bool cut = false;
  for (struct be_lines window = from; best.rows == 0 && window.at != window.end;) {
    struct be_lines again = window;
    struct be_candidate unused;
    best = best_of(&window, search, false, one_column);
    cut = window.at != window.end;
    if (FAR_MORE * best.rows >= window.number - again.number) break;
    struct be_candidate mixed = best_of(&again, search, true, &unused);
    if (mixed.rows > FAR_MORE * best.rows) best = mixed;
  }
  if (best.rows == 0 || !cut || best.rows > WINDOW_LINES / 2) return best;
  struct be_lines rows = best.first;
  struct be_candidate whole = best_of(&rows, search, best.mixed, one_column);
  return whole.rows >= best.rows ? whole : best;
}

/* A few rows of numbers without names, above names with rows: they belong to
 * the head, such as "2026,03,01". */
static bool is_preamble(const struct be_block *block, struct be_block *next)
{
  enum { FEW = 8 };
  struct be_lines lines = block->rows;
  struct be_span line;
  size_t rows = 0;
  bool speaks = false;
  if (block->has_names) return false;
  for (size_t c = 0; c < block->columns_count; c++)
    if (block->headings[c].unit) return false;
  for (;; rows++) {
    struct be_lines before = lines;
    if (rows > FEW || !be_lines_next(&lines, &line)) return false;
    struct row_shape shape = shape_of(line, block->delimiter, block->decimal);
    if (be_span_trim(line).size && is_row(&shape, block->mixed)) continue;
    lines = before;
    break;
  }
  if (be_block_next(lines, block, next) != BE_OK || !next->has_names) return false;
  if (next->rows.number > lines.number + WINDOW_LINES) return false;
  for (size_t c = 0; c < next->columns_count; c++)
    speaks |= next->headings[c].says.score[BE_ROLE_FORCE] > 0 ||
              (next->headings[c].unit && next->headings[c].unit->dimension == BE_FORCE);
  return speaks;
}

static void explain_delimiter(const struct search *search, const struct be_candidate *best,
                              struct be_block *block)
{
  if (search->delimiter)
    snprintf(block->delimiter_why, sizeof block->delimiter_why, "the first line names it");
  else if (best->columns == 1)
    snprintf(block->delimiter_why, sizeof block->delimiter_why, "one number in each row");
  else
    snprintf(block->delimiter_why, sizeof block->delimiter_why,
             "it cuts %zu of the first rows into %zu cells each", best->rows, best->columns);
}

enum be_status be_block_find(struct be_lines from, const struct be_trace_options *options,
                             struct be_block *block, struct be_err *err)
{
  struct be_candidate one_column = {0};
  struct search search = {.decimal = options->decimal};
  struct be_lines top = from;
  struct be_span line;
  if (be_lines_next(&top, &line)) be_line_names_delimiter(line, &search.delimiter);
  struct be_candidate best = best_rows(from, &search, &one_column);
  if (best.rows == 0) return no_rows(from, err);
  enum be_status status = be_marks_settle(from, &one_column, options, &best, err);
  if (status != BE_OK) return status;
  struct be_block next;
  fill_block(from, &best, block);
  if (is_preamble(block, &next)) {
    next.header_lines = next.rows.number - from.number;
    *block = next;
  }
  explain_delimiter(&search, &best, block);
  be_marks_explain(options, block);
  return BE_OK;
}

enum be_status be_block_next(struct be_lines from, const struct be_block *before,
                             struct be_block *block)
{
  struct be_candidate next = {
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
  memcpy(block->delimiter_why, before->delimiter_why, sizeof block->delimiter_why);
  memcpy(block->decimal_why, before->decimal_why, sizeof block->decimal_why);
  /* What the head of the file states holds for all its tests. */
  for (int role = BE_ROLE_TIME; role < BE_ROLES; role++)
    if (!block->stated_unit[role]) {
      block->stated_unit[role] = before->stated_unit[role];
      block->stated_line[role] = before->stated_line[role];
    }
  if (!block->interval_why[0]) {
    block->interval_s = before->interval_s;
    memcpy(block->interval_why, before->interval_why, sizeof block->interval_why);
  }
  return BE_OK;
}
