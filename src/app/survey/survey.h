/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the use cases share: the record sorted into cells of knot by
 * combination, with the figures of each. */
#ifndef BE_APP_SURVEY_H
#define BE_APP_SURVEY_H

#include "app/app.h"
#include "stats/stats.h"

/* Lines tested together in one way; pulls of different combinations are never
 * averaged. */
struct combination {
  int line_a, line_b; /* ids of line names, or -1 */
  const char *hardware;
  enum be_soak soak;
  enum be_design design;
  const char *name;  /* "braid 20 lb to fluorocarbon 15 lb, dry" */
  const char *group; /* "braid to fluorocarbon, dry" */
  size_t first_cell, cells_count;
};

/* Plain pulls of one spool and soak, pulled alike: what a knot's pulls are divided by. */
struct plain_set {
  int line;                   /* row of the record */
  const struct be_pull *like; /* one of them: for its soak and how it was pulled */
  size_t n;                   /* events */
  double mean;                /* lower bounds counted in */
  double worth;               /* complete pulls that would tell the mean as well */
  size_t family;              /* sets stand in the order of their families */
};

/* The sets of one line and soak share one relative scatter of a pull. */
struct plain_family {
  int name; /* id of the line name */
  enum be_soak soak;
  double cv2, df;
};

/* A figure and how much it moves with each thing measured, to first order.
 * Sums of forms let a plain line that both sides are divided by cancel, or
 * count once where several share it (forms.c). */
struct term {
  size_t source;
  double weight;
};
struct form {
  double value;
  size_t n;           /* pulls of knots behind it */
  struct term *terms; /* by source, rising */
  size_t count, capacity;
};

/* How well the plain line is matched: the worst step that was needed. */
enum match { MATCH_NONE, MATCH_ALL, MATCH_SPEED, MATCH_SPOOL, MATCH_LINE };
/* What the record says of it beside, rising in doubt: both have it alike, neither tells, only one
 * tells, they differ. */
enum matched_by { BY_SPOOL, BY_SOAK, BY_SPEED, BY_BENCH, BY_LENGTH, MATCHED_BY };
enum likeness { LIKE_SAME, LIKE_UNTOLD, LIKE_HALF, LIKE_OTHER, LIKENESSES };
struct denominator {
  enum match match;
  size_t by[MATCHED_BY][LIKENESSES]; /* events of each */
  struct be_estimate estimate;
  size_t bounds; /* plain pulls that only gave a lower bound */
  int line;      /* id of the line name */
  int line_row;  /* a line of that name in the record */
};

/* Events of a cell that were tied on the same spools and pulled in exactly the same way. */
struct kind {
  const struct be_pull *like;
  size_t n;
};

/* One knot in one combination, or two that were pulled against each other. */
struct cell {
  size_t combination;
  int knot, knot_b;             /* knot_b is -1 but for specimens of two different knots */
  const struct be_pull **pulls; /* all, in the order entered */
  size_t count;
  double *loads; /* of events, in the same order */
  const struct be_pull **events;
  const struct be_pull **lower; /* lower bounds that have a load */
  size_t n, lower_count;
  struct kind *kinds;
  size_t kinds_count;
  size_t bounds, voids;
  size_t told;                     /* events that say what let go */
  size_t slips, slipped_broke;     /* of these */
  const struct be_pull *highest;   /* of the lower bounds; null if there is none */
  struct be_summary summary;       /* of the events alone */
  struct be_summary held;          /* of the events that did not slip out */
  struct be_estimate load;         /* mean load, lower bounds counted in */
  struct be_estimate pooled;       /* the same, its scatter taken within spools */
  bool counted_in;                 /* lower bounds are in the means; else they stand apart */
  double *shares;                  /* each event over its own plain line; null without */
  struct be_estimate share;        /* their mean: the efficiency, plain line taken as known */
  struct form log_share, log_load; /* log of mean share (null terms without), of mean load */
  struct denominator plain;
  double weaker_sure;    /* of a joint: that the line divided by is the weaker one; else 1 */
  bool weaker_uncertain; /* either line could be, at the level asked for */
  bool other_missing;    /* one of two lines was never pulled plain */
  struct be_ratio efficiency, fieller;
  struct be_alarm alarm;
};

struct survey {
  struct be_arena *arena;
  const char *book_path; /* where the record is from; null when it was put together */
  const char *own_path;  /* the user's book, which nothing is written over: the same, but for a book
                          * as it stood */
  struct be_record record;
  struct be_answering how; /* with the usual values filled in */
  bool margin_asked;       /* how.within was told, not filled in */
  bool in_report;          /* what has a document of its own there is not said in another again */
  int decimals;            /* for single loads in the unit shown */
  const char **line_names; /* distinct, in the order met */
  size_t line_names_count;
  int *name_of_line; /* index into line_names for each line of the record */
  struct combination *combinations;
  size_t combinations_count;
  struct cell *cells; /* by combination, then by knot */
  size_t cells_count;
  const struct be_pull **plain; /* events of plain lines */
  size_t plain_count;
  const struct be_pull **plain_bounds;
  size_t plain_bounds_count;
  struct plain_set *sets;
  size_t sets_count;
  struct plain_family *families;
  size_t families_count;
};

