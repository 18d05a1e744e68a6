/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "press/inside.h"

#include <assert.h>
#include <string.h>

const char be_version[] = BE_VERSION;

void be_doc_fail(struct be_doc *doc, enum be_status status)
{
  if (doc->status == BE_OK) doc->status = status;
}

enum be_status be_doc_status(const struct be_doc *doc, struct be_err *err)
{
  if (!doc) return be_fail(err, BE_NO_MEMORY, "no memory for the document");
  if (doc->status == BE_OK) return BE_OK;
  if (doc->status == BE_TOO_LARGE)
    return be_fail(err, BE_TOO_LARGE, "the document \"%.80s\" has too many parts", doc->title);
  return be_fail(err, doc->status, "no memory for the document \"%.80s\"", doc->title);
}

/* Bad bytes are replaced here, once, so that every edition has clean text. */
const char *be_doc_copy(struct be_doc *doc, const char *text)
{
  if (!text) return "";
  struct be_buf clean;
  be_buf_init(&clean, 4 * (size_t)DOC_TEXT_MAX);
  be_text_clean(&clean, text);
  const char *made = NULL;
  if (clean.status != BE_OK) be_doc_fail(doc, clean.status);
  else if (!(made = be_arena_text(doc->arena, clean.data, clean.size)))
    be_doc_fail(doc, BE_NO_MEMORY);
  be_buf_free(&clean);
  return made ? made : "";
}

const char *be_doc_format(struct be_doc *doc, const char *format, va_list list)
{
  struct be_buf text;
  be_buf_init(&text, DOC_TEXT_MAX);
  be_buf_format_list(&text, format, list);
  const char *made = "";
  if (text.status != BE_OK) be_doc_fail(doc, text.status);
  else made = be_doc_copy(doc, text.data);
  be_buf_free(&text);
  return made;
}

struct be_doc *be_doc_create(const char *name, const char *title)
{
  assert(name && title);
  struct be_doc *doc = be_alloc_array(1, sizeof *doc);
  if (!doc) return NULL;
  doc->arena = be_arena_create();
  if (!doc->arena) {
    be_free(doc);
    return NULL;
  }
  doc->name = be_doc_copy(doc, name);
  doc->title = be_doc_copy(doc, title);
  return doc;
}

void be_doc_free(struct be_doc *doc)
{
  if (!doc) return;
  for (size_t i = 0; i < doc->block_count; i++) {
    be_figure_free(doc->blocks[i].figure);
    be_drawing_free(doc->blocks[i].drawing);
    if (doc->blocks[i].table) be_free(doc->blocks[i].table->cells);
  }
  be_free(doc->blocks);
  be_arena_free(doc->arena);
  struct be_doc *joined = doc->joined;
  be_free(doc);
  be_doc_free(joined);
}

static bool add(struct be_doc *doc, struct block block)
{
  void *blocks = doc->blocks;
  enum be_status status = be_grow(&blocks, &doc->block_capacity, sizeof *doc->blocks,
                                  doc->block_count + 1, DOC_BLOCKS_MAX, NULL);
  doc->blocks = blocks;
  if (status != BE_OK) {
    be_doc_fail(doc, status);
    return false;
  }
  doc->blocks[doc->block_count++] = block;
  return true;
}

BE_PRINTF(3, 0)
static void add_text(struct be_doc *doc, enum block_kind kind, const char *format, va_list list)
{
  add(doc, (struct block){.kind = kind, .text = be_doc_format(doc, format, list)});
}

/* The blocks change hands, all or none; the part is kept for what they point at. */
void be_doc_join(struct be_doc *doc, struct be_doc *part)
{
  if (!doc) {
    be_doc_free(part);
    return;
  }
  if (!part) {
    be_doc_fail(doc, BE_NO_MEMORY);
    return;
  }
  assert(!part->joined);
  part->joined = doc->joined;
  doc->joined = part;
  if (part->status != BE_OK) be_doc_fail(doc, part->status);
  void *blocks = doc->blocks;
  enum be_status status = be_grow(&blocks, &doc->block_capacity, sizeof *doc->blocks,
                                  doc->block_count + part->block_count, DOC_BLOCKS_MAX, NULL);
  doc->blocks = blocks;
  if (status != BE_OK) {
    be_doc_fail(doc, status);
    return;
  }
  for (size_t i = 0; i < part->block_count; i++) doc->blocks[doc->block_count++] = part->blocks[i];
  part->block_count = 0;
}

#define ADD_TEXT(kind)                                                                             \
  if (!doc) return;                                                                                \
  va_list list;                                                                                    \
  va_start(list, format);                                                                          \
  add_text(doc, kind, format, list);                                                               \
  va_end(list)

void be_doc_sentence(struct be_doc *doc, const char *format, ...)
{
  ADD_TEXT(BLOCK_SENTENCE);
}

size_t be_doc_place(const struct be_doc *doc)
{
  return doc ? doc->block_count : 0;
}

