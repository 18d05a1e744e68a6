/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets as cells (RFC 4180 and its common cousins: semicolon or tab between
 * cells, bare line ends, a first line "sep=;", rows cut after their last filled
 * cell). coding.c makes the text UTF-8 first. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

/* Bytes of the remarks at text: lines that start with "#" before the header. */
static size_t remark_size(const char *text, size_t size)
{
  const char *end = size && *text == '#' ? memchr(text, '\n', size) : text;
  return !end ? size : end == text ? 0 : (size_t)(end - text) + 1;
}

/* The delimiter that stands most often in the first line with any, outside
 * quotes and remarks. */
static char find_delimiter(const char *text, size_t size)
{
  size_t counts[3] = {0};
  const char marks[3] = {',', ';', '\t'};
  bool quoted = false;
  for (size_t i = 0; i < size; i++) {
    bool starts = (i == 0 || text[i - 1] == '\n') && !quoted;
    for (size_t pass = starts; pass && (pass = remark_size(text + i, size - i)) > 0;) i += pass;
    if (i >= size) break;
    if (text[i] == '"') quoted = !quoted;
    if (text[i] == '\n' && !quoted && counts[0] + counts[1] + counts[2] > 0) break;
    for (int k = 0; k < 3; k++) counts[k] += !quoted && text[i] == marks[k];
  }
  int best = 0;
  for (int k = 1; k < 3; k++)
    if (counts[k] > counts[best]) best = k;
  return marks[best];
}

struct reader {
  char *at, *end;
  size_t line;
  char delimiter;
  char **cells;
  size_t cells_count, cells_capacity;
};

/* Before what a program of spreadsheets would run as a formula a ' says that it is text; our own
 * tables are written so (press/csv.c). */
static bool is_marked(const char *cell)
{
  const char *at = cell + strspn(cell, "'");
  return at > cell && *at && strchr("=+-@", *at);
}

/* Reads one cell in place; *last tells whether it ends its row. */
static enum be_status read_cell(struct reader *in, bool *last, struct be_err *err)
{
  while (in->at < in->end && *in->at == ' ') in->at++;
  char *start = in->at, *out = in->at;
  if (in->at < in->end && *in->at == '"') {
    size_t opened = in->line;
    for (in->at++;; in->at++) {
      if (in->at >= in->end) {
        be_fail(err, BE_BAD_INPUT, "a quoted cell is not closed");
        be_fail_at(err, NULL, opened, 0);
        return be_fail_remedy(err, "close it, or write a quotation mark inside it twice");
      }
      if (*in->at == '\n') in->line++;
      if (*in->at == '"' && (in->at + 1 >= in->end || in->at[1] != '"')) break;
      if (*in->at == '"') in->at++;
      *out++ = *in->at;
    }
    in->at++;
    while (in->at < in->end && *in->at == ' ') in->at++;
    if (in->at < in->end && *in->at != in->delimiter && *in->at != '\r' && *in->at != '\n') {
      be_fail(err, BE_BAD_INPUT, "text follows a closed quotation mark");
      be_fail_at(err, NULL, in->line, 0);
      return be_fail_remedy(err,
                            "quote the whole cell; a quotation mark inside it is written twice");
    }
  } else {
    while (in->at < in->end && *in->at != in->delimiter && *in->at != '\n') *out++ = *in->at++;
  }
  *last = in->at >= in->end || *in->at != in->delimiter;
  if (!*last) in->at++;
  while (*last && in->at < in->end && *in->at == '\r') in->at++;
  if (*last && in->at < in->end && *in->at == '\n') in->at++, in->line++;
  while (out > start && (out[-1] == ' ' || out[-1] == '\r' || out[-1] == '\t')) out--;
  *out = '\0';
  void *block = in->cells;
  enum be_status status = be_grow(&block, &in->cells_capacity, sizeof *in->cells,
                                  in->cells_count + 1, (size_t)SHEET_ROWS_MAX * 8, err);
  in->cells = block;
  if (status == BE_OK) in->cells[in->cells_count++] = start + is_marked(start);
  return status;
}

