/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/censored/inside.h"
#include "stats/number/number.h"

#include <assert.h>
#include <math.h>

/* What lets go at the load of held[*i], and how many are at risk of it; *i moves on to the
 * next load. Order is a promise of the caller. */
static double next_load(const struct be_held *held, size_t n, size_t *i, size_t *at_risk,
                        size_t *events)
{
  double load = held[*i].load;
  *at_risk = n - *i;
  *events = 0;
  for (; *i < n && held[*i].load == load; ++*i) {
    assert(!(!held[*i].bound && *i > 0 && held[*i - 1].load == load && held[*i - 1].bound));
    if (!held[*i].bound) ++*events;
  }
  assert(*i == n || held[*i].load > load);
  return load;
}

struct be_interval be_share_interval(double share, double se, double level)
{
  const double unknown = NAN;
  struct be_interval interval = {unknown, unknown, level};
  if (!(share > 0 && share < 1)) return interval;
  double half = be_normal_quantile((1 - level) / 2) * se / (share * -log(share));
  interval.low = pow(share, exp(half));
  interval.high = pow(share, exp(-half));
  return interval;
}

/* Greenwood's sum of d / (m (m - d)), and log(-log) of the estimate taken as normal
 * (Kalbfleisch and Prentice 1980, section 1.3). */
size_t be_kaplan_meier(const struct be_held *held, size_t n, double level, struct be_step *steps)
{
  assert(level > 0 && level < 1);
  size_t count = 0;
  double survival = 1, greenwood = 0;
  for (size_t i = 0; i < n;) {
    struct be_step step;
    step.load = next_load(held, n, &i, &step.at_risk, &step.events);
    if (step.events == 0) continue;
    double m = (double)step.at_risk, d = (double)step.events;
    survival *= (m - d) / m;
    greenwood += d / (m * (m - d));
    step.survival = survival;
    step.se = step.events == step.at_risk ? 0 : survival * sqrt(greenwood);
    step.interval = be_share_interval(survival, step.se, level);
    steps[count++] = step;
  }
  return count;
}

/* A product of fractions that should be 1 - p may miss it by rounding: about a double's
 * spacing a factor, and there are at most `count`. */
static bool comes_down(double survival, double p, size_t count)
{
  return survival <= 1 - p + 1e-15 * (double)(count + 1);
}

void be_kaplan_meier_quantile(const struct be_step *steps, size_t count, double p,
                              struct be_measure *load)
{
  assert(p > 0 && p < 1);
  const double unknown = NAN;
  *load = (struct be_measure){unknown, {unknown, unknown, unknown}};
  if (count == 0) return;
  struct be_interval *interval = &load->interval;
  interval->level = steps[0].interval.level;
  for (size_t i = 0; i < count; i++) {
    const struct be_step *step = &steps[i];
    if (isnan(load->value) && comes_down(step->survival, p, count)) load->value = step->load;
    /* Where the estimate is 0 its interval is unknown; but it has come down. */
    if (isnan(interval->low) && (step->interval.low <= 1 - p || step->survival == 0))
      interval->low = step->load;
    if (isnan(interval->high) && step->interval.high <= 1 - p) interval->high = step->load;
  }
  if (!isnan(interval->low) && isnan(interval->high)) interval->high = INFINITY;
}

/* Area under the steps; its variance is the sum of squared areas beyond each step, times
 * d / (m (m - d)) (Klein and Moeschberger, Survival Analysis, 2003, equation 4.5.2). */
struct be_estimate be_kaplan_meier_mean(const struct be_step *steps, size_t count, double limit)
{
  assert(limit >= 0 && isfinite(limit));
  struct be_estimate mean = {0, 0, INFINITY, count > 0 ? steps[0].at_risk : 0};
  double right = limit, beyond = 0;
  for (size_t i = count; i-- > 0;) {
    const struct be_step *step = &steps[i];
    if (step->load >= limit) continue;
    beyond += step->survival * (right - step->load);
    right = step->load;
    double m = (double)step->at_risk, d = (double)step->events;
    if (step->events < step->at_risk) mean.variance += beyond * beyond * d / (m * (m - d));
  }
  mean.value = beyond + right;
  return mean;
}

/* At each load with events the share that fell to a is hypergeometric when both sets have
 * one curve (Mantel 1966). */
void be_log_rank(const struct be_held *a, size_t a_n, const struct be_held *b, size_t b_n,
                 double *chi2, double *p)
{
  double observed_less_expected = 0, variance = 0;
  for (size_t i = 0, j = 0; i < a_n && j < b_n;) {
    size_t a_risk = a_n - i, b_risk = b_n - j, a_events = 0, b_events = 0;
    bool with_a = a[i].load <= b[j].load, with_b = b[j].load <= a[i].load;
    if (with_a) next_load(a, a_n, &i, &a_risk, &a_events);
    if (with_b) next_load(b, b_n, &j, &b_risk, &b_events);
    double m = (double)(a_risk + b_risk), d = (double)(a_events + b_events);
    double share = (double)a_risk / m;
    observed_less_expected += (double)a_events - d * share;
    if (m > 1) variance += d * share * (1 - share) * (m - d) / (m - 1);
  }
  const double unknown = NAN;
  *chi2 = *p = unknown;
  if (!(variance > 0)) return;
  *chi2 = observed_less_expected * observed_less_expected / variance;
  *p = be_chi2_upper(*chi2, 1);
}
