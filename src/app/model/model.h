/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model: all pulls of knots tied on several lines, by one mixed model: of each group of
 * combinations, and of all groups at once. Gaps in the grid of knots by combinations are borne,
 * for what is known of a line from other knots is borrowed. */
#ifndef BE_APP_MODEL_H
#define BE_APP_MODEL_H

#include "app/survey/survey.h"

/* "Over all lines, by one model": adds nothing where no two knots share lines. */
enum be_status be_say_model(struct be_doc *doc, const struct survey *survey, struct be_err *err);
/* The same as a document of its own, with how.factors held fixed: what they do comes first. */
enum be_status be_factors_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);

/* ---- seen with factors (seen.c, factors.c) ---- */

/* The survey of single knots as a model with factors sees it: what differs only by a factor is one
 * (knots by turns, combinations by soak), and pulls without a recorded value are left out. */
struct seen {
  struct survey survey;        /* how.factors: those that are used */
  const char *why[BE_FACTORS]; /* a factor that was asked for is not; null: it is */
  size_t without[BE_FACTORS];  /* pulls left out */
};
/* All is in the survey's arena. */
enum be_status be_model_see(const struct survey *survey, struct seen *seen, struct be_err *err);

/* Those that could be used, as bits. */
enum be_status be_model_usable(const struct survey *survey, unsigned *factors, struct be_err *err);

/* What a pull has of a factor: a text, or null and a number; not-a-number: not recorded. */
struct factor_value {
  const char *text;
  double number;
};
struct factor_value be_factor_value(const struct survey *survey, enum be_factor factor,
                                    const struct be_pull *pull);
bool be_factor_told(const struct factor_value *value);
bool be_factor_same(const struct factor_value *a, const struct factor_value *b);
/* "5 turns", "dry", "tyer Wren", "500 mm/min". */
const char *be_factor_say(struct be_arena *arena, enum be_factor factor,
                          const struct factor_value *value);

/* ---- what goes in (rows.c) ---- */

struct model_row {
  const struct be_pull *pull;
  uint32_t knot, where, group; /* of the sample */
  double y;                    /* log share, or log load in newtons */
  bool bound;
};

enum {
  MODEL_COMBINATION,
  MODEL_SPOOL,
  MODEL_CELL, /* knot x combination */
  MODEL_SESSION,
  MODEL_TYER,
  MODEL_CROSSED, /* a factor x combination, or x knot: the first factors have one */
  MODEL_TERMS = MODEL_CROSSED + 3
};

struct model_term {
  const char *name;
  uint32_t *level; /* of each row; 0 where not recorded */
  double *told;    /* 1, or 0 where not recorded; null: always recorded */
  size_t levels, rows;
  bool in;
  const char *why; /* it is left out */
};

/* A factor held fixed. A number is one column, less its reference, so that a knot's column is its
 * mean there; levels are columns less one, by differences from their mean, as groups are. */
struct model_factor {
  bool asked, in;
  const char *why; /* asked for, it is not in */
  bool by_number;
  double reference;
  size_t count;               /* of levels, or of numbers, distinct up to 50 */
  struct factor_value *level; /* by their words, or numbers as met */
  size_t *pulls;              /* of each */
  uint32_t *of_row;           /* level; UINT32_MAX: knots of no turns stand at the reference */
  size_t column, columns;     /* in the design */
};

/* The pulls of combinations that hang together by the knots they share. */
struct model_sample {
  size_t knots, wheres, groups;
  int *knot;
  const struct combination **where;
  uint32_t *group;          /* of each combination */
  const struct cell **cell; /* knots x wheres; null for a gap */
  struct model_row *rows;   /* in the order of the cells */
  size_t n, bounds;
  bool by_share;
  size_t without_plain;    /* pulls left out so that all others have a share */
  size_t bounds_unmatched; /* lower bounds without a plain line of their own: left out */
  size_t apart_knots;      /* share no combination with the others, even by way of others */
  size_t open_knots;       /* gave lower bounds alone */
  bool groups_meet;        /* two of them share two knots or more */
  struct model_term term[MODEL_TERMS];
  size_t crossed; /* how many of them cross a factor */
  enum be_factor crosses[MODEL_TERMS - MODEL_CROSSED];
  struct model_factor factor[BE_FACTORS];
  size_t columns; /* of the design: knots, groups less one, factors */
};

