/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault/failing.h"
#include "stats/stats.h"
#include "test.h"

enum { KNOTS_MAX = 12, PULLS_MAX = 400 };

/* knots x combinations cells of n pulls each, knot k about `step` * k apart. */
struct field {
  double x[PULLS_MAX];
  struct be_sample cells[KNOTS_MAX * 4];
};

static void fill_field(struct field *field, size_t knots, size_t combinations, size_t n,
                       double step, uint64_t seed)
{
  struct be_random random;
  be_random_init(&random, seed, 0);
  assert_true(knots * combinations * n <= PULLS_MAX);
  for (size_t i = 0; i < knots * combinations; i++) {
    field->cells[i] = (struct be_sample){field->x + i * n, n};
    for (size_t j = 0; j < n; j++)
      field->x[i * n + j] = 140 - step * (double)(i / combinations) +
                            30 * (double)(i % combinations) + 9.7 * be_random_normal(&random);
  }
}

/* Every one of the n^n ways to draw n of n; returns how many. */
static size_t all_means(const double *x, size_t n, double *means)
{
  size_t ways = 1;
  double mean = 0;
  for (size_t i = 0; i < n; i++) ways *= n, mean += x[i] / (double)n;
  for (size_t w = 0; w < ways; w++) {
    double sum = 0;
    for (size_t i = 0, rest = w; i < n; i++, rest /= n) sum += x[rest % n];
    double stretch = sqrt((double)n / (double)(n - 1));
    means[w] = mean + stretch * (sum / (double)n - mean);
  }
  return ways;
}

/* Two knots of 4 and 3 pulls: all 256 x 27 outcomes are counted. */
static void shares_agree_with_all_outcomes(void **state)
{
  (void)state;
  const double a[] = {31.2, 36.9, 28.4, 33.3}, b[] = {29.7, 38.1, 32.6};
  const struct be_sample cells[] = {{a, 4}, {b, 3}};
  double means_a[256], means_b[27];
  size_t ways_a = all_means(a, 4, means_a), ways_b = all_means(b, 3, means_b);
  assert_true(ways_a == 256 && ways_b == 27);
  size_t first = 0;
  for (size_t i = 0; i < ways_a; i++)
    for (size_t j = 0; j < ways_b; j++) first += means_a[i] > means_b[j];
  double share = (double)first / (256 * 27);
  const struct be_resampling how = {20260301, 200000, 0.95, 0};
  struct be_rank ranks[2];
  assert_int_equal(be_rank_resample(cells, 2, 1, &how, ranks, NULL), BE_OK);
  assert_near(ranks[0].best, share, 5 * sqrt(share * (1 - share) / 200000));
  assert_near(ranks[0].best + ranks[1].best, 1, 1e-12);
  assert_near(ranks[0].score, log(32.45), 1e-14);
  assert_int_equal(ranks[0].rank, 2);
  assert_int_equal(ranks[1].rank, 1);
}

/* The same resampling, done with other random numbers and no haste. */
static void slow_shares(const struct be_sample *cells, size_t knots, size_t combinations,
                        size_t times, double shares[][KNOTS_MAX])
{
  struct be_random random;
  be_random_init(&random, 4711, 3);
  memset(shares, 0, knots * sizeof shares[0]);
  for (size_t t = 0; t < times; t++) {
    double score[KNOTS_MAX];
    for (size_t k = 0; k < knots; k++) {
      score[k] = 0;
      for (size_t c = 0; c < combinations; c++) {
        const struct be_sample *cell = &cells[k * combinations + c];
        double n = (double)cell->n, mean = 0, drawn = 0;
        for (size_t i = 0; i < cell->n; i++) mean += cell->x[i] / n;
        for (size_t i = 0; i < cell->n; i++)
          drawn += (cell->x[be_random_below(&random, cell->n)] - mean) / n;
        score[k] += log(mean + sqrt(n / (n - 1)) * drawn);
      }
    }
    for (size_t k = 0; k < knots; k++) {
      size_t before = 0;
      for (size_t j = 0; j < knots; j++) before += score[j] > score[k];
      shares[k][before] += 1 / (double)times;
    }
  }
}

/* Before low and after high lies less than 0.05, with them more; 0.008 is five
 * deviations of the difference of two shares of 0.05. */
