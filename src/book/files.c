/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/inside.h"

#include <string.h>

static const char *kept_text(sqlite3_stmt *s, int at, struct be_arena *arena)
{
  const char *text = (const char *)sqlite3_column_text(s, at);
  return text ? be_arena_text(arena, text, strlen(text)) : NULL;
}

static enum be_status read_files(struct be_book *book, struct be_arena *arena, size_t most,
                                 struct be_held_file *files, size_t *count, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(book->db, "SELECT name, sha256 FROM file ORDER BY id", &s, err);
  bool row = false;
  while (status == BE_OK && *count < most) {
    status = be_sql_step(s, &row, err);
    if (status != BE_OK || !row) break;
    struct be_held_file *file = &files[*count];
    file->name = kept_text(s, 0, arena);
    file->sha256 = kept_text(s, 1, arena);
    if (!file->name || !file->sha256)
      status = be_fail(err, BE_NO_MEMORY, "no memory for the list of files");
    else ++*count;
  }
  sqlite3_finalize(s);
  return status;
}

enum be_status be_book_files(struct be_book *book, struct be_arena *arena,
                             struct be_held_file **list, size_t *count, struct be_err *err)
{
  size_t most = 0;
  *list = NULL;
  *count = 0;
  enum be_status status = be_sql_run(book->db, "BEGIN", err);
  if (status != BE_OK) return status;
  status = be_count_rows(book, "SELECT count(*) FROM file", 0, &most, err);
  struct be_held_file *files = status == BE_OK ? be_arena_alloc(arena, most * sizeof *files) : NULL;
  if (status == BE_OK && !files) status = be_fail(err, BE_NO_MEMORY, "no memory for the files");
  if (status == BE_OK) status = read_files(book, arena, most, files, count, err);
  be_sql_rollback(book);
  if (status == BE_OK) *list = files;
  else *count = 0;
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}
