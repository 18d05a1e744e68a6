/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The uncertainty of a force read off the curve: of inverse prediction (NIST/SEMATECH
 * e-Handbook of Statistical Methods, 2.3.6, and Draper and Smith, Applied Regression
 * Analysis, 1998, 3.2; both from memory)
 *
 *   u_fit = s / |slope| sqrt(1/m + leverage)
 *
 * with the reference (U / 2) and the resolution, a rectangle of one step for the
 * reading and one for its zero (GUM, JCGM 100:2008, F.2.2.1): 2 step^2 / 12. Added in
 * squares; degrees of freedom by Welch and Satterthwaite (GUM, G.4.1), those but the
 * fit's without end. */
#include "rig/calibration/inside.h"

#include <math.h>

/* For 95.45 %: qt(0.97725, df), derived with R 4.2.2; GUM table G.2 has them rounded. */
static double coverage_factor(double df)
{
  static const double factors[] = {13.9678, 4.5266, 3.3068, 2.8693, 2.6487, 2.5165, 2.4288, 2.3664,
                                   2.3198,  2.2837, 2.2549, 2.2314, 2.2118, 2.1953, 2.1812, 2.1689,
                                   2.1583,  2.1489, 2.1405, 2.1330, 2.1263, 2.1202, 2.1147, 2.1097,
                                   2.1051,  2.1009, 2.0969, 2.0933, 2.0900, 2.0868};
  enum { MOST = sizeof factors / sizeof factors[0] };
  if (!(df >= 1)) return NAN;
  if (df < MOST + 1) return factors[(size_t)df - 1];
  /* Less than 0.001 from the quantile for all above. */
  return 2 + 2.6 / df;
}

double be_calibration_force(const struct be_calibration_fit *fit, double reading)
{
  return fit ? be_calibration_load(fit, reading) : reading;
}

struct be_force_budget be_calibration_budget(const struct be_calibration_fit *fit, double load_N,
                                             size_t readings, double reference_percent,
                                             double resolution_N)
{
  struct be_force_budget budget = {.load_N = load_N, .df = INFINITY};
  if (fit) {
    double variance = 1 / (double)readings + be_calibration_leverage(fit, load_N);
    budget.fit_N = fit->residual_sd / fabs(be_calibration_slope(fit, load_N)) * sqrt(variance);
    budget.outside = load_N < fit->least_N || load_N > fit->most_N;
  }
  budget.reference_N = fabs(load_N) * reference_percent / 100 / 2;
  budget.resolution_N = resolution_N / sqrt(6);
  budget.combined_N = sqrt(budget.fit_N * budget.fit_N + budget.reference_N * budget.reference_N +
                           budget.resolution_N * budget.resolution_N);
  if (budget.fit_N > 0) {
    double ratio = budget.combined_N / budget.fit_N;
    budget.df = ratio * ratio * ratio * ratio * (double)fit->df;
  }
  budget.coverage_factor = coverage_factor(isnan(budget.combined_N) ? NAN : budget.df);
  budget.expanded_N = budget.coverage_factor * budget.combined_N;
  budget.expanded_percent = 100 * budget.expanded_N / fabs(load_N);
  return budget;
}
