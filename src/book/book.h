/* SPDX-License-Identifier: GPL-3.0-or-later */
/* book: the record. One SQLite file holds the bytes of every file entered, as
 * they came, and what was read from them: lines, knots, benches, specimens,
 * pulls, results. Measurements are appended, never edited: a correction is a new
 * result that points at the old one. Loads that come from a trace are derived
 * and can be worked out again from its bytes. docs/formats.md describes the
 * sheets and the tables. */
#ifndef BE_BOOK_H
#define BE_BOOK_H

#include "base/base.h"
#include "book/handling.h"
#include "rig/rig.h"
#include "units/units.h"

enum {
  BE_BOOK_FILE_MAX = 512 * 1024 * 1024, /* bytes of one file entered */
  BE_PICTURE_MAX = 4 * 1024 * 1024,     /* bytes of the picture of a knot */
  BE_BOOK_NOTES_MAX = 200               /* notes kept of one entering */
};

/* ---- words -------------------------------------------------------------- */

/* Each list: code, the word people see, other spellings a sheet may use
 * (lower case, separated by '|'). The first value is always "not recorded". */
#define BE_DESIGN_LIST(X)                                                                          \
  X(BE_DESIGN_UNKNOWN, "not recorded", "")                                                         \
  X(BE_DESIGN_PLAIN, "plain line", "plain|straight|unknotted")                                     \
  X(BE_DESIGN_SINGLE, "single knot", "single|one knot|1")                                          \
  X(BE_DESIGN_TWO_SAME, "two same", "two same knots|two identical|two identical knots")            \
  X(BE_DESIGN_TWO_DIFFERENT, "two different", "two different knots|head-to-head")                  \
  X(BE_DESIGN_PROOF, "proof hold", "proof")                                                        \
  X(BE_DESIGN_CYCLIC, "cyclic", "cycled")

#define BE_SOAK_LIST(X)                                                                            \
  X(BE_SOAK_UNKNOWN, "not recorded", "")                                                           \
  X(BE_SOAK_DRY, "dry", "none|no|0")                                                               \
  X(BE_SOAK_SOAKED, "soaked", "wet|yes")

#define BE_KIND_LIST(X)                                                                            \
  X(BE_KIND_UNKNOWN, "not recorded", "")                                                           \
  X(BE_KIND_EVENT, "event", "valid|load")                                                          \
  X(BE_KIND_BOUND, "lower bound", "bound|at least")                                                \
  X(BE_KIND_VOID, "void", "invalid")

#define BE_WHAT_LIST(X)                                                                            \
  X(BE_WHAT_UNKNOWN, "not recorded", "")                                                           \
  X(BE_WHAT_BROKE, "broke", "b|break|broken|parted")                                               \
  X(BE_WHAT_SLIPPED_OUT, "slipped out", "s|slip|slipped|slip-out|unravelled|pulled out")           \
  X(BE_WHAT_SLIPPED_BROKE, "slipped then broke", "sb|slipped and broke")                           \
  X(BE_WHAT_STRAND, "strand", "p|partial|strand broke")                                            \
  X(BE_WHAT_HARDWARE, "hardware", "h|hook|swivel|ring")                                            \
  X(BE_WHAT_NOTHING, "nothing", "n|none|held|stopped")

#define BE_WHERE_LIST(X)                                                                           \
  X(BE_WHERE_UNKNOWN, "not recorded", "")                                                          \
  X(BE_WHERE_KNOT, "in the knot", "k|knot|inside")                                                 \
  X(BE_WHERE_ENTRY, "at its entry", "e|entry|at the entry|at the knot")                            \
  X(BE_WHERE_CLEAR, "clear of it", "l|line|clear|clear of the knot|free length")                   \
  X(BE_WHERE_GRIP, "grip", "g|bollard|clamp|jaw|at the grip")                                      \
  X(BE_WHERE_EYE, "eye", "a|at the eye")                                                           \
  X(BE_WHERE_NOT_SEEN, "not seen", "x|unseen")

