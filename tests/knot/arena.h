/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The arena of one test: setup and teardown. */
#ifndef BE_TEST_KNOT_ARENA_H
#define BE_TEST_KNOT_ARENA_H

#include "base/base.h"
#include "test.h"

static struct be_arena *arena;

static int start(void **state)
{
  (void)state;
  arena = be_arena_create();
  return arena ? 0 : -1;
}

static int end(void **state)
{
  (void)state;
  be_arena_free(arena);
  return 0;
}

#endif
