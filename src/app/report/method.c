/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How it was done, as far as the record says, and what it does not say. */
#include "app/plan/plan.h"
#include "app/report/recorded.h"
#include "app/report/report.h"

#include <math.h>
#include <string.h>

static const char *or_untold(const char *text)
{
  return text ? text : "not recorded";
}

/* ---- what was pulled ---- */

static void say_lines(struct be_doc *doc, const struct survey *survey)
{
  static const struct be_column columns[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"spool", "spool", BE_COLUMN_TEXT, false},
      {"material", "material", BE_COLUMN_TEXT, false},
      {"label", "label", BE_COLUMN_TEXT, false},
      {"diameter_mm", "diameter (mm)", BE_COLUMN_NUMBER, false},
      {"size", "size", BE_COLUMN_TEXT, false},
      {"lot", "lot", BE_COLUMN_TEXT, false},
      {"construction", "construction", BE_COLUMN_TEXT, false},
      {"source", "from", BE_COLUMN_TEXT, false},
      {"opened", "opened", BE_COLUMN_TEXT, false},
      {"plain_pulls", "plain pulls", BE_COLUMN_NUMBER, false},
      {"pulls", "pulls of knots", BE_COLUMN_NUMBER, false},
  };
  const struct be_record *record = &survey->record;
  if (!record->lines_count) return;
  be_doc_heading(doc, "Lines");
  struct be_table *table = be_doc_table(doc, "lines", "Lines", columns, 12);
  for (size_t i = 0; i < record->lines_count; i++) {
    const struct be_line *line = &record->lines[i];
    size_t plain = 0, knots = 0;
    for (size_t p = 0; p < record->pulls_count; p++) {
      const struct be_pull *pull = &record->pulls[p];
      bool of_it = pull->line_a == (int)i || pull->line_b == (int)i;
      plain += of_it && pull->design == BE_DESIGN_PLAIN;
      knots += of_it && pull->design != BE_DESIGN_PLAIN;
    }
    be_table_text(table, "%s", or_untold(line->name));
    be_table_text(table, "%s", or_untold(line->spool));
    be_table_text(table, "%s", or_untold(line->material));
    be_table_text(table, "%s", or_untold(line->label));
    if (isnan(line->diameter_m)) be_table_text(table, "not recorded");
    else be_table_number(table, line->diameter_m * 1e3, 3);
    be_table_text(table, "%s", or_untold(line->size));
    be_table_text(table, "%s", or_untold(line->lot));
    be_table_text(table, "%s", or_untold(line->construction));
    be_table_text(table, "%s", or_untold(line->source));
    be_table_text(table, "%s", or_untold(line->opened));
    be_table_number(table, (double)plain, 0);
    be_table_number(table, (double)knots, 0);
  }
}

static void say_knots(struct be_doc *doc, const struct survey *survey)
{
  static const struct be_column columns[] = {
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"version", "version", BE_COLUMN_TEXT, false},
      {"kind", "kind", BE_COLUMN_TEXT, false},
      {"turns", "turns", BE_COLUMN_NUMBER, false},
      {"doubled", "doubled line", BE_COLUMN_TEXT, false},
      {"aliases", "also called", BE_COLUMN_TEXT, false},
      {"tie_s", "time to tie (s)", BE_COLUMN_NUMBER, false},
      {"passes_guides", "passes guides", BE_COLUMN_TEXT, false},
      {"tie", "how it runs", BE_COLUMN_TEXT, false},
      {"picture", "picture", BE_COLUMN_TEXT, false},
  };
  const struct be_record *record = &survey->record;
  if (!record->knots_count) return;
  be_doc_heading(doc, "Knots");
  struct be_table *table = be_doc_table(doc, "knots", "Knots", columns, 10);
  for (size_t i = 0; i < record->knots_count; i++) {
    const struct be_knot *knot = &record->knots[i];
    be_table_text(table, "%s", or_untold(knot->name));
    be_table_text(table, "%s", or_untold(knot->version));
    be_table_text(table, "%s", or_untold(knot->kind));
    if (isnan(knot->turns)) be_table_text(table, "not recorded");
    else be_table_number(table, knot->turns, knot->turns == floor(knot->turns) ? 0 : 1);
    be_table_text(table, "%s", or_untold(knot->doubled));
    be_table_text(table, "%s", or_untold(knot->aliases));
    if (isnan(knot->tie_s)) be_table_text(table, "not recorded");
    else be_table_number(table, knot->tie_s, 0);
    be_table_text(table, "%s", or_untold(knot->guides));
    be_table_text(table, "%s", or_untold(knot->tie));
    be_table_text(table, "%s", knot->picture ? "in the book" : "not recorded");
  }
}

