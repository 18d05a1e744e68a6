/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawing on frames: the tones of the look, texts that fit. */
#ifndef BE_APP_PAINT_H
#define BE_APP_PAINT_H

#include "base/base.h"

#include "chart/chart.h"
#include "press/press.h"

#include <cairo.h>

enum paint { PAINT_PAPER, PAINT_INK, PAINT_MUTED, PAINT_HAIRLINE, PAINT_ACT, PAINTS };
/* dark: on footage, of which nobody knows how bright it is. */
void be_paint(cairo_t *to, enum paint paint, bool dark, double alpha);
void be_paint_tone(cairo_t *to, enum be_tone tone, bool dark);

/* ---- texts ---- */

enum hold { HOLD_LEFT, HOLD_MIDDLE, HOLD_RIGHT };
struct lettering {
  double size;
  bool bold;
  enum hold hold;
};
double be_paint_wide(cairo_t *to, const char *text, const struct lettering *how);
/* x, y: of its base line. In the paint that is set. */
void be_paint_text(cairo_t *to, double x, double y, const char *text, const struct lettering *how);
/* In lines of at most `wide` px, broken between words, and inside one that is too long; what finds
 * no room in the last line ends in three points. Returns how many lines it took; each is 1.25 of
 * the size high. */
enum { LINES_MAX = 4, LINE_BYTES = 400 };
size_t be_paint_lines(cairo_t *to, const char *text, const struct lettering *how, double wide,
                      size_t most, char lines[LINES_MAX][LINE_BYTES]);
/* In one line, of which the middle is left out where it is too wide: both ends tell. */
void be_paint_short(cairo_t *to, const char *text, const struct lettering *how, double wide,
                    char line[LINE_BYTES]);
/* A code in at most two lines, broken anywhere. Returns how many. */
size_t be_paint_code(cairo_t *to, const char *code, const struct lettering *how, double wide,
                     char lines[2][LINE_BYTES]);
size_t be_paint_block(cairo_t *to, double x, double y, const char *text,
                      const struct lettering *how, double wide, size_t most);

/* Says where a letter of it is in no font here, and is drawn as a box. */
void be_paint_say_lacks(const char *text, struct be_doc *doc);

void be_rounded(cairo_t *to, double x, double y, double wide, double high, double radius);

#endif
