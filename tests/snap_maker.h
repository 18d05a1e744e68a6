/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Made sound of a pull in a workshop: a crack, the frame that rings after it, the thud of what
 * drops, and noises of ten kinds, each by what makes it in a shed (modes that are struck, breath
 * through formants, hum), with no regard to how a snap is looked for. Ranges are by ear and
 * guess; no source. */
#ifndef BE_SNAP_MAKER_H
#define BE_SNAP_MAKER_H

#include "trace/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SHED_KINDS(X)                                                                              \
  X(SHED_QUIET, "quiet")                                                                           \
  X(SHED_HUM, "hum of the mains")                                                                  \
  X(SHED_MUSIC, "music with drums")                                                                \
  X(SHED_SPEECH, "speech")                                                                         \
  X(SHED_HAMMER, "hammer blows")                                                                   \
  X(SHED_CLACKS, "clacks")                                                                         \
  X(SHED_MOTOR, "motor of the rig")                                                                \
  X(SHED_CLIPPED, "clipped, with hammer and speech")                                               \
  X(SHED_LOW, "low level, with clacks and speech")                                                 \
  X(SHED_ALL, "all of these at once")                                                              \
  X(SHED_DULL, "hard: dull and far, with clacks")                                                  \
  X(SHED_LOUD, "hard: louder blows and clacks, some beside the snap")
enum shed_kind {
#define X(code, name) code,
  SHED_KINDS(X)
#undef X
      SHED_KINDS_COUNT
};
enum { SHED_USUAL = SHED_ALL + 1 }; /* the kinds before the hard ones */

static const char *const shed_names[] = {
#define X(code, name) name,
    SHED_KINDS(X)
#undef X
};

struct shed {
  struct be_random random;
  float *sound;
  size_t n;
  double rate_Hz, amplitude;
  double snap_s; /* not-a-number: there is none */
  struct be_snap_hint hint;
};

static const double shed_pi = 3.14159265358979323846;

static double shed_between(struct shed *shed, double low, double high)
{
  return low + (high - low) * be_random_unit(&shed->random);
}

static double shed_log(struct shed *shed, double low, double high)
{
  return low * pow(high / low, be_random_unit(&shed->random));
}

static bool shed_chance(struct shed *shed, double p)
{
  return be_random_unit(&shed->random) < p;
}

static size_t shed_count(struct shed *shed, size_t low, size_t high)
{
  return low + (size_t)be_random_below(&shed->random, high - low + 1);
}

/* ---- what sounds are made of ---- */

static void shed_tone(struct shed *shed, double at_s, double hz, double decay_s, double amplitude)
{
  if (hz > 0.45 * shed->rate_Hz) return;
  double w = 2 * shed_pi * hz / shed->rate_Hz, fade = exp(-1 / (decay_s * shed->rate_Hz));
  double phase = shed_between(shed, 0, 2 * shed_pi);
  double now = amplitude * sin(phase), before = amplitude * sin(phase - w) / fade;
  size_t first = (size_t)(at_s * shed->rate_Hz), long_ = (size_t)(8 * decay_s * shed->rate_Hz);
  for (size_t i = first; i < shed->n && i < first + long_; i++) {
    shed->sound[i] += (float)now;
    double next = 2 * cos(w) * fade * now - fade * fade * before;
    before = now;
    now = next;
  }
}

/* Noise that fades; tilt from -0.9 (dull) over 0 (white) to 0.9 (sharp). rise_s: how long it takes
 * to its top. */
