/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

static const double PI = 3.14159265358979323846;
enum { PIECES = BE_TAIL_PIECES, TERMS = BE_TAIL_TERMS, TURN = 4 * TERMS };

/* Chebyshev coefficients in each piece, from the values at the zeros of T_TERMS. */
void be_tail_fill(struct be_tail *tail, double (*f)(double w, const void *context),
                  const void *context)
{
  double cosine[TURN];
  for (size_t i = 0; i < TURN; i++) cosine[i] = cos(2 * PI * (double)i / TURN);
  double width = (tail->high - tail->low) / PIECES;
  for (size_t piece = 0; piece < PIECES; piece++) {
    double values[TERMS];
    for (size_t i = 0; i < TERMS; i++)
      values[i] = f(tail->low + width * ((double)piece + (1 + cosine[2 * i + 1]) / 2), context);
    for (size_t term = 0; term < TERMS; term++) {
      double sum = 0;
      for (size_t i = 0; i < TERMS; i++) sum += values[i] * cosine[term * (2 * i + 1) % TURN];
      tail->terms[piece][term] = sum * (term ? 2.0 : 1.0) / TERMS;
    }
  }
}

/* P(M > w), by Clenshaw's recurrence. */
static double beyond(const struct be_tail *tail, double w)
{
  double at = (w - tail->low) * (PIECES / (tail->high - tail->low));
  if (at < 0) return 1;
  if (!(at < PIECES)) return 0;
  size_t piece = (size_t)at;
  double x = 2 * (at - (double)piece) - 1, b = 0, b_before = 0;
  for (size_t term = TERMS - 1; term > 0; term--) {
    double next = tail->terms[piece][term] + 2 * x * b - b_before;
    b_before = b;
    b = next;
  }
  return tail->terms[piece][0] + x * b - b_before;
}

struct wanted {
  const struct be_tail *tail;
  double q, df, upper;
};

static double beyond_scaled(double s, const void *context)
{
  const struct wanted *wanted = context;
  return beyond(wanted->tail, wanted->q * s);
}

double be_tail_upper(const struct be_tail *tail, double q, double df)
{
  assert(df > 0);
  if (isnan(q)) return q;
  if (q <= 0 && tail->low == 0) return 1;
  const struct wanted wanted = {tail, q, df, 0};
  /* In log S. A step half as wide changes less than 1e-13: tried for 2 to 200 normals. */
  double step = tail->normals <= 16 ? 0.1 : 0.05;
  return fmin(fmax(be_scale_mean(beyond_scaled, &wanted, df, step), 0), 1);
}

static double over_at(double q, const void *context)
{
  const struct wanted *wanted = context;
  return log(be_tail_upper(wanted->tail, q, wanted->df) / wanted->upper);
}

static double over_at_exp(double log_q, const void *context)
{
  return over_at(exp(log_q), context);
}

/* Of logarithms, since for few degrees of freedom the tail is a power of q. */
double be_tail_quantile(const struct be_tail *tail, double upper, double df)
{
  assert(upper > 0 && upper < 1 && df > 0);
  const struct wanted wanted = {tail, 0, df, upper};
  if (tail->low == 0) return exp(be_root_anywhere(over_at_exp, &wanted, 1));
  return be_root_anywhere(over_at, &wanted, 2);
}
