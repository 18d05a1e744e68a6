/* SPDX-License-Identifier: GPL-3.0-or-later */
/* curve: centre-lines in space, as polygons. Lengths are in the unit of the points (a tie:
 * diameters of its first line). */
#ifndef BE_KNOT_CURVE_H
#define BE_KNOT_CURVE_H

#include "base/base.h"

struct be_point {
  double x, y, z;
};

/* Edge i goes from point i to the next; of a closed curve the last goes back to the first. No two
 * points that follow each other are the same. */
struct be_curve {
  struct be_point *points;
  size_t count; /* of points */
  bool closed;
};

/* One, two or three lines; each may have its own thickness. */
enum { BE_LINES_MAX = 4 };
struct be_lines {
  size_t count;
  struct be_curve line[BE_LINES_MAX];
  double diameter[BE_LINES_MAX];
};

/* Part of a line, from one distance along it to another. */
struct be_stretch {
  double from, to;
};

size_t be_curve_edges(const struct be_curve *curve);
/* BE_BAD_INPUT for a number that is none, fewer than 2 points (3 of a closed one), or two that are
 * the same one after the other. */
enum be_status be_curve_check(const struct be_curve *curve, struct be_err *err);
double be_curve_length(const struct be_curve *curve);
/* Distance along the curve at each point, count values; then of all of it at [count]. */
void be_curve_distances(const struct be_curve *curve, double *along);
/* The same curve in equal steps along it, as near to `step` as goes. Points are in the arena. */
enum be_status be_curve_resample(const struct be_curve *curve, double step, struct be_arena *arena,
                                 struct be_curve *to, struct be_err *err);
/* A smooth curve through waypoints (centripetal Catmull-Rom: Barry and Goldman 1988; Yuksel,
 * Schaefer and Keyser 2011), in equal steps. */
enum be_status be_curve_through(const struct be_curve *waypoints, double step,
                                struct be_arena *arena, struct be_curve *to, struct be_err *err);
/* Curvature at each point, by the circle through it and its neighbours; 0 at the ends. */
void be_curve_curvature(const struct be_curve *curve, double *curvature);
/* The smallest distance between two lines, or of a line from itself farther along than `apart`. */
double be_lines_clearance(const struct be_lines *lines, double apart);

/* ---- looked at ---- */

/* A direction of looking: x and y of the drawing, and the height towards the eye. Rows of a
 * rotation. */
struct be_view {
  double right[3], up[3], eye[3];
};
extern const struct be_view be_view_top; /* x to the right, y up, z towards the eye */
/* So many degrees round the upright axis, then tilted towards the reader. */
struct be_view be_view_of(double turn_deg, double tilt_deg);
/* Tilted by an angle towards a direction of the drawing, from right counter-clockwise. */
struct be_view be_view_tilted(const struct be_view *view, double towards_deg, double angle_deg);
/* Evenly over the sphere, by a seeded stream. */
struct be_view be_view_random(struct be_random *random);
struct be_point be_view_point(const struct be_view *view, const struct be_point *point);

#endif
