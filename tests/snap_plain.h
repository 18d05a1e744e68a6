/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Made sound of another make than snap_maker.h's, as plain as can be: even noise, hum, a motor,
 * babble and ringing metal, and the snap as noise that fades; and what recording does to a sound:
 * two microphones in one, a room's cut of highs or lows, limits, gain, a silent start, 16 bits. */
#ifndef BE_SNAP_PLAIN_H
#define BE_SNAP_PLAIN_H

#include "snap_maker.h"

/* White, pink (three poles that fall together as 1/f) or brown; root mean square `level`. */
static void plain_floor(struct shed *shed, double level)
{
  double a = 0, b = 0, c = 0, sum = 0;
  size_t colour = shed_count(shed, 0, 2);
  float *noise = be_alloc_array(shed->n, sizeof *noise);
  if (!noise) abort();
  for (size_t i = 0; i < shed->n; i++) {
    double fresh = be_random_normal(&shed->random), x = fresh;
    a = 0.997 * a + 0.03 * fresh;
    b = 0.963 * b + 0.08 * fresh;
    c = 0.57 * c + 0.3 * fresh;
    if (colour == 1) x = a + b + c + 0.12 * fresh;
    if (colour == 2) x = a;
    noise[i] = (float)x;
    sum += x * x;
  }
  double gain = level / sqrt(sum / (double)shed->n);
  for (size_t i = 0; i < shed->n; i++) shed->sound[i] += (float)gain * noise[i];
  be_free(noise);
}

/* Noise that fades: as it is, sharper, duller, through a wide resonance, or begun by one impulse.
 */
static void plain_burst(struct shed *shed, double at_s, double decay_s, double level)
{
  size_t first = (size_t)(at_s * shed->rate_Hz), kind = shed_count(shed, 0, 4);
  double w = 2 * shed_pi * shed_log(shed, 900, fmin(6000, 0.4 * shed->rate_Hz)) / shed->rate_Hz;
  double last = 0, r = exp(-w / 3), y1 = 0, y2 = 0;
  bool even = shed_chance(shed, 0.4);
  for (size_t i = first; i < shed->n && (double)(i - first) < 9 * decay_s * shed->rate_Hz; i++) {
    double fresh = even ? shed_between(shed, -1.73, 1.73) : be_random_normal(&shed->random);
    double x = fresh, y = 2 * r * cos(w) * y1 - r * r * y2 + fresh;
    y2 = y1;
    y1 = y;
    if (kind == 1) x = 0.8 * (fresh - 0.6 * last);
    if (kind == 2) x = 0.8 * (fresh + 0.5 * last);
    if (kind == 3) x = y * sqrt(1 - r * r);
    if (kind == 4) x = i == first ? 4 : fresh;
    last = fresh;
    shed->sound[i] += (float)(level * x * exp(-(double)(i - first) / shed->rate_Hz / decay_s));
  }
}

static void plain_clank(struct shed *shed, double at_s, double level)
{
  size_t tones = shed_count(shed, 1, 6);
  for (size_t i = 0; i < tones; i++)
    shed_tone(shed, at_s, shed_log(shed, 300, 8000), shed_log(shed, 0.02, 0.3),
              level * shed_between(shed, 0.2, 1));
  if (shed_chance(shed, 0.5))
    plain_burst(shed, at_s, shed_log(shed, 0.001, 0.05), level * shed_between(shed, 0.05, 0.4));
}

