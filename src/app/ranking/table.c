/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A ranking as a table, the strongest first. */
#include "app/ranking/ranking.h"

#include <math.h>

static void ranking_row(struct be_table *table, const struct survey *survey,
                        const struct ranking *r, size_t knot, const char *place)
{
  const struct rank *rank = &r->rank[knot];
  size_t first = r->order[0];
  struct be_interval efficiency = r->efficiency_interval[knot];
  struct be_interval slip = be_rate_exact(r->slips[knot], r->told[knot], survey->how.level);
  be_table_text(table, "%s", place);
  be_table_number(table, (double)rank->rank, 0);
  if (rank->low == rank->high) be_table_text(table, "%zu", rank->low);
  else be_table_text(table, "%zu to %zu", rank->low, rank->high);
  be_table_text(table, "%s", be_knot_name(survey, r->block.knot[knot]));
  be_table_number(table, (double)r->n[knot], 0);
  be_table_number(table, be_shown(survey, r->load[knot]), survey->decimals + 1);
  be_table_interval(table, be_shown(survey, r->load_interval[knot].low),
                    be_shown(survey, r->load_interval[knot].high), survey->decimals + 1);
  be_table_number(table, 100 * r->efficiency[knot], 0);
  be_table_interval(table, 100 * efficiency.low, 100 * efficiency.high, 0);
  be_table_number(table, 100 * (r->efficiency[first] - r->efficiency[knot]), 1);
  be_table_number(table, 100 * (1 - exp(rank->score - r->rank[first].score)), 1);
  be_table_text(table, "%s", r->letters[knot]);
  be_table_text(table, "%s", be_ranking_others(survey, r, knot));
  be_table_number(table, 100 * rank->best, 0);
  be_table_number(table, 100 * rank->top, 0);
  be_table_number(table, 100 * rank->best, 1);
  if (r->told[knot]) {
    be_table_count(table, r->slips[knot], r->told[knot]);
    be_table_interval(table, 100 * slip.low, 100 * slip.high, 0);
  } else {
    be_table_none(table);
    be_table_none(table);
  }
  be_table_number(table, (double)r->bounds[knot], 0);
}

void be_say_ranking(struct be_doc *doc, const struct survey *survey, const struct ranking *r,
                    const char *place)
{
  bool bounds = false, shares = true;
  for (size_t i = 0; i < r->block.knots; i++) {
    bounds |= r->bounds[i] > 0;
    shares &= !isnan(r->efficiency_interval[i].low);
  }
  const struct be_column columns[] = {
      {"place", "", BE_COLUMN_TEXT, true},
      {"rank", "rank", BE_COLUMN_NUMBER, false},
      {"rank_range", "rank range", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"load", be_head(survey, "mean"), BE_COLUMN_NUMBER, false},
      {"load", "interval", BE_COLUMN_INTERVAL, shares},
      {"efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"behind_first_points", "behind first (pts)", BE_COLUMN_NUMBER, false},
      {"behind_first_relative_percent", "(relative %)", BE_COLUMN_NUMBER, false},
      {"letters", "letters", BE_COLUMN_TEXT, false},
      {"cannot_separate_from", "", BE_COLUMN_TEXT, true},
      {"first_percent", "first (%)", BE_COLUMN_NUMBER, false},
      {"first_three_percent", "first three (%)", BE_COLUMN_NUMBER, false},
      {"first_in_percent_of_resamples", "", BE_COLUMN_NUMBER, true},
      {"slipped_out", "slipped out", BE_COLUMN_COUNT, false},
      {"slipped_out_percent", "", BE_COLUMN_INTERVAL, true},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, !bounds},
  };
  struct be_table *table =
      be_doc_table(doc, "standings", place, columns, sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < r->block.knots; i++) ranking_row(table, survey, r, r->order[i], place);
}
