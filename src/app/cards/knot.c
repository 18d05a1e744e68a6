/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/cards/tell.h"

#include <math.h>

static const char *ways_of(const struct survey *survey, const struct be_knot *knot)
{
  const char *kind = knot->kind && *knot->kind ? knot->kind : "kind not recorded";
  if (!knot->aliases || !*knot->aliases || be_text_same(knot->aliases, "none")) return kind;
  return be_arena_format(survey->arena, "%s; also %s", kind, knot->aliases);
}

/* Of the drawing on the card: counts belong to a drawing. */
static const char *crossings_of(const struct survey *survey, const struct card *card,
                                const struct be_knot *knot)
{
  if (!card->tie)
    return knot->tie && *knot->tie ? "its tie cannot be shown" : "how it runs is not recorded";
  size_t count = card->tie->seen.count;
  return be_arena_format(survey->arena, "%zu crossing%s %s", count, count == 1 ? "" : "s",
                         card->tie->seen.words);
}

enum be_status be_card_of_knot(const struct survey *survey, int knot, struct card *card,
                               struct be_err *err)
{
  const struct be_knot *of = &survey->record.knots[knot];
  size_t count = 0;
  bool shares = true, any = false;
  enum be_status status = BE_OK;
  *card = (struct card){.kind = "knot", .name = of->full};
  card->items = be_arena_alloc(survey->arena, (survey->cells_count + 1) * sizeof *card->items);
  if (!card->items) return be_no_memory(err);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot != knot && cell->knot_b != knot) continue;
    shares &= be_has_shares(cell);
    any |= cell->n > 0;
  }
  shares &= any;
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot != knot && cell->knot_b != knot) continue;
    const char *where = survey->combinations[cell->combination].name;
    const char *text = cell->knot_b < 0 ? where
                                        : be_arena_format(survey->arena, "%s, %s",
                                                          be_cell_name(survey, cell), where);
    status = be_card_item(survey, cell, shares, text, &card->items[count++], err);
  }
  if (status != BE_OK) return status;
  card->items_count = count;
  be_bars_end(card->items, count, shares);
  status = be_card_tie(survey, knot, -1, -1, card, err);
  be_card_head(card, 2.2, BE_TONE_INK, of->full);
  be_card_head(card, 1, BE_TONE_MUTED, ways_of(survey, of));
  be_card_head(card, 1, BE_TONE_MUTED, crossings_of(survey, card, of));
  if (count == 0) be_card_head(card, 1, BE_TONE_INK, "never pulled");
  if (count) be_card_foot(card, be_card_bars(survey, card->items, card->items_count));
  if (any && shares)
    be_card_foot(
        card,
        "100 % (upright line) is the plain line of each combination; the table cards say which.");
  be_card_close(survey, card);
  return status;
}
