/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/diagram/edit.h"

#include <string.h>

enum { NONE = 0xFFFF };

enum be_status be_diagram_edit(struct be_diagram *diagram, const bool *taken,
                               const struct insertion *insertions, size_t count,
                               const signed char *signs, size_t crossings, struct be_arena *arena,
                               struct be_err *err)
{
  unsigned short *number = be_arena_alloc(arena, (crossings + 1) * sizeof *number);
  struct be_diagram made = *diagram;
  made.crossings = 0;
  made.sign = be_arena_alloc(arena, crossings + 1);
  if (!number || !made.sign) return be_fail(err, BE_NO_MEMORY, "no memory for the move");
  memset(number, 0xFF, crossings * sizeof *number);
  for (size_t s = 0; s < diagram->strands; s++) {
    size_t passes = diagram->strand[s].count, used = 0;
    struct be_pass *pass = be_arena_alloc(arena, (passes + count + 1) * sizeof *pass);
    if (!pass) return be_fail(err, BE_NO_MEMORY, "no memory for the move");
    for (size_t k = 0; k <= passes; k++) {
      for (size_t i = 0; i < count; i++)
        if (insertions[i].strand == s && insertions[i].before == k)
          pass[used++] = insertions[i].pass;
      if (k < passes && !taken[diagram->strand[s].pass[k].crossing])
        pass[used++] = diagram->strand[s].pass[k];
    }
    for (size_t k = 0; k < used; k++) {
      unsigned short *to = &number[pass[k].crossing];
      if (*to == NONE) {
        made.sign[made.crossings] = signs[pass[k].crossing];
        *to = (unsigned short)made.crossings++;
      }
      pass[k].crossing = *to;
    }
    made.strand[s].pass = pass;
    made.strand[s].count = used;
  }
  *diagram = made;
  return BE_OK;
}

enum be_status be_diagram_alone(const struct be_diagram *diagram, size_t strand,
                                struct be_arena *arena, struct be_diagram *to, struct be_err *err)
{
  bool *taken = be_arena_alloc(arena, diagram->crossings + 1);
  unsigned char *met = be_arena_alloc(arena, diagram->crossings + 1);
  if (!taken || !met) return be_fail(err, BE_NO_MEMORY, "no memory for the strand");
  for (size_t k = 0; k < diagram->strand[strand].count; k++)
    met[diagram->strand[strand].pass[k].crossing]++;
  for (size_t c = 0; c < diagram->crossings; c++) taken[c] = met[c] < 2;
  *to = *diagram;
  to->strands = 1;
  to->strand[0] = diagram->strand[strand];
  return be_diagram_edit(to, taken, NULL, 0, diagram->sign, diagram->crossings, arena, err);
}
