/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/diagram/inside.h"

#include <string.h>

enum { OVER, UNDER, NOWHERE = 0xFFFF };

enum be_status be_map_make(const struct be_diagram *diagram, struct be_arena *arena,
                           struct map *map, struct be_err *err)
{
  size_t n = diagram->crossings;
  if (n > BE_CROSSINGS_MAX)
    return be_fail(err, BE_TOO_LARGE, "a drawing may have %d crossings, and has %zu",
                   BE_CROSSINGS_MAX, n);
  *map = (struct map){diagram, be_arena_alloc(arena, (n + 1) * sizeof *map->met)};
  if (!map->met) return be_fail(err, BE_NO_MEMORY, "no memory for the drawing");
  memset(map->met, 0xFF, (n + 1) * sizeof *map->met);
  for (size_t s = 0; s < diagram->strands; s++)
    for (size_t k = 0; k < diagram->strand[s].count; k++) {
      struct be_pass pass = diagram->strand[s].pass[k];
      int level = pass.over ? OVER : UNDER;
      if (pass.crossing >= n || map->met[pass.crossing].strand[level] != NOWHERE)
        return be_fail(err, BE_BAD_INPUT, "crossing %d is not met once over and once under",
                       pass.crossing + 1);
      map->met[pass.crossing].strand[level] = (unsigned short)s;
      map->met[pass.crossing].pass[level] = (unsigned short)k;
    }
  for (size_t c = 0; c < n; c++)
    if (map->met[c].strand[OVER] == NOWHERE || map->met[c].strand[UNDER] == NOWHERE)
      return be_fail(err, BE_BAD_INPUT, "crossing %zu is not met once over and once under", c + 1);
  return BE_OK;
}

/* Slots by which the strand over (or under) comes in and goes out. */
static unsigned slot_of(const struct map *map, size_t crossing, bool over, bool out)
{
  if (over) return out ? SLOT_OVER_OUT : SLOT_OVER_IN;
  return (map->diagram->sign[crossing] > 0) == out ? SLOT_LEFT : SLOT_RIGHT;
}

struct walk be_map_leaving(const struct map *map, size_t crossing, unsigned slot)
{
  bool over = slot == SLOT_OVER_OUT || slot == SLOT_OVER_IN;
  bool out = slot == slot_of(map, crossing, over, true);
  const struct met *met = &map->met[crossing];
  unsigned short strand = met->strand[!over], pass = met->pass[!over];
  size_t arcs = arcs_of(map->diagram, strand);
  /* Arc k enters pass k; the one that leaves it is the next. */
  unsigned short arc = out ? (unsigned short)((pass + 1U) % arcs) : pass;
  return (struct walk){strand, arc, out};
}

struct walk be_map_next(const struct map *map, struct walk walk, bool *end)
{
  const struct be_diagram *diagram = map->diagram;
  size_t passes = diagram->strand[walk.strand].count;
  bool closed = diagram->strand[walk.strand].closed;
  if (passes == 0) {
    *end = *end || !closed;
    return closed ? walk : (struct walk){walk.strand, walk.arc, !walk.forward};
  }
  bool at_end = !closed && (walk.forward ? walk.arc == passes : walk.arc == 0);
  if (at_end) {
    *end = true;
    return (struct walk){walk.strand, walk.arc, !walk.forward};
  }
  size_t at = walk.forward ? walk.arc : (walk.arc + passes - 1) % passes;
  struct be_pass pass = diagram->strand[walk.strand].pass[at];
  unsigned slot = slot_of(map, pass.crossing, pass.over, !walk.forward);
  return be_map_leaving(map, pass.crossing, (slot + SLOTS - 1) % SLOTS);
}