#define BE_WHICH_LIST(X)                                                                           \
  X(BE_WHICH_UNKNOWN, "not recorded", "")                                                          \
  X(BE_WHICH_A, "line A", "m|a|main|mainline")                                                     \
  X(BE_WHICH_B, "line B", "d|b|leader")                                                            \
  X(BE_WHICH_TAG, "tag", "t|tag end")                                                              \
  X(BE_WHICH_NONE, "none", "-")                                                                    \
  X(BE_WHICH_KNOT_A, "knot A", "first knot|upper")                                                 \
  X(BE_WHICH_KNOT_B, "knot B", "second knot|lower")

/* What a trial fixes before its first pull. A rule of words takes one of `others` (the first is
 * usual when the trial is silent); one without takes any text, or a number in plain digits: a
 * level is a share. */
#define BE_RULE_LIST(X)                                                                            \
  X(BE_RULE_QUESTION, "question", "")                                                              \
  X(BE_RULE_INTERESTS, "interests", "")                                                            \
  X(BE_RULE_SEED, "seed", "")                                                                      \
  X(BE_RULE_NUMBER, "specimens a cell", "")                                                        \
  X(BE_RULE_WHY_NUMBER, "why so many", "")                                                         \
  X(BE_RULE_GRIP, "parts at a grip", "lower bound|void")                                           \
  X(BE_RULE_CLEAR, "parts clear of the knot", "lower bound|event")                                 \
  X(BE_RULE_SLIP, "slips out", "event|void")                                                       \
  X(BE_RULE_VOID, "void besides", "")                                                              \
  X(BE_RULE_REPLACE, "voids are replaced", "yes|no")                                               \
  X(BE_RULE_STOP, "stops", "when all are pulled|as soon as apart")                                 \
  X(BE_RULE_LEVEL, "level", "")                                                                    \
  X(BE_RULE_METRES, "metres a specimen", "")                                                       \
  X(BE_RULE_MINUTES, "minutes a specimen", "")

#define X(code, word, others) code,
enum be_rule { BE_RULE_LIST(X) BE_RULES };
enum be_design { BE_DESIGN_LIST(X) };
enum be_soak { BE_SOAK_LIST(X) };
enum be_kind { BE_KIND_LIST(X) };
enum be_what { BE_WHAT_LIST(X) };
enum be_where { BE_WHERE_LIST(X) };
enum be_which { BE_WHICH_LIST(X) };
#undef X

const char *be_design_word(enum be_design design);
const char *be_soak_word(enum be_soak soak);
const char *be_kind_word(enum be_kind kind);
const char *be_what_word(enum be_what what);
const char *be_where_word(enum be_where where);
const char *be_which_word(enum be_which which);
const char *be_rule_word(enum be_rule rule);

/* ---- life cycle --------------------------------------------------------- */

struct be_book;

/* A new, empty book; BE_WRONG_USE if the file exists, BE_BAD_INPUT if its folder
 * does not. */
enum be_status be_book_create(const char *path, struct be_err *err);
/* Opens a book, bringing an older schema and what was derived from traces up to
 * date when it is writable. A writing that was cut short is taken back first,
 * whichever way it is opened. BE_BAD_INPUT if the file is not a book. On success
 * *book is the caller's. */
enum be_status be_book_open(const char *path, bool writable, struct be_book **book,
                            struct be_err *err);
void be_book_close(struct be_book *book);

/* ---- entering ----------------------------------------------------------- */

/* Fetches a file that a sheet names (a trace), relative to the sheet. */
typedef enum be_status be_fetch(void *context, const char *name, struct be_buf *bytes,
                                struct be_err *err);

/* How a sheet of the tester's own shape is read. `mapping` holds one rule a
 * line: "field = column" (take this field from that column), "field := value"
 * (the same value in every row), "ignore = column". Fields are the documented
 * column names. Rules that name a column which a sheet lacks are passed over
 * when its header needs none. */
