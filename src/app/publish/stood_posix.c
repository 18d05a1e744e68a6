/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book as it stood, made anew in a folder of its own among the system's temporary files. */
#define _POSIX_C_SOURCE 200809L
#include "app/publish/stood.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static enum be_status make_folder(struct stood *stood, struct be_err *err)
{
  const char *where = getenv("TMPDIR");
  if (!where || !*where) where = "/tmp";
  int length = snprintf(stood->folder, sizeof stood->folder, "%s/bitterend-XXXXXX", where);
  if (length >= (int)sizeof stood->folder)
    return be_fail(err, BE_FAILED, "the name of the folder for temporary files is too long");
  if (mkdtemp(stood->folder)) return BE_OK;
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
  char journal[sizeof stood->path + 16];
  if (!stood->folder[0]) return;
  snprintf(journal, sizeof journal, "%s-journal", stood->path);
  be_file_remove(journal, NULL);
  be_file_remove(stood->path, NULL);
  rmdir(stood->folder);
  stood->folder[0] = '\0';
}
