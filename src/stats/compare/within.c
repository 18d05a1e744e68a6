/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/compare/compare.h"

#include <math.h>

static size_t stratum_end(const size_t *stratum, size_t n, size_t from)
{
  size_t end = from + 1;
  while (end < n && stratum[end] == stratum[from]) end++;
  return end;
}

static double mean_of(const double *x, size_t from, size_t end)
{
  double sum = 0;
  for (size_t i = from; i < end; i++) sum += (x[i] - x[from]) / (double)(end - from);
  return x[from] + sum;
}

static bool varies(const double *x, size_t from, size_t end)
{
  for (size_t i = from + 1; i < end; i++)
    if (x[i] != x[from]) return true;
  return false;
}

/* Analysis of covariance with a level for each stratum (W. G. Cochran, Biometrics 13, 1957):
 * the scatter is that about the common slope. */
struct be_estimate be_within(const double *x, const double *y, const size_t *stratum, size_t n,
                             size_t *strata)
{
  double xx = 0, xy = 0, yy = 0;
  struct be_estimate slope = {NAN, NAN, 0, 0};
  *strata = 0;
  for (size_t i = 0, end; i < n; i = end) {
    end = stratum_end(stratum, n, i);
    if (!varies(x, i, end)) continue;
    double mx = mean_of(x, i, end), my = mean_of(y, i, end);
    for (size_t k = i; k < end; k++) {
      xx += (x[k] - mx) * (x[k] - mx);
      xy += (x[k] - mx) * (y[k] - my);
      yy += (y[k] - my) * (y[k] - my);
    }
    slope.n += end - i;
    ++*strata;
  }
  if (*strata == 0) return slope;
  slope.value = xy / xx;
  /* What is left of so many rounding errors is no scatter. */
  double rest = yy - slope.value * xy, nothing = 1e-12 * yy;
  if (slope.n <= *strata + 1 || !(rest > nothing)) return slope;
  slope.df = (double)(slope.n - *strata - 1);
  slope.variance = rest / slope.df / xx;
  return slope;
}
