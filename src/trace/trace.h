/* SPDX-License-Identifier: GPL-3.0-or-later */
/* trace: the force trace of one pull. Reads the text that rigs write without
 * being told the layout, says what it took each column for and why, and finds
 * what happened. Knows no disk: it is given a source of bytes. */
#ifndef BE_TRACE_H
#define BE_TRACE_H

#include "base/base.h"
#include "units/units.h"

enum {
  BE_TRACE_COLUMNS_MAX = 64,
  BE_TRACE_ROWS_MAX = 100 * 1000 * 1000,
  BE_TRACE_KEPT_MAX = 512 * 1024,
  BE_TRACE_TESTS_MAX = 10000
};

/* ---- what was read ------------------------------------------------------ */

enum be_role { BE_ROLE_NONE, BE_ROLE_TIME, BE_ROLE_FORCE, BE_ROLE_EXTENSION };
const char *be_role_word(enum be_role role);

enum be_sureness { BE_SURE, BE_LIKELY, BE_GUESS };
const char *be_sureness_word(enum be_sureness sureness);

struct be_trace_column {
  char name[96];              /* as written, in UTF-8; empty without a header */
  const struct be_unit *unit; /* null: none was found */
  enum be_role role;
  size_t lane; /* which of the tests side by side has it, from 0; 0 without a role */
  enum be_sureness sureness;
  char why[120]; /* "named force, unit in brackets", "the only column that rises" */
};

enum be_text_coding {
  BE_UTF8,
  BE_UTF8_BOM,
  BE_UTF16_LE,
  BE_UTF16_BE,
  BE_LATIN1,
  BE_GB18030,
  BE_SHIFT_JIS
};
const char *be_text_coding_word(enum be_text_coding coding);

struct be_trace_layout {
  enum be_text_coding coding;
  char delimiter; /* ',' ';' '\t' or ' ' for runs of spaces */
  char decimal;   /* '.' or ',' */
  size_t header_lines;
  size_t columns_count;
  struct be_trace_column columns[BE_TRACE_COLUMNS_MAX];
  char delimiter_why[120], decimal_why[120];
  /* Seconds from row to row, when the head of the file states it and there is
   * no time column; 0 if not. The reason tells where, also why it is not used. */
  double interval_s;
  char interval_why[120];
  int sign; /* +1: pulling is positive in the file; -1: it is negative */
  char sign_why[120];
};

/* The file's own numbers, before unit and sign: of the first row, of the rows
 * with the most and the least force, and of the peak. */
struct be_as_written {
  double first, highest, lowest, peak;
};

/* One test of a file. Arrays are SI, n long; time and extension are null when
 * the file has none. Force is positive in tension. A file keeps at most
 * BE_TRACE_KEPT_MAX rows: of longer ones, rows fall away where they lie between
 * the highest and the lowest of their neighbours, and `whole` holds what is
 * known of them all. */
struct be_trace {
  size_t n;
  size_t rows; /* in the file; n when every one is kept */
  double *force_N;
  double *time_s;
  double *extension_m;
  size_t *line; /* 1-based line of each row in the file */
  struct be_as_written as_written;
  char title[96]; /* of its block; empty if it has none */
  int decimals;   /* most decimals seen in the force column */
  int extension_decimals;
  int time_decimals;
  size_t skipped_rows; /* rows inside the block with no force number */
  size_t over_rows;    /* of these, rows where the rig wrote "past my range" (OL, ^^^) */
  bool continues;      /* it follows the one before it without a head of its own */
  size_t lane;         /* from 0; of the signals side by side in its block */
  const struct be_trace_layout *layout; /* the file's */
  struct be_whole *whole;               /* null when every row is kept */
};

struct be_trace_file {
  size_t count;
  struct be_trace *tests; /* in file order; blocks are never joined */
  size_t layouts_count;
  struct be_trace_layout **layouts;
};

/* What the user says outright; zero fields are found by the reader. */
struct be_trace_options {
  size_t force_column, time_column, extension_column; /* from 1 */
  const struct be_unit *force_unit, *time_unit, *extension_unit;
  int sign;       /* +1 or -1 */
  char decimal;   /* '.' or ',' */
  double rate_Hz; /* sampling rate; used only when there is no time column */
  /* For signals such as volts: force = scale * (as written - zero), before
   * the sign. A scale of 0 leaves it to the unit. */
  double force_scale_N, force_zero;
  unsigned threads; /* 0: as many as there are processors */
};

/* Reads every test of a source, in bounded memory however long it is. On BE_OK
 * *file is the caller's to free, else it is null. BE_BAD_INPUT: not a trace; says
 * what was looked for, with the line and the column of the table, both from 1.
 * BE_ASK: two columns fit equally well, a comma can be two things, or the signal
 * is in volts and needs a scale; err says what decides. A new test starts where
 * the columns are named or titled again and where the time starts again. options
 * may be null. The same text gives the same bits, whatever the threads. */
