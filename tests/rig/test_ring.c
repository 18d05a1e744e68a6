/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ring between two threads. */
#define _POSIX_C_SOURCE 200809L
#include "rig/reader/ring.h"
#include "test.h"

#include <pthread.h>
#include <sched.h>

enum { ITEMS = 300007, BATCH_MAX = 13 };

struct item {
  uint64_t number, check;
};

static struct item item_of(uint64_t number)
{
  return (struct item){number, number * 0x9E3779B97F4A7C15u ^ 77};
}

/* All or nothing, and the places wrap. */
static void full_and_empty(void **state)
{
  (void)state;
  struct be_ring ring = {0};
  struct be_err err = {0};
  int items[9] = {3, 1, 4, 1, 5, 9, 2, 6, 5}, got[9];
  assert_int_equal(be_ring_init(&ring, sizeof(int), 7, &err), BE_OK);
  assert_int_equal(ring.capacity, 8);
  assert_int_equal(be_ring_take(&ring, got, 9), 0);
  assert_false(be_ring_put(&ring, items, 9));
  for (int round = 0; round < 11; round++) {
    assert_true(be_ring_put(&ring, items, 5));
    assert_false(be_ring_put(&ring, items, 4));
    assert_true(be_ring_put(&ring, items + 5, 3));
    assert_false(be_ring_put(&ring, items, 1));
    assert_int_equal(be_ring_take(&ring, got, 3), 3);
    assert_int_equal(be_ring_take(&ring, got + 3, 9), 5);
    assert_memory_equal(got, items, 8 * sizeof(int));
    /* So that the next round starts at another place. */
    assert_true(be_ring_put(&ring, items, 1));
    assert_int_equal(be_ring_take(&ring, got, 9), 1);
  }
  be_ring_free(&ring);
  assert_int_equal(be_ring_init(&ring, 1, (size_t)1 << 40, &err), BE_TOO_LARGE);
}

static void *put_items(void *ring)
{
  struct item batch[BATCH_MAX];
  struct be_random random;
  be_random_init(&random, 5, 1);
  for (uint64_t next = 0; next < ITEMS;) {
    size_t count = 1 + (size_t)be_random_below(&random, BATCH_MAX);
    if (count > ITEMS - next) count = ITEMS - next;
    for (size_t i = 0; i < count; i++) batch[i] = item_of(next + i);
    while (!be_ring_put(ring, batch, count)) sched_yield();
    next += count;
  }
  return NULL;
}

static void between_threads(void **state)
{
  (void)state;
  struct be_ring ring = {0};
  struct be_err err = {0};
  struct be_random random;
  pthread_t putter;
  uint64_t next = 0;
  be_random_init(&random, 5, 2);
  assert_int_equal(be_ring_init(&ring, sizeof(struct item), 64, &err), BE_OK);
  assert_int_equal(pthread_create(&putter, NULL, put_items, &ring), 0);
  while (next < ITEMS) {
    struct item batch[BATCH_MAX];
    size_t count = be_ring_take(&ring, batch, 1 + (size_t)be_random_below(&random, BATCH_MAX));
    for (size_t i = 0; i < count; i++, next++) {
      struct item wanted = item_of(next);
      assert_memory_equal(&batch[i], &wanted, sizeof wanted);
    }
    if (!count) sched_yield();
  }
  pthread_join(putter, NULL);
  assert_int_equal(be_ring_take(&ring, &(struct item){0}, 1), 0);
  be_ring_free(&ring);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(full_and_empty),
      cmocka_unit_test(between_threads),
  };
  return be_tests("rig: the ring", tests);
}
