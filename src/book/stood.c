/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book as it stood. What a later sheet told of a line or a knot is written into its row, so
 * that rows alone do not say what stood; the files do, entered again in their order. */
#include "book/inside.h"

/* When each file came is not in its bytes. */
static enum be_status copy_times(struct be_book *book, struct be_book *made, struct be_err *err)
{
  sqlite3_stmt *from = NULL, *to = NULL;
  bool row = true;
  enum be_status status =
      be_sql_prepare(book->db, "SELECT entered_at, sha256 FROM file ORDER BY id", &from, err);
  if (status == BE_OK)
    status =
        be_sql_prepare(made->db, "UPDATE file SET entered_at = ?1 WHERE sha256 = ?2", &to, err);
  if (status == BE_OK) status = be_sql_run(made->db, "BEGIN IMMEDIATE", err);
  while (status == BE_OK) {
    status = be_sql_step(from, &row, err);
    if (status != BE_OK || !row) break;
    const char *at = (const char *)sqlite3_column_text(from, 0);
    const char *hash = (const char *)sqlite3_column_text(from, 1);
    be_bind_text(to, 1, at);
    be_bind_text(to, 2, hash);
    status = at && hash ? be_sql_step(to, NULL, err)
                        : be_fail(err, BE_NO_MEMORY, "no memory for what was entered");
    sqlite3_reset(to);
  }
  sqlite3_finalize(from);
  sqlite3_finalize(to);
  if (status == BE_OK) status = be_sql_run(made->db, "COMMIT", err);
  return status;
}

static enum be_status fill(struct be_book *book, const char *path, int64_t last, struct be_err *err)
{
  struct be_book *made = NULL;
  enum be_status status = be_book_open(path, true, &made, err);
  if (status != BE_OK) return status;
  /* It can be made again: nothing is lost with it. */
  status = be_sql_run(made->db, "PRAGMA synchronous = OFF", err);
  if (status == BE_OK) status = be_sql_run(book->db, "BEGIN", err);
  if (status == BE_OK) status = be_enter_again(book, made, last, err);
  if (status == BE_OK) status = copy_times(book, made, err);
  be_sql_rollback(book);
  be_book_close(made);
  return status;
}

enum be_status be_book_again(struct be_book *book, const struct be_moment *last, const char *path,
                             struct be_err *err)
{
  enum be_status status = be_book_create(path, err);
  if (status != BE_OK) return status;
  status = fill(book, path, last->id, err);
  if (status == BE_OK) return BE_OK;
  be_file_remove(path, NULL);
  if (status != BE_NO) return status;
  if (err) err->status = BE_BAD_INPUT;
  return BE_BAD_INPUT;
}
