/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is written must not cost what was there: reports over books, demonstrations
 * over seasons, names cut short. */
#define _POSIX_C_SOURCE 200809L
#include "app_test.h"

#include <sys/stat.h>
#include <unistd.h>

static const char sheet[] = "specimen,knot,line A,load (lb)\n"
                            "p1,none,nylon 12 lb,13.2\np2,none,nylon 12 lb,13.6\n"
                            "a1,palomar,nylon 12 lb,12.1\na2,palomar,nylon 12 lb,11.8\n";

static void assert_holds(const char *path, const char *text)
{
  struct be_buf buf;
  be_buf_init(&buf, 1 << 20);
  assert_int_equal(be_file_read(path, &buf, NULL), BE_OK);
  assert_string_equal(buf.data, text);
  be_buf_free(&buf);
}

static bool contains(const char *path, const char *text)
{
  struct be_buf buf;
  be_buf_init(&buf, 1 << 26);
  assert_int_equal(be_file_read(path, &buf, NULL), BE_OK);
  bool found = strstr(buf.data, text) != NULL;
  be_buf_free(&buf);
  return found;
}

static size_t pulls_in(const char *book_path)
{
  struct be_book *book = NULL;
  struct be_record record;
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_book_open(book_path, false, &book, NULL), BE_OK);
  assert_int_equal(be_book_read(book, arena, &record, NULL), BE_OK);
  size_t count = record.pulls_count;
  be_book_close(book);
  be_arena_free(arena);
  return count;
}

/* ---- reports ---- */

static enum be_status publish(const char *book, const char *report, const struct be_answering *how,
                              struct be_err *err)
{
  const struct be_publishing asked = {.report_path = report};
  struct be_doc *doc = NULL;
  enum be_status status = be_app_publish(book, &asked, how, &doc, err);
  be_doc_free(doc);
  return status;
}

static void refuses(const char *book, const char *report, const char *words)
{
  struct be_answering how = {0};
  struct be_err err = {0};
  assert_int_equal(publish(book, report, &how, &err), BE_WRONG_USE);
  if (!strstr(err.what, words)) print_error("said: %s\n", err.what);
  assert_non_null(strstr(err.what, words));
  assert_non_null(strstr(err.remedy, "another name"));
  assert_int_equal(publish(book, report, &how, NULL), BE_WRONG_USE);
}

static void the_book_is_no_place_for_the_report(void **state)
{
  (void)state;
  char book[512], soft[512], hard[512];
  test_book(book, "over.book", sheet, NULL);
  test_path(soft, "over-soft.html");
  test_path(hard, "over-hard.html");
  unlink(soft);
  unlink(hard);
  assert_int_equal(symlink(book, soft), 0);
  assert_int_equal(link(book, hard), 0);
  refuses(book, book, "over the book");
  refuses(book, soft, "over the book");
  refuses(book, hard, "over the book");
  refuses(soft, book, "over the book");
  assert_int_equal(pulls_in(book), 4);
  /* The report is written beside its place first: that name may be the book's. */
  char beside[520];
  snprintf(beside, sizeof beside, "%s.part", hard);
  unlink(hard);
  unlink(beside);
  assert_int_equal(link(book, beside), 0);
  refuses(beside, hard, "over the book");
  assert_int_equal(pulls_in(beside), 4);
  unlink(soft);
  unlink(beside);
}

static void only_reports_are_replaced(void **state)
{
  (void)state;
  char book[512], report[512];
  struct be_answering how = {0};
  test_book(book, "replace.book", sheet, NULL);
  test_path(report, "replace.html");
  test_write(report, "<html>a season of notes");
  refuses(book, report, "no report of this program");
  assert_holds(report, "<html>a season of notes");
  unlink(report);
  assert_int_equal(mkdir(report, 0700), 0);
  refuses(book, report, "no report of this program");
  rmdir(report);
  assert_int_equal(mkfifo(report, 0600), 0);
  refuses(book, report, "no report of this program");
  unlink(report);
  assert_int_equal(publish(book, report, &how, NULL), BE_OK);
  assert_true(contains(report, "palomar"));
  test_write(report, "<html><meta name=\"generator\" content=\"bitterend 0.0.1\">old 17");
  assert_int_equal(publish(book, report, &how, NULL), BE_OK);
  assert_false(contains(report, "old 17"));
  assert_int_equal(publish(book, report, &how, NULL), BE_OK);
  test_write(report, "");
  assert_int_equal(publish(book, report, &how, NULL), BE_OK);
  assert_false(contains(report, "href=\"/"));
}

