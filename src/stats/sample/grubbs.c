/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/sample.h"

#include <assert.h>
#include <math.h>

/* Critical value (n - 1) / sqrt(n) * sqrt(t^2 / (n - 2 + t^2)), t the upper
 * alpha / (2 n) point of Student's t with n - 2 degrees of freedom. */
void be_grubbs(const double *x, size_t n, double alpha, struct be_alarm *alarm)
{
  assert(alpha > 0 && alpha < 1);
  *alarm = (struct be_alarm){false, 0, NAN, NAN};
  struct be_summary summary;
  be_summary_of(x, n, &summary);
  double furthest = 0;
  for (size_t i = 0; i < n; i++)
    if (fabs(x[i] - summary.mean) > furthest) {
      furthest = fabs(x[i] - summary.mean);
      alarm->index = i;
    }
  if (n < 3) return;
  double t = be_t_quantile(alpha / (2 * (double)n), (double)(n - 2));
  double t2 = t * t;
  double root = isinf(t2) ? 1 : sqrt(t2 / ((double)(n - 2) + t2));
  alarm->critical = (double)(n - 1) / sqrt((double)n) * root;
  if (!(summary.sd > 0)) return;
  alarm->statistic = furthest / summary.sd;
  alarm->raised = alarm->statistic > alarm->critical;
}
