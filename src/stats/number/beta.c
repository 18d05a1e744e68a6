/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"

#include <assert.h>
#include <float.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>
#include <stdbool.h>

/* Above this many degrees of freedom the expansion in be_t_upper is as good as
 * the continued fraction, the number of whose terms grows with sqrt(df). */
static const double NORMAL_FROM_DF = 1e4;
/* The fraction needs about sqrt(max(a, b)) terms; this serves a, b to 1e11. */
static const int TERMS_MAX = 1000000;
/* Bisection alone closes any bracket of doubles in about 1100 steps. */
static const int STEPS_MAX = 2000;
static const double NORMAL_DENSITY_0 = 0.39894228040143267794;

double be_normal_upper(double z)
{
  return 0.5 * erfc(z / sqrt(2));
}

static double away_from_zero(double x)
{
  return fabs(x) < DBL_MIN / DBL_EPSILON ? DBL_MIN / DBL_EPSILON : x;
}

/* The continued fraction of NIST DLMF 8.17.22, evaluated from the front by the
 * modified method of Lentz (Thompson and Barnett, J. Comput. Phys. 64, 1986). */
static double beta_fraction(double x, double a, double b)
{
  double c = 1;
  double d = 1 / away_from_zero(1 - (a + b) * x / (a + 1));
  double value = d;
  for (int m = 1; m < TERMS_MAX; m++) {
    double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / away_from_zero(1 + even * d);
    c = away_from_zero(1 + even / c);
    value *= d * c;
    double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / away_from_zero(1 + odd * d);
    c = away_from_zero(1 + odd / c);
    value *= d * c;
    if (fabs(d * c - 1) < 2 * DBL_EPSILON) break; /* the last factor no longer counts */
  }
  return value;
}

static double log_of_share(double x, double y)
{
  return x > 0.5 ? log1p(-y) : log(x);
}

double be_beta_lower(double x, double y, double a, double b)
{
  assert(a > 0 && b > 0 && a <= DBL_MAX && b <= DBL_MAX);
  if (x <= 0) return 0;
  if (y <= 0) return 1;
  double front = exp(a * log_of_share(x, y) + b * log_of_share(y, x) - gsl_sf_lnbeta(a, b));
  if (x < (a + 1) / (a + b + 2)) return front * beta_fraction(x, a, b) / a;
  return 1 - front * beta_fraction(y, b, a) / b;
}

/* Halves [low, high] until no double lies between. */
double be_beta_quantile(double p, double a, double b)
{
  assert(p > 0 && p < 1);
  double low = 0, high = 1;
  for (;;) {
    double middle = low + (high - low) / 2;
    if (middle <= low || middle >= high) return middle;
    if (be_beta_lower(middle, 1 - middle, a, b) < p) low = middle;
    else high = middle;
  }
}

/* P(T > t) = I_x(df/2, 1/2) / 2 with x = df / (df + t^2) (Abramowitz and
 * Stegun, 26.7.1); in the far tail its leading term alone, since x would lose
 * everything. For many degrees of freedom Hill's normal deviate (G. W. Hill,
 * Comm. ACM 13, 1970, algorithm 395), whose next term is below 1e-13 here. */
double be_t_upper(double t, double df)
{
  assert(df > 0);
  if (isnan(t)) return t;
  if (t < 0) return 1 - be_t_upper(-t, df);
  if (isinf(df)) return be_normal_upper(t);
  double root = t / sqrt(df), squared = root * root;
  if (root > 1e9) return exp(df * (log(df) / 2 - log(t)) - gsl_sf_lnbeta(df / 2, 0.5)) / df;
  if (df > NORMAL_FROM_DF) {
    double w = sqrt((df - 0.5) * log1p(squared));
    return be_normal_upper(w + (w * w + 3) * w / (48 * (df - 0.5) * (df - 0.5)));
  }
  return be_beta_lower(1 / (1 + squared), squared / (1 + squared), df / 2, 0.5) / 2;
}

static double t_density(double t, double df)
{
  if (isinf(df)) return exp(-t * t / 2) * NORMAL_DENSITY_0;
  return exp(-(df + 1) / 2 * log1p(t * t / df) - gsl_sf_lnbeta(df / 2, 0.5)) / sqrt(df);
}

/* Newton's steps on the tail, kept inside a bracket that closes with each; a
 * step that would leave it is a bisection. */
double be_t_quantile(double upper, double df)
{
  assert(upper > 0 && upper <= 0.5);
  double low = 0, high = 1;
  while (be_t_upper(high, df) > upper) {
    low = high;
    high *= 8;
    if (isinf(high)) return high;
  }
  double t = low + (high - low) / 2;
  for (int step = 0; step < STEPS_MAX; step++) {
    double over = be_t_upper(t, df) - upper;
    if (over > 0) low = t;
    else high = t;
    double next = t + over / t_density(t, df);
    if (!(next > low && next < high)) next = low + (high - low) / 2;
    if (fabs(next - t) <= 2 * DBL_EPSILON * t || next <= low || next >= high) return next;
    t = next;
  }
  return t;
}
