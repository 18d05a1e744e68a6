/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/rig/trust.h"

#include <math.h>

long be_rig_today(void)
{
  char now[32];
  long day = 0;
  be_now(now);
  be_date_read(now, 10, &day, NULL);
  return day;
}

const char *be_rig_class_words(size_t force_class)
{
  static const char *const words[] = {"class 0.5", "class 1", "class 2", "class 3", "no class"};
  return words[force_class];
}

/* The class of which the most steps in a row keep the limits; of several such classes the best. One
 * load is no range, and a curve through all of its readings shows no error of any. */
static void find_class(struct worked *worked)
{
  worked->force_class = BE_FORCE_NO_CLASS;
  worked->range = (struct be_force_range){NAN, NAN, 0};
  if (worked->fit.df == 0) return;
  for (size_t class = 0; class < BE_FORCE_CLASSES; class ++) {
    struct be_force_range range = be_force_verified(worked->steps, worked->steps_count, class);
    if (range.steps < 2 || range.steps <= worked->range.steps) continue;
    worked->range = range;
    worked->force_class = class;
  }
}

static enum be_status work_out(const struct survey *survey, const struct be_kept_calibration *kept,
                               struct worked *worked, struct be_err *err)
{
  const struct be_calibration *is = &kept->is;
  *worked = (struct worked){.kept = kept};
  worked->steps = be_arena_alloc(survey->arena, is->points_count * sizeof *worked->steps);
  if (!worked->steps) return be_no_memory(err);
  enum be_status status =
      be_calibration_fit_points(is->points, is->points_count, is->curve, &worked->fit, err);
  if (status != BE_OK) return status;
  worked->steps_count =
      be_force_steps(is->points, is->points_count, &worked->fit, is->resolution_N, worked->steps);
  find_class(worked);
  return BE_OK;
}

const char *be_rig_unverified(const struct worked *worked)
{
  return worked->fit.df == 0
             ? "it has no more readings than its curve needs, which verifies no load"
             : "no two loads in a row keep a class";
}

bool be_rig_outside(const struct worked *worked, double load_N)
{
  return !(load_N >= worked->range.from_N && load_N <= worked->range.to_N);
}

enum be_status be_rig_work_out(const struct survey *survey, struct worked **out, size_t *unknown,
                               struct be_err *err)
{
  const struct be_record *record = &survey->record;
  struct worked *worked =
      be_arena_alloc(survey->arena, (record->calibrations_count + 1) * sizeof *worked);
  if (!worked) return be_no_memory(err);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < record->calibrations_count && status == BE_OK; i++)
    status = work_out(survey, &record->calibrations[i], &worked[i], err);
  *out = worked;
  *unknown = 0;
  for (size_t i = 0; i < record->pulls_count && status == BE_OK; i++) {
    const struct be_pull *pull = &record->pulls[i];
    long left = 0;
    if (pull->calibration == BE_NO_INDEX) {
      ++*unknown;
      continue;
    }
    struct worked *by = &worked[pull->calibration];
    by->pulls++;
    by->outside += isfinite(pull->load_N) && be_rig_outside(by, pull->load_N);
    by->overdue += be_calibration_due(&by->kept->is, pull->day, &left) && left < 0;
  }
  return status;
}

const struct worked *be_rig_in_force(const struct survey *survey, const struct worked *worked,
                                     int bench, long day)
{
  const struct worked *found = NULL;
  for (size_t i = 0; i < survey->record.calibrations_count; i++) {
    const struct be_kept_calibration *kept = worked[i].kept;
    if (kept->bench != bench || kept->is.day > day) continue;
    if (!found || kept->is.day >= found->kept->is.day) found = &worked[i];
  }
  return found;
}

struct be_force_budget be_rig_budget(const struct worked *worked, double load_N)
{
  const struct be_calibration *is = &worked->kept->is;
  return be_calibration_budget(&worked->fit, load_N, 1,
                               isnan(is->reference_percent) ? 0 : is->reference_percent,
                               isnan(is->resolution_N) ? 0 : is->resolution_N);
}
