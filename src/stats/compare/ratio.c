/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

static bool known(const struct be_estimate *estimate)
{
  return isfinite(estimate->value) && estimate->variance >= 0 && isfinite(estimate->variance) &&
         estimate->df > 0;
}

void be_welch(const struct be_estimate *a, const struct be_estimate *b, double level,
              struct be_difference *difference)
{
  assert(level > 0 && level < 1);
  const struct be_estimate parts[] = {*a, *b};
  const double weights[] = {1, -1};
  struct be_estimate d = be_estimate_combine(parts, weights, 2);
  const double unknown = NAN;
  *difference =
      (struct be_difference){d.value, unknown, unknown, unknown, {unknown, unknown, level}};
  if (!known(&d) || d.variance == 0) return;
  difference->t = d.value / sqrt(d.variance);
  difference->df = d.df;
  difference->p = 2 * be_t_upper(fabs(difference->t), d.df);
  difference->interval = be_estimate_interval(&d, level);
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
 * Its degrees of freedom are those of a - r b at the observed r (Tamhane and
 * Logan 2004), multiplied through by b so that b may be 0. The discriminant is
 * written so that it cannot fall below 0 when the first coefficient is above 0,
 * and the root nearer to 0 as last / q, so that neither loses digits. */
void be_ratio_fieller(const struct be_estimate *a, const struct be_estimate *b, double level,
                      struct be_ratio *ratio)
{
  if (!begin_ratio(a, b, level, ratio)) return;
  double va = a->variance * b->value * b->value, vb = b->variance * a->value * a->value;
  if (!(va + vb > 0)) return;
  double share = va / (va + vb);
  ratio->df = 1 / (share * share / a->df + (1 - share) * (1 - share) / b->df);
  double t = be_t_quantile((1 - level) / 2, ratio->df), t2 = t * t;
  double first = b->value * b->value - t2 * b->variance;
  double last = a->value * a->value - t2 * a->variance;
  double under_root = t2 * (a->variance * first + vb);
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
