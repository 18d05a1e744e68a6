/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_BENCH_SNAP_FIT_H
#define BE_BENCH_SNAP_FIT_H

#include "snap/tracks.h"

/* The networks of src/trace/snap/weights.c: three of 16 units, whose mean is one of 48. */
enum { NETS = 3, NET_UNITS = UNITS / NETS };

struct net {
  float unit[NET_UNITS][LOOKS_PADDED], bias[NET_UNITS], counts[NET_UNITS];
  float direct[LOOKS_PADDED], constant;
};

/* Fits to all tracks but every sixth seed (`all`: to these as well) and the kinds left out, and
 * says on standard error how it does on the others; writes the table to standard output. */
void fit(struct tracks *tracks, bool all, const bool left_out[TRACK_KINDS], size_t epochs);

#endif
