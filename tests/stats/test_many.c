/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "fault/failing.h"
#include "test.h"

#include <gsl/gsl_cdf.h>

/* Four sets of unequal size; what is said of them is derived with R 4.2.2. */
static const double first[] = {31.2, 28.7, 33.1, 30.4, 29.95}, second[] = {27.1, 26.3, 29.8};
static const double third[] = {35.9, 31.7, 38.2, 33.3, 40.1, 36.6}, fourth[] = {30.2, 30.9};
static const double *const four[] = {first, second, third, fourth};
static const size_t sizes[] = {5, 3, 6, 2};

static void summaries_of(const double *const *x, const size_t *n, size_t sets,
                         struct be_summary *summaries)
{
  for (size_t g = 0; g < sets; g++) be_summary_of(x[g], n[g], &summaries[g]);
}

/* aov, oneway.test, and anova of lm of |x - median|. */
static void anova_has_the_values_of_r(void **state)
{
  (void)state;
  struct be_anova anova;
  be_anova_of(four, sizes, 4, &anova);
  assert_near(anova.f, 9.900988566712, 1e-12);
  assert_near(anova.p, 1.44452116010016e-03, 1e-16);
  assert_near(anova.between, 161.93809375, 1e-12);
  assert_near(anova.within, 65.423, 1e-12);
  assert_true(anova.sets == 4 && anova.n == 16 && anova.df == 3 && anova.df_within == 12);
  struct be_summary summaries[4];
  summaries_of(four, sizes, 4, summaries);
  be_anova_welch(summaries, 4, &anova);
  assert_near(anova.f, 6.8812532271726266, 1e-12);
  assert_near(anova.df, 3, 0);
  assert_near(anova.df_within, 5.7708590832188751, 1e-12);
  assert_near(anova.p, 0.0244642415388858, 1e-14);
  assert_int_equal(be_levene(four, sizes, 4, &anova, NULL), BE_OK);
  assert_near(anova.f, 1.299646162785874, 1e-12);
  assert_near(anova.p, 0.319615790335664, 1e-13);
}

/* The textbook sums in long double, a billion from 0. */
static void anova_agrees_with_long_sums(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 12, 5);
  double data[3][40];
  const double *const x[] = {data[0], data[1], data[2]};
  const size_t n[] = {40, 17, 1};
  long double sums[3] = {0}, squares = 0, all = 0, between = 0;
  for (size_t g = 0; g < 3; g++)
    for (size_t i = 0; i < n[g]; i++) {
      double offset = be_random_normal(&random) + (double)g;
      data[g][i] = 1e9 + floor(offset * 1024) / 1024; /* exact */
      long double kept = data[g][i] - 1e9L;
      sums[g] += kept;
      squares += kept * kept;
    }
  for (size_t g = 0; g < 3; g++) {
    between += sums[g] * sums[g] / (long double)n[g];
    all += sums[g];
  }
  struct be_anova anova;
  be_anova_of(x, n, 3, &anova);
  assert_near(anova.within / (double)(squares - between), 1, 1e-14);
  assert_near(anova.between / (double)(between - all * all / 58), 1, 1e-13);
  assert_near(anova.p, gsl_cdf_fdist_Q(anova.f, 2, 55), 1e-12);
}

static void anova_without_enough(void **state)
{
  (void)state;
  static const double flat[] = {7.3, 7.3, 7.3}, higher[] = {8.1, 8.1}, one[] = {5.5};
  const double *const x[] = {flat, higher, one};
  const size_t n[] = {3, 2, 1};
  struct be_anova anova;
  be_anova_of(x, n, 2, &anova);
  assert_true(anova.within == 0 && anova.between > 0.7 && isnan(anova.f) && isnan(anova.p));
  be_anova_of(x, n, 1, &anova);
  assert_true(isnan(anova.f) && anova.df == 0 && anova.df_within == 2);
  be_anova_of(&x[2], &n[2], 1, &anova);
  assert_true(isnan(anova.f) && anova.df_within == 0);
  be_anova_of(NULL, NULL, 0, &anova);
  assert_true(isnan(anova.f) && isnan(anova.between));
  struct be_summary summaries[3];
  summaries_of(x, n, 3, summaries);
  be_anova_welch(summaries, 3, &anova);
  assert_true(isnan(anova.f) && isnan(anova.p) && anova.n == 6);
  be_anova_welch(summaries, 0, &anova);
  assert_true(isnan(anova.f));
}

