/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts set line by line, so that every text here has lines of one height: what stands in one line
 * letter by letter, which most cells of tables do and which takes a tenth of the time; what must be
 * broken, is bold or has letters that act on one another by Pango. */
#include "press/pdf/page.h"

#include <string.h>

/* No hyphens and no ligatures: what is copied from a page is what was written. Letters move towards
 * one another where they are bold: the others may be set one by one. */
static void add_plainly(PangoLayout *layout, bool bold)
{
  static const char *const features[] = {"kern=0, liga=0, clig=0, dlig=0",
                                         "liga=0, clig=0, dlig=0"};
  PangoAttrList *list = pango_attr_list_new();
  pango_attr_list_insert(list, pango_attr_insert_hyphens_new(FALSE));
  pango_attr_list_insert(list, pango_attr_font_features_new(features[bold]));
  pango_layout_set_attributes(layout, list);
  pango_attr_list_unref(list);
}

static PangoFontDescription *font_of(double size, bool bold)
{
  PangoFontDescription *font = pango_font_description_new();
  pango_font_description_set_family_static(font, "DejaVu Sans");
  pango_font_description_set_size(font, (int)(size * PANGO_SCALE));
  if (bold) pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
  return font;
}

static PangoLayout *set(struct pdf *pdf, const char *text, double size, bool bold)
{
  PangoLayout *layout = pango_layout_new(pdf->context);
  PangoFontDescription *font = font_of(size, bold);
  pango_layout_set_font_description(layout, font);
  pango_font_description_free(font);
  add_plainly(layout, bold);
  pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
  pango_layout_set_text(layout, text, -1);
  return layout;
}

static double width_of(PangoLayout *layout)
{
  int width;
  pango_layout_get_size(layout, &width, NULL);
  return (double)width / PANGO_SCALE;
}

/* ---- letter by letter ---- */

/* How many bytes of it are one letter that stands for itself wherever it stands: of ASCII, of
 * Latin-1, and the marks that numbers come with; 0: it is none of these. */
static size_t plain_letter(const char *text)
{
  static const char marks[][4] = {"\xE2\x80\x93", "\xE2\x80\x94", "\xE2\x80\x98", "\xE2\x80\x99",
                                  "\xE2\x88\x92", "\xE2\x88\x9E", "\xE2\x89\xA4", "\xE2\x89\xA5"};
  unsigned char first = (unsigned char)text[0], second = (unsigned char)text[1];
  if (first >= ' ' && first <= '~') return 1;
  if ((first == 0xC2 && second >= 0xA0 && second != 0xAD) || (first == 0xC3 && second)) return 2;
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (strncmp(text, marks[i], 3) == 0) return 3;
  return 0;
}

static bool is_plain(const char *text)
{
  for (size_t length; *text; text += length)
    if (!(length = plain_letter(text))) return false;
  return true;
}

enum { PLAIN_SIZE = 100 }; /* letters are measured at, so that nothing is rounded */

static cairo_scaled_font_t *plain_font(struct pdf *pdf)
{
  if (!pdf->plain) {
    PangoFontDescription *font = font_of(PLAIN_SIZE, false);
    pdf->plain = pango_context_load_font(pdf->context, font);
    pango_font_description_free(font);
  }
  return pango_cairo_font_get_scaled_font((PangoCairoFont *)pdf->plain);
}

static double plain_width(struct pdf *pdf, const char *text, double size)
{
  cairo_text_extents_t extents;
  cairo_scaled_font_text_extents(plain_font(pdf), text, &extents);
  return extents.x_advance * size / PLAIN_SIZE;
}

static void show_plain(struct pdf *pdf, const char *text, double size, double x, double y)
{
  cairo_set_font_face(pdf->cairo, cairo_scaled_font_get_font_face(plain_font(pdf)));
  cairo_set_font_size(pdf->cairo, size);
  cairo_move_to(pdf->cairo, x, y);
  cairo_show_text(pdf->cairo, text);
}

/* ---- all texts ---- */

