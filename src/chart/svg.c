/* SPDX-License-Identifier: GPL-3.0-or-later */
/* No element carries a style attribute, because pages forbid them; tones are
 * classes, sizes are presentation attributes. */
#include "chart/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CUT_MAX = 1000 }; /* bytes of a line that is cut short */

void be_svg_text(const struct pen *pen, double x, double y, const struct lettering *lettering,
                 const char *text, size_t length)
{
  struct be_buf *svg = pen->svg, line;
  be_buf_init(&line, 1 << 20);
  be_buf_add(&line, text, length);
  if (line.status != BE_OK) {
    if (svg->status == BE_OK) svg->status = line.status;
    be_buf_free(&line);
    return;
  }
  be_buf_format(svg, "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%.0f\"", x, y, lettering->size);
  if (lettering->bold) be_buf_text(svg, " font-weight=\"600\"");
  if (lettering->anchor) be_buf_format(svg, " text-anchor=\"%s\"", lettering->anchor);
  be_buf_format(svg, " class=\"fill-%s", be_tone_name(lettering->tone));
  if (lettering->halo)
    be_buf_text(svg, " stroke-paper\" stroke-width=\"6\" stroke-linejoin=\"round\" "
                     "paint-order=\"stroke");
  be_buf_text(svg, "\">");
  be_markup_text(svg, line.data);
  be_buf_text(svg, "</text>\n");
  be_buf_free(&line);
}

double be_svg_small_lines(const struct pen *pen, const struct block *block, double y,
                          const char *text)
{
  static const char *const anchors[] = {NULL, "middle", "end"};
  const struct lettering lettering = {SMALL_TEXT, block->tone, anchors[block->anchor], false,
                                      block->halo};
  size_t skip;
  for (; *text; text += skip, y += SMALL_LINE) {
    size_t length = be_text_line(text, SMALL_TEXT, block->width, &skip);
    be_svg_text(pen, block->x, y, &lettering, text, length);
  }
  return y;
}

/* Small muted text: ticks, labels, notes and names of rules. */
static void small(const struct pen *pen, double x, double y, const char *anchor, bool halo,
                  const char *text)
{
  struct lettering lettering = {SMALL_TEXT, BE_TONE_MUTED, anchor, false, halo};
  be_svg_text(pen, x, y, &lettering, text, strlen(text));
}

static void hairline(const struct pen *pen, double x1, double y1, double x2, double y2,
                     const char *tone)
{
  be_buf_format(pen->svg,
                "<path d=\"M%.1f %.1fL%.1f %.1f\" class=\"stroke-%s\" fill=\"none\" "
                "stroke-width=\"1\"/>\n",
                x1, y1, x2, y2, tone);
}

/* ---- head ---- */

void be_svg_open(struct be_buf *svg, const char *kind, double width, double height, double zoom,
                 unsigned number, const char *title, const char *words)
{
  int decimals = zoom > 1 ? 3 : 0;
  be_buf_format(svg,
                "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"figure%s\" "
                "viewBox=\"0 0 %.*f %.*f\" width=\"%.0f\" height=\"%.0f\" role=\"img\" "
                "aria-labelledby=\"figure-%u-title\" aria-describedby=\"figure-%u-words\">\n",
                kind, decimals, width, decimals, height, zoom * width, zoom * height, number,
                number);
  be_buf_format(svg, "<title id=\"figure-%u-title\">", number);
  be_markup_text(svg, title);
  be_buf_format(svg, "</title>\n<desc id=\"figure-%u-words\">", number);
  be_markup_text(svg, words);
  be_buf_text(svg, "</desc>\n");
}

static void head(const struct pen *pen, enum be_drawn how, unsigned number)
{
  const struct layout *layout = pen->layout;
  struct be_buf *svg = pen->svg;
  const char *kind = layout->standalone ? "" : layout->narrow ? " narrow" : " wide";
  be_svg_open(svg, kind, layout->width, layout->height, layout->zoom, number, pen->figure->title,
              pen->figure->words);
  if (layout->standalone) be_svg_ground(svg, how);
}

