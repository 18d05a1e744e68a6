/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace/text/text.h"

#include <math.h>
#include <stdlib.h>

static double middle(double a, double b, double c)
{
  double low = a < b ? a : b, high = a < b ? b : a;
  return c < low ? low : c > high ? high : c;
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Places the k-th smallest at x[k] and smaller ones before it: Hoare's "find"
 * (Communications of the ACM 4, 1961, algorithm 65) with the median of three
 * as pivot. After 64 rounds qsort ends it, so that no order of the input makes
 * it quadratic. */
static void select_nth(double *x, ptrdiff_t n, ptrdiff_t k)
{
  ptrdiff_t low = 0, high = n - 1;
  for (int rounds = 0; low < high; rounds++) {
    if (rounds == 64) {
      qsort(x + low, (size_t)(high - low + 1), sizeof *x, ascending);
      return;
    }
    double pivot = middle(x[low], x[low + (high - low) / 2], x[high]);
    ptrdiff_t i = low, j = high;
    while (i <= j) {
      while (x[i] < pivot) i++;
      while (x[j] > pivot) j--;
      if (i > j) break;
      double kept = x[i];
      x[i++] = x[j];
      x[j--] = kept;
    }
    if (j < k) low = i;
    if (k < i) high = j;
  }
}

double be_median(double *x, size_t n)
{
  if (n == 0) return NAN;
  select_nth(x, (ptrdiff_t)n, (ptrdiff_t)(n / 2));
  if (n % 2) return x[n / 2];
  double below = x[0];
  for (size_t i = 1; i < n / 2; i++) below = fmax(below, x[i]);
  return below / 2 + x[n / 2] / 2;
}
