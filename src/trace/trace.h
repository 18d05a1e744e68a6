/* SPDX-License-Identifier: GPL-3.0-or-later */
/* trace: the force trace of one pull. Reads the text that rigs write without
 * being told the layout, says what it took each column for and why, and finds
 * what happened. Knows no disk: it is given a source of bytes. */
#ifndef BE_TRACE_H
#define BE_TRACE_H

#include "base/base.h"
#include "trace/snap/snap.h"
#include "units/units.h"

enum {
  BE_TRACE_COLUMNS_MAX = 64,
  BE_TRACE_ROWS_MAX = 100 * 1000 * 1000,
  BE_TRACE_KEPT_MAX = 512 * 1024,
  BE_TRACE_TESTS_MAX = 10000
};

/* ---- what was read ------------------------------------------------------ */

enum be_role { BE_ROLE_NONE, BE_ROLE_TIME, BE_ROLE_FORCE, BE_ROLE_EXTENSION };
enum { BE_ROLES = BE_ROLE_EXTENSION + 1 };
const char *be_role_word(enum be_role role);

enum be_sureness { BE_SURE, BE_LIKELY, BE_GUESS };
const char *be_sureness_word(enum be_sureness sureness);

struct be_trace_column {
  char name[96];              /* as written, in UTF-8; empty without a header */
  const struct be_unit *unit; /* null: none was found */
  enum be_role role;
  size_t lane; /* which of the tests side by side has it, from 0; 0 without a role */
  bool clock;  /* it holds times of day */
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
  char delimiter_why[120], decimal_why[120];
  /* Seconds from row to row, when the head of the file states it and there is
   * no time column; 0 if not. The reason tells where, also why it is not used. */
  double interval_s;
  char interval_why[120];
  char saved[64]; /* the user's layout that was recognised; empty: none */
  int sign;       /* +1: pulling is positive in the file; -1: it is negative */
  char sign_why[120];
  struct be_trace_column *columns; /* columns_count of them */
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
  int decimals;   /* most decimals seen in the force column of its block */
  int extension_decimals;
  int time_decimals;
  size_t skipped_rows; /* rows inside the block with no force number */
  size_t over_rows;    /* of these, rows where the rig wrote "past my range" (OL, ^^^) */
  bool continues;      /* it follows the one before it without a head of its own */
  size_t lane;         /* from 0; of the signals side by side in its block */
  const struct be_trace_layout *layout; /* the file's */
  struct be_whole *whole;               /* null when every row is kept */
};

/* The column that a test has for a role; null if there is none. */
const struct be_trace_column *be_trace_column_of(const struct be_trace *trace, enum be_role role);

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
  /* Tried on the first block when nothing else is told; may be null. */
  const struct be_trace_layouts *layouts;
};

/* A layout that the user saved under a name: a file whose columns have these
 * names is read as was told then. */
struct be_trace_saved {
  char name[64];
  char delimiter, decimal;
  size_t columns_count;
  char columns[BE_TRACE_COLUMNS_MAX][96];
  struct be_trace_options told;
};

struct be_trace_layouts {
  size_t count;
  struct be_trace_saved *saved;
};

/* Is anything told of the file, threads and saved layouts aside? */
bool be_trace_told(const struct be_trace_options *options);

/* Reads saved layouts from their text. BE_BAD_INPUT names the line. On BE_OK *layouts
 * is the caller's to free. */
enum be_status be_trace_layouts_parse(const char *text, size_t size,
                                      struct be_trace_layouts **layouts, struct be_err *err);
void be_trace_layouts_free(struct be_trace_layouts *layouts); /* null is fine */
/* What is to be saved: how a file was read, and what was told for it. The name
 * holds no bracket and no line end. */
void be_trace_saved_set(struct be_trace_saved *saved, const char *name,
                        const struct be_trace_layout *layout, const struct be_trace_options *told);