/* The font's own line is 1.16 times as high as the letters are large. */
struct words be_words(struct pdf *pdf, const char *text, double size, bool bold, double width)
{
  struct words words = {
      .lines = 1, .bold = bold, .leading = BE_LEADING * size, .ascent = 0.98 * size};
  if (!bold && is_plain(text)) {
    words.width = plain_width(pdf, text, size);
    words.plain = width <= 0 || words.width <= width ? text : NULL;
    if (words.plain) return words;
  }
  words.layout = set(pdf, text, size, bold);
  if (width > 0) pango_layout_set_width(words.layout, (int)(width * PANGO_SCALE));
  else pango_layout_set_single_paragraph_mode(words.layout, TRUE);
  words.lines = pango_layout_get_line_count(words.layout);
  words.width = width_of(words.layout);
  return words;
}

struct words be_words_cut(struct pdf *pdf, const char *text, double size, double width)
{
  struct words words = be_words(pdf, text, size, false, 0);
  if (words.width <= width) return words;
  if (!words.layout) words.layout = set(pdf, text, size, false);
  words.plain = NULL;
  pango_layout_set_width(words.layout, (int)(width * PANGO_SCALE));
  pango_layout_set_ellipsize(words.layout, PANGO_ELLIPSIZE_END);
  words.width = width_of(words.layout);
  return words;
}

void be_words_free(struct words *words)
{
  if (words->layout) g_object_unref(words->layout);
  words->layout = NULL;
}

static char *line_of(const struct words *words, int i)
{
  PangoLayoutLine *line = pango_layout_get_line_readonly(words->layout, i);
  return g_strndup(pango_layout_get_text(words->layout) + line->start_index, (gsize)line->length);
}

/* A line by itself keeps the space at its end, which belongs between it and the next. */
static void show_line(struct pdf *pdf, const struct words *words, char *text, double x, double y,
                      bool right)
{
  size_t length = strlen(text);
  while (length > 0 && text[length - 1] == ' ') length--;
  if (words->bold || !is_plain(text)) {
    PangoLayout *layout = set(pdf, text, words->leading / BE_LEADING, words->bold);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    cairo_move_to(pdf->cairo, right ? x - width_of(layout) : x, y);
    pango_cairo_show_layout_line(pdf->cairo, pango_layout_get_line_readonly(layout, 0));
    g_object_unref(layout);
    return;
  }
  char *shown = g_strndup(text, length);
  double left = right ? x - plain_width(pdf, shown, words->leading / BE_LEADING) : x;
  show_plain(pdf, text, words->leading / BE_LEADING, left, y);
  g_free(shown);
}

void be_words_show(struct pdf *pdf, const struct words *words, int from, int count, double x,
                   double y, bool right, enum be_tone tone)
{
  if (pdf->dry) return;
  be_page_tone(pdf, tone);
  for (int i = from; i < from + count && i < words->lines; i++, y += words->leading) {
    if (words->plain) {
      double left = right ? x - words->width : x;
      show_plain(pdf, words->plain, words->leading / BE_LEADING, left, y + words->ascent);
      continue;
    }
    char *text = line_of(words, i);
    if (words->lines > 1) show_line(pdf, words, text, x, y + words->ascent, right);
    else {
      cairo_move_to(pdf->cairo, right ? x - words->width : x, y + words->ascent);
      pango_cairo_show_layout_line(pdf->cairo, pango_layout_get_line_readonly(words->layout, 0));
    }
    g_free(text);
  }
}

double be_words_width(struct pdf *pdf, const char *text, double size)
{
  struct words words = be_words(pdf, text, size, false, 0);
  double width = words.width;
  be_words_free(&words);
  return width;
}

double be_words_longest(struct pdf *pdf, const char *text, double size)
{
  PangoLayout *layout = set(pdf, text, size, false);
  pango_layout_set_wrap(layout, PANGO_WRAP_WORD);
  pango_layout_set_width(layout, 0);
  double width = width_of(layout);
  g_object_unref(layout);
  return width;
}
