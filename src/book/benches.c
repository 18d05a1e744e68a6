/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bench sheets, and the bench that a row names. What the book does not know yet
 * is made from the name, and said. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

static enum be_status insert_bench(struct entering *in, const struct be_bench *bench, int64_t *id,
                                   struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "INSERT INTO bench (name, calibration, resolution_N, drift_N, missed,"
                     " certificate, calibrated, file) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                     &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, bench->name);
  be_bind_number(s, 2, bench->calibration);
  be_bind_number(s, 3, bench->resolution_N);
  be_bind_number(s, 4, bench->drift_N);
  be_bind_number(s, 5, bench->missed);
  be_bind_text(s, 6, bench->certificate);
  be_bind_text(s, 7, bench->calibrated);
  sqlite3_bind_int64(s, 8, in->file);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  if (status != BE_OK) return status;
  *id = sqlite3_last_insert_rowid(in->book->db);
  in->entered->benches++;
  return BE_OK;
}

/* The first field in which the row of the book is another; FIELDS if none is. */
static enum field bench_differs(sqlite3_stmt *s, const struct be_bench *bench)
{
  if (!be_fits_number(s, 1, bench->calibration)) return FIELD_CALIBRATION;
  if (!be_fits_number(s, 2, bench->resolution_N)) return FIELD_RESOLUTION;
  if (!be_fits_number(s, 3, bench->drift_N)) return FIELD_DRIFT;
  if (!be_fits_number(s, 4, bench->missed)) return FIELD_MISSED;
  if (!be_fits_text(s, 5, bench->certificate)) return FIELD_CERTIFICATE;
  return be_fits_text(s, 6, bench->calibrated) ? FIELDS : FIELD_CALIBRATED;
}

/* Finds the bench of that name: *id is 0 if there is none. */
static enum be_status bench_known(struct entering *in, const struct be_bench *bench, int64_t *id,
                                  struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool known = false;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "SELECT id, calibration, resolution_N, drift_N, missed, certificate,"
                     " calibrated FROM bench WHERE name = ?1 COLLATE NOCASE",
                     &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, bench->name);
  status = be_sql_step(s, &known, err);
  enum field other = status == BE_OK && known ? bench_differs(s, bench) : FIELDS;
  *id = known ? sqlite3_column_int64(s, 0) : 0;
  sqlite3_finalize(s);
  if (other == FIELDS) return status;
  be_fail(err, BE_BAD_INPUT, "the bench \"%s\" is in the book already, with another %s",
          bench->name, be_field_name(other));
  be_fail_remedy(err, "what is in the book stays: take the row out or give it the same values; a "
                      "bench that was changed or calibrated anew needs another name");
  return be_fail_here(in, in->fields.column[other] >= 0 ? other : FIELD_BENCH, err);
}

/* What was not recorded may be told later. */
static enum be_status tell_more(struct entering *in, const struct be_bench *bench, int64_t id,
                                struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "UPDATE bench SET calibration = ifnull(calibration, ?2),"
                     " resolution_N = ifnull(resolution_N, ?3), drift_N = ifnull(drift_N, ?4),"
                     " missed = ifnull(missed, ?5), certificate = ifnull(certificate, ?6),"
                     " calibrated = ifnull(calibrated, ?7) WHERE id = ?1",
                     &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, id);
  be_bind_number(s, 2, bench->calibration);
  be_bind_number(s, 3, bench->resolution_N);
  be_bind_number(s, 4, bench->drift_N);
  be_bind_number(s, 5, bench->missed);
  be_bind_text(s, 6, bench->certificate);
  be_bind_text(s, 7, bench->calibrated);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  in->entered->known += status == BE_OK;
  return status;
}

/* ---- a row of a bench sheet ---- */

/* "none" is zero where that can be meant: nothing wanders, nothing is missed. */
static bool says_none(struct entering *in, enum field field)
{
  const char *text = text_of(in, field);
  return text && be_text_same(text, "none");
}

