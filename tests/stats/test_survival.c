/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

enum { MOST = 60 };

/* Rows in order, bounds after events of the same load; loads tie often. */
static size_t draw(struct be_random *random, size_t causes, struct be_caused *rows)
{
  size_t n = 2 + be_random_below(random, MOST - 2);
  double keys[MOST];
  size_t order[MOST];
  struct be_caused drawn[MOST];
  for (size_t i = 0; i < n; i++) {
    drawn[i].load = 21.3 + 1.7 * (double)be_random_below(random, 25);
    drawn[i].cause = (int)be_random_below(random, causes + 1) - 1;
    keys[i] = drawn[i].load + (drawn[i].cause == BE_CAUSE_NONE ? 0.1 : 0);
  }
  be_order(keys, n, order);
  for (size_t i = 0; i < n; i++) rows[i] = drawn[order[i]];
  return n;
}

static void any(const struct be_caused *rows, size_t n, struct be_held *held)
{
  for (size_t i = 0; i < n; i++)
    held[i] = (struct be_held){rows[i].load, rows[i].cause == BE_CAUSE_NONE, 1};
}

/* How many of the rows are at or above the load, and how many let go at it by the cause. */
static double at_risk(const struct be_caused *rows, size_t n, double load)
{
  double count = 0;
  for (size_t i = 0; i < n; i++) count += rows[i].load >= load;
  return count;
}

static double fallen(const struct be_caused *rows, size_t n, double load, int cause)
{
  double count = 0;
  for (size_t i = 0; i < n; i++) {
    bool right = cause < 0 ? rows[i].cause >= 0 : rows[i].cause == cause;
    count += rows[i].load == load && right;
  }
  return count;
}

/* The product over the grid of loads, counted anew at each. */
static double slow_survival(const struct be_caused *rows, size_t n, double load, double *greenwood)
{
  double survival = 1;
  *greenwood = 0;
  for (int k = 0; k < 25; k++) {
    double x = 21.3 + 1.7 * k, m = at_risk(rows, n, x), d = fallen(rows, n, x, -1);
    if (x > load || d == 0) continue;
    survival *= 1 - d / m;
    if (d < m) *greenwood += d / m / (m - d);
  }
  return survival;
}

static void product_limit_by_counting(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 1958, 1);
  for (int i = 0; i < 200; i++) {
    struct be_caused rows[MOST];
    struct be_held held[MOST];
    struct be_step steps[MOST];
    size_t n = draw(&random, 2, rows);
    any(rows, n, held);
    size_t count = be_kaplan_meier(held, n, 0.9, steps);
    for (size_t k = 0; k < count; k++) {
      double greenwood, survival = slow_survival(rows, n, steps[k].load, &greenwood);
      assert_true(k == 0 || steps[k].load > steps[k - 1].load);
      assert_int_equal(steps[k].at_risk, (size_t)at_risk(rows, n, steps[k].load));
      assert_int_equal(steps[k].events, (size_t)fallen(rows, n, steps[k].load, -1));
      assert_near(steps[k].survival, survival, 1e-13);
      assert_near(steps[k].se, survival > 1e-9 ? survival * sqrt(greenwood) : 0, 1e-13);
      struct be_interval interval = steps[k].interval;
      assert_true(interval.level == 0.9);
      if (survival < 1e-9) {
        assert_true(isnan(interval.low) && isnan(interval.high));
        continue;
      }
      /* By definition log(-log) is 1.6449 errors away at either end. */
      double z = be_normal_quantile(0.05), unit = steps[k].se / (survival * -log(survival));
      assert_near(log(-log(interval.low)) - log(-log(survival)), z * unit, 1e-11);
      assert_near(log(-log(interval.high)) - log(-log(survival)), -z * unit, 1e-11);
    }
  }
}

/* Without bounds the estimate is the share above, its error binomial, its mean the mean with
 * the sum of squares over n^2. */
