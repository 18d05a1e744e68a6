/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a pull sheet: specimen, pull and result. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct writer {
  sqlite3_stmt *find, *specimen, *pull, *result;
};

struct row {
  const char *code;
  int design, soak, kind, what, where, which;
  int64_t knot, line_a, line_b;
  double soak_s;
  struct be_quantity load, speed, length, order;
  const char *trace;
};

static const char *text_of(struct entering *in, enum field field)
{
  return be_field_text(&in->sheet, &in->fields, in->row, field);
}

static size_t line_of(const struct entering *in)
{
  return in->sheet.lines[in->row];
}

/* ---- reading a row ---- */

static enum be_status read_word(struct entering *in, enum field field, enum words list, int *value,
                                struct be_err *err)
{
  const char *text = text_of(in, field);
  *value = 0;
  if (!text) return BE_OK;
  *value = be_words_find(list, text);
  if (*value >= 0) return BE_OK;
  char known[300];
  be_words_list(list, known, sizeof known);
  be_fail(err, BE_BAD_INPUT, "\"%s\" is not one of the words for it", text);
  be_fail_remedy(err, "write one of: %s", known);
  return be_fail_here(in, field, err);
}

/* "dry", "soaked", or how long: "120 min"; 0 is dry. */
static enum be_status read_soak(struct entering *in, struct row *row, struct be_err *err)
{
  const char *text = text_of(in, FIELD_SOAK);
  row->soak_s = NAN;
  row->soak = text ? be_words_find(WORDS_SOAK, text) : BE_SOAK_UNKNOWN;
  if (row->soak >= 0) return BE_OK;
  struct be_quantity quantity;
  enum be_status status = be_field_number(in, FIELD_SOAK, BE_TIME, NULL, &quantity, err);
  if (status != BE_OK) return status;
  row->soak_s = quantity.value;
  row->soak = quantity.value > 0 ? BE_SOAK_SOAKED : BE_SOAK_DRY;
  return BE_OK;
}

static bool names_no_knot(const char *text)
{
  return be_text_same(text, "none") || be_text_same(text, "plain line") ||
         be_text_same(text, "plain");
}

static enum be_status read_knot(struct entering *in, struct row *row, struct be_err *err)
{
  const char *name = text_of(in, FIELD_KNOT);
  row->knot = 0;
  if (name && names_no_knot(name)) {
    if (row->design == BE_DESIGN_UNKNOWN) row->design = BE_DESIGN_PLAIN;
    name = NULL;
    if (row->design == BE_DESIGN_PLAIN) return BE_OK;
  }
  if (!name && row->design == BE_DESIGN_PLAIN) return BE_OK;
  if (!name) {
    be_fail(err, BE_BAD_INPUT, "the knot is not named");
    be_fail_remedy(err, "write \"none\" for a plain line");
    return be_fail_here(in, FIELD_KNOT, err);
  }
  if (row->design == BE_DESIGN_PLAIN) {
    be_fail(err, BE_BAD_INPUT, "a plain line has no knot, but \"%s\" is named", name);
    return be_fail_here(in, FIELD_KNOT, err);
  }
  struct knot_named knot = {.name = name, .version = text_of(in, FIELD_VERSION)};
  struct be_quantity turns;
  enum be_status status =
      be_field_number(in, FIELD_TURNS, BE_RATIO, be_unit_si(BE_RATIO), &turns, err);
  if (status != BE_OK) return status;
  knot.turns = turns.value;
  return be_knot_resolve(in, &knot, &row->knot, err);
}

static enum be_status read_numbers(struct entering *in, struct row *row, struct be_err *err)
{
  enum be_status status = be_field_number(in, FIELD_LOAD, BE_FORCE, NULL, &row->load, err);
  if (status == BE_OK)
    status = be_field_number(in, FIELD_SPEED, BE_SPEED, be_unit_find_in(BE_SPEED, "mm/min", 6),
                             &row->speed, err);
  if (status == BE_OK)
    status = be_field_number(in, FIELD_LENGTH, BE_LENGTH, be_unit_find_in(BE_LENGTH, "mm", 2),
                             &row->length, err);
  if (status == BE_OK)
    status = be_field_number(in, FIELD_ORDER, BE_RATIO, be_unit_si(BE_RATIO), &row->order, err);
  if (status != BE_OK) return status;
  if (row->load.value <= 0) {
    be_fail(err, BE_BAD_INPUT, "a load must be above zero");
    return be_fail_here(in, FIELD_LOAD, err);
  }
  return BE_OK;
}

