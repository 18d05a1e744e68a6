/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Answers that take more than counting a field. */
#include "app/ranking/places.h"
#include "app/report/questions.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool is_knot(const struct cell *cell)
{
  return cell->knot >= 0;
}

static bool is_told(const char *text)
{
  return text && *text;
}

/* ---- pulls ---- */

static int by_size(const void *a_, const void *b_)
{
  size_t a = *(const size_t *)a_, b = *(const size_t *)b_;
  return a < b ? -1 : a > b;
}

enum be_status be_answer_how_many(struct be_answer *answer, struct be_err *err)
{
  const struct survey *survey = answer->survey;
  size_t *counts = be_arena_alloc(survey->arena, (survey->cells_count + 1) * sizeof *counts);
  size_t n = 0, with_events = 0;
  if (!counts) return be_no_memory(err);
  for (size_t i = 0; i < survey->cells_count; i++) {
    if (!is_knot(&survey->cells[i])) continue;
    counts[n++] = survey->cells[i].count;
    with_events += survey->cells[i].n > 0;
  }
  if (be_answer_is_empty(answer, n, "pulls of knots")) return BE_OK;
  qsort(counts, n, sizeof *counts, by_size);
  size_t least = counts[0], most = counts[n - 1];
  const char *times =
      least == most
          ? be_arena_format(survey->arena, "%s%zu pull%s", n == 1 ? "" : "each of ", least,
                            be_plural(least))
          : be_arena_format(survey->arena, "each of %zu to %zu pulls, the median %g", least, most,
                            0.5 * (double)(counts[(n - 1) / 2] + counts[n / 2]));
  if (!times) return be_no_memory(err);
  be_answer_add(
      answer, 1, 1,
      "In all %zu pull%s. Knots, each counted once in each combination where it was pulled: %zu, "
      "%s, lower bounds and voids among them; with an event: %zu. The tables give n of "
      "each.",
      survey->record.pulls_count, be_plural(survey->record.pulls_count), n, times, with_events);
  return BE_OK;
}

/* Of how many knots all pulls are on record as alike with their plain line, thing by thing. */
static const char *list_matched(const struct survey *survey)
{
  const char *text = "";
  for (int by = 0; by < MATCHED_BY && text; by++) {
    size_t count = 0;
    for (size_t i = 0; i < survey->cells_count; i++) {
      const struct cell *cell = &survey->cells[i];
      if (is_knot(cell) && cell->n && cell->plain.match != MATCH_NONE)
        count += cell->plain.by[by][LIKE_SAME] == cell->n;
    }
    text = be_arena_format(survey->arena, "%s%s%s of %zu", text, by ? ", " : "",
                           be_matched_word((enum matched_by)by), count);
  }
  return text;
}

enum be_status be_answer_divided_by(struct be_answer *answer, struct be_err *err)
{
  const struct survey *survey = answer->survey;
  size_t with = 0, all = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (!is_knot(cell) || !cell->n) continue;
    all++;
    with += cell->plain.match != MATCH_NONE;
  }
  if (be_answer_is_empty(answer, all, "events of knots")) return BE_OK;
  if (!with) {
    be_answer_add(
        answer, 0, all,
        "Neither: no plain line that fits was pulled, and by a label nothing is divided.");
    return BE_OK;
  }
  const char *matched = list_matched(survey);
  if (!matched) return be_no_memory(err);
  be_answer_add(
      answer, with, all,
      "What the line held, never the label. Of %zu knot%s with an event (counted once in each "
      "combination) %zu %s divided by the weaker line pulled plain; any others have no "
      "efficiency, only loads. On record as the same for knot and plain line: %s; where not, it "
      "differs or was not recorded, and a note beneath each table says which. Plain pulls: %zu "
      "events, %zu lower bounds.",
      all, be_plural(all), with, with == 1 ? "is" : "are", matched, survey->plain_count,
      survey->plain_bounds_count);
  return BE_OK;
}

enum be_status be_answer_let_go(struct be_answer *answer, struct be_err *err)
{
  struct be_told what, where;
  const struct survey *survey = answer->survey;
  enum be_status status = be_told_of(survey, BE_TELLS_WHAT, &what, err);
  if (status == BE_OK) status = be_told_of(survey, BE_TELLS_WHERE, &where, err);
  if (status != BE_OK || be_answer_is_empty(answer, what.n, "pulls")) return status;
  be_answer_add(answer, what.k, what.n, "Of %zu pull%s, voids among them, %zu say what let go%s%s.",
                what.n, be_plural(what.n), what.k, what.k ? ": " : "", what.values);
  be_answer_add(answer, where.k, where.n,
                "Of the %zu in which something let go, %zu say where%s%s.", where.n, where.k,
                where.k ? ": " : "", where.values);
  return BE_OK;
}

