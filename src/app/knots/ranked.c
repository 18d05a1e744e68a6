/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/knots/knots.h"
#include "app/strength/strength.h"

#include <math.h>
#include <string.h>

/* ---- which places ---- */

/* A combination of a group that is ranked as a whole stands in it already. */
static bool stands_in_group(const struct place *places, size_t count, const struct place *place)
{
  const struct combination *where = place->all.combinations ? place->all.where[0] : NULL;
  for (size_t i = 0; where && i < count; i++)
    if (places[i].group && be_place_ranked(&places[i]) && strcmp(places[i].name, where->group) == 0)
      return true;
  return false;
}

static void count_pulls(const struct survey *survey, struct knot_state *states)
{
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    if (pull->knot >= 0) states[pull->knot].pulls++;
    if (pull->knot_b >= 0 && pull->knot_b != pull->knot) states[pull->knot_b].pulls++;
  }
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot >= 0) states[cell->knot].combinations++;
    if (cell->knot_b >= 0) states[cell->knot_b].combinations++;
  }
}

enum be_status be_ranked_make(const struct survey *survey, struct ranked *ranked,
                              struct be_err *err)
{
  struct survey quick = *survey;
  size_t all = 0, knots = survey->record.knots_count;
  quick.how.resamples = 0;
  *ranked = (struct ranked){
      .states = be_arena_alloc(survey->arena, (knots + 1) * sizeof *ranked->states)};
  if (!ranked->states) return be_no_memory(err);
  for (size_t i = 0; i < knots; i++) ranked->states[i] = (struct knot_state){0};
  count_pulls(survey, ranked->states);
  enum be_status status = be_places(survey, &ranked->places, &all, err);
  for (size_t i = 0; i < all && status == BE_OK; i++) {
    struct place *place = &ranked->places[i];
    if (!be_place_ranked(place) && place->group) continue;
    if (!place->group && stands_in_group(ranked->places, ranked->count, place)) continue;
    if (be_place_ranked(place)) status = be_place_rank(&quick, place, err);
    for (size_t k = 0; place->ranking && k < place->block.knots; k++)
      ranked->states[place->block.knot[k]].compared = true;
    ranked->places[ranked->count++] = *place;
  }
  return status;
}

/* ---- rows ---- */

bool be_ranked_at(const struct place *place, int knot, size_t *at)
{
  for (*at = 0; place->ranking && *at < place->block.knots; ++*at)
    if (place->block.knot[place->ranking->order[*at]] == knot) return true;
  return false;
}

const char *be_rank_words(const struct survey *survey, const struct ranking *ranking, size_t at)
{
  const struct rank *rank = &ranking->rank[ranking->order[at]];
  const char *words =
      rank->low == rank->high
          ? be_arena_format(survey->arena, "%zu of %zu", rank->rank, ranking->block.knots)
          : be_arena_format(survey->arena, "%zu of %zu (%zu to %zu)", rank->rank,
                            ranking->block.knots, rank->low, rank->high);
  return words ? words : "?";
}

/* low and high in per cent. */
static void put_percent(struct be_table *table, double share, double low, double high)
{
  int decimals = high - low < 2 ? 1 : 0;
  be_table_number(table, 100 * share, decimals);
  be_table_interval(table, low, high, decimals);
}

static void put_slips(struct be_table *table, const struct survey *survey, size_t slips,
                      size_t told)
{
  struct be_interval rate = be_rate_exact(slips, told, survey->how.level);
  if (told) be_table_count(table, slips, told);
  else be_table_none(table);
  if (told) be_table_interval(table, 100 * rate.low, 100 * rate.high, 0);
  else be_table_none(table);
}

static void name_row(struct be_table *table, const struct survey *survey, const struct place *place,
                     int knot)
{
  be_table_text(table, "%s", place->name);
  be_table_text(table, "%s", be_knot_name(survey, knot));
  be_table_link(table, "/knot?at=%d", knot);
}

