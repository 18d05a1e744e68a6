/* SPDX-License-Identifier: GPL-3.0-or-later */
/* crossing: where lines pass over one another in a view, and what a view and the directions of a
 * curve tell of it: writhe, average crossings, linking, twist. */
#ifndef BE_KNOT_CROSSING_H
#define BE_KNOT_CROSSING_H

#include "knot/curve/curve.h"
#include "knot/diagram/diagram.h"

enum { BE_OVER, BE_UNDER };

/* Of the strand over, then of the one under. */
struct be_crossing {
  size_t line[2];
  size_t edge[2];
  double at[2];    /* along the edge, 0 to 1 */
  double along[2]; /* along the line */
  double x, y;     /* in the drawing */
  double gap;      /* height between the two */
  int sign;        /* 1 or -1: right-handed is 1, for lines oriented as their points run */
  double angle;    /* between the two in the drawing, 0 to 90 degrees */
};

/* All crossings, by line over, then by its place along it; in the arena. Time close to N log N for
 * curves of even edges. BE_NO: the view is not generic (an edge passes through a point, or two lie
 * over one another): take one a little aside. BE_BAD_INPUT: the lines meet in space. */
enum be_status be_crossings_find(const struct be_lines *lines, const struct be_view *view,
                                 struct be_arena *arena, struct be_crossing **crossings,
                                 size_t *count, struct be_err *err);
/* The same where the view may be taken a little aside, which *view then is. BE_BAD_INPUT where none
 * near it is generic. */
enum be_status be_crossings_near(const struct be_lines *lines, struct be_view *view,
                                 struct be_arena *arena, struct be_crossing **crossings,
                                 size_t *count, struct be_err *err);
/* The slow way, all pairs of edges: what the other is compared with. */
enum be_status be_crossings_all_pairs(const struct be_lines *lines, const struct be_view *view,
                                      struct be_arena *arena, struct be_crossing **crossings,
                                      size_t *count, struct be_err *err);
/* The view with the fewest crossings among `tries` of a seeded stream and the six along the axes,
 * sought further near the best. Never BE_NO. */
enum be_status be_view_fewest(const struct be_lines *lines, size_t tries, uint64_t seed,
                              struct be_arena *arena, struct be_view *view, size_t *crossings,
                              struct be_err *err);

/* The drawing without its lengths; strands are the lines, in order. BE_TOO_LARGE past
 * BE_CROSSINGS_MAX. */
enum be_status be_crossings_diagram(const struct be_lines *lines,
                                    const struct be_crossing *crossings, size_t count,
                                    struct be_arena *arena, struct be_diagram *diagram,
                                    struct be_err *err);

/* ---- sums over crossings ---- */

/* Crossings of a line with itself, and between each two. */
struct be_crossing_counts {
  size_t all, own[BE_LINES_MAX], between[BE_LINES_MAX][BE_LINES_MAX];
  int own_sign[BE_LINES_MAX], between_sign[BE_LINES_MAX][BE_LINES_MAX]; /* sums of signs */
};
void be_crossings_count(const struct be_crossing *crossings, size_t count,
                        struct be_crossing_counts *counts);

/* ---- exact sums over a polygon ---- */

/* Gauss's integral, exact for polygons (Klenin and Langowski 2000, method 1a). Writhe by one view:
 * the writhe of the drawing less the twist of the framing that the direction of looking gives
 * (Calugareanu 1961; White 1969; Agarwal, Edelsbrunner and Wang 2004), so that only the crossings
 * and the corners are looked at. An open curve is closed by a way of three edges, and what that
 * adds is taken off again. Time as of be_crossings_find. */
enum be_status be_writhe(const struct be_curve *curve, struct be_arena *arena, double *writhe,
                         struct be_err *err);
/* The same summed over all pairs of edges, and the mean over all views of the number of crossings,
 * whose solid angles are summed without signs; exact but for rounding. Either may be null. Runs of
 * edges are taken together where that is as exact, so that of smooth curves time grows with about
 * N^1.5, without the average less. */
enum be_status be_writhe_all_pairs(const struct be_curve *curve, struct be_arena *arena,
                                   double *writhe, double *average_crossings, struct be_err *err);
/* Of two lines, the means over all views of half the signs of their crossings and of their number.
 * Either may be null. */
enum be_status be_average_between(const struct be_curve *a, const struct be_curve *b,
                                  struct be_arena *arena, double *half_signs,
                                  double *average_crossings, struct be_err *err);
/* Of two closed curves: half the signs of their crossings, and Gauss's integral. */
enum be_status be_linking(const struct be_lines *lines, size_t a, size_t b, struct be_arena *arena,
                          int *linking, struct be_err *err);
enum be_status be_linking_integral(const struct be_curve *a, const struct be_curve *b,
                                   struct be_arena *arena, double *linking, struct be_err *err);
/* Twist of a framing, a vector at each point that need not be normal; over 2 pi. */
double be_twist(const struct be_curve *curve, const struct be_point *framing);
/* The same of the framing that faces the eye: exact at the corners, where alone it turns. */
double be_twist_of_view(const struct be_curve *curve, const struct be_view *view);

#endif
