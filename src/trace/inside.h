/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this room share; nothing outside the room includes it.
 *
 *   source -> feed.c   -> text in UTF-8, a window at a time (coding.c)
 *          -> lines.c  -> lines, cells, and what kind each cell is
 *          -> layout.c -> one block: delimiter, decimal mark, head, first row
 *          -> words.c  -> what the heading of a column says (heading.c)
 *          -> columns.c -> which column is force, time and extension, and why
 *          -> rows.c   -> runs of plain numbers (plain.c), judged lines (judge.c)
 *          -> lanes.c  -> tests, each of one signal
 *          -> keep.c   -> their arrays, thinned when they are long (whole.c)
 *          -> sign.c   -> which direction is the pull
 *   events.c joins smooth.c, slips.c and ending.c: what happened. */
#ifndef BE_TRACE_INSIDE_H
#define BE_TRACE_INSIDE_H

#include "trace/trace.h"

#include <stdatomic.h>

/* ---- coding.c ---- */

/* The name by which the system's recoder knows a coding. */
const char *be_coding_name(enum be_text_coding coding);
/* By a mark in front, of *mark bytes, or by zeros; else UTF-8. */
enum be_text_coding be_coding_of_front(const char *bytes, size_t size, size_t *mark);
/* The older coding in which text that is not UTF-8 makes most sense. */
enum be_text_coding be_coding_guess(const char *bytes, size_t size);

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

/* ---- feed.c ---- */

/* No line is longer than the window; more than the window of a head is read
 * only to look for its rows. */
enum { BE_WINDOW = 256 * 1024, BE_HEAD_MAX = 4 * 1024 * 1024, BE_PAD = 64 };

/* The text of a source in UTF-8, through a window; see feed.c. */
struct be_feed {
  struct be_source *source;
  enum be_text_coding coding;
  struct be_recoder *recoder; /* null: UTF-8 */
  size_t unit_size;           /* bytes of the smallest character of the coding */
  char *raw;                  /* bytes not recoded yet */
  size_t raw_size;
  char eol; /* ends a line; a '\r' before it is dropped */
  char *data;
  size_t capacity, at, size;
  size_t looked_at; /* up to where the coding was looked at */
  size_t line;
  bool ended;
};

/* The feed borrows the source. Start makes an unread window; end may follow a
 * failed start. */
enum be_status be_feed_start(struct be_feed *feed, struct be_source *source, struct be_err *err);
void be_feed_end(struct be_feed *feed);
/* Makes the unread text `want` bytes long, or all there is. */
enum be_status be_feed_fill(struct be_feed *feed, size_t want, struct be_err *err);
/* The whole lines of the unread text, until the next fill. */
struct be_lines be_feed_lines(const struct be_feed *feed);
/* Marks the text before lines->at as read. */
void be_feed_use(struct be_feed *feed, const struct be_lines *lines);
/* Makes at least one whole line unread, if the text goes on. */
enum be_status be_feed_need_line(struct be_feed *feed, struct be_err *err);
/* Moves whole lines out into text, which holds BE_WINDOW + BE_PAD bytes; none at
 * the end. It leaves feed->line alone. */
enum be_status be_feed_take(struct be_feed *feed, char *text, size_t *size, struct be_err *err);
/* Puts taken text back before the unread text. */
enum be_status be_feed_give_back(struct be_feed *feed, const char *text, size_t size,
                                 struct be_err *err);

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
enum { BE_LANES_MAX = 8 };
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

/* ---- whole.c ---- */

/* Rows that follow one another, on lines of their own; null: no such column. */
struct be_rows {
  size_t n;
  const double *column[BE_ROLES];
  size_t line; /* of the first */
};

enum {
  BE_BESIDE = 25, /* rows kept before an extreme */
  BE_AFTER = 1,   /* and after it */
  BE_LEAD = 32,   /* rows that the next ones need before them */
  BE_TRIPLES = 4096
};

struct be_extreme {
  double value;
  size_t row;
  double extension, twice_energy; /* up to it, from the first row */
  size_t n, at;                   /* rows beside it; which of them it is */
  double force[BE_BESIDE + 1 + BE_AFTER], time[BE_BESIDE + 1 + BE_AFTER];
};

struct be_tail {
  size_t n;
  double column[BE_ROLES][BE_LEAD];
};

struct be_stage;

/* What is known of all rows of a test that keeps only some of them. */
struct be_whole {
  size_t rows, bucket;       /* summed up; readings that two kept rows stand for */
  struct be_extreme side[2]; /* highest, lowest */
  double first_extension, twice_energy;
  size_t stride, triples; /* every how many rows three readings were kept; how many */
  double triple[BE_TRIPLES][3];
  struct be_tail tail;    /* the last rows before the first thinning */
  struct be_stage *stage; /* while it is read; keep.c */
};

/* Sums up the rows of a test that is about to be thinned. Null without memory. */
struct be_whole *be_whole_create(const struct be_trace *trace);
/* Sums up further rows; the first `lead` of them were there before. */
void be_whole_add(struct be_whole *whole, const struct be_rows *rows, size_t lead);

/* Into SI, and with the pull in the other direction: side[0] is the peak. */
void be_whole_scale(struct be_whole *whole, const struct be_roles *roles);
void be_whole_turn(struct be_whole *whole);
void be_whole_free(struct be_whole *whole);

/* ---- keep.c ---- */

