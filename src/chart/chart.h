/* SPDX-License-Identifier: GPL-3.0-or-later */
/* chart: a figure model and its SVG. A figure is a title that says the
 * finding, two axes, and marks in data coordinates; it knows nothing of knots. A drawing is free
 * shapes in pixels instead. Both carry a text twin for readers who cannot see them. */
#ifndef BE_CHART_H
#define BE_CHART_H

#include "base/base.h"

/* Tones are roles; their colours for light and dark stand in one table. */
enum be_tone {
  BE_TONE_INK,
  BE_TONE_MUTED,
  BE_TONE_HAIRLINE,
  BE_TONE_NYLON,
  BE_TONE_BRAID,
  BE_TONE_FLUOROCARBON,
  BE_TONE_ACT,
  BE_TONE_STOP
};

/* Never tone alone: each material has its mark and its stroke too. */
enum be_shape { BE_SHAPE_ROUND, BE_SHAPE_SQUARE, BE_SHAPE_TRIANGLE };
enum be_fill {
  BE_FILL_SOLID, /* an event */
  BE_FILL_OPEN,  /* a lower bound: open, with an arrow to larger values */
  BE_FILL_CROSS  /* a void: crossed out */
};
enum be_stroke { BE_STROKE_SOLID, BE_STROKE_DASH, BE_STROKE_TWIN };
/* What fills a box, so that it is told apart without tone. */
enum be_pattern {
  BE_PATTERN_NONE,
  BE_PATTERN_SOLID,
  BE_PATTERN_RISING,  /* strokes from the lower left to the upper right */
  BE_PATTERN_FALLING, /* the other way */
  BE_PATTERN_CROSSED, /* both */
  BE_PATTERN_LEVEL,
  BE_PATTERN_UPRIGHT,
  BE_PATTERN_DOTS
};
enum { BE_PATTERNS = BE_PATTERN_DOTS + 1 };
/* How data lie along an axis. */
enum be_scaling {
  BE_SCALING_EVEN,
  BE_SCALING_LOG,
  BE_SCALING_WEIBULL /* of a share p: log(-log(1 - p)), on which a Weibull's is straight over a log
                      */
};
enum be_anchor { BE_ANCHOR_START, BE_ANCHOR_MIDDLE, BE_ANCHOR_END };

/* How it is drawn: as an element of a page that has be_figure_style(), or as a file, with title,
 * subtitle and paper. A file follows its reader's light or dark, or has plain colours, for
 * renderers that know no custom properties; clear: the dark ones on nothing, with dark round every
 * letter, to be laid over a picture. */
enum be_drawn {
  BE_DRAWN_INLINE,
  BE_DRAWN_FILE,
  BE_DRAWN_LIGHT,
  BE_DRAWN_DARK,
  BE_DRAWN_PRINT,
  BE_DRAWN_CLEAR
};

/* How large a figure is drawn. A column has the names of rows above them: for a phone, or 85 mm of
 * print. Frames of video are 1920 x 1080 and 1080 x 1920 px: nothing stands within 5 % of an edge,
 * and no text is smaller than be_frame_text() says. A tall figure whose plot would then have less
 * than a third of the frame is set smaller, as little as that takes, down to three quarters. */
enum be_frame {
  BE_FRAME_SCREEN, /* as wide as it was created */
  BE_FRAME_COLUMN, /* 360 px */
  BE_FRAME_WIDE,
  BE_FRAME_TALL
};

/* The smallest text of a frame of video so many px high, whoever draws it: 1/30 of that. A phone
 * held tall, 68 mm wide and 60 cm away, shows capitals 2.9 mm high: 17 minutes of arc. */
double be_frame_text(double height);

struct be_figure;

/* title, subtitle and twin are copied; subtitle may be null. width in px; the
 * height follows the rows of a row figure, or is given for an x-y figure. The
 * figure grows when its names would leave no room for the plot. Null when out
 * of memory; every function below takes a null figure and does nothing. */
