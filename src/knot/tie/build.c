/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/crossing/crossing.h"
#include "knot/tie/inside.h"

enum { STEPS_MOST = 8000 };              /* of a line */
static const double step_share = 0.25;   /* of a diameter, between points of a line */
static const double beside_share = 1.05; /* of the sum of two radii, between companions */

/* Where the smooth line shall pass, and on which leg it goes on from there. */
struct via {
  struct be_point at, side; /* side: 0 unless it is known */
  bool drawn;               /* to the next: both its dots have no height of their own */
  double aside;             /* how far to the left of its leg's direction */
  bool back;
};

struct way {
  const struct sketches *all;
  const struct meetings *meetings;
  struct list vias;
  struct be_arena *scratch;
};

static bool add_via(struct way *way, struct via via)
{
  struct via *made = be_list_add(&way->vias, sizeof *made, way->scratch);
  if (made) *made = via;
  return made != NULL;
}

/* What lies on a step between its two dots. */
static bool add_passes(struct way *way, size_t l, const struct step *step, const struct via *like)
{
  const struct sketch *line = &way->all->line[l];
  const struct leg *leg = &legs_of(line)[step->leg];
  size_t first, passes = be_passes_of(way->meetings, l, step->leg, &first);
  bool fine = true;
  for (size_t i = 0; fine && i < passes; i++) {
    const struct pass *p = &way->meetings->passes[first + (step->back ? passes - 1 - i : i)];
    struct via via = *like;
    via.at = blend(dots_of(line)[leg->from].at, dots_of(line)[leg->to].at, p->at);
    via.at.z = way->meetings->list[p->meeting].height[p->which];
    via.side = (struct be_point){0, 0, 0};
    fine = add_via(way, via);
  }
  return fine;
}

static bool add_step(struct way *way, size_t l, const struct step *step, double beside,
                     const struct step *last)
{
  const struct sketch *line = &way->all->line[l];
  const struct leg *leg = &legs_of(line)[step->leg];
  const struct dot *a = &dots_of(line)[step->back ? leg->to : leg->from];
  const struct dot *b = &dots_of(line)[step->back ? leg->from : leg->to];
  double half = beside_share / 2 * line->diameter;
  struct via via = {a->at, a->side, !a->given && !b->given, beside + step->side * half, step->back};
  bool turns = last && last->side && step->side && last->side != step->side;
  /* Where a doubled part begins or ends, the dot belongs to it. */
  if (last && last->side && !step->side) {
    struct via *before = way->vias.items;
    before[way->vias.count - 1].drawn = via.drawn;
  } else if (!last || turns || !way->vias.count) {
    if (!add_via(way, via)) return false;
  } else {
    struct via *before = (struct via *)way->vias.items + way->vias.count - 1;
    before->aside = via.aside;
    before->back = via.back;
    before->drawn = via.drawn;
  }
  if (!add_passes(way, l, step, &via)) return false;
  via.at = b->at;
  via.side = b->side;
  return add_via(way, via);
}

static bool is_nought(struct be_point p)
{
  return p.x == 0 && p.y == 0 && p.z == 0;
}

/* To the left of where the leg runs, in the page; of a coil along its axis. */
static struct be_point left_of(const struct via *via, size_t i, size_t count)
{
  if (!is_nought(via[i].side)) return via[i].side;
  size_t a = i > 0 ? i - 1 : 0, b = i + 1 < count ? i + 1 : i;
  struct be_point in = minus(via[i].at, via[a].at), out = minus(via[b].at, via[i].at);
  double p = hypot(in.x, in.y), q = hypot(out.x, out.y), x = 0, y = 0;
  if (p > 1e-9 && via[a].back == via[i].back) x += in.x / p, y += in.y / p;
  if (q > 1e-9 && via[b].back == via[i].back) x += out.x / q, y += out.y / q;
  double length = hypot(x, y), sense = via[i].back ? -1 : 1;
  if (!(length > 1e-9)) return (struct be_point){0, 0, 0};
  return (struct be_point){-sense * y / length, sense * x / length, 0};
}

static enum be_status move_aside(struct way *way, struct be_err *err)
{
  size_t count = way->vias.count;
  struct via *via = way->vias.items;
  struct be_point *left = be_arena_alloc(way->scratch, (count + 1) * sizeof *left);
  if (!left) return be_tie_no_memory(err);
  for (size_t i = 0; i < count; i++) {
    left[i] = left_of(via, i, count);
    /* Along a coil's axis the sense is that of the line as it comes. */
    if (!is_nought(via[i].side) && i > 0 && dot(left[i], left[i - 1]) < 0)
      left[i] = (struct be_point){-left[i].x, -left[i].y, -left[i].z};
  }
  for (size_t i = 0; i < count; i++) {
    via[i].at.x += via[i].aside * left[i].x;
    via[i].at.y += via[i].aside * left[i].y;
    via[i].at.z += via[i].aside * left[i].z;
  }
  return BE_OK;
}

