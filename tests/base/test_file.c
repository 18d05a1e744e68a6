/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "base/base.h"
#include "fault/failing.h"
#include "test.h"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

static char folder[64];
static char path[80], beside[96];

static int enter(void **state)
{
  (void)state;
  strcpy(folder, "/tmp/be-file-XXXXXX");
  if (!mkdtemp(folder)) return 1;
  snprintf(path, sizeof path, "%s/a.book", folder);
  snprintf(beside, sizeof beside, "%s.part", path);
  return 0;
}

/* The folder must be as empty as it was: nothing was left behind. */
static int leave(void **state)
{
  (void)state;
  unlink(path);
  return rmdir(folder);
}

static bool there(const char *name)
{
  struct stat about;
  return lstat(name, &about) == 0;
}

static void assert_holds(const char *text)
{
  struct be_buf buf;
  be_buf_init(&buf, 1000);
  assert_int_equal(be_file_read(path, &buf, NULL), BE_OK);
  assert_string_equal(buf.data, text);
  be_buf_free(&buf);
}

static void what_is_written_is_read(void **state)
{
  (void)state;
  static const char bytes[] = "a\0b\r\n\xFF";
  assert_int_equal(be_file_write(path, bytes, sizeof bytes, NULL), BE_OK);
  assert_true(be_file_exists(path));
  assert_false(there(beside));
  struct be_buf buf;
  be_buf_init(&buf, sizeof bytes);
  assert_int_equal(be_file_read(path, &buf, NULL), BE_OK);
  assert_int_equal(buf.size, sizeof bytes);
  assert_memory_equal(buf.data, bytes, sizeof bytes);
  be_buf_free(&buf);
  assert_int_equal(be_file_write(path, "", 0, NULL), BE_OK);
  assert_holds("");
}

static void a_large_file_is_read_whole(void **state)
{
  (void)state;
  enum { SIZE = 300007 };
  struct be_buf out, in;
  be_buf_init(&out, SIZE);
  for (int i = 0; i < SIZE; i++) be_buf_char(&out, (char)(i % 251));
  assert_int_equal(be_file_write(path, out.data, out.size, NULL), BE_OK);
  be_buf_init(&in, SIZE);
  assert_int_equal(be_file_read(path, &in, NULL), BE_OK);
  assert_int_equal(in.size, SIZE);
  assert_memory_equal(in.data, out.data, SIZE);
  be_buf_free(&in);
  be_buf_init(&in, SIZE - 1);
  struct be_err err;
  assert_int_equal(be_file_read(path, &in, &err), BE_TOO_LARGE);
  assert_string_equal(err.file, path);
  assert_non_null(strstr(err.what, "300007"));
  be_buf_free(&in);
  be_buf_free(&out);
}

/* A pipe has no size to look at beforehand; the ceiling holds all the same. */
static void standard_input_is_a_dash(void **state)
{
  (void)state;
  int kept = dup(STDIN_FILENO), ends[2];
  for (int tight = 0; tight < 2; tight++) {
    assert_int_equal(pipe(ends), 0);
    assert_int_equal(write(ends[1], "12.5 lb\n", 8), 8);
    close(ends[1]);
    dup2(ends[0], STDIN_FILENO);
    close(ends[0]);
    struct be_buf buf;
    be_buf_init(&buf, tight ? 7 : 8);
    struct be_err err;
    if (tight) {
      assert_int_equal(be_file_read("-", &buf, &err), BE_TOO_LARGE);
      assert_string_equal(err.file, "standard input");
    } else {
      assert_int_equal(be_file_read("-", &buf, &err), BE_OK);
      assert_string_equal(buf.data, "12.5 lb\n");
    }
    be_buf_free(&buf);
  }
  dup2(kept, STDIN_FILENO);
  close(kept);
}

static void what_cannot_be_read_is_explained(void **state)
{
  (void)state;
  struct be_buf buf;
  struct be_err err;
  be_buf_init(&buf, 100);
  assert_int_equal(be_file_read(path, &buf, &err), BE_BAD_INPUT);
  assert_string_equal(err.file, path);
  assert_true(err.what[0] && err.remedy[0]);
  assert_int_equal(be_file_read(folder, &buf, &err), BE_BAD_INPUT);
  assert_string_equal(err.file, folder);
  assert_string_equal(err.what, "this is a folder, not a plain file");
  snprintf(beside, sizeof beside, "%s/more", path);
  assert_int_equal(be_file_write(path, "x", 1, NULL), BE_OK);
  assert_int_equal(be_file_read(beside, &buf, &err), BE_BAD_INPUT); /* in no folder */
  be_buf_free(&buf);
}

/* Nobody writes to the pipe, and nothing listens at the socket: opening either would wait or fail
 * without saying why. */
