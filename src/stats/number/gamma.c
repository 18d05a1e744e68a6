/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <float.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>

/* Series and fraction need about 10 sqrt(a) terms; this serves a to 1e10. */
static const int TERMS_MAX = 1000000;
static const double HALF_LOG_2_PI = 0.91893853320467274178;

/* log(1 + x) = 2 atanh(r), r = x / (2 + x), and 2 r = x - x r, so that the first
 * order drops out by hand. */
double be_log1p_less(double x)
{
  if (fabs(x) > 0.4) return log1p(x) - x;
  double r = x / (2 + x), squared = r * r, sum = 0;
  for (int k = 25; k >= 3; k -= 2) sum = (sum + 1.0 / k) * squared; /* r^26 < 1e-15 of the first */
  return r * (2 * sum - x);
}

/* From 12 on by the asymptotic series (NIST DLMF 5.11.1), whose next term is
 * below 1e-16 there; below, lngamma itself is small enough. */
double be_stirling_rest(double a)
{
  assert(a > 0);
  if (a < 12) return gsl_sf_lngamma(a) - ((a - 0.5) * log(a) - a + HALF_LOG_2_PI);
  double s = 1 / (a * a);
  static const double terms[] = {-691.0 / 360360, 1.0 / 1188, -1.0 / 1680,
                                 1.0 / 1260,      -1.0 / 360, 1.0 / 12};
  double sum = 1.0 / 156;
  for (size_t i = 0; i < sizeof terms / sizeof terms[0]; i++) sum = sum * s + terms[i];
  return sum / a;
}

/* x^a e^-x / Gamma(a + 1). For large a the logarithm is written about its peak,
 * x = a: else three large numbers would cancel (C. Loader, Fast and Accurate
 * Computation of Binomial Probabilities, 2000). */
static double front(double a, double x)
{
  if (a < 12) return exp(a * log(x) - x - gsl_sf_lngamma(a + 1));
  double about_peak = a * be_log1p_less((x - a) / a);
  return exp(about_peak - be_stirling_rest(a) - 0.5 * log(a) - HALF_LOG_2_PI);
}

/* NIST DLMF 8.11.4. */
static double lower_series(double a, double x)
{
  double term = 1, sum = 1;
  for (int k = 1; k < TERMS_MAX && term > sum * DBL_EPSILON / 4; k++) {
    term *= x / (a + k);
    sum += term;
  }
  return sum;
}

/* a / x times the even part of the fraction of NIST DLMF 8.9.2, from the front by
 * the modified method of Lentz; all denominators are positive for x >= a + 1. */
static double upper_fraction(double a, double x)
{
  double base = x + 1 - a, c = INFINITY, d = 1 / base, value = d;
  for (int k = 1; k < TERMS_MAX; k++) {
    double over = k * (a - k);
    base += 2;
    d = 1 / (base + over * d);
    c = base + over / c;
    value *= c * d;
    if (fabs(c * d - 1) < DBL_EPSILON) break;
  }
  return value * a;
}

double be_gamma_lower(double a, double x)
{
  assert(a > 0 && a <= DBL_MAX);
  if (isnan(x)) return x;
  if (x <= 0) return 0;
  if (isinf(x)) return 1;
  if (x < a + 1) return fmin(front(a, x) * lower_series(a, x), 1);
  return 1 - front(a, x) * upper_fraction(a, x);
}

double be_gamma_upper(double a, double x)
{
  assert(a > 0 && a <= DBL_MAX);
  if (isnan(x)) return x;
  if (x <= 0) return 1;
  if (isinf(x)) return 0;
  if (x < a + 1) return fmax(1 - front(a, x) * lower_series(a, x), 0);
  return front(a, x) * upper_fraction(a, x);
}

double be_chi2_upper(double x, double df)
{
  return be_gamma_upper(df / 2, x / 2);
}

struct sought {
  double upper, df;
};

static double chi2_over(double x, const void *context)
{
  const struct sought *sought = context;
  if (sought->upper <= 0.5) return be_chi2_upper(x, sought->df) - sought->upper;
  return (1 - sought->upper) - be_gamma_lower(sought->df / 2, x / 2);
}

double be_chi2_quantile(double upper, double df)
{
  assert(upper > 0 && upper < 1 && df > 0);
  const struct sought sought = {upper, df};
  return be_root_positive(chi2_over, &sought);
}
