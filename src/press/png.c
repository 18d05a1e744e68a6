/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pictures written as PNG (W3C, third edition: sections 5, 9, 11.2) in a fifth of the time that the
 * usual writer takes: every row is filtered by the one above it, which leaves zeros wherever the
 * picture is flat, and these pack well even at the fastest level. */
#include "press/png.h"

#include "press/press.h"

#include <string.h>
#include <zlib.h>

enum { LEVEL = 1, ABOVE = 2, COLOUR = 2, COLOUR_ALPHA = 6, MEMORY_LEVEL = 9 };

static void put_number(unsigned char bytes[4], uint32_t value)
{
  for (int i = 0; i < 4; i++) bytes[i] = (unsigned char)(value >> (24 - 8 * i));
}

static void add_chunk(struct be_buf *out, const char *type, const void *data, size_t size)
{
  unsigned char number[4];
  put_number(number, (uint32_t)size);
  be_buf_add(out, number, 4);
  be_buf_add(out, type, 4);
  be_buf_add(out, data, size);
  uLong sum = crc32(crc32(0, (const Bytef *)type, 4), size ? data : (const void *)"", (uInt)size);
  put_number(number, (uint32_t)sum);
  be_buf_add(out, number, 4);
}

/* Cairo's words hold alpha, red, green, blue, these three multiplied by alpha. */
static uint32_t pixel_of(const unsigned char *row, size_t x)
{
  uint32_t value;
  memcpy(&value, row + 4 * x, 4);
  return value;
}

static bool is_opaque(const unsigned char *pixels, size_t width, size_t height, size_t stride)
{
  uint32_t all = 0xFF000000;
  for (size_t y = 0; y < height; y++)
    for (size_t x = 0; x < width; x++) all &= pixel_of(pixels + y * stride, x);
  return all >> 24 == 0xFF;
}

static unsigned char part_of(uint32_t pixel, unsigned shift, unsigned alpha)
{
  unsigned part = pixel >> shift & 0xFF;
  return (unsigned char)(alpha == 0 || alpha == 0xFF ? part : (part * 0xFF + alpha / 2) / alpha);
}

static void unpack_row(const unsigned char *row, size_t width, bool opaque, unsigned char *out)
{
  for (size_t x = 0; opaque && x < width; x++, out += 3) {
    uint32_t pixel = pixel_of(row, x);
    out[0] = (unsigned char)(pixel >> 16);
    out[1] = (unsigned char)(pixel >> 8);
    out[2] = (unsigned char)pixel;
  }
  for (size_t x = 0; !opaque && x < width; x++) {
    uint32_t pixel = pixel_of(row, x);
    unsigned alpha = pixel >> 24;
    *out++ = part_of(pixel, 16, alpha);
    *out++ = part_of(pixel, 8, alpha);
    *out++ = part_of(pixel, 0, alpha);
    *out++ = (unsigned char)alpha;
  }
}

/* Filtered rows into `rows`: one byte in front of each tells the filter. */
static enum be_status filter(cairo_surface_t *surface, bool opaque, struct be_buf *rows)
{
  const unsigned char *pixels = cairo_image_surface_get_data(surface);
  size_t width = (size_t)cairo_image_surface_get_width(surface);
  size_t height = (size_t)cairo_image_surface_get_height(surface);
  size_t stride = (size_t)cairo_image_surface_get_stride(surface), size = (opaque ? 3 : 4) * width;
  unsigned char *work = be_alloc_array(3, size + 1);
  if (!work) return BE_NO_MEMORY;
  unsigned char *above = work, *now = work + size + 1, *line = now + size + 1;
  memset(above, 0, size);
  line[0] = ABOVE;
  for (size_t y = 0; y < height; y++) {
    unpack_row(pixels + y * stride, width, opaque, now);
    for (size_t i = 0; i < size; i++) line[i + 1] = (unsigned char)(now[i] - above[i]);
    be_buf_add(rows, line, size + 1);
    unsigned char *swap = above;
    above = now;
    now = swap;
  }
  be_free(work);
  return rows->status;
}

/* zlib's memory is the system's, as cairo's is. */
static enum be_status pack(const struct be_buf *rows, unsigned char **packed, size_t *size)
{
  z_stream stream = {0};
  if (deflateInit2(&stream, LEVEL, Z_DEFLATED, MAX_WBITS, MEMORY_LEVEL, Z_DEFAULT_STRATEGY) != Z_OK)
    return BE_NO_MEMORY;
  uLong most = deflateBound(&stream, (uLong)rows->size);
  *packed = be_alloc_array(1, most);
  if (*packed) {
    stream.next_in = (Bytef *)rows->data;
    stream.avail_in = (uInt)rows->size;
    stream.next_out = *packed;
    stream.avail_out = (uInt)most;
    deflate(&stream, Z_FINISH);
    *size = stream.total_out;
  }
  deflateEnd(&stream);
  return *packed ? BE_OK : BE_NO_MEMORY;
}

enum be_status be_png_write(cairo_surface_t *surface, struct be_buf *out)
{
  static const char signature[] = "\x89PNG\r\n\x1A\n";
  /* Who made it (PNG 1.2, 11.3.4.2): so that a file of ours is known from another. */
  static const char software[] = "Software\0bitterend";
  unsigned char header[13] = {[8] = 8}, *packed = NULL;
  size_t width = (size_t)cairo_image_surface_get_width(surface), size = 0;
  size_t height = (size_t)cairo_image_surface_get_height(surface);
  struct be_buf rows;
  cairo_surface_flush(surface);
  bool opaque = is_opaque(cairo_image_surface_get_data(surface), width, height,
                          (size_t)cairo_image_surface_get_stride(surface));
  be_buf_init(&rows, (size_t)BE_RASTER_MAX * (4 * (size_t)BE_RASTER_MAX + 1));
  enum be_status status = filter(surface, opaque, &rows);
  if (status == BE_OK) status = pack(&rows, &packed, &size);
  if (status == BE_OK) {
    put_number(header, (uint32_t)width);
    put_number(header + 4, (uint32_t)height);
    header[9] = opaque ? COLOUR : COLOUR_ALPHA;
    be_buf_add(out, signature, 8);
    add_chunk(out, "IHDR", header, sizeof header);
    add_chunk(out, "tEXt", software, sizeof software - 1);
    add_chunk(out, "IDAT", packed, size);
    add_chunk(out, "IEND", NULL, 0);
  }
  be_buf_free(&rows);
  be_free(packed);
  return status == BE_OK ? out->status : status;
}
