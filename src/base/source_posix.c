/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bytes in order from a file, from standard input or from memory.
 *
 *   raw bytes -> front (what was looked at to tell the packing) -> packed -> unpacked
 *
 * Invariant: `front` holds the first bytes of the raw stream that were not
 * handed on yet; it is empty before anything is read past it. */
#define _POSIX_C_SOURCE 200809L
#include "base/inside.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

enum { PACKED_SIZE = 64 * 1024, NO_FILE = -1, PATH_SHOWN = 256 };

struct be_source {
  int file; /* NO_FILE: the bytes in memory */
  const char *bytes;
  size_t left;
  char path[PATH_SHOWN];
  char front[BE_MAGIC_MAX];
  size_t front_at, front_size;
  bool raw_ended;
  const struct be_packing *packing; /* null: not packed */
  void *state;
  char *packed;
  size_t packed_at, packed_size;
  bool whole;           /* what was unpacked so far is complete */
  struct be_err failed; /* once it fails, it goes on failing: bytes may be lost */
};

/* ---- raw ---- */

static enum be_status read_file(struct be_source *source, char *bytes, size_t size, size_t *got,
                                struct be_err *err)
{
  while (*got < size && !source->raw_ended) {
    ssize_t n = read(source->file, bytes + *got, size - *got);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return be_system_failed(err, "read the file", source->path);
    if (n == 0) source->raw_ended = true;
    *got += (size_t)n;
  }
  return BE_OK;
}

static enum be_status read_raw(struct be_source *source, char *bytes, size_t size, size_t *got,
                               struct be_err *err)
{
  size_t front = source->front_size - source->front_at;
  *got = front < size ? front : size;
  memcpy(bytes, source->front + source->front_at, *got);
  source->front_at += *got;
  if (source->file != NO_FILE) return read_file(source, bytes, size, got, err);
  size_t more = size - *got < source->left ? size - *got : source->left;
  if (more) memcpy(bytes + *got, source->bytes, more);
  source->bytes += more;
  source->left -= more;
  *got += more;
  source->raw_ended = source->left == 0;
  return BE_OK;
}

/* ---- unpacked ---- */

static enum be_status fill_packed(struct be_source *source, struct be_err *err)
{
  if (source->packed_at < source->packed_size) return BE_OK;
  source->packed_at = source->packed_size = 0;
  return read_raw(source, source->packed, PACKED_SIZE, &source->packed_size, err);
}

static enum be_status cut_short(struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT, "the packed file ends early");
  be_fail_remedy(err, "copy or pack it again; its first part is not taken for the whole");
  return BE_BAD_INPUT;
}

static enum be_status not_packed(struct be_err *err)
{
  be_fail(err, BE_BAD_INPUT,
          "the packed file is damaged: after its end follows what is not packed");
  be_fail_remedy(err, "cut off what follows, or copy or pack it again");
  return BE_BAD_INPUT;
}

static enum be_status read_packed(struct be_source *source, char *bytes, size_t size, size_t *got,
                                  struct be_err *err)
{
  *got = 0;
  while (*got < size) {
    size_t used = 0, made = 0;
    enum be_status status = fill_packed(source, err);
    if (status != BE_OK) return status;
    size_t given = source->packed_size - source->packed_at;
    if (given == 0 && source->whole) return BE_OK;
    bool whole = source->whole;
    status = source->packing->unpack(source->state, source->packed + source->packed_at, given,
                                     &used, bytes + *got, size - *got, &made, &whole, err);
    if (status == BE_BAD_INPUT && source->whole) return not_packed(err);
    if (status != BE_OK) return status;
    source->packed_at += used;
    source->whole = whole;
    *got += made;
    if (given == 0 && made == 0 && !whole) return cut_short(err);
  }
  return BE_OK;
}

static enum be_status look_at_front(struct be_source *source, struct be_err *err)
{
  size_t got = 0;
  enum be_status status = read_raw(source, source->front, sizeof source->front, &got, err);
  source->front_at = 0;
  source->front_size = got;
  source->packing = be_packing_find(source->front, got);
  if (status != BE_OK || !source->packing) return status;
  source->packed = be_alloc(PACKED_SIZE);
  source->state = source->packed ? source->packing->create() : NULL;
  return source->state ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory to unpack the file");
}

/* ---- life ---- */

static enum be_status start(struct be_source **out, struct be_source from, struct be_err *err)
{
  struct be_source *source = be_alloc(sizeof *source);
  if (!source) {
    if (from.file > STDIN_FILENO) close(from.file);
    return be_fail(err, BE_NO_MEMORY, "no memory to read a file");
  }
  *source = from;
  enum be_status status = look_at_front(source, err);
  if (status == BE_OK) *out = source;
  else be_source_close(source);
  return status;
}

enum be_status be_source_open(const char *path, struct be_source **source, struct be_err *err)
{
  struct be_source from = {.file = STDIN_FILENO, .path = "standard input"};
  *source = NULL;
  if (strcmp(path, "-") != 0) {
    size_t length = strlen(path);
    if (length >= PATH_SHOWN) length = PATH_SHOWN - 1;
    memcpy(from.path, path, length);
    from.path[length] = '\0';
    size_t size;
    enum be_status status = be_open_plain(path, true, &from.file, &size, err);
    if (status != BE_OK) return status;
  }
  return start(source, from, err);
}

enum be_status be_source_of_bytes(const char *bytes, size_t size, struct be_source **source,
                                  struct be_err *err)
{
  *source = NULL;
  return start(source, (struct be_source){.file = NO_FILE, .bytes = bytes, .left = size}, err);
}

enum be_status be_source_read(struct be_source *source, char *bytes, size_t size, size_t *got,
                              struct be_err *err)
{
  struct be_err *failed = &source->failed;
  enum be_status status = failed->status;
  if (status == BE_OK)
    status = source->packing ? read_packed(source, bytes, size, got, failed)
                             : read_raw(source, bytes, size, got, failed);
  if (status == BE_OK) return BE_OK;
  *got = 0;
  if (err) *err = *failed;
  return status;
}

void be_source_close(struct be_source *source)
{
  if (!source) return;
  if (source->state) source->packing->free(source->state);
  if (source->file > STDIN_FILENO) close(source->file);
  be_free(source->packed);
  be_free(source);
}
