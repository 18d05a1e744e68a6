/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book as it stood, made anew in a folder of its own among the system's temporary files. The
 * folder holds a lock, which ends with its process, however that ends: a folder whose lock is free
 * was left behind. The lock gets its name only when it is held. */
#define _POSIX_C_SOURCE 200809L
#include "app/publish/stood.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PREFIX "bitterend-stood-"

enum { PATH_MOST = 700 };

/* Nothing but these is ever in such a folder. */
static void remove_all(const char *folder)
{
  static const char *const names[] = {"stood.book-journal", "stood.book.part", "stood.book",
                                      "new-lock", "lock"};
  char path[PATH_MOST];
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    snprintf(path, sizeof path, "%.400s/%s", folder, names[i]);
    unlink(path);
  }
  rmdir(folder);
}

static bool take_lock(int file)
{
  struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
  return fcntl(file, F_SETLK, &whole) == 0;
}

/* A process does not meet its own locks. */
static bool is_own(const char *name)
{
  return strtol(name + strlen(PREFIX), NULL, 10) == (long)getpid();
}

static void remove_left(const char *where, const char *name)
{
  char folder[400], path[PATH_MOST];
  struct stat about;
  if (snprintf(folder, sizeof folder, "%s/%s", where, name) >= (int)sizeof folder) return;
  snprintf(path, sizeof path, "%s/lock", folder);
  if (lstat(folder, &about) != 0 || !S_ISDIR(about.st_mode) || about.st_uid != geteuid()) return;
  int file = open(path, O_RDWR | O_NOFOLLOW | O_CLOEXEC);
  if (file < 0) return;
  if (take_lock(file)) remove_all(folder);
  close(file);
}

static void remove_all_left(const char *where)
{
  DIR *list = opendir(where);
  if (!list) return;
  for (const struct dirent *entry; (entry = readdir(list));)
    if (strncmp(entry->d_name, PREFIX, strlen(PREFIX)) == 0 && !is_own(entry->d_name))
      remove_left(where, entry->d_name);
  closedir(list);
}

/* Without a lock, where the disk knows none, the folder is never taken for one left behind. */
static void hold_lock(struct stood *stood)
{
  char path[PATH_MOST], held[PATH_MOST];
  snprintf(path, sizeof path, "%s/new-lock", stood->folder);
  snprintf(held, sizeof held, "%s/lock", stood->folder);
  stood->lock = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (stood->lock < 0) return;
  if (take_lock(stood->lock)) rename(path, held);
}

static enum be_status make_folder(struct stood *stood, struct be_err *err)
{
  const char *where = getenv("TMPDIR");
  if (!where || !*where) where = "/tmp";
  remove_all_left(where);
  int length = snprintf(stood->folder, sizeof stood->folder, "%s/" PREFIX "%ld-XXXXXX", where,
                        (long)getpid());
  if (length >= (int)sizeof stood->folder)
    return be_fail(err, BE_FAILED, "the name of the folder for temporary files is too long");
  if (mkdtemp(stood->folder)) {
    hold_lock(stood);
    return BE_OK;
  }
  int why = errno;
  stood->folder[0] = '\0';
  be_fail(err, BE_FAILED, "no place for the book as it stood: %s", strerror(why));
  be_fail_at(err, where, 0, 0);
  be_fail_remedy(err, "make room there, or name another folder with TMPDIR");
  return BE_FAILED;
}

enum be_status be_stood_make(struct stood *stood, const char *book_path, const char *as_of,
                             struct be_arena *arena, struct be_err *err)
{
  struct be_book *book = NULL;
  stood->folder[0] = stood->path[0] = '\0';
  stood->lock = -1;
  enum be_status status = be_book_open(book_path, false, &book, err);
  if (status == BE_OK) status = be_book_stood(book, as_of, arena, &stood->last, err);
  if (status == BE_OK) status = make_folder(stood, err);
  if (status == BE_OK) {
    snprintf(stood->path, sizeof stood->path, "%s/stood.book", stood->folder);
    status = be_book_again(book, &stood->last, stood->path, err);
  }
  be_book_close(book);
  if (status != BE_OK) be_stood_remove(stood);
  return status;
}

void be_stood_remove(struct stood *stood)
{
  if (!stood->folder[0]) return;
  remove_all(stood->folder);
  if (stood->lock >= 0) close(stood->lock);
  stood->lock = -1;
  stood->folder[0] = '\0';
}
