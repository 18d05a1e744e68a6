/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/layout/inside.h"
#include "knot/crossing/crossing.h"
#include "knot/curve/vector.h"

#include <string.h>

/* Between crossings; between a strand and what it does not cross; between parts. */
static const double crossings_apart = 3, strands_apart = 0.9, parts_apart = 4;
static const double points_most = 400000; /* of a strand; past that its steps are longer */

/* ---- parts that hang together ---- */

struct part {
  struct be_diagram diagram;
  size_t strand[BE_LINES_MAX]; /* of the whole */
};

static void number_parts(const struct be_diagram *diagram, size_t *part, size_t *of_crossing)
{
  for (size_t s = 0; s < diagram->strands; s++) part[s] = s;
  for (size_t c = 0; c < diagram->crossings; c++) of_crossing[c] = SIZE_MAX;
  for (size_t s = 0; s < diagram->strands; s++)
    for (size_t k = 0; k < diagram->strand[s].count; k++) {
      size_t *seen = &of_crossing[diagram->strand[s].pass[k].crossing];
      size_t other = *seen == SIZE_MAX ? s : *seen, from = part[s], to = part[other];
      *seen = s;
      if (from == to) continue;
      for (size_t t = 0; t < diagram->strands; t++)
        if (part[t] == from) part[t] = to;
    }
}

/* Strands of one part, with its crossings counted anew; number: room for all crossings. */
static enum be_status take_part(const struct be_diagram *diagram, const size_t *part, size_t wanted,
                                struct be_arena *arena, struct part *taken, struct be_err *err)
{
  struct be_diagram *to = &taken->diagram;
  size_t *number = be_arena_alloc(arena, (diagram->crossings + 1) * sizeof *number);
  *to = (struct be_diagram){.sign = be_arena_alloc(arena, diagram->crossings + 1)};
  if (!number || !to->sign) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  for (size_t s = 0; s < diagram->strands; s++) {
    if (part[s] != wanted) continue;
    size_t t = to->strands++, count = diagram->strand[s].count;
    taken->strand[t] = s;
    to->strand[t].closed = diagram->strand[s].closed;
    to->strand[t].count = count;
    to->strand[t].pass = be_arena_alloc(arena, (count + 1) * sizeof *to->strand[t].pass);
    if (!to->strand[t].pass) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
    for (size_t k = 0; k < count; k++) {
      struct be_pass pass = diagram->strand[s].pass[k];
      if (number[pass.crossing] == 0) {
        to->sign[to->crossings] = diagram->sign[pass.crossing];
        number[pass.crossing] = ++to->crossings;
      }
      to->strand[t].pass[k] =
          (struct be_pass){(unsigned short)(number[pass.crossing] - 1), pass.over};
    }
  }
  return BE_OK;
}

/* ---- one part ---- */

static enum be_status lay_plain(bool closed, double step, struct be_arena *arena,
                                struct be_curve *curve, struct be_err *err)
{
  enum { CORNERS = 256 };
  const double radius = 2;
  struct be_point points[CORNERS];
  struct be_curve plain = {points, closed ? CORNERS : 2, closed};
  for (size_t i = 0; i < CORNERS; i++) {
    double turn = 2 * 3.14159265358979323846 * (double)i / CORNERS;
    points[i] = (struct be_point){radius * cos(turn), radius * sin(turn), 0};
  }
  if (!closed) {
    points[0] = (struct be_point){-2 * radius, 0, 0};
    points[1] = (struct be_point){2 * radius, 0, 0};
  }
  return be_curve_resample(&plain, step, arena, curve, err);
}

/* Whether the view from above is that drawing. */
static enum be_status is_drawn(const struct be_diagram *diagram, const struct be_lines *lines,
                               struct be_arena *arena, struct be_err *err)
{
  struct be_crossing *crossings;
  struct be_diagram seen;
  size_t count;
  enum be_status status = be_crossings_find(lines, &be_view_top, arena, &crossings, &count, err);
  if (status == BE_BAD_INPUT) status = BE_NO;
  if (status == BE_OK) status = be_crossings_diagram(lines, crossings, count, arena, &seen, err);
  if (status != BE_OK) return status;
  size_t *same = be_arena_alloc(arena, (diagram->crossings + 1) * sizeof *same);
  if (!same) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  if (count != diagram->crossings) return BE_NO;
  for (size_t s = 0; s < diagram->strands; s++) {
    if (seen.strand[s].count != diagram->strand[s].count) return BE_NO;
    for (size_t k = 0; k < seen.strand[s].count; k++) {
      struct be_pass a = diagram->strand[s].pass[k], b = seen.strand[s].pass[k];
      if (same[a.crossing] == 0) same[a.crossing] = b.crossing + 1U;
      if (same[a.crossing] != b.crossing + 1U || a.over != b.over ||
          diagram->sign[a.crossing] != seen.sign[b.crossing])
        return BE_NO;
    }
  }
  return BE_OK;
}

static double scale_of(const struct graph *graph, double *room)
{
  double crossings = INFINITY, strands = INFINITY;
  size_t n = graph->diagram->crossings;
  be_graph_room(graph, room);
  for (size_t v = n; v < graph->vertices; v++) strands = fmin(strands, room[v]);
  for (size_t a = 0; a < n; a++)
    for (size_t b = 0; b < a; b++)
      crossings = fmin(crossings, distance(graph->at[a], graph->at[b]));
  return fmax(1, fmax(crossings_apart / crossings, strands_apart / strands));
}