static void what_is_no_plain_file_is_refused_at_once(void **state)
{
  (void)state;
  struct sockaddr_un address = {.sun_family = AF_UNIX};
  int end = socket(AF_UNIX, SOCK_STREAM, 0);
  snprintf(address.sun_path, sizeof address.sun_path, "%s/s", folder);
  assert_int_equal(bind(end, (struct sockaddr *)&address, sizeof address), 0);
  assert_int_equal(mkfifo(path, 0600), 0);
  const struct {
    const char *path, *what;
  } odd[] = {{path, "this is a named pipe, not a plain file"},
             {address.sun_path, "this is a socket, not a plain file"},
             {"/dev/zero", "this is a device, not a plain file"},
             {folder, "this is a folder, not a plain file"}};
  for (size_t i = 0; i < sizeof odd / sizeof odd[0]; i++) {
    struct be_buf buf;
    struct be_err err = {0};
    struct be_source *source = NULL;
    be_buf_init(&buf, 100);
    assert_int_equal(be_file_read(odd[i].path, &buf, &err), BE_BAD_INPUT);
    assert_string_equal(err.what, odd[i].what);
    assert_string_equal(err.file, odd[i].path);
    assert_true(*err.remedy);
    assert_int_equal(be_source_open(odd[i].path, &source, &err), BE_BAD_INPUT);
    assert_string_equal(err.what, odd[i].what);
    assert_null(source);
    be_buf_free(&buf);
  }
  close(end);
  unlink(address.sun_path);
}

/* "/dev/fd/7" is a pipe that the shell opened, as it writes for <(command). */
static void what_the_shell_opened_is_read(void **state)
{
  (void)state;
  int ends[2];
  char name[40];
  struct be_buf buf;
  assert_int_equal(pipe(ends), 0);
  assert_int_equal(write(ends[1], "7.25 kg\n", 8), 8);
  close(ends[1]);
  snprintf(name, sizeof name, "/dev/fd/%d", ends[0]);
  be_buf_init(&buf, 100);
  assert_int_equal(be_file_read(name, &buf, NULL), BE_OK);
  assert_string_equal(buf.data, "7.25 kg\n");
  be_buf_free(&buf);
  close(ends[0]);
}

/* Nobody listening must not change the answer. */
static void the_status_is_the_same_without_an_error(void **state)
{
  (void)state;
  struct be_buf buf;
  be_buf_init(&buf, 3);
  assert_int_equal(be_file_read(path, &buf, NULL), BE_BAD_INPUT);
  assert_int_equal(be_file_write(path, "12345", 5, NULL), BE_OK);
  assert_int_equal(be_file_read(path, &buf, NULL), BE_TOO_LARGE);
  be_buf_free(&buf);
}

static void a_full_disk_leaves_the_old_file(void **state)
{
  (void)state;
  if (!there("/dev/full")) {
    print_message("# SKIP there is no /dev/full here\n");
    skip();
  }
  assert_int_equal(be_file_write(path, "old", 3, NULL), BE_OK);
  assert_int_equal(symlink("/dev/full", beside), 0);
  struct be_err err;
  assert_int_equal(be_file_write(path, "new and longer", 14, &err), BE_FAILED);
  assert_string_equal(err.file, path);
  assert_non_null(strstr(err.what, "cannot write the file"));
  assert_false(there(beside));
  assert_holds("old");
}

static void a_leftover_of_a_dead_writer_does_not_matter(void **state)
{
  (void)state;
  int fd = open(beside, O_WRONLY | O_CREAT, 0600);
  assert_int_equal(write(fd, "half of something long", 22), 22);
  close(fd);
  assert_int_equal(be_file_write(path, "whole", 5, NULL), BE_OK);
  assert_false(there(beside));
  assert_holds("whole");
}

static void what_cannot_be_written_is_explained(void **state)
{
  (void)state;
  struct be_err err;
  char name[5000];
  snprintf(name, sizeof name, "%s/none/a.book", folder);
  assert_int_equal(be_file_write(name, "x", 1, &err), BE_BAD_INPUT);
  assert_string_equal(err.file, name);
  assert_int_equal(be_dir_create(path, NULL), BE_OK);
  assert_int_not_equal(be_file_write(path, "x", 1, &err), BE_OK);
  assert_non_null(strstr(err.what, "cannot put the file in place"));
  assert_false(there(beside));
  assert_int_equal(rmdir(path), 0);
  memset(name, 'n', sizeof name - 1);
  name[sizeof name - 1] = '\0';
  assert_int_equal(be_file_write(name, "x", 1, &err), BE_WRONG_USE);
}

static void folders_are_made_and_files_removed(void **state)
{
  (void)state;
  struct be_err err;
  char inner[128];
  assert_int_equal(be_dir_create(path, &err), BE_OK);
  assert_int_equal(be_dir_create(path, &err), BE_OK);
  assert_true(be_file_exists(path));
  snprintf(inner, sizeof inner, "%s/none/deeper", path);
  assert_int_not_equal(be_dir_create(inner, &err), BE_OK);
  assert_string_equal(err.file, inner);
  snprintf(inner, sizeof inner, "%s/file", path);
  assert_int_equal(be_file_write(inner, "x", 1, NULL), BE_OK);
  assert_int_equal(be_file_remove(inner, &err), BE_OK);
  assert_false(be_file_exists(inner));
  assert_int_equal(be_file_remove(inner, &err), BE_OK);
  assert_int_not_equal(be_file_remove(path, &err), BE_OK);
  assert_string_equal(err.file, path);
  assert_int_equal(rmdir(path), 0);
}

