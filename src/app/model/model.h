/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model: all pulls of knots tied on several lines, by one mixed model: of each group of
 * combinations, and of all groups at once. Gaps in the grid of knots by combinations are borne,
 * for what is known of a line from other knots is borrowed. */
#ifndef BE_APP_MODEL_H
#define BE_APP_MODEL_H

#include "app/survey.h"

/* "Over all lines, by one model": adds nothing where no two knots share lines. */
enum be_status be_say_model(struct be_doc *doc, const struct survey *survey, struct be_err *err);

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
  MODEL_TERMS
};

struct model_term {
  const char *name;
  uint32_t *level; /* of each row; 0 where not recorded */
  double *told;    /* 1, or 0 where not recorded; null: always recorded */
  size_t levels, rows;
  bool in;
  const char *why; /* it is left out */
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
  size_t bounds_unmatched; /* lower bounds without a plain line of their own: left out */
  size_t apart_knots;      /* share no combination with the others, even by way of others */
  size_t open_knots;       /* gave lower bounds alone */
  bool groups_meet;        /* two of them share two knots or more */
  struct model_term term[MODEL_TERMS];
};

/* Of the combinations from `from` up to `to`, the nth set that hangs together, of the most pulls
 * first; no knots when there is none of two knots and two combinations. All is in the arena. */
enum be_status be_model_sample(const struct survey *survey, size_t from, size_t to, size_t nth,
                               struct be_arena *arena, struct model_sample *sample,
                               struct be_err *err);

/* ---- what comes out (fit.c) ---- */

struct modelled {
  const struct survey *survey;
  struct be_arena *arena;
  const char *place;
  const struct model_sample *sample;
  struct be_mixed *fit;
  size_t of_term[MODEL_TERMS];    /* its number in the fit */
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

/* The place, the sample, survey and arena are given; fit is to be freed, also after an error. */
enum be_status be_model_fit(struct modelled *m, struct be_err *err);
enum be_status be_model_work_out(struct modelled *m, struct be_err *err);

#endif
