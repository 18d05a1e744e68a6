/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A complete block ranked: scores, rank ranges, and who cannot be separated. */
#ifndef BE_APP_RANKING_H
#define BE_APP_RANKING_H

#include "app/survey/grid.h"

struct ranking {
  struct grid block;
  struct rank *rank;    /* of each knot of the block */
  size_t *order;        /* knots by rank */
  bool *together;       /* knots by knots: cannot separate */
  const char **letters; /* two knots share one where they cannot be separated; "" beyond 64 */
  double *load;         /* mean load over the combinations, geometric */
  struct be_interval *load_interval; /* N */
  double *efficiency;                /* mean over the combinations; not-a-number without */
  struct be_interval *efficiency_interval;
  size_t *n, *told, *slips, *bounds; /* of each knot, over the combinations */
  bool other_in_points;              /* another knot has the higher mean efficiency */
  bool mixed;                        /* some loads had to be compared across spools as they are */
  bool unlike_speeds;
  const struct cell *rival; /* lower bounds above the first knot's mean; or null */
};

/* Everything is in the survey's arena. The block must hold two knots or more. With how.resamples
 * 0 no chances are worked out. */
enum be_status be_ranking_make(const struct survey *survey, const struct grid *block,
                               struct ranking *ranking, struct be_err *err);
bool be_ranking_together(const struct ranking *ranking, size_t a, size_t b);
/* The ranks of the knots that this one cannot be separated from: "2, 3", or "none". */
const char *be_ranking_others(const struct survey *survey, const struct ranking *ranking,
                              size_t knot);
/* How many knots the first cannot be separated from. */
size_t be_ranking_followers(const struct ranking *ranking);
/* That it has any only because it, or every other knot, has one event in each combination: one
 * pull tells nothing of scatter. */
bool be_ranking_bare(const struct ranking *ranking);

/* table.c: a row a knot, by rank; place: its name. */
void be_say_ranking(struct be_doc *doc, const struct survey *survey, const struct ranking *ranking,
                    const char *place);

/* figure.c: rank ranges, with brackets round those that cannot be separated; place: its name. */
struct be_figure *be_figure_of_ranking(const struct survey *survey, const struct ranking *ranking,
                                       const char *place);

#endif