enum be_status be_trace_read(struct be_source *source, const struct be_trace_options *options,
                             struct be_trace_file **file, struct be_err *err);
/* The same from bytes in memory. */
enum be_status be_trace_read_bytes(const char *bytes, size_t size,
                                   const struct be_trace_options *options,
                                   struct be_trace_file **file, struct be_err *err);
void be_trace_file_free(struct be_trace_file *file);

/* ---- what happened ------------------------------------------------------ */

/* How the pull ended, as far as the trace can tell. */
enum be_ending {
  BE_ENDED_UNSEEN, /* the record stops before anything can be said */
  BE_ENDED_BROKE,  /* fell from near the peak to near zero at once */
  BE_ENDED_PARTLY, /* fell at once, but still carries load */
  BE_ENDED_FADED,  /* went down slowly or in steps: slipping rather than breaking */
  BE_ENDED_HELD,   /* held near the peak: nothing let go */
  BE_ENDED_RISING, /* the highest load is at the very end */
};
const char *be_ending_words(enum be_ending ending);

/* Stable names; each has a sentence for people. */
#define BE_TRACE_FLAG_LIST(X)                                                                      \
  X(BE_FLAG_NO_TIME, "no-time", "there is no time column: rates and times cannot be given")        \
  X(BE_FLAG_ZERO_OFF, "zero-off", "the trace does not start at zero load")                         \
  X(BE_FLAG_ZERO_DRIFT, "zero-drift", "the zero after the pull is not the zero before it")         \
  X(BE_FLAG_SATURATED, "saturated", "the load passed the range of the rig: a lower bound")         \
  X(BE_FLAG_RISING, "still-rising", "the load was still rising at the end: a lower bound")         \
  X(BE_FLAG_HELD, "held", "nothing let go: a lower bound")                                         \
  X(BE_FLAG_MISSED_PEAK, "missed-peak", "the sampling may have missed more than 1 % of the peak")  \
  X(BE_FLAG_FEW_ROWS, "few-rows", "fewer than 20 rows: little can be said of the shape")           \
  X(BE_FLAG_UNEVEN, "uneven-time", "the times repeat or step unevenly")                            \
  X(BE_FLAG_GAPS, "gaps", "rows without a force number were passed over")                          \
  X(BE_FLAG_NOISY, "noisy", "the noise is more than 2 % of the peak")

enum be_trace_flag {
#define X(code, name, words) code,
  BE_TRACE_FLAG_LIST(X)
#undef X
      BE_TRACE_FLAGS
};
const char *be_trace_flag_name(enum be_trace_flag flag);
const char *be_trace_flag_words(enum be_trace_flag flag);

struct be_slip {
  size_t from_row, to_row; /* last high row and lowest row of the drop */
  double from_N, to_N;
  double recovered_N; /* highest load after it, before the next drop */
};

enum { BE_SLIPS_MAX = 64 };

/* Everything is read from the trace alone; what it cannot support is
 * not-a-number (or a count of 0). */
struct be_trace_events {
  size_t peak_row;
  double peak_N;       /* highest load as read, zero not taken off */
  double zero_N;       /* mean of the slack start; not-a-number if there is none */
  double zero_after_N; /* mean of the flat end after the load let go */
  double rise_N;       /* peak less zero; the peak itself when there is no zero */
  double noise_N;      /* deviation of one reading, from neighbouring rows */
  size_t slips_count;  /* before the peak; none is counted past BE_SLIPS_MAX */
  struct be_slip slips[BE_SLIPS_MAX];
  enum be_ending ending;
  size_t end_row;           /* first row after the final drop began; n without one */
  double time_to_peak_s;    /* from the first rise out of the noise */
  double rate_N_per_s;      /* mean slope from 20 % to 80 % of the rise */
  double stiffness_N_per_m; /* steepest robust slope over a tenth of the rise or more */
  double energy_J;          /* force by extension, first row to the peak row */
  double missed_N;          /* most that may lie between two samples at the peak */
  bool flags[BE_TRACE_FLAGS];
};

/* The slip rule: a fall of at least 3 % of the load, 6 times the noise of one
 * reading and 6 times the slow wander of the unloaded end, from a running top to
 * the lowest row before the load passes that top again, on the way to the peak,
 * where the load is at least 3 % of the rise. Takes heap
 * for a smoothed copy. BE_BAD_INPUT only for a trace without rows. */
enum be_status be_trace_find(const struct be_trace *trace, struct be_trace_events *events,
                             struct be_err *err);

#endif