/* Reads a row; *kept is false when all its cells are empty. */
static enum be_status read_row(struct reader *in, bool *kept, struct be_err *err)
{
  size_t first = in->cells_count;
  for (bool last = false; !last;) {
    enum be_status status = read_cell(in, &last, err);
    if (status != BE_OK) return status;
  }
  *kept = false;
  for (size_t i = first; i < in->cells_count; i++) *kept |= in->cells[i][0] != '\0';
  if (!*kept) in->cells_count = first;
  return BE_OK;
}

static void skip_remarks(struct reader *in)
{
  for (size_t size; (size = remark_size(in->at, (size_t)(in->end - in->at))) > 0; in->line++)
    in->at += size;
}

/* Votes for a decimal mark: only numbers whose mark cannot be a thousands mark. */
static char usual_mark(const struct sheet *sheet)
{
  size_t points = 0, commas = 0;
  for (size_t i = sheet->columns; i < sheet->columns * (sheet->rows + 1); i++) {
    double value;
    enum be_number_style style;
    const char *cell = sheet->cells[i];
    size_t size = strspn(cell, "0123456789.,-+");
    bool point = memchr(cell, '.', size) != NULL, comma = memchr(cell, ',', size) != NULL;
    if (point == comma || (cell[size] && cell[size] != ' ')) continue;
    if (be_number_parse(cell, size, 0, &value, &style, NULL) != BE_OK) continue;
    if (style == BE_NUMBER_THOUSANDS) continue;
    if (point) points++;
    else commas++;
  }
  return points > commas ? '.' : commas > points ? ',' : 0;
}

/* Adds or drops empty cells, so that the row is as long as the header. */
static enum be_status fit_row(struct reader *in, size_t before, size_t columns, size_t line,
                              struct be_err *err)
{
  static char empty[] = "";
  size_t got = in->cells_count - before;
  while (got > columns && in->cells[before + got - 1][0] == '\0') got--;
  if (got > columns) {
    be_fail(err, BE_BAD_INPUT, "this row has %zu cells; the header has %zu", got, columns);
    be_fail_at(err, NULL, line, 0);
    return be_fail_remedy(err, "a cell that holds the delimiter needs quotation marks");
  }
  void *block = in->cells;
  enum be_status status = be_grow(&block, &in->cells_capacity, sizeof *in->cells, before + columns,
                                  (size_t)SHEET_ROWS_MAX * 8, err);
  in->cells = block;
  if (status != BE_OK) return status;
  while (got < columns) in->cells[before + got++] = empty;
  in->cells_count = before + columns;
  return BE_OK;
}

/* The cells of the header: those after the last named one have no meaning. */
static enum be_status count_columns(struct reader *in, struct sheet *sheet, size_t line,
                                    struct be_err *err)
{
  sheet->columns = in->cells_count;
  while (in->cells[sheet->columns - 1][0] == '\0') sheet->columns--;
  if (sheet->columns <= SHEET_COLUMNS_MAX) return BE_OK;
  be_fail(err, BE_TOO_LARGE, "more than %d columns", SHEET_COLUMNS_MAX);
  be_fail_at(err, NULL, line, 0);
  return be_fail_remedy(err, "take out the columns that are not about the pulls");
}

static enum be_status keep_sheet(const struct reader *in, const size_t *lines, size_t rows,
                                 struct be_arena *arena, struct sheet *sheet, struct be_err *err)
{
  if (rows == 0) {
    be_fail(err, BE_BAD_INPUT,
            in->line > 1 ? "the file has nothing but empty lines and remarks"
                         : "the file is empty");
    be_fail_remedy(err, "a sheet has one row that names its columns, then one row a pull");
    return BE_BAD_INPUT;
  }
  sheet->rows = rows - 1;
  sheet->lines = be_arena_alloc(arena, rows * sizeof *lines);
  sheet->cells = be_arena_alloc(arena, in->cells_count * sizeof *in->cells);
  if (!sheet->lines || !sheet->cells) return be_fail(err, BE_NO_MEMORY, "no memory for the sheet");
  memcpy(sheet->lines, lines, rows * sizeof *lines);
  memcpy(sheet->cells, in->cells, in->cells_count * sizeof *in->cells);
  sheet->usual = usual_mark(sheet);
  return BE_OK;
}

