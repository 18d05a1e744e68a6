/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_RIG_SIMULATED_H
#define BE_RIG_SIMULATED_H

#include "rig/line/line.h"

/* ---- one pull of one made-up specimen, only arithmetic ---- */

struct be_simulated_point {
  double time_s;
  double force_N;
};

extern const char be_simulated_pull_help[];

/* Settings are "name=value" words, SI units; the same settings give the same points. */
struct be_simulated_pull;
enum be_status be_simulated_pull_create(const char *settings, struct be_simulated_pull **pull,
                                        struct be_err *err);
void be_simulated_pull_free(struct be_simulated_pull *pull); /* null is fine */
/* The next points, up to `room`; returns how many there are, 0 when the pull is over. */
size_t be_simulated_pull_next(struct be_simulated_pull *pull, struct be_simulated_point *points,
                              size_t room);
double be_simulated_pull_speed(const struct be_simulated_pull *pull);

/* ---- the same as a source ---- */

/* Lines of seconds and newtons ("timed-s"), each when its time has come; the setting
 * `speed` makes time run faster, 0 gives them at once. */
extern const struct be_rig_source be_rig_simulated;

#endif
