/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rates held against published figures. "Memory, verified" means that the published digits were
 * recalled and then reproduced with R 4.2.2, which gave the further ones. */
#include "stats/stats.h"
#include "test.h"

/* Newcombe, Stat. Med. 17 (1998) 857, table I, methods 3, 4 and 5: memory, verified.
 * Jeffreys: derived. */
static void newcombe_intervals(void **state)
{
  (void)state;
  static const struct {
    size_t k, n;
    double printed[3][2], value[4][2];
  } rows[] = {
      {81,
       263,
       {{0.2553, 0.3662}, {0.2535, 0.3682}, {0.2527, 0.3676}},
       {{0.2552885199, 0.366209577},
        {0.2535086823, 0.368176201},
        {0.2527367456, 0.3676219226},
        {0.254521935, 0.3656474992}}},
      {1,
       29,
       {{0.0061, 0.1718}, {0.0018, 0.1963}, {0.0009, 0.1776}},
       {{0.006113214293, 0.1717552188},
        {0.001802640213, 0.196281751},
        {0.0008726468836, 0.1776442955},
        {0.003746173649, 0.150077686}}},
  };
  for (size_t i = 0; i < 2; i++) {
    size_t k = rows[i].k, n = rows[i].n;
    const struct be_interval got[] = {be_rate_wilson(k, n, 0.95, false),
                                      be_rate_wilson(k, n, 0.95, true), be_rate_exact(k, n, 0.95),
                                      be_rate_jeffreys(k, n, 0.95)};
    for (size_t m = 0; m < 4; m++) {
      if (m < 3) {
        assert_near(got[m].low, rows[i].printed[m][0], 5e-5);
        assert_near(got[m].high, rows[i].printed[m][1], 5e-5);
      }
      assert_near(got[m].low, rows[i].value[m][0], 1e-9 * rows[i].value[m][0]);
      assert_near(got[m].high, rows[i].value[m][1], 1e-9 * rows[i].value[m][1]);
    }
  }
}

/* Derived. Of a closed end every digit is known. */
static void all_of_400(void **state)
{
  (void)state;
  const struct be_interval got[] = {be_rate_exact(400, 400, 0.95),
                                    be_rate_wilson(400, 400, 0.95, false),
                                    be_rate_jeffreys(400, 400, 0.95)};
  static const double low[] = {0.9908201954, 0.9904877057, 0.9937437205};
  for (size_t m = 0; m < 3; m++) {
    assert_near(got[m].low, low[m], 1e-10);
    assert_true(got[m].high == 1);
  }
  assert_near(be_rate_lower(400, 400, 0.95), 0.9925386445, 1e-10);
  const struct be_interval none[] = {
      be_rate_exact(0, 400, 0.95), be_rate_wilson(0, 400, 0.95, false),
      be_rate_wilson(0, 400, 0.95, true), be_rate_jeffreys(0, 400, 0.95)};
  for (size_t m = 0; m < 4; m++) assert_true(none[m].low == 0);
}

/* Hanley and Lippman-Hand, JAMA 249 (1983): memory, verified. */
static void rule_of_three(void **state)
{
  (void)state;
  assert_near(be_rate_upper(0, 400, 0.95), 0.0075, 5e-5);
  assert_near(be_rate_upper(0, 400, 0.95), 0.007461355529, 1e-12);
  assert_near(be_rate_upper(0, 30, 0.95), 0.095, 5e-4);
  assert_near(be_rate_upper(0, 30, 0.95), 0.09503385286, 1e-11);
}

/* n = ceil(ln(1 - C) / ln R): memory, verified. */
static void success_runs(void **state)
{
  (void)state;
  assert_int_equal(be_success_run(0.9, 0.95), 29);
  assert_int_equal(be_success_run(0.95, 0.95), 59);
  assert_int_equal(be_success_run(0.99, 0.95), 299);
  assert_int_equal(be_success_run(0.9, 0.9), 22);
  assert_int_equal(be_success_run(0.99, 0.99), 459);
}

/* R. A. Fisher, The Design of Experiments, 1935: tea with milk, 3 of 4 told. R's help of
 * fisher.test: memory, verified (p one-sided 17/70; two-sided 34/70). */
static void lady_tasting_tea(void **state)
{
  (void)state;
  struct be_rates rates;
  be_rates_compare(3, 4, 1, 4, 0.95, &rates);
  assert_near(rates.fisher_p, 34.0 / 70, 1e-14);
  assert_near(rates.odds_ratio.value, 6.408309, 2e-5); /* R seeks it to 1e-4 */
}

/* Newcombe, Stat. Med. 17 (1998) 873, table II, method 10: memory, verified. */
static void newcombe_differences(void **state)
{
  (void)state;
  struct be_rates rates;
  be_rates_compare(56, 70, 48, 80, 0.95, &rates);
  assert_near(rates.difference.interval.low, 0.0524, 5e-5);
  assert_near(rates.difference.interval.high, 0.3339, 5e-5);
  be_rates_compare(9, 10, 3, 10, 0.95, &rates);
  assert_near(rates.difference.interval.low, 0.1705, 5e-5);
  assert_near(rates.difference.interval.high, 0.8090, 5e-5);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(newcombe_intervals), cmocka_unit_test(all_of_400),
      cmocka_unit_test(rule_of_three),      cmocka_unit_test(success_runs),
      cmocka_unit_test(lady_tasting_tea),   cmocka_unit_test(newcombe_differences),
  };
  return be_tests("published: rates", tests);
}