/* Where a sheet does not say: a break clear of the knot, a break at the grip,
 * failed hardware and nothing at all only show that the knot held so much. A
 * plain line may part anywhere but at the grip. (Common practice; no source.) */
static int kind_by_rule(const struct row *row)
{
  bool knotted = row->design != BE_DESIGN_PLAIN;
  if (row->what == BE_WHAT_NOTHING || row->what == BE_WHAT_HARDWARE) return BE_KIND_BOUND;
  if (row->where == BE_WHERE_GRIP) return BE_KIND_BOUND;
  if (row->where == BE_WHERE_CLEAR && knotted) return BE_KIND_BOUND;
  if (row->design == BE_DESIGN_PROOF) return BE_KIND_BOUND;
  return BE_KIND_EVENT;
}

static enum be_status read_result(struct entering *in, struct row *row, struct be_err *err)
{
  enum be_status status = read_word(in, FIELD_RESULT, WORDS_KIND, &row->kind, err);
  if (status == BE_OK) status = read_word(in, FIELD_WHAT, WORDS_WHAT, &row->what, err);
  if (status == BE_OK) status = read_word(in, FIELD_WHERE, WORDS_WHERE, &row->where, err);
  if (status == BE_OK) status = read_word(in, FIELD_WHICH, WORDS_WHICH, &row->which, err);
  if (status != BE_OK) return status;
  bool said = row->kind != BE_KIND_UNKNOWN;
  if (!said) row->kind = kind_by_rule(row);
  if (row->kind == BE_KIND_VOID && !text_of(in, FIELD_REASON)) {
    be_fail(err, BE_BAD_INPUT, "a void needs its reason");
    return be_fail_here(in, FIELD_RESULT, err);
  }
  if (said && row->kind == BE_KIND_EVENT && kind_by_rule(row) == BE_KIND_BOUND)
    be_note_here(in, line_of(in),
                 "taken as an event because the sheet says so; \"%s, %s\" is "
                 "usually a lower bound",
                 be_what_word((enum be_what)row->what), be_where_word((enum be_where)row->where));
  if (isnan(row->load.value) && !row->trace && row->kind != BE_KIND_VOID) {
    be_fail(err, BE_BAD_INPUT, "there is no load");
    be_fail_remedy(err, "give the load or a trace, or make the result void with a reason");
    return be_fail_here(in, FIELD_LOAD, err);
  }
  return BE_OK;
}

static enum be_status read_row(struct entering *in, struct row *row, struct be_err *err)
{
  memset(row, 0, sizeof *row);
  row->code = text_of(in, FIELD_SPECIMEN);
  if (!row->code) {
    const char *slash = strrchr(in->name, '/');
    row->code = be_arena_format(in->arena, "%s:%zu", slash ? slash + 1 : in->name, line_of(in));
    if (!row->code) return be_fail(err, BE_NO_MEMORY, "no memory for a specimen");
  }
  row->trace = text_of(in, FIELD_TRACE);
  if (row->trace && be_text_same(row->trace, "none")) row->trace = NULL;
  enum be_status status = read_word(in, FIELD_DESIGN, WORDS_DESIGN, &row->design, err);
  if (status == BE_OK) status = read_knot(in, row, err);
  if (status == BE_OK) status = read_soak(in, row, err);
  if (status == BE_OK) status = read_numbers(in, row, err);
  if (status == BE_OK) status = read_result(in, row, err);
  if (status == BE_OK) status = be_line_resolve(in, FIELD_LINE_A, FIELD_SPOOL_A, &row->line_a, err);
  if (status == BE_OK) status = be_line_resolve(in, FIELD_LINE_B, FIELD_SPOOL_B, &row->line_b, err);
  if (status == BE_OK && !row->line_a) {
    be_fail(err, BE_BAD_INPUT, "the line is not named");
    be_fail_remedy(err, "every pull needs \"line A\" or \"spool A\"");
    status = be_fail_here(in, FIELD_LINE_A, err);
  }
  return status;
}

/* ---- writing a row ---- */

static void bind_id(sqlite3_stmt *statement, int at, int64_t id)
{
  if (id) sqlite3_bind_int64(statement, at, id);
  else sqlite3_bind_null(statement, at);
}

