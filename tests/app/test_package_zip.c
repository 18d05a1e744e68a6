/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Archives that are no packages, or worse: refused by name, before anything is unpacked. */
#include "app/package/inside.h"
#include "odd_book.h"

#include <zip.h>

/* An archive of stored files, some 150 bytes each. link: what the first is told to be. */
static void make_zip(struct be_buf *out, const char *const *names, size_t count, bool link)
{
  zip_error_t why;
  zip_error_init(&why);
  zip_source_t *source = zip_source_buffer_create(NULL, 0, 0, &why);
  zip_t *zip = zip_open_from_source(source, ZIP_TRUNCATE, &why);
  assert_non_null(zip);
  zip_source_keep(source);
  for (size_t i = 0; i < count; i++) {
    zip_source_t *from = zip_source_buffer(zip, "0123456789", 10, 0);
    zip_int64_t at = zip_file_add(zip, names[i], from, ZIP_FL_ENC_UTF_8);
    assert_true(at >= 0);
    zip_set_file_compression(zip, (zip_uint64_t)at, ZIP_CM_STORE, 0);
    if (link && i == 0)
      zip_file_set_external_attributes(zip, (zip_uint64_t)at, 0, ZIP_OPSYS_UNIX, 0120777u << 16);
  }
  assert_int_equal(zip_close(zip), 0);
  be_buf_init(out, 1 << 20);
  zip_source_open(source);
  char block[4096];
  for (zip_int64_t got; (got = zip_source_read(source, block, sizeof block)) > 0;)
    be_buf_add(out, block, (size_t)got);
  zip_source_close(source);
  zip_source_free(source);
}

static void refused(const struct be_buf *bytes, enum be_status status, const char *what)
{
  struct zip_pack *zip = NULL;
  struct be_err err = {0};
  enum be_status got = be_zip_open(bytes->data, bytes->size, &zip, &err);
  if (got != status || !strstr(err.what, what)) fail_msg("%d: %s", (int)got, err.what);
  assert_true(*err.remedy);
  assert_null(zip);
}

static void names_that_lead_out_and_links_are_refused(void **state)
{
  (void)state;
  static const char *const bad[] = {"../x", "/etc/x", "a/../../x", "C:/x", "..\\x", "a//x"};
  struct be_buf bytes;
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    make_zip(&bytes, &bad[i], 1, false);
    refused(&bytes, BE_BAD_INPUT, "leads out");
    be_buf_free(&bytes);
  }
  static const char *const one[] = {"a.csv"};
  make_zip(&bytes, one, 1, true);
  refused(&bytes, BE_BAD_INPUT, "a link: \"a.csv\"");
  be_buf_free(&bytes);
  char longest[BE_PACKAGE_PATH_MAX + 2];
  memset(longest, 'x', sizeof longest);
  longest[sizeof longest - 1] = '\0';
  const char *const names[] = {longest};
  make_zip(&bytes, names, 1, false);
  refused(&bytes, BE_BAD_INPUT, "too long");
  be_buf_free(&bytes);
}

/* In the local and in the central head of the first file alike. */
static void patch(struct be_buf *bytes, size_t local, size_t central, const void *with, size_t size)
{
  assert_memory_equal(bytes->data, "PK\3\4", 4);
  memcpy(bytes->data + local, with, size);
  for (size_t i = 0; i + 4 < bytes->size; i++)
    if (memcmp(bytes->data + i, "PK\1\2", 4) == 0) {
      memcpy(bytes->data + i + central, with, size);
      return;
    }
  fail();
}

enum { LOCAL_METHOD = 8, CENTRAL_METHOD = 10, LOCAL_SIZE = 22, CENTRAL_SIZE = 24 };

static void what_unpacks_to_too_much_is_refused(void **state)
{
  (void)state;
  static const char *const two[] = {"a.csv", "b.csv"};
  struct be_buf bytes;
  make_zip(&bytes, two, 2, false);
  patch(&bytes, LOCAL_METHOD, CENTRAL_METHOD, "\10\0", 2); /* deflated */
  patch(&bytes, LOCAL_SIZE, CENTRAL_SIZE, "\0\0\0\x7f", 4);
  refused(&bytes, BE_TOO_LARGE, "512 MiB unpacked: \"a.csv\"");
  be_buf_free(&bytes);
  static const char *const three[] = {"a", "b", "c"};
  make_zip(&bytes, three, 3, false);
  for (size_t i = 0; i + 4 < bytes.size; i++) {
    bool local = memcmp(bytes.data + i, "PK\3\4", 4) == 0;
    if (!local && memcmp(bytes.data + i, "PK\1\2", 4) != 0) continue;
    memcpy(bytes.data + i + (local ? LOCAL_METHOD : CENTRAL_METHOD), "\10\0", 2);
    memcpy(bytes.data + i + (local ? LOCAL_SIZE : CENTRAL_SIZE), "\0\0\0\x1d", 4); /* 464 MiB */
  }
  refused(&bytes, BE_TOO_LARGE, "1 GiB unpacked: \"c\"");
  be_buf_free(&bytes);
}

