/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One knot: its picture, what it held, and whom it is compared with. */
#include "app/knots/knots.h"
#include "app/strength/strength.h"

#include <math.h>

enum { PLACES_SAID_MAX = 3 };

/* ---- the answer ---- */

static void say_efficiencies(struct be_doc *doc, const struct survey *survey, int knot,
                             const struct knot_state *state)
{
  const struct cell *low = NULL, *high = NULL;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot != knot || cell->knot_b >= 0 || cell->efficiency.shape != BE_RATIO_PIECE)
      continue;
    if (!low || cell->efficiency.value < low->efficiency.value) low = cell;
    if (!high || cell->efficiency.value > high->efficiency.value) high = cell;
  }
  const char *name = be_knot_name(survey, knot), *pulls = state->pulls == 1 ? "" : "s";
  const char *places = state->combinations == 1 ? "" : "s";
  if (state->pulls == 0) {
    be_doc_sentence(doc, "The %s was never pulled.", name);
    return;
  }
  if (!low) {
    be_doc_sentence(doc,
                    "The %s was pulled %zu time%s in %zu combination%s; no efficiency with an "
                    "interval can be given yet.",
                    name, state->pulls, pulls, state->combinations, places);
    return;
  }
  struct be_interval least = be_interval_percent(&low->efficiency),
                     most = be_interval_percent(&high->efficiency);
  const char *of_least = be_interval_words(survey, least.low, least.high, 0);
  if (low == high)
    be_doc_sentence(
        doc, "The %s kept %.0f %%%s of the line in %s; %zu pull%s in %zu combination%s.", name,
        100 * low->efficiency.value, of_least, survey->combinations[low->combination].name,
        state->pulls, pulls, state->combinations, places);
  else
    be_doc_sentence(doc,
                    "The %s kept from %.0f %%%s of the line (%s) to %.0f %%%s (%s); %zu pull%s in "
                    "%zu combination%s.",
                    name, 100 * low->efficiency.value, of_least,
                    survey->combinations[low->combination].name, 100 * high->efficiency.value,
                    be_interval_words(survey, most.low, most.high, 0),
                    survey->combinations[high->combination].name, state->pulls, pulls,
                    state->combinations, places);
}

static void say_ranks(struct be_doc *doc, const struct survey *survey, const struct ranked *ranked,
                      int knot)
{
  const char *words = "";
  size_t said = 0, at;
  for (size_t i = 0; i < ranked->count && words; i++) {
    if (!be_ranked_at(&ranked->places[i], knot, &at)) continue;
    if (said++ >= PLACES_SAID_MAX) continue;
    words = be_arena_format(survey->arena, "%s%s%s in %s", words, *words ? "; " : "",
                            be_rank_words(survey, ranked->places[i].ranking, at),
                            ranked->places[i].name);
  }
  if (said > PLACES_SAID_MAX && words)
    words = be_arena_format(survey->arena, "%s; and %zu more below", words, said - PLACES_SAID_MAX);
  if (said) be_doc_sentence(doc, "Its rank, and in brackets the range: %s.", words ? words : "?");
}

/* ---- what is recorded ---- */

static void row(struct be_table *table, const char *what, const char *value)
{
  be_table_text(table, "%s", what);
  be_table_text(table, "%s", value ? value : "not recorded");
}

static const char *number(const struct survey *survey, double value, const char *unit)
{
  return isnan(value) ? NULL : be_arena_format(survey->arena, "%.4g%s", value, unit);
}

/* What the library has by the same name is offered, never taken for it. */
static void tie_row(struct be_table *table, const struct survey *survey, const struct be_knot *of)
{
  const char *text = be_knot_tie(of), *words = be_knot_tie_words(survey, of);
  const char *library = text ? NULL : be_knot_tie_by_name(survey, of), *way = "";
  be_table_text(table, "tie");
  if (text) {
    be_table_text(table, "%s (draw it anew, or look closer)", words);
    way = be_knot_tie_way(survey, of, text);
  } else if (library) {
    be_table_text(
        table, "not recorded (the library has one of its name, %s: look whether this is tied so)",
        library);
    way = be_knot_tie_way(survey, of, library);
  } else {
    be_table_text(table, "not recorded");
  }
  if (*way) be_table_link(table, "%s", way);
}

static void say_record(struct be_doc *doc, const struct survey *survey, const struct ranked *ranked,
                       int knot)
{
  static const struct be_column columns[] = {
      {"field", "recorded", BE_COLUMN_TEXT, false},
      {"value", "", BE_COLUMN_TEXT, false},
  };
  const struct be_knot *of = &survey->record.knots[knot];
  struct be_table *table = be_doc_table(doc, "knot", "The record of this knot", columns, 2);
  const char *missing = be_missing_words(survey, ranked, knot);
  row(table, "name", of->name);
  row(table, "also called", of->aliases);
  row(table, "version", of->version);
  row(table, "kind", of->kind);
  row(table, "turns", number(survey, of->turns, ""));
  row(table, "doubled", of->doubled);
  row(table, "crossings of line A", number(survey, of->crossings_a, ""));
  row(table, "crossings of line B", number(survey, of->crossings_b, ""));
  row(table, "overlap", number(survey, 1000 * of->overlap_m, " mm"));
  row(table, "time to tie", number(survey, of->tie_s, " s"));
  row(table, "passes guides", of->guides);
  tie_row(table, survey, of);
  row(table, "missing", *missing ? missing : "nothing");
}

/* ---- in each combination ---- */

