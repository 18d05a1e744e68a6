/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Notes are set beside their point and moved up or down, a line at a time,
 * until they cover no mark and no earlier note and lie inside the figure. */
#include "chart/inside.h"

#include <string.h>

enum { MOVES = 24 }; /* after so many the note stays where it is */

struct box {
  double left, right, top, bottom;
};

static bool overlap(const struct box *a, const struct box *b)
{
  return a->left < b->right && b->left < a->right && a->top < b->bottom && b->top < a->bottom;
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

static struct box find_place(const struct pen *pen, const struct item *note,
                             const struct box *boxes, size_t count)
{
  const struct box first = wanted(pen, note);
  struct box box = first;
  for (int move = 1; move < MOVES; move++) {
    bool inside = box.top >= pen->layout->heads_bottom && box.bottom <= pen->layout->bottom;
    if (inside && is_free(boxes, count, &box)) return box;
    double lines = (move + 1) / 2 * (move % 2 ? -1.0 : 1.0);
    box.top = first.top + lines * (SMALL_TEXT + 4);
    box.bottom = first.bottom + lines * (SMALL_TEXT + 4);
  }
  return first;
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

enum be_status be_svg_notes(const struct pen *pen, struct be_arena *arena)
{
  const struct be_figure *figure = pen->figure;
  struct box *boxes = be_arena_alloc(arena, (figure->item_count + 1) * sizeof *boxes);
  if (!boxes) return BE_NO_MEMORY;
  size_t count = 0;
  /* The marks of a row are too many to go round: there the halo must do. */
  for (size_t i = 0; i < figure->item_count && figure->row_count == 0; i++)
    if (figure->items[i].kind == ITEM_MARK) boxes[count++] = mark_box(pen, &figure->items[i]);
  for (int pass = 0; pass < 2; pass++) /* names of rules come first */
    for (size_t i = 0; i < figure->item_count; i++) {
      const struct item *item = &figure->items[i];
      if (item->kind != (pass == 0 ? ITEM_RULE_Y : ITEM_NOTE)) continue;
      boxes[count] = find_place(pen, item, boxes, count);
      write_note(pen, item, &boxes[count]);
      count++;
    }
  return BE_OK;
}
