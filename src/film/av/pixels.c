/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cairo's pixels, multiplied by alpha, into those of a coder: straight alpha, and the colours of
 * video (ITU-R BT.709, 3.3 and 3.4, and its narrow range). Where a coder has no alpha, they are as
 * on black. A frame is mostly like the one before it: only rows that are not are made anew. */
#include "film/av/inside.h"

#include <string.h>

enum { POINT = 16 }; /* binary places of the factors */

/* One of Y, Cb, Cr of red, green and blue. */
struct weights {
  int32_t red, green, blue, add;
};
struct be_av_pixels {
  int width, height;
  enum AVPixelFormat made;
  unsigned char *last; /* the frame before, as it came */
  bool any;
  bool straight; /* the coder has alpha */
  int deep;      /* bits of a sample over eight */
  struct weights y, cb, cr;
  uint32_t inverse[256]; /* 255 / alpha, 16 bits behind the point */
};

static struct weights weigh(double red, double green, double blue, double range, int zero, int deep)
{
  double one = range * (double)(1 << deep) / 255 * (1 << POINT);
  struct weights made = {(int32_t)(red * one + (red < 0 ? -0.5 : 0.5)), 0,
                         (int32_t)(blue * one + (blue < 0 ? -0.5 : 0.5)),
                         (zero << deep << POINT) + (1 << (POINT - 1))};
  /* White stays white, and grey without colour. */
  double all = (red + green + blue) * one;
  made.green = (int32_t)(all + 0.5) - made.red - made.blue;
  return made;
}

static void set_weights(struct be_av_pixels *pixels)
{
  const double red = 0.2126, green = 0.7152, blue = 0.0722;
  const double cb = 2 * (1 - blue), cr = 2 * (1 - red);
  pixels->y = weigh(red, green, blue, 219, 16, pixels->deep);
  pixels->cb = weigh(-red / cb, -green / cb, (1 - blue) / cb, 224, 128, pixels->deep);
  pixels->cr = weigh((1 - red) / cr, -green / cr, -blue / cr, 224, 128, pixels->deep);
}

enum be_status be_av_pixels_create(int width, int height, enum AVPixelFormat made,
                                   struct be_av_pixels **out, struct be_err *err)
{
  struct be_av_pixels *pixels = be_alloc_array(1, sizeof *pixels);
  if (!pixels) return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  *pixels = (struct be_av_pixels){.width = width, .height = height, .made = made};
  for (uint32_t i = 1; i < 256; i++) pixels->inverse[i] = ((255u << 16) + i / 2) / i;
  pixels->straight = made != AV_PIX_FMT_YUV420P;
  pixels->deep = made == AV_PIX_FMT_YUVA444P10 ? 2 : 0;
  set_weights(pixels);
  *out = pixels;
  pixels->last = be_alloc_array((size_t)width * (size_t)height, 4);
  return pixels->last ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for the film");
}

/* ---- one pixel ---- */

/* Where nothing is seen there is no colour. */
static inline uint32_t straight_of(const struct be_av_pixels *pixels, uint32_t pixel)
{
  uint32_t alpha = pixel >> 24;
  if (alpha == 255 || alpha == 0) return pixel;
  uint32_t by = pixels->inverse[alpha];
  uint32_t red = ((pixel >> 16 & 255) * by + 32768) >> 16;
  uint32_t green = ((pixel >> 8 & 255) * by + 32768) >> 16;
  uint32_t blue = ((pixel & 255) * by + 32768) >> 16;
  return alpha << 24 | (red > 255 ? 255 : red) << 16 | (green > 255 ? 255 : green) << 8 |
         (blue > 255 ? 255 : blue);
}

static inline int32_t mix(const struct weights *by, uint32_t pixel)
{
  return (by->red * (int32_t)(pixel >> 16 & 255) + by->green * (int32_t)(pixel >> 8 & 255) +
          by->blue * (int32_t)(pixel & 255) + by->add) >>
         POINT;
}

/* The mean colour of four, each by how much of it is seen. */
static uint32_t mean_of(const struct be_av_pixels *pixels, const uint32_t four[4])
{
  uint32_t sum[4] = {0}, mean = 0;
  for (int i = 0; i < 4; i++)
    for (int k = 0; k < 4; k++) sum[k] += four[i] >> 8 * k & 255;
  uint32_t over = pixels->straight ? sum[3] : 1020;
  for (int k = 0; k < 3 && over; k++) {
    uint32_t value = (sum[k] * 255 + over / 2) / over;
    mean |= (value > 255 ? 255 : value) << 8 * k;
  }
  return mean;
}

/* ---- rows ---- */

static void row_into_argb(const struct be_av_pixels *pixels, const unsigned char *from,
                          unsigned char *to)
{
  uint32_t last = 0, made = 0;
  for (int x = 0; x < pixels->width; x++, from += 4, to += 4) {
    uint32_t pixel;
    memcpy(&pixel, from, 4);
    if (pixel != last) made = __builtin_bswap32(straight_of(pixels, pixel));
    last = pixel;
    memcpy(to, &made, 4);
  }
}

