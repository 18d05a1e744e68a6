/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Planning a trial. A new plan is worked out as a trial of the record that has no pulls yet, so
 * that one set of tables, sheets and labels serves it before and after it is entered. */
#ifndef BE_APP_PLAN_H
#define BE_APP_PLAN_H

#include "app/survey/survey.h"

/* ---- blind codes (codes.c) ------------------------------------------------------------------ */

/* Four characters of an alphabet of 17 in which no two look alike, without vowels, so that none is
 * a word; at least one is a letter, so that none is a number. The sum of each character's place in
 * the alphabet times its position is 0 modulo 17, as in ISO 2108's old book numbers modulo
 * 11: any one wrong character and any two that changed places are noticed. */
enum { CODE_LENGTH = 4, CODE_VALUES = 17, CODES_MAX = 2500 };
extern const char be_code_alphabet[CODE_VALUES + 1];
/* The number of a code, below CODE_NUMBERS, or -1 for a text that is none; small letters are as
 * good. */
enum { CODE_NUMBERS = CODE_VALUES * CODE_VALUES * CODE_VALUES };
int be_code_number(const char *text);
/* One of all codes, each as likely. */
void be_code_draw(struct be_random *random, char code[CODE_LENGTH + 1]);

/* ---- what is planned (grid.c) --------------------------------------------------------------- */

/* What may be tied several times: a knot on lines, or a plain line (knot BE_NO_INDEX). */
struct plan_cell {
  int knot, knot_b, line_a, line_b; /* of the record, or BE_NO_INDEX */
  const char *hardware;             /* null: none */
  enum be_soak soak;
  enum be_design design;
  size_t n; /* planned */
};
struct plan_grid {
  struct plan_cell *cells; /* plain lines first, then by lines, then by knot */
  size_t count;
  size_t knots, combinations, knotted, plain; /* kinds of each; specimens of each */
};

/* Knots and lines as a person names them: "A; B; C" and "SPOOL_A + SPOOL_B; LINE; LINE + ring";
 * cells are without n. Plain lines of every spool are among them. BE_WRONG_USE for a name that
 * could be none or several. */
enum be_status be_grid_asked(const struct survey *survey, const char *knots, const char *on,
                             enum be_soak soak, struct plan_grid *grid, struct be_err *err);
/* The grid of a trial; of, if not null, has for each planned specimen its cell. */
enum be_status be_grid_of_trial(const struct survey *survey, const struct be_trial *trial,
                                struct plan_grid *grid, size_t *of, struct be_err *err);
bool be_plan_is_plain(const struct plan_cell *cell);
/* "nylon 12 lb (N12-1) to ring, dry" */
const char *be_plan_where(const struct survey *survey, const struct plan_cell *cell);
/* Of a spool: "nylon 12 lb (N12-1)". */
const char *be_plan_line(const struct survey *survey, int line);
/* Whether both are tied on the same lines in the same way. */
bool be_plan_together(const struct plan_cell *a, const struct plan_cell *b);
bool be_plan_uses(const struct plan_cell *cell, int line);
/* Whether a pull is of this cell, field by field. */
bool be_plan_matches(const struct plan_cell *cell, const struct be_pull *pull);

/* ---- how many (number.c) -------------------------------------------------------------------- */

/* Relative scatter of one pull, and where it comes from. */
struct plan_scatter {
  double cv;
  size_t n;          /* degrees of freedom behind it, 0 when not from the book */
  const char *words; /* "as the book's own pulls of these knots and lines scatter (18 df)" */
};
struct plan_number {
  size_t each;     /* specimens of each knot in each combination */
  double share;    /* efficiency that was reckoned with; not-a-number when it was not needed */
  const char *why; /* for the rule sheet */
  double reached;  /* half-width in points, or power, expected; not-a-number when told */
  const char *reached_words; /* which of them */
  struct plan_scatter knotted, plain;
};
/* Sets n of every cell. */
enum be_status be_plan_count(const struct survey *survey, const struct be_planning *asked,
                             struct plan_grid *grid, struct plan_number *number,
                             struct be_err *err);
/* Plain pulls of a line that serves so many cells of n each: what makes the interval of each ratio
 * narrowest for the specimens of them all, but at least 5. */
size_t be_plain_count(size_t each, size_t cells, double cv, double plain_cv);

/* ---- when (order.c) ------------------------------------------------------------------------- */

/* The order of pulling. Every block holds each cell, and of it each tyer's, as equally as can be
 * (they differ by one at most), and blocks are as large as one another, but for one. Within
 * a block the order is random. Arrays hold `total` places: the cell, the block from 0, and the
 * tyer of each specimen in turn. */
struct plan_order {
  size_t *cell, *block, *tyer;
  size_t total, blocks;
};
enum be_status be_plan_order(const struct plan_grid *grid, size_t blocks, size_t tyers,
                             uint64_t seed, struct be_arena *arena, struct plan_order *order,
                             struct be_err *err);