static void shed_noise(struct shed *shed, double at_s, double rise_s, double decay_s, double tilt,
                       double amplitude)
{
  size_t first = (size_t)(at_s * shed->rate_Hz);
  size_t long_ = (size_t)((rise_s + 7 * decay_s) * shed->rate_Hz);
  double last = 0, dull = 0, norm = tilt < 0 ? sqrt((1 + tilt) / (1 - tilt)) : 1;
  for (size_t i = first; i < shed->n && i < first + long_; i++) {
    double t = (double)(i - first) / shed->rate_Hz, fresh = be_random_normal(&shed->random), x;
    if (tilt < 0) {
      dull = -tilt * dull + (1 + tilt) * fresh;
      x = dull / norm / 3;
    } else {
      x = (fresh - tilt * last) / sqrt(1 + tilt * tilt) / 3;
    }
    last = fresh;
    double envelope = t < rise_s ? t / rise_s : exp(-(t - rise_s) / decay_s);
    shed->sound[i] += (float)(amplitude * envelope * x);
  }
}

/* Two bodies in contact push each other for so long: half a period of a sine (after Hertz). */
static void shed_push(struct shed *shed, double at_s, double lasts_s, double amplitude)
{
  size_t first = (size_t)(at_s * shed->rate_Hz), all = 1 + (size_t)(lasts_s * shed->rate_Hz);
  for (size_t i = 0; i < all && first + i < shed->n; i++)
    shed->sound[first + i] += (float)(amplitude * sin(shed_pi * ((double)i + 0.5) / (double)all));
}

/* The shock of what moves at the speed of sound: up at once, down evenly, back at once. */
static void shed_shock(struct shed *shed, double at_s, double lasts_s, double amplitude)
{
  size_t first = (size_t)(at_s * shed->rate_Hz), all = 2 + (size_t)(lasts_s * shed->rate_Hz);
  for (size_t i = 0; i < all && first + i < shed->n; i++)
    shed->sound[first + i] += (float)(amplitude * (1 - 2 * ((double)i + 0.5) / (double)all));
}

/* ---- events ---- */

/* The ends recoil at the strain at break times the speed of waves in the line: 0.2 x 1,600 m/s in
 * nylon, 0.035 x 10,000 m/s in braid, so near the speed of sound, as the end of a whip does. */
static void shed_snap(struct shed *shed, double at_s, double amplitude, bool dull)
{
  size_t modes = shed_count(shed, 2, 6);
  double tilt = dull ? shed_between(shed, -0.93, -0.8) : shed_between(shed, -0.4, 0.6);
  shed_noise(shed, at_s, 0, shed_log(shed, 0.0003, 0.0025), tilt, 2 * amplitude);
  if (!dull)
    shed_shock(shed, at_s, shed_log(shed, 0.0001, 0.0004), amplitude * shed_between(shed, 0, 1));
  for (size_t i = 0; i < modes; i++)
    shed_tone(shed, at_s, shed_log(shed, 180, dull ? 1500 : 5000), shed_log(shed, 0.003, 0.035),
              amplitude * shed_between(shed, 0.05, 0.5));
  if (shed_chance(shed, 0.6))
    shed_noise(shed, at_s + shed_between(shed, 0, 0.005), shed_between(shed, 0.001, 0.006),
               shed_between(shed, 0.001, 0.004), dull ? -0.8 : 0.6,
               amplitude * shed_between(shed, 0.1, 0.6));
}

/* A knot that slips creaks: a few small cracks on one another's heels, none as sharp as a break. */
static void shed_slip(struct shed *shed, double at_s, double amplitude, bool dull)
{
  size_t cracks = shed_count(shed, 2, 6);
  double tilt = dull ? -0.93 : shed_between(shed, -0.9, 0), hz = shed_log(shed, 150, 1500);
  for (size_t i = 0; i < cracks; i++, at_s += shed_log(shed, 0.002, 0.02)) {
    double strength = amplitude * shed_between(shed, 0.4, 1);
    shed_noise(shed, at_s, shed_between(shed, 0, 0.002), shed_log(shed, 0.0005, 0.004), tilt,
               2 * strength);
    shed_tone(shed, at_s, hz, shed_log(shed, 0.003, 0.02), 0.4 * strength);
  }
}

