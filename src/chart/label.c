/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of lines at the right of the plot: each as near to the end of its line as the others let
 * it, with a hairline where it had to move. Sorted by height they are pushed down from the top, and
 * then up from the bottom where they ran out of the plot. */
#include "chart/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { APART = 3 };

struct label {
  const struct item *item;
  const struct item *mark; /* the last of its line, or null */
  enum cut cut;
  const char *text;
  double wanted, top, height; /* px; wanted: its middle */
};

double be_labels_width(const struct be_figure *figure, double most)
{
  double widest = 0;
  for (size_t i = 0; i < figure->item_count; i++)
    if (figure->items[i].kind == ITEM_LABEL)
      widest = fmax(widest, be_text_width(figure->items[i].text, SMALL_TEXT));
  return fmin(widest, most);
}

static double height_of(const char *text, double width)
{
  return (double)be_text_lines(text, SMALL_TEXT, width) * SMALL_LINE;
}

/* A, B, ... Z, A1, B1, ... */
void be_label_letter(size_t i, char letter[8])
{
  if (i < 26) snprintf(letter, 8, "%c", (char)('A' + i));
  else snprintf(letter, 8, "%c%zu", (char)('A' + i % 26), i / 26 % 1000);
}

double be_labels_height(const struct be_figure *figure, double width)
{
  double height = 0;
  for (size_t i = 0; i < figure->item_count; i++)
    if (figure->items[i].kind == ITEM_LABEL)
      height += height_of(figure->items[i].text, width) + APART;
  return height;
}

static int by_height(const void *a_, const void *b_)
{
  const struct label *a = a_, *b = b_;
  if (a->wanted != b->wanted) return a->wanted < b->wanted ? -1 : 1;
  return a->item < b->item ? -1 : 1;
}

static void place(struct label *labels, size_t count, double top, double bottom)
{
  double free = top;
  for (size_t i = 0; i < count; i++) {
    labels[i].top = fmax(free, labels[i].wanted - labels[i].height / 2);
    free = labels[i].top + labels[i].height + APART;
  }
  for (size_t i = count; i-- > 0;) {
    labels[i].top = fmin(labels[i].top, bottom - labels[i].height);
    bottom = labels[i].top - APART;
  }
}

/* Where a frame has no room for all letters below one another, neighbours share a line. Returns how
 * many lines there are. */
static enum be_status share_lines(struct label *labels, size_t *count, double room,
                                  struct be_arena *arena)
{
  double line = SMALL_LINE + APART;
  size_t lines = room > line ? (size_t)((room + APART) / line) : 1, kept = 0;
  size_t each = (*count + lines - 1) / lines;
  if (each <= 1) return BE_OK;
  for (size_t i = 0; i < *count; i += each, kept++) {
    struct label shared = labels[i];
    shared.mark = NULL;
    for (size_t k = i + 1; k < i + each && k < *count; k++) {
      shared.text = be_arena_format(arena, "%s %s", shared.text, labels[k].text);
      if (!shared.text) return BE_NO_MEMORY;
    }
    shared.wanted =
        (shared.wanted + labels[i + each <= *count ? i + each - 1 : *count - 1].wanted) / 2;
    labels[kept] = shared;
  }
  *count = kept;
  return BE_OK;
}

static void write(const struct pen *pen, const struct label *label)
{
  const struct layout *layout = pen->layout;
  double left = layout->right + GAP + ARROW, middle = label->top + label->height / 2;
  be_buf_format(pen->svg,
                "<path d=\"M%.1f %.1fL%.1f %.1f\" class=\"stroke-muted\" fill=\"none\" "
                "stroke-width=\"1\"/>\n",
                be_scale_px(&layout->x, label->item->x) + be_aside_px(layout, label->item) +
                    MARK_RADIUS + 2,
                label->wanted, left - 4, middle);
  if (layout->cuts && label->mark) {
    be_svg_mark_at(pen->svg, label->mark, left + MARK_RADIUS, middle, true);
    be_svg_cut(pen->svg, label->cut, left + MARK_RADIUS, middle);
  }
  if (layout->cuts) left += LABEL_MARK;
  const struct block block = {left, layout->label_width + 1, BE_ANCHOR_START, label->item->tone,
                              false};
  be_svg_small_lines(pen, &block, label->top + SMALL_TEXT, label->text);
}

enum be_status be_svg_labels(const struct pen *pen, struct be_arena *arena)
{
  const struct be_figure *figure = pen->figure;
  const struct layout *layout = pen->layout;
  size_t count = 0;
  const struct item *mark = NULL;
  struct label *labels = be_arena_alloc(arena, (figure->item_count + 1) * sizeof *labels);
  if (!labels) return BE_NO_MEMORY;
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *item = &figure->items[i];
    if (item->kind == ITEM_MARK && item->fill == BE_FILL_SOLID) mark = item;
    if (item->kind != ITEM_LABEL) continue;
    const char *text = item->text;
    if (layout->lettered) {
      char letter[8];
      be_label_letter(count, letter);
      text = be_arena_text(arena, letter, strlen(letter));
      if (!text) return BE_NO_MEMORY;
    }
    labels[count++] = (struct label){.item = item,
                                     .mark = mark,
                                     .cut = layout->cut_out[i],
                                     .text = text,
                                     .wanted = be_layout_y(figure, layout, item->y, false),
                                     .height = height_of(text, layout->label_width + 1)};
    mark = NULL;
  }
  double top = layout->top - SMALL_LINE / 2.0, bottom = layout->bottom + 2;
  if (count) qsort(labels, count, sizeof *labels, by_height);
  if (layout->lettered) {
    enum be_status status = share_lines(labels, &count, bottom - top, arena);
    if (status != BE_OK) return status;
  }
  place(labels, count, top, bottom);
  for (size_t i = 0; i < count; i++) write(pen, &labels[i]);
  return BE_OK;
}
