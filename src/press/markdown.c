/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Markdown as CommonMark 0.31 has it, with the pipe tables that most readers of it know. What a
 * text holds never marks anything: every character that could is written so that it stands for
 * itself. A table's source is aligned too, so that it can be read unrendered. */
#include "press/inside.h"

#include <string.h>

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

static bool names_entity(char c)
{
  return c == '#' || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* A bracket marks something only together with what follows it. */
static bool is_mark(const char *at)
{
  if (*at == ']') return at[1] == '(' || at[1] == '[' || at[1] == ':';
  return strchr("\\`*_|~$", *at) != NULL;
}

static void text_of(struct be_buf *out, const char *text)
{
  for (const char *at = text; *at; at++) {
    if (*at == '<') be_buf_text(out, "&lt;");
    else if (*at == '>') be_buf_text(out, "&gt;");
    else if (*at == '&' && names_entity(at[1])) be_buf_text(out, "&amp;");
    else if (*at == '\n' || *at == '\r' || *at == '\t') be_buf_char(out, ' ');
    else {
      if (is_mark(at)) be_buf_char(out, '\\');
      be_buf_char(out, *at);
    }
  }
}

/* A text at the start of a line: there "3." begins a list, and so do dashes and pluses. */
static void line_of(struct be_buf *out, const char *text)
{
  text += strspn(text, " \n\r\t");
  size_t digits = 0;
  while (is_digit(text[digits])) digits++;
  be_buf_add(out, text, digits);
  text += digits;
  if (digits ? *text == '.' || *text == ')' : *text && strchr("#+-=", *text)) {
    be_buf_char(out, '\\');
    be_buf_char(out, *text++);
  }
  text_of(out, text);
}

static void wrap(struct be_buf *out, const char *before, const char *text, const char *after)
{
  be_buf_text(out, before);
  text_of(out, text);
  be_buf_text(out, after);
}

/* ---- tables ---- */

/* Brackets of an interval that is one of ours mark nothing: a colon or another never follows. */
static void cell_of(struct be_buf *out, const struct cell *cell)
{
  char room[CELL_ROOM];
  const char *text = be_cell_text(cell, room);
  if (cell->kind == CELL_TEXT) text_of(out, text);
  else be_buf_text(out, text);
}

struct layout {
  const struct be_table *table;
  size_t *widths;
  struct be_buf scratch; /* one cell at a time */
};

/* The cell as it stands in the source, its decimal point under those of its column. */
static void write_cell(struct layout *layout, size_t row, size_t column)
{
  const struct cell *cell = be_table_cell(layout->table, row, column);
  layout->scratch.size = 0;
  be_buf_text(&layout->scratch, ""); /* an empty cell is an empty text */
  cell_of(&layout->scratch, cell);
  if (cell->kind == CELL_NUMBER)
    be_text_repeat(&layout->scratch, " ", layout->table->tails[column] - be_cell_tail(cell));
}

static void write_head(struct layout *layout, size_t column)
{
  layout->scratch.size = 0;
  be_buf_text(&layout->scratch, "");
  text_of(&layout->scratch, layout->table->columns[column].head);
}

static void widen(struct layout *layout, size_t column)
{
  size_t wide = be_text_columns(layout->scratch.data, layout->scratch.size);
  if (wide > layout->widths[column]) layout->widths[column] = wide;
}

static void put(struct layout *layout, size_t column, struct be_buf *out)
{
  size_t wide = be_text_columns(layout->scratch.data, layout->scratch.size);
  size_t missing = layout->widths[column] - wide;
  bool left = layout->table->columns[column].kind == BE_COLUMN_TEXT;
  be_buf_text(out, "| ");
  be_text_repeat(out, " ", left ? 0 : missing);
  be_buf_add(out, layout->scratch.data, layout->scratch.size);
  be_text_repeat(out, " ", left ? missing : 0);
  be_buf_char(out, ' ');
}

static void rule(const struct layout *layout, size_t column, struct be_buf *out)
{
  be_buf_text(out, "| ");
  bool left = layout->table->columns[column].kind == BE_COLUMN_TEXT;
  be_text_repeat(out, "-", layout->widths[column] - !left);
  be_buf_text(out, left ? " " : ": ");
}

/* Row by row; the head is row -1. */
static void rows_of(struct layout *layout, struct be_buf *out)
{
  enum { WIDTH_LEAST = 3 }; /* of a rule */
  const struct be_table *table = layout->table;
  size_t rows = be_table_rows(table);
  for (size_t i = 0; i < table->column_count; i++) {
    layout->widths[i] = WIDTH_LEAST;
    write_head(layout, i);
    widen(layout, i);
    for (size_t row = 0; row < rows; row++) {
      write_cell(layout, row, i);
      widen(layout, i);
    }
  }
  for (size_t line = 0; line < rows + 2; line++) {
    for (size_t i = 0; i < table->column_count; i++) {
      if (table->columns[i].program_only) continue;
      if (line == 1) {
        rule(layout, i, out);
        continue;
      }
      if (line == 0) write_head(layout, i);
      else write_cell(layout, line - 2, i);
      put(layout, i, out);
    }
    be_buf_text(out, "|\n");
  }
  if (rows == 0) be_buf_text(out, "\n(no rows)\n");
}

static enum be_status table_of(const struct be_table *table, bool titled, struct be_buf *out)
{
  size_t shown = 0;
  for (size_t i = 0; i < table->column_count; i++) shown += !table->columns[i].program_only;
  if (!shown) return BE_OK;
  struct layout layout = {.table = table,
                          .widths = be_alloc_array(table->column_count, sizeof(size_t))};
  if (!layout.widths) return BE_NO_MEMORY;
  be_buf_init(&layout.scratch, 8 * (size_t)DOC_TEXT_MAX);
  be_buf_char(out, '\n');
  if (titled && *table->title) wrap(out, "**", table->title, "**\n\n");
  rows_of(&layout, out);
  enum be_status status = layout.scratch.status;
  be_buf_free(&layout.scratch);
  be_free(layout.widths);
  return status;
}

/* ---- blocks ---- */

/* A figure's texts are as they were given: bad bytes in them are replaced here. */
static enum be_status figure_of(struct be_buf *out, const struct block *block)
{
  const struct shown shown = be_block_shown(block);
  struct be_buf clean;
  be_buf_init(&clean, 8 * (size_t)DOC_TEXT_MAX);
  be_text_clean(&clean, shown.title);
  if (clean.status == BE_OK) wrap(out, "\n**Figure: ", clean.data, "**\n");
  clean.size = 0;
  be_text_clean(&clean, shown.words);
  if (clean.status == BE_OK && clean.size) {
    be_buf_char(out, '\n');
    line_of(out, clean.data);
    be_buf_char(out, '\n');
  }
  enum be_status status = clean.status;
  be_buf_free(&clean);
  return status;
}

static enum be_status block_of(struct be_buf *out, const struct be_doc *doc, size_t i)
{
  const struct block *block = &doc->blocks[i];
  bool among_facts = block->kind == BLOCK_FACT && i > 0 && doc->blocks[i - 1].kind == BLOCK_FACT;
  switch (block->kind) {
  case BLOCK_HEADING: wrap(out, "\n## ", block->text, "\n"); break;
  case BLOCK_CAUTION: wrap(out, "\n> **CAUTION** ", block->text, "\n"); break;
  case BLOCK_SENTENCE:
  case BLOCK_NOTE:
    be_buf_char(out, '\n');
    line_of(out, block->text);
    be_buf_char(out, '\n');
    break;
  case BLOCK_FACT:
    wrap(out, among_facts ? "- " : "\n- ", block->label, ": ");
    wrap(out, "", block->text, "\n");
    break;
  case BLOCK_FIGURE: return figure_of(out, block);
  case BLOCK_PICTURE: break;
  case BLOCK_TABLE: return table_of(block->table, !be_table_named_above(doc, i), out);
  }
  return BE_OK;
}

enum be_status be_doc_markdown(const struct be_doc *doc, struct be_buf *out, struct be_err *err)
{
  enum be_status status = be_doc_status(doc, err);
  if (status != BE_OK) return status;
  wrap(out, "# ", doc->title, "\n");
  for (size_t i = 0; i < doc->block_count; i++) {
    status = block_of(out, doc, i);
    if (status != BE_OK) return be_fail(err, status, "no memory for \"%.80s\"", doc->title);
  }
  return be_buf_status(out, err);
}
