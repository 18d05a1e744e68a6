/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets written so that `enter` reads the same values again, to the last bit. RFC 4180, lines end
 * with CR LF. */
#ifndef BE_APP_SHEET_H
#define BE_APP_SHEET_H

#include "book/book.h"

void be_csv_text(struct be_buf *out, const char *text); /* null: an empty cell */
/* The same in what a person opens with a program of spreadsheets: be_csv_runs. */
void be_csv_person_text(struct be_buf *out, const char *text);
/* In full, without a power of ten, never with exactly three decimals, which could be thousands. */
void be_csv_number(struct be_buf *out, double value);

/* May change cells, and leave the row out. Texts that it gives hold until the row is written. */
typedef enum be_status be_csv_hook(void *context, const struct be_book_table *table,
                                   struct be_table_cell *cells, bool *kept, struct be_err *err);
/* A table of a book as a sheet, its head included; *rows is how many there are. hook may be null.
 */
enum be_status be_csv_write(struct be_book *book, const struct be_book_table *table,
                            be_csv_hook *hook, void *context, struct be_buf *out, size_t *rows,
                            struct be_err *err);

/* Reads cells as they were written, nothing trimmed: a quotation mark opens a cell only at its
 * start. Calls row with each row of exactly `columns` cells; texts hold until it returns.
 * BE_BAD_INPUT, with the line, for what was not written so. */
typedef enum be_status be_csv_row(void *context, char *const *cells, size_t line,
                                  struct be_err *err);
enum be_status be_csv_cells(const char *bytes, size_t size, size_t columns, be_csv_row *row,
                            void *context, struct be_err *err);

#endif
