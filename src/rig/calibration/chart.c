/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shewhart's chart of individual values with moving ranges of two: NIST/SEMATECH
 * e-Handbook of Statistical Methods, 6.3.2.2. d2 = 1.128 and D4 = 3.267 of two
 * normal values, so that 3 / d2 = 2.66. A run of eight on one side: the fourth of
 * the Western Electric rules (6.3.2). */
#include "rig/calibration/calibration.h"

#include <math.h>

static const double d2 = 1.128, d4 = 3.267;
enum { RUN = 8 };

const char *be_chart_mark_words(enum be_chart_mark mark)
{
  static const char *const words[] = {"fine", "outside of the limits",
                                      "the eighth or later on one side", "far from the one before"};
  return words[mark];
}

static void mark_all(const double *values, struct be_chart *chart, enum be_chart_mark *marks)
{
  int side = 0, run = 0;
  for (size_t i = 0; i < chart->n; i++) {
    int here = (values[i] > chart->centre) - (values[i] < chart->centre);
    run = here && here == side ? run + 1 : here != 0;
    side = here;
    double jump = i ? fabs(values[i] - values[i - 1]) : 0;
    marks[i] = values[i] < chart->lower || values[i] > chart->upper ? BE_CHART_BEYOND
               : run >= RUN                                         ? BE_CHART_RUN
               : jump > chart->range_upper                          ? BE_CHART_JUMP
                                                                    : BE_CHART_FINE;
    chart->marked += marks[i] != BE_CHART_FINE;
  }
}

enum be_status be_chart_of(const double *values, size_t n, size_t base, struct be_chart *chart,
                           enum be_chart_mark *marks, struct be_err *err)
{
  *chart = (struct be_chart){.n = n, .base = base && base < n ? base : n};
  if (chart->base < 2) {
    be_fail(err, BE_BAD_INPUT, "one check cannot set the limits of a chart");
    be_fail_remedy(err, "read the check weight again, best on other days; 20 give fair limits");
    return BE_BAD_INPUT;
  }
  for (size_t i = 0; i < n; i++)
    if (!isfinite(values[i]))
      return be_fail(err, BE_BAD_INPUT, "check %zu of the chart is no number", i + 1);
  for (size_t i = 0; i < chart->base; i++) chart->centre += values[i];
  for (size_t i = 1; i < chart->base; i++) chart->range += fabs(values[i] - values[i - 1]);
  chart->centre /= (double)chart->base;
  chart->range /= (double)(chart->base - 1);
  chart->sd = chart->range / d2;
  chart->lower = chart->centre - 3 * chart->sd;
  chart->upper = chart->centre + 3 * chart->sd;
  chart->range_upper = d4 * chart->range;
  mark_all(values, chart, marks);
  return BE_OK;
}
