/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calibration sheets: a reading a row, and what is told of the calibration on its first row or on
 * all. A calibration is kept as it was entered; one made anew has another name. */
#include "book/inside.h"

#include <math.h>
#include <string.h>

enum { MONTHS_MAX = 1200 };

static const char *text_of(struct entering *in, enum field field)
{
  const char *text = be_field_text(&in->sheet, &in->fields, in->row, field);
  return text && be_text_same(text, "none") ? NULL : text;
}

/* A row: what it tells of its calibration, and one reading. */
struct told {
  const char *name, *certificate, *date, *curve;
  int64_t bench;
  double months, reference, resolution_N, load_N;
  struct shown shown;
  bool falling;
};

/* ---- reading a row ---- */

static enum be_status missing(struct entering *in, enum field field, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "the %s is missing", be_field_name(field));
  be_fail_remedy(err, "every row of a %s needs it", be_sheet_kind_word(in->fields.kind));
  return be_fail_here(in, field, err);
}

static enum be_status read_name(struct entering *in, struct told *told, struct be_err *err)
{
  enum { MOST = sizeof((struct be_calibration *)0)->name };
  enum field long_one = FIELDS;
  told->name = text_of(in, FIELD_CALIBRATION_NAME);
  told->certificate = text_of(in, FIELD_CERTIFICATE);
  if (!told->name) return missing(in, FIELD_CALIBRATION_NAME, err);
  if (strlen(told->name) >= MOST) long_one = FIELD_CALIBRATION_NAME;
  else if (told->certificate && strlen(told->certificate) >= MOST) long_one = FIELD_CERTIFICATE;
  if (long_one == FIELDS && !strpbrk(told->name, "[]\r\n") &&
      !(told->certificate && strpbrk(told->certificate, "\r\n")))
    return BE_OK;
  if (long_one == FIELDS) {
    be_fail(err, BE_BAD_INPUT, "a name is one line without brackets");
    be_fail_remedy(err, "leave them out");
    return be_fail_here(in, FIELD_CALIBRATION_NAME, err);
  }
  be_fail(err, BE_BAD_INPUT, "the name is too long");
  be_fail_remedy(err, "it may have %d bytes", MOST - 1);
  return be_fail_here(in, long_one, err);
}

/* One of two or three words; *at is its place, 0 where nothing is told. */
static enum be_status read_choice(struct entering *in, enum field field, const char *const *words,
                                  int count, int *at, struct be_err *err)
{
  const char *text = text_of(in, field);
  *at = 0;
  if (!text) return BE_OK;
  while (*at < count && !be_text_same(text, words[*at])) ++*at;
  if (*at < count) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "\"%s\" is not one of the words for it", text);
  be_fail_remedy(err, "write one of: %s, %s%s%s", words[0], words[1], count > 2 ? ", " : "",
                 count > 2 ? words[2] : "");
  return be_fail_here(in, field, err);
}

static const char *const curves[] = {"straight", "through zero", "bent"};
static const char *const directions[] = {"rising", "falling"};

static enum be_status read_words(struct entering *in, struct told *told, struct be_err *err)
{
  int curve = 0, direction = 0;
  long day = 0;
  enum be_status status = read_choice(in, FIELD_CURVE, curves, 3, &curve, err);
  if (status == BE_OK) status = read_choice(in, FIELD_DIRECTION, directions, 2, &direction, err);
  if (status != BE_OK) return status;
  told->curve = text_of(in, FIELD_CURVE) ? curves[curve] : NULL;
  told->falling = direction == 1;
  told->date = text_of(in, FIELD_DATE);
  if (told->date && be_date_read(told->date, strlen(told->date), &day, err) != BE_OK)
    return be_fail_here(in, FIELD_DATE, err);
  return BE_OK;
}

/* The first number that cannot be, or FIELDS. */
static enum field find_odd(const struct told *told)
{
  if (told->months < 1 || told->months > MONTHS_MAX || floor(told->months) < told->months)
    return FIELD_MONTHS;
  if (told->reference >= 1) return FIELD_REFERENCE;
  return told->resolution_N <= 0 ? FIELD_RESOLUTION : FIELDS;
}

