/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Moments of the record: which entering a name or a date means. */
#include "book/inside.h"

#include <stdio.h>
#include <string.h>

static bool two_digits(const char *at, int least, int most)
{
  if (at[0] < '0' || at[0] > '9' || at[1] < '0' || at[1] > '9') return false;
  int value = 10 * (at[0] - '0') + at[1] - '0';
  return value >= least && value <= most;
}

static int days_of(const char *date)
{
  static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  int year = 0, month = 10 * (date[5] - '0') + date[6] - '0';
  for (int i = 0; i < 4; i++) year = 10 * year + date[i] - '0';
  bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  return days[month - 1] + (month == 2 && leap);
}

/* ISO 8601: a day, or a day and a time to the minute or the second, with "T" or a space between
 * and perhaps "Z" behind. Written as the book writes it, which sorts as text. */
bool be_when_read(const char *text, char date[DATE_MAX + 1])
{
  size_t size = strlen(text);
  if (size > 0 && text[size - 1] == 'Z' && size > 10) size--;
  if (size != 10 && size != 16 && size != 19) return false;
  snprintf(date, DATE_MAX + 1, "%.*s", (int)size, text);
  for (int i = 0; i < 4; i++)
    if (date[i] < '0' || date[i] > '9') return false;
  if (date[4] != '-' || !two_digits(date + 5, 1, 12) || date[7] != '-') return false;
  if (!two_digits(date + 8, 1, days_of(date))) return false;
  if (size == 10) return true;
  if (date[10] == ' ') date[10] = 'T';
  if (date[10] != 'T' || !two_digits(date + 11, 0, 23)) return false;
  if (date[13] != ':' || !two_digits(date + 14, 0, 59)) return false;
  return size == 16 || (date[16] == ':' && two_digits(date + 17, 0, 60));
}

bool be_since_when_read(const char *text)
{
  char whole[DATE_MAX + 1], date[DATE_MAX + 1];
  size_t size = strlen(text);
  if (size != 4 && size != 7 && size != 10) return false;
  snprintf(whole, sizeof whole, "%s%s", text, &"2000-01-01"[size]);
  return be_when_read(whole, date) && strncmp(date, "1900", 4) >= 0 && strncmp(date, "2200", 4) < 0;
}

/* The first row that the rest of the query leaves; moment->file stays null when there is none. */
static enum be_status find(struct be_book *book, const char *rest, const char *text,
                           struct be_arena *arena, struct be_moment *moment, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  char sql[400];
  bool row = false;
  snprintf(sql, sizeof sql,
           "SELECT file.id, name, entered_at FROM entered JOIN file ON file.id = entered.file "
           "WHERE %s LIMIT 1",
           rest);
  enum be_status status = be_sql_prepare(book->db, sql, &s, err);
  if (status == BE_OK) {
    be_bind_text(s, 1, text);
    status = be_sql_step(s, &row, err);
  }
  if (status == BE_OK && row) {
    const char *name = (const char *)sqlite3_column_text(s, 1);
    const char *at = (const char *)sqlite3_column_text(s, 2);
    moment->id = sqlite3_column_int64(s, 0);
    moment->file = name ? be_arena_text(arena, name, strlen(name)) : NULL;
    moment->entered_at = at ? be_arena_text(arena, at, strlen(at)) : NULL;
    if (!moment->file || !moment->entered_at)
      status = be_fail(err, BE_NO_MEMORY, "no memory for what was entered");
  }
  sqlite3_finalize(s);
  return status;
}

