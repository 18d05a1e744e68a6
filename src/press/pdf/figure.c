/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures, by librsvg from the SVG that pages show too. */
#include "press/pdf/page.h"

#include <librsvg/rsvg.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { SVG_MAX = 64 * 1024 * 1024 };
/* Points of a pixel: letters of 14 px come out as 8.4, and should not be smaller than 6.5. */
static const double usual = 0.6, least = 6.5 / 14, gap = 6;

static enum be_status draw_svg(struct pdf *pdf, const struct block *block, struct be_buf *svg,
                               struct be_err *err)
{
  be_buf_init(svg, SVG_MAX);
  pdf->figures++;
  return block->drawing ? be_drawing_svg(block->drawing, BE_DRAWN_INLINE, pdf->figures, svg, err)
                        : be_figure_svg(block->figure, BE_FRAME_SCREEN, BE_DRAWN_INLINE,
                                        pdf->figures, svg, err);
}

static bool size_of(const struct be_buf *svg, double *width, double *height)
{
  const char *box = strstr(svg->data, "viewBox=\"0 0 ");
  return box && sscanf(box, "viewBox=\"0 0 %lf %lf\"", width, height) == 2 && *width > 0 &&
         *height > 0;
}

/* Title and subtitle above the drawing. */
static double heads(struct pdf *pdf, const struct block *block, bool wide, bool show)
{
  const struct shown shown = be_block_shown(block);
  double height = 0, width = be_page_width(wide);
  for (int i = 0; i < 2; i++) {
    const char *text = i == 0 ? shown.title : shown.subtitle;
    if (!*text) continue;
    struct words words = be_words(pdf, text, i == 0 ? 10.5 : BE_NOTE_TEXT, i == 0, width);
    if (show)
      be_words_show(pdf, &words, 0, words.lines, be_page_left(), pdf->y + height, false,
                    i == 0 ? BE_TONE_INK : BE_TONE_MUTED);
    height += words.lines * words.leading;
    be_words_free(&words);
  }
  return height + gap;
}

static double words_height(struct pdf *pdf, const struct block *block)
{
  const char *told = be_block_shown(block).words;
  struct words words = be_words(pdf, told, BE_NOTE_TEXT, false, BE_PROSE);
  double height = *told ? words.lines * words.leading : 0;
  be_words_free(&words);
  return fmin(height, be_page_height(false) / 5);
}

/* As large as a page lets it be, at most as usual. */
static double scale_on(const struct spot *spot, bool wide)
{
  double scale = fmin(usual, be_page_width(wide) / spot->px_wide);
  return fmin(scale, (be_page_height(wide) - spot->head) / spot->px_high);
}

/* A spot's size is the scale, its head the height of all but the drawing. */
static enum be_status measure(struct pdf *pdf, const struct block *block, struct spot *spot,
                              struct be_err *err)
{
  struct be_buf svg;
  enum be_status status = draw_svg(pdf, block, &svg, err);
  pdf->figures--;
  if (status == BE_OK && !size_of(&svg, &spot->px_wide, &spot->px_high))
    status = be_fail(err, BE_BAD_INPUT, "the figure \"%.80s\" does not say how large it is",
                     be_block_shown(block).title);
  be_buf_free(&svg);
  if (status != BE_OK) return status;
  spot->head = heads(pdf, block, false, false) + gap + words_height(pdf, block);
  double upright = scale_on(spot, false), turned = scale_on(spot, true);
  spot->wide = upright < least && turned > upright;
  spot->size = spot->wide ? turned : upright;
  return BE_OK;
}

/* It may be made smaller to stand where it is told of. */
enum be_status be_pdf_figure_start(struct pdf *pdf, const struct block *block, struct spot *spot,
                                   double *height, struct be_err *err)
{
  enum be_status status = spot->size > 0 ? BE_OK : measure(pdf, block, spot, err);
  if (status == BE_OK) *height = spot->head + fmin(spot->size, least) * spot->px_high;
  return status;
}

static enum be_status show(struct pdf *pdf, const struct be_buf *svg, double scale, double y,
                           struct be_err *err)
{
  static const char style[] = ".figure{font-family:\"DejaVu Sans\"}\n";
  GError *error = NULL;
  double width, height;
  RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)svg->data, svg->size, &error);
  struct be_buf sheet;
  be_buf_init(&sheet, 1 << 16);
  be_buf_format(&sheet, "%s%s", style, be_plain_style(BE_DRAWN_PRINT));
  enum be_status status = be_buf_status(&sheet, err);
  bool drawn = status == BE_OK && handle && size_of(svg, &width, &height) &&
               rsvg_handle_set_stylesheet(handle, (const guint8 *)sheet.data, sheet.size, &error);
  if (drawn) {
    const RsvgRectangle all = {be_page_left(), y, scale * width, scale * height};
    drawn = rsvg_handle_render_document(handle, pdf->cairo, &all, &error);
  }
  if (status == BE_OK && !drawn)
    status = be_fail(err, BE_BAD_INPUT, "a figure cannot be drawn: %s",
                     error ? error->message : "it is no SVG");
  g_clear_error(&error);
  if (handle) g_object_unref(handle);
  be_buf_free(&sheet);
  return status;
}

enum be_status be_pdf_figure(struct pdf *pdf, const struct block *block, const struct spot *spot,
                             struct be_err *err)
{
  enum be_status status = BE_OK;
  be_page_need(pdf, spot->head + fmin(spot->size, least) * spot->px_high, spot->wide);
  double scale = fmin(spot->size, (be_page_room(pdf) - spot->head) / spot->px_high);
  double top = heads(pdf, block, pdf->wide, !pdf->dry);
  if (!pdf->dry) {
    struct be_buf svg;
    status = draw_svg(pdf, block, &svg, err);
    if (status == BE_OK) status = show(pdf, &svg, scale, pdf->y + top, err);
    be_buf_free(&svg);
  }
  pdf->y += top + scale * spot->px_high + gap;
  pdf->blank = false;
  return status;
}
