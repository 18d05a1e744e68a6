/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reidemeister's moves, one at random. */
#include "knot/diagram/edit.h"

#include <string.h>

static enum be_status add_crossings(struct be_diagram *d, const struct insertion *list,
                                    size_t count, const signed char *new_signs, size_t added,
                                    struct be_arena *arena, struct be_err *err)
{
  size_t n = d->crossings;
  signed char *signs = be_arena_alloc(arena, n + added + 1);
  bool *taken = be_arena_alloc(arena, n + added + 1);
  if (!signs || !taken) return be_fail(err, BE_NO_MEMORY, "no memory for the move");
  if (n) memcpy(signs, d->sign, n);
  memcpy(signs + n, new_signs, added);
  return be_diagram_edit(d, taken, list, count, signs, n + added, arena, err);
}

/* A kink in any arc: over or under first, either sign. */
static enum be_status add_kink(struct be_diagram *d, struct be_random *random,
                               struct be_arena *arena, struct be_err *err)
{
  unsigned short strand = (unsigned short)be_random_below(random, d->strands);
  unsigned short arc = (unsigned short)be_random_below(random, arcs_of(d, strand));
  unsigned short crossing = (unsigned short)d->crossings;
  bool over = be_random_below(random, 2);
  signed char sign = be_random_below(random, 2) ? 1 : -1;
  const struct insertion list[] = {{strand, arc, {crossing, over}},
                                   {strand, arc, {crossing, !over}}};
  return add_crossings(d, list, 2, &sign, 1, arena, err);
}

/* In a face, one edge pushed over (or under) another. Both run with the face to their left, so that
 * the finger meets the other in reverse order, first from its left. */
static enum be_status add_pair(struct be_diagram *d, struct be_random *random,
                               struct be_arena *arena, struct be_err *err)
{
  struct be_face *faces;
  size_t count;
  enum be_status status = be_faces_find(d, arena, &faces, &count, err);
  if (status != BE_OK) return status;
  const struct be_face *face = &faces[be_random_below(random, count)];
  struct be_face_edge e = face->edge[be_random_below(random, face->edges)];
  struct be_face_edge f = face->edge[be_random_below(random, face->edges)];
  if (e.strand == f.strand && e.arc == f.arc) return BE_NO;
  unsigned short a = (unsigned short)d->crossings, b = (unsigned short)(a + 1U);
  bool over = be_random_below(random, 2);
  struct be_pass of_e[2] = {{a, over}, {b, over}}, of_f[2] = {{b, !over}, {a, !over}};
  const struct insertion list[] = {
      {e.strand, e.arc, of_e[!e.forward]},
      {e.strand, e.arc, of_e[e.forward]},
      {f.strand, f.arc, of_f[!f.forward]},
      {f.strand, f.arc, of_f[f.forward]},
  };
  signed char first = (signed char)((e.forward == f.forward) == over ? 1 : -1);
  const signed char signs[2] = {first, (signed char)-first};
  return add_crossings(d, list, 4, signs, 2, arena, err);
}

/* A face of three edges of which one runs over both others and one under both: the one over is
 * moved across the crossing of the others, so that each edge meets its two crossings the other way
 * round. */
static bool turns(const struct be_diagram *d, const struct be_face *face,
                  struct be_pass *ends[3][2])
{
  int tops = 0, bottoms = 0;
  if (face->edges != 3 || face->open) return false;
  for (size_t i = 0; i < 3; i++) {
    struct be_face_edge edge = face->edge[i];
    size_t n = d->strand[edge.strand].count;
    if (n < 2) return false;
    ends[i][0] = &d->strand[edge.strand].pass[(edge.arc + n - 1) % n];
    ends[i][1] = &d->strand[edge.strand].pass[edge.arc];
    if (ends[i][0]->crossing == ends[i][1]->crossing) return false;
    tops += ends[i][0]->over && ends[i][1]->over;
    bottoms += !ends[i][0]->over && !ends[i][1]->over;
  }
  return tops == 1 && bottoms == 1;
}

enum be_status be_diagram_turn(struct be_diagram *d, size_t first, struct be_arena *arena,
                               size_t *turned, size_t *count, struct be_err *err)
{
  struct be_face *faces;
  enum be_status status = be_faces_find(d, arena, &faces, count, err);
  if (status != BE_OK) return status;
  for (*turned = first; *turned < *count; ++*turned) {
    struct be_pass *ends[3][2];
    if (!turns(d, &faces[*turned], ends)) continue;
    for (int k = 0; k < 3; k++) {
      struct be_pass swap = *ends[k][0];
      *ends[k][0] = *ends[k][1];
      *ends[k][1] = swap;
    }
    return BE_OK;
  }
  return BE_NO;
}

/* The first that can be turned from a random face on, then from the first. */
static enum be_status turn_triangle(struct be_diagram *d, struct be_random *random,
                                    struct be_arena *arena, struct be_err *err)
{
  struct be_face *faces;
  size_t count, turned;
  enum be_status status = be_faces_find(d, arena, &faces, &count, err);
  if (status != BE_OK) return status;
  status = be_diagram_turn(d, be_random_below(random, count), arena, &turned, &count, err);
  return status == BE_NO ? be_diagram_turn(d, 0, arena, &turned, &count, err) : status;
}

/* Worked out in memory of its own, of which only the result stays. */
enum be_status be_diagram_move(struct be_diagram *diagram, struct be_random *random, bool up,
                               struct be_arena *arena, struct be_err *err)
{
  enum { TRIES = 50 };
  struct be_arena *scratch = be_arena_create();
  if (!scratch) return be_fail(err, BE_NO_MEMORY, "no memory for the move");
  enum be_status status = BE_NO;
  for (int i = 0; i < (up ? TRIES : 1) && status == BE_NO; i++) {
    uint64_t kind = up ? be_random_below(random, 4) : 3;
    status = kind == 0   ? add_kink(diagram, random, scratch, err)
             : kind == 1 ? add_pair(diagram, random, scratch, err)
                         : turn_triangle(diagram, random, scratch, err);
  }
  struct be_diagram made = {0};
  if (status == BE_OK) status = be_diagram_copy(diagram, arena, &made, err);
  if (status == BE_OK) *diagram = made;
  be_arena_free(scratch);
  return status == BE_NO ? be_fail(err, BE_NO, "no move can be made") : status;
}
