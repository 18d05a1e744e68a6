/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Strands that overlap are pushed apart, each point of the two by half of what is lacking; pushes
 * are evened out along the line, so that it keeps its shape. Pairs that may come near are looked up
 * now and then. No push is large enough to carry a strand through another. Ends and hardware stay
 * where they are. */
#include "knot/tie/inside.h"

#include <stdlib.h>

const double be_tie_seated = 0.98;

enum { ROUNDS = 240, LOOK_EVERY = 12, EVEN = 3, PAIRS_MOST = 2000000 };
static const double most_push = 0.1;
/* How far two may come nearer before they are looked up anew. */
static const double slack = 1.2;
/* No bend is sharper than this radius, in diameters: there the tube would crease. */
static const double sharpest = 0.6;
/* Points of edges that cross a diameter apart, midway on both, are half a step farther along each:
 * sqrt(1 + 2 * 0.125^2). */
static const double edges_clear = 1.0155;
static const double own_way = 1.6; /* a line may touch itself once it has turned round: pi / 2 */

struct bead {
  struct be_point *at;
  struct be_point push;
  double along, radius, total; /* along its line, of so much */
  size_t line, i;
  bool fixed, closed;
};

struct pair {
  unsigned a, b;
};

struct order {
  double x;
  size_t i;
};

struct beads {
  struct bead *list;
  struct order *order; /* by x */
  size_t count;
  struct pair *pairs; /* on the heap */
  size_t pairs_count, pairs_capacity;
};

static enum be_status make_beads(struct be_lines *lines, const bool *hardware,
                                 struct be_arena *scratch, struct beads *beads, struct be_err *err)
{
  for (size_t l = 0; l < lines->count; l++) beads->count += lines->line[l].count;
  beads->list = be_arena_alloc(scratch, beads->count * sizeof *beads->list);
  beads->order = be_arena_alloc(scratch, beads->count * sizeof *beads->order);
  if (!beads->list || !beads->order) return be_tie_no_memory(err);
  size_t n = 0;
  for (size_t l = 0; l < lines->count; l++) {
    struct be_curve *curve = &lines->line[l];
    double along = 0, total = be_curve_length(curve);
    for (size_t i = 0; i < curve->count; i++) {
      bool end = !curve->closed && (i == 0 || i + 1 == curve->count);
      beads->list[n++] = (struct bead){.at = &curve->points[i],
                                       .along = along,
                                       .radius = lines->diameter[l] / 2,
                                       .total = total,
                                       .line = l,
                                       .i = i,
                                       .fixed = hardware[l] || end,
                                       .closed = curve->closed};
      if (i < be_curve_edges(curve)) along += edge_length(curve, i);
    }
  }
  return BE_OK;
}

static bool are_neighbours(const struct bead *a, const struct bead *b)
{
  if (a->line != b->line) return false;
  double way = fabs(a->along - b->along);
  if (a->closed && way > a->total / 2) way = a->total - way;
  return way < own_way * 2 * a->radius;
}

static int by_x(const void *a, const void *b)
{
  const struct order *p = a, *q = b;
  if (p->x != q->x) return p->x < q->x ? -1 : 1;
  return p->i < q->i ? -1 : p->i > q->i;
}

static enum be_status keep_pair(struct beads *beads, size_t a, size_t b, struct be_err *err)
{
  const struct bead *p = &beads->list[a], *q = &beads->list[b];
  double reach = p->radius + q->radius + slack;
  if (p->fixed && q->fixed) return BE_OK;
  if (distance(*p->at, *q->at) > reach || are_neighbours(p, q)) return BE_OK;
  void *pairs = beads->pairs;
  enum be_status status = be_grow(&pairs, &beads->pairs_capacity, sizeof *beads->pairs,
                                  beads->pairs_count + 1, PAIRS_MOST, err);
  beads->pairs = pairs;
  if (status == BE_OK) beads->pairs[beads->pairs_count++] = (struct pair){(unsigned)a, (unsigned)b};
  return status;
}

static enum be_status look_up(struct beads *beads, struct be_err *err)
{
  enum be_status status = BE_OK;
  double thickest = 0;
  for (size_t i = 0; i < beads->count; i++) {
    beads->order[i] = (struct order){beads->list[i].at->x, i};
    thickest = fmax(thickest, beads->list[i].radius);
  }
  qsort(beads->order, beads->count, sizeof *beads->order, by_x);
  beads->pairs_count = 0;
  for (size_t a = 0; a < beads->count; a++)
    for (size_t b = a + 1; status == BE_OK && b < beads->count; b++) {
      if (beads->order[b].x - beads->order[a].x > 2 * thickest + slack) break;
      status = keep_pair(beads, beads->order[a].i, beads->order[b].i, err);
    }
  return status;
}

static void add(struct be_point *to, struct be_point p, double times)
{
  to->x += times * p.x;
  to->y += times * p.y;
  to->z += times * p.z;
}

/* Keeps the largest push each way, not their sum: neighbours of a strand push alike. */
static void push(struct bead *bead, struct be_point way, double by)
{
  double already = dot(bead->push, way);
  if (by > already) add(&bead->push, way, by - already);
}

