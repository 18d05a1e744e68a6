/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/cards/tell.h"
#include "app/knots/knots.h"
#include "app/strength/strength.h"

#include <math.h>
#include <string.h>

bool be_has_shares(const struct cell *cell)
{
  return cell->n == 0 || (cell->shares && !isnan(cell->efficiency.value));
}

static bool has_efficiency(const struct cell *cell)
{
  return cell->n > 0 && !isnan(cell->efficiency.value);
}

const char *be_card_value(const struct survey *survey, const struct cell *cell)
{
  struct be_arena *arena = survey->arena;
  const char *unit = survey->how.unit->name;
  if (has_efficiency(cell))
    return be_arena_format(arena, "%.*f %%", be_percent_decimals(&cell->efficiency),
                           100 * cell->efficiency.value);
  if (cell->n)
    return be_arena_format(arena, "%.*f %s", survey->decimals + (cell->n > 1),
                           be_shown(survey, cell->load.value), unit);
  if (cell->highest)
    return be_arena_format(arena, "at least %.*f %s", survey->decimals,
                           be_shown(survey, cell->highest->load_N), unit);
  return "no result";
}

static const char *interval_of(const struct survey *survey, const struct cell *cell)
{
  if (has_efficiency(cell)) {
    struct be_interval known = be_interval_percent(&cell->efficiency);
    if (isnan(known.low) || isnan(known.high)) return "no interval";
    int decimals = be_percent_decimals(&cell->efficiency);
    return be_arena_format(survey->arena, "[%.*f, %.*f] %%", decimals, known.low, decimals,
                           known.high);
  }
  struct be_interval mean = be_load_interval(&cell->load, survey->how.level);
  if (isnan(mean.low) || isnan(mean.high)) return "no interval";
  int decimals = survey->decimals + 1;
  return be_arena_format(survey->arena, "[%.*f, %.*f]", decimals, be_shown(survey, mean.low),
                         decimals, be_shown(survey, mean.high));
}

const char *be_card_note(const struct survey *survey, const struct cell *cell)
{
  struct be_arena *arena = survey->arena;
  const char *interval = interval_of(survey, cell);
  if (cell->n && cell->bounds)
    return be_arena_format(arena, "%s, n = %zu + %zu at least", interval, cell->n, cell->bounds);
  if (cell->n) return be_arena_format(arena, "%s, n = %zu", interval, cell->n);
  if (cell->bounds)
    return be_arena_format(arena, "no event, %zu lower bound%s", cell->bounds,
                           cell->bounds == 1 ? "" : "s");
  return be_arena_format(arena, "%zu void", cell->voids);
}

const char *be_card_load(const struct survey *survey, const struct cell *cell)
{
  if (cell->n == 0) return NULL;
  struct be_interval mean = be_load_interval(&cell->load, survey->how.level);
  int decimals = survey->decimals + (cell->n > 1);
  return be_arena_format(
      survey->arena, "%s %.*f %s%s", cell->n > 1 ? "Mean" : "Load", decimals,
      be_shown(survey, cell->load.value), survey->how.unit->name,
      be_interval_words(survey, be_shown(survey, mean.low), be_shown(survey, mean.high), decimals));
}

/* ---- what let go ---- */

