/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns and rows of the tables as C values. */
#include "book/inside.h"

#include <math.h>
#include <string.h>

const char *be_column_text(struct rows *rows, int at)
{
  if (sqlite3_column_type(rows->s, at) == SQLITE_NULL) return NULL;
  const char *text = (const char *)sqlite3_column_text(rows->s, at);
  if (text) text = be_arena_text(rows->arena, text, strlen(text));
  if (!text) rows->lost = true;
  return text;
}

double be_column_number(sqlite3_stmt *statement, int at)
{
  if (sqlite3_column_type(statement, at) == SQLITE_NULL) return NAN;
  return sqlite3_column_double(statement, at);
}

int be_column_word(struct rows *rows, int at, enum words list)
{
  if (sqlite3_column_type(rows->s, at) == SQLITE_NULL) return 0;
  const char *text = (const char *)sqlite3_column_text(rows->s, at);
  if (!text) rows->lost = true;
  int value = text ? be_words_find(list, text) : 0;
  return value < 0 ? 0 : value;
}

const char *be_column_pooled(struct rows *rows, int at, struct pool *pool)
{
  const char *text = (const char *)sqlite3_column_text(rows->s, at);
  for (size_t i = 0; text && i < pool->count; i++)
    if (strcmp(pool->seen[i], text) == 0) return pool->seen[i];
  const char *copy = be_column_text(rows, at);
  if (copy && pool->count < sizeof pool->seen / sizeof pool->seen[0])
    pool->seen[pool->count++] = copy;
  return copy;
}

bool be_next_row(struct rows *rows, size_t done, size_t most, enum be_status *status,
                 struct be_err *err)
{
  bool row = false;
  if (*status == BE_OK && rows->lost)
    *status = be_fail(err, BE_NO_MEMORY, "no memory for the record");
  if (*status == BE_OK) *status = be_sql_step(rows->s, &row, err);
  return *status == BE_OK && row && done < most;
}

enum be_status be_count_rows(struct be_book *book, const char *sql, int64_t value, size_t *count,
                             struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  bool row = false;
  enum be_status status = be_sql_prepare(book->db, sql, &statement, err);
  if (status == BE_OK) sqlite3_bind_int64(statement, 1, value);
  if (status == BE_OK) status = be_sql_step(statement, &row, err);
  *count = row ? (size_t)sqlite3_column_int64(statement, 0) : 0;
  sqlite3_finalize(statement);
  return status;
}

int be_index_of(const struct ids *ids, sqlite3_stmt *statement, int at)
{
  if (sqlite3_column_type(statement, at) == SQLITE_NULL) return BE_NO_INDEX;
  int64_t id = sqlite3_column_int64(statement, at);
  size_t low = 0, high = ids->count;
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (ids->id[middle] < id) low = middle + 1;
    else high = middle;
  }
  return low < ids->count && ids->id[low] == id ? (int)low : BE_NO_INDEX;
}
