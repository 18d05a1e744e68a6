/* SPDX-License-Identifier: GPL-3.0-or-later */
/* rig: where load samples come from, and what makes forces of them.
 *
 *   line/       where bytes come from; serial/, tcp/, file/ and simulated/ are sources
 *   frame/      from bytes to samples; which kind of frames they are
 *   reader/     a thread that reads one rig and is never delayed
 *
 * The first two can be used by themselves: frames know no line, lines no frames. */
#ifndef BE_RIG_H
#define BE_RIG_H

#include "rig/file/file.h"
#include "rig/frame/frame.h"
#include "rig/line/line.h"
#include "rig/reader/reader.h"
#include "rig/simulated/simulated.h"

/* The list of sources, and one by its name (null if there is none). */
extern const struct be_rig_source *const be_rig_sources[];
extern const size_t be_rig_sources_count;
const struct be_rig_source *be_rig_source_find(const char *name);

#endif
