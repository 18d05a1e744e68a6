/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound less what the room's own noise foretells of it, in ticks of half a millisecond: linear
 * prediction leaves even noise of what goes on, and what starts anew stands out of that even where
 * it fills no band (Vaseghi, "Advanced Digital Signal Processing and Noise Reduction", on impulsive
 * noise). The autocorrelation is a mean of short stretches of equal weight, so that a loud event
 * does not make the prediction its own. */
#include "trace/snap/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ORDER = 16, BLOCK_TICKS = 1000, STRETCH_TICKS = 20 };
static const double softened =
    1e-5; /* of the power, as white noise: no band is raised over 50 dB */

struct block {
  double lags[ORDER + 1];
};

static size_t blocks_of(const struct hearing *hearing)
{
  return (hearing->ticks + BLOCK_TICKS - 1) / BLOCK_TICKS;
}

/* Every other stretch of the block is enough. */
static void correlate(const struct hearing *hearing, size_t at, struct block *block)
{
  size_t length = STRETCH_TICKS * hearing->tick, from = at * BLOCK_TICKS * hearing->tick;
  size_t to = from + BLOCK_TICKS * hearing->tick;
  memset(block, 0, sizeof *block);
  for (size_t first = from; first < to && first + length <= hearing->n; first += 2 * length) {
    const float *x = hearing->sound + first;
    float lags[ORDER + 1] = {0};
    for (size_t i = ORDER; i < length; i++)
      for (size_t k = 0; k <= ORDER; k++) lags[k] += x[i] * x[i - k];
    if (!(lags[0] > 1e-9f)) continue;
    for (size_t k = 0; k <= ORDER; k++) block->lags[k] += (double)lags[k] / (double)lags[0];
  }
}

/* Levinson's recursion. */
static void predict(const double lags[ORDER + 1], float by[ORDER])
{
  double a[ORDER] = {0}, error = lags[0] * (1 + softened) + 1e-30;
  for (int m = 0; m < ORDER; m++) {
    double sum = lags[m + 1], before[ORDER];
    for (int i = 0; i < m; i++) sum -= a[i] * lags[m - i];
    double k = sum / error;
    memcpy(before, a, sizeof before);
    a[m] = k;
    for (int i = 0; i < m; i++) a[i] = before[i] - k * before[m - 1 - i];
    error *= fmax(1 - k * k, 1e-9);
  }
  for (int i = 0; i < ORDER; i++) by[i] = (float)a[ORDER - 1 - i];
}

/* Mean square of what is left, tick by tick. */
static void leave(const struct hearing *hearing, size_t at, const float by[ORDER])
{
  size_t to = (at + 1) * BLOCK_TICKS < hearing->ticks ? (at + 1) * BLOCK_TICKS : hearing->ticks;
  for (size_t t = at * BLOCK_TICKS; t < to; t++) {
    float power = 0;
    size_t first = t * hearing->tick;
    for (size_t i = first < ORDER ? ORDER : first; i < first + hearing->tick; i++) {
      const float *x = hearing->sound + i - ORDER;
      float parts[4] = {0};
      for (int k = 0; k < ORDER; k += 4)
        for (int p = 0; p < 4; p++) parts[p] += by[k + p] * x[k + p];
      float left = x[ORDER] - ((parts[0] + parts[1]) + (parts[2] + parts[3]));
      power += left * left;
    }
    hearing->left[t] = power / (float)hearing->tick;
  }
}

static int rising(const void *a, const void *b)
{
  float x = *(const float *)a, y = *(const float *)b;
  return (x > y) - (x < y);
}

/* The median of each quarter of a second; where it is all but silent, as if it were 20 dB less
 * than the track's. */
static void settle(struct hearing *hearing, float *scratch)
{
  size_t all = hearing->ticks / MURMUR_TICKS + 1;
  float few[MURMUR_TICKS / 4];
  for (size_t m = 0; m < all; m++) {
    size_t n = 0;
    for (size_t t = m * MURMUR_TICKS; t < hearing->ticks && n < MURMUR_TICKS / 4; t += 4)
      few[n++] = hearing->left[t];
    qsort(few, n, sizeof few[0], rising);
    hearing->murmur[m] = n ? few[n / 2] : hearing->murmur[m - 1];
  }
  memcpy(scratch, hearing->murmur, all * sizeof *scratch);
  qsort(scratch, all, sizeof *scratch, rising);
  float least = fmaxf(0.01f * scratch[all / 2], 1e-12f);
  for (size_t m = 0; m < all; m++) hearing->murmur[m] = fmaxf(hearing->murmur[m], least);
}

void be_whiten(struct hearing *hearing, float *scratch)
{
  size_t blocks = blocks_of(hearing);
  struct block last = {0}, now = {0}, next;
  if (blocks) correlate(hearing, 0, &now);
  for (size_t b = 0; b < blocks; b++) {
    double lags[ORDER + 1];
    float by[ORDER];
    if (b + 1 < blocks) correlate(hearing, b + 1, &next);
    else memset(&next, 0, sizeof next);
    for (int k = 0; k <= ORDER; k++) lags[k] = last.lags[k] + now.lags[k] + next.lags[k];
    predict(lags, by);
    leave(hearing, b, by);
    last = now;
    now = next;
  }
  settle(hearing, scratch);
}

double be_left_over(const struct hearing *hearing, long from, long to)
{
  double sum = 0, most = 1e-12;
  long count = 0;
  for (long t = from < 0 ? 0 : from; t < to && t < (long)hearing->ticks; t++, count++) {
    sum += (double)hearing->left[t];
    most = fmax(most, (double)hearing->murmur[t / MURMUR_TICKS]);
  }
  return count ? be_db_of(fmax(sum / (double)count / most, 0.01)) : 0;
}
