/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each line and knot held, and how much of the line a knot kept. */
#include "app/strength/strength.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct be_interval be_interval_percent(const struct be_ratio *ratio)
{
  if (ratio->shape != BE_RATIO_PIECE) return (struct be_interval){NAN, NAN, ratio->interval.level};
  return (struct be_interval){100 * ratio->interval.low, 100 * ratio->interval.high,
                              ratio->interval.level};
}

/* ---- the first sentence ---- */

struct range {
  const struct cell *low, *high; /* of the efficiencies with an interval */
  size_t cells, events, bounds, counted, voids, knots;
};

static struct range find_range(const struct survey *survey)
{
  struct range range = {0};
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    range.events += cell->n;
    range.bounds += cell->bounds;
    range.counted += cell->counted_in ? cell->lower_count : 0;
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
  struct be_interval interval = be_interval_percent(&cell->efficiency);
  const char *text = be_arena_format(
      survey->arena, "%.0f %%%s (%s; %s; n = %zu)", 100 * cell->efficiency.value,
      be_interval_words(survey, interval.low, interval.high, 0), be_cell_name(survey, cell),
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
  const char *apart = "";
  if (range.counted < range.bounds)
    apart = be_arena_format(survey->arena, " (but for %zu, beside too few events)",
                            range.bounds - range.counted);
  be_doc_sentence(
      doc,
      "Pulls: %zu; of these events %zu, lower bounds %zu%s%s, void %zu. Intervals are at %g %%.",
      survey->record.pulls_count, range.events, range.bounds,
      range.bounds ? " counted for what they held" : "", apart ? apart : "", range.voids,
      100 * survey->how.level);
}

/* ---- plain lines ---- */

static double mean_of(const struct cell *cell)
{
  return cell->n ? cell->load.value : NAN;
}

/* Whether no plain line has lower bounds that stand apart from its mean. */
static bool all_counted(const struct survey *survey)
{
  for (size_t i = 0; i < survey->cells_count; i++)
    if (survey->cells[i].knot < 0 && survey->cells[i].bounds && !survey->cells[i].counted_in)
      return false;
  return true;
}

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
    struct be_interval interval = be_load_interval(&cell->load, survey->how.level);
    double label = survey->record.lines[cell->pulls[0]->line_a].label_N;
    be_table_text(table, "%s", survey->combinations[cell->combination].name);
    be_table_link(table, "/cell?at=%zu", i);
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, be_shown(survey, mean_of(cell)), decimals + 1);
    be_table_interval(table, be_shown(survey, interval.low), be_shown(survey, interval.high),
                      decimals + 1);
    be_table_number(table, be_shown(survey, cell->summary.sd), decimals + 2);
    be_table_number(table, be_shown(survey, cell->summary.min), decimals + 1);
    be_table_number(table, 100 * mean_of(cell) / label, 0);
    be_table_number(table, (double)cell->bounds, 0);
    be_table_number(table, (double)cell->voids, 0);
  }
  if (survey->plain_bounds_count)
    be_doc_note(
        doc,
        "Plain pulls that let go at the grip or were stopped: %zu. The line is at least that "
        "strong, and they are counted so in the means%s. They are no rarer among strong specimens "
        "than among weak ones, it is taken; a grip that spoils good line breaks that rule.",
        survey->plain_bounds_count,
        all_counted(survey) ? ""
                            : " of those lines of which two or "
                              "more pulls let go at different loads");
}

/* ---- knots ---- */

double be_label_of(const struct survey *survey, const struct cell *cell)
{
  const struct be_pull *pull = cell->pulls[0];
  double a = survey->record.lines[pull->line_a].label_N;
  if (pull->line_b < 0) return a;
  double b = survey->record.lines[pull->line_b].label_N;
  return isnan(a) || isnan(b) ? NAN : fmin(a, b);
}

/* Slips: the exact interval for people; Wilson's and Jeffreys' beside it for programs. */
static void slip_cells(struct be_table *table, const struct survey *survey, const struct cell *cell)
{
  double level = survey->how.level;
  const struct be_interval intervals[] = {be_rate_exact(cell->slips, cell->told, level),
                                          be_rate_wilson(cell->slips, cell->told, level, false),
                                          be_rate_jeffreys(cell->slips, cell->told, level)};
  if (cell->told) be_table_count(table, cell->slips, cell->told);
  else be_table_none(table);
  for (int i = 0; i < 3; i++)
    if (cell->told) be_table_interval(table, 100 * intervals[i].low, 100 * intervals[i].high, 0);
    else be_table_none(table);
}

