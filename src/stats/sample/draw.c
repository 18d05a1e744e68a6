/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/sample/sample.h"

/* 32 random bits to [0, n) by a multiplication, unbiased by rejection (Lemire,
 * "Fast random integer generation in an interval", ACM TOMACS 29, 2019,
 * algorithm 5); be_random_below costs a division and 64 bits a draw. */
static uint32_t below(struct be_random *random, uint32_t bits, uint32_t n)
{
  uint64_t product = (uint64_t)bits * n;
  if ((uint32_t)product < n) {
    uint32_t biased = (0u - n) % n;
    while ((uint32_t)product < biased) product = (be_random_u64(random) >> 32) * n;
  }
  return (uint32_t)(product >> 32);
}

double be_draw_sum(struct be_random *random, const double *x, uint32_t n)
{
  double first = 0, second = 0;
  for (uint32_t i = 1; i < n; i += 2) {
    uint64_t bits = be_random_u64(random);
    first += x[below(random, (uint32_t)(bits >> 32), n)];
    second += x[below(random, (uint32_t)bits, n)];
  }
  if (n % 2) first += x[below(random, (uint32_t)(be_random_u64(random) >> 32), n)];
  return first + second;
}

void be_draw_set(struct be_random *random, const double *x, uint32_t n, double *drawn)
{
  for (uint32_t i = 1; i < n; i += 2) {
    uint64_t bits = be_random_u64(random);
    drawn[i - 1] = x[below(random, (uint32_t)(bits >> 32), n)];
    drawn[i] = x[below(random, (uint32_t)bits, n)];
  }
  if (n % 2) drawn[n - 1] = x[below(random, (uint32_t)(be_random_u64(random) >> 32), n)];
}

double be_draw_mean(const double *const *x, const size_t *n, size_t groups, const void *context)
{
  (void)groups;
  (void)context;
  double sums[2] = {0, 0};
  for (size_t i = 0; i < n[0]; i++) sums[i % 2] += x[0][i];
  return (sums[0] + sums[1]) / (double)n[0];
}
