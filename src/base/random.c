/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"

#include <assert.h>
#include <math.h>

static uint64_t splitmix64(uint64_t *state)
{
  uint64_t z = (*state += 0x9E3779B97F4A7C15u);
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return z ^ (z >> 31);
}

void be_random_init(struct be_random *random, uint64_t seed, uint64_t stream)
{
  uint64_t mixer = stream;
  uint64_t state = seed ^ splitmix64(&mixer);
  if (stream == 0) state = seed;
  for (int i = 0; i < 4; i++) random->state[i] = splitmix64(&state);
}

static uint64_t rotate(uint64_t x, int k)
{
  return x << k | x >> (64 - k);
}

uint64_t be_random_u64(struct be_random *random)
{
  uint64_t *s = random->state;
  uint64_t result = rotate(s[1] * 5, 7) * 9;
  uint64_t t = s[1] << 17;
  s[2] ^= s[0];
  s[3] ^= s[1];
  s[1] ^= s[2];
  s[0] ^= s[3];
  s[2] ^= t;
  s[3] = rotate(s[3], 45);
  return result;
}

double be_random_unit(struct be_random *random)
{
  return (double)(be_random_u64(random) >> 11) * 0x1.0p-53;
}

/* Rejection keeps it unbiased: the last, incomplete run of n is thrown away. */
uint64_t be_random_below(struct be_random *random, uint64_t n)
{
  assert(n > 0);
  uint64_t limit = UINT64_MAX - UINT64_MAX % n;
  uint64_t value;
  do value = be_random_u64(random);
  while (value >= limit);
  return value % n;
}

/* Marsaglia's polar method; the second number of each pair is not kept, so
 * that a stream's state is its four words and nothing else. */
double be_random_normal(struct be_random *random)
{
  double u, v, s;
  do {
    u = 2 * be_random_unit(random) - 1;
    v = 2 * be_random_unit(random) - 1;
    s = u * u + v * v;
  } while (s >= 1 || s == 0);
  return u * sqrt(-2 * log(s) / s);
}
