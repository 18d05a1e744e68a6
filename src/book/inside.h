/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the book room share. */
#ifndef BE_BOOK_INSIDE_H
#define BE_BOOK_INSIDE_H

#include "book/book.h"

#include <sqlite3.h>

struct be_book {
  sqlite3 *db;
  sqlite3_stmt *rollback; /* ready beforehand: it must work when memory is out */
  char path[1024];
};

/* ---- schema.c: SQL with errors in our words ---- */

enum be_status be_sql_failed(sqlite3 *db, struct be_err *err);
enum be_status be_sql_run(sqlite3 *db, const char *sql, struct be_err *err);
/* Ends the transaction, if one is open, and takes back what it did. */
void be_sql_rollback(struct be_book *book);
enum be_status be_sql_prepare(sqlite3 *db, const char *sql, sqlite3_stmt **statement,
                              struct be_err *err);
/* Steps to a row: *row tells whether there is one. */
enum be_status be_sql_step(sqlite3_stmt *statement, bool *row, struct be_err *err);
/* Binds by position; null text and not-a-number become NULL. */
void be_bind_text(sqlite3_stmt *statement, int at, const char *text);
void be_bind_number(sqlite3_stmt *statement, int at, double value);

/* ---- words.c ---- */

enum words { WORDS_DESIGN, WORDS_SOAK, WORDS_KIND, WORDS_WHAT, WORDS_WHERE, WORDS_WHICH };
int be_words_find(enum words list, const char *text); /* -1: none of them */
void be_words_list(enum words list, char *text, size_t size);

/* ---- csv.c: a sheet as cells ---- */

enum { SHEET_COLUMNS_MAX = 200, SHEET_ROWS_MAX = 2 * 1000 * 1000 };

struct sheet {
  size_t columns;
  size_t rows;   /* without the header */
  char **cells;  /* header first, then row by row; trimmed UTF-8, in the arena */
  size_t *lines; /* 1-based line of each row, the header's first */
  char delimiter;
  char usual; /* decimal mark that most numbers of the sheet have, or 0 */
};

enum be_status be_sheet_read(const char *bytes, size_t size, struct be_arena *arena,
                             struct sheet *sheet, struct be_err *err);
const char *be_sheet_cell(const struct sheet *sheet, size_t row, size_t column);

/* ---- fields.c: what the columns mean ---- */

enum field {
  FIELD_SPECIMEN,
  FIELD_DESIGN,
  FIELD_KNOT,
  FIELD_VERSION,
  FIELD_TURNS,
  FIELD_LINE_A,
  FIELD_SPOOL_A,
  FIELD_LINE_B,
  FIELD_SPOOL_B,
  FIELD_HARDWARE,
  FIELD_SOAK,
  FIELD_SPEED,
  FIELD_LENGTH,
  FIELD_TYER,
  FIELD_LUBRICANT,
  FIELD_SESSION,
  FIELD_ORDER,
  FIELD_LOAD,
  FIELD_RESULT,
  FIELD_REASON,
  FIELD_WHAT,
  FIELD_WHERE,
  FIELD_WHICH,
  FIELD_TRACE,
  FIELD_NOTE,
  FIELD_CORRECTION,
  FIELD_LINE,
  FIELD_SPOOL,
  FIELD_MATERIAL,
  FIELD_LABEL,
  FIELD_SIZE,
  FIELD_DIAMETER,
  FIELD_LOT,
  FIELD_KIND,
  FIELD_DOUBLED,
  FIELD_ALIASES,
  FIELDS
};

enum sheet_kind { SHEET_PULLS, SHEET_LINES, SHEET_KNOTS };

struct fields {
  enum sheet_kind kind;
  int column[FIELDS];                 /* of the sheet, or -1 */
  const char *constant[FIELDS];       /* the same value in every row, or null */
  const struct be_unit *unit[FIELDS]; /* from the header, or null */
};

const char *be_field_name(enum field field);
const char *be_sheet_kind_word(enum sheet_kind kind);
/* Finds what each column means, by the documented names and the mapping. */
enum be_status be_fields_find(const struct sheet *sheet, const char *mapping,
                              struct be_arena *arena, struct fields *fields, struct be_err *err);
/* The text of a field in a row; null when it is not recorded. */
const char *be_field_text(const struct sheet *sheet, const struct fields *fields, size_t row,
                          enum field field);

/* ---- resolve.c: the line or knot that a row names, made when it is new ---- */

struct entering {
  struct be_book *book;
  const struct be_entering *how;
  struct be_arena *arena;
  struct be_entered *entered;
  const char *name;
  int64_t file;
  struct sheet sheet;
  struct fields fields;
  size_t row;
};

/* An error at the present row, in the column of the field. */
enum be_status be_fail_here(struct entering *in, enum field field, struct be_err *err);
void be_note_here(struct entering *in, size_t line, const char *format, ...) BE_PRINTF(3, 4);

struct line_named {
  const char *name, *spool, *material, *label, *size, *lot;
  double label_N, diameter_m;
};
enum be_status be_line_add(struct entering *in, const struct line_named *line, struct be_err *err);
enum be_status be_line_resolve(struct entering *in, enum field line, enum field spool, int64_t *id,
                               struct be_err *err);
struct knot_named {
  const char *name, *version, *kind, *doubled, *aliases;
  double turns;
};
enum be_status be_knot_add(struct entering *in, const struct knot_named *knot, struct be_err *err);
enum be_status be_knot_resolve(struct entering *in, const struct knot_named *knot, int64_t *id,
                               struct be_err *err);
/* Number of a field in SI, not-a-number when not recorded; notes odd styles. */
enum be_status be_field_number(struct entering *in, enum field field, enum be_dimension dimension,
                               const struct be_unit *fallback, struct be_quantity *quantity,
                               struct be_err *err);

/* ---- rows.c, traces.c ---- */

enum be_status be_enter_pull_rows(struct entering *in, struct be_err *err);
enum be_status be_file_add(struct be_book *book, const char *name, const char *kind,
                           const char *bytes, size_t size, int64_t *id, bool *already,
                           struct be_err *err);
enum be_status be_trace_add(struct entering *in, int64_t pull, const char *name, const char *bytes,
                            size_t size, struct be_err *err);

/* ---- derive.c: what is worked out from a trace's bytes ---- */

struct derived {
  double peak_N, zero_N, rise_N, first_slip_N, time_to_peak_s;
  bool bound; /* saturated or still rising: the peak is a lower bound */
  const char *ending;
  char flags[256];
};
enum be_status be_derive_trace(const char *bytes, size_t size, struct derived *derived,
                               struct be_err *err);
void be_sha256_hex(const char *bytes, size_t size, char hex[65]);

#endif
