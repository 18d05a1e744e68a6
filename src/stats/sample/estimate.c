/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/sample.h"

#include <assert.h>
#include <math.h>

struct be_estimate be_estimate_mean(const struct be_summary *summary)
{
  struct be_estimate estimate = {summary->mean, NAN, 0, summary->n};
  if (summary->n < 2) return estimate;
  estimate.variance = summary->sd * summary->sd / (double)summary->n;
  estimate.df = (double)(summary->n - 1);
  return estimate;
}

/* v = sum v_i, df = v^2 / sum(v_i^2 / df_i) with v_i = w_i^2 var_i (Satterthwaite,
 * Biometrics Bull. 2, 1946, equation 17). The shares v_i / v keep it from
 * overflowing. With no variance at all df is the least of the parts', the
 * smallest that the formula can give. */
struct be_estimate be_estimate_combine(const struct be_estimate *parts, const double *weights,
                                       size_t count)
{
  struct be_estimate sum = {0, 0, 0, 0};
  double least = INFINITY, inverse = 0;
  bool known = true, any = false;
  for (size_t i = 0; i < count; i++) {
    if (weights[i] == 0) continue;
    any = true;
    sum.value += weights[i] * parts[i].value;
    sum.variance += weights[i] * weights[i] * parts[i].variance;
    sum.n += parts[i].n;
    if (!(parts[i].variance >= 0 && parts[i].df > 0)) known = false;
    least = fmin(least, parts[i].df);
  }
  if (!any) sum.value = NAN;
  if (!any || !known) {
    sum.variance = NAN;
    return sum;
  }
  for (size_t i = 0; i < count && sum.variance > 0; i++) {
    if (weights[i] == 0) continue;
    double share = weights[i] * weights[i] * parts[i].variance / sum.variance;
    inverse += share * share / parts[i].df;
  }
  sum.df = sum.variance > 0 ? 1 / inverse : least;
  return sum;
}

struct be_estimate be_estimate_pooled(const struct be_summary *groups, size_t count)
{
  double sum = 0, squares = 0, df = 0;
  size_t n = 0;
  for (size_t i = 0; i < count; i++) {
    if (groups[i].n == 0) continue;
    n += groups[i].n;
    sum += groups[i].mean * (double)groups[i].n;
    if (groups[i].n < 2) continue;
    df += (double)(groups[i].n - 1);
    squares += groups[i].sd * groups[i].sd * (double)(groups[i].n - 1);
  }
  struct be_estimate estimate = {n ? sum / (double)n : NAN, NAN, df, n};
  if (df > 0) estimate.variance = squares / df / (double)n;
  return estimate;
}

struct be_interval be_estimate_interval(const struct be_estimate *estimate, double level)
{
  assert(level > 0 && level < 1);
  struct be_interval interval = {NAN, NAN, level};
  if (!(estimate->df > 0 && estimate->variance >= 0)) return interval;
  double half = be_t_quantile((1 - level) / 2, estimate->df) * sqrt(estimate->variance);
  interval.low = estimate->value - half;
  interval.high = estimate->value + half;
  return interval;
}

double be_estimate_p(const struct be_estimate *estimate)
{
  if (!(estimate->df > 0) || !(estimate->variance > 0)) return NAN;
  return 2 * be_t_upper(fabs(estimate->value) / sqrt(estimate->variance), estimate->df);
}
