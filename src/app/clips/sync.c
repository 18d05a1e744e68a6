/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The break of a trace put where the line is heard to snap. */
#include "app/clips/clips.h"
#include "app/clips/overlay.h"

#include <stdio.h>
#include <string.h>

static const double rate_Hz = 48000, longest_s = 3600;
/* Who gives footage of a pull that broke has most likely the break in it; ours, no source. */
static const double expected = 0.95;

static enum be_status not_told(const char *path, struct be_err *err)
{
  be_fail_at(err, path, 0, 0);
  be_fail_remedy(err, "give with --offset how many seconds into the footage it lets go");
  return BE_BAD_INPUT;
}

/* What the rows of the overlay tell of the sound. */
static enum be_status hint_of(const struct overlay *overlay, struct be_snap_hint *hint,
                              struct be_err *err)
{
  struct be_trace_events events;
  enum be_status status = BE_OK;
  struct be_trace trace = {.n = overlay->rows, .rows = overlay->rows, .time_decimals = 6};
  trace.time_s = be_alloc_array(overlay->rows, sizeof *trace.time_s);
  trace.force_N = be_alloc_array(overlay->rows, sizeof *trace.force_N);
  if (!trace.time_s || !trace.force_N) status = be_no_memory(err);
  for (size_t i = 0; i < overlay->rows && status == BE_OK; i++) {
    trace.time_s[i] = overlay->at_s[i];
    trace.force_N[i] = overlay->force_N[i];
  }
  if (status == BE_OK) status = be_trace_find(&trace, &events, err);
  if (status == BE_OK) be_snap_hint_of(&trace, &events, hint);
  if (hint->rise_s > 0) hint->expected = expected;
  be_free(trace.time_s);
  be_free(trace.force_N);
  return status;
}

/* From the given one on, those that are worth looking at. */
static void name_moments(const struct be_sound *sound, const struct be_snaps *snaps, size_t from,
                         char words[120])
{
  const double least = 0.02;
  size_t used = 0;
  words[0] = '\0';
  for (size_t i = from; i < snaps->count && i < from + 4 && used < 120; i++) {
    const struct be_snap *snap = &snaps->snap[i];
    if (snap->probability < least) break;
    used += (size_t)snprintf(words + used, 120 - used, "%s%.2f s (%.2f)", used ? ", " : "",
                             sound->start_s + snap->at_s, snap->probability);
  }
}

static enum be_status listen(const struct be_sound *sound, const struct overlay *overlay,
                             const char *path, struct be_snaps *snaps, struct be_err *err)
{
  struct be_snap_hint hint = {0};
  enum be_status status = hint_of(overlay, &hint, err);
  if (status == BE_OK)
    status = be_snap_find(sound->samples, sound->count, sound->rate_Hz, &hint, snaps, err);
  if (status == BE_BAD_INPUT) return not_told(path, err);
  if (status != BE_OK || snaps->found) return status;
  char moments[120];
  name_moments(sound, snaps, 0, moments);
  if (strchr(moments, ','))
    be_fail(
        err, BE_BAD_INPUT,
        "several moments of the sound are like a snap, and none stands out; the likeliest, with "
        "their probabilities: %s",
        moments);
  else if (snaps->count)
    be_fail(err, BE_BAD_INPUT,
            "no snap stands out in the sound: the likeliest, at %.2f s, has a probability of %.2f",
            sound->start_s + snaps->snap[0].at_s, snaps->snap[0].probability);
  else be_fail(err, BE_BAD_INPUT, "nothing in the sound is like a snap");
  return not_told(path, err);
}

enum be_status be_snap_in_footage(const struct be_film *film, const char *footage_path,
                                  const struct overlay *overlay, struct snap_found *found,
                                  struct be_err *err)
{
  struct be_sound sound = {0};
  struct be_snaps snaps = {0};
  enum be_status status = film->sound_read(footage_path, rate_Hz, longest_s, &sound, err);
  if (status == BE_NO) {
    be_fail(err, BE_BAD_INPUT, "the footage has no sound to hear the snap in");
    return not_told(footage_path, err);
  }
  if (status == BE_OK) status = listen(&sound, overlay, footage_path, &snaps, err);
  if (status == BE_OK) {
    *found = (struct snap_found){.at_s = sound.start_s + snaps.snap[0].at_s,
                                 .confidence = snaps.snap[0].probability};
    name_moments(&sound, &snaps, 1, found->others);
  }
  film->sound_free(&sound);
  return status;
}
