/* SPDX-License-Identifier: GPL-3.0-or-later */
/* told_rig: a rig whose every run of bytes is handed out by the test, on a clock that the test
 * sets: nothing waits for time, and the same pull comes the same each time. */
#ifndef BE_TOLD_RIG_H
#define BE_TOLD_RIG_H

#include "rig/rig.h"

extern const struct be_rig_clock told_clock;
extern const struct be_rig_source told_rig;

/* The frames of a pull: 50 a second, 2.7 s of nothing, up to 61.7 N in two seconds, and 1.5 s of
 * nothing again; cut into runs of odd lengths by the seed. */
enum { TOLD_RUNS_MAX = 400, TOLD_BYTES_MAX = 32 * 1024 };
struct told_pull {
  char bytes[TOLD_BYTES_MAX];
  size_t count, samples; /* of runs; of frames in all */
  size_t from[TOLD_RUNS_MAX + 1];
  int64_t at_ns[TOLD_RUNS_MAX];
};
void told_pull_make(struct told_pull *pull, uint64_t seed);

void told_time(int64_t ns);
/* Hands a run to the rig's thread, and returns when it lies in the rings. */
void told_hand(const char *bytes, size_t size);
void told_unplug(void); /* the line ends, and cannot be opened before told_plug */
void told_plug(void);
void told_release(void); /* before the rig is stopped: it does not wait for runs any more */
void told_reset(void);

#endif
