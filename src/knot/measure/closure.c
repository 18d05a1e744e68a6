/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Open lines closed outside their drawing.
 *
 *        join q, height q                 From an end straight out at its own height, past the
 *      .-----------------.                circle that holds the drawing; then up to its join's
 *     /   .--join p--.    \               height and out to its join's radius. Joins are numbered
 *    |   /  .-----.   \    |              by their span, so that a wide one lies outside and above
 *    |  |  ( knot  )---'   |              those it spans, and only joins whose ends alternate
 *     \  '--\     /--------'              round the circle cross. */
#include "knot/measure/inside.h"

#include <string.h>

static const double pi = 3.14159265358979323846;

enum { LEADS_MAX = 2 * BE_LINES_MAX, ARC_STEPS = 36 };

const struct be_closure_rule be_closures[BE_CLOSURES] = {
    {"each", "each line's two ends joined, wider joins over narrower ones", false},
    {"each-under", "each line's two ends joined, wider joins under narrower ones", false},
    {"ends", "the first ends of the two lines joined, and their last ends", true},
    {"sides", "the two ends at the left of the drawing joined, and the two at its right", true},
    {"loaded", "the two pulled ends joined, and the two free ends", true},
    {"neighbours",
     "ends joined to their neighbours round the drawing, from line A's first end "
     "counter-clockwise",
     true},
    {"neighbours-back",
     "ends joined to their neighbours round the drawing, from line A's first "
     "end clockwise",
     true},
};

struct lead {
  size_t line;
  bool last;
  bool loaded;
  double x, y, z; /* in the drawing, from its middle */
  double angle;
};

struct join {
  size_t lead[2];
  double span; /* signed, the shorter way round */
};

struct closing {
  const struct be_lines *lines;
  const struct be_view *view;
  double x, y, radius, low, high;
  struct lead leads[LEADS_MAX];
  struct join joins[BE_LINES_MAX];
  size_t lead_count, join_count;
  bool under;
};

/* ---- the drawing ---- */

static void measure_drawing(struct closing *w)
{
  double left = INFINITY, right = -INFINITY, bottom = INFINITY, top = -INFINITY;
  w->low = INFINITY, w->high = -INFINITY;
  for (int pass = 0; pass < 2; pass++) {
    for (size_t l = 0; l < w->lines->count; l++)
      for (size_t i = 0; i < w->lines->line[l].count; i++) {
        struct be_point p = be_view_point(w->view, &w->lines->line[l].points[i]);
        left = fmin(left, p.x), right = fmax(right, p.x);
        bottom = fmin(bottom, p.y), top = fmax(top, p.y);
        w->low = fmin(w->low, p.z), w->high = fmax(w->high, p.z);
        if (pass) w->radius = fmax(w->radius, hypot(p.x - w->x, p.y - w->y));
      }
    w->x = (left + right) / 2, w->y = (bottom + top) / 2;
  }
}

static void find_leads(struct closing *w, const struct be_ends *ends)
{
  for (size_t l = 0; l < w->lines->count; l++)
    for (int last = 0; last < 2 && !w->lines->line[l].closed; last++) {
      const struct be_curve *line = &w->lines->line[l];
      struct be_point p = be_view_point(w->view, &line->points[last ? line->count - 1 : 0]);
      struct be_point q = be_view_point(w->view, &line->points[last ? line->count - 2 : 1]);
      struct lead *lead = &w->leads[w->lead_count++];
      *lead = (struct lead){l, last, ends && ends->loaded[l][last], p.x - w->x, p.y - w->y, p.z, 0};
      bool middle = hypot(lead->x, lead->y) < 1e-6 * w->radius;
      lead->angle = middle ? atan2(p.y - q.y, p.x - q.x) : atan2(lead->y, lead->x);
    }
}

/* ---- which ends ---- */

static void join(struct closing *w, size_t a, size_t b)
{
  double span = w->leads[b].angle - w->leads[a].angle;
  if (span > pi) span -= 2 * pi;
  if (span <= -pi) span += 2 * pi;
  size_t at = w->join_count++;
  for (; at > 0 && fabs(w->joins[at - 1].span) > fabs(span); at--) w->joins[at] = w->joins[at - 1];
  w->joins[at] = (struct join){{a, b}, span};
}

