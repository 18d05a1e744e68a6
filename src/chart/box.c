/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Boxes and their patterns. Strokes of a pattern are cut at the edges of the box as they are
 * written, so that every renderer shows the same. */
#include "chart/inside.h"

#include <math.h>
#include <string.h>

enum { STEP = 7, WORD_HIGH = 17, DIGITS_HIGH = 12 };

static double clamp(double value, double low, double high)
{
  return value < low ? low : value > high ? high : value;
}

/* Strokes x - s y = c (s: -1 rising as y goes down, 1 falling) inside left, top, right, bottom. */
static void slanted(struct be_buf *svg, const double c[4], int s)
{
  double width = c[2] - c[0], height = c[3] - c[1];
  for (double at = STEP / 2.0; at < width + height; at += STEP) {
    /* Enters at the top or the left, leaves at the bottom or the right. */
    double x1 = clamp(at - height, 0, width), x2 = clamp(at, 0, width);
    double y1 = at - x1, y2 = at - x2;
    if (s > 0) y1 = height - y1, y2 = height - y2;
    be_buf_format(svg, "M%.1f %.1fL%.1f %.1f", c[0] + x1, c[1] + y1, c[0] + x2, c[1] + y2);
  }
}

static void strokes(struct be_buf *svg, const double c[4], enum be_pattern pattern)
{
  switch (pattern) {
  case BE_PATTERN_RISING: slanted(svg, c, -1); break;
  case BE_PATTERN_FALLING: slanted(svg, c, 1); break;
  case BE_PATTERN_CROSSED:
    slanted(svg, c, -1);
    slanted(svg, c, 1);
    break;
  case BE_PATTERN_LEVEL:
    for (double y = c[1] + STEP / 2.0; y < c[3]; y += STEP)
      be_buf_format(svg, "M%.1f %.1fH%.1f", c[0], y, c[2]);
    break;
  case BE_PATTERN_UPRIGHT:
    for (double x = c[0] + STEP / 2.0; x < c[2]; x += STEP)
      be_buf_format(svg, "M%.1f %.1fV%.1f", x, c[1], c[3]);
    break;
  case BE_PATTERN_DOTS:
    for (double y = c[1] + STEP / 2.0; y < c[3] - 1; y += STEP)
      for (double x = c[0] + STEP / 2.0; x < c[2] - 1; x += STEP)
        be_buf_format(svg, "M%.1f %.1fh0", x, y);
    break;
  case BE_PATTERN_NONE:
  case BE_PATTERN_SOLID: break;
  }
}

void be_svg_pattern(struct be_buf *svg, const double corner[4], enum be_pattern pattern,
                    enum be_tone tone)
{
  const char *name = be_tone_name(tone);
  bool solid = pattern == BE_PATTERN_SOLID, dots = pattern == BE_PATTERN_DOTS;
  be_buf_format(svg,
                "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" class=\"fill-%s "
                "stroke-%s\" stroke-width=\"1.5\"/>\n",
                corner[0], corner[1], corner[2] - corner[0], corner[3] - corner[1],
                solid ? name : "paper", name);
  if (solid || pattern == BE_PATTERN_NONE) return;
  be_buf_text(svg, "<path d=\"");
  strokes(svg, corner, pattern);
  be_buf_format(svg, "\" class=\"stroke-%s\" fill=\"none\" stroke-width=\"%s\"/>\n", name,
                dots ? "3\" stroke-linecap=\"round" : "1.5");
}

/* In a row the box reaches as far up from the place of marks as it does down. */
static double row_y(const struct pen *pen, double y)
{
  const struct layout *layout = pen->layout;
  if (pen->figure->row_count == 0) return be_layout_y(pen->figure, layout, y, false);
  double row = clamp(floor(y + 0.5), 0, (double)pen->figure->row_count - 1);
  double middle = layout->row_marks[(size_t)row];
  return middle + 2 * (y - row) * (layout->row_edge[(size_t)row + 1] - middle);
}

static void corners(const struct pen *pen, const struct item *item, double corner[4])
{
  double x1 = be_scale_px(&pen->layout->x, item->x), x2 = be_scale_px(&pen->layout->x, item->x2);
  double y1 = row_y(pen, item->y), y2 = row_y(pen, item->y2);
  corner[0] = fmin(x1, x2), corner[1] = fmin(y1, y2);
  corner[2] = fmax(x1, x2), corner[3] = fmax(y1, y2);
}

void be_svg_box(const struct pen *pen, const struct item *item)
{
  double corner[4];
  corners(pen, item, corner);
  be_svg_pattern(pen->svg, corner, item->pattern, item->tone);
}

/* How far a word with its paper reaches over each side of its box; negative: what is left free. */
static double reach(const struct pen *pen, const struct item *item)
{
  double corner[4];
  corners(pen, item, corner);
  return (be_text_width(item->text, SMALL_TEXT) + 4 - (corner[2] - corner[0])) / 2;
}

static bool has_room(const struct pen *pen, size_t i)
{
  enum { OVER_MOST = 7 };
  const struct item *items = pen->figure->items;
  double over = reach(pen, &items[i]);
  if (over <= 0) return true;
  if (over > OVER_MOST) return false;
  for (size_t k = i ? i - 1 : 1; k <= i + 1 && k < pen->figure->item_count; k += 2)
    if (items[k].kind == ITEM_BOX && floor(items[k].y) == floor(items[i].y) &&
        over + reach(pen, &items[k]) > 0)
      return false;
  return true;
}

/* After all boxes, for a word lies over the edges of one that is narrow among wide ones. */
void be_svg_box_word(const struct pen *pen, size_t i)
{
  const struct item *item = &pen->figure->items[i];
  double corner[4], width = be_text_width(item->text, SMALL_TEXT);
  corners(pen, item, corner);
  if (!*item->text || !has_room(pen, i) || corner[3] - corner[1] < SMALL_TEXT) return;
  double x = (corner[0] + corner[2]) / 2, y = (corner[1] + corner[3]) / 2;
  /* Of a sliver something is left to be seen above and below its word. */
  double high = reach(pen, item) > -4 ? DIGITS_HIGH : WORD_HIGH;
  if (item->pattern != BE_PATTERN_NONE || reach(pen, item) > 0)
    be_buf_format(pen->svg,
                  "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" rx=\"3\" "
                  "class=\"fill-paper\"/>\n",
                  x - width / 2 - 2, y - high / 2, width + 4, high);
  const struct lettering lettering = {SMALL_TEXT, BE_TONE_INK, "middle", false, false};
  be_svg_text(pen, x, y + 5, &lettering, item->text, strlen(item->text));
}
