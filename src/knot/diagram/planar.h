/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_KNOT_DIAGRAM_PLANAR_H
#define BE_KNOT_DIAGRAM_PLANAR_H

#include "knot/diagram/diagram.h"

/* Sets the signs of a drawing of one closed strand whose passes are told; the first is positive. */
enum be_status be_signs_find(struct be_diagram *diagram, struct be_arena *arena,
                             struct be_err *err);

#endif
