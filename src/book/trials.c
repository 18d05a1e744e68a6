/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trial sheets: specimens planned before they are pulled; and the plan of a
 * specimen, for the row that tells its pull. */
#include "book/inside.h"

#include <math.h>
#include <string.h>

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

/* ---- the trial that a row names ---- */

static enum be_status make_trial(struct entering *in, const char *name, int64_t *id,
                                 struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db, "INSERT INTO trial (name, file) VALUES (?1, ?2)", &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, name);
  sqlite3_bind_int64(s, 2, in->file);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  if (status != BE_OK) return status;
  *id = sqlite3_last_insert_rowid(in->book->db);
  be_note_here(in, in->sheet.lines[in->row], "new trial \"%s\"", name);
  return BE_OK;
}

enum be_status be_trial_resolve(struct entering *in, int64_t *id, struct be_err *err)
{
  const char *name = text_of(in, FIELD_TRIAL);
  enum be_status status = BE_OK;
  bool found = false;
  if (!name || be_text_same(name, "none")) {
    be_fail(err, BE_BAD_INPUT, "the trial has no name");
    be_fail_remedy(err, "every row of a %s needs one", be_sheet_kind_word(in->fields.kind));
    return be_fail_here(in, FIELD_TRIAL, err);
  }
  if (!in->find_trial)
    status =
        be_sql_prepare(in->book->db, "SELECT id FROM trial WHERE name = ?1", &in->find_trial, err);
  if (status != BE_OK) return status;
  be_bind_text(in->find_trial, 1, name);
  status = be_sql_step(in->find_trial, &found, err);
  if (found) *id = sqlite3_column_int64(in->find_trial, 0);
  sqlite3_reset(in->find_trial);
  return status != BE_OK || found ? status : make_trial(in, name, id, err);
}

enum be_status be_trial_pulled(struct be_book *book, int64_t trial, int64_t *pulled,
                               struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool row = false;
  enum be_status status =
      be_sql_prepare(book->db,
                     "SELECT count(*) FROM planned JOIN specimen ON specimen.code = planned.code"
                     " WHERE trial = ?1",
                     &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, trial);
  status = be_sql_step(s, &row, err);
  *pulled = row ? sqlite3_column_int64(s, 0) : 0;
  sqlite3_finalize(s);
  return status;
}

/* ---- the rows of a trial sheet ---- */

struct planner {
  sqlite3_stmt *planned, *pulled, *place, *add;
  int64_t trial, before;    /* of the row before: how many of its trial were pulled */
  int64_t said[NOTED_MOST]; /* trials of which that was said */
  size_t said_count;
};

static enum be_status find(sqlite3_stmt *s, bool *found, struct be_err *err)
{
  enum be_status status = be_sql_step(s, found, err);
  sqlite3_reset(s);
  return status;
}

/* A code is used once in the whole book, an order once in its trial. */
static enum be_status is_free(struct entering *in, struct planner *out, const struct row *row,
                              int64_t trial, struct be_err *err)
{
  bool planned = false, pulled = false, taken = false;
  be_bind_text(out->planned, 1, row->code);
  be_bind_text(out->pulled, 1, row->code);
  sqlite3_bind_int64(out->place, 1, trial);
  sqlite3_bind_double(out->place, 2, row->order.value);
  enum be_status status = find(out->planned, &planned, err);
  if (status == BE_OK) status = find(out->pulled, &pulled, err);
  if (status == BE_OK) status = find(out->place, &taken, err);
  if (status != BE_OK) return status;
  if (pulled) {
    be_fail(err, BE_BAD_INPUT, "specimen \"%s\" was pulled already", row->code);
    be_fail_remedy(err, "a specimen is planned before its pull; give this one a new code");
    return be_fail_here(in, FIELD_SPECIMEN, err);
  }
  if (planned) {
    be_fail(err, BE_BAD_INPUT, "specimen \"%s\" is planned already", row->code);
    be_fail_remedy(err, "a plan stays as it was entered; give another specimen a new code");
    return be_fail_here(in, FIELD_SPECIMEN, err);
  }
  if (!taken) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "another specimen of the trial has the order %g", row->order.value);
  be_fail_remedy(err, "the order of pulling is over the whole trial: each number once");
  return be_fail_here(in, FIELD_ORDER, err);
}

