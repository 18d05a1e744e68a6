/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A look at files before they are entered, and the rules by which they are read. */
#ifndef BE_BOOK_PREVIEW_H
#define BE_BOOK_PREVIEW_H

#include "book/book.h"

enum { BE_MISFITS_MAX = 1000 /* kept of one file */ };

/* A row that would be refused. */
struct be_misfit {
  size_t line, column; /* 1-based; column 0: the row as such */
  const char *head;    /* of that column; "" without one */
  const char *written; /* in the cell */
  const char *what, *remedy;
};
/* What a field of the book is taken from. */
struct be_meaning {
  const char *field;
  const char *column;   /* the head of the sheet's, or null */
  const char *last;     /* the head of the last of several; null: it is one */
  const char *constant; /* or what every row has; both null: titles of blocks */
  const char *unit;     /* of the head or the rules; null: none */
  size_t told, silent;  /* rows that have it; that leave it not recorded */
};
struct be_preview {
  struct be_entered entered; /* what would be */
  struct be_misfit *misfits;
  bool by_row;          /* else the sheet stands and falls as a whole */
  size_t misfits_count; /* those past BE_MISFITS_MAX are only counted */
  struct be_meaning *meanings;
  size_t meanings_count;
  const char **silent; /* fields that such a sheet may tell and this does not */
  size_t silent_count;
};

/* Between the two, files are looked at, each as if those before it were entered; the end takes
 * everything back. Nobody else writes to the book meanwhile. */
enum be_status be_preview_begin(struct be_book *book, struct be_err *err);
void be_preview_end(struct be_book *book);
/* As be_book_enter, but a row that does not fit is no error. All is in the arena. */
enum be_status be_book_preview(struct be_book *book, const char *name, const char *bytes,
                               size_t size, const struct be_entering *how, struct be_arena *arena,
                               struct be_preview *preview, struct be_err *err);
/* The rules kept in the book under names, by name, in the arena. */
struct be_mapping {
  const char *name, *rules; /* one a line */
};
enum be_status be_book_mappings(struct be_book *book, struct be_arena *arena,
                                struct be_mapping **list, size_t *count, struct be_err *err);
/* Drops the name: what was entered by the rules stays, and stays told. BE_WRONG_USE for none. */
enum be_status be_book_mapping_forget(struct be_book *book, const char *name, struct be_err *err);

/* The rows of a sheet of any shape, its head first, as be_book_enter reads them: each row has as
 * many cells as the head. Texts hold until it returns. */
typedef enum be_status be_sheet_row(void *context, char *const *cells, size_t count, size_t line,
                                    struct be_err *err);
enum be_status be_book_sheet(const char *bytes, size_t size, be_sheet_row *row, void *context,
                             struct be_err *err);

#endif
