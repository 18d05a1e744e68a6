/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Edges push vertices away and are springs, faces are under pressure, strands are stiff and cross
 * squarely. A vertex moves less than half as far as it is from an edge that it shares a face with,
 * so that no edge ever comes to pass over it (Bertault 2000): it would have to leave its faces
 * first. */
#include "knot/layout/inside.h"

#include <math.h>
#include <string.h>

struct force {
  double x, y;
};

/* ---- room to move ---- */

/* From the nearest place of an edge, which is `share` along it, to a vertex. */
struct offset {
  double x, y, share;
};

static struct offset from_edge(const struct be_point *p, const struct be_point *a,
                               const struct be_point *b)
{
  double ux = b->x - a->x, uy = b->y - a->y, wx = p->x - a->x, wy = p->y - a->y;
  double length = ux * ux + uy * uy, t = length > 0 ? (wx * ux + wy * uy) / length : 0;
  t = t < 0 ? 0 : t > 1 ? 1 : t;
  return (struct offset){wx - t * ux, wy - t * uy, t};
}

/* Farther apart nothing matters: it is more than two vertices move in a step. */
static const double reach = 1;

static void push_from_edge(struct force *v, struct force *a, struct force *b, struct offset offset,
                           double square)
{
  const double strength = 1;
  if (!(square < reach * reach && square > 0)) return;
  double d = sqrt(square), push = strength * (1 / d - 1 / reach) / d;
  double x = push * offset.x, y = push * offset.y;
  v->x += x;
  v->y += y;
  a->x -= (1 - offset.share) * x;
  a->y -= (1 - offset.share) * y;
  b->x -= offset.share * x;
  b->y -= offset.share * y;
}

/* Room of each vertex, as far as that; force, which may be null: from edges that are near. */
static void find_room(const struct graph *graph, double *room, struct force *force)
{
  const struct be_point *at = graph->at;
  for (size_t v = 0; v < graph->vertices; v++) room[v] = INFINITY;
  for (size_t f = 0; f < graph->faces; f++) {
    const struct run *face = &graph->face[f];
    for (size_t j = 0; j < face->count; j++) {
      unsigned a = face->vertex[j], b = face->vertex[(j + 1) % face->count];
      double x0 = fmin(at[a].x, at[b].x) - reach, x1 = fmax(at[a].x, at[b].x) + reach;
      double y0 = fmin(at[a].y, at[b].y) - reach, y1 = fmax(at[a].y, at[b].y) + reach;
      for (size_t i = 0; i < face->count; i++) {
        unsigned v = face->vertex[i];
        if (v == a || v == b || at[v].x < x0 || at[v].x > x1 || at[v].y < y0 || at[v].y > y1)
          continue;
        struct offset offset = from_edge(&at[v], &at[a], &at[b]);
        double square = offset.x * offset.x + offset.y * offset.y;
        if (square < room[v]) room[v] = square;
        if (square < room[a]) room[a] = square;
        if (square < room[b]) room[b] = square;
        if (force) push_from_edge(&force[v], &force[a], &force[b], offset, square);
      }
    }
  }
  for (size_t v = 0; v < graph->vertices; v++) room[v] = sqrt(room[v]);
}

void be_graph_room(const struct graph *graph, double *room)
{
  find_room(graph, room, NULL);
}

/* ---- forces ---- */

static void pull_edges(const struct graph *graph, const struct run *path, double strength,
                       struct force *force)
{
  for (size_t i = 0; i + !path->closed < path->count; i++) {
    unsigned a = path->vertex[i], b = path->vertex[(i + 1) % path->count];
    double dx = graph->at[b].x - graph->at[a].x, dy = graph->at[b].y - graph->at[a].y;
    double length = sqrt(dx * dx + dy * dy), pull = strength * (length - 1) / (length + 1e-9);
    force[a].x += pull * dx;
    force[a].y += pull * dy;
    force[b].x -= pull * dx;
    force[b].y -= pull * dy;
  }
}

/* Bends of a strand, by its second differences. */
static void stiffen(const struct graph *graph, const struct run *path, double strength,
                    struct force *force)
{
  size_t n = path->count;
  for (size_t i = path->closed ? 0 : 1; i + (path->closed ? 0 : 1) < n; i++) {
    unsigned a = path->vertex[(i + n - 1) % n], b = path->vertex[i], c = path->vertex[(i + 1) % n];
    const struct be_point *at = graph->at;
    double x = strength * (at[a].x - 2 * at[b].x + at[c].x);
    double y = strength * (at[a].y - 2 * at[b].y + at[c].y);
    force[a].x -= x;
    force[a].y -= y;
    force[b].x += 2 * x;
    force[b].y += 2 * y;
    force[c].x -= x;
    force[c].y -= y;
  }
}

/* Two strands that cross at a vertex are turned square: down the slope of the square of the cosine
 * between them. across: their neighbours there. */
