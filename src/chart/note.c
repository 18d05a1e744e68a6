/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Notes are set beside their point and moved up or down, a line at a time,
 * until they cover no mark, no line and no earlier note and lie inside the
 * figure; each height is tried on the other side of the point too. Where lines
 * are everywhere, they are allowed behind a note. */
#include "chart/inside.h"

#include <math.h>
#include <string.h>

enum { MOVES = 24 }; /* after so many the note stays where it is */

struct box {
  double left, right, top, bottom;
};

static bool overlap(const struct box *a, const struct box *b)
{
  return a->left < b->right && b->left < a->right && a->top < b->bottom && b->top < a->bottom;
}

/* What notes must not cover: boxes, and of all lines together the highest and the
 * lowest pixel in each column of pixels. */
struct crowd {
  struct box *boxes;
  size_t count, columns;
  double *line_top, *line_bottom;
};

static void cross(struct crowd *crowd, double x, double y)
{
  if (!(x >= 0) || x >= (double)crowd->columns) return;
  size_t column = (size_t)x;
  crowd->line_top[column] = fmin(crowd->line_top[column], y);
  crowd->line_bottom[column] = fmax(crowd->line_bottom[column], y);
}

static void add_line(struct crowd *crowd, const struct pen *pen, const struct item *line)
{
  const double *x = line->points, *y = x + line->count;
  double x0 = 0, y0 = 0;
  for (size_t i = 0; i < line->count; i++) {
    double x1 = be_scale_px(&pen->layout->x, x[i]);
    double y1 = be_layout_y(pen->figure, pen->layout, y[i], false);
    double columns = i && isfinite(x1 - x0) ? floor(fabs(x1 - x0)) + 1 : 0;
    /* Where a steep piece of line enters and leaves each column. */
    for (double k = 0; k < columns && columns < 1e5; k++) {
      cross(crowd, x0 + (x1 - x0) * k / columns, y0 + (y1 - y0) * k / columns);
      cross(crowd, x0 + (x1 - x0) * k / columns, y0 + (y1 - y0) * (k + 1) / columns);
    }
    cross(crowd, x1, y1);
    x0 = x1, y0 = y1;
  }
}

static bool on_line(const struct crowd *crowd, const struct box *box)
{
  enum { CLEAR = 3 }; /* px between letters and a line */
  for (size_t c = (size_t)fmax(box->left, 0); c < crowd->columns && (double)c < box->right; c++)
    if (crowd->line_top[c] < box->bottom + CLEAR && crowd->line_bottom[c] > box->top - CLEAR)
      return true;
  return false;
}

static bool is_free(const struct box *boxes, size_t count, const struct box *box)
{
  for (size_t i = 0; i < count; i++)
    if (overlap(&boxes[i], box)) return false;
  return true;
}

static struct box mark_box(const struct pen *pen, const struct item *mark)
{
  double x = be_scale_px(&pen->layout->x, mark->x);
  double y = be_layout_y(pen->figure, pen->layout, mark->y, false);
  double above = MARK_RADIUS + (mark->fill == BE_FILL_OPEN ? ARROW : 0);
  return (struct box){x - MARK_RADIUS, x + MARK_RADIUS, y - above, y + MARK_RADIUS};
}

/* The label of the y axis, above it. */
static struct box label_box(const struct pen *pen)
{
  double bottom = pen->layout->top - 9, left = pen->layout->pad;
  return (struct box){left, left + be_text_width(pen->figure->y.label, SMALL_TEXT),
                      bottom - SMALL_TEXT - 3, bottom};
}

/* Where a note would like to be: beside its point, or above it. The name of a
 * level rule stands on the rule, at the right end of the plot. */
static struct box wanted(const struct pen *pen, const struct item *note)
{
  const struct layout *layout = pen->layout;
  double width = be_text_width(note->text, SMALL_TEXT);
  double x = be_scale_px(&layout->x, note->x);
  double y = be_layout_y(pen->figure, layout, note->y, false);
  double left = x - width / 2, middle = y;
  if (note->kind == ITEM_RULE_Y) left = layout->right - width;
  else if (note->anchor == BE_ANCHOR_START) left = x + 2 * MARK_RADIUS;
  else if (note->anchor == BE_ANCHOR_END) left = x - 2 * MARK_RADIUS - width;
  if (note->kind == ITEM_RULE_Y) middle = y - SMALL_TEXT / 2 - 3;
  else if (note->anchor == BE_ANCHOR_MIDDLE) middle = y - 2 * MARK_RADIUS - SMALL_TEXT / 2;
  /* Inside the figure, and right of the tick labels where there is room. */
  double last = layout->width - layout->pad - width;
  if (left < layout->left) left = layout->left;
  if (left > last) left = last;
  if (left < layout->pad) left = layout->pad;
  return (struct box){left, left + width, middle - SMALL_TEXT / 2 - 1, middle + SMALL_TEXT / 2 + 1};
}

