/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From left to right a row figure is names, notes, plot, brackets; an x-y
 * figure is tick labels, plot, names of lines. From the top: title and subtitle (of a file), keys,
 * names of upright rules and the label of the y axis, plot, ticks, x label, foot.
 *
 * A frame of video is laid out at the sizes of a page, in a frame so much smaller that its smallest
 * text is as large as it must be when all of it is enlarged to the frame. */
#include "chart/inside.h"

#include <math.h>
#include <string.h>

enum {
  PLOT_LEAST = 260,
  PLOT_LEAST_NARROW = 180,
  WIDTH_NARROW = 360,
  HEIGHT_NARROW = 320,
  HEIGHT_LEAST = 120,
  RIGHT_LEAST = 24, /* room for the arrow of an open mark at the end of the axis */
  AXIS_HEIGHT = 28,
  LABEL_HEIGHT = 24,
  KEY_LINE = 24,
  NAME_LINES_MAX = 3,
  FRAME_LONG = 1920,
  FRAME_SHORT = 1080,
  TIGHTEST = 4 /* steps in which titles and names lose lines where a frame is too small for them */
};
static const double margin = 0.05; /* of a frame: EBU R 95, graphics safe area */
static const double stretched_most = 1.9;
/* Rows are drawn so much closer before some go on in another part: two lines of text bear it. */
static const double squeezed_most = 0.85;
/* A page has 240 mm for a column of 85 mm; a picture is kept within 10000 px at any usual width. */
static const double column_most = 240.0 / 85, screen_most = 6; /* heights in widths */
static const double labels_most = 0.5;   /* of the height of a frame, before they become letters */
static const double labels_narrow = 0.3; /* of the width of a tall one */

/* Of a tall frame: the plot gets so much of its height before text is larger than it must be; so
 * much before a remark is cut; and text is so much smaller at most. */
static const double plot_wanted = 0.33, plot_kept = 0.25, smaller_most = 0.75;

double be_frame_text(double height)
{
  return height / 30;
}

static double heads_height(const char *text, double size, double width, double gap, size_t most)
{
  size_t lines = be_text_lines(text, size, width);
  return (double)(lines < most ? lines : most) * (size + gap);
}

/* ---- from left to right ---- */

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
  double beside = names + (notes > 0 ? GAP + notes : 0);
  double widest = names > notes ? names : notes;
  /* A frame does not grow. */
  if (layout->fixed && (widest > layout->width * 0.42)) layout->narrow = true;
  if (layout->narrow) {
    /* Notes end where brackets start, or at the edge. */
    layout->note_end = layout->width - layout->pad;
    if (layout->bracket_lanes)
      layout->note_end -= 10 + (double)layout->bracket_lanes * BRACKET_LANE;
    layout->name_width = layout->note_end - layout->pad - (notes > 0 ? GAP + notes : 0);
    return layout->pad + 2 * MARK_RADIUS;
  }
  layout->notes_below = notes > 0 && beside > layout->width * 0.45;
  double columns = layout->notes_below ? widest : beside;
  layout->note_end = layout->pad + columns;
  return layout->note_end + GAP + MARK_RADIUS;
}

static double widest_word(const char *text)
{
  double widest = 0;
  char word[200];
  while (*text) {
    size_t length = strcspn(text, " "), kept = length < sizeof word ? length : sizeof word - 1;
    memcpy(word, text, kept);
    word[kept] = '\0';
    widest = fmax(widest, be_text_width(word, SMALL_TEXT));
    text += length + (text[length] == ' ');
  }
  return widest;
}

static double widest_label_word(const struct be_figure *figure)
{
  double widest = 0;
  for (size_t i = 0; i < figure->item_count; i++)
    if (figure->items[i].kind == ITEM_LABEL)
      widest = fmax(widest, widest_word(figure->items[i].text));
  return widest;
}

/* Whether names of the x axis fit under it, and in how many lines. */
static void set_names(const struct be_figure *figure, struct layout *layout)
{
  const struct axis *axis = &figure->x;
  if (!axis->names) return;
  layout->x_ticks = (struct ticks){.first = 0, .step = 1, .count = axis->names_count};
  layout->tick_width = be_scale_px(&layout->x, 1) - be_scale_px(&layout->x, 0) - 8;
  for (size_t i = 0; i < axis->names_count; i++) {
    size_t lines = be_text_lines(axis->names[i], SMALL_TEXT, layout->tick_width);
    if (lines > layout->name_lines) layout->name_lines = lines;
    if (widest_word(axis->names[i]) > layout->tick_width) layout->numbered = true;
  }
  if (layout->name_lines > NAME_LINES_MAX) layout->numbered = true;
  if (layout->numbered) layout->name_lines = 1;
}