struct be_figure *be_figure_create(const char *title, const char *subtitle, double width,
                                   double height);
void be_figure_free(struct be_figure *figure);
/* Another title, where it is known only when all is drawn. */
void be_figure_retitle(struct be_figure *figure, const char *title);
/* The figure in words: what a reader would see in it. */
void be_figure_twin(struct be_figure *figure, const char *format, ...) BE_PRINTF(2, 3);

/* Axes: a label with its unit, and the range in data coordinates, widened when
 * something drawn lies outside it; ticks are chosen at 1, 2 or 5 times a power
 * of ten. Integer axes tick at whole numbers, counted from the low end. */
void be_figure_x(struct be_figure *figure, const char *label, double low, double high,
                 bool integers);
void be_figure_y(struct be_figure *figure, const char *label, double low, double high);
/* Data along an axis that was told; its range lies inside what the scaling takes. */
void be_figure_scaling(struct be_figure *figure, enum be_scaling x, enum be_scaling y);
/* Names at 0, 1, 2, ... instead of numbers: set under the axis, or, where they do not fit, numbered
 * there and listed below. */
void be_figure_names_x(struct be_figure *figure, const char *const *names, size_t count);
/* A row figure has rows instead of a y axis: each a name and a muted note such
 * as "n = 10". Returns its y coordinate (0, 1, ... from the top). */
double be_figure_row(struct be_figure *figure, const char *name, const char *note);

/* What is drawn, in the order added, in data coordinates; not-a-number is not
 * drawn. Marks that would cover one another in a row are stacked. Failures of
 * memory stick and are reported by be_figure_svg. */
void be_figure_mark(struct be_figure *figure, double x, double y, enum be_shape shape,
                    enum be_fill fill, enum be_tone tone);
void be_figure_line(struct be_figure *figure, const double *x, const double *y, size_t n,
                    enum be_tone tone, enum be_stroke stroke); /* thinned to pixel columns */
/* A short upright bar across a row: a mean. */
void be_figure_bar(struct be_figure *figure, double x, double y, enum be_tone tone);
/* A level line from low to high: thin for an interval, thick for a rank range.
 * An infinite end reaches the end of the axis. In a row that has marks, bars
 * and thin spans stand below the marks. */
void be_figure_span(struct be_figure *figure, double low, double high, double y, bool thick,
                    enum be_tone tone);
/* A hairline across the plot at x (or at y), with its name: "the line itself". */
void be_figure_rule_x(struct be_figure *figure, double x, const char *name);
void be_figure_rule_y(struct be_figure *figure, double y, const char *name);
/* A bracket in the right margin joining rows that cannot be separated. */
void be_figure_bracket(struct be_figure *figure, double first_row, double last_row);
void be_figure_note(struct be_figure *figure, double x, double y, const char *text,
                    enum be_anchor anchor, enum be_tone tone);
/* A box from corner to corner, with a word in its middle where that fits, or null. In a row figure
 * y is of the row: from -0.5 to 0.5 round its number. */
void be_figure_box(struct be_figure *figure, double x, double y, double x2, double y2,
                   enum be_pattern pattern, enum be_tone tone, const char *word);
/* What a pattern, a mark or a stroke means, between title and plot. */
void be_figure_key_box(struct be_figure *figure, enum be_pattern pattern, enum be_tone tone,
                       const char *words);
void be_figure_key_mark(struct be_figure *figure, enum be_shape shape, enum be_fill fill,
                        enum be_tone tone, const char *words);
void be_figure_key_line(struct be_figure *figure, enum be_stroke stroke, enum be_tone tone,
                        const char *words);
/* The name of a line at the right of the plot, as near to y as the others let it. */
void be_figure_label(struct be_figure *figure, double x, double y, const char *text,
                     enum be_tone tone);
/* A remark under everything; several are put one behind the other. */
void be_figure_foot(struct be_figure *figure, const char *format, ...) BE_PRINTF(2, 3);

