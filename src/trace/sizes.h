/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much of a file the reader holds at a time. In a file of its own, so that
 * tests/fuzz can build the reader with one that a small input fills. */
#ifndef BE_TRACE_SIZES_H
#define BE_TRACE_SIZES_H

#include "trace/trace.h"

enum {
  BE_WINDOW = 256 * 1024, /* no line is longer */
  /* More than the window of a head is read only to look for its rows. */
  BE_HEAD_MAX = 4 * 1024 * 1024,
  BE_SAMPLE_SIZE = 128 * 1024, /* rows behind a head that its columns are judged by */
  BE_RAW_SIZE = 64 * 1024,     /* bytes recoded at a time */
  BE_RUN_ROWS = 16384,         /* as many as the fast memory of a processor holds */
  BE_KEPT_MAX = BE_TRACE_KEPT_MAX,
  BE_LEAST_ROWS = 64, /* no test with fewer is thinned */
  BE_HOPPER_ROWS = 4096,
  BE_TRIPLES = 4096, /* most and least that a thinned test keeps; powers of 2 */
  BE_TRIPLES_LEAST = 32
};

#endif
