/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/written.h"

#include <stdio.h>
#include <string.h>

enum { START = 4096, PATH_MAX_BYTES = 1 << 16, NAME_MOST = 100, WHOLE_MAX = 512 * 1024 * 1024 };

static bool holds(const char *bytes, size_t size, const char *text)
{
  size_t length = strlen(text);
  for (size_t i = 0; i + length <= size; i++)
    if (bytes[i] == *text && memcmp(bytes + i, text, length) == 0) return true;
  return false;
}

static bool is_ours(const char *start, size_t size, const struct be_ours *ours)
{
  size_t length = ours->begins ? strlen(ours->begins) : 0;
  if (length > size || (length && memcmp(start, ours->begins, length) != 0)) return false;
  for (size_t i = 0; i < 2; i++)
    if (ours->holds[i] && !holds(start, size, ours->holds[i])) return false;
  return true;
}

static enum be_status holds_anywhere(const char *path, const char *text, bool *is,
                                     struct be_err *err)
{
  struct be_buf bytes;
  be_buf_init(&bytes, WHOLE_MAX);
  enum be_status status = be_file_read(path, &bytes, err);
  *is = status == BE_OK && holds(bytes.data, bytes.size, text);
  be_buf_free(&bytes);
  return status == BE_TOO_LARGE ? BE_OK : status;
}

/* A file is written beside its place first, under a name that may be the spared one's too. */
static enum be_status is_spared(const char *path, const char *spared, bool *is, struct be_err *err)
{
  struct be_buf beside;
  be_buf_init(&beside, PATH_MAX_BYTES);
  be_buf_format(&beside, "%s.part", path);
  enum be_status status = be_buf_status(&beside, err);
  if (status == BE_OK) *is = be_file_same(spared, path) || be_file_same(spared, beside.data);
  be_buf_free(&beside);
  return status;
}

enum be_status be_may_write(const char *path, const struct be_ours *ours, struct be_err *err)
{
  char start[START];
  size_t got = 0;
  bool spared = false;
  enum be_status status = ours->spared ? is_spared(path, ours->spared, &spared, err) : BE_OK;
  if (status == BE_OK && spared)
    status = be_fail(err, BE_WRONG_USE, "the %s would be written over the %s", ours->what,
                     ours->spared_what);
  else if (status == BE_OK && be_file_exists(path)) {
    status = be_file_start(path, start, START, &got, err);
    bool is = status == BE_OK && (!got || is_ours(start, got, ours));
    if (is && got && ours->anywhere) status = holds_anywhere(path, ours->anywhere, &is, err);
    if (status == BE_NO_MEMORY) return status;
    if (!is)
      status = be_fail(err, BE_WRONG_USE, "the file exists, and it is no %s of this program",
                       ours->what);
  }
  if (status != BE_WRONG_USE) return status;
  be_fail_at(err, path, 0, 0);
  if (ours->option)
    be_fail_remedy(err, "give another name with %s, or move the file away", ours->option);
  else be_fail_remedy(err, "give another name, or move the file away");
  return status;
}

enum be_status be_write_ours(const char *path, const struct be_ours *ours,
                             const struct be_buf *bytes, struct be_err *err)
{
  enum be_status status = be_buf_status(bytes, err);
  if (status == BE_OK) status = be_may_write(path, ours, err);
  return status == BE_OK ? be_file_write(path, bytes->data, bytes->size, err) : status;
}

/* ---- names ---- */

static const char *plain_name(struct be_arena *arena, const char *text)
{
  char name[NAME_MOST + 1];
  size_t used = 0;
  bool gap = false;
  for (; *text && used + 1 < NAME_MOST; text++) {
    char c = *text >= 'A' && *text <= 'Z' ? (char)(*text - 'A' + 'a') : *text;
    bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (plain && gap && used) name[used++] = '-';
    if (plain) name[used++] = c;
    gap = !plain;
  }
  return used ? be_arena_text(arena, name, used) : "no-name";
}

static bool is_taken(const struct be_file_names *names, const char *name)
{
  for (size_t i = 0; i < names->count; i++)
    if (strcmp(names->taken[i], name) == 0) return true;
  return false;
}

const char *be_file_name(struct be_file_names *names, const char *text)
{
  enum { ROOM_AT_FIRST = 16 };
  const char *plain = plain_name(names->arena, text), *name = plain;
  for (size_t n = 2; name && is_taken(names, name); n++)
    name = be_arena_format(names->arena, "%s-%zu", plain, n);
  if (name && names->count == names->capacity) {
    size_t room = names->capacity ? 2 * names->capacity : ROOM_AT_FIRST;
    const char **taken = be_arena_alloc(names->arena, room * sizeof *taken);
    if (!taken) return NULL;
    if (names->count) memcpy(taken, names->taken, names->count * sizeof *taken);
    names->taken = taken;
    names->capacity = room;
  }
  if (name) names->taken[names->count++] = name;
  return name;
}
