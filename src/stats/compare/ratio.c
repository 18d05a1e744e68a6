/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <float.h>
#include <math.h>

static bool known(const struct be_estimate *estimate)
{
  return isfinite(estimate->value) && estimate->variance >= 0 && isfinite(estimate->variance) &&
         estimate->df > 0;
}

/* t, p and interval from value, its variance and df. */
static void fill_difference(double value, double variance, double df, double level,
                            struct be_difference *difference)
{
  assert(level > 0 && level < 1);
  const double unknown = NAN;
  *difference = (struct be_difference){value, unknown, unknown, unknown, {unknown, unknown, level}};
  const struct be_estimate d = {value, variance, df, 0};
  if (!known(&d) || variance == 0) return;
  difference->t = value / sqrt(variance);
  difference->df = df;
  difference->p = 2 * be_t_upper(fabs(difference->t), df);
  difference->interval = be_estimate_interval(&d, level);
}

void be_welch(const struct be_estimate *a, const struct be_estimate *b, double level,
              struct be_difference *difference)
{
  const struct be_estimate parts[] = {*a, *b};
  const double weights[] = {1, -1};
  struct be_estimate d = be_estimate_combine(parts, weights, 2);
  fill_difference(d.value, d.variance, d.df, level, difference);
}

/* One variance for a pull of either side, of all degrees of freedom; not-a-number when there
 * are none. Gives the estimates of both means that go with it. */
static double pool(const struct be_summary *a, const struct be_summary *b,
                   struct be_estimate *mean_a, struct be_estimate *mean_b)
{
  double squares = 0, df = 0;
  const struct be_summary *sets[] = {a, b};
  for (size_t i = 0; i < 2; i++) {
    if (sets[i]->n < 2) continue;
    df += (double)(sets[i]->n - 1);
    squares += sets[i]->sd * sets[i]->sd * (double)(sets[i]->n - 1);
  }
  double variance = df > 0 ? squares / df : NAN;
  *mean_a = (struct be_estimate){a->mean, variance / (double)a->n, df, a->n};
  *mean_b = (struct be_estimate){b->mean, variance / (double)b->n, df, b->n};
  return variance;
}

/* A side of one pull takes its variance from the other. */
void be_student(const struct be_summary *a, const struct be_summary *b, double level,
                struct be_difference *difference)
{
  struct be_estimate mean_a, mean_b;
  pool(a, b, &mean_a, &mean_b);
  fill_difference(a->mean - b->mean, mean_a.variance + mean_b.variance, mean_a.df, level,
                  difference);
}

/* Two passes over the differences: a large load that all share does not cost digits.
 * Equal differences of decimals are off by an epsilon of the loads; a scatter of no more
 * is none. */
void be_paired(const double *a, const double *b, size_t n, double level,
               struct be_difference *difference)
{
  double sum = 0, rest = 0, squares = 0, count = (double)n, largest = 0;
  for (size_t i = 0; i < n; i++) sum += a[i] - b[i];
  double mean = sum / count;
  for (size_t i = 0; i < n; i++) rest += a[i] - b[i] - mean;
  mean += rest / count;
  for (size_t i = 0; i < n; i++) {
    double deviation = a[i] - b[i] - mean;
    squares += deviation * deviation;
    largest = fmax(largest, fmax(fabs(a[i]), fabs(b[i])));
  }
  double hair = 2 * DBL_EPSILON * largest;
  if (squares <= count * hair * hair) squares = 0;
  double variance = n < 2 ? NAN : squares / (count - 1) / count;
  fill_difference(mean, variance, count - 1, level, difference);
}

/* The value of a / b, and whether there is enough to say more about it. */
static bool begin_ratio(const struct be_estimate *a, const struct be_estimate *b, double level,
                        struct be_ratio *ratio)
{
  assert(level > 0 && level < 1);
  const double unknown = NAN;
  *ratio = (struct be_ratio){unknown, unknown, BE_RATIO_UNKNOWN, {unknown, unknown, level}};
  if (b->value != 0) ratio->value = a->value / b->value;
  return known(a) && known(b);
}

/* var(log x) is var(x) / x^2 to first order; the two logarithms are then an
 * ordinary Welch comparison. */
void be_ratio_log(const struct be_estimate *a, const struct be_estimate *b, double level,
                  struct be_ratio *ratio)
{
  if (!begin_ratio(a, b, level, ratio) || a->value <= 0 || b->value <= 0) return;
  const struct be_estimate log_a = {log(a->value), a->variance / (a->value * a->value), a->df, 0};
  const struct be_estimate log_b = {log(b->value), b->variance / (b->value * b->value), b->df, 0};
  struct be_difference logs;
  be_welch(&log_a, &log_b, level, &logs);
  if (isnan(logs.df)) return;
  ratio->df = logs.df;
  ratio->shape = BE_RATIO_PIECE;
  ratio->interval.low = exp(logs.interval.low);
  ratio->interval.high = exp(logs.interval.high);
}

/* The set of r with (a - r b)^2 <= t^2 (va + r^2 vb) is
 *   (b^2 - t^2 vb) r^2 - 2 a b r + (a^2 - t^2 va) <= 0   (Fieller 1954, section 2).
 * The discriminant is written so that it cannot fall below 0 when the first
 * coefficient is above 0, and the root nearer to 0 as last / q, so that neither
 * loses digits. */
static void fill_set(const struct be_estimate *a, const struct be_estimate *b, double df,
                     double level, struct be_ratio *ratio)
{
  ratio->df = df;
  double t = be_t_quantile((1 - level) / 2, df), t2 = t * t;
  double first = b->value * b->value - t2 * b->variance;
  double last = a->value * a->value - t2 * a->variance;
  double under_root = t2 * (a->variance * first + b->variance * a->value * a->value);
  if (under_root <= 0) {
    ratio->shape = BE_RATIO_ALL;
    ratio->interval.low = -INFINITY;
    ratio->interval.high = INFINITY;
    return;
  }
  double product = a->value * b->value;
  double q = product + copysign(sqrt(under_root), product);
  double far = first == 0 ? copysign(INFINITY, -q) : q / first;
  double near = last / q;
  ratio->shape = first > 0 ? BE_RATIO_PIECE : BE_RATIO_OUTSIDE;
  ratio->interval.low = fmin(near, far);
  ratio->interval.high = fmax(near, far);
}

/* The degrees of freedom are those of a - r b at the observed r (Tamhane and Logan
 * 2004), multiplied through by b so that b may be 0. */
void be_ratio_fieller(const struct be_estimate *a, const struct be_estimate *b, double level,
                      struct be_ratio *ratio)
{
  if (!begin_ratio(a, b, level, ratio)) return;
  double va = a->variance * b->value * b->value, vb = b->variance * a->value * a->value;
  if (!(va + vb > 0)) return;
  double share = va / (va + vb);
  double df = 1 / (share * share / a->df + (1 - share) * (1 - share) / b->df);
  fill_set(a, b, df, level, ratio);
}

void be_ratio_fieller_pooled(const struct be_summary *a, const struct be_summary *b, double level,
                             struct be_ratio *ratio)
{
  struct be_estimate mean_a, mean_b;
  double variance = pool(a, b, &mean_a, &mean_b);
  if (!begin_ratio(&mean_a, &mean_b, level, ratio) || variance == 0) return;
  fill_set(&mean_a, &mean_b, mean_a.df, level, ratio);
}
