/* SPDX-License-Identifier: GPL-3.0-or-later */
/* merge: the record of another book comes into a book. What is the same in both is told by a
 * person, row by row of a table; what contradicts is listed, and nothing is overwritten. */
#ifndef BE_APP_MERGE_H
#define BE_APP_MERGE_H

#include "app/sheet.h"
#include "app/survey/survey.h"

/* ---- load.c: a book as tables of texts ---- */

enum { TABLES = BE_BOOK_TABLES };
struct coded {
  const char *code; /* of a specimen */
  size_t row;
};
struct loaded {
  const struct be_book_table *table;
  char **cells; /* row by row; "" where nothing is recorded; a trace by its hash */
  size_t rows, cells_count, capacity;
  struct coded *coded; /* by code, then row; null where the table has none */
};
struct side {
  struct loaded tables[TABLES];
  struct be_held_file *files;
  size_t files_count;
};
enum be_status be_side_load(struct be_book *book, struct be_arena *arena, struct side *side,
                            struct be_err *err);
void be_side_free(struct side *side);
const struct loaded *be_side_table(const struct side *side, const char *name);
const char *be_loaded_cell(const struct loaded *loaded, size_t row, const char *column);
/* The first row whose first column is so; BE_NO_ROW without one. */
#define BE_NO_ROW SIZE_MAX
size_t be_loaded_find(const struct loaded *loaded, const char *first);

/* The row of a specimen, the first being 0. */
size_t be_loaded_of(const struct loaded *loaded, const char *code, size_t nth);
int be_fold(const char *a, const char *b); /* order without regard to the case of ASCII letters */

/* ---- items.c: what has a name, there and here ---- */

enum item_kind {
  ITEM_LINE,
  ITEM_SPOOL,
  ITEM_KNOT,
  ITEM_BENCH,
  ITEM_CALIBRATION,
  ITEM_TRIAL,
  ITEM_SPECIMEN,
  ITEM_KINDS
};
extern const char *const be_item_words[ITEM_KINDS];

enum answer { ANSWER_OPEN, ANSWER_YES, ANSWER_NO };
/* A name there. Spools and versions are the second part of theirs. */
struct item {
  enum item_kind kind;
  const char *name, *part; /* part: "" without one */
  enum answer answer;
  const char *new_name, *new_part; /* what it is called here */
  bool told_apart;
  bool left_out; /* of a specimen: none of its rows come in */
};
/* A row of the table that a person fills in. */
struct same_row {
  enum item_kind kind;
  const char *here, *there, *why;
  enum answer answer;
  size_t line; /* of the table that was read; 0: proposed */
};

struct merging {
  struct be_arena *arena;
  const char *tag; /* what the other book is called, for names told apart */
  char sha256[65]; /* of its file */
  struct side here, there;
  struct item *items;
  size_t items_count, items_capacity;
  struct same_row *matches;
  size_t matches_count, matches_capacity;
  size_t open;
  const char *same_path;        /* of that table */
  bool answered;                /* it was read */
  bool own_table;               /* as we wrote it first, whatever saved it since */
  struct be_held_file **traces; /* that the rows written name, in order */
  size_t traces_count, traces_capacity, traces_at;
  struct be_doc *doc;
  struct be_table *conflicts;
  size_t conflicts_count;
};

/* "nylon 12 lb, spool s1", "barrel knot (well tied)". In the arena; "" when memory is out. */
const char *be_item_called(const struct merging *in, enum item_kind kind, const char *name,
                           const char *part);
struct item *be_item_find(const struct merging *in, enum item_kind kind, const char *name,
                          const char *part);
/* Every name there, once. */
enum be_status be_items_gather(struct merging *in, struct be_err *err);
/* Whether something here is called so; *name and *part as it is written there. */
bool be_here_has(const struct merging *in, enum item_kind kind, const char *called,
                 const char **name, const char **part);

/* ---- same.c: the table of the person ---- */

/* Reads in->same_path; fine where there is no such file. */
enum be_status be_same_read(struct merging *in, struct be_err *err);
/* Every row names something of the other book, and of this one. */
enum be_status be_same_check(const struct merging *in, struct be_err *err);
enum be_status be_same_write(struct merging *in, struct be_err *err);
/* What a row says is the same here, by its name and part; false when there is none. */
bool be_match_here(const struct merging *in, const struct same_row *match, const char *there_part,
                   const char **name, const char **part);
enum be_status be_match_add(struct merging *in, const struct same_row *match, struct be_err *err);

/* ---- suggest.c: what may be the same ---- */

/* Adds rows for what was not answered, and settles each item by what was. */
enum be_status be_matches_settle(struct merging *in, struct be_err *err);

/* ---- specimens.c: pulls that both books have ---- */

enum be_status be_specimens_settle(struct merging *in, struct be_err *err);
/* Two rows, names there by those that they have here; from a column on. */
bool be_same_row(const struct merging *in, const struct loaded *here, size_t a,
                 const struct loaded *there, size_t b, size_t from);
/* A cell there, by the name that it has here. */
const char *be_cell_here(const struct merging *in, const struct loaded *loaded, size_t row,
                         size_t column);

/* ---- rows.c: what comes in ---- */

void be_conflict(struct merging *in, const char *what, const char *name, const char *here,
                 const char *there, const char *done);
/* The rows of a table that come in, as a sheet; *rows may be 0. */
enum be_status be_rows_write(struct merging *in, size_t table, struct be_buf *out, size_t *rows,
                             struct be_err *err);

#endif
