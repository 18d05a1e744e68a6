/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <float.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>

/* 9 deviations out the normal tail is 1e-19. */
static const double SURELY = 9;

struct shifted {
  double t, shift;
};

static double upper_given(double s, const void *context)
{
  const struct shifted *shifted = context;
  return be_normal_upper(shifted->t * s - shifted->shift);
}

/* P(T > t) is the mean of Phi(shift - t S) over the distribution of S, smooth in
 * log S as well; a step of half its width there leaves an error near exp(-4 pi^2). */
double be_noncentral_t_upper(double t, double df, double noncentrality)
{
  assert(df > 0);
  double shift = noncentrality;
  if (isnan(t) || isnan(shift)) return NAN;
  if (t < 0) return 1 - be_noncentral_t_upper(-t, df, -shift);
  if (t == 0) return be_normal_upper(-shift);
  if (isinf(t)) return 0;
  /* S is below 1 + 9 / sqrt(df) (Laurent and Massart, Ann. Stat. 28, 2000) but for 1e-17. */
  if (shift - t * (1 + SURELY / sqrt(df)) > SURELY) return 1;
  const struct shifted shifted = {t, shift};
  return be_scale_mean(upper_given, &shifted, df, fmin(0.1, 0.5 / fmax(fabs(shift), 1)));
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