/* Adds its text, which be_trace_layouts_parse reads. */
void be_trace_saved_write(struct be_buf *text, const struct be_trace_saved *saved);

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
  BE_ENDED_UNSEEN,   /* the record stops before anything can be said */
  BE_ENDED_BROKE,    /* fell from near the peak to near zero at once */
  BE_ENDED_PARTLY,   /* fell at once, but still carries load */
  BE_ENDED_FADED,    /* went down slowly or in steps: slipping rather than breaking */
  BE_ENDED_HELD,     /* held near the peak: nothing let go */
  BE_ENDED_RISING,   /* the highest load is at the very end */
  BE_ENDED_LET_DOWN, /* went down as slowly as it went up, on purpose: nothing let go */
};
const char *be_ending_words(enum be_ending ending);

/* Rows counted from 0, both ends included; none when first is past last. The
 * line array of the trace turns them into lines of the file. */
struct be_rows {
  size_t first, last;
};
static inline bool be_rows_any(struct be_rows rows)
{
  return rows.first <= rows.last;
}

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
  X(BE_FLAG_NOISY, "noisy", "the noise is more than 2 % of the peak")                              \
  X(BE_FLAG_PLATEAU, "plateau", "the top is flat: the peak has no single moment")                  \
  X(BE_FLAG_LET_DOWN, "let-down", "let down as slowly as it was pulled: a lower bound")            \
  X(BE_FLAG_STOPPED, "stopped-early", "the record stops before the pull has ended")                \
  X(BE_FLAG_STAGES, "multi-stage", "the load rose and fell before it reached its peak")            \
  X(BE_FLAG_PARTLY, "partial-break", "part let go at once and the rest still carried load")        \
  X(BE_FLAG_SLIPPED, "slipped", "the load fell and rose again on the way to the peak")             \
  X(BE_FLAG_HUMP, "after-peak-hump", "the load rose again after it had let go")                    \
  X(BE_FLAG_ZERO_LOADED, "zero-under-load",                                                        \
    "the end lies well below the start: was the zero taken under load?")                           \
  X(BE_FLAG_REPEATED, "repeated-times", "neighbouring rows share a time, or it steps back")        \
  X(BE_FLAG_COARSE, "coarse-resolution", "the readings step by more than their last decimal")      \
  X(BE_FLAG_SLOW_FILTER, "slow-filter", "the filter may have taken more than 1 % off the peak")    \
  X(BE_FLAG_DEVICE, "device-peak-differs", "the device's own peak differs by more than 1 %")       \
  X(BE_FLAG_THINNED, "thinned",                                                                    \
    "too long to keep every row: lows and highs stand for them, and steps of time are not looked " \
    "at")                                                                                          \
  X(BE_FLAG_LOW_FORCE, "low-force", "the peak is less than 200 steps of the reading")

enum be_trace_flag {
#define X(code, name, words) code,
  BE_TRACE_FLAG_LIST(X)
#undef X
      BE_TRACE_FLAGS
};
const char *be_trace_flag_name(enum be_trace_flag flag);
const char *be_trace_flag_words(enum be_trace_flag flag);

/* A fall that was followed by re-loading. */
struct be_slip {
  size_t from_row, to_row; /* highest row before and lowest row of the fall */
  double from_N, to_N;
  double recovered_N;   /* highest load after it, before the next fall */
  size_t recovered_row; /* first row back at from_N before the next fall; n without one */
  double fall_s;        /* how long it fell */
  double recovery_s;    /* from the lowest row to recovered_row */
};

/* A local top, and the lowest load before the next one. */
struct be_stage {
  size_t top_row, low_row;
  double top_N, low_N;
};

enum { BE_SLIPS_MAX = 64, BE_STAGES_MAX = 16 };

/* What the trace suggests of the result. A person confirms it. */
enum be_suggested { BE_SUGGEST_EVENT, BE_SUGGEST_BOUND, BE_SUGGEST_VOID };
enum be_let_go {
  BE_LET_GO_UNSEEN,
  BE_LET_GO_BROKE,
  BE_LET_GO_SLIPPED_BROKE,
  BE_LET_GO_SLIPPED_OUT,
  BE_LET_GO_STRAND,
  BE_LET_GO_NOTHING
};
const char *be_suggested_word(enum be_suggested result);
const char *be_let_go_word(enum be_let_go what);

