/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Intervals of one rate, and two rates. */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

static double binomial(size_t k, size_t n, double rate)
{
  return exp(lgamma((double)n + 1) - lgamma((double)k + 1) - lgamma((double)(n - k) + 1) +
             (double)k * log(rate) + (double)(n - k) * log1p(-rate));
}

/* ---- one ---- */

/* Derived with R 4.2.2 (prop.test without correction; formula of method 4; qbeta). */
static void intervals_agree_with_r(void **state)
{
  (void)state;
  struct be_interval i = be_rate_wilson(5, 7, 0.95, false);
  assert_near(i.low, 0.358934451832619, 1e-14);
  assert_near(i.high, 0.917781075995943, 1e-14);
  i = be_rate_wilson(5, 7, 0.95, true);
  assert_near(i.low, 0.302560029813928, 1e-14);
  assert_near(i.high, 0.948875693954224, 1e-14);
  i = be_rate_wilson(81, 263, 0.9, true);
  assert_near(i.low, 0.261511202181343, 1e-14);
  assert_near(i.high, 0.358526584457128, 1e-14);
  assert_near(be_rate_wilson(0, 23, 0.95, true).high, 0.178098653466276, 1e-14);
  assert_near(be_rate_wilson(23, 23, 0.95, true).low, 0.821901346533724, 1e-14);
  i = be_rate_jeffreys(5, 7, 0.9);
  assert_near(be_beta_lower(i.low, 1 - i.low, 5.5, 2.5), 0.05, 1e-13);
  assert_near(be_beta_lower(i.high, 1 - i.high, 5.5, 2.5), 0.95, 1e-13);
}

/* Wilson's ends are where the score statistic equals z; and what is said of k holds of n - k. */
static void intervals_by_definition_and_mirrored(void **state)
{
  (void)state;
  double z = be_normal_quantile(0.05);
  for (size_t n = 1; n < 50; n += 4)
    for (size_t k = 0; k <= n; k++) {
      double rate = (double)k / (double)n;
      struct be_interval i = be_rate_wilson(k, n, 0.9, false);
      struct be_interval wide = be_rate_wilson(k, n, 0.9, true);
      assert_true(i.level == 0.9 && wide.level == 0.9);
      double low = (rate - i.low) * (rate - i.low) - z * z * i.low * (1 - i.low) / (double)n;
      double high = (rate - i.high) * (rate - i.high) - z * z * i.high * (1 - i.high) / (double)n;
      assert_near(low, 0, 1e-15);
      assert_near(high, 0, 1e-15);
      assert_true(wide.low <= i.low && wide.high >= i.high);
      struct be_interval other[] = {be_rate_wilson(n - k, n, 0.9, false),
                                    be_rate_wilson(n - k, n, 0.9, true),
                                    be_rate_jeffreys(n - k, n, 0.9)};
      struct be_interval these[] = {i, wide, be_rate_jeffreys(k, n, 0.9)};
      for (size_t m = 0; m < 3; m++) {
        assert_near(these[m].low, 1 - other[m].high, 1e-14);
        assert_true((these[m].low == 0) == (k == 0) || m == 1);
        assert_true((these[m].high == 1) == (k == n) || m == 1);
        assert_true(these[m].low <= rate && rate <= these[m].high);
      }
      assert_near(be_rate_lower(k, n, 0.95), 1 - be_rate_upper(n - k, n, 0.95), 1e-14);
      assert_near(be_rate_lower(k, n, 0.95), be_rate_exact(k, n, 0.9).low, 1e-14);
    }
  for (int m = 0; m < 2; m++) {
    struct be_interval none = be_rate_wilson(0, 0, 0.9, m);
    assert_true(none.low == 0 && none.high == 1);
  }
  assert_true(be_rate_jeffreys(0, 0, 0.9).low == 0 && be_rate_jeffreys(0, 0, 0.9).high == 1);
  assert_true(be_rate_lower(0, 0, 0.9) == 0);
}

