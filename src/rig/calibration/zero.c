/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/calibration/calibration.h"

#include <math.h>

struct be_zero be_zero_of(const double *readings, size_t n)
{
  struct be_zero zero = {0, NAN, NAN};
  double sum = 0, squares = 0;
  for (size_t i = 0; i < n; i++)
    if (isfinite(readings[i])) {
      sum += readings[i];
      zero.n++;
    }
  if (zero.n) zero.mean = sum / (double)zero.n;
  for (size_t i = 0; i < n; i++)
    if (isfinite(readings[i])) squares += (readings[i] - zero.mean) * (readings[i] - zero.mean);
  if (zero.n > 1) zero.sd = sqrt(squares / (double)(zero.n - 1));
  return zero;
}

struct be_zero_change be_zero_compare(const struct be_zero *before, const struct be_zero *after,
                                      double full_scale_N)
{
  struct be_zero_change change = {.change = after->mean - before->mean};
  change.uncertainty =
      sqrt(before->sd * before->sd / (double)before->n + after->sd * after->sd / (double)after->n);
  change.percent = 100 * change.change / full_scale_N;
  while (change.force_class < BE_FORCE_CLASSES &&
         !(fabs(change.percent) <= be_force_classes[change.force_class].zero))
    change.force_class++;
  return change;
}
