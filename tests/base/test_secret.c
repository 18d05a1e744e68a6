/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _DEFAULT_SOURCE
#include "test.h"

#include "base/base.h"

#include <errno.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <unistd.h>

/* Stands before the system's: it gives little at a time, is interrupted, or fails. */
static int calls, fails_at;

ssize_t getrandom(void *bytes, size_t size, unsigned flags);
ssize_t getrandom(void *bytes, size_t size, unsigned flags)
{
  calls++;
  if (fails_at && calls >= fails_at) {
    errno = ENOSYS;
    return -1;
  }
  if (calls % 3 == 1) {
    errno = EINTR;
    return -1;
  }
  return (ssize_t)syscall(SYS_getrandom, bytes, size > 5 ? 5 : size, flags);
}

static void secrets_come_whole_and_differ(void **state)
{
  (void)state;
  unsigned char seen[64][17], all_or[17] = {0};
  for (int i = 0; i < 64; i++) {
    memset(seen[i], 0, sizeof seen[i]);
    assert_int_equal(be_secret(seen[i], 16, NULL), BE_OK);
    assert_int_equal(seen[i][16], 0);
    for (int k = 0; k < 17; k++) all_or[k] |= seen[i][k];
    for (int k = 0; k < i; k++) assert_false(be_secret_same(seen[i], seen[k], 16));
  }
  for (int k = 0; k < 16; k++) assert_int_equal(all_or[k], 0xFF); /* every bit was set by one */
  assert_true(calls > 64 * 4);
}

static void without_them_there_is_an_error(void **state)
{
  (void)state;
  char bytes[16];
  struct be_err err = {0};
  calls = 0;
  fails_at = 3;
  assert_int_equal(be_secret(bytes, sizeof bytes, &err), BE_FAILED);
  assert_non_null(strstr(err.what, "no random bytes"));
  fails_at = 0;
}

static void secrets_are_compared_to_the_last_byte(void **state)
{
  (void)state;
  assert_true(be_secret_same("K7QX", "K7QX", 4));
  assert_true(be_secret_same("K7QX", "K7QZ", 3));
  assert_false(be_secret_same("K7QX", "K7QZ", 4));
  assert_false(be_secret_same("J7QX", "K7QX", 4));
}

/* FIPS 180-2, appendix B.1, and the digest of nothing. */
static void digests_are_those_of_the_standard(void **state)
{
  (void)state;
  char hex[65];
  be_sha256_hex("abc", 3, hex);
  assert_string_equal(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  be_sha256_hex("", 0, hex);
  assert_string_equal(hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

static void a_private_file_is_its_owners(void **state)
{
  (void)state;
  char path[300], part[310];
  struct stat about;
  const char *build = getenv("BUILD_DIR");
  snprintf(path, sizeof path, "%.200s/secret-file", build ? build : "/tmp");
  snprintf(part, sizeof part, "%s.part", path);
  unlink(path);
  assert_int_equal(be_file_write(part, "left", 4, NULL),
                   BE_OK); /* of another time, for all to read */
  assert_int_equal(be_file_write_private(path, "seven", 5, NULL), BE_OK);
  assert_int_equal(stat(path, &about), 0);
  assert_int_equal(about.st_mode & 0777, 0600);
  assert_int_equal(about.st_size, 5);
  assert_false(be_file_exists(part));
  unlink(path);
  struct be_err err = {0};
  assert_int_equal(be_file_write_private("/no such folder/file", "a", 1, &err), BE_BAD_INPUT);
}

static void moments_are_written(void **state)
{
  (void)state;
  char text[32], now[32];
  be_time_text(951782401, text);
  assert_string_equal(text, "2000-02-29T00:00:01Z");
  be_time_text(-1, text);
  assert_string_equal(text, "1969-12-31T23:59:59Z");
  be_time_text(INT64_MAX, text); /* no such year: no text */
  assert_string_equal(text, "");
  be_time_text(be_time_s(), text);
  be_now(now);
  assert_memory_equal(text, now, 13);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(secrets_come_whole_and_differ),
      cmocka_unit_test(without_them_there_is_an_error),
      cmocka_unit_test(secrets_are_compared_to_the_last_byte),
      cmocka_unit_test(digests_are_those_of_the_standard),
      cmocka_unit_test(a_private_file_is_its_owners),
      cmocka_unit_test(moments_are_written),
  };
  return be_tests("base: secrets", tests);
}
