/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of number share among themselves. */
#ifndef BE_STATS_NUMBER_INSIDE_H
#define BE_STATS_NUMBER_INSIDE_H

#include <stddef.h>

struct be_tail;

/* log(1 + x) - x, x > -1, without the loss near 0. */
double be_log1p_less(double x);
/* lngamma(a) less Stirling's (a - 1/2) log(a) - a + log(2 pi) / 2; a > 0. */
double be_stirling_rest(double a);

/* Where a falling f, of x > 0, passes 0: bracketed by powers of 8, then be_root.
 * 0 or infinity when that lies beyond every double. */
double be_root_positive(double (*f)(double x, const void *context), const void *context);
/* The same for any x, looked for from `start` outwards. */
double be_root_anywhere(double (*f)(double x, const void *context), const void *context,
                        double start);

/* The mean of f(S), S = sqrt(chi^2_df / df); df may be infinite. step: at most this
 * in log S, where f asks for it. */
double be_scale_mean(double (*f)(double s, const void *context), const void *context, double df,
                     double step);

/* Fills the table between tail->low and tail->high with f. */
void be_tail_fill(struct be_tail *tail, double (*f)(double w, const void *context),
                  const void *context);
/* Step of the trapezoidal rule over one normal for the range of `groups`. */
double be_range_step(size_t groups);

#endif
