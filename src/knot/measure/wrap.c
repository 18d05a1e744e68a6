/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Turns of wrap. At each place of a line the places of the other that are nearest of those about
 * them are sought; from one place to the next they make tracks. Along a track the direction from
 * the other to the line turns, against what is carried along the other without turning: each step
 * by its own shortest turn, whose error is of the third order in the step.
 *
 *  1. A track has no gap: its place on the other moves by less than `leap` a step.
 *  2. angle is what the track has turned so far; `low` and `high` are its extremes since `start`.
 *  3. Once they are half a turn apart the later one is the way it turns: `way` is 1 or -1, and
 *     `start` is the other; a turn back by half a turn ends the wrap at its extreme.
 *  4. `pace` is where it last had turned on by a tenth of a turn; three mean diameters without
 *     that end the wrap, so that a lead that runs beside the other is none of it. */
#include "knot/measure/inside.h"

#include <stdlib.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

enum { TRACKS_MAX = 64, WRAPS_MOST = 100000, POINTS_MOST = 6000 };

/* A line in equal steps. */
struct path {
  struct be_curve curve;
  double step, length;
};

struct meeting {
  double along; /* of the other */
  struct be_point out, tangent;
  double apart;
};

/* Where a track stood. */
struct mark {
  double along, other, angle;
  double apart, wound; /* sums: of the distances, and of turn times way along the other */
  size_t steps;
};

struct track {
  struct meeting at;
  bool alive;
  int way;
  struct mark now, start, set_in, low, high; /* set_in: where it begins to leave `start` */
  struct mark low_end, high_end;             /* where it comes near these extremes */
  struct mark low_leave, high_leave;         /* where it was last near them */
  struct mark pace;
};

struct winding {
  const struct path *of, *to;
  bool same;
  size_t line, other;
  double mean, near, least;
  struct track tracks[TRACKS_MAX];
  struct be_wrap *wraps; /* on the heap */
  size_t count, capacity;
  struct be_err *err;
};

/* ---- places that are nearest ---- */

static struct be_point point_of(const struct be_curve *curve, size_t i)
{
  return curve->points[i < curve->count ? i : i - curve->count];
}

static struct be_point tangent_of(const struct be_curve *curve, size_t edge)
{
  return unit_of(edge_of(curve, edge));
}

/* On the two edges at a point that is the nearest of its neighbours. */
static struct meeting meet_at(const struct path *to, size_t j, struct be_point p)
{
  const struct be_curve *curve = &to->curve;
  size_t before = j > 0 ? j - 1 : curve->count - 1;
  struct meeting best = {.apart = INFINITY};
  struct be_point ahead = tangent_of(curve, j), behind = tangent_of(curve, before);
  for (int k = 0; k < 2; k++) {
    size_t edge = k ? j : before;
    struct be_point from = curve->points[edge], v = edge_of(curve, edge);
    double at = fmin(1, fmax(0, dot(minus(p, from), v) / dot(v, v)));
    struct be_point out = minus(p, blend(from, point_of(curve, edge + 1), at));
    if (norm(out) >= best.apart) continue;
    /* From the point to the middle of the edge the direction changes evenly. */
    double off = fmin(1, 2 * (k ? at : 1 - at));
    struct be_point tangent = unit_of(blend(blend(behind, ahead, 0.5), k ? ahead : behind, off));
    best = (struct meeting){(double)edge * to->step + at * to->step, out, tangent, norm(out)};
  }
  return best;
}

static size_t meetings_of(const struct winding *w, size_t i, struct meeting found[TRACKS_MAX])
{
  const struct be_curve *to = &w->to->curve;
  struct be_point p = point_of(&w->of->curve, i);
  size_t count = 0, last = to->closed ? to->count : to->count - 1;
  for (size_t j = to->closed ? 0 : 1; j < last && count < TRACKS_MAX;) {
    double here = distance(p, to->points[j]);
    /* Steps as far as the distance allows (its slope is 1 at most). */
    if (here > w->near + 2 * w->to->step) {
      j += (size_t)fmax(1, (here - w->near) / w->to->step - 1);
      continue;
    }
    double before = distance(p, to->points[j > 0 ? j - 1 : to->count - 1]);
    double after = distance(p, point_of(to, j + 1));
    if (before > here && here <= after) {
      struct meeting meeting = meet_at(w->to, j, p);
      double own = (double)i * w->of->step, all = to->closed ? w->to->length : 0;
      bool itself = w->same && way_along(own, meeting.along, all) <= half_turn * w->mean;
      if (meeting.apart <= w->near && !itself) found[count++] = meeting;
    }
    j++;
  }
  return count;
}

/* ---- tracks ---- */

static double turns_between(const struct mark *a, const struct mark *b)
{
  return (b->angle - a->angle) / (2 * pi);
}

