/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many sets of pulls. */
#include "peers.h"

#include <assert.h>

static const double LEVEL = 0.95;
enum { PAIRS_MAX = SETS_MAX * (SETS_MAX - 1) / 2 };

static void tell_pairs(const struct peers *peers, const char *name, const struct be_pair *pairs,
                       size_t count)
{
  char figure[60];
  for (size_t i = 0; i < count; i++) {
    double at = 10 * (double)pairs[i].a + (double)pairs[i].b;
    snprintf(figure, sizeof figure, "%s t", name);
    tell_at(peers, ESTIMATE, figure, at, pairs[i].t);
    snprintf(figure, sizeof figure, "%s df", name);
    tell_at(peers, ESTIMATE, figure, at, pairs[i].df);
    snprintf(figure, sizeof figure, "%s p", name);
    tell_at(peers, CHANCE, figure, at, pairs[i].p);
    /* Half its width over the difference's deviation: an end may lie next to 0. */
    double se = pairs[i].difference / pairs[i].t;
    snprintf(figure, sizeof figure, "%s half width", name);
    tell_at(peers, QUANTILE, figure, at, (pairs[i].interval.high - pairs[i].interval.low) / 2 / se);
  }
}

static void variances(const struct peers *peers, const struct pulls *pulls,
                      const struct be_summary *sets)
{
  const double *x[SETS_MAX];
  for (size_t g = 0; g < pulls->sets; g++) x[g] = pulls->x[g];
  struct be_anova anova;
  be_anova_of(x, pulls->n, pulls->sets, &anova);
  tell(peers, ESTIMATE, "anova between", anova.between);
  tell(peers, ESTIMATE, "anova within", anova.within);
  tell(peers, ESTIMATE, "anova F", anova.f);
  tell(peers, CHANCE, "anova p", anova.p);
  be_anova_welch(sets, pulls->sets, &anova);
  tell(peers, ESTIMATE, "Welch anova F", anova.f);
  tell(peers, ESTIMATE, "Welch anova df", anova.df_within);
  tell(peers, CHANCE, "Welch anova p", anova.p);
  enum be_status status = be_levene(x, pulls->n, pulls->sets, &anova, NULL);
  assert(status == BE_OK);
  tell(peers, ESTIMATE, "Levene F", anova.f);
  tell(peers, CHANCE, "Levene p", anova.p);
  struct be_many_ad ad;
  status = be_many_anderson_darling(x, pulls->n, pulls->sets, &ad, NULL);
  assert(status == BE_OK);
  (void)status;
  tell(peers, ESTIMATE, "k-sample Anderson-Darling", ad.a2);
  tell(peers, ESTIMATE, "k-sample Anderson-Darling midrank", ad.a2_midrank);
  tell(peers, ESTIMATE, "k-sample Anderson-Darling sigma", ad.sigma);
}

static void holm(const struct peers *peers, const struct be_pair *pairs, size_t count)
{
  double p[PAIRS_MAX], adjusted[PAIRS_MAX];
  for (size_t i = 0; i < count; i++) p[i] = 2 * be_t_upper(fabs(pairs[i].t), pairs[i].df);
  enum be_status status = be_holm(p, count, adjusted, NULL);
  assert(status == BE_OK);
  (void)status;
  for (size_t i = 0; i < count; i++)
    tell_at(peers, CHANCE, "Holm p", 10 * (double)pairs[i].a + (double)pairs[i].b, adjusted[i]);
}

void many_sets(const struct peers *peers, const struct pulls *pulls)
{
  struct be_summary sets[SETS_MAX];
  struct be_pair pairs[PAIRS_MAX];
  size_t count = pulls->sets, all = count * (count - 1) / 2;
  double scratch[SETS_MAX];
  for (size_t g = 0; g < count; g++) be_summary_of(pulls->x[g], pulls->n[g], &sets[g]);
  variances(peers, pulls, sets);
  be_tukey_kramer(sets, count, LEVEL, pairs);
  tell_pairs(peers, "Tukey", pairs, all);
  holm(peers, pairs, all);
  be_games_howell(sets, count, LEVEL, pairs);
  tell_pairs(peers, "Games-Howell", pairs, all);
  be_dunnett(sets, count, 1, LEVEL, scratch, pairs);
  tell_pairs(peers, "Dunnett", pairs, count - 1);
  for (size_t i = 0; i + 1 < count; i++)
    tell_at(peers, CHANCE, "Dunnett p of glht", 10 * (double)pairs[i].a + (double)pairs[i].b,
            pairs[i].p);
  struct be_between low;
  be_tolerance_between(sets, count, 0.9, 0.95, &low);
  tell(peers, QUANTILE, "bound between sets", low.basis);
  tell(peers, QUANTILE, "bound between sets factor", low.factor);
  struct be_estimate pooled = be_estimate_pooled(sets, count);
  struct be_interval interval = be_estimate_interval(&pooled, LEVEL);
  tell(peers, ESTIMATE, "pooled mean", pooled.value);
  tell(peers, ESTIMATE, "pooled variance", pooled.variance);
  tell(peers, QUANTILE, "pooled mean low", interval.low);
}

void several_benches(const struct peers *peers, const struct pulls *pulls)
{
  struct be_summary benches[SETS_MAX];
  struct be_precision precision;
  double h[SETS_MAX], k[SETS_MAX];
  for (size_t g = 0; g < pulls->sets; g++) be_summary_of(pulls->x[g], pulls->n[g], &benches[g]);
  be_precision_of(benches, pulls->sets, &precision, h, k);
  tell(peers, ESTIMATE, "repeatability", precision.repeatability);
  tell(peers, ESTIMATE, "between benches", precision.between);
  tell(peers, ESTIMATE, "reproducibility", precision.reproducibility);
  tell(peers, QUANTILE, "h critical", precision.h_critical);
  tell(peers, QUANTILE, "k critical", precision.k_critical);
  for (size_t g = 0; g < pulls->sets; g++) {
    tell_at(peers, ESTIMATE, "h", (double)g, h[g]);
    tell_at(peers, ESTIMATE, "k", (double)g, k[g]);
  }
}
