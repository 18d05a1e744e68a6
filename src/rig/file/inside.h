/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_RIG_FILE_INSIDE_H
#define BE_RIG_FILE_INSIDE_H

#include "rig/file/file.h"

extern const char be_rig_capture_head[];
/* Reads a chunk; returns what follows it, null when there is none that is whole. */
const char *be_capture_next(const char *at, const char *end, struct be_rig_chunk *chunk,
                            const char **bytes);

#endif
