/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Entering one file is one transaction: all of it, or nothing; or it is part of one that is open.
 */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

static enum be_status find_file(struct be_book *book, const char *hex, int64_t *id, bool *found,
                                struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status =
      be_sql_prepare(book->db, "SELECT id FROM file WHERE sha256 = ?1", &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, hex);
  status = be_sql_step(statement, found, err);
  if (status == BE_OK && *found) *id = sqlite3_column_int64(statement, 0);
  sqlite3_finalize(statement);
  return status;
}

enum be_status be_file_add(struct be_book *book, const char *name, const char *kind,
                           const char *bytes, size_t size, int64_t *id, bool *already,
                           struct be_err *err)
{
  char hex[65], now[32];
  be_sha256_hex(bytes, size, hex);
  enum be_status status = find_file(book, hex, id, already, err);
  if (status != BE_OK || *already) return status;
  sqlite3_stmt *statement = NULL;
  status = be_sql_prepare(book->db,
                          "INSERT INTO file (name, kind, sha256, bytes, entered_at)"
                          " VALUES (?1, ?2, ?3, ?4, ?5)",
                          &statement, err);
  if (status != BE_OK) return status;
  be_now(now);
  be_bind_text(statement, 1, name);
  be_bind_text(statement, 2, kind);
  be_bind_text(statement, 3, hex);
  sqlite3_bind_blob64(statement, 4, bytes, size, SQLITE_STATIC);
  be_bind_text(statement, 5, now);
  status = be_sql_step(statement, NULL, err);
  sqlite3_finalize(statement);
  if (status == BE_OK) *id = sqlite3_last_insert_rowid(book->db);
  return status;
}

/* ---- mappings ---- */

static enum be_status mapping_load(struct be_book *book, const char *name, struct be_arena *arena,
                                   const char **rules, struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status =
      be_sql_prepare(book->db, "SELECT rules FROM mapping WHERE name = ?1", &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, name);
  bool row = false;
  status = be_sql_step(statement, &row, err);
  if (status == BE_OK && row) {
    const char *text = (const char *)sqlite3_column_text(statement, 0);
    *rules = text ? be_arena_text(arena, text, strlen(text)) : NULL;
    if (!*rules) status = be_fail(err, BE_NO_MEMORY, "no memory for a mapping");
  } else if (status == BE_OK) {
    be_fail(err, BE_WRONG_USE, "the book has no mapping called \"%.80s\"", name);
    be_fail_remedy(err, "--mappings lists those it has; --save-mapping keeps one");
    status = BE_WRONG_USE;
  }
  sqlite3_finalize(statement);
  return status;
}

static enum be_status mapping_save(struct be_book *book, const char *name, const char *rules,
                                   struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status = be_sql_prepare(
      book->db, "INSERT OR REPLACE INTO mapping (name, rules) VALUES (?1, ?2)", &statement, err);
  if (status != BE_OK) return status;
  be_bind_text(statement, 1, name);
  be_bind_text(statement, 2, rules);
  status = be_sql_step(statement, NULL, err);
  sqlite3_finalize(statement);
  return status;
}

/* The saved rules come first, so that rules given now add to them. */
static enum be_status mapping_find(struct entering *in, const char **rules, struct be_err *err)
{
  const char *saved = NULL;
  *rules = in->how->mapping;
  if (!in->how->mapping_of) return BE_OK;
  enum be_status status = mapping_load(in->book, in->how->mapping_of, in->arena, &saved, err);
  if (status != BE_OK) return status;
  if (*rules) saved = be_arena_format(in->arena, "%s\n%s", saved, *rules);
  if (!saved) return be_fail(err, BE_NO_MEMORY, "no memory for a mapping");
  *rules = saved;
  return BE_OK;
}

/* ---- one file ---- */

static enum be_status enter_row(struct entering *in, struct be_err *err)
{
  switch (in->fields.kind) {
  case SHEET_LINES: return be_enter_line_row(in, err);
  case SHEET_KNOTS: return be_enter_knot_row(in, err);
  case SHEET_EVIDENCE: return be_enter_evidence_row(in, err);
  case SHEET_WEIGHTS: return be_enter_weight_row(in, err);
  default: return be_enter_bench_row(in, err);
  }
}

/* Rules and calibrations stand and fall as a sheet. */
static enum be_status enter_whole(struct entering *in, struct be_err *err)
{
  enum be_status status = be_row_begin(in, err);
  if (status != BE_OK) return status;
  status = in->fields.kind == SHEET_RULES ? be_enter_rule_rows(in, err)
                                          : be_enter_calibration_rows(in, err);
  return be_row_end(in, status, err);
}