static void knot_row(struct be_table *table, const struct survey *survey, const struct cell *cell,
                     const char *letters, int decimals)
{
  struct be_interval log = be_interval_percent(&cell->efficiency),
                     fieller = be_interval_percent(&cell->fieller);
  struct be_interval mean = be_load_interval(&cell->load, survey->how.level);
  int percent = be_percent_decimals(&cell->efficiency);
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_text(table, "%s", be_cell_name(survey, cell));
  be_table_link(table, "/cell?at=%zu", (size_t)(cell - survey->cells));
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, (double)cell->bounds, 0);
  be_table_number(table, be_shown(survey, mean_of(cell)), decimals + 1);
  be_table_interval(table, be_shown(survey, mean.low), be_shown(survey, mean.high), decimals + 1);
  be_table_number(table, be_shown(survey, cell->summary.sd), decimals + 2);
  be_table_number(table, be_shown(survey, cell->summary.min), decimals + 1);
  be_table_number(table, be_shown(survey, cell->summary.mean), decimals + 1);
  be_table_text(table, "%s", letters);
  be_table_number(table, 100 * cell->efficiency.value, percent);
  be_table_interval(table, log.low, log.high, percent);
  be_table_interval(table, fieller.low, fieller.high, percent);
  be_table_number(table, cell->efficiency.df, 1);
  double plain = cell->plain.match ? cell->plain.estimate.value : NAN;
  be_table_number(table, be_shown(survey, plain), decimals + 1);
  be_table_number(table, cell->plain.match ? (double)cell->plain.estimate.n : NAN, 0);
  be_table_text(table, "%s", cell->n ? be_match_words(survey, cell) : "no event");
  be_table_text(table, "%s",
                cell->plain.match ? survey->line_names[cell->plain.line] : "no plain line");
  be_table_number(table, cell->plain.match ? 100 * cell->weaker_sure : NAN, 1);
  be_table_number(table, 100 * mean_of(cell) / be_label_of(survey, cell), 0);
  slip_cells(table, survey, cell);
  be_table_number(table, (double)cell->slipped_broke, 0);
  be_table_number(table, (double)cell->voids, 0);
}

/* A knot with nothing but lower bounds or voids. */
static void no_events(struct be_doc *doc, const struct survey *survey, const struct cell *cell)
{
  const char *knot = be_cell_name(survey, cell);
  if (cell->highest)
    be_doc_note(doc, "%s: only lower bounds, %zu pull%s; the highest held at least %.*f %s.", knot,
                cell->bounds, cell->bounds == 1 ? "" : "s", survey->decimals,
                be_shown(survey, cell->highest->load_N), survey->how.unit->name);
  else be_doc_note(doc, "%s: every pull is void.", knot);
}

static const char *sureness(const struct survey *survey, const struct cell *cell)
{
  if (isnan(cell->weaker_sure)) return "";
  const char *text = be_arena_format(survey->arena, " (%.0f %% sure)", 100 * cell->weaker_sure);
  return text ? text : "";
}

static void doubts_of_plain(struct be_doc *doc, const struct survey *survey,
                            const struct cell *cell)
{
  const char *knot = be_cell_name(survey, cell);
  if (cell->weaker_uncertain)
    be_doc_note(doc,
                "%s: which of the two lines is the weaker is not certain%s; divided by %s, the one "
                "that reads lower, so the efficiency reads high if anything.",
                knot, sureness(survey, cell), survey->line_names[cell->plain.line]);
  if (cell->plain.match && cell->plain.estimate.n < 3)
    be_doc_note(doc, "%s: only %zu plain pull%s behind the efficiency.", knot,
                cell->plain.estimate.n, cell->plain.estimate.n == 1 ? "" : "s");
  if (cell->efficiency.value > 1 && cell->efficiency.interval.low <= 1)
    be_doc_note(doc, "%s: not distinguishable from the line itself.", knot);
}

static void doubts(struct be_doc *doc, const struct survey *survey, const struct cell *cell)
{
  const char *knot = be_cell_name(survey, cell);
  if (cell->n == 0) {
    no_events(doc, survey, cell);
    return;
  }
  doubts_of_plain(doc, survey, cell);
  if (cell->n == 1) be_doc_note(doc, "%s: one event, which tells nothing of scatter.", knot);
  if (2 * cell->bounds >= cell->count - cell->voids)
    be_doc_note(doc, "%s: at least half of its pulls are lower bounds, so %s.", knot,
                cell->counted_in ? "its mean leans on the normal shape taken for the loads"
                                 : "it held at least this");
  if (cell->slips && cell->slips < cell->n)
    be_doc_note(doc, "%s: slipped out in %zu of %zu; when it held, mean %.*f %s, n = %zu.", knot,
                cell->slips, cell->told, survey->decimals + 1, be_shown(survey, cell->held.mean),
                survey->how.unit->name, cell->held.n);
  if (cell->slipped_broke)
    be_doc_note(doc, "%s: slipped, then broke in %zu of %zu.", knot, cell->slipped_broke,
                cell->told);
}