struct be_trace_layouts;
struct be_trace_file;
struct be_entering {
  const char *mapping;    /* rules, or null */
  const char *mapping_of; /* name of a mapping saved in the book, or null */
  const char *save_as;    /* saves the rules under this name, or null */
  bool
      rules_bind; /* a sheet that lacks a column they name is refused, though it could do without */
  const char *specimen; /* the specimen that a trace belongs to; null: the file's name */
  char decimal;         /* '.' or ',' when the user says so; 0: by the stated rule */
  const struct be_trace_layouts *layouts; /* saved ones that traces may have, or null */
  int64_t corrects;     /* the only result that rows may correct; 0: any that still holds */
  struct be_book *like; /* a book that had these files: as it read them; or null */
  be_fetch *fetch;      /* null: sheets that name traces are refused */
  void *fetch_context;
};

struct be_entered {
  const char *kind; /* "pull sheet", "line sheet", "knot sheet", "bench sheet", "trial sheet", "rule
                      sheet", "calibration sheet", "check weight sheet", "evidence sheet", "trace",
                      "picture" */
  bool already;     /* the same bytes were entered before: nothing was added */
  size_t rows, pulls, corrections, lines, knots, benches, planned, rules, traces, evidence;
  size_t told; /* pulls of which it was told later how they were handled */
  size_t calibrations, weights;
  size_t
      known; /* rows of lines, knots and benches that the book had, field by field: passed over */
  size_t notes_count;
  char *notes[BE_BOOK_NOTES_MAX]; /* said to the user; in the arena given */
  size_t notes_dropped;
};

/* What kind of file this is, by its header: a word of be_entered.kind. */
const char *be_book_kind(const char *bytes, size_t size, const char *mapping);
/* The same with all the rules that be_book_enter would use, saved ones too. */
const char *be_book_kind_of(struct be_book *book, const char *bytes, size_t size,
                            const struct be_entering *how);

/* Whether it is a sheet that these rules fit, saved ones too. */
bool be_book_rules_fit(struct be_book *book, const char *bytes, size_t size,
                       const struct be_entering *how);

/* Enters one file: all of it, or nothing. The kind is found from its header.
 * name is kept and shown. The book is unchanged unless BE_OK. */
enum be_status be_book_enter(struct be_book *book, const char *name, const char *bytes, size_t size,
                             const struct be_entering *how, struct be_arena *arena,
                             struct be_entered *entered, struct be_err *err);

/* ---- query -------------------------------------------------------------- */

/* Text fields are null when not recorded; numbers are not-a-number. */
struct be_line {
  const char *name;  /* what it is: "nylon 12 lb" */
  const char *spool; /* which spool of it */
  const char *material;
  const char *label; /* the label as written: "12 lb" */
  double label_N;
  double diameter_m;
  const char *size;
  const char *lot;
  const char *source;       /* "bought", "given by its maker" */
  const char *opened;       /* when the spool was: a year, a month or a day */
  const char *construction; /* "8 strands", "single filament" */
  double on_hand_m;         /* as last counted, less what was used since (used_since of them) */
  double counted_m;         /* as last counted; not-a-number: never */
  const char *counted;      /* when; null: not recorded */
  size_t used_since;        /* specimens of it whose pulls were entered after the count */
};

struct be_knot {
  const char *name;
  const char *version; /* "well tied", "along the line" */
  const char *kind;    /* bend, hitch, loop, stopper */
  double turns;
  const char *doubled;
  const char *aliases;
  /* Of a drawing of it, in the view with the fewest crossings: how often a line crosses itself or
   * the other over the length of line A and of line B, and how much of A lies on B. */
  double crossings_a, crossings_b, overlap_m;
  const char *tie;    /* how it runs: words or text that knot/tie reads */
  double tie_s;       /* how long it takes to tie */
  const char *guides; /* whether it passes them, as written */
  int64_t picture;    /* id for be_book_picture, 0 if there is none */
  const char *full;   /* name with turns and version, as printed */
};