static void ranges_agree_with_a_slow_resampling(void **state)
{
  (void)state;
  enum { KNOTS = 8, COMBINATIONS = 3 };
  struct field field;
  fill_field(&field, KNOTS, COMBINATIONS, 6, 2.5, 8);
  double shares[KNOTS][KNOTS_MAX];
  slow_shares(field.cells, KNOTS, COMBINATIONS, 40000, shares);
  const struct be_resampling how = {99, 40000, 0.9, 0};
  struct be_rank ranks[KNOTS];
  assert_int_equal(be_rank_resample(field.cells, KNOTS, COMBINATIONS, &how, ranks, NULL), BE_OK);
  for (size_t k = 0; k < KNOTS; k++) {
    assert_near(ranks[k].best, shares[k][0], 0.012);
    double before = 0, after = 0;
    for (size_t r = 0; r + 1 < ranks[k].low; r++) before += shares[k][r];
    for (size_t r = ranks[k].high; r < KNOTS; r++) after += shares[k][r];
    assert_true(before < 0.058 && before + shares[k][ranks[k].low - 1] > 0.042);
    assert_true(after < 0.058 && after + shares[k][ranks[k].high - 1] > 0.042);
    assert_true(ranks[k].low <= ranks[k].rank && ranks[k].rank <= ranks[k].high);
  }
}

static void same_seed_same_ranks_for_any_threads(void **state)
{
  (void)state;
  struct field field;
  fill_field(&field, 9, 4, 5, 3, 12);
  struct be_rank first[9], again[9];
  struct be_resampling how = {31, 1013, 0.95, 1};
  assert_int_equal(be_rank_resample(field.cells, 9, 4, &how, first, NULL), BE_OK);
  static const unsigned threads[] = {1, 2, 3, 7, 0};
  for (size_t i = 0; i < sizeof threads / sizeof threads[0]; i++) {
    how.threads = threads[i];
    memset(again, 0xA5, sizeof again);
    assert_int_equal(be_rank_resample(field.cells, 9, 4, &how, again, NULL), BE_OK);
    for (size_t k = 0; k < 9; k++) {
      assert_true(first[k].score == again[k].score && first[k].best == again[k].best);
      assert_true(first[k].rank == again[k].rank && first[k].low == again[k].low);
      assert_true(first[k].high == again[k].high);
    }
  }
  how.seed = 32;
  assert_int_equal(be_rank_resample(field.cells, 9, 4, &how, again, NULL), BE_OK);
  bool differs = false;
  for (size_t k = 0; k < 9; k++) differs = differs || first[k].best != again[k].best;
  assert_true(differs);
}

static void knots_far_apart_keep_their_ranks(void **state)
{
  (void)state;
  struct field field;
  const double x[] = {51.2, 53.1, 52.2, 20.3, 21.1, 20.9, 88.7, 90.2, 91.4};
  for (size_t k = 0; k < 3; k++) field.cells[k] = (struct be_sample){x + 3 * k, 3};
  const struct be_resampling how = {5, 777, 0.999, 2};
  struct be_rank ranks[3];
  assert_int_equal(be_rank_resample(field.cells, 3, 1, &how, ranks, NULL), BE_OK);
  static const size_t want[] = {2, 3, 1};
  for (size_t k = 0; k < 3; k++) {
    assert_int_equal(ranks[k].rank, want[k]);
    assert_int_equal(ranks[k].low, want[k]);
    assert_int_equal(ranks[k].high, want[k]);
    assert_true(ranks[k].best == (want[k] == 1));
  }
}

static void knots_alike_share_all_ranks(void **state)
{
  (void)state;
  const double x[] = {31.2, 36.9, 28.4, 33.3, 35.1};
  struct be_sample cells[5];
  for (size_t k = 0; k < 5; k++) cells[k] = (struct be_sample){x, 5};
  const struct be_resampling how = {6, 20000, 0.95, 0};
  struct be_rank ranks[5];
  assert_int_equal(be_rank_resample(cells, 5, 1, &how, ranks, NULL), BE_OK);
  for (size_t k = 0; k < 5; k++) {
    assert_int_equal(ranks[k].rank, k + 1);
    assert_true(ranks[k].low == 1 && ranks[k].high == 5);
    assert_near(ranks[k].best, 0.2, 0.015);
  }
}

