/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "book/inside.h"

static const char files_sql[] =
    "SELECT file.id, name, sha256, kind, entered_at, layout.text, entered.id IS NOT NULL, mapping,"
    " save_as, decimal_mark, specimen, entered.made_by FROM file"
    " LEFT JOIN layout ON layout.file = file.id LEFT JOIN entered ON entered.file = file.id"
    " ORDER BY file.id";

static enum be_status read_files(struct be_book *book, struct be_arena *arena, size_t most,
                                 struct be_held_file *files, size_t *count, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  struct pool kinds = {0}, times = {0}, mappings = {0}, versions = {0};
  enum be_status status = be_sql_prepare(book->db, files_sql, &rows.s, err);
  for (; be_next_row(&rows, *count, most, &status, err); ++*count)
    files[*count] = (struct be_held_file){.id = sqlite3_column_int64(rows.s, 0),
                                          .name = be_column_text(&rows, 1),
                                          .sha256 = be_column_text(&rows, 2),
                                          .kind = be_column_pooled(&rows, 3, &kinds),
                                          .entered_at = be_column_pooled(&rows, 4, &times),
                                          .layout = be_column_text(&rows, 5),
                                          .alone = sqlite3_column_int(rows.s, 6) != 0,
                                          .mapping = be_column_pooled(&rows, 7, &mappings),
                                          .save_as = be_column_text(&rows, 8),
                                          .decimal = be_column_text(&rows, 9),
                                          .specimen = be_column_text(&rows, 10),
                                          .made_by = be_column_pooled(&rows, 11, &versions)};
  sqlite3_finalize(rows.s);
  return status;
}

enum be_status be_book_files(struct be_book *book, struct be_arena *arena,
                             struct be_held_file **list, size_t *count, struct be_err *err)
{
  size_t most = 0;
  *list = NULL;
  *count = 0;
  bool alone = !be_sql_is_open(book);
  enum be_status status = alone ? be_sql_run(book->db, "BEGIN", err) : BE_OK;
  if (status != BE_OK) return status;
  status = be_count_rows(book, "SELECT count(*) FROM file", 0, &most, err);
  struct be_held_file *files = status == BE_OK ? be_arena_alloc(arena, most * sizeof *files) : NULL;
  if (status == BE_OK && !files) status = be_fail(err, BE_NO_MEMORY, "no memory for the files");
  if (status == BE_OK) status = read_files(book, arena, most, files, count, err);
  if (alone) be_sql_rollback(book);
  if (status == BE_OK) *list = files;
  else *count = 0;
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}
