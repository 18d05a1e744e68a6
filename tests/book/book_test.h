/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of this room share: a new book in a folder of its own, and
 * sheets and traces entered into it. */
#ifndef BE_BOOK_TEST_H
#define BE_BOOK_TEST_H

#include "book/book.h"
#include "test.h"

#include <sqlite3.h>

struct shelf {
  char folder[32], path[64];
  struct be_book *book;
  struct be_arena *arena;
  struct be_entered entered; /* of what was entered last */
  struct be_record record;   /* of what was read last */
};

/* ---- life cycle ---- */

char *mkdtemp(char *template);
int rmdir(const char *path);

static inline int shelf_setup(void **state)
{
  struct shelf *shelf = calloc(1, sizeof *shelf);
  if (!shelf) return 1;
  *state = shelf;
  strcpy(shelf->folder, "/tmp/be-book-XXXXXX");
  if (!mkdtemp(shelf->folder)) return 1;
  snprintf(shelf->path, sizeof shelf->path, "%s/a.book", shelf->folder);
  shelf->arena = be_arena_create();
  if (!shelf->arena || be_book_create(shelf->path, NULL) != BE_OK) return 1;
  return be_book_open(shelf->path, true, &shelf->book, NULL) == BE_OK ? 0 : 1;
}

/* The book must be the only file left: no journal stays behind. */
static inline int shelf_teardown(void **state)
{
  struct shelf *shelf = *state;
  be_book_close(shelf->book);
  be_arena_free(shelf->arena);
  remove(shelf->path);
  int left = rmdir(shelf->folder);
  free(shelf);
  return left;
}

#define on_a_shelf(test) cmocka_unit_test_setup_teardown(test, shelf_setup, shelf_teardown)

static inline void shelf_reopen(struct shelf *shelf, bool writable)
{
  be_book_close(shelf->book);
  shelf->book = NULL;
  assert_int_equal(be_book_open(shelf->path, writable, &shelf->book, NULL), BE_OK);
}

/* ---- entering ---- */

static inline enum be_status enter_bytes(struct shelf *shelf, const char *name, const char *bytes,
                                         size_t size, const struct be_entering *how,
                                         struct be_err *err)
{
  static const struct be_entering plain;
  return be_book_enter(shelf->book, name, bytes, size, how ? how : &plain, shelf->arena,
                       &shelf->entered, err);
}

/* Enters text that must be taken. */
static inline void enter_with(struct shelf *shelf, const char *name, const char *text,
                              const struct be_entering *how)
{
  struct be_err err = {0};
  enum be_status status = enter_bytes(shelf, name, text, strlen(text), how, &err);
  if (status != BE_OK) print_error("%s:%zu:%zu: %s\n", err.file, err.line, err.column, err.what);
  assert_int_equal(status, BE_OK);
}

static inline void enter_text(struct shelf *shelf, const char *name, const char *text)
{
  enter_with(shelf, name, text, NULL);
}

static inline struct be_buf book_bytes(const struct shelf *shelf)
{
  struct be_buf bytes;
  be_buf_init(&bytes, 1 << 30);
  assert_int_equal(be_file_read(shelf->path, &bytes, NULL), BE_OK);
  return bytes;
}

static inline void assert_part(const char *text, const char *part)
{
  if (!strstr(text, part)) print_error("got:  %s\nwant: %s\n", text, part);
  assert_non_null(strstr(text, part));
}

/* Enters text that must be refused, and leave the file as it was, bit for bit. */
static inline struct be_err refuse_with(struct shelf *shelf, const char *name, const char *text,
                                        const struct be_entering *how, enum be_status want,
                                        const char *what)
{
  struct be_err err = {0};
  struct be_buf before = book_bytes(shelf);
  assert_int_equal(enter_bytes(shelf, name, text, strlen(text), how, &err), want);
  struct be_buf after = book_bytes(shelf);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
  assert_int_equal(err.status, want);
  assert_string_equal(err.file, name);
  assert_part(err.what, what);
  return err;
}

static inline struct be_err refuse_text(struct shelf *shelf, const char *text, const char *what)
{
  return refuse_with(shelf, "refused.csv", text, NULL, BE_BAD_INPUT, what);
}

static inline void assert_place(const struct be_err *err, size_t line, size_t column)
{
  assert_int_equal(err->line, line);
  assert_int_equal(err->column, column);
}

