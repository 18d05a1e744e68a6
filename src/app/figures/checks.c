/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Control charts of the check weights of each bench, under the calibration in force on the day of
 * its last one. */
#include "app/figures/gallery.h"
#include "app/rig/trust.h"

static enum be_status show_bench(struct gallery *gallery, const struct worked *worked, int bench,
                                 struct be_err *err)
{
  const struct survey *survey = gallery->survey;
  const struct be_record *record = &survey->record;
  struct checks *checks;
  size_t count = 0;
  bool any = false;
  long day = 0;
  for (size_t i = 0; i < record->weights_count; i++) {
    if (record->weights[i].bench != bench) continue;
    if (!any || record->weights[i].day > day) day = record->weights[i].day;
    any = true;
  }
  if (!any) return BE_OK;
  const struct weighed of = {bench, day, be_rig_in_force(survey, worked, bench, day)};
  enum be_status status = be_rig_checks(survey, &of, &checks, &count, err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    if (!checks[i].charted) continue;
    const char *name =
        be_arena_format(survey->arena, "%s, %.*f %s", record->benches[bench].name, survey->decimals,
                        be_shown(survey, checks[i].weight_N), survey->how.unit->name);
    const char *ranges = be_arena_format(survey->arena, "%s, ranges", name ? name : "");
    if (!name || !ranges) return be_no_memory(err);
    status = be_gallery_add(gallery, name, be_figure_of_checks(survey, &checks[i]), err);
    if (status == BE_OK)
      status = be_gallery_add(gallery, ranges, be_figure_of_ranges(survey, &checks[i]), err);
  }
  return status;
}

enum be_status be_show_checks(struct gallery *gallery, struct be_err *err)
{
  struct worked *worked;
  size_t unknown;
  enum be_status status = be_rig_work_out(gallery->survey, &worked, &unknown, err);
  gallery->why = "no check weight was read twice under one calibration";
  for (int i = 0; i < (int)gallery->survey->record.benches_count && status == BE_OK; i++)
    status = show_bench(gallery, worked, i, err);
  return status;
}
