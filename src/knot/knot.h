/* SPDX-License-Identifier: GPL-3.0-or-later */
/* knot: how a knot runs and where it crosses itself. Pure computing.
 *
 *   curve/      lines in space as polygons, and directions of looking
 *   crossing/   where lines pass over one another in a view; writhe, linking, twist, overlap
 *   diagram/    the same without lengths: codes, faces, moves
 *   invariant/  what no move changes, and what a knot is consistent with by it
 *   layout/     lines in space for a drawing without lengths
 *   measure/    what a tester counts: overlap, wraps, load path; closures; the same tie?
 *   picture/    what of the tubes is seen from a view, in the order in which it is painted
 *   points/     lines as tables of x, y, z
 *   solid/      tubes round lines as triangles; STL and glTF
 *   tie/        the notation of ties, the lines built from it, and the library
 *
 *     curve <- crossing -> diagram <- invariant; tie, picture, layout, solid, measure -> these */
#ifndef BE_KNOT_H
#define BE_KNOT_H

#include "knot/crossing/crossing.h"
#include "knot/curve/curve.h"
#include "knot/diagram/diagram.h"
#include "knot/invariant/invariant.h"
#include "knot/layout/layout.h"
#include "knot/measure/measure.h"
#include "knot/picture/picture.h"
#include "knot/points/points.h"
#include "knot/solid/solid.h"
#include "knot/tie/tie.h"

#endif
