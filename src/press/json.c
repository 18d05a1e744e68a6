/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "press/inside.h"

#include <math.h>
#include <string.h>

void be_json_string(struct be_buf *out, const char *text)
{
  be_buf_char(out, '"');
  for (const char *c = text; *c; c++) {
    if (*c == '"' || *c == '\\') be_buf_format(out, "\\%c", *c);
    else if (*c == '\n') be_buf_text(out, "\\n");
    else if (*c == '\t') be_buf_text(out, "\\t");
    else if ((unsigned char)*c < 0x20) be_buf_format(out, "\\u%04x", (unsigned)*c);
    else be_buf_char(out, *c);
  }
  be_buf_char(out, '"');
}

void be_json_number(struct be_buf *out, double value)
{
  char text[32] = "null";
  if (isfinite(value)) be_number_full(text, value);
  be_buf_text(out, text);
}

static void key(struct be_buf *out, const char *name, const char *ending)
{
  struct be_buf whole;
  be_buf_init(&whole, DOC_TEXT_MAX);
  be_buf_format(&whole, "%s%s", name, ending);
  if (whole.status == BE_OK) be_json_string(out, whole.data);
  else if (out->status == BE_OK) out->status = whole.status;
  be_buf_free(&whole);
  be_buf_char(out, ':');
}

/* A cell that is not of two parts, in a column of either kind. */
static void plain(struct be_buf *out, const struct cell *cell)
{
  switch (cell->kind) {
  case CELL_TEXT: be_json_string(out, cell->text); break;
  case CELL_NUMBER: be_json_number(out, cell->a); break;
  case CELL_NONE:
  case CELL_INTERVAL:
  case CELL_COUNT: be_buf_text(out, "null"); break;
  }
}

static void cell_of(struct be_buf *out, const struct cell *cell, const struct be_column *column)
{
  bool interval = column->kind == BE_COLUMN_INTERVAL, count = column->kind == BE_COLUMN_COUNT;
  key(out, column->key, interval ? "_low" : count ? "_k" : "");
  if (cell->kind == CELL_INTERVAL) be_json_number(out, cell->a);
  else if (cell->kind == CELL_COUNT) be_buf_format(out, "%zu", cell->k);
  else plain(out, cell);
  if (!interval && !count) return;
  be_buf_char(out, ',');
  key(out, column->key, interval ? "_high" : "_n");
  if (cell->kind == CELL_INTERVAL) be_json_number(out, cell->b);
  else if (cell->kind == CELL_COUNT) be_buf_format(out, "%zu", cell->n);
  else be_buf_text(out, "null");
}

static void table_of(struct be_buf *out, const struct be_table *table)
{
  be_buf_text(out, "{\"name\":");
  be_json_string(out, table->name);
  be_buf_text(out, ",\"title\":");
  be_json_string(out, table->title);
  be_buf_text(out, ",\"rows\":[");
  size_t rows = be_table_rows(table);
  for (size_t row = 0; row < rows; row++) {
    be_buf_text(out, row ? ",\n    {" : "\n    {");
    for (size_t i = 0; i < table->column_count; i++) {
      if (i > 0) be_buf_char(out, ',');
      cell_of(out, be_table_cell(table, row, i), &table->columns[i]);
    }
    be_buf_char(out, '}');
  }
  be_buf_text(out, "]}");
}

static void figure_of(struct be_buf *out, const struct block *block)
{
  const struct shown shown = be_block_shown(block);
  struct be_buf clean;
  be_buf_init(&clean, 4 * (size_t)DOC_TEXT_MAX);
  const char *const keys[] = {"title", "subtitle", "words"};
  const char *const texts[] = {shown.title, shown.subtitle, shown.words};
  for (size_t i = 0; i < 3; i++) {
    be_buf_format(out, "%c\"%s\":", i ? ',' : '{', keys[i]);
    clean.size = 0;
    be_text_clean(&clean, texts[i]);
    if (clean.status == BE_OK) be_json_string(out, clean.data);
    else if (out->status == BE_OK) out->status = clean.status;
  }
  be_buf_char(out, '}');
  be_buf_free(&clean);
}

static void block_of(struct be_buf *out, const struct block *block)
{
  switch (block->kind) {
  case BLOCK_FACT:
    key(out, block->key, "");
    be_json_string(out, block->text);
    break;
  case BLOCK_FIGURE: figure_of(out, block); break;
  case BLOCK_TABLE: table_of(out, block->table); break;
  case BLOCK_PICTURE:
  case BLOCK_SENTENCE:
  case BLOCK_HEADING:
  case BLOCK_NOTE:
  case BLOCK_CAUTION: be_json_string(out, block->text); break;
  }
}

/* All blocks of one kind under their key. */
static void list(struct be_buf *out, const struct be_doc *doc, const char *name,
                 enum block_kind kind, const char *brackets)
{
  be_buf_format(out, ",\n  \"%s\":%c", name, brackets[0]);
  bool first = true;
  for (size_t i = 0; i < doc->block_count; i++) {
    if (doc->blocks[i].kind != kind) continue;
    be_buf_text(out, first ? "\n   " : ",\n   ");
    first = false;
    block_of(out, &doc->blocks[i]);
  }
  be_buf_char(out, brackets[1]);
}

enum be_status be_doc_json(const struct be_doc *doc, struct be_buf *out, struct be_err *err)
{
  enum be_status status = be_doc_status(doc, err);
  if (status != BE_OK) return status;
  be_buf_text(out, "{\n  \"program\":\"bitterend\",\n  \"version\":");
  be_json_string(out, be_version);
  be_buf_format(out, ",\n  \"format\":%d,\n  \"document\":", BE_JSON_FORMAT);
  be_json_string(out, doc->name);
  be_buf_text(out, ",\n  \"title\":");
  be_json_string(out, doc->title);
  list(out, doc, "sentences", BLOCK_SENTENCE, "[]");
  list(out, doc, "notes", BLOCK_NOTE, "[]");
  list(out, doc, "cautions", BLOCK_CAUTION, "[]");
  list(out, doc, "facts", BLOCK_FACT, "{}");
  list(out, doc, "tables", BLOCK_TABLE, "[]");
  list(out, doc, "figures", BLOCK_FIGURE, "[]");
  be_buf_text(out, "\n}\n");
  return be_buf_status(out, err);
}