/* The first bytes of a text, less letters from their end until three points fit behind; returns how
 * many are left. */
static size_t cut_short(const char *text, size_t length, double size, double width, char *cut)
{
  do {
    while (length && (text[--length] & 0xC0) == 0x80) {
    }
    memcpy(cut, text, length);
    memcpy(cut + length, "...", 4);
  } while (length && be_text_width(cut, size) > width);
  return length + 3;
}

/* Lines of a width, as many as there may be, from y on down; returns where they end. */
static double some_lines(const struct pen *pen, double y, const struct lettering *how, double width,
                         double apart, size_t most, const char *text)
{
  size_t skip;
  for (size_t line = 1; *text && line <= most; text += skip, y += apart, line++) {
    char cut[CUT_MAX + 4];
    size_t length = be_text_line(text, how->size, width, &skip);
    if (line < most || !text[skip]) {
      be_svg_text(pen, pen->layout->pad, y, how, text, length);
      continue;
    }
    length = cut_short(text, length < CUT_MAX ? length : CUT_MAX, how->size, width, cut);
    be_svg_text(pen, pen->layout->pad, y, how, cut, length);
  }
  return y;
}

/* Title and subtitle, one element a line. */
static void heads(const struct pen *pen)
{
  const struct layout *layout = pen->layout;
  double width = layout->width - 2 * layout->pad;
  const struct lettering title = {layout->title_text, BE_TONE_INK, NULL, true, false};
  const struct lettering subtitle = {layout->subtitle_text, BE_TONE_MUTED, NULL, false, false};
  double y = some_lines(pen, layout->pad_y + title.size, &title, width / BE_BOLD,
                        title.size + layout->head_gap, layout->title_most, pen->figure->title);
  some_lines(pen, y - title.size + subtitle.size, &subtitle, width,
             subtitle.size + layout->head_gap, layout->subtitle_most, pen->figure->subtitle);
}

/* ---- grid and axes ---- */

/* The number of a name; where they are many, of each so many. */
static void x_number(const struct pen *pen, size_t i, double x)
{
  char number[24];
  snprintf(number, sizeof number, "%zu", pen->figure->x.names_count);
  double room = be_scale_px(&pen->layout->x, 1) - be_scale_px(&pen->layout->x, 0);
  double each = ceil((be_text_width(number, SMALL_TEXT) + 4) / room);
  if (fmod((double)i, each) > 0) return;
  snprintf(number, sizeof number, "%zu", i + 1);
  const struct lettering lettering = {SMALL_TEXT, BE_TONE_INK, "middle", false, false};
  be_svg_text(pen, x, pen->layout->bottom + 21, &lettering, number, strlen(number));
}

static void x_name(const struct pen *pen, size_t i, double x)
{
  const struct layout *layout = pen->layout;
  const char *name = pen->figure->x.names[i];
  double half = fmin(layout->tick_width, be_text_width(name, SMALL_TEXT)) / 2;
  x = fmax(fmin(x, layout->width - layout->pad - half), layout->pad + half);
  const struct block block = {x, layout->tick_width, BE_ANCHOR_MIDDLE, BE_TONE_INK, false};
  be_svg_small_lines(pen, &block, layout->bottom + 21, name);
}

static void x_axis(const struct pen *pen)
{
  const struct layout *layout = pen->layout;
  for (size_t i = 0; i < layout->x_ticks.count; i++) {
    double x = be_scale_px(&layout->x, be_tick_at(&layout->x_ticks, i));
    hairline(pen, x, layout->top, x, layout->bottom + 5, "hairline");
    char text[32];
    be_tick_text(&layout->x_ticks, i, text);
    if (layout->numbered) x_number(pen, i, x);
    else if (pen->figure->x.names) x_name(pen, i, x);
    else small(pen, x, layout->bottom + 21, "middle", false, text);
  }
  hairline(pen, layout->left - MARK_RADIUS, layout->bottom, layout->right + MARK_RADIUS,
           layout->bottom, "muted");
  double y = layout->bottom + 45;
  if (layout->name_lines > 1) y += (double)(layout->name_lines - 1) * SMALL_LINE;
  if (*pen->figure->x.label) {
    double half = be_text_width(pen->figure->x.label, SMALL_TEXT) / 2;
    double x = (layout->left + layout->right) / 2;
    if (x + half > layout->width - layout->pad) x = layout->width - layout->pad - half;
    if (x - half < layout->pad) x = layout->pad + half;
    small(pen, x, y, "middle", false, pen->figure->x.label);
  }
}

