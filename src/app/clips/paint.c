/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clips/paint.h"

#include <math.h>
#include <pango/pangocairo.h>
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

static const char family[] = "DejaVu Sans";

/* Measured without hints, so that a text is as wide at every size. */
static cairo_font_options_t *options_of_font(void)
{
  cairo_font_options_t *options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  return options;
}

static void set_font(cairo_t *to, const struct lettering *how)
{
  cairo_select_font_face(to, family, CAIRO_FONT_SLANT_NORMAL,
                         how->bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(to, how->size);
  cairo_font_options_t *options = options_of_font();
  cairo_set_font_options(to, options);
  cairo_font_options_destroy(options);
}

/* Letters that stand one after another, each as it is, of a font that has them: Latin, Greek,
 * Cyrillic, signs. All others (that run to the left, join, or need another font) take the long way.
 */
static bool is_plain(const char *text)
{
  size_t size = strlen(text), used;
  uint32_t code;
  for (; (used = be_utf8_next(text, size, &code)) > 0; text += used, size -= used)
    if ((code >= 0x300 && code < 0x370) || (code >= 0x530 && code < 0x2010) || code > 0x2300)
      return false;
  return true;
}

static PangoLayout *lay_out(cairo_t *to, const char *text, const struct lettering *how)
{
  PangoLayout *layout = pango_cairo_create_layout(to);
  PangoFontDescription *font = pango_font_description_new();
  cairo_font_options_t *options = options_of_font();
  pango_font_description_set_family(font, family);
  pango_font_description_set_weight(font, how->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font, how->size * PANGO_SCALE);
  pango_cairo_context_set_font_options(pango_layout_get_context(layout), options);
  pango_layout_set_font_description(layout, font);
  pango_layout_set_single_paragraph_mode(layout, TRUE);
  pango_layout_set_text(layout, text, -1);
  pango_font_description_free(font);
  cairo_font_options_destroy(options);
  return layout;
}

double be_paint_wide(cairo_t *to, const char *text, const struct lettering *how)
{
  cairo_text_extents_t extents;
  if (!is_plain(text)) {
    int wide = 0;
    PangoLayout *layout = lay_out(to, text, how);
    pango_layout_get_size(layout, &wide, NULL);
    g_object_unref(layout);
    return (double)wide / PANGO_SCALE;
  }
  set_font(to, how);
  cairo_text_extents(to, text, &extents);
  return extents.x_advance;
}

void be_paint_text(cairo_t *to, double x, double y, const char *text, const struct lettering *how)
{
  double wide = how->hold == HOLD_LEFT ? 0 : be_paint_wide(to, text, how);
  x -= how->hold == HOLD_RIGHT ? wide : wide / 2 * (how->hold == HOLD_MIDDLE);
  if (is_plain(text)) {
    set_font(to, how);
    cairo_move_to(to, x, y);
    cairo_show_text(to, text);
    return;
  }
  PangoLayout *layout = lay_out(to, text, how);
  cairo_move_to(to, x, y - (double)pango_layout_get_baseline(layout) / PANGO_SCALE);
  pango_cairo_show_layout(to, layout);
  g_object_unref(layout);
}

static bool lacks_letters(cairo_t *to, const char *text)
{
  const struct lettering how = {20, false, HOLD_LEFT};
  if (is_plain(text)) return false;
  PangoLayout *layout = lay_out(to, text, &how);
  bool lacks = pango_layout_get_unknown_glyphs_count(layout) > 0;
  g_object_unref(layout);
  return lacks;
}

void be_paint_say_lacks(const char *text, struct be_doc *doc)
{
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, 1, 1);
  cairo_t *scratch = cairo_create(surface);
  if (lacks_letters(scratch, text))
    be_doc_note(doc,
                "Letters of \"%s\" are in no font here, and boxes stand for them. On Debian "
                "fonts-droid-fallback has those of Chinese, Japanese and Korean, "
                "fonts-noto-color-emoji has emoji.",
                text);
  cairo_destroy(scratch);
  cairo_surface_destroy(surface);
}

