/* SPDX-License-Identifier: GPL-3.0-or-later */
/* jansson takes its memory where everyone else does, and it is remembered when there was none:
 * what it could not hold is missing from what it makes, and nothing else tells. */
#include "app/package/inside.h"

#include <jansson.h>

static _Thread_local bool lost;

static void *take(size_t size)
{
  void *block = be_alloc(size);
  if (!block) lost = true;
  return block;
}

void be_package_json_begin(void)
{
  lost = false;
  json_set_alloc_funcs(take, be_free);
}

bool be_package_json_lost(void)
{
  return lost;
}

enum be_status be_package_json_add(struct package *package, const char *path, const char *title,
                                   void *made, struct be_err *err)
{
  json_t *root = made;
  char *text = root && !lost ? json_dumps(root, JSON_INDENT(2)) : NULL;
  bool whole = text && !lost && !be_arena_ran_out(package->arena);
  struct piece *piece = whole ? be_piece_add(package, path, title, "application/json", err) : NULL;
  enum be_status status = piece ? BE_OK : be_no_memory(err);
  if (piece) {
    be_buf_format(&piece->bytes, "%s\n", text);
    status = be_piece_close(package, piece, err);
  }
  be_free(text);
  json_decref(root);
  return status;
}