/* For every true rate the chance of an interval that holds it, added up exactly. */
static void clopper_and_pearson_never_cover_less(void **state)
{
  (void)state;
  static const size_t sizes[] = {1, 2, 5, 12, 30, 61};
  for (size_t s = 0; s < 6; s++) {
    size_t n = sizes[s];
    struct be_interval i[62];
    double least = 1;
    for (size_t k = 0; k <= n; k++) i[k] = be_rate_exact(k, n, 0.9);
    for (double rate = 0.0007; rate < 1; rate += 0.00131) {
      double covered = 0;
      for (size_t k = 0; k <= n; k++)
        if (i[k].low <= rate && rate <= i[k].high) covered += binomial(k, n, rate);
      least = fmin(least, covered);
    }
    assert_true(least >= 0.9 - 1e-12);
    assert_true(n < 12 || least < 0.94); /* it does come near */
  }
}

static void success_runs(void **state)
{
  (void)state;
  assert_int_equal(be_success_run(0.5, 0.75), 2);
  assert_int_equal(be_success_run(0.5, 0.875), 3);
  assert_int_equal(be_success_run(0.5, 0.8750001), 4);
  assert_int_equal(be_success_run(0.9, 1 - 0.9 * 0.9 * 0.9), 3);
  assert_int_equal(be_success_run(0.01, 0.02), 1);
  for (double rate = 0.613; rate < 1; rate += 0.0171)
    for (double level = 0.513; level < 1; level += 0.0231) {
      double n = (double)be_success_run(rate, level);
      assert_true(pow(rate, n) <= (1 - level) * (1 + 1e-10));
      assert_true(n == 1 || pow(rate, n - 1) > 1 - level);
    }
}

/* ---- two ---- */

struct table {
  size_t ka, na, kb, nb;
  double level;
  double fisher, odds, low, high; /* R 4.2.2: fisher.test */
};
static const double endless = INFINITY;
static const struct table tables[] = {
    {10, 400, 3, 380, 0.95, 0.0909752007389866, 3.21818907577636, 0.820161160402322,
     18.3340776873312},
    {7, 15, 12, 15, 0.95, 0.128135932033983, 0.230946437996883, 0.0293020409139481,
     1.3772811281025},
    {3, 4, 1, 4, 0.95, 0.485714285714286, 6.40830886700579, 0.211732915305503, 621.933750545417},
    {0, 17, 5, 19, 0.95, 0.0472582972582973, 0, 0, 1.09110682137475},
    {17, 17, 11, 19, 0.95, 0.00330108650464602, INFINITY, 2.04615851334428, INFINITY},
    {2, 31, 9, 23, 0.9, 0.00523891395794954, 0.112122953855018, 0.0155079099074613,
     0.518792694464151},
    {10, 15, 1, 13, 0.95, 0.00208492245105518, 20.9680608806653, 2.08010208146997,
     1116.74688856862},
};

/* P(ka or more), P(ka or less) and the mean at some odds, straight from the binomials. */
static void slow_odds(const struct table *t, double odds, double *upper, double *lower,
                      double *mean)
{
  size_t all = t->ka + t->kb;
  double total = 0;
  *upper = *lower = *mean = 0;
  for (size_t x = all > t->nb ? all - t->nb : 0; x <= all && x <= t->na; x++) {
    double weight = binomial(x, t->na, 0.5) * binomial(all - x, t->nb, 0.5) *
                    exp(((double)x - (double)t->ka) * log(odds));
    total += weight;
    *mean += weight * (double)x;
    if (x >= t->ka) *upper += weight;
    if (x <= t->ka) *lower += weight;
  }
  *upper /= total;
  *lower /= total;
  *mean /= total;
}

/* R seeks odds, or one over them when they are above 1, to 1.3e-4. */
static void near_or_endless(double got, double want, double within)
{
  if (isinf(want) || want == 0) assert_true(got == want);
  else if (want > 1) assert_near(1 / got, 1 / want, within);
  else assert_near(got, want, within);
}

