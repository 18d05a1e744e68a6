/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is worked out from the bytes of a trace. Kept only to be quick: check
 * works it out again and compares. */
#include "book/inside.h"

#include "trace/trace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A peak below this many deviations of a reading may be noise alone. */
static const double faint_below = 10;
/* Part of the rise that a load may lose and still be up; as in trace/ending.c. */
static const double no_fall = 0.05;

enum { LAYOUT_TEXT_MAX = 64 * 1024 };

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

/* Why the peak is only what the specimen held at least; null if it is not. */
static const char *why_bound(const struct be_trace *trace, const struct be_trace_events *events)
{
  if (events->flags[BE_FLAG_SATURATED]) return "flat top in the trace";
  if (events->flags[BE_FLAG_RISING]) return "still rising at the end of the trace";
  if (events->flags[BE_FLAG_HELD]) return "nothing let go in the trace";
  if (events->flags[BE_FLAG_LET_DOWN]) return "let down again in the trace: nothing let go";
  double fall = events->peak_N - trace->force_N[trace->n - 1];
  bool up = events->ending == BE_ENDED_UNSEEN && fall < no_fall * events->rise_N;
  return up ? "the trace ends at its highest load" : NULL;
}

static void take(const struct be_trace *trace, const struct be_trace_events *events,
                 struct derived *derived)
{
  memset(derived, 0, sizeof *derived);
  derived->peak_N = events->peak_N;
  derived->zero_N = events->zero_N;
  derived->rise_N = events->rise_N;
  derived->first_slip_N = events->slips_count ? events->slips[0].from_N : NAN;
  derived->time_to_peak_s = events->time_to_peak_s;
  derived->missed_N = events->missed_N;
  derived->drift_N = events->zero_after_N - events->zero_N;
  derived->why_bound = why_bound(trace, events);
  derived->bound = derived->why_bound != NULL;
  derived->nothing_let_go = !events->flags[BE_FLAG_SATURATED] && !events->flags[BE_FLAG_RISING] &&
                            (events->flags[BE_FLAG_HELD] || events->flags[BE_FLAG_LET_DOWN]);
  derived->ending = be_ending_words(events->ending);
  list_flags(events, derived->flags, sizeof derived->flags);
  const struct be_trace_column *force = be_trace_column_of(trace, BE_ROLE_FORCE);
  derived->unit_guessed = !force || !force->unit;
  derived->end_unseen = events->ending == BE_ENDED_UNSEEN;
  derived->faint = events->rise_N < faint_below * events->noise_N;
}

/* Keeps the text of the layout of that name in the arena. */
static enum be_status note_layout(const struct be_trace_layouts *layouts, const char *name,
                                  struct be_arena *arena, struct derived *derived,
                                  struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, LAYOUT_TEXT_MAX);
  for (size_t k = 0; k < layouts->count; k++)
    if (strcmp(layouts->saved[k].name, name) == 0) {
      be_trace_saved_write(&text, &layouts->saved[k]);
      break;
    }
  enum be_status status = be_buf_status(&text, err);
  if (status == BE_OK) derived->layout = be_arena_text(arena, text.data, text.size);
  if (status == BE_OK && !derived->layout)
    status = be_fail(err, BE_NO_MEMORY, "no memory for a layout");
  be_buf_free(&text);
  return status;
}

static enum be_status derive(const char *bytes, size_t size, const struct be_trace_layouts *layouts,
                             struct be_arena *arena, struct derived *derived, struct be_err *err)
{
  const struct be_trace_options options = {.layouts = layouts};
  struct be_trace_file *file = NULL;
  struct be_trace_events events;
  enum be_status status = be_trace_read_bytes(bytes, size, &options, &file, err);
  if (status != BE_OK) return status;
  if (file->count != 1) {
    be_fail(err, BE_BAD_INPUT, "the trace file holds %zu tests; a specimen has one", file->count);
    be_fail_remedy(err, "split the file, one test each");
    status = BE_BAD_INPUT;
  }
  if (status == BE_OK) status = be_trace_find(&file->tests[0], &events, err);
  if (status == BE_OK) take(&file->tests[0], &events, derived);
  if (status == BE_OK && arena && file->tests[0].layout->saved[0])
    status = note_layout(layouts, file->tests[0].layout->saved, arena, derived, err);
  be_trace_file_free(file);
  return status;
}