/* No scatter at all: nothing moves, and equal scores stand in order of index. */
static void equal_pulls_are_ordered_by_index(void **state)
{
  (void)state;
  const double x[] = {30.1, 30.1, 30.1, 30.1, 30.1, 30.1, 30.1, 44.4, 44.4};
  const struct be_sample cells[] = {{x, 2}, {x, 7}, {x + 7, 2}, {x, 3}};
  const struct be_resampling how = {7, 50, 0.95, 0};
  struct be_rank ranks[4];
  assert_int_equal(be_rank_resample(cells, 4, 1, &how, ranks, NULL), BE_OK);
  static const size_t want[] = {2, 3, 1, 4};
  for (size_t k = 0; k < 4; k++)
    assert_true(ranks[k].rank == want[k] && ranks[k].low == want[k] && ranks[k].high == want[k]);
  double many[99];
  struct be_sample alike[98];
  struct be_rank in_order[98];
  for (size_t k = 0; k < 99; k++) many[k] = 30.1;
  for (size_t k = 0; k < 98; k++) alike[k] = (struct be_sample){many, k + 2};
  assert_int_equal(be_rank_resample(alike, 98, 1, &how, in_order, NULL), BE_OK);
  for (size_t k = 0; k < 98; k++)
    assert_true(in_order[k].rank == k + 1 && in_order[k].low == k + 1 && in_order[k].high == k + 1);
}

/* One of 20 is not more than a twentieth, though (1 - 0.9) / 2 * 20 < 1. */
static void a_share_equal_to_the_bound_does_not_count(void **state)
{
  (void)state;
  const double a[] = {31.2, 36.9, 28.4, 33.3}, b[] = {26.7, 33.1, 29.6};
  const struct be_sample cells[] = {{a, 4}, {b, 3}};
  struct be_resampling how = {0, 20, 0.9, 1};
  struct be_rank ranks[2];
  bool met = false;
  for (how.seed = 0; how.seed < 500; how.seed++) {
    assert_int_equal(be_rank_resample(cells, 2, 1, &how, ranks, NULL), BE_OK);
    int lost = (int)lround(20 * (1 - ranks[0].best));
    met = met || lost == 1;
    assert_int_equal(ranks[0].high, lost > 1 ? 2 : 1);
    assert_int_equal(ranks[1].low, lost > 1 ? 1 : 2);
  }
  assert_true(met);
}

static void one_pull_says_nothing_of_its_range(void **state)
{
  (void)state;
  const double x[] = {51.2, 53.1, 20.3, 21.1, 40.4, 40.9};
  const struct be_sample cells[] = {{x, 2},     {x, 2},     {x + 2, 2},
                                    {x + 2, 2}, {x + 4, 1}, {x + 4, 2}};
  const struct be_resampling how = {8, 100, 0.95, 0};
  struct be_rank ranks[3];
  assert_int_equal(be_rank_resample(cells, 3, 2, &how, ranks, NULL), BE_OK);
  assert_true(ranks[2].rank == 2 && ranks[2].low == 1 && ranks[2].high == 3);
  assert_true(isnan(ranks[2].best));
  assert_true(ranks[1].low == 3 && ranks[1].high == 3 && ranks[1].best == 0);
}

/* A pull of 1 and one of 100: the stretched mean falls below 0 in a quarter of
 * all resamplings, which then ranks last even against a knot of 1.5. */
static void no_strength_left_ranks_last(void **state)
{
  (void)state;
  const double x[] = {1, 100}, y[] = {1.5, 1.6};
  const struct be_sample cells[] = {{x, 2}, {y, 2}};
  const struct be_resampling how = {9, 40000, 0.95, 0};
  struct be_rank ranks[2];
  assert_int_equal(be_rank_resample(cells, 2, 1, &how, ranks, NULL), BE_OK);
  assert_near(ranks[0].best, 0.75, 0.011);
  assert_near(ranks[1].best, 0.25, 0.011);
  assert_true(ranks[0].rank == 1 && ranks[0].high == 2);
}

/* A logarithm of a resampled mean is below that of the mean on average, so over
 * 6000 combinations the product of the ratios would fall to 0, and the knots,
 * being alike, would stand in order of index, if it were not watched. */
