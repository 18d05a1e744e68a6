/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory runs out at each call while the files of one book are entered into another. */
#include "book/inside.h"
#include "fault/failing.h"
#include "test.h"

/* Seen when this was written, with SQLite 3.40: 25868 calls. */
enum { KNOWN_CALLS = 9000 };

static const char *const texts[] = {"line,spool,material\nnylon 12 lb,s1,nylon\n",
                                    "specimen,knot,spool A,kraft\nP1,uni,s1,8.25\n"};
static const char mapping[] = "load (lb) = kraft\n";
static struct be_held_file files[2];
static char hashes[2][65];

static void list_files(void)
{
  for (int i = 0; i < 2; i++) {
    be_sha256_hex(texts[i], strlen(texts[i]), hashes[i]);
    files[i] = (struct be_held_file){.id = i + 1,
                                     .name = i ? "day.csv" : "lines.csv",
                                     .sha256 = hashes[i],
                                     .kind = i ? "pull sheet" : "line sheet",
                                     .entered_at = "2026-03-01T09:30:00Z",
                                     .alone = true,
                                     .mapping = i ? mapping : NULL,
                                     .save_as = i ? "notebook" : NULL,
                                     .made_by = "0.0.7"};
  }
}

static enum be_status text_at(void *context, size_t at, struct be_buf *bytes, struct be_err *err)
{
  (void)context;
  be_buf_text(bytes, texts[at]);
  return be_buf_status(bytes, err);
}

static enum be_status look(struct be_book *book, struct be_err *err)
{
  struct be_held_file *held = NULL;
  size_t count = 0;
  struct be_arena *arena = be_arena_create();
  if (!arena) return be_fail(err, BE_NO_MEMORY, "no memory");
  enum be_status status = be_book_files(book, arena, &held, &count, err);
  if (status == BE_OK &&
      (count != 2 || strcmp(held[1].made_by, "0.0.7") != 0 || strcmp(held[1].save_as, "notebook") ||
       strcmp(held[0].entered_at, files[0].entered_at) != 0))
    status = be_fail(err, BE_FAILED, "not all was taken");
  be_arena_free(arena);
  return status;
}

static enum be_status take(void *context, struct be_err *err)
{
  struct be_book *book = NULL;
  enum be_status status = be_book_in_memory(&book, err);
  if (status == BE_OK) status = be_book_begin(book, err);
  if (status == BE_OK) {
    status = be_book_take(book, files, 2, text_at, context, err);
    status = be_book_end(book, status, err);
  }
  if (status == BE_OK) status = look(book, err);
  be_book_close(book);
  sqlite3_shutdown();
  return status;
}

/* Every 97th call, once and for ever: each is one of making two empty books, for the most part. */
static void taking_survives_lost_calls(void **state)
{
  (void)state;
  enum { STEP = 97 };
  list_files();
  for (int for_ever = 0; for_ever < 2; for_ever++) {
    size_t tried = 0;
    for (size_t at = 1;; at += STEP, tried++) {
      struct be_failing failing = {0};
      struct be_err err = {0};
      be_failing_start(&failing, at, for_ever);
      enum be_status status = take(NULL, &err);
      be_failing_stop();
      assert_int_equal(failing.blocks, 0);
      assert_int_equal(failing.broken, 0);
      if (!failing.failed) {
        assert_int_equal(status, BE_OK);
        break;
      }
      if (status != BE_OK && (status != BE_NO_MEMORY || !*err.what))
        fail_msg("call %zu: %d %s", at, (int)status, err.what);
    }
    print_message("# %zu calls of each %d\n", tried, STEP);
    assert_true(tried * STEP >= KNOWN_CALLS);
  }
}

static void refuse(size_t count, enum be_status status, const char *what)
{
  struct be_book *book = NULL;
  struct be_err err = {0};
  size_t held = 7;
  assert_int_equal(be_book_in_memory(&book, NULL), BE_OK);
  assert_int_equal(be_book_begin(book, NULL), BE_OK);
  enum be_status got = be_book_take(book, files, count, text_at, NULL, &err);
  if (got != status || !strstr(err.what, what)) fail_msg("%d: %s", (int)got, err.what);
  assert_int_equal(be_book_end(book, got, &err), got);
  assert_int_equal(be_count_rows(book, "SELECT count(*) FROM file", 0, &held, NULL), BE_OK);
  assert_int_equal(held, 0);
  be_book_close(book);
}

/* What is told of a file must be what comes out of it. */
static void a_list_that_is_none_of_a_book_is_refused(void **state)
{
  (void)state;
  list_files();
  files[1].kind = "line sheet";
  refuse(2, BE_BAD_INPUT, "\"day.csv\" did not come out in its place");
  list_files();
  files[1].sha256 = hashes[0];
  refuse(2, BE_BAD_INPUT, "did not come out");
  list_files();
  files[0].alone = false;
  refuse(2, BE_BAD_INPUT, "cannot be entered again"); /* its spool is told by no sheet */
  list_files();
  files[1].mapping = NULL;
  refuse(2, BE_BAD_INPUT, "cannot be entered again");
}

static void a_book_that_has_files_is_refused(void **state)
{
  (void)state;
  struct be_book *book = NULL;
  struct be_err err = {0};
  list_files();
  assert_int_equal(be_book_in_memory(&book, NULL), BE_OK);
  assert_int_equal(be_book_begin(book, NULL), BE_OK);
  assert_int_equal(be_book_take(book, files, 2, text_at, NULL, &err), BE_OK);
  assert_int_equal(be_book_take(book, files, 2, text_at, NULL, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "holds 2 files already"));
  assert_non_null(strstr(err.remedy, "merge"));
  assert_int_equal(be_book_end(book, BE_OK, &err), BE_OK);
  be_book_close(book);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_list_that_is_none_of_a_book_is_refused),
      cmocka_unit_test(a_book_that_has_files_is_refused),
      cmocka_unit_test(taking_survives_lost_calls),
  };
  return be_tests("fault: files of one book taken into another", tests);
}
