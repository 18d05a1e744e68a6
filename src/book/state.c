/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which state a book is in. The header of a SQLite file counts the transactions that changed it
 * ("file change counter", bytes 24 to 27, sqlite.org/fileformat2.html, 1.3.7), which tells one
 * state of a file from the next; the last file entered, and the place and time of the file on the
 * disk, tell one book from another of that name. */
#include "book/inside.h"

#include <stdio.h>

enum { COUNTER_AT = 24 };

/* Through SQLite's own handle: to open and close the file again would drop the locks that this
 * process has on it. Nobody writes while a reading is open. */
static enum be_status read_counter(struct be_book *book, uint32_t *counter, struct be_err *err)
{
  sqlite3_file *file = NULL;
  unsigned char bytes[4];
  *counter = 0;
  sqlite3_file_control(book->db, "main", SQLITE_FCNTL_FILE_POINTER, &file);
  if (file && !file->pMethods) return BE_OK; /* a copy in memory: its place on the disk tells */
  if (!file || file->pMethods->xRead(file, bytes, sizeof bytes, COUNTER_AT) != SQLITE_OK)
    return be_fail(err, BE_FAILED, "the head of the book cannot be read");
  *counter = (uint32_t)bytes[0] << 24 | (uint32_t)bytes[1] << 16 | (uint32_t)bytes[2] << 8 |
             (uint32_t)bytes[3];
  return BE_OK;
}

static enum be_status read_state(struct be_book *book, char state[BE_BOOK_STATE_MAX],
                                 struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool row = false;
  uint32_t counter = 0;
  char place[64];
  enum be_status status =
      be_sql_prepare(book->db, "SELECT id, sha256 FROM file ORDER BY id DESC LIMIT 1", &s, err);
  if (status == BE_OK) status = be_sql_step(s, &row, err);
  if (status == BE_OK) status = read_counter(book, &counter, err);
  const char *hash = row ? (const char *)sqlite3_column_text(s, 1) : "";
  if (status == BE_OK && !hash) status = be_fail(err, BE_NO_MEMORY, "no memory for the record");
  be_file_mark(book->path, place);
  if (status == BE_OK)
    snprintf(state, BE_BOOK_STATE_MAX, "%lu %lld %.64s %s", (unsigned long)counter,
             row ? (long long)sqlite3_column_int64(s, 0) : 0, hash, place);
  sqlite3_finalize(s);
  return status;
}

enum be_status be_book_state(struct be_book *book, char state[BE_BOOK_STATE_MAX],
                             struct be_err *err)
{
  enum be_status status = be_sql_run(book->db, "BEGIN", err);
  if (status != BE_OK) return status;
  status = read_state(book, state, err);
  be_sql_rollback(book);
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}
