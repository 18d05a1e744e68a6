/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A bounded ring from one thread to one other, without locks.
 *
 *   tail: the next item to take, written by the taker    (head - tail items wait)
 *   head: the next item to put, written by the putter
 *
 * Both only grow, and wrap with size_t; an item's place is its number modulo the
 * capacity, a power of two. The putter writes items, then head (release); the taker
 * reads head (acquire), so that it sees them, and then tail the same way back. */
#ifndef BE_RIG_RING_H
#define BE_RIG_RING_H

#include "base/base.h"

#include <stdatomic.h>

struct be_ring {
  char *items;
  size_t item_size, capacity;
  atomic_size_t head, tail;
};

/* Makes room for `count` items or more. */
enum be_status be_ring_init(struct be_ring *ring, size_t item_size, size_t count,
                            struct be_err *err);
void be_ring_free(struct be_ring *ring);
/* All of the items or none of them: false when there is no room. */
bool be_ring_put(struct be_ring *ring, const void *items, size_t count);
/* Up to `room` items; returns how many. */
size_t be_ring_take(struct be_ring *ring, void *items, size_t room);

#endif
