/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Crossings of a view. Edges are sorted into a grid of squares about as wide as an edge is long,
 * and only those that share a square are compared; a crossing counts in the square that it lies in.
 */
#include "knot/crossing/inside.h"

#include <float.h>
#include <stdlib.h>

enum { CROSSINGS_MOST = 4000000, PLACES_MOST = 64000000 };

/* What two edges do in a view. */
enum meeting { MEET_NOT, MEET_CROSS, MEET_UNSURE, MEET_IN_SPACE };

struct gathered {
  struct be_crossing *list; /* on the heap */
  size_t count, capacity;
};

/* ---- one pair of edges ---- */

/* Of numbers that are some; fmin and fmax would be calls. */
static inline double lesser(double a, double b)
{
  return a < b ? a : b;
}

static inline double greater(double a, double b)
{
  return a > b ? a : b;
}

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

/* Straight on, one behind the other, they would look as if they lay over one another. */
static bool boxes_apart(const struct flat_edge *e, const struct flat_edge *f)
{
  return greater(e->from.x, e->to.x) < lesser(f->from.x, f->to.x) ||
         greater(f->from.x, f->to.x) < lesser(e->from.x, e->to.x) ||
         greater(e->from.y, e->to.y) < lesser(f->from.y, f->to.y) ||
         greater(f->from.y, f->to.y) < lesser(e->from.y, e->to.y);
}

static double within(double value, double a, double b, double c, double d)
{
  return lesser(greater(value, greater(lesser(a, b), lesser(c, d))),
                lesser(greater(a, b), greater(c, d)));
}

