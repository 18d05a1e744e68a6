/* SPDX-License-Identifier: GPL-3.0-or-later */
/* failing_disk: a layer over SQLite's way to the disk that fails, tears or dies
 * at the operation it is told to. */
#ifndef BE_FAILING_DISK_H
#define BE_FAILING_DISK_H

#include <stdbool.h>
#include <stddef.h>

enum disk_operation {
  DISK_READ,
  DISK_WRITE,
  DISK_SYNC,
  DISK_TRUNCATE,
  DISK_OPEN,
  DISK_DELETE,
  DISK_OPERATIONS,
  DISK_ANY = DISK_OPERATIONS /* whichever comes */
};

/* What happens at the operation told. */
enum disk_end {
  DISK_FAILS,          /* once: nothing of it is done */
  DISK_FAILS_FOR_EVER, /* it and all of its kind after it */
  DISK_IS_FULL,        /* a write that reports a full disk, and all after it */
  DISK_TEARS,          /* half of a write is done, then the process is gone */
  DISK_DIES,           /* the process is gone before it */
};

struct failing_disk {
  enum disk_operation operation;
  enum disk_end end;
  size_t fail_at; /* counted from 1; 0: none */
  size_t calls[DISK_OPERATIONS + 1];
  size_t failed;
  size_t undurable; /* files deleted without a sync of their folder */
};

/* The one disk there is; zero it before each try. */
extern struct failing_disk failing_disk;
/* How a process ends that dies or tears. */
enum { DISK_DEAD = 77 };
/* Takes the place of the usual way to the disk, from now on. */
void failing_disk_install(void);

#endif