static void shed_thud(struct shed *shed, double at_s, double amplitude)
{
  size_t modes = shed_count(shed, 2, 4);
  for (size_t i = 0; i < modes; i++)
    shed_tone(shed, at_s, shed_log(shed, 50, 350), shed_log(shed, 0.015, 0.08),
              amplitude * shed_between(shed, 0.3, 1));
  shed_noise(shed, at_s, 0.001, 0.01, -0.9, amplitude * shed_between(shed, 0.2, 1));
}

static void shed_blows(struct shed *shed, double at_s, size_t blows, double amplitude)
{
  enum { MODES = 9 };
  double hz[MODES], decay[MODES], part[MODES], gap = shed_between(shed, 0.25, 0.9);
  size_t modes = shed_count(shed, 4, MODES);
  double contact = shed_log(shed, 0.00005, 0.0003), sharp = shed_between(shed, 0.2, 1);
  for (size_t i = 0; i < modes; i++) {
    hz[i] = shed_log(shed, 500, 9000);
    decay[i] = shed_log(shed, 0.015, 0.25);
    part[i] = shed_between(shed, 0.1, 0.6);
  }
  for (size_t k = 0; k < blows; k++, at_s += gap * shed_between(shed, 0.85, 1.15)) {
    double strength = amplitude * shed_between(shed, 0.6, 1);
    shed_push(shed, at_s, contact, sharp * strength);
    shed_noise(shed, at_s, 0, 2 * contact, 0, 0.5 * sharp * strength);
    for (size_t i = 0; i < modes; i++) shed_tone(shed, at_s, hz[i], decay[i], strength * part[i]);
  }
}

static void shed_clack(struct shed *shed, double at_s, double amplitude)
{
  size_t modes = shed_count(shed, 2, 4);
  shed_push(shed, at_s, shed_log(shed, 0.0002, 0.001), amplitude * shed_between(shed, 0.2, 0.9));
  shed_noise(shed, at_s, 0, shed_log(shed, 0.0002, 0.002), shed_between(shed, -0.9, -0.3),
             amplitude * shed_between(shed, 0.1, 0.5));
  for (size_t i = 0; i < modes; i++)
    shed_tone(shed, at_s, shed_log(shed, 350, 3500), shed_log(shed, 0.0015, 0.01),
              amplitude * shed_between(shed, 0.2, 0.8));
}

/* ---- what goes on ---- */

static double shed_seconds(const struct shed *shed)
{
  return (double)shed->n / shed->rate_Hz;
}

static void shed_floor(struct shed *shed, double amplitude, double tilt)
{
  shed_noise(shed, 0, 0, 1e6, tilt, 3 * amplitude);
}

static void shed_hum(struct shed *shed, double amplitude)
{
  double hz = shed_chance(shed, 0.5) ? 50 : 60;
  for (int k = 1; k <= 24; k++)
    shed_tone(shed, 0, k * hz, 1e6, amplitude * shed_between(shed, 0.1, 1) / k);
}

static void shed_music(struct shed *shed, double amplitude)
{
  double beat = 60 / shed_between(shed, 75, 150), root = shed_log(shed, 110, 220);
  double drums = shed_between(shed, 0.3, 1.5);
  size_t k = 0;
  for (double t = shed_between(shed, 0, beat); t < shed_seconds(shed); t += beat / 2, k++) {
    if (k % 2 == 0)
      for (int note = 0; note < 3; note++) {
        double hz = root * pow(2, (double)be_random_below(&shed->random, 25) / 12);
        double decay = shed_between(shed, 0.15, 0.8), hard = shed_between(shed, 0.1, 0.6);
        for (int h = 1; h <= 6; h++) shed_tone(shed, t, h * hz, decay / h, hard * amplitude / h);
      }
    if (k % 4 == 0) shed_tone(shed, t, shed_between(shed, 50, 90), 0.08, 1.2 * drums * amplitude);
    if (k % 4 == 2)
      shed_noise(shed, t, 0.001, shed_between(shed, 0.04, 0.1), 0.2, drums * amplitude);
    shed_noise(shed, t, 0.0005, shed_between(shed, 0.012, 0.05), 0.9, 0.4 * drums * amplitude);
  }
}

