/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"

#include <assert.h>
#include <float.h>
#include <math.h>

static const double HALF_LOG_2_PI = 0.91893853320467274178;
/* From here on the tail is nearly below the smallest normal double. */
static const double FAR = 35;
static const int STEPS_MAX = 60;

double be_normal_upper(double z)
{
  return 0.5 * erfc(z / sqrt(2));
}

/* Far out the asymptotic series (NIST DLMF 7.12.1), whose next term is 3e-13 of
 * a logarithm of -600. */
double be_normal_log_upper(double z)
{
  if (z < 0) return log1p(-be_normal_upper(-z));
  if (z < FAR) return log(be_normal_upper(z));
  if (isinf(z)) return -z;
  double s = 1 / (z * z);
  return -z * z / 2 - log(z) - HALF_LOG_2_PI + log1p(s * (-1 + s * (3 + s * (-15 + s * 105))));
}

/* Newton's steps. In the middle on 1/2 - P, which is exact there, so that z keeps
 * its digits as it nears 0; in the tail on the logarithm, which is concave, so
 * that the steps never overshoot more than once. */
double be_normal_quantile(double upper)
{
  assert(upper > 0 && upper < 1);
  if (upper > 0.5) return -be_normal_quantile(1 - upper);
  bool middle = upper >= 0.25;
  double z = middle ? (0.5 - upper) * 2.5 : sqrt(-2 * log(2 * upper)), wanted = log(upper);
  for (int step = 0; step < STEPS_MAX; step++) {
    double density = exp(-z * z / 2 - HALF_LOG_2_PI), next;
    if (middle) {
      next = z + (0.5 - upper - erf(z / sqrt(2)) / 2) / density;
    } else {
      double reached = be_normal_log_upper(z);
      next = z + (reached - wanted) / exp(-z * z / 2 - HALF_LOG_2_PI - reached);
    }
    if (fabs(next - z) <= 4 * DBL_EPSILON * fabs(next)) return next;
    z = next;
  }
  return z;
}
