/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The state of a book: the same as long as nothing is written, another after anything is. */
#include "book/book_test.h"
#include "book/inside.h"

static void state_of(struct shelf *shelf, char state[BE_BOOK_STATE_MAX])
{
  struct be_err err = {0};
  enum be_status status = be_book_state(shelf->book, state, &err);
  if (status != BE_OK) print_error("%s\n", err.what);
  assert_int_equal(status, BE_OK);
  assert_true(strlen(state) > 10);
}

/* Asked for twice, and through another opening for reading. */
static void differs(struct shelf *shelf, char last[BE_BOOK_STATE_MAX])
{
  char now[BE_BOOK_STATE_MAX], again[BE_BOOK_STATE_MAX];
  state_of(shelf, now);
  assert_string_not_equal(now, last);
  shelf_reopen(shelf, false);
  state_of(shelf, again);
  assert_string_equal(again, now);
  read_shelf(shelf);
  state_of(shelf, again);
  assert_string_equal(again, now);
  shelf_reopen(shelf, true);
  state_of(shelf, again);
  assert_string_equal(again, now);
  memcpy(last, now, sizeof now);
}

static void each_writing_makes_another_state(void **state)
{
  struct shelf *shelf = *state;
  char last[BE_BOOK_STATE_MAX] = "";
  differs(shelf, last);
  enter_text(shelf, "a.csv", "specimen,knot,line A,load (N)\na1,uni,nylon 12 lb,41.7\n");
  differs(shelf, last);
  enter_text(shelf, "b.csv",
             "specimen,knot,line A,load (N),correction\na1,uni,nylon 12 lb,14.7,swapped\n");
  differs(shelf, last);
  enter_text(shelf, "c.csv", "knot,kind\nuni,hitch\n");
  differs(shelf, last);
  enter_text(shelf, "d.csv", "line,on hand (m)\nnylon 12 lb,37\n");
  differs(shelf, last);
}

/* While another program writes, the state is not told, rather than told wrong. */
static void a_state_is_not_read_in_the_middle(void **state)
{
  struct shelf *shelf = *state;
  sqlite3 *other = NULL;
  char text[BE_BOOK_STATE_MAX];
  struct be_err err = {0};
  enter_text(shelf, "a.csv", "specimen,knot,line A,load (N)\na1,uni,nylon 12 lb,41.7\n");
  shelf_reopen(shelf, false);
  sqlite3_busy_timeout(shelf->book->db, 0);
  assert_int_equal(sqlite3_open(shelf->path, &other), SQLITE_OK);
  assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
  assert_int_equal(be_book_state(shelf->book, text, &err), BE_FAILED);
  assert_string_equal(err.file, shelf->path);
  assert_int_equal(sqlite3_exec(other, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
  assert_int_equal(sqlite3_close(other), SQLITE_OK);
  assert_int_equal(be_book_state(shelf->book, text, NULL), BE_OK);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(each_writing_makes_another_state),
      on_a_shelf(a_state_is_not_read_in_the_middle),
  };
  return be_tests("book: its state", tests);
}
