/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is worked out from the bytes of a trace. Kept only to be quick: check
 * works it out again and compares. */
#include "book/inside.h"

#include "trace/trace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void list_flags(const struct be_trace_events *events, char *text, size_t size)
{
  size_t used = 0;
  text[0] = '\0';
  for (int i = 0; i < BE_TRACE_FLAGS; i++) {
    if (!events->flags[i]) continue;
    int put = snprintf(text + used, size - used, "%s%s", used ? " " : "",
                       be_trace_flag_name((enum be_trace_flag)i));
    if (put < 0 || (size_t)put >= size - used) return;
    used += (size_t)put;
  }
}

enum be_status be_derive_trace(const char *bytes, size_t size, struct derived *derived,
                               struct be_err *err)
{
  struct be_trace_file *file = NULL;
  struct be_trace_events events;
  enum be_status status = be_trace_read(bytes, size, NULL, &file, err);
  if (status != BE_OK) return status;
  if (file->count != 1) {
    be_fail(err, BE_BAD_INPUT, "the trace file holds %zu tests; a specimen has one", file->count);
    status = be_fail_remedy(err, "split the file, one test each");
  }
  if (status == BE_OK) status = be_trace_find(&file->tests[0], &events, err);
  if (status == BE_OK) {
    memset(derived, 0, sizeof *derived);
    derived->peak_N = events.peak_N;
    derived->zero_N = events.zero_N;
    derived->rise_N = events.rise_N;
    derived->first_slip_N = events.slips_count ? events.slips[0].from_N : NAN;
    derived->time_to_peak_s = events.time_to_peak_s;
    derived->bound = events.flags[BE_FLAG_SATURATED] || events.flags[BE_FLAG_RISING] ||
                     events.flags[BE_FLAG_HELD];
    derived->ending = be_ending_words(events.ending);
    list_flags(&events, derived->flags, sizeof derived->flags);
  }
  be_trace_file_free(file);
  return status;
}

static enum be_status keep(struct be_book *book, int64_t trace, const struct derived *derived,
                           struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status = be_sql_prepare(
      book->db, "INSERT INTO derived VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)", &statement, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(statement, 1, trace);
  be_bind_number(statement, 2, derived->peak_N);
  be_bind_number(statement, 3, derived->zero_N);
  be_bind_number(statement, 4, derived->rise_N);
  be_bind_number(statement, 5, derived->first_slip_N);
  be_bind_number(statement, 6, derived->time_to_peak_s);
  sqlite3_bind_int(statement, 7, derived->bound);
  be_bind_text(statement, 8, derived->ending);
  be_bind_text(statement, 9, derived->flags);
  status = be_sql_step(statement, NULL, err);
  sqlite3_finalize(statement);
  return status;
}

enum be_status be_trace_add(struct entering *in, int64_t pull, const char *name, const char *bytes,
                            size_t size, struct be_err *err)
{
  struct derived derived;
  enum be_status status = be_derive_trace(bytes, size, &derived, err);
  if (status != BE_OK) return be_fail_at(err, name, 0, 0), status;
  int64_t id = 0;
  bool already = false;
  status = be_file_add(in->book, name, "trace", bytes, size, &id, &already, err);
  if (status != BE_OK) return status;
  if (already) {
    be_fail(err, BE_BAD_INPUT, "the trace \"%s\" was entered before, for another specimen", name);
    return be_fail_remedy(err, "check that each specimen names its own trace");
  }
  status = keep(in->book, id, &derived, err);
  if (status != BE_OK) return status;
  sqlite3_stmt *statement = NULL;
  status = be_sql_prepare(
      in->book->db, "UPDATE pull SET trace = ?2 WHERE id = ?1 AND trace IS NULL", &statement, err);
  if (status == BE_OK) {
    sqlite3_bind_int64(statement, 1, pull);
    sqlite3_bind_int64(statement, 2, id);
    status = be_sql_step(statement, NULL, err);
  }
  sqlite3_finalize(statement);
  in->entered->traces += status == BE_OK;
  return status;
}
