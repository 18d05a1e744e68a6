/* SPDX-License-Identifier: GPL-3.0-or-later */
/* bands.c hears the sound in bands, whiten.c what the room's noise does not foretell, onsets.c
 * finds where it starts anew, look.c looks closely at each such place, compare.c beside the others,
 * pattern.c holds it against the trace, weigh.c says how likely it is the snap. */
#ifndef BE_TRACE_SNAP_INSIDE_H
#define BE_TRACE_SNAP_INSIDE_H

#include "trace/snap/snap.h"

enum { BANDS = 10, FLUX_MAX = 80, SHARP_MAX = 48, WINDOW_MAX = 2048, MURMUR_TICKS = 500 };
enum { ONSETS_MAX = FLUX_MAX + SHARP_MAX };

struct hearing {
  const float *sound;
  size_t n;
  double rate_Hz;
  float top;          /* the greatest sample */
  size_t window, hop; /* samples; the window is a power of two */
  size_t bands;       /* below half the rate */
  size_t frames;
  float *level;       /* dB, frames by BANDS */
  float *rise;        /* of each frame: how much louder than just before, dB, mean over the bands */
  float *high;        /* of each frame: level above 2 kHz, dB */
  size_t tick, ticks; /* samples of half a millisecond */
  float *left;        /* of each tick: mean square of what the noise does not foretell */
  float *murmur;      /* of each MURMUR_TICKS: what is usual of that */
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

/* ---- whiten.c ---- */

/* Fills in the ticks; scratch: a float a MURMUR_TICKS. */
void be_whiten(struct hearing *hearing, float *scratch);
/* Over what is usual there, dB, of the ticks from one on to before another. */
double be_left_over(const struct hearing *hearing, long from, long to);

/* ---- looks ---- */

#define LOOKS(X)                                                                                   \
  X(LOOK_ONE, 1)       /* 1 */                                                                     \
  X(LOOK_BAND, BANDS)  /* the rise of each band over what was before */                            \
  X(LOOK_DROP, BANDS)  /* how much less there is after 12 ms */                                    \
  X(LOOK_LATER, 3)     /* after 55 ms: below 600 Hz, to 2.2 kHz, above */                          \
  X(LOOK_COURSE, 12)   /* over the usual, from a quarter of a second before to 0.13 s after */     \
  X(LOOK_SHAPE, BANDS) /* each band's part of what is new in the attack, */                        \
  X(LOOK_START, BANDS) /* and in its first 3 ms */                                                 \
  X(LOOK_AGAIN, 2)     /* the greatest new rise within 60 ms, and how loud it is beside it */      \
  X(LOOK_FIRST, 1)     /* the loudest of the 60 ms before, less it */                              \
  X(LOOK_RISE, 1)      /* over what was before, from 1 kHz on */                                   \
  X(LOOK_BRIGHT, 1)    /* above 5 kHz over 600 Hz to 2.2 kHz */                                    \
  X(LOOK_CRACK, 1)     /* the same of its first 3 ms */                                            \
  X(LOOK_EVEN, 1)      /* how unevenly its rise spreads over the bands */                          \
  X(LOOK_FALL, 1)      /* share of the rise that is gone after 15 ms, */                           \
  X(LOOK_GONE, 1)      /* after 60 ms */                                                           \
  X(LOOK_RING, 1)      /* how far one tone stands out of what rings on, */                         \
  X(LOOK_TONE, 1)      /* of the attack */                                                         \
  X(LOOK_LOW, 1)       /* below 600 Hz over above 2 kHz */                                         \
  X(LOOK_STEEP, 1)     /* how long its envelope takes to its top */                                \
  X(LOOK_CREST, 1)     /* how its greatest step stands out of its first 4 ms, */                   \
  X(LOOK_WHEN, 1)      /* and how long after the onset it comes */                                 \
  X(LOOK_RAIL, 1)      /* samples at the most the recording holds */                               \
  X(LOOK_FLOOR, 1)     /* rise that was hidden by noise before */                                  \
  X(LOOK_LOUD, 1)      /* its level above 2 kHz less that of the loudest other */                  \
  X(LOOK_SHARP, 1)     /* what is left of its first 4 ms, less that of the most other */           \
  X(LOOK_KEEN, 1)      /* its rise less the greatest other */                                      \
  X(LOOK_BESIDE, 6)    /* the loudest within 0.1, 0.5 and 3 s before and after, less it */         \
  X(LOOK_ALIKE, 1)     /* others like it within some seconds */                                    \
  X(LOOK_SHAPED, 1)    /* the same, however loud */                                                \
  X(LOOK_NEAREST, 1)   /* how unlike the most alike is */                                          \
  X(LOOK_BUSY, 2)      /* onsets within a second, and in all */                                    \
  X(LOOK_HUSH, 1)      /* how much quieter it is afterwards */                                     \
  X(LOOK_THUD, 1)      /* dull sound that follows within a second, over what was before */         \
  X(LOOK_PATTERN, 1)   /* clicks where the trace has its slips */                                  \
  X(LOOK_FITS, 1)      /* the same less the best other */                                          \
  X(LOOK_EARLY, 1)     /* earlier than the load takes to rise */
enum look {
#define X(name, count) name, name##_LAST = name + (count)-1,
  LOOKS(X)
#undef X
      LOOKS_COUNT
};

struct onset {
  size_t first, last; /* samples among which it begins */
  double at_s;
  double attack[BANDS]; /* levels */
  double high;          /* level of the attack above 2 kHz */
  double left;          /* of its first 4 ms, dB */
  double look[LOOKS_COUNT];
  double log_weight; /* against 0 for "there is none" */
  size_t clicks_met;
};

/* ---- onsets.c ---- */

/* The sharpest and loudest onsets, in no order; returns how many. */
size_t be_onsets_find(struct hearing *hearing, struct onset onsets[ONSETS_MAX]);

/* ---- look.c ---- */

/* The moment. */
void be_onset_place(const struct hearing *hearing, struct onset *onset);
void be_onset_look(const struct hearing *hearing, struct onset *onset);

/* ---- compare.c ---- */

/* Puts them in the order of time, each once; returns how many are left. */
size_t be_onsets_sort(struct onset *onsets, size_t count);
/* What can be said of one only beside the others. */
void be_onsets_compare(const struct hearing *hearing, struct onset *onsets, size_t count);

/* ---- pattern.c ---- */

/* scratch: a float a frame. */
void be_onsets_pattern(const struct hearing *hearing, const struct be_snap_hint *hint,
                       struct onset *onsets, size_t count, float *scratch);

/* ---- weights.c, made by `bench_snap fit` ---- */

enum { UNITS = 48 };
extern const double be_snap_direct[LOOKS_COUNT];
extern const double be_snap_units[UNITS][LOOKS_COUNT + 1]; /* of the looks, then what it counts */

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
