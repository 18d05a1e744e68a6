/* SPDX-License-Identifier: GPL-3.0-or-later */
/* rig: where load samples come from, and what makes forces of them.
 *
 *   line/       where bytes come from; serial/, tcp/, file/ and simulated/ are sources
 *   frame/      from bytes to samples; which kind of frames they are
 *   reader/     a thread that reads one rig and is never delayed
 *   calibration/ what makes forces of readings, and how far they can be trusted
 *
 * Frames know no line, lines no frames, and a calibration neither. */
#ifndef BE_RIG_H
#define BE_RIG_H

#include "rig/calibration/calibration.h"
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
