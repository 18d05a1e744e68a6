/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book as it stood at a moment, for a while a book of its own: all that reads a book reads that
 * one alike. */
#ifndef BE_APP_PUBLISH_STOOD_H
#define BE_APP_PUBLISH_STOOD_H

#include "app/app.h"

struct stood {
  struct be_moment last; /* the last file that belongs to it */
  char folder[400], path[420];
  int lock; /* held while the process lives */
};

/* Statuses of be_book_stood and be_book_again; BE_FAILED where there is no place. What a process
 * that was killed left behind is removed first. */
enum be_status be_stood_make(struct stood *stood, const char *book_path, const char *as_of,
                             struct be_arena *arena, struct be_err *err);
void be_stood_remove(struct stood *stood);

#endif
