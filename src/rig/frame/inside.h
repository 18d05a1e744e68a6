/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of frame share. */
#ifndef BE_RIG_FRAME_INSIDE_H
#define BE_RIG_FRAME_INSIDE_H

#include "rig/frame/frame.h"
#include "rig/settings/settings.h"

/* ---- number.c: readings as instruments write them ---- */

/* Which decimal marks a reading may have. */
enum decimal { DECIMAL_EITHER, DECIMAL_POINT, DECIMAL_COMMA };

struct reading {
  double value;   /* not-a-number for a word */
  unsigned flags; /* OVER, UNDER, NO_VALUE, NINES */
  bool has_mark;  /* a decimal mark was written */
};

/* Reads a number in any sign form, or a word in its place, at the start of the
 * text. Returns the bytes used; 0 if there is neither. */
size_t be_reading_scan(const char *text, size_t size, enum decimal decimal,
                       struct reading *reading);

/* ---- pattern.c, match.c: patterns ---- */

enum piece_type {
  PIECE_LITERAL, /* bytes that stand for themselves */
  PIECE_BLANK,   /* one or more blanks */
  PIECE_FORCE,
  PIECE_TIME,
  PIECE_COUNT,
  PIECE_UNIT,
  PIECE_STATUS,
  PIECE_SKIP,
};
enum { PIECES_MAX = 24, PIECE_WORDS_MAX = 16, PATTERN_WORDS_MAX = 48, PIECE_WORD_MAX = 8 };

struct piece_word {
  char text[PIECE_WORD_MAX];
  size_t size;
  unsigned flags;             /* of a status */
  const struct be_unit *unit; /* of a unit */
};

struct piece {
  enum piece_type type;
  bool optional;
  char literal;
  int width;                      /* exactly that many bytes; 0: as many as there are */
  int decimals;                   /* decimals that are not written */
  double scale;                   /* of a time, to a second */
  size_t first_word, words_count; /* of the pattern's words */
};

struct pattern {
  size_t count;
  struct piece pieces[PIECES_MAX];
  size_t words_count;
  struct piece_word words[PATTERN_WORDS_MAX];
  bool open_start; /* a frame without its first bytes could still match */
};

/* What one frame says. */
struct frame_said {
  double value, time_s, count; /* not-a-number: not said */
  const struct be_unit *unit;
  unsigned flags;
};

enum be_status be_pattern_compile(const char *text, size_t size, struct pattern *pattern,
                                  struct be_err *err);
/* Whether the whole frame is as the pattern says. */
bool be_pattern_match(const struct pattern *pattern, enum decimal decimal, const char *text,
                      size_t size, struct frame_said *said);

/* ---- kinds.c: the table of kinds ---- */

struct frame_options {
  struct be_setting_text pattern, unit, ask;
  int decimal, field;
  double every_s, timeout_s;
  int device, reg, function, order;
  int block, border;
};

enum { PATTERNS_MAX = 8 };

/* How a kind works; its row stands beside that of be_frame_kinds. */
struct frame_way {
  const char *patterns[PATTERNS_MAX]; /* tried in turn; none: told, or no plain text */
  const struct be_setting *settings;
  size_t settings_count;
  size_t held_max;
  /* One more byte came. */
  void (*byte)(struct be_frames *frames, char byte);
  size_t (*request)(struct be_frames *frames, char *bytes);
  const char *ask; /* by default; null: nothing */
};
/* The row of a kind; null if there is none. */
const struct frame_way *be_frame_way_find(const char *kind, const struct be_frame_kind **row);

/* ---- frames.c ---- */

/* Invariants:
 *   held[0..held_size) are the bytes of the frame that is being read; the first of
 *     them is byte number held_at of the line.
 *   passing: the frame was too long; its bytes are passed over up to its end.
 *   Bytes are looked at one by one, so that no cut between them can matter. */
struct be_frames {
  const struct frame_way *way;
  struct frame_options options;
  const struct be_unit *told; /* unit of frames that bear none; may be null */
  struct pattern *patterns;
  size_t patterns_count;

  char *held;
  size_t held_size;
  uint64_t held_at;
  bool framed;      /* began with STX: nothing of it is missing */
  bool after_check; /* ETX came: up to two bytes of a check may follow */
  bool passing;
  bool after_cut;      /* no frame has ended since the line was opened amid one */
  uint64_t block_left; /* bytes of a block too long that are still to come */

  unsigned pending; /* flags for the next sample */
  double last_count;
  const struct be_unit *last_unit;
  uint16_t transaction;
  struct be_frame_counts counts;

  int64_t host_ns;
  be_sample_give *give;
  void *context;
};

/* Keeps a byte; false when the frame has become too long, and is passed over. */
bool be_frames_hold(struct be_frames *frames, char byte);
/* The first `size` held bytes are done with. */
void be_frames_drop(struct be_frames *frames, size_t size);
/* They are no frame. */
void be_frames_garbage(struct be_frames *frames, size_t size);
/* A sample of what a frame said, whose bytes are the first `size` held. */
void be_frames_say(struct be_frames *frames, const struct frame_said *said, size_t size);
/* A number that came in binary. */
struct frame_said be_frame_said_of(double value);

/* ---- text.c, scpi.c, modbus.c ---- */

void be_text_byte(struct be_frames *frames, char byte);
void be_scpi_byte(struct be_frames *frames, char byte);
void be_rtu_byte(struct be_frames *frames, char byte);
void be_mbap_byte(struct be_frames *frames, char byte);
size_t be_ask_request(struct be_frames *frames, char *bytes);
size_t be_rtu_request(struct be_frames *frames, char *bytes);
size_t be_mbap_request(struct be_frames *frames, char *bytes);

#endif