enum be_status be_book_moment(struct be_book *book, const char *since, struct be_arena *arena,
                              struct be_moment *moment, struct be_err *err)
{
  char date[DATE_MAX + 1];
  *moment = (struct be_moment){.id = INT64_MAX};
  enum be_status status = find(book, "name = ?1 ORDER BY file.id DESC", since, arena, moment, err);
  if (status == BE_OK && !moment->file) {
    if (be_when_read(since, date))
      return find(book, "entered_at >= ?1 ORDER BY file.id", date, arena, moment, err);
    be_fail(err, BE_WRONG_USE, "\"%.80s\" is neither a file that was entered nor a date", since);
    be_fail_remedy(err, "give a date such as 2026-10-01 or 2026-10-01T18:00, or the name of a file "
                        "as it was entered");
    status = BE_WRONG_USE;
  }
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}

/* A moment that is still to come has no record yet. */
static enum be_status has_come(const char *asked, const char *date, struct be_err *err)
{
  char now[32];
  be_now(now);
  if (strncmp(date, now, strlen(date)) <= 0) return BE_OK;
  be_fail(err, BE_WRONG_USE, "%s has not come yet; now it is %s", asked, now);
  be_fail_remedy(err, "what is still entered until then would belong to it: ask of a moment that "
                      "has passed, in UTC");
  return BE_WRONG_USE;
}

enum be_status be_book_since(struct be_book *book, const char *since, struct be_arena *arena,
                             struct be_moment *moment, struct be_err *err)
{
  char date[DATE_MAX + 1];
  size_t before = 0;
  enum be_status status = be_book_moment(book, since, arena, moment, err);
  if (status == BE_OK && !moment->file && be_when_read(since, date))
    status = has_come(since, date, err);
  if (status == BE_OK)
    status = be_count_rows(book, "SELECT count(*) FROM entered WHERE file < ?1", moment->id,
                           &before, err);
  if (status == BE_OK && before == 0) {
    status =
        be_fail(err, BE_BAD_INPUT, "nothing was entered before %s, so nothing moved since", since);
    be_fail_remedy(err, "ask since a moment after the first file was entered");
  }
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}

static enum be_status nothing_stood(struct be_book *book, const char *as_of, struct be_arena *arena,
                                    struct be_err *err)
{
  struct be_moment first = {0};
  enum be_status status = find(book, "?1 = ?1 ORDER BY file.id", as_of, arena, &first, err);
  if (status != BE_OK) return status;
  if (first.file)
    be_fail(err, BE_BAD_INPUT, "nothing was entered by %s: the first file, %.200s, came at %s",
            as_of, first.file, first.entered_at);
  else be_fail(err, BE_BAD_INPUT, "nothing was entered by %s: the book is empty", as_of);
  be_fail_remedy(err, "ask of that moment or a later one");
  return BE_BAD_INPUT;
}

/* A day, a minute or a second is meant with all of it. Clocks are set back: what was entered before
 * a file of a later moment came earlier, whatever its time says. */
enum be_status be_book_stood(struct be_book *book, const char *as_of, struct be_arena *arena,
                             struct be_moment *moment, struct be_err *err)
{
  char date[DATE_MAX + 1];
  *moment = (struct be_moment){0};
  enum be_status status = find(book, "name = ?1 ORDER BY file.id DESC", as_of, arena, moment, err);
  if (status == BE_OK && !moment->file) {
    if (!be_when_read(as_of, date)) {
      status = be_fail(err, BE_WRONG_USE, "\"%.80s\" is neither a file that was entered nor a date",
                       as_of);
      be_fail_remedy(err, "give a date such as 2026-10-01 or 2026-10-01T18:00, or the name of a "
                          "file as it was entered");
    } else {
      status = has_come(as_of, date, err);
      if (status == BE_OK)
        status = find(book,
                      "file.id < ifnull((SELECT min(id) FROM file WHERE id IN (SELECT file FROM"
                      " entered) AND substr(entered_at, 1, length(?1)) > ?1), 1 << 62)"
                      " ORDER BY file.id DESC",
                      date, arena, moment, err);
      if (status == BE_OK && !moment->file) status = nothing_stood(book, as_of, arena, err);
    }
  }
  if (status != BE_OK) be_fail_at(err, book->path, 0, 0);
  return status;
}