/* What 100 % is of a cell, or why there is none; null without events, or without memory. */
static const char *denominator_words(const struct survey *survey, const struct cell *cell)
{
  const struct denominator *plain = &cell->plain;
  if (!cell->n) return NULL;
  if (cell->other_missing)
    return "no efficiency, because only one of the two lines was pulled plain in this soak, and "
           "which is the weaker is not known";
  if (plain->match == MATCH_NONE) return "no efficiency: no plain line was pulled in this soak";
  struct be_interval interval = be_load_interval(&plain->estimate, survey->how.level);
  int decimals = survey->decimals + 1;
  return be_arena_format(survey->arena, "100 %% is %.*f %s%s: plain %s, n = %zu, %s", decimals,
                         be_shown(survey, plain->estimate.value), survey->how.unit->name,
                         be_interval_words(survey, be_shown(survey, interval.low),
                                           be_shown(survey, interval.high), decimals),
                         survey->line_names[plain->line], plain->estimate.n,
                         be_match_words(survey, cell));
}

/* Each denominator once, with the knots that are divided by it; of all alike no knot is named. */
static void say_denominators(struct be_doc *doc, const struct survey *survey,
                             const struct combination *where)
{
  const char **words = be_arena_alloc(survey->arena, where->cells_count * sizeof *words);
  size_t with = 0;
  for (size_t i = 0; words && i < where->cells_count; i++)
    with += (words[i] = denominator_words(survey, &survey->cells[where->first_cell + i])) != NULL;
  for (size_t i = 0; words && i < where->cells_count; i++) {
    const char *names = "", *said = words[i];
    size_t alike = 0;
    for (size_t k = i; said && names && k < where->cells_count; k++) {
      if (!words[k] || strcmp(words[k], said) != 0) continue;
      names = be_arena_format(survey->arena, "%s%s%s", names, alike++ ? "; " : "",
                              be_cell_name(survey, &survey->cells[where->first_cell + k]));
      words[k] = NULL;
    }
    if (!said || !names) continue;
    if (alike == with) be_doc_note(doc, "%c%s.", *said == 'n' ? 'N' : *said, said + 1);
    else be_doc_note(doc, "%s: %s.", names, said);
  }
}

void be_say_beneath(struct be_doc *doc, const struct survey *survey,
                    const struct combination *where)
{
  say_denominators(doc, survey, where);
  if (where->design == BE_DESIGN_TWO_SAME || where->design == BE_DESIGN_TWO_DIFFERENT)
    be_doc_note(doc, "Each specimen holds two knots, so each load is that of the weaker one: not "
                     "to be compared with single-knot specimens.");
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    doubts(doc, survey, &survey->cells[i]);
}

static bool has_events(const struct survey *survey, const struct combination *where)
{
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    if (survey->cells[i].n) return true;
  return false;
}

static enum be_status combination_section(struct be_doc *doc, const struct survey *survey,
                                          const struct combination *where, struct be_err *err)
{
  const struct be_column columns[] = {
      {"combination", "", BE_COLUMN_TEXT, true},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"mean", be_head(survey, "mean"), BE_COLUMN_NUMBER, false},
      {"mean", "", BE_COLUMN_INTERVAL, true},
      {"sd", "s", BE_COLUMN_NUMBER, false},
      {"min", "worst", BE_COLUMN_NUMBER, false},
      {"mean_of_events", "", BE_COLUMN_NUMBER, true},
      {"letters", "letters", BE_COLUMN_TEXT, false},
      {"efficiency_percent", "efficiency (%)", BE_COLUMN_NUMBER, false},
      {"efficiency_percent", "log-ratio", BE_COLUMN_INTERVAL, false},
      {"efficiency_fieller_percent", "Fieller", BE_COLUMN_INTERVAL, false},
      {"efficiency_df", "", BE_COLUMN_NUMBER, true},
      {"plain_mean", "", BE_COLUMN_NUMBER, true},
      {"plain_n", "", BE_COLUMN_NUMBER, true},
      {"plain_match", "", BE_COLUMN_TEXT, true},
      {"divided_by", "", BE_COLUMN_TEXT, true},
      {"divided_by_the_weaker_percent", "", BE_COLUMN_NUMBER, true},
      {"of_label_percent", "", BE_COLUMN_NUMBER, true},
      {"slipped_out", "slipped out", BE_COLUMN_COUNT, false},
      {"slipped_out_percent", "of those told (%)", BE_COLUMN_INTERVAL, false},
      {"slipped_out_wilson_percent", "", BE_COLUMN_INTERVAL, true},
      {"slipped_out_jeffreys_percent", "", BE_COLUMN_INTERVAL, true},
      {"slipped_then_broke", "slipped then broke", BE_COLUMN_NUMBER, true},
      {"voids", "void", BE_COLUMN_NUMBER, false},
  };
  const char **letters = be_arena_alloc(survey->arena, where->cells_count * sizeof *letters);
  if (!letters) return be_no_memory(err);
  enum be_status status = be_letters_of(survey, where, letters, err);
  if (status != BE_OK) return status;
  be_doc_heading(doc, "%s", where->name);
  struct be_table *table =
      be_doc_table(doc, "strengths", where->name, columns, sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < where->cells_count; i++)
    knot_row(table, survey, &survey->cells[where->first_cell + i], letters[i], survey->decimals);
  be_say_beneath(doc, survey, where);
  if (has_events(survey, where)) be_doc_figure(doc, be_figure_of_pulls(survey, where));
  return BE_OK;
}

