/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts set line by line, so that every text here has lines of one height: letter by letter, in a
 * tenth of the time that Pango takes; by Pango what is bold or has letters that act on one another.
 */
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

static const char marks[BE_PLAIN_MARKS][4] = {"\xE2\x80\x93", "\xE2\x80\x94", "\xE2\x80\x98",
                                              "\xE2\x80\x99", "\xE2\x88\x92", "\xE2\x88\x9E",
                                              "\xE2\x89\xA4", "\xE2\x89\xA5"};

/* How many bytes of it are one letter that stands for itself wherever it stands: of ASCII, of
 * Latin-1, and the marks that numbers come with; 0: it is none of these. */
static size_t plain_letter(const char *text, size_t *which)
{
  unsigned char first = (unsigned char)text[0], second = (unsigned char)text[1];
  *which = first;
  if (first >= ' ' && first <= '~') return 1;
  *which = (first == 0xC3 ? 0x40U : 0U) + second;
  if ((first == 0xC2 && second >= 0xA0 && second != 0xAD) || (first == 0xC3 && second)) return 2;
  for (size_t i = 0; i < BE_PLAIN_MARKS && first == 0xE2; i++) {
    *which = 256 + i;
    if (strncmp(text, marks[i], 3) == 0) return 3;
  }
  return 0;
}

static bool is_plain(const char *text)
{
  for (size_t length, which; *text; text += length)
    if (!(length = plain_letter(text, &which))) return false;
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

/* Of a letter of 1 point; *length: of its bytes. */
static double advance_of(struct pdf *pdf, const char *text, size_t *length)
{
  size_t which;
  *length = plain_letter(text, &which);
  if (pdf->advances[which] <= 0) {
    char letter[4] = "";
    cairo_text_extents_t extents;
    memcpy(letter, text, *length);
    cairo_scaled_font_text_extents(plain_font(pdf), letter, &extents);
    pdf->advances[which] = extents.x_advance / PLAIN_SIZE;
  }
  return pdf->advances[which];
}

/* Of so many bytes. */
static double plain_width(struct pdf *pdf, const char *text, size_t size)
{
  double width = 0;
  for (size_t i = 0, length; i < size; i += length) width += advance_of(pdf, text + i, &length);
  return width;
}

static bool is_letter(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* A line may end behind a space, a dash, and a hyphen or a stroke between letters (as in Unicode
 * Standard Annex 14: classes SP, BA and B2, HY, SY). */
static bool may_end(const char *text, size_t past)
{
  char last = text[past - 1], next = text[past];
  if (next == ' ' || !next) return false;
  if (last == '-' || last == '/') return past > 1 && text[past - 2] != ' ' && is_letter(next);
  if (last == ' ') return !be_space_binds(text, past - 1);
  return past > 3 &&
         (strncmp(text + past - 3, marks[0], 3) == 0 || strncmp(text + past - 3, marks[1], 3) == 0);
}

static size_t without_space(const char *text, size_t size)
{
  while (size > 0 && text[size - 1] == ' ') size--;
  return size;
}

/* How many bytes of a text the first line of it takes, where letters of 1 point have that width;
 * at least a letter. */
static size_t plain_line(struct pdf *pdf, const char *text, double room)
{
  double width = 0;
  size_t past = 0, end = 0, length;
  for (; text[past]; past += length) {
    width += advance_of(pdf, text + past, &length);
    if (width > room && text[past] != ' ') return end > 0 ? end : past > 0 ? past : length;
    if (may_end(text, past + length)) end = past + length;
  }
  return past;
}

static void show_plain(struct pdf *pdf, const struct words *words, int from, int count, double x,
                       double y, bool right)
{
  const char *at = words->plain;
  cairo_set_font_face(pdf->cairo, cairo_scaled_font_get_font_face(plain_font(pdf)));
  cairo_set_font_size(pdf->cairo, words->size);
  for (int i = 0; i < words->lines && i < from + count; i++) {
    size_t size = words->lines > 1 ? plain_line(pdf, at, words->room) : strlen(at);
    if (i >= from) {
      /* The space at its end is kept: it belongs between it and the next. */
      char *line = g_strndup(at, size);
      double width = right ? plain_width(pdf, at, without_space(at, size)) * words->size : 0;
      cairo_move_to(pdf->cairo, x - width, y + (i - from) * words->leading);
      cairo_show_text(pdf->cairo, line);
      g_free(line);
    }
    at += size;
  }
}

static void break_plain(struct pdf *pdf, struct words *words, double width)
{
  const char *at = words->plain;
  words->width = plain_width(pdf, at, strlen(at)) * words->size;
  words->lines = 1;
  if (width <= 0 || words->width <= width) return;
  words->room = width / words->size;
  words->width = 0;
  for (words->lines = 0; *at; words->lines++) {
    size_t size = plain_line(pdf, at, words->room);
    double line = plain_width(pdf, at, without_space(at, size)) * words->size;
    if (line > words->width) words->width = line;
    at += size;
  }
}

/* ---- all texts ---- */

/* The font's own line is 1.16 times as high as the letters are large. */
struct words be_words(struct pdf *pdf, const char *text, double size, bool bold, double width)
{
  struct words words = {
      .size = size, .bold = bold, .leading = BE_LEADING * size, .ascent = 0.98 * size};
  if (!bold && is_plain(text)) {
    words.plain = text;
    break_plain(pdf, &words, width);
    return words;
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

/* A line by itself keeps the space at its end, which belongs between it and the next. */
static void show_line(struct pdf *pdf, const struct words *words, int i, double x, double y,
                      bool right)
{
  PangoLayout *layout = words->layout;
  if (words->lines > 1) {
    PangoLayoutLine *line = pango_layout_get_line_readonly(words->layout, i);
    const char *all = pango_layout_get_text(words->layout);
    char *text = g_strndup(all + line->start_index, (gsize)line->length);
    layout = set(pdf, text, words->size, words->bold);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    g_free(text);
  }
  cairo_move_to(pdf->cairo, right ? x - width_of(layout) : x, y);
  pango_cairo_show_layout_line(pdf->cairo, pango_layout_get_line_readonly(layout, 0));
  if (layout != words->layout) g_object_unref(layout);
}

void be_words_show(struct pdf *pdf, const struct words *words, int from, int count, double x,
                   double y, bool right, enum be_tone tone)
{
  if (pdf->dry) return;
  be_page_tone(pdf, tone);
  y += words->ascent;
  if (words->plain) show_plain(pdf, words, from, count, x, y, right);
  else
    for (int i = from; i < from + count && i < words->lines; i++, y += words->leading)
      show_line(pdf, words, i, x, y, right);
}

double be_words_width(struct pdf *pdf, const char *text, double size)
{
  struct words words = be_words(pdf, text, size, false, 0);
  double width = words.width;
  be_words_free(&words);
  return width;
}

static double plain_longest(struct pdf *pdf, const char *text)
{
  double longest = 0;
  size_t size = 0;
  for (; *text; text += size) {
    for (size = 1; text[size] && !may_end(text, size);) size++;
    double width = plain_width(pdf, text, without_space(text, size));
    if (width > longest) longest = width;
  }
  return longest;
}

double be_words_longest(struct pdf *pdf, const char *text, double size)
{
  if (is_plain(text)) return plain_longest(pdf, text) * size;
  PangoLayout *layout = set(pdf, text, size, false);
  pango_layout_set_wrap(layout, PANGO_WRAP_WORD);
  pango_layout_set_width(layout, 0);
  double width = width_of(layout);
  g_object_unref(layout);
  return width;
}
