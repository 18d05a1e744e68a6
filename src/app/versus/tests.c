/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The same question without the normal distribution: by ranks, and by all ways to deal the
 * pulls out to the two knots. */
#include "app/versus/versus.h"

#include <math.h>

/* Shares where both have them; loads only of the same spools. */
static bool comparable(const struct matched *m)
{
  return be_matched_by_share(m) || m->same_mix;
}

static void shift_cells(struct be_table *table, const struct survey *survey, bool by_share,
                        const struct be_measure *shift)
{
  double factor = by_share ? 100 : 1 / survey->how.unit->factor;
  int decimals = by_share ? 1 : survey->decimals + 1;
  be_table_text(table, "%s", by_share ? "pts" : survey->how.unit->name);
  be_table_number(table, factor * shift->value, decimals);
  be_table_interval(table, factor * shift->interval.low, factor * shift->interval.high, decimals);
}

/* All splits where they are not too many (two of ten are 184,756); else some by chance. */
static size_t count_splits(const struct survey *survey, size_t na, size_t nb)
{
  const double most = 200000;
  double splits = 1;
  for (size_t i = 1; i <= na && splits <= most; i++) splits *= (double)(nb + i) / (double)i;
  return splits <= most ? (size_t)most : survey->how.resamples;
}

static enum be_status row(struct be_table *table, const struct survey *survey,
                          const struct matched *m, struct be_err *err)
{
  bool by_share = be_matched_by_share(m);
  const double *a = by_share ? m->a->shares : m->a->loads;
  const double *b = by_share ? m->b->shares : m->b->loads;
  size_t na = m->a->n, nb = m->b->n;
  size_t room = na * nb > BE_PAIRS_MAX ? 1 : (na + 1) * (nb + 1);
  double *scratch = be_alloc_array(room, sizeof *scratch);
  if (!scratch) return be_no_memory(err);
  struct be_rank_test ranks;
  struct be_permuted permuted;
  const struct be_resampling how = {
      .seed = survey->how.seed, .times = count_splits(survey, na, nb), .level = survey->how.level};
  be_mann_whitney(a, na, b, nb, survey->how.level, scratch, &ranks);
  be_free(scratch);
  enum be_status status = be_permute_means(a, na, b, nb, &how, &permuted, err);
  if (status != BE_OK) return status;
  be_table_text(table, "%s", m->where->name);
  be_table_number(table, (double)na, 0);
  be_table_number(table, (double)nb, 0);
  be_table_number(table, ranks.u, 1);
  be_table_probability(table, ranks.p);
  be_table_text(table, "%s", ranks.exact ? "exact" : "normal");
  be_table_number(table, 100 * ranks.superior, 0);
  shift_cells(table, survey, by_share, &ranks.shift);
  be_table_probability(table, permuted.p);
  be_table_text(table, permuted.exact ? "all %llu" : "%llu by chance",
                (unsigned long long)permuted.splits);
  return BE_OK;
}

enum be_status be_say_tests(struct be_doc *doc, const struct survey *survey,
                            const struct pair *pair, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"n_first", "n first", BE_COLUMN_NUMBER, false},
      {"n_second", "n second", BE_COLUMN_NUMBER, false},
      {"mann_whitney_u", "Mann-Whitney U", BE_COLUMN_NUMBER, false},
      {"mann_whitney_p", "p", BE_COLUMN_NUMBER, false},
      {"mann_whitney_by", "", BE_COLUMN_TEXT, true},
      {"first_higher_percent", "first higher (% of pairs)", BE_COLUMN_NUMBER, false},
      {"shift_unit", "in", BE_COLUMN_TEXT, false},
      {"shift", "Hodges-Lehmann", BE_COLUMN_NUMBER, false},
      {"shift", "interval", BE_COLUMN_INTERVAL, false},
      {"permutation_p", "permutation p", BE_COLUMN_NUMBER, false},
      {"permutation_splits", "splits", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = NULL;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < pair->count && status == BE_OK; i++) {
    if (!comparable(&pair->list[i])) continue;
    if (!table)
      table = be_doc_table(doc, "tests", "Without a normal distribution: ranks, and all splits",
                           columns, sizeof columns / sizeof columns[0]);
    status = row(table, survey, &pair->list[i], err);
  }
  return status;
}
