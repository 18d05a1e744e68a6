/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Standings of a group, or the table of a combination, whose rows come in one after another, the
 * weakest first. */
#ifndef BE_APP_REVEAL_H
#define BE_APP_REVEAL_H

#include "app/clips/clip.h"
#include "app/ranking/places.h"

struct reveal_row {
  const char *name, *rank; /* "palomar", "1 to 2" */
  const char *value;       /* "88 %" */
  const char *interval;    /* "[84, 92]"; "" when not known */
  const char *n;           /* "n = 10 + 2 at least" */
  double mean, low, high;  /* of the bar; ends may be not-a-number */
};
struct reveal {
  int width, height;
  const char *title, *place, *measure; /* measure: "mean efficiency, 95 % interval" */
  struct reveal_row *rows;             /* by rank */
  size_t count;
  double whole;     /* the line itself: 100, or 0 where loads are shown */
  double axis;      /* where the bars end */
  const char *foot; /* what is left out, what it was divided by */
  double each_s, lasts_s;
  const char *finding; /* said at the end */
  size_t fit;          /* rows that the last frame has room for */
  double rank_wide;    /* room for the longest rank */
  size_t name_lines;   /* that the longest name takes */
};

extern const struct scene_kind be_reveal_kind;

/* which: "standings" (the first group that is ranked), or the name of a group or a combination, or
 * enough of it. BE_WRONG_USE when there is none or more than one, BE_BAD_INPUT when there is
 * nothing to rank. All is in the survey's arena. */
enum be_status be_reveal_make(const struct survey *survey, const char *which, int width, int height,
                              struct be_doc *doc, struct reveal *reveal, struct be_err *err);
/* reveal_paint.c: fills in rank_wide, name_lines and fit. */
enum be_status be_reveal_lay_out(struct reveal *reveal, struct be_err *err);
void be_reveal_tell(const struct reveal *reveal, struct be_buf *told);

#endif