static enum be_status read_numbers(struct entering *in, struct told *told, struct be_err *err)
{
  struct be_quantity months, reference, resolution, load;
  enum be_status status =
      be_field_number(in, FIELD_MONTHS, BE_RATIO, be_unit_si(BE_RATIO), &months, err);
  if (status == BE_OK)
    status = be_field_number(in, FIELD_REFERENCE, BE_RATIO, NULL, &reference, err);
  if (status == BE_OK)
    status = be_field_number(in, FIELD_RESOLUTION, BE_FORCE, NULL, &resolution, err);
  if (status == BE_OK) status = be_field_number(in, FIELD_APPLIED, BE_FORCE, NULL, &load, err);
  if (status != BE_OK) return status;
  told->months = months.value;
  told->reference = reference.value;
  told->resolution_N = resolution.value;
  told->load_N = load.value;
  enum field odd = find_odd(told);
  if (odd != FIELDS) {
    be_fail(err, BE_BAD_INPUT, "this %s cannot be", be_field_name(odd));
    be_fail_remedy(err, odd == FIELD_MONTHS      ? "write whole months, from 1 to 1200"
                        : odd == FIELD_REFERENCE ? "write a share of the load: \"0.05 %%\""
                                                 : "a resolution must be above zero");
    return be_fail_here(in, odd, err);
  }
  const char *none = be_field_text(&in->sheet, &in->fields, in->row, FIELD_APPLIED);
  if (none && be_text_same(none, "none")) told->load_N = 0;
  if (isnan(told->load_N)) return missing(in, FIELD_APPLIED, err);
  return BE_OK;
}

static enum be_status read_row(struct entering *in, struct told *told, struct be_err *err)
{
  enum be_status status = read_name(in, told, err);
  if (status == BE_OK && !text_of(in, FIELD_BENCH)) status = missing(in, FIELD_BENCH, err);
  if (status == BE_OK) status = be_bench_resolve(in, &told->bench, err);
  if (status == BE_OK) status = read_words(in, told, err);
  if (status == BE_OK) status = read_numbers(in, told, err);
  if (status == BE_OK) status = be_field_shown(in, &told->shown, err);
  if (status == BE_OK && isnan(told->shown.value)) status = missing(in, FIELD_READING, err);
  return status;
}

/* ---- its calibration ---- */

static const char find_sql[] = "SELECT id, file, bench, certificate, date, months, unit, reference,"
                               " resolution_N, curve FROM calibration WHERE name = ?1";

/* The first field in which the row contradicts its calibration; FIELDS if none does. */
static enum field find_other(sqlite3_stmt *s, const struct told *told)
{
  if (sqlite3_column_int64(s, 2) != told->bench) return FIELD_BENCH;
  if (!be_fits_text(s, 3, told->certificate)) return FIELD_CERTIFICATE;
  if (!be_fits_text(s, 4, told->date)) return FIELD_DATE;
  if (!be_fits_number(s, 5, told->months)) return FIELD_MONTHS;
  if (!be_same_text(s, 6, told->shown.unit ? told->shown.unit->name : NULL)) return FIELD_READING;
  if (!be_fits_number(s, 7, told->reference)) return FIELD_REFERENCE;
  if (!be_fits_number(s, 8, told->resolution_N)) return FIELD_RESOLUTION;
  return be_fits_text(s, 9, told->curve) ? FIELDS : FIELD_CURVE;
}

static enum be_status refuse_other(struct entering *in, const struct told *told, enum field other,
                                   struct be_err *err)
{
  if (other == FIELD_READING)
    be_fail(err, BE_BAD_INPUT, "the calibration \"%s\" has a reading in another unit", told->name);
  else
    be_fail(err, BE_BAD_INPUT, "the calibration \"%s\" has another %s on a row before", told->name,
            be_field_name(other));
  be_fail_remedy(err, "tell it on the first row of the calibration alone, or the same on all");
  return be_fail_here(in, other, err);
}

/* *id is 0 where it is new. */
static enum be_status find_calibration(struct entering *in, const struct told *told, int64_t *id,
                                       struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool found = false, old = false;
  enum field other = FIELDS;
  enum be_status status = be_sql_prepare(in->book->db, find_sql, &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, told->name);
  status = be_sql_step(s, &found, err);
  *id = found ? sqlite3_column_int64(s, 0) : 0;
  old = found && sqlite3_column_int64(s, 1) != in->file;
  if (found && !old) other = find_other(s, told);
  sqlite3_finalize(s);
  if (status != BE_OK) return status;
  if (other != FIELDS) return refuse_other(in, told, other, err);
  if (!old) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the calibration \"%s\" is in the book already", told->name);
  be_fail_remedy(err, "what is in the book stays; a calibration made anew needs a name of its own");
  return be_fail_here(in, FIELD_CALIBRATION_NAME, err);
}

