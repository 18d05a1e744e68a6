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

double be_rate_lower(size_t k, size_t n, double level)
{
  assert(k <= n && level > 0 && level < 1);
  if (k == 0) return 0;
  if (k == n) return exp(log1p(-level) / (double)n);
  return lower_end(k, n, 1 - level);
}

double be_rate_against(size_t k, size_t n, double rate)
{
  assert(k <= n && rate > 0 && rate < 1);
  if (n == 0) return NAN;
  double above = k ? be_beta_lower(rate, 1 - rate, (double)k, (double)(n - k) + 1) : 1;
  double below = k < n ? be_beta_lower(1 - rate, rate, (double)(n - k), (double)k + 1) : 1;
  return fmin(1, 2 * fmin(above, below));
}

/* The ends are the roots of (n + z^2) r^2 - (2 k + z^2) r + k^2 / n (E. B. Wilson, J. Am. Stat.
 * Assoc. 22, 1927); the lower by their product, so that it loses no digits. */
static struct be_interval wilson(double k, double n, double z)
{
  double root = z * sqrt(z * z + 4 * k * (1 - k / n));
  double sum = 2 * k + z * z + root;
  return (struct be_interval){2 * k * (k / n) / sum, sum / (2 * (n + z * z)), 0};
}

/* Newcombe, Stat. Med. 17 (1998) 857, method 4. */
static struct be_interval wilson_corrected(double k, double n, double z)
{
  double rate = k / n, rest = (n - k) / n, z2 = z * z, twice = 2 * (n + z2);
  double down = z * sqrt(fmax(0, z2 - 2 - 1 / n + 4 * rate * (n * rest + 1)));
  double up = z * sqrt(fmax(0, z2 + 2 - 1 / n + 4 * rate * (n * rest - 1)));
  return (struct be_interval){fmax(0, (2 * k + z2 - 1 - down) / twice),
                              fmin(1, (2 * k + z2 + 1 + up) / twice), 0};
}

struct be_interval be_rate_wilson(size_t k, size_t n, double level, bool with_correction)
{
  assert(k <= n && level > 0 && level < 1);
  struct be_interval interval = {0, 1, level};
  if (n == 0) return interval;
  double z = be_normal_quantile((1 - level) / 2);
  interval =
      with_correction ? wilson_corrected((double)k, (double)n, z) : wilson((double)k, (double)n, z);
  interval.level = level;
  if (k == 0) interval.low = 0;
  if (k == n) interval.high = 1;
  return interval;
}

struct be_interval be_rate_jeffreys(size_t k, size_t n, double level)
{
  assert(k <= n && level > 0 && level < 1);
  struct be_interval interval = {0, 1, level};
  double tail = (1 - level) / 2, a = (double)k + 0.5, b = (double)(n - k) + 0.5;
  if (k > 0) interval.low = be_beta_quantile(tail, a, b);
  if (k < n) interval.high = be_beta_quantile(1 - tail, a, b);
  return interval;
}

/* reliability^n <= 1 - confidence. Where the two meet exactly, 0.5^3 = 1 - 0.875, rounding
 * must not ask for one more: logarithms of decimals are good to 1e-13. */
size_t be_success_run(double reliability, double confidence)
{
  assert(reliability > 0 && reliability < 1 && confidence > 0 && confidence < 1);
  double n = log1p(-confidence) / log(reliability);
  return (size_t)fmax(1, ceil(n * (1 - 1e-12)));
}
