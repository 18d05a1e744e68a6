/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Crossings of a view. Edges lie in boxes, and these in boxes of two neighbours each, to one round
 * all; only what lies in boxes that meet is compared. */
#include "knot/crossing/inside.h"

#include <assert.h>
#include <float.h>
#include <stdlib.h>

enum { CROSSINGS_MOST = 4000000 };

/* What two edges do in a view. */
enum meeting { MEET_NOT, MEET_CROSS, MEET_UNSURE, MEET_IN_SPACE };

struct gathered {
  struct be_crossing *list; /* on the heap */
  size_t count, capacity;
  size_t most; /* so many are enough, and without a list */
};

/* ---- one pair of edges ---- */

/* Twice the area of the triangle a, b, c, and how far rounding may have moved it (Shewchuk 1997: 3
 * eps of the sum of the products). */
static double turn(const struct be_point *a, const struct be_point *b, const struct be_point *c,
                   double *doubt)
{
  double left = (b->x - a->x) * (c->y - a->y), right = (b->y - a->y) * (c->x - a->x);
  *doubt = 4 * DBL_EPSILON * (fabs(left) + fabs(right));
  return left - right;
}

/* Which side of an edge the two ends of the other are on. */
struct sides {
  double from, to;
  bool apart; /* surely on one side */
  bool sure;
};

static struct sides sides_of(const struct be_point *a, const struct be_point *b,
                             const struct be_point *c, const struct be_point *d)
{
  double doubt_c, doubt_d, from = turn(a, b, c, &doubt_c), to = turn(a, b, d, &doubt_d);
  bool sure_c = fabs(from) > doubt_c, sure_d = fabs(to) > doubt_d;
  return (struct sides){from, to, sure_c && sure_d && (from > 0) == (to > 0), sure_c && sure_d};
}

static enum meeting meet(const struct flat *flat, size_t i, size_t j, struct be_crossing *made)
{
  const struct flat_edge *e = &flat->edges[i], *f = &flat->edges[j];
  struct sides of_f = sides_of(&e->from, &e->to, &f->from, &f->to);
  if (of_f.apart) return MEET_NOT;
  struct sides of_e = sides_of(&f->from, &f->to, &e->from, &e->to);
  if (of_e.apart) return MEET_NOT;
  if (!of_e.sure || !of_f.sure) return MEET_UNSURE;
  double at_e = of_e.from / (of_e.from - of_e.to), at_f = of_f.from / (of_f.from - of_f.to);
  double z_e = e->from.z + at_e * (e->to.z - e->from.z);
  double z_f = f->from.z + at_f * (f->to.z - f->from.z);
  /* What turning the view rounds off. */
  double rounding = 1e-13 * (fabs(e->from.z) + fabs(e->to.z) + fabs(f->from.z) + fabs(f->to.z) +
                             e->length + f->length);
  if (!(fabs(z_e - z_f) > rounding)) return MEET_IN_SPACE;
  if (!made) return MEET_CROSS;
  bool e_over = z_e > z_f;
  const struct flat_edge *over = e_over ? e : f, *under = e_over ? f : e;
  double ux = over->to.x - over->from.x, uy = over->to.y - over->from.y;
  double vx = under->to.x - under->from.x, vy = under->to.y - under->from.y;
  double across = ux * vy - uy * vx, along = ux * vx + uy * vy;
  double at[2] = {e_over ? at_e : at_f, e_over ? at_f : at_e};
  *made = (struct be_crossing){
      .line = {over->line, under->line},
      .edge = {over->edge, under->edge},
      .at = {at[0], at[1]},
      .along = {over->along + at[0] * over->length, under->along + at[1] * under->length},
      .x = e->from.x + at_e * (e->to.x - e->from.x),
      .y = e->from.y + at_e * (e->to.y - e->from.y),
      .gap = fabs(z_e - z_f),
      .sign = across > 0 ? 1 : -1,
      .angle = atan2(fabs(across), fabs(along)) * 180 / 3.14159265358979323846,
  };
  return MEET_CROSS;
}

/* ---- the flat picture ---- */

static bool are_neighbours(const struct flat *flat, size_t i, size_t j)
{
  const struct flat_edge *e = &flat->edges[i], *f = &flat->edges[j];
  if (e->line != f->line) return false;
  size_t apart = e->edge > f->edge ? e->edge - f->edge : f->edge - e->edge;
  return apart == 1 || (e->closed && apart + 1 == e->of);
}

