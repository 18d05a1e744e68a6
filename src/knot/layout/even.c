/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each triangle is drawn towards its shape by the symmetric Dirichlet energy (Smith and Schaefer
 * 2015): squares of how much it is stretched each way, and of how much it is squeezed, which has no
 * bound where one is about to turn over; so none does. Those of the frame only keep from turning
 * over. Node by node goes where Newton's method and the last step lead it, and all is
 * brought to the best size after each sweep: one step for all is as short as the narrowest triangle
 * lets it be, and leads nowhere. */
#include "knot/layout/inside.h"

#include <math.h>

/* Corners at each node: corner i of triangle t is 3 t + i + 1, and 0 is none. */
struct fan {
  unsigned *first, *next;
};

/* The energy of a node's triangles, and how it rises as the node moves. */
struct slope {
  double energy, x, y, xx, xy, yy;
};

static const double of_frame = 10;

static struct be_point minus_flat(const struct be_point *a, const struct be_point *b)
{
  return (struct be_point){a->x - b->x, a->y - b->y, 0};
}

static double square(struct be_point p)
{
  return p.x * p.x + p.y * p.y;
}

static bool add_triangle(const struct net *net, size_t corner, const struct be_point *v,
                         struct slope *sum)
{
  const struct triangle *t = &net->triangle[corner / 3];
  size_t k = corner % 3;
  const struct be_point *a = &net->at[t->corner[(k + 1) % 3]],
                        *b = &net->at[t->corner[(k + 2) % 3]];
  struct be_point u = minus_flat(v, a), w = minus_flat(v, b), across = minus_flat(b, a);
  double of_u = k == 0 ? t->base : t->side, of_w = k == 1 ? t->base : t->side;
  double of_across = k == 2 ? t->base : t->side;
  double area = (u.y * across.x - u.x * across.y) / 2;
  struct be_point rise = {-across.y / 2, across.x / 2, 0}; /* of the area */
  if (!(area > 0)) return false;
  if (t->area == 0) {
    double by = -of_frame / area;
    sum->energy -= of_frame * log(area);
    sum->x += by * rise.x;
    sum->y += by * rise.y;
    sum->xx -= by / area * rise.x * rise.x;
    sum->xy -= by / area * rise.x * rise.y;
    sum->yy -= by / area * rise.y * rise.y;
    return true;
  }
  double stretch = of_u * square(u) + of_w * square(w) + of_across * square(across);
  double squeeze = t->area / area * (t->area / area), by = -2 * squeeze / area;
  double sx = 2 * (of_u * u.x + of_w * w.x), sy = 2 * (of_u * u.y + of_w * w.y);
  double twice = 6 * stretch * squeeze / (area * area), even = 2 * (of_u + of_w) * (1 + squeeze);
  sum->energy += stretch * (1 + squeeze);
  sum->x += (1 + squeeze) * sx + stretch * by * rise.x;
  sum->y += (1 + squeeze) * sy + stretch * by * rise.y;
  sum->xx += even + twice * rise.x * rise.x + 2 * by * sx * rise.x;
  sum->xy += twice * rise.x * rise.y + by * (sx * rise.y + sy * rise.x);
  sum->yy += even + twice * rise.y * rise.y + 2 * by * sy * rise.y;
  return true;
}

static struct slope slope_at(const struct net *net, const struct fan *fan, unsigned v,
                             const struct be_point *at)
{
  struct slope sum = {0, 0, 0, 0, 0, 0};
  for (unsigned c = fan->first[v]; c; c = fan->next[c - 1])
    if (!add_triangle(net, c - 1, at, &sum)) return (struct slope){.energy = INFINITY};
  return sum;
}

/* A Newton step and some of the last step, shorter until it leads down. */
static void move(struct net *net, const struct fan *fan, unsigned v, struct be_point *moved)
{
  const double kept = 0.9, shortest = 1e-6;
  const struct be_point from = net->at[v];
  struct slope s = slope_at(net, fan, v, &from);
  double det = s.xx * s.yy - s.xy * s.xy;
  struct be_point way = {-s.x, -s.y, 0}, on = {kept * moved->x, kept * moved->y, 0};
  if (s.xx > 0 && det > 0)
    way = (struct be_point){(s.xy * s.y - s.yy * s.x) / det, (s.xy * s.x - s.xx * s.y) / det, 0};
  for (double by = 1; by > shortest; by /= 2) {
    *moved = (struct be_point){by * (way.x + on.x), by * (way.y + on.y), 0};
    struct be_point to = {from.x + moved->x, from.y + moved->y, 0};
    if (slope_at(net, fan, v, &to).energy < s.energy) {
      net->at[v] = to;
      return;
    }
    on = (struct be_point){0, 0, 0};
  }
  *moved = (struct be_point){0, 0, 0};
}

/* To the size that suits the triangles best. */
static void scale(struct net *net, struct be_point *moved)
{
  double stretch = 0, squeeze = 0;
  for (size_t i = 0; i < net->triangles; i++) {
    const struct triangle *t = &net->triangle[i];
    if (t->area == 0) continue;
    const struct be_point *tip = &net->at[t->corner[2]];
    struct be_point a = minus_flat(&net->at[t->corner[0]], tip);
    struct be_point b = minus_flat(&net->at[t->corner[1]], tip);
    double area = (a.x * b.y - a.y * b.x) / 2;
    double now = t->base * square(minus_flat(&a, &b)) + t->side * (square(a) + square(b));
    stretch += now;
    squeeze += now * (t->area / area) * (t->area / area);
  }
  double by = sqrt(sqrt(squeeze / stretch));
  for (size_t v = 0; v < net->nodes; v++) {
    net->at[v].x *= by;
    net->at[v].y *= by;
    moved[v].x *= by;
    moved[v].y *= by;
  }
}
enum be_status be_net_even(struct net *net, size_t sweeps, struct be_arena *arena,
                           struct be_err *err)
{
  struct fan fan = {be_arena_alloc(arena, net->nodes * sizeof *fan.first),
                    be_arena_alloc(arena, 3 * net->triangles * sizeof *fan.next)};
  struct be_point *moved = be_arena_alloc(arena, net->nodes * sizeof *moved);
  if (!fan.first || !fan.next || !moved)
    return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  for (unsigned c = 0; c < 3 * net->triangles; c++) {
    unsigned *first = &fan.first[net->triangle[c / 3].corner[c % 3]];
    fan.next[c] = *first;
    *first = c + 1;
  }
  for (size_t i = 0; i < sweeps; i++) {
    scale(net, moved);
    for (unsigned v = 0; v < net->nodes - FRAME; v++) move(net, &fan, v, &moved[v]);
  }
  return BE_OK;
}
