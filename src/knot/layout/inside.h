/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing as a graph in the plane: crossings, free ends, and vertices along the arcs, which later
 * shape them.
 *
 *   graph.c    vertices, the path of each strand through them, and what lies round each face
 *   net.c      its faces cut into triangles, in a frame
 *   grid.c     a first place for each, without edges that cross
 *   even.c     triangles moved towards the shapes that they should have, none turned over
 *   relax.c    moved about until round and even; no edge ever passes over a vertex
 *   strand.c   curves and heights
 *   layout.c   parts side by side */
#ifndef BE_KNOT_LAYOUT_INSIDE_H
#define BE_KNOT_LAYOUT_INSIDE_H

#include "knot/layout/layout.h"

/* Vertices in order; a face is walked with itself to the left. */
struct run {
  unsigned *vertex;
  size_t count;
  bool closed;
};

struct graph {
  const struct be_diagram *diagram;
  size_t vertices;     /* the crossings come first */
  struct be_point *at; /* of each vertex; z is 0 */
  struct run path[BE_STRANDS_MAX];
  struct run *face;
  size_t faces, outer;
};

/* Of a drawing that hangs together and has a crossing. */
enum be_status be_graph_make(const struct be_diagram *diagram, struct be_arena *arena,
                             struct graph *graph, struct be_err *err);
/* Corners counter-clockwise, and the shape it should have: base, then the sides from it to the tip,
 * the third corner. */
struct triangle {
  unsigned corner[3];
  double area;       /* 0: of any shape */
  double base, side; /* what the squares of their lengths weigh in the stretch of it */
};

/* The vertices of a graph, those added to its faces, and the three of the frame. */
struct net {
  size_t nodes, triangles;
  struct triangle *triangle;
  struct be_point *at;
};
enum { FRAME = 3 };

enum be_status be_net_make(const struct graph *graph, struct be_arena *arena, struct net *net,
                           struct be_err *err);
/* Places all nodes on a grid of that many in a row and column. */
enum be_status be_net_place(struct net *net, struct be_arena *arena, struct be_err *err);
/* So many sweeps over all nodes but the frame. */
enum be_status be_net_even(struct net *net, size_t sweeps, struct be_arena *arena,
                           struct be_err *err);
/* Evens it out in so many steps; edges are about 1 long then. */
enum be_status be_graph_relax(struct graph *graph, size_t steps, struct be_arena *arena,
                              struct be_err *err);
/* How far each vertex and its edges are from others that they share a face with. */
void be_graph_room(const struct graph *graph, double *room);
/* The curve of a strand, as fine as its corners need; pieces: of each edge, 1 the roundest. */
enum be_status be_strand_curve(const struct graph *graph, size_t strand, size_t pieces,
                               double scale, struct be_arena *arena, struct be_curve *curve,
                               struct be_err *err);

#endif
