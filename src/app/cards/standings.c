/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/cards/tell.h"
#include "app/knots/knots.h"

#include <math.h>

static const char *answer(const struct survey *survey, const struct ranking *ranking)
{
  size_t followers = be_ranking_followers(ranking);
  const char *first = be_knot_name(survey, ranking->block.knot[ranking->order[0]]);
  if (be_ranking_bare(ranking))
    return be_arena_format(survey->arena,
                           "The %s reads highest of %zu; one pull tells nothing of scatter", first,
                           ranking->block.knots);
  if (followers == 0)
    return be_arena_format(survey->arena, "The %s is the strongest of %zu", first,
                           ranking->block.knots);
  if (followers + 1 == ranking->block.knots)
    return be_arena_format(survey->arena, "Cannot separate any of the %zu knots",
                           ranking->block.knots);
  return be_arena_format(survey->arena, "The %s reads highest of %zu; cannot separate it from %zu",
                         first, ranking->block.knots, followers);
}

static const char *strength_of(const struct survey *survey, const struct ranking *ranking, size_t k)
{
  struct be_arena *arena = survey->arena;
  const struct be_interval *kept = &ranking->efficiency_interval[k];
  const char *bounds =
      ranking->bounds[k] ? be_arena_format(arena, " + %zu at least", ranking->bounds[k]) : "";
  if (isnan(ranking->efficiency[k]))
    return be_arena_format(arena, "mean %.*f %s, n = %zu%s", survey->decimals + 1,
                           be_shown(survey, ranking->load[k]), survey->how.unit->name,
                           ranking->n[k], bounds);
  return be_arena_format(arena, "%.0f %%%s, n = %zu%s", 100 * ranking->efficiency[k],
                         be_interval_words(survey, 100 * kept->low, 100 * kept->high, 0),
                         ranking->n[k], bounds);
}

/* Of the weaker line; where that is not of one material everywhere, of none. */
static enum be_tone tone_of(const struct survey *survey, const struct ranking *ranking, size_t k)
{
  const struct grid *block = &ranking->block;
  enum be_tone tone = BE_TONE_MUTED;
  for (size_t c = 0, found = 0; c < block->combinations; c++) {
    const struct cell *cell = be_grid_cell(block, k, c);
    if (!cell) continue;
    enum be_tone own = be_look_of_cell(survey, cell).tone;
    if (found++ > 0 && own != tone) return BE_TONE_MUTED;
    tone = own;
  }
  return tone;
}

enum be_status be_card_of_place(const struct survey *survey, const struct place *place,
                                struct card *card, struct be_err *err)
{
  const struct ranking *ranking = place->ranking;
  size_t count = ranking->block.knots;
  *card = (struct card){.kind = "standings", .name = place->name, .items_count = count};
  card->items = be_arena_alloc(survey->arena, count * sizeof *card->items);
  if (!card->items) return be_no_memory(err);
  for (size_t at = 0; at < count; at++) {
    size_t k = ranking->order[at];
    const struct rank *rank = &ranking->rank[k];
    card->items[at] = (struct piece){
        .kind = PIECE_ITEM,
        .text = be_knot_name(survey, ranking->block.knot[k]),
        .value = rank->low == rank->high ? be_arena_format(survey->arena, "rank %zu", rank->rank)
                                         : be_arena_format(survey->arena, "rank %zu (%zu to %zu)",
                                                           rank->rank, rank->low, rank->high),
        .note = strength_of(survey, ranking, k),
        .bar = {.kind = BAR_RANK,
                .end = (double)count,
                .value = (double)rank->rank,
                .low = (double)rank->low,
                .high = (double)rank->high,
                .tone = tone_of(survey, ranking, k)}};
    if (!card->items[at].value || !card->items[at].note) return be_no_memory(err);
  }
  be_card_head(card, 2, BE_TONE_INK, answer(survey, ranking));
  be_card_head(card, 1.2, BE_TONE_MUTED, place->name);
  be_card_foot(card, be_arena_format(survey->arena,
                                     "Bars: rank ranges over %zu combination%s, which all hold at "
                                     "once at %g %%.",
                                     ranking->block.combinations,
                                     ranking->block.combinations == 1 ? "" : "s",
                                     100 * survey->how.level));
  be_card_close(survey, card);
  return BE_OK;
}
