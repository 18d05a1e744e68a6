/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where things stand that would otherwise cover one another: marks of a row
 * are stacked, brackets and the names of rules get lanes. All of it depends
 * only on the figure, so the same figure is drawn the same. */
#include "chart/inside.h"

#include <math.h>
#include <stdlib.h>

enum {
  ROW_HEIGHT = 34,
  ROW_HEIGHT_TWO_LINES = 50,
  ROW_HEIGHT_NARROW = 26, /* below the name */
  ROW_HEIGHT_BOX = 34,    /* so that a sliver is seen above and below its word */
  STACK_MAX = 96,         /* px: taller stacks are squeezed */
  SUMMARY_DROP = 15       /* bars and spans stand this far below the marks */
};

/* ---- rows and their marks ---- */

struct placed {
  double x;
  size_t item;
};

static int by_x(const void *a, const void *b)
{
  const struct placed *p = a, *q = b;
  if (p->x != q->x) return p->x < q->x ? -1 : 1;
  return p->item < q->item ? -1 : p->item > q->item;
}

static size_t row_of(const struct be_figure *figure, double y)
{
  double row = floor(y + 0.5);
  double last = (double)figure->row_count - 1;
  return row < 0 ? 0 : row > last ? figure->row_count - 1 : (size_t)row;
}

/* Stacks the marks of one row; returns the height of the stack. ends is room
 * for as many numbers as there are marks. */
static double stack(const struct be_figure *figure, const struct placed *marks, size_t count,
                    double *ends, double *shift)
{
  size_t levels = 0;
  for (size_t i = 0; i < count; i++) {
    const struct item *item = &figure->items[marks[i].item];
    size_t level = 0;
    while (level < levels && ends[level] > marks[i].x - MARK_RADIUS - 1) level++;
    if (level == levels) levels++;
    ends[level] = marks[i].x + MARK_RADIUS + (item->fill == BE_FILL_OPEN ? ARROW : 0);
    shift[marks[i].item] = (double)level;
  }
  if (levels == 0) return 0;
  double step = 2 * MARK_RADIUS + 1;
  double spread = (double)(levels - 1) * step;
  if (spread > STACK_MAX) {
    step *= STACK_MAX / spread;
    spread = STACK_MAX;
  }
  /* Levels 0, 1, 2, 3, ... stand at 0, +1, -1, +2, ... steps from the middle. */
  double middle = levels % 2 == 0 ? 0.5 : 0;
  for (size_t i = 0; i < count; i++) {
    size_t level = (size_t)shift[marks[i].item];
    double steps = (double)((level + 1) / 2) * (level % 2 ? 1 : -1);
    shift[marks[i].item] = (steps - middle) * step;
  }
  return spread + 2 * MARK_RADIUS;
}

static bool has_summary(const struct be_figure *figure, size_t row)
{
  for (size_t i = 0; i < figure->item_count; i++) {
    const struct item *item = &figure->items[i];
    if ((item->kind == ITEM_BAR || item->kind == ITEM_SPAN) && row_of(figure, item->y) == row)
      return true;
  }
  return false;
}

static bool has_box(const struct be_figure *figure, size_t row)
{
  for (size_t i = 0; i < figure->item_count; i++)
    if (figure->items[i].kind == ITEM_BOX && row_of(figure, figure->items[i].y) == row) return true;
  return false;
}

