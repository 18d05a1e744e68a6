/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A package onto the disk. Of what stands in the way only a package of ours is replaced, and of a
 * folder only the files that its checksums list. */
#include "app/package/inside.h"
#include "app/written.h"

#include <stdlib.h>
#include <string.h>

static enum be_status in_the_way(const char *path, const char *what, struct be_err *err)
{
  be_fail(err, BE_WRONG_USE, "%s", what);
  be_fail_at(err, path, 0, 0);
  return be_fail_remedy(err, "give another name with --package, or move it away");
}

/* ---- a folder ---- */

/* What an earlier package in the folder has, by path; sha256 null: whatever its bytes. */
struct old_file {
  const char *path, *sha256;
};
struct earlier {
  struct be_buf text;
  struct old_file *files;
  size_t count, capacity;
};

static int by_path(const void *a, const void *b)
{
  return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static int by_file(const void *a, const void *b)
{
  return strcmp(((const struct old_file *)a)->path, ((const struct old_file *)b)->path);
}

static const struct old_file *find_old(const struct earlier *earlier, const char *path)
{
  const struct old_file wanted = {path, NULL};
  return earlier->count
             ? bsearch(&wanted, earlier->files, earlier->count, sizeof *earlier->files, by_file)
             : NULL;
}

/* Whether the file is as the earlier package left it, or is already what this one writes (null:
 * nothing). */
static enum be_status look_at(const char *folder, const char *path, const struct old_file *old,
                              const struct be_buf *now, bool *ours, struct be_err *err)
{
  char hex[65];
  struct be_buf bytes;
  *ours = old && !old->sha256;
  if (*ours) return BE_OK;
  be_buf_init(&bytes, BE_BOOK_FILE_MAX);
  enum be_status status = be_pack_read_plain(folder, path, &bytes, err);
  if (status == BE_OK) {
    be_sha256_hex(bytes.data ? bytes.data : "", bytes.size, hex);
    *ours = (old && strcmp(hex, old->sha256) == 0) ||
            (now && now->size == bytes.size &&
             (!bytes.size || memcmp(now->data, bytes.data, bytes.size) == 0));
  }
  be_buf_free(&bytes);
  return status;
}

static bool is_ours(const char *readme)
{
  char start[sizeof BE_PACKAGE_BEGINS];
  size_t got = 0, size = sizeof BE_PACKAGE_BEGINS - 1;
  if (!be_file_exists(readme) || be_file_start(readme, start, size, &got, NULL) != BE_OK)
    return false;
  return got == size && memcmp(start, BE_PACKAGE_BEGINS, size) == 0;
}

static enum be_status add_old(struct earlier *earlier, const char *path, const char *sha256,
                              struct be_err *err)
{
  void *block = earlier->files;
  enum be_status status = be_grow(&block, &earlier->capacity, sizeof *earlier->files,
                                  earlier->count + 1, BE_PACKAGE_FILES_MAX, err);
  earlier->files = block;
  if (status == BE_OK) earlier->files[earlier->count++] = (struct old_file){path, sha256};
  return status;
}

static enum be_status read_earlier(struct earlier *earlier, struct be_arena *arena,
                                   const char *folder, struct be_err *err)
{
  const char *readme = be_arena_format(arena, "%s/README.txt", folder);
  const char *sums = be_arena_format(arena, "%s/" BE_PACKAGE_CHECKSUMS, folder);
  if (!readme || !sums) return be_no_memory(err);
  if (!is_ours(readme)) return BE_OK;
  enum be_status status = add_old(earlier, "README.txt", NULL, err);
  if (status == BE_OK && be_file_exists(sums)) {
    status = be_file_read(sums, &earlier->text, err);
    if (status == BE_OK) status = add_old(earlier, BE_PACKAGE_CHECKSUMS, NULL, err);
  }
  const char *sha256, *path;
  for (char *at = earlier->text.data; status == BE_OK && at && be_pack_line(&at, &sha256, &path);)
    if (strcmp(path, "README.txt") != 0) status = add_old(earlier, path, sha256, err);
  if (status == BE_OK) qsort(earlier->files, earlier->count, sizeof *earlier->files, by_file);
  return status;
}

static enum be_status look_first(const struct package *package, const struct earlier *earlier,
                                 const char *folder, struct be_err *err)
{
  for (size_t i = 0; i < package->count; i++) {
    const char *path = package->pieces[i].path;
    const char *whole = be_arena_format(package->arena, "%s/%s", folder, path);
    if (!whole) return be_no_memory(err);
    if (be_file_is_link(whole)) return in_the_way(whole, "a link stands in the way", err);
    if (!be_file_exists(whole)) continue;
    bool ours;
    enum be_status status =
        look_at(folder, path, find_old(earlier, path), &package->pieces[i].bytes, &ours, err);
    if (status != BE_OK) return status;
    if (!ours)
      return in_the_way(whole,
                        "the file exists, and it is none of a package of this program, or not as "
                        "that left it",
                        err);
  }
  return BE_OK;
}

static enum be_status make_folders(struct package *package, const char *folder, struct be_err *err)
{
  static const char *const inside[] = {"", "record", "worked", "sheets", "traces", "pictures"};
  for (size_t i = 0; i < sizeof inside / sizeof inside[0]; i++) {
    bool needed = i < 3;
    for (size_t k = 0; !needed && k < package->count; k++)
      needed = strncmp(package->pieces[k].path, inside[i], strlen(inside[i])) == 0;
    const char *path = be_arena_format(package->arena, "%s/%s", folder, inside[i]);
    if (!path) return be_no_memory(err);
    if (needed && be_file_is_link(path) && i)
      return in_the_way(path, "a link stands in the way", err);
    enum be_status status = needed ? be_dir_create(path, err) : BE_OK;
    if (status != BE_OK) return status;
  }
  return BE_OK;
}

/* What the earlier package had and this one has not; what is no longer as it was stays. */
static enum be_status remove_others(struct package *package, const struct earlier *earlier,
                                    const char *folder, struct be_err *err)
{
  const char **now = be_alloc_array(package->count, sizeof *now);
  if (!now) return be_no_memory(err);
  for (size_t i = 0; i < package->count; i++) now[i] = package->pieces[i].path;
  qsort(now, package->count, sizeof *now, by_path);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < earlier->count && status == BE_OK; i++) {
    const char *path = earlier->files[i].path;
    bool ours = false;
    if (bsearch(&path, now, package->count, sizeof *now, by_path) || !be_pack_path_is_plain(path))
      continue;
    if (look_at(folder, path, &earlier->files[i], NULL, &ours, NULL) != BE_OK || !ours) continue;
    const char *whole = be_arena_format(package->arena, "%s/%s", folder, path);
    status = whole ? be_file_remove(whole, err) : be_no_memory(err);
  }
  be_free(now);
  return status;
}

