/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ranks by resampling.
 *
 * 1. Resampling i draws from random stream i and from nothing else, and adds
 *    whole numbers to the counts; so neither the number of threads nor the
 *    order in which they work shows in the result.
 * 2. Block b does resamplings b, b + BLOCKS, ... and owns one stretch of each
 *    of the arrays in `work`:
 *
 *      counts   | block 0: knots x knots | block 1 | ...   [knot][rank - 1]
 *      keys     | block 0: knots         | block 1 | ...   minus the score
 *      orders   | block 0: knots         | block 1 | ...
 */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <math.h>

enum { BLOCKS = 32, KNOTS_MAX = 1000, TIMES_MAX = 100000000 };
/* A product of ratios is turned into a logarithm before it leaves this range;
 * one ratio lies within 1e-16 and 1e10, so no double overflows on the way. */
static const double PRODUCT_LEAST = 1e-200, PRODUCT_MOST = 1e200;

struct cell {
  const double *x;
  uint32_t n;
  bool still; /* one pull, or all alike: resampling changes nothing */
  double mean;
  double stretch; /* sqrt(n / (n - 1)) */
};

struct work {
  size_t knots, combinations;
  uint64_t seed;
  size_t times;
  struct cell *cells;
  double *scores;
  uint32_t *counts;
  double *keys;
  size_t *orders;
};

/* Sum over a knot's cells of log(resampled mean / mean). A stretched mean of
 * few pulls may fall to 0 or below: no strength, so minus infinity. */
static double draw_change(struct be_random *random, const struct cell *cells, size_t count)
{
  double change = 0, product = 1;
  for (size_t j = 0; j < count; j++) {
    const struct cell *cell = &cells[j];
    if (cell->still) continue;
    double mean = be_draw_sum(random, cell->x, cell->n) / cell->n;
    double ratio = 1 + cell->stretch * (mean / cell->mean - 1);
    if (ratio <= 0) change = -INFINITY;
    else product *= ratio;
    if (product < PRODUCT_LEAST || product > PRODUCT_MOST) {
      change += log(product);
      product = 1;
    }
  }
  return change + log(product);
}

static void count_block(void *work_, size_t block)
{
  struct work *work = work_;
  size_t knots = work->knots;
  uint32_t *counts = work->counts + block * knots * knots;
  double *keys = work->keys + block * knots;
  size_t *order = work->orders + block * knots;
  for (size_t i = block; i < work->times; i += BLOCKS) {
    struct be_random random;
    be_random_init(&random, work->seed, i);
    for (size_t k = 0; k < knots; k++) {
      const struct cell *cells = work->cells + k * work->combinations;
      double change = draw_change(&random, cells, work->combinations);
      keys[k] = -(work->scores[k] + change / (double)work->combinations);
    }
    be_order(keys, knots, order);
    for (size_t r = 0; r < knots; r++) counts[order[r] * knots + r]++;
  }
}

/* ---- before and after ---- */

static enum be_status check(const struct be_sample *cells, size_t knots, size_t combinations,
                            const struct be_resampling *how, struct be_err *err)
{
  if (how->times == 0 || !(how->level > 0 && how->level < 1)) {
    be_fail(err, BE_WRONG_USE, "%zu resamplings at level %g say nothing", how->times, how->level);
    return be_fail_remedy(err, "give at least 1 resampling and a level between 0 and 1");
  }
  if (knots > KNOTS_MAX || how->times > TIMES_MAX)
    return be_fail(err, BE_TOO_LARGE, "ranking takes at most %d knots and %d resamplings",
                   KNOTS_MAX, TIMES_MAX);
  if (combinations == 0) return be_fail(err, BE_BAD_INPUT, "there is no combination to rank over");
  for (size_t i = 0; i < knots * combinations; i++) {
    size_t knot = i / combinations + 1, combination = i % combinations + 1;
    if (cells[i].n == 0)
      return be_fail(err, BE_BAD_INPUT, "knot %zu has no pull in combination %zu", knot,
                     combination);
    if (cells[i].n > UINT32_MAX)
      return be_fail(err, BE_TOO_LARGE, "knot %zu has too many pulls in combination %zu", knot,
                     combination);
    for (size_t j = 0; j < cells[i].n; j++)
      if (!(cells[i].x[j] > 0 && isfinite(cells[i].x[j])))
        return be_fail(err, BE_BAD_INPUT,
                       "knot %zu, combination %zu, pull %zu: a load of %g cannot be ranked", knot,
                       combination, j + 1, cells[i].x[j]);
  }
  return BE_OK;
}

