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

/* Nothing can be said where there is nothing yet. */
static bool is_empty(struct be_answer *answer, size_t of, const char *what)
{
  if (!of) be_answer_add(answer, 0, 1, "The book holds no %s yet.", what);
  return of == 0;
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
  size_t n = 0;
  if (!counts) return be_no_memory(err);
  for (size_t i = 0; i < survey->cells_count; i++)
    if (is_knot(&survey->cells[i])) counts[n++] = survey->cells[i].count;
  if (is_empty(answer, n, "pulls of knots")) return BE_OK;
  qsort(counts, n, sizeof *counts, by_size);
  be_answer_add(
      answer, 1, 1,
      "%zu pulls in all. A knot on the same lines was pulled from %zu to %zu times, voids "
      "and lower bounds among them, and %zu in the middle of %zu such. The tables give n of "
      "each.",
      survey->record.pulls_count, counts[0], counts[n - 1], counts[n / 2], n);
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
  if (is_empty(answer, all, "events of knots")) return BE_OK;
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
      "What the line held, never the label. Of %zu knots with an event (counted once in each "
      "combination) %zu are divided by the weaker line pulled plain; any others have no "
      "efficiency, only loads. On record as the same for knot and plain line: %s; where not, it "
      "differs or was not recorded, and a note beneath each table says which. Plain pulls: %zu "
      "events, %zu lower bounds.",
      all, with, matched, survey->plain_count, survey->plain_bounds_count);
  return BE_OK;
}

enum be_status be_answer_let_go(struct be_answer *answer, struct be_err *err)
{
  struct be_told what, where;
  const struct survey *survey = answer->survey;
  enum be_status status = be_told_of(survey, BE_TELLS_WHAT, &what, err);
  if (status == BE_OK) status = be_told_of(survey, BE_TELLS_WHERE, &where, err);
  if (status != BE_OK || is_empty(answer, what.n, "pulls")) return status;
  be_answer_add(answer, what.k, what.n, "%zu of %zu pulls say what let go%s%s.", what.k, what.n,
                what.k ? ": " : "", what.values);
  be_answer_add(answer, where.k, where.n, "%zu say where%s%s.", where.k, where.k ? ": " : "",
                where.values);
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

enum be_status be_answer_grip(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct be_record *record = &answer->survey->record;
  size_t grip = 0, told = 0, plain = 0, all = 0;
  for (size_t i = 0; i < record->pulls_count; i++) {
    bool at = record->pulls[i].where == BE_WHERE_GRIP;
    if (record->pulls[i].kind == BE_KIND_VOID) continue;
    all++;
    told += record->pulls[i].where != BE_WHERE_UNKNOWN;
    grip += at;
    plain += at && record->pulls[i].design == BE_DESIGN_PLAIN;
  }
  if (!all) return BE_OK;
  if (!told) be_answer_add(answer, 0, all, "Where any of %zu let go is not recorded.", all);
  else
    be_answer_add(
        answer, told, all,
        "At a grip %zu of the %zu that say where, %zu of them plain lines; a rule of the trial "
        "or the sheet says how they count, else as lower bounds.",
        grip, told, plain);
  return BE_OK;
}

enum be_status be_answer_worst(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  const struct cell *worst = NULL;
  double share = INFINITY;
  size_t cells = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (!is_knot(cell) || !cell->n) continue;
    cells++;
    for (size_t k = 0; cell->shares && k < cell->n; k++)
      if (cell->shares[k] < share) {
        share = cell->shares[k];
        worst = cell;
      }
  }
  if (is_empty(answer, cells, "events of knots")) return BE_OK;
  be_answer_add(
      answer, 1, 1,
      "The tables give the worst pull and the load that one in ten does not reach, beside "
      "each mean.");
  if (worst)
    be_answer_add(answer, 1, 1, "The lowest of all was at %.0f %% of its line: %s, %s, n = %zu.",
                  100 * share, be_cell_name(survey, worst),
                  survey->combinations[worst->combination].name, worst->n);
  return BE_OK;
}

