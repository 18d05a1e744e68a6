/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A conditional logit (McFadden 1974): one of the onsets is the snap, or none is, each with the
 * chance exp(w . look) over the sum of all; none has 1. The weights are those of most likelihood
 * on made sound (bench/bench_snap.c fit). */
#include "trace/snap/inside.h"

#include <math.h>

static const double weights[LOOKS_COUNT] = {
    [LOOK_ONE] = -4.833,      [LOOK_LOUD] = -0.254,    [LOOK_RISE] = 0.754,
    [LOOK_BRIGHT] = -1.466,   [LOOK_CRACK] = 2.313,    [LOOK_EVEN] = 0.660,
    [LOOK_FALL] = 5.777,      [LOOK_GONE] = -2.087,    [LOOK_RING] = 2.660,
    [LOOK_TONE] = 1.117,      [LOOK_LOW] = 0.775,      [LOOK_STEEP] = -0.567,
    [LOOK_ALIKE] = -2.138,    [LOOK_HUSH] = 0.487,     [LOOK_THUD] = 0.651,
    [LOOK_LEVEL] = -0.123,    [LOOK_FLOOR] = -0.442,   [LOOK_PATTERN] = 0.565,
    [LOOK_EARLY] = -5.541,    [LOOK_LOUD_2] = -0.661,  [LOOK_RISE_2] = -0.079,
    [LOOK_BRIGHT_2] = -0.400, [LOOK_CRACK_2] = -0.652, [LOOK_EVEN_2] = -1.458,
    [LOOK_FALL_2] = -4.449,   [LOOK_GONE_2] = 3.394,   [LOOK_TONE_2] = -0.428,
    [LOOK_LOW_2] = -0.084,    [LOOK_LEVEL_2] = -0.115, [LOOK_STEEP_2] = 0.214,
};

double be_onset_weight(const struct onset *onset)
{
  double sum = 0;
  for (size_t i = 0; i < LOOKS_COUNT; i++) sum += weights[i] * onset->look[i];
  return sum;
}

void be_onsets_decide(struct onset *onsets, size_t count, struct be_snaps *snaps)
{
  double top = 0, sum;
  for (size_t i = 0; i < count; i++) top = fmax(top, onsets[i].log_weight);
  sum = exp(-top);
  for (size_t i = 0; i < count; i++) sum += exp(onsets[i].log_weight - top);
  *snaps = (struct be_snaps){.none = exp(-top) / sum};
  for (; snaps->count < count && snaps->count < BE_SNAPS_MAX; snaps->count++) {
    size_t best = 0;
    for (size_t i = 1; i < count; i++)
      if (onsets[i].log_weight > onsets[best].log_weight) best = i;
    if (snaps->count == 0) snaps->clicks_met = onsets[best].clicks_met;
    snaps->snap[snaps->count] = (struct be_snap){
        .at_s = onsets[best].at_s, .probability = exp(onsets[best].log_weight - top) / sum};
    onsets[best].log_weight = -INFINITY;
  }
  snaps->found = snaps->count > 0 && snaps->snap[0].probability > 0.5;
}
