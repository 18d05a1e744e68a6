/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drawing as a map: where each strand passes, and what lies round a crossing.
 *
 * Counter-clockwise round a crossing, from where the strand over leaves:
 *
 *     positive            1 under out                negative            1 under in
 *              2 over in  x  0 over out                       2 over in  x  0 over out
 *                         3 under in                                     3 under out */
#ifndef BE_KNOT_DIAGRAM_INSIDE_H
#define BE_KNOT_DIAGRAM_INSIDE_H

#include "knot/diagram/diagram.h"

enum { SLOT_OVER_OUT, SLOT_LEFT, SLOT_OVER_IN, SLOT_RIGHT, SLOTS };

/* Where a crossing is passed over and under. */
struct met {
  unsigned short strand[2], pass[2]; /* over, under */
};

struct map {
  const struct be_diagram *diagram;
  struct met *met; /* by crossing */
};

enum be_status be_map_make(const struct be_diagram *diagram, struct be_arena *arena,
                           struct map *map, struct be_err *err);

/* Arcs that a strand has: closed, one a pass (arc k enters pass k), or 1 without any; open, one
 * more. */
static inline size_t arcs_of(const struct be_diagram *diagram, size_t strand)
{
  size_t passes = diagram->strand[strand].count;
  return diagram->strand[strand].closed ? (passes ? passes : 1) : passes + 1;
}

/* An arc walked in one direction. */
struct walk {
  unsigned short strand, arc;
  bool forward;
};
/* The next arc with the same face to the left; *end: a free end was turned round. */
struct walk be_map_next(const struct map *map, struct walk walk, bool *end);
/* What leaves a crossing through a slot. */
struct walk be_map_leaving(const struct map *map, size_t crossing, unsigned slot);

#endif
