/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A report of the book as it stood has the same bytes as one that was written then, whatever was
 * entered and corrected since; and what moved since is a part of its own. */
#define _POSIX_C_SOURCE 200809L
#include "app/publish/stood.h"
#include "fault/failing.h"
#include "moved_books.h"

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

struct paths {
  char book[512], html[512], pdf[512], tables[512];
};

static void paths_named(struct paths *paths, const char *book, const char *name)
{
  char file[80];
  snprintf(paths->book, sizeof paths->book, "%s", book);
  snprintf(file, sizeof file, "as-of-%s.html", name);
  test_path(paths->html, file);
  snprintf(file, sizeof file, "as-of-%s.pdf", name);
  test_path(paths->pdf, file);
  snprintf(file, sizeof file, "as-of-%s-tables", name);
  test_path(paths->tables, file);
  be_file_remove(paths->html, NULL);
  be_file_remove(paths->pdf, NULL);
}

static enum be_status publish(const struct paths *paths, const char *as_of, const char *since,
                              struct be_err *err)
{
  const struct be_publishing asked = {.report_path = paths->html,
                                      .pdf_path = paths->pdf,
                                      .tables_path = paths->tables,
                                      .as_of = as_of};
  const struct be_answering how = {.since = since, .resamples = 100};
  struct be_doc *doc = NULL;
  enum be_status status = be_app_publish(paths->book, &asked, &how, &doc, err);
  if (status == BE_OK) assert_true(says(doc, "The record as of"));
  be_doc_free(doc);
  return status;
}

static void must_publish(const struct paths *paths, const char *as_of, const char *since)
{
  struct be_err err = {0};
  enum be_status status = publish(paths, as_of, since, &err);
  if (status != BE_OK) print_error("%s: %s\n", err.file, err.what);
  assert_int_equal(status, BE_OK);
}

static struct be_buf bytes_of(const char *path)
{
  struct be_buf bytes;
  be_buf_init(&bytes, 1 << 26);
  assert_int_equal(be_file_read(path, &bytes, NULL), BE_OK);
  return bytes;
}

static bool same_bytes(const char *a, const char *b)
{
  struct be_buf one = bytes_of(a), other = bytes_of(b);
  bool same = one.size == other.size && memcmp(one.data, other.data, one.size) == 0;
  be_buf_free(&one);
  be_buf_free(&other);
  return same;
}

static bool same_tables(const struct paths *a, const struct paths *b)
{
  char one[600], other[600];
  snprintf(one, sizeof one, "%s/all.csv", a->tables);
  snprintf(other, sizeof other, "%s/all.csv", b->tables);
  return same_bytes(one, other);
}

static void enter_plain(const char *book, const char *name, const char *text)
{
  struct one_sheet sheet = {.name = name};
  be_buf_init(&sheet.text, 1 << 20);
  be_buf_text(&sheet.text, text);
  enter_sheet(book, &sheet);
}

/* All that can be told of the first sheet later, and more pulls. */
static void enter_later(const char *book)
{
  struct one_sheet sheet = one_sheet("second.csv");
  add_correction(&sheet, "a1", "palomar", NYLON, 47.9);
  add_pulls(&sheet, "c", "palomar", NYLON, LOADS(56.3, 57.1));
  enter_sheet(book, &sheet);
  enter_plain(book, "told.csv",
              "line,spool,lot,label,diameter (mm),on hand (m)\n" NYLON ",S1,L7,12 lb,0.31,63\n");
  enter_plain(book, "knots.csv", "knot,aliases,tie\npalomar,the third of them,palomar\n");
  enter_plain(book, "seen.csv", "specimen,photo,note\na2,a2.jpg,torn\n");
  enter_plain(book, "benches.csv", "bench,resolution (N),calibration (%)\nnorth,0.1,0.5\n");
  enter_plain(book, "palomar.jpg", "\xFF\xD8\xFF no more than its first bytes");
  enter_plain(book, "trial.csv",
              "trial,specimen,block,order,knot,line A\nspring,z1,1,1,uni," NYLON "\n");
}

static void the_same_bytes_as_then(void **state)
{
  (void)state;
  struct paths then, now, again;
  char book[512];
  new_book(book, "as-of");
  enter_first(book);
  paths_named(&then, book, "then");
  must_publish(&then, NULL, NULL);
  enter_later(book);
  paths_named(&now, book, "now");
  must_publish(&now, NULL, NULL);
  assert_false(same_bytes(then.html, now.html));
  assert_false(same_bytes(then.pdf, now.pdf));
  assert_false(same_tables(&then, &now));
  paths_named(&again, book, "again");
  must_publish(&again, "first.csv", NULL);
  assert_true(same_bytes(then.html, again.html));
  assert_true(same_bytes(then.pdf, again.pdf));
  assert_true(same_tables(&then, &again));
  /* Of today all is there. */
  char today[32];
  be_now(today);
  today[10] = '\0';
  must_publish(&again, today, NULL);
  assert_true(same_bytes(now.html, again.html));
  assert_true(same_bytes(now.pdf, again.pdf));
}

