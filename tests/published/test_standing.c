/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rank sets and chances of places, held against published data. "Read": the figures stood in a
 * source; "memory, verified": recalled and reproduced with R 4.2.2; "derived": R alone gave
 * the value. */
#include "published/data.h"
#include "stats/stats.h"

/* ---- OECD PISA 2018, mathematics ---- */

enum { COUNTRIES = 37 };

/* Scores and standard errors: read. Marginal sets after Mogstad, Romano, Shaikh and Wilhelm (2024),
 * Bonferroni, z at 1 - 0.05 / (2 * 36), errors independent: derived. */
static void pisa_rank_sets(void **state)
{
  (void)state;
  static double score[COUNTRIES], se[COUNTRIES], low[COUNTRIES], high[COUNTRIES], rank[COUNTRIES];
  static double covariance[COUNTRIES * COUNTRIES];
  double *const columns[] = {score, se, low, high, rank};
  for (size_t c = 0; c < 5; c++)
    assert_int_equal(read_numbers("pisa2018_math.csv", c + 1, columns[c], COUNTRIES), COUNTRIES);
  for (size_t i = 0; i < COUNTRIES; i++) covariance[i * (COUNTRIES + 1)] = se[i] * se[i];
  const struct be_standing standing = {COUNTRIES, score, covariance, INFINITY};
  const struct be_resampling by = {20260301, 9999, 0.95, 0};
  struct be_rank_set sets[COUNTRIES], joint[COUNTRIES], steps[COUNTRIES];
  assert_int_equal(be_rank_sets(&standing, BE_SEPARATE_BONFERRONI, false, &by, sets, NULL, NULL),
                   BE_OK);
  for (size_t i = 0; i < COUNTRIES; i++) {
    assert_near((double)sets[i].low, low[i], 0);
    assert_near((double)sets[i].high, high[i], 0);
    assert_near((double)sets[i].rank, rank[i], 0);
  }
  /* No printed bootstrap sets were at hand; drawn ones must lie within, and steps within those. */
  assert_int_equal(be_rank_sets(&standing, BE_SEPARATE_JOINT, false, &by, joint, NULL, NULL),
                   BE_OK);
  assert_int_equal(be_rank_sets(&standing, BE_SEPARATE_STEPWISE, false, &by, steps, NULL, NULL),
                   BE_OK);
  size_t narrower = 0;
  for (size_t i = 0; i < COUNTRIES; i++) {
    assert_true(joint[i].low >= sets[i].low && joint[i].high <= sets[i].high);
    assert_true(steps[i].low >= joint[i].low && steps[i].high <= joint[i].high);
    narrower += steps[i].high - steps[i].low < sets[i].high - sets[i].low;
  }
  assert_true(narrower > 0);
}

/* ---- Montgomery, Design and Analysis of Experiments, 5th ed., example 3-1 ---- */

/* Tensile strength at 15 to 35 % of cotton, five each (memory, verified): mean square 8.06 with 20
 * degrees of freedom. Letters of all pairs at 5 % (derived, multcomp): a, bc, bd, d, ac. */
static void montgomery_letters(void **state)
{
  (void)state;
  static const double mean[5] = {9.8, 15.4, 17.6, 21.6, 10.8};
  static const bool share[5][5] = {
      {1, 0, 0, 0, 1}, {0, 1, 1, 0, 1}, {0, 1, 1, 1, 0}, {0, 0, 1, 1, 0}, {1, 1, 0, 0, 1}};
  double covariance[25];
  for (size_t i = 0; i < 25; i++) covariance[i] = i % 6 ? 0 : 8.06 / 5;
  const struct be_standing standing = {5, mean, covariance, 20};
  const struct be_resampling by = {1, 19999, 0.95, 0};
  struct be_rank_set sets[5];
  bool apart[25];
  uint64_t letters[5];
  assert_int_equal(be_rank_sets(&standing, BE_SEPARATE_JOINT, true, &by, sets, apart, NULL), BE_OK);
  assert_int_equal(be_letters(apart, mean, 5, letters, NULL), BE_OK);
  for (size_t i = 0; i < 5; i++)
    for (size_t j = 0; j < 5; j++) assert_int_equal((letters[i] & letters[j]) != 0, share[i][j]);
  static const size_t low[5] = {4, 2, 1, 1, 3}, high[5] = {5, 4, 3, 2, 5};
  for (size_t i = 0; i < 5; i++) assert_true(sets[i].low == low[i] && sets[i].high == high[i]);
}

/* ---- four knots that hang together ---- */

static const double value[4] = {0.31, 0.29, 0.30, 0.25};
static const double covariance[16] = {9e-4, 2e-4, 2e-4,  0,    2e-4, 4e-4, 2e-4, 0,
                                      2e-4, 2e-4, 16e-4, 1e-4, 0,    0,    1e-4, 6e-4};

/* Quantiles of the greatest |t| by mvtnorm's pmvt (Genz and Bretz): derived, good to about 5e-4. */
static void critical_values_of_the_multivariate_t(void **state)
{
  (void)state;
  static const struct {
    double df, own[4], all;
  } want[] = {{9, {2.8025657, 2.8730474, 2.7193012, 2.7997003}, 3.0979595},
              {40, {2.4353667, 2.4802468, 2.3776524, 2.4332158}, 2.661992}};
  /* sqrt(0.05 * 0.95 / 200000) over a density of 0.08 at the least is 0.006; 4.5 of these. */
  const struct be_resampling by = {20260301, 200000, 0.95, 0};
  for (size_t i = 0; i < 2; i++) {
    const struct be_standing standing = {4, value, covariance, want[i].df};
    struct be_rank_set sets[4];
    assert_int_equal(be_rank_sets(&standing, BE_SEPARATE_JOINT, false, &by, sets, NULL, NULL),
                     BE_OK);
    for (size_t k = 0; k < 4; k++) assert_near(sets[k].critical, want[i].own[k], 0.027);
    assert_int_equal(be_rank_sets(&standing, BE_SEPARATE_JOINT, true, &by, sets, NULL, NULL),
                     BE_OK);
    assert_near(sets[0].critical, want[i].all, 0.027);
  }
}

/* Orthant probabilities by mvtnorm: derived; the normal ones (Plackett's method) to 1e-9, those of
 * the t to about 5e-5. */
static void chances_of_the_multivariate_t(void **state)
{
  (void)state;
  static const double dfs[] = {9, INFINITY};
  static const double want[2][4] = {{0.492023369, 0.120211299, 0.365858753, 0.0219175504},
                                    {0.499938008, 0.117496476, 0.367843493, 0.0147220235}};
  const struct be_resampling by = {4711, 400000, 0.95, 0};
  for (size_t i = 0; i < 2; i++) {
    const struct be_standing standing = {4, value, covariance, dfs[i]};
    struct be_chance chances[4];
    assert_int_equal(be_chances(&standing, 1, &by, chances, NULL), BE_OK);
    for (size_t k = 0; k < 4; k++)
      assert_near(chances[k].best, want[i][k], 4.5 * chances[k].best_error + 5e-5);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pisa_rank_sets),
      cmocka_unit_test(montgomery_letters),
      cmocka_unit_test(critical_values_of_the_multivariate_t),
      cmocka_unit_test(chances_of_the_multivariate_t),
  };
  return be_tests("published: standings", tests);
}
