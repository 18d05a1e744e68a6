/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a pull sheet: specimen, pull and result. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct writer {
  sqlite3_stmt *find, *specimen, *pull, *result;
  struct plans plans;
};

static const char *text_of(const struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

static size_t line_of(const struct entering *in)
{
  return in->sheet.lines[in->row];
}

/* ---- writing a row ---- */

void be_bind_id(sqlite3_stmt *statement, int at, int64_t id)
{
  if (id) sqlite3_bind_int64(statement, at, id);
  else sqlite3_bind_null(statement, at);
}

const char *be_word_or_null(int value, const char *word)
{
  return value ? word : NULL;
}

static enum be_status write_once(sqlite3_stmt *statement, struct be_err *err)
{
  enum be_status status = be_sql_step(statement, NULL, err);
  sqlite3_reset(statement);
  return status;
}

static enum be_status write_specimen(struct entering *in, struct writer *out, const struct row *row,
                                     int64_t *pull, struct be_err *err)
{
  be_bind_text(out->specimen, 1, row->code);
  be_bind_text(out->specimen, 2,
               be_word_or_null(row->design, be_design_word((enum be_design)row->design)));
  be_bind_id(out->specimen, 3, row->knot);
  be_bind_id(out->specimen, 4, row->line_a);
  be_bind_id(out->specimen, 5, row->line_b);
  be_bind_text(out->specimen, 6, row->hardware);
  be_bind_text(out->specimen, 7, be_word_or_null(row->soak, be_soak_word((enum be_soak)row->soak)));
  be_bind_number(out->specimen, 8, row->soak_s);
  be_bind_number(out->specimen, 9, row->speed.value);
  be_bind_number(out->specimen, 10, row->length.value);
  be_bind_text(out->specimen, 11, row->tyer);
  be_bind_text(out->specimen, 12, row->lubricant);
  be_bind_id(out->specimen, 13, row->knot_b);
  be_handling_bind(out->specimen, 14, row->handling);
  enum be_status status = write_once(out->specimen, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(out->pull, 1, sqlite3_last_insert_rowid(in->book->db));
  be_bind_text(out->pull, 2, text_of(in, FIELD_SESSION));
  be_bind_number(out->pull, 3, row->order.value);
  be_bind_id(out->pull, 4, row->bench);
  be_bind_text(out->pull, 5, row->calibration);
  be_bind_number(out->pull, 6, row->zero_before_N);
  be_bind_number(out->pull, 7, row->zero_after_N);
  status = write_once(out->pull, err);
  *pull = sqlite3_last_insert_rowid(in->book->db);
  return status;
}

static enum be_status write_result(struct entering *in, struct writer *out, const struct row *row,
                                   int64_t pull, int64_t corrects, struct be_err *err)
{
  sqlite3_stmt *s = out->result;
  be_bind_id(s, 1, pull);
  be_bind_id(s, 2, corrects);
  be_bind_text(s, 3, corrects ? text_of(in, FIELD_CORRECTION) : NULL);
  be_bind_text(s, 4, be_kind_word((enum be_kind)row->kind));
  be_bind_number(s, 5, row->load.value);
  be_bind_text(s, 6, isnan(row->load.value) ? NULL : text_of(in, FIELD_LOAD));
  be_bind_text(s, 7, isnan(row->load.value) ? NULL : row->load.unit->name);
  be_bind_text(s, 8, be_word_or_null(row->what, be_what_word((enum be_what)row->what)));
  be_bind_text(s, 9, be_word_or_null(row->where, be_where_word((enum be_where)row->where)));
  be_bind_text(s, 10, be_word_or_null(row->which, be_which_word((enum be_which)row->which)));
  be_bind_text(s, 11, row->reason);
  be_bind_text(s, 12, text_of(in, FIELD_NOTE));
  sqlite3_bind_int64(s, 13, in->file);
  sqlite3_bind_int64(s, 14, (int64_t)line_of(in));
  be_bind_text(s, 15, text_of(in, FIELD_JUDGED));
  enum be_status status = write_once(s, err);
  return status == BE_OK ? be_evidence_of_row(in, pull, err) : status;
}

/* ---- a row, new or a correction ---- */

static enum be_status find_specimen(struct writer *out, const char *code, struct known *known,
                                    struct be_err *err)
{
  bool row = false;
  be_bind_text(out->find, 1, code);
  enum be_status status = be_sql_step(out->find, &row, err);
  *known = (struct known){0};
  if (status == BE_OK && row) {
    known->pull = sqlite3_column_int64(out->find, 0);
    known->result = sqlite3_column_int64(out->find, 1);
    known->knot = sqlite3_column_int64(out->find, 2);
    known->line_a = sqlite3_column_int64(out->find, 3);
    known->line_b = sqlite3_column_int64(out->find, 4);
    known->trace = sqlite3_column_int64(out->find, 5);
    known->file = sqlite3_column_int64(out->find, 6);
    known->file_line = sqlite3_column_int64(out->find, 7);
    known->knot_b = sqlite3_column_int64(out->find, 9);
    known->bench = sqlite3_column_int64(out->find, 10);
    const char *design = (const char *)sqlite3_column_text(out->find, 8);
    if (!design && sqlite3_column_type(out->find, 8) != SQLITE_NULL)
      status = be_fail(err, BE_NO_MEMORY, "no memory for a specimen");
    known->design = design ? be_words_find(WORDS_DESIGN, design) : BE_DESIGN_UNKNOWN;
    if (known->design < 0) known->design = BE_DESIGN_UNKNOWN;
  }
  sqlite3_reset(out->find);
  return status;
}

static const char told_sql[] =
    "SELECT hardware, session, place, calibration, zero_before_N, zero_after_N FROM pull JOIN"
    " specimen ON specimen.id = pull.specimen WHERE pull.id = ?1";

/* Whether the row itself says it: a rule's value is for rows that are new. */
static bool tells(const struct entering *in, enum field field)
{
  return in->fields.column[field] >= 0 && text_of(in, field);
}

/* What is said agrees with what is kept, or nothing is said. */
static bool agrees(double said, bool told, double kept)
{
  if (!told || isnan(said)) return true;
  return !isnan(kept) && fabs(said - kept) <= 1e-9 * fabs(kept);
}

/* The first field of the specimen that a correcting row tells otherwise than
 * the book, or FIELDS. */
static enum field find_other(struct entering *in, const struct row *row, sqlite3_stmt *kept,
                             const struct be_handled now[BE_MADES])
{
  const struct {
    enum field field;
    const char *was;
  } texts[] = {{FIELD_HARDWARE, (const char *)sqlite3_column_text(kept, 0)},
               {FIELD_SESSION, (const char *)sqlite3_column_text(kept, 1)},
               {FIELD_TYER, now[BE_MADE_TYER].text},
               {FIELD_LUBRICANT, now[BE_MADE_LUBRICANT].text},
               {FIELD_CALIBRATION_NAME, (const char *)sqlite3_column_text(kept, 3)}};
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
    const char *said = text_of(in, texts[i].field), *was = texts[i].was;
    if (tells(in, texts[i].field) && !be_text_same(said, was ? was : "")) return texts[i].field;
  }
  const struct be_handled *was = &now[BE_MADE_SOAK];
  int was_soak = was->text ? be_words_find(WORDS_SOAK, was->text) : BE_SOAK_UNKNOWN;
  bool soaked = tells(in, FIELD_SOAK), named = tells(in, FIELD_KNOT),
       named_b = tells(in, FIELD_KNOT_B);
  if (soaked && (row->soak != was_soak || !agrees(row->soak_s, true, was->number)))
    return FIELD_SOAK;
  const struct {
    enum field field;
    double said, was;
  } numbers[] = {
      {FIELD_SPEED, row->speed.value, now[BE_MADE_SPEED].number},
      {FIELD_LENGTH, row->length.value, now[BE_MADE_LENGTH].number},
      {FIELD_ORDER, row->order.value, be_column_number(kept, 2)},
      {FIELD_ZERO_BEFORE, row->zero_before_N, be_column_number(kept, 4)},
      {FIELD_ZERO_AFTER, row->zero_after_N, be_column_number(kept, 5)},
  };
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
    if (!agrees(numbers[i].said, tells(in, numbers[i].field), numbers[i].was))
      return numbers[i].field;
  if (!named && tells(in, FIELD_VERSION)) return FIELD_VERSION;
  if (!named && tells(in, FIELD_TURNS)) return FIELD_TURNS;
  if (!named_b && tells(in, FIELD_VERSION_B)) return FIELD_VERSION_B;
  if (!named_b && tells(in, FIELD_TURNS_B)) return FIELD_TURNS_B;
  return FIELDS;
}

static enum be_status same_specimen(struct entering *in, const struct row *row, int64_t pull,
                                    enum field *other, struct be_err *err)
{
  sqlite3_stmt *kept = NULL;
  struct be_handled now[BE_MADES];
  bool found = false;
  enum be_status status = be_sql_prepare(in->book->db, told_sql, &kept, err);
  if (status == BE_OK) {
    sqlite3_bind_int64(kept, 1, pull);
    status = be_sql_step(kept, &found, err);
  }
  if (status == BE_OK) status = be_made_now(in->book, pull, in->arena, now, err);
  if (status == BE_OK && found) *other = find_other(in, row, kept, now);
  sqlite3_finalize(kept);
  return status;
}

static enum be_status tells_otherwise(struct entering *in, const struct row *row, enum field field,
                                      struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "specimen \"%s\" has another %s in the book", row->code,
          be_field_name(field));
  if (be_field_fits(SHEET_EVIDENCE, field))
    be_fail_remedy(err,
                   "a correction replaces the result alone; to have another %s go before it, enter "
                   "a sheet of \"specimen\", \"%s\" and \"reason\"",
                   be_field_name(field), be_field_name(field));
  else
    be_fail_remedy(err, "a correction replaces the result alone; if the specimen was entered "
                        "wrongly, make the result void and enter it under a new code");
  return be_fail_here(in, field, err);
}

