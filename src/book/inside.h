/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the book room share. */
#ifndef BE_BOOK_INSIDE_H
#define BE_BOOK_INSIDE_H

#include "book/book.h"
#include "book/sheet.h"

#include <sqlite3.h>

struct be_book {
  sqlite3 *db;
  sqlite3_stmt *rollback; /* ready beforehand: it must work when memory is out */
  char path[1024];
};

/* ---- schema.c: SQL with errors in our words ---- */

enum be_status be_sql_failed(sqlite3 *db, struct be_err *err); /* what failed last */
/* older.c: all that a file holds, in memory; *db is then that. */
enum be_status be_copy_to_memory(sqlite3 **db, struct be_err *err);
enum be_status be_sql_run(sqlite3 *db, const char *sql, struct be_err *err);
/* Ends the transaction, if one is open, and takes back what it did. */
void be_sql_rollback(struct be_book *book);
bool be_sql_is_open(const struct be_book *book); /* a transaction */
/* memory.c. Refused, harmlessly, when SQLite is running already. */
void be_sql_use_our_memory(void);
enum be_status be_sql_prepare(sqlite3 *db, const char *sql, sqlite3_stmt **statement,
                              struct be_err *err);
/* Steps to a row: *row tells whether there is one. */
enum be_status be_sql_step(sqlite3_stmt *statement, bool *row, struct be_err *err);
/* Binds by position; null text and not-a-number become NULL. */
void be_bind_text(sqlite3_stmt *statement, int at, const char *text);
void be_bind_number(sqlite3_stmt *statement, int at, double value);
/* Whether a column holds this; null text and not-a-number are NULL. */
bool be_same_text(sqlite3_stmt *statement, int at, const char *text);
bool be_same_number(sqlite3_stmt *statement, int at, double value);
/* The same, or one of the two is silent. */
bool be_fits_text(sqlite3_stmt *statement, int at, const char *text);
bool be_fits_number(sqlite3_stmt *statement, int at, double value);

/* An empty book that is nowhere on the disk; the caller closes it. */
enum be_status be_book_in_memory(struct be_book **book, struct be_err *err);

/* ---- words.c ---- */

enum words { WORDS_DESIGN, WORDS_SOAK, WORDS_KIND, WORDS_WHAT, WORDS_WHERE, WORDS_WHICH };
int be_words_find(enum words list, const char *text); /* -1: none of them */
void be_words_list(enum words list, char *text, size_t size);

/* ---- columns.c: columns and rows as C values ---- */

/* Rows being read. What memory had no room for is remembered, so that it is
 * not taken for "not recorded". */
struct rows {
  sqlite3_stmt *s;
  struct be_arena *arena;
  bool lost;
};

/* The few words that repeat in every row are kept once. */
struct pool {
  const char *seen[64];
  size_t count;
};

/* A copy in the arena; null when not recorded. */
const char *be_column_text(struct rows *rows, int at);
const char *be_column_pooled(struct rows *rows, int at, struct pool *pool);
double be_column_number(sqlite3_stmt *statement, int at);
int be_column_word(struct rows *rows, int at, enum words list);
/* Steps to the next of at most `most` rows; false at the end or at a failure,
 * of which *status tells. */
bool be_next_row(struct rows *rows, size_t done, size_t most, enum be_status *status,
                 struct be_err *err);
/* The number that a query of one row gives; value is its ?1, if it has one. */
enum be_status be_count_rows(struct be_book *book, const char *sql, int64_t value, size_t *count,
                             struct be_err *err);

struct ids {
  int64_t *id; /* from low to high */
  size_t count;
};
/* Index of the id in a column, or BE_NO_INDEX. */
int be_index_of(const struct ids *ids, sqlite3_stmt *statement, int at);

/* ---- resolve.c, lines.c, knots.c, benches.c: what a row says and names ---- */

