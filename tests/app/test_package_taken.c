/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said of a package that was taken back: whether its worked tables and its words are those
 * of the new book; and zips that other programs packed. */
#define _POSIX_C_SOURCE 200809L
#include "fault/failing.h"
#include "package_test.h"

#include <unistd.h>
#include <zip.h>

static char book[512], folder[512];

/* A fresh package of a small book. */
static void fresh(const struct be_answering *how, const struct be_publishing *asked)
{
  struct be_doc *doc = NULL;
  struct be_publishing wanted = asked ? *asked : (struct be_publishing){0};
  test_path(folder, "taken");
  remove_package(folder);
  wanted.package_path = folder;
  assert_int_equal(be_app_publish(book, &wanted, how, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

static struct be_doc *take(const char *path)
{
  char again[512];
  const struct be_entering how = {0};
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  const char *const paths[] = {path};
  test_path(again, "taken-again.book");
  be_file_remove(again, NULL);
  assert_int_equal(be_book_create(again, NULL), BE_OK);
  if (be_app_enter(again, paths, 1, &how, &doc, &err) != BE_OK)
    fail_msg("%s: %s", err.file, err.what);
  return doc;
}

static void said_of(const char *path, const char *words)
{
  struct be_doc *doc = take(path);
  assert_true(says(doc, words));
  be_doc_free(doc);
}

static const struct be_answering few = {.resamples = 60, .seed = 7, .level = 0.9};
#define THE_SAME                                                                                   \
  "The standings, strengths and loads worked in the package are those of this book, the same to "  \
  "the bit, with seed 7 and 60 resamples; so are its descriptions."

/* With the seed, the level, the licence and the authors that the package tells, not the usual ones.
 */
static void the_worked_tables_are_the_same_to_the_bit(void **state)
{
  (void)state;
  const struct be_publishing asked = {.licence = "CC0-1.0", .authors = "A. N. Other; \"Q\" Ö"};
  fresh(&few, &asked);
  said_of(folder, THE_SAME);
  fresh(&few, NULL);
  said_of(folder, THE_SAME);
}

static void what_a_hand_changed_is_told(void **state)
{
  (void)state;
  static const struct {
    const char *name, *from, *to, *words;
  } changed[] = {
      {"worked/loads.csv", ",event,", ",void,", "was changed by hand, or worked out on a"},
      {"worked/strength.csv", "palomar", "polamar", "polamar"},
      {"worked/standings.csv", "place,", "plaice,", "named below"},
      {"README.txt", "Tables are", "Tables were",
       "README.txt is not what this book gives: it was changed"},
      {"CITATION.cff", "dataset", "software", "CITATION.cff is not what this book gives"},
      {"datapackage.json", "{", "", "datapackage.json is not what this book gives"},
      {"README.txt", be_version, "0.0.7", "README.txt is not what this book gives"},
  };
  for (size_t i = 0; i < sizeof changed / sizeof changed[0]; i++) {
    fresh(&few, NULL);
    forge(folder, changed[i].name, changed[i].from, changed[i].to);
    struct be_doc *doc = take(folder);
    if (!says(doc, changed[i].words)) fail_msg("%zu: not said: %s", i, changed[i].words);
    assert_int_equal(says(doc, "named below"), i < 3);
    assert_false(says(doc, "so are its descriptions"));
    be_doc_free(doc);
  }
}

static void another_version_is_named(void **state)
{
  (void)state;
  char from[80], to[80];
  fresh(&few, NULL);
  snprintf(from, sizeof from, "Worked out by bitterend %s", be_version);
  snprintf(to, sizeof to, "Worked out by bitterend 0.0.7");
  forge(folder, "datapackage.json", from, to);
  forge(folder, "worked/loads.csv", ",event,", ",void,");
  said_of(folder, "worked/loads.csv is not what this book gives: it was made by bitterend 0.0.7");
}

static void files_that_belong_to_none_are_told(void **state)
{
  (void)state;
  char path[512], hex[65], line[120];
  struct be_buf sums;
  fresh(&few, NULL);
  odd_path(path, folder, "mine.txt");
  test_write(path, "my own 19");
  said_of(folder, "that the checksums do not list: 1, such as mine.txt");
  be_sha256_hex("my own 19", 9, hex);
  odd_path(path, folder, BE_PACKAGE_CHECKSUMS);
  read_whole(path, &sums);
  snprintf(line, sizeof line, "%s  mine.txt\n", hex);
  be_buf_text(&sums, line);
  assert_int_equal(be_file_write(path, sums.data, sums.size, NULL), BE_OK);
  be_buf_free(&sums);
  said_of(folder, "belong to no package of this book: 1, such as mine.txt");
  odd_path(path, folder, "mine.txt");
  be_file_remove(path, NULL);
}

/* ---- moments ---- */

/* The first moment of the package: every table that tells it must tell the same. */
static void move_moments(const char *to)
{
  static const char *const tables[] = {"entered.csv", "record/results.csv"};
  char path[512], from[21];
  struct be_buf text;
  odd_path(path, folder, "entered.csv");
  read_whole(path, &text);
  const char *at = strstr(text.data, "Z,yes,");
  assert_non_null(at);
  snprintf(from, sizeof from, "%.20s", at - 19);
  be_buf_free(&text);
  for (size_t i = 0; i < 2; i++) {
    for (;;) {
      odd_path(path, folder, tables[i]);
      read_whole(path, &text);
      bool more = text.size && strstr(text.data, from);
      be_buf_free(&text);
      if (!more) break;
      forge(folder, tables[i], from, to);
    }
  }
}

static void moments_that_cannot_be_are_told(void **state)
{
  (void)state;
  char again[512];
  struct be_err err = {0};
  fresh(&few, NULL);
  move_moments("2987-02-28T23:59:07Z");
  said_of(folder, "entered.csv tells moments still to come");
  static const char *const none[] = {"2026-02-29T10:00:00Z", "2026-13-01T10:00:00Z",
                                     "2026-02-03T24:00:00Z", "2026-02-03 10:00:00Z",
                                     "2026-02-03T10:00:00z", "1969-02-03T10:00:00Z"};
  for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
    fresh(&few, NULL);
    move_moments(none[i]);
    assert_int_equal(unpack_as(folder, again, "taken-none.book", &err), BE_BAD_INPUT);
    assert_non_null(strstr(err.what, "the moment is none"));
  }
}

static void a_clock_that_was_set_back_is_told(void **state)
{
  (void)state;
  fresh(&few, NULL);
  /* The first file later than the second: its moment alone, which no table of results tells. */
  char path[512], from[40], to[40];
  struct be_buf text;
  odd_path(path, folder, "entered.csv");
  read_whole(path, &text);
  const char *at = strstr(text.data, "Z,yes,");
  snprintf(from, sizeof from, "%.20s", at - 19);
  snprintf(to, sizeof to, "2019%.16s", at - 15);
  const char *second = strstr(at + 6, from);
  assert_non_null(second);
  char *row = strstr(text.data, "\r\n2,");
  assert_non_null(row);
  char *moment = strstr(row, from);
  assert_non_null(moment);
  char whole[200], changed[200];
  snprintf(whole, sizeof whole, "%.*s", (int)(moment + 20 - row), row);
  snprintf(changed, sizeof changed, "%.*s%s", (int)(moment - row), row, to);
  be_buf_free(&text);
  forge(folder, "entered.csv", whole, changed);
  said_of(folder, "entered.csv tells moments that lie before that of the file before: 1");
}

/* ---- zips of other programs ---- */

struct packing {
  const char *before; /* each name */
  char between;       /* folders */
  bool strangers;
};

static void add_bytes(zip_t *zip, const char *name, const void *bytes, size_t size)
{
  void *kept = malloc(size + 1);
  memcpy(kept, bytes, size);
  zip_source_t *from = zip_source_buffer(zip, kept, size, 1);
  assert_true(zip_file_add(zip, name, from, ZIP_FL_ENC_GUESS) >= 0);
}

static void add_file(zip_t *zip, const struct packing *how, const char *path)
{
  char whole[512], name[512];
  struct be_buf bytes;
  odd_path(whole, folder, path);
  read_whole(whole, &bytes);
  snprintf(name, sizeof name, "%s%s", how->before, path);
  for (char *at = name; *at; at++)
    if (*at == '/') *at = how->between;
  add_bytes(zip, name, bytes.data, bytes.size);
  be_buf_free(&bytes);
}

static void zip_again(const char *to, const struct packing *how)
{
  char path[512];
  int why = 0;
  struct be_buf sums;
  const char *sha256, *name;
  be_file_remove(to, NULL);
  zip_t *zip = zip_open(to, ZIP_CREATE | ZIP_TRUNCATE, &why);
  assert_non_null(zip);
  odd_path(path, folder, BE_PACKAGE_CHECKSUMS);
  read_whole(path, &sums);
  add_file(zip, how, BE_PACKAGE_CHECKSUMS);
  for (char *at = sums.data; be_pack_line(&at, &sha256, &name);) add_file(zip, how, name);
  if (how->strangers) add_bytes(zip, "__MACOSX/._README.txt", "x", 1);
  if (how->strangers) add_bytes(zip, "README.txt", "another", 7);
  assert_int_equal(zip_close(zip), 0);
  be_buf_free(&sums);
}

static void zips_of_other_programs_are_read(void **state)
{
  (void)state;
  static const struct packing packings[] = {
      {"", '/', false}, {"season 7/", '/', false}, {"", '\\', false}, {"Säson/", '\\', true}};
  char zip[512];
  fresh(&few, NULL);
  for (size_t i = 0; i < sizeof packings / sizeof packings[0]; i++) {
    test_path(zip, "taken-other.ZIP");
    zip_again(zip, &packings[i]);
    struct be_doc *doc = take(zip);
    assert_true(says(doc, THE_SAME));
    assert_int_equal(says(doc, "do not list: 2"), packings[i].strangers);
    be_doc_free(doc);
  }
}

static void a_workbook_is_said_to_be_one(void **state)
{
  (void)state;
  char path[512], again[512];
  struct be_err err = {0};
  int why = 0;
  test_path(path, "taken.xlsx");
  be_file_remove(path, NULL);
  zip_t *zip = zip_open(path, ZIP_CREATE | ZIP_TRUNCATE, &why);
  add_bytes(zip, "[Content_Types].xml", "<Types/>", 8);
  assert_int_equal(zip_close(zip), 0);
  assert_int_equal(unpack_as(path, again, "taken-none.book", &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "a workbook of a spreadsheet program"));
  assert_non_null(strstr(err.remedy, "as CSV"));
}

/* ---- when memory runs out ---- */

struct two {
  char book[512], package[512];
};

static enum be_status compare(void *context, struct be_err *err)
{
  const struct two *two = context;
  struct be_book *opened = NULL;
  struct pack *pack = NULL;
  struct be_buf text;
  struct be_doc *doc = be_doc_create("enter", "Entered");
  be_buf_init(&text, 1 << 20);
  enum be_status status = doc ? BE_OK : be_no_memory(err);
  if (status == BE_OK) status = be_book_open(two->book, false, &opened, err);
  if (status == BE_OK) status = be_pack_open(two->package, &pack, err);
  if (status == BE_OK) status = be_package_compare(pack, opened, doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &text, err);
  if (status == BE_OK && (!strstr(text.data, "so are its") || strstr(text.data, "not what")))
    status = be_fail(err, BE_BAD_INPUT, "a comparison that is not whole");
  be_book_close(opened);
  be_pack_close(pack);
  be_doc_free(doc);
  be_buf_free(&text);
  return status;
}

static void a_comparison_is_whole_or_none(void **state)
{
  (void)state;
  const struct be_publishing asked = {.authors = "A. N. Other"};
  struct two two;
  struct be_doc *doc = NULL;
  test_path(two.book, "taken-small.book");
  be_file_remove(two.book, NULL);
  assert_int_equal(be_book_create(two.book, NULL), BE_OK);
  odd_sheet(two.book, "taken-small.csv", "specimen,knot,line A,load (lb)\na,uni,nylon 3,7.25\n",
            NULL);
  test_path(two.package, "taken-small");
  remove_package(two.package);
  struct be_publishing wanted = asked;
  wanted.package_path = two.package;
  assert_int_equal(be_app_publish(two.book, &wanted, &few, &doc, NULL), BE_OK);
  be_doc_free(doc);
  /* Some of its thousands of calls, each once. */
  for (size_t at = 1;; at += 211) {
    struct be_failing failing;
    struct be_err err = {0};
    be_failing_start(&failing, at, false);
    enum be_status status = compare(&two, &err);
    be_failing_stop();
    assert_int_equal(failing.blocks, 0);
    assert_int_equal(failing.broken, 0);
    assert_int_equal(status, failing.failed ? BE_NO_MEMORY : BE_OK);
    if (failing.failed) continue;
    assert_true(at > 1000);
    break;
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_worked_tables_are_the_same_to_the_bit),
      cmocka_unit_test(what_a_hand_changed_is_told),
      cmocka_unit_test(another_version_is_named),
      cmocka_unit_test(files_that_belong_to_none_are_told),
      cmocka_unit_test(moments_that_cannot_be_are_told),
      cmocka_unit_test(a_clock_that_was_set_back_is_told),
      cmocka_unit_test(zips_of_other_programs_are_read),
      cmocka_unit_test(a_workbook_is_said_to_be_one),
      cmocka_unit_test(a_comparison_is_whole_or_none),
  };
  odd_book(book, "taken.book");
  return be_tests("app: a package taken back, and what is said of it", tests);
}
