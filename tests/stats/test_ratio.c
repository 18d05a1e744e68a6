/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

static const double unknown = NAN, endless = INFINITY;

/* What Fieller's set is by definition: r belongs to it when a - r b is not
 * further from 0 than t of its deviations. Positive outside. */
static double beyond(const struct be_estimate *a, const struct be_estimate *b, double r, double t)
{
  double d = a->value - r * b->value;
  return d * d - t * t * (a->variance + r * r * b->variance);
}

static void check_set(const struct be_estimate *a, const struct be_estimate *b, double level,
                      enum be_ratio_shape shape)
{
  struct be_ratio ratio;
  be_ratio_fieller(a, b, level, &ratio);
  assert_int_equal(ratio.shape, shape);
  assert_true(ratio.interval.level == level);
  double t = be_t_quantile((1 - level) / 2, ratio.df);
  double low = ratio.interval.low, high = ratio.interval.high;
  for (double r = -60; r < 60; r += 0.0371) {
    if (shape != BE_RATIO_ALL && (fabs(r - low) < 1e-6 || fabs(r - high) < 1e-6)) continue;
    bool within = low < r && r < high;
    bool belongs = shape == BE_RATIO_OUTSIDE ? !within : within;
    assert_int_equal(belongs, beyond(a, b, r, t) <= 0);
  }
  if (shape == BE_RATIO_ALL) return;
  double size = a->value * a->value + b->value * b->value + 1;
  if (!isinf(low)) assert_near(beyond(a, b, low, t) / (size * (1 + low * low)), 0, 1e-13);
  if (!isinf(high)) assert_near(beyond(a, b, high, t) / (size * (1 + high * high)), 0, 1e-13);
}

static void fieller_is_the_set_of_ratios_not_rejected(void **state)
{
  (void)state;
  const struct be_estimate a = {24.3, 1.7, 4, 5}, b = {31.9, 0.343, 9, 10};
  check_set(&a, &b, 0.95, BE_RATIO_PIECE);
  const struct be_estimate back = {-24.3, 1.7, 4, 5};
  check_set(&back, &b, 0.99, BE_RATIO_PIECE);
  const struct be_estimate faint = {1.9, 1.21, 9, 10}; /* 1.73 deviations from 0 */
  check_set(&a, &faint, 0.95, BE_RATIO_OUTSIDE);
  check_set(&back, &faint, 0.95, BE_RATIO_OUTSIDE);
  const struct be_estimate small = {0.83, 1.7, 4, 5};
  check_set(&small, &faint, 0.95, BE_RATIO_ALL);
  const struct be_estimate none = {0, 1.7, 4, 5}, zero = {0, 0.91, 7, 8};
  check_set(&none, &b, 0.95, BE_RATIO_PIECE);
  check_set(&a, &zero, 0.95, BE_RATIO_OUTSIDE);
}

static void fieller_by_chance(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 1954, 0);
  size_t shapes[4] = {0};
  for (int i = 0; i < 300; i++) {
    struct be_estimate a = {3 * be_random_normal(&random), be_random_unit(&random), 4, 5};
    struct be_estimate b = {3 * be_random_normal(&random), be_random_unit(&random), 7, 8};
    struct be_ratio ratio;
    be_ratio_fieller(&a, &b, 0.95, &ratio);
    shapes[ratio.shape]++;
    check_set(&a, &b, 0.95, ratio.shape);
    struct be_ratio mirrored;
    a.value = -a.value;
    be_ratio_fieller(&a, &b, 0.95, &mirrored);
    assert_true(mirrored.interval.low == -ratio.interval.high);
    assert_true(mirrored.interval.high == -ratio.interval.low);
  }
  assert_true(shapes[BE_RATIO_PIECE] > 50 && shapes[BE_RATIO_OUTSIDE] > 20);
  assert_true(shapes[BE_RATIO_ALL] > 5 && shapes[BE_RATIO_UNKNOWN] == 0);
}

/* b^2 = t^2 vb exactly (t is first found, then vb made from it): one end of the
 * left-out piece runs off. */
