/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/cards/tell.h"

#include <math.h>

static struct piece *strip(const struct survey *survey, const struct cell *cell, const char *name,
                           const char *value, const char *note)
{
  struct piece *item = be_arena_alloc(survey->arena, sizeof *item);
  if (!item) return NULL;
  *item = (struct piece){.kind = PIECE_ITEM,
                         .text = name,
                         .value = value ? value : "",
                         .note = note && *note ? note : NULL};
  if (cell && cell->count) be_card_bar(survey, cell, be_has_shares(cell) && cell->n, &item->bar);
  be_bars_end(item, 1, !isnan(item->bar.whole));
  return item;
}

static const char *span_of(const struct survey *survey, double low, double high)
{
  int decimals = survey->decimals;
  const char *unit = survey->how.unit->name;
  if (low == high)
    return be_arena_format(survey->arena, "%.*f %s", decimals, be_shown(survey, low), unit);
  return be_arena_format(survey->arena, "%.*f to %.*f %s", decimals, be_shown(survey, low),
                         decimals, be_shown(survey, high), unit);
}

/* Of events, and of lower bounds, which are no loads that a line let go at. */
static const char *range_of(const struct survey *survey, const struct cell *cell)
{
  struct be_arena *arena = survey->arena;
  double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
  for (size_t i = 0; i < cell->n; i++)
    low[0] = fmin(low[0], cell->loads[i]), high[0] = fmax(high[0], cell->loads[i]);
  for (size_t i = 0; i < cell->lower_count; i++)
    low[1] = fmin(low[1], cell->lower[i]->load_N), high[1] = fmax(high[1], cell->lower[i]->load_N);
  const char *let_go = cell->n ? span_of(survey, low[0], high[0]) : "";
  const char *held = cell->lower_count ? span_of(survey, low[1], high[1]) : "";
  if (!let_go || !held) return NULL;
  return be_arena_format(arena, "%s%s%s%s%s", cell->n ? "let go at " : "", let_go,
                         cell->n && cell->lower_count ? "; " : "",
                         cell->lower_count ? "held at least " : "", held);
}

enum be_status be_card_of_result(const struct survey *survey, const struct cell *cell,
                                 struct card *card, struct be_err *err)
{
  struct be_arena *arena = survey->arena;
  const struct combination *where = &survey->combinations[cell->combination];
  const char *name = be_cell_name(survey, cell), *value = be_card_value(survey, cell);
  const char *note = be_card_note(survey, cell);
  bool known = cell->n && !isnan(cell->efficiency.value);
  *card =
      (struct card){.kind = "result", .name = be_arena_format(arena, "%s %s", name, where->name)};
  be_card_head(card, 2.2, BE_TONE_INK, name);
  be_card_head(card, 1.2, BE_TONE_MUTED, where->name);
  be_card_head(card, 4.5, BE_TONE_INK, value);
  be_card_head(card, 1.2, BE_TONE_INK,
               known ? be_arena_format(arena, "of the line's strength, %s", note) : note);
  if (known || cell->n == 0) be_card_head(card, 1.2, BE_TONE_MUTED, be_card_load(survey, cell));
  if (cell->n + cell->lower_count) {
    const char *every =
        cell->voids ? be_arena_format(arena, "Every pull but %zu void", cell->voids) : "Every pull";
    card->items = strip(survey, cell, every, range_of(survey, cell), NULL);
    card->items_count = 1;
    if (!card->items) return be_no_memory(err);
    be_card_foot(card, be_card_bars(survey, card->items, card->items_count));
  }
  be_card_foot(card, be_card_let_go(survey, cell));
  be_card_foot(card, be_card_divided(survey, cell));
  be_card_close(survey, card);
  if (!card->name) return be_no_memory(err);
  return be_card_tie(survey, cell->knot, cell->pulls[0]->line_a, cell->pulls[0]->line_b, card, err);
}

/* ---- one specimen ---- */

static const char *pull_value(const struct survey *survey, const struct be_pull *pull)
{
  const char *unit = survey->how.unit->name;
  if (pull->kind == BE_KIND_VOID) return "void";
  if (isnan(pull->load_N)) return "no load recorded";
  return be_arena_format(survey->arena, "%s%.*f %s", pull->kind == BE_KIND_BOUND ? "at least " : "",
                         survey->decimals, be_shown(survey, pull->load_N), unit);
}

static const char *pull_share(const struct survey *survey, const struct cell *cell,
                              const struct be_pull *pull)
{
  struct be_arena *arena = survey->arena;
  if (pull->kind == BE_KIND_VOID)
    return be_arena_format(arena, "Reason: %s", pull->reason ? pull->reason : "not recorded");
  for (size_t i = 0; cell && cell->shares && i < cell->n; i++)
    if (cell->events[i] == pull)
      return be_arena_format(
          arena, "%.0f %% of its plain line (%s, n = %zu); one pull, so no interval",
          100 * cell->shares[i], survey->line_names[cell->plain.line], cell->plain.estimate.n);
  return "One pull, so no interval";
}

static const char *pull_let_go(const struct survey *survey, const struct be_pull *pull)
{
  const char *what = be_what_word(pull->what);
  if (pull->what == BE_WHAT_UNKNOWN) return "What let go: not recorded";
  if (pull->where == BE_WHERE_UNKNOWN)
    return be_arena_format(survey->arena, "What let go: %s", what);
  return be_arena_format(survey->arena, "What let go: %s, %s", what, be_where_word(pull->where));
}

enum be_status be_card_of_pull(const struct survey *survey, const struct cell *cell,
                               const struct be_pull *pull, struct card *card, struct be_err *err)
{
  struct be_arena *arena = survey->arena;
  const char *name = be_knot_name(survey, pull->knot);
  const struct be_line *lines = survey->record.lines;
  const char *where =
      cell ? survey->combinations[cell->combination].name
      : pull->line_b >= 0
          ? be_arena_format(arena, "%s to %s", lines[pull->line_a].name, lines[pull->line_b].name)
          : lines[pull->line_a].name;
  *card = (struct card){.kind = "specimen", .name = pull->code};
  be_card_head(card, 2.2, BE_TONE_INK, be_arena_format(arena, "%s: %s", pull->code, name));
  be_card_head(card, 1.2, BE_TONE_MUTED, where);
  be_card_head(card, 4.5, BE_TONE_INK, pull_value(survey, pull));
  be_card_head(card, 1.2, BE_TONE_INK, pull_share(survey, cell, pull));
  be_card_head(card, 1.2, BE_TONE_MUTED, pull_let_go(survey, pull));
  if (cell) {
    card->items = strip(survey, cell,
                        be_arena_format(arena, "Pulls of the %s here: %zu, void %zu", name,
                                        cell->count, cell->voids),
                        be_card_value(survey, cell), be_card_note(survey, cell));
    card->items_count = 1;
    if (!card->items) return be_no_memory(err);
    be_card_foot(card, be_card_bars(survey, card->items, card->items_count));
    be_card_foot(card, be_card_divided(survey, cell));
  }
  be_card_close(survey, card);
  return be_card_tie(survey, pull->knot, pull->line_a, pull->line_b, card, err);
}
