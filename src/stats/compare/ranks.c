/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

/* Up to so many a side the distribution of U is counted out; up to so many differences
 * that of V. */
enum { EXACT_MAX = 50, U_MAX = EXACT_MAX * EXACT_MAX, V_MAX = EXACT_MAX * (EXACT_MAX + 1) };

/* ---- Mann and Whitney ---- */

/* share[u] of all C(m + n, m) orders give U = u. Their counts are the coefficients of
 * prod (1 - x^(n + i)) / (1 - x^i), i = 1..m (Mann and Whitney, Ann. Math. Stat. 18,
 * 1947, have the recurrence; the product needs one row and no table). After each factor
 * they are symmetric and rise to the middle, and only the lower half is worked out: there no
 * subtraction loses digits. C(100, 50) = 1e29 fits a double well. */
static void fill_shares(size_t m, size_t n, double *share)
{
  for (size_t u = 0; u <= m * n; u++) share[u] = 0;
  share[0] = 1;
  for (size_t i = 1; i <= m; i++) {
    size_t half = i * n / 2;
    for (size_t u = half; u >= n + i; u--) share[u] -= share[u - n - i];
    for (size_t u = i; u <= half; u++) share[u] += share[u - i];
    for (size_t u = half + 1; u <= i * n; u++) share[u] = share[i * n - u];
  }
  double all = 0;
  for (size_t u = 0; u <= m * n; u++) all += share[u];
  for (size_t u = 0; u <= m * n; u++) share[u] /= all;
}

/* Twice the smaller tail, at most 1; u is whole. */
static double exact_p(const double *share, size_t pairs, double u)
{
  size_t least = (size_t)fmin(u, (double)pairs - u);
  double tail = 0;
  for (size_t i = 0; i <= least; i++) tail += share[i];
  return fmin(1, 2 * tail);
}

/* Normal, with half a step for continuity; `variance` of the sum of ranks, less what
 * ties take. When all are equal the sum can be nothing else: p is 1. */
static double normal_p(double from_mean, double variance)
{
  if (!(variance > 0)) return 1;
  double z = fmax(0, fabs(from_mean) - 0.5) / sqrt(variance);
  return 2 * be_normal_upper(z);
}

/* Sum of t^3 - t over runs of t equal numbers. */
static double tie_sum(const double *sorted, size_t n)
{
  double sum = 0;
  for (size_t i = 0, next; i < n; i = next) {
    for (next = i + 1; next < n && sorted[next] == sorted[i];) next++;
    double t = (double)(next - i);
    sum += t * t * t - t;
  }
  return sum;
}

/* The greatest k with P(U <= k - 1) <= (1 - level) / 2, at least 1: the interval lies between the
 * k-th differences from both ends (Hollander, Wolfe and Chicken, Nonparametric Statistical
 * Methods, 2014, section 4.3). It covers at least the level; with ties, more. Only where k
 * is held at 1 it may cover less. The level becomes what is reached. */
static size_t shift_index(size_t na, size_t nb, const double *share, double *level)
{
  double tail = (1 - *level) / 2, pairs = (double)na * (double)nb;
  if (!share) {
    double z = be_normal_quantile(tail), deviation = sqrt(pairs * (double)(na + nb + 1) / 12);
    double k = fmax(1, floor(pairs / 2 - z * deviation + 0.5));
    *level = 1 - 2 * be_normal_upper((pairs / 2 - k + 0.5) / deviation);
    return (size_t)k;
  }
  size_t k = 1;
  double below = share[0];
  /* A tail that equals the wanted one but for rounding is enough. */
  while (2 * k < na * nb && below + share[k] <= tail * (1 + 1e-12)) below += share[k++];
  *level = 1 - 2 * below;
  return k;
}

static double middle_of(const double *sorted, size_t n)
{
  double low = sorted[(n - 1) / 2], high = sorted[n / 2];
  return low + (high - low) / 2;
}

