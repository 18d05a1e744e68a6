/* SPDX-License-Identifier: GPL-3.0-or-later */
/* RFC 4180: fields with a comma, a quote or a line end are quoted, quotes are
 * doubled, lines end with CR LF. */
#include "press/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool be_csv_runs(const char *text)
{
  const char *at = text + strspn(text, "'");
  return *at && strchr("=+-@", *at) && strcmp(text, "-") != 0;
}

static void field(struct be_buf *out, const char *text)
{
  const char *mark = be_csv_runs(text) ? "'" : "";
  if (!strpbrk(text, ",\"\r\n") && text[0] != ' ') {
    be_buf_format(out, "%s%s", mark, text);
    return;
  }
  be_buf_char(out, '"');
  be_buf_text(out, mark);
  for (; *text; text++) {
    if (*text == '"') be_buf_char(out, '"');
    be_buf_char(out, *text);
  }
  be_buf_char(out, '"');
}

static void number(struct be_buf *out, double value)
{
  char text[32];
  if (isnan(value)) return;
  be_number_full(text, value);
  be_buf_text(out, text);
}

static void heads(struct be_buf *out, const struct be_table *table)
{
  for (size_t i = 0; i < table->column_count; i++) {
    const struct be_column *column = &table->columns[i];
    if (i > 0) be_buf_char(out, ',');
    if (column->kind == BE_COLUMN_INTERVAL)
      be_buf_format(out, "%s_low,%s_high", column->key, column->key);
    else if (column->kind == BE_COLUMN_COUNT)
      be_buf_format(out, "%s_k,%s_n", column->key, column->key);
    else be_buf_text(out, column->key);
  }
  be_buf_text(out, "\r\n");
}

static void cell_of(struct be_buf *out, const struct cell *cell, enum be_column_kind kind)
{
  bool two = kind == BE_COLUMN_INTERVAL || kind == BE_COLUMN_COUNT;
  switch (cell->kind) {
  case CELL_NONE: break;
  case CELL_TEXT: field(out, cell->text); break;
  case CELL_NUMBER: number(out, cell->a); break;
  case CELL_INTERVAL:
    number(out, cell->a);
    be_buf_char(out, ',');
    number(out, cell->b);
    return;
  case CELL_COUNT: be_buf_format(out, "%zu,%zu", cell->k, cell->n); return;
  }
  if (two) be_buf_char(out, ',');
}

static void table_of(struct be_buf *out, const struct be_table *table)
{
  heads(out, table);
  size_t rows = be_table_rows(table);
  for (size_t row = 0; row < rows; row++) {
    for (size_t i = 0; i < table->column_count; i++) {
      if (i > 0) be_buf_char(out, ',');
      cell_of(out, be_table_cell(table, row, i), table->columns[i].kind);
    }
    be_buf_text(out, "\r\n");
  }
}

/* RFC 4180 knows no remarks, so what holds for all rows (unit, level, seed) is a
 * table too, the last. */
static void facts_of(struct be_buf *out, const struct be_doc *doc, bool first)
{
  bool headed = false;
  for (size_t i = 0; i < doc->block_count; i++) {
    const struct block *block = &doc->blocks[i];
    if (block->kind != BLOCK_FACT) continue;
    if (!headed) be_buf_text(out, first ? "key,value\r\n" : "\r\nkey,value\r\n");
    headed = true;
    field(out, block->key);
    be_buf_char(out, ',');
    field(out, block->text);
    be_buf_text(out, "\r\n");
  }
}

enum be_status be_doc_csv(const struct be_doc *doc, struct be_buf *out, struct be_err *err)
{
  enum be_status status = be_doc_status(doc, err);
  if (status != BE_OK) return status;
  bool first = true;
  for (size_t i = 0; i < doc->block_count; i++) {
    const struct block *block = &doc->blocks[i];
    if (block->kind != BLOCK_TABLE || block->table->people_only) continue;
    if (!first) be_buf_text(out, "\r\n");
    first = false;
    table_of(out, block->table);
  }
  facts_of(out, doc, first);
  return be_buf_status(out, err);
}

/* What was typed, of up to eight digits, stays as it is, though units were changed there and back;
 * what was worked out or measured is told to six. */
static void drawn_number(struct be_buf *out, double value)
{
  char text[32];
  if (isnan(value)) return;
  snprintf(text, sizeof text, "%.8g", value);
  if (fabs(strtod(text, NULL) - value) > 1e-12 * fabs(value))
    snprintf(text, sizeof text, "%.6g", value);
  be_buf_text(out, text);
}

enum be_status be_figure_csv(const struct be_figure *figure, struct be_buf *out, struct be_err *err)
{
  struct be_data data;
  struct be_arena *arena = be_arena_create();
  enum be_status status = arena ? be_figure_data(figure, arena, &data) : BE_NO_MEMORY;
  for (size_t i = 0; status == BE_OK && i < data.columns; i++)
    be_buf_format(out, "%s%s", i ? "," : "", data.keys[i]);
  for (size_t i = 0; status == BE_OK && i < data.rows * data.columns; i++) {
    const struct be_datum *cell = &data.cells[i];
    be_buf_text(out, i % data.columns ? "," : "\r\n");
    if (cell->text) field(out, cell->text);
    else drawn_number(out, cell->number);
  }
  be_buf_text(out, "\r\n");
  be_arena_free(arena);
  if (status != BE_OK) return be_fail(err, status, "no memory for the data of a figure");
  return be_buf_status(out, err);
}