static void fisher_agrees_with_r(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
    const struct table *t = &tables[i];
    struct be_rates rates;
    be_rates_compare(t->ka, t->na, t->kb, t->nb, t->level, &rates);
    assert_near(rates.fisher_p, t->fisher, 1e-13);
    near_or_endless(rates.odds_ratio.value, t->odds, 1.3e-4);
    near_or_endless(rates.odds_ratio.interval.low, t->low, 1.3e-4);
    near_or_endless(rates.odds_ratio.interval.high, t->high, 1.3e-4);
    double upper, lower, mean, tail = (1 - t->level) / 2;
    if (rates.odds_ratio.value > 0 && rates.odds_ratio.value < endless) {
      slow_odds(t, rates.odds_ratio.value, &upper, &lower, &mean);
      assert_near(mean, (double)t->ka, 1e-10 * (double)(t->ka + 1));
    }
    if (rates.odds_ratio.interval.low > 0) {
      slow_odds(t, rates.odds_ratio.interval.low, &upper, &lower, &mean);
      assert_near(upper, tail, 1e-11);
    }
    if (rates.odds_ratio.interval.high < endless) {
      slow_odds(t, rates.odds_ratio.interval.high, &upper, &lower, &mean);
      assert_near(lower, tail, 1e-11);
    }
  }
}

/* Barnard by every pair of binomials, a fine grid of rates and an optimizer at its best
 * points: derived with R 4.2.2. Of 7 of 15 and 12 of 15 the one-sided 0.0341 is Mehta and
 * Senchaudhuri's (2003), from memory; sides of one size give it twice at that rate. */
static void barnard_agrees_with_r(void **state)
{
  (void)state;
  static const struct {
    size_t ka, na, kb, nb;
    double p;
  } rows[] = {
      {3, 4, 1, 4, 0.2890625},           {7, 15, 12, 15, 0.0682183093232},
      {0, 17, 5, 19, 0.0292225329322},   {2, 31, 9, 23, 0.00331979087251},
      {10, 15, 1, 13, 0.00125317275524}, {1, 3, 9, 40, 0.948631471671},
      {4, 6, 2, 25, 0.00234322947891},   {0, 29, 3, 31, 0.0987199300246},
      {10, 100, 3, 95, 0.0597015338553}, {10, 400, 3, 380, 0.0644424857787},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double p = be_barnard(rows[i].ka, rows[i].na, rows[i].kb, rows[i].nb);
    assert_near(p, rows[i].p, 1e-8);
    assert_near(be_barnard(rows[i].kb, rows[i].nb, rows[i].ka, rows[i].na), p, 1e-9);
    assert_near(
        be_barnard(rows[i].na - rows[i].ka, rows[i].na, rows[i].nb - rows[i].kb, rows[i].nb), p,
        1e-9);
  }
}

/* The slow way for every small table: all pairs, 3000 rates. What is found must be no less
 * than on that grid, and hardly more. */
static void barnard_of_every_small_table(void **state)
{
  (void)state;
  enum { NA = 6, NB = 9, RATES = 3000 };
  static double pairs[RATES][NA + 1][NB + 1], z[NA + 1][NB + 1];
  for (size_t i = 0; i <= NA; i++)
    for (size_t j = 0; j <= NB; j++) {
      double mean = (double)(i + j) / (NA + NB), apart = (double)i / NA - (double)j / NB;
      z[i][j] = i + j == 0 || i + j == NA + NB ? 0 : apart / sqrt(mean * (1 - mean));
      for (size_t r = 0; r < RATES; r++) {
        double rate = ((double)r + 0.5) / RATES;
        pairs[r][i][j] = binomial(i, NA, rate) * binomial(j, NB, rate);
      }
    }
  for (size_t ka = 0; ka <= NA; ka++)
    for (size_t kb = 0; kb <= NB; kb++) {
      double greatest = 0, p = be_barnard(ka, NA, kb, NB);
      for (size_t r = 0; r < RATES; r++) {
        double sum = 0;
        for (size_t i = 0; i <= NA; i++)
          for (size_t j = 0; j <= NB; j++)
            if (fabs(z[i][j]) >= fabs(z[ka][kb]) - 1e-9) sum += pairs[r][i][j];
        greatest = fmax(greatest, sum);
      }
      assert_true(p >= greatest - 1e-9);
      assert_near(p, greatest, 1e-5);
    }
}

static void barnard_at_its_limits(void **state)
{
  (void)state;
  assert_true(be_barnard(3, 12, 2, 8) == 1 && be_barnard(0, 12, 0, 8) == 1);
  assert_true(isnan(be_barnard(0, 0, 3, 8)) && isnan(be_barnard(3, 8, 0, 0)));
  assert_true(isnan(be_barnard(3, 1001, 5, 8)) && isnan(be_barnard(3, 8, 5, 1001)));
  double p = be_barnard(480, 1000, 520, 1000);
  /* With so many the score statistic is normal: 40 or more, so 39.5, of a deviation of 22.4. */
  assert_near(p, 2 * be_normal_upper(39.5 / sqrt(500)), 1e-3);
  assert_true(be_barnard(1000, 1000, 0, 1000) < 1e-200);
  assert_near(be_barnard(1, 1, 0, 1), 0.5, 1e-9);
}