static double labels_widest(const struct layout *layout)
{
  return layout->narrow ? 0.34 : layout->fixed ? 0.36 : 0.3;
}

/* Beside their lines, or as letters; several of these share a line where they are many. */
static void set_labels(const struct be_figure *figure, struct layout *layout)
{
  double whole = be_labels_width(figure, labels_widest(layout) * layout->width);
  layout->label_width = whole;
  if (!layout->fixed || whole == 0) return;
  double mark = layout->cuts ? LABEL_MARK : 0;
  if (be_labels_height(figure, whole) > labels_most * layout->height ||
      widest_label_word(figure) > whole ||
      (layout->narrow && whole + mark > labels_narrow * layout->width))
    layout->lettered = true;
  if (!layout->lettered) return;
  bool few = be_labels_height(figure, layout->width) < plot_kept * layout->height;
  layout->label_width = be_text_width(few ? "W" : "W W W W", SMALL_TEXT);
}

static void set_columns(const struct be_figure *figure, struct layout *layout)
{
  layout->x = be_axis_range(figure, true);
  layout->x.start = 0;
  layout->x.end = layout->width;
  layout->x_ticks = be_axis_ticks(&layout->x, figure->x.integers, 80);
  double half_tick = figure->x.names ? 0 : be_ticks_width(&layout->x_ticks) / 2;
  double least = RIGHT_LEAST > half_tick ? RIGHT_LEAST : half_tick;
  double right = layout->pad + least;
  set_labels(figure, layout);
  if (layout->label_width > 0) right = layout->pad + layout->label_width + GAP + ARROW;
  if (layout->cuts) right += LABEL_MARK;
  if (layout->bracket_lanes) right += 4 + (double)layout->bracket_lanes * BRACKET_LANE;
  if (figure->row_count) layout->left = left_of_rows(figure, layout);
  else layout->left = layout->pad + be_ticks_width(&layout->y_ticks) + GAP;
  if (layout->left < layout->pad + half_tick) layout->left = layout->pad + half_tick;
  double plot_least = layout->narrow ? PLOT_LEAST_NARROW : PLOT_LEAST;
  if (!layout->fixed && layout->width < layout->left + plot_least + right)
    layout->width = layout->left + plot_least + right;
  layout->right = layout->width - right;
  layout->x.start = layout->left;
  layout->x.end = layout->right;
  double space = figure->x.integers ? 16 : layout->narrow ? 20 : 36;
  /* Labels may be wider than those of the few ticks that were tried. */
  double spacing = 0, wanted = be_ticks_width(&layout->x_ticks) + space;
  while (wanted > spacing) {
    spacing = wanted < 32 ? 32 : wanted;
    layout->x_ticks = be_axis_ticks(&layout->x, figure->x.integers, spacing);
    wanted = be_ticks_width(&layout->x_ticks) + space;
  }
  set_names(figure, layout);
}

/* Where both cannot be, names under the axis are worth more than names beside lines. */
static void set_columns_and_names(const struct be_figure *figure, struct layout *layout)
{
  set_columns(figure, layout);
  if (!layout->fixed || !layout->numbered || layout->lettered || !(layout->label_width > 0)) return;
  layout->lettered = true;
  layout->numbered = false;
  layout->name_lines = 0;
  set_columns(figure, layout);
}

/* ---- from the top ---- */

double be_layout_below(const struct be_figure *figure, const struct layout *layout)
{
  double lines = layout->name_lines > 1 ? (double)layout->name_lines - 1 : 0;
  return AXIS_HEIGHT + lines * SMALL_LINE + (*figure->x.label ? LABEL_HEIGHT : 0) +
         (layout->foot_lines ? 6 : 0) + (double)layout->foot_lines * SMALL_LINE + layout->pad_y;
}

static void set_y(struct layout *layout)
{
  layout->y.start = layout->bottom;
  layout->y.end = layout->top;
  layout->y_ticks = be_axis_ticks(&layout->y, false, layout->fixed ? 36 : 52);
}

/* Of the lines that a text may have in a frame, so many when it has to be tighter. */
static size_t fewer_lines(size_t most, int tighter)
{
  size_t lines = most * (size_t)(TIGHTEST - tighter) / TIGHTEST;
  return most == SIZE_MAX ? most : lines > 1 ? lines : 1;
}

