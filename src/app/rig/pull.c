/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a pull was measured by: its calibration, how sure a force is at that load, and its zeros. */
#include "app/rig/trust.h"

#include <math.h>

struct zeros {
  struct be_zero before, after;
};

/* As told, else as its trace shows them. */
static struct zeros zeros_of(const struct be_pull *pull)
{
  bool told = !isnan(pull->zero_before_N) || !isnan(pull->zero_after_N);
  return (struct zeros){
      .before = {1, told ? pull->zero_before_N : pull->trace_zero_N, NAN},
      .after = {1, told ? pull->zero_after_N : pull->trace_zero_N + pull->trace_drift_N, NAN}};
}

static void field(struct be_table *table, const char *name, const char *value)
{
  be_table_text(table, "%s", name);
  be_table_text(table, "%s", value ? value : "?");
}

static const char *force_words(const struct survey *survey, double force_N)
{
  return isnan(force_N) ? "not recorded"
                        : be_arena_format(survey->arena, "%.*f %s", survey->decimals + 2,
                                          be_shown(survey, force_N), survey->how.unit->name);
}

static void say_zeros(struct be_table *table, const struct survey *survey,
                      const struct zeros *zeros, const struct worked *worked)
{
  field(table, "zero before", force_words(survey, zeros->before.mean));
  field(table, "zero after", force_words(survey, zeros->after.mean));
  double full_N = worked ? worked->fit.most_N : NAN;
  struct be_zero_change change = be_zero_compare(&zeros->before, &zeros->after, full_N);
  if (isnan(change.change)) return;
  if (!worked) {
    field(table, "change of zero", force_words(survey, change.change));
    return;
  }
  field(table, "change of zero",
        be_arena_format(survey->arena, "%.*f %s, %.2f %% of the greatest load applied: %s",
                        survey->decimals + 2, be_shown(survey, change.change),
                        survey->how.unit->name, change.percent,
                        be_rig_class_words(change.force_class)));
}

static const char *range_words(const struct survey *survey, const struct worked *worked,
                               double load_N)
{
  if (worked->force_class == BE_FORCE_NO_CLASS)
    return be_arena_format(survey->arena, "none: %s", be_rig_unverified(worked));
  return be_arena_format(survey->arena, "%.*f to %.*f %s, %s: %s", survey->decimals,
                         be_shown(survey, worked->range.from_N), survey->decimals,
                         be_shown(survey, worked->range.to_N), survey->how.unit->name,
                         be_rig_class_words(worked->force_class),
                         isnan(load_N)                    ? "there is no load"
                         : be_rig_outside(worked, load_N) ? "the load is outside"
                                                          : "the load is inside");
}

static void say_due(struct be_doc *doc, struct be_table *table, const struct survey *survey,
                    const struct worked *worked, long day)
{
  char date[16];
  long left = 0;
  const struct be_calibration *is = &worked->kept->is;
  be_date_write(be_date_months_later(is->day, is->months), date);
  if (!be_calibration_due(is, day, &left)) {
    field(table, "due", "not told");
    return;
  }
  field(table, "due",
        be_arena_format(survey->arena, "%s, %ld days %s the pull", date, left < 0 ? -left : left,
                        left < 0 ? "before" : "after"));
  if (left < 0)
    be_doc_caution(doc, "The calibration was overdue by %ld day%s when this was pulled.", -left,
                   left == -1 ? "" : "s");
}

static void say_worked(struct be_doc *doc, struct be_table *table, const struct survey *survey,
                       const struct worked *worked, const struct be_pull *pull)
{
  char date[16];
  const struct be_calibration *is = &worked->kept->is;
  be_date_write(is->day, date);
  field(table, "calibration",
        be_arena_format(survey->arena, "%s%s", is->name,
                        pull->calibration_told ? "" : ", in force on its bench that day"));
  be_table_link(table, "/rig");
  field(table, "certificate", *is->certificate ? is->certificate : "not told");
  field(table, "calibrated on", date);
  say_due(doc, table, survey, worked, pull->day);
  field(table, "verified range", range_words(survey, worked, pull->load_N));
  if (isnan(pull->load_N)) return;
  struct be_force_budget budget = be_rig_budget(worked, pull->load_N);
  field(table, "uncertainty of the load",
        isnan(budget.expanded_N)
            ? "not known: one reading more is needed than the curve has terms"
            : be_arena_format(survey->arena, "%.*f %s, %.2f %% (k = %.2f, 95.45 %%)%s",
                              survey->decimals + 2, be_shown(survey, budget.expanded_N),
                              survey->how.unit->name, budget.expanded_percent,
                              budget.coverage_factor,
                              isnan(is->reference_percent) ? "; known loads left out" : ""));
  if (be_rig_outside(worked, pull->load_N))
    be_doc_caution(doc,
                   "The load is outside the verified range of the calibration: what is told of "
                   "its accuracy does not hold there.");
}

enum be_status be_say_calibration(struct be_doc *doc, const struct survey *survey,
                                  const struct be_pull *pull, struct be_err *err)
{
  static const struct be_column columns[] = {
      {"field", "measured by", BE_COLUMN_TEXT, false},
      {"value", "", BE_COLUMN_TEXT, false},
  };
  struct worked *worked = NULL;
  size_t unknown = 0;
  struct zeros zeros = zeros_of(pull);
  bool zeroed = !isnan(zeros.before.mean) || !isnan(zeros.after.mean);
  bool any = survey->record.calibrations_count > 0 || pull->calibration_told;
  if (!any && !zeroed) return BE_OK;
  enum be_status status = be_rig_work_out(survey, &worked, &unknown, err);
  if (status != BE_OK) return status;
  const struct worked *by = pull->calibration == BE_NO_INDEX ? NULL : &worked[pull->calibration];
  struct be_table *table = be_doc_table(doc, "measured", "What it was measured by", columns, 2);
  if (by) say_worked(doc, table, survey, by, pull);
  else if (pull->calibration_told)
    field(
        table, "calibration",
        be_arena_format(survey->arena, "%s, which the book does not have", pull->calibration_told));
  else if (any) field(table, "calibration", "none was in force on its bench that day");
  say_zeros(table, survey, &zeros, by);
  return BE_OK;
}
