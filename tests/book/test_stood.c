/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book as it stood: made anew it is row by row what it was then, whatever was entered since;
 * which file a moment means; and what came since. */
#include "book/book_test.h"

#include "fault/failing.h"

#define HEAD "specimen,knot,line A,spool A,bench,load (N),what,correction\n"
#define TRACE_NAMED "trace-k3.csv"

/* ---- a book and all that may be told of it later ---- */

static enum be_status fetch_trace(void *context, const char *name, struct be_buf *bytes,
                                  struct be_err *err)
{
  (void)context;
  char trace[TRACE_SIZE];
  assert_string_equal(name, TRACE_NAMED);
  make_trace(trace, 0.4, 37.9, 0);
  be_buf_text(bytes, trace);
  return be_buf_status(bytes, err);
}

static void enter_first(struct shelf *shelf)
{
  const struct be_entering how = {.fetch = fetch_trace};
  enter_text(shelf, "lines.csv", "line,spool,diameter (mm)\nnylon 12 lb,S1,0.33\nbraid 20 lb,,\n");
  enter_text(shelf, "knots.csv", "knot,turns,tie\nuni,5,\npalomar,,palomar\n");
  enter_text(shelf, "trial.csv",
             "trial,specimen,block,order,knot,line A,spool A\n"
             "spring,k1,1,1,uni,nylon 12 lb,S1\nspring,k2,1,2,palomar,nylon 12 lb,S1\n"
             "spring,k9,1,3,palomar,nylon 12 lb,S1\n");
  enter_text(shelf, "monday.csv",
             HEAD "k1,uni,nylon 12 lb,S1,east,41.7,broke,\n"
                  "k2,palomar,nylon 12 lb,S1,east,47.3,slipped out,\n");
  enter_with(shelf, "traced.csv",
             "specimen,knot,line A,spool A,trace\nk3,uni,nylon 12 lb,S1," TRACE_NAMED "\n", &how);
}

static void enter_later(struct shelf *shelf)
{
  static const char picture[] = "\xFF\xD8\xFF-no more-";
  char trace[TRACE_SIZE];
  make_trace(trace, 0.6, 41.5, 0);
  enter_text(shelf, "told.csv",
             "line,spool,material,lot,on hand (m)\nnylon 12 lb,S1,nylon,L7,83\n");
  enter_text(shelf, "named.csv", "knot,turns,aliases,doubled\nuni,5,gallows knot,no\n");
  enter_text(shelf, "k1.csv", trace);
  enter_text(shelf, "corrected.csv",
             HEAD "k1,uni,nylon 12 lb,S1,east,14.7,slipped out,digits swapped\n"
                  "k9,palomar,nylon 12 lb,S1,west,44.9,broke,\n");
  enter_text(shelf, "rules.csv",
             "trial,rule,value,reason\nspring,stops,as soon as apart,it rained\n");
  enter_text(shelf, "seen.csv", "specimen,photo\nk2,k2.jpg\n");
  assert_int_equal(enter_bytes(shelf, "palomar.jpg", picture, sizeof picture - 1, NULL, NULL),
                   BE_OK);
}

/* ---- every row of every table ---- */

static int add_row(void *to, int count, char **values, char **names)
{
  for (int i = 0; i < count; i++)
    be_buf_format(to, "%s=%s|", names[i], values[i] ? values[i] : "NULL");
  be_buf_char(to, '\n');
  return 0;
}

static int add_table(void *to, int count, char **values, char **names)
{
  (void)count;
  (void)names;
  struct be_buf *sql = to;
  be_buf_format(sql, "SELECT '%s' AS t, * FROM \"%s\" ORDER BY 2;", values[0], values[0]);
  return 0;
}

static struct be_buf rows_of(const char *path)
{
  sqlite3 *db = NULL;
  struct be_buf sql, rows;
  be_buf_init(&sql, 1 << 20);
  be_buf_init(&rows, 1 << 24);
  assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
  assert_int_equal(sqlite3_exec(db,
                                "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name",
                                add_table, &sql, NULL),
                   SQLITE_OK);
  assert_int_equal(sqlite3_exec(db, sql.data, add_row, &rows, NULL), SQLITE_OK);
  sqlite3_close(db);
  assert_int_equal(be_buf_status(&rows, NULL), BE_OK);
  be_buf_free(&sql);
  return rows;
}

