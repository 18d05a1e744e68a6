/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calibrations and check weights into a record, and which calibration was in force when. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

static enum be_status prepare(struct be_book *book, const char *sql, int64_t value, struct rows *to,
                              struct be_err *err)
{
  enum be_status status = be_sql_prepare(book->db, sql, &to->s, err);
  if (status == BE_OK) sqlite3_bind_int64(to->s, 1, value);
  return status;
}

static const char *text_at(struct rows *rows, int at)
{
  const char *text = (const char *)sqlite3_column_text(rows->s, at);
  if (!text && sqlite3_column_type(rows->s, at) != SQLITE_NULL) rows->lost = true;
  return text ? text : "";
}

static void read_calibration(struct rows *rows, const struct ids *benches,
                             struct be_kept_calibration *kept)
{
  struct be_calibration *is = &kept->is;
  const char *date = text_at(rows, 4), *curve = text_at(rows, 9);
  double months = be_column_number(rows->s, 5);
  *kept = (struct be_kept_calibration){.bench = be_index_of(benches, rows->s, 2),
                                       .file = be_column_text(rows, 10),
                                       .file_line = sqlite3_column_int(rows->s, 11)};
  snprintf(is->name, sizeof is->name, "%s", text_at(rows, 1));
  snprintf(is->certificate, sizeof is->certificate, "%s", text_at(rows, 3));
  snprintf(is->unit, sizeof is->unit, "%s", text_at(rows, 6));
  is->dated = be_date_read(date, strlen(date), &is->day, NULL) == BE_OK;
  is->months = months >= 1 ? (int)months : 0;
  is->reference_percent = 100 * be_column_number(rows->s, 7);
  is->resolution_N = be_column_number(rows->s, 8);
  is->curve = strcmp(curve, "bent") == 0           ? BE_CURVE_BENT
              : strcmp(curve, "through zero") == 0 ? BE_CURVE_THROUGH_ZERO
                                                   : BE_CURVE_STRAIGHT;
}

/* The ids of the calibrations go to *ids. */
static enum be_status read_calibrations(struct be_book *book, int64_t until, struct be_arena *arena,
                                        struct be_record *record, const struct ids *benches,
                                        struct ids *ids, struct be_err *err)
{
  size_t *count = &record->calibrations_count;
  enum be_status status =
      be_count_rows(book, "SELECT count(*) FROM calibration WHERE file < ?1", until, count, err);
  if (status != BE_OK) return status;
  record->calibrations = be_arena_alloc(arena, *count * sizeof *record->calibrations);
  ids->id = be_arena_alloc(arena, *count * sizeof *ids->id);
  ids->count = *count;
  if (!record->calibrations || !ids->id)
    return be_fail(err, BE_NO_MEMORY, "no memory for the calibrations");
  struct rows rows = {.arena = arena};
  status = prepare(book,
                   "SELECT calibration.id, calibration.name, bench, certificate, date, months,"
                   " unit, reference, resolution_N, curve, file.name, file_line FROM calibration"
                   " JOIN file ON file.id = file WHERE file < ?1 ORDER BY calibration.id",
                   until, &rows, err);
  for (size_t i = 0; be_next_row(&rows, i, *count, &status, err); i++) {
    ids->id[i] = sqlite3_column_int64(rows.s, 0);
    read_calibration(&rows, benches, &record->calibrations[i]);
  }
  sqlite3_finalize(rows.s);
  return status;
}

static enum be_status read_points(struct be_book *book, struct be_record *record,
                                  const struct ids *ids, struct be_err *err)
{
  struct rows rows = {0};
  enum be_status status = prepare(
      book, "SELECT calibration, load_N, reading, falling FROM calibration_point ORDER BY id", 0,
      &rows, err);
  while (be_next_row(&rows, 0, 1, &status, err)) {
    int at = be_index_of(ids, rows.s, 0);
    struct be_calibration *is = at == BE_NO_INDEX ? NULL : &record->calibrations[at].is;
    if (!is || is->points_count == BE_CALIBRATION_POINTS_MAX) continue;
    is->points[is->points_count++] =
        (struct be_calibration_point){.load_N = be_column_number(rows.s, 1),
                                      .reading = be_column_number(rows.s, 2),
                                      .falling = sqlite3_column_int(rows.s, 3) != 0};
  }
  sqlite3_finalize(rows.s);
  return status;
}

/* Of two of one day the one entered last; BE_NO_INDEX where there is none so early. */
static int in_force(const struct be_record *record, int bench, long day)
{
  int found = BE_NO_INDEX;
  for (size_t i = 0; bench != BE_NO_INDEX && i < record->calibrations_count; i++) {
    const struct be_kept_calibration *kept = &record->calibrations[i];
    if (kept->bench != bench || !kept->is.dated || kept->is.day > day) continue;
    if (found == BE_NO_INDEX || kept->is.day >= record->calibrations[found].is.day) found = (int)i;
  }
  return found;
}

static int named(const struct be_record *record, const char *name)
{
  for (size_t i = 0; i < record->calibrations_count; i++)
    if (be_text_same(record->calibrations[i].is.name, name)) return (int)i;
  return BE_NO_INDEX;
}

static enum be_status read_weights(struct be_book *book, int64_t until, struct be_arena *arena,
                                   struct be_record *record, const struct ids *benches,
                                   struct be_err *err)
{
  size_t *count = &record->weights_count;
  enum be_status status =
      be_count_rows(book, "SELECT count(*) FROM check_weight WHERE file < ?1", until, count, err);
  if (status != BE_OK) return status;
  record->weights = be_arena_alloc(arena, *count * sizeof *record->weights);
  if (!record->weights) return be_fail(err, BE_NO_MEMORY, "no memory for the check weights");
  struct rows rows = {.arena = arena};
  struct pool units = {0}, sessions = {0};
  status = prepare(book,
                   "SELECT bench, date, weight_N, reading, unit, session, note FROM check_weight"
                   " WHERE file < ?1 ORDER BY date, id",
                   until, &rows, err);
  for (size_t i = 0; be_next_row(&rows, i, *count, &status, err); i++) {
    struct be_check_weight *weight = &record->weights[i];
    *weight = (struct be_check_weight){.bench = be_index_of(benches, rows.s, 0),
                                       .date = be_column_text(&rows, 1),
                                       .weight_N = be_column_number(rows.s, 2),
                                       .reading = be_column_number(rows.s, 3),
                                       .unit = be_column_pooled(&rows, 4, &units),
                                       .session = be_column_pooled(&rows, 5, &sessions),
                                       .note = be_column_text(&rows, 6)};
    if (weight->date && strlen(weight->date) >= 10)
      be_date_read(weight->date, 10, &weight->day, NULL);
    weight->calibration = in_force(record, weight->bench, weight->day);
  }
  sqlite3_finalize(rows.s);
  return status;
}

enum be_status be_read_calibrations(struct be_book *book, int64_t until, struct be_arena *arena,
                                    struct be_record *record, const struct ids *benches,
                                    struct be_err *err)
{
  struct ids ids = {0};
  enum be_status status = read_calibrations(book, until, arena, record, benches, &ids, err);
  if (status == BE_OK) status = read_points(book, record, &ids, err);
  if (status == BE_OK) status = read_weights(book, until, arena, record, benches, err);
  for (size_t i = 0; status == BE_OK && i < record->pulls_count; i++) {
    struct be_pull *pull = &record->pulls[i];
    pull->calibration = pull->calibration_told ? named(record, pull->calibration_told)
                                               : in_force(record, pull->bench, pull->day);
  }
  return status;
}
