/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The record as tables, for packages of open data. */
#ifndef BE_BOOK_TABLES_H
#define BE_BOOK_TABLES_H

#include "book/book.h"

/* Each table but `results` is a sheet that be_book_enter reads; entered in this order into a new
 * book they give the same record, but for moments and units typed. */
enum be_table_role { /* what a cell names */
                     BE_TABLE_PLAIN,
                     BE_TABLE_LINE,
                     BE_TABLE_SPOOL, /* of the line in the column before */
                     BE_TABLE_KNOT,
                     BE_TABLE_VERSION, /* of the knot in the column before */
                     BE_TABLE_BENCH,
                     BE_TABLE_CALIBRATION,
                     BE_TABLE_TRIAL,
                     BE_TABLE_SPECIMEN,
                     BE_TABLE_TRACE /* number of a file */
};
struct be_table_column {
  const char *name; /* as sheets have it: "free length (m)" */
  const char *means;
  bool number, required, once; /* once: no two rows have the same */
  enum be_table_role role;
  void (*words)(char *list, size_t size); /* those allowed, with ", " between; null: any */
};
enum { BE_TABLE_COLUMNS = 48, BE_TABLE_REFERS = 6, BE_TABLE_WORDS = 400 };
struct be_table_refers {
  int columns[2]; /* the second, which may be BE_NO_INDEX, may be empty */
  const char *table;
  const char *fields[2];
};
struct be_book_table {
  const char *name; /* "check-weights" */
  const char *title;
  const struct be_table_column *columns;
  size_t count;
  struct be_table_refers refers[BE_TABLE_REFERS]; /* those with a table */
  bool sheet;
  const char *sql;
};
enum { BE_BOOK_TABLES = 13 };
extern const struct be_book_table be_book_tables[BE_BOOK_TABLES];
const struct be_book_table *be_book_table(const char *name); /* null: none of them */

/* A cell: text, or a number, which in a column of texts is seconds; null and not-a-number: not
 * recorded. */
struct be_table_cell {
  const char *text;
  double number;
};
/* Texts hold until it returns. */
typedef enum be_status be_table_row(void *context, const struct be_table_cell *cells,
                                    struct be_err *err);
enum be_status be_book_table_read(struct be_book *book, const struct be_book_table *table,
                                  be_table_row *row, void *context, struct be_err *err);

#endif
