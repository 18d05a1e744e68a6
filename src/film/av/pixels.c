/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cairo's pixels, multiplied by alpha, into those of a coder: straight alpha, and the colours of
 * video (ITU-R BT.709, its narrow range). */
#include "film/av/inside.h"

#include <libswscale/swscale.h>
#include <string.h>

struct be_av_pixels {
  int width, height;
  enum AVPixelFormat made;
  unsigned char *straight; /* a row of them, or the frame where the scaler wants it whole */
  struct SwsContext *scaler;
  uint32_t inverse[256]; /* 255 / alpha, 16 bits behind the point */
};

enum be_status be_av_pixels_create(int width, int height, enum AVPixelFormat made,
                                   struct be_av_pixels **out, struct be_err *err)
{
  struct be_av_pixels *pixels = be_alloc_array(1, sizeof *pixels);
  if (!pixels) return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  *pixels = (struct be_av_pixels){.width = width, .height = height, .made = made};
  for (uint32_t i = 1; i < 256; i++) pixels->inverse[i] = ((255u << 16) + i / 2) / i;
  *out = pixels;
  if (made == AV_PIX_FMT_ARGB) return BE_OK;
  pixels->straight = be_alloc_array((size_t)width * (size_t)height, 4);
  pixels->scaler = sws_getContext(width, height, AV_PIX_FMT_BGRA, width, height, made,
                                  SWS_BILINEAR | SWS_ACCURATE_RND | SWS_BITEXACT, NULL, NULL, NULL);
  if (!pixels->straight || !pixels->scaler)
    return be_fail(err, BE_NO_MEMORY, "no memory for the film");
  const int *video = sws_getCoefficients(SWS_CS_ITU709);
  sws_setColorspaceDetails(pixels->scaler, sws_getCoefficients(SWS_CS_DEFAULT), 1, video, 0, 0,
                           1 << 16, 1 << 16);
  return BE_OK;
}

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

static void row_into_bgra(const struct be_av_pixels *pixels, const unsigned char *from,
                          unsigned char *to)
{
  uint32_t last = 0, made = 0;
  for (int x = 0; x < pixels->width; x++, from += 4, to += 4) {
    uint32_t pixel;
    memcpy(&pixel, from, 4);
    if (pixel != last) made = straight_of(pixels, pixel);
    last = pixel;
    memcpy(to, &made, 4);
  }
}

enum be_status be_av_pixels_into(struct be_av_pixels *pixels, const unsigned char *from,
                                 size_t stride, AVFrame *to, struct be_err *err)
{
  bool direct = !pixels->straight;
  for (int y = 0; y < pixels->height; y++) {
    if (direct) row_into_argb(pixels, from + (size_t)y * stride, to->data[0] + y * to->linesize[0]);
    else
      row_into_bgra(pixels, from + (size_t)y * stride,
                    pixels->straight + (size_t)y * (size_t)pixels->width * 4);
  }
  if (direct) return BE_OK;
  const uint8_t *rows[4] = {pixels->straight};
  const int steps[4] = {pixels->width * 4};
  int code = sws_scale(pixels->scaler, rows, steps, 0, pixels->height, to->data, to->linesize);
  return code < 0 ? be_av_failed(err, BE_FAILED, code, NULL, "a frame cannot be converted") : BE_OK;
}

void be_av_pixels_free(struct be_av_pixels *pixels)
{
  if (!pixels) return;
  sws_freeContext(pixels->scaler);
  be_free(pixels->straight);
  be_free(pixels);
}
