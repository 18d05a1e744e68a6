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

#endif
