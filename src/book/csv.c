/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets as cells (RFC 4180 and its common cousins: semicolon or tab between
 * cells, bare line ends). Text that is not UTF-8 is taken as Latin-1. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

static char *to_utf8(const char *bytes, size_t size, struct be_arena *arena, size_t *length)
{
  if (size >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) bytes += 3, size -= 3;
  *length = size;
  if (be_utf8_valid(bytes, size)) return be_arena_text(arena, bytes, size);
  char *text = be_arena_alloc(arena, 2 * size + 1);
  if (!text) return NULL;
  *length = 0;
  for (size_t i = 0; i < size; i++) {
    unsigned char c = (unsigned char)bytes[i];
    if (c >= 0x80) text[(*length)++] = (char)(0xC0 | c >> 6);
    text[(*length)++] = (char)(c < 0x80 ? c : 0x80 | (c & 0x3F));
  }
  return text;
}

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
        return be_fail_at(err, NULL, opened, 0);
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
      return be_fail_at(err, NULL, in->line, 0);
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
  if (status == BE_OK) in->cells[in->cells_count++] = start;
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
    if (rows == 0) sheet->columns = in->cells_count;
    size_t got = in->cells_count - before;
    if (got != sheet->columns) {
      be_fail(err, BE_BAD_INPUT, "this row has %zu cells; the header has %zu", got, sheet->columns);
      be_fail_at(err, NULL, line, 0);
      status = be_fail_remedy(err, "a cell that holds the delimiter needs quotation marks");
      continue;
    }
    void *block = lines;
    status = be_grow(&block, &capacity, sizeof *lines, rows + 1, SHEET_ROWS_MAX, err);
    lines = block;
    if (status == BE_OK) lines[rows++] = line;
  }
  if (status == BE_OK && rows == 0) status = be_fail(err, BE_BAD_INPUT, "the file is empty");
  if (status == BE_OK && sheet->columns > SHEET_COLUMNS_MAX)
    status = be_fail(err, BE_TOO_LARGE, "more than %d columns", SHEET_COLUMNS_MAX);
  if (status == BE_OK) {
    sheet->rows = rows - 1;
    sheet->lines = be_arena_alloc(arena, rows * sizeof *lines);
    sheet->cells = be_arena_alloc(arena, in->cells_count * sizeof *in->cells);
    if (!sheet->lines || !sheet->cells) status = be_fail(err, BE_NO_MEMORY, "no memory");
    else {
      memcpy(sheet->lines, lines, rows * sizeof *lines);
      memcpy(sheet->cells, in->cells, in->cells_count * sizeof *in->cells);
      sheet->usual = usual_mark(sheet);
    }
  }
  be_free(lines);
  return status;
}

enum be_status be_sheet_read(const char *bytes, size_t size, struct be_arena *arena,
                             struct sheet *sheet, struct be_err *err)
{
  memset(sheet, 0, sizeof *sheet);
  const char *zero = size ? memchr(bytes, '\0', size) : NULL;
  if (zero) return be_fail(err, BE_BAD_INPUT, "the file holds bytes that are not text");
  struct reader in = {.line = 1};
  size_t length = 0;
  char *text = to_utf8(bytes, size, arena, &length);
  if (!text) return be_fail(err, BE_NO_MEMORY, "no memory for the sheet");
  in.at = text;
  in.end = text + length;
  in.delimiter = sheet->delimiter = find_delimiter(text, length);
  enum be_status status = fill(&in, arena, sheet, err);
  be_free(in.cells);
  return status;
}

const char *be_sheet_cell(const struct sheet *sheet, size_t row, size_t column)
{
  return sheet->cells[row * sheet->columns + column];
}
