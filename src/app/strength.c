/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each line and knot held, and how much of the line a knot kept. */
#include "app/survey.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static struct be_interval in_percent(const struct be_ratio *ratio)
{
  if (ratio->shape != BE_RATIO_PIECE) return (struct be_interval){NAN, NAN, ratio->interval.level};
  return (struct be_interval){100 * ratio->interval.low, 100 * ratio->interval.high,
                              ratio->interval.level};
}

/* ---- the first sentence ---- */

struct range {
  const struct cell *low, *high; /* of the efficiencies with an interval */
  size_t cells, events, bounds, voids, knots;
};

static struct range find_range(const struct survey *survey)
{
  struct range range = {0};
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    range.events += cell->n;
    range.bounds += cell->bounds;
    range.voids += cell->voids;
    range.knots += cell->knot >= 0;
    if (cell->efficiency.shape != BE_RATIO_PIECE) continue;
    range.cells++;
    if (!range.low || cell->efficiency.value < range.low->efficiency.value) range.low = cell;
    if (!range.high || cell->efficiency.value > range.high->efficiency.value) range.high = cell;
  }
  return range;
}

/* "92 % [86, 98] (palomar; nylon 12 lb to ring, dry; n = 7)" */
static const char *kept_words(const struct survey *survey, const struct cell *cell)
{
  struct be_interval interval = in_percent(&cell->efficiency);
  const char *text = be_arena_format(
      survey->arena, "%.0f %%%s (%s; %s; n = %zu)", 100 * cell->efficiency.value,
      be_interval_words(survey, interval.low, interval.high, 0), be_knot_name(survey, cell->knot),
      survey->combinations[cell->combination].name, cell->n);
  return text ? text : "";
}

static void answer(struct be_doc *doc, const struct survey *survey)
{
  struct range range = find_range(survey);
  if (survey->record.pulls_count == 0) {
    be_doc_sentence(doc, "The book holds no pulls yet.");
    return;
  }
  if (range.cells > 1)
    be_doc_sentence(doc, "Of the weaker line as measured, the knots kept from %s to %s.",
                    kept_words(survey, range.low), kept_words(survey, range.high));
  else if (range.cells == 1)
    be_doc_sentence(doc, "Of the weaker line as measured, the knot kept %s.",
                    kept_words(survey, range.low));
  else if (range.knots == 0)
    be_doc_sentence(doc, "Only plain lines were pulled so far: loads only.");
  else if (survey->plain_count + survey->plain_bounds_count == 0)
    be_doc_sentence(doc, "No plain line was pulled, so no efficiency can be given: only loads, and "
                         "loads beside the label.");
  else
    be_doc_sentence(doc,
                    "No efficiency with an interval can be given yet: there are too few pulls, "
                    "or no plain line to match.");
  be_doc_sentence(
      doc,
      "Pulls: %zu; of these %zu events, %zu lower bound%s kept apart from them, %zu void. "
      "Intervals are at %g %%.",
      survey->record.pulls_count, range.events, range.bounds, range.bounds == 1 ? "" : "s",
      range.voids, 100 * survey->how.level);
}

/* ---- plain lines ---- */

static void plain_table(struct be_doc *doc, const struct survey *survey)
{
  if (survey->plain_count + survey->plain_bounds_count == 0) return;
  const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"mean", be_head(survey, "mean"), BE_COLUMN_NUMBER, false},
      {"mean", "interval", BE_COLUMN_INTERVAL, false},
      {"sd", "s", BE_COLUMN_NUMBER, false},
      {"min", "worst", BE_COLUMN_NUMBER, false},
      {"of_label_percent", "of label (%)", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"voids", "void", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Plain lines");
  struct be_table *table = be_doc_table(doc, "plain_lines", "Plain line as measured", columns, 9);
  int decimals = survey->decimals;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (!be_is_plain(&survey->combinations[cell->combination])) continue;
    struct be_estimate mean = be_estimate_mean(&cell->summary);
    struct be_interval interval = be_estimate_interval(&mean, survey->how.level);
    double label = survey->record.lines[cell->pulls[0]->line_a].label_N;
    be_table_text(table, "%s", survey->combinations[cell->combination].name);
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, be_shown(survey, cell->summary.mean), decimals + 1);
    be_table_interval(table, be_shown(survey, interval.low), be_shown(survey, interval.high),
                      decimals + 1);
    be_table_number(table, be_shown(survey, cell->summary.sd), decimals + 2);
    be_table_number(table, be_shown(survey, cell->summary.min), decimals);
    be_table_number(table, 100 * cell->summary.mean / label, 0);
    be_table_number(table, (double)cell->bounds, 0);
    be_table_number(table, (double)cell->voids, 0);
  }
  if (survey->plain_bounds_count)
    be_doc_note(
        doc,
        "Plain pulls that let go at the grip or were stopped: %zu. The line is at least that "
        "strong; they are kept apart, and where they are many, the mean is low and every "
        "efficiency over it is high.",
        survey->plain_bounds_count);
}

