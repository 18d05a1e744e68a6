/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/solid/inside.h"
#include "knot/curve/vector.h"

#include <stdio.h>

enum { HEAD = 80 };

void be_solid_stl(const struct be_solid *solid, const char *name, double unit_mm,
                  struct be_buf *out)
{
  /* A text file would begin with "solid"; a binary one must not. */
  char head[HEAD + 1] = {0};
  (void)snprintf(head, sizeof head, "STL mm: %s", name);
  be_buf_add(out, head, HEAD);
  add_u32(out, (uint32_t)solid->triangles);
  for (size_t t = 0; t < solid->triangles; t++) {
    const uint32_t *corner = solid->triangle[t];
    struct be_point p = solid->vertex[corner[0]], q = solid->vertex[corner[1]];
    struct be_point r = solid->vertex[corner[2]], normal = cross(minus(q, p), minus(r, p));
    double length = norm(normal);
    add_point(out, normal, length > 0 ? 1 / length : 0);
    add_point(out, p, unit_mm);
    add_point(out, q, unit_mm);
    add_point(out, r, unit_mm);
    be_buf_add(out, "\0", 2);
  }
}