static void without_bounds_it_is_the_share_above(void **state)
{
  (void)state;
  static const double x[] = {22.7, 24.1, 24.1, 28.4, 31.7, 33.9, 36.2, 41.3};
  struct be_held held[8];
  struct be_step steps[8];
  for (size_t i = 0; i < 8; i++) held[i] = (struct be_held){x[i], false, 1};
  assert_int_equal(be_kaplan_meier(held, 8, 0.95, steps), 7);
  size_t above = 8;
  for (size_t i = 0; i < 7; i++) {
    above -= steps[i].events;
    double share = (double)above / 8;
    assert_near(steps[i].survival, share, 1e-15);
    assert_near(steps[i].se, sqrt(share * (1 - share) / 8), 1e-15);
  }
  struct be_summary summary;
  be_summary_of(x, 8, &summary);
  struct be_estimate mean = be_kaplan_meier_mean(steps, 7, 41.3);
  assert_near(mean.value, summary.mean, 1e-13);
  assert_near(mean.variance, summary.sd * summary.sd * 7 / 64, 1e-13);
  assert_true(isinf(mean.df) && mean.n == 8);
  /* Those above the limit count as the limit. */
  mean = be_kaplan_meier_mean(steps, 7, 30);
  assert_near(mean.value, (22.7 + 24.1 + 24.1 + 28.4 + 4 * 30) / 8, 1e-13);
  mean = be_kaplan_meier_mean(steps, 7, 11);
  assert_near(mean.value, 11, 0);
  assert_near(mean.variance, 0, 0);
  mean = be_kaplan_meier_mean(steps, 0, 11);
  assert_near(mean.value, 11, 0);
  /* The lowest load by which half are gone: 4 of 8, at 28.4, although 4 / 8 is not below. */
  struct be_measure median;
  be_kaplan_meier_quantile(steps, 7, 0.5, &median);
  assert_near(median.value, 28.4, 0);
}

/* A load belongs to the interval while 1 - p is inside the estimate's interval there. */
static void quantiles_by_their_definition(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 1982, 1);
  size_t unknown = 0, endless = 0;
  for (int i = 0; i < 300; i++) {
    struct be_caused rows[MOST];
    struct be_held held[MOST];
    struct be_step steps[MOST];
    struct be_measure got;
    size_t n = draw(&random, 1, rows);
    any(rows, n, held);
    size_t count = be_kaplan_meier(held, n, 0.95, steps);
    double p = 0.05 + 0.9 * be_random_unit(&random), value = NAN, low = NAN, high = INFINITY;
    be_kaplan_meier_quantile(steps, count, p, &got);
    for (size_t k = count; k-- > 0;) {
      if (steps[k].survival <= 1 - p) value = steps[k].load;
      if (!(steps[k].interval.low > 1 - p)) low = steps[k].load;
      if (steps[k].interval.high <= 1 - p) high = steps[k].load;
    }
    if (isnan(low)) high = NAN;
    assert_near(got.value, value, 0);
    assert_near(got.interval.low, low, 0);
    if (isinf(high)) assert_true(isinf(got.interval.high));
    else assert_near(got.interval.high, high, 0);
    unknown += isnan(value);
    endless += isinf(high);
  }
  assert_true(unknown > 10 && endless > 10);
  struct be_measure none;
  be_kaplan_meier_quantile(NULL, 0, 0.5, &none);
  assert_true(isnan(none.value) && isnan(none.interval.low));
}

static void log_rank_by_counting(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 1966, 1);
  for (int i = 0; i < 200; i++) {
    struct be_caused a[MOST], b[MOST];
    struct be_held a_held[MOST], b_held[MOST];
    size_t a_n = draw(&random, 2, a), b_n = draw(&random, 1, b);
    any(a, a_n, a_held);
    any(b, b_n, b_held);
    double chi2, p, again, difference = 0, variance = 0;
    be_log_rank(a_held, a_n, b_held, b_n, &chi2, &p);
    for (int k = 0; k < 25; k++) {
      double x = 21.3 + 1.7 * k, m1 = at_risk(a, a_n, x), m = m1 + at_risk(b, b_n, x);
      double d1 = fallen(a, a_n, x, -1), d = d1 + fallen(b, b_n, x, -1);
      if (m < 2) continue;
      difference += d1 - d * m1 / m;
      variance += d * (m1 / m) * (1 - m1 / m) * (m - d) / (m - 1);
    }
    if (variance < 1e-12) continue;
    assert_near(chi2 / (difference * difference / variance), 1, 1e-10);
    assert_near(p, be_chi2_upper(chi2, 1), 0);
    be_log_rank(b_held, b_n, a_held, a_n, &again, &p);
    assert_near(again, chi2, 1e-10 * (1 + chi2));
  }
  static const struct be_held bound = {31.7, true, 1}, event = {28.4, false, 1};
  double chi2, p;
  be_log_rank(&bound, 1, &bound, 1, &chi2, &p);
  assert_true(isnan(chi2) && isnan(p));
  be_log_rank(&event, 0, &event, 1, &chi2, &p);
  assert_true(isnan(chi2) && isnan(p));
}

/* ---- causes ---- */

/* The incidence is a smooth function of the weights of the pulls: its variance by the
 * infinitesimal jackknife, sum of squared slopes over n^2, taken here by differences. */
