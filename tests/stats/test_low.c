/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

/* ---- normal ---- */

/* The definition: the chance that the mean less k deviations lies below the quantile, over
 * the deviation s by Simpson's rule: given s the mean is normal. */
static double chance_below(double k, size_t n, double above)
{
  enum { STEPS = 4000 };
  double df = (double)(n - 1), z = be_normal_quantile(1 - above), root = sqrt((double)n);
  double most = 1 + 14 / sqrt(df), sum = 0, all = 0;
  for (int i = 1; i <= STEPS; i++) {
    double s = most * i / STEPS;
    double density = exp((df - 1) * log(s) - df * s * s / 2 + df / 2);
    double weight = density * (i == STEPS ? 1 : i % 2 ? 4 : 2);
    all += weight;
    sum += weight * be_normal_upper(root * (z - k * s));
  }
  return sum / all;
}

static void factors_keep_their_promise(void **state)
{
  (void)state;
  static const size_t sizes[] = {3, 4, 7, 15, 40, 137, 1000};
  static const double shares[][2] = {{0.9, 0.95}, {0.99, 0.95}, {0.95, 0.75}, {0.6, 0.5}};
  for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++)
    for (size_t j = 0; j < 4; j++) {
      double k = be_tolerance_factor(sizes[i], shares[j][0], shares[j][1]);
      assert_near(chance_below(k, sizes[i], shares[j][0]), shares[j][1], 2e-7);
    }
}

/* R 4.2.2 by quadrature over the deviation; its own qt is off by 1e-4 at 1000. */
static void factors_at_the_ends_of_the_range(void **state)
{
  (void)state;
  static const struct {
    size_t n;
    double above, factor;
  } rows[] = {
      {2, 0.9, 20.581467624245},    {2, 0.99, 37.093581456171},   {100, 0.9, 1.5267487478504},
      {100, 0.99, 2.6839578556913}, {1000, 0.9, 1.3538174712252}, {1000, 0.99, 2.4301401532416},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    assert_near(be_tolerance_factor(rows[i].n, rows[i].above, 0.95), rows[i].factor,
                1e-11 * rows[i].factor);
}

/* Over the whole range: falls with n towards the quantile, rises with share and confidence. */
static void factors_fall_with_the_number_of_pulls(void **state)
{
  (void)state;
  double before = INFINITY, z = be_normal_quantile(0.1);
  for (size_t n = 2; n <= 1000; n++) {
    double k = be_tolerance_factor(n, 0.9, 0.95);
    assert_true(k < before && k > z);
    assert_true(be_tolerance_factor(n, 0.99, 0.95) > k);
    assert_true(be_tolerance_factor(n, 0.9, 0.99) > k);
    before = k;
  }
  struct be_summary one = {1, 34.7, NAN, 34.7, 34.7};
  assert_true(isnan(be_tolerance_normal(&one, 0.9, 0.95)));
}

/* ---- ranks ---- */

static double binomial_up_to(size_t most, size_t n, double p)
{
  double mass = pow(1 - p, (double)n), sum = 0;
  for (size_t k = 0; k <= most; k++) {
    sum += mass;
    mass *= (double)(n - k) / (double)(k + 1) * p / (1 - p);
  }
  return sum;
}

static void ranks_agree_with_sums(void **state)
{
  (void)state;
  static const double shares[][2] = {{0.9, 0.95}, {0.75, 0.9}, {0.5, 0.99}};
  for (size_t j = 0; j < 3; j++)
    for (size_t n = 1; n < 300; n++) {
      double fail = 1 - shares[j][1];
      size_t r = be_tolerance_rank(n, shares[j][0], shares[j][1]);
      assert_true(r == 0 || binomial_up_to(r - 1, n, 1 - shares[j][0]) <= fail);
      assert_true(binomial_up_to(r, n, 1 - shares[j][0]) > fail);
      assert_true((r > 0) == (n >= be_tolerance_least(shares[j][0], shares[j][1])));
    }
}

/* 2^-4 is exactly what a confidence of 15/16 allows. */
static void a_chance_equal_to_the_bound_counts(void **state)
{
  (void)state;
  assert_int_equal(be_tolerance_rank(4, 0.5, 0.9375), 1);
  assert_int_equal(be_tolerance_rank(3, 0.5, 0.9375), 0);
  assert_int_equal(be_tolerance_least(0.5, 0.9375), 4);
  assert_int_equal(be_tolerance_least(0.99, 0.001), 1);
}

/* ---- sets that differ ---- */

/* Alike by their means: the factor of all pulls on their own deviation, were they one set;
 * without scatter inside: the factor of the sets. */
static void between_goes_from_all_pulls_to_sets(void **state)
{
  (void)state;
  struct be_between low;
  const struct be_summary alike[] = {
      {6, 31.7, 2.3, 0, 0}, {6, 31.7, 2.3, 0, 0}, {6, 31.7, 2.3, 0, 0}};
  be_tolerance_between(alike, 3, 0.9, 0.95, &low);
  double k0 = be_tolerance_factor(18, 0.9, 0.95), k1 = be_tolerance_factor(3, 0.9, 0.95);
  assert_near(low.factor, k0, 1e-13 * k0);
  assert_near(low.size, 6, 1e-14);
  assert_near(low.deviation, sqrt(5.0 / 6) * 2.3, 1e-14);
  assert_near(low.basis, 31.7 - k0 * low.deviation, 1e-12);
  const struct be_summary apart[] = {
      {6, 31.7, 0, 0, 0}, {0, NAN, NAN, NAN, NAN}, {6, 35.2, 0, 0, 0}, {6, 24.6, 0, 0, 0}};
  be_tolerance_between(apart, 4, 0.9, 0.95, &low);
  assert_near(low.factor, k1, 1e-13 * k1);
  double mean = (31.7 + 35.2 + 24.6) / 3, squares = 0;
  for (size_t i = 0; i < 4; i++)
    if (i != 1) squares += (apart[i].mean - mean) * (apart[i].mean - mean);
  assert_near(low.deviation, sqrt(squares / 2), 1e-14);
}

static void between_needs_sets_and_scatter(void **state)
{
  (void)state;
  struct be_between low;
  const struct be_summary sets[] = {
      {1, 31.7, NAN, 0, 0}, {1, 33.2, NAN, 0, 0}, {4, 30.1, 1.8, 0, 0}};
  be_tolerance_between(sets, 2, 0.9, 0.95, &low);
  assert_true(isnan(low.basis) && isnan(low.factor));
  be_tolerance_between(sets + 2, 1, 0.9, 0.95, &low);
  assert_true(isnan(low.basis));
  be_tolerance_between(sets, 3, 0.9, 0.95, &low);
  assert_true(low.basis < 30.1 && low.size > 1 && low.size < 2);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(factors_keep_their_promise),
      cmocka_unit_test(factors_at_the_ends_of_the_range),
      cmocka_unit_test(factors_fall_with_the_number_of_pulls),
      cmocka_unit_test(ranks_agree_with_sums),
      cmocka_unit_test(a_chance_equal_to_the_bound_counts),
      cmocka_unit_test(between_goes_from_all_pulls_to_sets),
      cmocka_unit_test(between_needs_sets_and_scatter),
  };
  return be_tests("stats: the low end", tests);
}