static void shed_voice(struct shed *shed, double at_s, double length_s, double hz, double amplitude)
{
  enum { HARMONICS = 44 };
  double first = shed_log(shed, 300, 900), second = shed_log(shed, 900, 2500), gain[HARMONICS];
  double drift = shed_between(shed, -0.15, 0.1), phase = 0;
  int harmonics = 0;
  for (; harmonics < HARMONICS && (harmonics + 1) * hz < 4000; harmonics++) {
    double f = (harmonics + 1) * hz;
    gain[harmonics] = exp(-fabs(log(f / first)) * 1.6) + 0.5 * exp(-fabs(log(f / second)) * 3);
  }
  size_t from = (size_t)(at_s * shed->rate_Hz), all = (size_t)(length_s * shed->rate_Hz);
  for (size_t i = 0; i < all && from + i < shed->n; i++) {
    double way = (double)i / (double)all, sum = 0;
    phase += 2 * shed_pi * hz * (1 + drift * way) / shed->rate_Hz;
    double before = 0, now = sin(phase), twice = 2 * cos(phase);
    for (int h = 0; h < harmonics; h++) {
      double next = twice * now - before;
      sum += gain[h] * now;
      before = now;
      now = next;
    }
    sum *= fmin(1, fmin(way / 0.15, (1 - way) / 0.4));
    shed->sound[from + i] += (float)(0.4 * amplitude * sum);
  }
}

static void shed_speech(struct shed *shed, double amplitude)
{
  double hz = shed_log(shed, 90, 230), t = shed_between(shed, 0, 2);
  while (t < shed_seconds(shed)) {
    double until = t + shed_between(shed, 1.5, 6);
    for (; t < until && t < shed_seconds(shed); t += shed_between(shed, 0, 0.08)) {
      double length = shed_between(shed, 0.08, 0.28), strength = amplitude * shed_log(shed, 0.3, 1);
      if (shed_chance(shed, 0.35)) {
        shed_noise(shed, t, shed_between(shed, 0.015, 0.05), shed_between(shed, 0.02, 0.06),
                   shed_between(shed, 0.3, 0.95), 0.5 * strength);
        t += shed_between(shed, 0.05, 0.12);
      } else if (shed_chance(shed, 0.5)) {
        shed_noise(shed, t, 0.0005, shed_between(shed, 0.004, 0.015), shed_between(shed, -0.8, 0.6),
                   0.7 * strength);
        t += shed_between(shed, 0.01, 0.06);
      }
      shed_voice(shed, t, length, hz * shed_between(shed, 0.85, 1.2), strength);
      t += length;
    }
    t += shed_between(shed, 0.3, 5);
  }
}

static void shed_motor(struct shed *shed, double from_s, double to_s, double amplitude)
{
  double hz = shed_between(shed, 20, 120), whine = shed_log(shed, 600, 4000);
  double part[20], phase = 0, dull = 0, wobble = shed_between(shed, 0.5, 8);
  for (int k = 0; k < 20; k++) part[k] = shed_between(shed, 0.2, 1) / (k + 1);
  for (size_t i = (size_t)(from_s * shed->rate_Hz); i < shed->n; i++) {
    double t = (double)i / shed->rate_Hz, fade = fmin(1, (t - from_s) / 0.15), sum = 0;
    if (t > to_s) fade = fmin(fade, exp(-(t - to_s) / 0.12));
    if (fade < 1e-4 && t > to_s) break;
    phase += 2 * shed_pi * hz * fmin(1, 0.3 + 0.7 * fade) / shed->rate_Hz;
    double s = sin(phase), c = 2 * cos(phase), before = 0, now = s;
    for (int k = 0; k < 20; k++) {
      double next = c * now - before;
      sum += part[k] * now;
      before = now;
      now = next;
    }
    dull = 0.7 * dull + 0.3 * be_random_normal(&shed->random);
    sum += 0.15 * sin(2 * shed_pi * whine * t) + dull * (0.5 + 0.3 * sin(2 * shed_pi * wobble * t));
    shed->sound[i] += (float)(0.5 * amplitude * fade * sum);
  }
}