/* ---- the parts, side by side ---- */

/* A part of the document has its own arena, so that no part waits for another. */
struct part {
  struct survey survey;
  const struct combination *where; /* or null, and: */
  enum be_status (*say)(struct be_doc *doc, const struct survey *survey, struct be_err *err);
  struct be_doc *doc;
  enum be_status status;
  struct be_err err;
};

static void write_part(void *parts, size_t i)
{
  struct part *part = (struct part *)parts + i;
  be_progress_at(i);
  part->survey.arena = be_arena_create();
  part->doc = part->survey.arena ? be_doc_create("part", "") : NULL;
  if (!part->doc) part->status = be_no_memory(&part->err);
  else if (part->where)
    part->status = combination_section(part->doc, &part->survey, part->where, &part->err);
  else part->status = part->say(part->doc, &part->survey, &part->err);
  if (part->status == BE_OK && be_arena_ran_out(part->survey.arena))
    part->status = be_no_memory(&part->err);
  be_arena_free(part->survey.arena);
}

/* The first part that failed speaks for all. */
static enum be_status join_parts(struct be_doc *doc, struct part *parts, size_t count,
                                 struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t i = 0; i < count; i++) {
    if (status == BE_OK && parts[i].status != BE_OK) {
      status = parts[i].status;
      if (err) *err = parts[i].err;
    }
    be_doc_join(doc, parts[i].doc);
  }
  return status;
}

static enum be_status write_parts(struct be_doc *doc, const struct survey *survey,
                                  struct be_err *err)
{
  typedef enum be_status say(struct be_doc *, const struct survey *, struct be_err *);
  static say *const sections[] = {be_say_beside, be_say_gain,    be_say_low,    be_say_families,
                                  be_say_causes, be_say_chains,  be_say_many,   be_say_spread,
                                  be_say_alarms, be_say_benches, be_say_budget, be_say_records};
  size_t sections_count = sizeof sections / sizeof sections[0], count = 0;
  struct part *parts = be_alloc_array(survey->combinations_count + sections_count, sizeof *parts);
  if (!parts) return be_no_memory(err);
  for (size_t i = 0; i < survey->combinations_count; i++)
    if (!be_is_plain(&survey->combinations[i]) && !survey->in_report)
      parts[count++] = (struct part){.survey = *survey, .where = &survey->combinations[i]};
  for (size_t i = 0; i < sections_count; i++)
    if (!survey->in_report || sections[i] != be_say_budget)
      parts[count++] = (struct part){.survey = *survey, .say = sections[i]};
  be_progress_step("working out the strengths", "parts", count);
  be_parallel(count, 0, write_part, parts);
  enum be_status status = join_parts(doc, parts, count, err);
  be_free(parts);
  return status;
}

enum be_status be_strength_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("strength", "Strength");
  if (!doc) return be_no_memory(err);
  answer(doc, survey);
  plain_table(doc, survey);
  enum be_status status = write_parts(doc, survey, err);
  if (status == BE_OK) status = be_say_departures(doc, survey, err);
  be_doc_fact(doc, "unit", "Unit of force", "%s", survey->how.unit->name);
  be_doc_fact(doc, "level", "Level of intervals", "%g", survey->how.level);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
  be_doc_fact(doc, "resamples", "Resamples", "%zu", survey->how.resamples);
  return be_answer_done(survey, doc, status, out, err);
}
