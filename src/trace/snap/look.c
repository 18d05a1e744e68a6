/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A close look at one onset: when exactly, how steep, in which bands, and what is left of it soon
 * after. A line that snaps cracks over all bands at once and is gone in some 10 ms; struck metal
 * rings on in few tones, a voice and a hiss last, a thud is dull. */
#include "trace/snap/inside.h"

#include <math.h>
#include <string.h>

static const double block_s = 0.00025, before_s = 0.006;

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
void be_onset_place(const struct hearing *hearing, struct onset *onset)
{
  enum { ALL = 176 };
  double energy[ALL], before = 0, top = 0;
  long length = sample_of(hearing, block_s), first;
  if (length < 2) length = 2;
  int quiet = (int)(sample_of(hearing, before_s) / length);
  int all = quiet + 1 + (int)((long)(onset->last - onset->first) / length);
  if (all > ALL) all = ALL;
  first = (long)onset->first - quiet * length;
  for (int i = 0; i < all; i++) {
    energy[i] = block_energy(hearing, first + i * length, length);
    if (i < quiet) before += energy[i] / quiet;
    if (i >= quiet && energy[i] > top) top = energy[i];
  }
  int start = quiet, peak;
  double enough = fmax(8 * before, 0.04 * top);
  while (start < all - 1 && energy[start] < enough && energy[start] < top) start++;
  for (peak = start; peak < all - 1 && energy[peak] < 0.5 * top;) peak++;
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

static double limited(double db, double most)
{
  return fmin(fmax(db, -most), most) / 10;
}

/* Bands that the rate cuts off are as the two below them. */
static void fill(const struct hearing *hearing, double *look)
{
  for (size_t b = hearing->bands; b < BANDS; b++) look[b] = (look[b - 1] + look[b - 2]) / 2;
}

/* Of each band the part in what is louder than before. */
static void shape(const struct hearing *hearing, const double level[BANDS],
                  const double before[BANDS], double *look)
{
  double power[BANDS], sum = 0;
  for (size_t b = 0; b < hearing->bands; b++) {
    double all = be_power_of(level[b]);
    power[b] = fmax(all - be_power_of(before[b]), 0.001 * all);
    sum += power[b];
  }
  for (size_t b = 0; b < hearing->bands; b++)
    look[b] = limited(be_db_of(fmax(power[b] / sum, 1e-6)), 60);
  fill(hearing, look);
}

/* In a window of a quarter of the length: what rings has no time to add up. */
static void start(const struct hearing *hearing, struct onset *onset, long at,
                  const double before[BANDS])
{
  struct hearing near = *hearing;
  double level[BANDS];
  near.window /= 4;
  be_bands_at(&near, at - (long)near.window / 4, level);
  onset->look[LOOK_CRACK] = brightness(&near, level) / 10;
  shape(hearing, level, before, &onset->look[LOOK_START]);
}

/* What creaks cracks several times. */
static void again(const struct hearing *hearing, struct onset *onset, long at)
{
  enum { NEAR = 3, FAR = 120 };
  long tick = at / (long)hearing->tick;
  double own = 1e-12, most = 1, beside = 1e-12, first = 1e-12;
  for (long t = tick - FAR; t < tick + FAR && t < (long)hearing->ticks; t++) {
    if (t < 4) continue;
    const float *left = hearing->left + t;
    double now = (double)left[0];
    if (t >= tick - 1 && t < tick + NEAR) own = fmax(own, now);
    if (t < tick - 2) first = fmax(first, now);
    if (t < tick + NEAR) continue;
    double before = (double)(left[-4] + left[-3] + left[-2]) / 3;
    double ratio = now / fmax(before, (double)hearing->murmur[t / MURMUR_TICKS]);
    if (ratio <= most) continue;
    most = ratio;
    beside = now;
  }
  onset->look[LOOK_AGAIN] = limited(be_db_of(most), 40);
  onset->look[LOOK_AGAIN + 1] = limited(be_db_of(beside / own), 40);
  onset->look[LOOK_FIRST] = limited(be_db_of(first / own), 40);
}

/* Seen over ever longer stretches. */
static void course(const struct hearing *hearing, struct onset *onset, long at)
{
  static const int edges[] = {-500, -128, -32, -8, -2, 0, 2, 4, 8, 16, 32, 64, 128, 256};
  double *look = &onset->look[LOOK_COURSE];
  long tick = at / (long)hearing->tick;
  for (size_t i = 0, k = 0; i + 1 < sizeof edges / sizeof edges[0]; i++)
    if (edges[i] != -2)
      look[k++] = limited(be_left_over(hearing, tick + edges[i], tick + edges[i + 1]), 60);
  double sum = 0;
  for (long t = tick; t < tick + 8 && t < (long)hearing->ticks; t++)
    sum += (double)hearing->left[t];
  onset->left = be_db_of(sum / 8);
}

static double at_rail(const struct hearing *hearing, long at)
{
  double count = 0;
  for (long i = at; i < at + sample_of(hearing, 0.01) && i < (long)hearing->n; i++)
    count += fabsf(hearing->sound[i]) > 0.985f * hearing->top;
  return log(1 + 20000 * count / hearing->rate_Hz);
}

static void steps(const struct hearing *hearing, struct onset *onset, long at)
{
  double sum = 1e-14, most = 0, count = 1;
  long when = at;
  for (long i = at < 1 ? 1 : at; i < at + sample_of(hearing, 0.004) && i < (long)hearing->n; i++) {
    double step = fabs((double)hearing->sound[i] - (double)hearing->sound[i - 1]);
    sum += step * step;
    count++;
    if (step > most) {
      most = step;
      when = i;
    }
  }
  onset->look[LOOK_CREST] = limited(be_db_of(most * most * count / sum), 30);
  onset->look[LOOK_WHEN] = log(1 + 20000 * (double)(when - at) / hearing->rate_Hz);
}

static void compare_bands(const struct hearing *hearing, struct onset *onset, long at,
                          const double before[BANDS], double soon[BANDS], double later[BANDS],
                          double *power)
{
  static const size_t from[] = {0, 2, 5, BANDS};
  double *look = onset->look;
  long quarter = (long)hearing->window / 4;
  be_spectrum_at(hearing, at - quarter, onset->attack, power);
  look[LOOK_TONE] = ring_of(hearing, power) / 10;
  be_spectrum_at(hearing, at + sample_of(hearing, 0.012), soon, power);
  look[LOOK_RING] = ring_of(hearing, power) / 10;
  be_bands_at(hearing, at + sample_of(hearing, 0.055), later);
  for (size_t b = 0; b < hearing->bands; b++) {
    look[LOOK_BAND + b] = limited(onset->attack[b] - before[b], 50);
    look[LOOK_DROP + b] = limited(onset->attack[b] - soon[b], 40);
  }
  fill(hearing, &look[LOOK_BAND]);
  fill(hearing, &look[LOOK_DROP]);
  for (size_t i = 0; i < 3; i++)
    look[LOOK_LATER + i] =
        limited(be_db_of(power_over(hearing, onset->attack, from[i], from[i + 1])) -
                    be_db_of(power_over(hearing, later, from[i], from[i + 1])),
                50);
}

void be_onset_look(const struct hearing *hearing, struct onset *onset)
{
  double before[BANDS], soon[BANDS], later[BANDS], power[WINDOW_MAX / 2 + 1];
  double *look = onset->look, sum = 0, squares = 0;
  size_t low = be_band_from(600), middle = be_band_from(1000), sharp = be_band_from(2000);
  long at = sample_of(hearing, onset->at_s);
  before_of(hearing, onset->at_s, before);
  compare_bands(hearing, onset, at, before, soon, later, power);
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
  start(hearing, onset, at, before);
  again(hearing, onset, at);
  shape(hearing, onset->attack, before, &look[LOOK_SHAPE]);
  look[LOOK_LOW] = (be_db_of(power_over(hearing, onset->attack, 0, low)) - onset->high) / 10;
  look[LOOK_FALL] = gone(onset->high, was, be_db_of(power_over(hearing, soon, sharp, BANDS)));
  look[LOOK_GONE] = gone(onset->high, was, be_db_of(power_over(hearing, later, sharp, BANDS)));
  look[LOOK_FLOOR] = fmax(0, 2 - look[LOOK_RISE]);
  look[LOOK_RAIL] = at_rail(hearing, at);
  steps(hearing, onset, at);
  course(hearing, onset, at);
}