/* One of the notes of what was entered last must hold this. */
static inline void assert_note(const struct shelf *shelf, const char *part)
{
  const struct be_entered *entered = &shelf->entered;
  for (size_t i = 0; i < entered->notes_count; i++)
    if (strstr(entered->notes[i], part)) return;
  for (size_t i = 0; i < entered->notes_count; i++) print_error("note: %s\n", entered->notes[i]);
  print_error("none holds: %s\n", part);
  assert_true(false);
}

/* ---- reading ---- */

static inline const struct be_record *read_shelf(struct shelf *shelf)
{
  struct be_err err = {0};
  enum be_status status = be_book_read(shelf->book, shelf->arena, &shelf->record, &err);
  if (status != BE_OK) print_error("%s\n", err.what);
  assert_int_equal(status, BE_OK);
  return &shelf->record;
}

static inline const struct be_pull *pull_of(struct shelf *shelf, const char *code)
{
  read_shelf(shelf);
  for (size_t i = 0; i < shelf->record.pulls_count; i++)
    if (strcmp(shelf->record.pulls[i].code, code) == 0) return &shelf->record.pulls[i];
  print_error("no pull of specimen %s\n", code);
  assert_true(false);
  return NULL;
}

static inline void assert_sound(struct shelf *shelf)
{
  struct be_book_check checked;
  struct be_err err = {0};
  enum be_status status = be_book_check(shelf->book, &checked, &err);
  if (status != BE_OK) print_error("%s\n", err.what);
  assert_int_equal(status, BE_OK);
}

/* Changes the file behind the book's back. */
static inline void tamper(struct shelf *shelf, const char *sql)
{
  sqlite3 *db = NULL;
  char *why = NULL;
  assert_int_equal(sqlite3_open(shelf->path, &db), SQLITE_OK);
  if (sqlite3_exec(db, sql, NULL, NULL, &why) != SQLITE_OK) {
    print_error("%s: %s\n", sql, why);
    assert_true(false);
  }
  sqlite3_close(db);
}

static inline int64_t count_of(struct shelf *shelf, const char *sql)
{
  sqlite3 *db = NULL;
  sqlite3_stmt *s = NULL;
  assert_int_equal(sqlite3_open(shelf->path, &db), SQLITE_OK);
  assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &s, NULL), SQLITE_OK);
  assert_int_equal(sqlite3_step(s), SQLITE_ROW);
  int64_t count = sqlite3_column_int64(s, 0);
  sqlite3_finalize(s);
  sqlite3_close(db);
  return count;
}

/* ---- made traces ---- */

enum { TRACE_SIZE = 8192 };

/* How many rows of a made trace lie where. */
struct made_rows {
  int slack, climb, flat, after;
};

/* A pull at 50 Hz that starts at zero_N, climbs to peak_N, stays there and
 * falls to zero_N. */
static inline void make_trace_of(char text[TRACE_SIZE], struct made_rows rows, double zero_N,
                                 double peak_N)
{
  size_t used = (size_t)snprintf(text, TRACE_SIZE, "time (s),force (N)\n");
  int high = rows.slack + rows.climb, low = high + rows.flat;
  for (int i = 0; i < low + rows.after; i++) {
    double force = i >= rows.slack && i < low ? peak_N : zero_N;
    if (i >= rows.slack && i < high)
      force = zero_N + (peak_N - zero_N) * (i - rows.slack + 1) / rows.climb;
    used += (size_t)snprintf(text + used, TRACE_SIZE - used, "%.2f,%.2f\n", 0.02 * i, force);
    assert_true(used < TRACE_SIZE);
  }
}

static inline void make_trace(char text[TRACE_SIZE], double zero_N, double peak_N, int flat)
{
  make_trace_of(text, (struct made_rows){40, 180, flat, 30}, zero_N, peak_N);
}

/* A folder of files in memory, for be_entering.fetch. */
struct made_file {
  const char *name, *text;
};

static inline enum be_status fetch_made(void *context, const char *name, struct be_buf *bytes,
                                        struct be_err *err)
{
  for (const struct made_file *file = context; file->name; file++)
    if (strcmp(file->name, name) == 0) {
      be_buf_text(bytes, file->text);
      return be_buf_status(bytes, err);
    }
  return be_fail(err, BE_BAD_INPUT, "there is no file \"%s\"", name);
}

#endif