/* Two sets: F of Welch is t squared. */
static void welch_anova_of_two_is_welch(void **state)
{
  (void)state;
  struct be_summary summaries[4];
  summaries_of(four, sizes, 4, summaries);
  const struct be_estimate a = be_estimate_mean(&summaries[0]);
  const struct be_estimate c = be_estimate_mean(&summaries[1]);
  struct be_difference difference;
  struct be_anova anova;
  be_welch(&a, &c, 0.95, &difference);
  be_anova_welch(summaries, 2, &anova);
  assert_near(anova.f, difference.t * difference.t, 1e-12);
  assert_near(anova.df_within, difference.df, 1e-12);
  assert_near(anova.p, difference.p, 1e-13);
}

/* TukeyHSD; its ptukey is good to 4e-6, and qtukey to about 1e-4. */
static void tukey_kramer_has_the_values_of_r(void **state)
{
  (void)state;
  static const double p[] = {0.3548390286, 0.0128594165, 0.9999118272,
                             0.0015530986, 0.5676161583, 0.0622698193};
  static const double low[] = {-2.1258877227,  -9.4943150142, -5.6798846747,
                               -13.1351305431, -9.1448596533, -0.2434412105};
  static const double high[] = {7.999221056,  -1.099018319, 5.919884675,
                                -3.331536124, 3.511526320,  11.076774544};
  struct be_summary summaries[4];
  struct be_pair pairs[6];
  summaries_of(four, sizes, 4, summaries);
  be_tukey_kramer(summaries, 4, 0.95, pairs);
  for (size_t i = 0; i < 6; i++) {
    assert_near(pairs[i].p, p[i], 4e-6);
    assert_near(pairs[i].interval.low, low[i], 2e-4);
    assert_near(pairs[i].interval.high, high[i], 2e-4);
    assert_true(pairs[i].df == 12 && pairs[i].interval.level == 0.95);
  }
  assert_true(pairs[3].a == 1 && pairs[3].b == 2);
  assert_near(pairs[3].difference, -8.2333333333333333, 1e-13);
}

/* Two sets alone: Student's t for both, and Welch's. */
static void pairs_of_two_sets_are_t_tests(void **state)
{
  (void)state;
  struct be_summary summaries[4];
  struct be_pair tukey, games, dunnett;
  struct be_difference welch;
  double scratch[2];
  summaries_of(four, sizes, 4, summaries);
  const struct be_estimate a = be_estimate_mean(&summaries[0]);
  const struct be_estimate b = be_estimate_mean(&summaries[1]);
  be_welch(&a, &b, 0.9, &welch);
  be_games_howell(summaries, 2, 0.9, &games);
  assert_near(games.t, welch.t, 1e-13);
  assert_near(games.df, welch.df, 1e-13);
  assert_near(games.p, welch.p, 1e-12);
  assert_near(games.interval.low, welch.interval.low, 1e-10);
  assert_near(games.interval.high, welch.interval.high, 1e-10);
  be_tukey_kramer(summaries, 2, 0.9, &tukey);
  be_dunnett(summaries, 2, 1, 0.9, scratch, &dunnett);
  double t = tukey.difference / sqrt((4 * pow(summaries[0].sd, 2) + 2 * pow(summaries[1].sd, 2)) /
                                     6 * (1 / 5.0 + 1 / 3.0));
  double reach = be_t_quantile(0.05, 6) * tukey.difference / t;
  assert_near(tukey.t, t, 1e-13);
  assert_near(tukey.p, 2 * be_t_upper(t, 6), 1e-12);
  assert_near(tukey.interval.high, tukey.difference + reach, 1e-10);
  assert_near(dunnett.t, t, 1e-13);
  assert_near(dunnett.p, tukey.p, 1e-12);
  assert_near(dunnett.interval.low, tukey.interval.low, 1e-10);
  assert_true(dunnett.a == 0 && dunnett.b == 1);
}

/* glht of multcomp with unequal sets, by Monte Carlo to about 3e-7 of p. */
static void dunnett_has_the_values_of_r(void **state)
{
  (void)state;
  struct be_summary summaries[4];
  struct be_pair pairs[3];
  double scratch[4];
  summaries_of(four, sizes, 4, summaries);
  be_dunnett(summaries, 4, 0, 0.95, scratch, pairs);
  static const double t[] = {-1.7221885014392, 3.7462117594503, -0.0614267618135};
  static const double p[] = {0.261610284844, 0.007669840314, 0.999845571501};
  for (size_t i = 0; i < 3; i++) {
    assert_true(pairs[i].a == i + 1 && pairs[i].b == 0 && pairs[i].df == 12);
    assert_near(pairs[i].t, t[i], 1e-12);
    assert_near(pairs[i].p, p[i], 2e-6);
    double reach = (pairs[i].interval.high - pairs[i].interval.low) / 2;
    assert_near(reach / (pairs[i].difference / pairs[i].t), 2.707872554, 1e-4);
  }
  be_dunnett(summaries, 4, 2, 0.95, scratch, pairs); /* from the middle */
  assert_true(pairs[0].a == 0 && pairs[1].a == 1 && pairs[2].a == 3 && pairs[2].b == 2);
}

