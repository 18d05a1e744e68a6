/* SPDX-License-Identifier: GPL-3.0-or-later */
/* mixed: one linear model for all pulls: y = X beta + Z b + e. Fixed columns X are what is asked
 * about (knots, turns), random terms Z what the pulls happen to share (line, spool, tyer, day),
 * crossed or nested, and as unbalanced as they come. By REML or ML, in the usual way: the
 * deviance profiled over the relative covariance factors theta, minimised.
 *
 * A fit is a handle: be_mixed_fit creates it, be_mixed_free releases it; what was given to the
 * fit is not needed afterwards. y is most often a log load, so that a contrast's exp is a ratio.
 *
 * Lower bounds enter by a censored likelihood with Laplace's approximation for b (laplace.c). By ML
 * without random terms that is exact; with them, six pulls a line and lines that differ by 1.5
 * sigmas, a mean is low by 0.004 sigmas and the deviation between lines by 0.013 where a quarter of
 * the pulls are bounds, by 0.016 and 0.06 where half are (tests/stats/test_mixed_bounds.c holds it
 * against the exact likelihood). */
#ifndef BE_STATS_MIXED_H
#define BE_STATS_MIXED_H

#include "stats/sample/sample.h"

enum {
  BE_MIXED_TERMS_MAX = 8,    /* random terms */
  BE_MIXED_WIDTH_MAX = 3,    /* columns of one term */
  BE_MIXED_FIXED_MAX = 1500, /* fixed columns */
  BE_MIXED_THETA_MAX = BE_MIXED_TERMS_MAX * BE_MIXED_WIDTH_MAX * (BE_MIXED_WIDTH_MAX + 1) / 2
};

/* A random term: every level has `width` effects of a common covariance. Row i belongs to
 * level[i] < levels; column c of the term is z[c][i], a null z[c] is 1 throughout (an
 * intercept). Levels nobody belongs to are allowed; at least 2, and fewer than rows, must have
 * rows. */
struct be_mixed_term {
  const char *name; /* for errors: "line"; may be null */
  const uint32_t *level;
  size_t levels;
  size_t width; /* 1 to BE_MIXED_WIDTH_MAX */
  const double *z[BE_MIXED_WIDTH_MAX];
};

/* Fixed columns by rows, without their zeros: row i has column[k], value[k] for k from start[i]
 * up to start[i + 1], columns rising. value may be null: all 1. columns must be at least 1. A
 * column that is a sum of earlier ones is left out and said (be_mixed_dropped). */
struct be_mixed_design {
  size_t columns;
  const size_t *start; /* rows + 1 */
  const uint32_t *column;
  const double *value;
};

struct be_mixed_data {
  size_t n;
  const double *y;
  const bool *bound; /* y[i] is a lower bound; null: none is */
  struct be_mixed_design fixed;
  const struct be_mixed_term *terms; /* may be null for 0 terms */
  size_t term_count;
};

enum be_mixed_method { BE_MIXED_REML, BE_MIXED_ML };

struct be_mixed_summary {
  enum be_mixed_method method;
  size_t n, bounds;
  size_t rank; /* fixed columns kept */
  bool converged;
  const char *why;   /* null when converged */
  double criterion;  /* -2 log-likelihood (restricted for REML), every constant in it */
  double sigma;      /* of what is left */
  size_t parameters; /* of the covariance factors */
  double theta[BE_MIXED_THETA_MAX]; /* term by term, of each the columns of its lower triangle */
  size_t zeros;                     /* diagonal parameters at 0: on the boundary */
  size_t evaluations;               /* of the deviance, all starts together */
  double gradient;                  /* its largest component over theta at the end */
  double decrement;                 /* how far the criterion could still fall, by its curvature */
  size_t factor_size;               /* numbers in the sparse factor */
};

struct be_mixed;

/* Takes heap. BE_BAD_INPUT with what is wrong and where; "did not converge" is no error but
 * stands in the summary. NLopt takes some hundred bytes of its own; all else is be_alloc's. */
