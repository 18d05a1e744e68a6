/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of frames share: bytes in, samples kept. */
#ifndef BE_RIG_TEST_H
#define BE_RIG_TEST_H

#include "rig/frame/frame.h"
#include "test.h"

enum { KEPT_MAX = 4096 };

struct kept {
  size_t count;
  struct be_rig_sample samples[KEPT_MAX];
  struct be_frame_counts counts;
};

static inline void keep(void *context, const struct be_rig_sample *sample)
{
  struct kept *kept = context;
  assert_true(kept->count < KEPT_MAX);
  kept->samples[kept->count++] = *sample;
}

static inline struct be_frames *frames_of(const char *kind, const char *settings)
{
  struct be_frames *frames = NULL;
  struct be_err err = {0};
  if (be_frames_create(kind, settings, &frames, &err) != BE_OK)
    fail_msg("%s %s: %s", kind, settings, err.what);
  return frames;
}

/* All of the bytes at once; the line is opened at the start of a frame. */
static inline struct kept *read_bytes(struct kept *kept, const char *kind, const char *settings,
                                      const char *bytes, size_t size)
{
  struct be_frames *frames = frames_of(kind, settings);
  kept->count = 0;
  be_frames_restart(frames, true);
  be_frames_feed(frames, bytes, size, 7077, keep, kept);
  kept->counts = be_frames_counted(frames);
  be_frames_free(frames);
  assert_int_equal(kept->counts.samples, kept->count);
  assert_int_equal(kept->counts.bytes, size);
  return kept;
}

static inline struct kept *read_text(struct kept *kept, const char *kind, const char *settings,
                                     const char *text)
{
  return read_bytes(kept, kind, settings, text, strlen(text));
}

/* The one sample that a frame gives. */
static inline struct be_rig_sample one_of(const char *kind, const char *settings, const char *text)
{
  static struct kept kept;
  read_text(&kept, kind, settings, text);
  if (kept.count != 1) print_error("%s: \"%s\" gave %zu samples\n", kind, text, kept.count);
  assert_int_equal(kept.count, 1);
  return kept.samples[0];
}

static inline void assert_bytes(const char *all, const struct be_rig_sample *sample,
                                const char *wanted)
{
  assert_int_equal(sample->length, strlen(wanted));
  assert_memory_equal(all + sample->offset, wanted, sample->length);
}

static inline bool same_sample(const struct be_rig_sample *a, const struct be_rig_sample *b)
{
  return a->sequence == b->sequence && a->host_ns == b->host_ns && a->unit == b->unit &&
         a->flags == b->flags && a->offset == b->offset && a->length == b->length &&
         memcmp(&a->value, &b->value, sizeof a->value) == 0 &&
         memcmp(&a->force_N, &b->force_N, sizeof a->force_N) == 0 &&
         memcmp(&a->rig_time_s, &b->rig_time_s, sizeof a->rig_time_s) == 0;
}

/* Cut at every place, and byte by byte: the samples are those of the whole. */
static inline void assert_same_cut(const char *kind, const char *settings, const char *bytes,
                                   size_t size)
{
  static struct kept whole, cut;
  read_bytes(&whole, kind, settings, bytes, size);
  for (size_t at = 0; at <= size; at++) {
    struct be_frames *frames = frames_of(kind, settings);
    cut.count = 0;
    be_frames_restart(frames, true);
    if (at == size)
      for (size_t i = 0; i < size; i++) be_frames_feed(frames, bytes + i, 1, 7077, keep, &cut);
    be_frames_feed(frames, bytes, at < size ? at : 0, 7077, keep, &cut);
    be_frames_feed(frames, bytes + at, size - at, 7077, keep, &cut);
    cut.counts = be_frames_counted(frames);
    be_frames_free(frames);
    assert_int_equal(cut.count, whole.count);
    for (size_t i = 0; i < whole.count; i++)
      assert_true(same_sample(&cut.samples[i], &whole.samples[i]));
    assert_memory_equal(&cut.counts, &whole.counts, sizeof whole.counts);
  }
}

#endif
