/* SPDX-License-Identifier: GPL-3.0-or-later */
/* bands.c hears the sound in bands, onsets.c finds where it starts anew, look.c looks closely at
 * each such place, pattern.c holds it against the trace, weigh.c says how likely it is the snap. */
#ifndef BE_TRACE_SNAP_INSIDE_H
#define BE_TRACE_SNAP_INSIDE_H

#include "trace/snap/snap.h"

enum { BANDS = 10, ONSETS_MAX = 96, WINDOW_MAX = 2048 };

struct hearing {
  const float *sound;
  size_t n;
  double rate_Hz;
  size_t window, hop; /* samples; the window is a power of two */
  size_t bands;       /* below half the rate */
  size_t frames;
  float *level; /* dB, frames by BANDS */
  float *rise;  /* of each frame: how much louder than just before, dB, mean over the bands */
  float *high;  /* of each frame: level above 2 kHz, dB */
};

/* ---- bands.c ---- */

/* Levels of the bands in one window from sample `first` on, which may lie outside the sound. */
void be_bands_at(const struct hearing *hearing, long first, double level[BANDS]);
/* The same, and the power of each line of the spectrum, window / 2 + 1. */
void be_spectrum_at(const struct hearing *hearing, long first, double level[BANDS], double *power);
size_t be_band_from(double hz); /* the first band that begins there or higher */
/* Fills in the frames. */
void be_bands_hear(struct hearing *hearing);
/* The power of a level and back. */
double be_power_of(double db);
double be_db_of(double power);

/* ---- onsets.c ---- */

/* Places of the sharpest and loudest onsets, frames in no order; returns how many. */
size_t be_onsets_find(struct hearing *hearing, size_t frame[ONSETS_MAX]);

/* ---- look.c ---- */

#define LOOKS(X)                                                                                   \
  X(LOOK_ONE)     /* 1 */                                                                          \
  X(LOOK_LOUD)    /* its level above 2 kHz less that of the loudest */                             \
  X(LOOK_RISE)    /* over what was before, from 1 kHz on */                                        \
  X(LOOK_BRIGHT)  /* above 5 kHz over 600 Hz to 2.2 kHz */                                         \
  X(LOOK_CRACK)   /* the same of its first 3 ms */                                                 \
  X(LOOK_EVEN)    /* how unevenly its rise spreads over the bands */                               \
  X(LOOK_FALL)    /* share of the rise that is gone after 15 ms, */                                \
  X(LOOK_GONE)    /* after 60 ms */                                                                \
  X(LOOK_RING)    /* how far one tone stands out of what rings on, */                              \
  X(LOOK_TONE)    /* of the attack */                                                              \
  X(LOOK_LOW)     /* below 600 Hz over above 2 kHz */                                              \
  X(LOOK_STEEP)   /* how long its envelope takes to its top */                                     \
  X(LOOK_ALIKE)   /* others like it within some seconds */                                         \
  X(LOOK_HUSH)    /* how much quieter it is afterwards */                                          \
  X(LOOK_THUD)    /* dull sound that follows within a second, over what was before */              \
  X(LOOK_LEVEL)   /* of the attack above 2 kHz, full scale 0 */                                    \
  X(LOOK_FLOOR)   /* rise that was hidden by noise before */                                       \
  X(LOOK_PATTERN) /* clicks where the trace has its slips */                                       \
  X(LOOK_EARLY)   /* earlier than the load takes to rise */                                        \
  X(LOOK_LOUD_2)  /* squares, for what is best neither low nor high */                             \
  X(LOOK_RISE_2)                                                                                   \
  X(LOOK_BRIGHT_2)                                                                                 \
  X(LOOK_CRACK_2)                                                                                  \
  X(LOOK_EVEN_2)                                                                                   \
  X(LOOK_FALL_2)                                                                                   \
  X(LOOK_GONE_2)                                                                                   \
  X(LOOK_TONE_2)                                                                                   \
  X(LOOK_LOW_2)                                                                                    \
  X(LOOK_LEVEL_2)                                                                                  \
  X(LOOK_STEEP_2)
enum look {
#define X(name) name,
  LOOKS(X)
#undef X
      LOOKS_COUNT
};

struct onset {
  size_t frame;
  double at_s;
  double attack[BANDS]; /* levels */
  double high;          /* level of the attack above 2 kHz */
  double look[LOOKS_COUNT];
  double log_weight; /* against 0 for "there is none" */
  size_t clicks_met;
};

void be_onset_look(const struct hearing *hearing, struct onset *onset);
/* What can be said of one only beside the others. */
void be_onsets_compare(const struct hearing *hearing, struct onset *onsets, size_t count);

/* ---- pattern.c ---- */

/* scratch: a float a frame. */
void be_onsets_pattern(const struct hearing *hearing, const struct be_snap_hint *hint,
                       struct onset *onsets, size_t count, float *scratch);

/* ---- weigh.c ---- */

double be_onset_weight(const struct onset *onset);
/* Of weighed onsets, which it is; their weights are used up. */
void be_onsets_decide(struct onset *onsets, size_t count, struct be_snaps *snaps);

/* ---- snap.c ---- */

/* What be_snap_find weighs; also for whoever fits the weights. onsets: ONSETS_MAX places. */
enum be_status be_snap_hear(const float *sound, size_t n, double rate_Hz,
                            const struct be_snap_hint *hint, struct onset *onsets, size_t *count,
                            struct be_err *err);

#endif
