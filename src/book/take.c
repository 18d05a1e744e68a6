/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files of another book, entered as they were there. They are put into a book in memory first,
 * as its own; that is then entered again, as the check does, and the moments are told after. */
#include "book/inside.h"

#include <string.h>

enum be_status be_book_begin(struct be_book *book, struct be_err *err)
{
  enum be_status status = be_sql_run(book->db, "BEGIN IMMEDIATE", err);
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}

enum be_status be_book_end(struct be_book *book, enum be_status status, struct be_err *err)
{
  if (status == BE_OK) {
    status = be_sql_run(book->db, "COMMIT", err);
    if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  }
  if (status != BE_OK) be_sql_rollback(book);
  return status;
}

/* ---- the book in memory ---- */

struct staging {
  struct be_book *book;
  sqlite3_stmt *file, *entered, *layout;
};

static enum be_status run(sqlite3_stmt *s, struct be_err *err)
{
  enum be_status status = be_sql_step(s, NULL, err);
  sqlite3_reset(s);
  return status;
}

static enum be_status stage_one(struct staging *out, const struct be_held_file *file,
                                const struct be_buf *bytes, struct be_err *err)
{
  char hex[65];
  be_sha256_hex(bytes->data ? bytes->data : "", bytes->size, hex);
  sqlite3_bind_int64(out->file, 1, file->id);
  be_bind_text(out->file, 2, file->name);
  be_bind_text(out->file, 3, file->kind);
  be_bind_text(out->file, 4, hex);
  sqlite3_bind_blob64(out->file, 5, bytes->data ? bytes->data : "", bytes->size, SQLITE_STATIC);
  be_bind_text(out->file, 6, file->entered_at);
  enum be_status status = run(out->file, err);
  if (status == BE_OK && file->alone) {
    sqlite3_bind_int64(out->entered, 1, file->id);
    be_bind_text(out->entered, 2, file->mapping);
    be_bind_text(out->entered, 3, file->save_as);
    be_bind_text(out->entered, 4, file->decimal);
    be_bind_text(out->entered, 5, file->specimen);
    be_bind_text(out->entered, 6, file->made_by ? file->made_by : BE_VERSION);
    status = run(out->entered, err);
  }
  if (status != BE_OK || !file->layout) return status;
  sqlite3_bind_int64(out->layout, 1, file->id);
  be_bind_text(out->layout, 2, file->layout);
  return run(out->layout, err);
}

static enum be_status prepare(struct staging *out, struct be_err *err)
{
  sqlite3 *db = out->book->db;
  enum be_status status =
      be_sql_prepare(db,
                     "INSERT INTO file (id, name, kind, sha256, bytes, entered_at)"
                     " VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                     &out->file, err);
  if (status == BE_OK)
    status = be_sql_prepare(db,
                            "INSERT INTO entered (file, mapping, save_as, decimal_mark, specimen,"
                            " made_by) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                            &out->entered, err);
  if (status == BE_OK)
    status =
        be_sql_prepare(db, "INSERT INTO layout (file, text) VALUES (?1, ?2)", &out->layout, err);
  return status;
}

static enum be_status stage(struct staging *out, const struct be_held_file *files, size_t count,
                            be_held_bytes *bytes, void *context, struct be_err *err)
{
  enum be_status status = prepare(out, err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    struct be_buf buf;
    be_buf_init(&buf, BE_BOOK_FILE_MAX);
    status = bytes(context, i, &buf, err);
    if (status == BE_OK) status = stage_one(out, &files[i], &buf, err);
    if (status == BE_FAILED) be_fail_at(err, files[i].name, 0, 0);
    be_buf_free(&buf);
  }
  sqlite3_finalize(out->file);
  sqlite3_finalize(out->entered);
  sqlite3_finalize(out->layout);
  return status;
}

/* ---- the moments ---- */

static enum be_status out_of_order(const struct be_held_file *file, struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "file \"%.100s\" did not come out in its place", file->name);
  return be_fail_remedy(err, "the list of files is not that of a book: take it as it was written");
}

static enum be_status tell_moments(struct be_book *book, const struct be_held_file *files,
                                   size_t count, struct be_err *err)
{
  sqlite3_stmt *file = NULL, *by = NULL;
  enum be_status status = be_sql_prepare(
      book->db, "UPDATE file SET entered_at = ?2 WHERE id = ?1 AND sha256 = ?3 AND kind = ?4",
      &file, err);
  if (status == BE_OK)
    status = be_sql_prepare(book->db, "UPDATE entered SET made_by = ?2 WHERE file = ?1", &by, err);
  for (size_t i = 0; i < count && status == BE_OK; i++) {
    sqlite3_bind_int64(file, 1, files[i].id);
    be_bind_text(file, 2, files[i].entered_at);
    be_bind_text(file, 3, files[i].sha256);
    be_bind_text(file, 4, files[i].kind);
    status = run(file, err);
    if (status == BE_OK && sqlite3_changes(book->db) != 1) status = out_of_order(&files[i], err);
    if (status != BE_OK || !files[i].alone || !files[i].made_by) continue;
    sqlite3_bind_int64(by, 1, files[i].id);
    be_bind_text(by, 2, files[i].made_by);
    status = run(by, err);
  }
  sqlite3_finalize(file);
  sqlite3_finalize(by);
  return status;
}

/* ---- taking ---- */

static enum be_status expect_empty(struct be_book *book, struct be_err *err)
{
  size_t held = 0;
  enum be_status status = be_count_rows(book, "SELECT count(*) FROM file", 0, &held, err);
  if (status != BE_OK || held == 0) return status;
  be_fail(err, BE_WRONG_USE, "the book holds %zu file%s already, and a package makes a whole book",
          held, held == 1 ? "" : "s");
  be_fail_at(err, book->path, 0, 0);
  return be_fail_remedy(err, "start a new one with `bitterend new`, enter the package there, and "
                             "bring the two together with `bitterend merge`");
}

/* What was refused there is refused here as bad input: the answer is not "no". */
static enum be_status as_input(enum be_status status, struct be_err *err)
{
  if (status != BE_NO) return status;
  if (err) err->status = BE_BAD_INPUT;
  be_fail_remedy(err, "the files are not those of a book that this version wrote or can read");
  return BE_BAD_INPUT;
}

enum be_status be_book_take(struct be_book *book, const struct be_held_file *files, size_t count,
                            be_held_bytes *bytes, void *context, struct be_err *err)
{
  struct staging staging = {0};
  size_t made = 0;
  enum be_status status = expect_empty(book, err);
  if (status != BE_OK) return status;
  status = be_book_in_memory(&staging.book, err);
  if (status != BE_OK) return status;
  status = stage(&staging, files, count, bytes, context, err);
  if (status == BE_OK) status = as_input(be_enter_again(staging.book, book, INT64_MAX, err), err);
  be_book_close(staging.book);
  if (status == BE_OK) status = tell_moments(book, files, count, err);
  if (status == BE_OK) status = be_count_rows(book, "SELECT count(*) FROM file", 0, &made, err);
  if (status == BE_OK && made != count) {
    be_fail(err, BE_BAD_INPUT, "of %zu files %zu came out", count, made);
    status = be_fail_remedy(err, "the list of files is not that of a book: take it as written");
  }
  return status == BE_FAILED ? be_fail_at(err, book->path, 0, 0), status : status;
}
