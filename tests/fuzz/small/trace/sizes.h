/* SPDX-License-Identifier: GPL-3.0-or-later */
/* In the place of src/trace/sizes.h: a few hundred bytes fill every window. */
#ifndef BE_TRACE_SIZES_H
#define BE_TRACE_SIZES_H

#include "trace/trace.h"

enum {
  BE_WINDOW = 192,
  BE_HEAD_MAX = 768,
  BE_SAMPLE_SIZE = 128,
  BE_RAW_SIZE = 64,
  BE_RUN_ROWS = 5,
  BE_KEPT_MAX = 96,
  BE_LEAST_ROWS = 40,
  BE_HOPPER_ROWS = 7,
  BE_TRIPLES = 64,
  BE_TRIPLES_LEAST = 32
};

#endif
