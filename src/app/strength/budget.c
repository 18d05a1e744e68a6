/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the doubt about a mean load comes from: scatter of the pulls, and what the bench cannot
 * know about its own reading (GUM). */
#include "app/strength/strength.h"

#include <math.h>

enum source { SAMPLING, CALIBRATION, RESOLUTION, DRIFT, MISSED, SOURCES };

static bool has(const struct cell *cell)
{
  return cell->n >= 2 && cell->load.variance > 0;
}

/* What is larger is taken where a cell was pulled on several benches; not-a-number when no
 * bench or trace tells. Without a bench sheet the resolution is the step of the typed loads, in
 * the unit shown. */
struct doubts {
  double calibration, resolution, drift, missed;
};

static struct doubts find_doubts(const struct survey *survey, const struct cell *cell,
                                 double step_N)
{
  struct doubts worst = {NAN, NAN, NAN, NAN};
  for (size_t i = 0; i < cell->n; i++) {
    const struct be_pull *pull = cell->events[i];
    worst.missed = fmax(worst.missed, pull->trace_missed_N / cell->load.value);
    worst.drift = fmax(worst.drift, fabs(pull->trace_drift_N));
    if (pull->bench < 0) continue;
    const struct be_bench *bench = &survey->record.benches[pull->bench];
    worst.calibration = fmax(worst.calibration, bench->calibration);
    worst.resolution = fmax(worst.resolution, bench->resolution_N);
    worst.drift = fmax(worst.drift, bench->drift_N);
    worst.missed = fmax(worst.missed, bench->missed);
  }
  if (isnan(worst.resolution)) worst.resolution = step_N;
  return worst;
}

/* A certificate's uncertainty is expanded by two; a zero that wandered and a peak that was
 * missed are known by their ends alone. */
static void list_sources(const struct cell *cell, const struct doubts *doubts,
                         struct be_source_of_doubt *sources)
{
  double mean = cell->load.value;
  const struct be_source_of_doubt list[SOURCES] = {
      [SAMPLING] = {"sampling", sqrt(cell->load.variance), BE_SPREAD_NORMAL, 1, cell->load.df},
      [CALIBRATION] = {"calibration", doubts->calibration / 2 * mean, BE_SPREAD_NORMAL, 1,
                       INFINITY},
      [RESOLUTION] = {"resolution", doubts->resolution, BE_SPREAD_STEP, 1, INFINITY},
      [DRIFT] = {"drift", doubts->drift, BE_SPREAD_RECTANGULAR, 1, INFINITY},
      [MISSED] = {"peak missed", doubts->missed * mean, BE_SPREAD_RECTANGULAR, 1, INFINITY},
  };
  for (int i = 0; i < SOURCES; i++) sources[i] = list[i];
}

static enum be_status row(struct be_table *table, const struct survey *survey,
                          const struct cell *cell, const void *step_N, struct be_err *err)
{
  (void)err;
  struct be_source_of_doubt sources[SOURCES], known[SOURCES];
  double deviations[SOURCES], shares[SOURCES], shown[SOURCES];
  struct be_budget budget;
  struct doubts doubts = find_doubts(survey, cell, *(const double *)step_N);
  size_t count = 0;
  list_sources(cell, &doubts, sources);
  for (int i = 0; i < SOURCES; i++)
    if (!isnan(sources[i].half)) known[count++] = sources[i];
  be_budget_of(known, count, survey->how.level, &budget, deviations, shares);
  count = 0;
  for (int i = 0; i < SOURCES; i++) shown[i] = isnan(sources[i].half) ? NAN : shares[count++];
  int decimals = survey->decimals + 1;
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, be_shown(survey, cell->load.value), decimals);
  for (int i = 0; i < SOURCES; i++) {
    double u = isnan(shown[i]) ? NAN : budget.combined * sqrt(shown[i]);
    be_table_number(table, be_shown(survey, u), decimals + 1);
  }
  for (int i = 0; i < SOURCES; i++) be_table_number(table, 100 * shown[i], 1);
  be_table_number(table, be_shown(survey, budget.combined), decimals + 1);
  be_table_number(table, budget.df, 1);
  be_table_number(table, budget.coverage, 2);
  be_table_number(table, be_shown(survey, budget.expanded), decimals);
  be_table_number(table, 100 * budget.expanded / cell->load.value, 1);
  return BE_OK;
}

