/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of this room share: the figure as it was described, and the
 * layout that turns data coordinates into pixels. */
#ifndef BE_CHART_INSIDE_H
#define BE_CHART_INSIDE_H

#include "chart/chart.h"

/* ---- the figure as described ------------------------------------------- */

enum {
  FIGURE_ITEMS_MAX = 1 << 18,
  FIGURE_ROWS_MAX = 4096,
  FIGURE_POINTS_MAX = 1 << 24 /* of all lines together: 256 MB */
};

enum item_kind {
  ITEM_MARK,
  ITEM_LINE,
  ITEM_BAR,
  ITEM_SPAN,
  ITEM_RULE_X,
  ITEM_RULE_Y,
  ITEM_BRACKET,
  ITEM_NOTE,
  ITEM_BOX,
  ITEM_KEY,
  ITEM_LABEL
};

struct item {
  enum item_kind kind;
  double x, y; /* of a span the low end, of a bracket the first row */
  double x2;   /* of a span the high end, of a box the other corner */
  double y2;   /* of a bracket the last row */
  enum be_shape shape;
  enum be_fill fill;
  enum be_tone tone;
  enum be_stroke stroke;
  enum be_anchor anchor;
  double aside; /* px */
  bool thick;
  enum be_pattern pattern;
  enum item_kind shows; /* of a key: what it explains */
  const char *text;
  const char *means;           /* null: no row of the data */
  const struct be_datum *told; /* of each column that the figure then had, or null */
  size_t told_count;
  const double *low, *high; /* of each point, along x if so; null: none */
  bool within_x;
  const double *points; /* of a line: count x values, then count y values */
  size_t count;
};

struct axis {
  const char *label;
  double low, high;
  bool integers;
  enum be_scaling scaling;
  const char *const *names; /* at 0, 1, 2, ... */
  size_t names_count;
};

struct row {
  const char *name;
  const char *note;
};

struct be_figure {
  struct be_arena *arena;
  const char *title, *subtitle, *words;
  const char *means, *foot;
  const char *columns[BE_DATA_TOLD_MAX]; /* told */
  struct be_datum told[BE_DATA_TOLD_MAX];
  size_t told_count;
  const struct be_datum *told_kept;    /* these in the arena, or null */
  const char *row_key, *x_key, *y_key; /* null: made of the label */
  double aside;
  double width, height;
  int size; /* of the text of a tall frame, at most: 0 is the largest */
  struct axis x, y;
  struct row *rows;
  size_t row_count, row_capacity;
  struct item *items;
  size_t item_count, item_capacity;
  size_t points;
  enum be_status status;
};

void be_figure_add(struct be_figure *figure, struct item item);
const char *be_figure_copy(struct be_figure *figure, const char *text);
const struct be_datum *be_figure_told(struct be_figure *figure); /* now, in the arena */

/* ---- the layout -------------------------------------------------------- */

/* Sizes at natural scale, px. No text is smaller than SMALL_TEXT. */
enum {
  TITLE_TEXT = 20,
  NAME_TEXT = 16,
  NAME_LINE = 21, /* from one line of a name to the next */
  SMALL_TEXT = 14,
  GAP = 14, /* between a name, its note and the plot */
  MARK_RADIUS = 5,
  LABEL_MARK = 18, /* room for the mark before the name of a line */
  ARROW = 9,       /* how far the arrow of an open mark reaches beyond it */
  BRACKET_LANE = 14,
  RULE_LANE = 19,
  SMALL_LINE = 18 /* from one line of small text to the next */
};

struct scale {
  enum be_scaling scaling;
  double low, high;  /* data */
  double start, end; /* px of low and of high */
};

enum { BE_TEXT_SIZES = 5 }; /* that a tall frame is tried at */

enum { TICKS_LISTED = 24 };
struct ticks {
  double first, step;
  size_t count;
  int decimals;
  bool listed; /* they lie unevenly */
  double list[TICKS_LISTED];
};

/* What of its mark tells a line from others of the same look. */
enum cut {
  CUT_NOTHING,
  CUT_LEVEL,
  CUT_UPRIGHT,
  CUT_CROSS,
  CUT_RISING,
  CUT_FALLING,
  CUT_DOT, /* last: it is most like an open mark */
  CUTS
};

struct layout {
  double width, height;
  double zoom; /* px of the frame for one of the layout */
  int size;    /* of the text: 0 is the largest */
  bool fixed;  /* the height is that of the frame */
  double used; /* of the room that a frame has for rows or a plot, what is needed */
  bool cut;    /* the foot had no room for all of its words */
  double title_text, subtitle_text;            /* px */
  double head_gap;                             /* between lines of these */
  size_t title_most, subtitle_most, name_most; /* lines; what is longer ends in three points */
  double down;                                 /* where the frame is higher than all in it */
  bool standalone;                  /* title and subtitle are drawn, on paper of its own */
  bool narrow;                      /* names stand above their rows */
  double pad, pad_y;                /* left free at the sides, above and below */
  double left, right, top, bottom;  /* the plot */
  double heads_bottom, keys_bottom; /* where title and subtitle end, and keys */
  struct scale x, y;
  struct ticks x_ticks, y_ticks;
  bool notes_below;  /* row notes stand under the names */
  double note_end;   /* where the column of row notes ends */
  bool numbered;     /* names of the x axis do not fit under it */
  size_t name_lines; /* else so many lines of them do */
  double tick_width; /* px for each of them */
  size_t key_lines, foot_lines;
  double label_width;           /* of names of lines, right of the plot */
  enum cut *cut_out;            /* of each item */
  bool cuts;                    /* some have one */
  double beside, beside_middle; /* px aside for one that was asked for; which of these is none */
  bool lettered;                /* these do not fit there */
  double name_width;            /* in a narrow figure: where the names are broken */
  double *row_edge;             /* rows + 1 of them, from the top */
  double *row_head;             /* so much of it is the name above it */
  double *row_marks;            /* where the marks of a row are centred */
  double *row_summary;          /* where bars and spans stand */
  double *shift;                /* of each mark, downwards; of each rule and bracket its lane */
  size_t bracket_lanes, rule_lanes;
};