static void made_path(const struct shelf *shelf, char path[80])
{
  snprintf(path, 80, "%s/made.book", shelf->folder);
}

static struct be_moment stood_at(struct shelf *shelf, const char *as_of)
{
  struct be_moment moment;
  struct be_err err = {0};
  enum be_status status = be_book_stood(shelf->book, as_of, shelf->arena, &moment, &err);
  if (status != BE_OK) print_error("%s\n", err.what);
  assert_int_equal(status, BE_OK);
  return moment;
}

static void made_anew_it_is_what_it_was(void **state)
{
  struct shelf *shelf = *state;
  char path[80];
  made_path(shelf, path);
  enter_first(shelf);
  tamper(shelf, "UPDATE file SET entered_at = '2026-03-01T09:30:0' || id || 'Z'");
  struct be_buf then = rows_of(shelf->path);
  assert_part(then.data, "t=planned|");
  enter_later(shelf);
  struct be_buf now = rows_of(shelf->path);
  assert_part(now.data, "material=nylon");
  const struct be_moment last = stood_at(shelf, "traced.csv");
  struct be_err err = {0};
  enum be_status status = be_book_again(shelf->book, &last, path, &err);
  if (status != BE_OK) print_error("%s\n", err.what);
  assert_int_equal(status, BE_OK);
  struct be_buf again = rows_of(path);
  assert_string_equal(again.data, then.data);
  assert_string_not_equal(again.data, now.data);
  remove(path);
  be_buf_free(&then);
  be_buf_free(&now);
  be_buf_free(&again);
}

static void the_record_tells_what_came_last(void **state)
{
  struct shelf *shelf = *state;
  assert_null(read_shelf(shelf)->last.file);
  enter_first(shelf);
  assert_string_equal(read_shelf(shelf)->last.file, "traced.csv");
  enter_later(shelf);
  const struct be_record *record = read_shelf(shelf);
  assert_string_equal(record->last.file, "palomar.jpg");
  assert_string_equal(record->last.entered_at, stood_at(shelf, "palomar.jpg").entered_at);
}

/* ---- which file is meant ---- */

static void a_moment_means_all_of_it(void **state)
{
  struct shelf *shelf = *state;
  static const struct {
    const char *as_of, *file;
  } cases[] = {{"2026-03-01", "lines.csv"},          {"2026-03-02", "knots.csv"},
               {"2026-03-02T07:00", "lines.csv"},    {"2026-03-02T07:15", "knots.csv"},
               {"2026-03-02T07:15:29", "lines.csv"}, {"2026-03-02 07:15:30Z", "knots.csv"},
               {"2026-03-04", "knots.csv"},          {"2026-03-05", "traced.csv"},
               {"2026-03-06", "traced.csv"},         {"monday.csv", "monday.csv"}};
  enter_first(shelf);
  tamper(shelf, "UPDATE file SET entered_at = '2026-03-01T23:59:59Z' WHERE name = 'lines.csv';"
                "UPDATE file SET entered_at = '2026-03-02T07:15:30Z' WHERE name = 'knots.csv';"
                "UPDATE file SET entered_at = '2026-03-05T11:00:00Z' WHERE name = 'trial.csv';"
                /* The clock was set back: it came behind the trial all the same. */
                "UPDATE file SET entered_at = '2026-03-03T11:00:00Z' WHERE name = 'monday.csv';"
                "UPDATE file SET entered_at = '2026-03-05T12:00:00Z' WHERE name = 'traced.csv'");
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    assert_string_equal(stood_at(shelf, cases[i].as_of).file, cases[i].file);
}

static void refuse_stood(struct shelf *shelf, const char *as_of, enum be_status want,
                         const char *words)
{
  struct be_moment moment;
  struct be_err err = {0};
  assert_int_equal(be_book_stood(shelf->book, as_of, shelf->arena, &moment, &err), want);
  assert_part(err.what, words);
  assert_string_equal(err.file, shelf->path);
  assert_true(err.remedy[0]);
}

