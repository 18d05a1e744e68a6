/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "knot/measure/inside.h"

#include <stdlib.h>

enum { STRETCHES_MOST = 8000000 };

enum be_status be_gather_add(struct gather *gather, double from, double to, struct be_err *err)
{
  if (gather->count && gather->list[gather->count - 1].from <= from &&
      from <= gather->list[gather->count - 1].to) {
    gather->list[gather->count - 1].to = fmax(gather->list[gather->count - 1].to, to);
    return BE_OK;
  }
  void *list = gather->list;
  enum be_status status = be_grow(&list, &gather->capacity, sizeof *gather->list, gather->count + 1,
                                  STRETCHES_MOST, err);
  gather->list = list;
  if (status == BE_OK) gather->list[gather->count++] = (struct be_stretch){from, to};
  return status;
}

static int by_from(const void *a, const void *b)
{
  const struct be_stretch *x = a, *y = b;
  if (x->from < y->from) return -1;
  return x->from > y->from;
}

enum be_status be_gather_finish(struct gather *gather, double slack, struct be_arena *arena,
                                struct be_stretches *stretches, struct be_err *err)
{
  size_t joined = 0;
  struct be_stretch *list = gather->list;
  if (gather->count) qsort(list, gather->count, sizeof *list, by_from);
  for (size_t i = 0; i < gather->count; i++) {
    if (joined && list[i].from <= list[joined - 1].to + slack)
      list[joined - 1].to = fmax(list[joined - 1].to, list[i].to);
    else list[joined++] = list[i];
  }
  *stretches = (struct be_stretches){be_arena_alloc(arena, (joined + 1) * sizeof *list), joined, 0};
  for (size_t i = 0; stretches->list && i < joined; i++) {
    stretches->list[i] = list[i];
    stretches->length += list[i].to - list[i].from;
  }
  be_free(gather->list);
  *gather = (struct gather){0};
  return stretches->list ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory for the overlap");
}

enum be_status be_stretches_both(const struct be_stretches *a, const struct be_stretches *b,
                                 struct be_arena *arena, struct be_stretches *both,
                                 struct be_err *err)
{
  size_t room = a->count + b->count + 1;
  *both = (struct be_stretches){be_arena_alloc(arena, room * sizeof *both->list), 0, 0};
  if (!both->list) return be_fail(err, BE_NO_MEMORY, "no memory for the overlap");
  for (size_t i = 0, j = 0; i < a->count && j < b->count;) {
    double from = fmax(a->list[i].from, b->list[j].from), to = fmin(a->list[i].to, b->list[j].to);
    if (from < to) {
      both->list[both->count++] = (struct be_stretch){from, to};
      both->length += to - from;
    }
    if (a->list[i].to < b->list[j].to) i++;
    else j++;
  }
  return BE_OK;
}