/* A word of a list; null when it is not recorded. */
static const char *word_or_null(int value, const char *word)
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
               word_or_null(row->design, be_design_word((enum be_design)row->design)));
  bind_id(out->specimen, 3, row->knot);
  bind_id(out->specimen, 4, row->line_a);
  bind_id(out->specimen, 5, row->line_b);
  be_bind_text(out->specimen, 6, text_of(in, FIELD_HARDWARE));
  be_bind_text(out->specimen, 7, word_or_null(row->soak, be_soak_word((enum be_soak)row->soak)));
  be_bind_number(out->specimen, 8, row->soak_s);
  be_bind_number(out->specimen, 9, row->speed.value);
  be_bind_number(out->specimen, 10, row->length.value);
  be_bind_text(out->specimen, 11, text_of(in, FIELD_TYER));
  be_bind_text(out->specimen, 12, text_of(in, FIELD_LUBRICANT));
  enum be_status status = write_once(out->specimen, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(out->pull, 1, sqlite3_last_insert_rowid(in->book->db));
  be_bind_text(out->pull, 2, text_of(in, FIELD_SESSION));
  be_bind_number(out->pull, 3, row->order.value);
  status = write_once(out->pull, err);
  *pull = sqlite3_last_insert_rowid(in->book->db);
  return status;
}

static enum be_status write_result(struct entering *in, struct writer *out, const struct row *row,
                                   int64_t pull, int64_t corrects, struct be_err *err)
{
  sqlite3_stmt *s = out->result;
  bind_id(s, 1, pull);
  bind_id(s, 2, corrects);
  be_bind_text(s, 3, corrects ? text_of(in, FIELD_CORRECTION) : NULL);
  be_bind_text(s, 4, be_kind_word((enum be_kind)row->kind));
  be_bind_number(s, 5, row->load.value);
  be_bind_text(s, 6, isnan(row->load.value) ? NULL : text_of(in, FIELD_LOAD));
  be_bind_text(s, 7, isnan(row->load.value) ? NULL : row->load.unit->name);
  be_bind_text(s, 8, word_or_null(row->what, be_what_word((enum be_what)row->what)));
  be_bind_text(s, 9, word_or_null(row->where, be_where_word((enum be_where)row->where)));
  be_bind_text(s, 10, word_or_null(row->which, be_which_word((enum be_which)row->which)));
  be_bind_text(s, 11, text_of(in, FIELD_REASON));
  be_bind_text(s, 12, text_of(in, FIELD_NOTE));
  sqlite3_bind_int64(s, 13, in->file);
  sqlite3_bind_int64(s, 14, (int64_t)line_of(in));
  return write_once(s, err);
}

/* ---- the trace that a row names ---- */

static void compare_with_typed(struct entering *in, const struct row *row,
                               const struct derived *derived)
{
  if (isnan(row->load.value)) return;
  double apart = derived->rise_N / row->load.value - 1;
  if (apart > 0.02)
    be_note_here(in, line_of(in),
                 "the trace shows %.0f %% more than the load typed; both are kept "
                 "and the typed one is used",
                 100 * apart);
  else if (apart < -0.02)
    be_note_here(in, line_of(in),
                 "the trace shows %.0f %% less than the load typed (a peak hold "
                 "sees more than a stream); both are kept and the typed one is used",
                 -100 * apart);
}

static enum be_status add_named_trace(struct entering *in, struct row *row, int64_t pull,
                                      struct be_err *err)
{
  if (!in->how->fetch) {
    be_fail(err, BE_BAD_INPUT, "the sheet names a trace, and there is no folder to look in");
    return be_fail_here(in, FIELD_TRACE, err);
  }
  struct be_buf bytes;
  be_buf_init(&bytes, BE_BOOK_FILE_MAX);
  enum be_status status = in->how->fetch(in->how->fetch_context, row->trace, &bytes, err);
  struct derived derived;
  if (status == BE_OK) status = be_derive_trace(bytes.data, bytes.size, &derived, err);
  if (status != BE_OK) {
    char why[sizeof err->what] = "";
    if (err) snprintf(why, sizeof why, "%s", err->what);
    size_t line = err ? err->line : 0;
    status = be_fail(err, status == BE_ASK ? BE_BAD_INPUT : status, "trace \"%s\": %.300s",
                     row->trace, why);
    if (line) be_fail_remedy(err, "look at line %zu of the trace", line);
    be_fail_here(in, FIELD_TRACE, err);
  } else {
    status = be_trace_add(in, pull, row->trace, bytes.data, bytes.size, err);
    if (status != BE_OK) be_fail_at(err, in->name, line_of(in), 0);
  }
  be_buf_free(&bytes);
  if (status != BE_OK) return status;
  compare_with_typed(in, row, &derived);
  if (derived.bound && !text_of(in, FIELD_RESULT) && row->kind == BE_KIND_EVENT) {
    row->kind = BE_KIND_BOUND;
    be_note_here(in, line_of(in), "taken as a lower bound: the trace is flagged %s", derived.flags);
  }
  return BE_OK;
}