enum { NOTED_MOST = 64, TURNS_MOST = 100 };

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
  /* prepared at the first row that asks */
  sqlite3_stmt *find_line, *find_knot, *find_bench, *find_trial;
  int64_t noted[NOTED_MOST]; /* lines of which it was said that they have one spool */
  size_t noted_count;
  bool day_noted;             /* that a session looks like a day and is none */
  struct be_preview *preview; /* of a look at the file; null: it is entered */
  struct be_entered before;   /* the row that is looked at */
};

/* An error at the present row, in the column of the field. */
enum be_status be_fail_here(struct entering *in, enum field field, struct be_err *err);
void be_note_here(struct entering *in, size_t line, const char *format, ...) BE_PRINTF(3, 4);

/* doubts.c: a row that could be entered, and tells that it is likely no pull, is refused. */
bool be_tells_sums(const char *text); /* "Average", "total of ten" */
enum be_status be_row_doubt(struct entering *in, struct be_err *err);

struct line_named {
  const char *name, *spool, *material, *label, *size, *lot, *source, *opened, *construction;
  double label_N, diameter_m;
};
/* A row of a line sheet. */
enum be_status be_enter_line_row(struct entering *in, struct be_err *err);
/* like: what a row means that tells the line without its spool, or the spool alone. */
struct line_told {
  const char *name, *spool;
};
enum be_status be_line_resolve(struct entering *in, enum field line, enum field spool,
                               const struct line_told *like, int64_t *id, struct be_err *err);
struct knot_named {
  const char *name, *version, *kind, *doubled, *aliases, *tie, *guides;
  double turns, crossings_a, crossings_b, overlap_m, tie_s;
};
/* A row of a knot sheet. */
enum be_status be_enter_knot_row(struct entering *in, struct be_err *err);
/* field: the column that names it, of the knot or of knot B. */
enum be_status be_knot_resolve(struct entering *in, const struct knot_named *knot, enum field field,
                               int64_t *id, struct be_err *err);
/* A row of a bench sheet, and the bench that a row of a pull sheet names. */
enum be_status be_enter_bench_row(struct entering *in, struct be_err *err);
enum be_status be_bench_resolve(struct entering *in, int64_t *id, struct be_err *err);
/* Number of a field in SI, not-a-number when not recorded; notes odd styles. */
enum be_status be_field_number(struct entering *in, enum field field, enum be_dimension dimension,
                               const struct be_unit *fallback, struct be_quantity *quantity,
                               struct be_err *err);

/* The same of what may be below zero: a zero. */
enum be_status be_field_signed(struct entering *in, enum field field, enum be_dimension dimension,
                               const struct be_unit *fallback, struct be_quantity *quantity,
                               struct be_err *err);
/* What an instrument showed: its number and its unit, behind it, in the head or in the column
 * "unit"; null: a bare number. Not-a-number when not recorded. */
struct shown {
  double value;
  const struct be_unit *unit;
};
enum be_status be_field_shown(struct entering *in, struct shown *shown, struct be_err *err);

/* The turns of a knot, within what a knot can have. */
enum be_status be_turns_read(struct entering *in, enum field field, double *turns,
                             struct be_err *err);

/* ---- handling.c: how a specimen was handled ---- */

/* Their columns in SQL, and as many parameters, each behind a comma. */
#define HANDLING_KEY(code, column, key, dimension) ", " key
#define HANDLING_PARAMETER(code, column, key, dimension) ", ?"
#define HANDLING_SQL BE_HANDLING_LIST(HANDLING_KEY)
#define HANDLING_PARAMETERS BE_HANDLING_LIST(HANDLING_PARAMETER)
/* What the row says of it; planned: what holds where it says nothing, or null. */
enum be_status be_handling_read(struct entering *in, const struct be_handled *planned,
                                struct be_handled handled[BE_HANDLINGS], struct be_err *err);
/* From the parameter at on. */
void be_handling_bind(sqlite3_stmt *statement, int at, const struct be_handled handled[]);
/* From the column at on; a pool for each. */
void be_handling_columns(struct rows *rows, int at, struct pool pools[BE_HANDLINGS],
                         struct be_handled handled[BE_HANDLINGS]);

