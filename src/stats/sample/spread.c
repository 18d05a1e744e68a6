/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/sample.h"

#include <assert.h>
#include <math.h>

/* (n - 1) s^2 / sigma^2 is chi-square with n - 1 degrees of freedom. */
void be_deviation(const struct be_summary *summary, double level, struct be_measure *sd)
{
  assert(level > 0 && level < 1);
  *sd = (struct be_measure){summary->sd, {NAN, NAN, level}};
  if (summary->n < 2) return;
  double df = (double)(summary->n - 1), tail = (1 - level) / 2;
  sd->interval.low = summary->sd * sqrt(df / be_chi2_quantile(tail, df));
  sd->interval.high = summary->sd * sqrt(df / be_chi2_quantile(1 - tail, df));
}

/* K / sqrt(((u + 2) / n - 1) K^2 + u / (n - 1)), u a point of chi-square with n - 1
 * degrees of freedom (Vangel 1996): McKay's with 2 added to u. */
static double mckay_end(double cv, double n, double u)
{
  double squared = ((u + 2) / n - 1) * cv * cv + u / (n - 1);
  return squared > 0 ? cv / sqrt(squared) : INFINITY;
}

void be_variation(const struct be_summary *summary, double level, struct be_measure *cv)
{
  assert(level > 0 && level < 1);
  *cv = (struct be_measure){NAN, {NAN, NAN, level}};
  if (summary->n < 2 || !(summary->mean > 0)) return;
  double n = (double)summary->n, tail = (1 - level) / 2;
  cv->value = summary->sd / summary->mean;
  cv->interval.low = mckay_end(cv->value, n, be_chi2_quantile(tail, n - 1));
  cv->interval.high = mckay_end(cv->value, n, be_chi2_quantile(1 - tail, n - 1));
}