/* How many specimens of the trial were pulled before this row was planned. */
static enum be_status look_at_trial(struct entering *in, struct planner *out, int64_t trial,
                                    struct be_err *err)
{
  if (trial == out->trial) return BE_OK;
  enum be_status status = be_trial_pulled(in->book, trial, &out->before, err);
  if (status != BE_OK) return status;
  out->trial = trial;
  for (size_t i = 0; i < out->said_count; i++)
    if (out->said[i] == trial) return BE_OK;
  if (!out->before || out->said_count == NOTED_MOST) return BE_OK;
  out->said[out->said_count++] = trial;
  be_note_here(
      in, in->sheet.lines[in->row],
      "specimens are added to trial \"%s\" after %lld pull%s of it; they are kept as planned "
      "later",
      text_of(in, FIELD_TRIAL), (long long)out->before, out->before == 1 ? "" : "s");
  return BE_OK;
}

static void bind_row(struct entering *in, sqlite3_stmt *s, const struct row *row, double block)
{
  be_bind_text(s, 2, row->code);
  be_bind_number(s, 3, row->order.value);
  be_bind_number(s, 4, block);
  be_bind_text(s, 5, be_word_or_null(row->design, be_design_word((enum be_design)row->design)));
  be_bind_id(s, 6, row->knot);
  be_bind_id(s, 7, row->knot_b);
  be_bind_id(s, 8, row->line_a);
  be_bind_id(s, 9, row->line_b);
  be_bind_text(s, 10, row->hardware);
  be_bind_text(s, 11, be_word_or_null(row->soak, be_soak_word((enum be_soak)row->soak)));
  be_bind_number(s, 12, row->soak_s);
  be_bind_number(s, 13, row->speed.value);
  be_bind_number(s, 14, row->length.value);
  be_bind_text(s, 15, row->tyer);
  be_bind_text(s, 16, row->lubricant);
  sqlite3_bind_int64(s, 18, in->file);
  sqlite3_bind_int64(s, 19, (int64_t)in->sheet.lines[in->row]);
  be_handling_bind(s, 20, row->handling);
}

static enum be_status read_row(struct entering *in, struct row *row, double *block,
                               struct be_err *err)
{
  struct be_quantity quantity;
  if (!row->code || be_text_same(row->code, "none")) {
    be_fail(err, BE_BAD_INPUT, "the specimen has no code");
    be_fail_remedy(err, "every row of a trial sheet needs one");
    return be_fail_here(in, FIELD_SPECIMEN, err);
  }
  enum be_status status = be_row_read_planned(in, row, err);
  if (status == BE_OK)
    status = be_field_number(in, FIELD_BLOCK, BE_RATIO, be_unit_si(BE_RATIO), &quantity, err);
  if (status != BE_OK) return status;
  *block = quantity.value;
  if (!isnan(row->order.value)) return BE_OK;
  be_fail(err, BE_BAD_INPUT, "the specimen has no order");
  be_fail_remedy(err, "number the specimens in the order of pulling, over the whole trial");
  return be_fail_here(in, FIELD_ORDER, err);
}

