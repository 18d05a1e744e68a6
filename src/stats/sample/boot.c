/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/inside.h"

#include <math.h>

/* The sum of a set in another order differs from it by a few units of the last
 * place; figures nearer than this share of the value count as equal to it. */
static const double TIE = 1e-12;

/* Leaves out what is no finite number; the order of the rest stays. */
static size_t keep_finite(double *figures, size_t times)
{
  size_t kept = 0;
  for (size_t i = 0; i < times; i++)
    if (isfinite(figures[i])) figures[kept++] = figures[i];
  return kept;
}

/* The share below the value, those equal to it by half: a mean of few pulls meets
 * its own value often, and z0 must be 0 for a symmetric figure. */
static double share_below(const double *figures, size_t count, double value)
{
  double near = TIE * fabs(value), below = 0;
  for (size_t i = 0; i < count; i++)
    if (fabs(figures[i] - value) <= near) below += 0.5;
    else if (figures[i] < value) below += 1;
  return below / (double)count;
}

/* Phi(z0 + (z0 + z) / (1 - a (z0 + z))) (Efron and Tibshirani 1993, equation
 * 14.10); not-a-number beyond the pole, where the map turns back. */
static double bca_share(double z0, double a, double z)
{
  double w = z0 + z, under = 1 - a * w;
  return under > 0 ? be_normal_upper(-(z0 + w / under)) : NAN;
}

static enum be_bca bca_ends(const double *sorted, size_t count, struct be_boot *boot)
{
  if (isnan(boot->z0) || isnan(boot->acceleration)) return BE_BCA_UNKNOWN;
  if (isinf(boot->z0)) return BE_BCA_ONE_SIDED;
  double z = be_normal_quantile((1 - boot->bca.level) / 2);
  double low = bca_share(boot->z0, boot->acceleration, -z);
  double high = bca_share(boot->z0, boot->acceleration, z);
  if (isnan(low) || isnan(high)) return BE_BCA_BEYOND;
  boot->bca.low = be_quantile(sorted, count, low, 6);
  boot->bca.high = be_quantile(sorted, count, high, 6);
  return BE_BCA_DONE;
}

/* Quantiles are the (B + 1) p-th figures, interpolated (Davison and Hinkley, 1997,
 * section 5.2): so the ends of 95 % from 999 are the 25th and
 * the 975th. */
void be_boot_finish(double *figures, size_t times, double level, struct be_boot *boot)
{
  size_t count = keep_finite(figures, times);
  struct be_summary summary;
  be_summary_of(figures, count, &summary);
  boot->failed = times - count;
  boot->se = summary.sd;
  boot->bias = summary.mean - boot->value;
  boot->z0 = NAN;
  boot->percentile = boot->bca = (struct be_interval){NAN, NAN, level};
  boot->how_bca = BE_BCA_UNKNOWN;
  if (count == 0) return;
  if (isfinite(boot->value)) {
    double below = share_below(figures, count, boot->value);
    boot->z0 = below <= 0 ? -INFINITY : below >= 1 ? INFINITY : -be_normal_quantile(below);
  }
  be_sort(figures, count);
  boot->percentile.low = be_quantile(figures, count, (1 - level) / 2, 6);
  boot->percentile.high = be_quantile(figures, count, (1 + level) / 2, 6);
  boot->how_bca = bca_ends(figures, count, boot);
  if (boot->how_bca != BE_BCA_DONE) boot->bca = boot->percentile;
}
