/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Forces of readings by the calibration of a rig: the book's of that name, else one that stands in
 * the rig's own file. */
#include "app/live/live.h"

#include <stdio.h>
#include <string.h>

enum be_status be_reckoning_set(struct be_reckoning *reckoning,
                                const struct be_calibration *calibration, struct be_err *err)
{
  enum be_status status = BE_OK;
  *reckoning = (struct be_reckoning){.by = *calibration};
  if (calibration->points_count)
    status = be_calibration_fit_points(calibration->points, calibration->points_count,
                                       calibration->curve, &reckoning->fit, err);
  reckoning->known = status == BE_OK;
  return status;
}

void be_reckon(const struct be_reckoning *reckoning, struct be_rig_sample *samples, size_t count)
{
  if (!reckoning->known) return;
  const struct be_calibration_fit *fit = reckoning->by.points_count ? &reckoning->fit : NULL;
  be_rig_calibrate(&reckoning->by, fit, samples, count);
}

static const char *find_bench(const struct be_record *record, const char *name)
{
  for (size_t i = 0; i < record->benches_count; i++)
    if (be_text_same(record->benches[i].name, name)) return record->benches[i].name;
  return NULL;
}

static const struct be_kept_calibration *find_kept(const struct be_record *record, const char *name)
{
  for (size_t i = 0; i < record->calibrations_count; i++)
    if (be_text_same(record->calibrations[i].is.name, name)) return &record->calibrations[i];
  return NULL;
}

/* The rig is the bench of its name; a rig that is none is the bench of its calibration. */
static enum be_status settle_bench(struct be_live_rig *rig, const char *bench,
                                   const char *calibrated, struct be_err *err)
{
  if (bench && calibrated && strcmp(bench, calibrated) != 0) {
    be_fail(err, BE_BAD_INPUT,
            "the rig \"%s\" has the calibration \"%s\", which is of bench \"%.60s\"",
            rig->setup.name, rig->setup.calibration, calibrated);
    be_fail_remedy(err, "name a calibration of its own, or give the rig the name of its bench");
    return BE_BAD_INPUT;
  }
  const char *name = bench ? bench : calibrated;
  if (name && strlen(name) < sizeof rig->bench) memcpy(rig->bench, name, strlen(name) + 1);
  return BE_OK;
}

static enum be_status find_all(const struct be_record *record, const char *text, size_t size,
                               struct be_live_rig *rig, struct be_err *err)
{
  const char *name = rig->setup.calibration, *calibrated = NULL;
  const struct be_kept_calibration *kept = *name ? find_kept(record, name) : NULL;
  struct be_calibration own;
  enum be_status status = BE_OK;
  if (kept && kept->bench != BE_NO_INDEX) calibrated = record->benches[kept->bench].name;
  if (*name && !kept) status = be_calibration_parse(text, size, name, &own, err);
  if (status != BE_OK && !(err && err->line)) {
    be_fail(err, BE_BAD_INPUT, "neither the book nor the rig's file has the calibration \"%s\"",
            name);
    be_fail_remedy(err,
                   "enter its calibration sheet, or write it into the file, in a section "
                   "\"[%s]\"",
                   name);
  }
  if (status == BE_OK && *name)
    status = be_reckoning_set(&rig->reckoning, kept ? &kept->is : &own, err);
  if (status != BE_OK) return status;
  return settle_bench(rig, find_bench(record, rig->setup.name), calibrated, err);
}

enum be_status be_live_reckon(const char *book_path, const char *text, size_t size,
                              struct be_live_rig *rig, struct be_err *err)
{
  struct be_arena *arena = be_arena_create();
  struct be_book *book = NULL;
  struct be_record record;
  if (!arena) return be_fail(err, BE_NO_MEMORY, "no memory for the rig");
  enum be_status status = be_book_open(book_path, false, &book, err);
  if (status == BE_OK) status = be_book_read(book, arena, &record, err);
  if (status == BE_OK) status = find_all(&record, text, size, rig, err);
  be_book_close(book);
  be_arena_free(arena);
  return status;
}
