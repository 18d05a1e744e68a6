/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

/* The rate at which k or more of n have probability `tail`; k > 0. */
static double lower_end(size_t k, size_t n, double tail)
{
  return be_beta_quantile(tail, (double)k, (double)(n - k) + 1);
}

/* The rate at which k or fewer of n have probability `tail`; k < n. With k = 0
 * that is (1 - rate)^n = tail, which keeps its digits for large n. */
static double upper_end(size_t k, size_t n, double tail)
{
  if (k == 0) return -expm1(log(tail) / (double)n);
  return be_beta_quantile(1 - tail, (double)k + 1, (double)(n - k));
}

struct be_interval be_rate_exact(size_t k, size_t n, double level)
{
  assert(k <= n && level > 0 && level < 1);
  struct be_interval interval = {0, 1, level};
  if (k > 0) interval.low = lower_end(k, n, (1 - level) / 2);
  if (k < n) interval.high = upper_end(k, n, (1 - level) / 2);
  return interval;
}

double be_rate_upper(size_t k, size_t n, double level)
{
  assert(k <= n && level > 0 && level < 1);
  return k < n ? upper_end(k, n, 1 - level) : 1;
}
