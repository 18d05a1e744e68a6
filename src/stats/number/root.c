/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"
#include "stats/number/number.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

/* Bisection alone closes any bracket of doubles in about 2200 steps, and every
 * second step at the least is one. */
static const int STEPS_MAX = 5000;

struct bracket {
  double at, f_at;         /* the best so far */
  double other, f_other;   /* on the other side of the root */
  double before, f_before; /* where `at` was one step ago */
};

/* How far from at towards the root: the inverse parabola through three points,
 * or the secant through two. 0 where there is none. */
static double curved_step(const struct bracket *b)
{
  double s = b->f_at / b->f_before, p, q;
  if (b->before == b->other) {
    p = (b->other - b->at) * s;
    q = 1 - s;
  } else {
    double r = b->f_at / b->f_other, u = b->f_before / b->f_other;
    p = s * ((b->other - b->at) * u * (u - r) - (b->at - b->before) * (r - 1));
    q = (u - 1) * (r - 1) * (s - 1);
  }
  return -p / q;
}

/* Keeps the root between at and other, and the smaller f in at. */
static void put_in_order(struct bracket *b)
{
  if ((b->f_at > 0) == (b->f_other > 0)) {
    b->other = b->before;
    b->f_other = b->f_before;
  }
  if (fabs(b->f_other) < fabs(b->f_at)) {
    b->before = b->at;
    b->f_before = b->f_at;
    b->at = b->other;
    b->f_at = b->f_other;
    b->other = b->before;
    b->f_other = b->f_before;
  }
}

/* R. P. Brent, Algorithms for Minimization without Derivatives, 1973, chapter 4.
 * A curved step is taken when it falls well inside the bracket and halves the
 * step before the last, else the bracket is halved. */
double be_root(double (*f)(double x, const void *context), const void *context, double low,
               double high)
{
  struct bracket b = {high, f(high, context), low, f(low, context), low, 0};
  b.f_before = b.f_other;
  if (b.f_other == 0) return low;
  if (b.f_at == 0) return high;
  if (isnan(b.f_at) || isnan(b.f_other) || (b.f_at > 0) == (b.f_other > 0)) return NAN;
  double step = high - low, last = step;
  for (int i = 0; i < STEPS_MAX; i++) {
    put_in_order(&b);
    double least = fmax(DBL_EPSILON / 2 * fabs(b.at), DBL_TRUE_MIN);
    double half = (b.other - b.at) / 2;
    if (fabs(half) <= least || b.f_at == 0) break;
    double curved = curved_step(&b);
    bool inside = curved / half > 0 && fabs(curved) < 1.5 * fabs(half) - least / 2;
    if (fabs(last) > least && inside && fabs(curved) < fabs(last) / 2) {
      last = step;
      step = curved;
    } else {
      last = step = half;
    }
    b.before = b.at;
    b.f_before = b.f_at;
    b.at += fabs(step) > least ? step : copysign(least, half);
    if (b.at == b.before) b.at = nextafter(b.at, b.other);
    b.f_at = f(b.at, context);
    if (isnan(b.f_at)) return NAN;
  }
  return b.at;
}

double be_root_positive(double (*f)(double x, const void *context), const void *context)
{
  double low = 1, high = 1;
  while (f(low, context) < 0) {
    high = low;
    low /= 8;
    if (low == 0) return 0;
  }
  while (low == high || f(high, context) > 0) {
    if (low < high) low = high;
    high = low * 8;
    if (isinf(high)) return high;
  }
  return be_root(f, context, low, high);
}

double be_root_anywhere(double (*f)(double x, const void *context), const void *context,
                        double start)
{
  double low = start, high = start;
  for (double reach = 1; f(low, context) < 0; reach *= 4) {
    high = low;
    low -= reach;
    if (isinf(low)) return low;
  }
  for (double reach = 1; low == high || f(high, context) > 0; reach *= 4) {
    if (low < high) low = high;
    high = low + reach;
    if (isinf(high)) return high;
  }
  return be_root(f, context, low, high);
}
