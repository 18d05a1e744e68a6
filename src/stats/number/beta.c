/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"
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

static double away_from_zero(double x)
{
  return fabs(x) < DBL_MIN / DBL_EPSILON ? DBL_MIN / DBL_EPSILON : x;
}

/* I_x(a, b) over x^a y^b / B(a, b): the continued fraction of DiDonato and Morris
 * (ACM TOMS 18, 1992, algorithm 708, equation 9), which is the even part of NIST
 * DLMF 8.17.22 with a - (a + b) x as one number, so that nothing cancels as x
 * nears 1; from the front by the modified method of Lentz (Thompson and Barnett,
 * J. Comput. Phys. 64, 1986). */
static double beta_fraction(double x, double y, double a, double b)
{
  double from_mean = x > y ? (a + b) * y - b : a - (a + b) * x;
  double below = a / (a + 1) * (from_mean + 1);
  double c = INFINITY, d = 1 / away_from_zero(below), value = d;
  for (int n = 1; n < TERMS_MAX; n++) {
    double s = a + 2.0 * n, w = n * (b - n) * x;
    double over = (a + n - 1) / (s - 1) * ((a + b + n - 1) / (s - 1)) * w * x;
    below = n + w / (s - 1) + (a + n) / (s + 1) * (from_mean + 1 + n * (1 + y));
    d = 1 / away_from_zero(below + over * d);
    c = away_from_zero(below + over / c);
    value *= d * c;
    if (fabs(d * c - 1) < 2 * DBL_EPSILON) break; /* the last factor no longer counts */
  }
  return value;
}

static double log_of_share(double x, double y)
{
  return x > 0.5 ? log1p(-y) : log(x);
}

/* x^a y^b / B(a, b). For large a and b the logarithm is written about its peak,
 * x = a / (a + b): else large numbers would cancel (C. Loader, Fast and Accurate
 * Computation of Binomial Probabilities, 2000). */
static double front(double x, double y, double a, double b)
{
  if (a < 12 || b < 12)
    return exp(a * log_of_share(x, y) + b * log_of_share(y, x) - gsl_sf_lnbeta(a, b));
  double sum = a + b, off = x < y ? x - a / sum : b / sum - y;
  double about_peak = a * be_log1p_less(off * sum / a) + b * be_log1p_less(-off * sum / b);
  double rest = be_stirling_rest(sum) - be_stirling_rest(a) - be_stirling_rest(b);
  return exp(about_peak + rest) * sqrt(a / sum * b) * NORMAL_DENSITY_0;
}

double be_beta_lower(double x, double y, double a, double b)
{
  assert(a > 0 && b > 0 && a <= DBL_MAX && b <= DBL_MAX);
  if (x <= 0) return 0;
  if (y <= 0) return 1;
  if (x < (a + 1) / (a + b + 2)) return front(x, y, a, b) * beta_fraction(x, y, a, b);
  return 1 - front(x, y, a, b) * beta_fraction(y, x, b, a);
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

/* P(F > f) = I_x(df2/2, df/2), x = df2 / (df2 + df f) (Abramowitz and Stegun, 26.6.2). */
double be_f_upper(double f, double df, double df2)
{
  assert(df > 0 && df2 > 0);
  if (isnan(f)) return f;
  if (f <= 0) return 1;
  if (isinf(f)) return 0;
  if (isinf(df2)) return be_chi2_upper(df * f, df);
  double ratio = df / df2 * f;
  return be_beta_lower(1 / (1 + ratio), ratio / (1 + ratio), df2 / 2, df / 2);
}

struct sought {
  double upper, df, df2;
};

static double f_over(double f, const void *context)
{
  const struct sought *sought = context;
  return be_f_upper(f, sought->df, sought->df2) - sought->upper;
}

double be_f_quantile(double upper, double df, double df2)
{
  assert(upper > 0 && upper < 1 && df > 0 && df2 > 0);
  const struct sought sought = {upper, df, df2};
  return be_root_positive(f_over, &sought);
}
