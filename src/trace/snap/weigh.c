/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A conditional logit (McFadden 1974): one of the onsets is the snap, or none is, each with the
 * chance exp(weight) over the sum of all; none has weight 0. The weight is a small network of the
 * looks, one layer of units of hyperbolic tangent beside a direct sum (Bishop, "Neural Networks for
 * Pattern Recognition", 1995, ch. 4), fitted to made sound: weights.c. */
#include "trace/snap/inside.h"

#include <math.h>
#include <stdlib.h>

static const double frame_s = 1.0 / 60; /* nearer onsets than half a frame of film are one snap */

double be_onset_weight(const struct onset *onset)
{
  double sum = 0;
  for (size_t i = 0; i < LOOKS_COUNT; i++) sum += be_snap_direct[i] * onset->look[i];
  for (size_t u = 0; u < UNITS; u++) {
    const double *unit = be_snap_units[u];
    double in = 0;
    for (size_t i = 0; i < LOOKS_COUNT; i++) in += unit[i] * onset->look[i];
    sum += unit[LOOKS_COUNT] * tanh(in);
  }
  return sum;
}

struct choice {
  size_t onset;
  double probability;
};

static int falling(const void *a, const void *b)
{
  const struct choice *x = a, *y = b;
  if (x->probability != y->probability) return x->probability < y->probability ? 1 : -1;
  return (x->onset > y->onset) - (x->onset < y->onset);
}

/* The likeliest takes those beside it along, then the likeliest of the rest. */
static size_t choose(struct onset *onsets, size_t count, double top, struct choice *choices)
{
  for (size_t chosen = 0;; chosen++) {
    size_t best = count;
    for (size_t i = 0; i < count; i++)
      if (isfinite(onsets[i].log_weight) &&
          (best == count || onsets[i].log_weight > onsets[best].log_weight))
        best = i;
    if (best == count) return chosen;
    choices[chosen] = (struct choice){.onset = best};
    for (size_t i = 0; i < count; i++) {
      if (fabs(onsets[i].at_s - onsets[best].at_s) > frame_s) continue;
      choices[chosen].probability += exp(onsets[i].log_weight - top);
      onsets[i].log_weight = -INFINITY;
    }
  }
}

void be_onsets_decide(struct onset *onsets, size_t count, struct be_snaps *snaps)
{
  struct choice choices[ONSETS_MAX];
  double top = 0, sum;
  for (size_t i = 0; i < count; i++) top = fmax(top, onsets[i].log_weight);
  sum = exp(-top);
  for (size_t i = 0; i < count; i++) sum += exp(onsets[i].log_weight - top);
  *snaps = (struct be_snaps){.none = exp(-top) / sum};
  size_t chosen = choose(onsets, count, top, choices);
  qsort(choices, chosen, sizeof choices[0], falling);
  for (; snaps->count < chosen && snaps->count < BE_SNAPS_MAX; snaps->count++) {
    const struct choice *choice = &choices[snaps->count];
    snaps->snap[snaps->count] = (struct be_snap){.at_s = onsets[choice->onset].at_s,
                                                 .probability = choice->probability / sum};
  }
  if (chosen) snaps->clicks_met = onsets[choices[0].onset].clicks_met;
  snaps->found = snaps->count > 0 && snaps->snap[0].probability > 0.5;
}