/* The line as points that it passes. */
static enum be_status follow(struct way *way, size_t l, struct be_err *err)
{
  const struct sketch *line = &way->all->line[l];
  double beside = 0;
  size_t of = l;
  if (line->beside >= 0) {
    of = (size_t)line->beside;
    beside = line->side * beside_share / 2 * (line->diameter + way->all->line[of].diameter);
  }
  const struct sketch *drawn = &way->all->line[of];
  way->vias = (struct list){0};
  for (size_t i = 0; i < drawn->steps.count; i++)
    if (!add_step(way, of, &steps_of(drawn)[i], beside, i ? &steps_of(drawn)[i - 1] : NULL))
      return be_tie_no_memory(err);
  return move_aside(way, err);
}

/* ---- smooth ---- */

/* Points of a line, and which of them lie on drawn legs. */
struct smooth {
  struct be_curve curve;
  bool *drawn;
};

static enum be_status smooth_line(const struct way *way, const struct sketch *line,
                                  struct smooth *to, struct be_err *err)
{
  const struct via *via = way->vias.items;
  struct be_curve points = {
      be_arena_alloc(way->scratch, (way->vias.count + 1) * sizeof(struct be_point)), 0,
      line->closed};
  bool *drawn = be_arena_alloc(way->scratch, way->vias.count + 1);
  double length = 0;
  if (!points.points || !drawn) return be_tie_no_memory(err);
  for (size_t i = 0; i < way->vias.count; i++) {
    double gone = points.count ? distance(points.points[points.count - 1], via[i].at) : 1;
    length += gone;
    if (gone < 1e-3) points.count--; /* the same place again: what follows is what counts */
    drawn[points.count] = via[i].drawn;
    points.points[points.count++] = via[i].at;
  }
  if (line->closed) points.count--; /* its last point is its first */
  double step = step_share * line->diameter;
  if (!(length / step < STEPS_MOST))
    return be_fail(err, BE_TOO_LARGE, "line %c is longer than %d of its diameters", line->letter,
                   STEPS_MOST / 4);
  if (points.count < (line->closed ? 3 : 2))
    return be_tie_wrong(err, line->place, "line %c stands still", line->letter);
  enum be_status status = be_curve_through(&points, step, way->scratch, &to->curve, err);
  if (status != BE_OK) return status;
  to->drawn = be_arena_alloc(way->scratch, to->curve.count);
  if (!to->drawn) return be_tie_no_memory(err);
  /* It passes within half a step of each of its points, in order. */
  for (size_t i = 0, at = 0; i + 1 < points.count; i++) {
    const struct be_point *p = to->curve.points, next = points.points[i + 1];
    size_t end = at;
    while (end + 1 < to->curve.count && distance(p[end], next) > 0.75 * step) end++;
    while (end + 1 < to->curve.count && distance(p[end + 1], next) < distance(p[end], next)) end++;
    for (; at < end; at++) to->drawn[at] = drawn[i];
    for (; i + 2 == points.count && at < to->curve.count; at++)
      to->drawn[at] = line->closed && drawn[i + 1];
  }
  return BE_OK;
}

/* ---- what is seen is what was drawn ---- */

static int sign_of(const struct sketches *all, const struct meeting *m)
{
  double x[2], y[2];
  for (size_t w = 0; w < 2; w++) {
    const struct sketch *line = &all->line[m->line[w]];
    const struct leg *leg = &legs_of(line)[m->leg[w]];
    struct be_point d = minus(dots_of(line)[leg->to].at, dots_of(line)[leg->from].at);
    x[w] = d.x;
    y[w] = d.y;
  }
  size_t o = (size_t)m->over, u = !o;
  return x[o] * y[u] - y[o] * x[u] > 0 ? 1 : -1;
}

static bool is_as_drawn(const struct meeting *m, const struct be_crossing *c, int sign)
{
  size_t o = (size_t)m->over;
  return c->line[0] == m->line[o] && c->line[1] == m->line[!o] && c->sign == sign;
}

static enum be_status too_near(struct be_err *err, double x, double y)
{
  be_fail(err, BE_BAD_INPUT,
          "near %.3g,%.3g the smooth line does not cross as its straight pieces do: points lie too "
          "near one another there, or too few",
          x, y);
  return BE_BAD_INPUT;
}

