/* SPDX-License-Identifier: GPL-3.0-or-later */
/* snap: the moment a line snaps, in the sound of a film of the pull. */
#ifndef BE_TRACE_SNAP_H
#define BE_TRACE_SNAP_H

#include "base/base.h"

enum { BE_SNAPS_MAX = 8, BE_SNAP_CLICKS_MAX = 64, BE_SNAP_SAMPLES_MAX = 1 << 29 };

/* What the trace of the same pull tells: its slips click too, as long before the snap as they
 * stand before the break. */
struct be_snap_hint {
  double rise_s;                      /* from the first load to the break; 0: not known */
  size_t clicks;                      /* slips before the break */
  double click_s[BE_SNAP_CLICKS_MAX]; /* how long before it */
  double doubt_s;                     /* of these times: two rows of the trace */
  double expected; /* how probable it is beforehand that the snap can be heard; 0: a half */
};

/* Of a trace that broke; of another, and of one without times, all is 0. */
struct be_trace;
struct be_trace_events;
void be_snap_hint_of(const struct be_trace *trace, const struct be_trace_events *events,
                     struct be_snap_hint *hint);

struct be_snap {
  double at_s; /* onset, from the first sample */
  /* That this is the snap. All of them and `none` add to 1, with what was not kept. It is a model's
   * (docs/methods.md), fitted to made sound: as good as that sound is like the real one. */
  double probability;
};

struct be_snaps {
  bool found;        /* the likeliest of them is likelier than all else together */
  size_t count;      /* likeliest first */
  double none;       /* the probability that there is no snap */
  size_t clicks_met; /* clicks of the hint that were heard before the likeliest */
  struct be_snap snap[BE_SNAPS_MAX];
};

/* sound: n samples of one channel, full scale 1, borrowed. hint may be null. Takes heap: some 20
 * bytes a millisecond. No snap is an answer: BE_OK, and found is false. BE_BAD_INPUT for less than
 * a second, for samples that are no numbers, for silence throughout; BE_TOO_LARGE for more than
 * BE_SNAP_SAMPLES_MAX. rate_Hz: 8,000 to 192,000, else BE_BAD_INPUT. */
enum be_status be_snap_find(const float *sound, size_t n, double rate_Hz,
                            const struct be_snap_hint *hint, struct be_snaps *snaps,
                            struct be_err *err);

#endif
