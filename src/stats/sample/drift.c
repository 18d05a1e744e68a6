/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/sample/inside.h"

#include <assert.h>
#include <math.h>

/* Counts of orders are whole numbers in doubles: 18! < 2^53. */
enum { RUNS_EXACT_MAX = 20, KENDALL_EXACT_MAX = 18, PAIRS_EXACT = 153 };

/* ---- runs ---- */

static double ways_of(size_t n, size_t k)
{
  double ways = 1;
  if (k > n) return 0;
  for (size_t i = 1; i <= k; i++) ways = ways * (double)(n - k + i) / (double)i;
  return ways;
}

/* Orders of a pulls above and b below with so many runs (Wald and Wolfowitz, Ann. Math.
 * Stat. 11, 1940): pieces of a, times pieces of b, begun by either. */
static double ways_with_runs(size_t runs, size_t a, size_t b)
{
  size_t k = runs / 2;
  if (runs % 2 == 0) return 2 * ways_of(a - 1, k - 1) * ways_of(b - 1, k - 1);
  return ways_of(a - 1, k) * ways_of(b - 1, k - 1) + ways_of(a - 1, k - 1) * ways_of(b - 1, k);
}

/* Twice the smaller tail. */
static double runs_exact(size_t runs, size_t a, size_t b)
{
  double few = 0, many = 0, all = ways_of(a + b, a);
  for (size_t r = 2; r <= a + b; r++) {
    double ways = ways_with_runs(r, a, b);
    if (r <= runs) few += ways;
    if (r >= runs) many += ways;
  }
  return fmin(1, 2 * fmin(few, many) / all);
}

static void count_runs(const double *x, size_t n, double median, struct be_drift *drift)
{
  int side = 0;
  for (size_t i = 0; i < n; i++) {
    int now = (x[i] > median) - (x[i] < median);
    if (now == 0) continue;
    drift->runs += now != side;
    drift->above += now > 0;
    drift->below += now < 0;
    side = now;
  }
  double a = (double)drift->above, b = (double)drift->below, all = a + b;
  if (drift->above == 0 || drift->below == 0) return;
  double mean = 2 * a * b / all + 1;
  double variance = 2 * a * b * (2 * a * b - all) / (all * all * (all - 1));
  if (variance > 0) drift->runs_z = ((double)drift->runs - mean) / sqrt(variance);
  if (all <= RUNS_EXACT_MAX) drift->runs_p = runs_exact(drift->runs, drift->above, drift->below);
  else drift->runs_p = 2 * be_normal_upper(fabs(drift->runs_z));
}

/* ---- Kendall ---- */

/* How many orders have d inversions, for d = 0 to count - 1: of n pulls, those that are
 * equal not told apart. That is the q-multinomial: the product of 1 + q + ... + q^(k-1)
 * for k to n over the same for each lot of equals. */
struct orders {
  double ways[PAIRS_EXACT + 1];
  size_t count;
};

static void multiply(struct orders *orders, size_t k)
{
  size_t old = orders->count;
  double window = 0;
  double ways[PAIRS_EXACT + 1];
  orders->count = old + k - 1;
  for (size_t d = 0; d < orders->count; d++) {
    if (d < old) window += orders->ways[d];
    if (d >= k) window -= orders->ways[d - k];
    ways[d] = window;
  }
  for (size_t d = 0; d < orders->count; d++) orders->ways[d] = ways[d];
}

static void divide(struct orders *orders, size_t k)
{
  orders->count -= k - 1;
  double window = 0; /* of the last k - 1 quotients */
  for (size_t d = 0; d < orders->count; d++) {
    orders->ways[d] -= window;
    window += orders->ways[d];
    if (d + 1 >= k) window -= orders->ways[d + 1 - k];
  }
}

static void count_orders(size_t n, const double *sorted, bool tied, struct orders *orders)
{
  orders->count = 1;
  orders->ways[0] = 1;
  for (size_t k = 2; k <= n; k++) multiply(orders, k);
  size_t lot = 1;
  for (size_t i = 1; i < n && tied; i++) {
    lot = sorted[i] == sorted[i - 1] ? lot + 1 : 1;
    if (lot > 1) divide(orders, lot);
  }
}

