/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound against the trace: each slip clicks. A click that stands where the trace has a slip
 * counts for as much as it would be rare there by chance: -ln of the share of stretches of that
 * width that have a rise as great, less 1, which is what chance gives on the mean. */
#include "trace/snap/inside.h"

#include <math.h>
#include <stdlib.h>

static const double most = 5, met = 2; /* of -ln: no one slip may decide alone */

static int rising(const void *a, const void *b)
{
  float x = *(const float *)a, y = *(const float *)b;
  return (x > y) - (x < y);
}

static float top_around(const struct hearing *hearing, double at_s, double doubt_s)
{
  double rate = hearing->rate_Hz / (double)hearing->hop;
  long from = lround((at_s - doubt_s) * rate) - 1, to = lround((at_s + doubt_s) * rate) + 1;
  float top = -1;
  for (long f = from < 0 ? 0 : from; f <= to && f < (long)hearing->frames; f++)
    if (hearing->rise[f] > top) top = hearing->rise[f];
  return top;
}

/* Tops of stretches side by side, in rising order; returns how many. */
static size_t stretches(const struct hearing *hearing, double doubt_s, float *tops)
{
  size_t width = (size_t)lround(2 * doubt_s * hearing->rate_Hz / (double)hearing->hop) + 3, n = 0;
  for (size_t f = 0; f < hearing->frames; f += width, n++) {
    tops[n] = 0;
    for (size_t k = f; k < f + width && k < hearing->frames; k++)
      if (hearing->rise[k] > tops[n]) tops[n] = hearing->rise[k];
  }
  qsort(tops, n, sizeof tops[0], rising);
  return n;
}

static double rareness(const float *tops, size_t n, float top)
{
  size_t low = 0, high = n; /* the first that is not smaller */
  while (low < high) {
    size_t middle = (low + high) / 2;
    if (tops[middle] < top) low = middle + 1;
    else high = middle;
  }
  return fmin(-log(((double)(n - low) + 0.5) / ((double)n + 0.5)), most);
}

void be_onsets_pattern(const struct hearing *hearing, const struct be_snap_hint *hint,
                       struct onset *onsets, size_t count, float *scratch)
{
  if (!hint) return;
  size_t n = hint->clicks ? stretches(hearing, hint->doubt_s, scratch) : 0;
  for (size_t i = 0; i < count; i++) {
    struct onset *onset = &onsets[i];
    double sum = 0;
    onset->look[LOOK_EARLY] = onset->at_s < hint->rise_s;
    for (size_t k = 0; k < hint->clicks; k++) {
      double at_s = onset->at_s - hint->click_s[k];
      if (at_s < 0) continue;
      double rare = rareness(scratch, n, top_around(hearing, at_s, hint->doubt_s));
      sum += rare - 1;
      onset->clicks_met += rare > met;
    }
    onset->look[LOOK_PATTERN] = sum / 5;
  }
  for (size_t i = 0; i < count; i++) {
    double best = 0;
    for (size_t k = 0; k < count; k++)
      if (k != i) best = fmax(best, onsets[k].look[LOOK_PATTERN]);
    onsets[i].look[LOOK_FITS] = onsets[i].look[LOOK_PATTERN] - best;
  }
}
