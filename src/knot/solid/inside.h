/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Little-endian numbers, as both kinds of file have them. */
#ifndef BE_KNOT_SOLID_INSIDE_H
#define BE_KNOT_SOLID_INSIDE_H

#include "knot/solid/solid.h"

#include <string.h>

static inline void add_u32(struct be_buf *out, uint32_t value)
{
  const unsigned char bytes[4] = {(unsigned char)value, (unsigned char)(value >> 8),
                                  (unsigned char)(value >> 16), (unsigned char)(value >> 24)};
  be_buf_add(out, bytes, sizeof bytes);
}

static inline void add_f32(struct be_buf *out, double value)
{
  float narrow = (float)value;
  uint32_t bits;
  memcpy(&bits, &narrow, sizeof bits);
  add_u32(out, bits);
}

static inline void add_point(struct be_buf *out, struct be_point point, double unit)
{
  add_f32(out, point.x * unit);
  add_f32(out, point.y * unit);
  add_f32(out, point.z * unit);
}

#endif
