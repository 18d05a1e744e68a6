/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a clip replaces and takes over, and a run that was ended. */
#define _POSIX_C_SOURCE 200809L
#include "clips_test.h"

#include "film/film.h"

#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static void remove_pictures(const char *folder)
{
  char path[600];
  for (int i = 0; i < 200; i++) {
    snprintf(path, sizeof path, "%s/%05d.png", folder, i);
    be_file_remove(path, NULL);
  }
  snprintf(path, sizeof path, "%s/frames.txt", folder);
  be_file_remove(path, NULL);
  snprintf(path, sizeof path, "%s/begun.journal", folder);
  be_file_remove(path, NULL);
}

static size_t count_pictures(const char *folder)
{
  char path[600];
  size_t count = 0;
  for (int i = 0; i < 400; i++) {
    snprintf(path, sizeof path, "%s/%05d.png", folder, i);
    count += be_file_size(path) > 0;
  }
  return count;
}

static void assert_same_file(const char *a, const char *b)
{
  struct be_buf first, second;
  be_buf_init(&first, 1 << 28);
  be_buf_init(&second, 1 << 28);
  assert_int_equal(be_file_read(a, &first, NULL), BE_OK);
  assert_int_equal(be_file_read(b, &second, NULL), BE_OK);
  assert_int_equal(first.size, second.size);
  assert_memory_equal(first.data, second.data, first.size);
  be_buf_free(&first);
  be_buf_free(&second);
}

static void a_book_is_made(void **state)
{
  (void)state;
  clips_book(book, "clips-kept.book");
}

static void what_is_not_ours_stays(void **state)
{
  char path[512], folder[512], picture[600];
  (void)state;
  test_path(path, "theirs.mov");
  test_write(path, "somebody's clip\n");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "no clip of");
  test_path(folder, "theirs");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  snprintf(picture, sizeof picture, "%s/00000.png", folder);
  test_write(picture, "their picture");
  snprintf(path, sizeof path, "%.500s/", folder);
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "not of this");
  assert_int_equal(be_file_size(picture), 13);
  /* Also numbered from 1, and a list of their own. */
  assert_int_equal(be_file_remove(picture, NULL), BE_OK);
  snprintf(picture, sizeof picture, "%s/00001.png", folder);
  test_write(picture, "their picture");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "not of this");
  assert_int_equal(be_file_size(picture), 13);
  assert_int_equal(be_file_remove(picture, NULL), BE_OK);
  snprintf(picture, sizeof picture, "%s/frames.txt", folder);
  test_write(picture, "their list");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "not of this");
  assert_int_equal(be_file_size(picture), 10);
}

/* FILE.part, which is where segments lie. */
static void a_part_that_is_not_ours_stays(void **state)
{
  char path[512], part[520], inside[600];
  (void)state;
  test_path(path, "parted.mov");
  snprintf(part, sizeof part, "%s.part", path);
  snprintf(inside, sizeof inside, "%s/00000.segment", part);
  be_file_remove(inside, NULL);
  be_dir_remove(part, NULL);
  assert_int_equal(be_dir_create(part, NULL), BE_OK);
  test_write(inside, "their segment");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "not of this");
  assert_int_equal(be_file_size(inside), 13);
  assert_int_equal(be_file_remove(inside, NULL), BE_OK);
  assert_int_equal(be_dir_remove(part, NULL), BE_OK);
  test_write(part, "their download");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "a file where");
  assert_int_equal(be_file_size(part), 14);
  assert_int_equal(be_file_remove(part, NULL), BE_OK);
}

/* ---- a run that was ended ---- */

/* Goes on until so many of its items are there, then is killed. */
static void run_and_kill(const struct be_publishing *asked, const char *item)
{
  pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    struct be_doc *doc = NULL;
    struct be_err err;
    _exit(publish(asked, &doc, &err));
  }
  int status = 0;
  /* Until it is there, or the child has come to an end. */
  while (!be_file_exists(item) && waitpid(child, &status, WNOHANG) == 0)
    nanosleep(&(struct timespec){0, 1000000}, NULL);
  kill(child, SIGKILL);
  waitpid(child, &status, 0);
}