/* Reads and sorts a book. The arena holds everything. */
enum be_status be_survey_read(const char *book_path, const struct be_answering *how,
                              struct be_arena *arena, struct survey *survey, struct be_err *err);

/* The same of the book as it stood before an entering (be_book_read_until). */
enum be_status be_survey_until(const char *book_path, int64_t entering,
                               const struct be_answering *how, struct be_arena *arena,
                               struct survey *survey, struct be_err *err);
/* The same of a record in memory, whose pulls must outlive the survey. */
enum be_status be_survey_of(const struct be_record *record, const struct be_answering *how,
                            struct be_arena *arena, struct survey *survey, struct be_err *err);

enum be_status be_cells_work_out(struct survey *survey, struct be_err *err); /* cells.c */

/* plain.c: sets of plain pulls, and the mean of pulls of which some are lower bounds. */
enum be_status be_plain_sets(struct survey *survey, struct be_err *err);
struct mean {
  struct be_estimate estimate;
  double cv2;      /* squared relative scatter of one pull */
  bool counted_in; /* lower bounds are in it */
};
/* Of count held pulls, those of `events` among them: by the normal with right
 * censoring; of the events alone when all are, or when they are too few to say more. */
struct mean be_mean_with_bounds(const struct be_summary *events, const struct be_held *held,
                                size_t count);

const char *be_knot_name(const struct survey *survey, int knot); /* "plain line" for -1 */
/* The same of a cell; of two different knots "palomar against half blood". */
const char *be_cell_name(const struct survey *survey, const struct cell *cell);
/* match.c: how the plain line of a cell is matched, in words, with what was not recorded. */
const char *be_match_words(const struct survey *survey, const struct cell *cell);
const char *be_matched_word(enum matched_by by); /* "free length" */
/* Raises each to the likeness of a pull on that row of line and one set it is divided by. */
void be_match_look(const struct survey *survey, const struct be_pull *pull, int line,
                   const struct plain_set *set, enum likeness like[MATCHED_BY]);
/* mix.c: by spools, bench, speed and length, and nothing else: 0 for pulls of one kind. */
int be_kind_order(const struct be_pull *a, const struct be_pull *b);
/* Fills in the kinds of a cell that has events. */
enum be_status be_kinds_sort(const struct survey *survey, struct cell *cell, struct be_err *err);
/* Two pulls of one combination: on the same spools, and pulled alike. */
bool be_tied_alike(const struct be_pull *a, const struct be_pull *b);
/* Whether two cells of one combination were tied on the same spools, at the
 * same speeds, in nearly the same shares: then loads may be compared as they are. */
bool be_same_mix(const struct cell *a, const struct cell *b);
/* Whether a comparison of the two speaks of the knots: the same mix, or each
 * pull divided by the plain line of its own spool, soak and speed. */
bool be_fair(const struct cell *a, const struct cell *b);
/* One knot on hardware and between two lines, both matched in full with the same plain
 * line. */
bool be_is_gain(const struct survey *survey, const struct cell *hitch, const struct cell *bend);
bool be_same_speed(const struct be_pull *a, const struct be_pull *b);
bool be_same_length(const struct be_pull *a, const struct be_pull *b);
/* At the same speed and free length, on the same bench. */
bool be_pulled_alike(const struct be_pull *a, const struct be_pull *b);
/* The interval of a mean load, by t, in newtons: no load is below 0. */
struct be_interval be_load_interval(const struct be_estimate *load, double level);
/* A force in the unit shown. */
double be_shown(const struct survey *survey, double force_N);
/* Efficiency in %: whole unless the interval is within a point either way. */
int be_percent_decimals(const struct be_ratio *ratio);
bool be_is_plain(const struct combination *combination);
/* A head that carries the unit shown: "mean (lb)". */
const char *be_head(const struct survey *survey, const char *word);
/* What rounds to zero has no sign, as in tables. */
const char *be_number_words(const struct survey *survey, double value, int decimals);
/* "", or "s" for any other number than one. */
const char *be_plural(size_t count);
/* " [72, 88]", or nothing when an end is not known. */
const char *be_interval_words(const struct survey *survey, double low, double high, int decimals);
/* One of these as a sheet takes it: "none", "21 \u00B0C", "bollards 50 mm"; null: not recorded. */
const char *be_handled_words(const struct survey *survey, const struct be_handled *handled,
                             enum be_handling handling);
/* The same of any of a list made by be_pull_made; and what a form calls it, with how it is typed.
 */
const char *be_made_words(const struct survey *survey, const struct be_handled *made, int which);
const char *be_made_label(int which);

enum be_status be_no_memory(struct be_err *err);

/* forms.c: sum += weight * part. The terms of sum are on the heap. */
enum be_status be_form_add(struct form *sum, const struct form *part, double weight,
                           struct be_err *err);
void be_form_free(struct form *form);
/* Value, variance and degrees of freedom; unknown when a scatter is, or is 0. */
struct be_estimate be_form_estimate(const struct survey *survey, const struct form *form);

