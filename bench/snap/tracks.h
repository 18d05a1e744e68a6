/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Made tracks as what the snap is told by: for whoever fits the weights. */
#ifndef BE_BENCH_SNAP_TRACKS_H
#define BE_BENCH_SNAP_TRACKS_H

#include "trace/snap/inside.h"

#include "../../tests/snap_plain.h"

/* After the kinds of the shed, as many rows of plain tracks. */
enum { PLAIN = SHED_KINDS_COUNT, PLAINS = 4, TRACK_KINDS = PLAIN + PLAINS };
enum {
  LOOKS_PADDED = (LOOKS_COUNT + 7) / 8 * 8,
  HINTED = 3,
  TRACKS_MAX = 40000
}; /* the last looks need the trace */

struct track {
  int32_t kind, again, snaps, count, seed; /* again: through another recorder */
  float *away_s;                           /* of each onset from the snap */
  float *looks;                            /* padded */
};

struct tracks {
  size_t count;
  struct track track[TRACKS_MAX];
};

/* Hears `count` tracks of each kind from that one on, of seeds from `first` on, and writes them. */
void tracks_hear(const char *path, uint64_t first, size_t count, size_t from_kind);
/* Adds those of a file; false where it is none. */
bool tracks_read(const char *path, struct tracks *tracks);

#endif