static void a_killed_clip_goes_on(void **state)
{
  char whole[512], killed[512], item[600], part[600];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  test_path(whole, "whole.mov");
  test_path(killed, "killed.mov");
  be_file_remove(whole, NULL);
  be_file_remove(killed, NULL);
  struct be_publishing asked = {.overlay = "Q7", .clip_path = whole, .clip_rate = "25"};
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  asked.clip_path = killed;
  snprintf(item, sizeof item, "%s.part/00001.segment", killed);
  snprintf(part, sizeof part, "%s.part", killed);
  run_and_kill(&asked, item);
  assert_true(be_file_exists(item));
  assert_false(be_file_exists(killed));
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  assert_true(says(doc, "had been ended"));
  be_doc_free(doc);
  assert_same_file(whole, killed);
  assert_false(be_file_exists(part));
  /* Parts of another clip are not taken for those of this one. */
  asked.clip_rate = "24";
  be_file_remove(killed, NULL);
  run_and_kill(&asked, item);
  snprintf(item, sizeof item, "%s.part/00001.segment.part", killed);
  test_write(item, "half a segment");
  asked.clip_rate = "25";
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  assert_same_file(whole, killed);
}

static void killed_pictures_go_on_without_the_module(void **state)
{
  char whole[520], killed[520], item[600], other[600];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  test_path(whole, "whole-pictures/");
  test_path(killed, "killed-pictures/");
  remove_pictures(whole);
  remove_pictures(killed);
  be_film_look_in("/nowhere");
  struct be_publishing asked = {.overlay = "Q7", .clip_path = whole, .clip_rate = "24"};
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  asked.clip_path = killed;
  snprintf(item, sizeof item, "%s00005.png", killed);
  run_and_kill(&asked, item);
  assert_true(count_pictures(killed) < count_pictures(whole));
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  assert_true(says(doc, "had been ended"));
  be_doc_free(doc);
  size_t count = count_pictures(whole);
  assert_true(count >= 143 && count <= 146);
  assert_int_equal(count_pictures(killed), count);
  for (size_t i = 0; i < count; i += 11) {
    snprintf(item, sizeof item, "%s%05zu.png", killed, i);
    snprintf(other, sizeof other, "%s%05zu.png", whole, i);
    assert_same_file(other, item);
  }
  /* What somebody has changed since is not made anew over it. */
  snprintf(item, sizeof item, "%s00007.png", killed);
  test_write(item, "retouched");
  refuses(asked, BE_WRONG_USE, "changed since");
  assert_int_equal(be_file_size(item), 9);
  assert_int_equal(be_file_remove(item, NULL), BE_OK);
  test_path(whole, "none.mov");
  refuses(ASK(.overlay = "Q7", .clip_path = whole), BE_FAILED, "cannot be opened");
  be_film_look_in(NULL);
}

static void a_full_disk_loses_nothing(void **state)
{
  struct rlimit limit, before;
  struct be_doc *doc = NULL;
  struct be_err err;
  char path[512];
  (void)state;
  test_path(path, "full.mov");
  be_file_remove(path, NULL);
  struct be_publishing asked = {.overlay = "Q7", .clip_path = path, .clip_rate = "24"};
  signal(SIGXFSZ, SIG_IGN);
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
  limit = before;
  limit.rlim_cur = 100000;
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
  enum be_status status = publish(&asked, &doc, &err);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
  assert_int_equal(status, BE_FAILED);
  assert_non_null(strstr(err.remedy, "goes on"));
  assert_false(be_file_exists(path));
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  assert_true(be_file_size(path) > 100000);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_book_is_made),
      cmocka_unit_test(what_is_not_ours_stays),
      cmocka_unit_test(a_part_that_is_not_ours_stays),
      cmocka_unit_test(a_killed_clip_goes_on),
      cmocka_unit_test(killed_pictures_go_on_without_the_module),
      cmocka_unit_test(a_full_disk_loses_nothing),
  };
  return be_tests("app: what is kept of clips", tests);
}