static enum be_status lay_graph(const struct be_diagram *diagram, struct be_arena *arena,
                                struct graph *graph, struct be_err *err)
{
  /* Found by how much line codes of 20 to 400 crossings take. */
  size_t sweeps = 400 + 2 * diagram->crossings, steps = 600 + diagram->crossings;
  struct net net;
  enum be_status status = be_graph_make(diagram, arena, graph, err);
  if (status == BE_OK) status = be_net_make(graph, arena, &net, err);
  if (status == BE_OK) status = be_net_place(&net, arena, err);
  if (status == BE_OK) status = be_net_even(&net, sweeps, arena, err);
  if (status != BE_OK) return status;
  memcpy(graph->at, net.at, graph->vertices * sizeof *graph->at);
  return be_graph_relax(graph, steps, arena, err);
}

/* A polygon with more pieces is drawn nearer. */
static enum be_status lay_part(const struct be_diagram *diagram, double step,
                               struct be_arena *arena, struct be_lines *lines, struct be_err *err)
{
  enum { PIECES_MOST = 64 };
  struct graph graph;
  lines->count = diagram->strands;
  if (diagram->crossings == 0)
    return lay_plain(diagram->strand[0].closed, step, arena, &lines->line[0], err);
  enum be_status status = lay_graph(diagram, arena, &graph, err);
  if (status != BE_OK) return status;
  double *room = be_arena_alloc(arena, graph.vertices * sizeof *room);
  if (!room) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  double scale = scale_of(&graph, room);
  status = BE_NO;
  for (size_t pieces = 1; pieces <= PIECES_MOST && status == BE_NO; pieces *= 2) {
    status = BE_OK;
    for (size_t s = 0; s < diagram->strands && status == BE_OK; s++) {
      struct be_curve fine;
      status = be_strand_curve(&graph, s, pieces, scale, arena, &fine, err);
      if (status == BE_OK) {
        double longest = fmax(step, be_curve_length(&fine) / points_most);
        status = be_curve_resample(&fine, longest, arena, &lines->line[s], err);
      }
    }
    if (status == BE_OK) status = is_drawn(diagram, lines, arena, err);
  }
  return status == BE_NO ? be_fail(err, BE_TOO_LARGE, "the drawing is too crowded to be laid out")
                         : status;
}

/* ---- side by side ---- */

struct span {
  double least, most;
};

static struct span x_span(const struct be_lines *lines)
{
  struct span span = {INFINITY, -INFINITY};
  for (size_t l = 0; l < lines->count; l++)
    for (size_t i = 0; i < lines->line[l].count; i++) {
      span.least = fmin(span.least, lines->line[l].points[i].x);
      span.most = fmax(span.most, lines->line[l].points[i].x);
    }
  return span;
}

static enum be_status place(const struct part *part, const struct be_lines *lines, double *right,
                            struct be_arena *arena, struct be_lines *out, struct be_err *err)
{
  struct span span = x_span(lines);
  double shift = *right - span.least;
  for (size_t l = 0; l < lines->count; l++) {
    const struct be_curve *from = &lines->line[l];
    struct be_curve *to = &out->line[part->strand[l]];
    *to = (struct be_curve){be_arena_alloc(arena, from->count * sizeof *from->points), from->count,
                            from->closed};
    if (!to->points) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
    for (size_t i = 0; i < from->count; i++) {
      to->points[i] = from->points[i];
      to->points[i].x += shift;
    }
    out->diameter[part->strand[l]] = 1;
  }
  *right += span.most - span.least + parts_apart;
  return BE_OK;
}

static enum be_status lay_parts(const struct be_diagram *diagram, double step,
                                struct be_arena *scratch, struct be_arena *arena,
                                struct be_lines *out, struct be_err *err)
{
  size_t number[BE_STRANDS_MAX];
  size_t *of_crossing = be_arena_alloc(scratch, (diagram->crossings + 1) * sizeof *of_crossing);
  double right = 0;
  if (!of_crossing) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  number_parts(diagram, number, of_crossing);
  *out = (struct be_lines){.count = diagram->strands};
  for (size_t s = 0; s < diagram->strands; s++) {
    struct part part;
    struct be_lines lines = {0};
    bool begun = false;
    for (size_t t = 0; t < s; t++) begun = begun || number[t] == number[s];
    if (begun) continue;
    enum be_status status = take_part(diagram, number, number[s], scratch, &part, err);
    if (status == BE_OK) status = lay_part(&part.diagram, step, scratch, &lines, err);
    if (status == BE_OK) status = place(&part, &lines, &right, arena, out, err);
    if (status != BE_OK) return status;
  }
  return BE_OK;
}

enum be_status be_diagram_layout(const struct be_diagram *diagram, double step,
                                 struct be_arena *arena, struct be_lines *out, struct be_err *err)
{
  if (!(step > 0 && step <= 0.5))
    return be_fail(err, BE_WRONG_USE, "the step of a layout is above 0 and at most 0.5");
  enum be_status status = be_diagram_check(diagram, err);
  if (status != BE_OK) return status;
  if (diagram->strands > BE_LINES_MAX)
    return be_fail(err, BE_TOO_LARGE, "%d lines at most can be laid out, and here are %zu",
                   BE_LINES_MAX, diagram->strands);
  struct be_arena *scratch = be_arena_create();
  if (!scratch) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  status = lay_parts(diagram, step, scratch, arena, out, err);
  be_arena_free(scratch);
  return status;
}