static void say_missing(struct be_doc *doc, const struct survey *survey, double step_N)
{
  bool missing[SOURCES] = {false};
  for (size_t i = 0; i < survey->cells_count; i++) {
    if (!has(&survey->cells[i])) continue;
    struct doubts doubts = find_doubts(survey, &survey->cells[i], step_N);
    missing[CALIBRATION] |= isnan(doubts.calibration);
    missing[RESOLUTION] |= isnan(doubts.resolution);
    missing[DRIFT] |= isnan(doubts.drift);
    missing[MISSED] |= isnan(doubts.missed);
  }
  static const char *const names[SOURCES] = {"", "calibration", "resolution", "drift",
                                             "peak missed"};
  const char *list = "";
  for (int i = CALIBRATION; i < SOURCES && list; i++)
    if (missing[i])
      list = be_arena_format(survey->arena, "%s%s%s", list, *list ? ", " : "", names[i]);
  if (list && *list)
    be_doc_note(doc,
                "Not recorded for some, so that their budget is too small: %s. A bench sheet tells "
                "them.",
                list);
}

enum be_status be_say_budget(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  const struct be_column columns[] = {
      SECTION_COLUMNS,
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"mean", be_head(survey, "mean"), BE_COLUMN_NUMBER, false},
      {"u_sampling", "u: sampling", BE_COLUMN_NUMBER, false},
      {"u_calibration", "calibration", BE_COLUMN_NUMBER, false},
      {"u_resolution", "resolution", BE_COLUMN_NUMBER, false},
      {"u_drift", "drift", BE_COLUMN_NUMBER, false},
      {"u_peak_missed", "peak missed", BE_COLUMN_NUMBER, false},
      {"share_sampling_percent", "", BE_COLUMN_NUMBER, true},
      {"share_calibration_percent", "", BE_COLUMN_NUMBER, true},
      {"share_resolution_percent", "", BE_COLUMN_NUMBER, true},
      {"share_drift_percent", "", BE_COLUMN_NUMBER, true},
      {"share_peak_missed_percent", "", BE_COLUMN_NUMBER, true},
      {"u_combined", "combined", BE_COLUMN_NUMBER, false},
      {"df", "df", BE_COLUMN_NUMBER, false},
      {"coverage_factor", "k", BE_COLUMN_NUMBER, false},
      {"expanded", "U", BE_COLUMN_NUMBER, false},
      {"expanded_percent", "U (%)", BE_COLUMN_NUMBER, false},
  };
  double low, high, step_N = be_reading_step(survey, &low, &high) * survey->how.unit->factor;
  const struct section section = {.heading = "Where the doubt comes from",
                                  .name = "budget",
                                  .title = "Uncertainty of each mean load, source by source",
                                  .columns = columns,
                                  .columns_count = sizeof columns / sizeof columns[0],
                                  .has = has,
                                  .row = row,
                                  .context = &step_N};
  bool any = false;
  enum be_status status = be_say_section(doc, survey, &section, &any, err);
  if (!any) return status;
  be_doc_note(doc,
              "u are standard uncertainties; U is k times the combined one, at %g %%. In an "
              "efficiency the calibration of one bench cancels, since line and knot were read with "
              "the same error; in a load it does not. A missed peak only lowers a load; it is "
              "taken as lying either way.",
              100 * survey->how.level);
  say_missing(doc, survey, step_N);
  return status;
}
