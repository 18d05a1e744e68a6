/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/cards/tell.h"

#include <math.h>
#include <stdlib.h>

/* Highest first; those without an event last. */
static int by_strength(const void *a_, const void *b_)
{
  const struct cell *const *a = a_, *const *b = b_;
  bool shares = be_has_shares(*a) && be_has_shares(*b);
  double x = (*a)->n == 0 ? -1 : shares ? (*a)->efficiency.value : (*a)->load.value;
  double y = (*b)->n == 0 ? -1 : shares ? (*b)->efficiency.value : (*b)->load.value;
  if (x != y) return x > y ? -1 : 1;
  return (*a)->knot < (*b)->knot ? -1 : (*a)->knot > (*b)->knot;
}

static const char *first_words(const struct survey *survey, const struct cell *const *cells,
                               size_t count, bool shares)
{
  size_t pulls = 0;
  for (size_t i = 0; i < count; i++) pulls += cells[i]->count;
  return be_arena_format(survey->arena, "%zu knot%s, %zu pulls; %s", count, count == 1 ? "" : "s",
                         pulls,
                         shares ? "what each kept of the line's strength"
                                : "loads, for not every knot has a plain line to be divided by");
}

enum be_status be_card_of_combination(const struct survey *survey, const struct combination *where,
                                      struct card *card, struct be_err *err)
{
  size_t count = where->cells_count;
  const struct cell **cells = be_arena_alloc(survey->arena, (count + 1) * sizeof *cells);
  const struct cell *divided = NULL;
  bool shares = false, whole = true;
  enum be_status status = BE_OK;
  *card = (struct card){.kind = "table", .name = where->name, .items_count = count};
  card->items = be_arena_alloc(survey->arena, (count + 1) * sizeof *card->items);
  if (!cells || !card->items) return be_no_memory(err);
  for (size_t i = 0; i < count; i++) {
    cells[i] = &survey->cells[where->first_cell + i];
    whole &= be_has_shares(cells[i]);
    shares |= cells[i]->n > 0;
    if (cells[i]->n && cells[i]->plain.match && !divided) divided = cells[i];
  }
  shares &= whole;
  qsort(cells, count, sizeof *cells, by_strength);
  for (size_t i = 0; i < count && status == BE_OK; i++)
    status = be_card_item(survey, cells[i], shares, be_cell_name(survey, cells[i]), &card->items[i],
                          err);
  if (status != BE_OK) return status;
  be_bars_end(card->items, count, shares);
  be_card_head(card, 2, BE_TONE_INK, where->name);
  be_card_head(card, 1, BE_TONE_MUTED, first_words(survey, cells, count, shares));
  be_card_foot(card, be_card_bars(survey, card->items, card->items_count));
  if (shares && divided) be_card_foot(card, be_card_divided(survey, divided));
  be_card_close(survey, card);
  return status;
}
