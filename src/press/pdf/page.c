/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One page after the other, each with its foot. */
#include "press/pdf/page.h"

#include <cairo-pdf.h>
#include <string.h>

/* A4 is 210 mm by 297 mm; margins of 18 mm beside, 15 mm above and below. */
static const double a4_short = 210 / 25.4 * 72, a4_long = 297 / 25.4 * 72;
static const double margin = 18 / 25.4 * 72, above = 15 / 25.4 * 72;
static const double foot_text = 7, foot_gap = 12;
/* The notice may take so many lines. */
enum { FOOT_LINES = 4 };

double be_page_left(void)
{
  return margin;
}

double be_page_width(bool wide)
{
  return (wide ? a4_long : a4_short) - 2 * margin;
}

double be_page_height(bool wide)
{
  double foot = FOOT_LINES * 1.3 * foot_text + foot_gap;
  return (wide ? a4_short : a4_long) - 2 * above - foot;
}

double be_page_room(const struct pdf *pdf)
{
  return above + be_page_height(pdf->wide) - pdf->y;
}

void be_page_tone(struct pdf *pdf, enum be_tone tone)
{
  unsigned colour = be_tone_colour(tone, BE_DRAWN_PRINT);
  cairo_set_source_rgb(pdf->cairo, (colour >> 16) / 255.0, (colour >> 8 & 0xFF) / 255.0,
                       (colour & 0xFF) / 255.0);
}

void be_page_rule(struct pdf *pdf, double left, double right, double y, double width,
                  enum be_tone tone)
{
  if (pdf->dry) return;
  be_page_tone(pdf, tone);
  cairo_set_line_width(pdf->cairo, width);
  cairo_move_to(pdf->cairo, left, y);
  cairo_line_to(pdf->cairo, right, y);
  cairo_stroke(pdf->cairo);
}

void be_tag(struct pdf *pdf, const char *element)
{
  if (!pdf->dry && element) cairo_tag_begin(pdf->cairo, element, NULL);
}

void be_tag_end(struct pdf *pdf, const char *element)
{
  if (!pdf->dry && element) cairo_tag_end(pdf->cairo, element);
}

void be_page_begin(struct pdf *pdf, bool wide)
{
  pdf->wide = wide;
  pdf->bare = false;
  pdf->blank = true;
  pdf->y = above;
  pdf->page++;
  if (!pdf->dry)
    cairo_pdf_surface_set_size(pdf->surface, wide ? a4_long : a4_short, wide ? a4_short : a4_long);
}

/* The notice to the left, the number of the page to the right. */
static void foot(struct pdf *pdf)
{
  char number[60];
  double left = margin, right = margin + be_page_width(pdf->wide);
  double y = above + be_page_height(pdf->wide) + foot_gap;
  snprintf(number, sizeof number, "Page %u of %u", pdf->page, pdf->pages);
  struct words words = be_words(pdf, number, foot_text, false, 0);
  double taken = words.width;
  be_page_rule(pdf, left, right, y - foot_gap / 3, 0.5, BE_TONE_HAIRLINE);
  be_words_show(pdf, &words, 0, 1, right, y, true, BE_TONE_MUTED);
  be_words_free(&words);
  if (!pdf->edition->foot) return;
  words = be_words(pdf, pdf->edition->foot, foot_text, false, right - left - taken - 24);
  be_words_show(pdf, &words, 0, FOOT_LINES, left, y, false, BE_TONE_MUTED);
  be_words_free(&words);
}

void be_page_end(struct pdf *pdf)
{
  if (pdf->dry) return;
  if (!pdf->bare) foot(pdf);
  cairo_show_page(pdf->cairo);
}

void be_page_next(struct pdf *pdf, bool wide)
{
  be_page_end(pdf);
  be_page_begin(pdf, wide);
}

void be_page_bare(struct pdf *pdf)
{
  if (!pdf->blank) be_page_next(pdf, false);
  else if (pdf->wide) be_page_need(pdf, 0, false);
  pdf->bare = true;
  pdf->blank = false;
  pdf->y = a4_long;
}

/* A page that nothing stands on is not left empty, only turned. */
void be_page_need(struct pdf *pdf, double height, bool wide)
{
  bool fits = height <= be_page_room(pdf) && (!wide || pdf->wide);
  if (fits) return;
  if (!pdf->blank) be_page_next(pdf, wide);
  else if (wide != pdf->wide) {
    pdf->page--;
    be_page_begin(pdf, wide);
  }
}