enum be_status be_answer_shock(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  size_t cyclic = 0, proof = 0;
  for (size_t i = 0; i < answer->survey->record.pulls_count; i++) {
    cyclic += answer->survey->record.pulls[i].design == BE_DESIGN_CYCLIC;
    proof += answer->survey->record.pulls[i].design == BE_DESIGN_PROOF;
  }
  be_answer_add(answer, 0, 1,
                "Cyclic specimens: %zu, proof holds: %zu; of a jerk nothing is recorded.", cyclic,
                proof);
  return BE_OK;
}

/* Of the same pulls as what let go and where: voids among them. */
enum be_status be_answer_grip(struct be_answer *answer, struct be_err *err)
{
  struct be_told where;
  const struct be_record *record = &answer->survey->record;
  enum be_status status = be_told_of(answer->survey, BE_TELLS_WHERE, &where, err);
  size_t grip = 0, plain = 0, kinds[BE_KIND_VOID + 1] = {0};
  for (size_t i = 0; i < record->pulls_count; i++) {
    const struct be_pull *pull = &record->pulls[i];
    if (pull->where != BE_WHERE_GRIP) continue;
    grip++;
    plain += pull->design == BE_DESIGN_PLAIN;
    kinds[pull->kind]++;
  }
  if (status != BE_OK || !where.n) return status;
  if (!where.k)
    be_answer_add(answer, 0, where.n, "Where any of %zu pull%s let go is not recorded.", where.n,
                  be_plural(where.n));
  else
    be_answer_add(answer, where.k, where.n,
                  "Of %zu pull%s in which something let go, voids among them, %zu say where, and "
                  "%zu of these at a grip: "
                  "plain lines %zu; counted as events %zu, as lower bounds %zu, void %zu.",
                  where.n, be_plural(where.n), where.k, grip, plain, kinds[BE_KIND_EVENT],
                  kinds[BE_KIND_BOUND], kinds[BE_KIND_VOID]);
  return BE_OK;
}

/* The lowest by its share of the line it was divided by, or by its load where none was. */
struct lowest {
  const struct cell *cell;
  double load_N, share;
};

static struct lowest find_lowest(const struct survey *survey, bool by_share)
{
  struct lowest lowest = {NULL, INFINITY, INFINITY};
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (!is_knot(cell) || (by_share && !cell->shares)) continue;
    for (size_t k = 0; k < cell->n; k++) {
      double share = cell->shares ? cell->shares[k] : NAN;
      if (by_share ? share < lowest.share : cell->loads[k] < lowest.load_N)
        lowest = (struct lowest){cell, cell->loads[k], share};
    }
  }
  return lowest;
}

enum be_status be_answer_worst(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  struct lowest share = find_lowest(survey, true), load = find_lowest(survey, false);
  if (be_answer_is_empty(answer, load.cell != NULL, "events of knots")) return BE_OK;
  if (share.cell)
    be_answer_add(answer, 1, 1,
                  "Of the pulls that are divided by a plain line the lowest held %.1f %% of it, "
                  "%.*f %s: %s, %s, n = %zu.",
                  100 * share.share, survey->decimals + 1, be_shown(survey, share.load_N),
                  survey->how.unit->name, be_cell_name(survey, share.cell),
                  survey->combinations[share.cell->combination].name, share.cell->n);
  be_answer_add(answer, 1, 1, "The lowest load of all was %.*f %s: %s, %s, n = %zu.",
                survey->decimals + 1, be_shown(survey, load.load_N), survey->how.unit->name,
                be_cell_name(survey, load.cell), survey->combinations[load.cell->combination].name,
                load.cell->n);
  be_answer_add(
      answer, 1, 1,
      "The tables give the worst pull of each beside its mean, and of two events or more the load "
      "that one in ten does not reach.");
  return BE_OK;
}

enum be_status be_answer_raw(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct be_record *record = &answer->survey->record;
  size_t traces = 0;
  if (be_answer_is_empty(answer, record->pulls_count, "pulls")) return BE_OK;
  for (size_t i = 0; i < record->pulls_count; i++) traces += record->pulls[i].trace != 0;
  be_answer_add(answer, 1, 1,
                "The book has every pull, voids too, and every file as it was entered; pulls: %zu.",
                record->pulls_count);
  be_answer_add(answer, traces, record->pulls_count, "With their trace as it came: %zu.", traces);
  return BE_OK;
}

/* ---- comparing ---- */

