/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The trace of a pull: added, compared with what was typed, and heard on what
 * the result is. */
#include "book/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static enum be_status trace_add(struct entering *in, int64_t pull, const char *name,
                                const char *bytes, size_t size, const struct derived *derived,
                                int64_t *id, struct be_err *err)
{
  bool already = false;
  enum be_status status = be_file_add(in->book, name, "trace", bytes, size, id, &already, err);
  if (status != BE_OK) return status;
  if (already) {
    be_fail(err, BE_BAD_INPUT, "the trace \"%s\" was entered before, for another specimen", name);
    return be_fail_remedy(err, "check that each specimen names its own trace");
  }
  status = be_derived_keep(in->book, *id, derived, err);
  if (status == BE_OK && derived->layout)
    status = be_layout_keep(in->book, *id, derived->layout, err);
  if (status != BE_OK) return status;
  sqlite3_stmt *statement = NULL;
  status = be_sql_prepare(
      in->book->db, "UPDATE pull SET trace = ?2 WHERE id = ?1 AND trace IS NULL", &statement, err);
  if (status == BE_OK) {
    sqlite3_bind_int64(statement, 1, pull);
    sqlite3_bind_int64(statement, 2, *id);
    status = be_sql_step(statement, NULL, err);
  }
  sqlite3_finalize(statement);
  in->entered->traces += status == BE_OK;
  return status;
}

/* ---- what a trace says of its result ---- */

static void compare_with_typed(struct entering *in, size_t line, double load_N,
                               const struct derived *derived)
{
  double apart = derived->rise_N / load_N - 1;
  if (derived->unit_guessed)
    be_note_here(in, line,
                 "the trace names no unit of force; its numbers were taken for newtons, and the "
                 "load typed is used");
  else if (apart > 0.02)
    be_note_here(in, line,
                 "the trace shows %.0f %% more than the load typed; both are kept "
                 "and the typed one is used",
                 100 * apart);
  else if (apart < -0.02)
    be_note_here(in, line,
                 "the trace shows %.0f %% less than the load typed (a peak hold "
                 "sees more than a stream); both are kept and the typed one is used",
                 -100 * apart);
}

/* The load comes from the trace: may it? */
static enum be_status accept_load(const struct derived *derived, struct be_err *err)
{
  if (derived->unit_guessed) {
    be_fail(err, BE_BAD_INPUT, "the trace names no unit of force");
    return be_fail_remedy(err, "give it a header such as \"load (N)\", or type the load");
  }
  return be_load_possible(derived->rise_N, err);
}

static void note_doubts(struct entering *in, size_t line, const struct derived *derived)
{
  if (derived->end_unseen)
    be_note_here(in, line,
                 "the end of the pull is not in the trace; look at it, and state the "
                 "result or the load");
  if (derived->faint)
    be_note_here(in, line,
                 "the highest load of the trace is less than 10 times its noise; look "
                 "at it, and state the result or the load");
}

/* A knot that slips out slowly, or a line that parts after a hold, can look in a trace like a
 * pull that was let down. */
static bool was_seen_to_go(const struct row *row)
{
  return row->what == BE_WHAT_BROKE || row->what == BE_WHAT_SLIPPED_OUT ||
         row->what == BE_WHAT_SLIPPED_BROKE || row->what == BE_WHAT_STRAND;
}

static enum be_status judge(struct entering *in, struct row *row, const struct derived *derived,
                            struct be_err *err)
{
  size_t line = in->sheet.lines[in->row];
  bool said = be_field_text(&in->sheet, &in->fields, in->row, FIELD_RESULT) != NULL;
  if (!isnan(row->load.value)) {
    compare_with_typed(in, line, row->load.value, derived);
  } else if (row->kind != BE_KIND_VOID) {
    enum be_status status = accept_load(derived, err);
    if (status != BE_OK) return be_fail_here(in, FIELD_TRACE, err);
    if (!said) note_doubts(in, line, derived);
  }
  if (derived->nothing_let_go && !said && row->kind == BE_KIND_EVENT && was_seen_to_go(row)) {
    be_note_here(in, line, "%s, but the sheet says \"%s\": taken as an event", derived->why_bound,
                 be_what_word((enum be_what)row->what));
  } else if (derived->bound && !said && row->kind == BE_KIND_EVENT) {
    row->kind = BE_KIND_BOUND;
    if (!row->reason) row->reason = derived->why_bound;
    be_note_here(in, line, "taken as a lower bound: %s%s%s%s", derived->why_bound,
                 derived->flags[0] ? " (flagged " : "", derived->flags,
                 derived->flags[0] ? ")" : "");
  }
  return BE_OK;
}

/* ---- the trace that a row names ---- */