const char *be_card_let_go(const struct survey *survey, const struct cell *cell)
{
  enum { WAYS = 12, SHOWN = 4 };
  struct {
    enum be_what what;
    enum be_where where;
    size_t count;
  } ways[WAYS] = {0};
  size_t count = 0, others = 0, shown = 0;
  const char *words = NULL;
  for (size_t i = 0; i < cell->count; i++) {
    const struct be_pull *pull = cell->pulls[i];
    size_t k = 0;
    if (pull->kind != BE_KIND_EVENT && pull->kind != BE_KIND_BOUND) continue;
    while (k < count && (ways[k].what != pull->what || ways[k].where != pull->where)) k++;
    if (k == WAYS) others++;
    else if (k == count) ways[count].what = pull->what, ways[count++].where = pull->where;
    if (k < WAYS) ways[k].count++;
  }
  for (; shown < SHOWN; shown++) {
    size_t best = 0;
    for (size_t k = 1; k < count; k++)
      if (ways[k].count > ways[best].count) best = k;
    if (count == 0 || ways[best].count == 0) break;
    bool where = ways[best].where != BE_WHERE_UNKNOWN && ways[best].what != BE_WHAT_UNKNOWN &&
                 ways[best].what != BE_WHAT_SLIPPED_OUT && ways[best].what != BE_WHAT_NOTHING;
    words = be_arena_format(
        survey->arena, "%s%s%s%s %zu", words ? words : "What let go: ", shown ? "; " : "",
        be_what_word(ways[best].what),
        where ? be_arena_format(survey->arena, ", %s", be_where_word(ways[best].where)) : "",
        ways[best].count);
    if (!words) return NULL;
    ways[best].count = 0;
  }
  for (size_t k = 0; k < count; k++) others += ways[k].count;
  return others && words ? be_arena_format(survey->arena, "%s; others %zu", words, others) : words;
}

const char *be_card_divided(const struct survey *survey, const struct cell *cell)
{
  if (!has_efficiency(cell) || !cell->plain.match) return NULL;
  return be_arena_format(survey->arena, "100 %% (upright line) is plain %s, %.*f %s, n = %zu, %s.",
                         survey->line_names[cell->plain.line], survey->decimals + 1,
                         be_shown(survey, cell->plain.estimate.value), survey->how.unit->name,
                         cell->plain.estimate.n, be_match_words(survey, cell));
}

static const char *level_words(const struct survey *survey)
{
  return be_arena_format(survey->arena,
                         "Brackets hold the mean, %g %% sure, by how far pulls differ; errors of "
                         "the rig come on top.",
                         100 * survey->how.level);
}

/* Pieces that the arena had no memory for are not there. */
static bool has_brackets(const struct card *card)
{
  bool has = false;
  for (size_t i = 0; i < card->heads; i++) has |= strchr(card->head[i].text, '[') != NULL;
  for (size_t i = 0; i < card->items_count; i++) {
    const struct piece *item = &card->items[i];
    has |= item->value && strchr(item->value, '[');
    has |= item->note && strchr(item->note, '[');
  }
  return has;
}

void be_card_close(const struct survey *survey, struct card *card)
{
  if (has_brackets(card)) be_card_foot(card, level_words(survey));
  be_card_foot(card, "For angling only; stand clear of a loaded line.");
}

/* ---- bars ---- */

void be_card_bar(const struct survey *survey, const struct cell *cell, bool shares, struct bar *bar)
{
  double *events = be_arena_alloc(survey->arena, (cell->n + 1) * sizeof *events);
  double *held = be_arena_alloc(survey->arena, (cell->lower_count + 1) * sizeof *held);
  *bar = (struct bar){.kind = BAR_LOADS,
                      .events = events,
                      .held = held,
                      .value = NAN,
                      .low = NAN,
                      .high = NAN,
                      .whole = shares ? 100 : NAN};
  bar->tone = be_look_of_cell(survey, cell).tone;
  if (!events || !held) return;
  for (size_t i = 0; i < cell->n; i++)
    events[i] = shares && cell->shares ? 100 * cell->shares[i] : be_shown(survey, cell->loads[i]);
  bar->events_count = cell->n;
  /* A lower bound has no share of its own: it is divided as the mean is. */
  double plain = cell->plain.match ? cell->plain.estimate.value : NAN;
  for (size_t i = 0; i < cell->lower_count; i++) {
    double load = cell->lower[i]->load_N, at = shares ? 100 * load / plain : be_shown(survey, load);
    if (isfinite(at)) held[bar->held_count++] = at;
  }
  if (cell->n == 0) return;
  struct be_interval mean = be_load_interval(&cell->load, survey->how.level);
  struct be_interval kept = be_interval_percent(&cell->efficiency);
  bar->value = shares ? 100 * cell->efficiency.value : be_shown(survey, cell->load.value);
  bar->low = shares ? kept.low : be_shown(survey, mean.low);
  bar->high = shares ? kept.high : be_shown(survey, mean.high);
}

