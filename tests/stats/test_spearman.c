/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spearman's rho over all orders, and the slope with its interval. */
#include "fault/failing.h"
#include "stats/stats.h"
#include "test.h"

static struct be_rank_order order_of(const double *x, const double *y, size_t n, size_t times)
{
  const struct be_resampling how = {.seed = 3, .times = times, .level = 0.95};
  struct be_rank_order result;
  assert_int_equal(be_permute_rank(x, y, n, &how, &result, NULL), BE_OK);
  return result;
}

static const double seven_x[] = {3.1, 1.2, 5.7, 4.4, 2.05, 6.9, 7.3};
static const double seven_y[] = {10.2, 9.1, 13.7, 9.9, 8.4, 12.5, 15.1};

/* Derived with R 4.2.2: cor.test(method = "spearman", exact = TRUE); the slope and its interval
 * by the same test of x and y - b x between all 21 slopes of pairs. */
static void as_cor_test_has_it(void **state)
{
  (void)state;
  struct be_rank_order got = order_of(seven_x, seven_y, 7, 1);
  assert_true(got.exact && got.orders == 5040);
  assert_near(got.rho, 0.8928571428571427, 1e-15);
  assert_near(got.p, 0.0123015873015873, 1e-15);
  assert_near(got.slope.value, 0.983606557377049, 1e-14);
  assert_near(got.slope.interval.low, 0.578947368421052, 1e-14);
  assert_near(got.slope.interval.high, 1.452054794520548, 1e-14);
  assert_near(got.least_p, 2 / 5040.0, 1e-18);
  static const double x[] = {2, 9, 4, 7, 1, 6, 3, 8, 5}, y[] = {8, 3, 7, 2.5, 9, 1, 6, 4, 5.5};
  got = order_of(x, y, 9, 1);
  assert_true(got.exact && got.orders == 362880);
  assert_near(got.rho, -0.83333333333333337, 1e-15);
  assert_near(got.p, 0.00826719576719577, 1e-15);
}

/* Ties, derived with R 4.2.2 over all 720 orders. */
static void ties_are_borne(void **state)
{
  (void)state;
  static const double x[] = {2, 2, 5, 7, 7, 9}, y[] = {61.3, 58.2, 58.2, 44.9, 51.7, 40.1};
  struct be_rank_order got = order_of(x, y, 6, 1);
  assert_near(got.rho, -0.94040325859178808, 1e-14);
  assert_near(got.p, 0.01666666666666667, 1e-15);
  assert_near(got.least_p, 0.00555555555555556, 1e-15);
}

/* Every order once, by choosing place after place; counts them by the sum of squared differences
 * of ranks, and keeps one order of each sum. */
enum { SUMS = 200 };
struct counted {
  size_t n, count[SUMS], all;
  double order[SUMS][8];
};

static void choose(struct counted *counted, double *order, size_t place, unsigned taken, size_t sum)
{
  if (place == counted->n) {
    counted->count[sum]++;
    counted->all++;
    memcpy(counted->order[sum], order, counted->n * sizeof *order);
    return;
  }
  for (size_t r = 0; r < counted->n; r++) {
    if (taken >> r & 1) continue;
    size_t off = r > place ? r - place : place - r;
    order[place] = (double)r;
    choose(counted, order, place + 1, taken | 1u << r, sum + off * off);
  }
}

/* The least rho > 0 whose chance on both sides is alpha at most; 2: none. */
static double critical_rho(const struct counted *counted, double alpha)
{
  double n = (double)counted->n, least = 2;
  size_t below = 0;
  for (size_t sum = 0; sum < SUMS; sum++) {
    below += counted->count[sum];
    double rho = 1 - 6 * (double)sum / (n * (n * n - 1)),
           p = 2 * (double)below / (double)counted->all;
    if (counted->count[sum] == 0 || rho <= 0 || p > alpha) continue;
    least = rho;
    double x[8];
    for (size_t i = 0; i < counted->n; i++) x[i] = 3.25 + 1.7 * (double)i;
    struct be_rank_order got = order_of(x, counted->order[sum], counted->n, 1);
    assert_near(got.rho, rho, 1e-15);
    assert_near(got.p, p, 1e-15);
  }
  return least;
}

/* Critical values of J. H. Zar, J. Am. Stat. Assoc. 67 (1972) 578, two-sided 0.05 and 0.01:
 * memory, verified by the orders counted here. */
