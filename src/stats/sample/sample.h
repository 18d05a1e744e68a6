/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sample: one set of pulls. Where it lies, how it scatters, how low a pull may
 * go, and whether something about it asks for a look. Every figure with its
 * interval. Alarms point at pulls; nothing here ever leaves one out. */
#ifndef BE_STATS_SAMPLE_H
#define BE_STATS_SAMPLE_H

#include "base/base.h"

struct be_interval {
  double low, high;
  double level; /* 0.95; for order statistics what they reach, where they cannot reach it */
};

/* Families of distributions that loads may have. */
enum be_family { BE_FAMILY_WEIBULL, BE_FAMILY_LOGNORMAL, BE_FAMILY_NORMAL };

/* A figure with its interval; ends are not-a-number when n is too small. */
struct be_measure {
  double value;
  struct be_interval interval;
};

/* ---- mean and deviation (summary.c, estimate.c) --------------------------- */

struct be_summary {
  size_t n;
  double mean;
  double sd; /* divides by n - 1; not-a-number for n < 2 */
  double min, max;
};

/* Two passes, in the order given. n may be 0: all figures not-a-number. */
void be_summary_of(const double *x, size_t n, struct be_summary *summary);
/* Autocorrelation of neighbours: sum (x_i - m)(x_i+1 - m) / sum (x_i - m)^2, in the order
 * given; not-a-number where nothing scatters. */
double be_lag1(const double *x, const struct be_summary *summary);

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
/* Two-sided p of the same: is it another than 0. Not-a-number when df or the variance is 0. */
double be_estimate_p(const struct be_estimate *estimate);

/* ---- location and spread (quantile.c, location.c, spread.c) ------------------
 * sorted rises. n >= 1 unless said. */

/* Quantiles by the nine definitions of Hyndman and Fan, Am. Stat. 50 (1996);
 * type 1 to 9, 0 <= p <= 1. */
double be_quantile(const double *sorted, size_t n, double p, int type);
/* Median with the interval between order statistics that the sign test gives,
 * interpolated to the level (Hettmansperger and Sheather, Stat. Prob. Lett. 4,
 * 1986). Where even [min, max] falls short (n < 6 at 95 %) that is the interval,
 * with the level it reaches. */
void be_sample_median(const double *sorted, size_t n, double level, struct be_measure *median);
/* Median of the Walsh averages (Hodges and Lehmann, Ann. Math. Stat. 34, 1963)
 * with the interval of the signed-rank test between two of them, exact up to 400 pulls;
 * level is what it reaches. scratch holds n (n + 1) / 2 numbers. */
void be_hodges_lehmann(const double *sorted, size_t n, double level, double *scratch,
                       struct be_measure *location);
enum { BE_HODGES_LEHMANN_MAX = 2000 }; /* the most pulls it takes; beyond, not-a-number */
/* Mean of what is left when a share `cut` (0 <= cut < 0.5) of the pulls is cut from
 * each end, with Tukey and McLaughlin's interval from the winsorised deviation. */
void be_trimmed_mean(const double *sorted, size_t n, double cut, double level,
                     struct be_measure *mean);
/* Huber's M-estimate; k deviations (1.5). With the scale held at the MAD, or with
 * proposal 2's own scale when scale is not null. The median where the MAD is 0;
 * not-a-number if proposal 2 does not come to rest. */
double be_huber(const double *sorted, size_t n, double k, double *scale);
/* Median of the absolute deviations from the median, times 1.4826. */
double be_mad(const double *sorted, size_t n);

/* Standard deviation with the chi-square interval. n >= 2. */
void be_deviation(const struct be_summary *summary, double level, struct be_measure *sd);
/* Coefficient of variation with the interval of Vangel (Am. Stat. 50, 1996), his
 * modification of McKay's. The upper end is infinity when the data do not bound it. */
void be_variation(const struct be_summary *summary, double level, struct be_measure *cv);

