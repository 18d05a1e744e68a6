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

struct best {
  size_t count, most;
  double merit[FLUX_MAX];
  struct onset *onset;
};

/* While there is room, then in place of the least. */
static void keep(struct best *best, double merit, long first, long last)
{
  size_t place = best->count;
  if (best->count < best->most) {
    best->count++;
  } else {
    place = 0;
    for (size_t i = 1; i < best->count; i++)
      if (best->merit[i] < best->merit[place]) place = i;
    if (best->merit[place] >= merit) return;
  }
  best->merit[place] = merit;
  best->onset[place] = (struct onset){.first = first < 0 ? 0 : (size_t)first, .last = (size_t)last};
}

/* How much better what is left is explained by more power from this tick on than by that of before:
 * the log likelihood ratio of two normal laws, over the best of some lengths. */
static double starts(const struct hearing *hearing, size_t t)
{
  enum { LONGEST = 16, CLEAR = 4, BACK = 24 };
  double before = 0, sum = 0, most = 0;
  for (size_t k = t - BACK; k < t - CLEAR; k++) before += (double)hearing->left[k];
  before = fmax(before / (BACK - CLEAR), (double)hearing->murmur[t / MURMUR_TICKS]);
  for (size_t k = 0, next = 1; k < LONGEST && t + k < hearing->ticks; k++) {
    sum += (double)hearing->left[t + k];
    if (k + 1 < next) continue;
    double ratio = sum / (double)next / before;
    if (ratio > 1)
      most = fmax(most, 0.5 * (double)(next * hearing->tick) * (ratio - 1 - log(ratio)));
    next *= 2;
  }
  return log(1 + most);
}

static void find_sharp(const struct hearing *hearing, struct best *best)
{
  enum { FIRST = 24, APART_TICKS = 8 };
  double top = 0;
  size_t at = 0;
  for (size_t t = FIRST; t < hearing->ticks; t++) {
    double now = starts(hearing, t);
    if (now > top) {
      top = now;
      at = t;
    }
    if (top > 0 && t >= at + APART_TICKS) {
      long tick = (long)hearing->tick, sample = (long)at * tick;
      double level = be_db_of((double)hearing->left[at]);
      keep(best, top + level / 20, sample - 2 * tick, sample + 4 * tick);
      top = 0;
    }
  }
}

size_t be_onsets_find(struct hearing *hearing, struct onset onsets[ONSETS_MAX])
{
  struct best flux = {.most = FLUX_MAX, .onset = onsets}, sharp = {.most = SHARP_MAX};
  for (size_t f = 0; f < hearing->frames; f++) hearing->rise[f] = (float)rise_at(hearing, f);
  for (size_t f = TO + 2; f < hearing->frames; f++) { /* how a sound begins is no onset */
    long sample = (long)(f * hearing->hop), ms = lround(0.001 * hearing->rate_Hz);
    if (is_top(hearing, f)) keep(&flux, merit(hearing, f), sample - 12 * ms, sample + 22 * ms);
  }
  sharp.onset = onsets + flux.count;
  find_sharp(hearing, &sharp);
  return flux.count + sharp.count;
}
