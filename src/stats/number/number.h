/* SPDX-License-Identifier: GPL-3.0-or-later */
/* number: distributions, their quantiles, and an order: what the other folders
 * of stats compute with. Nothing here knows a pull.
 *
 * The inverse distributions of GSL call its error handler, which ends the
 * process, when they do not converge; the handler belongs to the whole process
 * and is not ours to replace. So quantiles are found here inside a bracket, which
 * cannot fail, and of GSL only the logarithms of the beta and gamma functions are
 * called, with arguments that are positive and finite.
 *
 * upper is a probability of the upper tail; df are degrees of freedom, > 0. */
#ifndef BE_STATS_NUMBER_H
#define BE_STATS_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* ---- the normal --------------------------------------------------------- */

/* P(Z > z) of the standard normal. */
double be_normal_upper(double z);
/* log P(Z > z), also where P itself is below the smallest double. */
double be_normal_log_upper(double z);
/* The z at which P(Z > z) = upper, 0 < upper < 1. */
double be_normal_quantile(double upper);

/* ---- beta, t and F ------------------------------------------------------ */

/* The incomplete beta function I_x(a, b); x + y = 1, both given so that
 * neither loses digits; a, b > 0 and finite. Relative error about 1e-13, for a
 * and b of many millions 1e-11. */
double be_beta_lower(double x, double y, double a, double b);
/* The x at which I_x(a, b) = p, 0 < p < 1. */
double be_beta_quantile(double p, double a, double b);

/* P(T > t) of Student's t. df may be infinite (normal). */
double be_t_upper(double t, double df);
/* The t >= 0 at which P(T > t) = upper, 0 < upper <= 1/2. Infinity if it is
 * larger than the largest double. */
double be_t_quantile(double upper, double df);

/* P(F > f) with df and df2 degrees of freedom, df2 may be infinite. */
double be_f_upper(double f, double df, double df2);
double be_f_quantile(double upper, double df, double df2);

/* P(T > t) of the noncentral t, any sign of noncentrality. Absolute error 1e-12. */
double be_noncentral_t_upper(double t, double df, double noncentrality);
/* The t at which it is upper, 0 < upper < 1. */
double be_noncentral_t_quantile(double upper, double df, double noncentrality);
/* P(F > f) of the noncentral F. */
double be_noncentral_f_upper(double f, double df, double df2, double noncentrality);

/* ---- gamma and chi-square ----------------------------------------------- */

/* P(a, x) and Q(a, x) of the incomplete gamma function, a > 0. */
double be_gamma_lower(double a, double x);
double be_gamma_upper(double a, double x);
double be_chi2_upper(double x, double df);
double be_chi2_quantile(double upper, double df);

/* ---- for many comparisons ----------------------------------------------- */

/* The upper tail of some figure of normals, laid down once as a table (half a millisecond)
 * from which any number of probabilities is had in some microseconds each. */
enum { BE_TAIL_PIECES = 12, BE_TAIL_TERMS = 17 };
struct be_tail {
  size_t normals; /* how many */
  double low, high;
  double terms[BE_TAIL_PIECES][BE_TAIL_TERMS];
};

/* The range of `groups` standard normals, 2 or more. */
void be_range_init(struct be_tail *tail, size_t groups);
/* The greatest |T_i|, or T_i when one_sided, over the comparisons of `count` groups with one
 * reference group (Dunnett 1955): the correlation of two comparisons is lambda[i] lambda[j],
 * lambda[i] = sqrt(n_i / (n_i + n_reference)), 0 <= lambda < 1. */
void be_dunnett_init(struct be_tail *tail, const double *lambda, size_t count, bool one_sided);

/* P(Q > q), Q that figure over an independent deviation with df degrees of freedom (may be
 * infinite). Absolute error 1e-12 for up to 100 normals. */
double be_tail_upper(const struct be_tail *tail, double q, double df);
/* The q at which it is upper, 0 < upper < 1. */
double be_tail_quantile(const struct be_tail *tail, double upper, double df);

/* ---- solving ------------------------------------------------------------ */

/* Where f falls through 0 (f(low) >= 0 >= f(high)) or rises through it, to the
 * last double, by bisection that takes secant steps while they help (Brent
 * 1973). The ends must differ in sign, else not-a-number. */
double be_root(double (*f)(double x, const void *context), const void *context, double low,
               double high);

/* ---- order -------------------------------------------------------------- */

/* Fills order with 0..count-1 so that key rises; equal keys stand in order of
 * index. No key may be not-a-number. qsort is not used: it may take heap. */
void be_order(const double *key, size_t count, size_t *order);
/* Sorts in place, without heap. */
void be_sort(double *x, size_t count);

#endif
