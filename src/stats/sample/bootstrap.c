/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Resampling of sets.
 *
 * 1. Resampling i draws from random stream i and from nothing else, one set after
 *    the other; its figure stands at place i. So neither the number of threads nor
 *    the order in which they work shows in the result.
 * 2. Block b of be_bootstrap does resamplings b, b + BLOCKS, ... and owns one
 *    stretch of `drawn` and of `views`; block b of be_bootstrap_means does sets
 *    b, b + blocks, ... and owns one stretch of `figures`. */
#include "stats/sample/inside.h"

#include <math.h>
#include <string.h>

enum { BLOCKS = 32, TIMES_MAX = 10000000, PULLS_MAX = 1000000 };

struct sets {
  const double *const *x;
  const size_t *n;
  size_t groups, pulls;
};

struct boot_work {
  struct sets sets;
  be_statistic *statistic;
  const void *context;
  const struct be_resampling *how;
  double *figures;      /* times */
  double *drawn;        /* BLOCKS x pulls */
  const double **views; /* BLOCKS x groups */
  size_t *sizes;        /* groups; for the jackknife */
};

static enum be_status check(const struct sets *sets, const struct be_resampling *how,
                            struct be_err *err)
{
  if (how->times == 0 || !(how->level > 0 && how->level < 1)) {
    be_fail(err, BE_WRONG_USE, "%zu resamplings at level %g say nothing", how->times, how->level);
    return be_fail_remedy(err, "give at least 1 resampling and a level between 0 and 1");
  }
  if (how->times > TIMES_MAX || sets->pulls > PULLS_MAX)
    return be_fail(err, BE_TOO_LARGE, "resampling takes at most %d pulls and %d resamplings",
                   PULLS_MAX, TIMES_MAX);
  for (size_t g = 0; g < sets->groups; g++) {
    if (sets->n[g] == 0) return be_fail(err, BE_BAD_INPUT, "set %zu has no pull", g + 1);
    for (size_t i = 0; i < sets->n[g]; i++)
      if (!isfinite(sets->x[g][i]))
        return be_fail(err, BE_BAD_INPUT, "set %zu, pull %zu: %g cannot be resampled", g + 1, i + 1,
                       sets->x[g][i]);
  }
  return BE_OK;
}

static size_t count_pulls(const size_t *n, size_t groups)
{
  size_t pulls = 0;
  for (size_t g = 0; g < groups; g++) pulls += n[g] < PULLS_MAX ? n[g] : PULLS_MAX + 1;
  return pulls;
}

/* ---- one resampling after another ---- */

static void resample_block(void *work_, size_t block)
{
  struct boot_work *work = work_;
  const struct sets *sets = &work->sets;
  double *drawn = work->drawn + block * sets->pulls;
  const double **views = work->views + block * sets->groups;
  for (size_t g = 0, start = 0; g < sets->groups; start += sets->n[g], g++)
    views[g] = sets->n[g] == 1 ? sets->x[g] : drawn + start;
  for (size_t i = block; i < work->how->times; i += BLOCKS) {
    struct be_random random;
    be_random_init(&random, work->how->seed, i);
    for (size_t g = 0, start = 0; g < sets->groups; start += sets->n[g], g++)
      if (sets->n[g] > 1) be_draw_set(&random, sets->x[g], (uint32_t)sets->n[g], drawn + start);
    work->figures[i] = work->statistic(views, sets->n, sets->groups, work->context);
  }
}

/* ---- acceleration ---- */

/* a = sum_g n_g^-3 sum l^3 / (6 (sum_g n_g^-2 sum l^2)^(3/2)) (Davison and Hinkley,
 * 1997, section 5.3.2; for one set Efron's), l the jackknife's influence values
 * (n_g - 1)(mean figure - figure without the pull). `without` holds one set. */
struct influence {
  double squares, cubes;
};

static void add_influence(struct influence *sum, const double *figures, size_t n)
{
  struct be_summary summary;
  be_summary_of(figures, n, &summary);
  for (size_t j = 0; j < n; j++) {
    double l = (summary.mean - figures[j]) * (double)(n - 1) / (double)n;
    sum->squares += l * l;
    sum->cubes += l * l * l;
  }
}

/* Figures that do not move have no acceleration; rounding is no move. */
static double acceleration_of(const struct influence *sum, double value)
{
  if (!isfinite(sum->squares) || !isfinite(sum->cubes)) return NAN;
  if (sqrt(sum->squares) <= 1e-14 * fabs(value)) return 0;
  return sum->cubes / (6 * sum->squares * sqrt(sum->squares));
}

/* The mean of a set without each pull in turn; without a pull of another set it does not
 * move. In n steps, where summing anew for each would take n^2. */
static void means_without(const double *x, size_t n, double mean, bool own, double *figures)
{
  for (size_t j = 0; j < n; j++) figures[j] = own ? mean - (x[j] - mean) / (double)(n - 1) : mean;
}