static void fill_cells(struct work *work, const struct be_sample *samples)
{
  for (size_t k = 0; k < work->knots; k++) {
    double sum = 0;
    for (size_t j = 0; j < work->combinations; j++) {
      size_t i = k * work->combinations + j;
      struct be_summary summary;
      be_summary_of(samples[i].x, samples[i].n, &summary);
      double n = (double)samples[i].n;
      work->cells[i] = (struct cell){samples[i].x, (uint32_t)samples[i].n,
                                     summary.min == summary.max, summary.mean, 0};
      if (samples[i].n > 1) work->cells[i].stretch = sqrt(n / (n - 1));
      sum += log(summary.mean);
    }
    work->scores[k] = sum / (double)work->combinations;
  }
}

/* low is the first rank whose share of resamplings, with all before it, is more
 * than (1 - level) / 2; high the same counted from the weak end. The hair of
 * 1e-9 keeps a share that equals it from passing by rounding. */
static void fill_range(const uint32_t *row, size_t knots, const struct be_resampling *how,
                       struct be_rank *rank)
{
  double enough = (1 - how->level) / 2 * (double)how->times * (1 + 1e-9);
  double from_top = 0, from_bottom = 0;
  rank->low = rank->high = 0;
  for (size_t r = 0; r < knots && rank->low == 0; r++)
    if ((from_top += row[r]) > enough) rank->low = r + 1;
  for (size_t r = knots; r > 0 && rank->high == 0; r--)
    if ((from_bottom += row[r - 1]) > enough) rank->high = r;
  rank->best = row[0] / (double)how->times;
}

/* The observed ranks, and the ranges from the counts of all blocks. A cell of one
 * pull leaves its knot with no range and no share to be told. */
static void fill_ranks(struct work *work, const struct be_resampling *how, struct be_rank *ranks)
{
  size_t knots = work->knots;
  for (size_t k = 0; k < knots; k++) work->keys[k] = -work->scores[k];
  be_order(work->keys, knots, work->orders);
  for (size_t r = 0; r < knots; r++) ranks[work->orders[r]].rank = r + 1;
  for (size_t b = 1; b < BLOCKS; b++)
    for (size_t i = 0; i < knots * knots; i++)
      work->counts[i] += work->counts[b * knots * knots + i];
  for (size_t k = 0; k < knots; k++) {
    ranks[k].score = work->scores[k];
    fill_range(work->counts + k * knots, knots, how, &ranks[k]);
    for (size_t j = 0; j < work->combinations; j++)
      if (work->cells[k * work->combinations + j].n == 1) {
        ranks[k].low = 1;
        ranks[k].high = knots;
        ranks[k].best = NAN;
      }
  }
}

enum be_status be_rank_resample(const struct be_sample *cells, size_t knots, size_t combinations,
                                const struct be_resampling *how, struct be_rank *ranks,
                                struct be_err *err)
{
  enum be_status status = check(cells, knots, combinations, how, err);
  if (status != BE_OK || knots == 0) return status;
  struct work work = {knots, combinations, how->seed, how->times, NULL, NULL, NULL, NULL, NULL};
  work.cells = be_alloc_array(knots * combinations, sizeof *work.cells);
  work.scores = be_alloc_array(knots, sizeof *work.scores);
  work.counts = be_alloc_array(BLOCKS * knots * knots, sizeof *work.counts);
  work.keys = be_alloc_array(BLOCKS * knots, sizeof *work.keys);
  work.orders = be_alloc_array(BLOCKS * knots, sizeof *work.orders);
  if (work.cells && work.scores && work.counts && work.keys && work.orders) {
    fill_cells(&work, cells);
    be_parallel(BLOCKS, how->threads, count_block, &work);
    fill_ranks(&work, how, ranks);
  } else {
    status = be_fail(err, BE_NO_MEMORY, "no memory to rank %zu knots", knots);
  }
  be_free(work.orders);
  be_free(work.keys);
  be_free(work.counts);
  be_free(work.scores);
  be_free(work.cells);
  return status;
}