/* What a force was measured with. Relative figures are shares, not per cent. */
struct be_bench {
  const char *name;
  double calibration;  /* relative expanded uncertainty of the force, coverage factor 2 */
  double resolution_N; /* the display step */
  double drift_N;      /* half-width of what the zero may wander over a session */
  double missed;       /* relative: the most that sampling and filter may take off a peak */
  const char *certificate, *calibrated;
};

/* What makes forces of a bench's readings, from a date on until the next. */
struct be_kept_calibration {
  int bench;
  struct be_calibration is; /* dated */
  const char *file;
  int file_line;
};

/* One reading of a check weight. */
struct be_check_weight {
  int bench;
  const char *date; /* "2026-03-01", or with a time behind */
  long day;
  double weight_N, reading;
  const char *unit; /* of the reading; null: a bare number */
  const char *session, *note;
  int calibration; /* in force then, or BE_NO_INDEX */
};

enum { BE_NO_INDEX = -1 };

/* A photo or a clip of a pull: the name of its file, which is not in the book. "none": it was said
 * that there is none. */
struct be_evidence {
  bool clip;
  const char *name, *note;
};

struct be_pull {
  int64_t id;
  const char *code; /* of the specimen */
  enum be_design design;
  int knot, line_a, line_b; /* indexes, or BE_NO_INDEX */
  int knot_b;               /* of two knots pulled against each other, the second */
  int trial;                /* whose plan has its code */
  int bench;
  const char *hardware;
  enum be_soak soak;
  double soak_s, speed_m_s, length_m;
  const char *tyer, *lubricant, *session;
  struct be_handled handling[BE_HANDLINGS];
  double order; /* of pulling, within the session */
  enum be_kind kind;
  double load_N;         /* typed, or from the trace less its zero */
  const char *load_text; /* as typed; null when it comes from the trace */
  const char *load_unit; /* name of the unit it was typed in */
  enum be_what what;
  enum be_where where;
  enum be_which which;
  const char *reason, *note;
  const char *judged_by;              /* who said what let go */
  int corrections;                    /* results that this one replaced */
  int64_t result;                     /* id of the one that holds, for be_entering */
  const struct be_evidence *evidence; /* in the order entered */
  size_t evidence_count;
  const char *file;
  int file_line;
  int64_t entering;  /* that its result came with: for be_book_read_until */
  int64_t trace;     /* id for be_book_file, 0 if there is none */
  const char *flags; /* of the trace: stable names, a space between; null without a trace */
  double trace_peak_N, trace_zero_N, first_slip_N;
  double trace_missed_N;              /* the most that sampling may have missed at the peak */
  double trace_drift_N;               /* zero after less zero before; both must be seen */
  double zero_before_N, zero_after_N; /* as told */
  long day;                           /* its session where that is a date, else when entered */
  const char *calibration_told;       /* by name; null: not told */
  int calibration; /* that one, else the last of its bench dated on that day or before */
};

/* A specimen of a trial, planned before it was pulled. Indexes as of a pull. */
struct be_planned {
  const char *code;
  double block, order; /* order: of pulling, over the whole trial */
  enum be_design design;
  int knot, knot_b, line_a, line_b;
  const char *hardware, *tyer, *lubricant;
  enum be_soak soak;
  double speed_m_s, length_m;
  struct be_handled handling[BE_HANDLINGS];
  size_t pulled_before; /* specimens of its trial that were pulled when it was planned */
  int pull;             /* index of the pull of this code; BE_NO_INDEX: not pulled yet */
};

/* A rule that was told anew after it was fixed, or first told, other than usual, when specimens
 * had been pulled (from: the usual word, or "not told"); the last one is in force. */
struct be_rule_change {
  enum be_rule rule;
  const char *from, *to, *reason, *changed_at;
  size_t pulled; /* specimens of the trial that were pulled by then */
};

struct be_trial {
  const char *name;
  const char *fixed_at;       /* when its first specimen was entered */
  const char *rule[BE_RULES]; /* in force; null: the trial is silent */
  struct be_planned *planned; /* by order */
  struct be_rule_change *changes;
  size_t planned_count, changes_count;
};