static enum be_status end_wrap(struct winding *w, const struct track *track)
{
  struct mark to = track->way > 0 ? track->high : track->low;
  struct mark end = track->way > 0 ? track->high_end : track->low_end;
  double turns = fabs(turns_between(&track->start, &to));
  double along = end.other - track->set_in.other;
  if (track->way == 0 || turns < w->least || fabs(along) > 20 * w->mean * turns) return BE_OK;
  void *list = w->wraps;
  enum be_status status =
      be_grow(&list, &w->capacity, sizeof *w->wraps, w->count + 1, WRAPS_MOST, w->err);
  w->wraps = list;
  if (status != BE_OK) return status;
  double all = w->to->length, low = fmin(track->set_in.other, end.other);
  double high = fmax(track->set_in.other, end.other);
  if (w->to->curve.closed && high > all) low -= all, high -= all;
  w->wraps[w->count++] = (struct be_wrap){
      .line = w->line,
      .other = w->other,
      .turns = to.wound < track->start.wound ? -turns : turns,
      .from = track->set_in.along,
      .to = end.along,
      .other_from = low,
      .other_to = high,
      .apart = (to.apart - track->start.apart) / (double)(to.steps - track->start.steps),
  };
  return BE_OK;
}

static void start_at(struct track *track, struct mark mark)
{
  track->way = 0;
  track->now = track->start = track->set_in = track->pace = mark;
  track->low = track->low_end = track->low_leave = mark;
  track->high = track->high_end = track->high_leave = mark;
}

static void begin(struct track *track, const struct meeting *meeting, double along)
{
  *track = (struct track){.at = *meeting, .alive = true};
  start_at(track, (struct mark){along, meeting->along, 0, 0, 0, 0});
}

static void keep_extremes(struct track *track)
{
  const double small = 0.06 * 2 * pi;
  struct mark now = track->now;
  if (now.angle > track->high.angle) {
    track->high = now;
    if (now.angle > track->high_end.angle + small) track->high_end = now;
  }
  if (now.angle < track->low.angle) {
    track->low = now;
    if (now.angle < track->low_end.angle - small) track->low_end = now;
  }
  if (now.angle < track->low.angle + small) track->low_leave = now;
  if (now.angle > track->high.angle - small) track->high_leave = now;
}

/* Rule 3. */
static enum be_status turn_back(struct winding *w, struct track *track)
{
  struct mark now = track->now, from = track->way > 0 ? track->high : track->low;
  enum be_status status = end_wrap(w, track);
  track->set_in = track->way > 0 ? track->high_leave : track->low_leave;
  track->way = -track->way;
  track->start = from;
  track->low = track->low_end = track->low_leave = track->way > 0 ? from : now;
  track->high = track->high_end = track->high_leave = track->way > 0 ? now : from;
  track->pace = now;
  return status;
}

static enum be_status go_on(struct winding *w, struct track *track)
{
  const double half = pi, tenth = 0.1 * 2 * pi, idle = 3 * w->mean;
  keep_extremes(track);
  if (track->way == 0 && track->high.angle - track->low.angle > half) {
    track->way = track->high.along > track->low.along ? 1 : -1;
    track->start = track->way > 0 ? track->low : track->high;
    track->set_in = track->way > 0 ? track->low_leave : track->high_leave;
  }
  struct mark now = track->now;
  double on = now.angle - track->pace.angle;
  if (track->way ? track->way * on > tenth : fabs(on) > tenth) track->pace = now;
  double back = track->way > 0 ? track->high.angle - now.angle : now.angle - track->low.angle;
  if (track->way != 0 && back > half) return turn_back(w, track);
  if (now.along - track->pace.along <= idle) return BE_OK;
  enum be_status status = end_wrap(w, track);
  start_at(track, now);
  return status;
}

/* By one step along the line: the other's place moves, and the direction turns. */
static void follow(const struct winding *w, struct track *track, const struct meeting *meeting,
                   double along)
{
  double all = w->to->length, moved = meeting->along - track->at.along;
  if (w->to->curve.closed && moved > all / 2) moved -= all;
  if (w->to->curve.closed && moved < -all / 2) moved += all;
  struct be_point before = normal_part(track->at.out, track->at.tangent);
  struct be_point after = normal_part(meeting->out, meeting->tangent);
  double turn =
      signed_angle(carried(before, track->at.tangent, meeting->tangent), after, meeting->tangent);
  track->now = (struct mark){along,
                             track->now.other + moved,
                             track->now.angle + turn,
                             track->now.apart + meeting->apart,
                             track->now.wound + turn * moved,
                             track->now.steps + 1};
  track->at = *meeting;
}