static void a_file_takes_the_place_of_another(void **state)
{
  (void)state;
  struct be_err err;
  assert_int_equal(be_file_write(path, "the old 13", 10, NULL), BE_OK);
  assert_int_equal(be_file_write(beside, "the new 17", 10, NULL), BE_OK);
  assert_int_equal(be_file_rename(beside, path, &err), BE_OK);
  assert_false(there(beside));
  assert_holds("the new 17");
  assert_int_equal(be_file_rename(beside, path, &err), BE_BAD_INPUT);
  assert_string_equal(err.file, path);
  assert_int_equal(be_file_rename(beside, path, NULL), BE_BAD_INPUT);
  assert_holds("the new 17");
}

static void one_file_has_many_names(void **state)
{
  (void)state;
  char other[96];
  snprintf(other, sizeof other, "%s/other", folder);
  assert_int_equal(be_file_write(path, "7", 1, NULL), BE_OK);
  assert_true(be_file_same(path, path));
  assert_false(be_file_same(path, other));
  assert_false(be_file_same(other, other));
  assert_int_equal(symlink(path, beside), 0);
  assert_int_equal(link(path, other), 0);
  assert_true(be_file_same(path, beside));
  assert_true(be_file_same(other, beside));
  assert_true(be_file_is_link(beside));
  assert_false(be_file_is_link(other)); /* the file itself, by another name */
  assert_false(be_file_is_link("none"));
  unlink(other);
  assert_int_equal(be_file_write(other, "7", 1, NULL), BE_OK);
  assert_false(be_file_same(path, other));
  unlink(other);
  unlink(beside);
}

static void the_start_of_a_file_is_read(void **state)
{
  (void)state;
  char bytes[8] = "";
  size_t got = 99;
  struct be_err err;
  assert_int_equal(be_file_start(path, bytes, 5, &got, &err), BE_BAD_INPUT);
  assert_string_equal(err.file, path);
  assert_int_equal(be_file_write(path, "12.5 lb", 7, NULL), BE_OK);
  assert_int_equal(be_file_start(path, bytes, 5, &got, &err), BE_OK);
  assert_int_equal(got, 5);
  assert_memory_equal(bytes, "12.5 ", 5);
  assert_int_equal(be_file_start(path, bytes, 8, &got, &err), BE_OK);
  assert_int_equal(got, 7);
  assert_int_equal(be_file_start(folder, bytes, 8, &got, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "not a plain file"));
  /* Nobody writes to this pipe: reading it would never end. */
  assert_int_equal(mkfifo(beside, 0600), 0);
  assert_int_equal(be_file_start(beside, bytes, 8, &got, NULL), BE_BAD_INPUT);
  unlink(beside);
}

static enum be_status read_it(void *context, struct be_err *err)
{
  (void)context;
  struct be_buf buf;
  be_buf_init(&buf, 5000);
  enum be_status status = be_file_read(path, &buf, err);
  be_buf_free(&buf);
  return status;
}

static void reading_survives_a_lack_of_memory(void **state)
{
  (void)state;
  char bytes[4321];
  memset(bytes, 'z', sizeof bytes);
  assert_int_equal(be_file_write(path, bytes, sizeof bytes, NULL), BE_OK);
  be_fail_loop(read_it, NULL, 1);
}

#define IN_A_FOLDER(test) cmocka_unit_test_setup_teardown(test, enter, leave)

int main(void)
{
  const struct CMUnitTest tests[] = {
      IN_A_FOLDER(what_is_written_is_read),
      IN_A_FOLDER(a_large_file_is_read_whole),
      IN_A_FOLDER(standard_input_is_a_dash),
      IN_A_FOLDER(what_cannot_be_read_is_explained),
      IN_A_FOLDER(what_is_no_plain_file_is_refused_at_once),
      IN_A_FOLDER(what_the_shell_opened_is_read),
      IN_A_FOLDER(the_status_is_the_same_without_an_error),
      IN_A_FOLDER(a_full_disk_leaves_the_old_file),
      IN_A_FOLDER(a_leftover_of_a_dead_writer_does_not_matter),
      IN_A_FOLDER(what_cannot_be_written_is_explained),
      IN_A_FOLDER(folders_are_made_and_files_removed),
      IN_A_FOLDER(a_file_takes_the_place_of_another),
      IN_A_FOLDER(one_file_has_many_names),
      IN_A_FOLDER(the_start_of_a_file_is_read),
      IN_A_FOLDER(reading_survives_a_lack_of_memory),
  };
  return be_tests("base: files", tests);
}