static void refuse_since(struct shelf *shelf, const char *since, enum be_status want,
                         const char *words)
{
  struct be_moment moment;
  struct be_err err = {0};
  assert_int_equal(be_book_since(shelf->book, since, shelf->arena, &moment, &err), want);
  assert_part(err.what, words);
  assert_string_equal(err.file, shelf->path);
  assert_true(err.remedy[0]);
}

static void other_moments_are_refused(void **state)
{
  struct shelf *shelf = *state;
  refuse_stood(shelf, "2026-03-01", BE_BAD_INPUT, "the book is empty");
  refuse_since(shelf, "2026-03-01", BE_BAD_INPUT, "nothing was entered before 2026-03-01");
  enter_first(shelf);
  tamper(shelf, "UPDATE file SET entered_at = '2026-03-01T23:59:59Z'");
  refuse_stood(shelf, "2026-02-28", BE_BAD_INPUT,
               "nothing was entered by 2026-02-28: the first file, lines.csv, came at "
               "2026-03-01T23:59:59Z");
  refuse_stood(shelf, "2999-12-31", BE_WRONG_USE, "2999-12-31 has not come yet");
  refuse_stood(shelf, "friday", BE_WRONG_USE, "\"friday\" is neither a file that was entered nor");
  refuse_stood(shelf, "2026-02-29", BE_WRONG_USE, "nor a date");
  refuse_stood(shelf, "", BE_WRONG_USE, "nor a date");
  refuse_since(shelf, "2026-02-28", BE_BAD_INPUT, "nothing was entered before 2026-02-28");
  refuse_since(shelf, "lines.csv", BE_BAD_INPUT, "nothing was entered before lines.csv");
  refuse_since(shelf, "2999-12-31T00:00", BE_WRONG_USE, "has not come yet");
  refuse_since(shelf, "friday", BE_WRONG_USE, "nor a date");
}

static void what_cannot_be_entered_again_is_named(void **state)
{
  struct shelf *shelf = *state;
  char path[80];
  struct be_err err = {0};
  made_path(shelf, path);
  enter_first(shelf);
  const struct be_moment last = stood_at(shelf, "traced.csv");
  tamper(shelf, "UPDATE file SET bytes = CAST('no sheet' AS BLOB) WHERE name = 'monday.csv'");
  assert_int_equal(be_book_again(shelf->book, &last, path, &err), BE_BAD_INPUT);
  assert_int_equal(err.status, BE_BAD_INPUT);
  assert_part(err.what, "file \"monday.csv\", entered with version");
  assert_false(be_file_exists(path));
  /* Nor over another file. */
  assert_int_equal(be_book_again(shelf->book, &last, shelf->path, &err), BE_WRONG_USE);
  assert_int_equal(read_shelf(shelf)->pulls_count, 3);
}

/* ---- what came since ---- */

static void files_and_corrections_since(void **state)
{
  struct shelf *shelf = *state;
  struct be_moment moment;
  struct be_came came;
  enter_first(shelf);
  enter_later(shelf);
  assert_int_equal(be_book_since(shelf->book, "named.csv", shelf->arena, &moment, NULL), BE_OK);
  assert_int_equal(be_book_came(shelf->book, moment.id, shelf->arena, &came, NULL), BE_OK);
  assert_int_equal(came.files_count, 6);
  assert_string_equal(came.files[0].name, "named.csv");
  assert_string_equal(came.files[0].kind, "knot sheet");
  assert_int_equal(came.files[0].pulls, 0);
  assert_string_equal(came.files[2].name, "corrected.csv");
  assert_int_equal(came.files[2].pulls, 1);
  assert_int_equal(came.files[2].corrections, 1);
  assert_string_equal(came.files[5].kind, "picture");
  assert_int_equal(came.corrections_count, 1);
  const struct be_correction *one = &came.corrections[0];
  assert_string_equal(one->code, "k1");
  assert_string_equal(one->why, "digits swapped");
  assert_string_equal(one->file, "corrected.csv");
  assert_near(one->was.load_N, 41.7, 1e-12);
  assert_near(one->is.load_N, 14.7, 1e-12);
  assert_int_equal(one->was.what, BE_WHAT_BROKE);
  assert_int_equal(one->is.what, BE_WHAT_SLIPPED_OUT);
}