/* ---- the layouts that a book keeps ---- */

/* The layout of the row that the statement finds; null without one. */
static enum be_status step_layout(sqlite3_stmt *s, struct be_trace_layouts **layouts,
                                  struct be_err *err)
{
  bool row = false;
  enum be_status status = be_sql_step(s, &row, err);
  *layouts = NULL;
  if (status != BE_OK || !row) return status;
  const char *text = (const char *)sqlite3_column_text(s, 0);
  if (!text) return be_fail(err, BE_NO_MEMORY, "no memory for a layout");
  return be_trace_layouts_parse(text, (size_t)sqlite3_column_bytes(s, 0), layouts, err);
}

static enum be_status layout_of_file(struct be_book *book, int64_t file,
                                     struct be_trace_layouts **layouts, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  *layouts = NULL;
  enum be_status status =
      be_sql_prepare(book->db, "SELECT text FROM layout WHERE file = ?1", &s, err);
  if (status == BE_OK) {
    sqlite3_bind_int64(s, 1, file);
    status = step_layout(s, layouts, err);
  }
  sqlite3_finalize(s);
  return status;
}

static enum be_status layout_of_bytes(struct be_book *book, const char *bytes, size_t size,
                                      struct be_trace_layouts **layouts, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  char hex[65];
  *layouts = NULL;
  be_sha256_hex(bytes, size, hex);
  enum be_status status = be_sql_prepare(
      book->db, "SELECT text FROM layout JOIN file ON file.id = file WHERE sha256 = ?1", &s, err);
  if (status == BE_OK) {
    be_bind_text(s, 1, hex);
    status = step_layout(s, layouts, err);
  }
  sqlite3_finalize(s);
  return status;
}

enum be_status be_derive_new(const struct entering *in, const char *bytes, size_t size,
                             struct derived *derived, struct be_err *err)
{
  struct be_trace_layouts *own = NULL;
  enum be_status status = BE_OK;
  if (in->how->like) status = layout_of_bytes(in->how->like, bytes, size, &own, err);
  if (status == BE_OK)
    status = derive(bytes, size, in->how->like ? own : in->how->layouts, in->arena, derived, err);
  be_trace_layouts_free(own);
  return status;
}

/* ---- traces of the book ---- */

static enum be_status bytes_of(struct be_book *book, int64_t trace, sqlite3_stmt **s,
                               const char **bytes, size_t *size, struct be_err *err)
{
  bool row = false;
  enum be_status status =
      be_sql_prepare(book->db, "SELECT bytes, name FROM file WHERE id = ?1", s, err);
  if (status == BE_OK) {
    sqlite3_bind_int64(*s, 1, trace);
    status = be_sql_step(*s, &row, err);
  }
  if (status != BE_OK) return status;
  if (!row) return be_fail(err, BE_BAD_INPUT, "the book has no such file");
  *bytes = sqlite3_column_blob(*s, 0);
  *size = (size_t)sqlite3_column_bytes(*s, 0);
  if (!*bytes && sqlite3_errcode(book->db) == SQLITE_NOMEM)
    return be_fail(err, BE_NO_MEMORY, "no memory for a trace");
  if (!*bytes) *bytes = "";
  return BE_OK;
}

enum be_status be_book_trace(struct be_book *book, int64_t id, struct be_trace_file **file,
                             struct be_err *err)
{
  struct be_trace_layouts *layouts = NULL;
  sqlite3_stmt *s = NULL;
  const char *bytes = "";
  size_t size = 0;
  *file = NULL;
  enum be_status status = layout_of_file(book, id, &layouts, err);
  if (status == BE_OK) status = bytes_of(book, id, &s, &bytes, &size, err);
  if (status == BE_OK) {
    const struct be_trace_options options = {.layouts = layouts};
    status = be_trace_read_bytes(bytes, size, &options, file, err);
  }
  sqlite3_finalize(s);
  be_trace_layouts_free(layouts);
  return status;
}

