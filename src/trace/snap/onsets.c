/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Onsets by spectral flux in bands, on a scale of dB, weighed towards high frequencies: Bello,
 * Daudet, Abdallah, Duxbury, Davies and Sandler, "A tutorial on onset detection in music signals",
 * IEEE Trans. Speech Audio Process. 13(5), 1035-1047, 2005, sections III.B and IV. Each band is
 * held against the loudest of a stretch before it, so that what wavers does not rise. */
#include "trace/snap/inside.h"

#include <math.h>

/* In frames of 5 ms: the stretch before, clear of the window's own width; how far a top must stand
 * alone. */
enum { FROM = 3, TO = 8, APART = 5 };
/* dB that noise rises in a band now and then. */
static const double waver = 3;

static double rise_at(const struct hearing *hearing, size_t f)
{
  double sum = 0, weights = 0;
  for (size_t b = 0; b < hearing->bands; b++) {
    float before = -INFINITY, now = hearing->level[f * BANDS + b];
    for (size_t k = FROM; k <= TO && k <= f; k++) {
      float level = hearing->level[(f - k) * BANDS + b];
      if (level > before) before = level;
    }
    double weight = 1 + (double)b, rise = isfinite(before) ? (double)(now - before) - waver : 0;
    sum += weight * fmin(fmax(rise, 0), 40);
    weights += weight;
  }
  return sum / weights;
}

static bool is_top(const struct hearing *hearing, size_t f)
{
  const float *rise = hearing->rise;
  if (!(rise[f] > 0)) return false;
  for (size_t k = 1; k <= APART; k++) {
    if (k <= f && rise[f - k] >= rise[f]) return false;
    if (f + k < hearing->frames && rise[f + k] > rise[f]) return false;
  }
  return true;
}

/* A faint click in a hush rises as far as a snap in noise: level counts beside the rise. */
static double merit(const struct hearing *hearing, size_t f)
{
  float high = hearing->high[f];
  for (size_t k = 1; k <= 2 && f + k < hearing->frames; k++)
    if (hearing->high[f + k] > high) high = hearing->high[f + k];
  return (double)hearing->rise[f] + (double)high;
}

size_t be_onsets_find(struct hearing *hearing, size_t frame[ONSETS_MAX])
{
  double merits[ONSETS_MAX];
  size_t count = 0;
  for (size_t f = 0; f < hearing->frames; f++) hearing->rise[f] = (float)rise_at(hearing, f);
  for (size_t f = TO + 2; f < hearing->frames; f++) { /* how a sound begins is no onset */
    if (!is_top(hearing, f)) continue;
    double mine = merit(hearing, f);
    size_t place = count < ONSETS_MAX ? count++ : ONSETS_MAX;
    if (place == ONSETS_MAX) { /* in place of the least */
      place = 0;
      for (size_t i = 1; i < count; i++)
        if (merits[i] < merits[place]) place = i;
      if (merits[place] >= mine) continue;
    }
    merits[place] = mine;
    frame[place] = f;
  }
  return count;
}
