/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"
#include "test.h"

/* Stream 0 of a seed starts with the first four words of SplitMix64. Its words
 * for the seeds 0 and 1234567 as they are commonly given for checking (from
 * memory). */
static void the_seed_is_spread_by_splitmix64(void **state)
{
  (void)state;
  static const struct {
    uint64_t seed, words[4];
  } cases[] = {
      {0, {0xE220A8397B1DCDAF, 0x6E789E6AA1B965F4, 0x06C45D188009454F, 0xF88BB8A8724C81EC}},
      {1234567,
       {6457827717110365317u, 3203168211198807973u, 9817491932198370423u, 4593380528125082431u}},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_random random;
    be_random_init(&random, cases[i].seed, 0);
    for (int k = 0; k < 4; k++) assert_true(random.state[k] == cases[i].words[k]);
  }
}

/* The first ten words of xoshiro256** from the state 1, 2, 3, 4 (from memory);
 * the first three are easily worked out by hand: rotl(2 * 5, 7) * 9 = 11520. */
static void the_words_are_those_of_xoshiro(void **state)
{
  (void)state;
  static const uint64_t words[] = {
      11520u, 0u, 1509978240u, 1215971899390074240u, 1216172134540287360u,
      607988272756665600u, 16172922978634559625u, 8476171486693032832u,
      10595114339597558777u, 2904607092377533576u};
  struct be_random random = {{1, 2, 3, 4}};
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    assert_true(be_random_u64(&random) == words[i]);
}

static void streams_repeat_and_differ(void **state)
{
  (void)state;
  enum { STREAMS = 300 };
  uint64_t first[STREAMS];
  for (uint64_t stream = 0; stream < STREAMS; stream++) {
    struct be_random a, b;
    be_random_init(&a, 77, stream);
    be_random_init(&b, 77, stream);
    assert_memory_equal(&a, &b, sizeof a);
    first[stream] = be_random_u64(&a);
    assert_true(first[stream] == be_random_u64(&b));
    for (uint64_t k = 0; k < stream; k++) assert_true(first[k] != first[stream]);
    be_random_init(&b, 78, stream);
    assert_true(first[stream] != be_random_u64(&b));
  }
}

static double chi_square(const size_t *counts, size_t bins, double expected)
{
  double sum = 0;
  for (size_t i = 0; i < bins; i++)
    sum += (double)counts[i] * (double)counts[i] / expected;
  return sum - expected * (double)bins;
}

/* With 6 degrees of freedom chi-square passes 22.5 once in a thousand, with 2
 * it passes 13.8 (from memory); the seeds are fixed, so this is no lottery. */
static void numbers_below_n_are_unbiased(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 905, 3);
  size_t counts[7] = {0};
  for (int i = 0; i < 70000; i++) counts[be_random_below(&random, 7)]++;
  assert_true(chi_square(counts, 7, 10000) < 22.5);

  /* n = 3 * 2^62: a plain remainder gives the lower third twice as often. */
  const uint64_t third = UINT64_C(1) << 62;
  size_t sound[3] = {0}, plain[3] = {0};
  for (int i = 0; i < 30000; i++) {
    uint64_t value = be_random_below(&random, 3 * third);
    assert_true(value < 3 * third);
    sound[value / third]++;
    plain[be_random_u64(&random) % (3 * third) / third]++;
  }
  assert_true(chi_square(sound, 3, 10000) < 13.8);
  assert_true(chi_square(plain, 3, 10000) > 1000);
  for (int i = 0; i < 100; i++) assert_int_equal(be_random_below(&random, 1), 0);
}

static void units_fill_zero_to_one(void **state)
{
  (void)state;
  enum { N = 100000, BINS = 20 };
  struct be_random random;
  be_random_init(&random, 12, 34);
  size_t counts[BINS] = {0};
  double sum = 0;
  for (int i = 0; i < N; i++) {
    double u = be_random_unit(&random);
    assert_true(u >= 0 && u < 1);
    counts[(size_t)(u * BINS)]++;
    sum += u;
  }
  /* 19 degrees of freedom: 43.8 once in a thousand (from memory). */
  assert_true(chi_square(counts, BINS, N / BINS) < 43.8);
  assert_near(sum / N, 0.5, 4 / sqrt(12.0 * N));
  /* Extreme words give the ends of the range: the top 53 bits count. */
  struct be_random zero = {{5, 0, 9, 2}};
  assert_true(be_random_unit(&zero) == 0);
}

/* Moments within four of their own standard errors: those of the mean, the
 * variance, the third and the fourth moment of n normal numbers are the square
 * roots of 1/n, 2/n, 15/n and 96/n. */
static void normals_have_normal_moments(void **state)
{
  (void)state;
  enum { N = 400000 };
  struct be_random random;
  be_random_init(&random, 20260417, 2);
  double sums[5] = {0};
  size_t beyond = 0;
  for (int i = 0; i < N; i++) {
    double z = be_random_normal(&random), power = z;
    for (int k = 1; k < 5; k++, power *= z) sums[k] += power;
    beyond += fabs(z) > 1.959963984540054;
  }
  assert_near(sums[1] / N, 0, 4 * sqrt(1.0 / N));
  assert_near(sums[2] / N, 1, 4 * sqrt(2.0 / N));
  assert_near(sums[3] / N, 0, 4 * sqrt(15.0 / N));
  assert_near(sums[4] / N, 3, 4 * sqrt(96.0 / N));
  assert_near((double)beyond / N, 0.05, 4 * sqrt(0.05 * 0.95 / N));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_seed_is_spread_by_splitmix64),
      cmocka_unit_test(the_words_are_those_of_xoshiro),
      cmocka_unit_test(streams_repeat_and_differ),
      cmocka_unit_test(numbers_below_n_are_unbiased),
      cmocka_unit_test(units_fill_zero_to_one),
      cmocka_unit_test(normals_have_normal_moments),
  };
  return be_tests("base: random streams", tests);
}
