/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/simulated/simulated.h"

#include <stdio.h>
#include <string.h>

enum { LINE_BYTES_MAX = 64 };

struct simulated {
  struct be_simulated_pull *pull;
  struct be_rig_pace pace;
  struct be_simulated_point next;
  bool any; /* `next` is still to be told */
};

static void simulated_close(void *state)
{
  struct simulated *rig = state;
  if (!rig) return;
  be_simulated_pull_free(rig->pull);
  be_free(rig);
}

static enum be_status simulated_open(const char *settings, const struct be_rig_clock *clock,
                                     void **state, struct be_err *err)
{
  *state = NULL;
  struct simulated *rig = be_alloc_array(1, sizeof *rig);
  if (!rig) return be_fail(err, BE_NO_MEMORY, "no memory for the simulated rig");
  enum be_status status = be_simulated_pull_create(settings, &rig->pull, err);
  if (status != BE_OK) {
    simulated_close(rig);
    return status;
  }
  rig->pace.clock = clock;
  rig->pace.speed = be_simulated_pull_speed(rig->pull);
  rig->pace.start_ns = clock->now_ns(clock->host);
  rig->any = be_simulated_pull_next(rig->pull, &rig->next, 1) == 1;
  *state = rig;
  return BE_OK;
}

static enum be_status simulated_read(void *state, char *bytes, size_t room, int64_t wait_ns,
                                     struct be_rig_got *got, struct be_err *err)
{
  struct simulated *rig = state;
  char line[LINE_BYTES_MAX];
  (void)err;
  *got = (struct be_rig_got){.ended = !rig->any};
  while (rig->any && be_rig_pace_due(&rig->pace, rig->next.time_s, got->size ? 0 : wait_ns)) {
    int length =
        snprintf(line, sizeof line, "%.6f,%.4f N\r\n", rig->next.time_s, rig->next.force_N);
    if (length < 0 || (size_t)length > room - got->size) break;
    memcpy(bytes + got->size, line, (size_t)length);
    got->size += (size_t)length;
    rig->any = be_simulated_pull_next(rig->pull, &rig->next, 1) == 1;
  }
  got->host_ns = rig->pace.clock->now_ns(rig->pace.clock->host);
  return BE_OK;
}

const struct be_rig_source be_rig_simulated = {
    .name = "simulated",
    .help = be_simulated_pull_help,
    .whole = true,
    .open = simulated_open,
    .read = simulated_read,
    .close = simulated_close,
};