enum be_status be_answer_raw(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct be_record *record = &answer->survey->record;
  size_t traces = 0;
  if (is_empty(answer, record->pulls_count, "pulls")) return BE_OK;
  for (size_t i = 0; i < record->pulls_count; i++) traces += record->pulls[i].trace != 0;
  be_answer_add(answer, 1, 1,
                "The book has every one of %zu pulls, voids too, and every file as it was entered.",
                record->pulls_count);
  be_answer_add(answer, traces, record->pulls_count, "%zu of them have their trace as it came.",
                traces);
  return BE_OK;
}

/* ---- comparing ---- */

enum be_status be_answer_luck(struct be_answer *answer, struct be_err *err)
{
  struct survey own = *answer->survey;
  struct place *places;
  size_t count, ranked = 0, apart = 0;
  own.how.resamples = 0;
  enum be_status status = be_places(&own, &places, &count, err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (!be_place_ranked(&places[i]) || places[i].group) continue;
    status = be_place_rank(&own, &places[i], err);
    if (status != BE_OK) break;
    ranked++;
    apart += be_ranking_followers(places[i].ranking) == 0;
  }
  if (status != BE_OK || is_empty(answer, ranked, "two knots pulled on the same lines"))
    return status;
  be_answer_add(
      answer, 1, 1,
      "In %zu of %zu combinations the first is apart from every other, at %g %% over all "
      "pairs of a table together; in the others it cannot be separated, and its place may "
      "be luck. Rank ranges say how far.",
      apart, ranked, 100 * own.how.level);
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
  if (is_empty(answer, knots, "knots")) return BE_OK;
  const char *names = list_knots(answer->survey);
  if (!names) return be_no_memory(err);
  be_answer_add(answer, 1, 1, "Only these %zu were tied: %s. Of any other the record says nothing.",
                knots, names);
  return BE_OK;
}

enum be_status be_answer_turns(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t knots = survey->record.knots_count, pairs = 0;
  if (is_empty(answer, knots, "knots")) return BE_OK;
  for (size_t i = 0; i < knots; i++)
    for (size_t k = 0; k < i; k++) {
      const struct be_knot *a = &survey->record.knots[i], *b = &survey->record.knots[k];
      pairs += has_turns(a) && has_turns(b) && a->turns != b->turns && is_told(a->name) &&
               is_told(b->name) && be_text_same(a->name, b->name);
    }
  size_t told = count_knots(survey, has_turns);
  be_answer_add(answer, told, knots, "The turns of %zu of %zu knots are recorded, in their names.",
                told, knots);
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
  if (is_empty(answer, knots, "knots")) return BE_OK;
  size_t told = count_knots(answer->survey, has_doubled);
  be_answer_add(answer, told, knots,
                "%zu of %zu knots say whether the line is doubled; 100 %% is the "
                "single line for all.",
                told, knots);
  return BE_OK;
}

enum be_status be_answer_identity(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t knots = survey->record.knots_count, ways = 0;
  if (is_empty(answer, knots, "knots")) return BE_OK;
  for (size_t i = 0; i < knots; i++)
    ways += has_tie(&survey->record.knots[i]) || has_picture(&survey->record.knots[i]);
  be_answer_add(
      answer, ways, knots,
      "%zu of %zu knots have a picture or how they run: %zu a picture, %zu how they run; %zu "
      "say what else they are called.",
      ways, knots, count_knots(survey, has_picture), count_knots(survey, has_tie),
      count_knots(survey, has_aliases));
  return BE_OK;
}

/* ---- lines ---- */

static size_t count_lines(const struct survey *survey, bool (*has)(const struct be_line *line))
{
  size_t count = 0;
  for (size_t i = 0; i < survey->record.lines_count; i++) count += has(&survey->record.lines[i]);
  return count;
}

static bool has_spool(const struct be_line *line)
{
  return is_told(line->spool);
}

static bool has_lot(const struct be_line *line)
{
  return is_told(line->lot);
}

static bool has_diameter(const struct be_line *line)
{
  return !isnan(line->diameter_m);
}

static bool has_label(const struct be_line *line)
{
  return !isnan(line->label_N);
}