enum be_status be_answer_luck(struct be_answer *answer, struct be_err *err)
{
  struct survey own = *answer->survey;
  struct place *places;
  size_t count, ranked = 0, apart = 0, mixed = 0, bare = 0;
  own.how.resamples = 0;
  enum be_status status = be_places(&own, &places, &count, err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (!be_place_ranked(&places[i]) || places[i].group) continue;
    status = be_place_rank(&own, &places[i], err);
    if (status != BE_OK) break;
    ranked++;
    apart += be_ranking_followers(places[i].ranking) == 0;
    bool of_one = be_ranking_bare(places[i].ranking);
    bare += of_one;
    mixed += !of_one && be_ranking_followers(places[i].ranking) && places[i].ranking->mixed;
  }
  if (status != BE_OK || be_answer_is_empty(answer, ranked, "two knots pulled on the same lines"))
    return status;
  be_answer_add(
      answer, 1, 1,
      "Combinations where two knots or more are ranked: %zu. The first is apart from every other, "
      "at %g %% over all pairs of a table together, in %zu; in %zu it cannot be separated from "
      "another, so that its place may be luck; in %zu some were not pulled alike, so that not all "
      "can be compared; in %zu one pull of a knot tells nothing of scatter. Rank ranges say how "
      "far.",
      ranked, 100 * own.how.level, apart, ranked - apart - mixed - bare, mixed, bare);
  return BE_OK;
}

/* ---- knots ---- */

static size_t count_knots(const struct survey *survey, bool (*has)(const struct be_knot *knot))
{
  size_t count = 0;
  for (size_t i = 0; i < survey->record.knots_count; i++) count += has(&survey->record.knots[i]);
  return count;
}

static bool has_turns(const struct be_knot *knot)
{
  return !isnan(knot->turns);
}

static bool has_doubled(const struct be_knot *knot)
{
  return is_told(knot->doubled);
}

static bool has_tie(const struct be_knot *knot)
{
  return is_told(knot->tie);
}

static bool has_picture(const struct be_knot *knot)
{
  return knot->picture != 0;
}

static bool has_aliases(const struct be_knot *knot)
{
  return is_told(knot->aliases);
}

/* Names of knots, up to so many. */
static const char *list_knots(const struct survey *survey)
{
  enum { NAMED_MAX = 12 };
  const char *text = "";
  size_t count = survey->record.knots_count;
  for (size_t i = 0; i < count && i < NAMED_MAX && text; i++)
    text = be_arena_format(survey->arena, "%s%s%.60s", text, i ? "; " : "",
                           be_knot_name(survey, (int)i));
  if (text && count > NAMED_MAX)
    text = be_arena_format(survey->arena, "%s; and %zu more", text, count - NAMED_MAX);
  return text;
}

enum be_status be_answer_which_knots(struct be_answer *answer, struct be_err *err)
{
  size_t knots = answer->survey->record.knots_count;
  if (be_answer_is_empty(answer, knots, "knots")) return BE_OK;
  const char *names = list_knots(answer->survey);
  if (!names) return be_no_memory(err);
  be_answer_add(answer, 1, 1,
                "Knots that were tied: %zu: %s. Of any other the record says nothing.", knots,
                names);
  return BE_OK;
}

enum be_status be_answer_turns(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t knots = survey->record.knots_count, pairs = 0;
  if (be_answer_is_empty(answer, knots, "knots")) return BE_OK;
  for (size_t i = 0; i < knots; i++)
    for (size_t k = 0; k < i; k++) {
      const struct be_knot *a = &survey->record.knots[i], *b = &survey->record.knots[k];
      pairs += has_turns(a) && has_turns(b) && a->turns != b->turns && is_told(a->name) &&
               is_told(b->name) && be_text_same(a->name, b->name);
    }
  size_t told = count_knots(survey, has_turns);
  be_answer_add(answer, told, knots, "Turns are recorded, in the name, of %zu of %zu knot%s.", told,
                knots, be_plural(knots));
  if (pairs)
    be_answer_add(answer, 1, 1,
                  "Pairs of one knot at two numbers of turns: %zu; the findings say "
                  "what one more went with.",
                  pairs);
  else
    be_answer_add(answer, 0, 1,
                  "No knot was tied with two numbers of turns, so whether one more "
                  "helps was not tried.");
  return BE_OK;
}

enum be_status be_answer_doubled(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  size_t knots = answer->survey->record.knots_count;
  if (be_answer_is_empty(answer, knots, "knots")) return BE_OK;
  size_t told = count_knots(answer->survey, has_doubled);
  be_answer_add(
      answer, told, knots,
      "Whether the line is doubled is recorded of %zu of %zu knot%s; 100 %% is the single "
      "line for all.",
      told, knots, be_plural(knots));
  return BE_OK;
}

enum be_status be_answer_identity(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t knots = survey->record.knots_count, ways = 0;
  if (be_answer_is_empty(answer, knots, "knots")) return BE_OK;
  for (size_t i = 0; i < knots; i++)
    ways += has_tie(&survey->record.knots[i]) || has_picture(&survey->record.knots[i]);
  be_answer_add(
      answer, ways, knots,
      "Of %zu knot%s %zu have a picture or a description of how they run (a picture %zu, a "
      "description %zu); %zu have another name.",
      knots, be_plural(knots), ways, count_knots(survey, has_picture), count_knots(survey, has_tie),
      count_knots(survey, has_aliases));
  return BE_OK;
}