/* ---- retold.c: what is told of a specimen after its pull ---- */

/* Fills in what was left unrecorded. What is otherwise in the book is refused, but in a row of an
 * evidence sheet that has a reason: then it is told anew, in a row of its own. Counts the fields
 * that the row tells, those that are new, and those told anew. */
struct retold {
  size_t told, added, anew;
};
enum be_status be_retell(struct entering *in, int64_t pull, struct retold *told,
                         struct be_err *err);
/* What holds now of the specimen of a pull. */
enum be_status be_made_now(struct be_book *book, int64_t pull, struct be_arena *arena,
                           struct be_handled now[BE_MADES], struct be_err *err);
/* Lays what was told anew in files before `until` over the pulls of a record. */
enum be_status be_read_retold(struct be_book *book, int64_t until, struct be_arena *arena,
                              struct be_record *record, struct be_err *err);

/* ---- pictures.c: the pictures of knots ---- */

/* By its first bytes; PICTURE_NONE for what is not taken for a picture. */
enum picture { PICTURE_NONE, PICTURE_PNG, PICTURE_JPEG, PICTURE_SVG, PICTURE_OTHER };
enum picture be_picture_kind(const char *bytes, size_t size);
/* Adds a file that is a picture, named as its knot. */
enum be_status be_picture_enter(struct entering *in, const char *bytes, size_t size,
                                struct be_err *err);
/* Adds the picture that a row of a knot sheet names. */
enum be_status be_picture_of_row(struct entering *in, const struct knot_named *knot,
                                 struct be_err *err);
/* Finds the picture of each knot. */
enum be_status be_read_pictures(struct be_book *book, int64_t until, struct be_arena *arena,
                                struct be_record *record, struct be_err *err);
/* "uni, 5 turns (well tied)"; null without memory. query.c */
const char *be_knot_full(const struct be_knot *knot, struct be_arena *arena);

/* ---- preview.c ---- */

/* Around each row: in a look at a file, what does not fit is noted and taken back, and the status
 * is BE_OK again; else the status is handed on. err is not null where a preview is made. */
enum be_status be_row_begin(struct entering *in, struct be_err *err);
enum be_status be_row_end(struct entering *in, enum be_status status, struct be_err *err);
/* Tells what each field is taken from. */
enum be_status be_preview_columns(struct entering *in, struct be_err *err);

/* ---- enter.c ---- */

/* One file, within a transaction of the caller's. */
enum be_status be_enter_file(struct entering *in, const char *bytes, size_t size,
                             struct be_err *err);

enum be_status be_file_add(struct be_book *book, const char *name, const char *kind,
                           const char *bytes, size_t size, int64_t *id, bool *already,
                           struct be_err *err);

/* ---- rows.c ---- */

/* What the trial of a specimen rules of its result. */
struct kind_rules {
  bool void_at_grip, event_clear, void_slip;
};

struct row {
  const char *code;
  bool corrects; /* the row gives a reason to replace a result */
  int design, soak, kind, what, where, which;
  int64_t knot, knot_b, line_a, line_b, bench;
  double soak_s;
  struct be_quantity load, speed, length, order;
  double zero_before_N, zero_after_N;
  const char *trace, *reason, *hardware, *tyer, *lubricant;
  const char *calibration; /* its name */
  struct be_handled handling[BE_HANDLINGS];
  struct kind_rules rules;
};

/* What the book holds of the specimen of a row; 0 and null: nothing. What was
 * tied is that of its pull or, where it is only planned, of its plan. */
struct known {
  int64_t pull, result, knot, knot_b, line_a, line_b, bench, trace, file, file_line;
  int design;
  bool planned; /* and not pulled: what follows is its plan */
  struct line_told told_a, told_b;
  int soak;
  double soak_s, speed_m_s, length_m;
  const char *hardware, *tyer, *lubricant;
  struct be_handled handling[BE_HANDLINGS];
};

