/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every block carries its size in front, so that a host allocator is told the
 * old size and the arena and the buffers need not remember it. */
#include "base/base.h"

#include <assert.h>
#include <stdalign.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

union block_head {
  size_t size;
  max_align_t align;
};

static void *standard_resize(void *host, void *block, size_t old_size, size_t new_size)
{
  (void)host;
  (void)old_size;
  if (new_size == 0) {
    free(block);
    return NULL;
  }
  return realloc(block, new_size);
}

static struct be_allocator current = {standard_resize, NULL};

void be_allocator_install(const struct be_allocator *allocator)
{
  current = allocator ? *allocator : (struct be_allocator){standard_resize, NULL};
}

void *be_resize(void *block, size_t new_size)
{
  union block_head *head = block ? (union block_head *)block - 1 : NULL;
  if (new_size > SIZE_MAX - sizeof *head) return NULL;
  size_t old_total = head ? head->size + sizeof *head : 0;
  union block_head *moved = current.resize(current.host, head, old_total, new_size + sizeof *head);
  if (!moved) return NULL;
  moved->size = new_size;
  return moved + 1;
}

void *be_alloc(size_t size)
{
  return be_resize(NULL, size);
}

void *be_alloc_array(size_t count, size_t size)
{
  if (size && count > SIZE_MAX / size) return NULL;
  void *block = be_alloc(count * size);
  if (block) memset(block, 0, count * size);
  return block;
}

void be_free(void *block)
{
  if (!block) return;
  union block_head *head = (union block_head *)block - 1;
  current.resize(current.host, head, head->size + sizeof *head, 0);
}

size_t be_block_size(const void *block)
{
  return block ? ((const union block_head *)block - 1)->size : 0;
}

enum be_status be_grow(void **block, size_t *capacity, size_t item_size, size_t needed,
                       size_t ceiling, struct be_err *err)
{
  assert(item_size > 0);
  if (needed <= *capacity) return BE_OK;
  if (needed > ceiling || ceiling > SIZE_MAX / item_size)
    return be_fail(err, BE_TOO_LARGE, "more than %zu items", ceiling);
  size_t wanted = *capacity < 16 ? 16 : *capacity;
  while (wanted < needed) wanted = wanted > ceiling / 2 ? ceiling : wanted * 2;
  if (wanted > ceiling) wanted = ceiling;
  void *moved = be_resize(*block, wanted * item_size);
  if (!moved) return be_fail(err, BE_NO_MEMORY, "no memory for %zu items", wanted);
  *block = moved;
  *capacity = wanted;
  return BE_OK;
}

/* ---- arena ---- */

enum { ARENA_CHUNK = 64 * 1024 };

struct chunk {
  struct chunk *next;
  size_t used;
  size_t size;
  max_align_t bytes[];
};

struct be_arena {
  struct chunk *chunks;
  bool ran_out;
};

struct be_arena *be_arena_create(void)
{
  return be_alloc_array(1, sizeof(struct be_arena));
}

void be_arena_free(struct be_arena *arena)
{
  if (!arena) return;
  while (arena->chunks) {
    struct chunk *next = arena->chunks->next;
    be_free(arena->chunks);
    arena->chunks = next;
  }
  be_free(arena);
}

bool be_arena_ran_out(const struct be_arena *arena)
{
  return arena->ran_out;
}

static struct chunk *add_chunk(struct be_arena *arena, size_t size)
{
  size_t room = size > ARENA_CHUNK ? size : ARENA_CHUNK;
  struct chunk *chunk = be_alloc(sizeof *chunk + room);
  if (!chunk) return NULL;
  chunk->used = 0;
  chunk->size = room;
  chunk->next = arena->chunks;
  arena->chunks = chunk;
  return chunk;
}

void *be_arena_alloc(struct be_arena *arena, size_t size)
{
  const size_t step = alignof(max_align_t);
  struct chunk *chunk = arena->chunks;
  bool possible = size <= SIZE_MAX - ARENA_CHUNK;
  if (possible) size = (size + step - 1) / step * step;
  if (possible && (!chunk || chunk->size - chunk->used < size)) chunk = add_chunk(arena, size);
  if (!possible || !chunk) {
    arena->ran_out = true;
    return NULL;
  }
  void *place = (char *)chunk->bytes + chunk->used;
  chunk->used += size;
  memset(place, 0, size);
  return place;
}

char *be_arena_text(struct be_arena *arena, const char *text, size_t length)
{
  char *copy = be_arena_alloc(arena, length + 1);
  if (copy) memcpy(copy, text, length);
  return copy;
}

char *be_arena_format(struct be_arena *arena, const char *format, ...)
{
  va_list list;
  va_start(list, format);
  va_list again;
  va_copy(again, list);
  int length = vsnprintf(NULL, 0, format, list);
  char *text = length < 0 ? NULL : be_arena_alloc(arena, (size_t)length + 1);
  if (text) vsnprintf(text, (size_t)length + 1, format, again);
  va_end(again);
  va_end(list);
  return text;
}
