/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Check weight sheets: one known load hung on a bench, again and again. */
#include "book/inside.h"

#include <math.h>
#include <string.h>

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

struct weighing {
  int64_t bench;
  char date[DATE_MAX + 1];
  double weight_N;
  struct shown shown;
};

static enum be_status read_when(struct entering *in, struct weighing *row, struct be_err *err)
{
  const char *text = text_of(in, FIELD_DATE);
  if (text && be_when_read(text, row->date)) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "%s%s%s", text ? "\"" : "", text ? text : "the date is missing",
          text ? "\" is not a date" : "");
  be_fail_remedy(err, "write when it was read, such as 2026-03-01 or 2026-03-01T18:30");
  return be_fail_here(in, FIELD_DATE, err);
}

static enum be_status read_row(struct entering *in, struct weighing *row, struct be_err *err)
{
  struct be_quantity weight;
  enum be_status status = be_bench_resolve(in, &row->bench, err);
  if (status == BE_OK && !row->bench) {
    be_fail(err, BE_BAD_INPUT, "the bench has no name");
    be_fail_remedy(err, "every row of a check weight sheet needs one");
    return be_fail_here(in, FIELD_BENCH, err);
  }
  if (status == BE_OK) status = read_when(in, row, err);
  if (status == BE_OK) status = be_field_number(in, FIELD_WEIGHT, BE_FORCE, NULL, &weight, err);
  if (status == BE_OK) status = be_field_shown(in, &row->shown, err);
  if (status != BE_OK) return status;
  row->weight_N = weight.value;
  if (!(weight.value > 0)) {
    be_fail(err, BE_BAD_INPUT, "a check weight must be above zero");
    be_fail_remedy(err, "write what it weighs, with its unit: \"5 kg\"");
    return be_fail_here(in, FIELD_WEIGHT, err);
  }
  if (!isnan(row->shown.value)) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the reading is missing");
  be_fail_remedy(err, "write what the bench showed with the check weight on it");
  return be_fail_here(in, FIELD_READING, err);
}

enum be_status be_enter_weight_row(struct entering *in, struct be_err *err)
{
  struct weighing row = {0};
  sqlite3_stmt *s = NULL;
  enum be_status status = read_row(in, &row, err);
  if (status == BE_OK)
    status = be_sql_prepare(in->book->db,
                            "INSERT INTO check_weight (bench, date, weight_N, reading, unit,"
                            " session, note, file, file_line)"
                            " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                            &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, row.bench);
  be_bind_text(s, 2, row.date);
  sqlite3_bind_double(s, 3, row.weight_N);
  sqlite3_bind_double(s, 4, row.shown.value);
  be_bind_text(s, 5, row.shown.unit ? row.shown.unit->name : NULL);
  be_bind_text(s, 6, text_of(in, FIELD_SESSION));
  be_bind_text(s, 7, text_of(in, FIELD_NOTE));
  sqlite3_bind_int64(s, 8, in->file);
  sqlite3_bind_int64(s, 9, (int64_t)in->sheet.lines[in->row]);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  in->entered->weights += status == BE_OK;
  return status;
}
