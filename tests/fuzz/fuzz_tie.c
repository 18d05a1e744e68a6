/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads any bytes as a tie, as they are and behind a drawing that is fine. What is read is a tie:
 * its lines are lines, in the caller's arena. What stands behind an equals sign in the first line
 * is taken for settings. Build with clang -fsanitize=fuzzer,address,undefined. */
#include "knot/knot.h"

#include <assert.h>
#include <math.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void try_tie(const char *text, size_t size, const char *settings)
{
  struct be_arena *arena = be_arena_create();
  struct be_tie tie;
  struct be_err err = {0};
  if (!arena) return;
  enum be_status status = be_tie_read(text, size, settings, arena, &tie, &err);
  assert(status == BE_OK || status == BE_BAD_INPUT || status == BE_TOO_LARGE);
  assert((status == BE_OK) == !err.what[0]);
  if (status == BE_OK) {
    assert(tie.name[0] && tie.lines.count > 0 && tie.lines.count <= BE_LINES_MAX);
    assert(!tie.hardware[0] && tie.settings <= BE_TIE_SETTINGS_MAX);
    for (size_t l = 0; l < tie.lines.count; l++) {
      assert(be_curve_check(&tie.lines.line[l], NULL) == BE_OK);
      assert(tie.lines.diameter[l] > 0);
    }
  }
  be_arena_free(arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static const char fine[] = "tie x\nset turns 2 from 1 to 4\nset hand right or left\nline A\n"
                             "-12,0 -6,0 ou 4,0 6,3 o 2,6 0,3 u -1,-3 2,-4 3,-1 o 3,2 u 3,9\n";
  static char text[BE_TIE_TEXT_MAX];
  const char *bytes = (const char *)data;
  if (size > 4096) return 0;
  try_tie(bytes, size, NULL);
  memcpy(text, fine, sizeof fine);
  memcpy(text + sizeof fine - 1, bytes, size);
  try_tie(text, sizeof fine - 1 + size, NULL);
  const char *end = size ? memchr(bytes, '\n', size) : NULL;
  if (!end || !memchr(bytes, '=', (size_t)(end - bytes))) return 0;
  memcpy(text, bytes, (size_t)(end - bytes));
  text[end - bytes] = 0;
  try_tie(fine, sizeof fine - 1, text);
  return 0;
}
