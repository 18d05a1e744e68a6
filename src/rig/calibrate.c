/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/rig.h"

#include <math.h>
#include <string.h>

/* The sample's number in the unit of the calibration; not-a-number when the two
 * measure different things. */
static double in_unit(const struct be_rig_sample *sample, const struct be_unit *unit)
{
  const struct be_unit *own = sample->unit;
  if (own == unit) return sample->value;
  if (!own || !unit || own->dimension != unit->dimension) return NAN;
  return sample->value * own->factor / unit->factor;
}

size_t be_rig_calibrate(const struct be_calibration *calibration,
                        const struct be_calibration_fit *fit, struct be_rig_sample *samples,
                        size_t count)
{
  const char *name = calibration->unit;
  const struct be_unit *unit = name[0] ? be_unit_find(name, strlen(name)) : NULL;
  size_t without = 0;
  for (size_t i = 0; i < count; i++) {
    struct be_rig_sample *sample = &samples[i];
    if (sample->flags & BE_SAMPLE_UNUSABLE) continue;
    double reading = in_unit(sample, unit);
    sample->force_N = fit                                   ? be_calibration_load(fit, reading)
                      : unit && unit->dimension == BE_FORCE ? reading * unit->factor
                                                            : NAN;
    without += isnan(sample->force_N);
  }
  return without;
}