/* alpha: null without any. */
static void row_of_light(const struct be_av_pixels *pixels, const unsigned char *from,
                         unsigned char *light, unsigned char *alpha)
{
  uint32_t last = 0;
  unsigned char made = (unsigned char)mix(&pixels->y, 0);
  for (int x = 0; x < pixels->width; x++, from += 4) {
    uint32_t pixel;
    memcpy(&pixel, from, 4);
    if (pixel != last)
      made = (unsigned char)mix(&pixels->y, alpha ? straight_of(pixels, pixel) : pixel);
    last = pixel;
    light[x] = made;
    if (alpha) alpha[x] = (unsigned char)(pixel >> 24);
  }
}

static void row_of_colour(const struct be_av_pixels *pixels, const unsigned char *above,
                          const unsigned char *below, unsigned char *cb, unsigned char *cr)
{
  uint32_t last[4] = {0};
  unsigned char made[2] = {128, 128};
  for (int x = 0; x < pixels->width / 2; x++, above += 8, below += 8) {
    uint32_t four[4];
    memcpy(four, above, 8);
    memcpy(four + 2, below, 8);
    if (memcmp(four, last, sizeof four) != 0) {
      uint32_t mean = mean_of(pixels, four);
      made[0] = (unsigned char)mix(&pixels->cb, mean);
      made[1] = (unsigned char)mix(&pixels->cr, mean);
      memcpy(last, four, sizeof four);
    }
    cb[x] = made[0];
    cr[x] = made[1];
  }
}

/* Ten bits, every pixel with its own colour. */
static void row_into_deep(const struct be_av_pixels *pixels, const unsigned char *from, AVFrame *to,
                          int y)
{
  uint16_t *rows[4];
  uint32_t last = 1;
  uint16_t made[4] = {0};
  for (int i = 0; i < 4; i++)
    rows[i] = (uint16_t *)(void *)(to->data[i] + (ptrdiff_t)y * to->linesize[i]);
  for (int x = 0; x < pixels->width; x++, from += 4) {
    uint32_t pixel;
    memcpy(&pixel, from, 4);
    if (pixel != last) {
      uint32_t straight = straight_of(pixels, pixel);
      made[0] = (uint16_t)mix(&pixels->y, straight);
      made[1] = (uint16_t)mix(&pixels->cb, straight);
      made[2] = (uint16_t)mix(&pixels->cr, straight);
      made[3] = (uint16_t)(((pixel >> 24) * 1023 + 127) / 255);
      last = pixel;
    }
    for (int i = 0; i < 4; i++) rows[i][x] = made[i];
  }
}

/* ---- frames ---- */

bool be_av_pixels_changed(struct be_av_pixels *pixels, const unsigned char *from, size_t stride,
                          int first, int past)
{
  size_t row = (size_t)pixels->width * 4;
  bool changed = false;
  for (int y = first; y < past; y++) {
    const unsigned char *now = from + (size_t)y * stride;
    unsigned char *last = pixels->last + (size_t)y * row;
    if (pixels->any && memcmp(now, last, row) == 0) continue;
    memcpy(last, now, row);
    changed = true;
  }
  return changed;
}

void be_av_pixels_into(struct be_av_pixels *pixels, const unsigned char *from, size_t stride,
                       AVFrame *to)
{
  int step = pixels->made == AV_PIX_FMT_ARGB ? 1 : 2;
  for (int y = 0; y < pixels->height; y += step) {
    const unsigned char *row = from + (size_t)y * stride;
    if (!be_av_pixels_changed(pixels, from, stride, y, y + step)) continue;
    if (step == 1) {
      row_into_argb(pixels, row, to->data[0] + (ptrdiff_t)y * to->linesize[0]);
      continue;
    }
    for (int i = 0; i < 2; i++)
      row_of_light(pixels, row + (size_t)i * stride,
                   to->data[0] + (ptrdiff_t)(y + i) * to->linesize[0],
                   pixels->straight ? to->data[3] + (ptrdiff_t)(y + i) * to->linesize[3] : NULL);
    row_of_colour(pixels, row, row + stride, to->data[1] + (ptrdiff_t)(y / 2) * to->linesize[1],
                  to->data[2] + (ptrdiff_t)(y / 2) * to->linesize[2]);
  }
  pixels->any = true;
}

void be_av_pixels_band(struct be_av_pixels *pixels, const unsigned char *from, size_t stride,
                       int first, AVFrame *to)
{
  for (int i = 0; i < to->height; i++) {
    int y = first + i < pixels->height ? first + i : pixels->height - 1;
    row_into_deep(pixels, from + (size_t)y * stride, to, i);
  }
}

void be_av_pixels_done(struct be_av_pixels *pixels)
{
  pixels->any = true;
}

void be_av_pixels_free(struct be_av_pixels *pixels)
{
  if (!pixels) return;
  be_free(pixels->last);
  be_free(pixels);
}
