/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A file as it would be entered. Each row is entered behind a savepoint of its own: one that does
 * not fit is noted and taken back, so that the next is looked at as well; in the end all is. */
#include "book/inside.h"

#include <string.h>

enum be_status be_preview_begin(struct be_book *book, struct be_err *err)
{
  enum be_status status = be_sql_run(book->db, "BEGIN IMMEDIATE", err);
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}

void be_preview_end(struct be_book *book)
{
  be_sql_rollback(book);
}

/* ---- rows ---- */

enum be_status be_row_begin(struct entering *in, struct be_err *err)
{
  if (!in->preview) return BE_OK;
  in->before = *in->entered;
  return be_sql_run(in->book->db, "SAVEPOINT row_looked_at", err);
}

static enum be_status keep_misfit(struct entering *in, const struct be_err *why, struct be_err *err)
{
  struct be_preview *preview = in->preview;
  if (preview->misfits_count++ >= BE_MISFITS_MAX) return BE_OK;
  struct be_misfit *misfit = &preview->misfits[preview->misfits_count - 1];
  const char *written = why->column && why->line == in->sheet.lines[in->row]
                            ? be_sheet_cell(&in->sheet, in->row, why->column - 1)
                            : "";
  *misfit =
      (struct be_misfit){.line = why->line ? why->line : in->sheet.lines[in->row],
                         .column = why->column,
                         .head = why->column ? be_sheet_cell(&in->sheet, 0, why->column - 1) : "",
                         .written = be_arena_text(in->arena, written, strlen(written)),
                         .what = be_arena_text(in->arena, why->what, strlen(why->what)),
                         .remedy = be_arena_text(in->arena, why->remedy, strlen(why->remedy))};
  if (misfit->written && misfit->what && misfit->remedy) return BE_OK;
  return be_fail(err, BE_NO_MEMORY, "no memory for a row that does not fit");
}

static bool is_misfit(enum be_status status)
{
  return status == BE_BAD_INPUT || status == BE_WRONG_USE || status == BE_ASK ||
         status == BE_TOO_LARGE;
}

enum be_status be_row_end(struct entering *in, enum be_status status, struct be_err *err)
{
  if (!in->preview) return status;
  if (status == BE_OK) return be_sql_run(in->book->db, "RELEASE row_looked_at", err);
  if (!is_misfit(status)) return status;
  const struct be_err why = *err;
  *in->entered = in->before;
  *err = (struct be_err){0};
  status = be_sql_run(in->book->db, "ROLLBACK TO row_looked_at; RELEASE row_looked_at", err);
  return status == BE_OK ? keep_misfit(in, &why, err) : status;
}

/* ---- columns ---- */

static void add_meaning(struct entering *in, enum field field)
{
  struct be_preview *preview = in->preview;
  int column = in->fields.column[field];
  const struct be_unit *unit = in->fields.unit[field];
  struct be_meaning *meaning = &preview->meanings[preview->meanings_count++];
  *meaning = (struct be_meaning){.field = be_field_name(field),
                                 .constant = column < 0 ? in->fields.constant[field] : NULL,
                                 .unit = unit ? unit->name : NULL};
  bool titled = in->fields.titled == (int)field;
  if (column < 0 && !titled) return;
  if (column >= 0) meaning->column = be_sheet_cell(&in->sheet, 0, (size_t)column);
  if (field == FIELD_LOAD && in->sheet.spread)
    meaning->last = be_sheet_cell(&in->sheet, 0, (size_t)in->fields.spread_last);
  for (size_t row = 1; row <= in->sheet.rows; row++)
    meaning->told += be_field_text(&in->sheet, &in->fields, row, field) != NULL;
  meaning->silent = in->sheet.rows - meaning->told;
}

enum be_status be_preview_columns(struct entering *in, struct be_err *err)
{
  struct be_preview *preview = in->preview;
  preview->meanings = be_arena_alloc(in->arena, FIELDS * sizeof *preview->meanings);
  preview->silent = be_arena_alloc(in->arena, FIELDS * sizeof *preview->silent);
  if (!preview->meanings || !preview->silent)
    return be_fail(err, BE_NO_MEMORY, "no memory for the columns of a sheet");
  preview->by_row = in->fields.kind != SHEET_RULES && in->fields.kind != SHEET_CALIBRATIONS;
  for (int i = 0; i < FIELDS; i++) {
    enum field field = (enum field)i;
    if (in->fields.column[field] >= 0 || in->fields.constant[field] || in->fields.titled == i)
      add_meaning(in, field);
    else if (be_field_fits(in->fields.kind, field))
      preview->silent[preview->silent_count++] = be_field_name(field);
  }
  return BE_OK;
}

/* ---- the file ---- */

enum be_status be_book_preview(struct be_book *book, const char *name, const char *bytes,
                               size_t size, const struct be_entering *how, struct be_arena *arena,
                               struct be_preview *preview, struct be_err *err)
{
  struct be_err own = {0};
  struct entering in = {.book = book,
                        .how = how,
                        .arena = arena,
                        .entered = &preview->entered,
                        .name = name,
                        .preview = preview};
  *preview = (struct be_preview){.entered.kind = "file"};
  preview->misfits = be_arena_alloc(arena, BE_MISFITS_MAX * sizeof *preview->misfits);
  if (!preview->misfits) return be_fail(err, BE_NO_MEMORY, "no memory for a look at a file");
  enum be_status status = be_sql_run(book->db, "SAVEPOINT file_looked_at", &own);
  if (status == BE_OK) status = be_enter_file(&in, bytes, size, &own);
  if (status == BE_OK) status = be_sql_run(book->db, "RELEASE file_looked_at", &own);
  if (status != BE_OK && !own.file[0]) be_fail_at(&own, name, 0, 0);
  if (status != BE_OK && err) *err = own;
  return status;
}
