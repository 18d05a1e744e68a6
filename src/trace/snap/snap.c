/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the sound starts anew, what each such place looks like, and how likely each is the snap. */
#include "trace/snap/inside.h"

#include <math.h>
#include <string.h>

static enum be_status look_at(const float *sound, size_t n, double rate_Hz, struct be_err *err)
{
  bool any = false;
  if (!(rate_Hz >= 8000 && rate_Hz <= 192000))
    return be_fail(err, BE_BAD_INPUT, "a sound has 8,000 to 192,000 samples a second, not %g",
                   rate_Hz);
  if (n > BE_SNAP_SAMPLES_MAX)
    return be_fail(err, BE_TOO_LARGE, "the sound has %zu samples; the most is %d", n,
                   BE_SNAP_SAMPLES_MAX);
  if ((double)n < rate_Hz)
    return be_fail(err, BE_BAD_INPUT, "the sound is shorter than a second: no snap can be told");
  for (size_t i = 0; i < n; i++) {
    if (!isfinite(sound[i]))
      return be_fail(err, BE_BAD_INPUT, "sample %zu of the sound is no number", i);
    any |= sound[i] > 1e-5f || sound[i] < -1e-5f;
  }
  if (!any) {
    be_fail(err, BE_BAD_INPUT, "the sound is silent throughout");
    be_fail_remedy(err, "take the sound of another microphone, or tell the offset by hand");
    return BE_BAD_INPUT;
  }
  return BE_OK;
}

enum be_status be_snap_hear(const float *sound, size_t n, double rate_Hz,
                            const struct be_snap_hint *hint, struct onset *onsets, size_t *count,
                            struct be_err *err)
{
  size_t frame[ONSETS_MAX];
  *count = 0;
  enum be_status status = look_at(sound, n, rate_Hz, err);
  if (status != BE_OK) return status;
  struct hearing hearing = {.sound = sound, .n = n, .rate_Hz = rate_Hz, .window = 64};
  hearing.hop = (size_t)lround(0.005 * rate_Hz);
  while ((double)hearing.window < 0.008 * rate_Hz) hearing.window *= 2;
  hearing.frames = n / hearing.hop + 1;
  float *all = be_alloc_array(hearing.frames, (BANDS + 3) * sizeof *all);
  if (!all) return be_fail(err, BE_NO_MEMORY, "no memory to listen to the sound");
  hearing.level = all;
  hearing.rise = all + BANDS * hearing.frames;
  hearing.high = hearing.rise + hearing.frames;
  be_bands_hear(&hearing);
  *count = be_onsets_find(&hearing, frame);
  memset(onsets, 0, *count * sizeof *onsets);
  for (size_t i = 0; i < *count; i++) {
    onsets[i].frame = frame[i];
    be_onset_look(&hearing, &onsets[i]);
  }
  be_onsets_compare(&hearing, onsets, *count);
  be_onsets_pattern(&hearing, hint, onsets, *count, hearing.high + hearing.frames);
  double expected = hint && hint->expected > 0 && hint->expected < 1 ? hint->expected : 0.5;
  for (size_t i = 0; i < *count; i++)
    onsets[i].log_weight = be_onset_weight(&onsets[i]) + log(expected / (1 - expected));
  be_free(all);
  return BE_OK;
}

enum be_status be_snap_find(const float *sound, size_t n, double rate_Hz,
                            const struct be_snap_hint *hint, struct be_snaps *snaps,
                            struct be_err *err)
{
  struct onset onsets[ONSETS_MAX];
  size_t count;
  enum be_status status = be_snap_hear(sound, n, rate_Hz, hint, onsets, &count, err);
  *snaps = (struct be_snaps){.none = 1};
  if (status == BE_OK) be_onsets_decide(onsets, count, snaps);
  return status;
}
