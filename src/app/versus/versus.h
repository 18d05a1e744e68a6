/* SPDX-License-Identifier: GPL-3.0-or-later */
/* versus: two knots, compared combination by combination and over all of them. */
#ifndef BE_APP_VERSUS_H
#define BE_APP_VERSUS_H

#include "app/grid.h"

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
};

/* Both knots with what they share, in the order they are spoken of. */
struct pair {
  int a, b;
  struct matched *list; /* compared */
  size_t count;
  const struct combination **passed; /* shared, but not comparable */
  size_t passed_count;
  struct form log_ratio, points; /* over all compared */
  struct be_estimate ratio, gained;
  struct be_interval relative, points_interval;
  bool has_points;
  size_t n_a, n_b, told_a, told_b, slips_a, slips_b;
};

/* versus.c: a and b are set. Shared combinations are compared when both scatters are known and the
 * loads speak of the knots and not of the spools. Forms are on the heap: to be emptied, on an
 * error too. */
enum be_status be_pair_fill(const struct survey *survey, struct pair *pair, struct be_err *err);
void be_pair_empty(struct pair *pair);
/* Whether the two are compared by their shares of the plain line; else by load. */
bool be_matched_by_share(const struct matched *m);

/* tests.c: the same question asked without the normal distribution. */
enum be_status be_say_tests(struct be_doc *doc, const struct survey *survey,
                            const struct pair *pair, struct be_err *err);
/* same.c: could they be the same, within a margin that was stated before. */
void be_say_same(struct be_doc *doc, const struct survey *survey, const struct pair *pair,
                 bool apart);
void be_pair_facts(struct be_doc *doc, const struct survey *survey, const struct pair *pair);
void be_say_slip_rates(struct be_doc *doc, const struct survey *survey, const struct pair *pair);

#endif
