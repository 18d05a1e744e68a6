/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault/failing.h"
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

#include <gsl/gsl_cdf.h>

enum { MOST = 8 };

/* Knots whose covariance is spread over some hidden causes, so that it can be one. */
struct made {
  double value[MOST], covariance[MOST * MOST];
  struct be_standing standing;
};

static void make(struct made *made, size_t count, double spread, double df, uint64_t seed)
{
  struct be_random random;
  double causes[MOST][MOST];
  be_random_init(&random, seed, 11);
  for (size_t i = 0; i < count; i++) {
    made->value[i] = spread * be_random_normal(&random);
    for (size_t j = 0; j < count; j++)
      causes[i][j] = 0.013 * be_random_normal(&random) + 0.03 * (i == j);
  }
  for (size_t i = 0; i < count; i++)
    for (size_t j = 0; j < count; j++) {
      double sum = 0;
      for (size_t k = 0; k < count; k++) sum += causes[i][k] * causes[j][k];
      made->covariance[i * count + j] = sum;
    }
  made->standing = (struct be_standing){count, made->value, made->covariance, df};
}

/* Knots each by itself. */
static void make_alone(struct made *made, const double *value, const double *variance, size_t count,
                       double df)
{
  for (size_t i = 0; i < count * count; i++) made->covariance[i] = 0;
  for (size_t i = 0; i < count; i++) {
    made->value[i] = value[i];
    made->covariance[i * count + i] = variance[i];
  }
  made->standing = (struct be_standing){count, made->value, made->covariance, df};
}

static double t_between(const struct made *made, size_t i, size_t j)
{
  size_t n = made->standing.count;
  const double *v = made->covariance;
  double variance = v[i * n + i] + v[j * n + j] - 2 * v[i * n + j];
  return (made->value[i] - made->value[j]) / sqrt(variance);
}

static const struct be_resampling usual = {20260301, 9999, 0.95, 0};

/* ---- Bonferroni ---- */

static void bonferroni_agrees_with_plain_counting(void **state)
{
  (void)state;
  for (uint64_t seed = 0; seed < 40; seed++) {
    for (int together = 0; together < 2; together++) {
      struct made made;
      struct be_rank_set sets[MOST];
      bool apart[MOST * MOST];
      size_t n = 2 + seed % 7;
      double df = seed % 3 ? 3.5 + (double)seed : INFINITY, pairs = (double)(n - 1);
      make(&made, n, 0.07, df, seed);
      assert_int_equal(
          be_rank_sets(&made.standing, BE_SEPARATE_BONFERRONI, together, &usual, sets, apart, NULL),
          BE_OK);
      if (together) pairs *= (double)n / 2;
      double critical =
          isinf(df) ? gsl_cdf_ugaussian_Qinv(0.025 / pairs) : gsl_cdf_tdist_Qinv(0.025 / pairs, df);
      for (size_t i = 0; i < n; i++) {
        size_t low = 1, high = n, rank = 1;
        for (size_t j = 0; j < n; j++) {
          double t = i == j ? 0 : t_between(&made, i, j);
          low += t < -critical;
          high -= t > critical;
          rank += made.value[j] > made.value[i];
          assert_int_equal(apart[i * n + j], fabs(t) > critical);
        }
        assert_near(sets[i].critical, critical, 1e-9 * critical);
        assert_true(sets[i].known && sets[i].rank == rank);
        assert_true(sets[i].low == low && sets[i].high == high);
      }
    }
  }
}