/* ---- resampling (draw.c, boot.c, bootstrap.c) -------------------------------- */

struct be_resampling {
  uint64_t seed;
  size_t times;
  double level;
  unsigned threads; /* 0 = all; the result does not depend on it */
};

/* n of the n pulls x drawn with replacement, two from each 64 random bits: as a set, or
 * as its sum. n >= 1. Every resampling of stats draws by these. */
void be_draw_set(struct be_random *random, const double *x, uint32_t n, double *drawn);
double be_draw_sum(struct be_random *random, const double *x, uint32_t n);

/* A figure of resampled sets; called from several threads at once. x[g] are the n[g]
 * pulls of set g: as many as were given, for the jackknife one fewer in one set. */
typedef double be_statistic(const double *const *x, const size_t *n, size_t groups,
                            const void *context);

/* The mean of set 0, summed in the order of be_draw_sum. */
double be_draw_mean(const double *const *x, const size_t *n, size_t groups, const void *context);

/* Where BCa cannot be had its ends are the percentile's, for one of these reasons. */
enum be_bca {
  BE_BCA_DONE,
  BE_BCA_ONE_SIDED, /* all figures lie on one side of the value: z0 is infinite */
  BE_BCA_BEYOND,    /* the acceleration throws an end past the pole of the map */
  BE_BCA_UNKNOWN    /* the value or a figure of the jackknife is not finite */
};

/* Quantiles of the B figures are the (B + 1) p-th, interpolated linearly (type 6 of
 * be_quantile). */
struct be_boot {
  double value;
  double se, bias;
  double z0;           /* of BCa: figures equal to the value count half below it */
  double acceleration; /* by the jackknife over all sets; 0 where nothing moves */
  struct be_interval percentile, bca;
  enum be_bca how_bca;
  size_t failed; /* resamplings whose figure was not finite: left out */
};

/* Resamples each set by itself. A resampling has a random stream of its own, so
 * the same seed gives the same bits on any number of threads. Takes heap for
 * `times` figures. Efron, J. Am. Stat. Assoc. 82 (1987). Errors: WRONG_USE for no
 * resamplings or a level outside (0, 1); BAD_INPUT for no set, an empty set or a pull that
 * is not finite; TOO_LARGE beyond 10^6 pulls or 10^7 resamplings; NO_MEMORY. Sets of one
 * pull are held fixed. */
enum be_status be_bootstrap(const double *const *x, const size_t *n, size_t groups,
                            be_statistic *statistic, const void *context,
                            const struct be_resampling *how, struct be_boot *boot,
                            struct be_err *err);
/* The same for many means at once, without a call a figure: of each set its mean,
 * with all it takes. Fast path of a whole book; equal, bit for bit, to be_bootstrap of each
 * set alone with be_draw_mean. */
enum be_status be_bootstrap_means(const double *const *x, const size_t *n, size_t sets,
                                  const struct be_resampling *how, struct be_boot *boots,
                                  struct be_err *err);

/* ---- how low a pull may go (low.c) ------------------------------------------ */

/* One-sided tolerance factor k1: mean - k1 s lies below a share `above` of all pulls
 * with the confidence given, if loads are normal. Noncentral t. n >= 2. */
double be_tolerance_factor(size_t n, double above, double confidence);
double be_tolerance_normal(const struct be_summary *summary, double above, double confidence);
/* Distribution-free: the r-th lowest pull lies below a share `above` of all pulls with
 * the confidence; the greatest such r, 0 when n is too small even for the lowest. */
size_t be_tolerance_rank(size_t n, double above, double confidence);
/* The least n for which the lowest pull will do. */
size_t be_tolerance_least(double above, double confidence);
/* One-way: sets that differ among themselves (CMH-17-1G 8.3.5.3, from memory of its
 * equations): B- or A-basis from between and within mean squares. Not-a-number without
 * two sets, or when no set has two pulls. */
