/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/reader/reader.h"

#include <stdio.h>
#include <string.h>

static const int64_t patience_ns = INT64_C(2000) * 1000000, slice_ns = 50 * 1000000;
enum { ENOUGH_LINES = 22, ENOUGH_BYTES = 2048, SETTINGS_MAX = 1024 };

static bool is_enough(const char *bytes, size_t size)
{
  size_t lines = 0;
  for (size_t i = 0; i < size; i++) lines += bytes[i] == '\n' || bytes[i] == '\r' || bytes[i] == 3;
  return size >= ENOUGH_BYTES || lines >= 2 * ENOUGH_LINES;
}

/* What one opening brings, within patience. */
static enum be_status listen_to(const struct be_rig_source *source, const char *settings,
                                const struct be_rig_clock *clock, struct be_rig_found *found,
                                struct be_err *err)
{
  void *state = NULL;
  struct be_rig_got got = {0};
  struct be_err ignored;
  enum be_status status = source->open(settings, clock, &state, err);
  if (status != BE_OK) return status;
  int64_t until = clock->now_ns(clock->host) + patience_ns;
  found->size = 0;
  while (!got.ended && !is_enough(found->bytes, found->size) &&
         clock->now_ns(clock->host) < until && found->size < sizeof found->bytes) {
    status = source->read(state, found->bytes + found->size, sizeof found->bytes - found->size,
                          slice_ns, &got, &ignored);
    found->size += got.size;
    if (status != BE_OK) break;
  }
  source->close(state);
  return BE_OK;
}

static enum be_status judge(struct be_rig_found *found, struct be_err *err)
{
  const struct be_rate_try try = {found->baud, "8N1", found->bytes, found->size};
  return be_rate_judge(&try, 1, &found->verdict, err);
}

static enum be_status try_one(const struct be_rig_source *source, const char *settings, int baud,
                              const struct be_rig_clock *clock, struct be_rig_found *found,
                              struct be_err *err)
{
  char all[SETTINGS_MAX];
  int length = baud ? snprintf(all, sizeof all, "%s baud=%d", settings, baud)
                    : snprintf(all, sizeof all, "%s", settings);
  if (length < 0 || (size_t)length >= sizeof all)
    return be_fail(err, BE_WRONG_USE, "the settings of the rig are too long");
  found->baud = baud;
  enum be_status status = listen_to(source, all, clock, found, err);
  return status == BE_OK ? judge(found, err) : status;
}

enum be_status be_rig_find(const struct be_rig_source *source, const char *settings,
                           const struct be_rig_clock *clock, struct be_rig_found *found,
                           struct be_err *err)
{
  static const int none[] = {0, 0};
  const int *speed = source->speeds ? source->speeds : none;
  memset(found, 0, sizeof *found);
  do {
    enum be_status status = try_one(source, settings, *speed, clock, found, err);
    if (status != BE_OK || found->verdict.found != BE_NO) return status;
    if (*speed) speed++;
  } while (*speed);
  return BE_OK;
}
