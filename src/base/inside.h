/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this room share; nothing outside the room includes it. */
#ifndef BE_BASE_INSIDE_H
#define BE_BASE_INSIDE_H

#include "base/base.h"

enum { BE_MAGIC_MAX = 4 };

/* A way of packing bytes. A state unpacks one stream; `unpack` uses some of
 * `in` and makes some of `out`, and says in *whole whether what it has made so
 * far ends with the end of a member (a packed file may hold several). */
struct be_packing {
  const char *name;
  unsigned char magic[BE_MAGIC_MAX];
  size_t magic_size;
  void *(*create)(void); /* null when memory is out */
  enum be_status (*unpack)(void *state, const char *in, size_t in_size, size_t *used, char *out,
                           size_t out_size, size_t *made, bool *whole, struct be_err *err);
  void (*free)(void *state);
};

/* The packing that bytes start with; null when they are not packed. */
const struct be_packing *be_packing_find(const char *bytes, size_t size);

/* A failed call of the system on a path, as an error that says what to do. */
enum be_status be_system_failed(struct be_err *err, const char *doing, const char *path);

/* Opens what is to be read, and tells its size, 0 where that is not known: a plain file, or, if
 * handed_over, what the shell opened (/dev/stdin, /dev/fd/...). BE_BAD_INPUT at once for a folder,
 * a pipe, a device or a socket. */
enum be_status be_open_plain(const char *path, bool handed_over, int *file, size_t *size,
                             struct be_err *err);

#endif