enum be_status be_derive_file(struct be_book *book, int64_t trace, struct derived *derived,
                              struct be_err *err)
{
  struct be_trace_layouts *layouts = NULL;
  sqlite3_stmt *s = NULL;
  const char *bytes = "";
  size_t size = 0;
  enum be_status status = layout_of_file(book, trace, &layouts, err);
  if (status == BE_OK) status = bytes_of(book, trace, &s, &bytes, &size, err);
  if (status == BE_OK) {
    status = derive(bytes, size, layouts, NULL, derived, err);
    if (status == BE_ASK) status = BE_BAD_INPUT;
    if (status != BE_OK && err) {
      const char *name = (const char *)sqlite3_column_text(s, 1);
      char why[sizeof err->what];
      snprintf(why, sizeof why, "%s", err->what);
      be_fail(err, status, "trace \"%.80s\" gives no figures: %.280s", name ? name : "?", why);
    }
  }
  sqlite3_finalize(s);
  be_trace_layouts_free(layouts);
  return status;
}

enum be_status be_layout_keep(struct be_book *book, int64_t trace, const char *text,
                              struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  enum be_status status =
      be_sql_prepare(book->db, "INSERT INTO layout (file, text) VALUES (?1, ?2)", &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, trace);
  be_bind_text(s, 2, text);
  status = be_sql_step(s, NULL, err);
  sqlite3_finalize(s);
  return status;
}

enum be_status be_derived_keep(struct be_book *book, int64_t trace, const struct derived *derived,
                               struct be_err *err)
{
  sqlite3_stmt *statement = NULL;
  enum be_status status =
      be_sql_prepare(book->db,
                     "INSERT OR REPLACE INTO derived (trace, peak_N, zero_N, rise_N, first_slip_N,"
                     " time_to_peak_s, bound, ending, flags, made_by, missed_N, drift_N)"
                     " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
                     &statement, err);
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
  be_bind_text(statement, 10, BE_FIGURES_BY);
  be_bind_number(statement, 11, derived->missed_N);
  be_bind_number(statement, 12, derived->drift_N);
  status = be_sql_step(statement, NULL, err);
  sqlite3_finalize(statement);
  return status;
}

/* ---- what is missing ---- */

/* The first trace after *trace whose figures are to be made; 0: none. */
static enum be_status next_missing(struct be_book *book, int64_t *trace, struct be_err *err)
{
  sqlite3_stmt *s = NULL;
  bool row = false;
  enum be_status status =
      be_sql_prepare(book->db,
                     "SELECT id FROM file WHERE kind = 'trace' AND id > ?1 AND NOT EXISTS (SELECT 1"
                     " FROM derived WHERE trace = file.id AND made_by = ?2) ORDER BY id LIMIT 1",
                     &s, err);
  if (status != BE_OK) return status;
  sqlite3_bind_int64(s, 1, *trace);
  be_bind_text(s, 2, BE_FIGURES_BY);
  status = be_sql_step(s, &row, err);
  *trace = row ? sqlite3_column_int64(s, 0) : 0;
  sqlite3_finalize(s);
  return status;
}

enum be_status be_derived_fill(struct be_book *book, struct be_err *err)
{
  int64_t trace = 0;
  enum be_status status = next_missing(book, &trace, err);
  if (status != BE_OK || !trace) return status;
  status = be_sql_run(book->db, "BEGIN IMMEDIATE", err);
  while (status == BE_OK && trace) {
    struct derived derived;
    status = be_derive_file(book, trace, &derived, err);
    if (status == BE_OK) status = be_derived_keep(book, trace, &derived, err);
    else if (status == BE_BAD_INPUT || status == BE_TOO_LARGE) status = BE_OK;
    if (status == BE_OK) status = next_missing(book, &trace, err);
  }
  if (status == BE_OK) status = be_sql_run(book->db, "COMMIT", err);
  if (status != BE_OK) be_sql_rollback(book);
  return status;
}