/* Several voices at once: noise or pulses in syllables, through one resonance each. */
static void plain_babble(struct shed *shed, double level)
{
  size_t voices = shed_count(shed, 1, 4);
  for (size_t v = 0; v < voices; v++) {
    double pitch = shed_log(shed, 85, 260), hz = shed_log(shed, 350, 2800), phase = 0, up = 0;
    double w = 2 * shed_pi * hz / shed->rate_Hz, r = exp(-shed_pi * 120 / shed->rate_Hz);
    double y1 = 0, y2 = 0, syllable = shed_log(shed, 2, 6), turn = shed_between(shed, 0, 6);
    bool breath = shed_chance(shed, 0.3);
    for (size_t i = 0; i < shed->n; i++) {
      double t = (double)i / shed->rate_Hz;
      double slow = sin(shed_pi * syllable * t + turn), pause = sin(0.9 * t + turn) + 0.6;
      double open = fmax(0, slow) * fmin(fmax(3 * pause, 0), 1);
      phase += pitch * (1 + 0.1 * sin(2 * t + turn)) / shed->rate_Hz;
      double x = breath ? 0.3 * be_random_normal(&shed->random) : phase >= 1 ? 8 : 0;
      if (phase >= 1) phase -= 1;
      up = 2 * r * cos(w) * y1 - r * r * y2 + (1 - r) * x;
      y2 = y1;
      y1 = up;
      shed->sound[i] += (float)(level * open * up);
    }
  }
}

static void plain_motor(struct shed *shed, double level)
{
  double hz = shed_log(shed, 15, 200), phase = 0, swing = shed_between(shed, 0.3, 9), dull = 0;
  size_t from = (size_t)(shed_between(shed, -0.5, 0.5) * (double)shed->n * 0.9 + 1);
  if (from > shed->n) from = 0;
  size_t to = shed_chance(shed, 0.5) ? shed->n : from + (shed->n - from) / 2;
  bool square = shed_chance(shed, 0.5);
  for (size_t i = from; i < to; i++) {
    double t = (double)(i - from) / shed->rate_Hz, in = fmin(1, 5 * t);
    phase += 2 * shed_pi * hz * in / shed->rate_Hz;
    dull = 0.8 * dull + 0.2 * be_random_normal(&shed->random);
    double x =
        square ? tanh(4 * sin(phase)) : sin(phase) + 0.5 * sin(2 * phase) + sin(7 * phase) / 3;
    shed->sound[i] +=
        (float)(level * in * (x + dull * (1 + 0.5 * sin(2 * shed_pi * swing * t))) / 2);
  }
}

/* The snap is the loudest sound that is short and of all bands, 5 dB over the noise or more. */
static inline void plain_make(struct shed *shed, bool snaps, double seconds, double rate_Hz,
                              uint64_t seed)
{
  *shed = (struct shed){.rate_Hz = rate_Hz, .n = (size_t)(seconds * rate_Hz), .snap_s = NAN};
  be_random_init(&shed->random, seed, 901 + snaps);
  shed->sound = be_alloc_array(shed->n, sizeof *shed->sound);
  if (!shed->sound) abort();
  double floor = shed_log(shed, 0.001, 0.05), snap = floor * shed_log(shed, 1.8, 30);
  double loud = fmax(snap, 3 * floor);
  double at_s = shed_between(shed, 0.8, seconds - 0.8);
  plain_floor(shed, floor);
  if (shed_chance(shed, 0.6)) shed_hum(shed, floor * shed_log(shed, 0.1, 10));
  if (shed_chance(shed, 0.5)) plain_babble(shed, floor * shed_log(shed, 0.5, 15));
  if (shed_chance(shed, 0.5)) plain_motor(shed, floor * shed_log(shed, 0.3, 6));
  for (size_t clanks = shed_chance(shed, 0.7) ? shed_count(shed, 1, 12) : 0; clanks > 0; clanks--)
    plain_clank(shed, shed_between(shed, 0, seconds), loud * shed_log(shed, 0.2, 2));
  if (shed_chance(shed, snaps ? 0.4 : 0.1))
    for (size_t taps = shed_count(shed, 1, 5); taps > 0; taps--)
      plain_burst(shed, shed_between(shed, 0, seconds), shed_log(shed, 0.001, 0.02),
                  snap * shed_log(shed, 0.1, 0.6));
  shed->hint.rise_s = shed_between(shed, 0.1, 0.9) * at_s;
  shed->hint.doubt_s = shed_log(shed, 0.005, 0.1);
  if (shed_chance(shed, 0.4)) /* slips that make no sound */
    for (size_t i = shed_count(shed, 1, 4); i > 0; i--)
      shed->hint.click_s[shed->hint.clicks++] = shed_between(shed, 0.05, 0.9) * shed->hint.rise_s;
  if (!snaps) return;
  plain_burst(shed, at_s, shed_log(shed, 0.001, 0.02), snap);
  shed->snap_s = at_s;
}