/* Each crossing of the sketch with the nearest like it of the lines; none left on either side. */
static enum be_status compare(const struct sketches *all, const struct meetings *meetings,
                              const struct be_crossing *found, size_t count, bool *taken,
                              struct be_err *err)
{
  for (size_t i = 0; i < meetings->count; i++) {
    const struct meeting *m = &meetings->list[i];
    size_t best = count;
    double least = 3;
    for (size_t k = 0; k < count; k++) {
      double off = hypot(found[k].x - m->x, found[k].y - m->y);
      if (taken[k] || off >= least || !is_as_drawn(m, &found[k], sign_of(all, m))) continue;
      least = off;
      best = k;
    }
    if (best == count) return too_near(err, m->x, m->y);
    taken[best] = true;
  }
  for (size_t k = 0; k < count; k++)
    if (!taken[k]) return too_near(err, found[k].x, found[k].y);
  return BE_OK;
}

static enum be_status check(const struct sketches *all, const struct meetings *meetings,
                            const struct be_lines *lines, bool *const *drawn,
                            struct be_arena *scratch, struct be_err *err)
{
  for (size_t l = 0; l < all->count; l++) {
    if (all->line[l].beside >= 0) return BE_OK;
    for (size_t i = 0; i < all->line[l].steps.count; i++)
      if (steps_of(&all->line[l])[i].side) return BE_OK;
  }
  struct be_crossing *found;
  size_t count, kept = 0;
  struct be_err why; /* in other words here */
  enum be_status status = be_crossings_find(lines, &be_view_top, scratch, &found, &count, &why);
  if (status == BE_NO) return BE_OK; /* a tie of given heights may hide something from above */
  if (status == BE_NO_MEMORY) return be_tie_no_memory(err);
  if (status != BE_OK)
    return be_fail(
        err, BE_BAD_INPUT,
        "two strands run through one another: they are drawn too near, or at one height");
  for (size_t k = 0; k < count; k++)
    if (drawn[found[k].line[0]][found[k].edge[0]] && drawn[found[k].line[1]][found[k].edge[1]])
      found[kept++] = found[k];
  bool *taken = be_arena_alloc(scratch, kept + 1);
  return taken ? compare(all, meetings, found, kept, taken, err) : be_tie_no_memory(err);
}

/* ---- all of it ---- */

static void mirror(struct be_curve *curve)
{
  for (size_t i = 0; i < curve->count; i++) curve->points[i].z = -curve->points[i].z;
}

/* Hardware behind the others. */
static enum be_status hand_over(const struct sketches *all, const struct be_lines *lines,
                                struct be_arena *arena, struct be_tie *tie, struct be_err *err)
{
  for (int hardware = 0; hardware < 2; hardware++)
    for (size_t l = 0; l < all->count; l++) {
      const struct sketch *line = &all->line[l];
      if (line->hardware != (hardware == 1)) continue;
      size_t to = tie->lines.count;
      double step = step_share * line->diameter;
      enum be_status status =
          be_curve_resample(&lines->line[l], step, arena, &tie->lines.line[to], err);
      if (status != BE_OK) return status;
      if (all->mirror) mirror(&tie->lines.line[to]);
      tie->lines.diameter[to] = line->diameter;
      tie->letter[to] = line->letter;
      tie->hardware[to] = line->hardware;
      memcpy(tie->loaded[to], all->loaded[l], sizeof tie->loaded[to]);
      tie->lines.count++;
    }
  return BE_OK;
}

enum be_status be_tie_build(const struct sketches *all, const struct meetings *meetings,
                            struct be_arena *scratch, struct be_arena *arena, struct be_tie *tie,
                            struct be_err *err)
{
  struct be_lines lines = {.count = all->count};
  bool hardware[BE_LINES_MAX], *drawn[BE_LINES_MAX];
  enum be_status status = BE_OK;
  for (size_t l = 0; status == BE_OK && l < all->count; l++) {
    struct way way = {all, meetings, {0}, scratch};
    struct smooth smooth = {0};
    status = follow(&way, l, err);
    if (status == BE_OK) status = smooth_line(&way, &all->line[l], &smooth, err);
    lines.line[l] = smooth.curve;
    lines.diameter[l] = all->line[l].diameter;
    drawn[l] = smooth.drawn;
    hardware[l] = all->line[l].hardware;
  }
  if (status == BE_OK) status = be_tie_seat(&lines, hardware, scratch, err);
  if (status == BE_OK) status = check(all, meetings, &lines, drawn, scratch, err);
  tie->view = all->view;
  return status == BE_OK ? hand_over(all, &lines, arena, tie, err) : status;
}
