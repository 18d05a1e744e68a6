/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawings are written down as SVG at once, as they hold nothing that moves when more comes. */
#include "chart/inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { TEXT_MOST = 1 << 20, SHAPES_MOST = 1 << 25, PAD = 16 };

struct be_drawing *be_drawing_create(const char *title, const char *subtitle, double width,
                                     double height)
{
  assert(title && width > 0 && height > 0);
  struct be_drawing *drawing = be_alloc_array(1, sizeof *drawing);
  if (!drawing) return NULL;
  be_buf_init(&drawing->title, TEXT_MOST);
  be_buf_init(&drawing->subtitle, TEXT_MOST);
  be_buf_init(&drawing->words, TEXT_MOST);
  be_buf_init(&drawing->shapes, SHAPES_MOST);
  be_buf_text(&drawing->title, title);
  be_buf_text(&drawing->subtitle, subtitle ? subtitle : "");
  be_buf_text(&drawing->words, "");
  be_buf_text(&drawing->shapes, "");
  drawing->width = width;
  drawing->height = height;
  return drawing;
}

void be_drawing_free(struct be_drawing *drawing)
{
  if (!drawing) return;
  be_buf_free(&drawing->title);
  be_buf_free(&drawing->subtitle);
  be_buf_free(&drawing->words);
  be_buf_free(&drawing->shapes);
  be_free(drawing);
}

void be_drawing_twin(struct be_drawing *drawing, const char *format, ...)
{
  if (!drawing) return;
  va_list list;
  va_start(list, format);
  be_buf_format_list(&drawing->words, format, list);
  va_end(list);
}

void be_svg_points(struct be_buf *svg, const double *x, const double *y, size_t count,
                   double longer)
{
  for (size_t i = 0; i < count; i++) {
    double px = x[i], py = y[i];
    if (longer > 0 && (i == 0 || i + 1 == count)) {
      size_t other = i == 0 ? 1 : i - 1;
      double dx = x[i] - x[other], dy = y[i] - y[other], length = hypot(dx, dy);
      px += length > 0 ? longer * dx / length : 0;
      py += length > 0 ? longer * dy / length : 0;
    }
    be_buf_format(svg, "%c%.2f %.2f", i == 0 ? 'M' : 'L', px, py);
  }
}

/* ---- strokes and texts ---- */

static void stroke(struct be_buf *svg, const double *x, const double *y, size_t count, double width,
                   const char *tone)
{
  be_buf_text(svg, "<path d=\"");
  be_svg_points(svg, x, y, count, 0);
  be_buf_format(svg,
                "\" class=\"stroke-%s\" fill=\"none\" stroke-width=\"%.2f\" "
                "stroke-linejoin=\"round\"/>\n",
                tone, width);
}

/* A head of three widths' length and half as much again in width; the shaft ends inside. */
void be_drawing_stroke(struct be_drawing *drawing, const double *x, const double *y, size_t count,
                       double width, enum be_tone tone, bool head)
{
  assert(count >= 2);
  if (!drawing) return;
  struct be_buf *svg = &drawing->shapes;
  stroke(svg, x, y, count, width, be_tone_name(tone));
  if (!head) return;
  double dx = x[count - 1] - x[count - 2], dy = y[count - 1] - y[count - 2];
  double length = hypot(dx, dy), long_ = 5 * width, half = 2 * width;
  if (!(length > 0)) return;
  dx /= length;
  dy /= length;
  double tip_x = x[count - 1] + long_ * dx, tip_y = y[count - 1] + long_ * dy;
  double root_x = x[count - 1] - 0.2 * dx, root_y = y[count - 1] - 0.2 * dy;
  be_buf_format(svg,
                "<path d=\"M%.2f %.2fL%.2f %.2fL%.2f %.2fz\" class=\"fill-%s stroke-%s\" "
                "stroke-width=\"%.2f\" stroke-linejoin=\"round\"/>\n",
                tip_x, tip_y, root_x - half * dy, root_y + half * dx, root_x + half * dy,
                root_y - half * dx, be_tone_name(tone), be_tone_name(tone), width / 2);
}

void be_drawing_rub_out(struct be_drawing *drawing, const double *x, const double *y, size_t count,
                        double width)
{
  assert(count >= 2);
  if (drawing) stroke(&drawing->shapes, x, y, count, width, "paper");
}

void be_drawing_text(struct be_drawing *drawing, double x, double y, double size, const char *text,
                     enum be_anchor anchor, enum be_tone tone, bool halo)
{
  static const char *const anchors[] = {NULL, "middle", "end"};
  if (!drawing) return;
  const struct pen pen = {NULL, NULL, &drawing->shapes};
  const struct lettering lettering = {size, tone, anchors[anchor], false, halo};
  be_svg_text(&pen, x, y, &lettering, text, strlen(text));
}

