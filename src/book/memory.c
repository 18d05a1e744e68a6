/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SQLite takes its memory where everyone else does. */
#include "book/inside.h"

static void *memory_alloc(int size)
{
  return be_alloc((size_t)size);
}

static void *memory_resize(void *block, int size)
{
  return be_resize(block, (size_t)size);
}

static int memory_size(void *block)
{
  return (int)be_block_size(block);
}

static int memory_round(int size)
{
  return (size + 7) & ~7;
}

static int memory_start(void *unused)
{
  (void)unused;
  return SQLITE_OK;
}

static void memory_end(void *unused)
{
  (void)unused;
}

void be_sql_use_our_memory(void)
{
  static const sqlite3_mem_methods methods = {memory_alloc, be_free,      memory_resize,
                                              memory_size,  memory_round, memory_start,
                                              memory_end,   NULL};
  sqlite3_config(SQLITE_CONFIG_MALLOC, &methods);
}
