/* SPDX-License-Identifier: GPL-3.0-or-later */
/* rig: where load samples come from. Every source is a const table of
 * functions with a name and a help text; sources live in a folder each. */
#ifndef BE_RIG_H
#define BE_RIG_H

#include "base/base.h"

struct be_rig_sample {
  double time_s;
  double force_N;
};

/* A source of samples. `open` reads settings written as "name=value" words,
 * SI units, separated by spaces; `read` gives up to `room` samples and sets
 * *count to 0 when the source has ended. */
struct be_rig_source {
  const char *name;
  const char *help; /* one line a setting */
  enum be_status (*open)(const char *settings, void **state, struct be_err *err);
  enum be_status (*read)(void *state, struct be_rig_sample *samples, size_t room, size_t *count,
                         struct be_err *err);
  void (*close)(void *state);
};

/* The list of sources, and one by its name (null if there is none). */
extern const struct be_rig_source *const be_rig_sources[];
extern const size_t be_rig_sources_count;
const struct be_rig_source *be_rig_source_find(const char *name);

#endif
