/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "chart/inside.h"

#include <math.h>
#include <stdlib.h>

/* ---- marks ---- */

static void outline(struct be_buf *svg, double x, double y, enum be_shape shape)
{
  const double r = MARK_RADIUS;
  switch (shape) {
  case BE_SHAPE_ROUND:
    be_buf_format(svg, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\"", x, y, r);
    break;
  case BE_SHAPE_SQUARE:
    be_buf_format(svg, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\"", x - r + 0.5,
                  y - r + 0.5, 2 * r - 1, 2 * r - 1);
    break;
  case BE_SHAPE_TRIANGLE:
    be_buf_format(svg, "<path d=\"M%.1f %.1fl%.1f %.1fh%.1fz\"", x, y - r - 0.8, r + 0.8, 2 * r,
                  -2 * r - 1.6);
    break;
  }
}

static void arrow(struct be_buf *svg, double x, double y, bool upward, const char *tone)
{
  double start = MARK_RADIUS + 1, reach = ARROW - 1;
  if (upward)
    be_buf_format(svg, "<path d=\"M%.1f %.1fv%.1fm-3.5 3.5l3.5 -3.5l3.5 3.5\"", x, y - start,
                  -reach);
  else
    be_buf_format(svg, "<path d=\"M%.1f %.1fh%.1fm-3.5 -3.5l3.5 3.5l-3.5 3.5\"", x + start, y,
                  reach);
  be_buf_format(svg, " class=\"stroke-%s\" fill=\"none\" stroke-width=\"1.6\"/>\n", tone);
}

void be_svg_mark_at(struct be_buf *svg, const struct item *item, double x, double y, bool upward)
{
  const char *tone = be_tone_name(item->tone);
  outline(svg, x, y, item->shape);
  switch (item->fill) {
  case BE_FILL_SOLID:
    be_buf_format(svg, " class=\"fill-%s stroke-paper\" stroke-width=\"1\"/>\n", tone);
    break;
  case BE_FILL_OPEN:
    be_buf_format(svg, " class=\"fill-paper stroke-%s\" stroke-width=\"1.8\"/>\n", tone);
    arrow(svg, x, y, upward, tone);
    break;
  case BE_FILL_CROSS:
    be_buf_format(svg, " class=\"fill-paper stroke-%s\" stroke-width=\"1\"/>\n", tone);
    be_buf_format(svg,
                  "<path d=\"M%.1f %.1fl11 11m0 -11l-11 11\" class=\"stroke-%s\" fill=\"none\" "
                  "stroke-width=\"1.6\"/>\n",
                  x - 5.5, y - 5.5, tone);
    break;
  }
}

void be_svg_mark(const struct pen *pen, size_t i)
{
  const struct item *item = &pen->figure->items[i];
  const struct layout *layout = pen->layout;
  double x = be_scale_px(&layout->x, item->x) + be_aside_px(layout, item);
  double y = be_layout_y(pen->figure, layout, item->y, false) + layout->shift[i];
  be_svg_mark_at(pen->svg, item, x, y, pen->figure->row_count == 0);
  if (item->fill == BE_FILL_SOLID) be_svg_cut(pen->svg, layout->cut_out[i], x, y);
}

/* ---- lines ---- */

/* The points of a line that fall into one column of pixels: the first, the
 * lowest, the highest and the last stand for all of them. */
struct run {
  size_t first, low, high, last;
  double column;
  bool open;    /* holds points */
  bool started; /* the path has a point before this run */
};

/* With one digit behind the point, as "%.1f" but for what lies just between two. */
static void add_tenths(struct be_buf *svg, double value)
{
  char text[24], *at = text + sizeof text;
  long tenths = lround(10 * value), left = labs(tenths);
  *--at = (char)('0' + left % 10);
  *--at = '.';
  left /= 10;
  do {
    *--at = (char)('0' + left % 10);
    left /= 10;
  } while (left);
  if (tenths < 0) *--at = '-';
  be_buf_add(svg, at, (size_t)(text + sizeof text - at));
}

static void line_to(const struct pen *pen, const struct item *item, struct run *run, size_t i)
{
  double x = be_scale_px(&pen->layout->x, item->points[i]) + be_aside_px(pen->layout, item);
  double y = be_scale_px(&pen->layout->y, item->points[item->count + i]);
  be_buf_char(pen->svg, run->started ? 'L' : 'M');
  add_tenths(pen->svg, x);
  be_buf_char(pen->svg, ' ');
  add_tenths(pen->svg, y);
  run->started = true;
}

static void end_run(const struct pen *pen, const struct item *item, struct run *run)
{
  if (!run->open) return;
  size_t early = run->low < run->high ? run->low : run->high;
  size_t late = run->low < run->high ? run->high : run->low;
  line_to(pen, item, run, run->first);
  if (early > run->first && early < run->last) line_to(pen, item, run, early);
  if (late > run->first && late < run->last && late != early) line_to(pen, item, run, late);
  if (run->last > run->first) line_to(pen, item, run, run->last);
  run->open = false;
}

