/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was added to a journal is there again, however the program that added it ended. */
#define _POSIX_C_SOURCE 200809L
#include "base/base.h"
#include "fault/failing.h"
#include "test.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static char folder[64], path[80];

static int enter(void **state)
{
  (void)state;
  strcpy(folder, "/tmp/be-journal-XXXXXX");
  if (!mkdtemp(folder)) return 1;
  snprintf(path, sizeof path, "%s/live", folder);
  return 0;
}

static int leave(void **state)
{
  (void)state;
  unlink(path);
  return rmdir(folder);
}

/* ---- three records, and what is read back ---- */

static const struct {
  unsigned kind;
  const char *bytes;
  size_t size;
} added[] = {{7, "specimen K7Q4", 13}, {255, "", 0}, {1, "a\0b\xFF\n", 5}};
enum { ADDED = 3, START = 16, HEAD = 13 };

struct seen {
  size_t count;
  bool right;
};

static enum be_status see(void *seen_, unsigned kind, const char *bytes, size_t size,
                          struct be_err *err)
{
  (void)err;
  struct seen *seen = seen_;
  size_t i = seen->count++;
  seen->right = seen->right && i < ADDED && kind == added[i].kind && size == added[i].size &&
                memcmp(bytes, added[i].bytes, size) == 0;
  return BE_OK;
}

static size_t read_back(void)
{
  struct be_journal *journal;
  struct seen seen = {0, true};
  assert_int_equal(be_journal_open(path, see, &seen, &journal, NULL), BE_OK);
  assert_true(seen.right);
  be_journal_close(journal);
  return seen.count;
}

static void add(struct be_journal *journal, size_t i)
{
  assert_int_equal(be_journal_add(journal, added[i].kind, added[i].bytes, added[i].size, NULL),
                   BE_OK);
}

static void add_all(void)
{
  struct be_journal *journal;
  assert_int_equal(be_journal_open(path, NULL, NULL, &journal, NULL), BE_OK);
  for (size_t i = 0; i < ADDED; i++) add(journal, i);
  assert_int_equal(be_journal_settle(journal, NULL), BE_OK);
  be_journal_close(journal);
}

static void what_is_added_is_there_again(void **state)
{
  (void)state;
  add_all();
  assert_int_equal(read_back(), ADDED);
  struct be_journal *journal;
  struct seen seen = {0, true};
  assert_int_equal(be_journal_open(path, see, &seen, &journal, NULL), BE_OK);
  assert_int_equal(be_journal_clear(journal, NULL), BE_OK);
  add(journal, 0);
  be_journal_close(journal);
  assert_int_equal(read_back(), 1);
}

static enum be_status refuse(void *context, unsigned kind, const char *bytes, size_t size,
                             struct be_err *err)
{
  (void)context, (void)kind, (void)bytes, (void)size;
  return be_fail(err, BE_NO, "enough");
}

static void it_is_read_while_it_grows(void **state)
{
  (void)state;
  struct be_journal *journal;
  assert_int_equal(be_journal_open(path, NULL, NULL, &journal, NULL), BE_OK);
  for (size_t i = 0; i < ADDED; i++) {
    struct seen seen = {0, true};
    assert_int_equal(be_journal_read(journal, see, &seen, NULL), BE_OK);
    assert_true(seen.right);
    assert_int_equal(seen.count, i);
    if (i > 0) assert_int_equal(be_journal_read(journal, refuse, NULL, NULL), BE_NO);
    add(journal, i);
  }
  be_journal_close(journal);
  assert_int_equal(read_back(), ADDED);
}

static void a_record_of_any_size_is_kept(void **state)
{
  (void)state;
  static char bytes[BE_JOURNAL_RECORD_MAX];
  struct be_journal *journal;
  assert_int_equal(be_journal_open(path, NULL, NULL, &journal, NULL), BE_OK);
  assert_int_equal(be_journal_add(journal, 9, bytes, sizeof bytes, NULL), BE_OK);
  be_journal_close(journal);
  assert_int_equal(be_file_size(path), START + HEAD + sizeof bytes);
  struct seen seen = {0, false};
  assert_int_equal(be_journal_open(path, see, &seen, &journal, NULL), BE_OK);
  assert_int_equal(seen.count, 1);
  be_journal_close(journal);
}

/* ---- cut short and damaged ---- */

static size_t whole_before(size_t length)
{
  size_t end = START, whole = 0;
  while (whole < ADDED && end + HEAD + added[whole].size <= length)
    end += HEAD + added[whole++].size;
  return whole;
}

static void cut_at_any_byte_it_holds_what_was_whole(void **state)
{
  (void)state;
  add_all();
  size_t size = be_file_size(path);
  for (size_t length = 0; length <= size; length++) {
    unlink(path);
    add_all();
    assert_int_equal(truncate(path, (off_t)length), 0);
    size_t whole = whole_before(length);
    assert_int_equal(read_back(), whole);
    struct be_journal *journal;
    assert_int_equal(be_journal_open(path, NULL, NULL, &journal, NULL), BE_OK);
    if (whole < ADDED) add(journal, whole);
    be_journal_close(journal);
    assert_int_equal(read_back(), whole < ADDED ? whole + 1 : ADDED);
  }
}

static void zeros_at_the_end_are_nothing(void **state)
{
  (void)state;
  for (size_t zeros = 1; zeros < 40; zeros++) {
    add_all();
    assert_int_equal(truncate(path, (off_t)(be_file_size(path) + zeros)), 0);
    assert_int_equal(read_back(), ADDED);
    unlink(path);
  }
}

static void change_byte(size_t at)
{
  unsigned char byte;
  int fd = open(path, O_RDWR);
  assert_int_equal(pread(fd, &byte, 1, (off_t)at), 1);
  byte ^= 0x41;
  assert_int_equal(pwrite(fd, &byte, 1, (off_t)at), 1);
  close(fd);
}

