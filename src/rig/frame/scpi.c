/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Answers of IEEE 488.2: NR1, NR2 and NR3 numbers with commas between, ended by LF;
 * or a definite-length block, #NLLL...bytes, of floats, each of them a sample. A
 * block without a length (#0) cannot be told from text on a serial line and is not read. */
#include "rig/frame/inside.h"

#include <math.h>
#include <string.h>

/* SCPI-1999, volume 1, 7.2.1: 9.9E37 is infinity, 9.91E37 not a number (from memory). */
static double plain(double value)
{
  if (value > 9.905e37) return NAN;
  return value > 9.895e37 ? (double)INFINITY : value < -9.895e37 ? -(double)INFINITY : value;
}

/* The wanted number of a line of them; false when one is none. */
static bool read_line(const char *text, size_t size, int field, double *value)
{
  bool found = false;
  while (size && (text[size - 1] == ' ' || text[size - 1] == '\r')) size--;
  for (size_t i = 0; i < size; i++) {
    double number;
    while (i < size && text[i] == ' ') i++;
    size_t used = be_number_scan(text + i, size - i, '.', &number);
    i += used;
    while (i < size && text[i] == ' ') i++;
    if (!used || (i < size && text[i] != ',')) return false;
    if (--field == 0) {
      *value = plain(number);
      found = true;
    }
  }
  return found;
}

static void end_line(struct be_frames *frames)
{
  double value = 0;
  size_t size = frames->held_size;
  bool blank = size == 0 || (size == 1 && frames->held[0] == '\r');
  if (blank) {
    be_frames_drop(frames, size);
  } else if (read_line(frames->held, size, frames->options.field, &value)) {
    struct frame_said said = be_frame_said_of(value);
    /* The start of a number may be missing, that of a list's later one may not. */
    if (frames->after_cut && frames->options.field == 1) said.flags |= BE_SAMPLE_FIRST;
    be_frames_say(frames, &said, size);
    be_frames_drop(frames, size);
  } else {
    frames->counts.not_understood++;
    be_frames_garbage(frames, size);
  }
  frames->passing = frames->after_cut = false;
}

static double real_of(const char *bytes, size_t width, bool swapped)
{
  uint64_t bits = 0;
  for (size_t i = 0; i < width; i++)
    bits = bits << 8 | (unsigned char)bytes[swapped ? width - 1 - i : i];
  if (width == sizeof(double)) {
    double value;
    memcpy(&value, &bits, sizeof value);
    return plain(value);
  }
  uint32_t half = (uint32_t)bits;
  float value;
  memcpy(&value, &half, sizeof value);
  return plain((double)value);
}

static void end_block(struct be_frames *frames, size_t start, size_t size)
{
  size_t width = frames->options.block ? sizeof(double) : sizeof(float);
  if (size % width) {
    frames->counts.not_understood++;
    be_frames_garbage(frames, frames->held_size);
    return;
  }
  frames->held_at += start;
  for (size_t at = start; at < start + size; at += width, frames->held_at += width) {
    double value = real_of(frames->held + at, width, frames->options.border);
    struct frame_said said = be_frame_said_of(value);
    be_frames_say(frames, &said, width);
  }
  frames->held_size = 0;
  frames->after_cut = false;
}

/* Bytes of the block behind its head, whose end *start is; false while the head comes.
 * A head that is none has length 0 and start 0. */
static bool block_head(const struct be_frames *frames, size_t *start, size_t *length)
{
  const char *held = frames->held;
  *start = *length = 0;
  if (frames->held_size < 2) return false;
  if (held[1] < '1' || held[1] > '9') return true;
  size_t digits = (size_t)(held[1] - '0');
  for (size_t i = 2; i < frames->held_size && i < 2 + digits; i++) {
    if (held[i] < '0' || held[i] > '9') return true;
    *length = 10 * *length + (size_t)(held[i] - '0');
  }
  if (frames->held_size < 2 + digits) return false;
  *start = 2 + digits;
  return true;
}

static void block_byte(struct be_frames *frames)
{
  size_t start, length;
  if (!block_head(frames, &start, &length)) return;
  if (start == 0) {
    frames->counts.not_understood++;
    be_frames_garbage(frames, frames->held_size);
    frames->passing = true;
  } else if (start + length > BE_FRAME_BLOCK_MAX) {
    frames->counts.too_long++;
    be_frames_garbage(frames, frames->held_size);
    frames->block_left = length;
  } else if (frames->held_size == start + length) {
    end_block(frames, start, length);
  }
}

void be_scpi_byte(struct be_frames *frames, char byte)
{
  if (frames->block_left) {
    frames->block_left--;
    frames->counts.garbage++;
    return;
  }
  bool block = frames->held_size > 0 && frames->held[0] == '#';
  if (!block && byte == '\n') {
    end_line(frames);
  } else if (frames->passing) {
    frames->counts.garbage++;
  } else if (!block && frames->held_size == BE_FRAME_TEXT_MAX) {
    frames->counts.too_long++;
    be_frames_garbage(frames, frames->held_size);
    frames->counts.garbage++;
    frames->passing = true;
  } else {
    be_frames_hold(frames, byte);
    if (frames->held[0] == '#') block_byte(frames);
  }
}
