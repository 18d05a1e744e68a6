/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drawing that a view gives, and lines closed so that what no move changes can be asked. */
#include "knot/crossing/inside.h"

#include <stdlib.h>

struct place {
  double along;
  struct be_pass pass;
};

static int by_along(const void *a, const void *b)
{
  double x = ((const struct place *)a)->along, y = ((const struct place *)b)->along;
  return x < y ? -1 : x > y;
}

enum be_status be_crossings_diagram(const struct be_lines *lines,
                                    const struct be_crossing *crossings, size_t count,
                                    struct be_arena *arena, struct be_diagram *diagram,
                                    struct be_err *err)
{
  struct place *places = be_arena_alloc(arena, (2 * count + 1) * sizeof *places);
  *diagram = (struct be_diagram){.strands = lines->count, .crossings = count};
  diagram->sign = be_arena_alloc(arena, count + 1);
  if (!places || !diagram->sign) return be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
  if (count > BE_CROSSINGS_MAX)
    return be_fail(err, BE_TOO_LARGE, "a drawing may have %d crossings, and has %zu",
                   BE_CROSSINGS_MAX, count);
  for (size_t c = 0; c < count; c++) diagram->sign[c] = (signed char)crossings[c].sign;
  for (size_t l = 0; l < lines->count; l++) {
    size_t n = 0;
    for (size_t c = 0; c < count; c++)
      for (int level = BE_OVER; level <= BE_UNDER; level++)
        if (crossings[c].line[level] == l)
          places[n++] =
              (struct place){crossings[c].along[level], {(unsigned short)c, level == BE_OVER}};
    qsort(places, n, sizeof *places, by_along);
    struct be_pass *pass = be_arena_alloc(arena, (n + 1) * sizeof *pass);
    if (!pass) return be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
    for (size_t k = 0; k < n; k++) pass[k] = places[k].pass;
    diagram->strand[l].pass = pass;
    diagram->strand[l].count = n;
    diagram->strand[l].closed = lines->line[l].closed;
  }
  return BE_OK;
}
