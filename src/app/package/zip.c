/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A zip archive by libzip, in memory. The same files give the same bytes: every time in it is the
 * first that a zip can tell. */
#include "app/package/inside.h"

#include <string.h>
#include <zip.h>

enum {
  DOS_TIME = 0,            /* midnight */
  DOS_DATE = (1 << 5) | 1, /* 1980-01-01 */
  PLAIN_FILE = 0100644     /* what Unix calls a plain file, and its rights */
};

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
