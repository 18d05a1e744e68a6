/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

/* Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987): each test asks whether the
 * difference lies on the inner side of one margin; both must say so, and so the greater p
 * is the p of both together, without any adjustment. */
void be_same_within(const struct be_difference *difference, double variance, double margin,
                    double alpha, struct be_sameness *same)
{
  assert(margin > 0 && alpha > 0 && alpha < 0.5);
  const double unknown = NAN;
  *same = (struct be_sameness){unknown, false, {unknown, unknown, 1 - 2 * alpha}};
  if (!(variance > 0 && isfinite(variance) && difference->df > 0)) return;
  double deviation = sqrt(variance);
  double room = margin - fabs(difference->value); /* to the nearer margin */
  same->p = be_t_upper(room / deviation, difference->df);
  same->same = same->p <= alpha;
  double half = be_t_quantile(alpha, difference->df) * deviation;
  same->interval.low = difference->value - half;
  same->interval.high = difference->value + half;
}
