/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Planar-diagram code: each crossing as its four arcs, counter-clockwise from the incoming one
 * under; arcs are numbered along the strands. */
#include "knot/diagram/inside.h"

#include <string.h>

enum { PLACES = 4, ARCS_MAX = 2 * BE_CROSSINGS_MAX };

struct corner {
  unsigned short arc[PLACES]; /* under in, right of it, under out, left of it */
};

/* The two ends of an arc. */
struct ends {
  unsigned short crossing[2], place[2], count;
};

static enum be_status bad(struct be_err *err, const char *what)
{
  return be_fail(err, BE_BAD_INPUT, "%s", what);
}

static enum be_status read_corners(const char *text, size_t size, struct corner *corners,
                                   size_t room, size_t *count, struct be_err *err)
{
  size_t place = 0;
  *count = 0;
  for (const char *p = text, *end = text + size; p < end;) {
    if (*p < '0' || *p > '9') {
      if (!strchr("XPD[](),; \t\r\n", *p))
        return bad(err, "a planar-diagram code is X[1,5,2,4] ...");
      p++;
      continue;
    }
    unsigned value = 0;
    for (; p < end && *p >= '0' && *p <= '9'; p++)
      if (value <= ARCS_MAX) value = value * 10 + (unsigned)(*p - '0');
    if (value == 0 || value > ARCS_MAX) return bad(err, "arcs have numbers from 1 on");
    if (*count == room) return bad(err, "there are too many crossings");
    corners[*count].arc[place++] = (unsigned short)value;
    if (place == PLACES) place = 0, ++*count;
  }
  return place ? bad(err, "each crossing has four arcs") : BE_OK;
}

/* Walks along the strand that leaves `crossing` under, as far as it goes. */
static enum be_status follow(const struct corner *corners, const struct ends *ends, size_t crossing,
                             struct be_diagram *diagram, bool *passed, struct be_err *err)
{
  size_t s = diagram->strands - 1, at = crossing, in = 0;
  do {
    size_t out = (in + 2) % PLACES;
    bool over = in % 2;
    if (passed[2 * at + over] || (!over && in != 0))
      return bad(err, "an arc is walked against its direction");
    passed[2 * at + over] = true;
    diagram->strand[s].pass[diagram->strand[s].count++] =
        (struct be_pass){(unsigned short)at, over};
    if (over) diagram->sign[at] = in == 3 ? 1 : -1;
    const struct ends *arc = &ends[corners[at].arc[out]];
    int next = arc->crossing[0] == at && arc->place[0] == out;
    at = arc->crossing[next];
    in = arc->place[next];
  } while (at != crossing || in != 0);
  return BE_OK;
}

enum be_status be_pd_read(const char *text, size_t size, struct be_arena *arena,
                          struct be_diagram *diagram, struct be_err *err)
{
  size_t room = size / 8 + 1, count;
  if (room > BE_CROSSINGS_MAX) room = BE_CROSSINGS_MAX;
  struct corner *corners = be_arena_alloc(arena, (room + 1) * sizeof *corners);
  struct ends *ends = be_arena_alloc(arena, (ARCS_MAX + 1) * sizeof *ends);
  struct be_pass *pass = be_arena_alloc(arena, (2 * room + 1) * sizeof *pass);
  bool *passed = be_arena_alloc(arena, 2 * room + 1);
  *diagram = (struct be_diagram){.sign = be_arena_alloc(arena, room + 1)};
  if (!corners || !ends || !pass || !passed || !diagram->sign)
    return be_fail(err, BE_NO_MEMORY, "no memory for the code");
  enum be_status status = read_corners(text, size, corners, room, &count, err);
  for (size_t c = 0; c < count && status == BE_OK; c++)
    for (unsigned short p = 0; p < PLACES && status == BE_OK; p++) {
      struct ends *arc = &ends[corners[c].arc[p]];
      if (arc->count == 2) return bad(err, "each arc has two ends");
      arc->crossing[arc->count] = (unsigned short)c;
      arc->place[arc->count++] = p;
    }
  for (size_t c = 0; c < count && status == BE_OK; c++)
    for (int p = 0; p < PLACES; p++)
      if (ends[corners[c].arc[p]].count != 2) return bad(err, "each arc has two ends");
  diagram->crossings = count;
  for (size_t c = 0; c < count && status == BE_OK; c++) {
    if (passed[2 * c]) continue;
    if (diagram->strands == BE_STRANDS_MAX) return bad(err, "there are too many strands");
    size_t s = diagram->strands++;
    diagram->strand[s].pass = pass;
    diagram->strand[s].closed = true;
    status = follow(corners, ends, c, diagram, passed, err);
    pass += diagram->strand[s].count;
  }
  return status == BE_OK ? be_diagram_check(diagram, err) : status;
}

enum be_status be_pd_write(const struct be_diagram *diagram, struct be_buf *out, struct be_err *err)
{
  struct be_arena *arena = be_arena_create();
  struct map map;
  size_t first[BE_STRANDS_MAX + 1] = {0};
  if (!arena) return be_fail(err, BE_NO_MEMORY, "no memory for the code");
  enum be_status status = be_map_make(diagram, arena, &map, err);
  for (size_t s = 0; s < diagram->strands; s++) {
    if (!diagram->strand[s].closed)
      status = be_fail(err, BE_WRONG_USE, "a planar-diagram code is of closed strands");
    first[s + 1] = first[s] + diagram->strand[s].count;
  }
  for (size_t c = 0; c < diagram->crossings && status == BE_OK; c++) {
    /* Counter-clockwise from where the strand under comes in. */
    unsigned start = diagram->sign[c] > 0 ? SLOT_RIGHT : SLOT_LEFT;
    be_buf_text(out, c ? " X[" : "X[");
    for (unsigned k = 0; k < SLOTS; k++) {
      struct walk walk = be_map_leaving(&map, c, (start + k) % SLOTS);
      be_buf_format(out, "%s%zu", k ? "," : "", first[walk.strand] + walk.arc + 1);
    }
    be_buf_char(out, ']');
  }
  be_arena_free(arena);
  return status == BE_OK ? be_buf_status(out, err) : status;
}
