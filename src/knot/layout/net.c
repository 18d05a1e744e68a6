/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every face gets a middle, joined to its corners; where a vertex is met again on the way round a
 * face, one beside it takes its place, so that no two nodes are joined twice. The face outside is
 * joined to a frame of three. */
#include "knot/layout/inside.h"

#include <math.h>
#include <string.h>

struct way {
  unsigned *node;
  size_t count;
};

struct cutting {
  struct net *net;
  size_t next;    /* node */
  size_t *met_in; /* per node: the face that met it last, and 1 */
};

static void add(struct net *net, size_t a, size_t b, size_t tip, size_t corners)
{
  const double pi = 3.14159265358979323846;
  struct triangle *t = &net->triangle[net->triangles++];
  *t = (struct triangle){.corner = {(unsigned)a, (unsigned)b, (unsigned)tip}};
  if (corners == 0) return;
  /* A part of a regular polygon of side 1; a side weighs the cotangent of the angle across. */
  double half = pi / (double)corners;
  t->area = 1 / (4 * tan(half));
  t->base = 1 / tan(2 * half) / (2 * t->area);
  t->side = tan(half) / (2 * t->area);
}

/* Round a face, each node once. */
static void cap(struct cutting *cut, size_t face, struct way *way)
{
  enum { EVEN = 6 };
  for (size_t i = 0; i < way->count; i++) {
    unsigned v = way->node[i];
    if (cut->met_in[v] != face + 1) {
      cut->met_in[v] = face + 1;
      continue;
    }
    size_t p = cut->next++, n = way->count;
    add(cut->net, way->node[(i + n - 1) % n], v, p, EVEN);
    add(cut->net, v, way->node[(i + 1) % n], p, EVEN);
    way->node[i] = (unsigned)p;
  }
}

static void join_middle(struct cutting *cut, const struct way *way)
{
  size_t middle = cut->next++;
  for (size_t i = 0; i < way->count; i++)
    add(cut->net, way->node[i], way->node[(i + 1) % way->count], middle, way->count);
}

static void join_frame(struct cutting *cut, const struct way *way)
{
  size_t frame = cut->next, n = way->count;
  cut->next += FRAME;
  for (size_t i = 0; i < n; i++) {
    size_t k = i * FRAME / n, l = (i + 1) * FRAME / n;
    add(cut->net, way->node[i], way->node[(i + 1) % n], frame + k, 0);
    if (l != k) add(cut->net, way->node[(i + 1) % n], frame + l % FRAME, frame + k, 0);
  }
}

enum be_status be_net_make(const struct graph *graph, struct be_arena *arena, struct net *net,
                           struct be_err *err)
{
  size_t corners = 0, most;
  for (size_t f = 0; f < graph->faces; f++) corners += graph->face[f].count;
  most = graph->vertices + corners + graph->faces + FRAME;
  struct cutting cut = {net, graph->vertices, be_arena_alloc(arena, most * sizeof *cut.met_in)};
  struct way way = {be_arena_alloc(arena, corners * sizeof *way.node), 0};
  *net = (struct net){.triangle =
                          be_arena_alloc(arena, (3 * corners + FRAME) * sizeof *net->triangle)};
  net->at = be_arena_alloc(arena, most * sizeof *net->at);
  if (!way.node || !cut.met_in || !net->triangle || !net->at)
    return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  for (size_t i = 1; i <= graph->faces; i++) { /* the one outside last */
    size_t f = (graph->outer + i) % graph->faces;
    way.count = graph->face[f].count;
    memcpy(way.node, graph->face[f].vertex, way.count * sizeof *way.node);
    cap(&cut, f, &way);
    if (f == graph->outer) join_frame(&cut, &way);
    else join_middle(&cut, &way);
  }
  net->nodes = cut.next;
  return BE_OK;
}
