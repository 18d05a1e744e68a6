/* SPDX-License-Identifier: GPL-3.0-or-later */
/* inside: what the files of stats share, for this room and its tests only.
 *
 * The inverse distributions of GSL call its error handler, which ends the
 * process, when they do not converge; the handler belongs to the whole process
 * and is not ours to replace. So quantiles are found here inside a bracket, which
 * cannot fail, and of GSL only the logarithm of the beta function is called,
 * with arguments that are positive and finite. */
#ifndef BE_STATS_INSIDE_H
#define BE_STATS_INSIDE_H

#include <stddef.h>

/* P(Z > z) of the standard normal. */
double be_normal_upper(double z);

/* The incomplete beta function I_x(a, b); x + y = 1, both given so that
 * neither loses digits; a, b > 0 and finite. Relative error about 1e-13 for a
 * and b of some hundreds, 1e-9 for a million. */
double be_beta_lower(double x, double y, double a, double b);
/* The x at which I_x(a, b) = p, 0 < p < 1. */
double be_beta_quantile(double p, double a, double b);

/* P(T > t) of Student's t. df > 0, may be infinite (normal). */
double be_t_upper(double t, double df);
/* The t >= 0 at which P(T > t) = upper, 0 < upper <= 1/2. Infinity if it is
 * larger than the largest double. */
double be_t_quantile(double upper, double df);

/* Fills order with 0..count-1 so that key rises; equal keys stand in order of
 * index. No key may be not-a-number. qsort is not used: it may take heap. */
void be_order(const double *key, size_t count, size_t *order);

#endif