static void square_up(const struct graph *graph, unsigned across[4], double strength,
                      struct force *force)
{
  const struct be_point *at = graph->at;
  double ux = at[across[1]].x - at[across[0]].x, uy = at[across[1]].y - at[across[0]].y;
  double wx = at[across[3]].x - at[across[2]].x, wy = at[across[3]].y - at[across[2]].y;
  double uu = ux * ux + uy * uy + 1e-9, ww = wx * wx + wy * wy + 1e-9, uw = ux * wx + uy * wy;
  double by = strength * uw / (uu * ww);
  struct force of_u = {by * (wx - uw / uu * ux), by * (wy - uw / uu * uy)};
  struct force of_w = {by * (ux - uw / ww * wx), by * (uy - uw / ww * wy)};
  force[across[0]].x += of_u.x;
  force[across[0]].y += of_u.y;
  force[across[1]].x -= of_u.x;
  force[across[1]].y -= of_u.y;
  force[across[2]].x += of_w.x;
  force[across[2]].y += of_w.y;
  force[across[3]].x -= of_w.x;
  force[across[3]].y -= of_w.y;
}

/* Faces are blown up, or let shrink, to the share of a circle that their edges would go round. */
static void blow(const struct graph *graph, const struct run *face, double strength,
                 struct force *force)
{
  const double pi = 3.14159265358979323846, full = 0.7;
  double area = 0, n = (double)face->count, wanted = full * n * n / (4 * pi);
  for (size_t i = 0; i < face->count; i++) {
    const struct be_point *a = &graph->at[face->vertex[i]];
    const struct be_point *b = &graph->at[face->vertex[(i + 1) % face->count]];
    area += (a->x * b->y - a->y * b->x) / 2;
  }
  double by = strength * (wanted - area) / wanted;
  for (size_t i = 0; i < face->count; i++) {
    unsigned a = face->vertex[i], b = face->vertex[(i + 1) % face->count];
    double x = by * (graph->at[b].y - graph->at[a].y), y = -by * (graph->at[b].x - graph->at[a].x);
    force[a].x += x;
    force[a].y += y;
    force[b].x += x;
    force[b].y += y;
  }
}

/* Found by looking at pictures, and by how little line the 249 prime knots take for crossings that
 * are 3 apart. */
static const double spring = 1, bend = 0.35, square = 2, pressure = 1;

static void add_forces(const struct graph *graph, unsigned (*across)[4], struct force *force)
{
  memset(force, 0, graph->vertices * sizeof *force);
  for (size_t s = 0; s < graph->diagram->strands; s++) {
    pull_edges(graph, &graph->path[s], spring, force);
    stiffen(graph, &graph->path[s], bend, force);
  }
  for (size_t c = 0; c < graph->diagram->crossings; c++) square_up(graph, across[c], square, force);
  for (size_t f = 0; f < graph->faces; f++)
    if (f != graph->outer) blow(graph, &graph->face[f], pressure, force);
}

/* Neighbours of each crossing along the strand over, then along the other. */
static void find_across(const struct graph *graph, unsigned (*across)[4])
{
  for (size_t s = 0; s < graph->diagram->strands; s++) {
    const struct run *path = &graph->path[s];
    for (size_t i = 0, k = 0; i < path->count; i++) {
      if (path->vertex[i] >= graph->diagram->crossings) continue;
      unsigned *to = across[path->vertex[i]] + (graph->diagram->strand[s].pass[k++].over ? 0 : 2);
      to[0] = path->vertex[(i + path->count - 1) % path->count];
      to[1] = path->vertex[(i + 1) % path->count];
    }
  }
}

/* ---- */

/* Scaled so that an edge is 1 long in the mean of the squares. */
static void scale(struct graph *graph)
{
  double sum = 0, count = 0;
  for (size_t s = 0; s < graph->diagram->strands; s++) {
    const struct run *path = &graph->path[s];
    for (size_t i = 0; i + !path->closed < path->count; i++, count++) {
      const struct be_point *a = &graph->at[path->vertex[i]];
      const struct be_point *b = &graph->at[path->vertex[(i + 1) % path->count]];
      sum += (b->x - a->x) * (b->x - a->x) + (b->y - a->y) * (b->y - a->y);
    }
  }
  double by = sqrt(count / sum);
  for (size_t v = 0; v < graph->vertices; v++) {
    graph->at[v].x *= by;
    graph->at[v].y *= by;
  }
}

enum be_status be_graph_relax(struct graph *graph, size_t steps, struct be_arena *arena,
                              struct be_err *err)
{
  struct force *force = be_arena_alloc(arena, graph->vertices * sizeof *force);
  double *room = be_arena_alloc(arena, graph->vertices * sizeof *room);
  unsigned(*across)[4] = be_arena_alloc(arena, graph->diagram->crossings * sizeof *across);
  if (!force || !room || !across) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  find_across(graph, across);
  scale(graph);
  for (size_t step = 0; step < steps; step++) {
    double most = 0.3 * (1 - (double)step / (double)steps) + 0.01;
    add_forces(graph, across, force);
    find_room(graph, room, force);
    for (size_t v = 0; v < graph->vertices; v++) {
      double x = 0.1 * force[v].x, y = 0.1 * force[v].y, length = sqrt(x * x + y * y);
      double may = fmin(most, 0.45 * room[v]);
      double by = length > may ? may / length : 1;
      graph->at[v].x += by * x;
      graph->at[v].y += by * y;
    }
  }
  return BE_OK;
}
