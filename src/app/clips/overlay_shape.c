/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the overlay stands: in the lower part of a wide frame; in a tall one names above and load
 * below. All of it lies 5 % inside the frame, no text is smaller than
 * be_frame_text(). */
#include "app/clips/overlay.h"

#include "app/clips/paint.h"

#include <math.h>
#include <stdio.h>

static const double margin = 0.05, line = 1.25, pad = 0.75;

void be_overlay_words(const struct overlay *overlay, double force_N, char words[LOAD_BYTES])
{
  double value = force_N / overlay->unit->factor;
  double half = 0.5 * pow(10, -overlay->decimals);
  snprintf(words, LOAD_BYTES, "%.*f %s", overlay->decimals, fabs(value) < half ? 0.0 : value,
           overlay->unit->name);
}

double be_tick_step(double high, double most)
{
  double power = pow(10, floor(log10(high / most)));
  for (int i = 0; i < 4; i++) {
    double step = (double[]){1, 2, 5, 10}[i] * power;
    if (high / step <= most) return step;
  }
  return 10 * power;
}

static size_t count_lines(cairo_t *scratch, const char *text, double size, bool bold, double wide,
                          size_t most)
{
  char lines[LINES_MAX][LINE_BYTES];
  const struct lettering how = {size, bold, HOLD_LEFT};
  size_t count = be_paint_lines(scratch, text, &how, wide, most, lines);
  return count ? count : 1;
}

static void lay_out_wide(cairo_t *scratch, struct overlay *overlay)
{
  struct overlay_shape *s = &overlay->shape;
  double u = s->unit, frame = overlay->width, high = overlay->height;
  struct box *plate = &s->plates[0];
  s->plates_count = 1;
  s->left = margin * frame + pad * u;
  s->wide = (1 - 2 * margin) * frame - 2 * pad * u;
  s->below_wide = 0.36 * s->wide;
  s->below_lines = count_lines(scratch, overlay->let_go, u, true, s->below_wide, 2);
  s->number = 2.8 * u;
  s->number_wide = s->below_wide;
  s->knot_lines = s->lines_lines = s->code_lines = 1;
  s->code_wide = 0.4 * s->wide;
  double body = (1.2 + 2.6 + 0.2 + 2 * line) * u;
  plate->high = (2 * pad + 1.15 + line) * u + body + 0.7 * u;
  *plate = (struct box){margin * frame, (1 - margin) * high - plate->high, (1 - 2 * margin) * frame,
                        plate->high};
  s->knot_y = plate->y + (pad + 0.95) * u;
  s->code_y = s->knot_y;
  s->lines_y = s->knot_y + line * u;
  s->label_y = s->lines_y + 1.9 * u;
  s->number_y = s->label_y + 2.6 * u;
  s->below_y = s->number_y + 1.45 * u;
  double plot_x = s->left + s->below_wide + u;
  s->plot = (struct box){plot_x, s->lines_y + 0.5 * u, s->left + s->wide - plot_x, 0};
  s->plot.high = plate->y + plate->high - (pad + 1.1) * u - s->plot.y;
}

/* Beside the label of the number, or above it. */
static void place_code(cairo_t *scratch, struct overlay *overlay)
{
  struct overlay_shape *s = &overlay->shape;
  char lines[2][LINE_BYTES];
  const struct lettering small = {s->unit, false, HOLD_LEFT};
  double label = fmax(be_paint_wide(scratch, overlay->peak_word, &small),
                      be_paint_wide(scratch, BE_OVERLAY_LOAD, &small));
  if (!isnan(overlay->trace_peak_N)) label = s->wide; /* it says both */
  s->code_wide = s->wide - label - s->unit;
  s->code_lines = 1;
  s->code_apart = be_paint_wide(scratch, overlay->code, &small) > s->code_wide;
  if (!s->code_apart) return;
  s->code_wide = s->wide;
  s->code_lines = be_paint_code(scratch, overlay->code, &small, s->wide, lines);
}

static void lay_out_tall(cairo_t *scratch, struct overlay *overlay)
{
  struct overlay_shape *s = &overlay->shape;
  double u = s->unit, frame = overlay->width, high = overlay->height;
  struct box *top = &s->plates[0], *foot = &s->plates[1];
  s->plates_count = 2;
  s->left = margin * frame + pad * u;
  s->wide = (1 - 2 * margin) * frame - 2 * pad * u;
  s->number_wide = s->below_wide = s->wide;
  s->knot_lines = count_lines(scratch, overlay->knot, 1.05 * u, true, s->wide, 2);
  s->lines_lines = count_lines(scratch, overlay->lines, u, false, s->wide, 3);
  s->below_lines = count_lines(scratch, overlay->let_go, u, true, s->wide, 2);
  s->number = 2.4 * u;
  place_code(scratch, overlay);
  top->high = (2 * pad + 0.05 + line * (double)(s->knot_lines + s->lines_lines)) * u;
  *top = (struct box){margin * frame, margin * high, (1 - 2 * margin) * frame, top->high};
  s->knot_y = top->y + (pad + 0.9) * u;
  s->lines_y = s->knot_y + line * 1.05 * u * (double)s->knot_lines;
  double body = (1.0 + 2.4 + 0.3 + line * (double)s->below_lines + 0.5 + 4.2 + 1.1) * u;
  if (s->code_apart) body += line * u * (double)s->code_lines;
  foot->high = body + 2 * pad * u;
  *foot = (struct box){top->x, (1 - margin) * high - foot->high, top->wide, foot->high};
  s->label_y = s->code_y = foot->y + (pad + 0.9) * u;
  if (s->code_apart) s->label_y += line * u * (double)s->code_lines;
  s->number_y = s->label_y + 2.4 * u;
  s->below_y = s->number_y + 1.45 * u;
  double plot_y = s->below_y + line * u * (double)(s->below_lines - 1) + 0.7 * u;
  s->plot = (struct box){s->left, plot_y, s->wide, 0};
  s->plot.high = foot->y + foot->high - (pad + 1.1) * u - plot_y;
}

/* Room for the names of the ticks left of the plot. */
static void make_room(cairo_t *scratch, struct overlay *overlay)
{
  struct box *plot = &overlay->shape.plot;
  char words[LOAD_BYTES];
  const struct lettering how = {overlay->shape.unit, false, HOLD_LEFT};
  double top = overlay->high_N / overlay->unit->factor, step = be_tick_step(top, 3.5);
  double wide = 0;
  for (int i = 1; i * step <= top; i++) {
    snprintf(words, sizeof words, "%g", i * step);
    wide = fmax(wide, be_paint_wide(scratch, words, &how));
  }
  wide += 0.4 * overlay->shape.unit;
  plot->x += wide;
  plot->wide -= wide;
}

enum be_status be_overlay_lay_out(struct overlay *overlay, struct be_err *err)
{
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, 1, 1);
  cairo_t *scratch = cairo_create(surface);
  overlay->shape.unit = ceil(be_frame_text(overlay->height));
  if (overlay->height > overlay->width) lay_out_tall(scratch, overlay);
  else lay_out_wide(scratch, overlay);
  make_room(scratch, overlay);
  bool drawn = cairo_status(scratch) == CAIRO_STATUS_SUCCESS;
  cairo_destroy(scratch);
  cairo_surface_destroy(surface);
  return drawn ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a frame of the clip");
}