/* A new row, or what the rows before left out. */
static enum be_status write_calibration(struct entering *in, const struct told *told, int64_t *id,
                                        struct be_err *err)
{
  static const char add[] =
      "INSERT INTO calibration (bench, certificate, date, months, unit, reference, resolution_N,"
      " curve, name, file, file_line) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)";
  static const char tell_more[] =
      "UPDATE calibration SET certificate = ifnull(certificate, ?2), months = ifnull(months, ?4),"
      " reference = ifnull(reference, ?6), resolution_N = ifnull(resolution_N, ?7),"
      " curve = ifnull(curve, ?8) WHERE id = ?9";
  sqlite3_stmt *s = NULL;
  if (!*id && !told->date) return missing(in, FIELD_DATE, err);
  enum be_status status = be_sql_prepare(in->book->db, *id ? tell_more : add, &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 2, told->certificate);
  be_bind_number(s, 4, told->months);
  be_bind_number(s, 6, told->reference);
  be_bind_number(s, 7, told->resolution_N);
  be_bind_text(s, 8, told->curve);
  if (*id) {
    sqlite3_bind_int64(s, 9, *id);
  } else {
    sqlite3_bind_int64(s, 1, told->bench);
    be_bind_text(s, 3, told->date);
    be_bind_text(s, 5, told->shown.unit ? told->shown.unit->name : NULL);
    be_bind_text(s, 9, told->name);
    sqlite3_bind_int64(s, 10, in->file);
    sqlite3_bind_int64(s, 11, (int64_t)in->sheet.lines[in->row]);
  }
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  if (status != BE_OK || *id) return status;
  *id = sqlite3_last_insert_rowid(in->book->db);
  in->entered->calibrations++;
  return BE_OK;
}

static enum be_status write_point(struct entering *in, const struct told *told, int64_t calibration,
                                  struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status = be_sql_prepare(
      in->book->db,
      "INSERT INTO calibration_point (calibration, load_N, reading, falling, file_line)"
      " VALUES (?1, ?2, ?3, ?4, ?5)",
      &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, calibration);
  sqlite3_bind_double(s, 2, told->load_N);
  sqlite3_bind_double(s, 3, told->shown.value);
  sqlite3_bind_int(s, 4, told->falling);
  sqlite3_bind_int64(s, 5, (int64_t)in->sheet.lines[in->row]);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  return status;
}

static enum be_status enter_row(struct entering *in, struct be_err *err)
{
  struct told told = {0};
  int64_t id = 0;
  enum be_status status = read_row(in, &told, err);
  if (status == BE_OK) status = find_calibration(in, &told, &id, err);
  if (status == BE_OK) status = write_calibration(in, &told, &id, err);
  return status == BE_OK ? write_point(in, &told, id, err) : status;
}

/* ---- the sheet ---- */

/* A calibration that gives no curve is no use to anybody. */
static enum be_status try_curves(struct entering *in, struct be_err *err)
{
  struct be_record record = {0};
  struct be_err why = {0};
  const struct ids none = {0};
  size_t from = 0, all = 0;
  enum be_status status = be_count_rows(
      in->book, "SELECT count(*) FROM calibration WHERE file < ?1", in->file, &from, err);
  if (status == BE_OK)
    status = be_count_rows(in->book,
                           "SELECT max(n) FROM (SELECT count(*) AS n FROM calibration_point"
                           " GROUP BY calibration)",
                           0, &all, err);
  if (status != BE_OK) return status;
  if (all > BE_CALIBRATION_POINTS_MAX) {
    be_fail(err, BE_BAD_INPUT, "a calibration has %zu readings, and %d are the most", all,
            BE_CALIBRATION_POINTS_MAX);
    return be_fail_remedy(err, "leave some of them out, as many of each load");
  }
  status = be_read_calibrations(in->book, INT64_MAX, in->arena, &record, &none, err);
  for (size_t i = from; i < record.calibrations_count && status == BE_OK; i++) {
    const struct be_calibration *is = &record.calibrations[i].is;
    struct be_calibration_fit fit;
    status = be_calibration_fit_points(is->points, is->points_count, is->curve, &fit, &why);
    if (status == BE_OK) continue;
    be_fail(err, status, "the calibration \"%s\": %s", is->name, why.what);
    be_fail_remedy(err, "%s", *why.remedy ? why.remedy : "look at its loads and readings");
    be_fail_at(err, in->name, (size_t)record.calibrations[i].file_line, 0);
  }
  return status;
}

enum be_status be_enter_calibration_rows(struct entering *in, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (in->row = 1; in->row <= in->sheet.rows && status == BE_OK; in->row++)
    status = enter_row(in, err);
  return status == BE_OK ? try_curves(in, err) : status;
}

/* ---- the calibration that a pull names ---- */

enum be_status be_calibration_look(struct entering *in, int64_t bench, const char **name,
                                   struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool found = false;
  *name = text_of(in, FIELD_CALIBRATION_NAME);
  if (!*name) return BE_OK;
  enum be_status status = be_sql_prepare(in->book->db, find_sql, &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, *name);
  status = be_sql_step(s, &found, err);
  bool other = found && bench && sqlite3_column_int64(s, 2) != bench;
  sqlite3_finalize(s);
  if (status != BE_OK) return status;
  if (!found)
    be_note_here(in, in->sheet.lines[in->row],
                 "the calibration \"%s\" is not in the book yet; a calibration sheet tells it",
                 *name);
  if (!other) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the calibration \"%s\" is of another bench", *name);
  be_fail_remedy(err, "mend one of the two; where the cell is empty, the one in force is found");
  return be_fail_here(in, FIELD_CALIBRATION_NAME, err);
}
