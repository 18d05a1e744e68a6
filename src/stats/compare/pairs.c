/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/compare/compare.h"

#include <assert.h>
#include <math.h>

static struct be_pair unknown_pair(const struct be_summary *sets, size_t a, size_t b, double level)
{
  const double unknown = NAN;
  return (struct be_pair){a,       b,       sets[a].mean - sets[b].mean, unknown,
                          unknown, unknown, {unknown, unknown, level}};
}

/* The deviation common to all sets of two pulls or more, and how many these are. */
struct pooled {
  size_t sets;
  double variance, df;
};

static struct pooled pool(const struct be_summary *sets, size_t count)
{
  struct pooled pooled = {0, 0, 0};
  double squares = 0;
  for (size_t g = 0; g < count; g++) {
    if (sets[g].n < 2) continue;
    pooled.sets++;
    pooled.df += (double)(sets[g].n - 1);
    squares += (double)(sets[g].n - 1) * sets[g].sd * sets[g].sd;
  }
  if (pooled.sets > 0) pooled.variance = squares / pooled.df;
  return pooled;
}

static void fill(struct be_pair *pair, double se, double df, double p, double critical)
{
  pair->t = pair->difference / se;
  pair->df = df;
  pair->p = p;
  pair->interval.low = pair->difference - critical * se;
  pair->interval.high = pair->difference + critical * se;
}

/* t of a pair is its studentized range over sqrt(2), exactly for equal sets and on
 * the safe side for others (C. Y. Kramer, Biometrics 12, 1956; A. J. Hayter, Ann.
 * Stat. 12, 1984). */
void be_tukey_kramer(const struct be_summary *sets, size_t count, double level,
                     struct be_pair *pairs)
{
  assert(level > 0 && level < 1);
  struct pooled pooled = pool(sets, count);
  bool usable = pooled.sets >= 2 && pooled.variance > 0;
  struct be_tail range;
  double critical = NAN;
  if (usable) {
    be_range_init(&range, pooled.sets);
    critical = be_tail_quantile(&range, 1 - level, pooled.df) / sqrt(2);
  }
  for (size_t a = 0; a < count; a++)
    for (size_t b = a + 1; b < count; b++, pairs++) {
      *pairs = unknown_pair(sets, a, b, level);
      if (!usable || sets[a].n < 2 || sets[b].n < 2) continue;
      double se = sqrt(pooled.variance * (1 / (double)sets[a].n + 1 / (double)sets[b].n));
      double q = fabs(pairs->difference) / se * sqrt(2);
      fill(pairs, se, pooled.df, be_tail_upper(&range, q, pooled.df), critical);
    }
}

/* Welch's t of each pair, held against the range of all sets at the pair's own
 * degrees of freedom (P. A. Games and J. F. Howell, J. Educ. Stat. 1, 1976). */
void be_games_howell(const struct be_summary *sets, size_t count, double level,
                     struct be_pair *pairs)
{
  assert(level > 0 && level < 1);
  size_t known = pool(sets, count).sets;
  struct be_tail range;
  if (known >= 2) be_range_init(&range, known);
  for (size_t a = 0; a < count; a++)
    for (size_t b = a + 1; b < count; b++, pairs++) {
      *pairs = unknown_pair(sets, a, b, level);
      if (sets[a].n < 2 || sets[b].n < 2) continue;
      const struct be_estimate means[] = {be_estimate_mean(&sets[a]), be_estimate_mean(&sets[b])};
      const double weights[] = {1, -1};
      struct be_estimate d = be_estimate_combine(means, weights, 2);
      if (!(d.variance > 0)) continue;
      double se = sqrt(d.variance), q = fabs(pairs->difference) / se * sqrt(2);
      double critical = be_tail_quantile(&range, 1 - level, d.df) / sqrt(2);
      fill(pairs, se, d.df, be_tail_upper(&range, q, d.df), critical);
    }
}

/* Equal lambda are put side by side, which be_dunnett_init is quicker with. */
void be_dunnett(const struct be_summary *sets, size_t count, size_t reference, double level,
                double *scratch, struct be_pair *pairs)
{
  assert(level > 0 && level < 1 && reference < count);
  struct pooled pooled = pool(sets, count);
  double n_reference = (double)sets[reference].n;
  bool usable = pooled.sets >= 2 && pooled.variance > 0 && n_reference >= 2;
  struct be_tail greatest;
  double critical = NAN;
  if (usable) {
    size_t known = 0;
    for (size_t g = 0; g < count; g++) {
      double n = (double)sets[g].n;
      if (g != reference && n >= 2) scratch[known++] = sqrt(n / (n + n_reference));
    }
    be_sort(scratch, known);
    be_dunnett_init(&greatest, scratch, known, false);
    critical = be_tail_quantile(&greatest, 1 - level, pooled.df);
  }
  for (size_t g = 0; g < count; g++) {
    if (g == reference) continue;
    *pairs = unknown_pair(sets, g, reference, level);
    if (usable && sets[g].n >= 2) {
      double se = sqrt(pooled.variance * (1 / (double)sets[g].n + 1 / n_reference));
      double p = be_tail_upper(&greatest, fabs(pairs->difference) / se, pooled.df);
      fill(pairs, se, pooled.df, p, critical);
    }
    pairs++;
  }
}
