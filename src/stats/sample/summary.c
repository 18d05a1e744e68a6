/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/sample/sample.h"

#include <math.h>

/* The corrected two-pass algorithm: the second pass measures how far off the
 * first mean was and takes that out of both figures (Chan, Golub and LeVeque,
 * Am. Stat. 37, 1983, equation 1.7). A mean never leaves [min, max], so that
 * equal pulls have a deviation of exactly 0. */
void be_summary_of(const double *x, size_t n, struct be_summary *summary)
{
  *summary = (struct be_summary){n, NAN, NAN, NAN, NAN};
  if (n == 0) return;
  double sum = 0;
  summary->min = summary->max = x[0];
  for (size_t i = 0; i < n; i++) {
    sum += x[i];
    summary->min = fmin(summary->min, x[i]);
    summary->max = fmax(summary->max, x[i]);
  }
  double mean = fmin(fmax(sum / (double)n, summary->min), summary->max);
  double off = 0, squares = 0;
  for (size_t i = 0; i < n; i++) {
    double deviation = x[i] - mean;
    off += deviation;
    squares += deviation * deviation;
  }
  summary->mean = fmin(fmax(mean + off / (double)n, summary->min), summary->max);
  if (n < 2) return;
  double corrected = squares - off * off / (double)n;
  summary->sd = sqrt(fmax(corrected, 0) / (double)(n - 1));
}

double be_lag1(const double *x, const struct be_summary *summary)
{
  double products = 0, squares = 0;
  for (size_t i = 0; i < summary->n; i++) {
    double deviation = x[i] - summary->mean;
    squares += deviation * deviation;
    if (i > 0) products += deviation * (x[i - 1] - summary->mean);
  }
  return squares > 0 ? products / squares : NAN;
}
