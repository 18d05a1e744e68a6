/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the editions share: the document as a list of blocks. */
#ifndef BE_PRESS_INSIDE_H
#define BE_PRESS_INSIDE_H

#include "press/press.h"

enum {
  DOC_TEXT_MAX = 1 << 20, /* bytes of one sentence or cell */
  DOC_BLOCKS_MAX = 1 << 16,
  TABLE_CELLS_MAX = 1 << 22,
  TABLE_COLUMNS_MAX = 256
};

enum block_kind {
  BLOCK_SENTENCE,
  BLOCK_HEADING,
  BLOCK_NOTE,
  BLOCK_CAUTION,
  BLOCK_FACT,
  BLOCK_FIGURE,
  BLOCK_PICTURE,
  BLOCK_TABLE
};

struct block {
  enum block_kind kind;
  const char *text;        /* of a fact its value, of a picture its address */
  const char *key, *label; /* of a fact; label: of a picture in words, key: of its shape, or null */
  struct be_figure *figure; /* or */
  struct be_drawing *drawing;
  struct be_table *table;
};

/* What is told of a figure or a drawing. */
struct shown {
  const char *title, *subtitle, *words;
};
struct shown be_block_shown(const struct block *block);

enum cell_kind { CELL_NONE, CELL_TEXT, CELL_NUMBER, CELL_INTERVAL, CELL_COUNT };

struct cell {
  enum cell_kind kind;
  int decimals;
  bool below;  /* what rounds to 0 is printed as less than the last decimal */
  double a, b; /* number; low and high */
  size_t k, n;
  const char *text;
  const char *link;
  const struct drawn *drawn; /* symbols of a label, the last one first */
};

struct drawn {
  struct be_symbol symbol;
  const struct drawn *before;
};

struct be_table {
  struct be_doc *doc;
  const char *name, *title;
  const struct be_column *columns;
  size_t column_count;
  size_t *tails; /* the longest be_cell_tail of each column */
  int *decimals; /* the most of each column */
  bool unlike_units;
  size_t *widest; /* the widest text of each column, as be_text_columns counts */
  struct cell *cells;
  size_t cell_count, cell_capacity;
  bool people_only, labels, folded, folded_long, by_hand;
};

struct be_doc {
  struct be_arena *arena;
  const char *name, *title;
  struct block *blocks;
  size_t block_count, block_capacity;
  enum be_status status;
  struct be_doc *joined; /* parts taken over: their texts and tables lie with them */
};

/* Why the document cannot be printed, if so. Every edition starts with it. */
enum be_status be_doc_status(const struct be_doc *doc, struct be_err *err);
void be_doc_fail(struct be_doc *doc, enum be_status status);
const char *be_doc_copy(struct be_doc *doc, const char *text);
const char *be_doc_format(struct be_doc *doc, const char *format, va_list list) BE_PRINTF(2, 0);

size_t be_table_rows(const struct be_table *table);
static inline const struct cell *be_table_cell(const struct be_table *table, size_t row,
                                               size_t column)
{
  return &table->cells[row * table->column_count + column];
}

/* The cell as people read it. room holds what must be printed; the answer is
 * room or a text of the cell. */
enum { CELL_ROOM = 800 };
const char *be_cell_text(const struct cell *cell, char room[CELL_ROOM]);
/* How many characters of a number stand after its last whole digit. Padding all
 * cells to the longest tail of their column makes the points line up. */
size_t be_cell_tail(const struct cell *cell);

/* The value for programs; "inf" and "nan" as printf. */
void be_number_full(char text[32], double value);

/* Adds text with control characters (but line end and tab) and bytes that are
 * not UTF-8 replaced by U+FFFD. */
void be_text_clean(struct be_buf *out, const char *text);

/* The light edge round a symbol is part of it; in modules. */
struct be_symbol_edge {
  size_t beside, above;
};
struct be_symbol_edge be_symbol_edge(const struct be_symbol *symbol);
void be_symbol_svg(const struct be_symbol *symbol, struct be_buf *out);

/* One table as aligned text. */
enum be_status be_text_table(const struct be_table *table, bool titled, struct be_buf *out);
/* How many columns of a terminal text[0..size) takes. */
size_t be_text_columns(const char *text, size_t size);
/* text at most width columns wide, lines after the first indented. */
void be_text_wrap(struct be_buf *out, const char *text, size_t width, size_t indent);
void be_text_repeat(struct be_buf *out, const char *what, size_t times);

/* A document of one folded table, the data of a figure, or of nothing where they are many. */
enum be_status be_numbers_doc(const struct be_figure *figure, struct be_doc **doc,
                              struct be_err *err);

/* Whether the table of block i is titled like the heading it stands under; the
 * eye need not read it twice. */
bool be_table_named_above(const struct be_doc *doc, size_t i);

#endif
