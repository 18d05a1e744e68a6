/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sets of ranks.
 *
 * A family is what must hold at once: all pairs, or those of one knot. Of each pair (i, j) two
 * one-sided hypotheses are tested, "i is not above j" and "i is not below j", by
 * t = (value i - value j) / se. Kept at all times:
 *   1. hypotheses[i][j] has the bits of those of the pair that stand; found[i][j] is 1 where i was
 *      found above j, -1 below. Together only j > i is kept, and mirrored at the end.
 *   2. Drawing s is stream s and nothing else, and stays as it is from step to step: so
 *      `critical` never rises, and no number of threads shows in the result.
 *
 * Stepwise (Romano and Wolf, Econometrica 73, 2005, algorithm 3.1, as Mogstad et al. section 3
 * take it): what was found leaves the family, whose greatest t is then smaller. When "i is not
 * above j" is gone, "i is not below j" stays, because it is true whenever the first was rightly
 * rejected; leaving it out as well would save more, but is not proved to keep the level. */
#include "stats/number/number.h"
#include "stats/standing/inside.h"

#include <math.h>
#include <string.h>

enum { BLOCKS = 32, NOT_ABOVE = 1, NOT_BELOW = 2 };
/* A variance of a difference below this share of the two variances is rounding. */
static const double NO_VARIANCE = 1e-9;

struct work {
  struct be_cloud cloud;
  const struct be_resampling *by;
  enum be_separation how;
  bool together;
  double *inverse; /* n x n: 1 / standard error of the difference; 0 where it has none */
  unsigned char *hypotheses;
  signed char *found;
  double *critical; /* n */
  double *drawn;    /* times x n */
  double *greatest; /* times, for each of some blocks */
  size_t blocks;
};

static double t_of(const struct work *work, size_t i, size_t j)
{
  const struct be_cloud *cloud = &work->cloud;
  return (cloud->value[i] - cloud->value[j]) * work->inverse[i * cloud->count + j];
}

static void lay_out(struct work *work)
{
  size_t n = work->cloud.count;
  const double *variance = work->cloud.variance;
  memset(work->found, 0, n * n);
  for (size_t i = 0; i < n; i++)
    for (size_t j = 0; j < n; j++) {
      double both = variance[i * n + i] + variance[j * n + j];
      double left = both - 2 * variance[i * n + j];
      bool told = i != j && left > NO_VARIANCE * both;
      work->inverse[i * n + j] = told ? 1 / sqrt(left) : 0;
      work->hypotheses[i * n + j] = told && (j > i || !work->together) ? NOT_ABOVE | NOT_BELOW : 0;
    }
}

/* ---- the greatest t of a drawing ---- */

static void draw_block(void *work_, size_t block)
{
  struct work *work = work_;
  for (size_t t = block; t < work->by->times; t += BLOCKS)
    be_cloud_draw(&work->cloud, work->by->seed, t, work->drawn + t * work->cloud.count);
}

static double greatest_of_row(const struct work *work, const double *drawn, size_t i, double most)
{
  size_t n = work->cloud.count;
  const unsigned char *hypotheses = work->hypotheses + i * n;
  const double *inverse = work->inverse + i * n;
  for (size_t j = work->together ? i + 1 : 0; j < n; j++) {
    double t = (drawn[i] - drawn[j]) * inverse[j];
    if (t > most && hypotheses[j] & NOT_ABOVE) most = t;
    if (-t > most && hypotheses[j] & NOT_BELOW) most = -t;
  }
  return most;
}

static void greatest_block(void *work_, size_t block)
{
  struct work *work = work_;
  size_t n = work->cloud.count;
  for (size_t t = block; t < work->by->times; t += BLOCKS) {
    double most = 0;
    for (size_t i = 0; i < n; i++) most = greatest_of_row(work, work->drawn + t * n, i, most);
    work->greatest[t] = most;
  }
}

/* The value that a share `level` of `times` + 1 do not pass: with the pulls' own as one more
 * drawing among them the level is kept at any number of drawings. A hair against rounding. */
static double quantile(double *greatest, const struct be_resampling *by)
{
  double place = by->level * ((double)by->times + 1);
  be_sort(greatest, by->times);
  return greatest[(size_t)ceil(place * (1 - 1e-12)) - 1];
}

/* ---- families ---- */

/* True when something was found in row i. */
static bool find_in_row(struct work *work, size_t i, double critical)
{
  size_t n = work->cloud.count;
  bool news = false;
  for (size_t j = 0; j < n; j++) {
    unsigned char *hypotheses = &work->hypotheses[i * n + j];
    double t = *hypotheses ? t_of(work, i, j) : 0;
    if (*hypotheses & NOT_ABOVE && t > critical) {
      *hypotheses &= (unsigned char)~NOT_ABOVE;
      work->found[i * n + j] = 1;
      news = true;
    } else if (*hypotheses & NOT_BELOW && -t > critical) {
      *hypotheses &= (unsigned char)~NOT_BELOW;
      work->found[i * n + j] = -1;
      news = true;
    }
  }
  return news;
}

static void settle_together(struct work *work)
{
  size_t n = work->cloud.count;
  bool news = true;
  while (news) {
    be_parallel(BLOCKS, work->by->threads, greatest_block, work);
    double critical = quantile(work->greatest, work->by);
    news = false;
    for (size_t i = 0; i < n; i++) {
      work->critical[i] = critical;
      if (find_in_row(work, i, critical)) news = true;
    }
    news = news && work->how == BE_SEPARATE_STEPWISE;
  }
}

