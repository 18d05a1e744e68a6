/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows stand by rank. While there is room each comes in at its place, from the foot up; when there
 * are more, the newest comes in at the top and the others make way. */
#include "app/clips/reveal.h"

#include "app/clips/paint.h"

#include <math.h>
#include <string.h>

static const double margin = 0.05, appear_s = 0.5, first_s = 0.3, line = 1.25;

struct frame {
  double unit, left, wide;
  double title_y, measure_y, rows_y, rows_high, foot_y;
  double row_high;
  double rank_wide, name_wide;
  size_t fit; /* rows that have room */
  size_t finding_lines, foot_lines;
  bool tall;
};

static struct frame lay_out(const struct reveal *reveal)
{
  struct frame f = {.tall = reveal->height > reveal->width};
  double u = f.unit = ceil(be_frame_text(reveal->height)), high = reveal->height;
  f.left = margin * reveal->width;
  f.wide = reveal->width - 2 * f.left;
  f.rank_wide = fmax((f.tall ? 0.17 : 0.075) * f.wide, reveal->rank_wide);
  f.name_wide = (f.tall ? 1 : 0.4) * f.wide - f.rank_wide;
  f.title_y = margin * high + 1.3 * u;
  f.measure_y = f.title_y + (f.tall ? 2 * line * 1.1 : line * 1.15) * u;
  f.rows_y = f.measure_y + (f.tall ? 2.5 : 1.0) * u;
  f.finding_lines = f.tall ? 2 : 1;
  f.foot_lines = f.tall ? 3 : 1;
  f.foot_y =
      (1 - margin) * high - 0.3 * u - line * u * (double)(f.finding_lines + f.foot_lines - 1);
  f.rows_high = f.foot_y - 1.2 * u - f.rows_y;
  double more = line * 1.1 * u * (double)(reveal->name_lines ? reveal->name_lines - 1 : 0);
  double least = (f.tall ? 3.2 : 1.6) * u + more, most = (f.tall ? 4.4 : 2.6) * u + more;
  f.fit = (size_t)fmax(1, floor(f.rows_high / least));
  if (f.fit > reveal->count) f.fit = reveal->count;
  f.row_high = fmin(most, f.rows_high / (double)f.fit);
  return f;
}

/* From 0 to 1 without a jolt and without going past. */
static double ease(double share)
{
  double x = share < 0 ? 0 : share > 1 ? 1 : share;
  return x * x * (3 - 2 * x);
}

/* How much of the row of this rank (from 0) is there: the last comes first. */
static double shown(const struct reveal *reveal, size_t row, double at_s)
{
  double begins = first_s + reveal->each_s * (double)(reveal->count - 1 - row);
  return ease((at_s - begins) / appear_s);
}

/* ---- once ---- */

static void start(const void *scene, struct easel *easel)
{
  const struct reveal *reveal = scene;
  struct frame f = lay_out(reveal);
  cairo_t *to = easel->ground;
  const struct lettering title = {(f.tall ? 1.1 : 1.5) * f.unit, true, HOLD_LEFT};
  const struct lettering small = {f.unit, false, HOLD_LEFT};
  be_paint(to, PAINT_PAPER, false, 1);
  cairo_paint(to);
  be_paint(to, PAINT_INK, false, 1);
  be_paint_block(to, f.left, f.title_y, reveal->place, &title, f.wide, f.tall ? 2 : 1);
  be_paint(to, PAINT_MUTED, false, 1);
  be_paint_block(to, f.left, f.measure_y, reveal->measure, &small, f.wide, f.tall ? 2 : 1);
  be_paint_block(to, f.left, f.foot_y + line * f.unit * (double)f.finding_lines, reveal->foot,
                 &small, f.wide, f.foot_lines);
}

static void grow(const void *scene, struct easel *easel, double at_s)
{
  (void)scene;
  (void)easel;
  (void)at_s;
}

/* ---- a row ---- */

enum { NAME_LINES = 3 };

enum be_status be_reveal_lay_out(struct reveal *reveal, struct be_err *err)
{
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, 1, 1);
  cairo_t *scratch = cairo_create(surface);
  struct frame f = lay_out(reveal);
  const struct lettering bold = {(f.tall ? 1.05 : 1.1) * f.unit, true, HOLD_LEFT};
  char lines[LINES_MAX][LINE_BYTES];
  const struct lettering small = {f.unit, false, HOLD_LEFT};
  reveal->rank_wide = 0;
  for (size_t i = 0; i < reveal->count; i++) {
    double wide = be_paint_wide(scratch, reveal->rows[i].rank, &small) + 0.5 * f.unit;
    reveal->rank_wide = fmax(reveal->rank_wide, wide);
  }
  f = lay_out(reveal);
  reveal->name_lines = 1;
  for (size_t i = 0; i < reveal->count; i++) {
    size_t count =
        be_paint_lines(scratch, reveal->rows[i].name, &bold, f.name_wide, NAME_LINES, lines);
    if (count > reveal->name_lines) reveal->name_lines = count;
  }
  f = lay_out(reveal);
  reveal->fit = f.fit;
  bool drawn = cairo_status(scratch) == CAIRO_STATUS_SUCCESS;
  cairo_destroy(scratch);
  cairo_surface_destroy(surface);
  return drawn ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for a frame of the clip");
}

