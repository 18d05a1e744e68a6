/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A frame as PNG (ISO/IEC 15948). Most of a frame is empty or like the row above it, which the
 * filter "up" turns into runs of zeros; to look for runs alone is the fastest deflate. */
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

static uint32_t straight_of(uint32_t pixel)
{
  uint32_t alpha = pixel >> 24, straight = 0;
  unsigned char rgba[4];
  for (int i = 0; i < 3; i++) {
    uint32_t value = alpha ? ((pixel >> (16 - 8 * i) & 255) * 255 + alpha / 2) / alpha : 0;
    rgba[i] = (unsigned char)(value > 255 ? 255 : value);
  }
  rgba[3] = (unsigned char)alpha;
  memcpy(&straight, rgba, 4);
  return straight;
}

/* PNG has red first and straight alpha. Neighbours are mostly alike. */
static void straighten(const unsigned char *from, unsigned char *to, int width)
{
  uint32_t last = 0, straight = 0;
  for (int x = 0; x < width; x++, from += 4, to += 4) {
    uint32_t pixel;
    memcpy(&pixel, from, 4);
    if (pixel != last) straight = straight_of(pixel);
    last = pixel;
    memcpy(to, &straight, 4);
  }
}

/* ---- rows ---- */

/* Rows that are like the one above them pack into the same bytes wherever they stand: eight of them
 * are packed once, as a part of a stream that refers to nothing before it (Z_FULL_FLUSH), and then
 * copied. So a frame that is mostly empty costs little. */
enum { BLOCK_ROWS = 8, UP = 2 };
struct packing {
  z_stream stream;
  struct be_buf *out;
  size_t row;              /* bytes, with that of the filter */
  unsigned char *rows;     /* straight: this one and the one above it */
  unsigned char *filtered; /* one row, or a block of them */
  unsigned char *packed;   /* room for a block */
  size_t packed_most, block_size;
  uLong sum, block_sum;
};

static bool put(struct packing *packing, const unsigned char *bytes, size_t size, int flush)
{
  unsigned char now[16 * 1024];
  packing->stream.next_in = (unsigned char *)(uintptr_t)bytes;
  packing->stream.avail_in = (uInt)size;
  do {
    packing->stream.next_out = now;
    packing->stream.avail_out = sizeof now;
    if (deflate(&packing->stream, flush) == Z_STREAM_ERROR) return false;
    be_buf_add(packing->out, now, sizeof now - packing->stream.avail_out);
  } while (packing->stream.avail_out == 0);
  if (size) packing->sum = adler32(packing->sum, bytes, (uInt)size);
  return true;
}

static bool make_block(struct packing *packing)
{
  z_stream stream;
  size_t size = BLOCK_ROWS * packing->row;
  memset(packing->filtered, 0, size);
  for (int i = 0; i < BLOCK_ROWS; i++) packing->filtered[(size_t)i * packing->row] = UP;
  memset(&stream, 0, sizeof stream);
  if (deflateInit2(&stream, 1, Z_DEFLATED, -15, 8, Z_RLE) != Z_OK) return false;
  stream.next_in = packing->filtered;
  stream.avail_in = (uInt)size;
  stream.next_out = packing->packed;
  stream.avail_out = (uInt)packing->packed_most;
  bool done = deflate(&stream, Z_FULL_FLUSH) == Z_OK && stream.avail_out > 0;
  packing->block_size = stream.total_out;
  packing->block_sum = adler32(adler32(0, NULL, 0), packing->filtered, (uInt)size);
  deflateEnd(&stream);
  return done;
}

/* How many rows from y on are like the ones above them. */
static int alike(const unsigned char *pixels, size_t stride, size_t row, int y, int height)
{
  int count = 0;
  while (y + count < height && y + count > 0) {
    const unsigned char *from = pixels + (size_t)(y + count) * stride;
    if (memcmp(from, from - stride, row) != 0) break;
    count++;
  }
  return count;
}

static bool put_row(struct packing *packing, const unsigned char *pixels, int width)
{
  size_t size = packing->row - 1;
  unsigned char *above = packing->rows, *now = packing->rows + size;
  straighten(pixels, now, width);
  packing->filtered[0] = UP;
  for (size_t i = 0; i < size; i++) packing->filtered[i + 1] = (unsigned char)(now[i] - above[i]);
  memcpy(above, now, size);
  return put(packing, packing->filtered, packing->row, Z_NO_FLUSH);
}

static bool put_blocks(struct packing *packing, int count)
{
  if (!put(packing, NULL, 0, Z_FULL_FLUSH)) return false;
  for (int i = 0; i < count; i++) {
    be_buf_add(packing->out, packing->packed, packing->block_size);
    packing->sum =
        adler32_combine(packing->sum, packing->block_sum, (z_off_t)(BLOCK_ROWS * packing->row));
  }
  return true;
}

/* A stream of zlib (RFC 1950): its head, the parts, and the sum of all bytes. */
static bool pack(struct packing *packing, const unsigned char *pixels, size_t stride, int width,
                 int height)
{
  unsigned char foot[4];
  size_t row = packing->row - 1;
  if (!make_block(packing)) return false;
  if (deflateInit2(&packing->stream, 1, Z_DEFLATED, -15, 8, Z_RLE) != Z_OK) return false;
  packing->sum = adler32(0, NULL, 0);
  be_buf_add(packing->out, "\x78\x01", 2);
  bool done = true;
  for (int y = 0; y < height && done;) {
    int blocks = alike(pixels, stride, row, y, height) / BLOCK_ROWS;
    if (blocks) done = put_blocks(packing, blocks);
    else done = put_row(packing, pixels + (size_t)y * stride, width);
    y += blocks ? blocks * BLOCK_ROWS : 1;
  }
  done = done && put(packing, NULL, 0, Z_FINISH);
  deflateEnd(&packing->stream);
  put_u32(foot, (uint32_t)packing->sum);
  be_buf_add(packing->out, foot, 4);
  return done;
}

enum be_status be_film_png(const unsigned char *pixels, size_t stride, int width, int height,
                           struct be_buf *png, struct be_err *err)
{
  static const unsigned char sign[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
  unsigned char head[13] = {0, 0, 0, 0, 0, 0, 0, 0, 8, 6, 0, 0, 0};
  size_t row = (size_t)width * 4;
  struct be_buf data;
  be_buf_init(&data, (size_t)1 << 30);
  struct packing packing = {.out = &data, .row = row + 1, .packed_most = 4096 + row};
  packing.rows = be_alloc_array(2, row);
  packing.filtered = be_alloc_array(BLOCK_ROWS, row + 1);
  packing.packed = be_alloc(packing.packed_most);
  bool done = packing.rows && packing.filtered && packing.packed;
  if (done) memset(packing.rows, 0, 2 * row);
  done = done && pack(&packing, pixels, stride, width, height) && data.status == BE_OK;
  if (done) {
    put_u32(head, (uint32_t)width);
    put_u32(head + 4, (uint32_t)height);
    be_buf_add(png, sign, sizeof sign);
    add_chunk(png, "IHDR", head, sizeof head);
    add_chunk(png, "sRGB", (const unsigned char *)"", 1);
    add_chunk(png, "tEXt", (const unsigned char *)"Software\0bitterend", 18);
    add_chunk(png, "IDAT", (const unsigned char *)data.data, data.size);
    add_chunk(png, "IEND", (const unsigned char *)"", 0);
  }
  be_buf_free(&data);
  be_free(packing.rows);
  be_free(packing.filtered);
  be_free(packing.packed);
  return done ? be_buf_status(png, err) : be_fail(err, BE_NO_MEMORY, "no memory for a frame");
}
