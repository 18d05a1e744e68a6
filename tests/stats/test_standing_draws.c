/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What drawing must keep to: its level, its seed, the order and the unit of the knots; and what is
 * refused. */
#include "fault/failing.h"
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

#include <gsl/gsl_cdf.h>

enum { KNOTS = 5 };

static const double values[KNOTS] = {0.31, 0.29, 0.305, 0.12, 0.25};
/* Two spools' plain lines, one under three of the knots, one under two. */
static const double covariances[KNOTS * KNOTS] = {9e-4, 2e-4, 2e-4, 0,    0,    /**/
                                                  2e-4, 5e-4, 2e-4, 0,    0,    /**/
                                                  2e-4, 2e-4, 7e-4, 0,    0,    /**/
                                                  0,    0,    0,    6e-4, 3e-4, /**/
                                                  0,    0,    0,    3e-4, 8e-4};
static const struct be_standing five = {KNOTS, values, covariances, 7.5};
static const struct be_resampling usual = {4711, 999, 0.9, 0};

/* ---- the level ---- */

/* One false step: a knot told from one it equals, or the wrong way round. */
static bool any_wrong(const double *truth, const struct be_rank_set *sets, size_t only)
{
  for (size_t i = 0; i < KNOTS; i++) {
    size_t above = 0, below = 0;
    if (only < KNOTS && i != only) continue;
    for (size_t j = 0; j < KNOTS; j++) above += truth[j] > truth[i], below += truth[j] < truth[i];
    if (sets[i].low > 1 + above || sets[i].high < KNOTS - below) return true;
  }
  return false;
}

/* Estimates of three pulls a knot about the truth, with their pooled variance. */
static void pull_all(const double *truth, struct be_random *random, double *value, double *variance)
{
  double squares = 0;
  for (size_t i = 0; i < KNOTS; i++) {
    double x[3];
    struct be_summary summary;
    for (size_t j = 0; j < 3; j++) x[j] = truth[i] + 0.08 * be_random_normal(random);
    be_summary_of(x, 3, &summary);
    value[i] = summary.mean;
    squares += 2 * summary.sd * summary.sd;
  }
  for (size_t i = 0; i < KNOTS * KNOTS; i++)
    variance[i] = i % (KNOTS + 1) ? 0 : squares / (2 * KNOTS) / 3;
}

static size_t count_wrong(const double *truth, enum be_separation how, bool together, size_t runs)
{
  size_t wrong = 0;
  for (size_t run = 0; run < runs; run++) {
    struct be_random random;
    double value[KNOTS], variance[KNOTS * KNOTS];
    struct be_rank_set sets[KNOTS];
    be_random_init(&random, 20260301, run);
    pull_all(truth, &random, value, variance);
    const struct be_standing standing = {KNOTS, value, variance, 2 * KNOTS};
    const struct be_resampling by = {run, 199, 0.9, 1};
    assert_int_equal(be_rank_sets(&standing, how, together, &by, sets, NULL, NULL), BE_OK);
    wrong += any_wrong(truth, sets, together ? KNOTS : 1);
  }
  return wrong;
}

/* With all alike the chance of a false step is that asked for, at as few as 199 drawings; with some
 * apart no more. 4 deviations of the binomial. */
static void the_level_is_kept(void **state)
{
  (void)state;
  enum { RUNS = 1500 };
  static const double alike[KNOTS] = {0}, apart[KNOTS] = {0.3, 0, 0, 0.05, -0.4};
  double aim = 0.1 * RUNS, give = 4 * sqrt(0.1 * 0.9 * RUNS);
  for (int together = 0; together < 2; together++) {
    assert_near((double)count_wrong(alike, BE_SEPARATE_JOINT, together, RUNS), aim, give);
    assert_near((double)count_wrong(alike, BE_SEPARATE_STEPWISE, together, RUNS), aim, give);
    assert_true((double)count_wrong(alike, BE_SEPARATE_BONFERRONI, together, RUNS) < aim + give);
    double wrong = (double)count_wrong(apart, BE_SEPARATE_STEPWISE, together, RUNS);
    assert_true(wrong < aim + give);
    assert_true(wrong >= (double)count_wrong(apart, BE_SEPARATE_JOINT, together, RUNS));
  }
}

