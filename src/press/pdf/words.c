/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts set by Pango, shown line by line, so that every text here has lines of one height. */
#include "press/pdf/page.h"

#include <string.h>

/* No hyphens and no ligatures: what is copied from a page is what was written. */
static void add_plainly(PangoLayout *layout)
{
  PangoAttrList *list = pango_attr_list_new();
  pango_attr_list_insert(list, pango_attr_insert_hyphens_new(FALSE));
  pango_attr_list_insert(list, pango_attr_font_features_new("liga=0, clig=0, dlig=0"));
  pango_layout_set_attributes(layout, list);
  pango_attr_list_unref(list);
}

static PangoLayout *set(struct pdf *pdf, const char *text, double size, bool bold)
{
  PangoLayout *layout = pango_layout_new(pdf->context);
  PangoFontDescription *font = pango_font_description_new();
  pango_font_description_set_family_static(font, "DejaVu Sans");
  pango_font_description_set_size(font, (int)(size * PANGO_SCALE));
  if (bold) pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
  pango_layout_set_font_description(layout, font);
  pango_font_description_free(font);
  add_plainly(layout);
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

/* The font's own line is 1.16 times as high as the letters are large. */
struct words be_words(struct pdf *pdf, const char *text, double size, bool bold, double width)
{
  struct words words = {.layout = set(pdf, text, size, bold), .leading = 1.3 * size};
  if (width > 0) pango_layout_set_width(words.layout, (int)(width * PANGO_SCALE));
  else pango_layout_set_single_paragraph_mode(words.layout, TRUE);
  words.lines = pango_layout_get_line_count(words.layout);
  words.width = width_of(words.layout);
  words.ascent = 0.98 * size;
  return words;
}

struct words be_words_cut(struct pdf *pdf, const char *text, double size, double width)
{
  struct words words = be_words(pdf, text, size, false, 0);
  if (words.width <= width) return words;
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

void be_words_show(struct pdf *pdf, const struct words *words, int from, int count, double x,
                   double y, bool right, enum be_tone tone)
{
  if (pdf->dry) return;
  be_page_tone(pdf, tone);
  for (int i = from; i < from + count && i < words->lines; i++, y += words->leading) {
    PangoLayoutLine *line = pango_layout_get_line_readonly(words->layout, i);
    PangoRectangle place = {0};
    if (right) pango_layout_line_get_extents(line, NULL, &place);
    cairo_move_to(pdf->cairo, x - (double)place.width / PANGO_SCALE, y + words->ascent);
    pango_cairo_show_layout_line(pdf->cairo, line);
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