/* Of the combinations from `from` up to `to`, the nth set that hangs together, of the most pulls
 * first; no knots when there is none of two knots and two combinations. All is in the arena. */
enum be_status be_model_sample(const struct survey *survey, size_t from, size_t to, size_t nth,
                               struct be_arena *arena, struct model_sample *sample,
                               struct be_err *err);

/* Of a sample that has its rows: its factors, and where their columns stand (factors.c). */
enum be_status be_model_take_factors(const struct survey *survey, struct be_arena *arena,
                                     struct model_sample *sample, struct be_err *err);
/* Leaves one out, and puts the columns of the others together again. */
void be_model_drop_factor(struct model_sample *sample, enum be_factor factor, const char *why);
/* Column `column` of a factor in a row of level `level`. */
double be_factor_weight(const struct model_factor *factor, size_t level, size_t column);

/* ---- what comes out (fit.c) ---- */

struct modelled {
  const struct survey *survey;
  struct be_arena *arena;
  const char *place;
  struct model_sample *sample;
  struct be_mixed *fit;
  struct be_mixed *of_loads;   /* fit is of shares, and a factor changes the plain line as well */
  size_t of_term[MODEL_TERMS]; /* its number in the fit */
  struct be_mixed_contrast *mean; /* of each knot, on the log */
  double *value;
  double df; /* the smallest of the differences; not-a-number unknown */
  struct be_rank_set *set;
  struct be_chance *chance;
  bool *apart;
  uint64_t *letters;
  size_t *order; /* knots by value */
  bool ranked, lettered;
  const char *why_unranked;
};

/* The place, the sample, survey and arena are given; fit and of_loads are to be freed, also after
 * an error. Factors that cannot be told from knots and groups leave the sample. */
enum be_status be_model_fit(struct modelled *m, struct be_err *err);
enum be_status be_model_fit_data(const struct be_mixed_data *data, struct be_mixed **fit,
                                 struct be_err *err); /* by REML, or else by ML */
enum be_status be_model_work_out(struct modelled *m, struct be_err *err);

/* ---- what is said of it: each adds to a document ---- */

/* What factors do, of the place with the most pulls: for the first sentences of a document. */
struct headline {
  size_t places;          /* that have a model */
  bool by_share, by_load; /* some of these are */
  size_t told;            /* that tell what factors do */
  size_t pulls, count;
  const char *of;
  const char *text[2 * BE_FACTORS];
};
enum be_status be_say_effects(struct be_doc *doc, const struct modelled *m,
                              struct headline *headline, struct be_err *err); /* effects.c */
/* Whether knots compare alike in all groups, and how they do in each (groups.c). */
enum be_status be_say_groups(struct be_doc *doc, const struct modelled *m, struct be_err *err);
/* What was tied, with what each cell holds on these very lines (cells.c). */
enum be_status be_say_cells(struct be_doc *doc, const struct modelled *m, struct be_err *err);
enum be_status be_say_model_notes(struct be_doc *doc, const struct modelled *m,
                                  struct be_err *err); /* notes.c */

/* What holds for all places, once. */
void be_say_model_method(struct be_doc *doc, const struct survey *survey,
                         const struct headline *headline);

/* As people read it: per cent of the line, or a load. */
double be_model_shown(const struct modelled *m, double log_value);
int be_model_decimals(const struct modelled *m);
const char *be_model_unit(const struct modelled *m);
/* "p = 0.013", "p < 0.0001". */
const char *be_model_p(struct be_arena *arena, double p);

#endif