static void sets_of_one_pull_take_no_part(void **state)
{
  (void)state;
  static const double one[] = {44.4};
  const double *const x[] = {first, one, second, third, fourth};
  const size_t n[] = {5, 1, 3, 6, 2};
  struct be_summary with[5], without[4];
  struct be_pair pairs[10], fewer[6];
  double scratch[5];
  summaries_of(x, n, 5, with);
  summaries_of(four, sizes, 4, without);
  for (int method = 0; method < 2; method++) {
    (method ? be_games_howell : be_tukey_kramer)(with, 5, 0.95, pairs);
    (method ? be_games_howell : be_tukey_kramer)(without, 4, 0.95, fewer);
    size_t next = 0;
    for (size_t i = 0; i < 10; i++) {
      if (pairs[i].a == 1 || pairs[i].b == 1) {
        assert_true(isfinite(pairs[i].difference) && isnan(pairs[i].t) && isnan(pairs[i].p));
        assert_true(isnan(pairs[i].interval.low) && isnan(pairs[i].df));
      } else {
        assert_near(pairs[i].p, fewer[next].p, 0);
        assert_near(pairs[i].interval.low, fewer[next++].interval.low, 0);
      }
    }
    assert_int_equal(next, 6);
  }
  be_dunnett(with, 5, 0, 0.95, scratch, pairs);
  be_dunnett(without, 4, 0, 0.95, scratch, fewer);
  assert_true(isnan(pairs[0].p) && pairs[0].a == 1);
  assert_near(pairs[1].p, fewer[0].p, 0);
  be_dunnett(with, 5, 1, 0.95, scratch, pairs);
  for (size_t i = 0; i < 4; i++) assert_true(isnan(pairs[i].p) && isnan(pairs[i].interval.high));
}

static void pairs_without_scatter_are_unknown(void **state)
{
  (void)state;
  static const double flat[] = {7.3, 7.3}, higher[] = {8.1, 8.1, 8.1};
  const double *const x[] = {flat, higher};
  const size_t n[] = {2, 3};
  struct be_summary summaries[2];
  struct be_pair pair;
  double scratch[2];
  summaries_of(x, n, 2, summaries);
  be_tukey_kramer(summaries, 2, 0.95, &pair);
  assert_near(pair.difference, -0.8, 1e-15);
  assert_true(isnan(pair.t) && isnan(pair.p) && isnan(pair.interval.low));
  be_games_howell(summaries, 2, 0.95, &pair);
  assert_true(isnan(pair.t) && isnan(pair.p));
  be_dunnett(summaries, 2, 0, 0.95, scratch, &pair);
  assert_true(isnan(pair.t) && isnan(pair.p));
}

/* ---- Levene's and Anderson and Darling's: heap and wrong input ---- */

static enum be_status levene_trial(void *context, struct be_err *err)
{
  (void)context;
  struct be_anova anova;
  return be_levene(four, sizes, 4, &anova, err);
}

static enum be_status darling_trial(void *context, struct be_err *err)
{
  (void)context;
  struct be_many_ad result;
  return be_many_anderson_darling(four, sizes, 4, &result, err);
}

static void memory_may_fail(void **state)
{
  (void)state;
  be_fail_loop(levene_trial, NULL, 2);
  be_fail_loop(darling_trial, NULL, 5);
}

static void wrong_sets_are_refused(void **state)
{
  (void)state;
  static const double odd[] = {3.3, INFINITY, 4.4};
  const double *const x[] = {first, odd};
  const size_t n[] = {5, 3}, none[] = {5, 0};
  struct be_anova anova;
  struct be_many_ad result;
  struct be_err err;
  assert_int_equal(be_levene(x, n, 2, &anova, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "pull 2 of set 2"));
  assert_int_equal(be_levene(x, none, 2, &anova, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "set 2 of 2"));
  assert_int_equal(be_levene(x, n, 0, &anova, &err), BE_BAD_INPUT);
  assert_int_equal(be_many_anderson_darling(x, n, 2, &result, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "pull 2 of set 2"));
  assert_int_equal(be_many_anderson_darling(x, none, 2, &result, &err), BE_BAD_INPUT);
  assert_true(isnan(result.a2) && isnan(result.p));
}

