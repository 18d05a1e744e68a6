/* SPDX-License-Identifier: GPL-3.0-or-later */
/* knot: how a knot runs and where it crosses itself. Pure computing.
 *
 *   curve/      lines in space as polygons, and directions of looking
 *   crossing/   where lines pass over one another in a view; writhe, linking, twist, overlap
 *   diagram/    the same without lengths: codes, faces, moves
 *   invariant/  what no move changes, and what a knot is consistent with by it
 *   layout/     lines in space for a drawing without lengths
 *   points/     lines as tables of x, y, z
 *   solid/      tubes round lines as triangles; STL and glTF
 *
 *     curve <- crossing -> diagram <- invariant
 *     layout -> crossing, curve, diagram        points, solid -> curve */
#ifndef BE_KNOT_H
#define BE_KNOT_H

#include "knot/crossing/crossing.h"
#include "knot/curve/curve.h"
#include "knot/diagram/diagram.h"
#include "knot/invariant/invariant.h"
#include "knot/layout/layout.h"
#include "knot/points/points.h"
#include "knot/solid/solid.h"

#endif
