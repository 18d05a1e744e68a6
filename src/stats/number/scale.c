/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"

#include <assert.h>
#include <math.h>

/* exp(-40) = 4e-18: what lies beyond adds nothing to a sum near 1. */
static const double TAIL = -40;
/* Reached only for shifts of thousands of deviations. */
static const double STEPS_MAX = 1e6;

/* Logarithm of the density of u = log(S), but for a constant:
 * df (u - (exp(2u) - 1) / 2). Near 0 its series, since the first order cancels. */
static double log_density(double u, double df)
{
  if (fabs(u) > 1e-3) return df * (u - expm1(2 * u) / 2);
  double w = 2 * u; /* next term: w^6 / 1440, 1e-13 of the first */
  return -df * w * w / 4 * (1 + w / 3 * (1 + w / 4 * (1 + w / 5)));
}

/* The u at which log_density falls to TAIL, on the side of `step`. */
static double tail_end(double step, double df)
{
  double u = step;
  while (log_density(u, df) > TAIL) u += step;
  return u;
}

/* In u = log S the density dies at both ends, where the trapezoidal rule converges
 * geometrically (Trefethen and Weideman, SIAM Rev. 56, 2014): a step of half the
 * width of the density leaves an error near exp(-4 pi^2). The same sum of the
 * density alone divides, so no gamma function is needed. */
double be_scale_mean(double (*f)(double s, const void *context), const void *context, double df,
                     double step)
{
  assert(df > 0 && step > 0);
  if (isinf(df)) return f(1, context);
  double width = sqrt(0.5 / df);
  double low = tail_end(-fmin(width, 1), df), high = tail_end(fmin(width, 1), df);
  step = fmax(fmin(step, width / 2), (high - low) / STEPS_MAX);
  double sum = 0, all = 0;
  for (double i = 0; low + i * step < high; i++) {
    double u = low + i * step;
    double weight = exp(log_density(u, df));
    all += weight;
    sum += weight * f(exp(u), context);
  }
  return sum / all;
}
