/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tubes: paper beside them, a darker rim, the tone, a soft light along the middle, and the texture.
 * Rim and light are the same on light and dark paper. */
#include "chart/inside.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

/* How far tone and texture reach over the joint with the next part, and how far the rim does, px.
 */
static const double overlap = 1.2, rim_overlap = 0.4;

static void layer(struct be_buf *svg, const struct be_buf *path, const char *paint, double width,
                  const char *more)
{
  be_buf_text(svg, "<path d=\"");
  be_buf_add(svg, path->data, path->size);
  be_buf_format(svg, "\" %s fill=\"none\" stroke-width=\"%.2f\" stroke-linejoin=\"round\"%s/>\n",
                paint, width, more);
}

static void toned(struct be_buf *svg, const struct be_buf *path, const char *tone, double width)
{
  char paint[40];
  snprintf(paint, sizeof paint, "class=\"stroke-%s\"", tone);
  layer(svg, path, paint, width, "");
}

/* ---- places along a tube ---- */

static double *lengths(const struct be_tube *tube)
{
  double *along = be_alloc_array(tube->count, sizeof *along);
  for (size_t i = 1; along && i < tube->count; i++)
    along[i] = along[i - 1] + hypot(tube->x[i] - tube->x[i - 1], tube->y[i] - tube->y[i - 1]);
  return along;
}

/* So far along it, and aside to the right of its run. */
static void place(const struct be_tube *tube, const double *along, double at, double aside,
                  double *x, double *y)
{
  size_t low = 0, high = tube->count - 1;
  while (high - low > 1) {
    size_t middle = (low + high) / 2;
    if (along[middle] <= at) low = middle;
    else high = middle;
  }
  double length = along[high] - along[low], norm = length > 0 ? length : 1;
  double dx = tube->x[high] - tube->x[low], dy = tube->y[high] - tube->y[low];
  double share = (at - along[low]) / norm;
  *x = tube->x[low] + share * dx - aside * dy / norm;
  *y = tube->y[low] + share * dy + aside * dx / norm;
}

/* The paper beside it. */
static void gap(struct be_buf *svg, const struct be_tube *tube, const double *along)
{
  double from = tube->whole[0], to = along[tube->count - 1] - tube->whole[1], x, y;
  if (!(tube->gap > 0) || !(from < to)) return;
  be_buf_text(svg, "<path d=\"");
  place(tube, along, from, 0, &x, &y);
  be_buf_format(svg, "M%.2f %.2f", x, y);
  for (size_t i = 0; i < tube->count; i++)
    if (along[i] > from && along[i] < to) be_buf_format(svg, "L%.2f %.2f", tube->x[i], tube->y[i]);
  place(tube, along, to, 0, &x, &y);
  be_buf_format(svg,
                "L%.2f %.2f\" class=\"stroke-paper\" fill=\"none\" stroke-width=\"%.2f\" "
                "stroke-linejoin=\"round\"/>\n",
                x, y, tube->width + 2 * tube->gap);
}

/* ---- textures ---- */

/* One thread of the twill: slanting from one side to the other, in an S; cut off where the tube
 * ends. */
static void thread(struct be_buf *svg, const struct be_tube *tube, const double *along,
                   double middle)
{
  enum { PARTS = 10 };
  const double half = 0.42 * tube->width, quarter = 1.5707963267948966;
  double end = along[tube->count - 1] + overlap;
  double low = fmax(-1, (-overlap - middle) / half), high = fmin(1, (end - middle) / half);
  if (!(low < high)) return;
  low = asin(low) / quarter;
  high = asin(high) / quarter;
  for (int i = 0; i <= PARTS; i++) {
    double u = low + (high - low) * i / PARTS, x, y;
    place(tube, along, middle + half * sin(u * quarter), u * 0.4 * tube->width, &x, &y);
    be_buf_format(svg, "%c%.2f %.2f", i ? 'L' : 'M', x, y);
  }
}