static bool contains(const char *path, const char *text)
{
  struct be_buf bytes = bytes_of(path);
  bool found = strstr(bytes.data, text) != NULL;
  be_buf_free(&bytes);
  return found;
}

static void what_moved_since_is_a_part(void **state)
{
  (void)state;
  struct paths paths;
  char book[512];
  new_book(book, "as-of-since");
  enter_first(book);
  enter_later(book);
  paths_named(&paths, book, "since");
  must_publish(&paths, NULL, NULL);
  assert_false(contains(paths.html, "What moved since"));
  must_publish(&paths, NULL, "second.csv");
  static const char *const told[] = {">What moved since second.csv</h2>",
                                     ">What was entered since</h3>",
                                     "palomar.jpg",
                                     "gauge read again",
                                     "55.1 N",
                                     "47.9 N"};
  for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
    if (!contains(paths.html, told[i])) fail_msg("not told: %s", told[i]);
  /* Standings do not tell it once more. */
  assert_false(contains(paths.html, ">What moved</h3>"));
  /* As of a moment it is what had moved by then. */
  must_publish(&paths, "second.csv", "second.csv");
  assert_true(contains(paths.html, "47.9 N"));
  assert_false(contains(paths.html, "palomar.jpg"));
}

static void refuses(const struct paths *paths, const char *as_of, const char *since,
                    enum be_status want, const char *words)
{
  struct be_err err = {0};
  assert_int_equal(publish(paths, as_of, since, &err), want);
  if (!strstr(err.what, words)) print_error("said: %s\n", err.what);
  assert_non_null(strstr(err.what, words));
  assert_string_equal(err.file, paths->book);
  assert_int_equal(publish(paths, as_of, since, NULL), want);
  assert_false(be_file_exists(paths->html));
}

static void other_moments_are_refused(void **state)
{
  (void)state;
  struct paths paths;
  char book[512];
  new_book(book, "as-of-refused");
  enter_first(book);
  enter_later(book);
  paths_named(&paths, book, "refused");
  refuses(&paths, "1999-12-31", NULL, BE_BAD_INPUT, "the first file, first.csv, came at");
  refuses(&paths, "2999-12-31", NULL, BE_WRONG_USE, "has not come yet");
  refuses(&paths, "soon", NULL, BE_WRONG_USE, "\"soon\" is neither a file that was entered nor");
  refuses(&paths, NULL, "1999-12-31", BE_BAD_INPUT, "nothing was entered before 1999-12-31");
  refuses(&paths, NULL, "2999-12-31", BE_WRONG_USE, "has not come yet");
  refuses(&paths, "first.csv", "second.csv", BE_WRONG_USE,
          "after the book as of first.csv, which ends with first.csv: nothing can have moved");
}

/* A process that is killed leaves its folder; the next one removes it, but not one in use, nor what
 * only has such a name. */
static void what_was_left_behind_is_removed(void **state)
{
  (void)state;
  char book[512], where[512], left[512], other[512];
  int from_child[2];
  struct stood stood;
  struct be_arena *arena = be_arena_create();
  new_book(book, "as-of-killed");
  enter_first(book);
  test_path(where, "as-of-killed-tmp");
  assert_int_equal(be_dir_create(where, NULL), BE_OK);
  snprintf(other, sizeof other, "%.400s/bitterend-stood-1-mine", where);
  assert_int_equal(be_dir_create(other, NULL), BE_OK);
  const char *was = getenv("TMPDIR");
  char kept[600];
  snprintf(kept, sizeof kept, "%.500s", was ? was : "");
  setenv("TMPDIR", where, 1);
  assert_int_equal(pipe(from_child), 0);
  pid_t child = fork();
  if (child == 0) {
    bool made = be_stood_make(&stood, book, "first.csv", arena, NULL) == BE_OK;
    if (!made || write(from_child[1], stood.path, sizeof stood.path) < 0) _exit(1);
    pause();
  }
  memset(left, 0, sizeof left);
  assert_true(child > 0 && read(from_child[0], left, sizeof left) > 0);
  assert_int_equal(be_stood_make(&stood, book, "first.csv", arena, NULL), BE_OK);
  be_stood_remove(&stood);
  assert_true(be_file_exists(left)); /* it is in use */
  kill(child, SIGKILL);
  assert_int_equal(waitpid(child, NULL, 0), child);
  assert_true(be_file_exists(left));
  assert_int_equal(be_stood_make(&stood, book, "first.csv", arena, NULL), BE_OK);
  assert_false(be_file_exists(left));
  *strrchr(left, '/') = '\0';
  assert_false(be_file_exists(left));
  assert_true(be_file_exists(other));
  be_stood_remove(&stood);
  assert_false(be_file_exists(stood.path));
  if (was) setenv("TMPDIR", kept, 1);
  else unsetenv("TMPDIR");
  close(from_child[0]);
  close(from_child[1]);
  be_arena_free(arena);
}

