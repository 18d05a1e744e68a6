/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Packed bytes: gzip by zlib, Zstandard by libzstd. */
#define ZLIB_CONST
#include "base/inside.h"

#include <limits.h>
#include <string.h>
#include <zlib.h>
#include <zstd.h>

static enum be_status damaged(struct be_err *err, const char *why)
{
  be_fail(err, BE_BAD_INPUT, "the packed file is damaged: %s", why ? why : "its data do not fit");
  be_fail_remedy(err, "copy or pack it again; its first part is not taken for the whole");
  return BE_BAD_INPUT;
}

/* ---- gzip ---- */

static voidpf zlib_alloc(voidpf host, uInt count, uInt size)
{
  (void)host;
  return be_alloc_array(count, size);
}

static void zlib_free(voidpf host, voidpf block)
{
  (void)host;
  be_free(block);
}

/* 15 is the largest window there is; 16 asks for the gzip form. */
enum { GZIP_WINDOW = 15 + 16 };

static void *gzip_create(void)
{
  z_stream *stream = be_alloc_array(1, sizeof *stream);
  if (!stream) return NULL;
  stream->zalloc = zlib_alloc;
  stream->zfree = zlib_free;
  if (inflateInit2(stream, GZIP_WINDOW) == Z_OK) return stream;
  be_free(stream);
  return NULL;
}

static enum be_status gzip_unpack(void *state, const char *in, size_t in_size, size_t *used,
                                  char *out, size_t out_size, size_t *made, bool *whole,
                                  struct be_err *err)
{
  z_stream *stream = state;
  if (*whole && inflateReset(stream) != Z_OK) return damaged(err, stream->msg);
  stream->next_in = (const Bytef *)in;
  stream->avail_in = (uInt)(in_size < UINT_MAX ? in_size : UINT_MAX);
  stream->next_out = (Bytef *)out;
  stream->avail_out = (uInt)(out_size < UINT_MAX ? out_size : UINT_MAX);
  uInt given = stream->avail_in, room = stream->avail_out;
  int result = inflate(stream, Z_NO_FLUSH);
  *used = given - stream->avail_in;
  *made = room - stream->avail_out;
  *whole = result == Z_STREAM_END;
  if (result == Z_MEM_ERROR) return be_fail(err, BE_NO_MEMORY, "no memory to unpack the file");
  if (result == Z_OK || result == Z_STREAM_END || result == Z_BUF_ERROR) return BE_OK;
  return damaged(err, stream->msg);
}

static void gzip_free(void *state)
{
  inflateEnd(state);
  be_free(state);
}

/* ---- Zstandard ---- */

/* Windows up to 16 MiB, which every ordinary level (to 19) stays within. */
enum { ZSTD_WINDOW_LOG = 24 };

static void *zstd_create(void)
{
  ZSTD_DCtx *context = ZSTD_createDCtx();
  if (context &&
      ZSTD_isError(ZSTD_DCtx_setParameter(context, ZSTD_d_windowLogMax, ZSTD_WINDOW_LOG))) {
    ZSTD_freeDCtx(context);
    return NULL;
  }
  return context;
}

static enum be_status zstd_unpack(void *state, const char *in, size_t in_size, size_t *used,
                                  char *out, size_t out_size, size_t *made, bool *whole,
                                  struct be_err *err)
{
  ZSTD_inBuffer from = {in, in_size, 0};
  ZSTD_outBuffer to = {out, out_size, 0};
  size_t result = ZSTD_decompressStream(state, &to, &from);
  *used = from.pos;
  *made = to.pos;
  *whole = result == 0;
  if (!ZSTD_isError(result)) return BE_OK;
  const char *why = ZSTD_getErrorName(result);
  if (strstr(why, "too much memory")) {
    be_fail(err, BE_TOO_LARGE, "the file is packed with a window of more than 16 MB");
    be_fail_remedy(err, "pack it again with an ordinary level");
    return BE_TOO_LARGE;
  }
  return damaged(err, why);
}

static void zstd_free(void *state)
{
  ZSTD_freeDCtx(state);
}

/* ---- which ---- */

/* RFC 1952, section 2.3.1, and RFC 8878, section 3.1.1. */
static const struct be_packing packings[] = {
    {"gzip", {0x1F, 0x8B, 0x08}, 3, gzip_create, gzip_unpack, gzip_free},
    {"Zstandard", {0x28, 0xB5, 0x2F, 0xFD}, 4, zstd_create, zstd_unpack, zstd_free},
};

const struct be_packing *be_packing_find(const char *bytes, size_t size)
{
  for (size_t i = 0; i < sizeof packings / sizeof packings[0]; i++)
    if (size >= packings[i].magic_size &&
        memcmp(bytes, packings[i].magic, packings[i].magic_size) == 0)
      return &packings[i];
  return NULL;
}