static enum be_status enter_row(struct entering *in, struct planner *out, struct be_err *err)
{
  struct row row = {.code = text_of(in, FIELD_SPECIMEN)};
  int64_t trial = 0;
  double block = NAN;
  enum be_status status = be_trial_resolve(in, &trial, err);
  if (status == BE_OK) status = read_row(in, &row, &block, err);
  if (status == BE_OK) status = is_free(in, out, &row, trial, err);
  if (status == BE_OK) status = look_at_trial(in, out, trial, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(out->add, 1, trial);
  bind_row(in, out->add, &row, block);
  sqlite3_bind_int64(out->add, 17, out->before);
  status = be_sql_step(out->add, NULL, err);
  sqlite3_reset(out->add);
  in->entered->planned += status == BE_OK;
  return status;
}

static enum be_status prepare(struct planner *out, sqlite3 *db, struct be_err *err)
{
  enum be_status status =
      be_sql_prepare(db, "SELECT 1 FROM planned WHERE code = ?1", &out->planned, err);
  if (status == BE_OK)
    status = be_sql_prepare(db, "SELECT 1 FROM specimen WHERE code = ?1", &out->pulled, err);
  if (status == BE_OK)
    status = be_sql_prepare(db, "SELECT 1 FROM planned WHERE trial = ?1 AND place = ?2",
                            &out->place, err);
  if (status == BE_OK)
    status = be_sql_prepare(
        db,
        "INSERT INTO planned (trial, code, place, block, design, knot, knot_b, line_a, line_b,"
        " hardware, soak, soak_s, speed_m_s, length_m, tyer, lubricant, pulled, file,"
        " file_line" HANDLING_SQL ")"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18,"
        " ?19" HANDLING_PARAMETERS ")",
        &out->add, err);
  return status;
}

enum be_status be_enter_trial_rows(struct entering *in, struct be_err *err)
{
  struct planner out = {0};
  enum be_status status = prepare(&out, in->book->db, err);
  for (in->row = 1; in->row <= in->sheet.rows && status == BE_OK; in->row++) {
    status = be_row_begin(in, err);
    if (status == BE_OK) status = be_row_end(in, enter_row(in, &out, err), err);
  }
  sqlite3_finalize(out.planned);
  sqlite3_finalize(out.pulled);
  sqlite3_finalize(out.place);
  sqlite3_finalize(out.add);
  return status;
}

/* ---- the plan of a specimen ---- */

static const char find_plan_sql[] =
    "SELECT trial, knot, knot_b, line_a, line_b, design, soak, soak_s, speed_m_s, length_m,"
    " hardware, tyer, lubricant, a.name, a.spool, b.name,"
    " b.spool" HANDLING_SQL " FROM planned"
    " LEFT JOIN line AS a ON a.id = line_a LEFT JOIN line AS b ON b.id = line_b WHERE code = ?1";

enum be_status be_plans_open(struct plans *plans, struct be_book *book, struct be_err *err)
{
  size_t any = 0;
  *plans = (struct plans){0};
  enum be_status status =
      be_count_rows(book, "SELECT EXISTS (SELECT 1 FROM planned)", 0, &any, err);
  if (status == BE_OK && any) status = be_sql_prepare(book->db, find_plan_sql, &plans->find, err);
  return status;
}

void be_plans_close(struct plans *plans)
{
  sqlite3_finalize(plans->find);
}

static void take_plan(struct rows *rows, struct known *known)
{
  struct pool pools[BE_HANDLINGS] = {0};
  sqlite3_stmt *s = rows->s;
  known->planned = true;
  known->knot = sqlite3_column_int64(s, 1);
  known->knot_b = sqlite3_column_int64(s, 2);
  known->line_a = sqlite3_column_int64(s, 3);
  known->line_b = sqlite3_column_int64(s, 4);
  known->design = be_column_word(rows, 5, WORDS_DESIGN);
  known->soak = be_column_word(rows, 6, WORDS_SOAK);
  known->soak_s = be_column_number(s, 7);
  known->speed_m_s = be_column_number(s, 8);
  known->length_m = be_column_number(s, 9);
  known->hardware = be_column_text(rows, 10);
  known->tyer = be_column_text(rows, 11);
  known->lubricant = be_column_text(rows, 12);
  known->told_a = (struct line_told){be_column_text(rows, 13), be_column_text(rows, 14)};
  known->told_b = (struct line_told){be_column_text(rows, 15), be_column_text(rows, 16)};
  be_handling_columns(rows, 17, pools, known->handling);
}

enum be_status be_plan_look(struct entering *in, struct plans *plans, struct known *known,
                            struct row *row, struct be_err *err)
{
  bool found = false;
  if (!plans->find) return BE_OK;
  struct rows rows = {.s = plans->find, .arena = in->arena};
  be_bind_text(plans->find, 1, row->code);
  enum be_status status = be_sql_step(plans->find, &found, err);
  int64_t trial = found ? sqlite3_column_int64(plans->find, 0) : 0;
  if (found && !known->pull) take_plan(&rows, known);
  sqlite3_reset(plans->find);
  if (status == BE_OK && rows.lost) status = be_fail(err, BE_NO_MEMORY, "no memory for a plan");
  if (status != BE_OK || !found) return status;
  if (trial != plans->trial) status = be_kind_rules(in->book, trial, &plans->rules, err);
  plans->trial = trial;
  row->rules = plans->rules;
  return status;
}
