/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes what cairo has drawn as PNG. */
#ifndef BE_PRESS_PNG_H
#define BE_PRESS_PNG_H

#include "base/base.h"

#include <cairo.h>

/* An image surface of ARGB32: with alpha, unless all of it is opaque. BE_NO_MEMORY, or what ails
 * the buffer. */
enum be_status be_png_write(cairo_surface_t *surface, struct be_buf *out);

#endif