/* The largest overlap, as a share of the sum of the two radii. */
static double push_apart(struct beads *beads)
{
  double most = 0;
  for (size_t i = 0; i < beads->count; i++) beads->list[i].push = (struct be_point){0, 0, 0};
  for (size_t i = 0; i < beads->pairs_count; i++) {
    struct bead *a = &beads->list[beads->pairs[i].a], *b = &beads->list[beads->pairs[i].b];
    struct be_point way = minus(*a->at, *b->at);
    double apart = norm(way), wanted = edges_clear * (a->radius + b->radius), lack = wanted - apart;
    if (!(lack > 0) || !(apart > 1e-9)) continue;
    most = fmax(most, lack / wanted);
    way = (struct be_point){way.x / apart, way.y / apart, way.z / apart};
    double share = a->fixed || b->fixed ? 1 : 0.5;
    push(a, way, share * lack);
    push(b, (struct be_point){-way.x, -way.y, -way.z}, share * lack);
  }
  return most;
}

/* The mean of the pushes about it, those of its own counting most. */
static struct be_point evened(const struct beads *beads, size_t i)
{
  const struct bead *bead = &beads->list[i];
  struct be_point sum = {0, 0, 0};
  double weight = 0;
  for (int k = -EVEN; k <= EVEN; k++) {
    size_t j = i + (size_t)k; /* below 0 it is no bead's number */
    if (j >= beads->count || beads->list[j].line != bead->line) continue;
    double w = EVEN + 1 - abs(k);
    add(&sum, beads->list[j].push, w);
    weight += w;
  }
  return (struct be_point){sum.x / weight, sum.y / weight, sum.z / weight};
}

static void move(struct beads *beads)
{
  for (size_t i = 0; i < beads->count; i++) {
    struct bead *bead = &beads->list[i];
    if (bead->fixed) continue;
    struct be_point by = evened(beads, i);
    double size = 1.4 * norm(by);
    add(bead->at, by, size > most_push ? 1.4 * most_push / size : 1.4);
  }
}

/* Bends are drawn out to the largest curvature allowed: a point goes towards the middle of its
 * neighbours by what is too much. True if there was such a bend. */
static bool ease(struct beads *beads)
{
  bool sharp = false;
  for (size_t i = 1; i + 1 < beads->count; i++) {
    struct bead *bead = &beads->list[i], *a = bead - 1, *b = bead + 1;
    if (bead->fixed || a->line != bead->line || b->line != bead->line) continue;
    struct be_point u = minus(*bead->at, *a->at), v = minus(*b->at, *bead->at);
    double step = (norm(u) + norm(v)) / 2, bend = norm(minus(v, u)) / (step * step);
    double allowed = 1 / (sharpest * 2 * bead->radius);
    if (!(bend > allowed)) continue;
    sharp = sharp || bend > 1.1 * allowed;
    add(bead->at, minus(v, u), 0.25 * (1 - allowed / bend));
  }
  return sharp;
}

/* Points slide along their line to the middle between their neighbours: pushes would draw some far
 * apart, and the edge between two such points may overlap what they do not. */
static void space(struct beads *beads)
{
  for (size_t i = 1; i + 1 < beads->count; i++) {
    struct bead *bead = &beads->list[i], *a = bead - 1, *b = bead + 1;
    if (bead->fixed || a->line != bead->line || b->line != bead->line) continue;
    struct be_point way = minus(*b->at, *a->at);
    double off = dot(minus(blend(*a->at, *b->at, 0.5), *bead->at), way) / dot(way, way);
    add(bead->at, way, 0.5 * off);
  }
}

enum be_status be_tie_seat(struct be_lines *lines, const bool *hardware, struct be_arena *scratch,
                           struct be_err *err)
{
  struct beads beads = {0};
  enum be_status status = make_beads(lines, hardware, scratch, &beads, err);
  for (int round = 0; status == BE_OK && round < ROUNDS; round++) {
    if (round % LOOK_EVERY == 0) status = look_up(&beads, err);
    if (status != BE_OK) break;
    bool sharp = ease(&beads), near = push_apart(&beads) >= 0.01;
    if (!sharp && !near) break;
    move(&beads);
    space(&beads);
  }
  be_free(beads.pairs);
  return status;
}

double be_tie_clearance(const struct be_tie *tie)
{
  const struct be_lines *all = &tie->lines;
  double least = INFINITY;
  for (size_t a = 0; a < all->count; a++) {
    struct be_lines one = {1, {all->line[a]}, {all->diameter[a]}};
    double own = be_lines_clearance(&one, 2 * all->diameter[a]);
    least = fmin(least, own / all->diameter[a]);
    for (size_t b = a + 1; b < all->count; b++) {
      struct be_lines two = {2, {all->line[a], all->line[b]}, {0}};
      double mean = (all->diameter[a] + all->diameter[b]) / 2;
      least = fmin(least, be_lines_clearance(&two, INFINITY) / mean);
    }
  }
  return least;
}
