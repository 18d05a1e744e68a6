/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Feeds any bytes to every kind of frames: at once, in pieces, and after the line was
 * opened anew. The pieces must give what the whole gives. A first line is taken for a
 * pattern too. Build with clang -fsanitize=fuzzer,address,undefined. */
#include "rig/frame/frame.h"
#include "rig/settings/settings.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

struct seen {
  const char *bytes;
  size_t size;
  uint64_t count, sum, end;
};

static void look(void *seen_, const struct be_rig_sample *sample)
{
  struct seen *seen = seen_;
  assert(sample->sequence == seen->count && sample->length > 0);
  assert(sample->offset >= seen->end && sample->offset + sample->length <= seen->size);
  seen->end = sample->offset + sample->length;
  seen->count++;
  assert(sample->flags < 1u << BE_SAMPLE_BITS);
  assert(!isinf(sample->value) && (isnan(sample->force_N) || !isnan(sample->value)));
  if (sample->flags & BE_SAMPLE_UNUSABLE) assert(isnan(sample->force_N));
  else assert(!isnan(sample->value));
  uint64_t bits;
  memcpy(&bits, &sample->value, sizeof bits);
  seen->sum = seen->sum * 1099511628211u ^ bits ^ sample->flags ^ sample->offset << 32;
}

static struct be_frame_counts read_all(struct be_frames *frames, struct seen *seen, size_t piece)
{
  be_frames_restart(frames, false);
  for (size_t at = 0; at < seen->size; at += piece)
    be_frames_feed(frames, seen->bytes + at, piece < seen->size - at ? piece : seen->size - at, 5,
                   look, seen);
  return be_frames_counted(frames);
}

static void read_as(const char *kind, const char *settings, const char *bytes, size_t size)
{
  static const size_t pieces[] = {4096, 1, 7};
  struct seen seen[3];
  struct be_frame_counts counts[3];
  for (int i = 0; i < 3; i++) {
    struct be_frames *frames = NULL;
    seen[i] = (struct seen){.bytes = bytes, .size = size};
    if (be_frames_create(kind, settings, &frames, NULL) != BE_OK) {
      assert(strcmp(kind, "pattern") == 0);
      return;
    }
    counts[i] = read_all(frames, &seen[i], pieces[i]);
    assert(counts[i].samples == seen[i].count && counts[i].bytes == size);
    assert(counts[i].garbage <= size);
    assert(seen[i].count == seen[0].count && seen[i].sum == seen[0].sum);
    assert(memcmp(&counts[i], &counts[0], sizeof counts[0]) == 0);
    be_frames_restart(frames, true);
    be_frames_free(frames);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static struct be_frame_detection detection;
  const char *bytes = (const char *)data;
  for (size_t i = 0; i < be_frame_kinds_count; i++)
    if (strcmp(be_frame_kinds[i].name, "pattern") != 0)
      read_as(be_frame_kinds[i].name, "", bytes, size);
  const char *end = size ? memchr(bytes, '\n', size) : NULL;
  struct be_buf settings;
  be_buf_init(&settings, 100000);
  be_buf_text(&settings, "pattern=");
  be_setting_write(&settings, bytes, end ? (size_t)(end - bytes) : 0);
  if (end) read_as("pattern", settings.data, end + 1, size - (size_t)(end + 1 - bytes));
  read_as("pattern", "pattern=\"{status?}{count},{time ms};{force 4.1}{unit?}{skip}x\"", bytes,
          size);
  be_buf_free(&settings);
  if (be_frames_detect(bytes, size, &detection, NULL) != BE_OK) abort();
  assert(detection.count <= BE_FRAME_CANDIDATES && detection.why[0]);
  assert((detection.found == BE_NO) == (detection.count == 0));
  return 0;
}