/* ---- in the room there is ---- */

/* Whether a text may be parted here: at the start of a character that stands on its own. */
static bool may_part(const char *text, size_t at)
{
  enum { JOINER = 0x200D };
  uint32_t code = 0;
  if (((unsigned char)text[at] & 0xC0) == 0x80) return false;
  if (at == 0 || !text[at]) return true;
  if (at >= 3 && memcmp(text + at - 3, "\xE2\x80\x8D", 3) == 0) return false;
  be_utf8_next(text + at, strlen(text + at), &code);
  return !(code == JOINER || (code >= 0x300 && code < 0x370) || (code >= 0xFE00 && code < 0xFE10) ||
           (code >= 0x1F3FB && code <= 0x1F3FF));
}

/* The text with `keep` bytes of it, about half of them from each end. */
static void leave_out_middle(const char *text, size_t keep, char line[LINE_BYTES])
{
  size_t size = strlen(text), head = (keep + 1) / 2, tail = size - keep / 2;
  while (head > 0 && !may_part(text, head)) head--;
  while (tail < size && !may_part(text, tail)) tail++;
  memcpy(line, text, head);
  memcpy(line + head, "\xE2\x80\xA6", 3);
  memcpy(line + head + 3, text + tail, size - tail + 1);
}

void be_paint_short(cairo_t *to, const char *text, const struct lettering *how, double wide,
                    char line[LINE_BYTES])
{
  size_t size = strlen(text), most = LINE_BYTES - 4;
  if (size <= most) {
    memcpy(line, text, size + 1);
    if (be_paint_wide(to, line, how) <= wide) return;
  }
  size_t fits = 0, past = size < most ? size : most;
  while (past - fits > 1) {
    size_t middle = fits + (past - fits) / 2;
    leave_out_middle(text, middle, line);
    if (be_paint_wide(to, line, how) <= wide) fits = middle;
    else past = middle;
  }
  leave_out_middle(text, fits, line);
}

size_t be_paint_code(cairo_t *to, const char *code, const struct lettering *how, double wide,
                     char lines[2][LINE_BYTES])
{
  size_t size = strlen(code), used = 0;
  for (size_t at = 1; at <= size && at < LINE_BYTES; at++) {
    if (!may_part(code, at)) continue;
    memcpy(lines[0], code, at);
    lines[0][at] = '\0';
    if (be_paint_wide(to, lines[0], how) > wide) break;
    used = at;
  }
  memcpy(lines[0], code, used);
  lines[0][used] = '\0';
  if (used == size) return 1;
  be_paint_short(to, code + used, how, wide, lines[1]);
  return 2;
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

/* The longest part of text that ends before a space, or at its end, and fits; of a word that is too
 * long for a line, what of it fits, where lines follow. */
static size_t fitting(cairo_t *to, const char *text, const struct lettering *how, double wide,
                      bool follow, char line[LINE_BYTES])
{
  size_t best = 0, inside = 0;
  for (size_t at = 1; at < LINE_BYTES; at++) {
    bool ends = text[at] == ' ' || text[at] == '\0';
    if (!ends && (best || !follow || !may_part(text, at))) continue;
    memcpy(line, text, at);
    line[at] = '\0';
    bool fits = be_paint_wide(to, line, how) <= wide;
    if (!fits && (best || inside)) break;
    if (fits) inside = at;
    if (ends) best = at;
    if (!text[at]) break;
  }
  if (!best) best = inside;
  memcpy(line, text, best);
  line[best] = '\0';
  return best;
}

size_t be_paint_lines(cairo_t *to, const char *text, const struct lettering *how, double wide,
                      size_t most, char lines[LINES_MAX][LINE_BYTES])
{
  size_t count = 0;
  while (*text && count < most && count < LINES_MAX) {
    bool last = count + 1 == most || count + 1 == LINES_MAX;
    size_t used = fitting(to, text, how, wide, !last, lines[count]);
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
