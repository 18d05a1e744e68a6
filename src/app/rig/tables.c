/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of the rig. */
#include "app/rig/trust.h"

#include <math.h>

void be_say_steps(struct be_doc *doc, const struct survey *survey, const struct worked *worked)
{
  const struct be_column columns[] = {
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"rising_n", "n rising", BE_COLUMN_NUMBER, false},
      {"falling_n", "n falling", BE_COLUMN_NUMBER, false},
      {"indicated", be_head(survey, "indicated"), BE_COLUMN_NUMBER, false},
      {"accuracy_percent", "accuracy (%)", BE_COLUMN_NUMBER, false},
      {"repeatability_percent", "repeatability (%)", BE_COLUMN_NUMBER, false},
      {"reversibility_percent", "reversibility (%)", BE_COLUMN_NUMBER, false},
      {"resolution_percent", "resolution (%)", BE_COLUMN_NUMBER, false},
      {"class", "keeps", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = be_doc_table(doc, "calibration_steps", "Load by load", columns,
                                        sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < worked->steps_count; i++) {
    const struct be_force_step *step = &worked->steps[i];
    be_table_number(table, be_shown(survey, step->load_N), survey->decimals);
    be_table_number(table, (double)step->rising, 0);
    be_table_number(table, (double)step->falling, 0);
    be_table_number(table, be_shown(survey, step->indicated_N), survey->decimals + 1);
    be_table_number(table, step->accuracy_percent, 2);
    be_table_number(table, step->repeatability_percent, 2);
    be_table_number(table, step->reversibility_percent, 2);
    be_table_number(table, step->resolution_percent, 2);
    be_table_text(table, "%s", be_rig_class_words(step->force_class));
  }
  be_doc_note(doc,
              "Accuracy: mean of the rising readings, less the load. Repeatability: the highest "
              "less the lowest of them. Reversibility: falling less rising. Per cent of the "
              "load. Classes and their limits are informed by ISO 7500-1; what was not tried "
              "(a dash) does not speak against a class.");
}

void be_say_readings(struct be_doc *doc, const struct survey *survey, const struct worked *worked)
{
  const struct be_column columns[] = {
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"direction", "direction", BE_COLUMN_TEXT, false},
      {"reading", "reading", BE_COLUMN_NUMBER, false},
      {"residual", "residual", BE_COLUMN_NUMBER, false},
      {"error", be_head(survey, "error"), BE_COLUMN_NUMBER, false},
  };
  const struct be_calibration *is = &worked->kept->is;
  struct be_table *table =
      be_doc_table(doc, "calibration_readings", "Reading by reading", columns, 5);
  for (size_t i = 0; i < is->points_count; i++) {
    const struct be_calibration_point *point = &is->points[i];
    be_table_number(table, be_shown(survey, point->load_N), survey->decimals);
    be_table_text(table, "%s", point->falling ? "falling" : "rising");
    be_table_number(table, point->reading, 4);
    be_table_number(table, be_calibration_residual(&worked->fit, point), 4);
    be_table_number(
        table, be_shown(survey, be_calibration_load(&worked->fit, point->reading) - point->load_N),
        survey->decimals + 2);
  }
  be_table_fold(table);
  const double *power = worked->fit.power;
  const char *bent =
      is->curve == BE_CURVE_BENT ? be_arena_format(survey->arena, " + %.4g F^2", power[2]) : "";
  be_doc_note(doc,
              "The curve: reading%s%s = %.6g + %.6g F%s, F the force in N; standard deviation of a "
              "reading %.3g (df %zu). Error: the force of the reading, less the load.",
              *is->unit ? " in " : "", is->unit, power[0], power[1], bent ? bent : "?",
              worked->fit.residual_sd, worked->fit.df);
}

