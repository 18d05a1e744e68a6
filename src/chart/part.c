/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What of a figure of many rows has room in a frame of video, and that as a figure of its own. */
#include "chart/inside.h"

#include <math.h>

static bool is_of_rows(const struct item *item, double first, double past)
{
  switch (item->kind) {
  case ITEM_RULE_X:
  case ITEM_KEY: return true;
  case ITEM_LINE: return false;
  case ITEM_BRACKET: return fmin(item->y2, past - 1) > fmax(item->y, first);
  case ITEM_MARK:
  case ITEM_BAR:
  case ITEM_SPAN:
  case ITEM_RULE_Y:
  case ITEM_NOTE:
  case ITEM_BOX:
  case ITEM_LABEL: break;
  }
  return item->y >= first - 0.5 && item->y < past - 0.5;
}

/* Rules, keys and what stands in these rows: or, of an x-y figure, belongs to these lines. */
static void copy_item(struct be_figure *part, const struct be_figure *figure,
                      const struct item *item, double from, double count)
{
  struct item copy = *item;
  if (item->text) copy.text = be_figure_copy(part, item->text);
  part->means = be_figure_copy(part, item->means);
  part->aside = item->aside;
  if (item->kind == ITEM_LINE) {
    be_figure_line(part, item->points, item->points + item->count, item->count, item->tone,
                   item->stroke);
    return;
  }
  if (item->kind == ITEM_BRACKET) {
    copy.y = fmax(item->y, from);
    copy.y2 = fmin(item->y2, from + count - 1);
  }
  if (figure->row_count && item->kind != ITEM_RULE_X && item->kind != ITEM_KEY) {
    copy.y -= from;
    copy.y2 -= from;
  }
  be_figure_add(part, copy);
}

static void copy_items(struct be_figure *part, const struct be_figure *figure, size_t from,
                       size_t count)
{
  size_t line = 0;
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *item = &figure->items[i];
    bool common = item->kind == ITEM_RULE_X || item->kind == ITEM_RULE_Y || item->kind == ITEM_KEY;
    bool wanted = figure->row_count ? is_of_rows(item, (double)from, (double)(from + count))
                                    : common || (line >= from && line < from + count);
    line += item->kind == ITEM_LABEL;
    if (wanted) copy_item(part, figure, item, (double)from, (double)count);
  }
}

struct be_figure *be_figure_part(const struct be_figure *figure, size_t from, size_t count)
{
  if (!figure || figure->status != BE_OK) return NULL;
  size_t all = be_figure_rows(figure);
  struct be_buf subtitle;
  be_buf_init(&subtitle, 1 << 20);
  be_buf_text(&subtitle, figure->subtitle);
  if (count < all)
    be_buf_format(&subtitle, "%s%zu to %zu of %zu", subtitle.size ? "; " : "", from + 1,
                  from + count, all);
  struct be_figure *part =
      subtitle.status == BE_OK
          ? be_figure_create(figure->title, subtitle.data, figure->width, figure->height)
          : NULL;
  be_buf_free(&subtitle);
  if (!part) return NULL;
  struct scale x = be_axis_range(figure, true), y = be_axis_range(figure, false);
  be_figure_twin(part, "%s", figure->words);
  be_figure_x(part, figure->x.label, x.low, x.high, figure->x.integers);
  if (figure->row_count == 0) be_figure_y(part, figure->y.label, y.low, y.high);
  be_figure_scaling(part, figure->x.scaling, figure->y.scaling);
  if (figure->x.names) be_figure_names_x(part, figure->x.names, figure->x.names_count);
  part->foot = be_figure_copy(part, figure->foot);
  for (size_t i = from; i < from + count && i < figure->row_count; i++)
    be_figure_row(part, figure->rows[i].name, figure->rows[i].note);
  copy_items(part, figure, from, count);
  if (part->status == BE_OK) return part;
  be_figure_free(part);
  return NULL;
}

static enum be_status used_by(const struct be_figure *figure, enum be_frame frame, size_t from,
                              size_t count, double *used)
{
  struct layout layout;
  struct be_arena *arena = be_arena_create();
  struct be_figure *part = arena ? be_figure_part(figure, from, count) : NULL;
  enum be_status status = part ? be_layout(part, frame, true, arena, &layout) : BE_NO_MEMORY;
  if (status == BE_OK) *used = layout.used;
  be_figure_free(part);
  be_arena_free(arena);
  return status;
}

enum be_status be_figure_fit(const struct be_figure *figure, enum be_frame frame, size_t from,
                             size_t *count, struct be_err *err)
{
  *count = be_figure_rows(figure) - from;
  if (be_figure_status(figure) != BE_OK) return be_figure_status(figure);
  while (*count > 1) {
    double used = 0;
    enum be_status status = used_by(figure, frame, from, *count, &used);
    if (status != BE_OK) return be_fail(err, status, "no memory for a figure");
    if (used <= 1) break;
    size_t fewer = (size_t)((double)*count / used);
    *count = fewer < 1 ? 1 : fewer < *count ? fewer : *count - 1;
  }
  /* As many in each part. */
  size_t left = be_figure_rows(figure) - from, parts = *count ? (left + *count - 1) / *count : 1;
  *count = (left + parts - 1) / parts;
  return be_figure_status(figure);
}
