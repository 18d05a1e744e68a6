/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: whatever bytes are called a table of points, what is read of it is written as it was
 * read. Built with clang -fsanitize=fuzzer,address,undefined. */
#include "knot/points/points.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

static bool same(const struct be_lines *a, const struct be_lines *b)
{
  if (a->count != b->count) return false;
  for (size_t l = 0; l < a->count; l++) {
    const struct be_curve *x = &a->line[l], *y = &b->line[l];
    if (x->count != y->count || x->closed != y->closed || a->diameter[l] != b->diameter[l] ||
        memcmp(x->points, y->points, x->count * sizeof *x->points) != 0)
      return false;
  }
  return true;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
  struct be_lines lines, again;
  struct be_buf text;
  struct be_arena *arena = be_arena_create();
  if (!arena) return 0;
  if (be_points_read((const char *)bytes, size, arena, &lines, NULL) == BE_OK) {
    be_buf_init(&text, 1 << 24);
    be_points_write(&lines, &text);
    if (be_points_read(text.data, text.size, arena, &again, NULL) != BE_OK || !same(&lines, &again))
      abort();
    be_buf_free(&text);
  }
  be_arena_free(arena);
  return 0;
}