/* The checksums come last, and hold the earlier package until then: one that was not written whole
 * is told by them. */
static enum be_status write_all(struct package *package, const char *folder, struct be_err *err)
{
  enum be_status status = BE_OK;
  be_progress_step("writing", "files", package->count);
  for (size_t i = 0; i < package->count && status == BE_OK; i++) {
    const struct piece *piece = &package->pieces[i];
    const char *path = be_arena_format(package->arena, "%s/%s", folder, piece->path);
    be_progress_at(i);
    status = path ? be_file_write(path, piece->bytes.data ? piece->bytes.data : "",
                                  piece->bytes.size, err)
                  : be_no_memory(err);
  }
  return status;
}

enum be_status be_package_put_folder(struct package *package, const char *path, struct be_err *err)
{
  struct earlier earlier = {0};
  const char *inside = be_arena_format(package->arena, "%s/.", path);
  if (!inside) return be_no_memory(err);
  if (be_file_exists(path) && !be_file_exists(inside))
    return in_the_way(path, "this is a file, and a package is a folder or a .zip", err);
  be_buf_init(&earlier.text, BE_PACKAGE_LIST_MAX);
  enum be_status status = read_earlier(&earlier, package->arena, path, err);
  if (status == BE_OK) status = look_first(package, &earlier, path, err);
  if (status == BE_OK) status = make_folders(package, path, err);
  if (status == BE_OK) status = write_all(package, path, err);
  if (status == BE_OK) status = remove_others(package, &earlier, path, err);
  be_buf_free(&earlier.text);
  be_free(earlier.files);
  return status;
}

/* ---- a zip ---- */

static enum be_status may_replace(const char *path, struct be_err *err)
{
  struct be_buf bytes, readme;
  struct zip_pack *zip = NULL;
  if (!be_file_exists(path)) return BE_OK;
  be_buf_init(&bytes, BE_PACKAGE_BYTES_MAX);
  be_buf_init(&readme, BE_PACKAGE_LIST_MAX);
  enum be_status status = be_file_read(path, &bytes, err);
  bool empty = status == BE_OK && bytes.size == 0, ours = empty;
  struct be_err other = {0}; /* of what is no zip, or none of ours */
  enum be_status opened = status;
  if (status == BE_OK && !empty) opened = be_zip_open(bytes.data, bytes.size, &zip, &other);
  if (zip) opened = be_zip_read(zip, "README.txt", &readme, &other);
  if (zip && opened == BE_OK)
    ours = strncmp(readme.data, BE_PACKAGE_BEGINS, strlen(BE_PACKAGE_BEGINS)) == 0;
  if (opened == BE_NO_MEMORY) status = be_no_memory(err);
  be_zip_close(zip);
  be_buf_free(&bytes);
  be_buf_free(&readme);
  if (status != BE_OK || ours) return status;
  return in_the_way(path, "the file exists, and it is no package of this program", err);
}

enum be_status be_package_put_zip(struct package *package, const char *path, struct be_err *err)
{
  struct be_buf bytes;
  const struct be_ours ours = {.what = "package",
                               .spared = package->survey->book_path,
                               .spared_what = "book",
                               .option = "--package"};
  be_buf_init(&bytes, BE_PACKAGE_BYTES_MAX);
  enum be_status status = may_replace(path, err);
  if (status == BE_OK) status = be_zip_make(package, &bytes, err);
  if (status == BE_OK) status = be_write_ours(path, &ours, &bytes, err);
  be_buf_free(&bytes);
  return status;
}
