/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Signs of a closed strand's crossings from their order alone (Dehn 1936; Read and Rosenstiehl
 * 1976). Each crossing is turned into a touching, so that the strand becomes one ring without
 * crossings: its two visits to a crossing are joined by a chord, inside of the ring or outside.
 * Chords that would meet lie on different sides; if that cannot be, no drawing has this order. */
#include "knot/diagram/planar.h"

#include <string.h>

/* Half arcs at a crossing: of the first visit and of the second. */
enum { IN_1, OUT_1, IN_2, OUT_2 };

/* A visit of the ring: by which half arc it comes, and by which it goes. */
struct visit {
  unsigned short crossing;
  unsigned char from, to;
};

static void turn_round(struct visit *first, struct visit *last)
{
  for (; first <= last; first++, last--) {
    struct visit a = *first, b = *last;
    *first = (struct visit){b.crossing, b.to, b.from};
    *last = (struct visit){a.crossing, a.to, a.from};
  }
}

/* The ring that touches itself where the strand crossed. */
static void make_ring(struct visit *ring, size_t count, size_t crossings, size_t (*at)[2])
{
  for (size_t c = 0; c < crossings; c++) {
    size_t k = 0;
    for (size_t i = 0; i < count && k < 2; i++)
      if (ring[i].crossing == c) at[c][k++] = i;
    struct visit *p = &ring[at[c][0]], *q = &ring[at[c][1]];
    unsigned char p_to = p->to;
    p->to = q->from;
    q->from = p_to;
    if (q - p > 1) turn_round(p + 1, q - 1);
  }
  for (size_t i = count; i-- > 0;) at[ring[i].crossing][0] = i;
  for (size_t i = 0; i < count; i++) at[ring[i].crossing][1] = i;
}

static bool meet(const size_t a[2], const size_t b[2])
{
  bool first = b[0] > a[0] && b[0]<a[1], second = b[1]> a[0] && b[1] < a[1];
  return first != second;
}

/* Sides 1 and 2, each part begun on side 1; false when chords cannot be parted. */
static bool part(size_t crossings, size_t (*at)[2], unsigned char *side, size_t *waiting)
{
  memset(side, 0, crossings);
  for (size_t start = 0; start < crossings; start++) {
    if (side[start]) continue;
    size_t count = 0;
    side[start] = 1;
    waiting[count++] = start;
    while (count > 0) {
      size_t a = waiting[--count];
      for (size_t b = 0; b < crossings; b++) {
        if (b == a || !meet(at[a], at[b])) continue;
        if (side[b] == side[a]) return false;
        if (side[b]) continue;
        side[b] = (unsigned char)(3 - side[a]);
        waiting[count++] = b;
      }
    }
  }
  return true;
}

/* Whether the second visit passes from right to left of the first, with the chord to the left: then
 * the half arc that the ring leaves by is the next one counter-clockwise. */
static bool from_right(const struct visit *visit, bool chord_left)
{
  unsigned next_of[4]; /* counter-clockwise */
  unsigned a = visit->from, b = visit->to;
  if (!chord_left) a = visit->to, b = visit->from;
  next_of[a] = b;
  next_of[b] = a ^ 1U;
  next_of[a ^ 1U] = b ^ 1U;
  next_of[b ^ 1U] = a;
  return next_of[IN_1] == IN_2;
}

enum be_status be_signs_find(struct be_diagram *diagram, struct be_arena *arena, struct be_err *err)
{
  size_t n = diagram->crossings, count = diagram->strand[0].count;
  struct visit *ring = be_arena_alloc(arena, (count + 1) * sizeof *ring);
  size_t(*at)[2] = be_arena_alloc(arena, (n + 1) * sizeof *at);
  unsigned char *side = be_arena_alloc(arena, n + 1);
  size_t *waiting = be_arena_alloc(arena, (n + 1) * sizeof *waiting);
  bool *first_over = be_arena_alloc(arena, (n + 1) * sizeof *first_over);
  if (!ring || !at || !side || !waiting || !first_over)
    return be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
  for (size_t i = 0; i < count; i++) {
    struct be_pass pass = diagram->strand[0].pass[i];
    bool first = !side[pass.crossing];
    side[pass.crossing] = 1;
    if (first) first_over[pass.crossing] = pass.over;
    ring[i] = (struct visit){pass.crossing, first ? IN_1 : IN_2, first ? OUT_1 : OUT_2};
  }
  make_ring(ring, count, n, at);
  if (!part(n, at, side, waiting))
    return be_fail(err, BE_BAD_INPUT, "no drawing on a plane has crossings in this order");
  for (size_t c = 0; c < n; c++) {
    bool left = from_right(&ring[at[c][0]], side[c] == 1);
    diagram->sign[c] = left == first_over[c] ? 1 : -1;
  }
  if (n > 0 && diagram->sign[diagram->strand[0].pass[0].crossing] < 0)
    for (size_t c = 0; c < n; c++) diagram->sign[c] = (signed char)-diagram->sign[c];
  return BE_OK;
}
