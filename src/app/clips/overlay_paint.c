/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The overlay as it is drawn: names and axes once, the line as it grows, then the number. */
#include "app/clips/overlay.h"

#include "app/clips/paint.h"

#include <math.h>
#include <stdio.h>

/* Over white footage the muted texts still have 4.5 : 1 (WCAG 2 formula). */
static const double plate_alpha = 0.9;

static double x_of(const struct overlay *overlay, double at_s)
{
  const struct box *plot = &overlay->shape.plot;
  return plot->x + at_s / overlay->lasts_s * plot->wide;
}

static double y_of(const struct overlay *overlay, double force_N)
{
  const struct box *plot = &overlay->shape.plot;
  double top = overlay->high_N * 1.06, low = overlay->low_N;
  return plot->y + plot->high - (force_N - low) / (top - low) * plot->high;
}

/* ---- once ---- */

static void draw_plates(const struct overlay *overlay, cairo_t *to)
{
  for (size_t i = 0; i < overlay->shape.plates_count; i++) {
    const struct box *plate = &overlay->shape.plates[i];
    be_rounded(to, plate->x, plate->y, plate->wide, plate->high, 0.3 * overlay->shape.unit);
    be_paint(to, PAINT_PAPER, true, plate_alpha);
    cairo_fill(to);
  }
}

static void draw_names(const struct overlay *overlay, cairo_t *to)
{
  const struct overlay_shape *s = &overlay->shape;
  bool tall = s->plates_count == 2;
  const struct lettering code = {s->unit, false, HOLD_RIGHT}, lines = {s->unit, false, HOLD_LEFT};
  const struct lettering knot = {(tall ? 1.05 : 1.15) * s->unit, true, HOLD_LEFT};
  char said[2][LINE_BYTES];
  if (s->code_apart) be_paint_code(to, overlay->code, &lines, s->code_wide, said);
  else be_paint_short(to, overlay->code, &code, s->code_wide, said[0]);
  double code_wide = be_paint_wide(to, said[0], &code) + s->unit;
  be_paint(to, PAINT_INK, true, 1);
  be_paint_block(to, s->left, s->knot_y, overlay->knot, &knot, s->wide - (tall ? 0 : code_wide),
                 s->knot_lines);
  be_paint(to, PAINT_MUTED, true, 1);
  be_paint_block(to, s->left, s->lines_y, overlay->lines, &lines, s->wide, s->lines_lines);
  if (!s->code_apart) be_paint_text(to, s->left + s->wide, s->code_y, said[0], &code);
  for (size_t i = 0; s->code_apart && i < s->code_lines; i++)
    be_paint_text(to, s->left, s->code_y + 1.25 * s->unit * (double)i, said[i], &lines);
}

static void rule(cairo_t *to, double x1, double y1, double x2, double y2, double wide)
{
  cairo_set_line_width(to, wide);
  cairo_move_to(to, x1, y1);
  cairo_line_to(to, x2, y2);
  cairo_stroke(to);
}

static void draw_axes(const struct overlay *overlay, cairo_t *to)
{
  const struct overlay_shape *s = &overlay->shape;
  const struct box *plot = &s->plot;
  const struct lettering side = {s->unit, false, HOLD_RIGHT}, foot = {s->unit, false, HOLD_MIDDLE};
  double hair = fmax(1, s->unit / 18), top = overlay->high_N / overlay->unit->factor;
  double step = be_tick_step(top, 3.5);
  char words[LOAD_BYTES];
  for (int i = 0; i * step <= top; i++) {
    double tick = i * step;
    double y = y_of(overlay, tick * overlay->unit->factor);
    be_paint(to, tick > 0 ? PAINT_HAIRLINE : PAINT_MUTED, true, 1);
    rule(to, plot->x, y, plot->x + plot->wide, y, hair);
    snprintf(words, sizeof words, "%g", tick);
    be_paint(to, PAINT_MUTED, true, 1);
    if (tick > 0) be_paint_text(to, plot->x - 0.4 * s->unit, y + 0.36 * s->unit, words, &side);
  }
  double lasts_s = overlay->lasts_s - overlay->rises_s;
  double most = plot->wide / (3.5 * s->unit), time_step = be_tick_step(lasts_s, fmax(most, 1));
  for (int i = 0; i * time_step <= lasts_s; i++) {
    double tick = i * time_step;
    double x = x_of(overlay, overlay->rises_s + tick);
    snprintf(words, sizeof words, "%g s", tick);
    double half = be_paint_wide(to, words, &foot) / 2;
    if (x + half <= plot->x + plot->wide)
      be_paint_text(to, x, plot->y + plot->high + 1.1 * s->unit, words, &foot);
    rule(to, x, y_of(overlay, 0), x, y_of(overlay, 0) + 0.2 * s->unit, hair);
  }
}

static void start(const void *scene, struct easel *easel)
{
  const struct overlay *overlay = scene;
  draw_plates(overlay, easel->ground);
  draw_names(overlay, easel->ground);
  draw_axes(overlay, easel->ground);
}

