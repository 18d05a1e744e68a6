/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Block b makes drawings b, b + BLOCKS, ..., each from a random stream of its own, and adds whole
 * numbers to its own counts: so no number of threads shows in the result. */
#include "stats/number/number.h"
#include "stats/standing/inside.h"

#include <math.h>
#include <string.h>

enum { BLOCKS = 32 };

struct count {
  uint64_t best, top, ranks;
};

struct work {
  const struct be_cloud *cloud;
  const struct be_resampling *by;
  size_t top;
  struct count *counts; /* BLOCKS x knots */
  double *drawn;        /* BLOCKS x knots */
  size_t *order;        /* BLOCKS x knots */
};

static void count_block(void *work_, size_t block)
{
  struct work *work = work_;
  size_t n = work->cloud->count;
  struct count *counts = work->counts + block * n;
  double *drawn = work->drawn + block * n;
  size_t *order = work->order + block * n;
  for (size_t t = block; t < work->by->times; t += BLOCKS) {
    be_cloud_draw(work->cloud, work->by->seed, t, drawn);
    for (size_t i = 0; i < n; i++) drawn[i] = -(work->cloud->value[i] + drawn[i]);
    be_order(drawn, n, order);
    for (size_t r = 0; r < n; r++) {
      counts[order[r]].best += r == 0;
      counts[order[r]].top += r < work->top;
      counts[order[r]].ranks += r + 1;
    }
  }
}

static double error_of(uint64_t hits, size_t times)
{
  double share = ((double)hits + 1) / ((double)times + 2);
  return sqrt(share * (1 - share) / (double)times);
}

static void fill(struct work *work, size_t all, struct be_chance *chances)
{
  size_t n = work->cloud->count, times = work->by->times;
  for (size_t i = 0; i < all; i++) chances[i] = (struct be_chance){false, NAN, NAN, NAN, NAN, NAN};
  for (size_t i = 0; i < n; i++) {
    struct count sum = {0, 0, 0};
    for (size_t b = 0; b < BLOCKS; b++) {
      const struct count *part = &work->counts[b * n + i];
      sum.best += part->best, sum.top += part->top, sum.ranks += part->ranks;
    }
    double per = (double)times;
    chances[work->cloud->knot[i]] = (struct be_chance){true,
                                                       (double)sum.best / per,
                                                       error_of(sum.best, times),
                                                       (double)sum.top / per,
                                                       error_of(sum.top, times),
                                                       (double)sum.ranks / per};
  }
}

enum be_status be_chances(const struct be_standing *standing, size_t top,
                          const struct be_resampling *by, struct be_chance *chances,
                          struct be_err *err)
{
  struct be_cloud cloud;
  struct work work = {&cloud, by, top, NULL, NULL, NULL};
  enum be_status status = be_cloud_make(standing, &cloud, err);
  if (status == BE_OK) status = be_cloud_bear(&cloud, by, err);
  if (status == BE_OK && top == 0)
    status = be_fail(err, BE_WRONG_USE, "at least the first place must be asked for");
  if (status != BE_OK) goto done;
  size_t room = BLOCKS * (cloud.count ? cloud.count : 1);
  work.counts = be_alloc_array(room, sizeof *work.counts);
  work.drawn = be_alloc_array(room, sizeof *work.drawn);
  work.order = be_alloc_array(room, sizeof *work.order);
  if (!work.counts || !work.drawn || !work.order) {
    status = be_fail(err, BE_NO_MEMORY, "no memory for the chances of %zu knots", standing->count);
    goto done;
  }
  memset(work.counts, 0, room * sizeof *work.counts);
  be_parallel(BLOCKS, by->threads, count_block, &work);
  fill(&work, standing->count, chances);
done:
  be_free(work.order);
  be_free(work.drawn);
  be_free(work.counts);
  be_cloud_free(&cloud);
  return status;
}
