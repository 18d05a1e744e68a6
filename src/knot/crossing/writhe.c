/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What one view tells: the writhe of its drawing, and by the turning of the curve the rest of it.
 */
#include "knot/crossing/inside.h"

static const double pi = 3.14159265358979323846;

static struct be_point direction(const struct be_curve *curve, size_t i)
{
  return unit_of(edge_of(curve, i));
}

/* Over 2 pi, the turn of the framing that the eye's direction gives, at each corner against what is
 * carried along without turning; the corner is a great arc, on which it cannot turn by half. */
double be_twist_of_view(const struct be_curve *curve, const struct be_view *view)
{
  double sum = 0;
  struct be_point eye = {view->eye[0], view->eye[1], view->eye[2]};
  size_t n = curve->count;
  for (size_t i = curve->closed ? 0 : 1; i < be_curve_edges(curve); i++) {
    struct be_point t = direction(curve, (i + n - 1) % n), u = direction(curve, i);
    struct be_point before = normal_part(eye, t), after = normal_part(eye, u);
    sum += signed_angle(carried(before, t, u), after, u);
  }
  return sum / (2 * pi);
}

static enum be_status in_view(const struct be_curve *curve, const struct be_view *view,
                              struct be_arena *arena, double *writhe, struct be_err *err)
{
  struct be_lines lines = {1, {*curve}, {1}};
  struct be_crossing *crossings;
  size_t count;
  struct be_crossing_counts counts;
  enum be_status status = be_crossings_find(&lines, view, arena, &crossings, &count, err);
  if (status != BE_OK) return status;
  be_crossings_count(crossings, count, &counts);
  *writhe = counts.own_sign[0] - be_twist_of_view(curve, view);
  return BE_OK;
}

static enum be_status of_closed(const struct be_curve *curve, struct be_random *random,
                                struct be_arena *arena, double *writhe, struct be_err *err)
{
  enum { TRIES = 20 };
  enum be_status status = BE_NO;
  for (int i = 0; i < TRIES && status == BE_NO; i++) {
    struct be_view view = be_view_random(random);
    status = in_view(curve, &view, arena, writhe, err);
  }
  return status;
}

/* A point well off the curve. */
static struct be_point aside(const struct be_curve *curve, struct be_random *random)
{
  struct be_view turn = be_view_random(random);
  struct be_point first = curve->points[0];
  double far = 0;
  for (size_t i = 0; i < curve->count; i++) far = fmax(far, distance(curve->points[i], first));
  return (struct be_point){first.x + 1.7 * far * turn.eye[0], first.y + 1.7 * far * turn.eye[1],
                           first.z + 1.7 * far * turn.eye[2]};
}

static enum be_status of_open(const struct be_curve *curve, struct be_random *random,
                              struct be_arena *arena, double *writhe, struct be_err *err)
{
  size_t n = curve->count;
  struct be_curve whole = {be_arena_alloc(arena, (n + 2) * sizeof *whole.points), n + 2, true};
  struct be_point way[2] = {aside(curve, random), aside(curve, random)};
  double closed, added;
  if (!whole.points) return be_fail(err, BE_NO_MEMORY, "no memory for the line closed");
  memcpy(whole.points, curve->points, n * sizeof *whole.points);
  memcpy(whole.points + n, way, sizeof way);
  if (!(distance(way[0], way[1]) > 0)) return be_fail(err, BE_NO, "two points are the same");
  enum be_status status = of_closed(&whole, random, arena, &closed, err);
  if (status == BE_OK) status = be_writhe_of_closing(curve, way, arena, &added, err);
  if (status == BE_OK) *writhe = closed - added;
  return status;
}

/* Any view, and any way that closes a line, does; this stream makes them the same each time. What
 * meets itself, and what every view hides, is left to its pairs. */
enum be_status be_writhe(const struct be_curve *curve, struct be_arena *arena, double *writhe,
                         struct be_err *err)
{
  enum be_status status = be_curve_check(curve, err);
  struct be_random random;
  be_random_init(&random, 1, 0);
  if (status != BE_OK) return status;
  if (curve->closed) return of_closed(curve, &random, arena, writhe, err);
  status = of_open(curve, &random, arena, writhe, err);
  if (status != BE_NO && status != BE_BAD_INPUT) return status;
  return be_writhe_all_pairs(curve, arena, writhe, NULL, err);
}

enum be_status be_linking(const struct be_lines *lines, size_t a, size_t b, struct be_arena *arena,
                          int *linking, struct be_err *err)
{
  enum { TRIES = 20 };
  struct be_lines two = {2, {lines->line[a], lines->line[b]}, {1, 1}};
  struct be_random random;
  struct be_crossing *crossings;
  struct be_crossing_counts counts;
  size_t count;
  enum be_status status = BE_NO;
  if (!lines->line[a].closed || !lines->line[b].closed)
    return be_fail(err, BE_WRONG_USE, "only closed lines are linked");
  be_random_init(&random, 1, 0);
  for (int i = 0; i < TRIES && status == BE_NO; i++) {
    struct be_view view = be_view_random(&random);
    status = be_crossings_find(&two, &view, arena, &crossings, &count, err);
  }
  if (status != BE_OK) return status;
  be_crossings_count(crossings, count, &counts);
  *linking = counts.between_sign[0][1] / 2;
  return BE_OK;
}

double be_twist(const struct be_curve *curve, const struct be_point *framing)
{
  double sum = 0;
  for (size_t i = 0; i < be_curve_edges(curve); i++) {
    struct be_point t = direction(curve, i);
    sum += signed_angle(normal_part(framing[i], t),
                        normal_part(framing[i + 1 < curve->count ? i + 1 : 0], t), t);
  }
  return sum / (2 * pi);
}
