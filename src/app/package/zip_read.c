/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A zip archive read by libzip, whoever made it: one folder around all of it is seen through, and a
 * backslash between folders is a slash. */
#include "app/package/inside.h"

#include <stdlib.h>
#include <string.h>
#include <zip.h>

enum { KIND_OF_FILE = 0170000, A_LINK = 0120000 };

struct entry {
  const char *path; /* as the package names it; of others the whole name */
  zip_uint64_t at;
  bool inside; /* the folder around the package */
};

struct zip_pack {
  zip_t *zip;
  struct be_arena *arena;
  struct entry *entries; /* files, by path */
  size_t count;
};

static enum be_status refuse(enum be_status status, const char *what, const char *name,
                             struct be_err *err)
{
  be_fail(err, status, "%s: \"%.150s\"", what, name);
  be_fail_remedy(err, "take the package as it was written");
  return status;
}

/* ---- what lies in it ---- */

static enum be_status look_at_size(const zip_stat_t *about, size_t *all, struct be_err *err)
{
  bool known = about->comp_method == ZIP_CM_STORE || about->comp_method == ZIP_CM_DEFLATE;
  if (about->valid & ZIP_STAT_ENCRYPTION_METHOD && about->encryption_method != ZIP_EM_NONE)
    return refuse(BE_BAD_INPUT, "the zip has a file behind a password", about->name, err);
  if (!known)
    return refuse(BE_BAD_INPUT, "the zip has a file packed in a way that is not read", about->name,
                  err);
  if (about->size > BE_BOOK_FILE_MAX)
    return refuse(BE_TOO_LARGE, "a file of the zip has more than 512 MiB unpacked", about->name,
                  err);
  *all += (size_t)about->size;
  if (*all > BE_PACKAGE_BYTES_MAX)
    return refuse(BE_TOO_LARGE, "the files of the zip have more than 1 GiB unpacked", about->name,
                  err);
  return BE_OK;
}

/* What else an entry may be is refused before any is unpacked. A folder gives no entry. */
static enum be_status look_at(struct zip_pack *zip, zip_uint64_t at, size_t *all,
                              struct be_err *err)
{
  zip_stat_t about;
  zip_uint8_t system = 0;
  zip_uint32_t attributes = 0;
  const zip_uint64_t needed = ZIP_STAT_NAME | ZIP_STAT_SIZE | ZIP_STAT_COMP_METHOD;
  if (zip_stat_index(zip->zip, at, 0, &about) != 0 || (about.valid & needed) != needed)
    return refuse(BE_BAD_INPUT, "the zip is damaged", "its list of files", err);
  size_t length = strlen(about.name);
  if (length > BE_PACKAGE_PATH_MAX)
    return refuse(BE_BAD_INPUT, "the zip has a name that is too long", about.name, err);
  char *path = be_arena_text(zip->arena, about.name, length);
  if (!path) return be_no_memory(err);
  for (char *mark = path; (mark = strchr(mark, '\\')) != NULL;) *mark = '/';
  bool folder = length && path[length - 1] == '/';
  if (folder) path[length - 1] = '\0';
  if (!be_pack_path_is_plain(path))
    return refuse(BE_BAD_INPUT, "the zip has a name that leads out of it", about.name, err);
  if (zip_file_get_external_attributes(zip->zip, at, 0, &system, &attributes) == 0 &&
      system == ZIP_OPSYS_UNIX && ((attributes >> 16) & KIND_OF_FILE) == A_LINK)
    return refuse(BE_BAD_INPUT, "the zip has a link", about.name, err);
  if (folder) return BE_OK;
  zip->entries[zip->count++] = (struct entry){path, at, true};
  return look_at_size(&about, all, err);
}

static int by_path(const void *a, const void *b)
{
  return strcmp(((const struct entry *)a)->path, ((const struct entry *)b)->path);
}

/* Packed with the folder that it lies in, the package has that name before every path. */
static void see_through(struct zip_pack *zip)
{
  const struct entry key = {BE_PACKAGE_CHECKSUMS, 0, true};
  const char *top = NULL;
  size_t length = 0;
  if (zip->count && bsearch(&key, zip->entries, zip->count, sizeof key, by_path)) return;
  for (size_t i = 0; i < zip->count; i++) {
    const char *slash = strchr(zip->entries[i].path, '/');
    if (!slash || strcmp(slash + 1, BE_PACKAGE_CHECKSUMS) != 0) continue;
    if (top) return; /* two packages: which? */
    top = zip->entries[i].path;
    length = (size_t)(slash + 1 - top);
  }
  for (size_t i = 0; top && i < zip->count; i++) {
    struct entry *entry = &zip->entries[i];
    entry->inside = strncmp(entry->path, top, length) == 0;
    if (entry->inside) entry->path += length;
  }
  if (top) qsort(zip->entries, zip->count, sizeof *zip->entries, by_path);
}