/* An entering: one file, with the traces that its rows named. Later ones have greater ids. */
struct be_moment {
  int64_t id;
  const char *file;       /* its name; null: nothing was entered at that time or later */
  const char *entered_at; /* "2026-03-01T09:30:00Z" */
};

struct be_record {
  size_t lines_count, knots_count, benches_count, pulls_count, trials_count;
  struct be_trial *trials;
  struct be_line *lines;
  struct be_knot *knots;
  struct be_bench *benches;
  struct be_pull *pulls;                    /* in the order entered */
  struct be_kept_calibration *calibrations; /* in the order entered */
  struct be_check_weight *weights;          /* by date */
  size_t calibrations_count, weights_count;
  const char *unit;      /* of force: what most loads were typed in */
  struct be_moment last; /* the last file entered; its name is null when there is none */
};

/* Reads the whole record into the arena, in one snapshot. Figures of traces that
 * the book does not keep are worked out from their bytes. */
enum be_status be_book_read(struct be_book *book, struct be_arena *arena, struct be_record *record,
                            struct be_err *err);

/* The same as it stood before an entering: of files entered earlier alone, with the results that
 * these corrected. Lines, knots and benches are the first ones of the whole record, so that their
 * indexes are the same; what a later sheet told of them is not taken back. Trials and line on hand
 * are not read. */
enum be_status be_book_read_until(struct be_book *book, int64_t entering, struct be_arena *arena,
                                  struct be_record *record, struct be_err *err);

/* A short text that differs whenever anything was written to the book, by whatever program: two
 * readings of the book between which it stays the same read the same. */
enum { BE_BOOK_STATE_MAX = 200 };
enum be_status be_book_state(struct be_book *book, char state[BE_BOOK_STATE_MAX],
                             struct be_err *err);

/* The one of that name, the last of several; or the first at or after a date, "2026-10-01" or
 * "2026-10-01T18:00" (UTC). Texts are in the arena. BE_WRONG_USE for what is neither. */
enum be_status be_book_moment(struct be_book *book, const char *since, struct be_arena *arena,
                              struct be_moment *moment, struct be_err *err);
/* The same, of a moment that something may have moved since: BE_WRONG_USE also for one that has not
 * come yet, BE_BAD_INPUT for one before which nothing was entered. */
enum be_status be_book_since(struct be_book *book, const char *since, struct be_arena *arena,
                             struct be_moment *moment, struct be_err *err);
/* What came with an entering, by its id, and after it: the files that were entered, and each
 * correction with its reason. A load that a trace tells is not-a-number. */
struct be_came_file {
  const char *name, *kind, *entered_at;
  size_t pulls, corrections; /* new ones */
};
struct be_correction {
  const char *code, *why, *file;
  struct be_said {
    enum be_kind kind;
    enum be_what what;
    double load_N;
  } was, is;
};
struct be_came {
  struct be_came_file *files; /* in the order entered */
  struct be_correction *corrections;
  size_t files_count, corrections_count;
};
enum be_status be_book_came(struct be_book *book, int64_t from, struct be_arena *arena,
                            struct be_came *came, struct be_err *err);
/* The last file that belongs to the record as it stood then: all of the day or minute is meant.
 * BE_WRONG_USE also for a moment that has not come yet, BE_BAD_INPUT for one by which nothing was
 * entered. */
enum be_status be_book_stood(struct be_book *book, const char *as_of, struct be_arena *arena,
                             struct be_moment *moment, struct be_err *err);
/* Makes the book as it stood after that file, as a new one at path: all up to it is entered again,
 * by this version of the program, each file with its time. BE_BAD_INPUT for a file that this
 * version does not read. Nothing is left at path unless BE_OK. */
enum be_status be_book_again(struct be_book *book, const struct be_moment *last, const char *path,
                             struct be_err *err);

/* The bytes of an entered file, as they came. */
enum be_status be_book_file(struct be_book *book, int64_t id, struct be_buf *bytes,
                            struct be_err *err);