static enum meeting meet(const struct flat *flat, size_t i, size_t j, struct be_crossing *made)
{
  const struct flat_edge *e = &flat->edges[i], *f = &flat->edges[j];
  if (boxes_apart(e, f)) return MEET_NOT;
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
      /* In the boxes of both, so that both are in its square. */
      .x = within(e->from.x + at_e * (e->to.x - e->from.x), e->from.x, e->to.x, f->from.x, f->to.x),
      .y = within(e->from.y + at_e * (e->to.y - e->from.y), e->from.y, e->to.y, f->from.y, f->to.y),
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

enum be_status be_flat_make(const struct be_lines *lines, const struct be_view *view,
                            struct be_arena *arena, struct flat *flat, struct be_err *err)
{
  size_t count = 0;
  for (size_t l = 0; l < lines->count; l++) {
    enum be_status status = be_curve_check(&lines->line[l], err);
    if (status != BE_OK) return status;
    count += be_curve_edges(&lines->line[l]);
  }
  *flat =
      (struct flat){.edges = be_arena_alloc(arena, count * sizeof *flat->edges), .count = count};
  if (!flat->edges) return be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
  struct flat_edge *edge = flat->edges;
  for (size_t l = 0; l < lines->count; l++) {
    const struct be_curve *curve = &lines->line[l];
    size_t edges = be_curve_edges(curve);
    double along = 0;
    for (size_t i = 0; i < edges; i++, edge++) {
      size_t next = i + 1 < curve->count ? i + 1 : 0;
      *edge = (struct flat_edge){.line = l, .edge = i, .of = edges, .closed = curve->closed};
      edge->from = i > 0 ? edge[-1].to : be_view_point(view, &curve->points[0]);
      edge->to = next ? be_view_point(view, &curve->points[next]) : (edge - i)->from;
      edge->along = along;
      edge->length = edge_length(curve, i);
      along += edge->length;
    }
  }
  return BE_OK;
}

/* ---- squares ---- */

/* An edge in one of the squares it passes through. */
struct place {
  int column, row;
  unsigned edge;
};

struct squares {
  double size;
  struct place *places;
  size_t count, capacity;
  unsigned *ends, keys; /* once sorted */
};

static int square_at(const struct squares *squares, double at)
{
  double squares_on = at / squares->size;
  int whole = (int)squares_on;
  return whole - (squares_on < whole);
}

/* As wide as an edge is long in the mean, so that there are few places in all; not so narrow that
 * numbers of squares leave an int. */
static double width_of(const struct flat *flat)
{
  double sum = 0, most = 0;
  for (size_t i = 0; i < flat->count; i++) {
    const struct be_point *p = &flat->edges[i].from, *q = &flat->edges[i].to;
    double x = q->x - p->x, y = q->y - p->y;
    sum += sqrt(x * x + y * y);
    most = greater(most, greater(fabs(p->x), fabs(p->y)));
  }
  return greater(sum / (double)flat->count, most * 1e-6 + DBL_MIN);
}

static enum be_status add_place(struct squares *squares, int column, int row, size_t edge,
                                struct be_err *err)
{
  void *list = squares->places;
  enum be_status status = be_grow(&list, &squares->capacity, sizeof *squares->places,
                                  squares->count + 1, PLACES_MOST, err);
  squares->places = list;
  if (status == BE_OK)
    squares->places[squares->count++] = (struct place){column, row, (unsigned)edge};
  return status;
}

/* Column by column, with a margin for rounding. */
static enum be_status place_edge(const struct flat *flat, size_t i, struct squares *squares,
                                 struct be_err *err)
{
  const struct be_point *p = &flat->edges[i].from, *q = &flat->edges[i].to;
  double margin =
      1e-9 * squares->size + 1e-14 * (fabs(p->x) + fabs(q->x) + fabs(p->y) + fabs(q->y));
  double left = lesser(p->x, q->x), right = greater(p->x, q->x);
  double slope = right > left ? (q->y - p->y) / (q->x - p->x) : 0;
  int last = square_at(squares, right + margin);
  enum be_status status = BE_OK;
  for (int column = square_at(squares, left - margin); column <= last; column++) {
    double x1 = greater(left, column * squares->size - margin);
    double x2 = lesser(right, (column + 1) * squares->size + margin);
    double y1 = right > left ? p->y + (x1 - p->x) * slope : p->y;
    double y2 = right > left ? p->y + (x2 - p->x) * slope : q->y;
    double steep = 1e-14 * fabs(slope) * (fabs(p->x) + fabs(x1) + fabs(x2));
    int top = square_at(squares, lesser(greater(y1, y2), greater(p->y, q->y)) + margin + steep);
    int row = square_at(squares, greater(lesser(y1, y2), lesser(p->y, q->y)) - margin - steep);
    for (; row <= top && status == BE_OK; row++) status = add_place(squares, column, row, i, err);
  }
  return status;
}

/* Squares with the same remainder of these numbers are neighbours in the list. */
static unsigned key_of(const struct place *place, unsigned mask)
{
  return ((unsigned)place->column * 73856093U ^ (unsigned)place->row * 19349663U) & mask;
}

/* Puts the places of each square together, edges in order: by counting, which is faster than
 * comparing. A few squares may share a key; places of key k end at ends[k]. */
static enum be_status sort_places(struct squares *squares, struct be_err *err)
{
  unsigned keys = 64;
  while (keys < squares->count) keys *= 2;
  unsigned *ends = be_alloc_array(keys + 1, sizeof *ends);
  struct place *sorted = be_alloc_array(squares->count + 1, sizeof *sorted);
  if (ends && sorted) {
    const struct place *places = squares->places;
    for (size_t i = 0; i < squares->count; i++) ends[key_of(&places[i], keys - 1) + 1]++;
    for (unsigned k = 0; k < keys; k++) ends[k + 1] += ends[k];
    for (size_t i = 0; i < squares->count; i++)
      sorted[ends[key_of(&places[i], keys - 1)]++] = places[i];
  }
  be_free(squares->places);
  squares->places = sorted;
  squares->ends = ends;
  squares->keys = keys;
  return ends && sorted ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
}

/* ---- gathering ---- */

static enum be_status take(struct gathered *gathered, const struct flat *flat, size_t i, size_t j,
                           const struct squares *squares, const struct place *square,
                           struct be_err *err)
{
  struct be_crossing made;
  if (are_neighbours(flat, i, j)) return BE_OK;
  switch (meet(flat, i, j, &made)) {
  case MEET_NOT: return BE_OK;
  case MEET_UNSURE:
    return be_fail(err, BE_NO, "in this view an edge passes through a point of the line");
  case MEET_IN_SPACE:
    be_fail(err, BE_BAD_INPUT, "the lines meet in space");
    return be_fail_remedy(err, "move one of them aside where it crosses the other");
  case MEET_CROSS: break;
  }
  if (square &&
      (square_at(squares, made.x) != square->column || square_at(squares, made.y) != square->row))
    return BE_OK;
  void *list = gathered->list;
  enum be_status status = be_grow(&list, &gathered->capacity, sizeof *gathered->list,
                                  gathered->count + 1, CROSSINGS_MOST, err);
  gathered->list = list;
  if (status == BE_OK) gathered->list[gathered->count++] = made;
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

/* Compares all edges of each square. */
static enum be_status go_through(const struct flat *flat, const struct squares *squares,
                                 struct gathered *gathered, struct be_err *err)
{
  enum be_status status = BE_OK;
  const struct place *a = squares->places;
  for (unsigned k = 0; k < squares->keys; k++)
    for (const struct place *end = squares->places + squares->ends[k]; a < end; a++)
      for (const struct place *b = a + 1; b < end && status == BE_OK; b++)
        if (b->column == a->column && b->row == a->row)
          status = take(gathered, flat, a->edge, b->edge, squares, a, err);
  return status;
}

enum be_status be_crossings_find(const struct be_lines *lines, const struct be_view *view,
                                 struct be_arena *arena, struct be_crossing **crossings,
                                 size_t *count, struct be_err *err)
{
  struct flat flat;
  struct gathered gathered = {0};
  enum be_status status = be_flat_make(lines, view, arena, &flat, err);
  if (status != BE_OK) return status;
  struct squares squares = {.size = width_of(&flat)};
  for (size_t i = 0; i < flat.count && status == BE_OK; i++)
    status = place_edge(&flat, i, &squares, err);
  if (status == BE_OK) status = sort_places(&squares, err);
  if (status == BE_OK) status = go_through(&flat, &squares, &gathered, err);
  be_free(squares.places);
  be_free(squares.ends);
  return finish(&gathered, status, arena, crossings, count, err);
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
  enum be_status status = be_flat_make(lines, view, arena, &flat, err);
  if (status != BE_OK) return status;
  for (size_t i = 0; i < flat.count; i++)
    for (size_t j = i + 1; j < flat.count && status == BE_OK; j++)
      status = take(&gathered, &flat, i, j, NULL, NULL, err);
  return finish(&gathered, status, arena, crossings, count, err);
}