/* Three turns of a run of blocks exchange its two parts in place. */
static void turn(struct block *blocks, size_t count)
{
  for (size_t i = 0; i + 1 < count - i; i++) {
    struct block other = blocks[i];
    blocks[i] = blocks[count - 1 - i];
    blocks[count - 1 - i] = other;
  }
}

void be_doc_first(struct be_doc *doc, size_t place)
{
  if (!doc || place >= doc->block_count) return;
  turn(doc->blocks, place);
  turn(doc->blocks + place, doc->block_count - place);
  turn(doc->blocks, doc->block_count);
}

void be_doc_heading(struct be_doc *doc, const char *format, ...)
{
  ADD_TEXT(BLOCK_HEADING);
}

void be_doc_note(struct be_doc *doc, const char *format, ...)
{
  ADD_TEXT(BLOCK_NOTE);
}

void be_doc_caution(struct be_doc *doc, const char *format, ...)
{
  ADD_TEXT(BLOCK_CAUTION);
}

void be_doc_fact(struct be_doc *doc, const char *key, const char *label, const char *format, ...)
{
  if (!doc) return;
  va_list list;
  va_start(list, format);
  struct block block = {.kind = BLOCK_FACT, .text = be_doc_format(doc, format, list)};
  va_end(list);
  block.key = be_doc_copy(doc, key);
  block.label = be_doc_copy(doc, label);
  add(doc, block);
}

void be_doc_figure(struct be_doc *doc, struct be_figure *figure)
{
  if (doc && be_figure_status(figure) != BE_OK) be_doc_fail(doc, be_figure_status(figure));
  if (!figure) return;
  if (!doc || !add(doc, (struct block){.kind = BLOCK_FIGURE, .figure = figure}))
    be_figure_free(figure);
}

void be_doc_drawing(struct be_doc *doc, struct be_drawing *drawing)
{
  if (doc && be_drawing_status(drawing) != BE_OK) be_doc_fail(doc, be_drawing_status(drawing));
  if (!drawing) return;
  if (!doc || !add(doc, (struct block){.kind = BLOCK_FIGURE, .drawing = drawing}))
    be_drawing_free(drawing);
}

struct shown be_block_shown(const struct block *block)
{
  const struct be_drawing *drawing = block->drawing;
  const struct be_figure *figure = block->figure;
  if (drawing)
    return (struct shown){be_drawing_title(drawing), be_drawing_subtitle(drawing),
                          be_drawing_words(drawing)};
  return (struct shown){be_figure_title(figure), be_figure_subtitle(figure),
                        be_figure_words(figure)};
}

void be_doc_picture(struct be_doc *doc, const char *words, const char *format, ...)
{
  if (!doc) return;
  va_list list;
  va_start(list, format);
  struct block block = {.kind = BLOCK_PICTURE, .text = be_doc_format(doc, format, list)};
  va_end(list);
  block.label = be_doc_copy(doc, words);
  add(doc, block);
}

void be_doc_shape(struct be_doc *doc, const char *words, const char *picture, const char *shape)
{
  if (!doc) return;
  add(doc, (struct block){.kind = BLOCK_PICTURE,
                          .text = be_doc_copy(doc, picture),
                          .key = be_doc_copy(doc, shape),
                          .label = be_doc_copy(doc, words)});
}

static const struct be_column *copy_columns(struct be_doc *doc, const struct be_column *columns,
                                            size_t count)
{
  struct be_column *copies = be_arena_alloc(doc->arena, count * sizeof *copies);
  if (!copies) {
    be_doc_fail(doc, BE_NO_MEMORY);
    return NULL;
  }
  for (size_t i = 0; i < count; i++) {
    copies[i] = columns[i];
    copies[i].key = be_doc_copy(doc, columns[i].key);
    copies[i].head = be_doc_copy(doc, columns[i].head);
  }
  return copies;
}

struct be_table *be_doc_table(struct be_doc *doc, const char *name, const char *title,
                              const struct be_column *columns, size_t count)
{
  if (!doc) return NULL;
  assert(columns && count > 0 && count <= TABLE_COLUMNS_MAX);
  const struct be_column *copies = copy_columns(doc, columns, count);
  struct be_table *table = be_arena_alloc(doc->arena, sizeof *table);
  size_t *tails = be_arena_alloc(doc->arena, count * sizeof *tails);
  int *decimals = be_arena_alloc(doc->arena, count * sizeof *decimals);
  size_t *widest = be_arena_alloc(doc->arena, count * sizeof *widest);
  if (!copies || !table || !tails || !decimals || !widest) {
    be_doc_fail(doc, BE_NO_MEMORY);
    return NULL;
  }
  table->tails = tails;
  table->decimals = decimals;
  table->widest = widest;
  table->doc = doc;
  table->name = be_doc_copy(doc, name);
  table->title = be_doc_copy(doc, title);
  table->columns = copies;
  table->column_count = count;
  return add(doc, (struct block){.kind = BLOCK_TABLE, .table = table}) ? table : NULL;
}