static double jackknife(const struct sets *sets, be_statistic *statistic, const void *context,
                        double value, double *scratch, const double **views, size_t *sizes)
{
  struct influence sum = {0, 0};
  for (size_t g = 0; g < sets->groups; g++) {
    views[g] = sets->x[g];
    sizes[g] = sets->n[g];
  }
  for (size_t g = 0; g < sets->groups; g++) {
    size_t n = sets->n[g];
    double *without = scratch, *figures = scratch + n;
    if (n < 2) continue;
    views[g] = without;
    sizes[g] = n - 1;
    if (statistic == be_draw_mean) {
      means_without(sets->x[g], n, value, g == 0, figures);
    } else {
      memcpy(without, sets->x[g] + 1, (n - 1) * sizeof *without);
      for (size_t j = 0; j < n; j++) {
        figures[j] = statistic(views, sizes, sets->groups, context);
        if (j + 1 < n) without[j] = sets->x[g][j];
      }
    }
    add_influence(&sum, figures, n);
    views[g] = sets->x[g];
    sizes[g] = n;
  }
  return acceleration_of(&sum, value);
}

enum be_status be_bootstrap(const double *const *x, const size_t *n, size_t groups,
                            be_statistic *statistic, const void *context,
                            const struct be_resampling *how, struct be_boot *boot,
                            struct be_err *err)
{
  struct boot_work work = {
      {x, n, groups, count_pulls(n, groups)}, statistic, context, how, NULL, NULL, NULL, NULL};
  if (groups == 0) return be_fail(err, BE_BAD_INPUT, "there is no set to resample");
  enum be_status status = check(&work.sets, how, err);
  if (status != BE_OK) return status;
  work.figures = be_alloc_array(how->times, sizeof *work.figures);
  work.drawn = be_alloc_array(BLOCKS * work.sets.pulls, sizeof *work.drawn);
  work.views = be_alloc_array(BLOCKS * groups, sizeof *work.views);
  work.sizes = be_alloc_array(groups, sizeof *work.sizes);
  if (work.figures && work.drawn && work.views && work.sizes) {
    *boot = (struct be_boot){.value = statistic(x, n, groups, context)};
    boot->acceleration =
        jackknife(&work.sets, statistic, context, boot->value, work.drawn, work.views, work.sizes);
    be_parallel(BLOCKS, how->threads, resample_block, &work);
    be_boot_finish(work.figures, how->times, how->level, boot);
  } else {
    status = be_fail(err, BE_NO_MEMORY, "no memory for %zu resamplings", how->times);
  }
  be_free(work.sizes);
  be_free(work.views);
  be_free(work.drawn);
  be_free(work.figures);
  return status;
}

/* ---- means of many sets ---- */

struct means_work {
  struct sets sets;
  const struct be_resampling *how;
  struct be_boot *boots;
  size_t blocks;
  double *figures; /* blocks x room; room for the figures of a set, or its jackknife */
  size_t room;
};

static void one_mean(const struct means_work *work, size_t g, double *figures)
{
  const double *x = work->sets.x[g], *view;
  size_t n = work->sets.n[g], size;
  const struct sets alone = {&x, &n, 1, n};
  struct be_boot *boot = &work->boots[g];
  *boot = (struct be_boot){.value = be_draw_mean(&x, &n, 1, NULL)};
  boot->acceleration = jackknife(&alone, be_draw_mean, NULL, boot->value, figures, &view, &size);
  for (size_t i = 0; i < work->how->times; i++) {
    struct be_random random;
    be_random_init(&random, work->how->seed, i);
    figures[i] = n == 1 ? x[0] : be_draw_sum(&random, x, (uint32_t)n) / (double)n;
  }
  be_boot_finish(figures, work->how->times, work->how->level, boot);
}

static void means_block(void *work_, size_t block)
{
  const struct means_work *work = work_;
  for (size_t g = block; g < work->sets.groups; g += work->blocks)
    one_mean(work, g, work->figures + block * work->room);
}

enum be_status be_bootstrap_means(const double *const *x, const size_t *n, size_t sets,
                                  const struct be_resampling *how, struct be_boot *boots,
                                  struct be_err *err)
{
  struct means_work work = {{x, n, sets, count_pulls(n, sets)}, how, boots, 0, NULL, how->times};
  enum be_status status = check(&work.sets, how, err);
  if (status != BE_OK || sets == 0) return status;
  work.blocks = sets < BLOCKS ? sets : BLOCKS;
  for (size_t g = 0; g < sets; g++)
    if (work.room < 2 * n[g]) work.room = 2 * n[g];
  work.figures = be_alloc_array(work.blocks * work.room, sizeof *work.figures);
  if (!work.figures) return be_fail(err, BE_NO_MEMORY, "no memory for %zu resamplings", how->times);
  be_parallel(work.blocks, how->threads, means_block, &work);
  be_free(work.figures);
  return BE_OK;
}