/* A correction replaces a result. What was tied stays as it was entered, so a
 * row that says otherwise is refused rather than passed over. */
static enum be_status enter_correction(struct entering *in, struct writer *out, struct row *row,
                                       const struct known *known, struct be_err *err)
{
  const struct {
    enum field field;
    bool same;
  } parts[] = {{FIELD_DESIGN, !known->design || row->design == known->design},
               {FIELD_KNOT, row->knot == known->knot},
               {FIELD_KNOT_B, row->knot_b == known->knot_b},
               {FIELD_BENCH, row->bench == known->bench},
               {FIELD_LINE_A, row->line_a == known->line_a},
               {FIELD_LINE_B, row->line_b == known->line_b}};
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
    if (!parts[i].same) return tells_otherwise(in, row, parts[i].field, err);
  enum field other = FIELDS;
  enum be_status status = same_specimen(in, row, known->pull, &other, err);
  if (status != BE_OK) return status;
  if (other != FIELDS) return tells_otherwise(in, row, other, err);
  struct retold told;
  status = be_retell(in, known->pull, &told, err);
  if (status != BE_OK) return status;
  if (known->trace) status = be_trace_again(in, row, known->trace, err);
  else if (row->trace) status = be_trace_of_row(in, row, known->pull, err);
  if (status == BE_OK) status = write_result(in, out, row, known->pull, known->result, err);
  in->entered->corrections += status == BE_OK;
  return status;
}

