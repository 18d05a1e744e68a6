/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this room share; nothing outside the room includes it.
 *
 *   bytes -> coding.c -> text in UTF-8
 *         -> lines.c  -> lines, cells, and what kind each cell is
 *         -> layout.c -> one block: delimiter, decimal mark, head, first row
 *         -> words.c  -> what the heading of a column says (heading.c)
 *         -> columns.c -> which column is force, time and extension, and why
 *         -> rows.c   -> arrays
 *         -> sign.c   -> which direction is the pull
 *   events.c joins what happened: smooth.c (noise), zero.c, peak.c, slips.c,
 *         stages.c, ending.c, slopes.c, trust.c, flags.c, suggest.c */
#ifndef BE_TRACE_INSIDE_H
#define BE_TRACE_INSIDE_H

#include "trace/trace.h"

/* ---- coding.c ---- */

/* The file as UTF-8. data points into the caller's bytes when they already are
 * UTF-8, else into `owned`. eol ends a line; a '\r' before it is dropped. */
struct be_text {
  const char *data;
  size_t size;
  char eol;
  enum be_text_coding coding;
  char *owned;
};

enum be_status be_text_decode(const char *bytes, size_t size, struct be_text *text,
                              struct be_err *err);
void be_text_free(struct be_text *text);

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

enum be_cell_kind {
  BE_CELL_EMPTY,
  BE_CELL_NUMBER,
  BE_CELL_MISSING, /* a word that stands for "no value": nan, n/a, OL, -- */
  BE_CELL_CLOCK,   /* 12:03:07.25; its value is in seconds */
  BE_CELL_BROKEN,  /* starts like a number and is none */
  BE_CELL_TEXT,
};

/* Whether a missing value says that the load was past the rig's range: OL, ^^^. */
bool be_span_is_over(struct be_span cell);
/* `value` is set for numbers and clock times only. */
enum be_cell_kind be_cell_read(struct be_span cell, char decimal, double *value);
/* Digits after the decimal mark. */
int be_cell_decimals(struct be_span cell, char decimal);
struct be_span be_span_trim(struct be_span span);
bool be_span_is(struct be_span span, const char *word);
void be_span_copy(struct be_span span, char *text, size_t size);

/* ---- words.c, heading.c ---- */

enum { BE_NAME_MAX = 96, BE_UNIT_MAX = 24, BE_ROLES = BE_ROLE_EXTENSION + 1 };

enum be_unit_place {
  BE_UNIT_NOWHERE,
  BE_UNIT_IN_BRACKETS,
  BE_UNIT_IN_LINE, /* the units line below the names */
  BE_UNIT_IN_NAME,
};

struct be_heading {
  char name[BE_NAME_MAX];
  int score[BE_ROLES]; /* how strongly the words speak for a role; 0: not at all */
  const struct be_unit *unit;
  enum be_unit_place place;
  char strange_unit[BE_UNIT_MAX]; /* a unit is written that is not known */
  bool gap;                       /* the name says a gap: it closes when pressed */
  int direction;                  /* -1: named for pressing, +1: for pulling, 0: neither */
};

/* Lower case without accents, cut to fit. */
void be_words_fold(struct be_span text, char *out, size_t size);
bool be_words_have(const char *folded, const char *word, bool part);
void be_words_score(const char *folded, int score[BE_ROLES]);

void be_heading_read(struct be_span name, struct be_span unit, struct be_heading *heading);
/* True when every cell that is filled reads as a unit and one is known. */
bool be_cells_are_units(const struct be_cells *cells);
/* True when the text says something that a heading of a trace would. */
bool be_text_is_heading(struct be_span text);

/* ---- layout.c, head.c ---- */

/* One block: its head and where its rows start. */
struct be_block {
  char delimiter, decimal;
  size_t columns_count;
  size_t header_lines;
  struct be_heading headings[BE_TRACE_COLUMNS_MAX];
  bool has_names;
  bool mixed; /* its rows hold words beside numbers */
  char title[BE_NAME_MAX];
  struct be_span head_line; /* the line with the names, or the last of the head */
  size_t head_line_number;
  struct be_lines rows; /* positioned before the first row */
};

/* Finds the first block at or after `from`. BE_BAD_INPUT when there are no
 * rows of numbers; BE_ASK when the decimal mark can be read two ways. */
enum be_status be_block_find(struct be_lines from, const struct be_trace_options *options,
                             struct be_block *block, struct be_err *err);
/* Finds the next block of a file whose delimiter and decimal mark are known;
 * BE_NO when only text follows. */
enum be_status be_block_next(struct be_lines from, const struct be_block *before,
                             struct be_block *block);

/* Reads the lines [from, block->rows) into headings, units and a title. */
void be_head_read(struct be_lines from, struct be_block *block);
/* Cuts a line of names; a comment mark before them is dropped. */
void be_head_split(struct be_span line, const struct be_block *block, struct be_cells *cells);

/* ---- columns.c ---- */

