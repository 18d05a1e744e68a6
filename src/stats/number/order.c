/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"

#include <stdbool.h>

static bool later(const double *key, size_t a, size_t b)
{
  return key[a] != key[b] ? key[a] > key[b] : a > b;
}

/* Moves the entry at root down until no child stands later than it. */
static void sift(const double *key, size_t *heap, size_t root, size_t count)
{
  size_t moved = heap[root];
  for (;;) {
    size_t child = 2 * root + 1;
    if (child >= count) break;
    if (child + 1 < count && later(key, heap[child + 1], heap[child])) child++;
    if (!later(key, heap[child], moved)) break;
    heap[root] = heap[child];
    root = child;
  }
  heap[root] = moved;
}

/* Heapsort (J. W. J. Williams, Comm. ACM 7, 1964): in place, never quadratic;
 * the index breaks ties, so that its lack of stability does not show. */
void be_order(const double *key, size_t count, size_t *order)
{
  for (size_t i = 0; i < count; i++) order[i] = i;
  for (size_t i = count / 2; i-- > 0;) sift(key, order, i, count);
  for (size_t end = count; end > 1; end--) {
    size_t last = order[0];
    order[0] = order[end - 1];
    order[end - 1] = last;
    sift(key, order, 0, end - 1);
  }
}

static void sift_values(double *x, size_t root, size_t count)
{
  double moved = x[root];
  for (;;) {
    size_t child = 2 * root + 1;
    if (child >= count) break;
    if (child + 1 < count && x[child + 1] > x[child]) child++;
    if (!(x[child] > moved)) break;
    x[root] = x[child];
    root = child;
  }
  x[root] = moved;
}

/* Heapsort again: values need no index. */
void be_sort(double *x, size_t count)
{
  for (size_t i = count / 2; i-- > 0;) sift_values(x, i, count);
  for (size_t end = count; end > 1; end--) {
    double last = x[0];
    x[0] = x[end - 1];
    x[end - 1] = last;
    sift_values(x, 0, end - 1);
  }
}
