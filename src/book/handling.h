/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a specimen was made up, gripped and kept, and in what air it was pulled. */
#ifndef BE_BOOK_HANDLING_H
#define BE_BOOK_HANDLING_H

#include "units/units.h"

/* Code, column of a sheet, name in tables and for programs, what its number is; BE_DIMENSIONS: it
 * is a text. */
#define BE_HANDLING_LIST(X)                                                                        \
  X(BE_HANDLED_SEATING, "seating load", "seating_N", BE_FORCE) /* that it was drawn up with */     \
  X(BE_HANDLED_HELD, "seating held", "seating_s", BE_TIME)     /* how long that load was held */   \
  X(BE_HANDLED_TAG, "tag end", "tag_m", BE_LENGTH)             /* left standing */                 \
  X(BE_HANDLED_GLUE, "glue", "glue", BE_DIMENSIONS)                                                \
  X(BE_HANDLED_TIED, "tied", "tied", BE_DIMENSIONS)    /* when: a day, perhaps with a time */      \
  X(BE_HANDLED_WATER, "water", "water", BE_DIMENSIONS) /* of the soak: fresh, salt */              \
  X(BE_HANDLED_GRIPS, "grips", "grips", BE_DIMENSIONS) /* what held the ends, how many wraps */    \
  X(BE_HANDLED_TEMPERATURE, "temperature", "temperature_K", BE_TEMPERATURE) /* of the air */       \
  X(BE_HANDLED_HUMIDITY, "humidity", "humidity_share", BE_RATIO) /* relative, of the air */

#define X(code, column, key, dimension) code,
enum be_handling { BE_HANDLING_LIST(X) BE_HANDLINGS };
#undef X

/* One of these: a number, or a text. Not-a-number and null: not recorded. A load, time or length
 * of 0 and the text "none" are none; a temperature and a humidity are never none. */
struct be_handled {
  double number;
  const char *text;
};

/* What else is told of how a specimen was tied and pulled, counted on behind these. A soak has its
 * word as text and how long it was as number. */
enum {
  BE_MADE_SOAK = BE_HANDLINGS,
  BE_MADE_SPEED,
  BE_MADE_LENGTH,
  BE_MADE_TYER,
  BE_MADE_LUBRICANT,
  BE_MADES
};
/* The column of a sheet of any of them. */
const char *be_made_column(int made);

const char *be_handling_column(enum be_handling handling);
const char *be_handling_key(enum be_handling handling);
enum be_dimension be_handling_dimension(enum be_handling handling);

#endif
