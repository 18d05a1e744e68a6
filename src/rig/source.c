/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/rig.h"
#include "rig/serial/serial.h"
#include "rig/tcp/tcp.h"

#include <string.h>

const struct be_rig_source *const be_rig_sources[] = {&be_rig_serial, &be_rig_tcp, &be_rig_file,
                                                      &be_rig_simulated};
const size_t be_rig_sources_count = sizeof be_rig_sources / sizeof be_rig_sources[0];

const struct be_rig_source *be_rig_source_find(const char *name)
{
  for (size_t i = 0; i < be_rig_sources_count; i++)
    if (strcmp(be_rig_sources[i]->name, name) == 0) return be_rig_sources[i];
  return NULL;
}
