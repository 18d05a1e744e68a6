/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Zip archives by libzip, in memory. The same files give the same bytes: every time in it is the
 * first that a zip can tell. */
#include "app/package/inside.h"

#include <string.h>
#include <zip.h>

enum {
  DOS_TIME = 0,            /* midnight */
  DOS_DATE = (1 << 5) | 1, /* 1980-01-01 */
  PLAIN_FILE = 0100644,    /* what Unix calls a plain file, and its rights */
  KIND_OF_FILE = 0170000,
  A_LINK = 0120000
};

/* ---- writing ---- */

static enum be_status zip_failed(zip_t *zip, const char *path, struct be_err *err)
{
  zip_error_t *why = zip_get_error(zip);
  enum be_status status = zip_error_code_zip(why) == ZIP_ER_MEMORY ? BE_NO_MEMORY : BE_FAILED;
  be_fail(err, status, "the package cannot be packed: %s", zip_error_strerror(why));
  be_fail_at(err, path, 0, 0);
  return status;
}

static enum be_status add_piece(zip_t *zip, const struct piece *piece, struct be_err *err)
{
  zip_source_t *from = zip_source_buffer(zip, piece->bytes.data, piece->bytes.size, 0);
  zip_int64_t at = from ? zip_file_add(zip, piece->path, from, ZIP_FL_ENC_UTF_8) : -1;
  if (at < 0) {
    zip_source_free(from);
    return zip_failed(zip, piece->path, err);
  }
  zip_uint64_t index = (zip_uint64_t)at;
  if (zip_set_file_compression(zip, index, ZIP_CM_DEFLATE, 9) != 0 ||
      zip_file_set_dostime(zip, index, DOS_TIME, DOS_DATE, 0) != 0 ||
      zip_file_set_external_attributes(zip, index, 0, ZIP_OPSYS_UNIX,
                                       (zip_uint32_t)PLAIN_FILE << 16) != 0)
    return zip_failed(zip, piece->path, err);
  return BE_OK;
}

static enum be_status read_source(zip_source_t *source, struct be_buf *out, struct be_err *err)
{
  char block[1 << 16];
  if (zip_source_open(source) != 0) return be_fail(err, BE_FAILED, "the package cannot be packed");
  zip_int64_t got;
  while ((got = zip_source_read(source, block, sizeof block)) > 0)
    be_buf_add(out, block, (size_t)got);
  zip_source_close(source);
  if (got < 0) return be_fail(err, BE_FAILED, "the package cannot be packed");
  return be_buf_status(out, err);
}

enum be_status be_zip_make(const struct package *package, struct be_buf *out, struct be_err *err)
{
  zip_error_t why;
  zip_error_init(&why);
  zip_source_t *source = zip_source_buffer_create(NULL, 0, 0, &why);
  zip_t *zip = source ? zip_open_from_source(source, ZIP_TRUNCATE, &why) : NULL;
  zip_error_fini(&why);
  if (!zip) {
    zip_source_free(source);
    return be_no_memory(err);
  }
  zip_source_keep(source);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < package->count && status == BE_OK; i++)
    status = add_piece(zip, &package->pieces[i], err);
  if (status == BE_OK && zip_close(zip) != 0) status = zip_failed(zip, NULL, err);
  else if (status == BE_OK) zip = NULL;
  if (zip) zip_discard(zip);
  if (status == BE_OK) status = read_source(source, out, err);
  zip_source_free(source);
  return status;
}

/* ---- reading ---- */

struct zip_pack {
  zip_t *zip;
};

static enum be_status refuse(enum be_status status, const char *what, const char *name,
                             struct be_err *err)
{
  be_fail(err, status, "%s: \"%.150s\"", what, name);
  return be_fail_remedy(err, "take the package as it was written");
}

/* What else an entry may be is refused before any is unpacked; a name twice is none of a zip that
 * is consistent. */
