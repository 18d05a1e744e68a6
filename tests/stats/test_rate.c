/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rates, alarms and several comparisons. */
#include "fault/failing.h"
#include "stats/stats.h"
#include "test.h"

static const double unknown = NAN;

/* P(at most k of n) by adding up. */
static double at_most(size_t k, size_t n, double rate)
{
  double sum = 0;
  for (size_t i = 0; i <= k; i++)
    sum += exp(lgamma((double)n + 1) - lgamma((double)i + 1) - lgamma((double)(n - i) + 1) +
               (double)i * log(rate) + (double)(n - i) * log1p(-rate));
  return sum;
}

static void rate_ends_leave_the_tails_they_say(void **state)
{
  (void)state;
  for (size_t n = 1; n < 60; n += 3)
    for (size_t k = 0; k <= n; k++) {
      struct be_interval i = be_rate_exact(k, n, 0.9);
      assert_true(i.level == 0.9);
      if (k == 0) assert_true(i.low == 0);
      else assert_near(1 - at_most(k - 1, n, i.low), 0.05, 1e-11);
      if (k == n) assert_true(i.high == 1);
      else assert_near(at_most(k, n, i.high), 0.05, 1e-11);
      if (k < n) assert_near(be_rate_upper(k, n, 0.95), i.high, 1e-13);
    }
}

static void rate_at_its_edges(void **state)
{
  (void)state;
  struct be_interval none = be_rate_exact(0, 0, 0.95);
  assert_true(none.low == 0 && none.high == 1);
  assert_true(be_rate_upper(0, 0, 0.95) == 1 && be_rate_upper(17, 17, 0.95) == 1);
  struct be_interval a = be_rate_exact(3, 41, 0.95), b = be_rate_exact(38, 41, 0.95);
  assert_near(a.low, 1 - b.high, 1e-14);
  assert_near(a.high, 1 - b.low, 1e-14);
  double rare = be_rate_upper(0, 1000000000, 0.95);
  assert_near(rare * 1e9, -log(0.05), 1e-8);
}

static void grubbs_points_at_the_furthest(void **state)
{
  (void)state;
  const double x[] = {24.5, 23.5, 24.5, 28, 24, 22, 14, 22.5, 24, 25.5};
  struct be_alarm alarm;
  be_grubbs(x, 10, 0.05, &alarm);
  assert_true(alarm.raised && alarm.index == 6);
  assert_true(alarm.statistic > alarm.critical);
  be_grubbs(x, 10, 0.001, &alarm);
  assert_true(!alarm.raised && alarm.index == 6);
  be_grubbs(x, 6, 0.05, &alarm);
  assert_true(!alarm.raised && alarm.index == 3);
}

static void grubbs_never_raised_for_few_or_equal(void **state)
{
  (void)state;
  const double x[] = {30.1, 30.1, 30.1, 30.1}, two[] = {12.5, 99.3};
  struct be_alarm alarm;
  for (size_t n = 0; n < 3; n++) {
    be_grubbs(two, n, 0.05, &alarm);
    assert_true(!alarm.raised && isnan(alarm.statistic) && isnan(alarm.critical));
  }
  be_grubbs(x, 4, 0.05, &alarm);
  assert_true(!alarm.raised && isnan(alarm.statistic) && alarm.critical > 1);
}

/* The largest that three pulls can give is 2/sqrt(3), and of three pulls with
 * two alike it always is just that: below the critical value only for alpha 0. */
static void grubbs_of_three(void **state)
{
  (void)state;
  const double x[] = {30.5, 30.5, 12.25};
  struct be_alarm alarm;
  be_grubbs(x, 3, 1e-12, &alarm);
  assert_near(alarm.statistic, 2 / sqrt(3), 1e-15);
  assert_near(alarm.critical, 2 / sqrt(3), 1e-15);
  assert_int_equal(alarm.index, 2);
  be_grubbs(x, 3, 1e-200, &alarm);
  assert_near(alarm.critical, 2 / sqrt(3), 1e-15);
}

/* By Holm's definition: the largest of the counted-up p that come before. */
static void holm_agrees_with_its_definition(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 1979, 0);
  for (size_t count = 0; count < 40; count++) {
    double p[40], adjusted[40];
    for (size_t i = 0; i < count; i++) p[i] = floor(9 * be_random_unit(&random)) / 70;
    assert_int_equal(be_holm(p, count, adjusted, NULL), BE_OK);
    for (size_t i = 0; i < count; i++) {
      double largest = 0;
      for (size_t j = 0; j < count; j++) {
        if (p[j] > p[i]) continue;
        size_t not_before = 0;
        for (size_t k = 0; k < count; k++) not_before += p[k] >= p[j];
        largest = fmax(largest, fmin(1, (double)not_before * p[j]));
      }
      assert_near(adjusted[i], largest, 1e-15);
    }
  }
}

static void holm_in_place_and_unknown(void **state)
{
  (void)state;
  double p[] = {0.041, unknown, 0.0123, 0.77, 0.021};
  assert_int_equal(be_holm(p, 5, p, NULL), BE_OK);
  assert_near(p[2], 4 * 0.0123, 1e-16);
  assert_near(p[4], 3 * 0.021, 1e-16);
  assert_near(p[0], 2 * 0.041, 1e-16);
  assert_near(p[3], 0.77, 0);
  assert_true(isnan(p[1]));
  double none[] = {unknown, unknown};
  assert_int_equal(be_holm(none, 2, none, NULL), BE_OK);
  assert_true(isnan(none[0]) && isnan(none[1]));
}

static void holm_refuses_what_is_no_p(void **state)
{
  (void)state;
  const double bad[][2] = {{0.3, 1.0001}, {0.3, -1e-9}, {0.3, INFINITY}};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    double adjusted[2] = {-7, -7};
    struct be_err err;
    assert_int_equal(be_holm(bad[i], 2, adjusted, &err), BE_BAD_INPUT);
    assert_non_null(strstr(err.what, "2 of 2"));
    assert_true(adjusted[0] == -7);
  }
}

static void holm_without_memory(void **state)
{
  (void)state;
  double p[] = {0.041, 0.0123}, adjusted[2] = {-7, -7};
  int failures = 0;
  for (enum be_status status = BE_FAILED; status != BE_OK; failures++) {
    struct be_failing failing = {0};
    be_failing_start(&failing, (size_t)failures + 1, true);
    status = be_holm(p, 2, adjusted, NULL);
    be_failing_stop();
    assert_int_equal(failing.blocks + failing.broken, 0);
    if (status == BE_OK) break;
    assert_int_equal(status, BE_NO_MEMORY);
    assert_true(adjusted[0] == -7);
  }
  assert_int_equal(failures, 3);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rate_ends_leave_the_tails_they_say),
      cmocka_unit_test(rate_at_its_edges),
      cmocka_unit_test(grubbs_points_at_the_furthest),
      cmocka_unit_test(grubbs_never_raised_for_few_or_equal),
      cmocka_unit_test(grubbs_of_three),
      cmocka_unit_test(holm_agrees_with_its_definition),
      cmocka_unit_test(holm_in_place_and_unknown),
      cmocka_unit_test(holm_refuses_what_is_no_p),
      cmocka_unit_test(holm_without_memory),
  };
  return be_tests("stats: rates, alarms, several comparisons", tests);
}