struct be_suggestion {
  enum be_suggested result;
  enum be_let_go what; /* where it let go, no force trace can tell */
  char evidence[200];  /* "fell from 97 % to 3 % of the rise in 1 row" */
};

/* Everything is read from the trace alone; what it cannot support is
 * not-a-number (or a count of 0, or no rows). */
struct be_trace_events {
  size_t peak_row;
  double peak_N;              /* highest load as read, zero not taken off */
  double zero_N;              /* mean of the slack start; not-a-number if there is none */
  double zero_after_N;        /* mean of the flat end after the load let go */
  double rise_N;              /* peak less zero; the peak itself when there is no zero */
  double noise_N;             /* deviation of one reading, from neighbouring rows */
  struct be_rows slack, tail; /* rows of the two zeros */
  struct be_rows plateau;     /* rows that are as high as the peak, as far as noise lets one say */
  /* Slips in the order of their rows: slips_count before the peak, then
   * slips_after after it, both among the BE_SLIPS_MAX that are kept. */
  size_t slips_count, slips_after;
  size_t slips_more; /* found and not kept */
  struct be_slip slips[BE_SLIPS_MAX];
  size_t stages_count; /* tops followed by a fall of 15 % of the rise or more; 0 or two or more */
  struct be_stage stages[BE_STAGES_MAX];
  enum be_ending ending;
  size_t end_row;             /* first row after the final drop began; n without one */
  size_t end_low_row;         /* where that drop is over; n without one */
  size_t onset_row;           /* last row before the first rise out of the noise */
  double time_to_peak_s;      /* from the onset */
  double time_to_break_s;     /* from the onset to the last row before the final drop */
  double rate_N_per_s;        /* mean slope from 20 % to 80 % of the rise */
  double rate_per_s;          /* the same as a share of the peak (of the rise) */
  double stiffness_N_per_m;   /* steepest robust slope over a tenth of the rise or more */
  struct be_rows stiffness;   /* its window */
  double foot_m;              /* extension where the line of that slope is at zero load */
  double extension_at_peak_m; /* from that foot: toe and slack taken off; no load is changed */
  double energy_J;            /* force by extension, first row to the peak row */
  double elastic_J;           /* rise^2 / (2 stiffness): given back if it unloads that steeply */
  double missed_N;            /* most that may lie between two samples at the peak */
  double lag_N;               /* most that the filter may have taken off the peak */
  double resolution_N;        /* as declared, else the step of the readings, else written_N */
  bool resolution_declared;
  double written_N;     /* one in the last decimal written; not-a-number if not known */
  double lowest_N;      /* 200 resolutions: below it the reading is too coarse for class 1 */
  double device_peak_N; /* as declared */
  double device_more;   /* device's peak over the trace's, less 1 */
  struct be_suggestion suggestion;
  bool flags[BE_TRACE_FLAGS];
  struct be_rows flag_rows[BE_TRACE_FLAGS]; /* what each raised flag speaks of */
};

/* What is known of the rig; a figure of 0 is not known. */
struct be_trace_known {
  double filter_Hz;     /* corner of a single-pole low-pass */
  double device_peak_N; /* peak hold of the device, zero treated as in the trace */
  double resolution_N;  /* smallest step that the device shows */
};

/* The slip rule: a fall of at least 3 % of the load that is followed by a rise of at
 * least half as much, both more than noise makes, where the load is at least 3 %
 * of the rise. It is looked for on the readings (their running median of three)
 * and on running means of 4, 8, 16, ... of them, up to the end of the final drop.
 *
 * What noise makes: a fall is the difference of two of m such means. That any of
 * the m^2 / 2 pairs in order differs by z sqrt(2) deviations of a mean has a
 * chance of m^2 / 2 Q(z) at most (Boole's inequality); of falls within 8 means it
 * is 8 m Q(z), and less is asked of them. z makes these chances together, over all
 * widths, 1 in 1,000 a trace. So the threshold grows with the rows: for the
 * readings themselves it is 6.2 deviations for 1,000 rows and 8.2 for 1,000,000;
 * near, 5.6 and 6.8. The deviation is that of neighbouring rows; or that of the same
 * means at longer lags or with nothing on the line where it is clearly larger, because
 * the noise lasts over rows. Fewer than 256 rows are too few for longer lags.
 *
 * Takes heap: two doubles a row. known may be null. BE_BAD_INPUT only for a
 * trace without rows. */
