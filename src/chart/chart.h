/* SPDX-License-Identifier: GPL-3.0-or-later */
/* chart: a figure model and its SVG. A figure is a title that says the
 * finding, two axes, and marks in data coordinates; it knows nothing of knots.
 * Every figure carries a text twin for readers who cannot see it. */
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
enum be_anchor { BE_ANCHOR_START, BE_ANCHOR_MIDDLE, BE_ANCHOR_END };

struct be_figure;

/* title, subtitle and twin are copied; subtitle may be null. width in px; the
 * height follows the rows of a row figure, or is given for an x-y figure. The
 * figure grows when its names would leave no room for the plot. Null when out
 * of memory; every function below takes a null figure and does nothing. */
struct be_figure *be_figure_create(const char *title, const char *subtitle, double width,
                                   double height);
void be_figure_free(struct be_figure *figure);
/* The figure in words: what a reader would see in it. */
void be_figure_twin(struct be_figure *figure, const char *format, ...) BE_PRINTF(2, 3);

/* Axes: a label with its unit, and the range in data coordinates, widened when
 * something drawn lies outside it; ticks are chosen at 1, 2 or 5 times a power
 * of ten. Integer axes tick at whole numbers, counted from the low end. */
void be_figure_x(struct be_figure *figure, const char *label, double low, double high,
                 bool integers);
void be_figure_y(struct be_figure *figure, const char *label, double low, double high);
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

/* Writes the SVG. standalone: with its own style (light and dark) and its title
 * and subtitle drawn, as a file; otherwise as an element of a page that has
 * be_figure_style() in its sheet and sets title and subtitle itself.
 * number is unique on a page, for the ids of title and description. */
enum be_status be_figure_svg(const struct be_figure *figure, bool standalone, unsigned number,
                             struct be_buf *svg, struct be_err *err);
/* The same, 360 px wide with the names of rows above them, for a phone or a
 * printed column. Pages put both editions, with numbers of their own, into
 * classes "wide" and "narrow" and let the style sheet show one. */
enum be_status be_figure_svg_narrow(const struct be_figure *figure, bool standalone,
                                    unsigned number, struct be_buf *svg, struct be_err *err);
/* BE_OK unless something given to the figure was lost (BE_NO_MEMORY, also for
 * a null figure) or too large (BE_TOO_LARGE). be_figure_svg says the same. */
enum be_status be_figure_status(const struct be_figure *figure);
const char *be_figure_title(const struct be_figure *figure);
const char *be_figure_subtitle(const struct be_figure *figure); /* "" if there is none */
const char *be_figure_words(const struct be_figure *figure);    /* the text twin */

/* The style sheet part that inline figures need. It also sets the tones as
 * custom properties (--paper, --ink, --muted, --hairline, --nylon, --braid,
 * --fluorocarbon, --act, --stop) for light, dark and print; the page's own
 * sheet uses them, so this part is served in front of it. */
const char *be_figure_style(void);

/* Adds text to markup (XML or HTML, content or quoted attribute): the only
 * place where it is escaped. Bytes that are not UTF-8 and characters that
 * markup cannot hold become U+FFFD. */
void be_markup_text(struct be_buf *markup, const char *text);

#endif
