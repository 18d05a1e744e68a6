/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault/failing.h"
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

static const double one[] = {31.2, 36.9, 28.4, 33.3, 35.1};
static const double other[] = {29.7, 27.3, 32.6, 26.8, 30.4};

static struct be_permuted permute(const double *a, size_t na, const double *b, size_t nb,
                                  size_t times, uint64_t seed, unsigned threads)
{
  const struct be_resampling how = {seed, times, 0, threads};
  struct be_permuted result = {-7, false, 0};
  assert_int_equal(be_permute_means(a, na, b, nb, &how, &result, NULL), BE_OK);
  return result;
}

/* Every way by the bits of a number; whole loads, so that equal is equal. */
static double p_by_all_splits(const double *pool, size_t na, size_t n)
{
  double total = 0, seen = 0;
  size_t all = 0, far = 0;
  for (size_t i = 0; i < n; i++) total += pool[i];
  for (size_t i = 0; i < na; i++) seen += pool[i];
  for (unsigned bits = 0; bits < 1u << n; bits++) {
    double sum = 0;
    size_t chosen = 0;
    for (size_t i = 0; i < n; i++)
      if (bits >> i & 1) sum += pool[i], chosen++;
    if (chosen != na) continue;
    all++;
    far +=
        fabs(sum * (double)n - total * (double)na) >= fabs(seen * (double)n - total * (double)na);
  }
  return (double)far / (double)all;
}

static void all_252_splits(void **state)
{
  (void)state;
  struct be_permuted result = permute(one, 5, other, 5, 252, 1, 1);
  assert_true(result.exact && result.splits == 252);
  assert_near(result.p, 22.0 / 252, 1e-15); /* derived with R 4.2.2: combn */
  result = permute(one, 5, other, 5, 251, 1, 1);
  assert_true(!result.exact && result.splits == 251);
}

/* Loads in steps of 1/16 have many equal statistics; the same as decimals must give the
 * same p, however they round. */
static void equal_statistics_count_as_equal(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 1935, 0);
  for (int round = 0; round < 60; round++) {
    size_t na = 1 + be_random_below(&random, 6), nb = 1 + be_random_below(&random, 6);
    double whole[12], decimal[12], far[12];
    for (size_t i = 0; i < na + nb; i++) {
      whole[i] = 280 + floor(12 * be_random_unit(&random));
      decimal[i] = whole[i] / 10;
      far[i] = 1e6 + whole[i] / 10;
    }
    double want = p_by_all_splits(whole, na, na + nb);
    assert_near(permute(whole, na, whole + na, nb, 1000, 1, 1).p, want, 1e-14);
    assert_near(permute(decimal, na, decimal + na, nb, 1000, 1, 1).p, want, 1e-14);
    assert_near(permute(far, na, far + na, nb, 1000, 1, 1).p, want, 1e-14);
    assert_near(permute(whole + na, nb, whole, na, 1000, 1, 1).p, want, 1e-14);
  }
}

static void order_and_unit_do_not_matter(void **state)
{
  (void)state;
  const double x[] = {28.4, 35.1, 31.2, 33.3, 36.9};
  double newton_x[5], newton_y[5];
  for (size_t i = 0; i < 5; i++) {
    newton_x[i] = one[i] * 4.4482216152605;
    newton_y[i] = other[4 - i] * 4.4482216152605;
  }
  double p = permute(one, 5, other, 5, 300, 1, 1).p;
  assert_true(permute(x, 5, other, 5, 300, 1, 1).p == p);
  assert_true(permute(newton_x, 5, newton_y, 5, 300, 1, 1).p == p);
  assert_true(permute(other, 5, one, 5, 300, 9, 2).p == p);
}

