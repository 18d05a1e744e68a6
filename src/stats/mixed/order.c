/* SPDX-License-Identifier: GPL-3.0-or-later */
/* CAMD (Amestoy, Davis and Duff 1996; Davis 2013) is called by its inner routine: it works in
 * arrays that are handed to it, so it neither allocates nor prints. */
#include "stats/mixed/inside.h"

#include <string.h>
#include <suitesparse/camd.h>

/* Both halves of the pattern without its diagonal, in room for 6 numbers a node more than a fifth
 * above that, as CAMD wants. */
struct graph {
  size_t n, room, used;
  int *begin, *length, *neighbours;
  int *nv, *next, *last, *head, *elen, *degree, *work, *constraint, *bucket;
};

static void fill_graph(struct graph *graph, const struct be_cross *pattern)
{
  int *length = graph->length;
  for (int fill = 0; fill < 2; fill++) {
    memset(length, 0, graph->n * sizeof *length);
    for (size_t k = 0; k < graph->n; k++)
      for (size_t b = pattern->start[k] + 1; b < pattern->start[k + 1]; b++) {
        size_t r = pattern->row[b];
        if (fill) graph->neighbours[graph->begin[k] + length[k]] = (int)r;
        length[k]++;
        if (fill) graph->neighbours[graph->begin[r] + length[r]] = (int)k;
        length[r]++;
      }
    size_t at = 0;
    for (size_t k = 0; k < graph->n; k++) {
      graph->begin[k] = (int)at;
      at += (size_t)length[k];
    }
    graph->used = at;
  }
}

static bool take_graph(struct graph *graph, size_t edges)
{
  size_t n = graph->n;
  graph->room = 2 * edges + 2 * edges / 5 + 6 * n + 8;
  int *block = be_alloc_array(graph->room + 11 * (n + 1), sizeof *block);
  if (!block) return false;
  int **parts[] = {&graph->begin, &graph->length,     &graph->nv,    &graph->next,
                   &graph->last,  &graph->head,       &graph->elen,  &graph->degree,
                   &graph->work,  &graph->constraint, &graph->bucket};
  graph->neighbours = block;
  block += graph->room;
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++, block += n + 1) *parts[i] = block;
  return true;
}

enum be_status be_order_nodes(const struct be_nodes *nodes, const struct be_cross *pattern,
                              uint32_t *place, struct be_err *err)
{
  size_t n = nodes->count, edges = pattern->start[n] - n;
  if (edges > INT32_MAX / 4 || n > INT32_MAX / 32)
    return be_fail(err, BE_TOO_LARGE, "%zu pairs of levels that meet are too many", edges);
  struct graph graph = {.n = n};
  if (!take_graph(&graph, edges))
    return be_fail(err, BE_NO_MEMORY, "no memory to order %zu levels", n);
  fill_graph(&graph, pattern);
  uint32_t fixed = nodes->term_first[nodes->data->term_count];
  for (size_t k = 0; k < n; k++) graph.constraint[k] = k >= fixed;
  double control[CAMD_CONTROL] = {0}, info[CAMD_INFO] = {0};
  control[CAMD_DENSE] = CAMD_DEFAULT_DENSE;
  control[CAMD_AGGRESSIVE] = CAMD_DEFAULT_AGGRESSIVE;
  camd_2((int)n, graph.begin, graph.neighbours, graph.length, (int)graph.room, (int)graph.used,
         graph.nv, graph.next, graph.last, graph.head, graph.elen, graph.degree, graph.work,
         control, info, graph.constraint, graph.bucket);
  for (size_t k = 0; k < n; k++) place[graph.last[k]] = (uint32_t)k;
  be_free(graph.neighbours);
  return BE_OK;
}
