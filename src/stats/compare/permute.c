/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Permutation test of two means.
 *
 * 1. Pulls are taken as offsets from the mean of all, so that the offsets of both
 *    sides add up to 0 and the difference of means is a constant times the sum of the
 *    smaller side: only that sum is looked at.
 * 2. Random splits: block b draws from random stream b and from nothing else, and adds
 *    to a count of its own; so the number of threads does not show in the result.
 */
#include "stats/compare/compare.h"

#include <float.h>
#include <math.h>

enum { BLOCKS = 32, PULLS_MAX = 100000, TIMES_MAX = 100000000 };

struct split {
  size_t n, chosen; /* of n offsets, `chosen` are on the smaller side */
  const double *offset;
  double enough; /* a sum of this size or more is as far out as the seen one */
  uint64_t seed;
  size_t times;
  double *shuffled; /* BLOCKS runs of n */
  uint64_t hits[BLOCKS];
};

/* C(n, chosen), or most + 1 if it is more than that. The product so far is itself a
 * binomial coefficient, so each division is exact. */
static uint64_t count_splits(size_t n, size_t chosen, uint64_t most)
{
  uint64_t count = 1;
  for (size_t i = 1; i <= chosen; i++) {
    count = count * (n - chosen + i) / i;
    if (count > most) return most + 1;
  }
  return count;
}

/* Every choice once, in lexicographic order. sum[i] is the sum of the first i chosen:
 * only the sums behind the first place that moved are made anew, and no error builds up
 * from one choice to the next. */
static uint64_t count_all(const struct split *split, size_t *place, double *sum)
{
  size_t n = split->n, chosen = split->chosen, moved = 0;
  uint64_t hits = 0;
  for (size_t i = 0; i < chosen; i++) place[i] = i;
  sum[0] = 0;
  for (;;) {
    for (size_t i = moved; i < chosen; i++) sum[i + 1] = sum[i] + split->offset[place[i]];
    hits += fabs(sum[chosen]) >= split->enough;
    size_t i = chosen;
    while (i > 0 && place[i - 1] == n - chosen + i - 1) i--;
    if (i == 0) return hits;
    moved = i - 1;
    place[moved]++;
    for (; i < chosen; i++) place[i] = place[i - 1] + 1;
  }
}

/* The first places of a shuffle (Durstenfeld, Comm. ACM 7, 1964, algorithm 235); what
 * the split before left is as good a start as any. */
static void count_block(void *split_, size_t block)
{
  struct split *split = split_;
  double *x = split->shuffled + block * split->n;
  for (size_t i = 0; i < split->n; i++) x[i] = split->offset[i];
  struct be_random random;
  be_random_init(&random, split->seed, block);
  uint64_t hits = 0;
  for (size_t t = block; t < split->times; t += BLOCKS) {
    double sum = 0;
    for (size_t i = 0; i < split->chosen; i++) {
      size_t j = i + (size_t)be_random_below(&random, split->n - i);
      double drawn = x[j];
      x[j] = x[i];
      x[i] = drawn;
      sum += drawn;
    }
    hits += fabs(sum) >= split->enough;
  }
  split->hits[block] = hits;
}

static enum be_status check(const double *x, size_t n, const char *side, struct be_err *err)
{
  if (n == 0) return be_fail(err, BE_BAD_INPUT, "the %s set has no pull", side);
  for (size_t i = 0; i < n; i++)
    if (!isfinite(x[i]))
      return be_fail(err, BE_BAD_INPUT, "pull %zu of the %s set is no number", i + 1, side);
  return BE_OK;
}

/* Fills the offsets, the smaller side first, and what counts as far out. Statistics that
 * are equal must count as equal though they are summed in another order and decimals are
 * no doubles. Of each of c offsets chosen, the pull is off by half an epsilon of the
 * largest pull, the offset by one and the mean of all by one; c additions of sums below
 * c times the largest add c^2 / 2. For two sums that is below 16 n epsilons while
 * c <= 27, since n >= 2 c; with more there are too many splits to look at all of them.
 * Loads are told in steps that are far wider. */
static void fill_offsets(struct split *split, const double *small, const double *large,
                         double *offset)
{
  double sum = 0, rest = 0, largest = 0, seen = 0;
  for (size_t i = 0; i < split->n; i++) {
    offset[i] = i < split->chosen ? small[i] : large[i - split->chosen];
    largest = fmax(largest, fabs(offset[i]));
  }
  double n = (double)split->n;
  for (size_t i = 0; i < split->n; i++) sum += offset[i] / n;
  for (size_t i = 0; i < split->n; i++) rest += (offset[i] - sum) / n;
  for (size_t i = 0; i < split->n; i++) offset[i] = offset[i] - sum - rest;
  for (size_t i = 0; i < split->chosen; i++) seen += offset[i];
  split->enough = fabs(seen) - 16 * n * DBL_EPSILON * largest;
}

enum be_status be_permute_means(const double *a, size_t na, const double *b, size_t nb,
                                const struct be_resampling *how, struct be_permuted *result,
                                struct be_err *err)
{
  if (how->times == 0) {
    be_fail(err, BE_WRONG_USE, "no split at all says nothing");
    return be_fail_remedy(err, "give at least 1 split; 10000 is usual");
  }
  if (na > PULLS_MAX || nb > PULLS_MAX || how->times > TIMES_MAX)
    return be_fail(err, BE_TOO_LARGE, "a permutation test takes at most %d pulls a set, %d splits",
                   PULLS_MAX, TIMES_MAX);
  enum be_status status = check(a, na, "first", err);
  if (status == BE_OK) status = check(b, nb, "second", err);
  if (status != BE_OK) return status;
  struct split split = {.n = na + nb, .chosen = na < nb ? na : nb};
  split.seed = how->seed;
  split.times = how->times;
  uint64_t splits = count_splits(split.n, split.chosen, how->times);
  bool exact = splits <= how->times;
  double *offset = be_alloc_array(split.n, sizeof *offset);
  size_t *place = be_alloc_array(split.chosen, sizeof *place);
  double *room = be_alloc_array(exact ? split.chosen + 1 : BLOCKS * split.n, sizeof *room);
  if (!offset || !place || !room) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to permute %zu pulls", split.n);
    goto done;
  }
  fill_offsets(&split, na < nb ? a : b, na < nb ? b : a, offset);
  split.offset = offset;
  if (exact) {
    result->p = (double)count_all(&split, place, room) / (double)splits;
  } else {
    uint64_t hits = 1;
    split.shuffled = room;
    be_parallel(BLOCKS, how->threads, count_block, &split);
    for (size_t i = 0; i < BLOCKS; i++) hits += split.hits[i];
    splits = how->times;
    result->p = (double)hits / (double)(splits + 1);
  }
  result->exact = exact;
  result->splits = splits;
done:
  be_free(room);
  be_free(place);
  be_free(offset);
  return status;
}