/* Without ties both are the sums over j of Scholz and Stephens, equation 3. */
static void darling_agrees_with_the_plain_sum(void **state)
{
  (void)state;
  struct be_many_ad result;
  assert_int_equal(be_many_anderson_darling(four, sizes, 4, &result, NULL), BE_OK);
  double pooled[16], want = 0;
  size_t next = 0;
  for (size_t g = 0; g < 4; g++)
    for (size_t i = 0; i < sizes[g]; i++) pooled[next++] = four[g][i];
  be_sort(pooled, 16);
  for (size_t g = 0; g < 4; g++)
    for (size_t j = 1; j < 16; j++) {
      double reached = 0, size = (double)sizes[g];
      for (size_t i = 0; i < sizes[g]; i++) reached += four[g][i] <= pooled[j - 1];
      double off = 16 * reached - (double)j * size;
      want += off * off / ((double)j * (16 - (double)j)) / size / 16;
    }
  assert_near(result.a2, want, 1e-12);
  assert_near(result.t, (want - 3) / result.sigma, 1e-12);
}

/* The mean and deviation of the statistic, and its p, over shuffled pulls of one kind. */
static void darling_agrees_with_shuffles(void **state)
{
  (void)state;
  enum { TRIALS = 20000, SETS = 3, N = 24 };
  struct be_random random;
  be_random_init(&random, 8, 8);
  double data[N];
  const double *const x[] = {data, data + 6, data + 13};
  const size_t n[] = {6, 7, 11};
  double sum = 0, squares = 0;
  int below_tenth = 0, below_hundredth = 0;
  struct be_many_ad result = {0};
  for (int trial = 0; trial < TRIALS; trial++) {
    for (size_t i = 0; i < N; i++) data[i] = be_random_unit(&random);
    assert_int_equal(be_many_anderson_darling(x, n, SETS, &result, NULL), BE_OK);
    sum += result.a2;
    squares += (result.a2 - 2) * (result.a2 - 2);
    below_tenth += result.p < 0.1;
    below_hundredth += result.p < 0.01;
  }
  assert_near(sum / TRIALS, SETS - 1, 4 * result.sigma / sqrt(TRIALS));
  assert_near(sqrt(squares / TRIALS) / result.sigma, 1, 0.04); /* 4 deviations */
  assert_near(below_tenth / (double)TRIALS, 0.1, 0.01);        /* the table is for large sets */
  assert_near(below_hundredth / (double)TRIALS, 0.01, 0.003);
}

static void darling_at_its_edges(void **state)
{
  (void)state;
  static const double low[] = {1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8};
  static const double high[] = {9.1, 9.2, 9.3, 9.4, 9.5, 9.6, 9.7, 9.8};
  static const double flat[] = {5.5, 5.5, 5.5};
  const double *const apart[] = {low, high}, *const same[] = {low, low},
                      *const flats[] = {flat, flat};
  const size_t eight[] = {8, 8}, three[] = {3, 3}, one[] = {1, 1};
  struct be_many_ad result;
  assert_int_equal(be_many_anderson_darling(apart, eight, 2, &result, NULL), BE_OK);
  assert_near(result.p, 0.001, 0);
  assert_int_equal(be_many_anderson_darling(same, eight, 2, &result, NULL), BE_OK);
  assert_near(result.p, 0.25, 0);
  assert_near(result.a2_midrank, 0, 1e-14);
  assert_int_equal(be_many_anderson_darling(flats, three, 2, &result, NULL), BE_OK);
  assert_true(isnan(result.a2) && isnan(result.p));
  assert_int_equal(be_many_anderson_darling(apart, one, 2, &result, NULL), BE_OK);
  assert_true(isnan(result.a2) && isnan(result.p));
  assert_int_equal(be_many_anderson_darling(apart, eight, 1, &result, NULL), BE_OK);
  assert_true(isnan(result.a2));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(anova_has_the_values_of_r),
      cmocka_unit_test(anova_agrees_with_long_sums),
      cmocka_unit_test(anova_without_enough),
      cmocka_unit_test(welch_anova_of_two_is_welch),
      cmocka_unit_test(tukey_kramer_has_the_values_of_r),
      cmocka_unit_test(pairs_of_two_sets_are_t_tests),
      cmocka_unit_test(dunnett_has_the_values_of_r),
      cmocka_unit_test(sets_of_one_pull_take_no_part),
      cmocka_unit_test(pairs_without_scatter_are_unknown),
      cmocka_unit_test(memory_may_fail),
      cmocka_unit_test(wrong_sets_are_refused),
      cmocka_unit_test(darling_agrees_with_the_plain_sum),
      cmocka_unit_test(darling_agrees_with_shuffles),
      cmocka_unit_test(darling_at_its_edges),
  };
  return be_tests("stats: many sets", tests);
}
