/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that have names and are of one material look alike: so something else is cut out of the
 * marks of each, which its name shows too. And lines stand beside one another only as far as the
 * places along the axis let them. */
#include "chart/inside.h"

#include <math.h>
#include <stdlib.h>

static const double beside_most = 0.6; /* of the way from one place to the next */

/* ---- which cut ---- */

struct look {
  enum be_tone tone;
  enum be_shape shape;
  enum be_stroke stroke;
  bool lined, marked;
};

/* The stroke of the first line and the first mark of what belongs to a label. */
static struct look look_of(const struct be_figure *figure, size_t from, size_t label)
{
  struct look look = {0};
  for (size_t i = from; i < label && !look.marked; i++) {
    const struct item *item = &figure->items[i];
    if (item->kind == ITEM_LINE && !look.lined) look.stroke = item->stroke;
    look.lined |= item->kind == ITEM_LINE;
    if (item->kind != ITEM_MARK || item->fill != BE_FILL_SOLID) continue;
    look.tone = item->tone;
    look.shape = item->shape;
    look.marked = true;
  }
  return look;
}

static bool same_look(const struct look *a, const struct look *b)
{
  return a->marked && b->marked && a->tone == b->tone && a->shape == b->shape &&
         a->stroke == b->stroke;
}

enum be_status be_layout_cuts(const struct be_figure *figure, struct be_arena *arena,
                              struct layout *layout)
{
  size_t items = figure->item_count, lines = 0, from = 0;
  layout->cut_out = be_arena_alloc(arena, (items + 1) * sizeof *layout->cut_out);
  struct look *looks = be_arena_alloc(arena, (items + 1) * sizeof *looks);
  if (!layout->cut_out || !looks) return BE_NO_MEMORY;
  for (size_t i = 0; i < items; i++) layout->cut_out[i] = CUT_NOTHING;
  for (size_t i = 0; i < items; i++) {
    if (figure->items[i].kind != ITEM_LABEL) continue;
    size_t alike = 0;
    looks[lines] = look_of(figure, from, i);
    for (size_t k = 0; k < lines; k++) alike += same_look(&looks[k], &looks[lines]);
    for (size_t k = from; k <= i; k++) layout->cut_out[k] = (enum cut)(alike % CUTS);
    layout->cuts |= alike > 0;
    from = i + 1;
    lines++;
  }
  return BE_OK;
}

void be_svg_cut(struct be_buf *svg, enum cut cut, double x, double y)
{
  static const char *const paths[CUTS] = {
      [CUT_LEVEL] = "m-7 0h14",          [CUT_UPRIGHT] = "m0 -8v16",
      [CUT_CROSS] = "m-7 0h14m-7 -8v16", [CUT_RISING] = "m-6 6l12 -12",
      [CUT_FALLING] = "m-6 -6l12 12",    [CUT_DOT] = "h0",
  };
  if (cut == CUT_NOTHING) return;
  be_buf_format(svg,
                "<path d=\"M%.1f %.1f%s\" class=\"stroke-paper\" fill=\"none\" "
                "stroke-width=\"%s\"/>\n",
                x, y, paths[cut], cut == CUT_DOT ? "4\" stroke-linecap=\"round" : "2.2");
}

/* ---- how far beside ---- */

static int by_number(const void *a, const void *b)
{
  double p = *(const double *)a, q = *(const double *)b;
  return p < q ? -1 : p > q;
}

/* px from one place that has marks to the next, the least; infinite where there is one. */
static double least_gap(const struct be_figure *figure, const struct layout *layout, double *places)
{
  double least = INFINITY;
  size_t count = 0;
  for (size_t i = 0; i < figure->item_count; i++)
    if (figure->items[i].kind == ITEM_MARK)
      places[count++] = be_scale_px(&layout->x, figure->items[i].x);
  if (count) qsort(places, count, sizeof *places, by_number);
  for (size_t i = 1; i < count; i++)
    if (places[i] - places[i - 1] > 1) least = fmin(least, places[i] - places[i - 1]);
  return least;
}

enum be_status be_layout_beside(const struct be_figure *figure, struct be_arena *arena,
                                struct layout *layout)
{
  double low = INFINITY, high = -INFINITY;
  for (size_t i = 0; i < figure->item_count; i++) {
    if (figure->items[i].kind != ITEM_MARK && figure->items[i].kind != ITEM_LINE) continue;
    low = fmin(low, figure->items[i].aside);
    high = fmax(high, figure->items[i].aside);
  }
  if (!(high > low)) return BE_OK;
  double *places = be_arena_alloc(arena, figure->item_count * sizeof *places);
  if (!places) return BE_NO_MEMORY;
  layout->beside = fmin(1, beside_most * least_gap(figure, layout, places) / (high - low));
  layout->beside_middle = (low + high) / 2;
  return BE_OK;
}

double be_aside_px(const struct layout *layout, const struct item *item)
{
  return (item->aside - layout->beside_middle) * layout->beside;
}