/* smaller: than be_frame_text(), 1 or less. */
static void set_frame(const struct be_figure *figure, enum be_frame frame, double smaller,
                      int tighter, struct layout *layout)
{
  bool wide = frame == BE_FRAME_WIDE, tall = frame == BE_FRAME_TALL;
  layout->narrow = frame == BE_FRAME_COLUMN || tall;
  layout->fixed = wide || tall;
  layout->zoom =
      layout->fixed ? smaller * be_frame_text(wide ? FRAME_SHORT : FRAME_LONG) / SMALL_TEXT : 1;
  layout->title_text = tall ? 17 : TITLE_TEXT;
  layout->title_most = fewer_lines(tall ? 8 : wide ? 4 : SIZE_MAX, tighter);
  layout->subtitle_most = fewer_lines(tall ? 5 : wide ? 3 : SIZE_MAX, tighter);
  layout->name_most = fewer_lines(tall ? 5 : wide ? 3 : SIZE_MAX, tighter);
  layout->head_gap = tall ? 5 : 8;
  layout->subtitle_text = tall ? SMALL_TEXT : NAME_TEXT;
  layout->width = figure->width;
  layout->height = figure->height;
  if (layout->narrow) {
    layout->width = fmin(layout->width, WIDTH_NARROW);
    layout->height = fmin(layout->height, HEIGHT_NARROW);
  }
  layout->pad = layout->pad_y = !layout->standalone ? 0 : layout->narrow ? 16 : 24;
  if (!layout->fixed) return;
  layout->width = (wide ? FRAME_LONG : FRAME_SHORT) / layout->zoom;
  layout->height = (wide ? FRAME_SHORT : FRAME_LONG) / layout->zoom;
  layout->pad = margin * layout->width;
  layout->pad_y = margin * layout->height;
}

/* Rows of a frame are drawn out so that they fill it, or squeezed, but for names above them. */
static void fill_frame(const struct be_figure *figure, struct layout *layout)
{
  double room = layout->height - be_layout_below(figure, layout) - layout->top, heads = 0;
  double natural = layout->bottom - layout->top, before = layout->row_edge[0];
  for (size_t i = 0; i < figure->row_count; i++) heads += layout->row_head[i];
  double bodies = natural - heads;
  layout->used = (heads + squeezed_most * bodies) / fmax(room, 1);
  double longer = fmin(fmax(1, room / natural), stretched_most);
  double shorter = fmax(fmin(1, (room - heads) / bodies), squeezed_most);
  for (size_t i = 0; i < figure->row_count; i++) {
    double after = layout->row_edge[i + 1], high = after - before;
    double more = (longer - 1) * high + (shorter - 1) * (high - layout->row_head[i]);
    double moved = layout->row_edge[i] - before + more / 2;
    layout->row_marks[i] += moved;
    layout->row_summary[i] += moved;
    layout->row_edge[i + 1] = layout->row_edge[i] + high + more;
    before = after;
  }
  layout->bottom = layout->row_edge[figure->row_count];
}

/* A remark that would leave too little of a frame for the plot is cut short. */
static void cut_foot(const struct be_figure *figure, struct layout *layout)
{
  double least = layout->height * plot_kept;
  while (layout->foot_lines > 1 &&
         layout->height - be_layout_below(figure, layout) - layout->top < least) {
    layout->foot_lines--;
    layout->cut = true;
  }
}

static void set_heights(const struct be_figure *figure, struct layout *layout)
{
  double bottom = layout->height - be_layout_below(figure, layout);
  double least = be_labels_height(figure, layout->label_width);
  if (least < HEIGHT_LEAST) least = HEIGHT_LEAST;
  if (!layout->fixed && bottom < layout->top + least) bottom = layout->top + least;
  layout->bottom = bottom < layout->top + 40 ? layout->top + 40 : bottom;
  bool shared = layout->lettered && be_labels_height(figure, layout->width) > bottom - layout->top;
  if (layout->fixed)
    layout->used =
        layout->cut || shared ? 2 : plot_kept * layout->height / fmax(1, bottom - layout->top);
  set_y(layout);
}