/* ---- the same for the same ---- */

static void threads_do_not_show(void **state)
{
  (void)state;
  for (int together = 0; together < 2; together++) {
    struct be_resampling by = usual;
    struct be_rank_set first[KNOTS], sets[KNOTS];
    struct be_chance first_chances[KNOTS], chances[KNOTS];
    by.threads = 1;
    assert_int_equal(be_rank_sets(&five, BE_SEPARATE_STEPWISE, together, &by, first, NULL, NULL),
                     BE_OK);
    assert_int_equal(be_chances(&five, 2, &by, first_chances, NULL), BE_OK);
    for (unsigned threads = 2; threads < 6; threads++) {
      by.threads = threads;
      assert_int_equal(be_rank_sets(&five, BE_SEPARATE_STEPWISE, together, &by, sets, NULL, NULL),
                       BE_OK);
      assert_int_equal(be_chances(&five, 2, &by, chances, NULL), BE_OK);
      for (size_t i = 0; i < KNOTS; i++) {
        assert_true(sets[i].critical == first[i].critical && sets[i].low == first[i].low);
        assert_true(sets[i].high == first[i].high && sets[i].rank == first[i].rank);
        assert_true(chances[i].best == first_chances[i].best);
        assert_true(chances[i].mean_rank == first_chances[i].mean_rank);
      }
    }
    by.seed++;
    assert_int_equal(be_rank_sets(&five, BE_SEPARATE_STEPWISE, together, &by, sets, NULL, NULL),
                     BE_OK);
    assert_true(sets[0].critical != first[0].critical);
  }
}

/* Strengths as logs of another unit, or with all scatter and gaps eight times as large. */
static void neither_offset_nor_scale_shows(void **state)
{
  (void)state;
  double value[KNOTS], covariance[KNOTS * KNOTS];
  struct be_rank_set first[KNOTS], sets[KNOTS];
  struct be_chance first_chances[KNOTS], chances[KNOTS];
  for (size_t i = 0; i < KNOTS; i++) value[i] = 8 * values[i];
  for (size_t i = 0; i < KNOTS * KNOTS; i++) covariance[i] = 64 * covariances[i];
  const struct be_standing larger = {KNOTS, value, covariance, 7.5};
  assert_int_equal(be_rank_sets(&five, BE_SEPARATE_STEPWISE, true, &usual, first, NULL, NULL),
                   BE_OK);
  assert_int_equal(be_rank_sets(&larger, BE_SEPARATE_STEPWISE, true, &usual, sets, NULL, NULL),
                   BE_OK);
  assert_int_equal(be_chances(&five, 3, &usual, first_chances, NULL), BE_OK);
  assert_int_equal(be_chances(&larger, 3, &usual, chances, NULL), BE_OK);
  for (size_t i = 0; i < KNOTS; i++) {
    assert_near(sets[i].critical, first[i].critical, 0);
    assert_true(sets[i].low == first[i].low && sets[i].high == first[i].high);
    assert_true(chances[i].top == first_chances[i].top);
  }
}

