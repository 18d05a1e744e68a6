/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Heads stand on at most two lines when that makes a column narrower; numbers
 * are padded on their right so that their points stand under one another. */
#include "press/inside.h"

#include <string.h>

enum { HEAD_LINES = 2, COLUMN_GAP = 2 };

struct column {
  size_t width;
  size_t tail; /* of numbers */
  bool left;
  bool shown;
};

/* How many lines the words of head take in so many columns; where the second
 * line starts is left in *second. A word that is too wide counts as a failure. */
static size_t lines_of(const char *head, size_t width, const char **second)
{
  size_t lines = 1, used = 0;
  *second = NULL;
  while (*head) {
    size_t length = strcspn(head, " ");
    size_t wide = be_text_columns(head, length);
    if (wide > width) return SIZE_MAX;
    if (used > 0 && used + 1 + wide > width) {
      if (lines == 1) *second = head;
      lines++;
      used = wide;
    } else used += (used > 0) + wide;
    head += length;
    head += strspn(head, " ");
  }
  return lines;
}

static size_t cell_width(const struct cell *cell, size_t tail)
{
  char room[CELL_ROOM];
  size_t wide = be_utf8_width(be_cell_text(cell, room));
  return cell->kind == CELL_NUMBER ? wide + tail - be_cell_tail(cell) : wide;
}

static void measure(const struct be_table *table, size_t at, struct column *column)
{
  const struct be_column *about = &table->columns[at];
  *column = (struct column){.tail = table->tails[at],
                            .left = about->kind == BE_COLUMN_TEXT,
                            .shown = !about->program_only};
  size_t rows = be_table_rows(table);
  for (size_t row = 0; row < rows; row++) {
    size_t wide = cell_width(be_table_cell(table, row, at), column->tail);
    if (wide > column->width) column->width = wide;
  }
  if (column->width == 0) column->width = 1;
  const char *second;
  while (lines_of(about->head, column->width, &second) > HEAD_LINES) column->width++;
}

static void pad(struct be_buf *out, const struct column *column, size_t wide, bool before)
{
  size_t missing = column->width > wide ? column->width - wide : 0;
  if (before != column->left) be_text_repeat(out, " ", missing);
}

/* Spaces at the end of a line are noise in files: they are taken back. */
static void end_line(struct be_buf *out)
{
  while (out->status == BE_OK && out->size > 0 && out->data[out->size - 1] == ' ') out->size--;
  be_buf_char(out, '\n');
}

/* The part of a head that stands on a line: the first or the second, or, where
 * one line is enough, nothing on the first and all on the second. */
static void head_part(const char *head, size_t width, size_t line, size_t lines, const char **part,
                      size_t *size)
{
  const char *second;
  size_t own = lines_of(head, width, &second);
  *part = head;
  *size = strlen(head);
  if (own == 1) {
    if (line + 1 < lines) *size = 0;
    return;
  }
  if (line > 0) {
    *part = second;
    *size = strlen(second);
    return;
  }
  *size = (size_t)(second - head);
  while (*size > 0 && head[*size - 1] == ' ') --*size;
}

static void heads(const struct be_table *table, const struct column *columns, struct be_buf *out)
{
  size_t lines = 1;
  for (size_t i = 0; i < table->column_count; i++) {
    const char *second;
    if (columns[i].shown && lines_of(table->columns[i].head, columns[i].width, &second) > 1)
      lines = HEAD_LINES;
  }
  for (size_t line = 0; line < lines; line++) {
    size_t shown = 0;
    for (size_t i = 0; i < table->column_count; i++) {
      if (!columns[i].shown) continue;
      const char *part;
      size_t size;
      head_part(table->columns[i].head, columns[i].width, line, lines, &part, &size);
      size_t wide = be_text_columns(part, size);
      be_text_repeat(out, " ", shown++ ? COLUMN_GAP : 0);
      pad(out, &columns[i], wide, true);
      be_buf_add(out, part, size);
      pad(out, &columns[i], wide, false);
    }
    end_line(out);
  }
}

static void rule(const struct be_table *table, const struct column *columns, struct be_buf *out)
{
  size_t shown = 0;
  for (size_t i = 0; i < table->column_count; i++) {
    if (!columns[i].shown) continue;
    be_text_repeat(out, " ", shown++ ? COLUMN_GAP : 0);
    be_text_repeat(out, "\xE2\x94\x80", columns[i].width);
  }
  be_buf_char(out, '\n');
}

static void row_of(const struct be_table *table, const struct column *columns, size_t row,
                   struct be_buf *out)
{
  size_t shown = 0;
  for (size_t i = 0; i < table->column_count; i++) {
    if (!columns[i].shown) continue;
    const struct cell *cell = be_table_cell(table, row, i);
    char room[CELL_ROOM];
    const char *text = be_cell_text(cell, room);
    size_t wide = be_utf8_width(text);
    size_t tail = cell->kind == CELL_NUMBER ? columns[i].tail - be_cell_tail(cell) : 0;
    be_text_repeat(out, " ", shown++ ? COLUMN_GAP : 0);
    pad(out, &columns[i], wide + tail, true);
    /* A line end inside a cell would break the table. */
    for (; *text; text++) be_buf_char(out, *text == '\n' || *text == '\t' ? ' ' : *text);
    be_text_repeat(out, " ", tail);
    pad(out, &columns[i], wide + tail, false);
  }
  end_line(out);
}

enum be_status be_text_table(const struct be_table *table, bool titled, struct be_buf *out)
{
  struct column *columns = be_alloc_array(table->column_count, sizeof *columns);
  if (!columns) return BE_NO_MEMORY;
  size_t rows = be_table_rows(table), shown = 0;
  for (size_t i = 0; i < table->column_count; i++) {
    measure(table, i, &columns[i]);
    shown += columns[i].shown;
  }
  if (shown > 0) {
    if (titled && *table->title) be_buf_format(out, "%s\n", table->title);
    heads(table, columns, out);
    rule(table, columns, out);
    for (size_t row = 0; row < rows; row++) row_of(table, columns, row, out);
    if (rows == 0) be_buf_text(out, "(no rows)\n");
  }
  be_free(columns);
  return BE_OK;
}
