/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A close look at one onset: when exactly, how steep, in which bands, and what is left of it soon
 * after. A line that snaps cracks over all bands at once and is gone in some 10 ms; struck metal
 * rings on in few tones, a voice and a hiss last, a thud is dull. */
#include "trace/snap/inside.h"

#include <math.h>
#include <string.h>

static const double block_s = 0.00025;
enum { BLOCKS_BEFORE = 72, BLOCKS_AFTER = 88 };

static long sample_of(const struct hearing *hearing, double s)
{
  return lround(s * hearing->rate_Hz);
}

/* Energy of the first difference, which weighs towards high frequencies, of one block. */
static double block_energy(const struct hearing *hearing, long first, long length)
{
  double sum = 0;
  for (long i = first; i < first + length; i++) {
    if (i < 1 || i >= (long)hearing->n) continue;
    double step = (double)hearing->sound[i] - (double)hearing->sound[i - 1];
    sum += step * step;
  }
  return sum;
}

/* The onset: from the loudest of the blocks back while there is more than what was before, then
 * the first sample of that block that stands out. */
static void place(const struct hearing *hearing, struct onset *onset)
{
  enum { ALL = BLOCKS_BEFORE + BLOCKS_AFTER, QUIET = 24 };
  double energy[ALL], before = 0, top = 0;
  long length = sample_of(hearing, block_s), first;
  if (length < 2) length = 2;
  first = (long)(onset->frame * hearing->hop) - BLOCKS_BEFORE * length;
  for (int i = 0; i < ALL; i++) {
    energy[i] = block_energy(hearing, first + i * length, length);
    if (i < QUIET) before += energy[i] / QUIET;
    if (i >= QUIET && energy[i] > top) top = energy[i];
  }
  int start = QUIET, peak;
  double enough = fmax(8 * before, 0.04 * top);
  while (start < ALL - 1 && energy[start] < enough && energy[start] < top) start++;
  for (peak = start; peak < ALL - 1 && energy[peak] < 0.5 * top;) peak++;
  onset->look[LOOK_STEEP] = log(1 + (double)(peak - start));
  double most = 0;
  long at = first + start * length;
  for (int pass = 0; pass < 2; pass++)
    for (long i = at; i < at + length; i++) {
      if (i < 1 || i >= (long)hearing->n) continue;
      double step = fabs((double)hearing->sound[i] - (double)hearing->sound[i - 1]);
      if (pass == 0 && step > most) most = step;
      if (pass == 1 && step >= 0.25 * most) {
        at = i;
        break;
      }
    }
  if (at >= (long)hearing->n) at = (long)hearing->n - 1;
  onset->at_s = (double)(at < 0 ? 0 : at) / hearing->rate_Hz;
}

static double power_over(const struct hearing *hearing, const double level[BANDS], size_t from,
                         size_t to)
{
  double sum = 0;
  for (size_t b = from; b < to && b < hearing->bands; b++) sum += be_power_of(level[b]);
  return sum;
}

/* Mean level of each band in the frames from 50 to 12 ms before. */
static void before_of(const struct hearing *hearing, double at_s, double level[BANDS])
{
  long frame = sample_of(hearing, at_s) / (long)hearing->hop, count = 0;
  double power[BANDS] = {0};
  for (long f = frame - 10; f <= frame - 3; f++) {
    if (f < 0 || f >= (long)hearing->frames) continue;
    for (size_t b = 0; b < BANDS; b++) power[b] += be_power_of(hearing->level[f * BANDS + (long)b]);
    count++;
  }
  for (size_t b = 0; b < BANDS; b++) level[b] = be_db_of(count ? power[b] / (double)count : 0);
}

/* How far the highest line between 1 and 12 kHz stands above their mean, dB. */
static double ring_of(const struct hearing *hearing, const double *power)
{
  double step = hearing->rate_Hz / (double)hearing->window, sum = 0, top = 0;
  size_t count = 0;
  for (size_t k = (size_t)ceil(1000 / step); k < hearing->window / 2; k++) {
    if ((double)k * step > 12000) break;
    sum += power[k];
    if (power[k] > top) top = power[k];
    count++;
  }
  return sum > 0 ? be_db_of(top * (double)count / sum) : 0;
}

/* The share of the rise that is gone, in dB. */
static double gone(double attack, double before, double later)
{
  double rise = fmax(attack - before, 3);
  return fmin(fmax((attack - fmax(later, before)) / rise, 0), 1);
}

/* dB above 5 kHz over 600 Hz to 2.2 kHz. */
static double brightness(const struct hearing *hearing, const double level[BANDS])
{
  size_t low = be_band_from(600), sharp = be_band_from(2000), bright = be_band_from(5000);
  if (bright >= hearing->bands) bright = hearing->bands - 1;
  return be_db_of(power_over(hearing, level, bright, BANDS)) -
         be_db_of(power_over(hearing, level, low, sharp));
}

/* In a window of a quarter of the length: what rings has no time to add up. */
static double crack(const struct hearing *hearing, long at)
{
  struct hearing near = *hearing;
  double level[BANDS];
  near.window /= 4;
  be_bands_at(&near, at - (long)near.window / 4, level);
  return brightness(&near, level);
}

