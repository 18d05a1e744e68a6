/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each line and knot held, and how much of the line a knot kept. */
#include "app/survey.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A head that carries the unit shown: "mean (lb)". */
static const char *head(const struct survey *survey, const char *word)
{
  const char *text = be_arena_format(survey->arena, "%s (%s)", word, survey->how.unit->name);
  return text ? text : word;
}

static struct be_interval in_percent(const struct be_ratio *ratio)
{
  if (ratio->shape != BE_RATIO_PIECE) return (struct be_interval){NAN, NAN, ratio->interval.level};
  return (struct be_interval){100 * ratio->interval.low, 100 * ratio->interval.high,
                              ratio->interval.level};
}

/* ---- the first sentence ---- */

static void answer(struct be_doc *doc, const struct survey *survey)
{
  const struct cell *low = NULL, *high = NULL;
  size_t events = 0, bounds = 0, voids = 0, knots = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    events += cell->n;
    bounds += cell->bounds;
    voids += cell->voids;
    knots += cell->knot >= 0;
    if (isnan(cell->efficiency.value) || cell->n < 2) continue;
    if (!low || cell->efficiency.value < low->efficiency.value) low = cell;
    if (!high || cell->efficiency.value > high->efficiency.value) high = cell;
  }
  if (survey->record.pulls_count == 0) {
    be_doc_sentence(doc, "The book holds no pulls yet.");
    return;
  }
  if (!low && survey->plain_count == 0) {
    be_doc_sentence(doc, "No plain line was pulled, so no efficiency can be given: only loads, and "
                         "loads beside the label.");
  } else if (!low) {
    be_doc_sentence(doc, knots ? "No knot has a plain line to be divided by yet: loads only."
                               : "Only plain lines were pulled so far: loads only.");
  } else {
    struct be_interval a = in_percent(&low->efficiency), b = in_percent(&high->efficiency);
    be_doc_sentence(doc,
                    "Of the weaker line as measured, the knots kept from %.0f %% [%.0f, %.0f] "
                    "(%s; %s; n = %zu) to %.0f %% [%.0f, %.0f] (%s; %s; n = %zu).",
                    100 * low->efficiency.value, a.low, a.high, be_knot_name(survey, low->knot),
                    survey->combinations[low->combination].name, low->n,
                    100 * high->efficiency.value, b.low, b.high, be_knot_name(survey, high->knot),
                    survey->combinations[high->combination].name, high->n);
  }
  be_doc_sentence(doc,
                  "%zu pulls: %zu events, %zu lower bounds kept apart from them, %zu void%s. "
                  "Intervals are at %g %%.",
                  survey->record.pulls_count, events, bounds, voids, voids == 1 ? "" : "s",
                  100 * survey->how.level);
}

/* ---- plain lines ---- */