static void products_do_not_underflow(void **state)
{
  (void)state;
  enum { COMBINATIONS = 6000 };
  static const double x[] = {10.3, 21.2, 90.1, 99.7};
  static struct be_sample cells[2 * COMBINATIONS];
  for (size_t i = 0; i < 2 * COMBINATIONS; i++) cells[i] = (struct be_sample){x, 4};
  const struct be_resampling how = {10, 400, 0.95, 0};
  struct be_rank ranks[2];
  assert_int_equal(be_rank_resample(cells, 2, COMBINATIONS, &how, ranks, NULL), BE_OK);
  assert_near(ranks[0].best, 0.5, 0.11);
  assert_true(ranks[0].high == 2 && ranks[1].low == 1);
}

static void what_cannot_be_ranked_is_refused(void **state)
{
  (void)state;
  double x[] = {51.2, 53.1, 20.3, 21.1};
  struct be_sample cells[] = {{x, 2}, {x + 2, 2}};
  struct be_resampling how = {5, 10, 0.95, 1};
  struct be_rank ranks[2];
  struct be_err err;
  static const double bad[] = {0, -3.5, NAN, INFINITY};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    x[3] = bad[i];
    assert_int_equal(be_rank_resample(cells, 2, 1, &how, ranks, &err), BE_BAD_INPUT);
    assert_non_null(strstr(err.what, "knot 2, combination 1, pull 2"));
  }
  x[3] = 21.1;
  cells[1].n = 0;
  assert_int_equal(be_rank_resample(cells, 1, 2, &how, ranks, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "knot 1 has no pull in combination 2"));
  cells[1].n = 2;
  assert_int_equal(be_rank_resample(cells, 2, 0, &how, ranks, &err), BE_BAD_INPUT);
  assert_int_equal(be_rank_resample(cells, 1001, 1, &how, ranks, &err), BE_TOO_LARGE);
  how.times = 100000001;
  assert_int_equal(be_rank_resample(cells, 2, 1, &how, ranks, &err), BE_TOO_LARGE);
  how.times = 0;
  assert_int_equal(be_rank_resample(cells, 2, 1, &how, ranks, &err), BE_WRONG_USE);
  how.times = 10;
  static const double levels[] = {0, 1, -0.5, NAN};
  for (size_t i = 0; i < sizeof levels / sizeof levels[0]; i++) {
    how.level = levels[i];
    assert_int_equal(be_rank_resample(cells, 2, 1, &how, ranks, &err), BE_WRONG_USE);
  }
  how.level = 0.95;
  assert_int_equal(be_rank_resample(cells, 0, 1, &how, ranks, NULL), BE_OK);
  assert_int_equal(be_rank_resample(cells, 2, 1, &how, ranks, NULL), BE_OK);
}

/* Memory fails at one allocation and ever after, at each in turn. */
static void without_memory(void **state)
{
  (void)state;
  struct field field;
  fill_field(&field, 3, 2, 4, 5, 13);
  const struct be_resampling how = {5, 40, 0.95, 2};
  struct be_rank ranks[3];
  int failures = 0;
  for (;; failures++) {
    struct be_failing failing = {0};
    be_failing_start(&failing, (size_t)failures + 1, true);
    enum be_status status = be_rank_resample(field.cells, 3, 2, &how, ranks, NULL);
    be_failing_stop();
    assert_int_equal(failing.blocks + failing.broken, 0);
    if (status == BE_OK) break;
    assert_int_equal(status, BE_NO_MEMORY);
  }
  assert_int_equal(failures, 5);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(shares_agree_with_all_outcomes),
      cmocka_unit_test(ranges_agree_with_a_slow_resampling),
      cmocka_unit_test(same_seed_same_ranks_for_any_threads),
      cmocka_unit_test(knots_far_apart_keep_their_ranks),
      cmocka_unit_test(knots_alike_share_all_ranks),
      cmocka_unit_test(equal_pulls_are_ordered_by_index),
      cmocka_unit_test(a_share_equal_to_the_bound_does_not_count),
      cmocka_unit_test(one_pull_says_nothing_of_its_range),
      cmocka_unit_test(no_strength_left_ranks_last),
      cmocka_unit_test(products_do_not_underflow),
      cmocka_unit_test(what_cannot_be_ranked_is_refused),
      cmocka_unit_test(without_memory),
  };
  return be_tests("stats: ranks", tests);
}