/* Whether the row may say what it says of its specimen: once, or to correct. */
static enum be_status fits_the_book(struct entering *in, const struct row *row,
                                    const struct known *known, struct be_err *err)
{
  if (known->pull && !row->corrects) {
    if (known->file == in->file)
      be_fail(err, BE_BAD_INPUT,
              "specimen \"%s\" has its result already, on line %lld of this sheet", row->code,
              (long long)known->file_line);
    else be_fail(err, BE_BAD_INPUT, "specimen \"%s\" has its result already", row->code);
    be_fail_remedy(err, "a specimen is pulled once; to correct its result, add a column "
                        "\"correction\" that gives the reason; where numbers begin anew in each "
                        "sheet or block, pass over the column with --ignore: codes are then made");
    return be_fail_here(in, FIELD_SPECIMEN, err);
  }
  if (known->pull && in->how->corrects && known->result != in->how->corrects) {
    be_fail(err, BE_WRONG_USE, "the result of specimen \"%s\" was corrected meanwhile", row->code);
    return be_fail_remedy(err, "look at what it is now, then correct that");
  }
  if (known->pull || !row->corrects) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "there is no specimen \"%s\" to correct", row->code);
  be_fail_remedy(err, "check its code; a pull that is not in the book yet is entered with the cell "
                      "\"correction\" empty");
  return be_fail_here(in, FIELD_SPECIMEN, err);
}