enum be_status be_flat_make(const struct be_lines *lines, struct be_arena *arena, struct flat *flat,
                            struct be_err *err)
{
  *flat = (struct flat){.lines = lines};
  for (size_t l = 0; l < lines->count; l++) {
    enum be_status status = be_curve_check(&lines->line[l], err);
    if (status != BE_OK) return status;
    flat->count += be_curve_edges(&lines->line[l]);
  }
  flat->edges = be_arena_alloc(arena, flat->count * sizeof *flat->edges);
  for (size_t level = 0, n = flat->count; flat->edges; level++, n = (n + 1) / 2) {
    flat->boxes[level] = n;
    flat->box[level] = be_arena_alloc(arena, n * sizeof *flat->box[level]);
    if (!flat->box[level]) flat->edges = NULL;
    flat->top = level;
    if (n == 1) break;
  }
  if (!flat->edges) return be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
  struct flat_edge *edge = flat->edges;
  for (size_t l = 0; l < lines->count; l++) {
    const struct be_curve *curve = &lines->line[l];
    size_t edges = be_curve_edges(curve);
    double along = 0;
    for (size_t i = 0; i < edges; i++, edge++) {
      *edge = (struct flat_edge){.line = l, .edge = i, .of = edges, .closed = curve->closed};
      edge->along = along;
      edge->length = edge_length(curve, i);
      along += edge->length;
    }
  }
  return BE_OK;
}

static struct box box_of(const struct flat_edge *e)
{
  return (struct box){lesser(e->from.x, e->to.x), greater(e->from.x, e->to.x),
                      lesser(e->from.y, e->to.y), greater(e->from.y, e->to.y)};
}

static struct box box_round(const struct box *a, const struct box *b)
{
  return (struct box){lesser(a->left, b->left), greater(a->right, b->right), lesser(a->low, b->low),
                      greater(a->high, b->high)};
}

enum be_status be_flat_look(struct flat *flat, const struct be_view *view, struct be_err *err)
{
  struct flat_edge *edge = flat->edges;
  for (size_t l = 0; l < flat->lines->count; l++) {
    const struct be_curve *curve = &flat->lines->line[l];
    size_t edges = be_curve_edges(curve);
    for (size_t i = 0; i < edges; i++, edge++) {
      size_t next = i + 1 < curve->count ? i + 1 : 0;
      edge->from = i > 0 ? edge[-1].to : be_view_point(view, &curve->points[0]);
      edge->to = next ? be_view_point(view, &curve->points[next]) : (edge - i)->from;
      if (!isfinite(edge->to.x + edge->to.y + edge->to.z))
        return be_fail(err, BE_BAD_INPUT, "point %zu of the line is too far out", next + 1);
      flat->box[0][edge - flat->edges] = box_of(edge);
    }
  }
  for (size_t level = 1; level <= flat->top; level++)
    for (size_t i = 0; i < flat->boxes[level]; i++) {
      const struct box *of = &flat->box[level - 1][2 * i];
      flat->box[level][i] = 2 * i + 1 < flat->boxes[level - 1] ? box_round(&of[0], &of[1]) : of[0];
    }
  return BE_OK;
}

/* ---- gathering ---- */

static enum be_status take(struct gathered *gathered, const struct flat *flat, size_t i, size_t j,
                           struct be_err *err)
{
  struct be_crossing made;
  if (are_neighbours(flat, i, j)) return BE_OK;
  switch (meet(flat, i, j, gathered->most ? NULL : &made)) {
  case MEET_NOT: return BE_OK;
  case MEET_UNSURE:
    return be_fail(err, BE_NO, "in this view an edge passes through a point of the line");
  case MEET_IN_SPACE:
    be_fail(err, BE_BAD_INPUT, "the lines meet in space");
    return be_fail_remedy(err, "move one of them aside where it crosses the other");
  case MEET_CROSS: break;
  }
  if (gathered->most) return ++gathered->count < gathered->most ? BE_OK : BE_TOO_LARGE;
  void *list = gathered->list;
  enum be_status status = be_grow(&list, &gathered->capacity, sizeof *gathered->list,
                                  gathered->count + 1, CROSSINGS_MOST, err);
  gathered->list = list;
  if (status == BE_OK) gathered->list[gathered->count++] = made;
  return status;
}

/* Straight on, edges one behind the other would look as if they lay over one another, were they
 * not in boxes. */
static bool are_apart(const struct box *a, const struct box *b)
{
  return (a->right < b->left) | (b->right < a->left) | (a->high < b->low) | (b->high < a->low);
}

/* All pairs of edges of two boxes of a level that are not apart, or of one. As deep as there are
 * levels. */
