/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

/* Below this a side has no twentieth of a degree of freedom, and the critical
 * t no longer fits a double for small alpha. */
static const double N_LEAST = 1.05;

double be_power_two(double shift, double n_each, double alpha)
{
  assert(alpha > 0 && alpha < 1);
  if (isnan(shift) || !(n_each >= N_LEAST)) return NAN;
  double noncentrality = shift == 0 ? 0 : fabs(shift) * sqrt(n_each / 2);
  double df = 2 * (n_each - 1);
  double critical = be_t_quantile(alpha / 2, df);
  if (isinf(noncentrality)) return isinf(critical) ? NAN : 1;
  if (isinf(df)) return be_normal_upper(critical - noncentrality);
  return isinf(critical) ? NAN : be_noncentral_t_upper(critical, df, noncentrality);
}

double be_power_two_n(double shift, double alpha, double power)
{
  assert(alpha > 0 && alpha < 1 && power > 0 && power < 1);
  if (isnan(shift)) return shift;
  if (shift == 0) return INFINITY;
  double low = 2, high = 2; /* fewer than 2 a side have no scatter */
  while (be_power_two(shift, high, alpha) < power) {
    low = high;
    high *= 2;
    if (isinf(high)) return high;
  }
  while (high - low > 1e-11 * high) { /* far finer than one pull */
    double middle = low + (high - low) / 2;
    if (be_power_two(shift, middle, alpha) < power) low = middle;
    else high = middle;
  }
  return high;
}