/* Derived with R 4.2.2 from its Wilson intervals; 56 of 70 and 48 of 80 as in Newcombe's
 * (1998) table II, row a, whose 0.0524 and 0.3339 are from memory. */
static void differences_agree_with_newcombe(void **state)
{
  (void)state;
  static const struct {
    size_t ka, na, kb, nb;
    double value, low, high;
  } rows[] = {
      {56, 70, 48, 80, 0.2, 0.0524314724023649, 0.333872654036906},
      {9, 10, 3, 10, 0.6, 0.170522723934503, 0.809017973535488},
      {10, 400, 3, 380, 0.0171052631578947, -0.00175870362249833, 0.0381606631278059},
      {5, 56, 0, 29, 0.0892857142857143, -0.0381371479035369, 0.192560013855112},
  };
  for (size_t i = 0; i < 4; i++) {
    struct be_rates rates;
    be_rates_compare(rows[i].ka, rows[i].na, rows[i].kb, rows[i].nb, 0.95, &rates);
    assert_near(rates.difference.value, rows[i].value, 1e-14);
    assert_near(rates.difference.interval.low, rows[i].low, 1e-13);
    assert_near(rates.difference.interval.high, rows[i].high, 1e-13);
    struct be_rates back;
    be_rates_compare(rows[i].kb, rows[i].nb, rows[i].ka, rows[i].na, 0.95, &back);
    assert_near(back.difference.interval.low, -rows[i].high, 1e-13);
    assert_near(back.fisher_p, rates.fisher_p, 1e-13);
    near_or_endless(back.odds_ratio.value, 1 / rates.odds_ratio.value, 1e-10);
  }
}

static void tables_that_say_nothing(void **state)
{
  (void)state;
  struct be_rates rates;
  be_rates_compare(0, 13, 0, 17, 0.95, &rates);
  assert_true(rates.fisher_p == 1 && rates.barnard_p == 1 && isnan(rates.odds_ratio.value));
  assert_true(rates.odds_ratio.interval.low == 0 && isinf(rates.odds_ratio.interval.high));
  be_rates_compare(13, 13, 17, 17, 0.95, &rates);
  assert_true(rates.fisher_p == 1 && rates.barnard_p == 1 && isnan(rates.odds_ratio.value));
  be_rates_compare(0, 0, 4, 17, 0.95, &rates);
  assert_true(isnan(rates.fisher_p) && isnan(rates.barnard_p) && isnan(rates.difference.value));
  assert_true(isnan(rates.odds_ratio.value) && isnan(rates.difference.interval.low));
  /* Beyond Barnard's size the others still answer. */
  be_rates_compare(5210, 100000, 4790, 100000, 0.95, &rates);
  assert_true(isnan(rates.barnard_p));
  double mean = 0.05, z = 0.0042 / sqrt(mean * (1 - mean) * 2e-5);
  assert_near(rates.fisher_p, 2 * be_normal_upper(z), 1e-6);
  double odds = 5210 * 95210.0 / (4790 * 94790.0);
  assert_near(rates.odds_ratio.value, odds, 1e-5);
  double deviation = sqrt(1.0 / 5210 + 1.0 / 94790 + 1.0 / 4790 + 1.0 / 95210);
  assert_near(log(rates.odds_ratio.interval.low), log(odds) - 1.96 * deviation, 5e-4);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(intervals_agree_with_r),
      cmocka_unit_test(intervals_by_definition_and_mirrored),
      cmocka_unit_test(clopper_and_pearson_never_cover_less),
      cmocka_unit_test(success_runs),
      cmocka_unit_test(fisher_agrees_with_r),
      cmocka_unit_test(barnard_agrees_with_r),
      cmocka_unit_test(barnard_of_every_small_table),
      cmocka_unit_test(barnard_at_its_limits),
      cmocka_unit_test(differences_agree_with_newcombe),
      cmocka_unit_test(tables_that_say_nothing),
  };
  return be_tests("stats: rates", tests);
}