/* ---- knots ---- */

static double label_of(const struct survey *survey, const struct cell *cell)
{
  const struct be_pull *pull = cell->pulls[0];
  double a = survey->record.lines[pull->line_a].label_N;
  if (pull->line_b < 0) return a;
  double b = survey->record.lines[pull->line_b].label_N;
  return isnan(a) || isnan(b) ? NAN : fmin(a, b);
}

static void knot_row(struct be_table *table, const struct survey *survey, const struct cell *cell,
                     int decimals)
{
  struct be_interval log = in_percent(&cell->efficiency), fieller = in_percent(&cell->fieller);
  struct be_estimate load = be_estimate_mean(&cell->summary);
  struct be_interval mean = be_estimate_interval(&load, survey->how.level);
  struct be_interval slips = be_rate_exact(cell->slips, cell->told, survey->how.level);
  int percent = be_percent_decimals(&cell->efficiency);
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_text(table, "%s", be_knot_name(survey, cell->knot));
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, be_shown(survey, cell->summary.mean), decimals + 1);
  be_table_interval(table, be_shown(survey, mean.low), be_shown(survey, mean.high), decimals + 1);
  be_table_number(table, be_shown(survey, cell->summary.sd), decimals + 2);
  be_table_number(table, be_shown(survey, cell->summary.min), decimals);
  be_table_number(table, 100 * cell->efficiency.value, percent);
  be_table_interval(table, log.low, log.high, percent);
  be_table_interval(table, fieller.low, fieller.high, percent);
  be_table_number(table, cell->efficiency.df, 1);
  double plain = cell->plain.match ? cell->plain.estimate.value : NAN;
  be_table_number(table, be_shown(survey, plain), decimals + 1);
  be_table_number(table, cell->plain.match ? (double)cell->plain.estimate.n : NAN, 0);
  be_table_text(table, "%s", cell->n ? be_match_words(survey, cell) : "no event");
  be_table_number(table, 100 * cell->summary.mean / label_of(survey, cell), 0);
  if (cell->told) be_table_count(table, cell->slips, cell->told);
  else be_table_none(table);
  if (cell->told) be_table_interval(table, 100 * slips.low, 100 * slips.high, 0);
  else be_table_none(table);
  be_table_number(table, (double)cell->slipped_broke, 0);
  be_table_number(table, (double)cell->bounds, 0);
  be_table_number(table, (double)cell->voids, 0);
}

/* A knot with nothing but lower bounds or voids. */
static void no_events(struct be_doc *doc, const struct survey *survey, const struct cell *cell)
{
  const char *knot = be_knot_name(survey, cell->knot);
  if (cell->highest)
    be_doc_note(doc, "%s: only lower bounds, %zu pull%s; the highest held at least %.*f %s.", knot,
                cell->bounds, cell->bounds == 1 ? "" : "s", survey->decimals,
                be_shown(survey, cell->highest->load_N), survey->how.unit->name);
  else be_doc_note(doc, "%s: every pull is void.", knot);
}