/* A header with gaps, over which the names stand in full: the upper of two rows of header. */
static bool is_over_names(const struct reader *in, const struct sheet *sheet, size_t before)
{
  size_t gaps = 0, told = 0, got = in->cells_count - before;
  for (size_t i = 0; i < sheet->columns; i++) gaps += in->cells[i][0] == '\0';
  while (told < got && in->cells[before + told][0]) told++;
  return gaps && told == got && got >= sheet->columns;
}

/* Lines of one cell above a header of several are titles: then the row read last is the header. */
static bool were_titles(struct reader *in, struct sheet *sheet, size_t before, size_t rows)
{
  enum { MOST = 20 };
  size_t got = in->cells_count - before, told = 0;
  for (size_t i = 0; i < got; i++) {
    const char *cell = in->cells[before + i];
    if (*cell && strchr("0123456789.,+-", *cell)) return false; /* no name of a column */
    told += *cell != '\0';
  }
  bool over = rows == 1 && is_over_names(in, sheet, before);
  if ((sheet->columns > 1 && !over) || told < 2 || rows > MOST) return false;
  sheet->title = over ? NULL : in->cells[before - 1];
  memmove(in->cells, in->cells + before, got * sizeof *in->cells);
  in->cells_count = got;
  sheet->titles = rows;
  return true;
}

static enum be_status fill(struct reader *in, struct be_arena *arena, struct sheet *sheet,
                           struct be_err *err)
{
  size_t *lines = NULL, capacity = 0, rows = 0;
  enum be_status status = BE_OK;
  while (in->at < in->end && status == BE_OK) {
    if (rows == 0) skip_remarks(in);
    if (in->at >= in->end) break;
    size_t line = in->line, before = in->cells_count;
    bool kept = false;
    status = read_row(in, &kept, err);
    if (status != BE_OK || !kept) continue;
    if (rows > 0 && were_titles(in, sheet, before, rows)) rows = before = 0;
    if (rows == 0) status = count_columns(in, sheet, line, err);
    if (status == BE_OK) status = fit_row(in, before, sheet->columns, line, err);
    if (status != BE_OK) continue;
    void *block = lines;
    status = be_grow(&block, &capacity, sizeof *lines, rows + 1, SHEET_ROWS_MAX, err);
    lines = block;
    if (status == BE_OK) lines[rows++] = line;
  }
  if (status == BE_OK) status = keep_sheet(in, lines, rows, arena, sheet, err);
  be_free(lines);
  return status;
}

/* "sep=;" alone in the first line names the delimiter. */
static bool said_delimiter(struct reader *in)
{
  const char *at = in->at;
  if (in->end - at < 6 || memcmp(at, "sep=", 4) != 0) return false;
  size_t line = 5 + (at[5] == '\r');
  if (at[line] != '\n') return false;
  in->delimiter = at[4];
  in->at += line + 1;
  in->line++;
  return true;
}

enum be_status be_sheet_read(const char *bytes, size_t size, struct be_arena *arena,
                             struct sheet *sheet, struct be_err *err)
{
  memset(sheet, 0, sizeof *sheet);
  struct reader in = {.line = 1};
  size_t length = 0;
  enum be_status status = be_sheet_text(bytes, size, arena, &in.at, &length, err);
  if (status != BE_OK) return status;
  in.end = in.at + length;
  if (!said_delimiter(&in)) in.delimiter = find_delimiter(in.at, length);
  sheet->delimiter = in.delimiter;
  status = fill(&in, arena, sheet, err);
  be_free(in.cells);
  return status;
}

const char *be_sheet_cell(const struct sheet *sheet, size_t row, size_t column)
{
  return sheet->cells[row * sheet->columns + column];
}

enum be_status be_book_sheet(const char *bytes, size_t size, be_sheet_row *row, void *context,
                             struct be_err *err)
{
  struct sheet sheet;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_fail(err, BE_NO_MEMORY, "no memory for the sheet");
  enum be_status status = be_sheet_read(bytes, size, arena, &sheet, err);
  for (size_t i = 0; status == BE_OK && i <= sheet.rows; i++)
    status = row(context, sheet.cells + i * sheet.columns, sheet.columns, sheet.lines[i], err);
  be_arena_free(arena);
  return status;
}
