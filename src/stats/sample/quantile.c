/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/inside.h"

#include <assert.h>
#include <float.h>
#include <math.h>

/* The j-th pull, counted from 1, held inside the set. */
static double pull_at(const double *sorted, size_t n, double j)
{
  if (j < 1) return sorted[0];
  return sorted[j >= (double)n ? n - 1 : (size_t)j - 1];
}

/* How far past pull j the steps of types 1 to 3 go; they have no part between. */
static double step_of(double part, double j, int type)
{
  if (part > 0) return 1;
  if (type == 1) return 0;
  if (type == 2) return 0.5;
  return fmod(j, 2) == 0 ? 0 : 1;
}

/* Hyndman and Fan: Q(p) = (1 - g) x_(j) + g x_(j+1), j = floor(np + m), g by type;
 * m = a + p (1 - a - b) for types 4 to 9. A place within rounding of a whole number
 * is that number, else 0.1 x 30 would stand past 3. */
double be_quantile(const double *sorted, size_t n, double p, int type)
{
  static const double a[] = {0, 0.5, 0, 1, 1.0 / 3, 0.375}, b[] = {1, 0.5, 0, 1, 1.0 / 3, 0.375};
  assert(n > 0 && p >= 0 && p <= 1 && type >= 1 && type <= 9);
  double place = (double)n * p - (type == 3 ? 0.5 : 0);
  if (type >= 4) place = a[type - 4] + p * ((double)n + 1 - a[type - 4] - b[type - 4]);
  double j = floor(place + 4 * DBL_EPSILON * (double)n), part = place - j;
  if (part <= 4 * DBL_EPSILON * (double)n) part = 0;
  if (type <= 3) part = step_of(part, j, type);
  double low = pull_at(sorted, n, j), high = pull_at(sorted, n, j + 1);
  return part == 0 ? low : part == 1 ? high : low + part * (high - low);
}

size_t be_order_interval(const double *mass, size_t count, double level, double *reached)
{
  /* A tail equal to its share counts, whichever way it was rounded. */
  double enough = (1 - level) / 2 * (1 + 1e-12), below = mass[0];
  size_t r = 1;
  while (r <= (count - 1) / 2 && below + mass[r] <= enough) below += mass[r++];
  *reached = 1 - 2 * below;
  return r;
}

size_t be_order_interval_normal(double mean, double sd, double level)
{
  double r = floor(mean + 0.5 - be_normal_quantile((1 - level) / 2) * sd);
  return r < 1 ? 1 : (size_t)r;
}
