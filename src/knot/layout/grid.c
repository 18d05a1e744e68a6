/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Schnyder's drawing on a grid (1990). Nodes are taken off from the outside one by one, in the
 * order of de Fraysseix, Pach and Pollack (1990), which gives each a way to every corner of the
 * frame. The ways of a node part the frame in three; what lies in each part is its place. */
#include "knot/layout/inside.h"

#include <math.h>
#include <string.h>

static const unsigned none = 0xFFFFFFFF;

/* Half edge 3 t + i goes from corner i of triangle t to the next. */
struct peeling {
  const struct net *net;
  unsigned *first, *next;   /* half edges that leave each node */
  unsigned *before, *after; /* along the outside */
  unsigned *touching;       /* how many others of the outside each is joined to */
  bool *outside;
  unsigned *came, out;
  unsigned *order; /* as they were taken off */
  unsigned (*parent)[FRAME];
};

static unsigned tail_of(const struct net *net, unsigned half)
{
  return net->triangle[half / 3].corner[half % 3];
}

static unsigned head_of(const struct net *net, unsigned half)
{
  return net->triangle[half / 3].corner[(half + 1) % 3];
}

static unsigned tip_of(const struct net *net, unsigned half)
{
  return net->triangle[half / 3].corner[(half % 3 + 2) % 3];
}

/* The node to the left of the edge from a to b. */
static unsigned left_of(const struct peeling *p, unsigned a, unsigned b)
{
  for (unsigned h = p->first[a]; h != none; h = p->next[h])
    if (head_of(p->net, h) == b) return tip_of(p->net, h);
  return none;
}

/* ---- peeling ---- */

static void come_outside(struct peeling *p, unsigned v)
{
  p->outside[v] = true;
  p->came[v] = ++p->out;
  for (unsigned h = p->first[v]; h != none; h = p->next[h]) {
    unsigned other = head_of(p->net, h);
    if (!p->outside[other]) continue;
    p->touching[v]++;
    p->touching[other]++;
  }
}

/* What lies between its neighbours on the outside comes out in its place. */
static void take_off(struct peeling *p, unsigned v)
{
  unsigned left = p->before[v], right = p->after[v], last = left;
  p->outside[v] = false;
  p->touching[left]--;
  p->touching[right]--;
  p->parent[v][0] = left;
  p->parent[v][1] = right;
  for (unsigned x = left_of(p, v, left);; x = left_of(p, v, x)) {
    p->after[last] = x;
    p->before[x] = last;
    last = x;
    if (x == right) break;
    p->parent[x][2] = v;
    come_outside(p, x);
  }
}

/* corner: left, right and top of the frame. The top is the first. */
static void peel(struct peeling *p, const unsigned corner[FRAME])
{
  unsigned left = corner[0], right = corner[1], top = corner[2];
  for (int i = 0; i < FRAME; i++) {
    p->outside[corner[i]] = true;
    p->touching[corner[i]] = 2;
  }
  p->after[left] = p->before[right] = top;
  p->before[top] = left;
  p->after[top] = right;
  for (size_t taken = 0; p->after[left] != right; taken++) {
    unsigned v = right;
    for (unsigned w = p->after[left]; w != right; w = p->after[w])
      if (p->touching[w] == 2 && (v == right || p->came[w] < p->came[v])) v = w;
    p->order[taken] = v;
    take_off(p, v);
  }
}

static enum be_status prepare(struct peeling *p, const struct net *net, struct be_arena *arena,
                              struct be_err *err)
{
  size_t n = net->nodes;
  *p = (struct peeling){.net = net};
  p->first = be_arena_alloc(arena, n * sizeof *p->first);
  p->next = be_arena_alloc(arena, 3 * net->triangles * sizeof *p->next);
  p->before = be_arena_alloc(arena, n * sizeof *p->before);
  p->after = be_arena_alloc(arena, n * sizeof *p->after);
  p->touching = be_arena_alloc(arena, n * sizeof *p->touching);
  p->outside = be_arena_alloc(arena, n * sizeof *p->outside);
  p->came = be_arena_alloc(arena, n * sizeof *p->came);
  p->order = be_arena_alloc(arena, n * sizeof *p->order);
  p->parent = be_arena_alloc(arena, n * sizeof *p->parent);
  if (!p->first || !p->next || !p->before || !p->after || !p->touching || !p->outside ||
      !p->order || !p->parent)
    return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  memset(p->first, 0xFF, n * sizeof *p->first);
  for (unsigned h = 0; h < 3 * net->triangles; h++) {
    unsigned from = tail_of(net, h);
    p->next[h] = p->first[from];
    p->first[from] = h;
  }
  return BE_OK;
}

/* ---- places ---- */

/* How many nodes come by each on their way to a corner, with itself. */
static void count_under(const struct peeling *p, int tree, unsigned *under)
{
  size_t n = p->net->nodes, inner = n - FRAME;
  for (size_t v = 0; v < n; v++) under[v] = 1;
  /* the first that was taken off is the top */
  for (size_t i = 0; i < inner; i++) {
    unsigned v = p->order[tree == 2 ? inner - i : i + 1];
    under[p->parent[v][tree]] += under[v];
  }
}

/* Sum of those counts on a node's way to a corner; *length: nodes on it. */
static double sum_way(const struct peeling *p, unsigned v, int way, unsigned corner,
                      const unsigned *under, double *length)
{
  double sum = under[v];
  for (*length = 1; v != corner; ++*length) {
    v = p->parent[v][way];
    sum += under[v];
  }
  return sum;
}

/* Nodes in the part across from a corner are a node's share of it. */
static void place(const struct peeling *p, const unsigned corner[FRAME], const unsigned *under,
                  int i, const struct be_point *at_corner, struct be_point *at)
{
  int back = (i + 2) % FRAME, on = (i + 1) % FRAME;
  size_t n = p->net->nodes;
  for (unsigned v = 0; v < n - FRAME; v++) {
    double length, other;
    double share = sum_way(p, v, back, corner[back], under, &length) +
                   sum_way(p, v, on, corner[on], under, &other) - under[v] - length;
    at[v].x += share * at_corner->x;
    at[v].y += share * at_corner->y;
  }
  at[corner[i]].x += (double)(n - 2) * at_corner->x;
  at[corner[i]].y += (double)(n - 2) * at_corner->y;
  at[corner[back]].x += at_corner->x;
  at[corner[back]].y += at_corner->y;
}

enum be_status be_net_place(struct net *net, struct be_arena *arena, struct be_err *err)
{
  static const struct be_point corners[FRAME] = {
      {-0.86602540378443865, -0.5, 0}, {0.86602540378443865, -0.5, 0}, {0, 1, 0}};
  unsigned n = (unsigned)net->nodes;
  const unsigned corner[FRAME] = {n - 3, n - 1, n - 2}; /* the frame goes round the other way */
  struct peeling p;
  enum be_status status = prepare(&p, net, arena, err);
  unsigned *under = be_arena_alloc(arena, n * sizeof *under);
  if (status != BE_OK) return status;
  if (!under) return be_fail(err, BE_NO_MEMORY, "no memory for the layout");
  peel(&p, corner);
  for (int i = 0; i < FRAME; i++) {
    count_under(&p, i, under);
    place(&p, corner, under, i, &corners[i], net->at);
  }
  return BE_OK;
}