/* The lead that lies so many places on round the circle from the first, counter-clockwise. */
static size_t round_from_first(const struct closing *w, size_t places)
{
  for (size_t i = 0; i < w->lead_count; i++) {
    size_t before = 0;
    double own = fmod(w->leads[i].angle - w->leads[0].angle + 2 * pi, 2 * pi);
    for (size_t k = 0; k < w->lead_count; k++) {
      double other = fmod(w->leads[k].angle - w->leads[0].angle + 2 * pi, 2 * pi);
      before += other < own || (k < i && !(own < other));
    }
    if (before == places) return i;
  }
  return 0;
}

static size_t rank_from_left(const struct closing *w, size_t lead)
{
  size_t before = 0;
  for (size_t k = 0; k < w->lead_count; k++)
    before += w->leads[k].x < w->leads[lead].x || (k < lead && !(w->leads[lead].x < w->leads[k].x));
  return before;
}

/* Two groups of two ends: joins each. */
static enum be_status join_groups(struct closing *w, const bool group[4], struct be_err *err)
{
  size_t members[2][4], count[2] = {0, 0};
  for (size_t i = 0; i < 4; i++) members[group[i]][count[group[i]]++] = i;
  if (count[0] != 2)
    return be_fail(err, BE_NO,
                   "this closure joins the two pulled ends of two lines, and here %zu "
                   "of four ends are pulled",
                   count[1]);
  join(w, members[0][0], members[0][1]);
  join(w, members[1][0], members[1][1]);
  return BE_OK;
}

static enum be_status choose_joins(struct closing *w, enum be_closure closure, struct be_err *err)
{
  bool group[4] = {false};
  if (be_closures[closure].for_two && w->lead_count != 4)
    return be_fail(err, BE_NO, "the closure \"%s\" is for two open lines",
                   be_closures[closure].name);
  for (size_t i = 0; i < 4; i++)
    group[i] = closure == BE_CLOSE_ENDS    ? w->leads[i].last
               : closure == BE_CLOSE_SIDES ? rank_from_left(w, i) >= 2
                                           : w->leads[i].loaded;
  switch (closure) {
  case BE_CLOSE_EACH_UNDER: w->under = true; /* fall through */
  case BE_CLOSE_EACH:
    for (size_t i = 0; i < w->lead_count; i += 2) join(w, i, i + 1);
    return BE_OK;
  case BE_CLOSE_NEIGHBOURS:
  case BE_CLOSE_NEIGHBOURS_BACK: {
    size_t next = closure == BE_CLOSE_NEIGHBOURS ? 1 : 3;
    join(w, 0, round_from_first(w, next));
    join(w, round_from_first(w, 2), round_from_first(w, 4 - next));
    return BE_OK;
  }
  default: return join_groups(w, group, err);
  }
}

/* ---- what crosses ---- */

static bool cuts(double ax, double ay, double bx, double by, struct be_point p, struct be_point q)
{
  double s = (bx - ax) * (p.y - ay) - (by - ay) * (p.x - ax);
  double t = (bx - ax) * (q.y - ay) - (by - ay) * (q.x - ax);
  double u = (q.x - p.x) * (ay - p.y) - (q.y - p.y) * (ax - p.x);
  double v = (q.x - p.x) * (by - p.y) - (q.y - p.y) * (bx - p.x);
  return (s > 0) != (t > 0) && (u > 0) != (v > 0);
}

static size_t passed_by_lead(const struct closing *w, const struct lead *lead)
{
  double out_x = w->x + 1.1 * w->radius * cos(lead->angle);
  double out_y = w->y + 1.1 * w->radius * sin(lead->angle);
  size_t count = 0;
  for (size_t l = 0; l < w->lines->count; l++) {
    const struct be_curve *line = &w->lines->line[l];
    for (size_t i = 0; i < be_curve_edges(line); i++) {
      bool own = l == lead->line && (lead->last ? i + 2 == line->count : i == 0);
      struct be_point p = be_view_point(w->view, &line->points[i]);
      struct be_point q = be_view_point(w->view, &line->points[i + 1 < line->count ? i + 1 : 0]);
      count += !own && cuts(w->x + lead->x, w->y + lead->y, out_x, out_y, p, q);
    }
  }
  return count;
}

static bool spans(const struct closing *w, const struct join *join, size_t lead)
{
  double start = w->leads[join->lead[0]].angle, off = w->leads[lead].angle - start;
  if (join->span < 0) off = -off;
  off = fmod(off + 4 * pi, 2 * pi);
  return off < fabs(join->span);
}

static size_t crossed_outside(const struct closing *w)
{
  size_t count = 0;
  for (size_t q = 0; q < w->join_count; q++)
    for (size_t p = 0; p < q; p++)
      count += spans(w, &w->joins[p], w->joins[q].lead[0]) !=
               spans(w, &w->joins[p], w->joins[q].lead[1]);
  return count;
}