/* ---- memory ---- */

/* SQLite may do without some of its memory: what was made is looked at. */
static enum be_status look_at_made(const char *path, struct be_arena *arena, struct be_err *err)
{
  struct be_book *made = NULL;
  struct be_record record;
  enum be_status status = be_book_open(path, false, &made, err);
  if (status == BE_OK) status = be_book_read(made, arena, &record, err);
  if (status == BE_OK && (record.pulls_count != 1 || record.pulls[0].load_N != 41.7 ||
                          strcmp(record.last.file, "monday.csv") != 0))
    status = be_fail(err, BE_BAD_INPUT, "a book that is not whole");
  be_book_close(made);
  return status;
}

static enum be_status ask(void *context, struct be_err *err)
{
  struct shelf *shelf = context;
  struct be_came came;
  struct be_moment moment;
  struct be_book *book = NULL;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_fail(err, BE_NO_MEMORY, "no arena");
  enum be_status status = be_book_open(shelf->path, false, &book, err);
  if (status == BE_OK) status = be_book_stood(book, "monday.csv", arena, &moment, err);
  if (status == BE_OK) status = be_book_since(book, "monday.csv", arena, &moment, err);
  if (status == BE_OK) status = be_book_came(book, moment.id, arena, &came, err);
  if (status == BE_OK && (came.files_count != 2 || came.corrections_count != 1))
    status = be_fail(err, BE_BAD_INPUT, "not all that came");
  be_book_close(book);
  be_arena_free(arena);
  return status;
}

static enum be_status make_again(struct shelf *shelf, const char *path, struct be_err *err)
{
  struct be_moment moment;
  struct be_book *book = NULL;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_fail(err, BE_NO_MEMORY, "no arena");
  enum be_status status = be_book_open(shelf->path, false, &book, err);
  if (status == BE_OK) status = be_book_stood(book, "monday.csv", arena, &moment, err);
  if (status == BE_OK) status = be_book_again(book, &moment, path, err);
  if (status == BE_OK) status = look_at_made(path, arena, err);
  be_book_close(book);
  be_arena_free(arena);
  return status;
}

static void enter_three(struct shelf *shelf)
{
  enter_text(shelf, "lines.csv", "line,spool,lot\nnylon 12 lb,S1,L7\n");
  enter_text(shelf, "monday.csv", HEAD "k1,uni,nylon 12 lb,S1,east,41.7,broke,\n");
  enter_text(shelf, "friday.csv", HEAD "k1,uni,nylon 12 lb,S1,east,14.7,broke,swapped\n");
  be_book_close(shelf->book);
  shelf->book = NULL;
}

static void asking_without_memory(void **state)
{
  struct shelf *shelf = *state;
  enter_three(shelf);
  be_fail_loop_bearing(ask, shelf, 100);
  shelf_reopen(shelf, false);
}

/* Each run syncs a new file, so that not every call is tried; tests/fault fails each one of
 * entering again, for check. */
static void making_without_memory(void **state)
{
  struct shelf *shelf = *state;
  char path[80];
  size_t refused = 0;
  made_path(shelf, path);
  enter_three(shelf);
  for (size_t at = 1;; at += 43) {
    struct be_failing failing;
    struct be_err err = {0};
    be_failing_start(&failing, at, false);
    enum be_status status = make_again(shelf, path, &err);
    be_failing_stop();
    assert_int_equal(failing.blocks + failing.broken, 0);
    assert_true(status == BE_OK || status == BE_NO_MEMORY);
    if (status != BE_OK) {
      assert_true(err.what[0]);
      refused++;
    }
    remove(path);
    if (!failing.failed) break;
  }
  assert_true(refused > 5);
  shelf_reopen(shelf, false);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(made_anew_it_is_what_it_was),
      on_a_shelf(the_record_tells_what_came_last),
      on_a_shelf(a_moment_means_all_of_it),
      on_a_shelf(other_moments_are_refused),
      on_a_shelf(what_cannot_be_entered_again_is_named),
      on_a_shelf(files_and_corrections_since),
      on_a_shelf(asking_without_memory),
      on_a_shelf(making_without_memory),
  };
  return be_tests("book: as it stood", tests);
}
