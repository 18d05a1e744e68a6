/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/ranking/ranking.h"

struct be_figure *be_figure_of_ranking(const struct survey *survey, const struct ranking *r,
                                       const char *place)
{
  size_t knots = r->block.knots, together = be_ranking_followers(r) + 1;
  struct rank_row *rows = be_arena_alloc(survey->arena, knots * sizeof *rows);
  if (!rows) return NULL;
  for (size_t i = 0; i < knots; i++) {
    size_t knot = r->order[i], last = i;
    for (bool all = true; all && last + 1 < knots; last += all)
      for (size_t k = i; k <= last; k++)
        all &= be_ranking_together(r, r->order[k], r->order[last + 1]);
    rows[i] = (struct rank_row){.knot = r->block.knot[knot],
                                .n = r->n[knot],
                                .bounds = r->bounds[knot],
                                .rank = r->rank[knot],
                                .tied_first = i,
                                .tied_last = last};
  }
  const char *title =
      be_ranking_single(r)
          ? be_arena_format(survey->arena,
                            "Of the %s there is one pull%s, which tells nothing of scatter",
                            be_knot_name(survey, rows[0].knot),
                            r->block.combinations > 1 ? " of each combination" : "")
      : together > 1
          ? be_arena_format(survey->arena, "The first cannot be separated from %zu other%s",
                            together - 1, together == 2 ? "" : "s")
          : be_arena_format(survey->arena, "The %s %s", be_knot_name(survey, rows[0].knot),
                            r->rival ? "has the highest mean" : "holds most");
  const char *subtitle =
      be_arena_format(survey->arena, "Rank ranges at %g %%: %s", 100 * survey->how.level, place);
  return title && subtitle ? be_figure_of_ranks(survey, title, subtitle, rows, knots) : NULL;
}