static enum be_status look_at(zip_t *zip, zip_uint64_t at, size_t *all, struct be_err *err)
{
  zip_stat_t about;
  zip_uint8_t system = 0;
  zip_uint32_t attributes = 0;
  const zip_uint64_t needed = ZIP_STAT_NAME | ZIP_STAT_SIZE | ZIP_STAT_COMP_METHOD;
  if (zip_stat_index(zip, at, 0, &about) != 0 || (about.valid & needed) != needed)
    return be_fail(err, BE_BAD_INPUT, "the zip is damaged");
  char name[BE_PACKAGE_PATH_MAX + 2];
  size_t length = strlen(about.name);
  if (length > BE_PACKAGE_PATH_MAX)
    return refuse(BE_BAD_INPUT, "the zip has a name that is too long", about.name, err);
  memcpy(name, about.name, length + 1);
  bool folder = length && name[length - 1] == '/';
  if (folder) name[length - 1] = '\0';
  if (!be_pack_path_is_plain(name))
    return refuse(BE_BAD_INPUT, "the zip has a name that leads out of it", about.name, err);
  if (zip_file_get_external_attributes(zip, at, 0, &system, &attributes) == 0 &&
      system == ZIP_OPSYS_UNIX && ((attributes >> 16) & KIND_OF_FILE) == A_LINK)
    return refuse(BE_BAD_INPUT, "the zip has a link", about.name, err);
  if (folder) return BE_OK;
  bool known = about.comp_method == ZIP_CM_STORE || about.comp_method == ZIP_CM_DEFLATE;
  if (!known ||
      (about.valid & ZIP_STAT_ENCRYPTION_METHOD && about.encryption_method != ZIP_EM_NONE))
    return refuse(BE_BAD_INPUT, "the zip has a file packed in a way that is not read", name, err);
  if (about.size > BE_BOOK_FILE_MAX)
    return refuse(BE_TOO_LARGE, "a file of the zip has more than 512 MiB unpacked", name, err);
  *all += (size_t)about.size;
  if (*all > BE_PACKAGE_BYTES_MAX)
    return refuse(BE_TOO_LARGE, "the files of the zip have more than 1 GiB unpacked", name, err);
  return BE_OK;
}

static enum be_status look_at_all(zip_t *zip, struct be_err *err)
{
  zip_int64_t count = zip_get_num_entries(zip, 0);
  if (count > BE_PACKAGE_FILES_MAX) {
    be_fail(err, BE_TOO_LARGE, "the zip has %lld files; the limit is %d", (long long)count,
            BE_PACKAGE_FILES_MAX);
    return be_fail_remedy(err, "take the package as it was written");
  }
  enum be_status status = BE_OK;
  size_t all = 0;
  for (zip_int64_t i = 0; i < count && status == BE_OK; i++)
    status = look_at(zip, (zip_uint64_t)i, &all, err);
  return status;
}

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
    return be_fail_remedy(err, "fetch it again, or take the folder that it was made of");
  }
  enum be_status status = look_at_all(opened, err);
  struct zip_pack *made = status == BE_OK ? be_alloc_array(1, sizeof *made) : NULL;
  if (status == BE_OK && !made) status = be_no_memory(err);
  if (status != BE_OK) {
    zip_discard(opened);
    return status;
  }
  made->zip = opened;
  *zip = made;
  return BE_OK;
}

void be_zip_close(struct zip_pack *zip)
{
  if (!zip) return;
  zip_discard(zip->zip);
  be_free(zip);
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
  zip_int64_t at = zip_name_locate(zip->zip, path, 0);
  if (at < 0 || zip_stat_index(zip->zip, (zip_uint64_t)at, 0, &about) != 0)
    return be_fail(err, BE_NO, "the package has no file \"%.150s\"", path);
  if (about.size > bytes->ceiling)
    return refuse(BE_TOO_LARGE, "a file of the zip is larger unpacked than it may be", path, err);
  zip_file_t *file = zip_fopen_index(zip->zip, (zip_uint64_t)at, 0);
  if (!file) return refuse(BE_BAD_INPUT, "a file of the zip is damaged", path, err);
  enum be_status status = unpack(file, (size_t)about.size, path, bytes, err);
  zip_fclose(file);
  return status;
}