static enum be_status enter_rows(struct entering *in, struct be_err *err)
{
  enum sheet_kind kind = in->fields.kind;
  if (kind == SHEET_PULLS) return be_enter_pull_rows(in, err);
  if (kind == SHEET_TRIALS) return be_enter_trial_rows(in, err);
  if (kind == SHEET_RULES || kind == SHEET_CALIBRATIONS) return enter_whole(in, err);
  enum be_status status = BE_OK;
  for (in->row = 1; in->row <= in->sheet.rows && status == BE_OK; in->row++) {
    status = be_row_begin(in, err);
    if (status == BE_OK) status = be_row_end(in, enter_row(in, err), err);
  }
  return status;
}

/* How the file was read, so that check can read it again. */
static enum be_status keep_entered(struct entering *in, const char *rules, struct be_err *err)
{
  const struct be_entering *how = in->how;
  char mark[2] = {how->decimal, '\0'};
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(in->book->db,
                     "INSERT INTO entered (file, mapping, save_as, decimal_mark, specimen, made_by)"
                     " VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                     &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, in->file);
  be_bind_text(s, 2, rules);
  be_bind_text(s, 3, rules ? how->save_as : NULL);
  be_bind_text(s, 4, *mark ? mark : NULL);
  be_bind_text(s, 5, how->specimen);
  be_bind_text(s, 6, BE_VERSION);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  return status;
}

static enum be_status enter_sheet(struct entering *in, const char *rules, const char *bytes,
                                  size_t size, struct be_err *err)
{
  bool already = false;
  in->entered->kind = be_sheet_kind_word(in->fields.kind);
  in->entered->rows = in->sheet.rows;
  size_t passed = in->fields.passed_over;
  if (in->sheet.titles)
    be_note_here(in, in->sheet.lines[0], "taken for the header; what stands above it is a title");
  if (in->fields.unit_line)
    be_note_here(in, in->fields.unit_line, "taken for the units of the columns");
  if (in->fields.headers)
    be_note_here(in, 0, "headers that stand there again, passed over: %zu", in->fields.headers);
  if (in->fields.titled >= 0)
    be_note_here(in, 0, "rows of one cell are titles of what is below: %zu, telling %s",
                 in->fields.titles, be_field_name((enum field)in->fields.titled));
  if (in->sheet.spread)
    be_note_here(in, 0, "a pull for each load: %zu; cells without one: %zu", in->sheet.rows,
                 in->fields.empty);
  if (passed)
    be_note_here(in, 0, "%zu row%s passed over, as the rules say", passed,
                 passed == 1 ? " was" : "s were");
  if (in->fields.idle_rule)
    be_note_here(in, 0, "the rule \"%s\" met no row that it could pass over", in->fields.idle_rule);
  enum be_status status =
      be_file_add(in->book, in->name, in->entered->kind, bytes, size, &in->file, &already, err);
  if (status == BE_OK && in->how->save_as && rules)
    status = mapping_save(in->book, in->how->save_as, rules, err);
  if (status == BE_OK) status = keep_entered(in, rules, err);
  if (status == BE_OK && in->preview) status = be_preview_columns(in, err);
  return status == BE_OK ? enter_rows(in, err) : status;
}

static enum be_status enter_alone(struct entering *in, const char *bytes, size_t size,
                                  const struct derived *derived, struct be_err *err)
{
  enum be_status status = be_enter_trace(in, bytes, size, derived, err);
  return status == BE_OK ? keep_entered(in, NULL, err) : status;
}

static enum be_status enter_picture(struct entering *in, const char *bytes, size_t size,
                                    struct be_err *err)
{
  enum be_status status = be_picture_enter(in, bytes, size, err);
  return status == BE_OK ? keep_entered(in, NULL, err) : status;
}

/* A trace that can be read two ways: what was answered once is kept in a saved layout. */
static enum be_status ask_for_layout(const struct be_err *asked, struct be_err *err)
{
  if (err) *err = *asked;
  be_fail_remedy(err,
                 "%.250s; settle it with `bitterend read` and --keep-layout, then enter the "
                 "trace again",
                 asked->remedy);
  return BE_ASK;
}

static enum be_status enter_inside(struct entering *in, const char *bytes, size_t size,
                                   struct be_err *err)
{
  char hex[65];
  int64_t id;
  be_sha256_hex(bytes, size, hex);
  enum be_status status = find_file(in->book, hex, &id, &in->entered->already, err);
  if (status != BE_OK || in->entered->already) return status;
  if (be_picture_kind(bytes, size) != PICTURE_NONE) return enter_picture(in, bytes, size, err);
  const char *given = NULL;
  status = mapping_find(in, &given, err);
  if (status != BE_OK) return status;
  const char *rules = given;
  struct be_err as_sheet = {0};
  status = be_sheet_read(bytes, size, in->arena, &in->sheet, &as_sheet);
  bool cells = status == BE_OK;
  if (cells) status = be_fields_resolve(&in->sheet, &rules, in->arena, &in->fields, &as_sheet);
  if (status == BE_OK && given && !rules && in->how->rules_bind)
    return be_fields_find(&in->sheet, given, in->arena, &in->fields, err);
  if (status == BE_OK && given && !rules)
    be_note_here(in, 0,
                 "the rules name columns that this sheet lacks; its header says all, and it "
                 "was entered without them");
  if (status == BE_OK) return enter_sheet(in, rules, bytes, size, err);
  /* Not a sheet: a trace, unless rules that fit or the header say that a sheet was meant. */
  struct derived derived;
  bool of_pulls = in->fields.of_pulls && !in->how->like; /* a book may have it as a trace */
  bool perhaps = (!rules || !cells || in->fields.rule_missed) && !of_pulls;
  if (perhaps && (status == BE_BAD_INPUT || status == BE_WRONG_USE)) {
    struct be_err asked = {0};
    enum be_status as_trace = be_derive_new(in, bytes, size, &derived, &asked);
    if (as_trace == BE_NO_MEMORY && err) *err = asked;
    if (as_trace == BE_OK) return enter_alone(in, bytes, size, &derived, err);
    if (as_trace == BE_NO_MEMORY) return as_trace;
    if (as_trace == BE_ASK) return ask_for_layout(&asked, err);
  }
  if (err) *err = as_sheet;
  return status;
}

enum be_status be_enter_file(struct entering *in, const char *bytes, size_t size,
                             struct be_err *err)
{
  enum be_status status = enter_inside(in, bytes, size, err);
  sqlite3_finalize(in->find_line);
  sqlite3_finalize(in->find_knot);
  sqlite3_finalize(in->find_bench);
  sqlite3_finalize(in->find_trial);
  return status;
}

const char *be_book_kind(const char *bytes, size_t size, const char *mapping)
{
  if (be_picture_kind(bytes, size) != PICTURE_NONE) return "picture";
  struct be_arena *arena = be_arena_create();
  struct sheet sheet;
  struct fields fields;
  const char *kind = "trace";
  if (arena && be_sheet_read(bytes, size, arena, &sheet, NULL) == BE_OK &&
      be_fields_resolve(&sheet, &mapping, arena, &fields, NULL) == BE_OK)
    kind = be_sheet_kind_word(fields.kind);
  be_arena_free(arena);
  return kind;
}

const char *be_book_kind_of(struct be_book *book, const char *bytes, size_t size,
                            const struct be_entering *how)
{
  struct be_arena *arena = be_arena_create();
  struct entering in = {.book = book, .how = how, .arena = arena};
  const char *rules = NULL, *kind = "trace";
  if (arena && mapping_find(&in, &rules, NULL) == BE_OK) kind = be_book_kind(bytes, size, rules);
  be_arena_free(arena);
  return kind;
}

bool be_book_rules_fit(struct be_book *book, const char *bytes, size_t size,
                       const struct be_entering *how)
{
  struct be_arena *arena = be_arena_create();
  struct entering in = {.book = book, .how = how, .arena = arena};
  const char *rules = NULL;
  bool fit = arena && mapping_find(&in, &rules, NULL) == BE_OK && rules &&
             be_sheet_read(bytes, size, arena, &in.sheet, NULL) == BE_OK &&
             be_fields_find(&in.sheet, rules, arena, &in.fields, NULL) == BE_OK;
  be_arena_free(arena);
  return fit;
}

enum be_status be_book_enter(struct be_book *book, const char *name, const char *bytes, size_t size,
                             const struct be_entering *how, struct be_arena *arena,
                             struct be_entered *entered, struct be_err *err)
{
  struct entering in = {.book = book, .how = how, .arena = arena, .entered = entered, .name = name};
  memset(entered, 0, sizeof *entered);
  entered->kind = "file";
  bool alone = !be_sql_is_open(book);
  enum be_status status = alone ? be_sql_run(book->db, "BEGIN IMMEDIATE", err) : BE_OK;
  if (status != BE_OK) return be_fail_at(err, book->path, 0, 0), status;
  status = be_enter_file(&in, bytes, size, err);
  if (status == BE_OK && alone) status = be_sql_run(book->db, "COMMIT", err);
  if (status != BE_OK) {
    if (alone) be_sql_rollback(book);
    if (err && !err->file[0]) be_fail_at(err, name, 0, 0);
    return status;
  }
  return BE_OK;
}
