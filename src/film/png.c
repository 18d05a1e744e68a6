/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A frame as PNG (ISO/IEC 15948). Most of a frame is empty or like the row above it, which the
 * filter "up" turns into runs of zeros: the fastest deflate then does as well as the slow ones. */
#include "film/film.h"

#include <string.h>
#include <zlib.h>

static void put_u32(unsigned char *to, uint32_t value)
{
  for (int i = 0; i < 4; i++) to[i] = (unsigned char)(value >> (24 - 8 * i));
}

static void add_chunk(struct be_buf *png, const char *kind, const unsigned char *bytes, size_t size)
{
  unsigned char head[8], foot[4];
  put_u32(head, (uint32_t)size);
  memcpy(head + 4, kind, 4);
  uLong sum = crc32(0, head + 4, 4);
  if (size) sum = crc32(sum, bytes, (uInt)size);
  put_u32(foot, (uint32_t)sum);
  be_buf_add(png, head, 8);
  be_buf_add(png, bytes, size);
  be_buf_add(png, foot, 4);
}

/* PNG has red first and straight alpha. */
static void straighten(const unsigned char *from, unsigned char *to, int width)
{
  for (int x = 0; x < width; x++, from += 4, to += 4) {
    unsigned alpha = from[3];
    to[3] = (unsigned char)alpha;
    for (int i = 0; i < 3; i++) {
      unsigned value = alpha ? (from[2 - i] * 255u + alpha / 2) / alpha : 0;
      to[i] = (unsigned char)(value > 255 ? 255 : value);
    }
  }
}

/* Rows are filtered into `filtered`; `rows` holds this row and the one above it. */
static void filter(const unsigned char *pixels, size_t stride, int width, int height,
                   unsigned char *rows, unsigned char *filtered)
{
  size_t row = (size_t)width * 4;
  unsigned char *above = rows, *now = rows + row;
  memset(above, 0, row);
  for (int y = 0; y < height; y++) {
    straighten(pixels + (size_t)y * stride, now, width);
    *filtered++ = 2; /* up */
    for (size_t i = 0; i < row; i++) filtered[i] = (unsigned char)(now[i] - above[i]);
    filtered += row;
    unsigned char *other = above;
    above = now;
    now = other;
  }
}

enum be_status be_film_png(const unsigned char *pixels, size_t stride, int width, int height,
                           struct be_buf *png, struct be_err *err)
{
  static const unsigned char sign[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
  unsigned char head[13] = {0, 0, 0, 0, 0, 0, 0, 0, 8, 6, 0, 0, 0};
  size_t row = (size_t)width * 4, size = (row + 1) * (size_t)height;
  uLongf packed_size = compressBound(size);
  unsigned char *rows = be_alloc_array(2, row), *filtered = be_alloc(size);
  unsigned char *packed = be_alloc(packed_size);
  bool done = rows && filtered && packed;
  if (done) {
    filter(pixels, stride, width, height, rows, filtered);
    done = compress2(packed, &packed_size, filtered, size, 1) == Z_OK;
  }
  if (done) {
    put_u32(head, (uint32_t)width);
    put_u32(head + 4, (uint32_t)height);
    be_buf_add(png, sign, sizeof sign);
    add_chunk(png, "IHDR", head, sizeof head);
    add_chunk(png, "sRGB", (const unsigned char *)"", 1);
    add_chunk(png, "tEXt", (const unsigned char *)"Software\0bitterend", 18);
    add_chunk(png, "IDAT", packed, packed_size);
    add_chunk(png, "IEND", (const unsigned char *)"", 0);
  }
  be_free(rows);
  be_free(filtered);
  be_free(packed);
  return done ? be_buf_status(png, err) : be_fail(err, BE_NO_MEMORY, "no memory for a frame");
}