/* ---- what is asked (asked.c) ----------------------------------------------------------------- */

/* The usual values filled in; BE_WRONG_USE for what cannot be asked. */
enum be_status be_plan_usual(struct be_planning *asked, struct be_err *err);
/* A rule as a number; not-a-number when silent, or no number. */
double be_rule_number(const struct be_trial *trial, enum be_rule rule);
/* The trial's own word, or the usual one; null for a silent rule of any text, or no memory. */
const char *be_rule_in_force(const struct survey *survey, const struct be_trial *trial,
                             enum be_rule rule);
double be_plain_share_of_minutes(void); /* of a plain line, of what a knot takes */

/* ---- a new plan (make.c) -------------------------------------------------------------------- */

struct proposal {
  struct be_trial trial; /* as the book will have it */
  struct plan_number number;
  size_t blocks;
  double minutes; /* of all */
};
enum be_status be_plan_make(const struct survey *survey, const struct be_planning *asked,
                            struct proposal *proposal, struct be_err *err);
/* plan.c: whether the trial is fixed just so already, whose rules in force are then taken.
 * BE_WRONG_USE when it is fixed otherwise: a plan that is fixed is not planned anew. */
enum be_status be_plan_fixed(const struct survey *survey, const struct be_planning *asked,
                             struct proposal *proposal, bool *before, struct be_err *err);
/* The trial of that name, or null. */
const struct be_trial *be_trial_find(const struct survey *survey, const char *name);

/* ---- tables (tables.c) ---------------------------------------------------------------------- */

/* The knot of a cell; "palomar against half blood" of two. */
const char *be_plan_knot(const struct survey *survey, const struct plan_cell *cell);
/* Whether any of its specimens has a planned tyer; and who ties one, in a table. */
bool be_plan_has_tyers(const struct be_trial *trial);
void be_put_tyer(struct be_table *table, const struct be_planned *planned);
void be_say_grid(struct be_doc *doc, const struct survey *survey, const struct plan_grid *grid);
/* Line that is still needed per spool beside what is on hand. */
void be_say_line_needed(struct be_doc *doc, const struct survey *survey,
                        const struct be_trial *trial);
/* Metres of all lines together, and "; X is 3.5 m short" for each spool that is, or "". */
struct plan_stock {
  double metres;
  const char *shortage;
};
struct plan_stock be_stock_of(const struct survey *survey, const struct be_trial *trial);
void be_say_rules(struct be_doc *doc, const struct survey *survey, const struct be_trial *trial);
/* "9 h 24 min" */
const char *be_hours(const struct survey *survey, double minutes);

/* ---- paper (sheets.c, labels.c) ------------------------------------------------------------- */

/* As the book enters them; the first line names the trial, and marks the file as ours. */
const char *be_sheet_mark(const struct survey *survey, const struct be_trial *trial);
enum be_status be_trial_sheet(const struct survey *survey, const struct be_trial *trial,
                              struct be_buf *out, struct be_err *err);
enum be_status be_rule_sheet(const struct survey *survey, const struct be_trial *trial,
                             struct be_buf *out, struct be_err *err);

/* ---- a trial under way (departures.c, watched.c, progress.c) -------------------------------- */

/* How far a trial has come. */
struct plan_progress {
  size_t planned, pulled, voids; /* voids: of the pulled */
  size_t blocks, blocks_left;    /* left: with something to pull */
  double minutes_left;
};
struct plan_progress be_progress_of(const struct survey *survey, const struct be_trial *trial);

/* One way in which a trial went otherwise than planned. */
struct departure {
  const char *what;   /* "pulled out of order" */
  size_t count;       /* specimens, pulls or rules */
  const char *detail; /* which, and how far */
};
enum { DEPARTURES_MAX = 64 };
struct departures {
  struct departure list[DEPARTURES_MAX];
  size_t count, passed; /* passed: did not fit the list */
};
enum be_status be_departures_of(const struct survey *survey, const struct be_trial *trial,
                                struct departures *departures, struct be_err *err);
/* A sentence and a table; a note where there are none. */
enum be_status be_say_departures_of(struct be_doc *doc, const struct survey *survey,
                                    const struct be_trial *trial, struct be_err *err);

/* Whether a trial stops as soon as its knots are apart; whether all of them are, looked at after
 * every pull; and both in words. */
bool be_stops_early(const struct survey *survey, const struct be_trial *trial);
enum be_status be_are_apart(const struct survey *survey, const struct be_trial *trial, bool *apart,
                            struct be_err *err);
enum be_status be_say_watched(struct be_doc *doc, const struct survey *survey,
                              const struct be_trial *trial, struct be_err *err);

/* ---- documents (proposal.c; progress.c has those of survey.h) ------------------------------- */

/* A new plan; done: a sentence of what was written and entered, or null. */
enum be_status be_proposal_doc(const struct survey *survey, const struct proposal *proposal,
                               const char *done, struct be_doc **doc, struct be_err *err);

#endif