/* ---- how it was pulled ---- */

/* Fields that were recorded wherever they could be, of all that could be. */
struct complete {
  size_t every, of_every; /* fields that every pull has */
  size_t some, of_some;   /* fields that pulls of a kind alone have, such as a soak time */
};

static void count_complete(const struct be_told *told, struct complete *complete)
{
  *(told->every ? &complete->of_every : &complete->of_some) += 1;
  *(told->every ? &complete->every : &complete->some) += told->k == told->n;
}

static enum be_status say_recorded(struct be_doc *doc, const struct survey *survey,
                                   struct complete *complete, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"field", "what", BE_COLUMN_TEXT, false},
      {"recorded", "recorded", BE_COLUMN_COUNT, false},
      {"not_recorded", "not recorded", BE_COLUMN_NUMBER, false},
      {"values", "as recorded (pulls)", BE_COLUMN_TEXT, false},
  };
  be_doc_heading(doc, "What was recorded of each pull");
  struct be_table *table = be_doc_table(doc, "recorded", "Field by field", columns, 4);
  for (int field = 0; field < BE_TELLS_OF_PULLS; field++) {
    struct be_told told;
    enum be_status status = be_told_of(survey, (enum be_telling)field, &told, err);
    if (status != BE_OK) return status;
    if (!told.n) continue;
    count_complete(&told, complete);
    if (told.every) be_table_text(table, "%s", told.name);
    else be_table_text(table, "%s (%s)", told.name, told.of_all);
    be_table_count(table, told.k, told.n);
    be_table_number(table, (double)(told.n - told.k), 0);
    be_table_text(table, "%s", told.k ? told.values : "not recorded");
  }
  return BE_OK;
}

/* How the pulls of one combination differ in what the plain line is not matched by. */
struct apart {
  const struct combination *where;
  const struct be_handled *low, *high; /* temperatures; null: none is told */
  bool gripped;                        /* in more than one way */
};

static double warmth(const struct be_handled *of)
{
  return of ? of[BE_HANDLED_TEMPERATURE].number : NAN;
}

static struct apart apart_in(const struct survey *survey, const struct combination *where)
{
  struct apart apart = {.where = where};
  const char *grips = NULL;
  for (size_t i = 0; i < where->cells_count; i++) {
    const struct cell *cell = &survey->cells[where->first_cell + i];
    for (size_t p = 0; p < cell->count; p++) {
      const struct be_handled *of = cell->pulls[p]->handling;
      const char *text = of[BE_HANDLED_GRIPS].text;
      apart.gripped |= text && grips && !be_text_same(text, grips);
      if (text) grips = text;
      if (isnan(warmth(of))) continue;
      if (!(warmth(apart.low) <= warmth(of))) apart.low = of;
      if (!(warmth(apart.high) >= warmth(of))) apart.high = of;
    }
  }
  return apart;
}

static void say_apart(struct be_doc *doc, const struct survey *survey)
{
  struct apart widest = {0};
  size_t gripped = 0, plain = 0;
  for (size_t i = 0; i < survey->combinations_count; i++) {
    plain += be_is_plain(&survey->combinations[i]);
    struct apart apart = apart_in(survey, &survey->combinations[i]);
    double by = warmth(apart.high) - warmth(apart.low);
    gripped += apart.gripped;
    if (by > 0 && !(warmth(widest.high) - warmth(widest.low) >= by)) widest = apart;
  }
  if (widest.where)
    be_doc_sentence(doc,
                    "Temperatures differ most within %s: from %s to %s. The plain line is not "
                    "matched by temperature.",
                    widest.where->name,
                    be_handled_words(survey, widest.low, BE_HANDLED_TEMPERATURE),
                    be_handled_words(survey, widest.high, BE_HANDLED_TEMPERATURE));
  if (gripped)
    be_doc_sentence(doc,
                    "In %zu of %zu combinations (%zu of knots, %zu of plain line) the ends were "
                    "gripped in more than one way, and the plain line is not matched by grips.",
                    gripped, survey->combinations_count, survey->combinations_count - plain, plain);
}