/* Threads in pairs: the two strands. */
static void twill(struct be_buf *svg, const struct be_tube *tube, const double *along)
{
  const double pitch = 0.92 * tube->width, pair = 0.3 * tube->width, half = 0.42 * tube->width;
  be_buf_text(svg, "<path d=\"");
  for (double k = floor((tube->start - half - pair) / pitch);; k++) {
    double middle = k * pitch - tube->start;
    if (middle - half > along[tube->count - 1]) break;
    thread(svg, tube, along, middle);
    thread(svg, tube, along, middle + pair);
  }
  be_buf_format(svg, "\" class=\"stroke-paper\" fill=\"none\" stroke-width=\"%.2f\"/>\n",
                0.1 * tube->width);
}

static void dashes(struct be_buf *svg, const struct be_buf *path, const struct be_tube *tube)
{
  char more[120];
  double dash = 1.3 * tube->width, apart = 0.6 * tube->width;
  snprintf(more, sizeof more, " stroke-dasharray=\"%.2f %.2f\" stroke-dashoffset=\"%.2f\"", dash,
           apart, fmod(tube->start - overlap + dash + apart, dash + apart));
  layer(svg, path, "class=\"stroke-paper\"", 0.16 * tube->width, more);
}

/* ---- the tube ---- */

/* All reaches over the joints, the tone inside farthest, so that neither paper nor rim shows
 * there. The rim is black seen through the tone. */
static void body(struct be_buf *svg, const struct be_buf *path, const struct be_buf *longer,
                 const struct be_tube *tube)
{
  const char *tone = be_tone_name(tube->tone);
  double w = tube->width, rim = fmin(0.12 * w, fmax(1, 0.06 * w));
  char paint[60];
  switch (tube->texture) {
  case BE_TEXTURE_FAINT:
    toned(svg, path, "hairline", w);
    toned(svg, longer, "paper", w - 2);
    return;
  case BE_TEXTURE_METAL:
    toned(svg, path, "ink", w);
    toned(svg, longer, "hairline", w - fmax(2.4, 2 * rim));
    break;
  case BE_TEXTURE_SOLID:
  case BE_TEXTURE_TWILL:
  case BE_TEXTURE_DASH:
    snprintf(paint, sizeof paint, "class=\"stroke-%s\" stroke-opacity=\".6\"", tone);
    layer(svg, path, "stroke=\"#000\"", w, "");
    layer(svg, path, paint, w, "");
    toned(svg, longer, tone, w - 2 * rim);
    break;
  }
  layer(svg, longer, "stroke=\"#fff\" stroke-opacity=\".08\"", 0.62 * w, "");
  layer(svg, longer, "stroke=\"#fff\" stroke-opacity=\".08\"", 0.4 * w, "");
  layer(svg, longer, "stroke=\"#fff\" stroke-opacity=\".08\"", 0.18 * w, "");
}

void be_drawing_tube(struct be_drawing *drawing, const struct be_tube *tube)
{
  assert(tube->count >= 2 && tube->width > 0);
  if (!drawing) return;
  struct be_buf *svg = &drawing->shapes, path, longer;
  double *along = lengths(tube);
  enum be_status status = along ? BE_OK : BE_NO_MEMORY;
  be_buf_init(&path, svg->ceiling);
  be_buf_init(&longer, svg->ceiling);
  be_svg_points(&path, tube->x, tube->y, tube->count, rim_overlap);
  be_svg_points(&longer, tube->x, tube->y, tube->count, overlap);
  if (status == BE_OK) status = path.status != BE_OK ? path.status : longer.status;
  if (status == BE_OK) {
    gap(svg, tube, along);
    body(svg, &path, &longer, tube);
    if (tube->texture == BE_TEXTURE_DASH) dashes(svg, &longer, tube);
    if (tube->texture == BE_TEXTURE_TWILL) twill(svg, tube, along);
  }
  if (svg->status == BE_OK) svg->status = status;
  be_free(along);
  be_buf_free(&path);
  be_buf_free(&longer);
}
