/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files for people: of what stands in the way only files of ours are replaced. */
#ifndef BE_APP_WRITTEN_H
#define BE_APP_WRITTEN_H

#include "base/base.h"

/* How a file of ours is told; null fields ask nothing. An empty file holds nothing to lose. */
struct be_ours {
  const char *what;     /* "report" */
  const char *begins;   /* its first bytes */
  const char *holds[2]; /* its first 4 KiB */
  const char *anywhere; /* held somewhere in it */
  const char *spared;   /* a file never written over, by whatever name, */
  const char *spared_what;
  const char *option; /* that gives another name: "--report" */
};

/* BE_WRONG_USE, naming the path, for one that holds something else, or is the spared file. */
enum be_status be_may_write(const char *path, const struct be_ours *ours, struct be_err *err);
/* The same, then writes the bytes whole or not at all. */
enum be_status be_write_ours(const char *path, const struct be_ours *ours,
                             const struct be_buf *bytes, struct be_err *err);

/* Names of the files of one folder, without their endings. All zero but the arena at first. */
struct be_file_names {
  struct be_arena *arena;
  const char **taken;
  size_t count, capacity;
};
/* A name made of a text: its letters and figures of ASCII in small letters, "-" for all else, 100
 * bytes at most; one that was given out before gets a number: "uni-2". Null without memory. */
const char *be_file_name(struct be_file_names *names, const char *text);

#endif