static void critical_values_of_zar(void **state)
{
  (void)state;
  static const struct {
    size_t n;
    double at_5, at_1;
  } rows[] = {{4, 2, 2}, {5, 1, 2}, {6, 0.886, 1}, {7, 0.786, 0.929}, {8, 0.738, 0.881}};
  for (size_t i = 0; i < 5; i++) {
    static struct counted counted;
    double order[8];
    memset(&counted, 0, sizeof counted);
    counted.n = rows[i].n;
    choose(&counted, order, 0, 0, 0);
    assert_near(critical_rho(&counted, 0.05), rows[i].at_5, 5e-4);
    assert_near(critical_rho(&counted, 0.01), rows[i].at_1, 5e-4);
  }
}

static void a_perfect_order_of_five(void **state)
{
  (void)state;
  static const double x[] = {4, 9, 11, 30, 31}, y[] = {-1, -2, -4, -8, -19};
  struct be_rank_order got = order_of(x, y, 5, 1);
  assert_near(got.rho, -1, 0);
  assert_near(got.p, 2.0 / 120, 1e-17);
  assert_near(got.least_p, got.p, 0);
  assert_true(got.slope.interval.low < got.slope.value && got.slope.interval.high < 0);
}

/* Four allow no p below 1/12: no interval either. */
static void few_things_bound_no_slope(void **state)
{
  (void)state;
  static const double x[] = {1, 2, 3, 4}, y[] = {5.5, 6.25, 7.5, 9};
  struct be_rank_order got = order_of(x, y, 4, 1);
  assert_near(got.p, 1.0 / 12, 1e-16);
  assert_near(got.slope.value, 1.20833333333333, 1e-14); /* derived with R 4.2.2 */
  assert_true(isnan(got.slope.interval.low) && isnan(got.slope.interval.high));
}

/* By chance, against what is counted out: 20000 draws know p of 0.07 to 0.002 or so; four of
 * that. */
static void many_are_drawn(void **state)
{
  (void)state;
  double x[12], y[12];
  for (size_t i = 0; i < 12; i++) {
    x[i] = (double)i;
    y[i] = (double)(i * 7 % 12) + (double)i * 0.75;
  }
  struct be_rank_order got = order_of(x, y, 12, 20000);
  assert_true(!got.exact && got.orders == 20000);
  assert_near(got.least_p, 1 / 20001.0, 1e-18);
  /* Student's t with n - 2, close enough at 12 (Kendall, Rank Correlation Methods, 1948). */
  double t = got.rho * sqrt(10 / (1 - got.rho * got.rho));
  struct be_estimate as_t = {t, 1, 10, 12};
  assert_near(got.p, be_estimate_p(&as_t), 0.012);
  struct be_rank_order again = order_of(x, y, 12, 20000);
  assert_near(again.p, got.p, 0);
}

static void what_has_no_order(void **state)
{
  (void)state;
  static const double x[] = {3, 3, 3, 3}, y[] = {1, 2, 4, 8}, bad[] = {1, NAN, 3, 4};
  struct be_rank_order got = order_of(x, y, 4, 1);
  assert_true(isnan(got.rho) && isnan(got.p) && isnan(got.slope.value));
  got = order_of(y, x, 0, 1);
  assert_true(isnan(got.rho));
  struct be_resampling how = {.seed = 1, .times = 0, .level = 0.9};
  assert_int_equal(be_permute_rank(x, y, 4, &how, &got, NULL), BE_WRONG_USE);
  how.times = 5;
  assert_int_equal(be_permute_rank(y, bad, 4, &how, &got, NULL), BE_BAD_INPUT);
  assert_int_equal(be_permute_rank(x, y, BE_RANK_ORDER_MAX + 1, &how, &got, NULL), BE_TOO_LARGE);
}

static enum be_status seven(void *context, struct be_err *err)
{
  (void)context;
  const struct be_resampling how = {.seed = 3, .times = 1, .level = 0.95};
  struct be_rank_order got;
  return be_permute_rank(seven_x, seven_y, 7, &how, &got, err);
}

static void memory_fails(void **state)
{
  (void)state;
  be_fail_loop(seven, NULL, 2);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(as_cor_test_has_it),        cmocka_unit_test(ties_are_borne),
      cmocka_unit_test(critical_values_of_zar),    cmocka_unit_test(a_perfect_order_of_five),
      cmocka_unit_test(few_things_bound_no_slope), cmocka_unit_test(many_are_drawn),
      cmocka_unit_test(what_has_no_order),         cmocka_unit_test(memory_fails),
  };
  return be_tests("stats: rank correlation", tests);
}
