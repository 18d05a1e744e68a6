/* SPDX-License-Identifier: GPL-3.0-or-later */
/* solid: lines as tubes of triangles, and these as files for printing (STL) and for showing (glTF).
 */
#ifndef BE_KNOT_SOLID_H
#define BE_KNOT_SOLID_H

#include "knot/curve/curve.h"

enum { BE_SIDES_MAX = 256 };

/* The closed surface of each line: its vertices and triangles lie one after the other. Triangles
 * are counter-clockwise seen from outside. */
struct be_solid_group {
  size_t vertex, vertices, triangle, triangles;
};
struct be_solid {
  size_t groups;
  struct be_solid_group group[BE_LINES_MAX];
  size_t vertices, triangles;
  struct be_point *vertex, *normal; /* normals are 1 long, outwards */
  uint32_t (*triangle)[3];
};

/* Rings of so many sides round each point of a line, as wide as its diameter, without twisting
 * along it (a closed line: as little as lets it close); ends are round. In the arena. BE_BAD_INPUT:
 * a line that be_curve_check refuses, or a diameter that is not above 0; BE_WRONG_USE: fewer than 3
 * sides or more than BE_SIDES_MAX; BE_TOO_LARGE: more than 4,000,000 triangles. */
enum be_status be_solid_make(const struct be_lines *lines, unsigned sides, struct be_arena *arena,
                             struct be_solid *solid, struct be_err *err);

/* Binary STL, whose numbers are millimetres by custom: unit_mm is the length of the lines' unit
 * (their first diameter, of a tie). The name is cut to the 80 bytes of its head. */
void be_solid_stl(const struct be_solid *solid, const char *name, double unit_mm,
                  struct be_buf *out);
/* Binary glTF 2.0 (.glb), in metres, y upwards: a mesh and a material for each line. names, of all
 * lines, may be null: "line A", ...; colours are 0xRRGGBB as on a screen. */
enum be_status be_solid_gltf(const struct be_solid *solid, const char *const *names,
                             const uint32_t *colours, double unit_m, struct be_buf *out,
                             struct be_err *err);

#endif