static bool fits(const struct pen *pen, const struct crowd *crowd, bool lines,
                 const struct box *box)
{
  return box->top >= pen->layout->keys_bottom && box->bottom <= pen->layout->bottom &&
         is_free(crowd->boxes, crowd->count, box) && !(lines && on_line(crowd, box));
}

static struct box find_place(const struct pen *pen, const struct item *note,
                             const struct crowd *crowd)
{
  static const enum be_anchor others[] = {BE_ANCHOR_END, BE_ANCHOR_MIDDLE, BE_ANCHOR_START};
  struct item turned = *note;
  turned.anchor = others[note->anchor];
  const struct box sides[2] = {wanted(pen, note), wanted(pen, &turned)};
  int count = note->kind == ITEM_NOTE && note->anchor != BE_ANCHOR_MIDDLE ? 2 : 1;
  for (int lines = 1; lines >= 0; lines--)
    for (int move = 0; move < MOVES; move++)
      for (int side = 0; side < count; side++) {
        struct box box = sides[side];
        double step = (move + 1) / 2 * (move % 2 ? -1.0 : 1.0) * (SMALL_TEXT + 4);
        box.top += step;
        box.bottom += step;
        if (fits(pen, crowd, lines, &box)) return box;
      }
  return sides[0];
}

static void write_note(const struct pen *pen, const struct item *note, const struct box *box)
{
  enum be_anchor anchor = note->kind == ITEM_RULE_Y ? BE_ANCHOR_END : note->anchor;
  static const char *const words[] = {NULL, "middle", "end"};
  struct lettering lettering = {SMALL_TEXT, note->tone, words[anchor], false, true};
  double x = anchor == BE_ANCHOR_START ? box->left
             : anchor == BE_ANCHOR_END ? box->right
                                       : (box->left + box->right) / 2;
  /* A halo leaves gaps around small signs: a line seen above a decimal point
   * makes a colon of it. So the lines behind a note are dimmed as well. */
  be_buf_format(pen->svg,
                "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" class=\"fill-paper\" "
                "fill-opacity=\"0.85\"/>\n",
                box->left, box->top, box->right - box->left, box->bottom - box->top);
  be_svg_text(pen, x, box->bottom - 4, &lettering, note->text, strlen(note->text));
}

/* The marks of a row are too many to go round: there the halo must do. */
static enum be_status gather(const struct pen *pen, struct be_arena *arena, struct crowd *crowd)
{
  const struct be_figure *figure = pen->figure;
  size_t columns = (size_t)pen->layout->width + 1;
  crowd->boxes = be_arena_alloc(arena, (figure->item_count + 2) * sizeof *crowd->boxes);
  crowd->line_top = be_arena_alloc(arena, columns * sizeof *crowd->line_top);
  crowd->line_bottom = be_arena_alloc(arena, columns * sizeof *crowd->line_bottom);
  if (!crowd->boxes || !crowd->line_top || !crowd->line_bottom) return BE_NO_MEMORY;
  crowd->columns = columns;
  for (size_t c = 0; c < columns; c++)
    crowd->line_top[c] = INFINITY, crowd->line_bottom[c] = -INFINITY;
  for (size_t i = 0; i < figure->item_count && figure->row_count == 0; i++) {
    const struct item *item = &figure->items[i];
    if (item->kind == ITEM_MARK) crowd->boxes[crowd->count++] = mark_box(pen, item);
    if (item->kind == ITEM_LINE) add_line(crowd, pen, item);
  }
  if (figure->row_count == 0 && *figure->y.label) crowd->boxes[crowd->count++] = label_box(pen);
  return BE_OK;
}

enum be_status be_svg_notes(const struct pen *pen, struct be_arena *arena)
{
  const struct be_figure *figure = pen->figure;
  struct crowd crowd = {0};
  bool any = false;
  for (size_t i = 0; i < figure->item_count; i++)
    any |= figure->items[i].kind == ITEM_NOTE || figure->items[i].kind == ITEM_RULE_Y;
  if (!any) return BE_OK;
  enum be_status status = gather(pen, arena, &crowd);
  if (status != BE_OK) return status;
  for (int pass = 0; pass < 2; pass++) /* names of rules come first */
    for (size_t i = 0; i < figure->item_count; i++) {
      const struct item *item = &figure->items[i];
      if (item->kind != (pass == 0 ? ITEM_RULE_Y : ITEM_NOTE)) continue;
      struct box box = find_place(pen, item, &crowd);
      write_note(pen, item, &box);
      crowd.boxes[crowd.count++] = box;
    }
  return BE_OK;
}