struct be_keep {
  struct be_trace_file *file;
  size_t capacity; /* of its tests */
  size_t rows;     /* kept in all of them */
};

/* Adds a test to the file. */
enum be_status be_keep_open(struct be_keep *keep, const struct be_roles *roles, size_t *test,
                            struct be_err *err);
enum be_status be_keep_rows(struct be_keep *keep, size_t test, const struct be_rows *rows,
                            struct be_err *err);
enum be_status be_keep_close(struct be_keep *keep, size_t test, struct be_err *err);

/* ---- plain.c ---- */

enum { BE_NO_SLOT = 255, BE_FORM_WORDS = 3, BE_FORMS = 4, BE_SLOTS_MAX = BE_LANES_MAX * BE_ROLES };

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
  size_t columns;
  unsigned char slot[BE_TRACE_COLUMNS_MAX]; /* where its numbers go, or BE_NO_SLOT */
  bool may_be_empty[BE_TRACE_COLUMNS_MAX];  /* gives not-a-number */
  const char *suffix[BE_TRACE_COLUMNS_MAX]; /* what must follow the number, or be the cell */
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

/* ---- rows.c, lanes.c, judge.c ---- */

/* Why the rows of a test ended. */
struct be_rows_end {
  size_t column; /* of the cell that is no number, from 1; 0: none */
  char cell[40];
  double axis_last; /* time or travel of the first lane; not-a-number without */
};

/* Reads the rows after a head, which the feed stands before, into tests of
 * keep->file. Afterwards the feed stands before the line that ended them. */
enum be_status be_rows_read(const struct be_block *head, const struct be_roles *roles, size_t lanes,
                            unsigned threads, struct be_feed *feed, struct be_keep *keep,
                            struct be_rows_end *end, struct be_err *err);

/* A row that may start another test waits for the one after it. */
struct be_held {
  bool is;
  double value[BE_ROLES];
  size_t line;
};

/* One signal of a block with its axes. */
struct be_lane {
  const struct be_roles *roles;
  unsigned char slot[BE_ROLES]; /* of a run; BE_NO_SLOT without */
  enum be_role axis;            /* time, or else extension, or none */
  size_t test;                  /* in the file; its rows so far: */
  size_t n;
  double axis_first, axis_last;
  struct be_held held;
  size_t blanks;                  /* lines since the last row */
  size_t skipped;                 /* rows without a force */
  size_t over;                    /* of these, rows past the rig's range */
  size_t gap_line, tail_gap_line; /* the first of them; the first after the last row */
  int decimals[BE_ROLES];         /* most seen so far */
};

/* Whole lines that one thread reads. */
struct be_text_block {
  size_t number;
  char *text;
  size_t size;
  const char *at; /* what is left of it */
  struct be_plain plain;
  struct be_run run;
  double *numbers; /* behind the run's columns */
};

enum { BE_READERS_MAX = 4 };

struct be_reader {
  const struct be_block *head;
  struct be_feed *feed;
  struct be_keep *keep;
  struct be_rows_end *end;
  struct be_err *err;
  enum be_status status;
  bool ended; /* by a line that is no row, or an error */
  size_t lane_count, slots;
  struct be_lane lane[BE_LANES_MAX];
  size_t line; /* lines kept and judged so far */
  struct be_gate *taking, *keeping;
  atomic_size_t ticket;
  bool no_more; /* text to take */
  struct be_text_block *block[BE_READERS_MAX];
};

void be_reader_fail(struct be_reader *r, enum be_status status);
void be_reader_keep_run(struct be_reader *r, const struct be_run *run);
/* Judges the line at block->at; moves past it unless it ends the test. */
void be_reader_judge(struct be_reader *r, struct be_text_block *block);

void be_lane_open(struct be_reader *r, struct be_lane *lane);
void be_lane_close(struct be_reader *r, struct be_lane *lane);
/* Keeps one row, which starts another test where the time falls back to its
 * beginning and the next row goes on from there. */
void be_lane_keep_row(struct be_reader *r, struct be_lane *lane, const double value[BE_ROLES],
                      size_t line);
void be_lane_release(struct be_reader *r, struct be_lane *lane);

/* ---- sign.c ---- */

/* Decides the direction of the pull for all tests of a file together. */
void be_sign_find(const struct be_trace_file *file, const struct be_heading *force,
                  bool extension_is_gap, int told, int *sign, char why[120]);

/* ---- smooth.c ---- */

/* Running median of three; out may not alias x. */
void be_smooth(const double *x, size_t n, double *out);
/* Median of x, which is reordered; not-a-number for none. */
double be_median(double *x, size_t n);
/* Deviation of one reading from its neighbours, free of the slope; scratch is
 * n long. */
double be_noise(const double *x, size_t n, double *scratch);

/* ---- slips.c, ending.c ---- */

struct be_pull {
  const struct be_trace *trace;
  const double *smooth; /* n long */
  double *scratch;      /* n long */
  double zero_N;        /* 0 when it is not known */
  double wander_N;      /* slow scatter of the smoothed load with nothing on it; 0 if not known */
};

void be_slips_find(const struct be_pull *pull, struct be_trace_events *events);
void be_ending_find(const struct be_pull *pull, struct be_trace_events *events);
void be_slopes_find(const struct be_pull *pull, struct be_trace_events *events);
void be_flags_find(const struct be_trace *trace, struct be_trace_events *events);

#endif