static void fieller_on_the_border(void **state)
{
  (void)state;
  const struct be_estimate a = {24.5, 0, endless, 0};
  double t = be_t_quantile((1 - 0.95) / 2, 8);
  struct be_estimate b = {t, 1, 8, 9};
  struct be_ratio ratio;
  be_ratio_fieller(&a, &b, 0.95, &ratio);
  assert_int_equal(ratio.shape, BE_RATIO_OUTSIDE);
  assert_true(isinf(ratio.interval.low) && ratio.interval.low < 0);
  assert_near(ratio.interval.high, 24.5 / (2 * t), 1e-12);
}

static void exact_denominator_is_plain_division(void **state)
{
  (void)state;
  const struct be_estimate a = {48.5, 2.89, 4, 5}, label = {30, 0, endless, 0};
  struct be_ratio ratio;
  be_ratio_fieller(&a, &label, 0.95, &ratio);
  struct be_interval interval = be_estimate_interval(&a, 0.95);
  assert_int_equal(ratio.shape, BE_RATIO_PIECE);
  assert_near(ratio.df, 4, 1e-14);
  assert_near(ratio.interval.low, interval.low / 30, 1e-14);
  assert_near(ratio.interval.high, interval.high / 30, 1e-14);
}

static void log_and_fieller_meet_for_small_scatter(void **state)
{
  (void)state;
  const struct be_estimate a = {24.3, 1.7e-6, 4, 5}, b = {31.9, 3.1e-6, 9, 10};
  struct be_ratio logs, fieller;
  be_ratio_log(&a, &b, 0.95, &logs);
  be_ratio_fieller(&a, &b, 0.95, &fieller);
  assert_near(logs.df, fieller.df, 1e-12);
  assert_near(logs.interval.low, fieller.interval.low, 1e-8);
  assert_near(logs.interval.high, fieller.interval.high, 1e-8);
  double half = be_t_quantile(0.025, logs.df) *
                sqrt(1.7e-6 / (24.3 * 24.3) + 3.1e-6 / (31.9 * 31.9));
  assert_near(logs.interval.high, 24.3 / 31.9 * exp(half), 1e-15);
}

static void what_cannot_be_known_is_said(void **state)
{
  (void)state;
  static const struct {
    struct be_estimate a, b;
    bool fieller; /* a sign alone does not stop Fieller */
  } cases[] = {
      {{24.3, NAN, 0, 1}, {31.9, 0.3, 9, 10}, false},
      {{24.3, 1.7, 4, 5}, {31.9, NAN, 0, 1}, false},
      {{NAN, NAN, 0, 0}, {31.9, 0.3, 9, 10}, false},
      {{24.3, 0, 4, 5}, {31.9, 0, 9, 10}, false},
      {{0, 1.7, 4, 5}, {0, 0.3, 9, 10}, false},
      {{-24.3, 1.7, 4, 5}, {31.9, 0.3, 9, 10}, true},
      {{24.3, 1.7, 4, 5}, {0, 0.3, 9, 10}, true},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const struct be_estimate *a = &cases[i].a, *b = &cases[i].b;
    struct be_ratio ratio;
    be_ratio_log(a, b, 0.95, &ratio);
    assert_int_equal(ratio.shape, BE_RATIO_UNKNOWN);
    assert_true(isnan(ratio.df) && isnan(ratio.interval.low) && isnan(ratio.interval.high));
    assert_near(ratio.value, b->value == 0 ? unknown : a->value / b->value, 0);
    be_ratio_fieller(a, b, 0.95, &ratio);
    assert_int_equal(ratio.shape != BE_RATIO_UNKNOWN, cases[i].fieller);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fieller_is_the_set_of_ratios_not_rejected),
      cmocka_unit_test(fieller_by_chance),
      cmocka_unit_test(fieller_on_the_border),
      cmocka_unit_test(exact_denominator_is_plain_division),
      cmocka_unit_test(log_and_fieller_meet_for_small_scatter),
      cmocka_unit_test(what_cannot_be_known_is_said),
  };
  return be_tests("stats: ratios", tests);
}