static void doubts_of_plain(struct be_doc *doc, const struct survey *survey,
                            const struct cell *cell, enum match said)
{
  const char *knot = be_knot_name(survey, cell->knot);
  if (cell->other_missing)
    be_doc_note(doc,
                "%s: no efficiency, because only one of the two lines was pulled plain in "
                "this soak, and which is the weaker is not known.",
                knot);
  else if (cell->plain.match != said)
    be_doc_note(doc, "%s: plain line %s.", knot, be_match_words(survey, cell));
  if (cell->weaker_uncertain)
    be_doc_note(doc,
                "%s: which of the two lines is the weaker is not certain; divided by %s, the one "
                "that reads lower, so the efficiency reads high if anything.",
                knot, survey->line_names[cell->plain.line]);
  if (cell->plain.match && cell->plain.estimate.n < 3)
    be_doc_note(doc, "%s: only %zu plain pull%s behind the efficiency.", knot,
                cell->plain.estimate.n, cell->plain.estimate.n == 1 ? "" : "s");
  if (cell->efficiency.value > 1 && cell->efficiency.interval.low <= 1)
    be_doc_note(doc, "%s: not distinguishable from the line itself.", knot);
}

static void doubts(struct be_doc *doc, const struct survey *survey, const struct cell *cell,
                   enum match said)
{
  const char *knot = be_knot_name(survey, cell->knot);
  if (cell->n == 0) {
    no_events(doc, survey, cell);
    return;
  }
  doubts_of_plain(doc, survey, cell, said);
  if (2 * cell->bounds >= cell->count - cell->voids)
    be_doc_note(doc, "%s: at least half of its pulls are lower bounds, so it held at least this.",
                knot);
  if (cell->slips && cell->slips < cell->n)
    be_doc_note(doc, "%s: slipped out in %zu of %zu; when it held, mean %.*f %s, n = %zu.", knot,
                cell->slips, cell->told, survey->decimals + 1, be_shown(survey, cell->held.mean),
                survey->how.unit->name, cell->held.n);
  if (cell->slipped_broke)
    be_doc_note(doc, "%s: slipped, then broke in %zu of %zu.", knot, cell->slipped_broke,
                cell->told);
}

/* Says what 100 % is; returns the match that it said, which holds for the best
 * matched knot. */
static enum match denominator_note(struct be_doc *doc, const struct survey *survey,
                                   const struct combination *where)
{
  double low = INFINITY, high = -INFINITY;
  const struct cell *any = NULL;
  bool events = false, one_line = false;
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    events |= cell->n > 0;
    one_line |= cell->other_missing;
    if (cell->plain.match == MATCH_NONE) continue;
    if (!any || cell->plain.match < any->plain.match) any = cell;
    low = fmin(low, cell->plain.estimate.value);
    high = fmax(high, cell->plain.estimate.value);
  }
  int decimals = survey->decimals + 1;
  if (!any) {
    if (events && !one_line)
      be_doc_note(doc, "No efficiency: no plain line was pulled in this soak.");
    return MATCH_NONE;
  }
  if (high - low < 1e-9 * high)
    be_doc_note(doc, "100 %% is %.*f %s: plain %s, n = %zu, %s.", decimals, be_shown(survey, high),
                survey->how.unit->name, survey->line_names[any->plain.line], any->plain.estimate.n,
                be_match_words(survey, any));
  else
    be_doc_note(
        doc, "100 %% is %.*f to %.*f %s, by the spools each knot was tied in: plain %s, %s.",
        decimals, be_shown(survey, low), decimals, be_shown(survey, high), survey->how.unit->name,
        survey->line_names[any->plain.line], be_match_words(survey, any));
  return any->plain.match;
}

static bool has_events(const struct survey *survey, const struct combination *where)
{
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    if (survey->cells[i].n) return true;
  return false;
}

static void combination_section(struct be_doc *doc, const struct survey *survey,
                                const struct combination *where)
{
  const struct be_column columns[] = {
      {"combination", "", BE_COLUMN_TEXT, true},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"mean", be_head(survey, "mean"), BE_COLUMN_NUMBER, false},
      {"mean", "", BE_COLUMN_INTERVAL, true},
      {"sd", "s", BE_COLUMN_NUMBER, false},
      {"min", "worst", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "log-ratio", BE_COLUMN_INTERVAL, false},
      {"efficiency_fieller_percent", "Fieller", BE_COLUMN_INTERVAL, false},
      {"efficiency_df", "", BE_COLUMN_NUMBER, true},
      {"plain_mean", "", BE_COLUMN_NUMBER, true},
      {"plain_n", "", BE_COLUMN_NUMBER, true},
      {"plain_match", "", BE_COLUMN_TEXT, true},
      {"of_label_percent", "", BE_COLUMN_NUMBER, true},
      {"slipped_out", "slipped out", BE_COLUMN_COUNT, false},
      {"slipped_out_percent", "of those told (%)", BE_COLUMN_INTERVAL, false},
      {"slipped_then_broke", "slipped then broke", BE_COLUMN_NUMBER, true},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"voids", "void", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "%s", where->name);
  struct be_table *table = be_doc_table(doc, "strengths", where->name, columns, 20);
  int decimals = survey->decimals;
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    knot_row(table, survey, &survey->cells[i], decimals);
  enum match said = denominator_note(doc, survey, where);
  if (where->design == BE_DESIGN_TWO_SAME || where->design == BE_DESIGN_TWO_DIFFERENT)
    be_doc_note(doc, "Each specimen holds two knots, so each load is that of the weaker one: not "
                     "to be compared with single-knot specimens.");
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    doubts(doc, survey, &survey->cells[i], said);
  if (has_events(survey, where)) be_doc_figure(doc, be_figure_of_pulls(survey, where));
}