static enum be_status bad_trace(struct entering *in, const struct row *row, enum be_status status,
                                struct be_err *err)
{
  char why[400] = "", remedy[400] = "";
  size_t line = err ? err->line : 0;
  if (err) snprintf(why, sizeof why, "%s", err->what);
  if (err) snprintf(remedy, sizeof remedy, "%s", err->remedy);
  be_fail(err, status == BE_ASK ? BE_BAD_INPUT : status, "trace \"%s\": %.300s", row->trace, why);
  if (line) be_fail_remedy(err, "look at line %zu of the trace", line);
  else if (*remedy) be_fail_remedy(err, "%s", remedy);
  be_fail_here(in, FIELD_TRACE, err);
  return status == BE_ASK ? BE_BAD_INPUT : status;
}

enum be_status be_trace_of_row(struct entering *in, struct row *row, int64_t pull,
                               struct be_err *err)
{
  if (!in->how->fetch) {
    be_fail(err, BE_BAD_INPUT, "the sheet names a trace, and there is no folder to look in");
    be_fail_remedy(err, "enter the sheet as a file that lies beside its traces");
    return be_fail_here(in, FIELD_TRACE, err);
  }
  struct be_buf bytes;
  struct derived derived;
  int64_t id = 0;
  be_buf_init(&bytes, BE_BOOK_FILE_MAX);
  enum be_status status = in->how->fetch(in->how->fetch_context, row->trace, &bytes, err);
  if (status == BE_OK) status = be_derive_new(in, bytes.data, bytes.size, &derived, err);
  if (status != BE_OK) {
    status = bad_trace(in, row, status, err);
  } else {
    status = trace_add(in, pull, row->trace, bytes.data, bytes.size, &derived, &id, err);
    if (status != BE_OK) be_fail_at(err, in->name, in->sheet.lines[in->row], 0);
  }
  be_buf_free(&bytes);
  return status == BE_OK ? judge(in, row, &derived, err) : status;
}

enum be_status be_trace_again(struct entering *in, struct row *row, int64_t trace,
                              struct be_err *err)
{
  struct derived derived;
  enum be_status status = be_derive_file(in->book, trace, &derived, err);
  return status == BE_OK ? judge(in, row, &derived, err) : status;
}

/* ---- a trace on its own ---- */

struct owner {
  int64_t pull;
  bool has_trace;
  double load_N; /* typed; not-a-number: void */
};

static enum be_status find_owner(struct entering *in, const char *code, struct owner *owner,
                                 struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status = be_sql_prepare(in->book->db,
                                         "SELECT pull.id, pull.trace, load_N FROM pull"
                                         " JOIN specimen ON specimen.id = specimen"
                                         " JOIN result ON result.pull = pull.id WHERE code = ?1"
                                         " ORDER BY result.id DESC LIMIT 1",
                                         &s, err);
  if (status != BE_OK) return status;
  be_bind_text(s, 1, code);
  bool row = false;
  status = be_sql_step(s, &row, err);
  *owner = (struct owner){.load_N = NAN};
  if (row) {
    owner->pull = sqlite3_column_int64(s, 0);
    owner->has_trace = sqlite3_column_type(s, 1) != SQLITE_NULL;
    if (sqlite3_column_type(s, 2) != SQLITE_NULL) owner->load_N = sqlite3_column_double(s, 2);
  }
  sqlite3_finalize(s);
  return status;
}

/* "S17.csv.gz" is the trace of S17. */
static void drop_endings(char *code)
{
  char *dot = strrchr(code, '.');
  if (dot && (be_text_same(dot, ".gz") || be_text_same(dot, ".zst"))) *dot = '\0';
  dot = strrchr(code, '.');
  if (dot) *dot = '\0';
}

/* It belongs to the specimen whose code is its name. */
enum be_status be_enter_trace(struct entering *in, const char *bytes, size_t size,
                              const struct derived *derived, struct be_err *err)
{
  char code[256];
  const char *said = in->how->specimen, *slash = strrchr(in->name, '/');
  snprintf(code, sizeof code, "%s", said ? said : slash ? slash + 1 : in->name);
  if (!said) drop_endings(code);
  struct owner owner;
  enum be_status status = find_owner(in, code, &owner, err);
  if (status != BE_OK) return status;
  if (!owner.pull) {
    be_fail(err, BE_BAD_INPUT, "this is a trace, and no specimen has the code \"%s\"", code);
    return be_fail_remedy(err, "enter its pull sheet first, or say --specimen CODE");
  }
  if (owner.has_trace) {
    be_fail(err, BE_BAD_INPUT, "specimen \"%s\" has a trace already", code);
    return be_fail_remedy(err, "a specimen is pulled once; say --specimen CODE if this trace is "
                               "of another");
  }
  in->entered->kind = "trace";
  status = trace_add(in, owner.pull, in->name, bytes, size, derived, &in->file, err);
  if (status == BE_OK && !isnan(owner.load_N)) compare_with_typed(in, 0, owner.load_N, derived);
  return status;
}
