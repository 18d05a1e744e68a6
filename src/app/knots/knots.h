/* SPDX-License-Identifier: GPL-3.0-or-later */
/* knots: every knot of the book, and what is known of it.
 *
 *   knots.c      all of them
 *   knot.c       one of them
 *   tie.c        how they run
 *   ranked.c     where they stand, by the standings' own figures */
#ifndef BE_APP_KNOTS_H
#define BE_APP_KNOTS_H

#include "app/ranking/places.h"

struct knot_state {
  size_t pulls, combinations;
  bool compared; /* with another knot, in some place of the standings */
};

/* Where knots stand: the groups that are ranked, and the combinations of those that are not. */
struct ranked {
  struct place *places;
  size_t count;
  struct knot_state *states; /* of each knot of the record */
};
/* In the survey's arena. The chances of being first are not worked out. */
enum be_status be_ranked_make(const struct survey *survey, struct ranked *ranked,
                              struct be_err *err);
/* A row for each place and each knot of it; knot -1: of all knots. */
void be_say_ranked(struct be_doc *doc, const struct survey *survey, const struct ranked *ranked,
                   int knot);
/* The place of a knot among those ranked, by rank from 0; false if it is not among them. */
bool be_ranked_at(const struct place *place, int knot, size_t *at);
/* "2 of 6 (1 to 3)": rank and rank range. */
const char *be_rank_words(const struct survey *survey, const struct ranking *ranking, size_t at);
/* ---- tie.c ---- */

const char *be_knot_tie(const struct be_knot *knot); /* its text; null: not recorded, or none */
/* "clinch turns=7", or the name in a whole text: what a line has room for. */
const char *be_knot_tie_words(const struct survey *survey, const struct be_knot *knot);
/* The page that looks at its tie, by which it may be kept anew; "" where the tie is too long for an
 * address. */
const char *be_knot_tie_way(const struct survey *survey, const struct be_knot *knot,
                            const char *text);
/* What the library has by its name or another of its names, as words; null: nothing. */
const char *be_knot_tie_by_name(const struct survey *survey, const struct be_knot *knot);
/* How it runs, at the end of its page. */
enum be_status be_say_tie(struct be_doc *doc, const struct survey *survey,
                          const struct be_knot *knot, struct be_err *err);

/* ---- */

/* What is not known of it yet, with commas between; "" if nothing is missing. */
const char *be_missing_words(const struct survey *survey, const struct ranked *ranked, int knot);

#endif
