/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/diagram/inside.h"

/* Both sides of each arc, numbered through. */
struct sides {
  size_t first[BE_STRANDS_MAX + 1];
  bool *seen;
};

static size_t side_of(const struct sides *sides, struct walk walk)
{
  return 2 * (sides->first[walk.strand] + walk.arc) + walk.forward;
}

static struct walk walk_of(const struct sides *sides, size_t side)
{
  unsigned short strand = 0;
  while (side / 2 >= sides->first[strand + 1]) strand++;
  return (struct walk){strand, (unsigned short)(side / 2 - sides->first[strand]), side % 2};
}

/* Walks round one face; returns how many edges it has. */
static size_t go_round(const struct map *map, struct sides *sides, struct walk start,
                       struct be_face_edge *edges, bool *open)
{
  size_t count = 0;
  struct walk walk = start;
  do {
    edges[count] = (struct be_face_edge){walk.strand, walk.arc, walk.forward};
    sides->seen[side_of(sides, walk)] = true;
    count++;
    walk = be_map_next(map, walk, open);
  } while (walk.strand != start.strand || walk.arc != start.arc || walk.forward != start.forward);
  return count;
}

enum be_status be_faces_find(const struct be_diagram *diagram, struct be_arena *arena,
                             struct be_face **faces, size_t *count, struct be_err *err)
{
  struct map map;
  struct sides sides = {0};
  enum be_status status = be_map_make(diagram, arena, &map, err);
  if (status != BE_OK) return status;
  for (size_t s = 0; s < diagram->strands; s++)
    sides.first[s + 1] = sides.first[s] + arcs_of(diagram, s);
  for (size_t s = diagram->strands; s < BE_STRANDS_MAX; s++) sides.first[s + 1] = SIZE_MAX;
  size_t all = 2 * sides.first[diagram->strands];
  sides.seen = be_arena_alloc(arena, all * sizeof *sides.seen);
  struct be_face *list = be_arena_alloc(arena, all * sizeof *list);
  struct be_face_edge *edges = be_arena_alloc(arena, all * sizeof *edges);
  if (!sides.seen || !list || !edges) return be_fail(err, BE_NO_MEMORY, "no memory for the faces");
  *count = 0;
  for (size_t side = 0; side < all; side++) {
    if (sides.seen[side]) continue;
    struct be_face *face = &list[(*count)++];
    face->edge = edges;
    face->edges = go_round(&map, &sides, walk_of(&sides, side), edges, &face->open);
    edges += face->edges;
  }
  *faces = list;
  return BE_OK;
}