/* The book itself is spared, though another is read. */
static void the_book_is_no_place_for_its_past(void **state)
{
  (void)state;
  char book[512], folder[512];
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  const struct be_answering how = {0};
  new_book(book, "as-of-over");
  enter_first(book);
  const struct be_publishing over = {.pdf_path = book, .as_of = "first.csv"};
  assert_int_equal(be_app_publish(book, &over, &how, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "over the book"));
  /* Nothing is left among the temporary files, and where there is no place it is said. */
  test_path(folder, "as-of-nowhere");
  const struct be_publishing asked = {.pdf_path = folder, .as_of = "first.csv"};
  const char *was = getenv("TMPDIR");
  char kept[600];
  snprintf(kept, sizeof kept, "%.500s", was ? was : "");
  setenv("TMPDIR", folder, 1);
  assert_int_equal(be_app_publish(book, &asked, &how, &doc, &err), BE_FAILED);
  assert_non_null(strstr(err.what, "no place for the book as it stood"));
  assert_non_null(strstr(err.remedy, "TMPDIR"));
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  const struct be_publishing inside = {.pdf_path = "/nowhere/at/all.pdf", .as_of = "first.csv"};
  assert_int_not_equal(be_app_publish(book, &inside, &how, &doc, &err), BE_OK);
  assert_int_equal(rmdir(folder), 0); /* it is empty */
  if (*kept) setenv("TMPDIR", kept, 1);
  else unsetenv("TMPDIR");
}

static void only_reports_are_replaced(void **state)
{
  (void)state;
  struct paths paths;
  char book[512];
  struct be_err err = {0};
  new_book(book, "as-of-pdf");
  enter_first(book);
  paths_named(&paths, book, "replaced");
  test_write(paths.pdf, "%PDF-1.5\nanother program's pages");
  assert_int_equal(publish(&paths, NULL, NULL, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "no report of this program"));
  assert_non_null(strstr(err.remedy, "--pdf"));
  assert_true(contains(paths.pdf, "another program's pages"));
  be_file_remove(paths.pdf, NULL);
  must_publish(&paths, NULL, NULL);
  must_publish(&paths, NULL, NULL);
}

/* ---- memory ---- */

static enum be_status ask_moved(const struct survey *of, struct be_buf *text, struct be_err *err)
{
  struct survey survey = *of;
  struct be_doc *doc = NULL;
  be_buf_init(text, 1 << 20);
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status = be_moved_doc(&survey, &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, text, err);
  be_doc_free(doc);
  be_arena_free(survey.arena);
  return status;
}

/* What it is made of is tried call by call in tests/book and tests/fault: here one call in many. */
static void what_moved_without_memory(void **state)
{
  (void)state;
  char book[512];
  struct survey survey;
  struct be_buf whole, text;
  const struct be_answering how = {.since = "second.csv", .resamples = 100};
  struct be_arena *arena = be_arena_create();
  size_t refused = 0;
  new_book(book, "as-of-memory");
  enter_first(book);
  enter_later(book);
  assert_int_equal(be_survey_read(book, &how, arena, &survey, NULL), BE_OK);
  assert_int_equal(ask_moved(&survey, &whole, NULL), BE_OK);
  for (size_t at = 1;; at += 131) {
    struct be_failing failing;
    struct be_err err = {0};
    be_failing_start(&failing, at, false);
    enum be_status status = ask_moved(&survey, &text, &err);
    be_failing_relent();
    if (status == BE_OK) assert_string_equal(text.data, whole.data);
    else assert_int_equal(status, BE_NO_MEMORY);
    refused += status != BE_OK;
    be_buf_free(&text);
    be_failing_stop();
    assert_int_equal(failing.blocks + failing.broken, 0);
    if (!failing.failed) break;
  }
  assert_true(refused > 5);
  be_buf_free(&whole);
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_same_bytes_as_then),
      cmocka_unit_test(what_moved_since_is_a_part),
      cmocka_unit_test(what_was_left_behind_is_removed),
      cmocka_unit_test(other_moments_are_refused),
      cmocka_unit_test(the_book_is_no_place_for_its_past),
      cmocka_unit_test(only_reports_are_replaced),
      cmocka_unit_test(what_moved_without_memory),
  };
  return be_tests("app: as it stood", tests);
}