/* strength/causes.c: an event of a joint of two lines that parted where the knot is, and says on
 * the side of which line: BE_WHICH_A or BE_WHICH_B. */
bool be_tells_side(const struct be_pull *pull);

/* look.c: tone, mark and stroke of a material. Of two lines the weaker one speaks: the one that is
 * divided by, else the one of the lower label. A line of -1, or of no known material, is as nylon.
 */
struct cell_look {
  enum be_tone tone;
  enum be_shape shape;
  enum be_stroke stroke;
};
struct cell_look be_look_of_line(const struct survey *survey, int line);
struct cell_look be_look_of_cell(const struct survey *survey, const struct cell *cell);
struct cell_look be_look_of_pull(const struct survey *survey, const struct be_pull *pull);
/* figures.c */
/* Tells which knot on which lines is drawn; with n also how many events and lower bounds. */
void be_tell_cell(struct be_figure *figure, const struct survey *survey, const struct cell *cell,
                  bool n);
struct be_figure *be_figure_of_pulls(const struct survey *survey, const struct combination *where);
/* Where a knot stands in a table of several. */
struct rank {
  double score;     /* mean over combinations of log share, or of log load */
  size_t rank;      /* 1 = strongest */
  size_t low, high; /* all ranges of the table hold at once, at the level */
  double best, top; /* chance of being first, of being among the first three */
};

/* Documents made from a survey that was read already. */
enum be_status be_strength_doc(const struct survey *survey, struct be_doc **doc,
                               struct be_err *err);
enum be_status be_cell_doc(const struct survey *survey, const struct cell *cell,
                           struct be_doc **doc, struct be_err *err);
enum be_status be_standings_doc(const struct survey *survey, struct be_doc **doc,
                                struct be_err *err);
enum be_status be_standings_by(const struct survey *survey, struct be_doc **doc,
                               struct be_err *err); /* by.c: how.by is not strength */
/* moved/: what moved since how.since, which must be told. BE_WRONG_USE for a wrong moment or one
 * still to come, BE_BAD_INPUT for one before anything was entered. */
enum be_status be_moved_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
enum be_status be_versus_doc(const struct survey *survey, int a, int b, struct be_doc **doc,
                             struct be_err *err);
enum be_status be_next_doc(const struct survey *survey, const struct be_tying *asked,
                           struct be_doc **doc, struct be_err *err);
/* By its name or another of its names, or by as much of its name as is the only one; else -1. */
int be_knot_find(const struct survey *survey, const char *name, struct be_err *err);
/* By its code, in capitals or not; else null, and BE_WRONG_USE names those near it. */
const struct be_pull *be_pull_find(const struct survey *survey, const char *code,
                                   struct be_err *err);
enum be_status be_findings_doc(const struct survey *survey, struct be_doc **doc,
                               struct be_err *err);
/* One of them, with its pulls from one on; BE_NO when there are not so many. */
enum be_status be_finding_doc(const struct survey *survey, size_t at, size_t from,
                              struct be_doc **doc, struct be_err *err);
/* pulls/: so many of them as a page has, from one on. address: of the page, up to its "from=". */
void be_table_of_pulls(struct be_doc *doc, const struct survey *survey,
                       const struct be_pull *const *pulls, size_t count, size_t from,
                       const char *address);
/* lines/: every spool, and which of them can be divided by; one of them, its pulls from one on,
 * BE_NO when there are not so many. */
enum be_status be_lines_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
enum be_status be_line_doc(const struct survey *survey, size_t line, size_t from,
                           struct be_doc **doc, struct be_err *err);
/* knots/: every knot, and what is known of it; one of them, the same. */
enum be_status be_knots_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
enum be_status be_knot_doc(const struct survey *survey, size_t knot, size_t from,
                           struct be_doc **doc, struct be_err *err);
/* plan/: what trials there are; how one goes; its labels. */
enum be_status be_trials_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
enum be_status be_trial_doc(const struct survey *survey, const struct be_trial *trial,
                            struct be_doc **doc, struct be_err *err);
enum be_status be_trial_labels_doc(const struct survey *survey, const struct be_trial *trial,
                                   struct be_doc **doc, struct be_err *err);
/* Where trials went otherwise than planned: stands in every report; nothing without trials. */
enum be_status be_say_departures(struct be_doc *doc, const struct survey *survey,
                                 struct be_err *err);

/* Takes a document whose writing is done: hands it over, or frees it. */
enum be_status be_doc_done(struct be_doc *doc, enum be_status status, struct be_doc **out);
/* The same of an answer to a survey: whole or none. Words that the survey's arena could not hold
 * were left out on the way, and make it BE_NO_MEMORY. */
enum be_status be_answer_done(const struct survey *survey, struct be_doc *doc,
                              enum be_status status, struct be_doc **out, struct be_err *err);

/* "broke, in the knot, line A": of what was recorded. */
enum { BE_LET_GO_WORDS = 100 };
void be_let_go_words(enum be_what what, enum be_where where, enum be_which which,
                     char said[BE_LET_GO_WORDS]);
void be_let_go_cell(struct be_table *table, enum be_what what, enum be_where where,
                    enum be_which which);

#endif