/* ---- a row, new or a correction ---- */

struct known {
  int64_t pull, result, knot, line_a, line_b, trace; /* 0: none */
};

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
  }
  sqlite3_reset(out->find);
  return status;
}

/* A correction replaces a result. What was tied stays as it was entered, so a
 * row that says otherwise is refused rather than passed over. */
static enum be_status enter_correction(struct entering *in, struct writer *out, struct row *row,
                                       const struct known *known, struct be_err *err)
{
  const struct {
    enum field field;
    bool same;
  } parts[] = {{FIELD_KNOT, row->knot == known->knot},
               {FIELD_LINE_A, row->line_a == known->line_a},
               {FIELD_LINE_B, row->line_b == known->line_b}};
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
    if (!parts[i].same) {
      be_fail(err, BE_BAD_INPUT, "specimen \"%s\" has another %s in the book", row->code,
              be_field_name(parts[i].field));
      be_fail_remedy(err, "a correction replaces the result alone; if the specimen was entered "
                          "wrongly, make the result void and enter it under a new code");
      return be_fail_here(in, parts[i].field, err);
    }
  enum be_status status = BE_OK;
  if (row->trace && !known->trace) status = add_named_trace(in, row, known->pull, err);
  if (status == BE_OK) status = write_result(in, out, row, known->pull, known->result, err);
  in->entered->corrections += status == BE_OK;
  return status;
}

static enum be_status enter_row(struct entering *in, struct writer *out, struct be_err *err)
{
  struct row row;
  struct known known;
  enum be_status status = read_row(in, &row, err);
  if (status == BE_OK) status = find_specimen(out, row.code, &known, err);
  if (status != BE_OK) return status;
  bool correction = text_of(in, FIELD_CORRECTION) != NULL;
  if (known.pull && !correction) {
    be_fail(err, BE_BAD_INPUT, "specimen \"%s\" has its result already", row.code);
    be_fail_remedy(err, "a specimen is pulled once; to correct its result, add a column "
                        "\"correction\" that gives the reason");
    return be_fail_here(in, FIELD_SPECIMEN, err);
  }
  if (!known.pull && correction) {
    be_fail(err, BE_BAD_INPUT, "there is no specimen \"%s\" to correct", row.code);
    return be_fail_here(in, FIELD_SPECIMEN, err);
  }
  if (correction) return enter_correction(in, out, &row, &known, err);
  status = write_specimen(in, out, &row, &known.pull, err);
  if (status == BE_OK && row.trace) status = add_named_trace(in, &row, known.pull, err);
  if (status == BE_OK) status = write_result(in, out, &row, known.pull, 0, err);
  in->entered->pulls += status == BE_OK;
  return status;
}

static enum be_status prepare(struct entering *in, struct writer *out, struct be_err *err)
{
  sqlite3 *db = in->book->db;
  enum be_status status =
      be_sql_prepare(db,
                     "SELECT pull.id, result.id, knot, line_a, line_b, trace FROM specimen JOIN "
                     "pull ON pull.specimen = specimen.id"
                     " JOIN result ON result.pull = pull.id WHERE code = ?1 AND NOT EXISTS"
                     " (SELECT 1 FROM result AS later WHERE later.corrects = result.id)",
                     &out->find, err);
  if (status == BE_OK)
    status =
        be_sql_prepare(db,
                       "INSERT INTO specimen (code, design, knot, line_a, line_b, hardware, soak,"
                       " soak_s, speed_m_s, length_m, tyer, lubricant)"
                       " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
                       &out->specimen, err);
  if (status == BE_OK)
    status = be_sql_prepare(db, "INSERT INTO pull (specimen, session, place) VALUES (?1, ?2, ?3)",
                            &out->pull, err);
  if (status == BE_OK)
    status = be_sql_prepare(db,
                            "INSERT INTO result (pull, corrects, why, kind, load_N, load_text,"
                            " load_unit, what, where_, which, reason, note, file, file_line) VALUES"
                            " (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
                            &out->result, err);
  return status;
}

enum be_status be_enter_pull_rows(struct entering *in, struct be_err *err)
{
  struct writer out = {0};
  enum be_status status = prepare(in, &out, err);
  for (in->row = 1; in->row <= in->sheet.rows && status == BE_OK; in->row++)
    status = enter_row(in, &out, err);
  sqlite3_finalize(out.find);
  sqlite3_finalize(out.specimen);
  sqlite3_finalize(out.pull);
  sqlite3_finalize(out.result);
  return status;
}
