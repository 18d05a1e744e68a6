/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/sample.h"

#include <assert.h>
#include <math.h>

/* A chance equal to what is asked for counts, whichever way it was rounded. */
static const double HAIR = 1e-12;

/* k1 = t' / sqrt(n), t' the point of the noncentral t with n - 1 degrees of freedom and
 * noncentrality z sqrt(n) (Owen 1968; ISO 16269-6 annex). */
double be_tolerance_factor(size_t n, double above, double confidence)
{
  assert(n >= 2 && above > 0 && above < 1 && confidence > 0 && confidence < 1);
  double root = sqrt((double)n), z = be_normal_quantile(1 - above);
  return be_noncentral_t_quantile(1 - confidence, (double)(n - 1), z * root) / root;
}

double be_tolerance_normal(const struct be_summary *summary, double above, double confidence)
{
  if (summary->n < 2) return NAN;
  return summary->mean - be_tolerance_factor(summary->n, above, confidence) * summary->sd;
}

/* The r-th lowest lies too high when fewer than r pulls fall below the quantile:
 * P(Bin(n, 1 - above) <= r - 1) = I_above(n - r + 1, r), which rises with r. */
static bool rank_serves(size_t r, size_t n, double above, double confidence)
{
  double chance = be_beta_lower(above, 1 - above, (double)(n - r) + 1, (double)r);
  return chance <= (1 - confidence) * (1 + HAIR);
}

size_t be_tolerance_rank(size_t n, double above, double confidence)
{
  assert(above > 0 && above < 1 && confidence > 0 && confidence < 1);
  size_t serves = 0, fails = n + 1;
  while (fails - serves > 1) {
    size_t r = serves + (fails - serves) / 2;
    if (rank_serves(r, n, above, confidence)) serves = r;
    else fails = r;
  }
  return serves;
}

/* above^n <= 1 - confidence. */
size_t be_tolerance_least(double above, double confidence)
{
  assert(above > 0 && above < 1 && confidence > 0 && confidence < 1);
  double least = log1p(-confidence) / log(above);
  return (size_t)fmax(1, ceil(least * (1 - HAIR)));
}

/* T = (k0 - k1 / sqrt(n') + (k1 - k0) w) / (1 - 1 / sqrt(n')) on the deviation of one
 * pull of one set, S^2 = MSB / n' + (n' - 1) MSE / n'; n' is the effective size of a set,
 * u = MSB / MSE at least 1, w = sqrt(u / (u + n' - 1)); k0 and k1 are factors for all
 * pulls and for the number of sets. Sets alike give k0, sets far apart k1. */
void be_tolerance_between(const struct be_summary *sets, size_t count, double above,
                          double confidence, struct be_between *low)
{
  *low = (struct be_between){NAN, NAN, NAN, NAN};
  double n = 0, squares_n = 0, sum = 0, between = 0, within = 0;
  size_t filled = 0;
  for (size_t i = 0; i < count; i++) {
    double size = (double)sets[i].n;
    if (sets[i].n == 0) continue;
    filled++;
    n += size;
    squares_n += size * size;
    sum += size * sets[i].mean;
    if (sets[i].n > 1) within += (size - 1) * sets[i].sd * sets[i].sd;
  }
  if (filled < 2 || n <= (double)filled) return;
  double mean = sum / n, k = (double)filled;
  for (size_t i = 0; i < count; i++)
    if (sets[i].n > 0) between += (double)sets[i].n * (sets[i].mean - mean) * (sets[i].mean - mean);
  between /= k - 1;
  within /= n - k;
  double size = (n - squares_n / n) / (k - 1);
  double u = within > 0 ? fmax(1, between / within) : INFINITY;
  double w = isinf(u) ? 1 : sqrt(u / (u + size - 1)), root = 1 / sqrt(size);
  double k0 = be_tolerance_factor((size_t)n, above, confidence);
  double k1 = be_tolerance_factor(filled, above, confidence);
  low->size = size;
  low->deviation = sqrt(between / size + (size - 1) / size * within);
  low->factor = (k0 - k1 * root + (k1 - k0) * w) / (1 - root);
  low->basis = mean - low->factor * low->deviation;
}
