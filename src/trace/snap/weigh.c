/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A conditional logit (McFadden 1974): one of the onsets is the snap, or none is, each with the
 * chance exp(w . look) over the sum of all; none has 1. The weights are those of most likelihood
 * on made sound (bench/bench_snap.c fit). */
#include "trace/snap/inside.h"

#include <math.h>

static const double weights[LOOKS_COUNT] = {
    [LOOK_ONE] = -4.235,    [LOOK_LOUD] = 0.680,   [LOOK_RISE] = -0.849,     [LOOK_BRIGHT] = 0.746,
    [LOOK_EVEN] = 1.967,    [LOOK_FALL] = 4.054,   [LOOK_GONE] = 0.966,      [LOOK_RING] = 2.733,
    [LOOK_TONE] = 1.659,    [LOOK_LOW] = 0.586,    [LOOK_STEEP] = -1.082,    [LOOK_ALIKE] = -1.772,
    [LOOK_HUSH] = 0.737,    [LOOK_FLOOR] = -1.265, [LOOK_PATTERN] = 0.506,   [LOOK_EARLY] = -6.305,
    [LOOK_LOUD_2] = -0.230, [LOOK_RISE_2] = 0.251, [LOOK_BRIGHT_2] = -0.666, [LOOK_EVEN_2] = -1.595,
    [LOOK_FALL_2] = -2.716, [LOOK_GONE_2] = 0.293, [LOOK_TONE_2] = -0.753,   [LOOK_LOW_2] = -0.280,
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