static void draw_bar(const struct reveal *reveal, cairo_t *to, const struct reveal_row *row,
                     double x, double y, double wide, double u, double share)
{
  double scale = wide / reveal->axis, mean = row->mean * share * scale;
  be_paint(to, PAINT_HAIRLINE, false, share);
  cairo_rectangle(to, x, y - u / 20, wide, u / 10);
  cairo_fill(to);
  if (isfinite(row->low) && isfinite(row->high)) {
    double half_low = (row->mean - row->low) * share * scale;
    double half_high = (row->high - row->mean) * share * scale;
    be_paint(to, PAINT_ACT, false, share);
    cairo_rectangle(to, x + fmax(0, mean - half_low), y - u / 9, half_high + fmin(mean, half_low),
                    u / 4.5);
    cairo_fill(to);
  }
  if (reveal->whole) {
    cairo_rectangle(to, x + reveal->whole * scale - u / 30, y - u * 0.36, u / 15, u * 0.72);
    be_paint(to, PAINT_HAIRLINE, false, share);
    cairo_fill(to);
  }
  be_paint(to, PAINT_INK, false, share);
  cairo_rectangle(to, x + mean - u / 12, y - u * 0.36, u / 6, u * 0.72);
  cairo_fill(to);
}

static void draw_wide(const struct reveal *reveal, const struct frame *f, cairo_t *to,
                      const struct reveal_row *row, double y, double share)
{
  double u = f->unit, base = y + f->row_high / 2 + 0.36 * u, w = f->wide;
  const struct lettering bold = {1.1 * u, true, HOLD_LEFT}, small = {u, false, HOLD_LEFT};
  const struct lettering right = {1.1 * u, true, HOLD_RIGHT};
  be_paint(to, PAINT_MUTED, false, share);
  be_paint_text(to, f->left, base, row->rank, &small);
  be_paint(to, PAINT_INK, false, share);
  char lines[LINES_MAX][LINE_BYTES];
  size_t count = be_paint_lines(to, row->name, &bold, f->name_wide, NAME_LINES, lines);
  for (size_t i = 0; i < count; i++)
    be_paint_text(to, f->left + f->rank_wide,
                  base + ((double)i - (double)(count - 1) / 2) * line * bold.size, lines[i], &bold);
  draw_bar(reveal, to, row, f->left + 0.41 * w, y + f->row_high / 2, 0.18 * w, u, share);
  be_paint(to, PAINT_INK, false, share);
  be_paint_text(to, f->left + 0.70 * w, base, row->value, &right);
  be_paint(to, PAINT_MUTED, false, share);
  be_paint_block(to, f->left + 0.71 * w, base, row->interval, &small, 0.125 * w, 1);
  be_paint_block(to, f->left + 0.84 * w, base, row->n, &small, 0.16 * w, 1);
}

static void draw_tall(const struct reveal *reveal, const struct frame *f, cairo_t *to,
                      const struct reveal_row *row, double y, double share)
{
  double u = f->unit, w = f->wide, base = y + 1.0 * u;
  const struct lettering bold = {1.05 * u, true, HOLD_LEFT}, small = {u, false, HOLD_LEFT};
  const struct lettering end = {u, false, HOLD_RIGHT};
  be_paint(to, PAINT_MUTED, false, share);
  be_paint_text(to, f->left, base, row->rank, &small);
  be_paint(to, PAINT_INK, false, share);
  be_paint_block(to, f->left + f->rank_wide, base, row->name, &bold, f->name_wide, NAME_LINES);
  base += line * bold.size * (double)(reveal->name_lines - 1);
  const struct lettering value = {u, true, HOLD_LEFT};
  double next = f->left + be_paint_wide(to, row->value, &value) + 0.3 * u;
  be_paint_text(to, f->left, base + line * u, row->value, &value);
  be_paint(to, PAINT_MUTED, false, share);
  be_paint_text(to, next, base + line * u, row->interval, &small);
  next += be_paint_wide(to, row->interval, &small) + 0.3 * u;
  if (next + be_paint_wide(to, row->n, &end) <= f->left + w)
    be_paint_text(to, f->left + w, base + line * u, row->n, &end);
  else be_paint_block(to, next, base + line * u, row->n, &small, f->left + w - next, 1);
  draw_bar(reveal, to, row, f->left, base + line * u + 0.8 * u, w, u, share);
}

static void show(const void *scene, struct easel *easel, double at_s)
{
  const struct reveal *reveal = scene;
  struct frame f = lay_out(reveal);
  cairo_t *to = easel->frame;
  /* By how many rows the list has been pushed down for those that are not there yet. */
  double coming = 0;
  for (size_t i = 0; i < reveal->count; i++) coming += 1 - shown(reveal, i, at_s);
  double up = fmin(coming, (double)(reveal->count - f.fit));
  cairo_save(to);
  cairo_rectangle(to, 0, f.rows_y, reveal->width, f.row_high * (double)f.fit);
  cairo_clip(to);
  for (size_t i = 0; i < reveal->count; i++) {
    double share = shown(reveal, i, at_s), y = f.rows_y + ((double)i - up) * f.row_high;
    if (share <= 0 || y >= f.rows_y + f.row_high * (double)f.fit) continue;
    if (f.tall) draw_tall(reveal, &f, to, &reveal->rows[i], y, share);
    else draw_wide(reveal, &f, to, &reveal->rows[i], y, share);
  }
  cairo_restore(to);
  const struct lettering bold = {f.unit, true, HOLD_LEFT};
  double last = first_s + reveal->each_s * (double)reveal->count;
  be_paint(to, PAINT_ACT, false, ease((at_s - last + 0.2) / appear_s));
  be_paint_block(to, f.left, f.foot_y, reveal->finding, &bold, f.wide, f.finding_lines);
}

const struct scene_kind be_reveal_kind = {start, grow, show};