static void what_is_not_read_is_refused(void **state)
{
  (void)state;
  static const char *const two[] = {"aa.csv", "ab.csv"};
  struct be_buf bytes;
  make_zip(&bytes, two, 2, false);
  patch(&bytes, LOCAL_METHOD, CENTRAL_METHOD, "\14\0", 2); /* bzip2 */
  refused(&bytes, BE_BAD_INPUT, "packed in a way");
  be_buf_free(&bytes);
  make_zip(&bytes, two, 2, false);
  for (size_t i = 0; i + 6 < bytes.size; i++)
    if (memcmp(bytes.data + i, "ab.csv", 6) == 0) bytes.data[i + 1] = 'a'; /* twice */
  refused(&bytes, BE_BAD_INPUT, "no whole zip");
  bytes.size /= 2;
  refused(&bytes, BE_BAD_INPUT, "no whole zip");
  be_buf_free(&bytes);
}

static void a_file_that_is_not_as_told_is_refused(void **state)
{
  (void)state;
  static const char *const one[] = {"a.csv"};
  struct be_buf bytes, out;
  struct zip_pack *zip = NULL;
  struct be_err err = {0};
  make_zip(&bytes, one, 1, false);
  be_buf_init(&out, 100);
  assert_int_equal(be_zip_open(bytes.data, bytes.size, &zip, &err), BE_OK);
  assert_int_equal(be_zip_read(zip, "a.csv", &out, &err), BE_OK);
  assert_string_equal(out.data, "0123456789");
  assert_int_equal(be_zip_read(zip, "b.csv", &out, &err), BE_NO);
  be_buf_free(&out);
  be_buf_init(&out, 7);
  assert_int_equal(be_zip_read(zip, "a.csv", &out, &err), BE_TOO_LARGE);
  be_zip_close(zip);
  char *at = strstr(bytes.data + 30, "56789");
  assert_non_null(at);
  *at = '6'; /* its own check sum tells */
  assert_int_equal(be_zip_open(bytes.data, bytes.size, &zip, &err), BE_OK);
  be_buf_free(&out);
  be_buf_init(&out, 100);
  assert_int_equal(be_zip_read(zip, "a.csv", &out, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "damaged: \"a.csv\""));
  be_zip_close(zip);
  be_buf_free(&out);
  be_buf_free(&bytes);
}

/* ---- checksums ---- */

static void bad_sums(const char *text, enum be_status status, size_t line, const char *what)
{
  char folder[512], path[512];
  struct pack *pack = NULL;
  struct be_err err = {0};
  test_path(folder, "odd-sums");
  be_dir_create(folder, NULL);
  odd_path(path, folder, BE_PACKAGE_CHECKSUMS);
  test_write(path, text);
  enum be_status got = be_pack_open(folder, &pack, &err);
  if (got != status || !strstr(err.what, what) || err.line != line)
    fail_msg("%d line %zu: %s", (int)got, err.line, err.what);
  assert_true(*err.remedy);
}

#define SUM "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

static void checksums_that_are_none_are_refused(void **state)
{
  (void)state;
  bad_sums(SUM "  a\nrubbish\n", BE_BAD_INPUT, 2, "no line of checksums");
  bad_sums(SUM " a\n", BE_BAD_INPUT, 1, "no line of checksums");
  bad_sums(SUM "  a", BE_BAD_INPUT, 1, "no line of checksums");
  bad_sums(SUM "  ../a\n", BE_BAD_INPUT, 1, "leads out");
  bad_sums(SUM "  a\r\n" SUM "  b\r\n", BE_BAD_INPUT, 1, "ends of lines were changed");
  bad_sums(SUM "  a\n" SUM "  b\n" SUM "  a\n", BE_BAD_INPUT, 0, "twice");
  bad_sums(SUM "  a\n" SUM "  /b\n", BE_BAD_INPUT, 2, "leads out");
  struct be_buf many;
  be_buf_init(&many, BE_PACKAGE_LIST_MAX);
  for (int i = 0; i <= BE_PACKAGE_FILES_MAX; i++) be_buf_format(&many, SUM "  f%d\n", i);
  assert_int_equal(many.status, BE_OK);
  bad_sums(many.data, BE_TOO_LARGE, 0, "more than 200000 files");
  be_buf_free(&many);
}

static void what_is_no_package_is_told_from_one(void **state)
{
  (void)state;
  char path[512];
  test_path(path, "odd-plain.csv");
  test_write(path, "PK");
  assert_false(be_package_is(path));
  assert_false(be_package_is("-"));
  test_write(path, "PK\3\4");
  assert_true(be_package_is(path));
  test_path(path, "odd-sums");
  assert_true(be_package_is(path));
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  assert_int_equal(be_package_enter_bytes("no.book", "PK\3\4", 4, &doc, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "no whole zip"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(names_that_lead_out_and_links_are_refused),
      cmocka_unit_test(what_unpacks_to_too_much_is_refused),
      cmocka_unit_test(what_is_not_read_is_refused),
      cmocka_unit_test(a_file_that_is_not_as_told_is_refused),
      cmocka_unit_test(checksums_that_are_none_are_refused),
      cmocka_unit_test(what_is_no_package_is_told_from_one),
  };
  return be_tests("app: archives that are refused", tests);
}