static void plain_table(struct be_doc *doc, const struct survey *survey)
{
  if (survey->plain_count + survey->plain_bounds_count == 0) return;
  const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"mean", head(survey, "mean"), BE_COLUMN_NUMBER, false},
      {"mean", "interval", BE_COLUMN_INTERVAL, false},
      {"sd", "s", BE_COLUMN_NUMBER, false},
      {"min", "worst", BE_COLUMN_NUMBER, false},
      {"of_label_percent", "of label (%)", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"voids", "void", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Plain lines");
  struct be_table *table = be_doc_table(doc, "plain_lines", "Plain line as measured", columns, 9);
  int decimals = be_load_decimals(survey);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (!be_is_plain(&survey->combinations[cell->combination])) continue;
    struct be_interval interval = be_estimate_interval(&cell->estimate, survey->how.level);
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
    be_doc_note(doc,
                "%zu plain pulls let go at the grip or were stopped: the line is at least that "
                "strong. They are kept apart; where they are many, the mean is low and every "
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
  struct be_interval mean = be_estimate_interval(&cell->estimate, survey->how.level);
  struct be_interval slips = be_rate_exact(cell->slips, cell->n, survey->how.level);
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
  be_table_text(table, "%s", be_match_words(cell->plain.match));
  be_table_number(table, 100 * cell->summary.mean / label_of(survey, cell), 0);
  be_table_count(table, cell->slips, cell->n);
  be_table_interval(table, 100 * slips.low, 100 * slips.high, 0);
  be_table_number(table, (double)cell->bounds, 0);
  be_table_number(table, (double)cell->voids, 0);
}

static void doubts(struct be_doc *doc, const struct survey *survey, const struct cell *cell,
                   enum match said)
{
  const char *knot = be_knot_name(survey, cell->knot);
  if (cell->other_missing)
    be_doc_note(doc,
                "%s: no efficiency, because only one of the two lines was pulled plain in "
                "this soak, and which is the weaker is not known.",
                knot);
  if (cell->plain.match != said)
    be_doc_note(doc, "%s: plain line %s.", knot, be_match_words(cell->plain.match));
  if (cell->weaker_uncertain)
    be_doc_note(doc, "%s: which of the two lines is the weaker is not certain; divided by %s.",
                knot, survey->line_names[cell->plain.line]);
  if (cell->plain.match && cell->plain.estimate.n < 3)
    be_doc_note(doc, "%s: only %zu plain pull%s behind the efficiency.", knot,
                cell->plain.estimate.n, cell->plain.estimate.n == 1 ? "" : "s");
  if (cell->efficiency.value > 1 && cell->efficiency.interval.low <= 1)
    be_doc_note(doc, "%s: not distinguishable from the line itself.", knot);
  if (cell->n && 2 * cell->bounds >= cell->count - cell->voids)
    be_doc_note(doc, "%s: at least half of its pulls are lower bounds, so it held at least this.",
                knot);
  if (cell->slips && cell->slips < cell->n)
    be_doc_note(doc, "%s: slipped out %zu of %zu; when it held, mean %.*f %s, n = %zu.", knot,
                cell->slips, cell->n, be_load_decimals(survey), be_shown(survey, cell->held.mean),
                survey->how.unit->name, cell->held.n);
}

/* Says what 100 % is; returns the match that it said, which holds for the best
 * matched knot. */
static enum match denominator_note(struct be_doc *doc, const struct survey *survey,
                                   const struct combination *where)
{
  double low = INFINITY, high = -INFINITY;
  const struct cell *any = NULL;
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->plain.match == MATCH_NONE) continue;
    if (!any || cell->plain.match < any->plain.match) any = cell;
    low = fmin(low, cell->plain.estimate.value);
    high = fmax(high, cell->plain.estimate.value);
  }
  int decimals = be_load_decimals(survey) + 1;
  if (!any) {
    be_doc_note(doc, "No efficiency: %s.", be_match_words(MATCH_NONE));
  } else if (high - low < 1e-9 * high) {
    be_doc_note(doc, "100 %% is %.*f %s: plain %s, n = %zu, %s.", decimals, be_shown(survey, high),
                survey->how.unit->name, survey->line_names[any->plain.line], any->plain.estimate.n,
                be_match_words(any->plain.match));
  } else {
    be_doc_note(
        doc, "100 %% is %.*f to %.*f %s, by the spools each knot was tied in: plain %s, %s.",
        decimals, be_shown(survey, low), decimals, be_shown(survey, high), survey->how.unit->name,
        survey->line_names[any->plain.line], be_match_words(any->plain.match));
  }
  return any ? any->plain.match : MATCH_NONE;
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
      {"mean", head(survey, "mean"), BE_COLUMN_NUMBER, false},
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
      {"slipped_out_percent", "of pulls (%)", BE_COLUMN_INTERVAL, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"voids", "void", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "%s", where->name);
  struct be_table *table = be_doc_table(doc, "strengths", where->name, columns, 19);
  int decimals = be_load_decimals(survey);
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
  if (survey->plain_count) return;
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
  be_doc_heading(doc, "Relative to %s", be_knot_name(survey, knot));
  struct be_table *table = be_doc_table(doc, "relative", "Ratio of mean loads", columns, 6);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i], *of = NULL;
    const struct combination *where = &survey->combinations[cell->combination];
    for (size_t k = where->first_cell; k < where->first_cell + where->cells_count; k++)
      if (survey->cells[k].knot == knot) of = &survey->cells[k];
    if (!of || of == cell || cell->n == 0 || of->n == 0) continue;
    struct be_ratio ratio;
    be_ratio_log(&cell->estimate, &of->estimate, survey->how.level, &ratio);
    struct be_interval interval = in_percent(&ratio);
    be_table_text(table, "%s", where->name);
    be_table_text(table, "%s", be_knot_name(survey, cell->knot));
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, 100 * ratio.value, 1);
    be_table_interval(table, interval.low, interval.high, 1);
    be_table_number(table, ratio.df, 1);
  }
  be_doc_note(doc, "Relative to a knot, never an efficiency.");
  return BE_OK;
}

/* ---- alarms, lower bounds, voids ---- */

static void alarm_row(struct be_table *table, const struct survey *survey, const struct cell *cell)
{
  const struct be_pull *pull = cell->events[cell->alarm.index];
  double others[2] = {0, 0};
  for (size_t k = 0; k < cell->n; k++)
    if (k != cell->alarm.index) others[0] += cell->loads[k] / (double)(cell->n - 1);
  for (size_t k = 0; k < cell->n; k++)
    if (k != cell->alarm.index)
      others[1] += (cell->loads[k] - others[0]) * (cell->loads[k] - others[0]);
  int decimals = be_load_decimals(survey);
  be_table_text(table, "%s", pull->code);
  be_table_link(table, "/pull/%lld", (long long)pull->id);
  be_table_text(table, "%s", be_knot_name(survey, cell->knot));
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_number(table, be_shown(survey, pull->load_N), decimals);
  be_table_number(table, cell->alarm.statistic, 2);
  be_table_number(table, cell->alarm.critical, 2);
  be_table_number(table, be_shown(survey, cell->summary.mean), decimals + 1);
  be_table_number(table, be_shown(survey, cell->summary.sd), decimals + 2);
  be_table_number(table, be_shown(survey, others[0]), decimals + 1);
  be_table_number(table, be_shown(survey, sqrt(others[1] / (double)(cell->n - 2))), decimals + 2);
}