/* ---- the closed lines ---- */

static struct be_point in_space(const struct closing *w, double radius, double angle, double z)
{
  const struct be_view *v = w->view;
  double x = w->x + radius * cos(angle), y = w->y + radius * sin(angle);
  return (struct be_point){
      v->right[0] * x + v->up[0] * y + v->eye[0] * z,
      v->right[1] * x + v->up[1] * y + v->eye[1] * z,
      v->right[2] * x + v->up[2] * y + v->eye[2] * z,
  };
}

static void add(struct be_curve *to, struct be_point p)
{
  to->points[to->count++] = p;
}

/* From the end `from` of a join to its other end; returns that lead. */
static size_t add_join(const struct closing *w, size_t rank, size_t from, struct be_curve *to)
{
  const struct join *join = &w->joins[rank];
  bool back = join->lead[1] == from;
  const struct lead *start = &w->leads[from], *end = &w->leads[join->lead[!back]];
  double place = (double)rank + 1, r = w->radius, span = back ? -join->span : join->span;
  double level = w->under ? w->low - 0.1 * place * r : w->high + 0.1 * place * r;
  double out = r * (1.2 + 0.1 * place);
  add(to, in_space(w, 1.1 * r, start->angle, start->z));
  add(to, in_space(w, 1.15 * r, start->angle, level));
  for (int i = 0; i <= ARC_STEPS; i++)
    add(to, in_space(w, out, start->angle + span * i / ARC_STEPS, level));
  add(to, in_space(w, 1.15 * r, end->angle, level));
  add(to, in_space(w, 1.1 * r, end->angle, end->z));
  return join->lead[!back];
}

static void add_line(const struct be_curve *line, bool forward, struct be_curve *to)
{
  for (size_t i = 0; i < line->count; i++) add(to, line->points[forward ? i : line->count - 1 - i]);
}

/* Lines one after the other until the first is back. */
static void go_round(const struct closing *w, size_t line, bool *used, struct be_curve *to)
{
  size_t lead = 0;
  while (w->leads[lead].line != line) lead++;
  size_t first = lead; /* its first end */
  do {
    const struct lead *in = &w->leads[lead];
    used[in->line] = true;
    add_line(&w->lines->line[in->line], !in->last, to);
    size_t out = lead ^ 1U, rank = 0;
    while (w->joins[rank].lead[0] != out && w->joins[rank].lead[1] != out) rank++;
    lead = add_join(w, rank, out, to);
  } while (lead != first);
}

static enum be_status build(const struct closing *w, struct be_arena *arena,
                            struct be_closed *closed, struct be_err *err)
{
  bool used[BE_LINES_MAX] = {false};
  size_t room = BE_LINES_MAX * (ARC_STEPS + 8);
  for (size_t l = 0; l < w->lines->count; l++) room += w->lines->line[l].count;
  for (size_t l = 0; l < w->lines->count; l++) {
    if (used[l]) continue;
    size_t k = closed->lines.count++;
    closed->of[k] = l;
    closed->lines.diameter[k] = w->lines->diameter[l];
    closed->lines.line[k] = w->lines->line[l];
    if (w->lines->line[l].closed) continue;
    struct be_curve *to = &closed->lines.line[k];
    *to = (struct be_curve){be_arena_alloc(arena, room * sizeof *to->points), 0, true};
    if (!to->points) return be_fail(err, BE_NO_MEMORY, "no memory for the closed lines");
    go_round(w, l, used, to);
  }
  return BE_OK;
}

enum be_status be_close(const struct be_lines *lines, const struct be_ends *ends,
                        const struct be_view *view, enum be_closure closure, struct be_arena *arena,
                        struct be_closed *closed, struct be_err *err)
{
  struct closing w = {.lines = lines, .view = view};
  enum be_status status = BE_OK;
  *closed = (struct be_closed){0};
  for (size_t l = 0; l < lines->count && status == BE_OK; l++)
    status = be_curve_check(&lines->line[l], err);
  if (status != BE_OK) return status;
  measure_drawing(&w);
  find_leads(&w, ends);
  status = choose_joins(&w, closure, err);
  if (status != BE_OK) return status;
  closed->joins = w.join_count;
  closed->outside = crossed_outside(&w);
  for (size_t i = 0; i < w.lead_count; i++) closed->led += passed_by_lead(&w, &w.leads[i]);
  return build(&w, arena, closed, err);
}
