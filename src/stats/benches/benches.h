/* SPDX-License-Identifier: GPL-3.0-or-later */
/* benches: how well several benches agree, and how well one bench measures. */
#ifndef BE_STATS_BENCHES_H
#define BE_STATS_BENCHES_H

#include "stats/sample/sample.h"

/* ---- several benches (between.c) -------------------------------------------- */

/* The same knot in the same line on several benches, as ASTM E691 takes it: cells of
 * equal or nearly equal n. For unequal n the variance components of the one-way
 * analysis (ISO 5725-2) are taken. */
struct be_precision {
  size_t benches;
  double mean;                   /* of the cell means */
  double cell_deviation;         /* s_x of the cell means */
  double repeatability;          /* s_r */
  double between;                /* s_L; 0 when the benches differ less than their pulls */
  double reproducibility;        /* s_R, at least s_r */
  double limit_r, limit_R;       /* 2.8 times: the 95 % limits of E177 */
  double h_critical, k_critical; /* two-sided 0.5 % as E691 takes them */
};
/* h and k have `count` places. Benches of fewer than 2 pulls: not-a-number, and left
 * out of everything. At least 2 benches with 2 pulls, else not-a-number throughout. Where n
 * differs, k_critical is that of the fewest pulls, the greatest. When all means, or all pulls
 * of each bench, are alike, h, or k, is not-a-number. */
void be_precision_of(const struct be_summary *benches, size_t count, struct be_precision *precision,
                     double *h, double *k);
/* Critical values at alpha (0.005), for `benches` benches and `n` pulls in each. */
double be_h_critical(size_t benches, double alpha);
double be_k_critical(size_t benches, size_t n, double alpha);

/* ---- one bench (budget.c) ----------------------------------------------------- */

/* Where a figure's doubt comes from. Half-widths become deviations by their shape (GUM 4.3). */
enum be_spread_shape {
  BE_SPREAD_NORMAL,      /* half is one deviation */
  BE_SPREAD_RECTANGULAR, /* half / sqrt 3 */
  BE_SPREAD_STEP,        /* a display step: step / sqrt 12 */
  BE_SPREAD_TRIANGULAR   /* half / sqrt 6 */
};
double be_spread_deviation(enum be_spread_shape shape, double half);

struct be_source_of_doubt {
  const char *name;
  double half;
  enum be_spread_shape shape;
  double sensitivity; /* the figure's change for a unit of this */
  double df;          /* infinity when it is taken as known */
};
struct be_budget {
  double combined; /* standard uncertainty */
  double df;       /* Welch and Satterthwaite: GUM G.2b */
  double coverage; /* t at the level and df, df cut to a whole number as the GUM does */
  double expanded;
  double level;
};
/* Sources that do not go together. shares: each part of the variance, summing to 1, or
 * not-a-number when nothing is in doubt; may be null. deviations: each contribution
 * |sensitivity| u; may be null. */
void be_budget_of(const struct be_source_of_doubt *sources, size_t count, double level,
                  struct be_budget *budget, double *deviations, double *shares);

#endif
