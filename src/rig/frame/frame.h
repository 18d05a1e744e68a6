/* SPDX-License-Identifier: GPL-3.0-or-later */
/* frame: from the bytes of a line to samples. Pure: it is handed bytes and the
 * moment they came, and hands on samples. The same bytes give the same samples
 * however they are cut into pieces. docs/formats.md shows the kinds of frames and
 * the patterns.
 *
 *     bytes -> frame (one line of text, or a binary reply) -> sample
 *           -> what is no frame: counted, and flagged on the sample after it */
#ifndef BE_RIG_FRAME_H
#define BE_RIG_FRAME_H

#include "base/base.h"
#include "units/units.h"

enum {
  BE_FRAME_TEXT_MAX = 256,    /* bytes of one line of text */
  BE_FRAME_BLOCK_MAX = 65536, /* bytes of one block of binary numbers */
  BE_FRAME_REQUEST_MAX = 256,
};

/* ---- samples ------------------------------------------------------------ */

/* What is known of a sample beside its number: flag, word, meaning. */
#define BE_SAMPLE_FLAGS(X)                                                                         \
  X(STABLE, "steady", "the instrument calls the reading steady")                                   \
  X(MOVING, "moving", "the instrument calls the reading unsteady")                                 \
  X(GROSS, "gross", "no tare is taken off")                                                        \
  X(NET, "net", "a tare is taken off")                                                             \
  X(OVER, "over", "past the range upward: the load was at least the highest that can be read")     \
  X(UNDER, "under", "past the range downward")                                                     \
  X(NO_VALUE, "no value", "a frame without a number")                                              \
  X(ERROR, "error", "the instrument reports an error")                                             \
  X(NINES, "nines", "all digits are nines, which often means past the range")                      \
  X(UNIT_CHANGED, "unit changed", "the unit is not that of the sample before")                     \
  X(FIRST, "may be cut", "the first since the line was opened: its start may be missing")          \
  X(AFTER_GARBAGE, "after garbage", "bytes before it were no frame")                               \
  X(AFTER_LOSS, "after loss", "samples before it are missing")                                     \
  X(AFTER_GAP, "after a gap", "the line was away before it")                                       \
  X(LATE, "late", "the answer to a request older than the last")

enum be_sample_bit {
#define X(name, word, meaning) BE_SAMPLE_BIT_##name,
  BE_SAMPLE_FLAGS(X)
#undef X
      BE_SAMPLE_BITS
};
enum be_sample_flag {
#define X(name, word, meaning) BE_SAMPLE_##name = 1 << BE_SAMPLE_BIT_##name,
  BE_SAMPLE_FLAGS(X)
#undef X
  /* The number, if any, is no load. */
  BE_SAMPLE_UNUSABLE = BE_SAMPLE_OVER | BE_SAMPLE_UNDER | BE_SAMPLE_NO_VALUE | BE_SAMPLE_ERROR
};
const char *be_sample_flag_word(enum be_sample_bit bit);
const char *be_sample_flag_meaning(enum be_sample_bit bit);

struct be_rig_sample {
  uint64_t sequence;          /* from 0, of this line */
  double rig_time_s;          /* by the instrument's own clock; not-a-number: it gives none */
  int64_t host_ns;            /* monotonic, when the last of its bytes came */
  double value;               /* as the instrument wrote it; not-a-number without a number */
  const struct be_unit *unit; /* written in the frame or told; null: neither */
  double force_N;             /* not-a-number without a unit of force, or when `value` is no load */
  unsigned flags;             /* of be_sample_flag */
  uint64_t offset;
  uint32_t length; /* its bytes: at `offset` of all bytes since the line was first opened */
};

typedef void be_sample_give(void *context, const struct be_rig_sample *sample);

/* How fast they come, by a line through the times of samples against their sequence: single
 * arrivals are late by what the system and the cable hold back. */
struct be_sample_pace {
  size_t n;
  double rate_Hz;       /* not-a-number with fewer than two */
  double jitter_s;      /* deviation of the times from the line; needs three */
  double longest_gap_s; /* between one and the next */
  bool by_rig;          /* by the instrument's own clock, which all of them had */
};
struct be_sample_pace be_sample_pace_of(const struct be_rig_sample *samples, size_t n);