static void alarms(struct be_doc *doc, const struct survey *survey)
{
  size_t count = 0;
  for (size_t i = 0; i < survey->cells_count; i++) count += survey->cells[i].alarm.raised;
  if (count == 0) return;
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"load", head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"grubbs", "Grubbs", BE_COLUMN_NUMBER, false},
      {"critical", "critical", BE_COLUMN_NUMBER, false},
      {"mean_with", "mean with", BE_COLUMN_NUMBER, false},
      {"sd_with", "s with", BE_COLUMN_NUMBER, false},
      {"mean_without", "mean without", BE_COLUMN_NUMBER, false},
      {"sd_without", "s without", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Alarms");
  be_doc_sentence(doc,
                  "%zu pull%s stand%s apart from the rest of its knot: look at the specimen, the "
                  "sheet and the trace. Nothing is left out; each figure stands with and "
                  "without.",
                  count, count == 1 ? "" : "s", count == 1 ? "s" : "");
  struct be_table *table =
      be_doc_table(doc, "alarms", "Grubbs' two-sided test at 5 %, one pull a cell", columns, 10);
  for (size_t i = 0; i < survey->cells_count; i++)
    if (survey->cells[i].alarm.raised) alarm_row(table, survey, &survey->cells[i]);
}

static void list_kind(struct be_doc *doc, const struct survey *survey, enum be_kind kind,
                      const char *name, const char *title)
{
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"load", head(survey, kind == BE_KIND_BOUND ? "at least" : "load"), BE_COLUMN_NUMBER, false},
      {"let_go", "what let go", BE_COLUMN_TEXT, false},
      {"reason", "reason", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = NULL;
  for (size_t i = 0; i < survey->cells_count; i++)
    for (size_t k = 0; k < survey->cells[i].count; k++) {
      const struct be_pull *pull = survey->cells[i].pulls[k];
      if (pull->kind != kind) continue;
      if (!table) {
        be_doc_heading(doc, "%s", title);
        table = be_doc_table(doc, name, title, columns, 6);
      }
      be_table_text(table, "%s", pull->code);
      be_table_link(table, "/pull/%lld", (long long)pull->id);
      be_table_text(table, "%s", be_knot_name(survey, pull->knot));
      be_table_text(table, "%s", survey->combinations[survey->cells[i].combination].name);
      be_table_number(table, be_shown(survey, pull->load_N), be_load_decimals(survey));
      be_table_text(table, "%s, %s", be_what_word(pull->what), be_where_word(pull->where));
      be_table_text(table, "%s", pull->reason ? pull->reason : "");
    }
}

/* ---- what was not recorded ---- */

/* The step a scale was read in is the greatest that divides every load typed,
 * counted in thousandths of the unit. Said when it matters: half a per cent. */
static void reading_step(struct be_doc *doc, const struct survey *survey)
{
  double step = 0, low = INFINITY, high = 0;
  size_t count = 0;
  for (size_t i = 0; i < survey->record.pulls_count; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    if (!pull->load_text || strcmp(pull->load_unit, survey->how.unit->name) != 0) continue;
    double load = nearbyint(1000 * be_shown(survey, pull->load_N));
    double divisor = load;
    while (step > 0.5) {
      double rest = fmod(divisor, step);
      divisor = step;
      step = rest;
    }
    step = divisor;
    low = fmin(low, load);
    high = fmax(high, load);
    count++;
  }
  if (count < 10 || 200 * step < high) return;
  be_doc_note(doc, "Loads were read in steps of %g %s, %.1f to %.1f %% of the loads.", step / 1000,
              survey->how.unit->name, 100 * step / high, 100 * step / low);
}

static void not_recorded(struct be_doc *doc, const struct survey *survey)
{
  size_t what = 0, design = 0, soak = 0, speed = 0, tyer = 0, corrected = 0;
  size_t all = survey->record.pulls_count;
  for (size_t i = 0; i < all; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    what += pull->what == BE_WHAT_UNKNOWN && pull->kind == BE_KIND_EVENT;
    design += pull->design == BE_DESIGN_UNKNOWN;
    soak += pull->soak == BE_SOAK_UNKNOWN;
    speed += isnan(pull->speed_m_s);
    tyer += pull->tyer == NULL;
    corrected += pull->corrections > 0;
  }
  if (all == 0) return;
  be_doc_note(doc,
              "Not recorded, of %zu pulls: what let go %zu%s, design %zu%s, soak %zu, speed "
              "%zu, tyer %zu.",
              all, what, what ? " (taken as events)" : "", design,
              design ? " (taken as single knots)" : "", soak, speed, tyer);
  if (corrected)
    be_doc_note(doc, "%zu result%s corrected; the earlier values are kept.", corrected,
                corrected == 1 ? " was" : "s were");
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
  alarms(doc, survey);
  list_kind(doc, survey, BE_KIND_BOUND, "lower_bounds", "Lower bounds");
  list_kind(doc, survey, BE_KIND_VOID, "voids", "Voids");
  reading_step(doc, survey);
  not_recorded(doc, survey);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  return be_doc_done(doc, status, out);
}