enum be_status be_mixed_fit(const struct be_mixed_data *data, enum be_mixed_method method,
                            struct be_mixed **fit, struct be_err *err);
void be_mixed_free(struct be_mixed *fit); /* null is fine */

const struct be_mixed_summary *be_mixed_summary(const struct be_mixed *fit);
/* As many as there are columns; not-a-number for one that was left out. */
const double *be_mixed_beta(const struct be_mixed *fit);
bool be_mixed_dropped(const struct be_mixed *fit, size_t column);
/* Covariance of two coefficients; not-a-number where one was left out. */
double be_mixed_covariance(const struct be_mixed *fit, size_t a, size_t b);
/* Covariance of the effects of one level: width x width, row by row. A deviation that the data
 * put at zero is exactly 0. */
void be_mixed_term_covariance(const struct be_mixed *fit, size_t term,
                              double covariance[BE_MIXED_WIDTH_MAX * BE_MIXED_WIDTH_MAX]);
/* The conditional mode of an effect of a level (its shrunken estimate; with bounds about its
 * mean), and its variance given beta and the variance components. */
struct be_estimate be_mixed_mode(const struct be_mixed *fit, size_t term, size_t level,
                                 size_t effect);

/* A sum of coefficients, such as a difference of two knots or a mean over a stated grid. */
struct be_mixed_contrast {
  bool estimable; /* false: it hangs on a column that was left out; figures not-a-number */
  double value;
  double se;
  double df; /* Satterthwaite; not-a-number where the curvature does not give them */
  double t, p;
  struct be_interval interval;
};
/* weights[k] of column[k], `count` of them, each column at most once. Degrees of freedom by
 * Giesbrecht and Burns (1985) and Fai and Cornelius (1996). No heap. */
void be_mixed_contrast(const struct be_mixed *fit, const uint32_t *column, const double *weights,
                       size_t count, double level, struct be_mixed_contrast *contrast);

/* Whether several sums are all 0: F = t't / df1 over the independent ones among them, df2 by Fai
 * and Cornelius (1996): 2 E / (E - df1), E = sum of v/(v-2) over the df v of independent single
 * contrasts, as is common practice 2 where one of these has 2 or fewer. */
struct be_mixed_joint {
  bool estimable; /* false: a row hangs on a column that was left out; figures not-a-number */
  size_t df1;     /* independent rows */
  double df2, F, p;
};
enum { BE_MIXED_JOINT_MAX = 200 };
/* rows: `count` rows, from 1 to BE_MIXED_JOINT_MAX, of as many weights as there are fixed columns.
 * Takes heap and gives it back. */
enum be_status be_mixed_joint(const struct be_mixed *fit, const double *rows, size_t count,
                              struct be_mixed_joint *joint, struct be_err *err);

/* ---- on these very levels ---- */

/* A part of a sum that is random: an effect of a level that the data have, or of one that they do
 * not (BE_MIXED_NEW), of which nothing is known but how such effects scatter; each mention of a
 * new level is another one. */
#define BE_MIXED_NEW SIZE_MAX
struct be_mixed_part {
  size_t term, level, effect;
  double weight;
};
/* Fixed and random parts together, each level at its conditional mode. The standard error is that
 * of the prediction error, from the inverse of the mixed-model equations (Henderson 1975;
 * McLean, Sanders and Stroup 1991): what is not known of beta and of the levels, jointly, the
 * variance components taken as found; df by Satterthwaite in the same way as for a contrast. With
 * bounds each counts by what it tells at the end. parts may be null for 0. Takes heap and gives it
 * back. */
enum be_status be_mixed_predict(const struct be_mixed *fit, const uint32_t *column,
                                const double *weights, size_t count,
                                const struct be_mixed_part *parts, size_t part_count, double level,
                                struct be_mixed_contrast *prediction, struct be_err *err);

#endif