/* The meeting nearest along the other to where a track stood. */
static size_t next_of(const struct winding *w, const struct track *track,
                      const struct meeting *found, size_t count, const bool *taken)
{
  double leap = 1.2 * w->mean, all = w->to->curve.closed ? w->to->length : 0;
  size_t best = SIZE_MAX;
  for (size_t k = 0; k < count; k++) {
    double way = way_along(track->at.along, found[k].along, all);
    if (taken[k] || way > leap) continue;
    leap = way;
    best = k;
  }
  return best;
}

static enum be_status step_on(struct winding *w, size_t i)
{
  struct meeting found[TRACKS_MAX];
  bool taken[TRACKS_MAX] = {false};
  size_t count = meetings_of(w, i, found);
  double along = fmin((double)i * w->of->step, w->of->length);
  enum be_status status = BE_OK;
  for (size_t t = 0; t < TRACKS_MAX && status == BE_OK; t++) {
    struct track *track = &w->tracks[t];
    if (!track->alive) continue;
    size_t k = next_of(w, track, found, count, taken);
    track->alive = k != SIZE_MAX;
    if (!track->alive) {
      status = end_wrap(w, track);
      continue;
    }
    taken[k] = true;
    follow(w, track, &found[k], along);
    status = go_on(w, track);
  }
  for (size_t k = 0, t = 0; k < count; k++) {
    if (taken[k]) continue;
    while (t < TRACKS_MAX && w->tracks[t].alive) t++;
    if (t < TRACKS_MAX) begin(&w->tracks[t], &found[k], along);
  }
  return status;
}

/* ---- all pairs ---- */

static enum be_status wind(struct winding *w, const struct path *paths, const double *diameter,
                           double near, size_t lines)
{
  enum be_status status = BE_OK;
  for (size_t pair = 0; pair < lines * lines && status == BE_OK; pair++) {
    w->line = pair / lines, w->other = pair % lines;
    w->of = &paths[w->line], w->to = &paths[w->other];
    w->same = w->line == w->other;
    w->mean = (diameter[w->line] + diameter[w->other]) / 2;
    w->near = near * w->mean;
    memset(w->tracks, 0, sizeof w->tracks);
    size_t last = w->of->curve.count - (w->of->curve.closed ? 0 : 1);
    for (size_t i = 0; i <= last && status == BE_OK; i++) status = step_on(w, i);
    for (size_t t = 0; t < TRACKS_MAX && status == BE_OK; t++)
      if (w->tracks[t].alive) status = end_wrap(w, &w->tracks[t]);
  }
  return status;
}

static int by_place(const void *a, const void *b)
{
  const struct be_wrap *x = a, *y = b;
  if (x->line != y->line) return x->line < y->line ? -1 : 1;
  if (x->other != y->other) return x->other < y->other ? -1 : 1;
  if (x->from < y->from) return -1;
  return x->from > y->from;
}

static enum be_status make_paths(const struct be_lines *lines, struct be_arena *arena,
                                 struct path *paths, struct be_err *err)
{
  double all = 0, step = INFINITY;
  enum be_status status = BE_OK;
  for (size_t l = 0; l < lines->count && status == BE_OK; l++) {
    status = be_curve_check(&lines->line[l], err);
    if (status != BE_OK) break;
    all += be_curve_length(&lines->line[l]);
    step = fmin(step, 0.15 * lines->diameter[l]);
  }
  step = fmax(step, all / POINTS_MOST);
  for (size_t l = 0; l < lines->count && status == BE_OK; l++) {
    struct path *path = &paths[l];
    path->length = be_curve_length(&lines->line[l]);
    status = be_curve_resample(&lines->line[l], step, arena, &path->curve, err);
    if (status == BE_OK) path->step = path->length / (double)be_curve_edges(&path->curve);
  }
  return status;
}

enum be_status be_wraps(const struct be_lines *lines, double near, double least,
                        struct be_arena *arena, struct be_wrap **wraps, size_t *count,
                        struct be_err *err)
{
  struct path paths[BE_LINES_MAX];
  struct winding *w = be_arena_alloc(arena, sizeof *w);
  if (!w) return be_fail(err, BE_NO_MEMORY, "no memory for the wraps");
  w->least = least > 0 ? least : 0.75;
  w->err = err;
  enum be_status status = make_paths(lines, arena, paths, err);
  if (status == BE_OK) status = wind(w, paths, lines->diameter, near > 0 ? near : 3, lines->count);
  *count = w->count;
  *wraps = be_arena_alloc(arena, (w->count + 1) * sizeof **wraps);
  if (status == BE_OK && !*wraps) status = be_fail(err, BE_NO_MEMORY, "no memory for the wraps");
  if (status == BE_OK && w->count) {
    qsort(w->wraps, w->count, sizeof *w->wraps, by_place);
    memcpy(*wraps, w->wraps, w->count * sizeof **wraps);
  }
  be_free(w->wraps);
  w->wraps = NULL;
  return status;
}
