/* SPDX-License-Identifier: GPL-3.0-or-later */
/* text: lines, their cells, and what each cell says; and runs of plain rows. */
#ifndef BE_TRACE_TEXT_H
#define BE_TRACE_TEXT_H

#include "trace/trace.h"

/* ---- lines.c ---- */

struct be_span {
  const char *text;
  size_t size;
};

struct be_lines {
  const char *at, *end;
  size_t number; /* of the line last given, from 1 */
  char eol;
};

/* The next line without its end; false when there is none. */
bool be_lines_next(struct be_lines *lines, struct be_span *line);

struct be_cells {
  size_t count; /* may be more than are kept */
  struct be_span cell[BE_TRACE_COLUMNS_MAX];
};

/* Cuts a line at its delimiter; quotes are taken off, spaces trimmed. */
void be_cells_split(struct be_span line, char delimiter, struct be_cells *cells);

static inline bool be_is_digit(char c)
{
  return c >= '0' && c <= '9';
}
struct be_span be_span_trim(struct be_span span);
bool be_span_is(struct be_span span, const char *word);
void be_span_copy(struct be_span span, char *text, size_t size);

/* ---- cells.c ---- */

enum { BE_UNIT_MAX = 24 }; /* bytes of the name of a unit, kept */

enum be_cell_kind {
  BE_CELL_EMPTY,
  BE_CELL_NUMBER,  /* also with thousands marks, or with a unit behind it */
  BE_CELL_MISSING, /* a word that stands for "no value": nan, n/a, OL, -- */
  BE_CELL_CLOCK,   /* 12:03:07.25; its value is in seconds */
  BE_CELL_DATE,    /* 2026-03-04, alone */
  BE_CELL_BROKEN,  /* starts like a number and is none */
  BE_CELL_TEXT,
};

/* Whether a missing value says that the load was past the rig's range: OL, ^^^, ****. */
bool be_span_is_over(struct be_span cell);
/* `value` is set for numbers and clock times only. */
enum be_cell_kind be_cell_read(struct be_span cell, char decimal, double *value);
/* Digits after the decimal mark. */
int be_cell_decimals(struct be_span cell, char decimal);
/* The unit written behind the number of a cell: "12.3 N"; null if there is none. */
const struct be_unit *be_cell_unit(struct be_span cell, char decimal);

/* ---- clock.c ---- */

struct be_clock {
  double seconds; /* of the day, or of a stop-watch */
  bool bare;      /* two parts and no fraction: read as minutes:seconds */
};

bool be_clock_read(struct be_span cell, struct be_clock *clock);
bool be_span_is_date(struct be_span cell);

/* A clock read row after row; start with {0}. */
struct be_clock_run {
  double last, add;
  bool started;
};

/* The seconds of the next reading, going on past midnight. */
double be_clock_go_on(struct be_clock_run *run, double seconds);

/* ---- plain.c ---- */

/* Zeros behind a text, so that it can be read in words. */
enum { BE_PAD = 64 };

enum { BE_NO_SLOT = 255, BE_FORM_WORDS = 3, BE_FORMS = 4, BE_SLOTS_MAX = 32 };

/* Eight bytes of a cell. Bits are set for: seen, its bytes; before and after,
 * its digits, those past the mark one byte down. */
struct be_form_word {
  uint64_t fixed, seen, limit, before, after;
  unsigned turn;  /* bits that bring its last digit to the top */
  uint64_t times; /* ten to the power of its digits */
};

/* What a cell is made of, as offsets from its start. */
struct be_cell_parts {
  size_t first, mark, after, last; /* digits [first, mark) and [after, last) */
  size_t end;                      /* past the delimiter or the end of the line */
  bool negative, empty;
};

/* One word; two words of up to eight digits; anything longer. */
enum be_form_kind { BE_FORM_ONE, BE_FORM_TWO, BE_FORM_LONG };

struct be_form {
  enum be_form_kind kind;
  bool wide; /* more digits than one division of doubles can take */
  size_t length;
  double divisor; /* negative for a negative number; not-a-number for an empty cell */
  struct be_form_word word[BE_FORM_WORDS];
  int decimals;
  struct be_cell_parts parts;
};

struct be_column_forms {
  size_t current, count, oldest;
  bool free; /* any text may stand there */
  struct be_form form[BE_FORMS];
};

struct be_plain {
  char delimiter, decimal, eol;
  bool off; /* every row is to be judged */
  size_t columns;
  unsigned char slot[BE_TRACE_COLUMNS_MAX]; /* where its numbers go, or BE_NO_SLOT */
  bool may_be_empty[BE_TRACE_COLUMNS_MAX];  /* gives not-a-number */
  bool is_force[BE_TRACE_COLUMNS_MAX];      /* one of them must be filled */
  struct be_column_forms *forms;            /* one a column */
};

/* Rows on consecutive lines, in numbers. */
struct be_run {
  size_t n, room;
  double *column[BE_SLOTS_MAX];
  int decimals[BE_SLOTS_MAX];
};

/* Reads plain rows from whole lines [*at, end) with BE_PAD bytes behind them, and
 * moves *at past them. It stops before the first line that is no plain row. */
void be_plain_read(struct be_plain *plain, const char **at, const char *end, struct be_run *run);

/* ---- median.c ---- */

/* Median of x, which is reordered; not-a-number for none. */
double be_median(double *x, size_t n);

#endif
