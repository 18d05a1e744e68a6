/* SPDX-License-Identifier: GPL-3.0-or-later */
/* failing_calls: a layer over the calls of the system that change files, of the journal and of
 * SQLite alike, that fails, tears, lies or dies at the call it is told to. For programs linked so
 * (meson.build). Threads other than the one that is tested make no such calls. */
#ifndef BE_FAILING_CALLS_H
#define BE_FAILING_CALLS_H

#include <stdbool.h>
#include <stddef.h>

enum call_kind {
  CALL_OPEN, /* to write, or to make */
  CALL_WRITE,
  CALL_SYNC,
  CALL_TRUNCATE,
  CALL_UNLINK, /* and rename */
  CALL_KINDS,
  CALL_ANY = CALL_KINDS
};

enum call_end {
  CALL_FAILS,          /* once: nothing of it is done */
  CALL_FAILS_FOR_EVER, /* it and all of its kind after it */
  CALL_TEARS,          /* half of a write is done, then the process is killed */
  CALL_DIES,           /* the process is killed before it */
  CALL_LIES            /* it says done, once, and nothing of it is */
};

struct failing_calls {
  enum call_kind kind;
  enum call_end end;
  size_t at;          /* counted from 1; 0: none */
  int code;           /* errno of what fails */
  const char *ending; /* only files whose name ends so; null: all */
  size_t calls[CALL_KINDS + 1], failed;
  const char *loses; /* a file that somebody removes just before it is locked; once */
  long later_s;      /* added to the time of day */
  bool really_syncs; /* else a sync only says so: what is killed keeps what it wrote */
};

/* The one layer there is; zero it before each try. */
extern struct failing_calls failing_calls;

#endif
