/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clips/paint.h"

#include <math.h>
#include <string.h>

static const uint32_t tones[PAINTS][2] = {
    [PAINT_PAPER] = {0xF6F4EE, 0x15181B}, [PAINT_INK] = {0x1D2226, 0xECE8DF},
    [PAINT_MUTED] = {0x5B6166, 0xA6A79F}, [PAINT_HAIRLINE] = {0xC9C4B6, 0x3B4146},
    [PAINT_ACT] = {0x0F5B4F, 0x86D6C0},
};

void be_paint(cairo_t *to, enum paint paint, bool dark, double alpha)
{
  uint32_t tone = tones[paint][dark];
  cairo_set_source_rgba(to, (tone >> 16) / 255.0, (tone >> 8 & 255) / 255.0, (tone & 255) / 255.0,
                        alpha);
}

void be_paint_tone(cairo_t *to, enum be_tone tone, bool dark)
{
  unsigned colour = be_tone_colour(tone, dark ? BE_DRAWN_DARK : BE_DRAWN_LIGHT);
  cairo_set_source_rgba(to, (colour >> 16) / 255.0, (colour >> 8 & 255) / 255.0,
                        (colour & 255) / 255.0, 1);
}

/* Measured without hints, so that a text is as wide at every size. */
static void set_font(cairo_t *to, const struct lettering *how)
{
  cairo_select_font_face(to, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                         how->bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(to, how->size);
  cairo_font_options_t *options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  cairo_set_font_options(to, options);
  cairo_font_options_destroy(options);
}

double be_paint_wide(cairo_t *to, const char *text, const struct lettering *how)
{
  cairo_text_extents_t extents;
  set_font(to, how);
  cairo_text_extents(to, text, &extents);
  return extents.x_advance;
}

void be_paint_text(cairo_t *to, double x, double y, const char *text, const struct lettering *how)
{
  double wide = how->hold == HOLD_LEFT ? 0 : be_paint_wide(to, text, how);
  set_font(to, how);
  cairo_move_to(to, x - (how->hold == HOLD_RIGHT ? wide : wide / 2 * (how->hold == HOLD_MIDDLE)),
                y);
  cairo_show_text(to, text);
}

/* The most of text[0..size) that fits, in whole characters, with three points behind it. */
static void cut(cairo_t *to, const char *text, const struct lettering *how, double wide,
                char line[LINE_BYTES])
{
  size_t size = strlen(text) < LINE_BYTES - 4 ? strlen(text) : LINE_BYTES - 4;
  for (;;) {
    while (size > 0 && ((unsigned char)text[size] & 0xC0) == 0x80) size--;
    while (size > 0 && (text[size - 1] == ' ' || text[size - 1] == ',')) size--;
    memcpy(line, text, size);
    memcpy(line + size, "\xE2\x80\xA6", 4);
    if (size == 0 || be_paint_wide(to, line, how) <= wide) return;
    size--;
  }
}

/* The longest part of text that ends before a space, or at its end, and fits; at least one word. */
static size_t fitting(cairo_t *to, const char *text, const struct lettering *how, double wide,
                      char line[LINE_BYTES])
{
  size_t best = 0;
  for (size_t at = 1; at < LINE_BYTES; at++) {
    if (text[at] != ' ' && text[at] != '\0') continue;
    memcpy(line, text, at);
    line[at] = '\0';
    if (best && be_paint_wide(to, line, how) > wide) break;
    best = at;
    if (!text[at]) break;
  }
  memcpy(line, text, best);
  line[best] = '\0';
  return best;
}

size_t be_paint_lines(cairo_t *to, const char *text, const struct lettering *how, double wide,
                      size_t most, char lines[LINES_MAX][LINE_BYTES])
{
  size_t count = 0;
  while (*text && count < most && count < LINES_MAX) {
    size_t used = fitting(to, text, how, wide, lines[count]);
    bool last = count + 1 == most || count + 1 == LINES_MAX;
    bool fits = used > 0 && be_paint_wide(to, lines[count], how) <= wide;
    if (!fits || (last && text[used])) {
      cut(to, text, how, wide, lines[count++]);
      return count;
    }
    text += used;
    while (*text == ' ') text++;
    count++;
  }
  return count;
}

size_t be_paint_block(cairo_t *to, double x, double y, const char *text,
                      const struct lettering *how, double wide, size_t most)
{
  char lines[LINES_MAX][LINE_BYTES];
  size_t count = be_paint_lines(to, text, how, wide, most, lines);
  for (size_t i = 0; i < count; i++)
    be_paint_text(to, x, y + (double)i * 1.25 * how->size, lines[i], how);
  return count;
}

void be_rounded(cairo_t *to, double x, double y, double wide, double high, double radius)
{
  const double quarter = 1.5707963267948966;
  cairo_new_sub_path(to);
  cairo_arc(to, x + wide - radius, y + radius, radius, -quarter, 0);
  cairo_arc(to, x + wide - radius, y + high - radius, radius, 0, quarter);
  cairo_arc(to, x + radius, y + high - radius, radius, quarter, 2 * quarter);
  cairo_arc(to, x + radius, y + radius, radius, 2 * quarter, 3 * quarter);
  cairo_close_path(to);
}
