/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One float in two registers, by functions 3 and 4 of the Modbus application protocol.
 *
 *   RTU, asked:     device function register(2) count(2) crc(2, low byte first)
 *   RTU, answered:  device function 4 float(4) crc(2)         or  device function+128 code crc(2)
 *   TCP: transaction(2) 0(2) length(2) in front, and no crc
 *
 * RTU tells frames apart by silence, of which a byte stream knows nothing: here a
 * frame is found by its first bytes and its check, and where these do not fit, one
 * byte is passed over and the next tried. */
#include "rig/frame/inside.h"

#include <math.h>
#include <string.h>

enum { HEADER = 6, FLOAT_BYTES = 4, EXCEPTION = 0x80 };

uint16_t be_crc16_modbus(const void *bytes, size_t size)
{
  const unsigned char *at = bytes;
  unsigned crc = 0xFFFF;
  for (size_t i = 0; i < size; i++) {
    crc ^= at[i];
    for (int bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >> 1) ^ 0xA001 : crc >> 1;
  }
  return (uint16_t)crc;
}

/* ---- asking ---- */

static void put_request(const struct be_frames *frames, char *bytes)
{
  const struct frame_options *options = &frames->options;
  const unsigned reg = (unsigned)options->reg;
  const unsigned char request[] = {(unsigned char)(options->device ? options->device : 1),
                                   (unsigned char)options->function,
                                   (unsigned char)(reg >> 8),
                                   (unsigned char)reg,
                                   0,
                                   2};
  memcpy(bytes, request, sizeof request);
}

size_t be_rtu_request(struct be_frames *frames, char *bytes)
{
  put_request(frames, bytes);
  uint16_t crc = be_crc16_modbus(bytes, 6);
  bytes[6] = (char)crc;
  bytes[7] = (char)(crc >> 8);
  return 8;
}

size_t be_mbap_request(struct be_frames *frames, char *bytes)
{
  frames->transaction++;
  memcpy(bytes,
         (const char[]){(char)(frames->transaction >> 8), (char)frames->transaction, 0, 0, 0, 6},
         HEADER);
  put_request(frames, bytes + HEADER);
  return HEADER + 6;
}

/* ---- the answer ---- */

static double float_of(const unsigned char *bytes, int order)
{
  static const unsigned char orders[][FLOAT_BYTES] = {
      {0, 1, 2, 3}, {2, 3, 0, 1}, {1, 0, 3, 2}, {3, 2, 1, 0}};
  uint32_t bits = 0;
  float value;
  for (int i = 0; i < FLOAT_BYTES; i++) bits = bits << 8 | bytes[orders[order][i]];
  memcpy(&value, &bits, sizeof value);
  return (double)value;
}

/* How long an answer that starts so is to be; 0 when it cannot be one. Looks at what
 * has come of device, function and size. */
static size_t answer_size(const struct be_frames *frames, const unsigned char *bytes, size_t size)
{
  const struct frame_options *options = &frames->options;
  const unsigned device = (unsigned)options->device, function = (unsigned)options->function;
  enum { UNKNOWN_YET = 3 };
  if (device ? bytes[0] != device : bytes[0] < 1 || bytes[0] > 247) return 0;
  if (size < 2) return UNKNOWN_YET;
  if (bytes[1] == (function | EXCEPTION)) return 3;
  if (bytes[1] != function) return 0;
  return size < 3 || bytes[2] == FLOAT_BYTES ? 3 + FLOAT_BYTES : 0;
}

static void say_answer(struct be_frames *frames, const unsigned char *answer, unsigned also,
                       size_t size)
{
  struct frame_said said =
      be_frame_said_of(answer[1] & EXCEPTION ? NAN : float_of(answer + 3, frames->options.order));
  if (answer[1] & EXCEPTION) said.flags |= BE_SAMPLE_ERROR;
  said.flags |= also;
  be_frames_say(frames, &said, size);
  be_frames_drop(frames, size);
}

void be_rtu_byte(struct be_frames *frames, char byte)
{
  if (!be_frames_hold(frames, byte)) return;
  while (frames->held_size) {
    const unsigned char *held = (const unsigned char *)frames->held;
    size_t size = answer_size(frames, held, frames->held_size), whole = size + 2;
    if (size && frames->held_size < whole) return;
    unsigned crc = size ? be_crc16_modbus(held, size) : 0;
    if (size && held[size] == (crc & 0xFF) && held[size + 1] == crc >> 8)
      say_answer(frames, held, 0, whole);
    else be_frames_garbage(frames, 1);
  }
}

/* How long the frame is whose header has begun to come; 0 when it is none. */
static size_t mbap_size(const struct be_frames *frames, const unsigned char *held, size_t size)
{
  for (size_t i = 2; i < 5 && i < size; i++)
    if (held[i] != 0) return 0;
  if (size < HEADER) return HEADER + 1;
  if (held[5] != 3 && held[5] != 3 + FLOAT_BYTES) return 0;
  size_t answer = size > HEADER ? answer_size(frames, held + HEADER, size - HEADER) : held[5];
  if (size > HEADER + 1 && answer != held[5]) return 0;
  return answer ? HEADER + (size_t)held[5] : 0;
}

void be_mbap_byte(struct be_frames *frames, char byte)
{
  if (!be_frames_hold(frames, byte)) return;
  while (frames->held_size) {
    const unsigned char *held = (const unsigned char *)frames->held;
    size_t size = mbap_size(frames, held, frames->held_size);
    if (size && frames->held_size < size) return;
    if (!size) {
      be_frames_garbage(frames, 1);
      continue;
    }
    unsigned transaction = held[0] * 256u + held[1];
    bool late = frames->transaction && transaction != frames->transaction;
    say_answer(frames, held + HEADER, late ? BE_SAMPLE_LATE : 0, size);
  }
}
