/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of text. A frame ends with CR, LF or ETX; STX starts one anew.
 *
 *   ... STX frame ETX check CR LF ...      frame CR LF frame CR LF
 *
 * What stands between is dropped without a word: empty lines, NUL bytes in front of
 * a frame (padding), and up to two bytes of a check behind ETX, which are not
 * looked at. */
#include "rig/frame/inside.h"

#include <string.h>

enum { STX = 0x02, ETX = 0x03, CHECK_MAX = 2 };

static bool is_empty(const char *text, size_t size)
{
  for (size_t i = 0; i < size; i++)
    if (text[i] != ' ' && text[i] != '\t') return false;
  return true;
}

/* The first pattern that fits, always tried in the same order: what a frame says does
 * not hang on those before it. */
static const struct pattern *match_any(const struct be_frames *frames, struct frame_said *said)
{
  enum decimal decimal = (enum decimal)frames->options.decimal;
  for (size_t i = 0; i < frames->patterns_count; i++)
    if (be_pattern_match(&frames->patterns[i], decimal, frames->held, frames->held_size, said))
      return &frames->patterns[i];
  return NULL;
}

static void end_frame(struct be_frames *frames)
{
  struct frame_said said;
  size_t size = frames->held_size;
  const struct pattern *pattern = NULL;
  if (is_empty(frames->held, size)) {
    be_frames_drop(frames, size);
  } else if ((pattern = match_any(frames, &said))) {
    bool cut = frames->after_cut && pattern->open_start && !frames->framed;
    if (cut) said.flags |= BE_SAMPLE_FIRST;
    be_frames_say(frames, &said, size);
    be_frames_drop(frames, size);
  } else {
    frames->counts.not_understood++;
    be_frames_garbage(frames, size);
  }
  frames->framed = frames->passing = frames->after_cut = false;
}

static void start_frame(struct be_frames *frames)
{
  bool check = frames->after_check && frames->held_size <= CHECK_MAX;
  if (check || is_empty(frames->held, frames->held_size)) {
    be_frames_drop(frames, frames->held_size);
  } else {
    frames->counts.halves++;
    be_frames_garbage(frames, frames->held_size);
  }
  frames->framed = true;
  frames->passing = frames->after_check = false;
}

void be_text_byte(struct be_frames *frames, char byte)
{
  if (byte == STX) {
    start_frame(frames);
  } else if (byte == '\r' || byte == '\n' || byte == ETX) {
    if (frames->after_check && frames->held_size <= CHECK_MAX)
      be_frames_drop(frames, frames->held_size);
    frames->after_check = byte == ETX && frames->framed;
    end_frame(frames);
  } else if (frames->passing) {
    frames->counts.garbage++;
  } else if (byte != '\0' || frames->held_size > 0) {
    if (!be_frames_hold(frames, byte)) frames->counts.garbage++;
  }
}