static enum be_status go_through(const struct flat *flat, size_t level, size_t a, size_t b,
                                 struct gathered *gathered, struct be_err *err)
{
  enum be_status status = BE_OK;
  if (level == 0) return a == b ? BE_OK : take(gathered, flat, a, b, err);
  level--;
  const struct box *box = flat->box[level];
  size_t count = flat->boxes[level], to_a = 2 * a + 2 < count ? 2 * a + 2 : count,
         to_b = 2 * b + 2 < count ? 2 * b + 2 : count;
  for (size_t i = 2 * a; i < to_a; i++)
    for (size_t j = a == b ? i : 2 * b; j < to_b && status == BE_OK; j++)
      if (i == j || !are_apart(&box[i], &box[j]))
        status = go_through(flat, level, i, j, gathered, err);
  return status;
}

static int by_place(const void *a, const void *b)
{
  const struct be_crossing *x = a, *y = b;
  for (int k = 0; k < 2; k++) {
    if (x->line[k] != y->line[k]) return x->line[k] < y->line[k] ? -1 : 1;
    if (x->along[k] < y->along[k]) return -1;
    if (x->along[k] > y->along[k]) return 1;
  }
  return 0;
}

/* Hands the list over to the arena, in order. */
static enum be_status finish(struct gathered *gathered, enum be_status status,
                             struct be_arena *arena, struct be_crossing **crossings, size_t *count,
                             struct be_err *err)
{
  struct be_crossing *list = NULL;
  if (status == BE_OK) {
    list = be_arena_alloc(arena, (gathered->count + 1) * sizeof *list);
    if (!list) status = be_fail(err, BE_NO_MEMORY, "no memory for the crossings");
  }
  if (status == BE_OK) {
    if (gathered->count) {
      qsort(gathered->list, gathered->count, sizeof *gathered->list, by_place);
      memcpy(list, gathered->list, gathered->count * sizeof *list);
    }
    *crossings = list;
    *count = gathered->count;
  }
  be_free(gathered->list);
  return status;
}

static enum be_status look(const struct be_lines *lines, const struct be_view *view,
                           struct be_arena *arena, struct flat *flat, struct be_err *err)
{
  enum be_status status = be_flat_make(lines, arena, flat, err);
  return status == BE_OK ? be_flat_look(flat, view, err) : status;
}

enum be_status be_crossings_find(const struct be_lines *lines, const struct be_view *view,
                                 struct be_arena *arena, struct be_crossing **crossings,
                                 size_t *count, struct be_err *err)
{
  struct flat flat;
  struct gathered gathered = {0};
  enum be_status status = look(lines, view, arena, &flat, err);
  if (status != BE_OK) return status;
  status = go_through(&flat, flat.top, 0, 0, &gathered, err);
  return finish(&gathered, status, arena, crossings, count, err);
}

enum be_status be_flat_count(const struct flat *flat, size_t most, size_t *count,
                             struct be_err *err)
{
  struct gathered gathered = {.most = most};
  assert(most > 0);
  enum be_status status = go_through(flat, flat->top, 0, 0, &gathered, err);
  *count = gathered.count;
  return status == BE_TOO_LARGE ? BE_OK : status;
}

/* Each a little farther than the one before, in directions that never come round. */
enum be_status be_crossings_near(const struct be_lines *lines, struct be_view *view,
                                 struct be_arena *arena, struct be_crossing **crossings,
                                 size_t *count, struct be_err *err)
{
  enum { TRIES = 20 };
  static const double golden_deg = 137.5, step_deg = 0.03;
  const struct be_view straight = *view;
  enum be_status status = BE_NO;
  for (int i = 0; i < TRIES && status == BE_NO; i++) {
    if (i) *view = be_view_tilted(&straight, golden_deg * i, step_deg * i);
    status = be_crossings_find(lines, view, arena, crossings, count, err);
  }
  return status == BE_NO ? be_fail(err, BE_BAD_INPUT, "no view near this one shows the knot well")
                         : status;
}

enum be_status be_crossings_all_pairs(const struct be_lines *lines, const struct be_view *view,
                                      struct be_arena *arena, struct be_crossing **crossings,
                                      size_t *count, struct be_err *err)
{
  struct flat flat;
  struct gathered gathered = {0};
  enum be_status status = look(lines, view, arena, &flat, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < flat.count; i++)
    for (size_t j = i + 1; j < flat.count && status == BE_OK; j++)
      if (!are_apart(&flat.box[0][i], &flat.box[0][j])) status = take(&gathered, &flat, i, j, err);
  return finish(&gathered, status, arena, crossings, count, err);
}
