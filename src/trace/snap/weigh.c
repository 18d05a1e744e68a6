/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A conditional logit (McFadden 1974): one of the onsets is the snap, or none is, each with the
 * chance exp(w . look) over the sum of all; none has 1. The weights are those of most likelihood
 * on made sound (bench/bench_snap.c fit). */
#include "trace/snap/inside.h"

#include <math.h>

static const double weights[LOOKS_COUNT] = {
    [LOOK_ONE] = -4.697,    [LOOK_LOUD] = 0.601,      [LOOK_RISE] = -0.079,
    [LOOK_BRIGHT] = -1.160, [LOOK_CRACK] = 2.258,     [LOOK_EVEN] = 3.880,
    [LOOK_FALL] = 4.870,    [LOOK_GONE] = -2.142,     [LOOK_RING] = 1.798,
    [LOOK_TONE] = 0.201,    [LOOK_LOW] = 0.708,       [LOOK_STEEP] = -0.628,
    [LOOK_ALIKE] = -1.826,  [LOOK_HUSH] = 0.617,      [LOOK_FLOOR] = -0.967,
    [LOOK_PATTERN] = 0.476, [LOOK_EARLY] = -5.984,    [LOOK_LOUD_2] = -0.240,
    [LOOK_RISE_2] = 0.127,  [LOOK_BRIGHT_2] = -0.414, [LOOK_CRACK_2] = -0.480,
    [LOOK_EVEN_2] = -3.017, [LOOK_FALL_2] = -4.101,   [LOOK_GONE_2] = 3.465,
    [LOOK_TONE_2] = 0.462,  [LOOK_LOW_2] = -0.105,
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