static enum be_status enter_row(struct entering *in, struct writer *out, struct be_err *err)
{
  struct row row = {.code = text_of(in, FIELD_SPECIMEN),
                    .corrects = text_of(in, FIELD_CORRECTION) != NULL};
  struct known known;
  if (!row.code) {
    const char *slash = strrchr(in->name, '/');
    row.code = be_arena_format(in->arena, "%s:%zu", slash ? slash + 1 : in->name, line_of(in));
    if (!row.code) return be_fail(err, BE_NO_MEMORY, "no memory for a specimen");
  }
  if (in->sheet.spread) { /* "7-3": the third load of its row */
    size_t nth = in->sheet.spread[in->row] - (size_t)in->fields.column[FIELD_LOAD] + 1;
    row.code = be_arena_format(in->arena, "%s-%zu", row.code, nth);
    if (!row.code) return be_fail(err, BE_NO_MEMORY, "no memory for a specimen");
  }
  enum be_status status = find_specimen(out, row.code, &known, err);
  if (status == BE_OK) status = fits_the_book(in, &row, &known, err);
  if (status == BE_OK) status = be_plan_look(in, &out->plans, &known, &row, err);
  if (status == BE_OK) status = be_row_doubt(in, err);
  if (status == BE_OK) status = be_row_read(in, &known, &row, err);
  if (status != BE_OK) return status;
  if (row.corrects) return enter_correction(in, out, &row, &known, err);
  status = write_specimen(in, out, &row, &known.pull, err);
  if (status == BE_OK && row.trace) status = be_trace_of_row(in, &row, known.pull, err);
  if (status == BE_OK) status = write_result(in, out, &row, known.pull, 0, err);
  in->entered->pulls += status == BE_OK;
  return status;
}

static enum be_status prepare(struct entering *in, struct writer *out, struct be_err *err)
{
  sqlite3 *db = in->book->db;
  enum be_status status =
      be_sql_prepare(db,
                     "SELECT pull.id, result.id, knot, line_a, line_b, trace, file, file_line,"
                     " design, knot_b, bench FROM specimen JOIN pull ON pull.specimen = specimen.id"
                     " JOIN result ON result.pull = pull.id WHERE code = ?1 AND NOT EXISTS"
                     " (SELECT 1 FROM result AS later WHERE later.corrects = result.id)",
                     &out->find, err);
  if (status == BE_OK)
    status =
        be_sql_prepare(db,
                       "INSERT INTO specimen (code, design, knot, line_a, line_b, hardware, soak,"
                       " soak_s, speed_m_s, length_m, tyer, lubricant, knot_b" HANDLING_SQL ")"
                       " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12,"
                       " ?13" HANDLING_PARAMETERS ")",
                       &out->specimen, err);
  if (status == BE_OK)
    status = be_sql_prepare(
        db,
        "INSERT INTO pull (specimen, session, place, bench, calibration, zero_before_N,"
        " zero_after_N) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        &out->pull, err);
  if (status == BE_OK)
    status = be_sql_prepare(db,
                            "INSERT INTO result (pull, corrects, why, kind, load_N, load_text,"
                            " load_unit, what, where_, which, reason, note, file, file_line,"
                            " judged_by) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11,"
                            " ?12, ?13, ?14, ?15)",
                            &out->result, err);
  return status == BE_OK ? be_plans_open(&out->plans, in->book, err) : status;
}

/* Fewer are entered in no time: how many files there are says more. */
enum { ROWS_MANY = 1000 };

enum be_status be_enter_pull_rows(struct entering *in, struct be_err *err)
{
  struct writer out = {0};
  enum be_status status = prepare(in, &out, err);
  bool many = in->sheet.rows > ROWS_MANY;
  if (many) be_progress_step("entering", "rows", in->sheet.rows);
  for (in->row = 1; in->row <= in->sheet.rows && status == BE_OK; in->row++) {
    status = be_row_begin(in, err);
    if (status == BE_OK) status = be_row_end(in, enter_row(in, &out, err), err);
    if (many) be_progress_at(in->row);
  }
  sqlite3_finalize(out.find);
  sqlite3_finalize(out.specimen);
  sqlite3_finalize(out.pull);
  sqlite3_finalize(out.result);
  be_plans_close(&out.plans);
  return status;
}