enum be_status be_layout_rows(const struct be_figure *figure, struct be_arena *arena,
                              struct layout *layout)
{
  size_t rows = figure->row_count, items = figure->item_count;
  layout->row_edge = be_arena_alloc(arena, (rows + 1) * sizeof *layout->row_edge);
  layout->row_head = be_arena_alloc(arena, (rows + 1) * sizeof *layout->row_head);
  layout->row_marks = be_arena_alloc(arena, rows * sizeof *layout->row_marks);
  layout->row_summary = be_arena_alloc(arena, rows * sizeof *layout->row_summary);
  struct placed *marks = be_arena_alloc(arena, (items + 1) * sizeof *marks);
  double *ends = be_arena_alloc(arena, (items + 1) * sizeof *ends);
  if (!layout->row_edge || !layout->row_head || !layout->row_marks || !layout->row_summary ||
      !marks || !ends)
    return BE_NO_MEMORY;
  double least = layout->narrow        ? ROW_HEIGHT_NARROW
                 : layout->notes_below ? ROW_HEIGHT_TWO_LINES
                                       : ROW_HEIGHT;
  layout->row_edge[0] = layout->top;
  for (size_t row = 0; row < rows; row++) {
    size_t count = 0;
    for (size_t i = 0; i < items; i++) {
      const struct item *item = &figure->items[i];
      if (item->kind != ITEM_MARK || row_of(figure, item->y) != row) continue;
      marks[count++] = (struct placed){be_scale_px(&layout->x, item->x), i};
    }
    if (count) qsort(marks, count, sizeof *marks, by_x);
    double marks_height = stack(figure, marks, count, ends, layout->shift);
    double drop = count > 0 && has_summary(figure, row) ? SUMMARY_DROP : 0;
    double head = 0;
    size_t lines = be_text_lines(figure->rows[row].name, NAME_TEXT, layout->name_width);
    if (layout->narrow)
      head = 6 + (double)(lines < layout->name_most ? lines : layout->name_most) * NAME_LINE;
    double height = marks_height + drop + (layout->narrow || layout->fixed ? 14 : 18);
    if (height < least) height = least;
    if (has_box(figure, row) && height < ROW_HEIGHT_BOX) height = ROW_HEIGHT_BOX;
    layout->row_head[row] = head;
    double top = layout->row_edge[row] + head;
    layout->row_marks[row] = top + (height - drop) / 2;
    layout->row_summary[row] = layout->row_marks[row];
    if (drop > 0) layout->row_summary[row] += marks_height / 2 + drop - MARK_RADIUS;
    layout->row_edge[row + 1] = top + height;
  }
  layout->bottom = layout->row_edge[rows];
  return BE_OK;
}

double be_layout_y(const struct be_figure *figure, const struct layout *layout, double y,
                   bool summary)
{
  if (figure->row_count == 0) return be_scale_px(&layout->y, y);
  size_t row = row_of(figure, y);
  double part = y - (double)row;
  part = part < -0.5 ? -0.5 : part > 0.5 ? 0.5 : part;
  double height = layout->row_edge[row + 1] - layout->row_edge[row];
  return (summary ? layout->row_summary : layout->row_marks)[row] + part * height;
}

/* ---- lanes ---- */

/* The first lane whose last entry ends before start; grows *lanes. */
static double take_lane(double *ends, size_t *lanes, double start, double end)
{
  size_t lane = 0;
  while (lane < *lanes && ends[lane] > start) lane++;
  if (lane == *lanes) ++*lanes;
  ends[lane] = end;
  return (double)lane;
}

/* Items of one kind in the order of their starts, each given its lane. */
static enum be_status take_lanes(const struct be_figure *figure, struct be_arena *arena,
                                 struct layout *layout, enum item_kind kind, size_t *lanes)
{
  size_t items = figure->item_count, count = 0;
  struct placed *order = be_arena_alloc(arena, (items + 1) * sizeof *order);
  double *ends = be_arena_alloc(arena, (items + 1) * sizeof *ends);
  if (!order || !ends) return BE_NO_MEMORY;
  for (size_t i = 0; i < items; i++) {
    const struct item *item = &figure->items[i];
    if (item->kind != kind) continue;
    double start = kind == ITEM_BRACKET ? item->y : be_rule_name_x(layout, item);
    order[count++] = (struct placed){start, i};
  }
  if (count) qsort(order, count, sizeof *order, by_x);
  /* The label of the y axis stands at the start of the first lane. */
  if (kind == ITEM_RULE_X && figure->row_count == 0 && *figure->y.label)
    take_lane(ends, lanes, 0, layout->pad + be_text_width(figure->y.label, SMALL_TEXT) + GAP);
  for (size_t i = 0; i < count; i++) {
    const struct item *item = &figure->items[order[i].item];
    /* Brackets that share a row need lanes of their own, hence the half row. */
    double end = kind == ITEM_BRACKET ? item->y2 + 0.5
                                      : order[i].x + be_text_width(item->text, SMALL_TEXT) + GAP;
    layout->shift[order[i].item] = take_lane(ends, lanes, order[i].x, end);
  }
  return BE_OK;
}

enum be_status be_layout_brackets(const struct be_figure *figure, struct be_arena *arena,
                                  struct layout *layout)
{
  return take_lanes(figure, arena, layout, ITEM_BRACKET, &layout->bracket_lanes);
}

enum be_status be_layout_rules(const struct be_figure *figure, struct be_arena *arena,
                               struct layout *layout)
{
  return take_lanes(figure, arena, layout, ITEM_RULE_X, &layout->rule_lanes);
}

/* Where the name of an upright rule starts: centred on it, inside the figure. */
double be_rule_name_x(const struct layout *layout, const struct item *rule)
{
  double width = be_text_width(rule->text, SMALL_TEXT);
  double start = be_scale_px(&layout->x, rule->x) - width / 2;
  double last = layout->width - layout->pad - width;
  if (start > last) start = last;
  return start < layout->pad ? layout->pad : start;
}
