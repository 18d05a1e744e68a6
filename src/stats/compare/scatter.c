/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two sets in several strata: does one scatter more.
 *
 * 1. Of each stratum the log of the ratio of the two mean squares, less what it is off on the mean
 *    for so few pulls, weighted by how well it is known (M. S. Bartlett and D. G. Kendall, Suppl.
 *    J. R. Stat. Soc. 8, 1946): strata may scatter as unlike as they will.
 * 2. p by dealing the pulls of each stratum out anew, the common difference of the two sets
 *    taken off before: the theory of 1 takes pulls as normal.
 */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <math.h>

/* Of half a number of degrees of freedom, by recurrence from 1/2 or 1: exact values there. */
static double digamma_half(size_t df)
{
  const double euler = 0.57721566490153286;
  double x = df % 2 ? 0.5 : 1, sum = df % 2 ? -euler - 2 * log(2.0) : -euler;
  for (; 2 * x < (double)df; x++) sum += 1 / x;
  return sum;
}

static double trigamma_half(size_t df)
{
  const double pi = 3.14159265358979323846;
  double x = df % 2 ? 0.5 : 1, sum = df % 2 ? pi * pi / 2 : pi * pi / 6;
  for (; 2 * x < (double)df; x++) sum -= 1 / (x * x);
  return sum;
}

struct gathered {
  double sum, weights;
  size_t n, strata;
};

/* One stratum, from..end; first[i] tells the set. */
static void add_stratum(const double *y, const bool *first, size_t from, size_t end,
                        struct gathered *all)
{
  double mean[2] = {0, 0}, squares[2] = {0, 0}, log_square[2];
  size_t n[2] = {0, 0};
  for (size_t i = from; i < end; i++) {
    n[first[i]]++;
    mean[first[i]] += y[i] - y[from];
  }
  if (n[0] < 2 || n[1] < 2) return;
  for (size_t i = from; i < end; i++) {
    double off = y[i] - y[from] - mean[first[i]] / (double)n[first[i]];
    squares[first[i]] += off * off;
  }
  /* What does not scatter at all was read too coarsely. */
  double nothing = 1e-24 * (1 + y[from] * y[from]);
  if (squares[0] < nothing || squares[1] < nothing) return;
  for (int s = 0; s < 2; s++) log_square[s] = log(squares[s] / 2) - digamma_half(n[s] - 1);
  double weight = 1 / (trigamma_half(n[0] - 1) + trigamma_half(n[1] - 1));
  all->sum += weight * (log_square[1] - log_square[0]);
  all->weights += weight;
  all->n += n[0] + n[1];
  all->strata++;
}

static size_t stratum_end(const size_t *stratum, size_t n, size_t from)
{
  size_t end = from + 1;
  while (end < n && stratum[end] == stratum[from]) end++;
  return end;
}

static struct gathered gather(const double *y, const bool *first, const size_t *stratum, size_t n)
{
  struct gathered all = {0, 0, 0, 0};
  for (size_t i = 0, end; i < n; i = end) {
    end = stratum_end(stratum, n, i);
    add_stratum(y, first, i, end, &all);
  }
  return all;
}

static void deal(bool *first, const size_t *stratum, size_t n, struct be_random *random)
{
  for (size_t i = 0, end; i < n; i = end) {
    end = stratum_end(stratum, n, i);
    for (size_t k = end - 1; k > i; k--) {
      size_t other = i + (size_t)be_random_below(random, k - i + 1);
      bool held = first[k];
      first[k] = first[other];
      first[other] = held;
    }
  }
}

/* Takes the common difference off y, in place. */
static enum be_status level_out(const double *y, const bool *first, const size_t *stratum, size_t n,
                                double *level)
{
  double *x = be_alloc_array(n + 1, sizeof *x);
  if (!x) return BE_NO_MEMORY;
  size_t strata;
  for (size_t i = 0; i < n; i++) x[i] = first[i];
  struct be_estimate apart = be_within(x, y, stratum, n, &strata);
  for (size_t i = 0; i < n; i++) level[i] = y[i] - (strata ? apart.value * x[i] : 0);
  be_free(x);
  return BE_OK;
}

enum be_status be_scatter_within(const double *y, const bool *first, const size_t *stratum,
                                 size_t n, const struct be_resampling *how,
                                 struct be_scattered *scatter, struct be_err *err)
{
  *scatter = (struct be_scattered){{NAN, {NAN, NAN, how->level}}, NAN, 0, 0};
  if (how->times == 0) return be_fail(err, BE_WRONG_USE, "no deal at all says nothing");
  struct gathered seen = gather(y, first, stratum, n);
  if (seen.strata == 0) return BE_OK;
  double *level = be_alloc_array(n, sizeof *level);
  bool *dealt = be_alloc_array(n, sizeof *dealt);
  enum be_status status = BE_NO_MEMORY;
  if (level && dealt) status = level_out(y, first, stratum, n, level);
  if (status != BE_OK) {
    be_fail(err, BE_NO_MEMORY, "no memory to deal out %zu pulls", n);
    goto done;
  }
  double value = seen.sum / seen.weights;
  double reach = be_normal_quantile((1 - how->level) / 2) / sqrt(seen.weights);
  scatter->ratio.value = exp(value / 2);
  scatter->ratio.interval.low = exp((value - reach) / 2);
  scatter->ratio.interval.high = exp((value + reach) / 2);
  scatter->n = seen.n;
  scatter->strata = seen.strata;
  struct be_random random;
  be_random_init(&random, how->seed, 0);
  size_t hits = 1;
  for (size_t i = 0; i < n; i++) dealt[i] = first[i];
  for (size_t t = 0; t < how->times; t++) {
    deal(dealt, stratum, n, &random);
    struct gathered now = gather(level, dealt, stratum, n);
    hits += now.strata > 0 && fabs(now.sum / now.weights) >= fabs(value) * (1 - 1e-12);
  }
  scatter->p = (double)hits / (double)(how->times + 1);
done:
  be_free(dealt);
  be_free(level);
  return status;
}
