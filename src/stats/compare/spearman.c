/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Do two figures of the same things rise together: Spearman's rho, its chance counted over
 * all orders, and the slope with the interval of the same test.
 *
 * 1. Ranks are doubled, so that shared ones are whole: sums of products are exact, and sums that
 *    are equal count as equal.
 * 2. The slope's interval holds each b for which x and y - b x do not differ from unrelated by
 *    the same statistic. The sum of products falls as b grows, by steps at the slopes of pairs
 *    (as Theil's with Kendall's tau; Sen, J. Am. Stat. Assoc. 63, 1968), so that its ends are
 *    found by halving.
 */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <math.h>
#include <stdlib.h>

/* 9! orders take some milliseconds; the largest sum of doubled ranks is 4 * 9 * 9 * 9. */
enum { EXACT_MAX = 9, SUM_MAX = 4 * EXACT_MAX * EXACT_MAX * EXACT_MAX, TIMES_MAX = 100000000 };

static void fill_ranks(const double *x, size_t n, int64_t *rank)
{
  for (size_t i = 0; i < n; i++) {
    rank[i] = 1;
    for (size_t k = 0; k < n; k++) rank[i] += 2 * (x[k] < x[i]) + (x[k] == x[i]);
  }
}

/* The sum of products less its mean over all orders. */
static int64_t sum_of(const int64_t *a, const int64_t *b, size_t n)
{
  int64_t sum = 0, middle = (int64_t)n + 1;
  for (size_t i = 0; i < n; i++) sum += (a[i] - middle) * (b[i] - middle);
  return sum;
}

/* Counts every order once by the size of its sum (B. R. Heap, Comput. J. 6, 1963): each differs
 * from the one before by an exchange of two. b ends in another order. */
static void count_orders(const int64_t *a, int64_t *b, size_t n, uint64_t *count)
{
  size_t turn[EXACT_MAX] = {0};
  int64_t sum = sum_of(a, b, n);
  count[llabs(sum)]++;
  for (size_t i = 1; i < n;) {
    if (turn[i] == i) {
      turn[i++] = 0;
      continue;
    }
    size_t other = i % 2 ? turn[i] : 0;
    sum += (a[i] - a[other]) * (b[other] - b[i]);
    int64_t held = b[i];
    b[i] = b[other];
    b[other] = held;
    count[llabs(sum)]++;
    turn[i]++;
    i = 1;
  }
}

static uint64_t count_from(const uint64_t *count, int64_t least)
{
  uint64_t sum = 0;
  for (int64_t i = least; i <= SUM_MAX; i++) sum += count[i];
  return sum;
}

static void by_all(const int64_t *a, const int64_t *b, size_t n, struct be_rank_order *result)
{
  uint64_t count[SUM_MAX + 1] = {0};
  int64_t order[EXACT_MAX], most = SUM_MAX;
  for (size_t i = 0; i < n; i++) order[i] = b[i];
  count_orders(a, order, n, count);
  while (count[most] == 0) most--;
  double all = (double)count_from(count, 0);
  result->orders = (uint64_t)all;
  result->p = (double)count_from(count, llabs(sum_of(a, b, n))) / all;
  result->least_p = (double)count[most] / all;
}

static void by_some(const int64_t *a, int64_t *b, size_t n, const struct be_resampling *how,
                    struct be_rank_order *result)
{
  int64_t seen = llabs(sum_of(a, b, n));
  uint64_t hits = 1;
  struct be_random random;
  be_random_init(&random, how->seed, 0);
  for (size_t t = 0; t < how->times; t++) {
    for (size_t i = n - 1; i > 0; i--) {
      size_t k = (size_t)be_random_below(&random, i + 1);
      int64_t held = b[i];
      b[i] = b[k];
      b[k] = held;
    }
    hits += llabs(sum_of(a, b, n)) >= seen;
  }
  result->orders = how->times;
  result->least_p = 1 / (double)(how->times + 1);
  result->p = (double)hits * result->least_p;
}

/* ---- the slope ---- */

/* The least size of the sum that shows something at the level, y without ties; -1 where none
 * does. Beyond what is counted out, by Student's t with n - 2, as is usual of rho. */
static double critical_sum(const int64_t *a, size_t n, double level)
{
  double own = (double)sum_of(a, a, n);
  if (n > EXACT_MAX) {
    double t = be_t_quantile((1 - level) / 2, (double)n - 2), all = (double)n;
    double plain = all * (all * all - 1) / 3;
    return t / sqrt(all - 2 + t * t) * sqrt(own * plain);
  }
  uint64_t count[SUM_MAX + 1] = {0}, beyond = 0;
  int64_t order[EXACT_MAX];
  for (size_t i = 0; i < n; i++) order[i] = 2 * (int64_t)i + 2;
  count_orders(a, order, n, count);
  double most = (1 - level) * (double)count_from(count, 0) * (1 + 1e-12);
  int64_t least = SUM_MAX + 1;
  while (least > 0 && (double)(beyond + count[least - 1]) <= most) beyond += count[--least];
  return beyond ? (double)least : -1;
}

