/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The right speed of a serial line is the one at which its bytes are frames. A
 * wrong one gives bytes too, for each pulse is cut or stretched, but hardly ever a
 * line of them that means anything. */
#include "rig/frame/inside.h"

#include <stdio.h>
#include <string.h>

enum { LOOKED_AT_MAX = 4096 };

/* ---- parity seen from the side ---- */

static bool is_odd(unsigned char byte)
{
  byte ^= byte >> 4;
  byte ^= byte >> 2;
  byte ^= byte >> 1;
  return byte & 1;
}

/* Seven bits with a parity look like eight bits of which the highest makes each byte
 * even, or each odd. The form so found; null for neither, or where no byte has it. */
static const char *parity_of(const char *bytes, size_t size)
{
  size_t odd = 0, high = 0;
  for (size_t i = 0; i < size; i++) {
    odd += is_odd((unsigned char)bytes[i]);
    high += (unsigned char)bytes[i] >= 0x80;
  }
  if (high == 0) return NULL;
  return odd == 0 ? "7E1" : odd == size ? "7O1" : NULL;
}

/* ---- one try ---- */

static bool is_eight_without(const struct be_rate_try *try)
{
  return strcmp(try->form, "8N1") == 0;
}

static enum be_status look(const struct be_rate_try *try, struct be_rate_verdict *verdict,
                           struct be_err *err)
{
  char seven[LOOKED_AT_MAX];
  size_t size = try->size < LOOKED_AT_MAX ? try->size : LOOKED_AT_MAX;
  verdict->form = try->form;
  const char *form = is_eight_without(try) ? parity_of(try->bytes, size) : NULL;
  if (!form) return be_frames_detect(try->bytes, size, &verdict->frames, err);
  for (size_t i = 0; i < size; i++) seven[i] = (char)(try->bytes[i] & 0x7F);
  verdict->form = form;
  return be_frames_detect(seven, size, &verdict->frames, err);
}

/* ---- all ---- */

static void say(const struct be_rate_try *tries, size_t count, struct be_rate_verdict *verdict)
{
  if (verdict->found == BE_NO) {
    snprintf(
        verdict->why, sizeof verdict->why,
        "none of %zu speeds gives frames: is the instrument sending, and the cable the right one?",
        count);
    return;
  }
  const struct be_frame_candidate *best = &verdict->frames.candidates[0];
  snprintf(verdict->why, sizeof verdict->why,
           "at %d baud, %s, %.0f %% of the bytes are frames (%s)", tries[verdict->which].baud,
           verdict->form, 100 * best->understood, best->kind);
}

enum be_status be_rate_judge(const struct be_rate_try *tries, size_t count,
                             struct be_rate_verdict *verdict, struct be_err *err)
{
  struct be_rate_verdict one;
  double most = 0;
  memset(verdict, 0, sizeof *verdict);
  verdict->found = BE_NO;
  for (size_t i = 0; i < count; i++) {
    memset(&one, 0, sizeof one);
    enum be_status status = look(&tries[i], &one, err);
    if (status != BE_OK) return status;
    double understood = one.frames.count ? one.frames.candidates[0].understood : 0;
    if (one.frames.found == BE_NO || understood <= most) continue;
    most = understood;
    *verdict = one;
    verdict->which = i;
    verdict->found = one.frames.found;
  }
  say(tries, count, verdict);
  return BE_OK;
}