/* Early reflections and a short tail of a small room. */
static void shed_echo(struct shed *shed)
{
  enum { TAPS = 6, COMBS = 3 };
  size_t delay[TAPS];
  double gain[TAPS], wet = shed_between(shed, 0.02, 0.15), lasting = shed_between(shed, 0.15, 0.6);
  for (int i = 0; i < TAPS; i++) {
    delay[i] = (size_t)(shed_between(shed, 0.002, 0.05) * shed->rate_Hz);
    gain[i] = shed_between(shed, -0.35, 0.35);
  }
  float *dry = be_alloc_array(shed->n, sizeof *dry), *tail = be_alloc_array(shed->n, sizeof *tail);
  if (!dry || !tail) abort();
  memcpy(dry, shed->sound, shed->n * sizeof *dry);
  for (int i = 0; i < TAPS; i++)
    for (size_t k = delay[i]; k < shed->n; k++)
      shed->sound[k] += (float)gain[i] * dry[k - delay[i]];
  for (int i = 0; i < COMBS; i++) {
    size_t back = (size_t)(shed_between(shed, 0.02, 0.045) * shed->rate_Hz);
    float keep = (float)pow(10, -3 * (double)back / shed->rate_Hz / lasting);
    for (size_t k = 0; k < shed->n; k++) {
      tail[k] = (k >= back ? keep * tail[k - back] + dry[k - back] : 0);
      shed->sound[k] += (float)wet * tail[k];
    }
  }
  be_free(dry);
  be_free(tail);
}

/* ---- a track ---- */

static void shed_blows_somewhere(struct shed *shed, double amplitude)
{
  size_t series = shed_count(shed, 1, 3);
  for (size_t i = 0; i < series; i++)
    shed_blows(shed, shed_between(shed, 0, shed_seconds(shed)), shed_count(shed, 2, 10), amplitude);
}

static void shed_clacks_somewhere(struct shed *shed, double most)
{
  size_t clacks = shed_count(shed, 2, 12);
  for (size_t i = 0; i < clacks; i++)
    shed_clack(shed, shed_between(shed, 0, shed_seconds(shed)),
               shed->amplitude * shed_log(shed, 0.1, most));
}

static void shed_beside(struct shed *shed, double around_s)
{
  double away = shed_log(shed, 0.05, 0.5) * (shed_chance(shed, 0.5) ? -1 : 1);
  if (shed_chance(shed, 0.5))
    shed_clack(shed, around_s + away, shed->amplitude * shed_log(shed, 0.7, 2.5));
  else shed_blows(shed, around_s + away, 1, shed->amplitude * shed_log(shed, 0.7, 2.5));
}

static void shed_noises(struct shed *shed, enum shed_kind kind, double around_s)
{
  double a = shed->amplitude;
  bool all = kind == SHED_ALL;
  if (kind == SHED_HUM || all) shed_hum(shed, a * shed_log(shed, 0.01, 0.3));
  if (kind == SHED_MUSIC || all) shed_music(shed, a * shed_log(shed, 0.03, all ? 0.15 : 0.4));
  if (kind == SHED_SPEECH || kind == SHED_CLIPPED || kind == SHED_LOW || all)
    shed_speech(shed, a * shed_log(shed, 0.05, 0.6));
  if (kind == SHED_HAMMER || kind == SHED_CLIPPED || all)
    shed_blows_somewhere(shed, a * shed_log(shed, 0.15, 1.5));
  if (kind == SHED_CLACKS || kind == SHED_LOW || kind == SHED_DULL || all)
    shed_clacks_somewhere(shed, 1.2);
  if (kind == SHED_LOUD) {
    shed_blows_somewhere(shed, a * shed_log(shed, 0.7, 3));
    shed_clacks_somewhere(shed, 3);
    shed_beside(shed, around_s);
  }
}

