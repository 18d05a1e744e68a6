/* SPDX-License-Identifier: GPL-3.0-or-later */
/* rig: where load samples come from, and what makes forces of them.
 *
 *   line/         where bytes come from; serial/, tcp/, file/ and simulated/ are sources
 *   frame/        from bytes to samples; which kind of frames they are
 *   reader/       a thread that reads one rig and is never delayed
 *   calibration/  what makes forces of readings, and how far they can be trusted
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

/* ---- forces of samples --------------------------------------------------- */

/* Sets force_N of samples by a calibration and its fit (null: readings are forces). A reading in
 * another unit of force than the calibration's is converted; where one has a unit and
 * the other none, or volts, the force is not-a-number. Returns how many got no force
 * though they are a load. */
size_t be_rig_calibrate(const struct be_calibration *calibration,
                        const struct be_calibration_fit *fit, struct be_rig_sample *samples,
                        size_t count);

/* ---- rigs saved under a name ---------------------------------------------- */

struct be_rig_setup {
  char name[64];
  char source[16], source_settings[512];
  char frames[16], frame_settings[512];
  char calibration[64]; /* its name; empty: none */
};

/* As text, a section "[name]"; docs/formats.md. */
void be_rig_setup_write(struct be_buf *text, const struct be_rig_setup *setup);
/* The section of that name, the first when name is null. BE_BAD_INPUT names the line; BE_WRONG_USE
 * for a source, a kind of frames or settings of these that there are not. */
enum be_status be_rig_setup_parse(const char *text, size_t size, const char *name,
                                  struct be_rig_setup *setup, struct be_err *err);
/* What be_rig_start needs; it borrows the setup's texts. */
struct be_rig_options be_rig_setup_options(const struct be_rig_setup *setup);

/* The name of the index-th section, from 0, of setups or of calibrations. */
bool be_rig_name_at(const char *text, size_t size, size_t index, char name[64]);

#endif