void be_say_uncertainty(struct be_doc *doc, const struct survey *survey,
                        const struct worked *worked)
{
  const struct be_column columns[] = {
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"u_fit", be_head(survey, "u: curve"), BE_COLUMN_NUMBER, false},
      {"u_reference", "known loads", BE_COLUMN_NUMBER, false},
      {"u_resolution", "resolution", BE_COLUMN_NUMBER, false},
      {"u_combined", "combined", BE_COLUMN_NUMBER, false},
      {"coverage_factor", "k", BE_COLUMN_NUMBER, false},
      {"expanded", be_head(survey, "U"), BE_COLUMN_NUMBER, false},
      {"expanded_percent", "U (%)", BE_COLUMN_NUMBER, false},
  };
  enum { LOADS = 5 };
  const struct be_calibration *is = &worked->kept->is;
  struct be_table *table =
      be_doc_table(doc, "force_uncertainty", "Uncertainty of a force, at a few loads", columns, 8);
  for (int i = 1; i <= LOADS; i++) {
    struct be_force_budget budget = be_rig_budget(worked, worked->fit.most_N * i / LOADS);
    int decimals = survey->decimals + 2;
    be_table_number(table, be_shown(survey, budget.load_N), survey->decimals);
    be_table_number(table, be_shown(survey, budget.fit_N), decimals);
    be_table_number(table, be_shown(survey, budget.reference_N), decimals);
    be_table_number(table, be_shown(survey, budget.resolution_N), decimals);
    be_table_number(table, be_shown(survey, budget.combined_N), decimals);
    be_table_number(table, budget.coverage_factor, 2);
    be_table_number(table, be_shown(survey, budget.expanded_N), decimals);
    be_table_number(table, budget.expanded_percent, 2);
  }
  be_doc_note(doc,
              "u are standard uncertainties of one reading; U is k times the combined one, at "
              "95.45 %%.%s%s",
              isnan(is->reference_percent) ? " The uncertainty of the known loads is not told, and "
                                             "left out: U is too small."
                                           : "",
              isnan(is->resolution_N) ? " The resolution is not told, and left out." : "");
}

/* ---- the log ---- */

static void log_row(struct be_table *table, const struct survey *survey,
                    const struct be_check_weight *weight, const struct worked *by, const char *mark)
{
  double force_N = be_rig_indicated(by, weight);
  be_table_text(table, "%s", weight->date);
  be_table_number(table, be_shown(survey, weight->weight_N), survey->decimals + 1);
  be_table_text(table, "%.6g%s%s", weight->reading, weight->unit ? " " : "",
                weight->unit ? weight->unit : "");
  be_table_number(table, be_shown(survey, force_N), survey->decimals + 1);
  be_table_number(table, 100 * (force_N - weight->weight_N) / weight->weight_N, 2);
  be_table_text(table, "%s", mark ? mark : "not charted");
  be_table_text(table, "%s", by ? by->kept->is.name : "none");
  be_table_text(table, "%s%s%s", weight->session ? weight->session : "",
                weight->session && weight->note ? "; " : "", weight->note ? weight->note : "");
}

enum be_status be_say_log(struct be_doc *doc, const struct survey *survey,
                          const struct worked *worked, int bench, const struct checks *checks,
                          size_t count, struct be_err *err)
{
  const struct be_column columns[] = {
      {"date", "date", BE_COLUMN_TEXT, false},
      {"weight", be_head(survey, "weight"), BE_COLUMN_NUMBER, false},
      {"reading", "reading", BE_COLUMN_TEXT, false},
      {"force", be_head(survey, "force"), BE_COLUMN_NUMBER, false},
      {"error_percent", "error (%)", BE_COLUMN_NUMBER, false},
      {"mark", "in the chart", BE_COLUMN_TEXT, false},
      {"calibration", "calibration", BE_COLUMN_TEXT, false},
      {"note", "session, note", BE_COLUMN_TEXT, false},
  };
  const struct be_record *record = &survey->record;
  const char **marks = be_arena_alloc(survey->arena, record->weights_count * sizeof *marks);
  if (!marks) return be_no_memory(err);
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; checks[i].charted && k < checks[i].n; k++)
      marks[checks[i].list[k] - record->weights] = be_chart_mark_words(checks[i].marks[k]);
  struct be_table *table = be_doc_table(doc, "check_weights", "Check weights, the last one first",
                                        columns, sizeof columns / sizeof columns[0]);
  for (size_t i = record->weights_count; i-- > 0;) {
    const struct be_check_weight *weight = &record->weights[i];
    if (weight->bench == bench)
      log_row(table, survey, weight,
              weight->calibration == BE_NO_INDEX ? NULL : &worked[weight->calibration], marks[i]);
  }
  be_table_fold_long(table);
  return BE_OK;
}

/* ---- all calibrations ---- */

static void date_cell(struct be_table *table, bool known, long day)
{
  char date[16];
  be_date_write(day, date);
  be_table_text(table, "%s", known ? date : "not told");
}

