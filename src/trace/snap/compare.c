/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can be said of one onset only beside the others, and beside what goes on before and after.
 */
#include "trace/snap/inside.h"

#include <math.h>
#include <stdlib.h>

static const double apart_s = 0.004; /* onsets nearer than that are one */

static int earlier(const void *a, const void *b)
{
  const struct onset *x = a, *y = b;
  return (x->at_s > y->at_s) - (x->at_s < y->at_s);
}

size_t be_onsets_sort(struct onset *onsets, size_t count)
{
  size_t kept = 0;
  qsort(onsets, count, sizeof *onsets, earlier);
  for (size_t i = 0; i < count; i++)
    if (kept == 0 || onsets[i].at_s > onsets[kept - 1].at_s + apart_s) onsets[kept++] = onsets[i];
  return kept;
}

/* Mean difference of the attacks over the bands from 600 Hz on, dB, as they are and of equal level.
 */
static void unlike(const struct hearing *hearing, const struct onset *a, const struct onset *b,
                   double *as_is, double *shape)
{
  size_t from = be_band_from(600);
  double mean = 0, all = (double)(hearing->bands - from);
  for (size_t k = from; k < hearing->bands; k++) mean += (a->attack[k] - b->attack[k]) / all;
  *as_is = *shape = 0;
  for (size_t k = from; k < hearing->bands; k++) {
    *as_is += fabs(a->attack[k] - b->attack[k]) / all;
    *shape += fabs(a->attack[k] - b->attack[k] - mean) / all;
  }
}

static void liken(const struct hearing *hearing, struct onset *onsets, size_t count, size_t i)
{
  double others = 0, shaped = 0, nearest = 15;
  for (size_t k = 0; k < count; k++) {
    double as_is, shape, away_s = fabs(onsets[i].at_s - onsets[k].at_s);
    if (away_s > 6 || away_s < 0.1) continue;
    unlike(hearing, &onsets[i], &onsets[k], &as_is, &shape);
    others += as_is < 6;
    shaped += shape < 4;
    nearest = fmin(nearest, as_is);
  }
  onsets[i].look[LOOK_ALIKE] = log(1 + others);
  onsets[i].look[LOOK_SHAPED] = log(1 + shaped);
  onsets[i].look[LOOK_NEAREST] = nearest / 10;
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

static double limited(double db, double most)
{
  return fmin(fmax(db, -most), most) / 10;
}

/* The loudest others, early and late; and how many there are about. */
static void beside(struct onset *onsets, size_t count, size_t i)
{
  static const double far_s[] = {0.1, 0.5, 3};
  double top[6], about = 0;
  for (size_t k = 0; k < 6; k++) top[k] = -INFINITY;
  for (size_t k = 0; k < count; k++) {
    double away_s = onsets[k].at_s - onsets[i].at_s;
    about += fabs(away_s) < 1;
    if (k == i) continue;
    size_t ring = 0;
    while (ring < 3 && fabs(away_s) > far_s[ring]) ring++;
    if (ring == 3) continue;
    if (away_s > 0) ring += 3;
    top[ring] = fmax(top[ring], onsets[k].left);
  }
  for (size_t k = 0; k < 6; k++)
    onsets[i].look[LOOK_BESIDE + k] = limited(top[k] - onsets[i].left, 30);
  onsets[i].look[LOOK_BUSY] = log(about);
  onsets[i].look[LOOK_BUSY + 1] = log((double)count);
}

/* Less the greatest of the others. */
static void rank(struct onset *onsets, size_t count, size_t i)
{
  double high = -INFINITY, left = -INFINITY, rise = -INFINITY;
  for (size_t k = 0; k < count; k++) {
    if (k == i) continue;
    high = fmax(high, onsets[k].high);
    left = fmax(left, onsets[k].left);
    rise = fmax(rise, onsets[k].look[LOOK_RISE]);
  }
  onsets[i].look[LOOK_LOUD] = limited(onsets[i].high - high, 40);
  onsets[i].look[LOOK_SHARP] = limited(onsets[i].left - left, 40);
  onsets[i].look[LOOK_KEEN] = limited(10 * (onsets[i].look[LOOK_RISE] - rise), 40);
}

void be_onsets_compare(const struct hearing *hearing, struct onset *onsets, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    struct onset *onset = &onsets[i];
    liken(hearing, onsets, count, i);
    beside(onsets, count, i);
    rank(onsets, count, i);
    double hush = usual(hearing, onset->at_s - 1.5, onset->at_s - 0.05) -
                  usual(hearing, onset->at_s + 1, onset->at_s + 3);
    onset->look[LOOK_HUSH] = isnan(hush) ? 0 : fmin(fmax(hush, -6), 12) / 10;
    double thud = dullest(hearing, onset->at_s + 0.06, onset->at_s + 1) -
                  dullest(hearing, onset->at_s - 0.6, onset->at_s - 0.02);
    onset->look[LOOK_THUD] = fmin(fmax(thud, -10), 30) / 10;
  }
}