static void ranked_row(struct be_table *table, const struct survey *survey,
                       const struct place *place, size_t at)
{
  const struct ranking *r = place->ranking;
  size_t k = r->order[at];
  const struct rank *rank = &r->rank[k];
  name_row(table, survey, place, r->block.knot[k]);
  be_table_number(table, (double)r->n[k], 0);
  be_table_number(table, (double)r->bounds[k], 0);
  put_percent(table, r->efficiency[k], 100 * r->efficiency_interval[k].low,
              100 * r->efficiency_interval[k].high);
  be_table_number(table, (double)rank->rank, 0);
  be_table_interval(table, (double)rank->low, (double)rank->high, 0);
  be_table_number(table, (double)r->block.knots, 0);
  put_slips(table, survey, r->slips[k], r->told[k]);
}

/* Where nothing is ranked, or the knot is outside the block: the figures of its cells alone say
 * nothing over the group, and so it has none. */
static void outside_row(struct be_table *table, const struct survey *survey,
                        const struct place *place, size_t knot)
{
  size_t n = 0, bounds = 0, slips = 0, seen = 0;
  const struct cell *only = NULL;
  for (size_t c = 0; c < place->all.combinations; c++) {
    const struct cell *cell = be_grid_cell(&place->all, knot, c);
    if (!cell) continue;
    n += cell->n, bounds += cell->bounds, slips += cell->slips, seen += cell->told;
    only = cell;
  }
  name_row(table, survey, place, place->all.knot[knot]);
  be_table_number(table, (double)n, 0);
  be_table_number(table, (double)bounds, 0);
  bool told = only && place->all.combinations == 1;
  struct be_interval kept =
      told ? be_interval_percent(&only->efficiency) : (struct be_interval){NAN, NAN, 0};
  put_percent(table, told ? only->efficiency.value : NAN, kept.low, kept.high);
  be_table_text(table, "not ranked");
  be_table_none(table);
  be_table_none(table);
  put_slips(table, survey, slips, seen);
}

void be_say_ranked(struct be_doc *doc, const struct survey *survey, const struct ranked *ranked,
                   int knot)
{
  const struct be_column columns[] = {
      {"place", "group, or combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, knot >= 0},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"rank", "rank", BE_COLUMN_NUMBER, false},
      {"rank", "rank range", BE_COLUMN_INTERVAL, false},
      {"of", "of", BE_COLUMN_NUMBER, false},
      {"slipped_out", "slipped out", BE_COLUMN_COUNT, false},
      {"slipped_out_percent", "interval (%)", BE_COLUMN_INTERVAL, false},
  };
  struct be_table *table = NULL;
  for (size_t i = 0; i < ranked->count; i++) {
    const struct place *place = &ranked->places[i];
    if (knot >= 0 && !be_grid_has(&place->all, knot)) continue;
    if (place->all.knots == 0) continue;
    if (!table)
      table = be_doc_table(doc, "ranked", knot < 0 ? "Where they stand" : "Where it stands",
                           columns, sizeof columns / sizeof columns[0]);
    for (size_t at = 0; place->ranking && at < place->block.knots; at++)
      if (knot < 0 || place->block.knot[place->ranking->order[at]] == knot)
        ranked_row(table, survey, place, at);
    for (size_t k = 0; k < place->all.knots; k++)
      if ((knot < 0 || place->all.knot[k] == knot) &&
          !(place->ranking && be_grid_has(&place->block, place->all.knot[k])))
        outside_row(table, survey, place, k);
  }
  if (!table) return;
  if (knot < 0) be_table_fold_long(table);
  be_doc_note(doc,
              "Ranks, ranges and efficiencies are those of the standings; intervals are at %g %%. "
              "A knot that was not tied in every combination in which the others of its group were "
              "is not ranked there.",
              100 * survey->how.level);
}

/* ---- what is missing ---- */

const char *be_missing_words(const struct survey *survey, const struct ranked *ranked, int knot)
{
  const struct knot_state *state = &ranked->states[knot];
  const struct be_knot *of = &survey->record.knots[knot];
  const char *pulls = state->pulls == 0 ? "never pulled" : state->compared ? "" : "never compared";
  const char *parts[] = {pulls, of->picture ? "" : "no picture", of->kind ? "" : "no kind",
                         be_knot_tie(of) ? "" : "no tie"};
  const char *words = "";
  for (size_t i = 0; i < sizeof parts / sizeof parts[0] && words; i++)
    if (*parts[i])
      words = be_arena_format(survey->arena, "%s%s%s", words, *words ? ", " : "", parts[i]);
  return words ? words : "?";
}