static void foot(const struct pen *pen, char *words)
{
  const struct layout *layout = pen->layout;
  const struct block block = {layout->pad, layout->width - 2 * layout->pad, BE_ANCHOR_START,
                              BE_TONE_MUTED, false};
  double below = be_layout_below(pen->figure, layout) - layout->pad_y;
  double y = layout->bottom + below - (double)layout->foot_lines * SMALL_LINE + SMALL_TEXT;
  size_t length = 0, last = 0, skip = 0;
  for (size_t i = 0; i < layout->foot_lines; i++, length += skip) {
    last = length;
    be_text_line(words + length, SMALL_TEXT, block.width, &skip);
  }
  if (!words[length]) {
    be_svg_small_lines(pen, &block, y, words);
    return;
  }
  char cut[CUT_MAX + 4];
  length = length - last < CUT_MAX ? length - last : CUT_MAX;
  cut_short(words + last, length, SMALL_TEXT, block.width, cut);
  words[last && words[last - 1] == ' ' ? last - 1 : last] = '\0';
  small(pen, layout->pad, be_svg_small_lines(pen, &block, y, words), NULL, false, cut);
}

static void y_axis(const struct pen *pen)
{
  const struct layout *layout = pen->layout;
  for (size_t i = 0; i < layout->y_ticks.count; i++) {
    double y = be_scale_px(&layout->y, be_tick_at(&layout->y_ticks, i));
    hairline(pen, layout->left - 5, y, layout->right, y, "hairline");
    char text[32];
    be_tick_text(&layout->y_ticks, i, text);
    small(pen, layout->left - 10, y + 5, "end", false, text);
  }
  if (*pen->figure->y.label)
    small(pen, layout->pad, layout->top - 13, NULL, false, pen->figure->y.label);
}

static void row_beside(const struct pen *pen, size_t i)
{
  const struct layout *layout = pen->layout;
  const struct row *row = &pen->figure->rows[i];
  double y = (layout->row_edge[i] + layout->row_edge[i + 1]) / 2;
  bool below = layout->notes_below && *row->note;
  const struct lettering name = {NAME_TEXT, BE_TONE_INK, NULL, false, false};
  be_svg_text(pen, layout->pad, y + (below ? -4 : 5.5), &name, row->name, strlen(row->name));
  if (below) small(pen, layout->pad, y + 16, NULL, false, row->note);
  else if (*row->note) small(pen, layout->note_end, y + 5.5, "end", false, row->note);
}

/* The grid runs behind these, so they have a halo. */
static void row_above(const struct pen *pen, size_t i)
{
  const struct layout *layout = pen->layout;
  const struct row *row = &pen->figure->rows[i];
  const struct lettering name = {NAME_TEXT, BE_TONE_INK, NULL, false, true};
  double y = layout->row_edge[i] + NAME_LINE;
  if (*row->note) small(pen, layout->note_end, y, "end", true, row->note);
  some_lines(pen, y, &name, layout->name_width, NAME_LINE, layout->name_most, row->name);
}

static void row_lines(const struct pen *pen)
{
  const struct layout *layout = pen->layout;
  double right = layout->narrow && layout->bracket_lanes == 0 ? layout->width - layout->pad
                                                              : layout->right + MARK_RADIUS;
  for (size_t i = 1; i < pen->figure->row_count; i++)
    hairline(pen, layout->pad, layout->row_edge[i], right, layout->row_edge[i], "hairline");
}