static void settle_block(void *work_, size_t block)
{
  struct work *work = work_;
  size_t n = work->cloud.count, times = work->by->times;
  double *greatest = work->greatest + block * times;
  for (size_t i = block; i < n; i += work->blocks) {
    bool news = true;
    while (news) {
      for (size_t t = 0; t < times; t++)
        greatest[t] = greatest_of_row(work, work->drawn + t * n, i, 0);
      work->critical[i] = quantile(greatest, work->by);
      news = find_in_row(work, i, work->critical[i]) && work->how == BE_SEPARATE_STEPWISE;
    }
  }
}

static enum be_status settle_by_drawing(struct work *work, struct be_err *err)
{
  size_t n = work->cloud.count, times = work->by->times;
  work->blocks = work->together ? 1 : n < BLOCKS ? n : BLOCKS;
  work->drawn = be_alloc_array(times * n, sizeof *work->drawn);
  work->greatest = be_alloc_array(times * work->blocks, sizeof *work->greatest);
  if (!work->drawn || !work->greatest)
    return be_fail(err, BE_NO_MEMORY, "no memory for %zu drawings of %zu knots", times, n);
  be_parallel(BLOCKS, work->by->threads, draw_block, work);
  if (work->together) settle_together(work);
  else be_parallel(work->blocks, work->by->threads, settle_block, work);
  return BE_OK;
}

/* (1 - level) over the pairs of a family and the two sides of each. */
static void settle_by_bonferroni(struct work *work)
{
  double n = (double)work->cloud.count;
  double pairs = work->together ? n * (n - 1) / 2 : n - 1;
  double critical = be_t_quantile((1 - work->by->level) / 2 / pairs, work->cloud.df);
  for (size_t i = 0; i < work->cloud.count; i++) {
    work->critical[i] = critical;
    find_in_row(work, i, critical);
  }
}

/* ---- before and after ---- */

static enum be_status check(const struct work *work, struct be_err *err)
{
  const struct be_resampling *by = work->by;
  if (!(by->level > 0 && by->level < 1)) {
    be_fail(err, BE_WRONG_USE, "a level of %g says nothing", by->level);
    return be_fail_remedy(err, "give a level between 0 and 1");
  }
  if (work->how == BE_SEPARATE_BONFERRONI) return BE_OK;
  enum be_status status = be_cloud_bear(&work->cloud, by, err);
  if (status != BE_OK) return status;
  double least = ceil(by->level / (1 - by->level) * (1 - 1e-12));
  if ((double)by->times >= least) return BE_OK;
  be_fail(err, BE_WRONG_USE, "%zu drawings are too few for a level of %g", by->times, by->level);
  return be_fail_remedy(err, "give at least %.0f", least);
}

static void fill(struct work *work, const struct be_standing *standing, struct be_rank_set *sets,
                 bool *apart)
{
  size_t n = work->cloud.count, all = standing->count;
  for (size_t a = 0; a < all; a++) {
    sets[a] = (struct be_rank_set){0, 1, all, NAN, false};
    if (isnan(standing->value[a])) continue;
    sets[a].rank = 1;
    for (size_t b = 0; b < all; b++)
      sets[a].rank += standing->value[b] > standing->value[a] ||
                      (standing->value[b] == standing->value[a] && b < a);
  }
  if (apart)
    for (size_t i = 0; i < all * all; i++) apart[i] = false;
  for (size_t i = 0; i < n; i++) {
    size_t a = work->cloud.knot[i];
    sets[a].known = true;
    if (n > 1) sets[a].critical = work->critical[i];
    for (size_t j = 0; j < n; j++) {
      int found = work->found[i * n + j];
      if (work->together && j < i) found = -work->found[j * n + i];
      sets[a].low += found < 0;
      sets[a].high -= found > 0;
      if (apart) apart[a * all + work->cloud.knot[j]] = found != 0;
    }
  }
}

enum be_status be_rank_sets(const struct be_standing *standing, enum be_separation how,
                            bool together, const struct be_resampling *by, struct be_rank_set *sets,
                            bool *apart, struct be_err *err)
{
  struct work work = {.by = by, .how = how, .together = together};
  enum be_status status = be_cloud_make(standing, &work.cloud, err);
  if (status == BE_OK) status = check(&work, err);
  if (status != BE_OK) goto done;
  size_t n = work.cloud.count, room = n ? n : 1;
  work.inverse = be_alloc_array(room * room, sizeof *work.inverse);
  work.hypotheses = be_alloc_array(room * room, sizeof *work.hypotheses);
  work.found = be_alloc_array(room * room, sizeof *work.found);
  work.critical = be_alloc_array(room, sizeof *work.critical);
  if (!work.inverse || !work.hypotheses || !work.found || !work.critical) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to rank %zu knots", standing->count);
    goto done;
  }
  lay_out(&work);
  if (n > 1 && how == BE_SEPARATE_BONFERRONI) settle_by_bonferroni(&work);
  else if (n > 1) status = settle_by_drawing(&work, err);
  if (status == BE_OK) fill(&work, standing, sets, apart);
done:
  be_free(work.greatest);
  be_free(work.drawn);
  be_free(work.critical);
  be_free(work.found);
  be_free(work.hypotheses);
  be_free(work.inverse);
  be_cloud_free(&work.cloud);
  return status;
}