static void cell_row(struct be_table *table, const struct survey *survey, const struct cell *cell)
{
  struct be_interval kept = be_interval_percent(&cell->efficiency);
  struct be_interval mean = be_load_interval(&cell->load, survey->how.level);
  int percent = be_percent_decimals(&cell->efficiency), decimals = survey->decimals + 1;
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_link(table, "/cell?at=%zu", (size_t)(cell - survey->cells));
  be_table_text(table, "%s", be_cell_name(survey, cell));
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, (double)cell->bounds, 0);
  be_table_number(table, cell->n ? be_shown(survey, cell->load.value) : NAN, decimals);
  be_table_interval(table, be_shown(survey, mean.low), be_shown(survey, mean.high), decimals);
  be_table_number(table, 100 * cell->efficiency.value, percent);
  be_table_interval(table, kept.low, kept.high, percent);
  be_table_text(table, "%s", cell->n ? be_match_words(survey, cell) : "no event");
  if (cell->told) be_table_count(table, cell->slips, cell->told);
  else be_table_none(table);
  be_table_number(table, (double)cell->voids, 0);
}

static void say_cells(struct be_doc *doc, const struct survey *survey, int knot)
{
  const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, true},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"mean", be_head(survey, "mean"), BE_COLUMN_NUMBER, false},
      {"mean", "interval", BE_COLUMN_INTERVAL, false},
      {"efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "log-ratio", BE_COLUMN_INTERVAL, false},
      {"plain_match", "plain line", BE_COLUMN_TEXT, false},
      {"slipped_out", "slipped out", BE_COLUMN_COUNT, false},
      {"voids", "void", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = NULL;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot != knot && cell->knot_b != knot) continue;
    if (!table)
      table = be_doc_table(doc, "cells", "What it held in each combination", columns,
                           sizeof columns / sizeof columns[0]);
    cell_row(table, survey, cell);
  }
}

/* ---- beside whom ---- */

static void neighbour_row(struct be_table *table, const struct survey *survey,
                          const struct place *place, size_t own, size_t other)
{
  const struct ranking *r = place->ranking;
  size_t a = r->order[own], b = r->order[other];
  be_table_text(table, "%s", place->name);
  be_table_text(table, "%s", be_knot_name(survey, r->block.knot[b]));
  be_table_link(table, "/versus?a=%d&b=%d", r->block.knot[a], r->block.knot[b]);
  be_table_text(table, "%s", other < own ? "above" : "below");
  be_table_text(table, "%s", be_rank_words(survey, r, other));
  be_table_text(table, "%s", be_ranking_together(r, a, b) ? "cannot separate" : "apart");
}

static void say_neighbours(struct be_doc *doc, const struct survey *survey,
                           const struct ranked *ranked, int knot)
{
  static const struct be_column columns[] = {
      {"place", "group, or combination", BE_COLUMN_TEXT, false},
      {"other", "compare with", BE_COLUMN_TEXT, false},
      {"side", "stands", BE_COLUMN_TEXT, false},
      {"rank", "rank (range)", BE_COLUMN_TEXT, false},
      {"verdict", "verdict", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = NULL;
  for (size_t i = 0; i < ranked->count; i++) {
    const struct place *place = &ranked->places[i];
    size_t at;
    if (!be_ranked_at(place, knot, &at)) continue;
    if (!table) table = be_doc_table(doc, "neighbours", "Its neighbours", columns, 5);
    if (at > 0) neighbour_row(table, survey, place, at, at - 1);
    if (at + 1 < place->block.knots) neighbour_row(table, survey, place, at, at + 1);
  }
}

/* ---- the document ---- */

static enum be_status say_pulls(struct be_doc *doc, const struct survey *survey, int knot,
                                size_t from, struct be_err *err)
{
  size_t count = 0, all = survey->record.pulls_count;
  const struct be_pull **pulls = be_arena_alloc(survey->arena, (all + 1) * sizeof(*pulls));
  const char *address = be_arena_format(survey->arena, "/knot?at=%d&", knot);
  if (!pulls || !address) return be_no_memory(err);
  for (size_t i = 0; i < all; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    if (pull->knot == knot || pull->knot_b == knot) pulls[count++] = pull;
  }
  if (from && from >= count)
    return be_fail(err, BE_NO, "the book does not hold so many pulls of this knot");
  if (count) be_table_of_pulls(doc, survey, pulls, count, from, address);
  return BE_OK;
}

enum be_status be_knot_doc(const struct survey *survey, size_t knot, size_t from,
                           struct be_doc **out, struct be_err *err)
{
  struct ranked ranked;
  int at = (int)knot;
  const struct be_knot *of = &survey->record.knots[knot];
  enum be_status status = be_ranked_make(survey, &ranked, err);
  if (status != BE_OK) return status;
  const char *shows = be_arena_format(survey->arena, "The %s, as it is tied", of->full);
  struct be_doc *doc = shows ? be_doc_create("knot", of->full) : NULL;
  if (!doc) return be_no_memory(err);
  say_efficiencies(doc, survey, at, &ranked.states[knot]);
  say_ranks(doc, survey, &ranked, at);
  if (of->picture) be_doc_picture(doc, shows, "/picture?of=%lld", (long long)of->picture);
  say_record(doc, survey, &ranked, at);
  say_cells(doc, survey, at);
  be_say_ranked(doc, survey, &ranked, at);
  say_neighbours(doc, survey, &ranked, at);
  status = be_say_tie(doc, survey, of, err);
  if (status == BE_OK) status = say_pulls(doc, survey, at, from, err);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  return be_answer_done(survey, doc, status, out, err);
}