enum be_status be_enter_pull_rows(struct entering *in, struct be_err *err);
/* The words that go into a table; null when it is not recorded. */
const char *be_word_or_null(int value, const char *word);
void be_bind_id(sqlite3_stmt *statement, int at, int64_t id);

/* ---- read_row.c: a row of a pull sheet as values ---- */

enum be_status be_row_read(struct entering *in, const struct known *known, struct row *row,
                           struct be_err *err);

/* A row of a trial sheet: what can be known before the pull. */
enum be_status be_row_read_planned(struct entering *in, struct row *row, struct be_err *err);

/* "dry", "soaked", or how long: "120 min"; 0 is dry. */
enum be_status be_soak_read(struct entering *in, int *soak, double *soak_s, struct be_err *err);
enum be_status be_speed_read(struct entering *in, struct be_quantity *speed, struct be_err *err);
enum be_status be_length_read(struct entering *in, struct be_quantity *length, struct be_err *err);

/* BE_BAD_INPUT for what no line bears and no rig reads. */
enum be_status be_load_possible(double load_N, struct be_err *err);

/* ---- trials.c: trial sheets, and the plan of a specimen ---- */

/* Looks up the plans of specimens; finds nothing, at no cost, in a book without. */
struct plans {
  sqlite3_stmt *find;
  int64_t trial; /* whose rules these are */
  struct kind_rules rules;
};
enum be_status be_plans_open(struct plans *plans, struct be_book *book, struct be_err *err);
void be_plans_close(struct plans *plans);
/* Adds what the plan of the row's specimen tells: to *known, unless it was pulled,
 * and the rules of its trial to *row. */
enum be_status be_plan_look(struct entering *in, struct plans *plans, struct known *known,
                            struct row *row, struct be_err *err);
/* The trial of a name; a new one is made. */
enum be_status be_trial_resolve(struct entering *in, int64_t *id, struct be_err *err);
/* How many specimens of it were pulled. */
enum be_status be_trial_pulled(struct be_book *book, int64_t trial, int64_t *pulled,
                               struct be_err *err);
enum be_status be_enter_trial_rows(struct entering *in, struct be_err *err);

/* ---- rules.c: rule sheets, and the rules in force ---- */

enum be_rule be_rule_find(const char *word); /* BE_RULES: none of them */
/* What a silent trial rules: the first of the words, or "not told". */
void be_rule_usual(enum be_rule rule, char *value, size_t size);
enum be_status be_enter_rule_rows(struct entering *in, struct be_err *err);
/* The rules in force that decide what kind a result is. */
enum be_status be_kind_rules(struct be_book *book, int64_t trial, struct kind_rules *rules,
                             struct be_err *err);

/* ---- evidence.c: photos and clips of a pull, by their names ---- */

/* Keeps what a row names of them; counts the names that are new. A row of an evidence sheet must
 * name one; of a pull sheet it need not. */
enum be_status be_evidence_of_row(struct entering *in, int64_t pull, struct be_err *err);
enum be_status be_enter_evidence_row(struct entering *in, struct be_err *err);
/* Into a record whose pulls are read: what was entered in files before `until`. */
enum be_status be_read_evidence(struct be_book *book, int64_t until, struct be_arena *arena,
                                struct be_record *record, struct be_err *err);

/* ---- stock.c: line on hand ---- */

/* How much a row of a line sheet counts; not-a-number: it does not. */
enum be_status be_stock_read(struct entering *in, double *on_hand_m, struct be_err *err);
enum be_status be_stock_add(struct entering *in, int64_t line, double on_hand_m,
                            struct be_err *err);
/* What is left of each line, into a record whose pulls and trials are read. */
enum be_status be_read_stock(struct be_book *book, struct be_arena *arena, struct be_record *record,
                             const struct ids *lines, struct be_err *err);

/* ---- calibrations.c, weights.c: calibration and check weight sheets ---- */

