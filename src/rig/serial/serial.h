/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_RIG_SERIAL_H
#define BE_RIG_SERIAL_H

#include "rig/line/line.h"

/* A serial line, also over USB. */
extern const struct be_rig_source be_rig_serial;

#endif