/* In another order: what needs no drawing is the same, what is drawn within its error. */
static void order_does_not_show(void **state)
{
  (void)state;
  static const size_t from[KNOTS] = {3, 0, 4, 2, 1};
  double value[KNOTS], covariance[KNOTS * KNOTS];
  for (size_t i = 0; i < KNOTS; i++) {
    value[i] = values[from[i]];
    for (size_t j = 0; j < KNOTS; j++)
      covariance[i * KNOTS + j] = covariances[from[i] * KNOTS + from[j]];
  }
  const struct be_standing turned = {KNOTS, value, covariance, 7.5};
  const struct be_resampling by = {5, 40000, 0.9, 0};
  for (int way = 0; way < 3; way++) {
    struct be_rank_set first[KNOTS], sets[KNOTS];
    enum be_separation how = (enum be_separation)way;
    assert_int_equal(be_rank_sets(&five, how, true, &by, first, NULL, NULL), BE_OK);
    assert_int_equal(be_rank_sets(&turned, how, true, &by, sets, NULL, NULL), BE_OK);
    for (size_t i = 0; i < KNOTS; i++) {
      assert_true(sets[i].low == first[from[i]].low && sets[i].high == first[from[i]].high);
      assert_int_equal(sets[i].rank, first[from[i]].rank);
      /* sqrt(0.1 * 0.9 / 40000) over a density of more than 0.1, twice, 4.5 deviations. */
      assert_near(sets[i].critical, first[from[i]].critical, way ? 0.1 : 0);
    }
  }
  struct be_chance first[KNOTS], chances[KNOTS];
  assert_int_equal(be_chances(&five, 2, &by, first, NULL), BE_OK);
  assert_int_equal(be_chances(&turned, 2, &by, chances, NULL), BE_OK);
  for (size_t i = 0; i < KNOTS; i++) {
    assert_near(chances[i].best, first[from[i]].best, 6.5 * chances[i].best_error);
    assert_near(chances[i].top, first[from[i]].top, 6.5 * chances[i].top_error);
  }
}

/* ---- chances ---- */

/* Knots by themselves, variances exact: the chance to be first, or among the first two, by
 * adding up over where its own strength may lie. */
static void slow_chances(const double *value, const double *variance, size_t knot, double *best,
                         double *top)
{
  enum { STEPS = 2000 };
  *best = *top = 0;
  for (int i = 0; i < STEPS; i++) {
    double z = -8 + 16 * (i + 0.5) / STEPS, below = 1, one_above = 0;
    double x = value[knot] + sqrt(variance[knot]) * z;
    for (size_t j = 0; j < KNOTS; j++) {
      if (j == knot) continue;
      double under = gsl_cdf_ugaussian_P((x - value[j]) / sqrt(variance[j]));
      one_above = one_above * under + below * (1 - under);
      below *= under;
    }
    double mass = exp(-z * z / 2) / sqrt(2 * acos(-1)) * 16 / STEPS;
    *best += mass * below;
    *top += mass * (below + one_above);
  }
}

static void chances_agree_with_adding_up(void **state)
{
  (void)state;
  double covariance[KNOTS * KNOTS] = {0}, variance[KNOTS], bests = 0, tops = 0, ranks = 0;
  struct be_chance chances[KNOTS];
  for (size_t i = 0; i < KNOTS; i++)
    covariance[i * (KNOTS + 1)] = variance[i] = covariances[i * (KNOTS + 1)];
  const struct be_standing alone = {KNOTS, values, covariance, INFINITY};
  const struct be_resampling by = {17, 100000, 0.95, 0};
  assert_int_equal(be_chances(&alone, 2, &by, chances, NULL), BE_OK);
  for (size_t i = 0; i < KNOTS; i++) {
    double best, top;
    slow_chances(values, variance, i, &best, &top);
    assert_near(chances[i].best, best, 4.5 * chances[i].best_error);
    assert_near(chances[i].top, top, 4.5 * chances[i].top_error);
    assert_true(chances[i].best_error > 0);
    bests += chances[i].best, tops += chances[i].top, ranks += chances[i].mean_rank;
  }
  assert_near(bests, 1, 1e-12);
  assert_near(tops, 2, 1e-12);
  assert_near(ranks, 15, 1e-10);
}

/* The mean rank is 1 and the chances of each other to be above. */
static void mean_ranks_agree_with_pairs(void **state)
{
  (void)state;
  struct be_chance chances[KNOTS];
  const struct be_resampling by = {18, 100000, 0.95, 0};
  assert_int_equal(be_chances(&five, 9, &by, chances, NULL), BE_OK);
  for (size_t i = 0; i < KNOTS; i++) {
    double mean = 1;
    for (size_t j = 0; j < KNOTS; j++) {
      double both = covariances[i * (KNOTS + 1)] + covariances[j * (KNOTS + 1)];
      double se = sqrt(both - 2 * covariances[i * KNOTS + j]);
      if (j != i) mean += be_t_upper((values[i] - values[j]) / se, five.df);
    }
    /* A rank has a deviation of at most 2 here. */
    assert_near(chances[i].mean_rank, mean, 4.5 * 2 / sqrt(100000));
    assert_true(chances[i].top == 1);
  }
}

