/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of what was entered. */
#include "book/book_test.h"

static void every_file_is_listed_once(void **state)
{
  struct shelf *shelf = *state;
  struct be_held_file *list = NULL;
  size_t count = 99;
  assert_int_equal(be_book_files(shelf->book, shelf->arena, &list, &count, NULL), BE_OK);
  assert_int_equal(count, 0);
  enter_text(shelf, "lines.csv", "line,material\nnylon 12 lb,nylon\n");
  enter_text(shelf, "a sheet.csv", "specimen,knot,line A,load (N)\nq7,uni,nylon 12 lb,41.3\n");
  enter_text(shelf, "again.csv", "line,material\nnylon 12 lb,nylon\n");
  assert_int_equal(be_book_files(shelf->book, shelf->arena, &list, &count, NULL), BE_OK);
  assert_int_equal(count, 2);
  assert_string_equal(list[0].name, "lines.csv");
  assert_string_equal(list[1].name, "a sheet.csv");
  /* sha256sum of the same bytes. */
  assert_string_equal(list[0].sha256,
                      "5a7479f7daf480d2ccab2603724aa1178853ce9811012943f90d5da90b5a3a4c");
  assert_string_equal(list[1].sha256,
                      "34e350e6e2688f3e5e186099f8593918def686c09983223d7220e8b49c1068b3");
}

static void a_book_without_its_table_fails(void **state)
{
  struct shelf *shelf = *state;
  struct be_held_file *list = NULL;
  size_t count = 99;
  struct be_err err = {0};
  tamper(shelf, "ALTER TABLE file RENAME TO elsewhere");
  shelf_reopen(shelf, false);
  assert_int_equal(be_book_files(shelf->book, shelf->arena, &list, &count, &err), BE_FAILED);
  assert_string_equal(err.file, shelf->path);
  assert_null(list);
  assert_int_equal(count, 0);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(every_file_is_listed_once),
      on_a_shelf(a_book_without_its_table_fails),
  };
  return be_tests("book: files", tests);
}