struct slopes {
  const double *x, *y;
  const int64_t *a;
  size_t n;
  double *sorted; /* of all pairs of different x */
  size_t count;
  double *rest;
  int64_t *rank;
};

/* The sum of x and y - b x, b between the slopes before and after `place`. */
static double sum_between(const struct slopes *s, size_t place)
{
  double before = place > 0 ? s->sorted[place - 1] : s->sorted[0] - 1;
  double after = place < s->count ? s->sorted[place] : s->sorted[s->count - 1] + 1;
  double b = before + (after - before) / 2;
  for (size_t i = 0; i < s->n; i++) s->rest[i] = s->y[i] - b * s->x[i];
  fill_ranks(s->rest, s->n, s->rank);
  return (double)sum_of(s->a, s->rank, s->n);
}

/* The first place whose sum is below the limit (or, when `or_at`, not above it). */
static size_t first_below(const struct slopes *s, double limit, bool or_at)
{
  size_t low = 0, high = s->count + 1;
  while (low < high) {
    size_t middle = low + (high - low) / 2;
    double sum = sum_between(s, middle);
    if (sum < limit || (or_at && sum <= limit)) high = middle;
    else low = middle + 1;
  }
  return low;
}

static void find_slope(struct slopes *s, double level, struct be_measure *slope)
{
  s->count = 0;
  for (size_t i = 0; i < s->n; i++)
    for (size_t k = i + 1; k < s->n; k++)
      if (s->x[i] != s->x[k]) s->sorted[s->count++] = (s->y[k] - s->y[i]) / (s->x[k] - s->x[i]);
  be_sort(s->sorted, s->count);
  double low = s->sorted[(s->count - 1) / 2], high = s->sorted[s->count / 2];
  slope->value = low + (high - low) / 2;
  double critical = critical_sum(s->a, s->n, level);
  if (critical < 0) return;
  size_t first = first_below(s, critical, false), end = first_below(s, -critical, true);
  slope->interval.low = first > 0 ? s->sorted[first - 1] : -INFINITY;
  slope->interval.high = end <= s->count ? s->sorted[end - 1] : INFINITY;
}

/* ---- both ---- */

static enum be_status check(const double *x, const double *y, size_t n,
                            const struct be_resampling *how, struct be_err *err)
{
  if (how->times == 0) return be_fail(err, BE_WRONG_USE, "no order at all says nothing");
  if (n > BE_RANK_ORDER_MAX || how->times > TIMES_MAX)
    return be_fail(err, BE_TOO_LARGE, "a rank correlation takes at most %d pairs, %d orders",
                   BE_RANK_ORDER_MAX, TIMES_MAX);
  for (size_t i = 0; i < n; i++)
    if (!isfinite(x[i]) || !isfinite(y[i]))
      return be_fail(err, BE_BAD_INPUT, "pair %zu is no pair of numbers", i + 1);
  return BE_OK;
}

enum be_status be_permute_rank(const double *x, const double *y, size_t n,
                               const struct be_resampling *how, struct be_rank_order *result,
                               struct be_err *err)
{
  enum be_status status = check(x, y, n, how, err);
  if (status != BE_OK) return status;
  *result = (struct be_rank_order){
      NAN, NAN, NAN, false, 0, {NAN, {NAN, NAN, how->level}},
  };
  size_t pairs = n * (n + 1) / 2 + 1;
  int64_t *a = be_alloc_array(3 * n + 1, sizeof *a);
  double *room = be_alloc_array(n + pairs, sizeof *room);
  if (a && room && n > 0) {
    int64_t *b = a + n;
    fill_ranks(x, n, a);
    fill_ranks(y, n, b);
    double own = (double)sum_of(a, a, n) * (double)sum_of(b, b, n);
    if (own > 0) {
      result->rho = (double)sum_of(a, b, n) / sqrt(own);
      result->exact = n <= EXACT_MAX;
      if (result->exact) by_all(a, b, n, result);
      else by_some(a, b, n, how, result);
      struct slopes slopes = {x, y, a, n, room, 0, room + pairs, b + n};
      find_slope(&slopes, how->level, &result->slope);
    }
  } else if (n > 0) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to permute %zu pairs", n);
  }
  be_free(room);
  be_free(a);
  return status;
}
