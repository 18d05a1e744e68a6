/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pictures compared as an eye would: both are blurred over five by five pixels, so that letters and
 * edges that another renderer sets a little otherwise agree, and compared by their CIE 1976 colour
 * difference (CIE 15; sRGB by IEC 61966-2-1, both from memory). What counts is the worst tile of
 * eight by eight pixels: a change that fills a corner of a figure is not lost in its paper. */
#ifndef BE_TEST_GOLDEN_H
#define BE_TEST_GOLDEN_H

#include "test.h"

#include <cairo.h>

enum { GOLDEN_BLUR = 2, GOLDEN_TILE = 8 };

/* Differences of some 2.3 are just noticeable (Mahy, Van Eycken and Oosterlinck, Color Research and
 * Application 19, 1994; from memory). A line set half a pixel aside makes 2.3 of a tile (the last
 * test), and the least of the planted changes makes 9. */
static const double golden_most = 5;

struct golden_lab {
  double l, a, b;
};

static inline double golden_linear(double part)
{
  return part <= 0.04045 ? part / 12.92 : pow((part + 0.055) / 1.055, 2.4);
}

static inline double golden_root(double t)
{
  return t > 216.0 / 24389 ? cbrt(t) : (24389.0 / 27 * t + 16) / 116;
}

/* On white, as far as it is clear. */
static inline struct golden_lab golden_lab_of(const double rgb[3])
{
  double r = golden_linear(rgb[0]), g = golden_linear(rgb[1]), b = golden_linear(rgb[2]);
  double x = golden_root((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
  double y = golden_root(0.2126 * r + 0.7152 * g + 0.0722 * b);
  double z = golden_root((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
  return (struct golden_lab){116 * y - 16, 500 * (x - y), 200 * (y - z)};
}

static inline uint32_t golden_pixel(cairo_surface_t *surface, int x, int y)
{
  uint32_t value;
  memcpy(&value,
         cairo_image_surface_get_data(surface) + y * cairo_image_surface_get_stride(surface) +
             4 * x,
         4);
  return value;
}

static inline struct golden_lab golden_blurred(cairo_surface_t *surface, int x, int y)
{
  double rgb[3] = {0, 0, 0}, n = 0;
  int width = cairo_image_surface_get_width(surface);
  int height = cairo_image_surface_get_height(surface);
  bool alpha = cairo_image_surface_get_format(surface) == CAIRO_FORMAT_ARGB32;
  for (int v = y - GOLDEN_BLUR; v <= y + GOLDEN_BLUR; v++)
    for (int u = x - GOLDEN_BLUR; u <= x + GOLDEN_BLUR; u++) {
      if (u < 0 || v < 0 || u >= width || v >= height) continue;
      uint32_t pixel = golden_pixel(surface, u, v);
      double white = alpha ? 1 - (pixel >> 24) / 255.0 : 0;
      for (unsigned i = 0; i < 3; i++) rgb[i] += (pixel >> (16 - 8 * i) & 0xFF) / 255.0 + white;
      n++;
    }
  for (int i = 0; i < 3; i++) rgb[i] = rgb[i] / n > 1 ? 1 : rgb[i] / n;
  return golden_lab_of(rgb);
}

/* The mean difference of the worst tile; infinite for pictures of different sizes. */
static inline double golden_difference(cairo_surface_t *a, cairo_surface_t *b)
{
  int width = cairo_image_surface_get_width(a), height = cairo_image_surface_get_height(a);
  double worst = 0;
  if (width != cairo_image_surface_get_width(b) || height != cairo_image_surface_get_height(b))
    return INFINITY;
  for (int top = 0; top < height; top += GOLDEN_TILE)
    for (int left = 0; left < width; left += GOLDEN_TILE) {
      double sum = 0, n = 0;
      for (int y = top; y < top + GOLDEN_TILE && y < height; y++)
        for (int x = left; x < left + GOLDEN_TILE && x < width; x++, n++) {
          struct golden_lab p = golden_blurred(a, x, y), q = golden_blurred(b, x, y);
          sum += sqrt((p.l - q.l) * (p.l - q.l) + (p.a - q.a) * (p.a - q.a) +
                      (p.b - q.b) * (p.b - q.b));
        }
      if (sum / n > worst) worst = sum / n;
    }
  return worst;
}

#endif
