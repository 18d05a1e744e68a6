/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing that is changed: passes are taken out and put in, then crossings are counted anew. */
#ifndef BE_KNOT_DIAGRAM_EDIT_H
#define BE_KNOT_DIAGRAM_EDIT_H

#include "knot/diagram/inside.h"

/* Passes to put in, in front of a pass of a strand (its count: behind the last). */
struct insertion {
  unsigned short strand, before;
  struct be_pass pass;
};

/* Takes out the passes of crossings that are marked, puts in the others in the order given (several
 * at one place stay in it), and numbers crossings 0, 1, ... again. signs: of all crossings, old and
 * new, of which there are `crossings`. New arrays are in the arena. */
enum be_status be_diagram_edit(struct be_diagram *diagram, const bool *taken,
                               const struct insertion *insertions, size_t count,
                               const signed char *signs, size_t crossings, struct be_arena *arena,
                               struct be_err *err);

/* Reidemeister's third move at the first face from `first` on that can be turned, of *count faces;
 * *turned tells which it was. BE_NO, without a text: there is none. Passes are changed in place. */
enum be_status be_diagram_turn(struct be_diagram *diagram, size_t first, struct be_arena *arena,
                               size_t *turned, size_t *count, struct be_err *err);

#endif
