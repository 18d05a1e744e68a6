/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/inside.h"

#include <assert.h>
#include <math.h>

/* The exact signed-rank distribution takes n^3 / 4 steps; beyond, the normal's
 * error in the level is below 1e-5. */
enum { SIGNED_RANK_MAX = 400, STEPS_MAX = 100000 };

static double middle_of(const double *sorted, size_t n)
{
  return be_quantile(sorted, n, 0.5, 7);
}

/* ---- median ---- */

/* What [x_(k), x_(n+1-k)] covers of the median: 1 - 2 P(Bin(n, 1/2) <= k - 1). */
static double sign_level(size_t k, size_t n)
{
  return 1 - 2 * be_beta_lower(0.5, 0.5, (double)(n - k) + 1, (double)k);
}

/* Hettmansperger and Sheather: lambda = (n - k) I / (k + (n - 2k) I) of the way from
 * depth k, which covers too much, to k + 1, which covers too little, I being the
 * part of the level between the two. */
void be_sample_median(const double *sorted, size_t n, double level, struct be_measure *median)
{
  assert(n > 0 && level > 0 && level < 1);
  *median = (struct be_measure){middle_of(sorted, n), {NAN, NAN, level}};
  if (n < 2) return;
  size_t k = 1, above = n / 2 + 1; /* depth `above` covers less than any level */
  while (above - k > 1) {
    size_t middle = k + (above - k) / 2;
    if (sign_level(middle, n) >= level) k = middle;
    else above = middle;
  }
  struct be_interval *interval = &median->interval;
  double reached = sign_level(k, n), part = 0;
  if (reached < level || 2 * (k + 1) > n + 1) {
    interval->level = reached;
  } else {
    double share = (reached - level) / (reached - sign_level(k + 1, n));
    part = (double)(n - k) * share / ((double)k + ((double)n - 2 * (double)k) * share);
  }
  interval->low = sorted[k - 1] + part * (sorted[k] - sorted[k - 1]);
  interval->high = sorted[n - k] - part * (sorted[n - k] - sorted[n - k - 1]);
}

/* ---- Hodges and Lehmann ---- */

/* P(V = v) of the signed-rank statistic for v < size, by the ranks one after the
 * other: each is in the sum or not, with equal chance. */
static void signed_rank_mass(size_t n, double *mass, size_t size)
{
  for (size_t v = 0; v < size; v++) mass[v] = v == 0;
  for (size_t rank = 1; rank <= n; rank++)
    for (size_t v = size; v-- > 0;) mass[v] = (mass[v] + (v >= rank ? mass[v - rank] : 0)) / 2;
}

/* Walsh averages r and N + 1 - r from either end (Hollander and Wolfe, 1999,
 * section 3.3); mass first, for it shares the scratch with the averages. */
void be_hodges_lehmann(const double *sorted, size_t n, double level, double *scratch,
                       struct be_measure *location)
{
  assert(n > 0 && level > 0 && level < 1);
  *location = (struct be_measure){NAN, {NAN, NAN, level}};
  if (n > BE_HODGES_LEHMANN_MAX) return;
  size_t count = n * (n + 1) / 2, r;
  double reached = level;
  if (n <= SIGNED_RANK_MAX) {
    signed_rank_mass(n, scratch, (count + 1) / 2);
    r = be_order_interval(scratch, count, level, &reached);
  } else {
    double size = (double)n;
    double sd = sqrt(size * (size + 1) * (2 * size + 1) / 24);
    r = be_order_interval_normal(size * (size + 1) / 4, sd, level);
  }
  size_t filled = 0;
  for (size_t i = 0; i < n; i++)
    for (size_t j = i; j < n; j++) scratch[filled++] = sorted[i] + (sorted[j] - sorted[i]) / 2;
  be_sort(scratch, count);
  location->value = middle_of(scratch, count);
  if (!(reached > 0)) return;
  location->interval = (struct be_interval){scratch[r - 1], scratch[count - r], reached};
}

/* ---- trimmed mean ---- */

/* Variance of the mean of the h that are left: SSD_w / (h (h - 1)), the winsorised sum
 * of squares, with h - 1 degrees of freedom (Tukey and McLaughlin, Sankhya A 25, 1963). */