static void calibration_row(struct be_table *table, const struct survey *survey,
                            const struct worked *worked)
{
  const struct be_calibration *is = &worked->kept->is;
  int bench = worked->kept->bench;
  be_table_text(table, "%s", bench < 0 ? "not recorded" : survey->record.benches[bench].name);
  be_table_text(table, "%s", is->name);
  be_table_text(table, "%s", *is->certificate ? is->certificate : "not told");
  date_cell(table, is->dated, is->day);
  date_cell(table, is->months > 0, be_date_months_later(is->day, is->months));
  be_table_number(table, (double)is->points_count, 0);
  be_table_text(table, "%s", be_rig_class_words(worked->force_class));
  be_table_interval(table, be_shown(survey, worked->range.from_N),
                    be_shown(survey, worked->range.to_N), survey->decimals + 1);
  be_table_number(table, (double)worked->pulls, 0);
  be_table_number(table, (double)worked->outside, 0);
  be_table_number(table, (double)worked->overdue, 0);
}

void be_say_calibrations(struct be_doc *doc, const struct survey *survey,
                         const struct worked *worked, size_t unknown)
{
  const struct be_column columns[] = {
      {"bench", "bench", BE_COLUMN_TEXT, false},
      {"calibration", "calibration", BE_COLUMN_TEXT, false},
      {"certificate", "certificate", BE_COLUMN_TEXT, false},
      {"date", "date", BE_COLUMN_TEXT, false},
      {"due", "due", BE_COLUMN_TEXT, false},
      {"readings", "readings", BE_COLUMN_NUMBER, true},
      {"class", "class", BE_COLUMN_TEXT, false},
      {"verified", be_head(survey, "verified range"), BE_COLUMN_INTERVAL, false},
      {"pulls", "pulls", BE_COLUMN_NUMBER, false},
      {"outside", "outside the range", BE_COLUMN_NUMBER, false},
      {"overdue", "overdue", BE_COLUMN_NUMBER, false},
  };
  size_t count = survey->record.calibrations_count;
  struct be_table *table = be_doc_table(doc, "calibrations", "All calibrations, and their pulls",
                                        columns, sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < count; i++) calibration_row(table, survey, &worked[i]);
  if (!unknown) return;
  be_table_text(table, "-");
  be_table_text(table, "not known");
  for (int i = 0; i < 3; i++) be_table_none(table);
  be_table_none(table);
  be_table_none(table);
  be_table_none(table);
  be_table_number(table, (double)unknown, 0);
  be_table_none(table);
  be_table_none(table);
}

/* ---- pulls that their calibration says too little of ---- */

static const char *doubt_of(const struct worked *by, const struct be_pull *pull)
{
  long left = 0;
  bool outside = isfinite(pull->load_N) && be_rig_outside(by, pull->load_N);
  bool overdue = be_calibration_due(&by->kept->is, pull->day, &left) && left < 0;
  return outside && overdue ? "outside the verified range, overdue"
         : outside          ? "outside the verified range"
         : overdue          ? "overdue"
                            : NULL;
}

void be_say_doubtful(struct be_doc *doc, const struct survey *survey, const struct worked *worked)
{
  enum { MOST = 200 };
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"calibration", "calibration", BE_COLUMN_TEXT, false},
      {"why", "why", BE_COLUMN_TEXT, false},
  };
  struct be_table *table =
      be_doc_table(doc, "doubtful_pulls", "Pulls outside the range or too late", columns, 4);
  size_t shown = 0;
  for (size_t i = 0; i < survey->record.pulls_count && shown < MOST; i++) {
    const struct be_pull *pull = &survey->record.pulls[i];
    const struct worked *by = pull->calibration == BE_NO_INDEX ? NULL : &worked[pull->calibration];
    const char *why = by ? doubt_of(by, pull) : NULL;
    if (!why) continue;
    shown++;
    be_table_text(table, "%s", pull->code);
    be_table_link(table, "/pull/%lld", (long long)pull->id);
    be_table_number(table, be_shown(survey, pull->load_N), survey->decimals + 1);
    be_table_text(table, "%s", by->kept->is.name);
    be_table_text(table, "%s", why);
  }
  be_table_fold_long(table);
  if (shown == MOST) be_doc_note(doc, "These are the first %d.", MOST);
}
