/* SPDX-License-Identifier: GPL-3.0-or-later */
/* compare: ratios, rates, two sets, many sets. */
#ifndef BE_STATS_COMPARE_H
#define BE_STATS_COMPARE_H

#include "stats/sample/sample.h"

/* ---- two estimates (ratio.c) ---------------------------------------------- */

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
/* Student's, with one pooled deviation; a side of one pull takes it from the other. */
void be_student(const struct be_summary *a, const struct be_summary *b, double level,
                struct be_difference *difference);
/* Pull i of a with pull i of b. Differences that are alike but for rounding do not scatter. */
void be_paired(const double *a, const double *b, size_t n, double level,
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
/* The same with one pooled deviation, as be_student. */
void be_ratio_fieller_pooled(const struct be_summary *a, const struct be_summary *b, double level,
                             struct be_ratio *ratio);

/* ---- pulls in strata (within.c, scatter.c) -------------------------------------- */

/* The slope of y on x that all strata share, each with a level of its own; pulls of one
 * stratum stand together. Strata in which x does not vary take no part; n is of those that do,
 * *strata how many there are. With x of 0 and 1 it is the difference of two sets, stratum by
 * stratum; of one stratum, Student's. Not-a-number without a stratum; the variance too where
 * nothing scatters. */
struct be_estimate be_within(const double *x, const double *y, const size_t *stratum, size_t n,
                             size_t *strata);

/* Does the first of two sets scatter more than the second, stratum by stratum: the ratio of
 * their deviations (of logs: of their relative scatters), with the interval of normal pulls; p
 * two-sided, by dealing each stratum out anew how->times times. Takes part what has two pulls
 * or more of both: n of them, in so many strata. Takes heap. Errors: WRONG_USE for no deals,
 * NO_MEMORY. */
struct be_scattered {
  struct be_measure ratio;
  double p;
  size_t n, strata;
};
enum be_status be_scatter_within(const double *y, const bool *first, const size_t *stratum,
                                 size_t n, const struct be_resampling *how,
                                 struct be_scattered *scatter, struct be_err *err);

/* ---- two sets (ranks.c, permute.c, spearman.c, same.c) ----------------------------------- */

struct be_rank_test {
  double u; /* Mann-Whitney, of the first: pairs in which it is greater, ties half */
  double p; /* two-sided: exact without ties up to 50 each, else normal, corrected for
               continuity and ties */
  bool exact;
  /* Hodges-Lehmann: the median of all differences, first less second. Its interval lies
   * between two of them; level is what it reaches, at least the one asked for (below it
   * only where even the outermost fall short), counted out up to 50 each (ties or not: with ties
   * it covers more), normal beyond. */
  struct be_measure shift;
  double superior; /* share of pairs in which the first is greater, ties half */
};
/* scratch: (na + 1) * (nb + 1) numbers; na * nb at most BE_PAIRS_MAX, else, and for an
 * empty set, all not-a-number. */
enum { BE_PAIRS_MAX = 4000000 };
void be_mann_whitney(const double *a, size_t na, const double *b, size_t nb, double level,
                     double *scratch, struct be_rank_test *test);
/* Wilcoxon's signed ranks of n differences: V, p (greater, two-sided). Zeros are left out,
 * equal sizes share their ranks: round differences of decimals before. Up to 50 that are not 0 over
 * all signs of the ranks seen, so that p is exact with ties too; beyond, normal, corrected. Time
 * grows with n^2. */
void be_signed_rank(const double *difference, size_t n, double *v, double *p_greater, double *p);

/* Two-sided permutation test of the difference of means. All splits when there are at most
 * `how->times` of them (exact), else `times` random ones, the seen one counted in. The level of
 * `how` is not looked at. Takes heap. Errors: WRONG_USE for no splits, BAD_INPUT for an empty set
 * or a pull that is no number, TOO_LARGE beyond 100000 pulls a set or 1e8 splits, NO_MEMORY. */
struct be_permuted {
  double p;
  bool exact;
  uint64_t splits; /* looked at */
};
enum be_status be_permute_means(const double *a, size_t na, const double *b, size_t nb,
                                const struct be_resampling *how, struct be_permuted *result,
                                struct be_err *err);

/* Do two figures of the same n things rise together: Spearman's rho, ties borne, and p
 * (two-sided) over all orders of one of them: every order up to 9 things (exact), else
 * `how->times` by chance, the seen one counted in. The slope of y on x is the median of the slopes
 * of all pairs; its interval (of how->level) is that of the same test, its ends
 * not-a-number where so few things allow none and infinite where the data do not bound it. All
 * not-a-number where x or y is the same throughout. Takes heap. Errors: WRONG_USE for no
 * orders, BAD_INPUT for what is no number, TOO_LARGE beyond BE_RANK_ORDER_MAX, NO_MEMORY. */
enum { BE_RANK_ORDER_MAX = 500 };
struct be_rank_order {
  double rho, p;
  double least_p; /* the smallest that these ranks allow */
  bool exact;
  uint64_t orders; /* looked at */
  struct be_measure slope;
};
enum be_status be_permute_rank(const double *x, const double *y, size_t n,
                               const struct be_resampling *how, struct be_rank_order *result,
                               struct be_err *err);

/* Two one-sided tests (Schuirmann 1987): is the difference within (-margin, margin)? Same
 * when p <= alpha; then the 1 - 2 alpha interval lies within the margin. variance is that of the
 * difference itself; 0 or unknown: p is not-a-number and nothing is shown. */
struct be_sameness {
  double p; /* the greater of the two */
  bool same;
  struct be_interval interval; /* level 1 - 2 alpha */
};
void be_same_within(const struct be_difference *difference, double variance, double margin,
                    double alpha, struct be_sameness *same);

/* ---- rates (rate.c, rates.c, strata.c, barnard.c) ----------------------------- */

/* k of n by Clopper and Pearson (Biometrika 26, 1934); closed ends exactly 0
 * or 1. n may be 0: the interval is [0, 1]. */
struct be_interval be_rate_exact(size_t k, size_t n, double level);
/* The one-sided bounds. */
double be_rate_upper(size_t k, size_t n, double level);
double be_rate_lower(size_t k, size_t n, double level);
/* Is the rate another than `rate`, 0 < rate < 1: twice the smaller exact tail, at most 1.
 * Not-a-number for n of 0. */
double be_rate_against(size_t k, size_t n, double rate);
/* Wilson's score interval (1927); closed ends as above; with_correction: for continuity, as
 * Newcombe (1998) method 4. */
struct be_interval be_rate_wilson(size_t k, size_t n, double level, bool with_correction);
/* Beta(k + 1/2, n - k + 1/2), 0 and 1 where k is 0 or n (Brown, Cai and DasGupta 2001). */
struct be_interval be_rate_jeffreys(size_t k, size_t n, double level);
/* The least n of which all must hold to show, with the confidence, a rate of `reliability`. */
size_t be_success_run(double reliability, double confidence);

/* Barnard's unconditional exact two-sided p: the chance of a score statistic (pooled) no smaller
 * than the seen one, the greatest over the common rate; good to 1e-6. 1 for equal rates;
 * not-a-number for n of 0 or more than BE_BARNARD_MAX on a side. */
enum { BE_BARNARD_MAX = 1000 };
double be_barnard(size_t ka, size_t na, size_t kb, size_t nb);

/* Two rates: Fisher's exact two-sided p (all tables that are not likelier); Barnard's;
 * difference with Newcombe's (1998) hybrid score interval; odds ratio by conditional
 * maximum likelihood with its exact interval, not-a-number when all or none of both are counted.
 * All not-a-number when a side has none. */
struct be_rates {
  double fisher_p, barnard_p;
  struct be_measure difference; /* rate a less rate b */
  struct be_measure odds_ratio;
};
void be_rates_compare(size_t ka, size_t na, size_t kb, size_t nb, double level,
                      struct be_rates *rates);

/* The same in several strata, each with pulls on both sides: exact two-sided p over all tables
 * with the sums of each stratum held fixed (Gart, Biometrika 57, 1970; of one stratum Fisher's),
 * the least p that these sums allow, and the difference of rates, a less b, weighted by Mantel and
 * Haenszel. All not-a-number without strata. Takes heap. */
struct be_two_rates {
  size_t ka, na, kb, nb;
};
struct be_strata {
  double p, least_p;
  struct be_measure difference;
};
enum be_status be_rates_strata(const struct be_two_rates *list, size_t count, double level,
                               struct be_strata *strata, struct be_err *err);

/* ---- many sets (many.c, pairs.c, letters.c, distributions.c, holm.c) ---------- */

struct be_anova {
  size_t sets, n;
  double between, within; /* sums of squares */
  double df, df_within;
  double f, p;
};
/* One-way analysis of variance of sets with n >= 1. x[g] may be offsets from one common
 * load: then no digit of large loads is lost. Centred, compensated sums. Without any scatter
 * within, f and p are not-a-number. */
void be_anova_of(const double *const *x, const size_t *n, size_t sets, struct be_anova *anova);
/* Welch's (Biometrika 38, 1951), unequal deviations; sets with n >= 2 and
 * some scatter, else not-a-number. The sums of squares stay not-a-number. */
void be_anova_welch(const struct be_summary *sets, size_t count, struct be_anova *anova);
/* Levene's with medians (Brown and Forsythe 1974): are the scatters alike? Takes heap. */
enum be_status be_levene(const double *const *x, const size_t *n, size_t sets,
                         struct be_anova *anova, struct be_err *err);

struct be_pair {
  size_t a, b;                 /* a < b, sets by index */
  double difference;           /* mean a less mean b */
  double t, df, p;             /* p adjusted for all pairs */
  struct be_interval interval; /* simultaneous */
};
/* All pairs, count (count - 1) / 2, in the order (0,1), (0,2), ... (1,2), ... Tukey and Kramer:
 * one pooled deviation; Games and Howell (1976): each pair its own. A set of fewer than two
 * pulls takes no part: all but its differences are not-a-number. */
void be_tukey_kramer(const struct be_summary *sets, size_t count, double level,
                     struct be_pair *pairs);
void be_games_howell(const struct be_summary *sets, size_t count, double level,
                     struct be_pair *pairs);
/* Each with one reference set (Dunnett, J. Am. Stat. Assoc. 50, 1955): count - 1 pairs, b the
 * reference. scratch: count numbers. */
void be_dunnett(const struct be_summary *sets, size_t count, size_t reference, double level,
                double *scratch, struct be_pair *pairs);

/* Letters: two sets share one exactly where `apart` is false for them. apart is count x count,
 * symmetric. letters has one mask a set, bit 0 = "a"; the set of the highest `order` comes
 * first in the alphabet. Insert and absorb (Piepho, J. Comput. Graph. Stat. 13, 2004), then
 * letters that say nothing new are left out. TOO_LARGE when more than 64 are needed. Takes heap. */
enum be_status be_letters(const bool *apart, const double *order, size_t count, uint64_t *letters,
                          struct be_err *err);
/* "abd" for a mask; beyond z: "a2" and so on. text holds 160. */
void be_letters_text(uint64_t mask, char *text, size_t size);

/* k-sample Anderson-Darling (Scholz and Stephens, J. Am. Stat. Assoc. 82, 1987): do the sets
 * come from one distribution? Both versions; p by their table's interpolation in the
 * standardised statistic, between 0.001 and 0.25 at most: beyond, the bound. Takes heap.
 * Not-a-number for fewer than two sets, four pulls or two different loads. */
struct be_many_ad {
  double a2, a2_midrank;
  double sigma;
  double t, t_midrank; /* standardised: (a2 - (k - 1)) / sigma */
  double p;            /* of the midrank version */
};
enum be_status be_many_anderson_darling(const double *const *x, const size_t *n, size_t sets,
                                        struct be_many_ad *result, struct be_err *err);

/* Holm's step-down adjustment (Scand. J. Stat. 6, 1979). adjusted may be p. A
 * comparison that could not be made (p not-a-number) stays so and does not
 * count; a p outside [0, 1] is bad input. Takes heap for the order. */
enum be_status be_holm(const double *p, size_t count, double *adjusted, struct be_err *err);

/* ---- power (power.c) ---------------------------------------------------------- */

/* Power of the two-sided two-sample t test, n_each (may be fractional, > 1)
 * pulls a side, means `shift` deviations apart: the chance of a difference that
 * is found and has the right sign (for shift 0 therefore alpha / 2). Good to
 * 1e-9; not-a-number for n_each < 1.05. */
double be_power_two(double shift, double n_each, double alpha);
/* The n_each that reaches a power, at least 2; infinity for shift 0. */
double be_power_two_n(double shift, double alpha, double power);
/* One-way analysis of variance: sets of n_each, between the variance of the true means (divided
 * by sets - 1), within that of one pull. The n_each is at least 2; infinity for between 0. */
double be_power_many(size_t sets, double between, double within, double n_each, double alpha);
double be_power_many_n(size_t sets, double between, double within, double alpha, double power);
/* Two one-sided tests: n_each to show sameness within `margin` deviations when the true
 * difference is 0. At least 2; good to 1e-8. */
double be_power_same_n(double margin, double alpha, double power);

#endif