enum be_status be_answer_lines(struct be_answer *answer, struct be_err *err)
{
  const struct survey *survey = answer->survey;
  const char *text = "";
  if (is_empty(answer, survey->line_names_count, "lines")) return BE_OK;
  for (size_t i = 0; i < survey->line_names_count && i < 24 && text; i++)
    text = be_arena_format(survey->arena, "%s%s%.40s", text, i ? "; " : "", survey->line_names[i]);
  if (text && survey->line_names_count > 24)
    text = be_arena_format(survey->arena, "%s; and %zu more", text, survey->line_names_count - 24);
  if (!text) return be_no_memory(err);
  be_answer_add(answer, 1, 1,
                "Pulled were %zu lines: %s. Each has its own tables; of others nothing is known.",
                survey->line_names_count, text);
  return BE_OK;
}

enum be_status be_answer_joints(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t joints = 0, unlike = 0, pulls = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct combination *where = &survey->combinations[survey->cells[i].combination];
    if (where->line_b < 0) continue;
    bool first = where->first_cell == i, differ = where->line_b != where->line_a;
    joints += first;
    unlike += first && differ;
    pulls += differ ? survey->cells[i].count : 0;
  }
  if (!unlike) {
    be_answer_add(answer, 0, 1, "No two unlike lines were joined.");
    return BE_OK;
  }
  be_answer_add(
      answer, 1, 1,
      "%zu of %zu combinations of two lines join unlike ones, %zu pulls; efficiency is of the "
      "weaker line, and strength says which line let go.",
      unlike, joints, pulls);
  return BE_OK;
}

enum be_status be_answer_spools(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t lines = survey->record.lines_count, several = 0;
  if (is_empty(answer, lines, "lines")) return BE_OK;
  for (size_t i = 0; i < survey->line_names_count; i++) {
    size_t spools = 0;
    for (size_t k = 0; k < lines; k++) spools += survey->name_of_line[k] == (int)i;
    several += spools > 1;
  }
  size_t told = count_lines(survey, has_spool);
  be_answer_add(
      answer, told, lines,
      "%zu of %zu spools are named, %zu with their lot; %zu of %zu lines came from more than "
      "one spool, and each pull is divided by its own where that was pulled plain.",
      told, lines, count_lines(survey, has_lot), several, survey->line_names_count);
  return BE_OK;
}

enum be_status be_answer_diameter(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct survey *survey = answer->survey;
  size_t lines = survey->record.lines_count, told = count_lines(survey, has_diameter);
  if (is_empty(answer, lines, "lines")) return BE_OK;
  be_answer_add(
      answer, told, lines,
      "%zu of %zu spools have a measured diameter, %zu a label. Knots are compared on the "
      "same lines, so that neither enters; efficiency is of what the very line held.",
      told, lines, count_lines(survey, has_label));
  return BE_OK;
}

/* ---- the scale ---- */

enum be_status be_answer_scale(struct be_answer *answer, struct be_err *err)
{
  (void)err;
  const struct be_record *record = &answer->survey->record;
  size_t under = 0, known = 0;
  double missed = 0;
  for (size_t i = 0; i < record->pulls_count; i++) {
    const struct be_pull *pull = &record->pulls[i];
    under += pull->calibration >= 0;
    if (isnan(pull->trace_missed_N) || !(pull->load_N > 0)) continue;
    known++;
    missed = fmax(missed, pull->trace_missed_N / pull->load_N);
  }
  if (is_empty(answer, record->pulls_count, "pulls")) return BE_OK;
  be_answer_add(
      answer, under, record->pulls_count,
      "%zu of %zu pulls have a calibration in force; %zu readings of check weights are kept.",
      under, record->pulls_count, record->weights_count);
  if (known)
    be_answer_add(
        answer, known, record->pulls_count,
        "Of %zu traces it is known how much of the peak sampling may have missed: %.2g %% "
        "at most.",
        known, 100 * missed);
  else
    be_answer_add(answer, 0, 1,
                  "How much of a peak may be missed is not recorded: no trace tells.");
  return BE_OK;
}
