/* SPDX-License-Identifier: GPL-3.0-or-later */
/* versus: two knots, compared combination by combination and over all of them. */
#ifndef BE_APP_VERSUS_H
#define BE_APP_VERSUS_H

#include "app/survey/grid.h"

/* More pairs of specimens in one combination are not worth tying: some 16 hours at the bench. */
enum { BE_MORE_MAX = 100 };

/* One combination that both were tied in. */
struct matched {
  const struct combination *where;
  const struct cell *a, *b;
  bool same_mix;
  struct be_difference load; /* only where the spools are the same */
  struct form log_ratio, points;
  struct be_estimate ratio;                     /* of log_ratio */
  struct be_interval relative, points_interval; /* in % and in points of the line */
  double needed; /* pulls of each that would show a difference of this size */
  double more;   /* pairs still to tie for it; infinity beyond BE_MORE_MAX */
  bool apart;    /* by itself */
};

/* Both knots with what they share, in the order they are spoken of. */
struct pair {
  int a, b;
  struct matched *list; /* compared */
  size_t count;
  const struct combination **passed; /* shared, but not comparable */
  size_t passed_count;
  struct form log_ratio, points; /* over all compared */
  struct be_estimate ratio;
  struct be_interval relative, points_interval;
  bool has_points;
  const struct matched *for_a, *for_b; /* where each is the most clearly stronger; or null */
  size_t n_a, n_b, told_a, told_b, slips_a, slips_b;
};

/* Whether the two are compared by their shares of the plain line; else by load. */
bool be_matched_by_share(const struct matched *m);

/* compare.c: a and b are told; the rest is worked out. be_pair_empty whatever the status. */
enum be_status be_pair_fill(const struct survey *survey, struct pair *pair, struct be_err *err);
void be_pair_empty(struct pair *pair);
bool be_pair_known(const struct pair *pair);
bool be_pair_contrary(const struct pair *pair);
bool be_pair_divided(const struct pair *pair);
bool be_pair_apart(const struct pair *pair);

/* answer.c: the first sentence, and what belongs to it. */
void be_say_answer(struct be_doc *doc, const struct survey *survey, const struct pair *pair);
/* draw.c: the differences, a row each; null without memory. */
struct be_figure *be_figure_of_pair(const struct survey *survey, const struct pair *pair);
/* tests.c: the same question asked without the normal distribution. */
enum be_status be_say_tests(struct be_doc *doc, const struct survey *survey,
                            const struct pair *pair, struct be_err *err);
/* looks.c: the same question asked after every pull. */
enum be_status be_say_looks(struct be_doc *doc, const struct survey *survey,
                            const struct pair *pair, struct be_err *err);
/* same.c: could they be the same, within a margin that was stated before. */
void be_say_same(struct be_doc *doc, const struct survey *survey, const struct pair *pair,
                 bool apart);
void be_pair_facts(struct be_doc *doc, const struct survey *survey, const struct pair *pair);
void be_say_slip_rates(struct be_doc *doc, const struct survey *survey, const struct pair *pair);

#endif
