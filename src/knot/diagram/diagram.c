/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/diagram/inside.h"

#include <string.h>

/* Parts of the drawing that hang together: strands that cross. */
static size_t find(size_t *parent, size_t strand)
{
  while (parent[strand] != strand) strand = parent[strand];
  return strand;
}

static size_t parts_of(const struct map *map)
{
  size_t parent[BE_STRANDS_MAX], parts = map->diagram->strands;
  for (size_t s = 0; s < parts; s++) parent[s] = s;
  for (size_t c = 0; c < map->diagram->crossings; c++) {
    size_t a = find(parent, map->met[c].strand[0]), b = find(parent, map->met[c].strand[1]);
    if (a == b) continue;
    parent[a] = b;
    parts--;
  }
  return parts;
}

/* Euler: faces of each part less its edges and more its corners are 2; free ends are corners too.
 */
enum be_status be_diagram_check(const struct be_diagram *diagram, struct be_err *err)
{
  struct be_arena *arena = be_arena_create();
  struct be_face *faces = NULL;
  struct map map;
  size_t count = 0, arcs = 0, corners = diagram->crossings;
  if (!arena) return be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
  enum be_status status =
      diagram->strands >= 1 && diagram->strands <= BE_STRANDS_MAX
          ? be_map_make(diagram, arena, &map, err)
          : be_fail(err, BE_BAD_INPUT, "a drawing has 1 to %d strands", BE_STRANDS_MAX);
  for (size_t c = 0; status == BE_OK && c < diagram->crossings; c++)
    if (diagram->sign[c] != 1 && diagram->sign[c] != -1)
      status = be_fail(err, BE_BAD_INPUT, "crossing %zu has no sign", c + 1);
  if (status == BE_OK) status = be_faces_find(diagram, arena, &faces, &count, err);
  if (status == BE_OK) {
    for (size_t s = 0; s < diagram->strands; s++) {
      arcs += arcs_of(diagram, s);
      if (!diagram->strand[s].closed) corners += 2;
      else if (diagram->strand[s].count == 0) corners++; /* anywhere on its ring */
    }
    size_t parts = parts_of(&map);
    if (count + corners != arcs + 2 * parts)
      status = be_fail(err, BE_BAD_INPUT, "no drawing on a plane has these crossings");
  }
  be_arena_free(arena);
  return status;
}

enum be_status be_diagram_copy(const struct be_diagram *from, struct be_arena *arena,
                               struct be_diagram *to, struct be_err *err)
{
  *to = *from;
  to->sign = be_arena_alloc(arena, from->crossings + 1);
  bool whole = to->sign != NULL;
  if (whole && from->crossings) memcpy(to->sign, from->sign, from->crossings);
  for (size_t s = 0; s < from->strands && whole; s++) {
    size_t size = from->strand[s].count * sizeof *to->strand[s].pass;
    to->strand[s].pass = be_arena_alloc(arena, size + 1);
    whole = to->strand[s].pass != NULL;
    if (whole && size) memcpy(to->strand[s].pass, from->strand[s].pass, size);
  }
  return whole ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
}

void be_diagram_mirror(struct be_diagram *diagram)
{
  for (size_t s = 0; s < diagram->strands; s++)
    for (size_t k = 0; k < diagram->strand[s].count; k++)
      diagram->strand[s].pass[k].over = !diagram->strand[s].pass[k].over;
  for (size_t c = 0; c < diagram->crossings; c++) diagram->sign[c] = (signed char)-diagram->sign[c];
}

/* Signs of its crossings with itself stay. */
void be_diagram_reverse(struct be_diagram *diagram, size_t strand)
{
  struct be_pass *pass = diagram->strand[strand].pass;
  size_t n = diagram->strand[strand].count;
  for (size_t k = 0; k < n; k++)
    diagram->sign[pass[k].crossing] = (signed char)-diagram->sign[pass[k].crossing];
  for (size_t k = 0; k < n / 2; k++) {
    struct be_pass other = pass[k];
    pass[k] = pass[n - 1 - k];
    pass[n - 1 - k] = other;
  }
}