/* ---- as it goes ---- */

static void stroke_line(const struct overlay *overlay, cairo_t *to, struct dot from,
                        struct dot past)
{
  be_paint_tone(to, overlay->tone, true);
  cairo_set_line_cap(to, CAIRO_LINE_CAP_ROUND);
  cairo_set_line_width(to, fmax(1.5, overlay->shape.unit / 8));
  cairo_move_to(to, x_of(overlay, from.at_s), y_of(overlay, from.force_N));
  cairo_line_to(to, x_of(overlay, past.at_s), y_of(overlay, past.force_N));
  cairo_stroke(to);
  cairo_set_line_cap(to, CAIRO_LINE_CAP_BUTT);
}

/* Piece by piece, so that a line that was drawn in one go looks the same. */
static void grow(const void *scene, struct easel *easel, double at_s)
{
  const struct overlay *overlay = scene;
  for (; easel->drawn < overlay->dots_count; easel->drawn++) {
    size_t i = easel->drawn;
    if (overlay->dots[i].at_s > at_s) return;
    if (i > 0) stroke_line(overlay, easel->ground, overlay->dots[i - 1], overlay->dots[i]);
  }
}

static double highest(const struct overlay *overlay, size_t dots)
{
  double most = 0;
  for (size_t i = 0; i < dots; i++)
    if (overlay->dots[i].force_N > most) most = overlay->dots[i].force_N;
  return most;
}

static void draw_number(const struct overlay *overlay, cairo_t *to, double force_N,
                        const char *label)
{
  const struct overlay_shape *s = &overlay->shape;
  char words[LOAD_BYTES] = "\xE2\x80\x93"; /* no reading: a dash */
  struct lettering number = {s->number, true, HOLD_LEFT}, small = {s->unit, false, HOLD_LEFT};
  if (!isnan(force_N)) be_overlay_words(overlay, force_N, words);
  double wide = be_paint_wide(to, words, &number);
  if (wide > s->number_wide) number.size *= s->number_wide / wide;
  be_paint(to, PAINT_INK, true, 1);
  be_paint_text(to, s->left, s->number_y, words, &number);
  be_paint(to, PAINT_MUTED, true, 1);
  be_paint_text(to, s->left, s->label_y, label, &small);
}

/* After it let go the number is the peak: the load has gone, and the eye has not. */
static void show_after(const struct overlay *overlay, cairo_t *to)
{
  const struct overlay_shape *s = &overlay->shape;
  const struct lettering bold = {s->unit, true, HOLD_LEFT};
  double y = y_of(overlay, overlay->peak_N);
  be_paint(to, PAINT_INK, true, 1);
  rule(to, s->plot.x, y, s->plot.x + s->plot.wide, y, fmax(1, s->unit / 18));
  char trace[LOAD_BYTES], label[LOAD_BYTES + 64];
  be_overlay_words(overlay, overlay->trace_peak_N, trace);
  snprintf(label, sizeof label, "%s (trace %s)", overlay->peak_word, trace);
  const struct lettering small = {s->unit, false, HOLD_LEFT};
  bool differ = !isnan(overlay->trace_peak_N) && be_paint_wide(to, label, &small) <= s->number_wide;
  draw_number(overlay, to, overlay->peak_N, differ ? label : overlay->peak_word);
  be_paint(to, PAINT_INK, true, 1);
  be_paint_block(to, s->left, s->below_y, overlay->let_go, &bold, s->below_wide, s->below_lines);
}

static void show(const void *scene, struct easel *easel, double at_s)
{
  const struct overlay *overlay = scene;
  const struct overlay_shape *s = &overlay->shape;
  double load_N = be_overlay_load(overlay, at_s);
  struct dot now = {at_s, load_N};
  if (!isnan(load_N) && easel->drawn > 0)
    stroke_line(overlay, easel->frame, overlay->dots[easel->drawn - 1], now);
  if (at_s > overlay->breaks_s) {
    show_after(overlay, easel->frame);
    return;
  }
  draw_number(overlay, easel->frame, load_N, BE_OVERLAY_LOAD);
  double most_N = fmax(highest(overlay, easel->drawn), isnan(load_N) ? 0 : load_N);
  char words[LOAD_BYTES], said[LOAD_BYTES + 32];
  be_overlay_words(overlay, most_N, words);
  snprintf(said, sizeof said, "highest so far %s", words);
  const struct lettering small = {s->unit, false, HOLD_LEFT};
  be_paint_block(easel->frame, s->left, s->below_y, said, &small, s->below_wide, 1);
  if (isnan(load_N)) return;
  be_paint(easel->frame, PAINT_INK, true, 1);
  cairo_new_path(easel->frame);
  cairo_arc(easel->frame, x_of(overlay, at_s), y_of(overlay, load_N), s->unit / 4, 0, 7);
  cairo_fill(easel->frame);
}

const struct scene_kind be_overlay_kind = {start, grow, show};