/* What is asked first stands first. */
static void standings_stand_first(void **state)
{
  (void)state;
  char book[512], report[512];
  struct be_answering how = {0};
  test_book(book, "order.book", sheet, NULL);
  test_path(report, "order.html");
  unlink(report);
  assert_int_equal(publish(book, report, &how, NULL), BE_OK);
  struct be_buf page;
  be_buf_init(&page, 1 << 26);
  assert_int_equal(be_file_read(report, &page, NULL), BE_OK);
  const char *findings = strstr(page.data, ">Findings</h2>"),
             *standings = strstr(page.data, ">Standings</h2>"),
             *strength = strstr(page.data, ">Strength</h2>");
  assert_true(findings && standings && strength);
  assert_true(standings < strength && strength < findings);
  be_buf_free(&page);
}

/* ---- the demonstration ---- */

struct place {
  char book[512], part[520], bench[520], stamp[540];
};

static void clear(struct place *place, const char *name)
{
  static const char *const files[] = {
      "recipe.txt",    "lines.csv",         "knots.csv",        "session-1.csv",    "session-2.csv",
      "session-3.csv", "session-4.csv",     "session-5.csv",    "session-6.csv",    "session-7.csv",
      "session-8.csv", "session-9.csv",     "session-10.csv",   "session-11.csv",   "benches.csv",
      "planned.csv",   "planned-rules.csv", "labels.html",      "changed-rule.csv", "evening-1.csv",
      "evening-2.csv", "calibrations.csv",  "check-weights.csv"};
  test_path(place->book, name);
  snprintf(place->part, sizeof place->part, "%s.part", place->book);
  snprintf(place->bench, sizeof place->bench, "%s-bench", place->book);
  snprintf(place->stamp, sizeof place->stamp, "%s/recipe.txt", place->bench);
  unlink(place->book);
  unlink(place->part);
  for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
    char path[600];
    snprintf(path, sizeof path, "%s/%s", place->bench, files[i]);
    unlink(path);
  }
}

static void demo_refuses(const struct place *place, const char *words)
{
  struct be_err err = {0};
  bool made = true;
  assert_int_equal(be_app_demo(place->book, place->bench, &made, &err), BE_WRONG_USE);
  if (!strstr(err.what, words)) print_error("said: %s\n", err.what);
  assert_non_null(strstr(err.what, words));
  assert_non_null(strstr(err.remedy, "another name"));
  assert_false(made);
}

static void demo_is(const struct place *place, bool wanted)
{
  struct be_err err = {0};
  bool made = !wanted;
  enum be_status status = be_app_demo(place->book, place->bench, &made, &err);
  if (status != BE_OK) print_error("%s: %s\n", err.file, err.what);
  assert_int_equal(status, BE_OK);
  assert_int_equal(made, wanted);
  assert_false(be_file_exists(place->part));
}

