/* SPDX-License-Identifier: GPL-3.0-or-later */
/* layout: lines in space for a drawing that has no lengths yet, such as a code: round and even, as
 * knots are drawn in tables. */
#ifndef BE_KNOT_LAYOUT_H
#define BE_KNOT_LAYOUT_H

#include "knot/curve/curve.h"
#include "knot/diagram/diagram.h"

/* Lines of diameter 1 in steps of about `step`, whose view from above (be_view_top) is exactly this
 * drawing: each strand begins before its first pass and meets the same crossings in the same order,
 * with their signs. At a crossing the strands lie 0.6 above and below the middle; crossings are
 * about 3 apart or more. The widest face is outside, or that with most free ends, which are led out
 * of it; other free ends stay in their faces. What does not hang together lies side by side. The
 * same drawing gives the same lines. Points are in the arena. 400 crossings take seconds. A strand
 * that would have more than 400,000 points has longer steps. BE_BAD_INPUT: no drawing
 * (be_diagram_check); BE_TOO_LARGE: more than BE_LINES_MAX strands, or too crowded to be drawn, as
 * what is nested fifty deep and more may be; BE_WRONG_USE: a step that is not above 0 and at most
 * 0.5. */
enum be_status be_diagram_layout(const struct be_diagram *diagram, double step,
                                 struct be_arena *arena, struct be_lines *out, struct be_err *err);

#endif