/* Everything that the arena gives lives until the caller frees it. */
enum be_status be_layout(const struct be_figure *figure, enum be_frame frame, bool standalone,
                         struct be_arena *arena, struct layout *layout);
/* Decides the stacking of the marks: shift, and the heights of the rows. */
enum be_status be_layout_rows(const struct be_figure *figure, struct be_arena *arena,
                              struct layout *layout);
double be_layout_below(const struct be_figure *figure, const struct layout *layout);
/* Gives each bracket, and each name of an upright rule, a lane of its own. */
enum be_status be_layout_brackets(const struct be_figure *figure, struct be_arena *arena,
                                  struct layout *layout);
enum be_status be_layout_rules(const struct be_figure *figure, struct be_arena *arena,
                               struct layout *layout);
/* ---- lines told apart (apart.c) ---- */
enum be_status be_layout_cuts(const struct be_figure *figure, struct be_arena *arena,
                              struct layout *layout);
enum be_status be_layout_beside(const struct be_figure *figure, struct be_arena *arena,
                                struct layout *layout);
double be_aside_px(const struct layout *layout, const struct item *item);
void be_svg_cut(struct be_buf *svg, enum cut cut, double x, double y);
double be_rule_name_x(const struct layout *layout, const struct item *rule);
/* px of a data y; in a row figure the row's place for marks or for summaries. */
double be_layout_y(const struct be_figure *figure, const struct layout *layout, double y,
                   bool summary);

double be_scale_px(const struct scale *scale, double value);
/* The axis with everything drawn along it inside. */
struct scale be_axis_range(const struct be_figure *figure, bool along_x);
struct ticks be_axis_ticks(const struct scale *scale, bool integers, double spacing);
double be_tick_at(const struct ticks *ticks, size_t i);
void be_tick_text(const struct ticks *ticks, size_t i, char text[32]);
double be_ticks_width(const struct ticks *ticks); /* px of the widest label */

/* ---- text -------------------------------------------------------------- */

/* Bold letters are so much wider. */
#define BE_BOLD 1.12
size_t be_text_lines(const char *text, double size, double width);

/* ---- writing ----------------------------------------------------------- */

struct pen {
  const struct be_figure *figure;
  const struct layout *layout;
  struct be_buf *svg;
};

/* The words of an item in lines of a width, from y on down; returns where they end. */
struct block {
  double x, width;
  enum be_anchor anchor;
  enum be_tone tone;
  bool halo;
};
double be_svg_small_lines(const struct pen *pen, const struct block *block, double y,
                          const char *text);
/* The remark under everything, with the names that were numbered and lettered; null: no memory. */
char *be_foot_words(const struct be_figure *figure, const struct layout *layout,
                    struct be_arena *arena);
void be_label_letter(size_t i, char letter[8]);
/* ---- boxes, keys, labels (box.c, key.c, label.c) ---- */
void be_svg_pattern(struct be_buf *svg, const double corner[4], enum be_pattern pattern,
                    enum be_tone tone);
void be_svg_box(const struct pen *pen, const struct item *item);
void be_svg_box_word(const struct pen *pen, size_t i);
size_t be_key_lines(const struct be_figure *figure, double width);
void be_svg_keys(const struct pen *pen);
double be_labels_width(const struct be_figure *figure, double most);
double be_labels_height(const struct be_figure *figure, double width);
enum be_status be_svg_labels(const struct pen *pen, struct be_arena *arena);

const char *be_tone_name(enum be_tone tone);
void be_svg_style(struct be_buf *svg, enum be_drawn how);
/* The style of a file, and its paper, if it has one. */
void be_svg_ground(struct be_buf *svg, enum be_drawn how);
/* The tag of an svg element with its title and description. kind: its class beside "figure". */
void be_svg_open(struct be_buf *svg, const char *kind, double width, double height, double zoom,
                 unsigned number, const char *title, const char *words);
/* A line of text. anchor: null for the start, or the word that SVG has for it.
 * Halo: with paper around the letters, so that they stand out from lines. */
struct lettering {
  double size;
  enum be_tone tone;
  const char *anchor;
  bool bold, halo;
};
void be_svg_text(const struct pen *pen, double x, double y, const struct lettering *lettering,
                 const char *text, size_t length);
void be_svg_mark(const struct pen *pen, size_t item);
void be_svg_mark_at(struct be_buf *svg, const struct item *item, double x, double y, bool upward);
void be_svg_line(const struct pen *pen, const struct item *item);
void be_svg_sample(struct be_buf *svg, const struct item *key, double x1, double x2, double y);
void be_svg_bar(const struct pen *pen, const struct item *item);
void be_svg_span(const struct pen *pen, const struct item *item);
void be_svg_bracket(const struct pen *pen, const struct item *item, double lane);
/* ---- drawings ---- */

struct be_drawing {
  struct be_buf title, subtitle, words;
  struct be_buf shapes; /* as SVG */
  double width, height;
};
/* Adds "M x y L x y ..." of the points, made longer at both ends. */
void be_svg_points(struct be_buf *svg, const double *x, const double *y, size_t count,
                   double longer);

/* Notes look for a free place; call in order with the same arena. */
enum be_status be_svg_notes(const struct pen *pen, struct be_arena *arena);

#endif
