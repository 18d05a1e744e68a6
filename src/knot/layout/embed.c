/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tutte's embedding (1963): each vertex in the middle of its neighbours, the outermost on a circle,
 * which has no edges that cross if the graph is simple and all faces are triangles. To make it so,
 * every face gets a ring of vertices of its own inside, one a corner, joined to the corner and the
 * next, and a centre; the ring of the outer face is the circle. Places are found by conjugate
 * gradients. Then edges are weighed by their lengths and it is solved again, which draws the long
 * ones together: any positive weights give an embedding. */
#include "knot/layout/inside.h"

#include <math.h>
#include <string.h>

enum { ROUNDS = 4 };

struct spring {
  unsigned a, b;
  double weight;
};
struct net {
  size_t nodes, springs, inner; /* nodes from `inner` on are fixed */
  struct spring *spring;
  struct be_point *at;
};

static void join(struct net *net, size_t a, size_t b)
{
  net->spring[net->springs++] = (struct spring){(unsigned)a, (unsigned)b, 1};
}

static void join_strands(struct net *net, const struct graph *graph)
{
  for (size_t s = 0; s < graph->diagram->strands; s++) {
    const struct run *path = &graph->path[s];
    for (size_t i = 0; i + !path->closed < path->count; i++)
      join(net, path->vertex[i], path->vertex[(i + 1) % path->count]);
  }
}

static void join_ring(struct net *net, const struct run *face, size_t first)
{
  for (size_t i = 0; i < face->count; i++) {
    join(net, first + i, first + (i + 1) % face->count);
    join(net, first + i, face->vertex[i]);
    join(net, first + i, face->vertex[(i + 1) % face->count]);
  }
}

static enum be_status make_net(const struct graph *graph, struct be_arena *arena, struct net *net,
                               struct be_err *err)
{
  size_t corners = 0, next = graph->vertices;
  const struct run *outer = &graph->face[graph->outer];
  for (size_t f = 0; f < graph->faces; f++) corners += graph->face[f].count;
  *net = (struct net){.nodes = graph->vertices + corners + graph->faces - 1};
  net->inner = net->nodes - outer->count;
  net->spring = be_arena_alloc(arena, (5 * corners) * sizeof *net->spring);
  net->at = be_arena_alloc(arena, net->nodes * sizeof *net->at);
  if (!net->spring || !net->at) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  join_strands(net, graph);
  for (size_t f = 0; f < graph->faces; f++) {
    const struct run *face = &graph->face[f];
    if (f == graph->outer) continue;
    join_ring(net, face, next);
    for (size_t i = 0; i < face->count; i++) join(net, next + i, next + face->count);
    next += face->count + 1;
  }
  join_ring(net, outer, net->inner);
  for (size_t i = 0; i < outer->count; i++) {
    double turn = -2 * 3.14159265358979323846 * (double)i / (double)outer->count;
    net->at[net->inner + i] = (struct be_point){cos(turn), sin(turn), 0};
  }
  return BE_OK;
}

/* ---- conjugate gradients, x and y at once ---- */

/* The pull on each node that is not fixed. */
static void pull(const struct net *net, const struct be_point *at, struct be_point *force)
{
  memset(force, 0, net->nodes * sizeof *force);
  for (size_t i = 0; i < net->springs; i++) {
    const struct spring *s = &net->spring[i];
    double x = s->weight * (at[s->b].x - at[s->a].x), y = s->weight * (at[s->b].y - at[s->a].y);
    force[s->a].x += x;
    force[s->a].y += y;
    force[s->b].x -= x;
    force[s->b].y -= y;
  }
  memset(force + net->inner, 0, (net->nodes - net->inner) * sizeof *force);
}

struct sums {
  double x, y;
};

static struct sums times(const struct net *net, const struct be_point *a, const struct be_point *b)
{
  struct sums sums = {0, 0};
  for (size_t i = 0; i < net->inner; i++) {
    sums.x += a[i].x * b[i].x;
    sums.y += a[i].y * b[i].y;
  }
  return sums;
}

/* Weighed by the stiffness round each node (Jacobi). work: 4 arrays of nodes. */
static void solve(struct net *net, struct be_point *work, double *stiffness)
{
  const double close = 1e-26; /* of the square of the first pull: about what rounding leaves */
  struct be_point *r = work, *z = r + net->nodes, *p = z + net->nodes, *q = p + net->nodes;
  memset(stiffness, 0, net->nodes * sizeof *stiffness);
  memset(p, 0, net->nodes * sizeof *p);
  for (size_t i = 0; i < net->springs; i++) {
    stiffness[net->spring[i].a] += net->spring[i].weight;
    stiffness[net->spring[i].b] += net->spring[i].weight;
  }
  pull(net, net->at, r);
  struct sums rz = {0, 0}, first = {0, 0};
  for (size_t step = 0; step < 4 * net->nodes; step++) {
    for (size_t i = 0; i < net->inner; i++)
      z[i] = (struct be_point){r[i].x / stiffness[i], r[i].y / stiffness[i], 0};
    struct sums now = times(net, r, z);
    if (step == 0) first = now;
    if (!(now.x > close * first.x || now.y > close * first.y)) break;
    double bx = rz.x > 0 ? now.x / rz.x : 0, by = rz.y > 0 ? now.y / rz.y : 0;
    for (size_t i = 0; i < net->inner; i++) {
      p[i].x = z[i].x + bx * p[i].x;
      p[i].y = z[i].y + by * p[i].y;
    }
    rz = now;
    pull(net, p, q);
    struct sums pq = times(net, p, q);
    double ax = pq.x < 0 ? -rz.x / pq.x : 0, ay = pq.y < 0 ? -rz.y / pq.y : 0;
    for (size_t i = 0; i < net->inner; i++) {
      net->at[i].x += ax * p[i].x;
      net->at[i].y += ay * p[i].y;
      r[i].x += ax * q[i].x;
      r[i].y += ay * q[i].y;
    }
  }
}

static void weigh(struct net *net)
{
  const double least = 1e-6;
  for (size_t i = 0; i < net->springs; i++) {
    struct spring *s = &net->spring[i];
    double length = hypot(net->at[s->a].x - net->at[s->b].x, net->at[s->a].y - net->at[s->b].y);
    s->weight = fmax(least, s->weight * length);
  }
}

enum be_status be_graph_embed(struct graph *graph, struct be_arena *arena, struct be_err *err)
{
  struct net net;
  enum be_status status = make_net(graph, arena, &net, err);
  if (status != BE_OK) return status;
  struct be_point *work = be_arena_alloc(arena, 4 * net.nodes * sizeof *work);
  double *stiffness = be_arena_alloc(arena, net.nodes * sizeof *stiffness);
  if (!work || !stiffness) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  solve(&net, work, stiffness);
  for (int round = 1; round < ROUNDS; round++) {
    weigh(&net);
    solve(&net, work, stiffness);
  }
  memcpy(graph->at, net.at, graph->vertices * sizeof *graph->at);
  return BE_OK;
}
