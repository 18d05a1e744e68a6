/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

static const struct be_watch usual = {1, 0.95};
static const struct be_summary steady = {14, 3.17, 0.05, NAN, NAN},
                               wild = {9, 3.02, 0.16, NAN, NAN}, few = {2, 3.4, 0.003, NAN, NAN};

/* Each side's evidence by be_watch_paired of its pulls less a mean, over a fine grid of means. */
static double slow_least(const struct be_summary *a, const struct be_summary *b,
                         const struct be_watch *watch)
{
  enum { STEPS = 200000 };
  double least = INFINITY;
  for (int i = 0; i <= STEPS; i++) {
    double mean = a->mean + (b->mean - a->mean) * i / STEPS;
    struct be_summary less_a = *a, less_b = *b;
    struct be_watched one, other;
    less_a.mean -= mean, less_b.mean -= mean;
    be_watch_paired(&less_a, watch, &one);
    be_watch_paired(&less_b, watch, &other);
    least = fmin(least, one.log_e + other.log_e);
  }
  return least;
}

static void evidence_is_the_least_over_all_means(void **state)
{
  (void)state;
  static const struct be_watch watches[] = {{1, 0.95}, {0.3, 0.9}, {4, 0.99}};
  const struct be_summary *const sides[][2] = {
      {&steady, &wild}, {&wild, &steady}, {&few, &wild}, {&steady, &few}, {&wild, &wild}};
  for (size_t i = 0; i < 5; i++)
    for (size_t w = 0; w < 3; w++) {
      struct be_watched watched;
      be_watch_unlike(sides[i][0], sides[i][1], &watches[w], &watched);
      double slow = slow_least(sides[i][0], sides[i][1], &watches[w]);
      /* The grid's least may lie a little above; it is quadratic in a step of 1e-5 of the way. */
      assert_true(watched.log_e <= slow + 1e-12);
      assert_near(watched.log_e, slow, 1e-4);
      assert_near(watched.value, sides[i][0]->mean - sides[i][1]->mean, 0);
    }
}

static void an_end_of_the_interval_is_just_enough(void **state)
{
  (void)state;
  struct be_watched watched, moved;
  be_watch_unlike(&steady, &wild, &usual, &watched);
  double half = watched.interval.high - watched.value;
  assert_true(isfinite(half) && half > 0);
  assert_near(watched.value - watched.interval.low, half, 1e-14);
  assert_int_equal(watched.apart, watched.interval.low > 0);
  struct be_summary a = steady;
  a.mean = wild.mean + half;
  be_watch_unlike(&a, &wild, &usual, &moved);
  assert_near(moved.log_e, log(20), 1e-9);
  a.mean = wild.mean - 1.001 * half;
  be_watch_unlike(&a, &wild, &usual, &moved);
  assert_true(moved.apart && moved.interval.high < 0);
  a.mean = wild.mean - 0.999 * half;
  be_watch_unlike(&a, &wild, &usual, &moved);
  assert_true(!moved.apart && moved.interval.high > 0);
  /* Wider than where one deviation is taken for granted. */
  be_watch_two(&steady, &wild, &usual, &moved);
  assert_true(half > moved.interval.high - moved.value);
}

static void too_few_pulls_say_nothing(void **state)
{
  (void)state;
  const struct be_summary none = {0, NAN, NAN, NAN, NAN}, one = {1, 2.9, NAN, 2.9, 2.9},
                          alike = {5, 3.3, 0, 3.3, 3.3};
  const struct be_summary *const little[] = {&none, &one, &alike};
  for (size_t i = 0; i < 3; i++)
    for (int turned = 0; turned < 2; turned++) {
      struct be_watched watched;
      be_watch_unlike(turned ? &steady : little[i], turned ? little[i] : &steady, &usual, &watched);
      assert_true(watched.log_e == 0 && !watched.apart);
      assert_true(watched.interval.low == -INFINITY && watched.interval.high == INFINITY);
      assert_true(isnan(watched.value) == (i == 0));
    }
  struct be_watched watched;
  be_watch_unlike(&few, &few, &usual, &watched);
  assert_true(watched.interval.high == INFINITY && watched.log_e < 0);
}

static void units_do_not_show(void **state)
{
  (void)state;
  const struct be_summary a = {9, 3.25, 0.25, NAN, NAN}, b = {6, 2.875, 0.375, NAN, NAN};
  const struct be_summary a8 = {9, 26, 2, NAN, NAN}, b8 = {6, 23, 3, NAN, NAN};
  struct be_watched one, other;
  be_watch_unlike(&a, &b, &usual, &one);
  be_watch_unlike(&a8, &b8, &usual, &other);
  assert_near(other.log_e, one.log_e, 1e-12);
  assert_near(other.interval.low, 8 * one.interval.low, 1e-9);
}

/* The side that scatters twice as much pulled a third as often, with a look after every pull: the
 * level is kept, where one deviation for both does not keep it. */
static void peeking_keeps_the_level_whatever_the_scatter(void **state)
{
  (void)state;
  enum { RUNS = 300, PULLS = 120 };
  size_t wrong = 0, wrong_by_one_deviation = 0, found = 0;
  for (size_t run = 0; run < 2 * RUNS; run++) {
    struct be_random random;
    be_random_init(&random, 616, run);
    double x[2][PULLS], shift = run < RUNS ? 0 : 3;
    struct be_summary summary[2] = {{0}, {0}};
    bool apart = false, by_one_deviation = false;
    for (size_t n = 0; n < PULLS && !apart; n++) {
      size_t side = n % 4 == 3;
      double z = be_random_normal(&random);
      x[side][summary[side].n] = side ? 2 * z : z + shift;
      be_summary_of(x[side], summary[side].n + 1, &summary[side]);
      struct be_watched unlike, two;
      be_watch_unlike(&summary[0], &summary[1], &usual, &unlike);
      be_watch_two(&summary[0], &summary[1], &usual, &two);
      apart = apart || unlike.apart;
      by_one_deviation = by_one_deviation || two.apart;
    }
    wrong += run < RUNS && apart;
    wrong_by_one_deviation += run < RUNS && by_one_deviation;
    found += run >= RUNS && apart;
  }
  /* 4 deviations of the binomial, for a seed that is fixed. */
  double limit = RUNS * 0.05 + 4 * sqrt(RUNS * 0.05 * 0.95);
  assert_true((double)wrong <= limit);
  assert_true((double)wrong_by_one_deviation > limit);
  assert_true(found > RUNS * 9 / 10);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(evidence_is_the_least_over_all_means),
      cmocka_unit_test(an_end_of_the_interval_is_just_enough),
      cmocka_unit_test(too_few_pulls_say_nothing),
      cmocka_unit_test(units_do_not_show),
      cmocka_unit_test(peeking_keeps_the_level_whatever_the_scatter),
  };
  return be_tests("stats: watching unlike knots", tests);
}