/* Fills in u, superior and shift from all the differences. */
static void use_pairs(const double *a, size_t na, const double *b, size_t nb, const double *share,
                      double *scratch, struct be_rank_test *test)
{
  size_t above = 0, equal = 0, pairs = na * nb;
  for (size_t i = 0; i < na; i++)
    for (size_t j = 0; j < nb; j++) {
      scratch[i * nb + j] = a[i] - b[j];
      above += a[i] > b[j];
      equal += a[i] == b[j];
    }
  be_sort(scratch, pairs);
  test->u = (double)above + (double)equal / 2;
  test->superior = test->u / (double)pairs;
  test->shift.value = middle_of(scratch, pairs);
  size_t k = shift_index(na, nb, share, &test->shift.interval.level);
  test->shift.interval.low = scratch[k - 1];
  test->shift.interval.high = scratch[pairs - k];
}

void be_mann_whitney(const double *a, size_t na, const double *b, size_t nb, double level,
                     double *scratch, struct be_rank_test *test)
{
  assert(level > 0 && level < 1);
  const double unknown = NAN;
  *test =
      (struct be_rank_test){unknown, unknown, false, {unknown, {unknown, unknown, level}}, unknown};
  if (na == 0 || nb == 0 || na > BE_PAIRS_MAX / nb) return;
  size_t n = na + nb;
  for (size_t i = 0; i < n; i++) scratch[i] = i < na ? a[i] : b[i - na];
  be_sort(scratch, n);
  double ties = tie_sum(scratch, n), share[U_MAX + 1];
  bool few = na <= EXACT_MAX && nb <= EXACT_MAX;
  if (few) fill_shares(na, nb, share);
  use_pairs(a, na, b, nb, few ? share : NULL, scratch, test);
  test->exact = few && ties == 0;
  double pairs = (double)na * (double)nb, all = (double)n;
  if (test->exact) test->p = exact_p(share, na * nb, test->u);
  else test->p = normal_p(test->u - pairs / 2, pairs / 12 * (all + 1 - ties / (all * (all - 1))));
}

/* ---- Wilcoxon's signed ranks ---- */

/* Twice the rank of |x[i]| among those that are not 0, equal ones sharing their ranks. */
static size_t twice_rank(const double *x, size_t n, size_t i, size_t *equal)
{
  size_t below = 0;
  *equal = 0;
  for (size_t j = 0; j < n; j++) {
    below += x[j] != 0 && fabs(x[j]) < fabs(x[i]);
    *equal += fabs(x[j]) == fabs(x[i]);
  }
  return 2 * below + *equal + 1;
}

/* P(V >= v) and P(V <= v) over all 2^n signs of the ranks seen, ties and all: each rank in
 * turn is in the sum or not. Ranks are doubled, so that shared ones are whole. */
static void signed_tails(const double *x, size_t n, size_t twice_v, double *upper, double *lower)
{
  double share[V_MAX + 1] = {1};
  size_t reached = 0, equal;
  for (size_t i = 0; i < n; i++) {
    if (x[i] == 0) continue;
    size_t rank = twice_rank(x, n, i, &equal);
    reached += rank;
    for (size_t s = reached + 1; s-- > 0;)
      share[s] = (share[s] + (s >= rank ? share[s - rank] : 0)) / 2;
  }
  *upper = *lower = 0;
  for (size_t s = 0; s <= reached; s++) {
    if (s >= twice_v) *upper += share[s];
    if (s <= twice_v) *lower += share[s];
  }
}

/* Differences of 0 say nothing of the direction and are left out, as Wilcoxon (Biometrics
 * Bull. 1, 1945) did. The variance of V is a quarter of the sum of squared ranks. */
void be_signed_rank(const double *difference, size_t n, double *v, double *p_greater, double *p)
{
  size_t used = 0, equal;
  double twice_v = 0, mean = 0, variance = 0;
  for (size_t i = 0; i < n; i++) {
    if (difference[i] == 0) continue;
    double rank = (double)twice_rank(difference, n, i, &equal);
    used++;
    mean += rank / 4;
    variance += rank * rank / 16;
    if (difference[i] > 0) twice_v += rank;
  }
  *v = twice_v / 2;
  *p_greater = *p = 1;
  if (used == 0) {
    if (n == 0) *v = *p_greater = *p = NAN;
    return;
  }
  if (used > EXACT_MAX) {
    *p_greater = be_normal_upper((*v - mean - 0.5) / sqrt(variance));
    *p = normal_p(*v - mean, variance);
    return;
  }
  double lower;
  signed_tails(difference, n, (size_t)twice_v, p_greater, &lower);
  *p = fmin(1, 2 * fmin(*p_greater, lower));
}
