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

/* What lies above 20 kHz tells nothing: so many samples are taken as one. */
static size_t samples_to_one(double rate_Hz)
{
  return rate_Hz < 80000 ? 1 : (size_t)(rate_Hz / 40000);
}

static const float *fewer(const float *sound, size_t n, size_t by, float *out)
{
  if (by == 1) return sound;
  for (size_t i = 0; i < n / by; i++) {
    float sum = 0;
    for (size_t k = 0; k < by; k++) sum += sound[i * by + k];
    out[i] = sum / (float)by;
  }
  return out;
}

static size_t listen(struct hearing *hearing, const struct be_snap_hint *hint, float *all,
                     struct onset *onsets)
{
  float *scratch;
  for (size_t i = 0; i < hearing->n; i++)
    hearing->top = fmaxf(hearing->top, fabsf(hearing->sound[i]));
  hearing->level = all;
  hearing->rise = all + BANDS * hearing->frames;
  hearing->high = hearing->rise + hearing->frames;
  scratch = hearing->high + hearing->frames;
  hearing->left = scratch + hearing->frames;
  hearing->murmur = hearing->left + hearing->ticks;
  be_bands_hear(hearing);
  be_whiten(hearing, scratch);
  size_t count = be_onsets_find(hearing, onsets);
  for (size_t i = 0; i < count; i++) be_onset_place(hearing, &onsets[i]);
  count = be_onsets_sort(onsets, count);
  for (size_t i = 0; i < count; i++) be_onset_look(hearing, &onsets[i]);
  be_onsets_compare(hearing, onsets, count);
  be_onsets_pattern(hearing, hint, onsets, count, scratch);
  return count;
}

enum be_status be_snap_hear(const float *sound, size_t n, double rate_Hz,
                            const struct be_snap_hint *hint, struct onset *onsets, size_t *count,
                            struct be_err *err)
{
  *count = 0;
  enum be_status status = look_at(sound, n, rate_Hz, err);
  if (status != BE_OK) return status;
  size_t by = samples_to_one(rate_Hz);
  struct hearing hearing = {.n = n / by, .rate_Hz = rate_Hz / (double)by, .window = 64};
  hearing.hop = (size_t)lround(0.005 * hearing.rate_Hz);
  while ((double)hearing.window < 0.008 * hearing.rate_Hz) hearing.window *= 2;
  hearing.frames = hearing.n / hearing.hop + 1;
  hearing.tick = (size_t)lround(0.0005 * hearing.rate_Hz);
  hearing.ticks = hearing.n / hearing.tick;
  size_t murmurs = hearing.ticks / MURMUR_TICKS + 1;
  size_t floats = hearing.frames * (BANDS + 3) + hearing.ticks + murmurs;
  float *all = be_alloc_array(floats + (by > 1 ? hearing.n : 0), sizeof *all);
  if (!all) return be_fail(err, BE_NO_MEMORY, "no memory to listen to the sound");
  hearing.sound = fewer(sound, n, by, all + floats);
  *count = listen(&hearing, hint, all, onsets);
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
