/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures, by librsvg from the SVG that pages show too. */
#include "press/pdf/page.h"

#include <librsvg/rsvg.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { SVG_MAX = 64 * 1024 * 1024 };
/* Points of a pixel: letters of 14 px come out as 8.4, and are not to be smaller than 7. */
static const double usual = 0.6, least = 7.0 / 14, gap = 6;

/* figure: a part of the block's, or null for all of it. */
static enum be_status draw_svg(struct pdf *pdf, const struct block *block,
                               const struct be_figure *figure, struct be_buf *svg,
                               struct be_err *err)
{
  be_buf_init(svg, SVG_MAX);
  pdf->figures++;
  return block->drawing ? be_drawing_svg(block->drawing, BE_DRAWN_INLINE, pdf->figures, svg, err)
                        : be_figure_svg(figure ? figure : block->figure, BE_FRAME_SCREEN,
                                        BE_DRAWN_INLINE, pdf->figures, svg, err);
}

static bool size_of(const struct be_buf *svg, double *width, double *height)
{
  const char *box = strstr(svg->data, "viewBox=\"0 0 ");
  return box && sscanf(box, "viewBox=\"0 0 %lf %lf\"", width, height) == 2 && *width > 0 &&
         *height > 0;
}

/* Title and subtitle above the drawing. */
static double heads(struct pdf *pdf, const char *title, const char *subtitle, bool wide, bool show)
{
  double height = 0, width = be_page_width(wide);
  for (int i = 0; i < 2; i++) {
    const char *text = i == 0 ? title : subtitle;
    if (!*text) continue;
    struct words words = be_words(pdf, text, i == 0 ? 10.5 : BE_NOTE_TEXT, i == 0, width);
    if (show) {
      be_tag(pdf, "Caption");
      be_words_show(pdf, &words, 0, words.lines, be_page_left(), pdf->y + height, false,
                    i == 0 ? BE_TONE_INK : BE_TONE_MUTED);
      be_tag_end(pdf, "Caption");
    }
    height += words.lines * words.leading;
    be_words_free(&words);
  }
  return height + gap;
}

static int lines_of(struct pdf *pdf, const char *told, double size, double width)
{
  struct words words = be_words(pdf, told, size, false, width);
  int lines = words.lines;
  be_words_free(&words);
  return lines;
}

bool be_told_apart(struct pdf *pdf, const char *told)
{
  enum { FEW_LINES = 6 };
  return lines_of(pdf, told, BE_NOTE_TEXT, BE_PROSE) > FEW_LINES;
}

static double words_height(struct pdf *pdf, const char *told)
{
  if (!*told) return 0;
  if (!be_told_apart(pdf, told))
    return lines_of(pdf, told, BE_NOTE_TEXT, BE_PROSE) * BE_LEADING * BE_NOTE_TEXT;
  return ceil(lines_of(pdf, told, BE_TOLD_TEXT, BE_TOLD_WIDE) / 2.0) * BE_LEADING * BE_TOLD_TEXT;
}

/* As large as a page lets it be, at most as usual. */
static double scale_on(const struct spot *spot, bool wide)
{
  double scale = fmin(usual, be_page_width(wide) / spot->px_wide);
  return fmin(scale, (be_page_height(wide) - spot->head) / spot->px_high);
}

/* What is told of it may go on overleaf, from its fourth line on. */
static double words_least(const struct spot *spot)
{
  return fmin(spot->words, 3 * BE_LEADING * BE_NOTE_TEXT);
}

static double height_least(const struct spot *spot)
{
  double drawing = fmin(spot->size, least) * spot->px_high / spot->parts;
  return spot->head + drawing + words_least(spot);
}

/* A spot's size is the scale, its head the height of all but the drawing and what is told of it. */
static enum be_status measure(struct pdf *pdf, const struct block *block, struct spot *spot,
                              struct be_err *err)
{
  const struct shown shown = be_block_shown(block);
  enum be_status status = draw_svg(pdf, block, NULL, &spot->svg, err);
  if (status == BE_OK && !size_of(&spot->svg, &spot->px_wide, &spot->px_high))
    status = be_fail(err, BE_BAD_INPUT, "the figure \"%.80s\" does not say how large it is",
                     shown.title);
  if (status != BE_OK) return status;
  spot->head = heads(pdf, shown.title, shown.subtitle, false, false) + gap;
  spot->words = words_height(pdf, shown.words);
  double upright = scale_on(spot, false), turned = scale_on(spot, true);
  double rows = block->figure ? (double)be_figure_rows(block->figure) : 0;
  bool tall = rows > 1 && upright < least && be_page_width(false) / spot->px_wide >= least;
  double page = be_page_height(false) - 2 * spot->head - words_least(spot);
  spot->parts = tall ? (unsigned)fmin(rows, ceil(least * spot->px_high / page)) : 1;
  spot->wide = !tall && upright < least && turned > upright;
  spot->size = tall ? least : spot->wide ? turned : upright;
  return BE_OK;
}