/* The microphone: gain, a little noise, clipping, 16 bits. */
static void shed_record(struct shed *shed, enum shed_kind kind)
{
  double gain = 1, top = 0;
  if (kind == SHED_CLIPPED) gain = shed_log(shed, 1.5, 5) / shed->amplitude;
  if (kind == SHED_LOW) gain = shed_log(shed, 0.003, 0.02) / shed->amplitude;
  for (size_t i = 0; i < shed->n; i++) top = fmax(top, fabs((double)shed->sound[i]));
  if (kind != SHED_CLIPPED && kind != SHED_LOW && top > 0.98) gain = 0.98 / top;
  for (size_t i = 0; i < shed->n; i++) {
    double x = gain * (double)shed->sound[i] + 2e-5 * be_random_normal(&shed->random);
    shed->sound[i] = (float)(rint(fmin(fmax(x, -1), 1) * 32767) / 32768);
  }
}

static void shed_pull(struct shed *shed, double around_s, bool snaps, bool dull)
{
  struct be_snap_hint *hint = &shed->hint;
  hint->rise_s = shed_between(shed, 0.1, 0.7) * around_s;
  hint->doubt_s = shed_log(shed, 0.005, 0.1);
  hint->clicks = shed_chance(shed, 0.6) ? shed_count(shed, 1, 6) : 0;
  bool pulls = snaps || shed_chance(shed, 0.5); /* else it is of another hour */
  for (size_t i = 0; i < hint->clicks; i++) {
    hint->click_s[i] = shed_between(shed, 0.05, 0.9) * hint->rise_s;
    if (!pulls) continue;
    shed_slip(shed, around_s - hint->click_s[i] + 0.5 * shed_between(shed, -1, 1) * hint->doubt_s,
              shed->amplitude * shed_log(shed, 0.02, 0.3), dull);
  }
  if (!snaps) return;
  shed_snap(shed, around_s, shed->amplitude, dull);
  if (shed_chance(shed, 0.75))
    shed_thud(shed, around_s + shed_log(shed, 0.08, 0.8), shed->amplitude * shed_log(shed, 0.3, 2));
}

/* A track of so many seconds; the same seed gives the same track. Free its sound. */
static inline void shed_make(struct shed *shed, enum shed_kind kind, bool snaps, double seconds,
                             double rate_Hz, uint64_t seed)
{
  *shed = (struct shed){.rate_Hz = rate_Hz, .n = (size_t)(seconds * rate_Hz), .snap_s = NAN};
  be_random_init(&shed->random, seed, 2 * (uint64_t)kind + snaps);
  shed->sound = be_alloc_array(shed->n, sizeof *shed->sound);
  if (!shed->sound) abort();
  shed->amplitude = shed_log(shed, 0.08, 0.8);
  double around_s = shed_between(shed, 0.25, 0.9) * seconds;
  if (snaps) shed->snap_s = around_s;
  shed_pull(shed, around_s, snaps, kind == SHED_DULL);
  shed_noises(shed, kind, around_s);
  shed_echo(shed);
  shed_floor(shed, shed->amplitude * shed_log(shed, 0.0005, 0.015), shed_between(shed, -0.9, 0));
  if (kind == SHED_MOTOR || kind == SHED_ALL || kind == SHED_LOUD)
    shed_motor(shed, around_s - shed->hint.rise_s,
               shed_chance(shed, 0.7) ? around_s + shed_between(shed, 0.1, 2.5) : seconds,
               shed->amplitude * shed_log(shed, 0.02, 0.25));
  shed_record(shed, kind);
}

#endif
