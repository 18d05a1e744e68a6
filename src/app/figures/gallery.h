/* SPDX-License-Identifier: GPL-3.0-or-later */
/* figures: what of a book can be shown, each figure where the book has its data. */
#ifndef BE_APP_GALLERY_H
#define BE_APP_GALLERY_H

#include "app/survey/grid.h"

/* ---- for publish ---- */

/* How figures are written: zero fields take the usual value. */
struct figures_asked {
  const char *folder;
  const char *size;   /* "screen", "column", "wide" or "tall"; null: screen */
  const char *ground; /* "light", "dark", "print" or "clear"; null: light, of a column print */
};
/* BE_WRONG_USE for another word. */
enum be_status be_figures_check(const struct figures_asked *asked, struct be_err *err);
/* Writes each as SVG, PNG, words and data, with an index, into the folder; *figures and *files are
 * how many. Says in doc which figures the book has no data for. */
enum be_status be_figures_write(struct survey *survey, const struct figures_asked *asked,
                                struct be_doc *doc, size_t *figures, size_t *files,
                                struct be_err *err);

/* ---- all of them (gallery.c) ---- */

struct shown {
  const char *kind, *of; /* "pulls"; "nylon 12 lb to ring, dry", or "" */
  struct be_figure *figure;
};
struct gallery {
  const struct survey *survey;
  struct be_book *book; /* for traces; null: none are read */
  struct shown *list;
  size_t count, capacity;
  const char *kind; /* now */
  const char *why;  /* it has no figure, in a sentence */
  struct be_doc *doc;
  bool for_report; /* of traces one knot of each combination: the one with most of them */
};
/* Makes them all; be_gallery_empty whatever the status. doc, which may be null, is told which kinds
 * there is no data for. */
enum be_status be_gallery_fill(struct gallery *gallery, struct be_err *err);
void be_gallery_empty(struct gallery *gallery);
/* The part of a report: of those kinds that no other part shows. */
enum be_status be_figures_doc(const struct survey *survey, struct be_doc **doc, struct be_err *err);
/* Takes the figure; null is one that had no memory. */
enum be_status be_gallery_add(struct gallery *gallery, const char *of, struct be_figure *figure,
                              struct be_err *err);

/* ---- each kind ---- */

/* They add what they find, or say why there is nothing. */
enum be_status be_show_pulls(struct gallery *gallery, struct be_err *err);     /* gallery.c */
enum be_status be_show_standings(struct gallery *gallery, struct be_err *err); /* gallery.c */
enum be_status be_show_pairs(struct gallery *gallery, struct be_err *err);     /* slope.c */
enum be_status be_show_gains(struct gallery *gallery, struct be_err *err);     /* slope.c */
enum be_status be_show_labels(struct gallery *gallery, struct be_err *err);    /* size.c */
enum be_status be_show_diameters(struct gallery *gallery, struct be_err *err); /* size.c */
enum be_status be_show_turns(struct gallery *gallery, struct be_err *err);     /* turns.c */
enum be_status be_show_let_go(struct gallery *gallery, struct be_err *err);    /* let_go.c */
enum be_status be_show_chances(struct gallery *gallery, struct be_err *err);   /* chances.c */
enum be_status be_show_overlays(struct gallery *gallery, struct be_err *err);  /* traces.c */
enum be_status be_show_stretch(struct gallery *gallery, struct be_err *err);   /* stretch.c */
enum be_status be_show_checks(struct gallery *gallery, struct be_err *err);    /* checks.c */
enum be_status be_show_grids(struct gallery *gallery, struct be_err *err);     /* grid.c */
enum be_status be_show_orders(struct gallery *gallery, struct be_err *err);    /* order.c */

/* ---- shared ---- */

enum { FIGURE_WIDTH = 760, FIGURE_HEIGHT = 480 };
/* "n = 10" with spaces at which no line breaks. */
#define ONE_WORD(name, value) name "\xC2\xA0=\xC2\xA0" value
struct heads {
  const char *title, *subtitle;
  const char *sides[2]; /* of a slope */
  const char *column;   /* of these in its data */
};
/* Figures with words of several parts: null, and the words freed, where these had no memory. */
struct be_figure *be_with_twin(struct be_figure *figure, struct be_buf *words);
/* An efficiency in per cent with its interval, as a mark and an upright line at x. */
void be_draw_efficiency(struct be_figure *figure, const struct survey *survey,
                        const struct cell *cell, double x, struct cell_look look);
/* "Efficiency rises by 2.1 pts for each turn more [0.4, 3.8]", or that it cannot be told. */
const char *be_slope_words(const struct survey *survey, const struct be_estimate *slope,
                           const char *each);
/* The first trace of a pull, with what was found in it; *file is the caller's to free, null where
 * the trace holds nothing. */
enum be_status be_gallery_trace(const struct gallery *gallery, const struct be_pull *pull,
                                struct be_trace_file **file, struct be_trace_events *events,
                                struct be_err *err);
/* Of a column of rows, so many that the picture can show them: lows and highs of buckets. Less and
 * times: what is taken off first, and what it is multiplied by. */
enum { TRACE_POINTS = 300 };
struct trace_line {
  double x[TRACE_POINTS], y[TRACE_POINTS];
  size_t n;
};
struct trace_column {
  const double *values;
  double less, times;
};
void be_trace_line(const struct be_trace *trace, size_t first, size_t last,
                   const struct trace_column *across, const struct trace_column *up,
                   struct trace_line *line);

#endif