void be_onset_look(const struct hearing *hearing, struct onset *onset)
{
  double before[BANDS], soon[BANDS], later[BANDS], power[WINDOW_MAX / 2 + 1];
  double *look = onset->look, sum = 0, squares = 0;
  size_t low = be_band_from(600), middle = be_band_from(1000), sharp = be_band_from(2000);
  place(hearing, onset);
  long at = sample_of(hearing, onset->at_s), quarter = (long)hearing->window / 4;
  before_of(hearing, onset->at_s, before);
  be_spectrum_at(hearing, at - quarter, onset->attack, power);
  look[LOOK_TONE] = ring_of(hearing, power) / 10;
  be_spectrum_at(hearing, at + sample_of(hearing, 0.012), soon, power);
  be_bands_at(hearing, at + sample_of(hearing, 0.055), later);
  double all = (double)(hearing->bands - middle);
  for (size_t b = middle; b < hearing->bands; b++) {
    double rise = fmin(fmax(onset->attack[b] - before[b], 0), 50);
    sum += rise;
    squares += rise * rise;
  }
  look[LOOK_ONE] = 1;
  look[LOOK_RISE] = sum / all / 10;
  look[LOOK_EVEN] = sqrt(fmax(squares / all - sum / all * sum / all, 0)) / 10;
  onset->high = be_db_of(power_over(hearing, onset->attack, sharp, BANDS));
  double was = be_db_of(power_over(hearing, before, sharp, BANDS));
  look[LOOK_BRIGHT] = brightness(hearing, onset->attack) / 10;
  look[LOOK_CRACK] = crack(hearing, at) / 10;
  look[LOOK_LOW] = (be_db_of(power_over(hearing, onset->attack, 0, low)) - onset->high) / 10;
  look[LOOK_FALL] = gone(onset->high, was, be_db_of(power_over(hearing, soon, sharp, BANDS)));
  look[LOOK_GONE] = gone(onset->high, was, be_db_of(power_over(hearing, later, sharp, BANDS)));
  look[LOOK_RING] = ring_of(hearing, power) / 10;
  look[LOOK_FLOOR] = fmax(0, 2 - look[LOOK_RISE]);
}

/* ---- beside the others ---- */

static bool alike(const struct hearing *hearing, const struct onset *a, const struct onset *b)
{
  double sum = 0;
  size_t from = be_band_from(600);
  if (fabs(a->at_s - b->at_s) > 6 || fabs(a->at_s - b->at_s) < 0.1) return false;
  for (size_t k = from; k < hearing->bands; k++) sum += fabs(a->attack[k] - b->attack[k]);
  return sum / (double)(hearing->bands - from) < 6;
}

/* The level that half of the frames in a stretch reach, above 2 kHz, from seconds on. */
static double usual(const struct hearing *hearing, double from_s, double to_s)
{
  enum { LEVELS = 160 };
  size_t counts[LEVELS] = {0}, count = 0, seen = 0;
  long from = (long)(from_s * hearing->rate_Hz / (double)hearing->hop),
       to = (long)(to_s * hearing->rate_Hz / (double)hearing->hop);
  for (long f = from < 0 ? 0 : from; f < to && f < (long)hearing->frames; f++) {
    double level = fmin(fmax((double)hearing->high[f] + 140, 0), LEVELS - 1);
    counts[(size_t)level]++;
    count++;
  }
  for (size_t i = 0; i < LEVELS; i++)
    if ((seen += counts[i]) * 2 > count) return (double)i - 140;
  return NAN;
}

static void square(double look[LOOKS_COUNT])
{
  static const enum look of[] = {LOOK_LOUD, LOOK_RISE,  LOOK_BRIGHT, LOOK_CRACK,
                                 LOOK_EVEN, LOOK_FALL,  LOOK_GONE,   LOOK_TONE,
                                 LOOK_LOW,  LOOK_LEVEL, LOOK_STEEP};
  for (size_t i = 0; i < sizeof of / sizeof of[0]; i++)
    look[LOOK_LOUD_2 + i] = look[of[i]] * look[of[i]];
}

/* The loudest frame of a stretch below 600 Hz. */
static double dullest(const struct hearing *hearing, double from_s, double to_s)
{
  double top = -140;
  long from = (long)(from_s * hearing->rate_Hz / (double)hearing->hop),
       to = (long)(to_s * hearing->rate_Hz / (double)hearing->hop);
  for (long f = from < 0 ? 0 : from; f < to && f < (long)hearing->frames; f++)
    for (size_t b = 0; b < 2; b++) top = fmax(top, (double)hearing->level[f * BANDS + (long)b]);
  return top;
}

void be_onsets_compare(const struct hearing *hearing, struct onset *onsets, size_t count)
{
  double top = -INFINITY;
  for (size_t i = 0; i < count; i++) top = fmax(top, onsets[i].high);
  for (size_t i = 0; i < count; i++) {
    struct onset *onset = &onsets[i];
    size_t others = 0;
    for (size_t k = 0; k < count; k++) others += k != i && alike(hearing, onset, &onsets[k]);
    double hush = usual(hearing, onset->at_s - 1.5, onset->at_s - 0.05) -
                  usual(hearing, onset->at_s + 1, onset->at_s + 3);
    onset->look[LOOK_LOUD] = (onset->high - top) / 10;
    onset->look[LOOK_ALIKE] = log(1 + (double)others);
    double thud = dullest(hearing, onset->at_s + 0.06, onset->at_s + 1) -
                  dullest(hearing, onset->at_s - 0.6, onset->at_s - 0.02);
    onset->look[LOOK_THUD] = fmin(fmax(thud, -10), 30) / 10;
    onset->look[LOOK_LEVEL] = onset->high / 10;
    square(onset->look);
    onset->look[LOOK_HUSH] = isnan(hush) ? 0 : fmin(fmax(hush, -6), 12) / 10;
  }
}