static void same_bits_on_any_number_of_threads(void **state)
{
  (void)state;
  static double a[40], b[55];
  struct be_random random;
  be_random_init(&random, 77, 1);
  for (size_t i = 0; i < 40; i++) a[i] = 30.3 + 4.4 * be_random_normal(&random);
  for (size_t i = 0; i < 55; i++) b[i] = 28.9 + 4.1 * be_random_normal(&random);
  struct be_permuted single = permute(a, 40, b, 55, 20011, 5, 1);
  assert_true(!single.exact && single.splits == 20011);
  for (unsigned threads = 0; threads < 6; threads++)
    assert_true(permute(a, 40, b, 55, 20011, 5, threads).p == single.p);
  assert_true(permute(a, 40, b, 55, 20011, 6, 1).p != single.p);
  /* Welch's t says nearly the same of nearly normal pulls. */
  struct be_summary of_a, of_b;
  be_summary_of(a, 40, &of_a);
  be_summary_of(b, 55, &of_b);
  struct be_difference d;
  be_student(&of_a, &of_b, 0.95, &d);
  assert_near(single.p, d.p, 0.01 + 5 * sqrt(d.p * (1 - d.p) / 20011));
}

/* Random splits against all of them; and the seen one is counted, so p is never 0. */
static void random_splits_come_near_all(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 31, 1);
  for (int round = 0; round < 5; round++) {
    double x[16];
    for (size_t i = 0; i < 16; i++) x[i] = 30.3 + 4.4 * be_random_normal(&random) + (i < 6) * 3.7;
    struct be_permuted all = permute(x, 6, x + 6, 10, 8008, 1, 1);
    assert_true(all.exact && all.splits == 8008);
    struct be_permuted some = permute(x, 6, x + 6, 10, 8007, 1, 1);
    assert_false(some.exact);
    assert_near(some.p, all.p, 1.0 / 8008 + 5 * sqrt(all.p * (1 - all.p) / 8007));
  }
  double apart[40];
  for (size_t i = 0; i < 40; i++) apart[i] = (i < 20 ? 100 : 10) + 0.37 * (double)(i % 7);
  assert_near(permute(apart, 20, apart + 20, 20, 999, 3, 2).p, 0.001, 1e-15);
}

static void alike_pulls_and_single_ones(void **state)
{
  (void)state;
  const double flat[] = {30.3, 30.3, 30.3, 30.3};
  assert_true(permute(flat, 2, flat + 2, 2, 100, 1, 1).p == 1);
  assert_true(permute(one, 1, other, 1, 100, 1, 1).p == 1);
  struct be_permuted result = permute(one + 1, 1, other, 5, 100, 1, 1);
  assert_true(result.exact && result.splits == 6);
  assert_near(result.p, 1.0 / 6, 1e-15);
}

static void what_is_refused(void **state)
{
  (void)state;
  struct be_resampling how = {1, 100, 0.95, 1};
  struct be_permuted result = {-7, false, 0};
  struct be_err err;
  const double bad[] = {31.2, NAN, 30.1};
  assert_int_equal(be_permute_means(one, 0, other, 5, &how, &result, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "first"));
  assert_int_equal(be_permute_means(one, 5, other, 0, &how, &result, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "second"));
  assert_int_equal(be_permute_means(one, 5, bad, 3, &how, &result, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "pull 2 of the second"));
  assert_int_equal(be_permute_means(one, 100001, other, 5, &how, &result, &err), BE_TOO_LARGE);
  how.times = 100000001;
  assert_int_equal(be_permute_means(one, 5, other, 5, &how, &result, &err), BE_TOO_LARGE);
  how.times = 0;
  assert_int_equal(be_permute_means(one, 5, other, 5, &how, &result, &err), BE_WRONG_USE);
  assert_true(result.p == -7 && strlen(err.remedy) > 0);
}

static enum be_status permute_either_way(void *context, struct be_err *err)
{
  (void)context;
  const struct be_resampling all = {1, 300, 0.95, 1}, some = {1, 100, 0.95, 1};
  struct be_permuted result;
  enum be_status status = be_permute_means(one, 5, other, 5, &all, &result, err);
  return status != BE_OK ? status : be_permute_means(one, 5, other, 5, &some, &result, err);
}

static void without_memory(void **state)
{
  (void)state;
  be_fail_loop(permute_either_way, NULL, 6);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_252_splits),
      cmocka_unit_test(equal_statistics_count_as_equal),
      cmocka_unit_test(order_and_unit_do_not_matter),
      cmocka_unit_test(same_bits_on_any_number_of_threads),
      cmocka_unit_test(random_splits_come_near_all),
      cmocka_unit_test(alike_pulls_and_single_ones),
      cmocka_unit_test(what_is_refused),
      cmocka_unit_test(without_memory),
  };
  return be_tests("stats: permutations", tests);
}