static void damage_anywhere_is_told_and_nothing_is_cut(void **state)
{
  (void)state;
  add_all();
  size_t size = be_file_size(path);
  for (size_t at = 0; at < size; at++) {
    unlink(path);
    add_all();
    change_byte(at);
    struct be_journal *journal = NULL;
    struct be_err err = {0};
    assert_int_equal(be_journal_open(path, NULL, NULL, &journal, &err), BE_BAD_INPUT);
    assert_null(journal);
    assert_non_null(strstr(err.remedy, "move it aside"));
    assert_int_equal(be_file_size(path), size);
  }
}

static void another_file_is_left_alone(void **state)
{
  (void)state;
  struct be_journal *journal = NULL;
  assert_int_equal(be_file_write(path, "load (lb)\n7.25\n", 15, NULL), BE_OK);
  struct be_err err = {0};
  assert_int_equal(be_journal_open(path, NULL, NULL, &journal, &err), BE_BAD_INPUT);
  assert_null(journal);
  assert_int_equal(be_file_size(path), 15);
}

/* ---- others, the disk, memory ---- */

static void one_program_has_it(void **state)
{
  (void)state;
  struct be_journal *first, *second = NULL;
  struct be_err err = {0};
  assert_int_equal(be_journal_open(path, NULL, NULL, &first, NULL), BE_OK);
  assert_int_equal(be_journal_open(path, NULL, NULL, &second, &err), BE_FAILED);
  assert_non_null(strstr(err.what, "another program"));
  be_journal_close(first);
  assert_int_equal(be_journal_open(path, NULL, NULL, &second, NULL), BE_OK);
  be_journal_close(second);
}

/* In a process of its own, with room for so many bytes in a file. */
static int add_within(size_t room)
{
  pid_t child = fork();
  if (child == 0) {
    const struct rlimit limit = {room, room};
    struct be_journal *journal;
    signal(SIGXFSZ, SIG_IGN);
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0) _exit(90);
    if (be_journal_open(path, NULL, NULL, &journal, NULL) != BE_OK) _exit(50);
    int count = 0;
    for (size_t i = 0; i < ADDED; i++) {
      struct be_err err = {0};
      enum be_status status =
          be_journal_add(journal, added[i].kind, added[i].bytes, added[i].size, &err);
      if (status != BE_OK && (status != BE_FAILED || !err.remedy[0])) _exit(91);
      if (status != BE_OK) break;
      count++;
    }
    _exit(count);
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_true(WIFEXITED(status));
  return WEXITSTATUS(status);
}

static void without_room_what_was_added_stays(void **state)
{
  (void)state;
  for (size_t room = START; room < START + 60; room++) {
    int count = add_within(room);
    assert_int_equal(count, whole_before(room));
    assert_int_equal(read_back(), count);
    unlink(path);
  }
}

static void one_killed_while_adding_loses_nothing_added(void **state)
{
  (void)state;
  for (int round = 0; round < 30; round++) {
    int told[2];
    assert_int_equal(pipe(told), 0);
    pid_t child = fork();
    if (child == 0) {
      struct be_journal *journal;
      if (be_journal_open(path, NULL, NULL, &journal, NULL) != BE_OK) _exit(1);
      for (unsigned i = 0;; i++) {
        if (be_journal_add(journal, 1 + i % 255, &i, sizeof i, NULL) != BE_OK) _exit(2);
        if (write(told[1], &i, sizeof i) != sizeof i) _exit(3);
      }
    }
    close(told[1]);
    unsigned last = 0;
    for (int i = 0; i <= 17 * round; i++)
      assert_int_equal(read(told[0], &last, sizeof last), sizeof last);
    kill(child, SIGKILL);
    waitpid(child, NULL, 0);
    while (read(told[0], &last, sizeof last) == (ssize_t)sizeof last) {
    }
    close(told[0]);
    struct seen seen = {0, false};
    struct be_journal *journal;
    assert_int_equal(be_journal_open(path, see, &seen, &journal, NULL), BE_OK);
    assert_true(seen.count >= last + 1u);
    be_journal_close(journal);
    unlink(path);
  }
}

static void without_a_folder_it_says_so(void **state)
{
  (void)state;
  struct be_journal *journal = NULL;
  struct be_err err = {0};
  assert_int_equal(be_journal_open("/tmp/be-no-such-folder/live", NULL, NULL, &journal, &err),
                   BE_BAD_INPUT);
  assert_null(journal);
  assert_non_null(strstr(err.remedy, "folder"));
}

static enum be_status open_and_close(void *context, struct be_err *err)
{
  (void)context;
  struct be_journal *journal;
  enum be_status status = be_journal_open(path, NULL, NULL, &journal, err);
  be_journal_close(journal);
  return status;
}

static void without_memory_it_says_so(void **state)
{
  (void)state;
  be_fail_loop(open_and_close, NULL, 2);
}

int main(void)
{
#define alone(test) cmocka_unit_test_setup_teardown(test, enter, leave)
  const struct CMUnitTest tests[] = {
      alone(what_is_added_is_there_again),      alone(it_is_read_while_it_grows),
      alone(a_record_of_any_size_is_kept),      alone(cut_at_any_byte_it_holds_what_was_whole),
      alone(zeros_at_the_end_are_nothing),      alone(damage_anywhere_is_told_and_nothing_is_cut),
      alone(another_file_is_left_alone),        alone(one_program_has_it),
      alone(without_room_what_was_added_stays), alone(one_killed_while_adding_loses_nothing_added),
      alone(without_memory_it_says_so),         alone(without_a_folder_it_says_so),
  };
  return be_tests("base: journal", tests);
}