struct be_between {
  double basis;             /* mean of all pulls - factor * deviation */
  double factor, deviation; /* T, and S of one pull of one set */
  double size;              /* n', the effective size of a set */
};
void be_tolerance_between(const struct be_summary *sets, size_t count, double above,
                          double confidence, struct be_between *low);

/* ---- alarms (grubbs.c, outliers.c, normality.c, drift.c) --------------------- */

/* Grubbs' two-sided test for one outlier (Technometrics 11, 1969; ASTM E178).
 * An alarm asks for a look at one pull; it never removes it. n < 3 or a zero
 * deviation never raises it. */
struct be_alarm {
  bool raised;
  size_t index; /* of the pull furthest from the mean */
  double statistic, critical;
};
void be_grubbs(const double *x, size_t n, double alpha, struct be_alarm *alarm);
/* Dixon's ratio, two-sided: r10 for n of 3-7, r11 8-10, r21 11-13, r22 14-30 (Dixon,
 * Biometrics 9, 1953). Critical values from the distribution itself, computed, not from a
 * table. Not-a-number outside 3 to 30. */
void be_dixon(const double *x, size_t n, double alpha, struct be_alarm *alarm);
/* P(R > r) for n <= 30 normal pulls, and the r at which it is `upper`, good to 1e-9:
 * R = (x_n - x_(n-near)) / (x_n - x_far), near 1 or 2, far 1 to 3, n > near + far. */
double be_dixon_upper(double r, size_t n, unsigned near, unsigned far);
double be_dixon_critical(size_t n, unsigned near, unsigned far, double upper);
/* Generalized ESD (Rosner, Technometrics 25, 1983): up to `most` outliers at once. alarms
 * has `most` places, in the order of removal; *raised is how many are outliers. scratch: n. */
void be_esd(const double *x, size_t n, size_t most, double alpha, double *scratch,
            struct be_alarm *alarms, size_t *raised);

/* Is it normal, lognormal, Weibull: A^2 of Anderson and Darling with parameters estimated,
 * and the significance level of CMH-17-1G (equations in docs/methods.md), which the normal and
 * the lognormal have from n = 4; not-a-number where it cannot be had. */
struct be_fitness {
  double statistic, significance; /* below 0.05: doubt */
};
/* location, scale: mean and sd (of logs for the lognormal), or of the smallest-extreme-value
 * log load for Weibull (mu = ln eta, sigma = 1 / beta). */
void be_anderson_darling(const double *sorted, size_t n, enum be_family family, double location,
                         double scale, struct be_fitness *fit);
/* Royston's W (Appl. Stat. 44, 1995, algorithm AS R94), 3 <= n <= 5000. */
void be_shapiro_wilk(const double *sorted, size_t n, struct be_fitness *fit);
/* Where pull i = 1 to n stands in a probability plot: (i - 0.3) / (n + 0.4), turned into
 * the family's quantile. */
double be_plot_position(size_t i, size_t n, enum be_family family);
/* Where a share of all pulls, 0 < share < 1, stands on that axis. */
double be_plot_axis(double share, enum be_family family);

/* Over the order of testing. */
struct be_drift {
  size_t runs, above, below; /* about the median; equal to it are left out */
  double runs_z, runs_p;     /* p exact (twice the smaller tail) for 20 or fewer, else normal */
  double lag1;               /* r1, the autocorrelation of neighbours */
  double slope, slope_p;     /* Theil-Sen slope a pull, p of Kendall's test (exact to n = 18) */
  struct be_interval slope_interval; /* Sen, J. Am. Stat. Assoc. 63 (1968); level reached */
};
/* scratch: n (n - 1) / 2 + n numbers; n at most BE_HODGES_LEHMANN_MAX. */
void be_drift_of(const double *x, size_t n, double level, double *scratch, struct be_drift *drift);

#endif
