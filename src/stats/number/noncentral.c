/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <float.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>

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

/* P(T > t) is the mean of Phi(shift - t S) over the distribution of S. In
 * u = log S both factors are smooth and the density dies at both ends, where the
 * trapezoidal rule converges geometrically (Trefethen and Weideman, SIAM Rev. 56,
 * 2014). Its step is at most half the width of either factor, which leaves an
 * error near exp(-4 pi^2). The same sum of the density alone divides, so no gamma
 * function is needed. */
double be_noncentral_t_upper(double t, double df, double noncentrality)
{
  assert(df > 0);
  double shift = noncentrality;
  if (isnan(t) || isnan(shift)) return NAN;
  if (t < 0) return 1 - be_noncentral_t_upper(-t, df, -shift);
  if (isinf(df) || t == 0) return be_normal_upper(t - shift);
  if (isinf(t)) return 0;
  double width = sqrt(0.5 / df);
  double low = tail_end(-fmin(width, 1), df), high = tail_end(fmin(width, 1), df);
  if (shift - t * exp(high) > SURELY) return 1;
  double step = fmin(fmin(0.1, width / 2), 0.5 / fmax(fabs(shift), 1));
  step = fmax(step, (high - low) / STEPS_MAX);
  double above = 0, all = 0;
  for (double i = 0; low + i * step < high; i++) {
    double u = low + i * step;
    double weight = exp(log_density(u, df));
    all += weight;
    above += weight * be_normal_upper(t * exp(u) - shift);
  }
  return above / all;
}

struct sought {
  double upper, df, noncentrality;
};

static double t_over(double t, const void *context)
{
  const struct sought *sought = context;
  return be_noncentral_t_upper(t, sought->df, sought->noncentrality) - sought->upper;
}

double be_noncentral_t_quantile(double upper, double df, double noncentrality)
{
  assert(upper > 0 && upper < 1 && df > 0 && isfinite(noncentrality));
  const struct sought sought = {upper, df, noncentrality};
  return be_root_anywhere(t_over, &sought, noncentrality);
}

/* P(F > f) where j pairs of degrees of freedom are added to the numerator. */
static double upper_with(double f, double df, double df2, double j)
{
  if (isinf(df2)) return be_gamma_upper(df / 2 + j, df * f / 2);
  double x = df2 / (df2 + df * f), y = df * f / (df2 + df * f);
  return be_beta_lower(x, y, df2 / 2, df / 2 + j);
}

/* A Poisson mixture of central tails (Johnson, Kotz and Balakrishnan, Continuous
 * Univariate Distributions 2, 1995, 30.10), summed from the likeliest term to both
 * sides until the weights no longer count. */
double be_noncentral_f_upper(double f, double df, double df2, double noncentrality)
{
  assert(df > 0 && df2 > 0 && noncentrality >= 0);
  if (isnan(f) || isnan(noncentrality)) return NAN;
  if (f <= 0) return 1;
  if (isinf(f)) return 0;
  double mean = noncentrality / 2, middle = floor(mean);
  if (mean == 0) return upper_with(f, df, df2, 0);
  double peak = exp(middle * log(mean) - mean - gsl_sf_lngamma(middle + 1));
  double all = 0, above = 0, weight = peak;
  for (double j = middle; weight > peak * DBL_EPSILON / 64; j++) {
    all += weight;
    above += weight * upper_with(f, df, df2, j);
    weight *= mean / (j + 1);
  }
  weight = peak;
  for (double j = middle; j > 0; j--) {
    weight *= j / mean;
    if (weight < peak * DBL_EPSILON / 64) break;
    all += weight;
    above += weight * upper_with(f, df, df2, j - 1);
  }
  return above / all;
}