/* ---- recording ---- */

static void recorded_filter(struct shed *shed)
{
  double keep = exp(-2 * shed_pi * shed_log(shed, 3000, 16000) / shed->rate_Hz);
  double hold = exp(-2 * shed_pi * shed_log(shed, 30, 400) / shed->rate_Hz), low = 0, slow = 0;
  bool dull = shed_chance(shed, 0.4), thin = shed_chance(shed, 0.4);
  size_t delay = (size_t)(shed_log(shed, 0.0001, 0.004) * shed->rate_Hz);
  double other = shed_chance(shed, 0.4) ? shed_between(shed, -0.2, 1) : 0;
  for (size_t i = shed->n; i-- > delay;) shed->sound[i] += (float)other * shed->sound[i - delay];
  for (size_t i = 0; i < shed->n; i++) {
    double x = (double)shed->sound[i];
    low = keep * low + (1 - keep) * x;
    if (dull) x = low;
    slow = hold * slow + (1 - hold) * x;
    if (thin) x -= slow;
    shed->sound[i] = (float)x;
  }
}

/* A gain that is turned down within milliseconds of what is loud, and comes back slowly. */
static void recorded_levelled(struct shed *shed)
{
  double held = 0, back = exp(-1 / (shed_log(shed, 0.1, 1.5) * shed->rate_Hz));
  double aim = 0, quick = exp(-1 / (shed_log(shed, 0.001, 0.02) * shed->rate_Hz));
  for (size_t i = 0; i < shed->n; i++) aim += fabs((double)shed->sound[i]) / (double)shed->n;
  for (size_t i = 0; i < shed->n; i++) {
    double x = fabs((double)shed->sound[i]);
    held = x > held ? quick * held + (1 - quick) * x : back * held + (1 - back) * x;
    shed->sound[i] /= (float)(aim + 0.5 * held);
  }
}

/* The loudest at a level of its own, 16 bits. */
static inline void recorded_level(struct shed *shed)
{
  double top = 1e-9, aim = shed_log(shed, 0.02, 1);
  for (size_t i = 0; i < shed->n; i++) top = fmax(top, fabs((double)shed->sound[i]));
  for (size_t i = 0; i < shed->n; i++)
    shed->sound[i] = (float)(rint(aim / top * (double)shed->sound[i] * 32767) / 32768);
}

/* Once more through another recorder; the sound is shifted by a silent start now and then. */
static inline void recorded(struct shed *shed)
{
  double top = 1e-9;
  recorded_filter(shed);
  if (shed_chance(shed, 0.15)) recorded_levelled(shed);
  for (size_t i = 0; i < shed->n; i++) top = fmax(top, fabs((double)shed->sound[i]));
  double gain = shed_log(shed, 0.02, 1) / top, drive = shed_chance(shed, 0.2) ? 4 : 0;
  double limit = shed_chance(shed, 0.15) ? gain * top * shed_log(shed, 0.15, 1) : 1;
  size_t mute = shed_chance(shed, 0.2) ? (size_t)(shed_between(shed, 0, 2) * shed->rate_Hz) : 0;
  if (!(shed->snap_s * shed->rate_Hz < (double)(shed->n - mute)) || mute >= shed->n) mute = 0;
  if (mute) {
    memmove(shed->sound + mute, shed->sound, (shed->n - mute) * sizeof *shed->sound);
    memset(shed->sound, 0, mute * sizeof *shed->sound);
    shed->snap_s += (double)mute / shed->rate_Hz;
  }
  for (size_t i = 0; i < shed->n; i++) {
    double x = gain * (double)shed->sound[i];
    if (drive > 0) x = tanh(drive * x) / drive;
    shed->sound[i] = (float)(rint(fmin(fmax(x, -limit), limit) * 32767) / 32768);
  }
}

#endif
