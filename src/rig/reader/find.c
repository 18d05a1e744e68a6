/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/reader/reader.h"

#include <stdio.h>
#include <string.h>

static const int64_t patience_ns = INT64_C(2000) * 1000000, slice_ns = 50 * 1000000;
enum { ENOUGH_LINES = 44, ENOUGH_BYTES = 2048, SETTINGS_MAX = 1024 };

/* What is asked to be tried. */
struct trial {
  const struct be_rig_source *source;
  const struct be_rig_clock *clock;
  struct be_frames *asking; /* null: nothing is sent */
  struct be_rig_found *found;
};

/* Counts line ends: CR LF twice, so that it is some 20 lines or 40. */
static bool is_enough(const struct be_rig_found *found)
{
  size_t ends = 0;
  for (size_t i = 0; i < found->size; i++)
    ends += found->bytes[i] == '\n' || found->bytes[i] == '\r' || found->bytes[i] == 3;
  return found->size >= ENOUGH_BYTES || ends >= ENOUGH_LINES;
}

/* Sends a request after every silence; what cannot be sent will show as silence. */
static void ask(const struct trial *trial, void *state)
{
  char request[BE_FRAME_REQUEST_MAX];
  size_t size = be_frames_request(trial->asking, request);
  if (size && trial->source->write) trial->source->write(state, request, size, NULL);
}

/* Fails when the line cannot be had; one that ends after it brought something has done enough. */
static enum be_status listen_to(const struct trial *trial, void *state, struct be_err *err)
{
  struct be_rig_found *found = trial->found;
  const struct be_rig_clock *clock = trial->clock;
  struct be_rig_got got = {.connecting = true};
  struct be_err lost = {0};
  enum be_status status = BE_OK;
  int64_t until = clock->now_ns(clock->host) + patience_ns;
  while (status == BE_OK && !got.ended && !is_enough(found) && clock->now_ns(clock->host) < until &&
         found->size < sizeof found->bytes) {
    if (trial->asking && !got.connecting) ask(trial, state);
    status = trial->source->read(state, found->bytes + found->size,
                                 sizeof found->bytes - found->size, slice_ns, &got, &lost);
    found->size += got.size;
  }
  if (status == BE_OK || found->size) return BE_OK;
  if (err) *err = lost;
  return status;
}

static enum be_status try_one(const struct trial *trial, const char *settings, int baud,
                              struct be_err *err)
{
  char all[SETTINGS_MAX];
  void *state = NULL;
  struct be_rig_found *found = trial->found;
  int length = baud ? snprintf(all, sizeof all, "%s baud=%d", settings, baud)
                    : snprintf(all, sizeof all, "%s", settings);
  if (length < 0 || (size_t)length >= sizeof all)
    return be_fail(err, BE_WRONG_USE, "the settings of the rig are too long");
  found->baud = baud;
  found->size = 0;
  enum be_status status = trial->source->open(all, trial->clock, &state, err);
  if (status != BE_OK) return status;
  status = listen_to(trial, state, err);
  trial->source->close(state);
  if (status != BE_OK) return status;
  const struct be_rate_try heard = {baud, "8N1", found->bytes, found->size};
  return be_rate_judge(&heard, 1, &found->verdict, err);
}

enum be_status be_rig_find(const struct be_rig_source *source, const char *settings,
                           const char *ask_kind, const char *ask_settings,
                           const struct be_rig_clock *clock, struct be_rig_found *found,
                           struct be_err *err)
{
  static const int none[] = {0, 0};
  const int *speed = source->speeds ? source->speeds : none;
  struct trial trial = {.source = source, .clock = clock, .found = found};
  enum be_status status = BE_OK;
  memset(found, 0, sizeof *found);
  if (ask_kind) status = be_frames_create(ask_kind, ask_settings, &trial.asking, err);
  while (status == BE_OK) {
    status = try_one(&trial, settings, *speed, err);
    if (found->verdict.found != BE_NO || !*speed || !*++speed) break;
  }
  be_frames_free(trial.asking);
  return status;
}
