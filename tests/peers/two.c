/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two sets of pulls. */
#include "peers.h"

#include <assert.h>

static const double LEVEL = 0.9;

static void tell_difference(const struct peers *peers, const char *name,
                            const struct be_difference *difference)
{
  char figure[60];
  const double values[] = {difference->value,        difference->t,
                           difference->df,           difference->p,
                           difference->interval.low, difference->interval.high};
  static const char *const names[] = {"difference", "t", "df", "p", "low", "high"};
  static const enum tolerance kinds[] = {ESTIMATE, ESTIMATE, ESTIMATE, CHANCE, QUANTILE, QUANTILE};
  for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
    snprintf(figure, sizeof figure, "%s %s", name, names[i]);
    tell(peers, kinds[i], figure, values[i]);
  }
}

static void tell_ratio(const struct peers *peers, const char *name, const struct be_ratio *ratio)
{
  char figure[60];
  snprintf(figure, sizeof figure, "%s shape", name);
  tell(peers, ESTIMATE, figure, ratio->shape);
  snprintf(figure, sizeof figure, "%s low", name);
  tell(peers, QUANTILE, figure, ratio->interval.low);
  snprintf(figure, sizeof figure, "%s high", name);
  tell(peers, QUANTILE, figure, ratio->interval.high);
}

static void ranks(const struct peers *peers, const double *a, size_t na, const double *b, size_t nb)
{
  static double scratch[(PULLS_MAX + 1) * (PULLS_MAX + 1)];
  struct be_rank_test test;
  be_mann_whitney(a, na, b, nb, LEVEL, scratch, &test);
  tell(peers, ESTIMATE, "Mann-Whitney", test.u);
  tell(peers, CHANCE, "Mann-Whitney p", test.p);
  tell(peers, ESTIMATE, "shift", test.shift.value);
  tell(peers, ESTIMATE, "shift level", test.shift.interval.level);
  tell(peers, QUANTILE, "shift low", test.shift.interval.low);
  tell(peers, QUANTILE, "shift high", test.shift.interval.high);
}

/* All splits where these are few; for the others random ones, held against all where the
 * peer can look at them. */
static void permuted(const struct peers *peers, const double *a, size_t na, const double *b,
                     size_t nb)
{
  struct be_resampling how = {7, 200000, LEVEL, 0};
  struct be_permuted result;
  enum be_status status = be_permute_means(a, na, b, nb, &how, &result, NULL);
  assert(status == BE_OK);
  if (!result.exact) return;
  tell(peers, CHANCE, "permutation p", result.p);
  if (result.splits <= 10000) return;
  how.times = 10000;
  status = be_permute_means(a, na, b, nb, &how, &result, NULL);
  assert(status == BE_OK && !result.exact);
  (void)status;
  tell(peers, MARGIN, "permutation p at random", result.p);
}

void two_sets(const struct peers *peers, const struct pulls *pulls)
{
  struct be_summary a, b;
  be_summary_of(pulls->x[0], pulls->n[0], &a);
  be_summary_of(pulls->x[1], pulls->n[1], &b);
  struct be_estimate mean_a = be_estimate_mean(&a), mean_b = be_estimate_mean(&b);
  struct be_difference difference;
  be_student(&a, &b, LEVEL, &difference);
  tell_difference(peers, "Student", &difference);
  be_welch(&mean_a, &mean_b, LEVEL, &difference);
  tell_difference(peers, "Welch", &difference);
  struct be_sameness same;
  be_same_within(&difference, mean_a.variance + mean_b.variance, a.sd, 0.05, &same);
  tell(peers, CHANCE, "two one-sided p", same.p);
  /* From the means less most of what they share, so that also the denominator comes
   * near to 0 and Fieller's sets have all their shapes. */
  static const double shares[] = {0, 0.8, 0.97};
  for (size_t i = 0; i < 3; i++) {
    double off = shares[i] * fmin(a.mean, b.mean);
    char name[60];
    struct be_ratio ratio;
    struct be_estimate less_a = mean_a, less_b = mean_b;
    less_a.value -= off;
    less_b.value -= off;
    be_ratio_fieller(&less_a, &less_b, LEVEL, &ratio);
    snprintf(name, sizeof name, "Fieller less %g", shares[i]);
    tell_ratio(peers, name, &ratio);
    be_ratio_log(&less_a, &less_b, LEVEL, &ratio);
    snprintf(name, sizeof name, "log ratio less %g", shares[i]);
    tell_ratio(peers, name, &ratio);
    struct be_summary sum_a = a, sum_b = b;
    sum_a.mean -= off;
    sum_b.mean -= off;
    be_ratio_fieller_pooled(&sum_a, &sum_b, LEVEL, &ratio);
    snprintf(name, sizeof name, "Fieller pooled less %g", shares[i]);
    tell_ratio(peers, name, &ratio);
  }
  ranks(peers, pulls->x[0], a.n, pulls->x[1], b.n);
  permuted(peers, pulls->x[0], a.n, pulls->x[1], b.n);
}

void paired_sets(const struct peers *peers, const struct pulls *pulls)
{
  struct be_difference difference;
  be_paired(pulls->x[0], pulls->x[1], pulls->n[0], LEVEL, &difference);
  tell_difference(peers, "paired", &difference);
  double d[PULLS_MAX], v, p_greater, p;
  for (size_t i = 0; i < pulls->n[0]; i++) d[i] = pulls->x[0][i] - pulls->x[1][i];
  be_signed_rank(d, pulls->n[0], &v, &p_greater, &p);
  tell(peers, ESTIMATE, "signed rank", v);
  tell(peers, CHANCE, "signed rank p", p);
  tell(peers, CHANCE, "signed rank p greater", p_greater);
}