static void enter_one(const char *book, const char *name)
{
  char path[512];
  struct be_entering how = {0};
  struct be_doc *doc = NULL;
  test_path(path, name);
  test_write(path, "specimen,knot,line A,load (lb)\nmine-1,palomar,nylon 12 lb,12.7\n");
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &how, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

static void a_demonstration_leaves_books_alone(void **state)
{
  (void)state;
  struct place place;
  clear(&place, "mine.book");
  test_book(place.book, "mine.book", sheet, NULL);
  demo_refuses(&place, "holds pulls of your own");
  assert_false(be_file_exists(place.stamp));
  /* A stamp beside it, whoever put it there, changes nothing. */
  be_dir_create(place.bench, NULL);
  test_write(place.stamp, "being made\n");
  demo_refuses(&place, "holds pulls of your own");
  assert_int_equal(pulls_in(place.book), 4);
  test_write(place.book, "a letter, not a book");
  demo_refuses(&place, "no book that can be read");
  assert_holds(place.book, "a letter, not a book");
  unlink(place.book);
  assert_int_equal(be_book_create(place.book, NULL), BE_OK);
  demo_refuses(&place, "still empty");
  unlink(place.book);
}

static void what_is_in_the_way_is_left(void **state)
{
  (void)state;
  struct place place;
  char lines[600];
  clear(&place, "way.book");
  test_write(place.part, "mine");
  demo_refuses(&place, "needed on the way");
  assert_holds(place.part, "mine");
  unlink(place.part);
  be_dir_create(place.bench, NULL);
  snprintf(lines, sizeof lines, "%s/session-11.csv", place.bench);
  test_write(lines, "mine too");
  demo_refuses(&place, "files of your own");
  assert_holds(lines, "mine too");
  unlink(lines);
  snprintf(lines, sizeof lines, "%s/evening-2.csv", place.bench);
  test_write(lines, "mine as well");
  demo_refuses(&place, "files of your own");
  assert_holds(lines, "mine as well");
  unlink(lines);
}

/* Kept in one test: each demonstration takes a second. */
static void the_demonstration_is_known_by_what_it_holds(void **state)
{
  (void)state;
  struct place place;
  clear(&place, "known.book");
  demo_is(&place, true);
  demo_is(&place, false);
  assert_int_equal(pulls_in(place.book), 514 + 34);

  /* Killed after the book was begun: half of it stands at X.part, X is whole. */
  struct be_buf stamp;
  be_buf_init(&stamp, 1 << 20);
  assert_int_equal(be_file_read(place.stamp, &stamp, NULL), BE_OK);
  char *killed = malloc(stamp.size + 32);
  snprintf(killed, stamp.size + 32, "being made\n%s", stamp.data);
  test_write(place.stamp, killed);
  assert_int_equal(be_book_create(place.part, NULL), BE_OK);
  unlink(place.book);
  demo_is(&place, true);

  /* Made from another recipe: the same files, listed under another name. */
  const char *space = strchr(stamp.data, ' ');
  assert_non_null(space);
  char *older = malloc(2 * stamp.size);
  size_t used = 0;
  for (const char *line = stamp.data; *line; line = strchr(line, '\n') + 1) {
    const char *rest = strchr(line, ' ');
    size_t length = (size_t)(strchr(line, '\n') - rest) + 1;
    memcpy(older + used, "0.0.9-f00", 9);
    memcpy(older + used + 9, rest, length);
    used += 9 + length;
  }
  older[used] = '\0';
  test_write(place.stamp, older);
  demo_is(&place, true);
  assert_false(contains(place.stamp, "0.0.9-f00"));
  assert_holds(place.stamp, stamp.data);

  /* Killed between listing the new book and putting it in place. */
  char *both = malloc(strlen(older) + stamp.size + 32);
  snprintf(both, strlen(older) + stamp.size + 32, "being made\n%s%s", older, stamp.data);
  test_write(place.stamp, both);
  demo_is(&place, false);
  free(both);
  free(older);
  free(killed);
  be_buf_free(&stamp);

  /* One pull of the user's in it, and it is theirs. */
  enter_one(place.book, "known-extra.csv");
  demo_refuses(&place, "holds pulls of your own");
  assert_int_equal(pulls_in(place.book), 514 + 34 + 1);
  unlink(place.book);
}

static void long_names_are_whole_names(void **state)
{
  (void)state;
  char folder[512], inner[800], book[900], bench[900], report[900], lines[1000];
  struct be_answering how = {0};
  bool made = false;
  test_path(folder, "long");
  be_dir_create(folder, NULL);
  char name[241];
  memset(name, 'n', sizeof name - 1);
  name[sizeof name - 1] = '\0';
  snprintf(inner, sizeof inner, "%s/%s", folder, name);
  assert_int_equal(be_dir_create(inner, NULL), BE_OK);
  assert_int_equal((int)(strlen(inner) - strlen(folder)), 241);
  int a = snprintf(book, sizeof book, "%s/demo.book", inner);
  snprintf(bench, sizeof bench, "%s/demo.book-bench", inner);
  snprintf(report, sizeof report, "%s/report.html", inner);
  snprintf(lines, sizeof lines, "%s/session-11.csv", bench);
  assert_true(a > 240 && a < 900);
  unlink(book);
  unlink(report);
  assert_int_equal(be_app_demo(book, bench, &made, NULL), BE_OK);
  assert_true(made);
  assert_true(be_file_exists(book));
  assert_true(be_file_exists(lines));
  assert_int_equal(publish(book, report, &how, NULL), BE_OK);
  struct be_site *site = NULL;
  assert_int_equal(be_app_serve(book, NULL, &how, &site, NULL), BE_OK);
  be_app_serve_end(site);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_book_is_no_place_for_the_report),
      cmocka_unit_test(only_reports_are_replaced),
      cmocka_unit_test(standings_stand_first),
      cmocka_unit_test(a_demonstration_leaves_books_alone),
      cmocka_unit_test(what_is_in_the_way_is_left),
      cmocka_unit_test(the_demonstration_is_known_by_what_it_holds),
      cmocka_unit_test(long_names_are_whole_names),
  };
  cmocka_set_message_output(CM_OUTPUT_TAP);
  return cmocka_run_group_tests_name("app: what is written", tests, NULL, NULL);
}
