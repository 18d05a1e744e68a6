/* SPDX-License-Identifier: GPL-3.0-or-later */
/* stats: estimates and intervals for small samples. Plain arrays in, value
 * structs out; no disk, clock or screen, and nothing is allocated except where
 * said. A quantity that the data cannot give is not-a-number, never a guess.
 * docs/methods.md gives each method with its equation and source. */
#ifndef BE_STATS_H
#define BE_STATS_H

#include "base/base.h"

struct be_interval {
  double low, high;
  double level; /* 0.95 */
};

/* ---- location and spread ------------------------------------------------ */

struct be_summary {
  size_t n;
  double mean;
  double sd; /* divides by n - 1; not-a-number for n < 2 */
  double min, max;
};

/* Two passes, in the order given. n may be 0: all figures not-a-number. */
void be_summary_of(const double *x, size_t n, struct be_summary *summary);

/* A mean and how well it is known: what every interval here is made of. */
struct be_estimate {
  double value;
  double variance; /* of value itself, not of one pull; not-a-number if unknown */
  double df;       /* degrees of freedom of variance; 0 if unknown, infinity if exact */
  size_t n;        /* pulls behind it */
};

struct be_estimate be_estimate_mean(const struct be_summary *summary);
/* sum of weights[i] * parts[i], parts independent; degrees of freedom by
 * Welch and Satterthwaite. A part with no variance makes the sum's unknown; a
 * part of weight 0 is left out. */
struct be_estimate be_estimate_combine(const struct be_estimate *parts, const double *weights,
                                       size_t count);
/* The plain mean of all pulls, its variance taken from the scatter inside each
 * of `count` groups (pooled), so that differences between groups that are the
 * same for both sides of a comparison do not count as scatter. */
struct be_estimate be_estimate_pooled(const struct be_summary *groups, size_t count);
/* Student t interval for an estimate; not-a-number ends when df is 0. */
struct be_interval be_estimate_interval(const struct be_estimate *estimate, double level);

/* ---- two estimates ------------------------------------------------------ */

struct be_difference {
  double value; /* a - b */
  double t, df, p;
  struct be_interval interval;
};

/* Welch's unequal-variance comparison (B. L. Welch, Biometrika 34, 1947). When
 * neither side scatters at all, the rig's resolution hides the scatter: there is
 * a difference, but t, df, p and the interval are not-a-number. */
void be_welch(const struct be_estimate *a, const struct be_estimate *b, double level,
              struct be_difference *difference);

/* A Fieller set is a piece of the line only when the denominator is clearly
 * not zero; otherwise it is everything outside a piece, or the whole line. */
enum be_ratio_shape { BE_RATIO_PIECE, BE_RATIO_OUTSIDE, BE_RATIO_ALL, BE_RATIO_UNKNOWN };

struct be_ratio {
  double value; /* numerator / denominator */
  double df;
  enum be_ratio_shape shape;
  struct be_interval interval; /* for OUTSIDE: the piece that is left out */
};

/* Interval of log(a) - log(b) by the delta method with Welch degrees of
 * freedom. Shape is PIECE, or UNKNOWN when a variance or a sign forbids it. */
void be_ratio_log(const struct be_estimate *a, const struct be_estimate *b, double level,
                  struct be_ratio *ratio);
/* Fieller (J. R. Stat. Soc. B 16, 1954), unequal variances, with the plug-in
 * degrees of freedom of Tamhane and Logan (2004). */
void be_ratio_fieller(const struct be_estimate *a, const struct be_estimate *b, double level,
                      struct be_ratio *ratio);

/* ---- rates -------------------------------------------------------------- */

/* k of n by Clopper and Pearson (Biometrika 26, 1934); closed ends exactly 0
 * or 1. n may be 0: the interval is [0, 1]. */
struct be_interval be_rate_exact(size_t k, size_t n, double level);
/* The one-sided upper bound. */
double be_rate_upper(size_t k, size_t n, double level);

/* ---- alarms ------------------------------------------------------------- */

/* Grubbs' two-sided test for one outlier (Technometrics 11, 1969; ASTM E178).
 * An alarm asks for a look at one pull; it never removes it. n < 3 or a zero
 * deviation never raises it. */
struct be_alarm {
  bool raised;
  size_t index; /* of the pull furthest from the mean */
  double statistic, critical;
};
void be_grubbs(const double *x, size_t n, double alpha, struct be_alarm *alarm);

/* ---- several comparisons, power ------------------------------------------ */

/* Holm's step-down adjustment (Scand. J. Stat. 6, 1979). adjusted may be p. A
 * comparison that could not be made (p not-a-number) stays so and does not
 * count; a p outside [0, 1] is bad input. Takes heap for the order. */
enum be_status be_holm(const double *p, size_t count, double *adjusted, struct be_err *err);

/* Power of the two-sided two-sample t test, n_each (may be fractional, > 1)
 * pulls a side, means `shift` deviations apart: the chance of a difference that
 * is found and has the right sign (for shift 0 therefore alpha / 2). Good to
 * 1e-9; not-a-number for n_each < 1.05. */
double be_power_two(double shift, double n_each, double alpha);
/* The n_each that reaches a power, at least 2; infinity for shift 0. */
double be_power_two_n(double shift, double alpha, double power);

/* ---- ranks -------------------------------------------------------------- */

struct be_sample {
  const double *x; /* loads of one knot in one combination; all > 0 */
  size_t n;
};

struct be_resampling {
  uint64_t seed;
  size_t times;
  double level;     /* of the rank range */
  unsigned threads; /* 0 = all; the result does not depend on it */
};

struct be_rank {
  double score;     /* mean over combinations of log(mean load) */
  size_t rank;      /* 1 = strongest */
  size_t low, high; /* rank range at the level */
  double best;      /* share of resamplings in which it ranked first; not-a-number
                       for a knot with a cell of one pull */
};

/* Ranks `knots` knots over `combinations` combinations by resampling pulls
 * within each cell. cells is row-major, one row a knot; every cell has n >= 1.
 * The resampled mean of a cell is its mean plus sqrt(n / (n - 1)) times the
 * mean of resampled deviations, so that its variance is s^2/n and not too
 * small for small n (Davison and Hinkley, 1997, section 2.5). A cell of one
 * pull says nothing about scatter: its knot gets the range 1 to knots. A
 * resampled mean of 0 or less ranks last. Equal scores stand in order of index.
 * Takes heap for its counts: at most 1000 knots, 128 MB. Errors: WRONG_USE for
 * no resamplings or a level outside (0, 1), BAD_INPUT for an empty cell or a
 * load that is not above 0 (counted from 1 in the message), TOO_LARGE. */
enum be_status be_rank_resample(const struct be_sample *cells, size_t knots, size_t combinations,
                                const struct be_resampling *how, struct be_rank *ranks,
                                struct be_err *err);

#endif
