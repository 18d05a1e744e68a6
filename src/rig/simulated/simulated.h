/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_RIG_SIMULATED_H
#define BE_RIG_SIMULATED_H

#include "rig/rig.h"

/* A rig that is only arithmetic: one pull of one made-up specimen. */
extern const struct be_rig_source be_rig_simulated;

#endif
