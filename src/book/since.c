/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What came into the book with an entering and after it. */
#include "book/inside.h"

#include <string.h>

static enum be_status begin(struct be_book *book, const char *sql, int64_t from, struct rows *rows,
                            struct be_err *err)
{
  enum be_status status = be_sql_prepare(book->db, sql, &rows->s, err);
  if (status == BE_OK) sqlite3_bind_int64(rows->s, 1, from);
  return status;
}

static enum be_status read_files(struct be_book *book, int64_t from, struct be_arena *arena,
                                 struct be_came *came, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  enum be_status status = be_count_rows(book, "SELECT count(*) FROM entered WHERE file >= ?1", from,
                                        &came->files_count, err);
  if (status != BE_OK) return status;
  came->files = be_arena_alloc(arena, came->files_count * sizeof *came->files);
  if (!came->files) return be_fail(err, BE_NO_MEMORY, "no memory for what was entered");
  status = begin(book,
                 "WITH brought AS MATERIALIZED (SELECT file AS of, sum(corrects IS NULL) AS pulls,"
                 " sum(corrects IS NOT NULL) AS corrections FROM result WHERE file >= ?1"
                 " GROUP BY file)"
                 " SELECT name, kind, entered_at, pulls, corrections FROM entered"
                 " JOIN file ON file.id = entered.file LEFT JOIN brought ON brought.of = file.id"
                 " WHERE file.id >= ?1 ORDER BY entered.id",
                 from, &rows, err);
  for (size_t i = 0; be_next_row(&rows, i, came->files_count, &status, err); i++)
    came->files[i] = (struct be_came_file){.name = be_column_text(&rows, 0),
                                           .kind = be_column_text(&rows, 1),
                                           .entered_at = be_column_text(&rows, 2),
                                           .pulls = (size_t)sqlite3_column_int64(rows.s, 3),
                                           .corrections = (size_t)sqlite3_column_int64(rows.s, 4)};
  if (status == BE_OK && rows.lost)
    status = be_fail(err, BE_NO_MEMORY, "no memory for what was entered");
  sqlite3_finalize(rows.s);
  return status;
}

static enum be_status read_corrections(struct be_book *book, int64_t from, struct be_arena *arena,
                                       struct be_came *came, struct be_err *err)
{
  struct rows rows = {.arena = arena};
  enum be_status status =
      be_count_rows(book, "SELECT count(*) FROM result WHERE file >= ?1 AND corrects IS NOT NULL",
                    from, &came->corrections_count, err);
  if (status != BE_OK) return status;
  came->corrections = be_arena_alloc(arena, came->corrections_count * sizeof *came->corrections);
  if (!came->corrections) return be_fail(err, BE_NO_MEMORY, "no memory for the corrections");
  status = begin(book,
                 "SELECT code, new.why, file.name, old.kind, old.load_N, new.kind, new.load_N,"
                 " old.what, new.what"
                 " FROM result AS new JOIN result AS old ON old.id = new.corrects"
                 " JOIN pull ON pull.id = new.pull JOIN specimen ON specimen.id = pull.specimen"
                 " JOIN file ON file.id = new.file WHERE new.file >= ?1 ORDER BY new.id",
                 from, &rows, err);
  for (size_t i = 0; be_next_row(&rows, i, came->corrections_count, &status, err); i++)
    came->corrections[i] =
        (struct be_correction){.code = be_column_text(&rows, 0),
                               .why = be_column_text(&rows, 1),
                               .file = be_column_text(&rows, 2),
                               .was = {.kind = (enum be_kind)be_column_word(&rows, 3, WORDS_KIND),
                                       .load_N = be_column_number(rows.s, 4),
                                       .what = (enum be_what)be_column_word(&rows, 7, WORDS_WHAT)},
                               .is = {.kind = (enum be_kind)be_column_word(&rows, 5, WORDS_KIND),
                                      .load_N = be_column_number(rows.s, 6),
                                      .what = (enum be_what)be_column_word(&rows, 8, WORDS_WHAT)}};
  if (status == BE_OK && rows.lost)
    status = be_fail(err, BE_NO_MEMORY, "no memory for the corrections");
  sqlite3_finalize(rows.s);
  return status;
}

enum be_status be_book_came(struct be_book *book, int64_t from, struct be_arena *arena,
                            struct be_came *came, struct be_err *err)
{
  *came = (struct be_came){0};
  enum be_status status = be_sql_run(book->db, "BEGIN", err);
  if (status == BE_OK) status = read_files(book, from, arena, came, err);
  if (status == BE_OK) status = read_corrections(book, from, arena, came, err);
  be_sql_rollback(book);
  if (status == BE_OK) return BE_OK;
  *came = (struct be_came){0};
  be_fail_at(err, book->path, 0, 0);
  return status;
}
