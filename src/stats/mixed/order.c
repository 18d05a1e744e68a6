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

/* The parent of a place is the first row below the diagonal of its column of the factor (Liu
 * 1990, algorithm 4.2). */
static void find_parents(const struct graph *graph, const uint32_t *place, int *parent)
{
  int *ancestor = graph->work, *node = graph->next;
  for (size_t k = 0; k < graph->n; k++) node[place[k]] = (int)k;
  for (int k = 0; k < (int)graph->n; k++) {
    parent[k] = ancestor[k] = -1;
    for (int e = 0; e < graph->length[node[k]]; e++) {
      int at = (int)place[graph->neighbours[graph->begin[node[k]] + e]];
      while (at < k && at != -1) {
        int above = ancestor[at];
        ancestor[at] = k;
        if (above == -1) parent[at] = k;
        at = above;
      }
    }
  }
}

/* Renumbers the random places so that each follows its children, the one with most below it
 * last: that puts columns of one pattern side by side and changes nothing else. */
static void follow_children(const struct graph *graph, uint32_t fixed, uint32_t *place)
{
  int *parent = graph->nv, *child = graph->head, *sibling = graph->elen, *number = graph->degree,
      *stack = graph->last, *size = graph->constraint, *heavy = graph->bucket;
  find_parents(graph, place, parent);
  int root = (int)fixed, count = 0, depth = 0;
  for (int k = 0; k <= root; k++) child[k] = heavy[k] = -1, size[k] = 1;
  for (int k = 0; k < root; k++) {
    int above = parent[k] == -1 || parent[k] > root ? root : parent[k];
    parent[k] = above;
    size[above] += size[k];
    if (heavy[above] == -1 || size[k] >= size[heavy[above]]) heavy[above] = k;
  }
  for (int k = root - 1; k >= 0; k--) {
    if (heavy[parent[k]] == k) continue;
    sibling[k] = child[parent[k]];
    child[parent[k]] = k;
  }
  for (stack[depth++] = root; depth > 0;) {
    int at = stack[depth - 1], below = child[at];
    if (below != -1) {
      child[at] = sibling[below];
      stack[depth++] = below;
    } else if (heavy[at] != -1) {
      stack[depth++] = heavy[at];
      heavy[at] = -1;
    } else {
      depth--;
      if (at < root) number[at] = count++;
    }
  }
  for (size_t k = 0; k < graph->n; k++)
    if (place[k] < fixed) place[k] = (uint32_t)number[place[k]];
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
  fill_graph(&graph, pattern);
  follow_children(&graph, fixed, place);
  be_free(graph.neighbours);
  return BE_OK;
}