enum be_status be_trace_find_with(const struct be_trace *trace, const struct be_trace_known *known,
                                  struct be_trace_events *events, struct be_err *err);
enum be_status be_trace_find(const struct be_trace *trace, struct be_trace_events *events,
                             struct be_err *err);

/* ---- while it happens (live/live.c) -------------------------------------- */

/* One pull sample by sample, as far as it can be told without knowing what comes: when the rig is
 * steady and unloaded, when a pull begins, its peak so far, when it let go, and when nothing is on
 * the line any more. Takes no heap; needs any rate from 2 samples a second on. */
#define BE_LIVE_LIST(X)                                                                            \
  X(BE_LIVE_UNSTEADY, "waiting for a steady zero")                                                 \
  X(BE_LIVE_LOADED, "steady, but not at zero")                                                     \
  X(BE_LIVE_READY, "ready")                                                                        \
  X(BE_LIVE_PULLING, "pulling")                                                                    \
  X(BE_LIVE_LET_GO, "let go: hands off until it reads zero")                                       \
  X(BE_LIVE_SILENT, "no samples come")                                                             \
  X(BE_LIVE_DONE, "done")
enum be_live_phase {
#define X(code, words) code,
  BE_LIVE_LIST(X)
#undef X
};
const char *be_live_word(enum be_live_phase phase);

/* Zero fields take the usual value. */
struct be_live_settings {
  double preload_N;   /* above zero by so much, a pull has begun; 0: 1 N, or 12 times the noise */
  double zero_most_N; /* a zero further from 0 than this is a load; 0: any is believed */
  double let_go;      /* share of the peak below which it has let go; 0: 0.2 */
  double rest_s;      /* how long it must be steady, or stay down; 0: 1 */
  double silence_s;   /* without a sample for so long, something is wrong; 0: 2 */
};

enum { BE_LIVE_BUCKETS = 16 };
struct be_live {
  enum be_live_phase phase;
  double zero_N, noise_N;
  double load_N;              /* of the last sample, zero taken off */
  double peak_N, peak_s;      /* zero taken off; of the pull that goes on or is done */
  double began_s, let_go_s;   /* not-a-number before */
  size_t samples;             /* taken so far */
  size_t began, let_go, done; /* which of them, from 0 */
  size_t touches;             /* loads too small for a pull, passed over */
  size_t silences;            /* gaps during the pull */
  size_t slips;               /* falls that were followed by a rise, so far */
  double slip_s, slip_N;      /* from where the last of them fell */
  bool over;                  /* the rig was at its end: the peak is at least so much */
  struct be_live_settings by; /* with the usual values filled in */
  /* Inner: */
  double last_s, last_N, step_N;    /* step: mean size of the difference of neighbours */
  double bucket_N[BE_LIVE_BUCKETS]; /* means over rest_s / BE_LIVE_BUCKETS or one sample each */
  double sum_N, bucket_s;
  size_t in_bucket, buckets, above;
  double top_N, top_s, low_N; /* since the last slip: the highest load, and the lowest after it */
  double down_s;              /* since when it is below what counts as let go */
  enum be_live_phase before;  /* the silence */
};

void be_live_start(struct be_live *live, const struct be_live_settings *settings); /* may be null */
/* One sample; times must not fall. force_N may be infinite, for a rig at its end; not-a-number is
 * passed over. After BE_LIVE_DONE nothing changes until be_live_next. */
enum be_live_phase be_live_take(struct be_live *live, double time_s, double force_N);
/* The time when no sample has come. */
enum be_live_phase be_live_tick(struct be_live *live, double now_s);
/* The next pull; zero and noise are kept until they are seen anew. */
void be_live_next(struct be_live *live);

#endif
