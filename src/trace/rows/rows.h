/* SPDX-License-Identifier: GPL-3.0-or-later */
/* rows: a source of bytes becomes the tests of a file.
 *
 *   feed.c -> text in UTF-8, a window at a time
 *   rows.c -> runs of plain rows by several threads, judged lines (judge.c)
 *   runs.c -> tests, each of one signal
 *   keep.c -> their arrays, thinned when they are long (whole.c)
 *   sign.c -> which direction is the pull
 *   read.c joins them, block after block. */
#ifndef BE_TRACE_ROWS_H
#define BE_TRACE_ROWS_H

#include "trace/layout/layout.h"
#include "trace/sizes.h"

#include <stdatomic.h>

/* ---- feed.c ---- */

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
/* BE_BAD_INPUT when one of the first `want` bytes of the unread text is 0. */
enum be_status be_feed_refuse_zeros(const struct be_feed *feed, size_t want, struct be_err *err);
/* Says that the first unread line is no row. */
enum be_status be_feed_too_long(const struct be_feed *feed, struct be_err *err);
/* Moves whole lines out into text, which holds BE_WINDOW + BE_PAD bytes; none at
 * the end. It leaves feed->line alone. */
enum be_status be_feed_take(struct be_feed *feed, char *text, size_t *size, struct be_err *err);
/* Puts taken text back before the unread text. */
enum be_status be_feed_give_back(struct be_feed *feed, const char *text, size_t size,
                                 struct be_err *err);

/* ---- whole.c ---- */

/* Rows that follow one another, on lines of their own; null: no such column. */
struct be_batch {
  size_t n;
  const double *column[BE_ROLES];
  size_t line; /* of the first */
};

enum {
  BE_BESIDE = 25, /* rows kept before an extreme */
  BE_AFTER = 1,   /* and after it */
  BE_LEAD = 32    /* rows that the next ones need before them */
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

struct be_hopper;

/* What is known of all rows of a test that keeps only some of them. */
struct be_whole {
  size_t rows, bucket;       /* summed up; readings that two kept rows stand for */
  struct be_extreme side[2]; /* highest, lowest */
  double first_extension, twice_energy;
  size_t stride, triples; /* every how many rows three readings were kept; how many */
  size_t triples_room;
  double (*triple)[3];
  struct be_tail tail;      /* the last rows before the first thinning */
  struct be_hopper *hopper; /* while it is read; keep.c */
};

/* Sums up the rows of a test that is about to be thinned. Null without memory. */
struct be_whole *be_whole_create(const struct be_trace *trace);
/* Keeps no more triples than a test of n kept rows is due. */
void be_whole_fit(struct be_whole *whole, size_t n);
/* Sums up further rows; the first `lead` of them were there before. */
void be_whole_add(struct be_whole *whole, const struct be_batch *rows, size_t lead);

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
enum be_status be_keep_rows(struct be_keep *keep, size_t test, const struct be_batch *rows,
                            struct be_err *err);
/* Whether a run of so many rows in each of so many tests leaves every row kept. */
bool be_keep_has_room(const struct be_keep *keep, size_t tests, size_t rows);
enum be_status be_keep_close(struct be_keep *keep, size_t test, struct be_err *err);

/* ---- rows.c, runs.c, judge.c ---- */

/* Why the rows of a test ended. */
struct be_rows_end {
  size_t column; /* of the cell that is no number, from 1; 0: none */
  char cell[40];
  double axis_last; /* time or travel of the first lane; not-a-number without */
};

/* Reads the rows after a head, which the feed stands before, into tests of
 * keep->file. Afterwards the feed stands before the line that ended them. */
enum be_status be_rows_read(const struct be_block *head, const struct be_lanes *lanes,
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
  struct be_clock_run clock;
  size_t blanks;                  /* lines since the last row */
  size_t skipped;                 /* rows without a force */
  size_t over;                    /* of these, rows past the rig's range */
  size_t tail_gaps;               /* since the last row, rows past the range aside */
  size_t gap_line, tail_gap_line; /* the first of them; the first after the last row */
  int decimals[BE_ROLES];         /* most seen so far in the block */
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
  size_t first_test; /* of the block */
  size_t line;       /* lines kept and judged so far */
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
/* Counts a row without a force. */
void be_lane_pass_gap(struct be_lane *lane, size_t line, bool over);

/* ---- sign.c ---- */

/* Decides the direction of the pull for all tests of a file together. */
void be_sign_find(const struct be_trace_file *file, const struct be_heading *force,
                  bool extension_is_gap, int told, int *sign, char why[120]);

#endif
