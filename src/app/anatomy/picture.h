/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The picture of a knot as SVG: tubes with hidden parts, loaded ends, numbers of crossings, or the
 * sequence in which it is tied. */
#ifndef BE_APP_ANATOMY_PICTURE_H
#define BE_APP_ANATOMY_PICTURE_H

#include "chart/chart.h"
#include "knot/knot.h"

enum { BE_ANATOMY_STEPS_MAX = 60 };

struct be_anatomy_asked {
  const char *title;
  const char *subtitle;         /* or null */
  const char *words;            /* the text twin; null: a plain one is made */
  const bool (*loaded)[2];      /* of each line, as of a tie; null: none */
  const bool *hardware;         /* of each line; null: none */
  const char *letter;           /* of each line; null: A, B, ... in order, hardware without one */
  const enum be_tone *material; /* nylon, braid or fluorocarbon of each line; null, or another tone:
                                 * these three in order */
  bool numbered;                /* crossings, in the order of be_crossings_find */
  bool whole;                   /* long ends are not cut off */
  size_t steps;                 /* 0: the knot; else a strip of it as it is tied, so many */
  double width;                 /* px; 0: 640. A phone: 320 */
  enum be_drawn how;
  unsigned number; /* unique on a page, as of be_figure_svg */
};

/* A view that is not generic is turned a little. BE_BAD_INPUT as be_crossings_find. */
enum be_status be_anatomy_svg(const struct be_lines *lines, const struct be_view *view,
                              const struct be_anatomy_asked *asked, struct be_buf *svg,
                              struct be_err *err);

/* The same as a drawing, which is the caller's; how and number are not looked at. */
enum be_status be_anatomy_drawing(const struct be_lines *lines, const struct be_view *view,
                                  const struct be_anatomy_asked *asked, struct be_drawing **drawing,
                                  struct be_err *err);

#endif
