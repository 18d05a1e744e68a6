/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was written down of the pulls, of the spools and of the knots, field by field, and what was
 * not: for the method statement and for the questions of readers. */
#ifndef BE_APP_REPORT_RECORDED_H
#define BE_APP_REPORT_RECORDED_H

#include "app/survey/survey.h"

enum be_telling {
  BE_TELLS_DESIGN,
  BE_TELLS_SOAK,
  BE_TELLS_SOAK_TIME,
  BE_TELLS_SPEED,
  BE_TELLS_LENGTH,
  BE_TELLS_TYER,
  BE_TELLS_LUBRICANT,
  BE_TELLS_SESSION,
  BE_TELLS_ORDER,
  BE_TELLS_BENCH,
  BE_TELLS_CALIBRATION,
  BE_TELLS_LOAD,
  BE_TELLS_TRACE,
  BE_TELLS_WHAT,
  BE_TELLS_WHERE,
  BE_TELLS_WHICH,
  BE_TELLS_JUDGE,
  BE_TELLS_REASON,
  BE_TELLS_EVIDENCE,
  BE_TELLS_SEATING,
  BE_TELLS_HELD,
  BE_TELLS_TAG,
  BE_TELLS_GLUE,
  BE_TELLS_TIED,
  BE_TELLS_WATER,
  BE_TELLS_GRIPS,
  BE_TELLS_TEMPERATURE,
  BE_TELLS_HUMIDITY,
  BE_TELLS_OF_PULLS, /* those before; then of spools */
  BE_TELLS_SOURCE = BE_TELLS_OF_PULLS,
  BE_TELLS_OPENED,
  BE_TELLS_OF_LINES,
  BE_TELLS_TIE_TIME = BE_TELLS_OF_LINES, /* of knots */
  BE_TELLS_GUIDES,
  BE_TELLINGS
};

struct be_told {
  const char *name;   /* "speed of pulling" */
  const char *of;     /* what it is asked of: "pull", "soaked pull", "spool" */
  const char *of_all; /* of more than one */
  bool every;         /* asked of every pull, spool or knot */
  const char *why;    /* it matters where nothing tells it */
  size_t k, n;        /* told, of those that could be */
  size_t distinct;    /* values; BE_TOLD_MAX: that many, or more */
  const char *values; /* "500 mm/min (540) and 50 mm/min (8)", the most frequent first; of
                       * more numbers than are listed, from which to which */
};
enum { BE_TOLD_MAX = 256 };
/* Texts are in the survey's arena. */
enum be_status be_told_of(const struct survey *survey, enum be_telling telling,
                          struct be_told *told, struct be_err *err);

/* What nothing in the record tells, and why it matters: fields that none tells, and what the book
 * has no place for. In the survey's arena. */
struct be_untold {
  const char *what, *why;
};
enum be_status be_untold_of(const struct survey *survey, struct be_untold **list, size_t *count,
                            struct be_err *err);

#endif