/* It may be made smaller to stand where it is told of. */
enum be_status be_pdf_figure_start(struct pdf *pdf, const struct block *block, struct spot *spot,
                                   double *height, struct be_err *err)
{
  enum be_status status = spot->size > 0 ? BE_OK : measure(pdf, block, spot, err);
  if (status == BE_OK) *height = height_least(spot);
  return status;
}

/* As many of the figures that follow one another as this page has room for are made smaller, all
 * alike, to stand on it. */
static enum be_status scale_here(struct pdf *pdf, const struct be_doc *doc, struct spot *spots,
                                 size_t i, double *scale, struct be_err *err)
{
  double room = be_page_room(pdf), others = 0, px_high = 0, start;
  for (size_t k = i; k < doc->block_count && doc->blocks[k].kind == BLOCK_FIGURE; k++) {
    enum be_status status = be_pdf_figure_start(pdf, &doc->blocks[k], &spots[k], &start, err);
    if (status != BE_OK) return status;
    bool alike = spots[k].parts == 1 && spots[k].wide == spots[i].wide;
    px_high += spots[k].px_high;
    double most = (room - others - spots[k].head - words_least(&spots[k])) / px_high;
    double whole = (room - others - spots[k].head - spots[k].words) / px_high;
    if (k > i && (!alike || most < least)) break;
    *scale = fmin(spots[i].size, fmin(most, fmax(whole, least)));
    others += spots[k].head + spots[k].words + BE_FIGURE_GAP;
  }
  return BE_OK;
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

/* The head and what is drawn; svg is not looked at in the dry run. */
static enum be_status set(struct pdf *pdf, const char *title, const char *subtitle,
                          const struct be_buf *svg, double scale, double px_high,
                          struct be_err *err)
{
  enum be_status status = BE_OK;
  pdf->y += heads(pdf, title, subtitle, pdf->wide, !pdf->dry);
  be_tag(pdf, "Figure");
  if (!pdf->dry) status = show(pdf, svg, scale, pdf->y, err);
  be_tag_end(pdf, "Figure");
  pdf->y += scale * px_high + gap;
  pdf->blank = false;
  return status;
}

static enum be_status set_whole(struct pdf *pdf, const struct be_doc *doc, struct spot *spots,
                                size_t i, struct be_err *err)
{
  const struct shown shown = be_block_shown(&doc->blocks[i]);
  double scale = spots[i].size;
  enum be_status status = scale_here(pdf, doc, spots, i, &scale, err);
  if (status != BE_OK) return status;
  return set(pdf, shown.title, shown.subtitle, &spots[i].svg, scale, spots[i].px_high, err);
}

/* One of the parts of a figure that is higher than a page. */
static enum be_status set_part(struct pdf *pdf, const struct block *block, struct spot *spot,
                               size_t number, struct be_err *err)
{
  struct be_figure *part = be_figure_part(block->figure, number, spot->parts);
  double width, height, scale = spot->size;
  struct be_buf svg;
  if (!part) return be_fail(err, BE_NO_MEMORY, "no memory for a figure");
  enum be_status status = draw_svg(pdf, block, part, &svg, err);
  if (status == BE_OK && size_of(&svg, &width, &height)) {
    be_page_need(pdf, spot->head + scale * height, false);
    scale = fmin(scale, (be_page_room(pdf) - spot->head) / height);
    status = set(pdf, be_figure_title(part), be_figure_subtitle(part), &svg, scale, height, err);
  }
  be_buf_free(&svg);
  be_figure_free(part);
  return status;
}

enum be_status be_pdf_figure(struct pdf *pdf, const struct be_doc *doc, struct spot *spots,
                             size_t i, struct be_err *err)
{
  const struct block *block = &doc->blocks[i];
  double height;
  enum be_status status = be_pdf_figure_start(pdf, block, &spots[i], &height, err);
  if (status != BE_OK) return status;
  be_page_need(pdf, height, spots[i].wide);
  if (spots[i].parts == 1) return set_whole(pdf, doc, spots, i, err);
  for (size_t number = 1; number <= spots[i].parts && status == BE_OK; number++)
    status = set_part(pdf, block, &spots[i], number, err);
  return status;
}

void be_told_columns(struct pdf *pdf, const char *told)
{
  struct words words = be_words(pdf, told, BE_TOLD_TEXT, false, BE_TOLD_WIDE);
  double second = be_page_left() + be_page_width(false) - BE_TOLD_WIDE;
  be_tag(pdf, "P");
  for (int from = 0, rows; from < words.lines; from += 2 * rows) {
    if (be_page_room(pdf) < words.leading) be_page_next(pdf, false);
    rows = (int)fmin(ceil((words.lines - from) / 2.0),
                     floor(be_page_room(pdf) / words.leading + 0.001));
    const char *piece = 2 * rows < words.lines ? "Span" : NULL;
    be_tag(pdf, piece);
    be_words_show(pdf, &words, from, rows, be_page_left(), pdf->y, false, BE_TONE_MUTED);
    be_words_show(pdf, &words, from + rows, rows, second, pdf->y, false, BE_TONE_MUTED);
    be_tag_end(pdf, piece);
    pdf->y += rows * words.leading;
    pdf->blank = false;
  }
  be_tag_end(pdf, "P");
  be_words_free(&words);
}