/* P(|S| >= |s|), S = most - 2 inversions. */
static double kendall_exact(double s, size_t n, const double *sorted)
{
  struct orders orders;
  count_orders(n, sorted, true, &orders);
  double out = 0, all = 0, most = (double)orders.count - 1;
  for (size_t d = 0; d < orders.count; d++) {
    all += orders.ways[d];
    if (fabs(most - 2 * (double)d) >= fabs(s)) out += orders.ways[d];
  }
  return out / all;
}

/* Kendall (1970), chapter 4: the variance of S less what equals take away, and a
 * correction for continuity. */
static double kendall_normal(double s, size_t n, const double *sorted)
{
  double size = (double)n, variance = size * (size - 1) * (2 * size + 5);
  double lot = 1;
  for (size_t i = 1; i <= n; i++) {
    if (i < n && sorted[i] == sorted[i - 1]) {
      lot++;
    } else {
      variance -= lot * (lot - 1) * (2 * lot + 5);
      lot = 1;
    }
  }
  if (!(variance > 0) || s == 0) return 1;
  return 2 * be_normal_upper((fabs(s) - 1) / sqrt(variance / 18));
}

/* ---- Theil and Sen ---- */

/* Slopes r and N + 1 - r from either end, by the distribution of the inversions of pulls
 * about their line, which are not equal (Sen 1968; Hollander and Wolfe, 1999, section 9.3). */
static void slope_interval(const double *slopes, size_t pairs, size_t n, double level,
                           struct be_interval *interval)
{
  double reached = level, size = (double)n;
  size_t r;
  if (n <= KENDALL_EXACT_MAX) {
    struct orders orders;
    double all = 0;
    count_orders(n, NULL, false, &orders);
    for (size_t d = 0; d < orders.count; d++) all += orders.ways[d];
    for (size_t d = 0; d < orders.count; d++) orders.ways[d] /= all;
    r = be_order_interval(orders.ways, pairs, level, &reached);
  } else {
    double sd = sqrt(size * (size - 1) * (2 * size + 5) / 72);
    r = be_order_interval_normal((double)pairs / 2, sd, level);
  }
  if (reached > 0) *interval = (struct be_interval){slopes[r - 1], slopes[pairs - r], reached};
}

void be_drift_of(const double *x, size_t n, double level, double *scratch, struct be_drift *drift)
{
  assert(level > 0 && level < 1);
  *drift = (struct be_drift){.runs_z = NAN,
                             .runs_p = NAN,
                             .lag1 = NAN,
                             .slope = NAN,
                             .slope_p = NAN,
                             .slope_interval = {NAN, NAN, level}};
  if (n < 2 || n > BE_HODGES_LEHMANN_MAX) return;
  size_t pairs = n * (n - 1) / 2, filled = 0;
  double *sorted = scratch + pairs, s = 0;
  struct be_summary summary;
  be_summary_of(x, n, &summary);
  drift->lag1 = be_lag1(x, &summary);
  for (size_t i = 0; i < n; i++) sorted[i] = x[i];
  be_sort(sorted, n);
  count_runs(x, n, be_quantile(sorted, n, 0.5, 7), drift);
  for (size_t i = 0; i < n; i++)
    for (size_t j = i + 1; j < n; j++) {
      scratch[filled++] = (x[j] - x[i]) / (double)(j - i);
      s += (x[j] > x[i]) - (x[j] < x[i]);
    }
  be_sort(scratch, pairs);
  drift->slope = be_quantile(scratch, pairs, 0.5, 7);
  drift->slope_p =
      n <= KENDALL_EXACT_MAX ? kendall_exact(s, n, sorted) : kendall_normal(s, n, sorted);
  slope_interval(scratch, pairs, n, level, &drift->slope_interval);
}