/* ---- beside it: the label, another knot ---- */

static void beside_label(struct be_doc *doc, const struct survey *survey)
{
  bool any = false;
  for (size_t i = 0; i < survey->cells_count; i++)
    any |= survey->cells[i].n && !isnan(label_of(survey, &survey->cells[i]));
  if (survey->plain_count || !any) return;
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"of_label_percent", "of label (%)", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Beside the label");
  struct be_table *table =
      be_doc_table(doc, "of_label", "Mean load beside the label: not an efficiency", columns, 4);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    double label = label_of(survey, cell);
    if (isnan(label) || cell->n == 0) continue;
    be_table_text(table, "%s", survey->combinations[cell->combination].name);
    be_table_text(table, "%s", be_knot_name(survey, cell->knot));
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, 100 * cell->summary.mean / label, 0);
  }
  be_doc_note(doc, "A label may be far from the line: most lines break well above or below it.");
}

static enum be_status relative_to(struct be_doc *doc, const struct survey *survey,
                                  struct be_err *err)
{
  if (!survey->how.relative_to) return BE_OK;
  int knot = be_knot_find(survey, survey->how.relative_to, err);
  if (knot < 0) return err ? err->status : BE_WRONG_USE;
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"ratio_percent", "of it (%)", BE_COLUMN_NUMBER, false},
      {"ratio_percent", "log-ratio", BE_COLUMN_INTERVAL, false},
      {"ratio_df", "degrees of freedom", BE_COLUMN_NUMBER, false},
  };
  size_t passed = 0;
  be_doc_heading(doc, "Relative to %s", be_knot_name(survey, knot));
  struct be_table *table = be_doc_table(doc, "relative", "Ratio of mean loads", columns, 6);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i], *of = NULL;
    const struct combination *where = &survey->combinations[cell->combination];
    for (size_t k = where->first_cell; k < where->first_cell + where->cells_count; k++)
      if (survey->cells[k].knot == knot) of = &survey->cells[k];
    if (!of || of == cell || cell->n == 0 || of->n == 0) continue;
    if (!be_same_mix(cell, of)) {
      passed++;
      continue;
    }
    struct be_ratio ratio;
    be_ratio_log(&cell->pooled, &of->pooled, survey->how.level, &ratio);
    struct be_interval interval = in_percent(&ratio);
    be_table_text(table, "%s", where->name);
    be_table_text(table, "%s", be_knot_name(survey, cell->knot));
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, 100 * ratio.value, 1);
    be_table_interval(table, interval.low, interval.high, 1);
    be_table_number(table, ratio.df, 1);
  }
  be_doc_note(doc, "Relative to a knot, never an efficiency.");
  if (passed)
    be_doc_note(doc, "Passed over: %zu, tied on other spools or at another speed than that knot.",
                passed);
  return BE_OK;
}

enum be_status be_strength_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("strength", "Strength");
  if (!doc) return be_no_memory(err);
  answer(doc, survey);
  plain_table(doc, survey);
  for (size_t i = 0; i < survey->combinations_count; i++)
    if (!be_is_plain(&survey->combinations[i]))
      combination_section(doc, survey, &survey->combinations[i]);
  beside_label(doc, survey);
  enum be_status status = relative_to(doc, survey, err);
  if (status == BE_OK) status = be_say_records(doc, survey, err);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  return be_doc_done(doc, status, out);
}