void be_trimmed_mean(const double *sorted, size_t n, double cut, double level,
                     struct be_measure *mean)
{
  assert(n > 0 && cut >= 0 && cut < 0.5);
  size_t off = (size_t)floor(cut * (double)n * (1 + 1e-12)); /* 0.29 x 100 is 29 */
  size_t left = n - 2 * off;
  const double *kept = sorted + off;
  struct be_summary summary;
  be_summary_of(kept, left, &summary);
  double share = (double)off / (double)n;
  double winsorised = share * (kept[0] + kept[left - 1]) + (1 - 2 * share) * summary.mean;
  double low = kept[0] - winsorised, high = kept[left - 1] - winsorised;
  double squares = (double)off * (low * low + high * high);
  for (size_t i = 0; i < left; i++) squares += (kept[i] - winsorised) * (kept[i] - winsorised);
  struct be_estimate estimate = {summary.mean, NAN, 0, left};
  if (left > 1) {
    estimate.df = (double)(left - 1);
    estimate.variance = squares / (double)left / estimate.df;
  }
  mean->value = summary.mean;
  mean->interval = be_estimate_interval(&estimate, level);
}

/* ---- Huber ---- */

/* The deviations of a sorted set grow from its middle to either side, so that they come
 * in order by merging the two. */
double be_mad(const double *sorted, size_t n)
{
  assert(n > 0);
  double middle = middle_of(sorted, n), last = 0, before = 0;
  size_t high = 0;
  while (high < n && sorted[high] < middle) high++;
  size_t low = high; /* one above the next on the left */
  for (size_t i = 0; i <= n / 2; i++) {
    before = last;
    if (high == n || (low > 0 && middle - sorted[low - 1] <= sorted[high] - middle))
      last = middle - sorted[--low];
    else last = sorted[high++] - middle;
  }
  return 1.4826 * (n % 2 ? last : before + (last - before) / 2);
}

struct huber {
  const double *x;
  size_t n;
  double reach; /* k scales */
};

static double pull_toward(double mu, const void *huber_)
{
  const struct huber *huber = huber_;
  double sum = 0;
  for (size_t i = 0; i < huber->n; i++)
    sum += fmin(fmax(huber->x[i] - mu, -huber->reach), huber->reach);
  return sum;
}

/* E of min(|Z|, k)^2: what makes the winsorised deviation that of a normal. */
static double winsorised_variance(double k)
{
  double inside = 1 - 2 * be_normal_upper(k);
  double density = exp(-k * k / 2) / sqrt(2 * acos(-1.0));
  return inside + k * k * (1 - inside) - 2 * k * density;
}

/* Huber, Ann. Math. Stat. 35 (1964), proposal 2: location and scale by turns from the winsorised
 * set, until neither moves. Its divisor is n - 1. Not-a-number if that does not come to rest. */
static double proposal_2(const double *x, size_t n, double k, double *scale)
{
  double mu = middle_of(x, n), s = *scale, beta = winsorised_variance(k);
  for (int step = 0; step < STEPS_MAX; step++) {
    double sum = 0, squares = 0;
    for (size_t i = 0; i < n; i++) sum += fmin(fmax(x[i] - mu, -k * s), k * s);
    double next = mu + sum / (double)n;
    for (size_t i = 0; i < n; i++) {
      double off = fmin(fmax(x[i], mu - k * s), mu + k * s) - next;
      squares += off * off;
    }
    double next_s = sqrt(squares / (double)(n - 1) / beta);
    bool still = fabs(next - mu) <= 1e-14 * s && fabs(next_s - s) <= 1e-14 * s;
    mu = next;
    s = next_s;
    *scale = s;
    if (still || s == 0) return mu;
  }
  *scale = NAN;
  return NAN;
}

/* With no scale (more than half of the pulls alike) the median is all there is. */
double be_huber(const double *sorted, size_t n, double k, double *scale)
{
  assert(n > 0 && k > 0);
  double mad = be_mad(sorted, n);
  if (scale) *scale = mad;
  if (!(mad > 0)) return middle_of(sorted, n);
  if (scale) return proposal_2(sorted, n, k, scale);
  const struct huber huber = {sorted, n, k * mad};
  return be_root(pull_toward, &huber, sorted[0], sorted[n - 1]);
}