static void path(const struct pen *pen, const struct item *item)
{
  const double *y = item->points + item->count;
  struct run run = {0};
  for (size_t i = 0; i < item->count; i++) {
    if (!isfinite(item->points[i]) || !isfinite(y[i])) {
      end_run(pen, item, &run);
      run.started = false;
      continue;
    }
    double column = floor(be_scale_px(&pen->layout->x, item->points[i]));
    if (run.open && run.column != column) end_run(pen, item, &run);
    if (!run.open) {
      run.first = run.low = run.high = i;
      run.column = column;
      run.open = true;
    }
    if (y[i] < y[run.low]) run.low = i;
    if (y[i] > y[run.high]) run.high = i;
    run.last = i;
  }
  end_run(pen, item, &run);
}

static void stroke(const struct pen *pen, const struct item *item, const char *tone, double width,
                   const char *dashes)
{
  be_buf_text(pen->svg, "<path d=\"");
  path(pen, item);
  be_buf_format(pen->svg,
                "\" class=\"stroke-%s\" fill=\"none\" stroke-width=\"%.1f\" "
                "stroke-linejoin=\"round\"%s/>\n",
                tone, width, dashes);
}

void be_svg_line(const struct pen *pen, const struct item *item)
{
  const char *tone = be_tone_name(item->tone);
  switch (item->stroke) {
  case BE_STROKE_SOLID: stroke(pen, item, tone, 2, ""); break;
  case BE_STROKE_DASH: stroke(pen, item, tone, 2, " stroke-dasharray=\"14 6\""); break;
  case BE_STROKE_TWIN: /* two strands: a broad stroke with paper down its middle */
    stroke(pen, item, tone, 4.6, "");
    stroke(pen, item, "paper", 1.4, "");
    break;
  }
}

/* A short level piece of a stroke. */
void be_svg_sample(struct be_buf *svg, const struct item *key, double x1, double x2, double y)
{
  static const char *const looks[] = {[BE_STROKE_SOLID] = "2",
                                      [BE_STROKE_DASH] = "2\" stroke-dasharray=\"9 5",
                                      [BE_STROKE_TWIN] = "4.6"};
  const char *tone = be_tone_name(key->tone);
  be_buf_format(
      svg, "<path d=\"M%.1f %.1fH%.1f\" class=\"stroke-%s\" fill=\"none\" stroke-width=\"%s\"/>\n",
      x1, y, x2, tone, looks[key->stroke]);
  if (key->stroke == BE_STROKE_TWIN)
    be_buf_format(
        svg,
        "<path d=\"M%.1f %.1fH%.1f\" class=\"stroke-paper\" fill=\"none\" stroke-width=\"1.4\"/>\n",
        x1, y, x2);
}

/* ---- bars, spans, brackets ---- */

void be_svg_bar(const struct pen *pen, const struct item *item)
{
  double x = be_scale_px(&pen->layout->x, item->x);
  double y = be_layout_y(pen->figure, pen->layout, item->y, true);
  /* First in paper, a little larger, so that it shows on a thick span too. */
  be_buf_format(pen->svg,
                "<path d=\"M%.1f %.1fv17\" class=\"stroke-paper\" fill=\"none\" "
                "stroke-width=\"6\"/>\n",
                x, y - 8.5);
  be_buf_format(pen->svg,
                "<path d=\"M%.1f %.1fv15\" class=\"stroke-%s\" fill=\"none\" "
                "stroke-width=\"3\"/>\n",
                x, y - 7.5, be_tone_name(item->tone));
}

void be_svg_span(const struct pen *pen, const struct item *item)
{
  /* On a scale of whole numbers a range of one number still has a length. */
  double more = item->thick && pen->figure->x.integers ? 4 : 0;
  double low = be_scale_px(&pen->layout->x, item->x) - more;
  double high = be_scale_px(&pen->layout->x, item->x2) + more;
  double y = be_layout_y(pen->figure, pen->layout, item->y, true);
  be_buf_format(pen->svg,
                "<path d=\"M%.1f %.1fH%.1f\" class=\"stroke-%s\" fill=\"none\" "
                "stroke-width=\"%s\"/>\n",
                low, y, high, be_tone_name(item->tone),
                !item->thick              ? "1.5"
                : pen->figure->x.integers ? "10\" stroke-linecap=\"round"
                                          : "10");
}

void be_svg_bracket(const struct pen *pen, const struct item *item, double lane)
{
  const struct layout *layout = pen->layout;
  double x = layout->right + 18 + (lane + 1) * BRACKET_LANE;
  double first = be_layout_y(pen->figure, layout, item->y, false) - 7;
  double last = be_layout_y(pen->figure, layout, item->y2, false) + 7;
  be_buf_format(pen->svg,
                "<path d=\"M%.1f %.1fh7V%.1fh-7\" class=\"stroke-muted\" fill=\"none\" "
                "stroke-width=\"1.5\"/>\n",
                x - 7, first, last);
}