/* ---- refused ---- */

/* One number of the covariance changed, both ways or one. */
static enum be_status with(size_t i, size_t j, double x, bool both, struct be_err *err)
{
  double covariance[KNOTS * KNOTS];
  memcpy(covariance, covariances, sizeof covariance);
  covariance[i * KNOTS + j] = x;
  if (both) covariance[j * KNOTS + i] = x;
  const struct be_standing standing = {KNOTS, values, covariance, 7.5};
  struct be_rank_set sets[KNOTS];
  struct be_chance chances[KNOTS];
  enum be_status status = be_standing_check(&standing, err);
  assert_int_equal(be_rank_sets(&standing, BE_SEPARATE_JOINT, true, &usual, sets, NULL, NULL),
                   status);
  assert_int_equal(be_chances(&standing, 1, &usual, chances, NULL), status);
  return status;
}

static void what_cannot_be_a_covariance_is_refused(void **state)
{
  (void)state;
  struct be_err err;
  assert_int_equal(be_standing_check(&five, &err), BE_OK);
  assert_int_equal(with(1, 2, 2.1e-4, false, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "knots 2 and 3 is 0.00021 one way and 0.0002 the other"));
  assert_int_equal(with(1, 2, 2e-4 * (1 + 1e-12), false, &err), BE_OK);
  assert_int_equal(with(3, 4, -7.1e-4, true, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "knots 4 and 5"));
  assert_non_null(strstr(err.what, "more than their deviations allow"));
  assert_int_equal(with(0, 3, NAN, true, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "knots 1 and 4 is no number"));
  assert_int_equal(with(2, 2, -1e-4, true, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "the variance of knot 3 is -0.0001"));
  assert_int_equal(with(2, 2, INFINITY, true, &err), BE_BAD_INPUT);
  assert_int_equal(with(2, 2, 0, true, &err), BE_BAD_INPUT);
  /* Each pair could be, but not all three: 4 and 5 go together, 5 and 1, but not 4 and 1. The
   * pair that hangs together most is named. */
  double covariance[KNOTS * KNOTS];
  memcpy(covariance, covariances, sizeof covariance);
  covariance[3 * KNOTS + 4] = covariance[4 * KNOTS + 3] = 6e-4;
  covariance[0 * KNOTS + 4] = covariance[4 * KNOTS + 0] = 7e-4;
  const struct be_standing standing = {KNOTS, values, covariance, 7.5};
  assert_int_equal(be_standing_check(&standing, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "knots 4 and 5 cannot be"));
  assert_non_null(strstr(err.remedy, "semi-definite"));
}

/* Knots 1 to 4 of three causes: semi-definite, which is borne, but no more. */
static void a_covariance_of_fewer_causes_is_borne(void **state)
{
  (void)state;
  static const double cause[4][3] = {{3, 1, 0}, {1, 2, 1}, {0, 1, 4}, {4, 4, 5}};
  double covariance[16], value[4] = {0.1, 0.2, 0.4, 0.9};
  for (size_t i = 0; i < 16; i++) {
    covariance[i] = 0;
    for (size_t c = 0; c < 3; c++) covariance[i] += 0.01 * cause[i / 4][c] * cause[i % 4][c];
  }
  /* The fourth is the sum of the others, drawing by drawing. */
  const struct be_standing standing = {4, value, covariance, INFINITY};
  struct be_chance chances[4];
  struct be_err err;
  assert_int_equal(be_standing_check(&standing, &err), BE_OK);
  assert_int_equal(be_chances(&standing, 1, &usual, chances, NULL), BE_OK);
  covariance[3 * 4 + 2] = covariance[2 * 4 + 3] += 0.002;
  assert_int_equal(be_standing_check(&standing, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "cannot be"));
  /* A knot that is exact hangs together with none; one that goes wholly with another does. */
  double small[9] = {0, 0, 0, 0, 2, 2, 0, 2, 2};
  const struct be_standing three = {3, value, small, 5};
  assert_int_equal(be_standing_check(&three, &err), BE_OK);
  static const double zero_pivot[9] = {2, 2, 1, 2, 2, 1.5, 1, 1.5, 2};
  const struct be_standing bad = {3, value, zero_pivot, 5};
  assert_int_equal(be_standing_check(&bad, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "knots 2 and 3 cannot be"));
}

