/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From left to right a row figure is names, notes, plot, brackets; an x-y
 * figure is tick labels, plot. From the top: title and subtitle (standalone),
 * names of upright rules and the label of the y axis, plot, ticks, x label. */
#include "chart/inside.h"

enum {
  PLOT_LEAST = 260,
  PLOT_LEAST_NARROW = 180,
  WIDTH_NARROW = 360,
  HEIGHT_NARROW = 320,
  HEIGHT_LEAST = 120,
  RIGHT_LEAST = 24, /* room for the arrow of an open mark at the end of the axis */
  AXIS_HEIGHT = 28,
  LABEL_HEIGHT = 24
};

static double heads_height(const char *text, double size, double width)
{
  return (double)be_text_lines(text, size, width) * (size + 8);
}

/* Names and notes: their columns, or one above the other where that is narrower
 * and the plot would get less than half of the width. */
static double left_of_rows(const struct be_figure *figure, struct layout *layout)
{
  double names = 0, notes = 0;
  for (size_t i = 0; i < figure->row_count; i++) {
    double name = be_text_width(figure->rows[i].name, NAME_TEXT);
    double note = be_text_width(figure->rows[i].note, SMALL_TEXT);
    if (name > names) names = name;
    if (note > notes) notes = note;
  }
  if (layout->narrow) {
    /* Notes end where brackets start, or at the edge. */
    layout->note_end = layout->width - layout->pad;
    if (layout->bracket_lanes)
      layout->note_end -= 10 + (double)layout->bracket_lanes * BRACKET_LANE;
    layout->name_width = layout->note_end - layout->pad - (notes > 0 ? GAP + notes : 0);
    return layout->pad + 2 * MARK_RADIUS;
  }
  double beside = names + (notes > 0 ? GAP + notes : 0);
  layout->notes_below = notes > 0 && beside > figure->width * 0.45;
  double columns = layout->notes_below ? (names > notes ? names : notes) : beside;
  layout->note_end = layout->pad + columns;
  return layout->note_end + GAP + MARK_RADIUS;
}

static void set_columns(const struct be_figure *figure, struct layout *layout)
{
  layout->x = be_axis_range(figure, true);
  layout->x.start = 0;
  layout->x.end = layout->width;
  layout->x_ticks = be_axis_ticks(&layout->x, figure->x.integers, 80);
  double half_tick = be_ticks_width(&layout->x_ticks) / 2;
  double least = RIGHT_LEAST > half_tick ? RIGHT_LEAST : half_tick;
  double right = layout->pad + least;
  if (layout->bracket_lanes) right += 4 + (double)layout->bracket_lanes * BRACKET_LANE;
  if (figure->row_count) layout->left = left_of_rows(figure, layout);
  else layout->left = layout->pad + be_ticks_width(&layout->y_ticks) + GAP;
  if (layout->left < layout->pad + half_tick) layout->left = layout->pad + half_tick;
  double plot_least = layout->narrow ? PLOT_LEAST_NARROW : PLOT_LEAST;
  if (layout->width < layout->left + plot_least + right)
    layout->width = layout->left + plot_least + right;
  layout->right = layout->width - right;
  layout->x.start = layout->left;
  layout->x.end = layout->right;
  double space = figure->x.integers ? 16 : layout->narrow ? 20 : 36;
  double spacing = be_ticks_width(&layout->x_ticks) + space;
  layout->x_ticks = be_axis_ticks(&layout->x, figure->x.integers, spacing < 32 ? 32 : spacing);
}

static double below(const struct be_figure *figure, const struct layout *layout)
{
  return AXIS_HEIGHT + (*figure->x.label ? LABEL_HEIGHT : 0) + layout->pad;
}

static void set_y(struct layout *layout)
{
  layout->y.start = layout->bottom;
  layout->y.end = layout->top;
  layout->y_ticks = be_axis_ticks(&layout->y, false, 52);
}

enum be_status be_layout(const struct be_figure *figure, bool standalone, bool narrow,
                         struct be_arena *arena, struct layout *layout)
{
  double width = narrow && figure->width > WIDTH_NARROW ? WIDTH_NARROW : figure->width;
  double height = narrow && figure->height > HEIGHT_NARROW ? HEIGHT_NARROW : figure->height;
  *layout = (struct layout){.standalone = standalone,
                            .narrow = narrow,
                            .pad = !standalone ? 0
                                   : narrow    ? 16
                                               : 24,
                            .width = width};
  layout->shift = be_arena_alloc(arena, (figure->item_count + 1) * sizeof *layout->shift);
  if (!layout->shift) return BE_NO_MEMORY;
  enum be_status status = be_layout_brackets(figure, arena, layout);
  if (status != BE_OK) return status;
  /* The y ticks give the left margin, so they are chosen once before the
   * height is known exactly and once after. */
  layout->y = be_axis_range(figure, false);
  layout->bottom = height > HEIGHT_LEAST ? height : HEIGHT_LEAST;
  set_y(layout);
  set_columns(figure, layout);
  status = be_layout_rules(figure, arena, layout);
  if (status != BE_OK) return status;

  double inner = layout->width - 2 * layout->pad;
  layout->heads_bottom = layout->pad;
  if (standalone)
    layout->heads_bottom += heads_height(figure->title, TITLE_TEXT, inner) +
                            heads_height(figure->subtitle, NAME_TEXT, inner) + 10;
  layout->top = layout->heads_bottom + (double)layout->rule_lanes * RULE_LANE + 12;
  if (figure->row_count) {
    status = be_layout_rows(figure, arena, layout);
    if (status != BE_OK) return status;
  } else {
    layout->bottom = height - below(figure, layout);
    if (layout->bottom < layout->top + HEIGHT_LEAST) layout->bottom = layout->top + HEIGHT_LEAST;
    set_y(layout);
  }
  layout->height = layout->bottom + below(figure, layout);
  return BE_OK;
}
