/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rig/reader/ring.h"

#include <string.h>

enum { COUNT_MAX = 1 << 26 };

enum be_status be_ring_init(struct be_ring *ring, size_t item_size, size_t count,
                            struct be_err *err)
{
  size_t capacity = 1;
  if (count > COUNT_MAX)
    return be_fail(err, BE_TOO_LARGE, "a ring holds %d items at most", COUNT_MAX);
  while (capacity < count) capacity *= 2;
  ring->item_size = item_size;
  ring->capacity = capacity;
  atomic_init(&ring->head, 0);
  atomic_init(&ring->tail, 0);
  ring->items = be_alloc_array(capacity, item_size);
  return ring->items ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory to hold samples");
}

void be_ring_free(struct be_ring *ring)
{
  be_free(ring->items);
  ring->items = NULL;
}

/* Bytes from one place on, in two parts where the end of the ring lies between. */
static size_t first_part(const struct be_ring *ring, size_t at, size_t count)
{
  size_t to_end = ring->capacity - at;
  return count < to_end ? count : to_end;
}

bool be_ring_put(struct be_ring *ring, const void *items, size_t count)
{
  size_t head = atomic_load_explicit(&ring->head, memory_order_relaxed);
  size_t tail = atomic_load_explicit(&ring->tail, memory_order_acquire);
  if (count > ring->capacity - (head - tail)) return false;
  size_t at = head & (ring->capacity - 1), part = first_part(ring, at, count);
  memcpy(ring->items + at * ring->item_size, items, part * ring->item_size);
  memcpy(ring->items, (const char *)items + part * ring->item_size,
         (count - part) * ring->item_size);
  atomic_store_explicit(&ring->head, head + count, memory_order_release);
  return true;
}

size_t be_ring_take(struct be_ring *ring, void *items, size_t room)
{
  size_t tail = atomic_load_explicit(&ring->tail, memory_order_relaxed);
  size_t count = atomic_load_explicit(&ring->head, memory_order_acquire) - tail;
  if (count > room) count = room;
  size_t at = tail & (ring->capacity - 1), part = first_part(ring, at, count);
  memcpy(items, ring->items + at * ring->item_size, part * ring->item_size);
  memcpy((char *)items + part * ring->item_size, ring->items, (count - part) * ring->item_size);
  atomic_store_explicit(&ring->tail, tail + count, memory_order_release);
  return count;
}