/* The first rows of a block in numbers, not-a-number where there is none. */
struct be_sample {
  size_t rows, columns;
  double *value; /* row by row; the sample's own */
  size_t clocks[BE_TRACE_COLUMNS_MAX];
};

enum be_status be_sample_take(const struct be_block *block, struct be_sample *sample,
                              struct be_err *err);
void be_sample_free(struct be_sample *sample);

/* Where each role is found; BE_NOWHERE if it is not. */
enum { BE_NOWHERE = BE_TRACE_COLUMNS_MAX };
struct be_roles {
  size_t column[BE_ROLES];
  double scale[BE_ROLES]; /* SI = scale * as written */
  double force_zero;      /* taken off the force as written first */
};

enum be_status be_columns_assign(const struct be_block *block, const struct be_sample *sample,
                                 const struct be_trace_options *options,
                                 struct be_trace_layout *layout, struct be_roles *roles,
                                 struct be_err *err);

/* "12.3 kg": takes the unit that stands in the column after the force in every
 * row, when the heading gives none. BE_BAD_INPUT when it changes; beside.c. */
enum be_status be_unit_beside(const struct be_block *block, struct be_trace_layout *layout,
                              struct be_roles *roles, struct be_err *err);

/* How the numbers of one column behave; shape.c. */
struct be_shape {
  size_t numbers;
  size_t rises, falls, level;
  size_t turns; /* changes of direction */
  double step;  /* median of the steps that are not 0 */
  bool even;    /* it rises all the way in equal steps */
  bool counts;  /* whole numbers, one more each row */
  bool steady;  /* it never or hardly ever steps back */
  bool whole;
};

enum be_status be_shape_of(const struct be_sample *sample, size_t column, struct be_shape *shape,
                           struct be_err *err);

/* ---- rows.c ---- */

/* Why the rows of a test ended, and where to go on. */
struct be_rows_end {
  struct be_lines next; /* before the line that ended them */
  bool restarts;        /* that line is the first row of another test */
  size_t column;        /* of the cell that is no number, from 1; 0: none */
  char cell[40];
  double axis_first, axis_last; /* time or travel; not-a-number without */
};

/* Reads the rows of one test into *trace (the arrays as written; force_N is
 * left null). The arrays are the caller's, also on failure. */
enum be_status be_rows_read(const struct be_block *block, const struct be_roles *roles,
                            struct be_trace *trace, struct be_rows_end *end, struct be_err *err);

/* ---- sign.c ---- */

/* Decides the direction of the pull for all tests of a file together. */
void be_sign_find(const struct be_trace_file *file, const struct be_heading *force,
                  bool extension_is_gap, int told, int *sign, char why[120]);

/* ---- smooth.c ---- */

/* Running median of three; out may not alias x. */
void be_smooth(const double *restrict x, size_t n, double *restrict out);
/* Median of x, which is reordered; not-a-number for none. */
double be_median(double *x, size_t n);
/* Deviation of one reading from its neighbours, free of the slope, from at most
 * BE_NOISE_ROWS places spread over the trace; scratch has room for so many.
 * *step: what the readings step by; 0 when they show no step. */
enum { BE_NOISE_ROWS = 4096 };
double be_noise(const double *x, size_t n, double *scratch, double *step);

/* ---- what happened ---- */

struct be_pull {
  const struct be_trace *trace;
  const struct be_trace_known *known;
  const double *smooth; /* n long */
  double *scratch;      /* n long */
  double zero_N;        /* 0 when it is not known */
  size_t ties;          /* rows as high as the peak */
};

static inline struct be_rows be_no_rows(void)
{
  return (struct be_rows){1, 0};
}

void be_zero_find(const struct be_pull *pull, struct be_trace_events *events);
void be_zero_after_find(const struct be_pull *pull, struct be_trace_events *events);
void be_plateau_find(const struct be_pull *pull, struct be_trace_events *events);
void be_slips_find(const struct be_pull *pull, struct be_trace_events *events);
void be_stages_find(const struct be_pull *pull, struct be_trace_events *events);
void be_ending_find(const struct be_pull *pull, struct be_trace_events *events);
void be_slopes_find(const struct be_pull *pull, struct be_trace_events *events);
/* What the rig may have lost of the peak, and how fine it reads. */
void be_trust_find(const struct be_pull *pull, double step, struct be_trace_events *events);
void be_flags_find(const struct be_pull *pull, struct be_trace_events *events);
void be_suggest(const struct be_pull *pull, struct be_trace_events *events);
/* What stands on 1 in the file's unit of a role: N, m or s. */
double be_unit_factor(const struct be_trace *trace, enum be_role role);
/* The deviations that noise passes in any of so many pairs with this chance at
 * most: see the slip rule. */
double be_noise_reach(double pairs, double chance);
/* Least-squares change of x over its n values. */
double be_rise_over(const double *x, size_t n);
double be_mean(const double *x, size_t n);

#endif