enum be_status be_enter_calibration_rows(struct entering *in, struct be_err *err);
/* What a row of a pull sheet tells of its calibration: one of another bench is refused, one that
 * the book does not have is said. */
enum be_status be_calibration_look(struct entering *in, int64_t bench, const char **name,
                                   struct be_err *err);
enum be_status be_enter_weight_row(struct entering *in, struct be_err *err);

/* ---- read_calibrations.c ---- */

/* Calibrations and check weights of files before `until`, into a record whose pulls are read: these
 * get the calibration in force. */
enum be_status be_read_calibrations(struct be_book *book, int64_t until, struct be_arena *arena,
                                    struct be_record *record, const struct ids *benches,
                                    struct be_err *err);

/* ---- moments.c: dates ---- */

enum { DATE_MAX = 20 }; /* room for "2026-10-01T18:00:07", and one that tells what is longer */
/* A day, or a day and a time, written as the book writes it, which sorts as text. */
bool be_when_read(const char *text, char date[DATE_MAX + 1]);
/* A year, a month or a day. */
bool be_since_when_read(const char *text);

/* ---- read_trials.c ---- */

/* Trials into a record whose pulls are read. */
enum be_status be_read_trials(struct be_book *book, struct be_arena *arena,
                              struct be_record *record, const struct ids *knots,
                              const struct ids *lines, struct be_err *err);

/* ---- derive.c: what is worked out from a trace's bytes ---- */

/* Who made the figures: the number grows when the same bytes give others. */
#define BE_FIGURES_BY BE_VERSION ", figures 4"

struct derived {
  double peak_N, zero_N, rise_N, first_slip_N, time_to_peak_s;
  double missed_N, drift_N;
  bool bound; /* saturated or still rising: the peak is a lower bound */
  const char *ending;
  char flags[512];
  /* not kept: */
  bool unit_guessed;      /* the trace names no unit of force */
  bool end_unseen, faint; /* the peak may not be one: record ends, or little but noise */
  const char *why_bound;  /* null unless bound */
  bool nothing_let_go;    /* that is why; an eye that saw it go knows better */
  const char *layout;     /* text of the saved layout that was recognised, or null */
};
/* Of a trace that is being entered. */
enum be_status be_derive_new(const struct entering *in, const char *bytes, size_t size,
                             struct derived *derived, struct be_err *err);
/* The same of a file of the book. */
enum be_status be_derive_file(struct be_book *book, int64_t trace, struct derived *derived,
                              struct be_err *err);
/* Keeps by which layout a trace is read. */
enum be_status be_layout_keep(struct be_book *book, int64_t trace, const char *text,
                              struct be_err *err);
enum be_status be_derived_keep(struct be_book *book, int64_t trace, const struct derived *derived,
                               struct be_err *err);
/* Makes the rows that are missing or that another version made. A trace that
 * can no longer be read is passed over: check tells of it. */
enum be_status be_derived_fill(struct be_book *book, struct be_err *err);

/* ---- traces.c: the trace of a pull ---- */

/* Fetches the trace that a row names, adds it, and lets it judge the result. */
enum be_status be_trace_of_row(struct entering *in, struct row *row, int64_t pull,
                               struct be_err *err);
/* Lets a trace that the book has already judge the result of a correction. */
enum be_status be_trace_again(struct entering *in, struct row *row, int64_t trace,
                              struct be_err *err);
/* A trace on its own: the file that is being entered. */
enum be_status be_enter_trace(struct entering *in, const char *bytes, size_t size,
                              const struct derived *derived, struct be_err *err);

/* ---- again.c: everything entered again, for check and for what stood ---- */

enum be_status be_check_again(struct be_book *book, struct be_err *err);
/* Enters into an empty book, as they were, the files up to one. BE_NO, naming it, for a file that
 * cannot be entered again. */
enum be_status be_enter_again(struct be_book *book, struct be_book *made, int64_t last,
                              struct be_err *err);

#endif