static enum be_status say_untold(struct be_doc *doc, const struct survey *survey,
                                 struct be_err *err)
{
  static const struct be_column columns[] = {
      {"not_recorded", "not recorded", BE_COLUMN_TEXT, false},
      {"why_it_matters", "why it matters", BE_COLUMN_TEXT, false},
  };
  be_doc_heading(doc, "What was not recorded of any");
  struct be_table *table =
      be_doc_table(doc, "never_recorded", "Not recorded, and why it matters", columns, 2);
  struct be_untold *list;
  size_t count;
  enum be_status status = be_untold_of(survey, &list, &count, err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    be_table_text(table, "%s", list[i].what);
    be_table_text(table, "%s", list[i].why);
  }
  be_doc_note(doc, "A note of a pull may tell of these; notes are not read here.");
  return status;
}

/* ---- what was fixed beforehand ---- */

static void say_trials(struct be_doc *doc, const struct survey *survey)
{
  size_t planned = 0, trials = survey->record.trials_count;
  for (size_t i = 0; i < survey->record.pulls_count; i++)
    planned += survey->record.pulls[i].trial >= 0;
  be_doc_heading(doc, "What was fixed beforehand");
  if (!trials) {
    be_doc_sentence(doc, "No trial was planned: how many to pull, in which order, what is void and "
                         "when to stop was not fixed beforehand, as far as the record says.");
    return;
  }
  be_doc_sentence(doc, "%zu of %zu pulls are of %zu trial%s whose rules were fixed before.",
                  planned, survey->record.pulls_count, trials, trials == 1 ? "" : "s");
  for (size_t i = 0; i < trials; i++) {
    const struct be_trial *trial = &survey->record.trials[i];
    struct plan_progress progress = be_progress_of(survey, trial);
    be_doc_sentence(
        doc, "Trial %s, fixed %s: %zu specimens planned, %zu pulled, %zu of these void.",
        trial->name, or_untold(trial->fixed_at), progress.planned, progress.pulled, progress.voids);
    be_say_rules(doc, survey, trial);
  }
}

/* ---- how figures are made of it ---- */

static void say_figures(struct be_doc *doc, const struct survey *survey)
{
  be_doc_heading(doc, "How the figures are made");
  be_doc_sentence(
      doc,
      "A pull is an event (its load is what the specimen held), a lower bound (it held at least "
      "this: it was stopped, or parted at a grip, at hardware or clear of the knot) or void. Lower "
      "bounds are counted in means for what they held, where the events suffice to tell how.");
  be_doc_sentence(
      doc,
      "Efficiency is the mean load of a knot over that of the weaker of its lines, each pull "
      "divided by plain pulls of its own soak, and of its own spool, speed, bench and free length "
      "where there are any (beneath each table stands which of these were recorded); never by the "
      "label. Intervals are at %g %%, of the scatter of pulls alone (what the rig adds is in the "
      "uncertainty budget): of a load by t, of an efficiency by the logarithm of the ratio. Knots "
      "are compared by shares "
      "of the line or by load, so that a plain line that both were divided by cancels; Welch's "
      "test, adjusted by Holm over each table. Resampling: %zu drawings, seed %llu.",
      100 * survey->how.level, survey->how.resamples, (unsigned long long)survey->how.seed);
  be_doc_sentence(doc, "Informed by standards for textiles, ropes and force gauges; no standard "
                       "exists for an angler's knot, so none is claimed.");
}

enum be_status be_method_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct complete complete = {0};
  const struct be_record *record = &survey->record;
  struct be_doc *doc = be_doc_create("method", "How it was done");
  if (!doc) return be_no_memory(err);
  be_doc_sentence(doc,
                  "What the record says of how it was done, and what it does not say; pulls: %zu, "
                  "knots: %zu, spools of line: %zu, benches: %zu.",
                  record->pulls_count, record->knots_count, record->lines_count,
                  record->benches_count);
  enum be_status status = BE_OK;
  if (record->pulls_count) status = say_recorded(doc, survey, &complete, err);
  if (record->pulls_count) say_apart(doc, survey);
  if (status == BE_OK) status = say_untold(doc, survey, err);
  say_lines(doc, survey);
  say_knots(doc, survey);
  say_trials(doc, survey);
  say_figures(doc, survey);
  if (complete.of_every)
    be_doc_fact(doc, "complete", "Fields of every pull, recorded of all", "%zu of %zu",
                complete.every, complete.of_every);
  if (complete.of_some)
    be_doc_fact(doc, "complete_of_kinds", "Fields of some kinds of pulls, recorded of all of these",
                "%zu of %zu", complete.some, complete.of_some);
  return be_answer_done(survey, doc, status, out, err);
}