/* The picture of a knot, and of which media type it is: "image/png", a literal. BE_NO when the id
 * is that of no picture. A picture is entered as a file named as its knot, "palomar.png", or by the
 * column "picture" of a knot sheet; the last one holds. */
enum be_status be_book_picture(struct be_book *book, int64_t id, struct be_buf *bytes,
                               const char **type, struct be_err *err);

/* The tests of an entered trace, read as they were when it was entered. On BE_OK
 * *file is the caller's to free. */
enum be_status be_book_trace(struct be_book *book, int64_t id, struct be_trace_file **file,
                             struct be_err *err);

/* A field of how a specimen was tied and pulled, told anew: all, the newest first, for its page. */
struct be_retold {
  int made; /* an enum be_handling, or what is counted on behind it */
  struct be_handled was, is;
  const char *why, *told_by, *entered_at;
};
enum be_status be_book_retold(struct be_book *book, int64_t pull, struct be_arena *arena,
                              struct be_retold **list, size_t *count, struct be_err *err);
/* What the record has of a pull, as one list. */
void be_pull_made(const struct be_pull *pull, struct be_handled made[BE_MADES]);

/* One result of a pull, for its page. */
struct be_result {
  int64_t id;
  enum be_kind kind;
  double load_N; /* not-a-number: none was typed, it is that of the trace, if there is one */
  enum be_what what;
  enum be_where where;
  enum be_which which;
  const char *reason, *judged_by;
  const char *why; /* it replaces the one before; null of the first */
  const char *entered_at;
};
/* All of them, the newest first, which holds; none of a pull that is not there. */
enum be_status be_book_results(struct be_book *book, int64_t pull, struct be_arena *arena,
                               struct be_result **list, size_t *count, struct be_err *err);

/* ---- is it still right -------------------------------------------------- */

/* Checks the file's structure, every hash, every figure derived from a trace,
 * and every row: all files are entered again into a book in memory, which must
 * come out the same. BE_NO with the first fault found; counts what was looked
 * at. Takes about as much memory as the book is large. */
struct be_book_check {
  size_t files, pulls, derived;
};
enum be_status be_book_check(struct be_book *book, struct be_book_check *checked,
                             struct be_err *err);

/* ---- what was entered --------------------------------------------------- */

/* Every file that the book holds, in the order entered, in the arena. */
struct be_held_file {
  int64_t id;
  const char *name;       /* as given when it was entered */
  const char *sha256;     /* of its bytes, 64 small hexadecimal digits */
  const char *kind;       /* a word of be_entered.kind */
  const char *entered_at; /* "2026-03-01T09:30:00Z" */
  const char *layout;     /* text of the saved layout that a trace was read by, or null */
  bool alone;             /* entered by itself, not named by a sheet; how, null where not told: */
  const char *mapping, *save_as, *decimal, *specimen;
  const char *made_by; /* version of the program */
};
enum be_status be_book_files(struct be_book *book, struct be_arena *arena,
                             struct be_held_file **list, size_t *count, struct be_err *err);

/* Gives the bytes of the file at a place of a list. */
typedef enum be_status be_held_bytes(void *context, size_t at, struct be_buf *bytes,
                                     struct be_err *err);
/* Enters all files of a list, which another book's be_book_files gave, into a book that has none:
 * each as it was entered there, so that ids, order and moments are the same. BE_WRONG_USE for a
 * book that has files. Call it between be_book_begin and be_book_end. */
enum be_status be_book_take(struct be_book *book, const struct be_held_file *files, size_t count,
                            be_held_bytes *bytes, void *context, struct be_err *err);

/* Several enterings as one: all of them, or nothing. Ends with BE_OK only if status is, and all was
 * written. */
enum be_status be_book_begin(struct be_book *book, struct be_err *err);
enum be_status be_book_end(struct be_book *book, enum be_status status, struct be_err *err);

#include "book/preview.h"
#include "book/tables.h"

#endif