static enum be_status lay_out(const struct be_figure *figure, enum be_frame frame, double smaller,
                              int tighter, struct be_arena *arena, struct layout *layout)
{
  set_frame(figure, frame, smaller, tighter, layout);
  layout->shift = be_arena_alloc(arena, (figure->item_count + 1) * sizeof *layout->shift);
  if (!layout->shift) return BE_NO_MEMORY;
  enum be_status status = be_layout_brackets(figure, arena, layout);
  if (status == BE_OK) status = be_layout_cuts(figure, arena, layout);
  if (status != BE_OK) return status;
  /* The y ticks give the left margin, so they are chosen once before the
   * height is known exactly and once after. */
  layout->y = be_axis_range(figure, false);
  layout->bottom = layout->height > HEIGHT_LEAST ? layout->height : HEIGHT_LEAST;
  set_y(layout);
  set_columns_and_names(figure, layout);
  status = be_layout_rules(figure, arena, layout);
  if (status == BE_OK) status = be_layout_beside(figure, arena, layout);
  if (status != BE_OK) return status;

  double inner = layout->width - 2 * layout->pad;
  const char *foot = be_foot_words(figure, layout, arena);
  if (!foot) return BE_NO_MEMORY;
  layout->foot_lines = be_text_lines(foot, SMALL_TEXT, inner);
  layout->key_lines = be_key_lines(figure, inner);
  layout->heads_bottom = layout->pad_y;
  if (layout->standalone)
    layout->heads_bottom += heads_height(figure->title, layout->title_text, inner / BE_BOLD,
                                         layout->head_gap, layout->title_most) +
                            heads_height(figure->subtitle, layout->subtitle_text, inner,
                                         layout->head_gap, layout->subtitle_most) +
                            10;
  layout->keys_bottom = layout->heads_bottom + (double)layout->key_lines * KEY_LINE;
  layout->top = layout->keys_bottom + (double)layout->rule_lanes * RULE_LANE + 12;
  if (layout->fixed) cut_foot(figure, layout);
  if (figure->row_count) {
    status = be_layout_rows(figure, arena, layout);
    if (status != BE_OK) return status;
    if (layout->fixed) fill_frame(figure, layout);
  } else set_heights(figure, layout);
  double height = layout->bottom + be_layout_below(figure, layout);
  if (layout->fixed) layout->down = fmax(0, (layout->height - height) / 2);
  else {
    layout->height = height;
    layout->used = height / (layout->width * (layout->narrow ? column_most : screen_most));
  }
  return BE_OK;
}

/* Whether a tall frame bears text of this size. */
static bool is_roomy(const struct be_figure *figure, const struct layout *layout)
{
  double room = layout->height - be_layout_below(figure, layout) - layout->top;
  double inner = layout->width - 2 * layout->pad;
  double axes = fmax(be_text_width(figure->x.label, SMALL_TEXT),
                     figure->row_count ? 0 : be_text_width(figure->y.label, SMALL_TEXT));
  bool first = figure->row_count == 0 || layout->row_edge[1] - layout->row_edge[0] <= room;
  bool whole =
      be_text_lines(figure->title, layout->title_text, inner / BE_BOLD) <= layout->title_most &&
      be_text_lines(figure->subtitle, layout->subtitle_text, inner) <= layout->subtitle_most;
  return first && whole && !layout->cut && axes <= inner && room >= plot_wanted * layout->height;
}

static double smaller_by(int size)
{
  return 1 - (1 - smaller_most) * size / (BE_TEXT_SIZES - 1);
}

/* One row, or line, that cannot go on in another part. */
static bool is_too_high(const struct be_figure *figure, const struct layout *layout)
{
  return layout->fixed && be_figure_rows(figure) < 2 &&
         layout->bottom + be_layout_below(figure, layout) > layout->height + 0.5;
}

enum be_status be_layout(const struct be_figure *figure, enum be_frame frame, bool standalone,
                         struct be_arena *arena, struct layout *layout)
{
  enum be_status status = BE_OK;
  int size = figure->size, tighter = 0;
  for (; size < BE_TEXT_SIZES; size++) {
    *layout = (struct layout){.standalone = standalone, .size = size, .beside = 1};
    status = lay_out(figure, frame, smaller_by(size), 0, arena, layout);
    if (status != BE_OK || frame != BE_FRAME_TALL || is_roomy(figure, layout)) break;
  }
  if (size == BE_TEXT_SIZES) size--;
  while (status == BE_OK && is_too_high(figure, layout) && ++tighter < TIGHTEST) {
    *layout = (struct layout){.standalone = standalone, .size = size, .beside = 1};
    status = lay_out(figure, frame, smaller_by(size), tighter, arena, layout);
  }
  return status;
}
