/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The least code of a drawing. Each part that hangs together is written from all its starts; parts
 * are put in order by their codes. */
#include "knot/diagram/inside.h"

#include <string.h>

enum { NONE = 0xFFFF, HEAD = 0x8000 };

/* A code that is being written. */
struct writing {
  const struct map *map;
  const struct be_marks *marks;
  unsigned short *number, *met; /* of a crossing; the crossing with a number */
  unsigned short *code;
  size_t used, numbered;
  unsigned char order[BE_STRANDS_MAX];
  size_t strands;
  signed char way[BE_STRANDS_MAX]; /* 0: not written yet */
};

static unsigned short head_of(const struct writing *w, size_t strand)
{
  int direction = w->marks->direction[strand] * w->way[strand];
  return (unsigned short)(HEAD | w->marks->kind[strand] << 4 |
                          w->map->diagram->strand[strand].closed << 3 | (direction + 1) << 1);
}

static void write_strand(struct writing *w, size_t strand, size_t start, int way)
{
  size_t n = w->map->diagram->strand[strand].count;
  const struct be_pass *pass = w->map->diagram->strand[strand].pass;
  w->way[strand] = (signed char)way;
  w->order[w->strands++] = (unsigned char)strand;
  w->code[w->used++] = head_of(w, strand);
  for (size_t k = 0, at = start; k < n; k++) {
    unsigned short *number = &w->number[pass[at].crossing];
    if (*number == NONE) {
      *number = (unsigned short)w->numbered;
      w->met[w->numbered++] = pass[at].crossing;
    }
    w->code[w->used++] = (unsigned short)(*number << 1 | pass[at].over);
    at = way > 0 ? (at + 1 < n ? at + 1 : 0) : (at > 0 ? at - 1 : n - 1);
  }
}

/* An open strand is written from an end. */
static size_t start_of(const struct be_diagram *diagram, size_t strand, size_t pass, int way)
{
  if (diagram->strand[strand].closed) return pass;
  return way > 0 || diagram->strand[strand].count == 0 ? 0 : diagram->strand[strand].count - 1;
}

/* Strands that are met at crossings with numbers, lowest first; then the signs. */
static void write_part(struct writing *w, size_t strand, size_t start, int way)
{
  const struct be_diagram *diagram = w->map->diagram;
  for (size_t i = 0; i < w->numbered; i++) w->number[w->met[i]] = NONE;
  w->used = w->numbered = w->strands = 0;
  memset(w->way, 0, sizeof w->way);
  write_strand(w, strand, start_of(diagram, strand, start, way), way);
  for (size_t i = 0; i < w->numbered; i++) {
    const struct met *met = &w->map->met[w->met[i]];
    int way_over = w->way[met->strand[0]], way_under = w->way[met->strand[1]];
    if (way_over && way_under) continue;
    int new = !way_under;
    way = diagram->sign[w->met[i]] * (way_over + way_under);
    write_strand(w, met->strand[new], start_of(diagram, met->strand[new], met->pass[new], way),
                 way);
  }
  for (size_t i = 0; i < w->numbered; i++) {
    const struct met *met = &w->map->met[w->met[i]];
    int sign = diagram->sign[w->met[i]] * w->way[met->strand[0]] * w->way[met->strand[1]];
    w->code[w->used++] = sign > 0;
  }
}

static int compare(const unsigned short *a, size_t a_count, const unsigned short *b, size_t b_count)
{
  for (size_t i = 0; i < a_count && i < b_count; i++)
    if (a[i] != b[i]) return a[i] < b[i] ? -1 : 1;
  return a_count < b_count ? -1 : a_count > b_count;
}

struct part {
  unsigned short *code;
  size_t count, strands;
  unsigned char order[BE_STRANDS_MAX];
  signed char way[BE_STRANDS_MAX];
};

static void keep_least(const struct writing *w, struct part *part)
{
  if (part->count && compare(w->code, w->used, part->code, part->count) >= 0) return;
  memcpy(part->code, w->code, w->used * sizeof *w->code);
  part->count = w->used;
  part->strands = w->strands;
  memcpy(part->order, w->order, sizeof part->order);
  memcpy(part->way, w->way, sizeof part->way);
}

/* From all starts of the strands that hang together with one. */
static void least_code(struct writing *w, size_t strand, struct part *part)
{
  unsigned char together[BE_STRANDS_MAX];
  write_part(w, strand, 0, 1);
  size_t strands = w->strands;
  memcpy(together, w->order, sizeof together);
  for (size_t i = 0; i < strands; i++) {
    bool closed = w->map->diagram->strand[together[i]].closed;
    size_t passes = w->map->diagram->strand[together[i]].count;
    for (size_t k = 0; k < (closed && passes ? passes : 1); k++)
      for (int way = 1; way >= -1; way -= 2) {
        write_part(w, together[i], k, way);
        keep_least(w, part);
      }
  }
}

static void put_together(struct part *parts, size_t count, struct be_canonical *canonical)
{
  size_t strands = 0;
  canonical->count = 0;
  for (size_t done = 0; done < count; done++) {
    for (size_t i = done + 1; i < count; i++)
      if (compare(parts[i].code, parts[i].count, parts[done].code, parts[done].count) < 0) {
        struct part swap = parts[i];
        parts[i] = parts[done];
        parts[done] = swap;
      }
    const struct part *part = &parts[done];
    memcpy(canonical->code + canonical->count, part->code, part->count * sizeof *part->code);
    canonical->count += part->count;
    for (size_t s = 0; s < part->strands; s++) {
      canonical->order[strands++] = part->order[s];
      canonical->reversed[part->order[s]] = part->way[part->order[s]] < 0;
    }
  }
}

enum be_status be_diagram_canonical(const struct be_diagram *diagram, const struct be_marks *marks,
                                    struct be_arena *arena, struct be_canonical *canonical,
                                    struct be_err *err)
{
  static const struct be_marks none;
  struct map map;
  struct part parts[BE_STRANDS_MAX] = {{0}};
  bool done[BE_STRANDS_MAX] = {false};
  size_t room = 3 * diagram->crossings + BE_STRANDS_MAX, count = 0;
  enum be_status status = be_map_make(diagram, arena, &map, err);
  *canonical = (struct be_canonical){0};
  if (status != BE_OK) return status;
  struct writing w = {.map = &map, .marks = marks ? marks : &none};
  w.number = be_arena_alloc(arena, (diagram->crossings + 1) * sizeof *w.number);
  w.met = be_arena_alloc(arena, (diagram->crossings + 1) * sizeof *w.met);
  w.code = be_arena_alloc(arena, room * sizeof *w.code);
  canonical->code = be_arena_alloc(arena, room * sizeof *w.code);
  if (!w.number || !w.met || !w.code || !canonical->code)
    return be_fail(err, BE_NO_MEMORY, "no memory for the code");
  memset(w.number, 0xFF, (diagram->crossings + 1) * sizeof *w.number);
  for (size_t s = 0; s < diagram->strands; s++) {
    if (done[s]) continue;
    struct part *part = &parts[count++];
    part->code = be_arena_alloc(arena, room * sizeof *part->code);
    if (!part->code) return be_fail(err, BE_NO_MEMORY, "no memory for the code");
    least_code(&w, s, part);
    for (size_t i = 0; i < part->strands; i++) done[part->order[i]] = true;
  }
  put_together(parts, count, canonical);
  return BE_OK;
}

bool be_canonical_same(const struct be_canonical *a, const struct be_canonical *b)
{
  return compare(a->code, a->count, b->code, b->count) == 0;
}