/* Lines before letters, so that no line runs through a name. */
static void rules(const struct pen *pen)
{
  const struct layout *layout = pen->layout;
  const struct be_figure *figure = pen->figure;
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *item = &figure->items[i];
    if (item->kind == ITEM_RULE_X) {
      double x = be_scale_px(&layout->x, item->x);
      hairline(pen, x, layout->top - 9 - layout->shift[i] * RULE_LANE, x, layout->bottom, "muted");
    } else if (item->kind == ITEM_RULE_Y) {
      double y = be_layout_y(figure, layout, item->y, false);
      hairline(pen, layout->left, y, layout->right, y, "muted");
    }
  }
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *item = &figure->items[i];
    if (item->kind != ITEM_RULE_X) continue;
    double y = layout->top - 13 - layout->shift[i] * RULE_LANE;
    small(pen, be_rule_name_x(layout, item), y, NULL, true, item->text);
  }
}

static void row_names(const struct pen *pen)
{
  for (size_t i = 0; i < pen->figure->row_count; i++)
    if (pen->layout->narrow) row_above(pen, i);
    else row_beside(pen, i);
}

static void items(const struct pen *pen)
{
  for (size_t i = 0; i < pen->figure->item_count; i++) {
    const struct item *item = &pen->figure->items[i];
    double shift = pen->layout->shift[i];
    switch (item->kind) {
    case ITEM_MARK: be_svg_mark(pen, i); break;
    case ITEM_LINE: be_svg_line(pen, item); break;
    case ITEM_BAR: be_svg_bar(pen, item); break;
    case ITEM_SPAN: be_svg_span(pen, item); break;
    case ITEM_BRACKET: be_svg_bracket(pen, item, shift); break;
    case ITEM_BOX: be_svg_box(pen, item); break;
    case ITEM_RULE_X:
    case ITEM_RULE_Y:
    case ITEM_KEY:
    case ITEM_LABEL:
    case ITEM_NOTE: break;
    }
  }
  for (size_t i = 0; i < pen->figure->item_count; i++)
    if (pen->figure->items[i].kind == ITEM_BOX) be_svg_box_word(pen, i);
}

static enum be_status draw(const struct pen *pen, enum be_drawn how, unsigned number,
                           struct be_arena *arena)
{
  const struct layout *layout = pen->layout;
  char *words = be_foot_words(pen->figure, layout, arena);
  if (!words) return BE_NO_MEMORY;
  head(pen, how, number);
  if (layout->down > 0)
    be_buf_format(pen->svg, "<g transform=\"translate(0 %.1f)\">\n", layout->down);
  if (layout->standalone) heads(pen);
  be_svg_keys(pen);
  x_axis(pen);
  if (pen->figure->row_count) row_lines(pen);
  else y_axis(pen);
  rules(pen);
  row_names(pen);
  items(pen);
  enum be_status status = be_svg_labels(pen, arena);
  if (status == BE_OK) status = be_svg_notes(pen, arena);
  foot(pen, words);
  be_buf_text(pen->svg, layout->down > 0 ? "</g>\n</svg>\n" : "</svg>\n");
  return status;
}

enum be_status be_figure_svg(const struct be_figure *figure, enum be_frame frame, enum be_drawn how,
                             unsigned number, struct be_buf *svg, struct be_err *err)
{
  if (!figure) return be_fail(err, BE_NO_MEMORY, "no memory for a figure");
  if (figure->status == BE_TOO_LARGE)
    return be_fail(err, BE_TOO_LARGE, "the figure \"%.80s\" has too many parts", figure->title);
  struct be_arena *arena = figure->status == BE_OK ? be_arena_create() : NULL;
  struct layout layout;
  const struct pen pen = {figure, &layout, svg};
  enum be_status status =
      arena ? be_layout(figure, frame, how != BE_DRAWN_INLINE, arena, &layout) : BE_NO_MEMORY;
  if (status == BE_OK) status = draw(&pen, how, number, arena);
  be_arena_free(arena);
  if (status != BE_OK)
    return be_fail(err, status, "no memory for the figure \"%.80s\"", figure->title);
  return be_buf_status(svg, err);
}