static enum be_status look_at_all(struct zip_pack *zip, struct be_err *err)
{
  zip_int64_t count = zip_get_num_entries(zip->zip, 0);
  if (count > BE_PACKAGE_FILES_MAX) {
    be_fail(err, BE_TOO_LARGE, "the zip has %lld files; the limit is %d", (long long)count,
            BE_PACKAGE_FILES_MAX);
    be_fail_remedy(err, "take the package as it was written");
    return BE_TOO_LARGE;
  }
  enum be_status status = BE_OK;
  size_t all = 0;
  zip->entries = be_arena_alloc(zip->arena, ((size_t)count + 1) * sizeof *zip->entries);
  if (!zip->entries) return be_no_memory(err);
  for (zip_int64_t i = 0; i < count && status == BE_OK; i++)
    status = look_at(zip, (zip_uint64_t)i, &all, err);
  if (status != BE_OK || !zip->count) return status;
  qsort(zip->entries, zip->count, sizeof *zip->entries, by_path);
  for (size_t i = 1; i < zip->count; i++)
    if (strcmp(zip->entries[i - 1].path, zip->entries[i].path) == 0)
      return refuse(BE_BAD_INPUT, "the zip has a name twice", zip->entries[i].path, err);
  see_through(zip);
  return BE_OK;
}

/* ---- life ---- */

enum be_status be_zip_open(const char *bytes, size_t size, struct zip_pack **zip,
                           struct be_err *err)
{
  zip_error_t why;
  zip_error_init(&why);
  zip_source_t *source = zip_source_buffer_create(bytes, size, 0, &why);
  zip_t *opened = source ? zip_open_from_source(source, ZIP_RDONLY | ZIP_CHECKCONS, &why) : NULL;
  bool no_memory = zip_error_code_zip(&why) == ZIP_ER_MEMORY;
  zip_error_fini(&why);
  if (!opened) {
    zip_source_free(source);
    if (no_memory) return be_no_memory(err);
    be_fail(err, BE_BAD_INPUT, "this is no whole zip");
    be_fail_remedy(err, "fetch it again, or take the folder that it was made of");
    return BE_BAD_INPUT;
  }
  struct zip_pack *made = be_alloc_array(1, sizeof *made);
  if (!made) {
    zip_discard(opened);
    return be_no_memory(err);
  }
  *made = (struct zip_pack){.zip = opened, .arena = be_arena_create()};
  enum be_status status = made->arena ? look_at_all(made, err) : be_no_memory(err);
  if (status == BE_OK) *zip = made;
  else be_zip_close(made);
  return status;
}

void be_zip_close(struct zip_pack *zip)
{
  if (!zip) return;
  zip_discard(zip->zip);
  be_arena_free(zip->arena);
  be_free(zip);
}

/* ---- its files ---- */

static const struct entry *find(const struct zip_pack *zip, const char *path)
{
  const struct entry key = {path, 0, true};
  const struct entry *found =
      zip->count ? bsearch(&key, zip->entries, zip->count, sizeof key, by_path) : NULL;
  while (found && found > zip->entries && by_path(found - 1, &key) == 0) found--;
  for (; found && found < zip->entries + zip->count && by_path(found, &key) == 0; found++)
    if (found->inside) return found;
  return NULL;
}

const char *be_zip_name(const struct zip_pack *zip, size_t at, bool *inside)
{
  if (at >= zip->count) return NULL;
  *inside = zip->entries[at].inside;
  return zip->entries[at].path;
}

/* No more than the entry says it has, and no more than there is room for. */
static enum be_status unpack(zip_file_t *file, size_t size, const char *path, struct be_buf *bytes,
                             struct be_err *err)
{
  char block[1 << 16];
  zip_int64_t got = 0;
  size_t all = 0;
  while ((got = zip_fread(file, block, sizeof block)) > 0) {
    all += (size_t)got;
    if (all > size)
      return refuse(BE_BAD_INPUT, "a file of the zip is not as long as told", path, err);
    be_buf_add(bytes, block, (size_t)got);
    if (bytes->status != BE_OK) break;
  }
  if (got < 0 || (got == 0 && all != size))
    return refuse(BE_BAD_INPUT, "a file of the zip is damaged", path, err);
  be_buf_add(bytes, "", 0);
  return be_buf_status(bytes, err);
}

enum be_status be_zip_read(struct zip_pack *zip, const char *path, struct be_buf *bytes,
                           struct be_err *err)
{
  zip_stat_t about;
  const struct entry *entry = find(zip, path);
  if (!entry || zip_stat_index(zip->zip, entry->at, 0, &about) != 0)
    return be_fail(err, BE_NO, "the package has no file \"%.150s\"", path);
  if (about.size > bytes->ceiling)
    return refuse(BE_TOO_LARGE, "a file of the zip is larger unpacked than it may be", path, err);
  zip_file_t *file = zip_fopen_index(zip->zip, entry->at, 0);
  if (!file) return refuse(BE_BAD_INPUT, "a file of the zip is damaged", path, err);
  enum be_status status = unpack(file, (size_t)about.size, path, bytes, err);
  zip_fclose(file);
  return status;
}
