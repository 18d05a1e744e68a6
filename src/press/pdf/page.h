/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Documents on pages of A4, in points of 1/72 inch, y down from the top. All is set twice: dry,
 * which only finds out on which page things come to stand, then drawn. */
#ifndef BE_PRESS_PDF_PAGE_H
#define BE_PRESS_PDF_PAGE_H

#include "press/inside.h"

#include <pango/pangocairo.h>

/* Prose has lines of about 70 letters. */
#define BE_PROSE 400.0
#define BE_BODY_TEXT 9.5
#define BE_NOTE_TEXT 8.5
#define BE_TOLD_TEXT 7.5
#define BE_TOLD_WIDE 238.0
#define BE_FIGURE_GAP 12.0 /* below a figure and its words */
#define BE_TABLE_TEXT 8.5
#define BE_LEADING 1.3 /* from line to line, of the size of letters */
#define BE_TABLE_TEXT_LEAST 7.0

enum { BE_PLAIN_MARKS = 8 };

/* What was found in the dry run, of one block. */
struct spot {
  unsigned page; /* a heading: where it stands */
  double y;
  double *widths;       /* a table: of its columns, */
  double *heights;      /* of each part's head and rows */
  const float *texts;   /* of texts in one line, of letters of 1 point, column by column */
  const unsigned *part; /* that a column is in, from 1 on; 0: in all */
  unsigned parts;       /* a figure: of its rows */
  double head, size;    /* a table: of its heads, of its letters */
  struct be_buf svg;    /* a figure, */
  double px_wide, px_high;
  double words; /* and what is told of it */
  bool wide;    /* on a page that lies on its side */
};

struct pdf {
  const struct be_doc *const *docs;
  size_t count;
  const struct be_edition *edition;
  cairo_surface_t *surface;
  cairo_t *cairo;
  PangoContext *context;
  PangoFont *plain; /* of letters that stand alone, once needed; and how wide they are */
  double advances[256 + BE_PLAIN_MARKS];
  struct be_arena *arena;
  struct spot *spots; /* block after block, each document's title before its own */
  bool dry;
  bool wide;    /* this page lies on its side */
  bool bare;    /* this page has no margins and no foot, and takes nothing more */
  bool by_hand; /* this document is written on: on its side, a heading a page, facts in pairs */
  bool blank;   /* nothing stands on it yet */
  double y;     /* where the next goes */
  unsigned page, pages;
  unsigned figures;
  const char *headings; /* the element that headings of this document are */
};

/* ---- page.c ---- */

double be_page_left(void);
double be_page_width(bool wide); /* between the margins */
double be_page_height(bool wide);
double be_page_room(const struct pdf *pdf); /* left below y */
/* The first page, and the next one; then the foot of the last. */
void be_page_begin(struct pdf *pdf, bool wide);
void be_page_next(struct pdf *pdf, bool wide);
void be_page_end(struct pdf *pdf);
/* An upright page to be filled from edge to edge; what comes behind it goes to the next. */
void be_page_bare(struct pdf *pdf);
/* Goes to the next page unless there is so much room on a page of that kind. */
void be_page_need(struct pdf *pdf, double height, bool wide);
void be_page_rule(struct pdf *pdf, double left, double right, double y, double width,
                  enum be_tone tone);
void be_page_tone(struct pdf *pdf, enum be_tone tone);

/* What is shown until its end is an element of that kind (ISO 32000-1, 14.8.4); null: of none. What
 * has no element is not read aloud. */
void be_tag(struct pdf *pdf, const char *element);
void be_tag_end(struct pdf *pdf, const char *element);

/* ---- words.c ---- */

struct words {
  PangoLayout *layout; /* or: */
  const char *plain;   /* the caller's text, */
  double room;         /* broken to lines so wide, of letters of 1 point */
  double size;
  bool bold;
  int lines;
  double width;           /* of the longest line */
  double leading, ascent; /* from line to line; from the top of one to its letters' foot */
};
/* width 0: one line. Broken inside words only where one is wider than that. The text must last as
 * long as they do. */
struct words be_words(struct pdf *pdf, const char *text, double size, bool bold, double width);
/* One line, cut with dots where it is wider. */
struct words be_words_cut(struct pdf *pdf, const char *text, double size, double width);
void be_words_free(struct words *words);
/* Lines from one on, so many. right: ends there, in place of starting at x. */
void be_words_show(struct pdf *pdf, const struct words *words, int from, int count, double x,
                   double y, bool right, enum be_tone tone);
double be_words_width(struct pdf *pdf, const char *text, double size);   /* in one line */
double be_words_longest(struct pdf *pdf, const char *text, double size); /* of single words */

/* ---- columns.c ---- */

/* Of a table set in letters of 1 point. */
#define BE_COLUMN_GAP 1.1
#define BE_ROW_GAP 0.5

/* Finds size, widths, parts and texts of its spot. */
enum be_status be_columns_measure(struct pdf *pdf, const struct be_table *table, struct spot *spot,
                                  struct be_err *err);
bool be_column_in(const struct be_table *table, const struct spot *spot, size_t column,
                  unsigned part);
double be_columns_width(const struct be_table *table, const struct spot *spot, unsigned part);
/* How far a number stands from the right edge, so that the points line up. */
double be_column_behind(struct pdf *pdf, const struct be_table *table, size_t column,
                        const struct cell *cell);

/* ---- table.c, labels.c, figure.c ---- */

/* What a table or a figure needs at least where it starts, and on which kind of page. Measures it
 * in the dry run; a block that is empty needs nothing. */
enum be_status be_pdf_table_start(struct pdf *pdf, const struct be_table *table, struct spot *spot,
                                  double *height, struct be_err *err);
void be_pdf_table(struct pdf *pdf, const struct be_table *table, const struct spot *spot,
                  bool titled);
/* A table of labels, on pages of their own. */
void be_pdf_labels(struct pdf *pdf, const struct be_table *table);
enum be_status be_pdf_figure_start(struct pdf *pdf, const struct block *block, struct spot *spot,
                                   double *height, struct be_err *err);
/* Whether what is told of a figure is so long that it stands in two columns; and sets them. */
bool be_told_apart(struct pdf *pdf, const char *told);
void be_told_columns(struct pdf *pdf, const char *told);
/* Of block i of a document, whose spots they are. */
enum be_status be_pdf_figure(struct pdf *pdf, const struct be_doc *doc, struct spot *spots,
                             size_t i, struct be_err *err);

#endif
