/* SPDX-License-Identifier: GPL-3.0-or-later */
/* lines: what the book knows of each spool, and what may be divided by it.
 *
 *   lines.c      all spools
 *   line.c       one of them: its plain pulls by session, its joints
 *   state.c      what both are made of
 *   count.c      a count of what is on hand, into the book */
#ifndef BE_APP_LINES_H
#define BE_APP_LINES_H

#include "app/survey/survey.h"

/* As many plain pulls as a plan takes at least. */
enum { PLAIN_ENOUGH = 5, SOAKS = BE_SOAK_SOAKED + 1 };

/* Whether a spool can be divided by, in every soak in which it was tied. */
enum divisible { DIVISIBLE, DIVISIBLE_BY_FEW, DIVISIBLE_NOT };

struct line_state {
  size_t pulls;            /* that use it, plain ones and voids too */
  size_t tied[SOAKS];      /* of these, with a knot */
  size_t plain[SOAKS];     /* plain events */
  size_t bounds[SOAKS];    /* plain lower bounds */
  double needed_m;         /* by specimens of trials still to pull; not-a-number: not known */
  size_t needed_specimens; /* these */
  enum divisible divisible;
};
/* Of each line of the record, in the survey's arena; null without memory. */
struct line_state *be_line_states(const struct survey *survey);

/* "nylon 12 lb (N12-1)" */
const char *be_line_words(const struct survey *survey, size_t line);
/* How its plain pulls were pulled: "500 mm/min, 500 mm, bench one". */
const char *be_pulled_words(const struct survey *survey, const struct be_pull *like);

/* Mean of a set of plain pulls, its scatter that of its line in this soak, as in efficiencies. */
struct be_estimate be_plain_estimate(const struct survey *survey, const struct plain_set *set);

/* A row for each set of plain pulls, and for each soak without one in which the line was tied;
 * line -1: of all lines, each named. */
void be_say_plain_sets(struct be_doc *doc, const struct survey *survey,
                       const struct line_state *states, int line);
/* What asks for a look, as a table; nothing if nothing does. */
void be_say_line_doubts(struct be_doc *doc, const struct survey *survey,
                        const struct line_state *states, int line);

/* Enters a line sheet of one row. on_hand: metres, or a length with its unit; counted: when, as
 * written. What cannot be a count is BE_BAD_INPUT. */
enum be_status be_line_count(const char *book_path, const struct be_line *line, const char *on_hand,
                             const char *counted, struct be_err *err);

#endif
