/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The record as a package: written, taken back to the last bit, and refused when it is not as it
 * was written. */
#define _POSIX_C_SOURCE 200809L
#include "package_test.h"

#include <unistd.h>

/* ---- there and back ---- */

typedef enum be_status asker(const char *, const struct be_answering *, struct be_doc **,
                             struct be_err *);

static void same_answer(asker *ask, const char *a, const char *b)
{
  const struct be_answering how = {.resamples = 60, .seed = 7};
  const char *const books[] = {a, b};
  struct be_buf text[2];
  for (int i = 0; i < 2; i++) {
    struct be_doc *doc = NULL;
    be_buf_init(&text[i], 1 << 24);
    assert_int_equal(ask(books[i], &how, &doc, NULL), BE_OK);
    assert_int_equal(be_doc_json(doc, &text[i], NULL), BE_OK);
    be_doc_free(doc);
  }
  assert_string_equal(text[0].data, text[1].data);
  assert_non_null(strstr(text[0].data, "\"rows\""));
  be_buf_free(&text[0]);
  be_buf_free(&text[1]);
}

static void same_book(const char *a, const char *b)
{
  struct be_doc *doc = NULL;
  same_answer(be_app_standings, a, b);
  same_answer(be_app_strength, a, b);
  same_answer(be_app_findings, a, b);
  assert_int_equal(be_app_check(b, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

static void a_book_comes_back_to_the_last_bit(void **state)
{
  (void)state;
  char book[512], again[512], first[512], second[512], path[512], other[512];
  struct be_buf sums;
  const char *sha256, *name;
  size_t files = 0;
  odd_book(book, "odd.book");
  test_path(first, "odd-first");
  test_path(second, "odd-second");
  remove_package(first);
  remove_package(second);
  pack(book, first);
  unpack(first, again, "odd-again.book");
  same_book(book, again);
  pack(again, second);
  odd_path(path, first, BE_PACKAGE_CHECKSUMS);
  odd_path(other, second, BE_PACKAGE_CHECKSUMS);
  same_bytes(path, other);
  read_whole(path, &sums);
  for (char *at = sums.data; be_pack_line(&at, &sha256, &name); files++) {
    odd_path(path, first, name);
    odd_path(other, second, name);
    same_bytes(path, other);
  }
  be_buf_free(&sums);
  assert_true(files > 40);
}

static void a_zip_comes_back_too_and_has_no_clock(void **state)
{
  (void)state;
  char book[512], again[512], first[512], second[512];
  odd_book(book, "odd-zip.book");
  test_path(first, "odd-first.zip");
  test_path(second, "odd-second.ZIP");
  be_file_remove(first, NULL);
  be_file_remove(second, NULL);
  pack(book, first);
  unpack(first, again, "odd-zip-again.book");
  same_book(book, again);
  pack(again, second);
  same_bytes(first, second);
  pack(book, first); /* one of ours is replaced */
  same_bytes(first, second);
}

/* Sheets of the record, one by one, give what the record gives; only the moments are others. */
static void the_tables_can_be_entered_by_hand(void **state)
{
  (void)state;
  char book[512], hand[512], folder[512], path[512], name[80];
  odd_book(book, "odd-hand.book");
  test_path(folder, "odd-hand");
  remove_package(folder);
  pack(book, folder);
  test_path(hand, "odd-by-hand.book");
  be_file_remove(hand, NULL);
  assert_int_equal(be_book_create(hand, NULL), BE_OK);
  const struct be_entering how = {0};
  for (int i = 0; i < BE_BOOK_TABLES; i++) {
    snprintf(name, sizeof name, "record/%s.csv", be_book_tables[i].name);
    odd_path(path, folder, name);
    if (be_book_tables[i].sheet) odd_enter(hand, path, &how);
  }
  test_path(folder, "odd-hand-made");
  remove_package(folder);
  pack(hand, folder);
  for (int i = 0; i < BE_BOOK_TABLES; i++) {
    bool traced = strcmp(be_book_tables[i].name, "pulls") == 0; /* paths of traces are others */
    if (!be_book_tables[i].sheet || traced) continue;
    char made[512];
    snprintf(name, sizeof name, "record/%s.csv", be_book_tables[i].name);
    odd_path(made, folder, name);
    test_path(folder, "odd-hand");
    odd_path(path, folder, name);
    test_path(folder, "odd-hand-made");
    same_bytes(made, path);
  }
}

/* ---- numbers and texts of sheets ---- */

static void numbers_are_written_so_that_they_are_read_again(void **state)
{
  (void)state;
  static const double values[] = {0,    12.345, 0.001,  1234.567,          1e-9, 1.0 / 3, 1e15 / 7,
                                  -0.7, 5e-324, 123456, 76.020107404801934};
  for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
    struct be_buf text;
    be_buf_init(&text, 4096);
    be_csv_number(&text, values[i]);
    assert_int_equal(text.status, BE_OK);
    const char *point = strchr(text.data, '.');
    assert_null(strpbrk(text.data, "eE"));
    assert_false(point && strlen(point) == 4); /* it could be thousands */
    if (values[i] > 1e-300 || values[i] <= 0) assert_true(strtod(text.data, NULL) == values[i]);
    be_buf_free(&text);
  }
}

struct cells {
  char text[200];
};

static enum be_status keep_cells(void *context, char *const *cells, size_t line, struct be_err *err)
{
  (void)err;
  struct cells *kept = context;
  size_t used = strlen(kept->text);
  snprintf(kept->text + used, sizeof kept->text - used, "%zu[%s|%s]", line, cells[0], cells[1]);
  return BE_OK;
}

static void cells_are_read_as_they_were_written(void **state)
{
  (void)state;
  struct cells kept = {""};
  struct be_err err = {0};
  static const char text[] = "a, b \r\n\"x\"\"y\n\",\"\"\r\n,z";
  assert_int_equal(be_csv_cells(text, sizeof text - 1, 2, keep_cells, &kept, &err), BE_OK);
  assert_string_equal(kept.text, "1[a| b ]2[x\"y\n|]4[|z]");
  static const struct {
    const char *text, *what;
  } bad[] = {{"a,\"b", "not closed"},
             {"a,\"b\"c", "follows a closed"},
             {"a,b,c\n", "too many"},
             {"a\n", "too few"}};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    assert_int_equal(be_csv_cells(bad[i].text, strlen(bad[i].text), 2, keep_cells, &kept, &err),
                     BE_BAD_INPUT);
    assert_non_null(strstr(err.what, bad[i].what));
    assert_int_equal(err.line, 1);
  }
  assert_int_equal(be_csv_cells("a,b\0c", 5, 2, keep_cells, &kept, &err), BE_BAD_INPUT);
}

/* ---- what is not as it was written ---- */

static void refused(const char *path, enum be_status status, const char *file, const char *what)
{
  char book[512];
  struct be_err err = {0};
  struct be_arena *arena = be_arena_create();
  struct be_held_file *files;
  size_t count = 99;
  struct be_book *opened = NULL;
  enum be_status got = unpack_as(path, book, "odd-refused.book", &err);
  if (got != status || !strstr(err.what, what) || !strstr(err.file, file))
    fail_msg("%s: %s (%d)", err.file, err.what, (int)got);
  assert_true(*err.remedy);
  assert_int_equal(be_book_open(book, false, &opened, NULL), BE_OK);
  assert_int_equal(be_book_files(opened, arena, &files, &count, NULL), BE_OK);
  assert_int_equal(count, 0);
  be_book_close(opened);
  be_arena_free(arena);
}

/* Each file of the package in turn: one byte of it is another. */
static void a_changed_byte_is_refused_by_name(void **state)
{
  (void)state;
  char book[512], folder[512], path[512];
  struct be_buf sums, bytes;
  const char *sha256, *name;
  odd_book(book, "odd-changed.book");
  test_path(folder, "odd-changed");
  remove_package(folder);
  pack(book, folder);
  odd_path(path, folder, BE_PACKAGE_CHECKSUMS);
  read_whole(path, &sums);
  for (char *at = sums.data; be_pack_line(&at, &sha256, &name);) {
    odd_path(path, folder, name);
    read_whole(path, &bytes);
    bytes.data[bytes.size / 2] ^= 1;
    assert_int_equal(be_file_write(path, bytes.data, bytes.size, NULL), BE_OK);
    refused(folder, BE_BAD_INPUT, name, "bytes were changed");
    bytes.data[bytes.size / 2] ^= 1;
    assert_int_equal(be_file_write(path, bytes.data, bytes.size, NULL), BE_OK);
    be_buf_free(&bytes);
  }
  be_buf_free(&sums);
}

static void a_package_that_was_forged_is_refused(void **state)
{
  (void)state;
  static const struct {
    const char *name, *from, *to, *file, *what;
  } forged[] = {
      {"record/pulls.csv", "cut, by hand", "cut by hand", "record/pulls.csv", "is not what"},
      {"record/corrections.csv", "again", "agains", "record/corrections.csv", "is not what"},
      {"entered.csv", "3,knot sheet", "4,knot sheet", "entered.csv", "numbered from 1"},
      {"entered.csv", "sheets/odd-lines.csv", "../odd-lines.csv", "entered.csv", "leads out"},
      {"entered.csv", "sheets/odd-lines.csv", "sheets/no.csv", "", "do not list"},
      {"entered.csv", "sheets/odd-lines.csv", "sheets/odd-knots.csv", "entered.csv", "not that of"},
      {"entered.csv", "Z,yes,", "Z,maybe,", "entered.csv", "yes or no"},
      {"entered.csv", "Z,yes,", ",yes,", "entered.csv", "moment"},
      {"entered.csv", "Z,no,", "Z,yes,", "entered.csv", "as the list says"},
      {"entered.csv", "line sheet", "knot sheet", "", "did not come out"},
      {"entered.csv", "file,kind", "file,sort", "entered.csv", "head"},
      {"entered.csv", ",\",\",", ",;,", "entered.csv", "point or a comma"},
  };
  char book[512], folder[512];
  odd_book(book, "odd-forged.book");
  test_path(folder, "odd-forged");
  for (size_t i = 0; i < sizeof forged / sizeof forged[0]; i++) {
    remove_package(folder);
    pack(book, folder);
    forge(folder, forged[i].name, forged[i].from, forged[i].to);
    refused(folder, BE_BAD_INPUT, forged[i].file, forged[i].what);
  }
}

static void a_file_that_is_missing_or_a_link_is_refused(void **state)
{
  (void)state;
  char book[512], folder[512], path[512], aside[512];
  odd_book(book, "odd-links.book");
  test_path(folder, "odd-links");
  remove_package(folder);
  pack(book, folder);
  odd_path(path, folder, "record/lines.csv");
  test_path(aside, "odd-links-aside.csv");
  assert_int_equal(be_file_rename(path, aside, NULL), BE_OK);
  refused(folder, BE_BAD_INPUT, "record/lines.csv", "missing");
  assert_int_equal(symlink(aside, path), 0);
  refused(folder, BE_BAD_INPUT, "", "no links: \"record/lines.csv\"");
  struct be_err err = {0};
  assert_int_equal(pack_as(book, folder, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "link"));
  be_file_remove(path, NULL);
  odd_path(path, folder, BE_PACKAGE_CHECKSUMS);
  assert_int_equal(be_file_rename(path, aside, NULL), BE_OK);
  refused(folder, BE_BAD_INPUT, folder, "no package");
  assert_int_equal(be_file_rename(aside, path, NULL), BE_OK);
}

static void paths_that_lead_out_are_none(void **state)
{
  (void)state;
  static const char *const bad[] = {"",     "/etc/x", "../x",  "a/../x", "a//b", "a/./b",
                                    "a/",   "a\\b",   "C:x",   "a/..",   ".",    "a\nb",
                                    "a/b ", "b.",     "x\177", "\xff",   "a/b?"};
  static const char *const good[] = {"a", "a/b.csv", "traces/πέρκα 1.csv", "..a/b", "x.y.z"};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
    if (be_pack_path_is_plain(bad[i])) fail_msg("taken: \"%s\"", bad[i]);
  for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
    if (!be_pack_path_is_plain(good[i])) fail_msg("refused: \"%s\"", good[i]);
  char longest[BE_PACKAGE_PATH_MAX + 2];
  memset(longest, 'x', sizeof longest);
  longest[sizeof longest - 1] = '\0';
  assert_false(be_pack_path_is_plain(longest));
  longest[sizeof longest - 2] = '\0';
  assert_true(be_pack_path_is_plain(longest));
}

/* ---- what stands in the way ---- */

static void only_packages_are_replaced(void **state)
{
  (void)state;
  char book[512], folder[512], path[512], other[512];
  struct be_err err = {0};
  odd_book(book, "odd-way.book");
  test_path(folder, "odd-way");
  remove_package(folder);
  pack(book, folder);
  odd_path(other, folder, "mine.txt");
  test_write(other, "kept");
  odd_sheet(book, "odd-way-more.csv", "specimen,knot,spool A,load (lb)\nZ1,palomar,s1,9.7\n", NULL);
  pack(book, folder);
  assert_true(be_file_exists(other));
  test_path(path, "odd-way-2");
  be_dir_create(path, NULL);
  odd_path(other, path, "CITATION.cff");
  test_write(other, "mine");
  assert_int_equal(pack_as(book, path, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.file, "CITATION.cff"));
  test_path(path, "odd-way.csv");
  test_write(path, "a,b\n");
  assert_int_equal(pack_as(book, path, &err), BE_WRONG_USE);
  test_path(path, "odd-way.zip");
  test_write(path, "PK\3\4 but not ours");
  assert_int_equal(pack_as(book, path, &err), BE_WRONG_USE);
  test_write(path, "");
  assert_int_equal(pack_as(book, path, &err), BE_OK);
}

/* Checksums may list what they like: what is not as the package left it, or lies behind a link, is
 * neither written over nor removed. */
static void what_was_changed_since_stays(void **state)
{
  (void)state;
  char book[512], folder[512], path[700], hex[65], line[200];
  struct be_err err = {0};
  struct be_buf sums;
  odd_book(book, "odd-kept.book");
  test_path(folder, "odd-kept");
  remove_package(folder);
  pack(book, folder);
  pack(book, folder); /* over its own */
  static const char mine[] = "my own notes 17";
  snprintf(path, sizeof path, "%s/notes.txt", folder);
  test_write(path, mine);
  be_sha256_hex("something else", 14, hex);
  snprintf(path, sizeof path, "%s/checksums.sha256", folder);
  be_buf_init(&sums, 1 << 20);
  assert_int_equal(be_file_read(path, &sums, NULL), BE_OK);
  snprintf(line, sizeof line, "%s  notes.txt\n", hex);
  be_buf_text(&sums, line);
  assert_int_equal(be_file_write(path, sums.data, sums.size, NULL), BE_OK);
  be_buf_free(&sums);
  pack(book, folder);
  snprintf(path, sizeof path, "%s/notes.txt", folder);
  assert_true(be_file_exists(path));
  snprintf(path, sizeof path, "%s/record/pulls.csv", folder);
  test_write(path, mine);
  assert_int_equal(pack_as(book, folder, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "or not as that left it"));
  be_buf_init(&sums, 1 << 20);
  assert_int_equal(be_file_read(path, &sums, NULL), BE_OK);
  assert_string_equal(sums.data, mine);
  be_buf_free(&sums);
  assert_int_equal(pack_as(book, "", &err), BE_WRONG_USE);
}

static void wrong_use_is_said(void **state)
{
  (void)state;
  char book[512], folder[512], path[512];
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  const struct be_answering how = {.resamples = 50};
  odd_book(book, "odd-use.book");
  test_path(folder, "odd-use");
  remove_package(folder);
  const struct be_publishing odd = {.package_path = folder, .licence = "all mine"};
  assert_int_equal(be_app_publish(book, &odd, &how, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.remedy, "CC0-1.0"));
  const struct be_publishing latin = {.package_path = folder, .authors = "J. M\xfcller"};
  assert_int_equal(be_app_publish(book, &latin, &how, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "not UTF-8"));
  pack(book, folder);
  const char *const both[] = {folder, "x.csv"};
  const struct be_entering entering = {0};
  assert_int_equal(be_app_enter(book, both, 2, &entering, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "alone"));
  assert_int_equal(be_app_enter(book, both, 1, &entering, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "already"));
  test_path(path, "odd-empty.book");
  be_file_remove(path, NULL);
  assert_int_equal(be_book_create(path, NULL), BE_OK);
  assert_int_equal(pack_as(path, folder, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "nothing yet"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_book_comes_back_to_the_last_bit),
      cmocka_unit_test(a_zip_comes_back_too_and_has_no_clock),
      cmocka_unit_test(the_tables_can_be_entered_by_hand),
      cmocka_unit_test(numbers_are_written_so_that_they_are_read_again),
      cmocka_unit_test(cells_are_read_as_they_were_written),
      cmocka_unit_test(a_changed_byte_is_refused_by_name),
      cmocka_unit_test(a_package_that_was_forged_is_refused),
      cmocka_unit_test(a_file_that_is_missing_or_a_link_is_refused),
      cmocka_unit_test(paths_that_lead_out_are_none),
      cmocka_unit_test(only_packages_are_replaced),
      cmocka_unit_test(what_was_changed_since_stays),
      cmocka_unit_test(wrong_use_is_said),
  };
  return be_tests("app: the record as a package", tests);
}
