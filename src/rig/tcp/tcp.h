/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_RIG_TCP_H
#define BE_RIG_TCP_H

#include "rig/line/line.h"

/* An instrument on the network that listens: we connect to it. */
extern const struct be_rig_source be_rig_tcp;

#endif
