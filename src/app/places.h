/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The places that standings rank: each group of combinations, and each combination. */
#ifndef BE_APP_PLACES_H
#define BE_APP_PLACES_H

#include "app/ranking.h"

struct place {
  const char *name; /* of the group, or of the combination */
  bool group;
  struct grid all;   /* every knot with an event there */
  struct grid block; /* those that may be compared; of a group, the largest complete block */
  const struct ranking *ranking; /* of the block; null until it is asked for */
};

/* In the order of the page: a group of more than one combination, then its combinations. Plain
 * lines are no place, nor are two knots pulled against each other: these hold what the weaker one
 * holds. All is in the survey's arena. */
enum be_status be_places(const struct survey *survey, struct place **list, size_t *count,
                         struct be_err *err);
/* Whether there is anything to compare; a group that shares one combination alone stands by that.
 */
bool be_place_ranked(const struct place *place);
/* Ranks such a place, once. */
enum be_status be_place_rank(const struct survey *survey, struct place *place, struct be_err *err);

#endif
