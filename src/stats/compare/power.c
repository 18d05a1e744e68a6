/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

/* Below this a side has no twentieth of a degree of freedom, and the critical
 * t no longer fits a double for small alpha. */
static const double N_LEAST = 1.05;
/* Beyond, the noncentral chi-square is as good as its mean: it scatters by a part of
 * 2 / sqrt of it, which shifts the power by 1e-8 at most. */
static const double NONCENTRALITY_MAX = 1e8;

double be_power_two(double shift, double n_each, double alpha)
{
  assert(alpha > 0 && alpha < 1);
  if (isnan(shift) || !(n_each >= N_LEAST)) return NAN;
  double noncentrality = shift == 0 ? 0 : fabs(shift) * sqrt(n_each / 2);
  double df = 2 * (n_each - 1);
  double critical = be_t_quantile(alpha / 2, df);
  if (isinf(noncentrality)) return isinf(critical) ? NAN : 1;
  if (isinf(df)) return be_normal_upper(critical - noncentrality);
  return isinf(critical) ? NAN : be_noncentral_t_upper(critical, df, noncentrality);
}

/* The least number of pulls, at least 2 (fewer have no scatter), of which the chance, that rises
 * with them, reaches a power. */
static double pulls_for(double (*chance)(double n_each, const void *plan), const void *plan,
                        double power)
{
  double low = 2, high = 2;
  while (chance(high, plan) < power) {
    low = high;
    high *= 2;
    if (isinf(high)) return high;
  }
  while (high - low > 1e-11 * high) { /* far finer than one pull */
    double middle = low + (high - low) / 2;
    if (chance(middle, plan) < power) low = middle;
    else high = middle;
  }
  return high;
}

/* What is looked for, and how. */
struct plan {
  double shift, alpha; /* the margin, for sameness */
  size_t sets;
  double between, within;
};

static double chance_two(double n_each, const void *plan_)
{
  const struct plan *plan = plan_;
  return be_power_two(plan->shift, n_each, plan->alpha);
}

double be_power_two_n(double shift, double alpha, double power)
{
  assert(alpha > 0 && alpha < 1 && power > 0 && power < 1);
  if (isnan(shift)) return shift;
  if (shift == 0) return INFINITY;
  const struct plan plan = {.shift = shift, .alpha = alpha};
  return pulls_for(chance_two, &plan, power);
}

/* ---- many sets ---- */

/* F is noncentral, by sum n (mean - mean of all)^2 / within = (sets - 1) n between / within
 * (Cohen, Statistical Power Analysis, 1988, section 8.2). */
double be_power_many(size_t sets, double between, double within, double n_each, double alpha)
{
  assert(sets >= 2 && alpha > 0 && alpha < 1);
  if (!(between >= 0 && within > 0 && n_each >= N_LEAST)) return NAN;
  double df = (double)(sets - 1), df2 = (double)sets * (n_each - 1);
  double noncentrality = df * n_each * (between / within);
  double critical = be_f_quantile(alpha, df, df2);
  if (isinf(critical)) return NAN;
  if (noncentrality > NONCENTRALITY_MAX)
    return be_gamma_lower(df2 / 2, df2 / 2 * ((df + noncentrality) / (df * critical)));
  return be_noncentral_f_upper(critical, df, df2, noncentrality);
}

static double chance_many(double n_each, const void *plan_)
{
  const struct plan *plan = plan_;
  return be_power_many(plan->sets, plan->between, plan->within, n_each, plan->alpha);
}

double be_power_many_n(size_t sets, double between, double within, double alpha, double power)
{
  assert(sets >= 2 && alpha > 0 && alpha < 1 && power > 0 && power < 1);
  if (!(between >= 0 && within > 0)) return NAN;
  if (between == 0) return INFINITY;
  const struct plan plan = {0, alpha, sets, between, within};
  return pulls_for(chance_many, &plan, power);
}

/* ---- sameness ---- */

/* Both tests say "within" when |difference| < margin - t s sqrt(2 / n). Given s = S deviations
 * that has chance erf((margin sqrt(n / 2) - t S) / sqrt 2) when nothing differs, and 0 for
 * larger S; this is its mean over S (Owen, Biometrika 52, 1965). In u = log S, of log density
 * df (u - (exp(2u) - 1) / 2) but for a constant; 10 of its deviations, and as far again to
 * the left, where few degrees of freedom have their tail, hold all of it. The sum of the density
 * alone divides. Simpson's rule, cut where the chance ends, so that its bend there does no harm. */
static double chance_same(double n_each, const void *plan_)
{
  enum { PARTS = 6000 }; /* 200 to a deviation, 60 for the fewest pulls: errors near 1e-11 */
  const struct plan *plan = plan_;
  double df = 2 * (n_each - 1), reach = plan->shift * sqrt(n_each / 2);
  double t = be_t_quantile(plan->alpha, df), width = sqrt(0.5 / df);
  double low = -fmax(20 * width, 40 / df), high = 10 * width, all = 0, found = 0;
  double end = fmin(high, log(reach / t));
  if (end <= low) return 0;
  for (int i = 0; i <= PARTS; i++) {
    double part = (double)i / PARTS, weight = i == 0 || i == PARTS ? 1 : i % 2 ? 4 : 2;
    double u = low + part * (high - low);
    all += weight * (high - low) * exp(df * (u - expm1(2 * u) / 2));
    u = low + part * (end - low);
    double chance = erf(fmax(0, reach - t * exp(u)) / sqrt(2));
    found += weight * (end - low) * exp(df * (u - expm1(2 * u) / 2)) * chance;
  }
  return found / all;
}

double be_power_same_n(double margin, double alpha, double power)
{
  assert(margin > 0 && alpha > 0 && alpha < 0.5 && power > 0 && power < 1);
  const struct plan plan = {.shift = margin, .alpha = alpha};
  return pulls_for(chance_same, &plan, power);
}