static enum be_status read_share(struct entering *in, enum field field, double *share,
                                 struct be_err *err)
{
  struct be_quantity quantity;
  enum be_status status = be_field_number(in, field, BE_RATIO, NULL, &quantity, err);
  if (status == BE_BAD_INPUT) be_fail_remedy(err, "write it as a share of the force: \"0.5 %%\"");
  *share = quantity.value;
  if (status != BE_OK || !(quantity.value >= 1)) return status;
  be_fail(err, BE_BAD_INPUT, "%g %% is the whole force or more", 100 * quantity.value);
  be_fail_remedy(err, "check the number: it must be below 100 %%");
  return be_fail_here(in, field, err);
}

static enum be_status read_force(struct entering *in, enum field field, double *force_N,
                                 struct be_err *err)
{
  struct be_quantity quantity;
  enum be_status status = be_field_number(in, field, BE_FORCE, NULL, &quantity, err);
  *force_N = quantity.value;
  return status;
}

static enum be_status read_figures(struct entering *in, struct be_bench *bench, struct be_err *err)
{
  enum be_status status = read_share(in, FIELD_CALIBRATION, &bench->calibration, err);
  if (status == BE_OK) status = read_force(in, FIELD_RESOLUTION, &bench->resolution_N, err);
  if (status == BE_OK) status = read_force(in, FIELD_DRIFT, &bench->drift_N, err);
  if (status == BE_OK) status = read_share(in, FIELD_MISSED, &bench->missed, err);
  if (status != BE_OK) return status;
  if (says_none(in, FIELD_DRIFT)) bench->drift_N = 0;
  if (says_none(in, FIELD_MISSED)) bench->missed = 0;
  enum field zero = bench->calibration <= 0    ? FIELD_CALIBRATION
                    : bench->resolution_N <= 0 ? FIELD_RESOLUTION
                                               : FIELDS;
  if (zero == FIELDS) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "a %s must be above zero", be_field_name(zero));
  be_fail_remedy(err, "leave the cell empty where it is not known");
  return be_fail_here(in, zero, err);
}

enum be_status be_enter_bench_row(struct entering *in, struct be_err *err)
{
  struct be_bench bench = {.name = text_of(in, FIELD_BENCH),
                           .certificate = text_of(in, FIELD_CERTIFICATE),
                           .calibrated = text_of(in, FIELD_CALIBRATED)};
  if (!bench.name || be_text_same(bench.name, "none")) {
    be_fail(err, BE_BAD_INPUT, "the bench has no name");
    be_fail_remedy(err, "every row of a bench sheet needs one");
    return be_fail_here(in, FIELD_BENCH, err);
  }
  int64_t id = 0;
  enum be_status status = read_figures(in, &bench, err);
  if (status == BE_OK) status = bench_known(in, &bench, &id, err);
  if (status != BE_OK) return status;
  return id ? tell_more(in, &bench, id, err) : insert_bench(in, &bench, &id, err);
}

/* ---- the bench that a pull names ---- */

enum be_status be_bench_resolve(struct entering *in, int64_t *id, struct be_err *err)
{
  struct be_bench bench = {text_of(in, FIELD_BENCH), NAN, NAN, NAN, NAN, NULL, NULL};
  enum be_status status = BE_OK;
  bool found = false;
  *id = 0;
  if (!bench.name || be_text_same(bench.name, "none")) return BE_OK;
  if (!in->find_bench)
    status = be_sql_prepare(in->book->db, "SELECT id FROM bench WHERE name = ?1 COLLATE NOCASE",
                            &in->find_bench, err);
  if (status != BE_OK) return status;
  be_bind_text(in->find_bench, 1, bench.name);
  status = be_sql_step(in->find_bench, &found, err);
  if (found) *id = sqlite3_column_int64(in->find_bench, 0);
  sqlite3_reset(in->find_bench);
  if (status != BE_OK || found) return status;
  status = insert_bench(in, &bench, id, err);
  if (status == BE_OK)
    be_note_here(in, in->sheet.lines[in->row], "new bench \"%s\": its figures are not recorded",
                 bench.name);
  return status;
}
