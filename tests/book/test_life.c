/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Creating and opening: what is a book, and what is not. */
#include "book/inside.h"
#include "book/book_test.h"

static struct be_err open_fails(struct shelf *shelf, bool writable, enum be_status want,
                                const char *what)
{
  struct be_book *book = NULL;
  struct be_err err = {0};
  assert_int_equal(be_book_open(shelf->path, writable, &book, &err), want);
  assert_null(book);
  assert_string_equal(err.file, shelf->path);
  assert_part(err.what, what);
  return err;
}

static void close_shelf(struct shelf *shelf)
{
  be_book_close(shelf->book);
  shelf->book = NULL;
}

static void write_file(const struct shelf *shelf, const char *bytes, size_t size)
{
  assert_int_equal(be_file_write(shelf->path, bytes, size, NULL), BE_OK);
}

static void a_new_book_is_empty_and_sound(void **state)
{
  struct shelf *shelf = *state;
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->pulls_count + record->lines_count + record->knots_count, 0);
  assert_string_equal(record->unit, "N");
  struct be_book_check checked = {7, 7, 7};
  assert_int_equal(be_book_check(shelf->book, &checked, NULL), BE_OK);
  assert_int_equal(checked.files + checked.pulls + checked.derived, 0);
  be_book_close(NULL);
}

static void a_book_is_never_overwritten(void **state)
{
  struct shelf *shelf = *state;
  struct be_buf before = book_bytes(shelf);
  struct be_err err = {0};
  assert_int_equal(be_book_create(shelf->path, &err), BE_WRONG_USE);
  assert_part(err.what, "exists already");
  assert_string_equal(err.file, shelf->path);
  struct be_buf after = book_bytes(shelf);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
  char nowhere[100];
  snprintf(nowhere, sizeof nowhere, "%s/none/a.book", shelf->folder);
  assert_int_equal(be_book_create(nowhere, &err), BE_BAD_INPUT);
  assert_part(err.what, "cannot be opened");
}

static void what_is_not_a_book_is_refused(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  remove(shelf->path);
  struct be_err err = open_fails(shelf, true, BE_BAD_INPUT, "there is no such book");
  assert_part(err.remedy, shelf->path);
  write_file(shelf, "knot,line,load\nreef,nylon,7\n", 28);
  open_fails(shelf, true, BE_BAD_INPUT, "this is not a book");
  open_fails(shelf, false, BE_BAD_INPUT, "this is not a book");
  write_file(shelf, "", 0);
  open_fails(shelf, true, BE_BAD_INPUT, "this is not a book");
  struct be_buf empty = book_bytes(shelf);
  assert_int_equal(empty.size, 0);
  be_buf_free(&empty);
  /* Another program's database keeps every byte. */
  tamper(shelf, "CREATE TABLE birds (name TEXT); INSERT INTO birds VALUES ('knot')");
  struct be_buf before = book_bytes(shelf);
  open_fails(shelf, true, BE_BAD_INPUT, "this is not a book");
  open_fails(shelf, false, BE_BAD_INPUT, "this is not a book");
  struct be_buf after = book_bytes(shelf);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
  remove(shelf->path);
  snprintf(shelf->path, sizeof shelf->path, "%s", shelf->folder);
  open_fails(shelf, true, BE_BAD_INPUT, "cannot be opened");
  snprintf(shelf->path, sizeof shelf->path, "%s/a.book", shelf->folder);
}

static void other_versions_are_told_apart(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  tamper(shelf, "PRAGMA user_version = 9000");
  struct be_err err = open_fails(shelf, true, BE_BAD_INPUT, "written by a newer version");
  assert_part(err.remedy, "use that version");
  open_fails(shelf, false, BE_BAD_INPUT, "written by a newer version");
  tamper(shelf, "PRAGMA user_version = -1");
  open_fails(shelf, true, BE_BAD_INPUT, "this is not a book");
  tamper(shelf, "PRAGMA user_version = -2147483648");
  open_fails(shelf, false, BE_BAD_INPUT, "this is not a book");
}

/* Version 0 has the mark of a book and no tables yet. */
static void an_older_book_is_brought_up_to_date(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  remove(shelf->path);
  tamper(shelf, "PRAGMA application_id = 1111846500; PRAGMA user_version = 0");
  struct be_err err = open_fails(shelf, false, BE_BAD_INPUT, "written by an older version");
  assert_part(err.remedy, "open it once for writing");
  assert_int_equal(be_book_open(shelf->path, true, &shelf->book, NULL), BE_OK);
  enter_text(shelf, "a.csv", "knot,line,load (N)\nreef,nylon,7.5\n");
  shelf_reopen(shelf, false);
  assert_int_equal(read_shelf(shelf)->pulls_count, 1);
  assert_sound(shelf);
}

/* A step that fails leaves the older book as it was. */
static void a_failed_step_changes_nothing(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  remove(shelf->path);
  tamper(shelf, "PRAGMA application_id = 1111846500; CREATE TABLE derived (x)");
  struct be_buf before = book_bytes(shelf);
  open_fails(shelf, true, BE_FAILED, "the book failed");
  struct be_buf after = book_bytes(shelf);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
}

static void a_book_opened_for_reading_is_not_written(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "a.csv", "knot,line,load (N)\nreef,nylon,7.5\n");
  shelf_reopen(shelf, false);
  struct be_err err = refuse_with(shelf, "b.csv", "knot,line,load (N)\nreef,nylon,8.5\n", NULL,
                                  BE_FAILED, "the book cannot be written");
  assert_part(err.remedy, "rights of the file");
  assert_int_equal(read_shelf(shelf)->pulls_count, 1);
  assert_sound(shelf);
}

static void another_program_may_hold_the_book(void **state)
{
  struct shelf *shelf = *state;
  sqlite3 *other = NULL;
  assert_int_equal(sqlite3_open(shelf->path, &other), SQLITE_OK);
  assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
  sqlite3_busy_timeout(shelf->book->db, 3);
  struct be_err err = {0};
  const char *text = "knot,line,load (N)\nreef,nylon,7.5\n";
  assert_int_equal(enter_bytes(shelf, "a.csv", text, strlen(text), NULL, &err), BE_FAILED);
  assert_part(err.what, "another program is writing");
  assert_part(err.remedy, "wait until it has finished");
  assert_string_equal(err.file, shelf->path);
  assert_int_equal(sqlite3_exec(other, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
  sqlite3_close(other);
  enter_text(shelf, "a.csv", text);
  assert_int_equal(read_shelf(shelf)->pulls_count, 1);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_new_book_is_empty_and_sound),
      on_a_shelf(a_book_is_never_overwritten),
      on_a_shelf(what_is_not_a_book_is_refused),
      on_a_shelf(other_versions_are_told_apart),
      on_a_shelf(an_older_book_is_brought_up_to_date),
      on_a_shelf(a_failed_step_changes_nothing),
      on_a_shelf(a_book_opened_for_reading_is_not_written),
      on_a_shelf(another_program_may_hold_the_book),
  };
  return be_tests("book: life", tests);
}