/* Three knots: every order that what is apart allows, and the ranks it gives to each. */
static void three_knots_by_all_orders(void **state)
{
  (void)state;
  static const size_t orders[6][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2},
                                      {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
  size_t narrow = 0;
  for (uint64_t seed = 0; seed < 300; seed++) {
    struct made made;
    struct be_rank_set sets[3];
    bool apart[9];
    make(&made, 3, 0.15, 7, 1000 + seed);
    assert_int_equal(
        be_rank_sets(&made.standing, BE_SEPARATE_BONFERRONI, true, &usual, sets, apart, NULL),
        BE_OK);
    size_t low[3] = {3, 3, 3}, high[3] = {1, 1, 1};
    for (size_t o = 0; o < 6; o++) {
      bool allowed = true;
      for (size_t x = 0; x < 3; x++)
        for (size_t y = x + 1; y < 3; y++) {
          size_t above = orders[o][x], below = orders[o][y];
          if (apart[above * 3 + below] && made.value[above] < made.value[below]) allowed = false;
        }
      for (size_t x = 0; x < 3 && allowed; x++) {
        size_t knot = orders[o][x];
        if (x + 1 < low[knot]) low[knot] = x + 1;
        if (x + 1 > high[knot]) high[knot] = x + 1;
      }
    }
    /* Unlike errors may leave the outer two not apart though each is from the one between:
     * then orders say more than single differences, and the set is the wider. */
    bool chain = true;
    for (size_t i = 0; i < 3; i++)
      if (apart[i * 3 + (i + 1) % 3] && apart[i * 3 + (i + 2) % 3] &&
          !apart[(i + 1) % 3 * 3 + (i + 2) % 3] && sets[i].rank == 2)
        chain = false;
    for (size_t i = 0; i < 3; i++) {
      assert_true(sets[i].low <= low[i] && sets[i].high >= high[i]);
      if (chain) assert_true(sets[i].low == low[i] && sets[i].high == high[i]);
      narrow += low[i] == high[i];
    }
  }
  assert_true(narrow > 50 && narrow < 850);
}

/* ---- drawn ---- */

/* The share beyond a drawn critical value is near what it should be: 4.5 deviations. */
static double near_share(double alpha, size_t times)
{
  return 4.5 * sqrt(alpha * (1 - alpha) / (double)times);
}

/* Alike knots: the range, and the comparisons with one, both in closed form; and sharing a
 * plain line changes neither. */
static void drawn_critical_values_are_those_of_tukey_and_dunnett(void **state)
{
  (void)state;
  static const double value[5] = {0.1, 0.2, 0.15, 0.12, 0.11},
                      lambda[4] = {0.70710678118654752, 0.70710678118654752, 0.70710678118654752,
                                   0.70710678118654752};
  static const double variance[5] = {4e-4, 4e-4, 4e-4, 4e-4, 4e-4};
  static const double dfs[] = {0.8, 6.5, INFINITY};
  struct be_tail range, dunnett;
  be_range_init(&range, 5);
  be_dunnett_init(&dunnett, lambda, 4, false);
  const struct be_resampling by = {77, 19999, 0.9, 0};
  for (size_t i = 0; i < 3; i++) {
    for (int sharing = 0; sharing < 2; sharing++) {
      struct made made;
      struct be_rank_set sets[5];
      make_alone(&made, value, variance, 5, dfs[i]);
      for (size_t c = 0; c < 25; c++) made.covariance[c] += sharing * 9e-4;
      assert_int_equal(be_rank_sets(&made.standing, BE_SEPARATE_JOINT, true, &by, sets, NULL, NULL),
                       BE_OK);
      double q = sets[0].critical * sqrt(2);
      assert_near(be_tail_upper(&range, q, dfs[i]), 0.1, near_share(0.1, by.times));
      assert_near(sets[4].critical, sets[0].critical, 0);
      assert_int_equal(
          be_rank_sets(&made.standing, BE_SEPARATE_JOINT, false, &by, sets, NULL, NULL), BE_OK);
      for (size_t k = 0; k < 5; k++)
        assert_near(be_tail_upper(&dunnett, sets[k].critical, dfs[i]), 0.1,
                    near_share(0.1, by.times));
    }
  }
}

/* Two knots of any make: the t distribution. */
static void two_knots_by_the_t_distribution(void **state)
{
  (void)state;
  struct made made;
  struct be_rank_set sets[2];
  struct be_chance chances[2];
  make(&made, 2, 0.01, 5.3, 3);
  assert_int_equal(be_rank_sets(&made.standing, BE_SEPARATE_JOINT, false, &usual, sets, NULL, NULL),
                   BE_OK);
  assert_near(2 * be_t_upper(sets[0].critical, 5.3), 0.05, near_share(0.05, usual.times));
  const struct be_resampling by = {5, 100000, 0.95, 0};
  assert_int_equal(be_chances(&made.standing, 1, &by, chances, NULL), BE_OK);
  double best = 1 - be_t_upper(t_between(&made, 0, 1), 5.3);
  assert_near(chances[0].best_error, sqrt(best * (1 - best) / 100000), 1e-4);
  assert_near(chances[0].best, best, 4.5 * chances[0].best_error);
  assert_near(chances[0].best + chances[1].best, 1, 1e-12);
  assert_near(chances[0].mean_rank, 1 + chances[1].best, 1e-12);
  assert_true(chances[0].top == chances[0].best && chances[0].top_error == chances[0].best_error);
}

/* Steps by hand, with other random numbers: all one-sided hypotheses that are left. */
static double slow_step(const struct made *made, const bool *left, struct be_random *random,
                        size_t times, double *greatest)
{
  size_t n = made->standing.count;
  for (size_t t = 0; t < times; t++) {
    double z[MOST], chi2 = 0;
    greatest[t] = 0;
    for (size_t i = 0; i < n; i++)
      z[i] = sqrt(made->covariance[i * n + i]) * be_random_normal(random);
    for (int d = 0; d < 6; d++) {
      double y = be_random_normal(random);
      chi2 += y * y;
    }
    for (size_t i = 0; i < n; i++)
      for (size_t j = 0; j < n; j++) {
        double se = sqrt(made->covariance[i * n + i] + made->covariance[j * n + j]);
        if (i != j && left[i * n + j])
          greatest[t] = fmax(greatest[t], (z[i] - z[j]) / se / sqrt(chi2 / 6));
      }
  }
  be_sort(greatest, times);
  return greatest[(size_t)(0.95 * (double)times)];
}

static void steps_agree_with_slow_ones(void **state)
{
  (void)state;
  enum { TIMES = 20000 };
  static const double value[4] = {0.52, 0.51, 0.0, -0.5};
  static const double variance[4] = {1e-4, 4e-4, 2e-4, 3e-4};
  static double greatest[TIMES];
  struct made made;
  make_alone(&made, value, variance, 4, 6);
  bool left[16];
  struct be_random random;
  be_random_init(&random, 99, 1);
  double critical = 0, first = 0;
  for (size_t i = 0; i < 16; i++) left[i] = true;
  for (bool news = true; news;) {
    critical = slow_step(&made, left, &random, TIMES, greatest);
    if (first == 0) first = critical;
    news = false;
    for (size_t i = 0; i < 4; i++)
      for (size_t j = 0; j < 4; j++)
        if (i != j && left[i * 4 + j] && t_between(&made, i, j) > critical)
          left[i * 4 + j] = false, news = true;
  }
  const struct be_resampling by = {31, TIMES, 0.95, 0};
  struct be_rank_set joint[4], steps[4];
  bool apart[16];
  assert_int_equal(be_rank_sets(&made.standing, BE_SEPARATE_JOINT, true, &by, joint, NULL, NULL),
                   BE_OK);
  assert_int_equal(
      be_rank_sets(&made.standing, BE_SEPARATE_STEPWISE, true, &by, steps, apart, NULL), BE_OK);
  /* Two quantiles, each with a deviation of sqrt(0.05 * 0.95 / 20000) / density, the density
   * there at least 0.03. */
  assert_near(joint[0].critical, first, 0.3);
  assert_near(steps[0].critical, critical, 0.3);
  assert_true(steps[0].critical < joint[0].critical - 0.1);
  for (size_t i = 0; i < 4; i++)
    for (size_t j = 0; j < 4; j++)
      assert_int_equal(apart[i * 4 + j], i != j && (!left[i * 4 + j] || !left[j * 4 + i]));
  assert_true(steps[0].low == 1 && steps[0].high == 2 && steps[2].low == 3 && steps[3].low == 4);
}

/* Each way lies within the one before it, and each knot by itself within all together. */
static void finer_ways_never_widen(void **state)
{
  (void)state;
  size_t narrower = 0;
  for (uint64_t seed = 0; seed < 25; seed++) {
    struct made made;
    struct be_rank_set plain[MOST], joint[MOST], steps[MOST], own[MOST];
    make(&made, 7, 0.1, 12, 400 + seed);
    const struct be_standing *s = &made.standing;
    const struct be_resampling by = {seed, 1999, 0.95, 0};
    assert_int_equal(be_rank_sets(s, BE_SEPARATE_BONFERRONI, true, &by, plain, NULL, NULL), BE_OK);
    assert_int_equal(be_rank_sets(s, BE_SEPARATE_JOINT, true, &by, joint, NULL, NULL), BE_OK);
    assert_int_equal(be_rank_sets(s, BE_SEPARATE_STEPWISE, true, &by, steps, NULL, NULL), BE_OK);
    assert_int_equal(be_rank_sets(s, BE_SEPARATE_STEPWISE, false, &by, own, NULL, NULL), BE_OK);
    for (size_t i = 0; i < 7; i++) {
      assert_true(joint[i].critical < plain[i].critical);
      assert_true(steps[i].critical <= joint[i].critical);
      assert_true(steps[i].low >= joint[i].low && steps[i].high <= joint[i].high);
      assert_true(own[i].low >= joint[i].low && own[i].high <= joint[i].high);
      assert_true(own[i].low <= own[i].rank && own[i].rank <= own[i].high);
      narrower += own[i].high - own[i].low < plain[i].high - plain[i].low;
    }
  }
  assert_true(narrower > 0);
}

static void without_two_known_knots_there_is_no_separating(void **state)
{
  (void)state;
  struct made made;
  struct be_rank_set sets[3];
  bool apart[9];
  make(&made, 3, 5, 9, 21);
  made.covariance[0] = NAN;
  made.value[2] = NAN;
  static const enum be_separation ways[] = {BE_SEPARATE_BONFERRONI, BE_SEPARATE_JOINT,
                                            BE_SEPARATE_STEPWISE};
  for (size_t w = 0; w < 3; w++) {
    memset(apart, 1, sizeof apart);
    assert_int_equal(be_rank_sets(&made.standing, ways[w], w, &usual, sets, apart, NULL), BE_OK);
    for (size_t i = 0; i < 3; i++) {
      assert_true(sets[i].low == 1 && sets[i].high == 3 && isnan(sets[i].critical));
      assert_int_equal(sets[i].known, i == 1);
    }
    for (size_t i = 0; i < 9; i++) assert_false(apart[i]);
    assert_true(sets[2].rank == 0 && sets[0].rank + sets[1].rank == 3);
    made.standing.count = 0;
    assert_int_equal(be_rank_sets(&made.standing, ways[w], w, &usual, sets, apart, NULL), BE_OK);
    made.standing.count = 3;
  }
}

/* What is not known takes no part in the level, and widens the others' sets at both ends. */
static void unknown_knots_have_the_whole_range(void **state)
{
  (void)state;
  static const double value[5] = {0.9, 0.5, NAN, 0.1, 3}, variance[5] = {1e-4, 1e-4, 1, 1e-4, NAN};
  static const double few[3] = {0.9, 0.5, 0.1}, few_variance[3] = {1e-4, 1e-4, 1e-4};
  for (int way = 0; way < 3; way++) {
    struct made made, alone;
    struct be_rank_set sets[5], alone_sets[3];
    struct be_chance chances[5], alone_chances[3];
    bool apart[25];
    make_alone(&made, value, variance, 5, 8);
    make_alone(&alone, few, few_variance, 3, 8);
    made.covariance[1] = 0;
    made.covariance[4] = NAN;       /* of the knot without variance: not looked at */
    made.covariance[2 * 5] = 1e300; /* of the knot without value */
    assert_int_equal(
        be_rank_sets(&made.standing, (enum be_separation)way, way == 1, &usual, sets, apart, NULL),
        BE_OK);
    assert_int_equal(be_rank_sets(&alone.standing, (enum be_separation)way, way == 1, &usual,
                                  alone_sets, NULL, NULL),
                     BE_OK);
    static const size_t known[3] = {0, 1, 3};
    for (size_t i = 0; i < 3; i++) {
      assert_near(sets[known[i]].critical, alone_sets[i].critical, 0);
      assert_int_equal(sets[known[i]].low, alone_sets[i].low);
      assert_int_equal(sets[known[i]].high, alone_sets[i].high + 2);
      assert_true(alone_sets[i].low == i + 1 && alone_sets[i].high == i + 1);
    }
    assert_true(!sets[2].known && sets[2].rank == 0 && sets[2].low == 1 && sets[2].high == 5);
    assert_true(!sets[4].known && sets[4].rank == 1 && sets[4].low == 1 && sets[4].high == 5);
    assert_true(sets[0].rank == 2 && apart[0 * 5 + 1] && !apart[0 * 5 + 4] && !apart[4 * 5]);
    assert_int_equal(be_chances(&made.standing, 2, &usual, chances, NULL), BE_OK);
    assert_int_equal(be_chances(&alone.standing, 2, &usual, alone_chances, NULL), BE_OK);
    assert_true(!chances[4].known && isnan(chances[4].best) && isnan(chances[2].top_error));
    for (size_t i = 0; i < 3; i++)
      assert_true(chances[known[i]].known && chances[known[i]].top == alone_chances[i].top);
  }
}

/* Two knots whose difference has no variance are not told apart, and divide by nothing. */
static void a_difference_without_variance_is_not_apart(void **state)
{
  (void)state;
  static const double value[3] = {0.5, 0.7, 9};
  static const double covariance[9] = {4e-4, 4e-4, 0, 4e-4, 4e-4, 0, 0, 0, 1e-4};
  const struct be_standing standing = {3, value, covariance, 14};
  for (int way = 0; way < 3; way++) {
    struct be_rank_set sets[3];
    bool apart[9];
    assert_int_equal(
        be_rank_sets(&standing, (enum be_separation)way, true, &usual, sets, apart, NULL), BE_OK);
    assert_true(!apart[1] && apart[2] && apart[5] && apart[7]);
    assert_true(sets[0].low == 2 && sets[0].high == 3 && sets[2].high == 1);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bonferroni_agrees_with_plain_counting),
      cmocka_unit_test(three_knots_by_all_orders),
      cmocka_unit_test(drawn_critical_values_are_those_of_tukey_and_dunnett),
      cmocka_unit_test(two_knots_by_the_t_distribution),
      cmocka_unit_test(steps_agree_with_slow_ones),
      cmocka_unit_test(finer_ways_never_widen),
      cmocka_unit_test(without_two_known_knots_there_is_no_separating),
      cmocka_unit_test(unknown_knots_have_the_whole_range),
      cmocka_unit_test(a_difference_without_variance_is_not_apart),
  };
  return be_tests("stats: standing", tests);
}