/* What is drawn from here on (marks, lines, their names) stands so many px further to the right
 * than what has none, so that it does not cover what has the same x: all of them round it, and less
 * far where they would reach the next. */
void be_figure_aside(struct be_figure *figure, double px);
/* ---- its data ---- */

/* What is drawn from here on means this ("event", "mean"), in the data of the figure; null: it has
 * no row there, for another says the same. */
void be_figure_means(struct be_figure *figure, const char *format, ...) BE_PRINTF(2, 3);
/* And this is told of it, in a column of that name; null or not-a-number: nothing. A column that
 * is named as that of the rows, or of an axis, stands for it. */
void be_figure_tell(struct be_figure *figure, const char *column, const char *text);
void be_figure_tell_number(struct be_figure *figure, const char *column, double number);
void be_figure_tell_nothing(struct be_figure *figure); /* of all columns */
/* The ends of the intervals of what was drawn last, one for each of its points: along x, or y. */
void be_figure_within(struct be_figure *figure, bool along_x, const double *low,
                      const double *high);
/* Columns of rows and axes are named so, with the unit of the label behind. Null: as the label. */
void be_figure_columns(struct be_figure *figure, const char *rows, const char *x, const char *y);

/* A row for each mark, box, rule and point of a line. */
struct be_datum {
  const char *text; /* null: */
  double number;    /* not-a-number: nothing */
};
enum { BE_DATA_TOLD_MAX = 9, BE_DATA_COLUMNS_MAX = 8 + BE_DATA_TOLD_MAX };
struct be_data {
  const char *keys[BE_DATA_COLUMNS_MAX], *heads[BE_DATA_COLUMNS_MAX]; /* for programs; for people */
  size_t columns, rows;
  const struct be_datum *cells; /* row by row */
};
/* In the arena; texts are the figure's own. */
enum be_status be_figure_data(const struct be_figure *figure, struct be_arena *arena,
                              struct be_data *data);

/* Writes the SVG. As an element of a page it leaves title and subtitle to the page, which puts both
 * editions, screen and column, into classes "wide" and "narrow" and lets its style sheet show
 * one. number is unique on a page, for the ids of title and description. */
enum be_status be_figure_svg(const struct be_figure *figure, enum be_frame frame, enum be_drawn how,
                             unsigned number, struct be_buf *svg, struct be_err *err);
/* The figure in parts that have room in a frame, on the axes of the whole and with text of one
 * size, each saying which it is: a list on the heap, of one where it has room. A column is a
 * printed page's, 240 mm high, and a screen's six times as high as wide. An x-y figure is parted by
 * its lines that have labels: what was added up to a label belongs to it. Their data are not kept:
 * these are of the whole. */
enum be_status be_figure_parts(const struct be_figure *figure, enum be_frame frame,
                               struct be_figure ***parts, size_t *count, struct be_err *err);
void be_figure_parts_free(struct be_figure **parts, size_t count);
/* One of so many parts, from 1 on, each of as many rows, however high; null when out of memory. */
struct be_figure *be_figure_part(const struct be_figure *figure, size_t number, size_t parts);
size_t be_figure_rows(const struct be_figure *figure); /* or such lines */
/* BE_OK unless something given to the figure was lost (BE_NO_MEMORY, also for
 * a null figure) or too large (BE_TOO_LARGE). be_figure_svg says the same. */
enum be_status be_figure_status(const struct be_figure *figure);
const char *be_figure_title(const struct be_figure *figure);
const char *be_figure_subtitle(const struct be_figure *figure); /* "" if there is none */
const char *be_figure_words(const struct be_figure *figure);    /* the text twin */

/* ---- drawings ---- */

/* Free shapes in px, x to the right and y down from the top left; what is added later hides what
 * was there. Failures stick, as in figures. */
struct be_drawing;