static void what_cannot_be_drawn_is_refused(void **state)
{
  (void)state;
  struct be_err err;
  struct be_rank_set sets[KNOTS];
  struct be_chance chances[KNOTS];
  struct be_standing standing = five;
  static const double dfs[] = {0, -2, NAN};
  for (size_t i = 0; i < 3; i++) {
    standing.df = dfs[i];
    assert_int_equal(be_standing_check(&standing, &err), BE_BAD_INPUT);
  }
  standing.df = 7.5;
  double value[KNOTS] = {0.1, 0.2, INFINITY, 0.3, 0.4};
  standing.value = value;
  assert_int_equal(be_standing_check(&standing, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "the value of knot 3 is infinite"));
  standing = five;
  standing.count = 1001;
  assert_int_equal(be_standing_check(&standing, &err), BE_TOO_LARGE);
  struct be_resampling by = usual;
  static const double levels[] = {0, 1, NAN, -0.2};
  for (size_t i = 0; i < 4; i++) {
    by.level = levels[i];
    assert_int_equal(be_rank_sets(&five, BE_SEPARATE_BONFERRONI, true, &by, sets, NULL, &err),
                     BE_WRONG_USE);
  }
  by = (struct be_resampling){1, 18, 0.95, 0};
  assert_int_equal(be_rank_sets(&five, BE_SEPARATE_JOINT, true, &by, sets, NULL, &err),
                   BE_WRONG_USE);
  assert_non_null(strstr(err.remedy, "at least 19"));
  by.times = 19;
  assert_int_equal(be_rank_sets(&five, BE_SEPARATE_JOINT, true, &by, sets, NULL, &err), BE_OK);
  by.times = 0;
  assert_int_equal(be_rank_sets(&five, BE_SEPARATE_BONFERRONI, true, &by, sets, NULL, NULL), BE_OK);
  assert_int_equal(be_rank_sets(&five, BE_SEPARATE_JOINT, true, &by, sets, NULL, NULL),
                   BE_WRONG_USE);
  assert_int_equal(be_chances(&five, 1, &by, chances, &err), BE_WRONG_USE);
  by.times = BE_STANDING_DRAWS_MAX / KNOTS + 1;
  assert_int_equal(be_rank_sets(&five, BE_SEPARATE_JOINT, true, &by, sets, NULL, NULL),
                   BE_TOO_LARGE);
  assert_int_equal(be_chances(&five, 1, &by, chances, &err), BE_TOO_LARGE);
  assert_int_equal(be_chances(&five, 0, &usual, chances, &err), BE_WRONG_USE);
}

static enum be_status do_all(void *context, struct be_err *err)
{
  (void)context;
  struct be_rank_set sets[KNOTS];
  struct be_chance chances[KNOTS];
  const struct be_resampling by = {3, 20, 0.9, 2};
  enum be_status status = be_rank_sets(&five, BE_SEPARATE_STEPWISE, false, &by, sets, NULL, err);
  if (status == BE_OK) status = be_chances(&five, 2, &by, chances, err);
  return status;
}

static void without_memory(void **state)
{
  (void)state;
  be_fail_loop(do_all, NULL, 10 + 7);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_level_is_kept),
      cmocka_unit_test(threads_do_not_show),
      cmocka_unit_test(neither_offset_nor_scale_shows),
      cmocka_unit_test(order_does_not_show),
      cmocka_unit_test(chances_agree_with_adding_up),
      cmocka_unit_test(mean_ranks_agree_with_pairs),
      cmocka_unit_test(what_cannot_be_a_covariance_is_refused),
      cmocka_unit_test(a_covariance_of_fewer_causes_is_borne),
      cmocka_unit_test(what_cannot_be_drawn_is_refused),
      cmocka_unit_test(without_memory),
  };
  return be_tests("stats: drawing of standings", tests);
}