static double weighted_incidence(const struct be_caused *rows, const double *weight, size_t n,
                                 double load, int cause)
{
  double survival = 1, incidence = 0;
  for (int k = 0; k < 25; k++) {
    double x = 21.3 + 1.7 * k, m = 0, d = 0, of = 0;
    if (x > load) break;
    for (size_t i = 0; i < n; i++) {
      if (rows[i].load >= x) m += weight[i];
      if (rows[i].load == x && rows[i].cause >= 0) d += weight[i];
      if (rows[i].load == x && rows[i].cause == cause) of += weight[i];
    }
    if (d == 0) continue;
    incidence += survival * of / m;
    survival *= 1 - d / m;
  }
  return incidence;
}

static void check_incidences(const struct be_caused *rows, size_t n, double load, size_t causes)
{
  struct be_measure got[BE_CAUSES_MAX];
  double intact, greenwood, sum = 0, weight[MOST];
  be_incidence(rows, n, load, causes, 0.9, got, &intact);
  assert_near(intact, slow_survival(rows, n, load, &greenwood), 1e-13);
  for (size_t i = 0; i < n; i++) weight[i] = 1;
  for (size_t k = 0; k < causes; k++) {
    double value = weighted_incidence(rows, weight, n, load, (int)k), variance = 0;
    assert_near(got[k].value, value, 1e-13);
    sum += got[k].value;
    for (size_t i = 0; i < n; i++) {
      const double h = 1e-5;
      weight[i] = 1 + h;
      double up = weighted_incidence(rows, weight, n, load, (int)k);
      weight[i] = 1 - h;
      double slope = (up - weighted_incidence(rows, weight, n, load, (int)k)) / (2 * h);
      weight[i] = 1;
      variance += slope * slope;
    }
    if (value <= 0 || value >= 1 - 1e-12) continue;
    double half = (log(-log(got[k].interval.low)) - log(-log(got[k].interval.high))) / 2;
    double se = half * value * -log(value) / be_normal_quantile(0.05);
    assert_near(se, sqrt(variance), 1e-7);
    assert_true(got[k].interval.low >= 0 && got[k].interval.high <= 1);
  }
  assert_near(sum + intact, 1, 1e-13);
}

static void incidence_by_weights(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 1978, 1);
  for (int i = 0; i < 60; i++) {
    struct be_caused rows[MOST];
    size_t n = draw(&random, 3, rows);
    for (int k = 0; k < 25; k += 6) check_incidences(rows, n, 21.3 + 1.7 * k, 3);
  }
}

static void incidence_at_the_ends(void **state)
{
  (void)state;
  static const struct be_caused rows[] = {
      {22.7, 1}, {24.1, 1}, {28.4, 0}, {28.4, BE_CAUSE_NONE}, {31.7, 1}};
  struct be_measure got[3];
  double intact;
  be_incidence(rows, 5, 20, 3, 0.95, got, &intact);
  assert_true(intact == 1 && got[0].value == 0 && got[1].value == 0);
  assert_true(isnan(got[0].interval.low) && isnan(got[0].interval.high));
  /* 28.4 itself is in it, 28.3 is not. */
  be_incidence(rows, 5, 28.3, 3, 0.95, got, &intact);
  assert_near(got[0].value, 0, 0);
  be_incidence(rows, 5, 28.4, 3, 0.95, got, &intact);
  assert_near(got[0].value, 0.2, 1e-15);
  be_incidence(rows, 5, 99, 3, 0.95, got, &intact);
  assert_near(intact, 0, 0);
  assert_near(got[0].value, 0.2, 1e-15);
  assert_near(got[1].value, 0.8, 1e-15);
  assert_near(got[2].value, 0, 0);
  /* One cause is 1 less the product limit, and its error Greenwood's. */
  struct be_caused one[5];
  struct be_held held[5];
  struct be_step steps[5];
  for (size_t i = 0; i < 5; i++)
    one[i] = (struct be_caused){rows[i].load, rows[i].cause < 0 ? -1 : 0};
  be_only_cause(one, 5, 0, held);
  assert_int_equal(be_kaplan_meier(held, 5, 0.95, steps), 4);
  be_incidence(one, 5, 28.4, 1, 0.95, got, &intact);
  assert_near(got[0].value, 1 - steps[2].survival, 1e-15);
  double half = (log(-log(got[0].interval.low)) - log(-log(got[0].interval.high))) / 2;
  assert_near(half * got[0].value * -log(got[0].value) / be_normal_quantile(0.025), steps[2].se,
              1e-13);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(product_limit_by_counting),
      cmocka_unit_test(without_bounds_it_is_the_share_above),
      cmocka_unit_test(quantiles_by_their_definition),
      cmocka_unit_test(log_rank_by_counting),
      cmocka_unit_test(incidence_by_weights),
      cmocka_unit_test(incidence_at_the_ends),
  };
  return be_tests("stats: survival and causes", tests);
}
