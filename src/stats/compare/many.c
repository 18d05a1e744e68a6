/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* A sum with what its roundings lost (A. Neumaier, Z. Angew. Math. Mech. 54, 1974). */
struct sum {
  double value, lost;
};

static void add(struct sum *sum, double x)
{
  double next = sum->value + x;
  sum->lost += fabs(sum->value) >= fabs(x) ? (sum->value - next) + x : (x - next) + sum->value;
  sum->value = next;
}

static double total(const struct sum *sum)
{
  return sum->value + sum->lost;
}

static double mean_from(const double *x, size_t n, double origin)
{
  struct sum sum = {0, 0};
  for (size_t i = 0; i < n; i++) add(&sum, x[i] - origin);
  return total(&sum) / (double)n;
}

static void finish(struct be_anova *anova)
{
  anova->df = (double)anova->sets - 1;
  anova->df_within = (double)(anova->n - anova->sets);
  anova->f = anova->p = NAN;
  if (!(anova->df > 0 && anova->df_within > 0 && anova->within > 0)) return;
  anova->f = anova->between / anova->df / (anova->within / anova->df_within);
  anova->p = be_f_upper(anova->f, anova->df, anova->df_within);
}

/* All is measured from the first pull: loads that are large against their scatter
 * differ from it exactly. Each sum of squares is corrected for how far off the
 * mean was that it is taken about (Chan, Golub and LeVeque, Am. Stat. 37, 1983). */
void be_anova_of(const double *const *x, const size_t *n, size_t sets, struct be_anova *anova)
{
  *anova = (struct be_anova){.sets = sets, .between = NAN, .within = NAN};
  if (sets == 0) {
    anova->df = anova->df_within = anova->f = anova->p = NAN;
    return;
  }
  assert(n[0] > 0);
  double origin = x[0][0];
  struct sum all = {0, 0}, within = {0, 0}, between = {0, 0}, off = {0, 0};
  for (size_t g = 0; g < sets; g++) {
    assert(n[g] > 0);
    anova->n += n[g];
    double mean = mean_from(x[g], n[g], origin);
    add(&all, (double)n[g] * mean);
    struct sum rest = {0, 0};
    for (size_t i = 0; i < n[g]; i++) {
      double deviation = x[g][i] - origin - mean;
      add(&rest, deviation);
      add(&within, deviation * deviation);
    }
    add(&within, -total(&rest) * total(&rest) / (double)n[g]);
  }
  double grand = total(&all) / (double)anova->n;
  for (size_t g = 0; g < sets; g++) {
    double deviation = mean_from(x[g], n[g], origin) - grand;
    add(&between, (double)n[g] * deviation * deviation);
    add(&off, (double)n[g] * deviation);
  }
  add(&between, -total(&off) * total(&off) / (double)anova->n);
  anova->within = fmax(total(&within), 0);
  anova->between = fmax(total(&between), 0);
  finish(anova);
}

/* Means weighed by n / s^2; the second degrees of freedom from how unequal the
 * weights are (Welch 1951, equations 27 to 29). */
void be_anova_welch(const struct be_summary *sets, size_t count, struct be_anova *anova)
{
  const double unknown = NAN;
  *anova = (struct be_anova){count, 0, unknown, unknown, unknown, unknown, unknown, unknown};
  double weight = 0, weighed = 0;
  bool usable = count >= 2;
  for (size_t g = 0; g < count; g++) {
    anova->n += sets[g].n;
    usable = usable && sets[g].n >= 2 && sets[g].sd > 0;
    if (!usable) continue;
    double w = (double)sets[g].n / (sets[g].sd * sets[g].sd);
    weight += w;
    weighed += w * (sets[g].mean - sets[0].mean);
  }
  if (!usable) return;
  double mean = weighed / weight, spread = 0, uneven = 0, k = (double)count;
  for (size_t g = 0; g < count; g++) {
    double w = (double)sets[g].n / (sets[g].sd * sets[g].sd);
    double deviation = sets[g].mean - sets[0].mean - mean;
    spread += w * deviation * deviation;
    uneven += (1 - w / weight) * (1 - w / weight) / (double)(sets[g].n - 1);
  }
  anova->df = k - 1;
  anova->df_within = (k * k - 1) / (3 * uneven);
  anova->f = spread / (k - 1) / (1 + 2 * (k - 2) / (k * k - 1) * uneven);
  anova->p = be_f_upper(anova->f, anova->df, anova->df_within);
}

/* Puts |x - median| into deviations, which serves for the sorting first. */
static void deviations_of(const double *x, size_t n, double *deviations)
{
  memcpy(deviations, x, n * sizeof *x);
  be_sort(deviations, n);
  double below = deviations[(n - 1) / 2], above = deviations[n / 2];
  for (size_t i = 0; i < n; i++) /* from both middle pulls, so that no half is rounded away */
    deviations[i] = fabs((x[i] - below) / 2 + (x[i] - above) / 2);
}

static enum be_status count_all(const double *const *x, const size_t *n, size_t sets,
                                size_t *counted, struct be_err *err)
{
  *counted = 0;
  for (size_t g = 0; g < sets; g++) {
    if (n[g] == 0) return be_fail(err, BE_BAD_INPUT, "set %zu of %zu is empty", g + 1, sets);
    for (size_t i = 0; i < n[g]; i++)
      if (!isfinite(x[g][i]))
        return be_fail(err, BE_BAD_INPUT, "pull %zu of set %zu is not a number", i + 1, g + 1);
    *counted += n[g];
  }
  return BE_OK;
}

enum be_status be_levene(const double *const *x, const size_t *n, size_t sets,
                         struct be_anova *anova, struct be_err *err)
{
  size_t all;
  enum be_status status = count_all(x, n, sets, &all, err);
  if (status != BE_OK) return status;
  if (sets == 0) return be_fail(err, BE_BAD_INPUT, "there are no sets to compare");
  double *deviations = be_alloc_array(all, sizeof *deviations);
  const double **begin = be_alloc_array(sets, sizeof *begin);
  if (!deviations || !begin) {
    status = be_fail(err, BE_NO_MEMORY, "no memory to compare the scatter of %zu pulls", all);
    goto done;
  }
  double *next = deviations;
  for (size_t g = 0; g < sets; g++) {
    deviations_of(x[g], n[g], next);
    begin[g] = next;
    next += n[g];
  }
  be_anova_of(begin, n, sets, anova);
done:
  be_free(begin);
  be_free(deviations);
  return status;
}
