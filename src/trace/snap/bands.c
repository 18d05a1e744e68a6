/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound in ten bands, every 5 ms, by short Fourier transforms under a Hann window of some 8 to
 * 16 ms: short enough that a snap fills one and is gone from the next but two. */
#include "trace/snap/inside.h"

#include <assert.h>
#include <gsl/gsl_fft_real.h>
#include <math.h>

/* Hz; a band that half the rate cuts off is left out. */
static const double edges[BANDS + 1] = {150,  300,  600,  1000,  1500, 2200,
                                        3300, 5000, 7500, 11000, 16000};
static const double tiny = 1e-14, pi = 3.14159265358979323846;

double be_power_of(double db)
{
  return pow(10, db / 10);
}

double be_db_of(double power)
{
  return 10 * log10(power + tiny);
}

size_t be_band_from(double hz)
{
  size_t band = 0;
  while (band < BANDS && edges[band] < hz) band++;
  return band;
}

void be_spectrum_at(const struct hearing *hearing, long first, double level[BANDS], double *power)
{
  double x[WINDOW_MAX];
  const size_t n = hearing->window;
  assert(n <= WINDOW_MAX);
  /* The window by recurrence: cos((i + 1) w) = 2 cos(w) cos(i w) - cos((i - 1) w). */
  const double twice = 2 * cos(2 * pi / (double)n);
  double now = 1, before = twice / 2;
  for (size_t i = 0; i < n; i++) {
    long at = first + (long)i;
    double weight = 0.5 - 0.5 * now, next = twice * now - before;
    x[i] = at >= 0 && at < (long)hearing->n ? weight * (double)hearing->sound[at] : 0;
    before = now;
    now = next;
  }
  gsl_fft_real_radix2_transform(x, 1, n);
  const double scale = 8.0 / 3 * 2 / ((double)n * (double)n), step = hearing->rate_Hz / (double)n;
  for (size_t b = 0; b < hearing->bands; b++) {
    size_t low = (size_t)ceil(edges[b] / step), high = (size_t)ceil(edges[b + 1] / step);
    double sum = 0;
    if (low < 1) low = 1;
    if (high <= low) high = low + 1;
    for (size_t k = low; k < high && k < n / 2; k++) sum += x[k] * x[k] + x[n - k] * x[n - k];
    level[b] = be_db_of(scale * sum);
  }
  for (size_t b = hearing->bands; b < BANDS; b++) level[b] = be_db_of(0);
  if (!power) return;
  power[0] = power[n / 2] = 0;
  for (size_t k = 1; k < n / 2; k++) power[k] = scale * (x[k] * x[k] + x[n - k] * x[n - k]);
}

void be_bands_at(const struct hearing *hearing, long first, double level[BANDS])
{
  be_spectrum_at(hearing, first, level, NULL);
}

void be_bands_hear(struct hearing *hearing)
{
  double level[BANDS], top = 0;
  size_t sharp = be_band_from(2000);
  hearing->bands = 0;
  while (hearing->bands < BANDS && edges[hearing->bands + 1] <= 0.48 * hearing->rate_Hz)
    hearing->bands++;
  be_progress_step("listening for the snap", "blocks", hearing->frames);
  for (size_t f = 0; f < hearing->frames; f++) {
    if (f % 1024 == 0) be_progress_at(f);
    be_bands_at(hearing, (long)(f * hearing->hop) - (long)hearing->window / 2, level);
    for (size_t b = 0; b < BANDS; b++) hearing->level[f * BANDS + b] = (float)level[b];
    double power = 0;
    for (size_t b = sharp; b < hearing->bands; b++) power += be_power_of(level[b]);
    hearing->high[f] = (float)be_db_of(power);
    if (power > top) top = power;
  }
  /* What lies 70 dB below the loudest counts as silence: after digital zeros every murmur would be
   * a great rise. */
  float floor = (float)(be_db_of(top) - 70);
  for (size_t i = 0; i < hearing->frames * BANDS; i++)
    if (hearing->level[i] < floor) hearing->level[i] = floor;
}