/* ---- kinds -------------------------------------------------------------- */

struct be_frame_kind {
  const char *name;
  const char *help; /* what it reads, and its settings */
  const char *example;
};
extern const struct be_frame_kind be_frame_kinds[];
extern const size_t be_frame_kinds_count;

/* ---- frames ------------------------------------------------------------- */

struct be_frame_counts {
  uint64_t bytes;
  uint64_t samples;
  uint64_t not_understood; /* frames, such as lines of a banner */
  uint64_t garbage;        /* bytes outside of any frame or in one not understood */
  uint64_t too_long;       /* frames longer than the limit, passed over */
  uint64_t halves;         /* frames cut off when the line went away or started anew */
  uint64_t missing;        /* by the instrument's own count */
};

/* A reader of the frames of one line. */
struct be_frames;
/* BE_WRONG_USE for a kind or a setting that there is not. */
enum be_status be_frames_create(const char *kind, const char *settings, struct be_frames **frames,
                                struct be_err *err);
void be_frames_free(struct be_frames *frames); /* null is fine */
/* Reads bytes that came at host_ns; `give` is called for each sample, in order. */
void be_frames_feed(struct be_frames *frames, const char *bytes, size_t size, int64_t host_ns,
                    be_sample_give *give, void *context);
/* The line was opened again: what is half read is counted and given up. `whole`: its
 * first byte is the first of a frame. The first sample is flagged AFTER_GAP if
 * there was one before. Called once before the first feed too. */
void be_frames_restart(struct be_frames *frames, bool whole);
/* Flags for the next sample, of what the caller knows of: AFTER_LOSS and such. */
void be_frames_mark(struct be_frames *frames, unsigned flags);
struct be_frame_counts be_frames_counted(const struct be_frames *frames);

/* What is to be sent for the next sample, of at most BE_FRAME_REQUEST_MAX bytes; 0
 * when the instrument streams by itself. */
size_t be_frames_request(struct be_frames *frames, char *bytes);
/* Between two requests, and until an answer is given up; 0: at once. */
double be_frames_every_s(const struct be_frames *frames);
double be_frames_timeout_s(const struct be_frames *frames);

/* Checks of serial lines. CRC-16 of Modbus: polynomial 0x8005 reflected, start 0xFFFF;
 * sent low byte first. */
uint16_t be_crc16_modbus(const void *bytes, size_t size);

/* ---- what kind is it ---------------------------------------------------- */

enum { BE_FRAME_PREVIEW = 8, BE_FRAME_CANDIDATES = 4 };

/* One kind that would read the bytes, with its evidence. */
struct be_frame_candidate {
  const char *kind;
  char settings[64];
  double understood; /* share of the bytes of all frames */
  size_t samples;
  char why[160];
  size_t preview_count;
  struct be_rig_sample preview[BE_FRAME_PREVIEW]; /* the first of them; offsets into the bytes */
};

struct be_frame_detection {
  /* BE_OK: the first candidate; BE_ASK: the first two read it equally well, and `why`
   * tells what decides; BE_NO: nothing reads it. */
  enum be_status found;
  char why[200];
  size_t count;
  struct be_frame_candidate candidates[BE_FRAME_CANDIDATES]; /* best first */
};

/* Tells the kind of frames from some of their bytes: 20 frames are enough, and no more
 * than the first 64 KiB are looked at. Fails only with BE_NO_MEMORY. */
enum be_status be_frames_detect(const char *bytes, size_t size,
                                struct be_frame_detection *detection, struct be_err *err);

/* What a serial line gave at one speed and form. */
struct be_rate_try {
  int baud;
  const char *form; /* "8N1", "7E1": bits, parity, stop bits */
  const char *bytes;
  size_t size;
};

struct be_rate_verdict {
  enum be_status found; /* BE_OK, BE_ASK or BE_NO, as above */
  size_t which;         /* of the tries */
  const char *form;     /* may differ from the one tried: "7E1" heard as "8N1" shows its parity */
  char why[200];
  struct be_frame_detection frames;
};

/* Which of several tries is the right speed: the one whose bytes are frames. Fails only
 * with BE_NO_MEMORY. */
enum be_status be_rate_judge(const struct be_rate_try *tries, size_t count,
                             struct be_rate_verdict *verdict, struct be_err *err);

#endif