static const char *count_of(const struct survey *survey, const struct cell *cell)
{
  if (!cell->bounds) return be_arena_format(survey->arena, "n = %zu", cell->n);
  return be_arena_format(survey->arena, "n = %zu + %zu at least", cell->n, cell->bounds);
}

enum be_status be_card_item(const struct survey *survey, const struct cell *cell, bool shares,
                            const char *text, struct piece *item, struct be_err *err)
{
  const char *note = be_card_note(survey, cell), *load = be_card_load(survey, cell);
  *item = (struct piece){.kind = PIECE_ITEM, .text = text, .value = load, .note = note};
  if (shares || cell->n == 0) item->value = be_card_value(survey, cell);
  else if (has_efficiency(cell))
    item->note = be_arena_format(survey->arena, "%s %s", be_card_value(survey, cell), note);
  else item->note = count_of(survey, cell);
  be_card_bar(survey, cell, shares, &item->bar);
  return item->text && item->value && item->note ? BE_OK : be_no_memory(err);
}

/* Intervals have room too, unless pulls would then be told apart no more. */
void be_bars_end(struct piece *items, size_t count, bool shares)
{
  static const double widest = 1.5;
  double end = shares ? 110 : 0, wanted = 0;
  for (size_t i = 0; i < count; i++) {
    const struct bar *bar = &items[i].bar;
    for (size_t k = 0; k < bar->events_count; k++) end = fmax(end, 1.02 * bar->events[k]);
    for (size_t k = 0; k < bar->held_count; k++) end = fmax(end, 1.06 * bar->held[k]);
    end = fmax(end, 1.02 * bar->value);
  }
  for (size_t i = 0; i < count; i++) {
    double high = 1.02 * items[i].bar.high;
    if (high <= widest * end) wanted = fmax(wanted, high);
  }
  for (size_t i = 0; i < count; i++)
    if (items[i].bar.kind == BAR_LOADS) items[i].bar.end = fmax(end, wanted);
}

const char *be_card_bars(const struct survey *survey, const struct piece *items, size_t count)
{
  bool held = false, mean = false, known = false, goes_on = false;
  for (size_t i = 0; i < count; i++) {
    const struct bar *bar = &items[i].bar;
    held |= bar->held_count > 0;
    mean |= !isnan(bar->value);
    known |= !isnan(bar->low) && !isnan(bar->high);
    goes_on |= be_bar_goes_on(bar);
  }
  const struct bar *bar = &items[0].bar;
  bool shares = !isnan(bar->whole);
  return be_arena_format(survey->arena, "Bars: pulls%s%s%s, 0 to %.*f %s.",
                         held ? " (arrow: held at least)" : "",
                         !mean   ? ""
                         : known ? ", mean and interval"
                                 : ", mean",
                         goes_on ? " (arrow: it goes on)" : "", shares || bar->end >= 10 ? 0 : 1,
                         bar->end, shares ? "%" : survey->how.unit->name);
}

/* ---- the tie ---- */

enum be_status be_card_tie(const struct survey *survey, int knot, int line_a, int line_b,
                           struct card *card, struct be_err *err)
{
  const char *text = knot >= 0 ? be_knot_tie(&survey->record.knots[knot]) : NULL;
  struct be_tie tie;
  struct anatomy *anatomy = text ? be_arena_alloc(survey->arena, sizeof *anatomy) : NULL;
  if (!text) return BE_OK;
  if (!anatomy) return be_no_memory(err);
  enum be_status status = be_tie_told(text, survey->arena, &tie, err);
  if (status == BE_OK)
    status = be_anatomy_look(&tie, BE_LOOKED_USUAL, 0, 0, survey->arena, anatomy, err);
  if (status == BE_NO_MEMORY || status == BE_FAILED) return status;
  if (status != BE_OK) return BE_OK; /* a tie that cannot be read is only not shown */
  card->tie = anatomy;
  card->has_material = line_a >= 0;
  for (size_t i = 0, lines = 0; i < tie.lines.count; i++) {
    int line = tie.hardware[i] || lines++ == 0 || line_b < 0 ? line_a : line_b;
    card->material[i] = be_look_of_line(survey, line).tone;
  }
  return BE_OK;
}
