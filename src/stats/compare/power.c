/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <float.h>
#include <math.h>

/* Below this a side has no twentieth of a degree of freedom, and the critical
 * t no longer fits a double for small alpha. */
static const double N_LEAST = 1.05;
/* exp(-40) = 4e-18: what lies beyond adds nothing to a sum near 1. */
static const double TAIL = -40;
/* 9 deviations out the normal tail is 1e-19. */
static const double SURELY = 9;
/* Reached only for shifts of thousands of deviations. */
static const double STEPS_MAX = 1e6;

/* Logarithm of the density of u = log(S), S = sqrt(chi^2_df / df), but for a
 * constant: df (u - (exp(2u) - 1) / 2). Near 0 its series, since the first
 * order cancels. */
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

/* P(T > critical) of the noncentral t: the mean of Phi(shift - critical S) over
 * the distribution of S. In u = log S both factors are smooth and the density
 * dies at both ends, where the trapezoidal rule converges geometrically
 * (Trefethen and Weideman, SIAM Rev. 56, 2014). Its step is at most half the
 * width of either factor, which leaves an error near exp(-8 pi^2). The same
 * sum of the density alone divides, so no gamma function is needed. */
static double noncentral_upper(double critical, double df, double shift)
{
  double width = sqrt(0.5 / df);
  double low = tail_end(-fmin(width, 1), df), high = tail_end(fmin(width, 1), df);
  if (shift - critical * exp(high) > SURELY) return 1;
  double step = fmin(fmin(0.1, width / 2), 0.5 / fmax(shift, 1));
  step = fmax(step, (high - low) / STEPS_MAX);
  double above = 0, all = 0;
  for (double i = 0; low + i * step < high; i++) {
    double u = low + i * step;
    double weight = exp(log_density(u, df));
    all += weight;
    above += weight * be_normal_upper(critical * exp(u) - shift);
  }
  return above / all;
}

double be_power_two(double shift, double n_each, double alpha)
{
  assert(alpha > 0 && alpha < 1);
  if (isnan(shift) || !(n_each >= N_LEAST)) return NAN;
  double noncentrality = shift == 0 ? 0 : fabs(shift) * sqrt(n_each / 2);
  double df = 2 * (n_each - 1);
  double critical = be_t_quantile(alpha / 2, df);
  if (isinf(noncentrality)) return isinf(critical) ? NAN : 1;
  if (isinf(df)) return be_normal_upper(critical - noncentrality);
  return isinf(critical) ? NAN : noncentral_upper(critical, df, noncentrality);
}

double be_power_two_n(double shift, double alpha, double power)
{
  assert(alpha > 0 && alpha < 1 && power > 0 && power < 1);
  if (isnan(shift)) return shift;
  if (shift == 0) return INFINITY;
  double low = 2, high = 2; /* fewer than 2 a side have no scatter */
  while (be_power_two(shift, high, alpha) < power) {
    low = high;
    high *= 2;
    if (isinf(high)) return high;
  }
  while (high - low > 1e-11 * high) { /* far finer than one pull */
    double middle = low + (high - low) / 2;
    if (be_power_two(shift, middle, alpha) < power) low = middle;
    else high = middle;
  }
  return high;
}
