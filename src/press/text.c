/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "press/inside.h"

#include <string.h>

enum { WIDTH = 78, WIDTH_LEAST = 20 };

void be_text_repeat(struct be_buf *out, const char *what, size_t times)
{
  while (times-- > 0) be_buf_text(out, what);
}

size_t be_text_columns(const char *text, size_t size)
{
  size_t width = 0;
  char one[5];
  while (size > 0) {
    uint32_t code;
    size_t length = be_utf8_next(text, size, &code);
    if (length == 0) length = 1;
    memcpy(one, text, length);
    one[length] = '\0';
    width += be_utf8_width(one);
    text += length;
    size -= length;
  }
  return width;
}

/* Words are kept whole, even one that is wider than a line. The caller has
 * written `indent` columns of the first line. */
void be_text_wrap(struct be_buf *out, const char *text, size_t width, size_t indent)
{
  size_t column = indent;
  bool first = true;
  for (text += strspn(text, " \n\t"); *text; text += strspn(text, " \n\t")) {
    size_t length = strcspn(text, " \n\t");
    size_t wide = be_text_columns(text, length);
    if (!first && column + 1 + wide > width) {
      be_buf_char(out, '\n');
      be_text_repeat(out, " ", indent);
      column = indent;
    } else if (!first) {
      be_buf_char(out, ' ');
      column++;
    }
    be_buf_add(out, text, length);
    column += wide;
    first = false;
    text += length;
  }
  be_buf_char(out, '\n');
}

static void heading(struct be_buf *out, const char *text, const char *rule, size_t width)
{
  be_text_wrap(out, text, width, 0);
  size_t wide = be_utf8_width(text);
  be_text_repeat(out, rule, wide > width ? width : wide);
  be_buf_char(out, '\n');
}

/* Facts that follow one another have their values in one column. */
static size_t label_width(const struct be_doc *doc, size_t i)
{
  size_t widest = 0;
  while (i > 0 && doc->blocks[i - 1].kind == BLOCK_FACT) i--;
  for (; i < doc->block_count && doc->blocks[i].kind == BLOCK_FACT; i++) {
    size_t wide = be_utf8_width(doc->blocks[i].label);
    if (wide > widest) widest = wide;
  }
  return widest;
}

static void fact(struct be_buf *out, const struct be_doc *doc, size_t i, size_t width)
{
  const struct block *block = &doc->blocks[i];
  size_t column = label_width(doc, i) + 2;
  be_buf_text(out, block->label);
  be_text_repeat(out, " ", column - be_utf8_width(block->label));
  be_text_wrap(out, block->text, width, column);
}

static enum be_status figure_of(struct be_buf *out, const struct block *block, size_t width)
{
  const struct shown shown = be_block_shown(block);
  struct be_buf clean;
  be_buf_init(&clean, 4 * (size_t)DOC_TEXT_MAX);
  be_text_clean(&clean, shown.title);
  be_text_clean(&clean, "\n");
  size_t words = clean.size;
  be_text_clean(&clean, shown.words);
  if (clean.status == BE_OK) {
    clean.data[words - 1] = '\0';
    be_buf_text(out, "Figure: ");
    be_text_wrap(out, clean.data, width, 8);
    if (clean.data[words]) {
      be_buf_text(out, "  ");
      be_text_wrap(out, clean.data + words, width, 2);
    }
  }
  enum be_status status = clean.status;
  be_buf_free(&clean);
  return status;
}

static bool for_programs(const struct be_table *table)
{
  for (size_t i = 0; i < table->column_count; i++)
    if (!table->columns[i].program_only) return false;
  return true;
}

static enum be_status block_of(struct be_buf *out, const struct be_doc *doc, size_t i, size_t width)
{
  const struct block *block = &doc->blocks[i];
  bool among_facts = block->kind == BLOCK_FACT && i > 0 && doc->blocks[i - 1].kind == BLOCK_FACT;
  if (block->kind == BLOCK_TABLE && for_programs(block->table)) return BE_OK;
  if (block->kind == BLOCK_PICTURE) return BE_OK;
  if (!among_facts) be_buf_char(out, '\n');
  switch (block->kind) {
  case BLOCK_SENTENCE: be_text_wrap(out, block->text, width, 0); break;
  case BLOCK_HEADING: heading(out, block->text, "\xE2\x94\x80", width); break;
  case BLOCK_NOTE:
    be_buf_text(out, "  ");
    be_text_wrap(out, block->text, width, 2);
    break;
  case BLOCK_CAUTION:
    be_buf_text(out, "CAUTION  ");
    be_text_wrap(out, block->text, width, 9);
    break;
  case BLOCK_FACT: fact(out, doc, i, width); break;
  case BLOCK_PICTURE: break;
  case BLOCK_FIGURE: return figure_of(out, block, width);
  case BLOCK_TABLE: return be_text_table(block->table, !be_table_named_above(doc, i), out);
  }
  return BE_OK;
}

enum be_status be_doc_text(const struct be_doc *doc, size_t width, struct be_buf *out,
                           struct be_err *err)
{
  enum be_status status = be_doc_status(doc, err);
  if (status != BE_OK) return status;
  if (width == 0) width = WIDTH;
  if (width < WIDTH_LEAST) width = WIDTH_LEAST;
  heading(out, doc->title, "\xE2\x95\x90", width);
  for (size_t i = 0; i < doc->block_count; i++) {
    status = block_of(out, doc, i, width);
    if (status != BE_OK) return be_fail(err, status, "no memory for \"%.80s\"", doc->title);
  }
  return be_buf_status(out, err);
}