/* The textures of the three materials, so that tone is never alone; metal is an outline of ink. */
enum be_texture {
  BE_TEXTURE_SOLID,
  BE_TEXTURE_TWILL, /* two strands */
  BE_TEXTURE_DASH,  /* long dashes */
  BE_TEXTURE_METAL,
  BE_TEXTURE_FAINT /* what is still to come: a hairline round paper */
};

/* A thick line through points. */
struct be_tube {
  const double *x, *y;
  size_t count; /* 2 or more */
  double width;
  double gap;      /* paper shows so wide beside it */
  double whole[2]; /* but not so far from its first point, from its last: joints do not show */
  double start;    /* px along the line that this is a part of, where its texture goes on */
  enum be_tone tone;
  enum be_texture texture;
};

struct be_drawing *be_drawing_create(const char *title, const char *subtitle, double width,
                                     double height);
void be_drawing_free(struct be_drawing *drawing);
void be_drawing_twin(struct be_drawing *drawing, const char *format, ...) BE_PRINTF(2, 3);
void be_drawing_tube(struct be_drawing *drawing, const struct be_tube *tube);
/* A plain stroke through points; with a head, an arrow goes on five widths beyond its last. */
void be_drawing_stroke(struct be_drawing *drawing, const double *x, const double *y, size_t count,
                       double width, enum be_tone tone, bool head);
/* In the colour of the paper: takes away what it runs over. */
void be_drawing_rub_out(struct be_drawing *drawing, const double *x, const double *y, size_t count,
                        double width);
/* halo: with paper round the letters. */
void be_drawing_text(struct be_drawing *drawing, double x, double y, double size, const char *text,
                     enum be_anchor anchor, enum be_tone tone, bool halo);
/* BE_OK unless something of it was lost or is too large, as be_drawing_svg says. */
enum be_status be_drawing_status(const struct be_drawing *drawing);
const char *be_drawing_title(const struct be_drawing *drawing);
const char *be_drawing_subtitle(const struct be_drawing *drawing); /* "" if there is none */
const char *be_drawing_words(const struct be_drawing *drawing);    /* the text twin */
double be_drawing_width(const struct be_drawing *drawing);         /* px; 0 for none */
double be_drawing_height(const struct be_drawing *drawing);
/* All of another drawing, so many times as large, from x and y on. */
void be_drawing_put(struct be_drawing *drawing, const struct be_drawing *other, double x, double y,
                    double scale);
/* Without title, subtitle and ground, in plain colours: what nothing was drawn on is clear. */
enum be_status be_drawing_clear_svg(const struct be_drawing *drawing, bool dark, struct be_buf *svg,
                                    struct be_err *err);
/* number: as of be_figure_svg, of figures and drawings together. */
enum be_status be_drawing_svg(const struct be_drawing *drawing, enum be_drawn how, unsigned number,
                              struct be_buf *svg, struct be_err *err);

/* About how wide text is set, in px; rather too much than too little. */
double be_text_width(const char *text, double size);
/* How many bytes of text fit on one line of width px; *skip is where the next
 * line starts. Breaks at spaces, inside a word only when it alone is too wide. */
size_t be_text_line(const char *text, double size, double width, size_t *skip);

/* The style sheet part that inline figures need. It also sets the tones as
 * custom properties (--paper, --ink, --muted, --hairline, --nylon, --braid,
 * --fluorocarbon, --act, --stop) for light, dark and print; the page's own
 * sheet uses them, so this part is served in front of it. */
const char *be_figure_style(void);
/* For renderers that know no custom properties: the rules of the tones in plain colours, those of
 * be_figure_style() where they are to follow the reader; and a tone as 0xRRGGBB, light where it is
 * to follow. */
const char *be_plain_style(enum be_drawn how);
unsigned be_tone_colour(enum be_tone tone, enum be_drawn how);

/* Adds text to markup (XML or HTML, content or quoted attribute): the only
 * place where it is escaped. Bytes that are not UTF-8 and characters that
 * markup cannot hold become U+FFFD. */
void be_markup_text(struct be_buf *markup, const char *text);

#endif
