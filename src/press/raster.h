/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all that is drawn by cairo shares. */
#ifndef BE_PRESS_RASTER_H
#define BE_PRESS_RASTER_H

#include "base/base.h"

#include <cairo.h>

/* A cairo_write_func_t into a be_buf. What that has no room for it remembers; cairo is never told,
 * for 1.16 may crash when it closes a PDF that it could not write. */
cairo_status_t be_raster_take(void *out, const unsigned char *bytes, unsigned size);
/* The day of what was made at no day that matters. */
#define BE_RASTER_DAY "2000-01-01T00:00:00Z"

#endif