/* ---- drawings in drawings ---- */

double be_drawing_width(const struct be_drawing *drawing)
{
  return drawing ? drawing->width : 0;
}

double be_drawing_height(const struct be_drawing *drawing)
{
  return drawing ? drawing->height : 0;
}

void be_drawing_put(struct be_drawing *drawing, const struct be_drawing *other, double x, double y,
                    double scale)
{
  if (!drawing) return;
  struct be_buf *svg = &drawing->shapes;
  if (svg->status == BE_OK) svg->status = other ? other->shapes.status : BE_NO_MEMORY;
  if (svg->status != BE_OK) return;
  be_buf_format(svg, "<g transform=\"translate(%.2f %.2f) scale(%.4f)\">\n", x, y, scale);
  be_buf_add(svg, other->shapes.data, other->shapes.size);
  be_buf_text(svg, "</g>\n");
}

/* ---- the whole ---- */

enum be_status be_drawing_status(const struct be_drawing *drawing)
{
  if (!drawing) return BE_NO_MEMORY;
  const struct be_buf *const parts[] = {&drawing->title, &drawing->subtitle, &drawing->words,
                                        &drawing->shapes};
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
    if (parts[i]->status != BE_OK) return parts[i]->status;
  return BE_OK;
}

const char *be_drawing_title(const struct be_drawing *drawing)
{
  return drawing->title.data;
}

const char *be_drawing_subtitle(const struct be_drawing *drawing)
{
  return drawing->subtitle.data;
}

const char *be_drawing_words(const struct be_drawing *drawing)
{
  return drawing->words.data;
}

/* Lines of a text of a size, written where there is a pen; returns where they end. */
static double lines(const struct pen *pen, const char *text, const struct lettering *lettering,
                    double width, double y)
{
  size_t skip;
  for (; *text; text += skip, y += lettering->size + 8) {
    size_t length =
        be_text_line(text, lettering->size, lettering->bold ? width / BE_BOLD : width, &skip);
    if (pen) be_svg_text(pen, PAD, y + lettering->size, lettering, text, length);
  }
  return y;
}

static double heads(const struct be_drawing *drawing, const struct pen *pen)
{
  const struct lettering title = {TITLE_TEXT, BE_TONE_INK, NULL, true, false};
  const struct lettering subtitle = {NAME_TEXT, BE_TONE_MUTED, NULL, false, false};
  double width = drawing->width - 2 * PAD;
  double y = lines(pen, drawing->title.data, &title, width, PAD);
  return lines(pen, drawing->subtitle.data, &subtitle, width, y);
}

static enum be_status may_write(const struct be_drawing *drawing, struct be_err *err)
{
  enum be_status status = be_drawing_status(drawing);
  if (status == BE_OK) return BE_OK;
  return be_fail(err, status,
                 status == BE_NO_MEMORY ? "no memory for a drawing"
                                        : "a drawing has too many parts");
}

enum be_status be_drawing_clear_svg(const struct be_drawing *drawing, bool dark, struct be_buf *svg,
                                    struct be_err *err)
{
  enum be_status status = may_write(drawing, err);
  if (status != BE_OK) return status;
  be_svg_open(svg, " drawing", drawing->width, drawing->height, 1, 1, drawing->title.data,
              drawing->words.data);
  be_svg_style(svg, dark ? BE_DRAWN_DARK : BE_DRAWN_LIGHT);
  be_buf_add(svg, drawing->shapes.data, drawing->shapes.size);
  be_buf_text(svg, "</svg>\n");
  return be_buf_status(svg, err);
}

enum be_status be_drawing_svg(const struct be_drawing *drawing, enum be_drawn how, unsigned number,
                              struct be_buf *svg, struct be_err *err)
{
  enum be_status status = may_write(drawing, err);
  if (status != BE_OK) return status;
  bool file = how != BE_DRAWN_INLINE;
  double top = file ? heads(drawing, NULL) : 0;
  be_svg_open(svg, " drawing", drawing->width, ceil(drawing->height + top), 1, number,
              drawing->title.data, drawing->words.data);
  if (file) {
    be_svg_ground(svg, how);
    const struct pen pen = {NULL, NULL, svg};
    heads(drawing, &pen);
    be_buf_format(svg, "<g transform=\"translate(0 %.0f)\">\n", top);
  }
  be_buf_add(svg, drawing->shapes.data, drawing->shapes.size);
  be_buf_text(svg, file ? "</g>\n</svg>\n" : "</svg>\n");
  return be_buf_status(svg, err);
}
