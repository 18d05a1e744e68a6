/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/layout/inside.h"

/* Vertices between the two of an arc: so that a face of one or two arcs can be a polygon, a ring of
 * one arc be round, and an end reach out. */
enum { ALONG_ARC = 2, ALONG_RING = 4, ALONG_END = 4 };

struct arc {
  unsigned tail, head, first, count;
};

struct building {
  const struct be_diagram *diagram;
  const struct be_face *faces;
  size_t count, outer;
  struct arc *arcs;
  size_t first[BE_STRANDS_MAX]; /* arc of each strand */
};

static size_t arcs_of(const struct be_diagram *diagram, size_t strand)
{
  return diagram->strand[strand].count + !diagram->strand[strand].closed;
}

static struct arc *arc_of(const struct building *b, size_t strand, size_t arc)
{
  return &b->arcs[b->first[strand] + arc];
}

/* ---- the face outside ---- */

static size_t free_ends(const struct be_face *face)
{
  size_t ends = 0;
  for (size_t i = 0; i < face->edges; i++) {
    struct be_face_edge a = face->edge[i], b = face->edge[(i + 1) % face->edges];
    ends += a.strand == b.strand && a.arc == b.arc && a.forward != b.forward;
  }
  return ends;
}

/* With more free ends; then with more edges; then the first. */
static bool is_before(const struct be_face *faces, size_t f, size_t g)
{
  size_t a = free_ends(&faces[f]), b = free_ends(&faces[g]);
  if (a != b) return a > b;
  return faces[f].edges != faces[g].edges ? faces[f].edges > faces[g].edges : f < g;
}

static size_t outermost(const struct be_face *faces, size_t count)
{
  size_t best = 0;
  for (size_t f = 1; f < count; f++)
    if (is_before(faces, f, best)) best = f;
  return best;
}

/* ---- vertices ---- */

static void count_along(struct building *b)
{
  for (size_t f = 0; f < b->count; f++) {
    const struct be_face *face = &b->faces[f];
    for (size_t i = 0; i < face->edges; i++) {
      struct be_face_edge edge = face->edge[i];
      struct arc *arc = arc_of(b, edge.strand, edge.arc);
      size_t last = b->diagram->strand[edge.strand].count;
      bool end = !b->diagram->strand[edge.strand].closed && (edge.arc == 0 || edge.arc == last);
      unsigned wanted = face->edges == 1       ? ALONG_RING
                        : end && f == b->outer ? ALONG_END
                                               : ALONG_ARC;
      if (arc->count < wanted) arc->count = wanted;
    }
  }
}

static size_t number_vertices(struct building *b)
{
  size_t next = b->diagram->crossings;
  for (size_t s = 0; s < b->diagram->strands; s++) {
    const struct be_pass *pass = b->diagram->strand[s].pass;
    size_t passes = b->diagram->strand[s].count, arcs = arcs_of(b->diagram, s);
    for (size_t k = 0; k < arcs; k++) {
      struct arc *arc = arc_of(b, s, k);
      bool closed = b->diagram->strand[s].closed;
      arc->first = (unsigned)next;
      next += arc->count;
      arc->tail = k > 0 || closed ? pass[(k + passes - 1) % passes].crossing : (unsigned)next++;
      arc->head = k < passes ? pass[k].crossing : (unsigned)next++;
    }
  }
  return next;
}

/* A closed strand begins in the middle of the arc that leads to its first pass. */
static void lay_path(const struct building *b, size_t s, struct run *path)
{
  const struct arc *begin = arc_of(b, s, 0);
  unsigned half = path->closed ? begin->count / 2 : 0;
  size_t n = 0;
  if (!path->closed) path->vertex[n++] = begin->tail;
  for (size_t k = 0; k < arcs_of(b->diagram, s); k++) {
    const struct arc *arc = arc_of(b, s, k);
    for (unsigned i = k == 0 ? half : 0; i < arc->count; i++) path->vertex[n++] = arc->first + i;
    path->vertex[n++] = arc->head;
  }
  for (unsigned i = 0; i < half; i++) path->vertex[n++] = begin->first + i;
  path->count = n;
}

static void lay_face(const struct building *b, const struct be_face *face, struct run *to)
{
  size_t n = 0;
  for (size_t e = 0; e < face->edges; e++) {
    struct be_face_edge edge = face->edge[e];
    const struct arc *arc = arc_of(b, edge.strand, edge.arc);
    to->vertex[n++] = edge.forward ? arc->tail : arc->head;
    for (unsigned i = 0; i < arc->count; i++)
      to->vertex[n++] = arc->first + (edge.forward ? i : arc->count - 1 - i);
  }
  to->count = n;
  to->closed = true;
}

static enum be_status lay_runs(const struct building *b, struct be_arena *arena,
                               struct graph *graph, struct be_err *err)
{
  size_t most = graph->vertices + b->diagram->crossings;
  for (size_t s = 0; s < b->diagram->strands; s++) {
    struct run *path = &graph->path[s];
    path->vertex = be_arena_alloc(arena, most * sizeof *path->vertex);
    path->closed = b->diagram->strand[s].closed;
    if (!path->vertex) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
    lay_path(b, s, path);
  }
  for (size_t f = 0; f < b->count; f++) {
    size_t size = 0;
    for (size_t e = 0; e < b->faces[f].edges; e++)
      size += 1 + arc_of(b, b->faces[f].edge[e].strand, b->faces[f].edge[e].arc)->count;
    graph->face[f].vertex = be_arena_alloc(arena, size * sizeof *graph->face[f].vertex);
    if (!graph->face[f].vertex) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
    lay_face(b, &b->faces[f], &graph->face[f]);
  }
  return BE_OK;
}

enum be_status be_graph_make(const struct be_diagram *diagram, struct be_arena *arena,
                             struct graph *graph, struct be_err *err)
{
  struct be_face *faces;
  struct building b = {.diagram = diagram};
  size_t arcs = 0;
  enum be_status status = be_faces_find(diagram, arena, &faces, &b.count, err);
  if (status != BE_OK) return status;
  for (size_t s = 0; s < diagram->strands; s++) {
    b.first[s] = arcs;
    arcs += arcs_of(diagram, s);
  }
  b.faces = faces;
  b.outer = outermost(faces, b.count);
  b.arcs = be_arena_alloc(arena, arcs * sizeof *b.arcs);
  *graph = (struct graph){.diagram = diagram, .faces = b.count, .outer = b.outer};
  graph->face = be_arena_alloc(arena, b.count * sizeof *graph->face);
  if (!b.arcs || !graph->face) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  count_along(&b);
  graph->vertices = number_vertices(&b);
  graph->at = be_arena_alloc(arena, graph->vertices * sizeof *graph->at);
  if (!graph->at) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  return lay_runs(&b, arena, graph, err);
}
