/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace/events/events.h"

#include <math.h>

/* Written as the processor's own minimum and maximum, so that no branch is taken. */
static inline double least(double a, double b)
{
  return a < b ? a : b;
}

static inline double most(double a, double b)
{
  return a > b ? a : b;
}

static inline double middle(double a, double b, double c)
{
  return most(least(a, b), least(most(a, b), c));
}

void be_smooth(const double *restrict x, size_t n, double *restrict out)
{
  if (n > 0) out[0] = x[0];
  for (size_t i = 1; i + 1 < n; i++) out[i] = middle(x[i - 1], x[i], x[i + 1]);
  if (n > 1) out[n - 1] = x[n - 1];
}

/* ---- noise ---- */

/* Readings have a step if what neighbours differ by comes in whole steps: 19 in 20,
 * of 20 or more, to a fiftieth of a step, far more than the rounding of units. */
static bool are_multiples(const double *x, size_t n, double step)
{
  size_t whole = 0, all = 0;
  for (size_t i = 0; i < n; i++) {
    double steps = x[i] / step;
    if (!(steps > 0.02)) continue;
    all++;
    whole += fabs(steps - nearbyint(steps)) < 0.02;
  }
  return all >= 20 && whole * 20 >= all * 19;
}

/* A second difference of readings with independent noise of deviation s has
 * deviation s sqrt(6) and does not feel the slope; the median of the absolute
 * value of a normal deviate is 0.6745 deviations. From 4,096 places that median
 * is good to about 2 %, and more would only cost time. */
static double noise_of(const double *x, size_t n, size_t stride, double *scratch, double *step)
{
  size_t count = 0, level = 0;
  double smallest = INFINITY;
  *step = 0;
  if (n < 3) return 0;
  for (size_t i = 1; i + 1 < n && count < BE_NOISE_ROWS; i += stride) {
    double change = fabs(x[i] - x[i - 1]);
    if (change > 0) smallest = fmin(smallest, change);
    else level++;
    scratch[count++] = fabs(x[i + 1] - 2 * x[i] + x[i - 1]);
  }
  double noise = be_median(scratch, count) / (0.6745 * sqrt(6.0));
  if (!isfinite(smallest)) return noise;
  if (are_multiples(scratch, count, smallest)) *step = smallest;
  /* Readings that repeat are rounded to a step; rounding alone has deviation
   * step / sqrt(12). */
  if (level * 4 > count) noise = fmax(noise, smallest / sqrt(12.0));
  return noise;
}

double be_noise(const double *x, size_t n, double *scratch, double *step)
{
  return noise_of(x, n, n > BE_NOISE_ROWS + 2 ? (n - 2) / BE_NOISE_ROWS : 1, scratch, step);
}

double be_noise_of_triples(const double *x, size_t triples, double *scratch, double *step)
{
  return noise_of(x, 3 * triples, 3, scratch, step);
}

double be_mean(const double *x, size_t n)
{
  double sum = 0;
  for (size_t i = 0; i < n; i++) sum += x[i];
  return sum / (double)n;
}

double be_rise_over(const double *x, size_t n)
{
  double mean = be_mean(x, n), slope = 0, spread = 0, middle_row = (double)(n - 1) / 2;
  for (size_t i = 0; i < n; i++) {
    slope += ((double)i - middle_row) * (x[i] - mean);
    spread += ((double)i - middle_row) * ((double)i - middle_row);
  }
  return spread > 0 ? slope / spread * (double)(n - 1) : 0;
}
