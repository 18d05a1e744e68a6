/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

/* Copper in flour (Analytical Methods Committee 1989) and copper wire (ASTM E178). */
static const double flour[24] = {2.2, 2.2, 2.4, 2.4, 2.5, 2.7, 2.8, 2.9, 3.03, 3.03, 3.1,  3.37,
                                 3.4, 3.4, 3.4, 3.5, 3.6, 3.7, 3.7, 3.7, 3.7,  3.77, 5.28, 28.95};
static const double wire[10] = {568, 570, 570, 570, 572, 572, 572, 578, 584, 596};

/* ---- quantiles ---- */

/* The inverse of each definition: the quantile at which pull k itself stands. */
static void pulls_stand_where_each_type_puts_them(void **state)
{
  (void)state;
  const double x[] = {1.7, 2.9, 3.1, 7.3, 8.2, 9.6, 10.1};
  enum { N = 7 };
  for (int k = 1; k <= N; k++) {
    double at[] = {(double)k / N,
                   (k - 0.5) / N,
                   k / (N + 1.0),
                   (k - 1.0) / (N - 1),
                   (k - 1.0 / 3) / (N + 1.0 / 3),
                   (k - 0.375) / (N + 0.25)};
    for (int type = 4; type <= 9; type++)
      assert_near(be_quantile(x, N, at[type - 4], type), x[k - 1], 1e-14);
  }
  for (int type = 1; type <= 9; type++) {
    assert_true(be_quantile(x, N, 0, type) == 1.7);
    assert_true(be_quantile(x, N, 1, type) == 10.1);
    assert_true(be_quantile(x + 3, 1, 0.37, type) == 7.3);
  }
}

/* Types 1 to 3 by their words: the least pull with at least a share p at or below it; that
 * with the mean of two where the share is met; the nearest to np, even when halfway. */
static void steps_are_where_the_words_say(void **state)
{
  (void)state;
  const double x[] = {1.7, 2.9, 3.1, 7.3, 8.2, 9.6};
  for (int i = 1; i < 60; i++) {
    double p = i / 60.0;
    int place = i; /* tenths of a pull */
    int up = (place + 9) / 10;
    double first = x[up - 1];
    double second = place % 10 == 0 && up < 6 ? (x[up - 1] + x[up]) / 2 : first;
    int nearest = place % 10 == 5 ? (place / 10 + 1) / 2 * 2 : (place + 5) / 10;
    assert_near(be_quantile(x, 6, p, 1), first, 0);
    assert_near(be_quantile(x, 6, p, 2), second, 1e-15 * second);
    assert_near(be_quantile(x, 6, p, 3), x[nearest < 1 ? 0 : nearest - 1], 0);
  }
}

/* ---- median ---- */

/* The formula written once more in R 4.2.2. */
static void median_intervals(void **state)
{
  (void)state;
  struct be_measure median;
  be_sample_median(flour, 24, 0.95, &median);
  assert_near(median.value, 3.385, 1e-14);
  assert_near(median.interval.low, 2.8826763831484, 1e-12);
  assert_near(median.interval.high, 3.6173236168516, 1e-12);
  assert_true(median.interval.level == 0.95);
  be_sample_median(flour, 24, 0.9, &median);
  assert_near(median.interval.low, 2.9758093496214, 1e-12);
  assert_near(median.interval.high, 3.5416851156759, 1e-12);
  be_sample_median(wire, 10, 0.99, &median);
  assert_near(median.interval.low, 569.72625698324, 1e-10);
  assert_near(median.interval.high, 585.64245810056, 1e-10);
}

/* Five pulls reach 1 - 2 / 32 at most; two reach 1/2, one nothing; and a level that even
 * the two in the middle exceed is told as what these cover. */
static void median_of_few_tells_its_level(void **state)
{
  (void)state;
  const double x[] = {21.3, 24.9, 25.2, 27.7, 30.4, 33.6};
  struct be_measure median;
  be_sample_median(x, 5, 0.95, &median);
  assert_true(median.value == 25.2 && median.interval.low == 21.3 && median.interval.high == 30.4);
  assert_near(median.interval.level, 0.9375, 1e-15);
  be_sample_median(x, 2, 0.9, &median);
  assert_true(median.interval.low == 21.3 && median.interval.high == 24.9);
  assert_near(median.interval.level, 0.5, 1e-15);
  be_sample_median(x, 1, 0.9, &median);
  assert_true(median.value == 21.3 && isnan(median.interval.low) && isnan(median.interval.high));
  be_sample_median(x, 6, 0.3, &median);
  assert_true(median.interval.low == 25.2 && median.interval.high == 27.7);
  assert_near(median.interval.level, 20.0 / 64, 1e-14);
  be_sample_median(x, 6, 0.95, &median);
  assert_true(median.interval.level == 0.95);
  assert_true(median.interval.low > 21.3 && median.interval.low < 24.9);
}

/* The interval of all 99 % down to 5 %, each within the one before. */
static void median_intervals_are_nested(void **state)
{
  (void)state;
  struct be_measure wide, narrow;
  be_sample_median(flour, 23, 0.995, &wide);
  for (int level = 985; level > 50; level -= 10) {
    be_sample_median(flour, 23, level / 1000.0, &narrow);
    assert_true(narrow.interval.low >= wide.interval.low);
    assert_true(narrow.interval.high <= wide.interval.high);
    assert_true(narrow.interval.low <= narrow.value && narrow.value <= narrow.interval.high);
    assert_near(narrow.interval.level, level / 1000.0, 0);
    wide = narrow;
  }
}

/* ---- Hodges and Lehmann ---- */

/* Level and depth from R 4.2.2's qsignrank and psignrank. */
static void hodges_lehmann_intervals(void **state)
{
  (void)state;
  static double scratch[300];
  struct be_measure location;
  be_hodges_lehmann(flour, 24, 0.95, scratch, &location);
  assert_near(location.value, 3.225, 1e-14);
  assert_near(location.interval.low, 2.95, 1e-14);
  assert_near(location.interval.high, 3.55, 1e-14);
  assert_near(location.interval.level, 0.95093882083893, 1e-13);
  be_hodges_lehmann(flour, 24, 0.8, scratch, &location);
  assert_near(location.interval.low, 3.05, 1e-14);
  assert_near(location.interval.high, 3.4, 1e-14);
  assert_near(location.interval.level, 0.80262160301208, 1e-13);
  be_hodges_lehmann(flour, 1, 0.95, scratch, &location);
  assert_true(location.value == 2.2 && isnan(location.interval.low));
  be_hodges_lehmann(wire, 4, 0.95, scratch, &location);
  assert_true(location.interval.low == 568 && location.interval.high == 570);
  assert_near(location.interval.level, 1 - 2.0 / 16, 1e-15);
}

/* All 2^n signs of the ranks, counted: the share of sums below the depth. */
static void signed_rank_level_is_that_of_all_signs(void **state)
{
  (void)state;
  double x[11], scratch[66], walsh[66];
  for (size_t i = 0; i < 11; i++) x[i] = 10 + (double)(i * i) + 0.37 * (double)i;
  for (size_t n = 2; n <= 11; n++) {
    struct be_measure location;
    be_hodges_lehmann(x, n, 0.9, scratch, &location);
    size_t count = 0, r = 0, under = 0;
    for (size_t i = 0; i < n; i++)
      for (size_t j = i; j < n; j++) walsh[count++] = (x[i] + x[j]) / 2;
    be_sort(walsh, count);
    while (r < count && walsh[r] < location.interval.low - 1e-9) r++;
    for (size_t signs = 0; signs < (size_t)1 << n; signs++) {
      size_t sum = 0;
      for (size_t i = 0; i < n; i++) sum += signs >> i & 1 ? i + 1 : 0;
      under += sum <= r;
    }
    double covers = 1 - 2 * (double)under / (double)((size_t)1 << n);
    assert_near(location.interval.level, covers, 1e-13);
    assert_near(location.interval.high, walsh[count - 1 - r], 1e-12);
    assert_true(covers >= 0.9 || r == 0);
  }
}

/* Exact for 400, normal for 401: the depth moves as it must. */
static void signed_rank_goes_over_to_the_normal(void **state)
{
  (void)state;
  enum { N = 401 };
  static double x[N], scratch[N * (N + 1) / 2];
  for (size_t i = 0; i < N; i++) x[i] = 100 + 0.01 * (double)i;
  struct be_measure exact, normal;
  be_hodges_lehmann(x, N - 1, 0.95, scratch, &exact);
  be_hodges_lehmann(x, N, 0.95, scratch, &normal);
  assert_true(exact.interval.level >= 0.95 && exact.interval.level < 0.95002);
  assert_true(normal.interval.level == 0.95);
  double before = exact.interval.high - exact.interval.low;
  assert_near(normal.interval.high - normal.interval.low, before, 0.011);
  be_hodges_lehmann(x, BE_HODGES_LEHMANN_MAX + 1, 0.95, scratch, &normal);
  assert_true(isnan(normal.value) && isnan(normal.interval.low));
}

/* ---- trimmed mean, Huber, MAD ---- */

/* Written once more in R 4.2.2; without a cut it is Student's. */
static void trimmed_means(void **state)
{
  (void)state;
  static const struct {
    const double *x;
    size_t n;
    double cut, level, value, low, high;
  } rows[] = {
      {flour, 24, 0.1, 0.95, 3.205, 2.9423056225518, 3.4676943774482},
      {flour, 24, 0.25, 0.9, 3.2691666666667, 2.9834326307233, 3.55490070261},
      {wire, 10, 0.2, 0.95, 572.33333333333, 567.32234683364, 577.34431983302},
  };
  struct be_measure mean;
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    be_trimmed_mean(rows[i].x, rows[i].n, rows[i].cut, rows[i].level, &mean);
    assert_near(mean.value, rows[i].value, 2e-14 * rows[i].value);
    assert_near(mean.interval.low, rows[i].low, 1e-13 * rows[i].low);
    assert_near(mean.interval.high, rows[i].high, 1e-13 * rows[i].high);
  }
  struct be_summary summary;
  be_summary_of(wire, 10, &summary);
  struct be_estimate estimate = be_estimate_mean(&summary);
  struct be_interval student = be_estimate_interval(&estimate, 0.95);
  be_trimmed_mean(wire, 10, 0, 0.95, &mean);
  assert_near(mean.interval.low, student.low, 1e-12);
  be_trimmed_mean(wire, 3, 0.4, 0.95, &mean);
  assert_true(mean.value == 570 && isnan(mean.interval.low) && isnan(mean.interval.high));
  double steps[100];
  for (size_t i = 0; i < 100; i++) steps[i] = (double)(i * i);
  double middle = 0; /* 29 of each end cut: squares of 29 to 70 */
  for (size_t i = 29; i < 71; i++) middle += steps[i] / 42;
  be_trimmed_mean(steps, 100, 0.29, 0.95, &mean);
  assert_near(mean.value, middle, 1e-11);
}

/* Iterated to rest in R 4.2.2 (3000 steps; MASS itself stops after 30), and for the held
 * scale the condition that defines it. */
static void huber_estimates(void **state)
{
  (void)state;
  double scale = 0;
  assert_near(be_huber(wire, 10, 1.5, NULL), 572.4826, 1e-11);
  assert_near(be_huber(wire, 10, 1.2, &scale), 573.123542055635, 1e-11);
  assert_near(scale, 5.411806852117368, 1e-12);
  const double alike[] = {41.3, 41.3, 41.3, 41.3, 52.8};
  assert_true(be_huber(alike, 5, 1.5, &scale) == 41.3 && scale == 0);
  assert_true(be_huber(alike, 5, 1.5, NULL) == 41.3);
  double mu = be_huber(flour, 24, 0.7, NULL), reach = 0.7 * be_mad(flour, 24), sum = 0;
  for (size_t i = 0; i < 24; i++) sum += fmin(fmax(flour[i] - mu, -reach), reach);
  assert_near(sum, 0, 1e-13);
}

static void mad_agrees_with_sorting(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 83, 0);
  double x[31], off[31];
  for (int round = 0; round < 300; round++) {
    size_t n = 1 + (size_t)be_random_below(&random, 31);
    for (size_t i = 0; i < n; i++) x[i] = 40 + (double)be_random_below(&random, 19) / 3;
    be_sort(x, n);
    double middle = (x[(n - 1) / 2] + x[n / 2]) / 2;
    for (size_t i = 0; i < n; i++) off[i] = fabs(x[i] - middle);
    be_sort(off, n);
    assert_near(be_mad(x, n), 1.4826 * (off[(n - 1) / 2] + off[n / 2]) / 2, 1e-13);
  }
}

/* ---- spread ---- */

static void check_spread(const double *x, size_t n, double level, const double sd[3],
                         const double cv[3])
{
  struct be_summary summary;
  struct be_measure measure;
  be_summary_of(x, n, &summary);
  be_deviation(&summary, level, &measure);
  assert_near(measure.value, sd[0], 1e-12 * sd[0]);
  assert_near(measure.interval.low, sd[1], 1e-12 * sd[1]);
  assert_near(measure.interval.high, sd[2], 1e-12 * sd[2]);
  be_variation(&summary, level, &measure);
  assert_near(measure.value, cv[0], 1e-12 * cv[0]);
  assert_near(measure.interval.low, cv[1], 1e-12 * cv[1]);
  if (isinf(cv[2])) assert_true(isinf(measure.interval.high) && measure.interval.high > 0);
  else assert_near(measure.interval.high, cv[2], 1e-12 * cv[2]);
}

/* Written once more in R 4.2.2, with its qchisq. Air-conditioning (Davison and Hinkley
 * 1997) scatters too much for an upper end. */
static void spread_intervals(void **state)
{
  (void)state;
  static const double air[] = {3, 5, 7, 18, 43, 85, 91, 98, 100, 130, 230, 487};
  check_spread(wire, 10, 0.95,
               (const double[]){8.70249006510972, 5.98587905316586, 15.8873544761397},
               (const double[]){0.0151295028948361, 0.01040598366965, 0.0276261598064296});
  check_spread(flour, 23, 0.9,
               (const double[]){0.687108278629551, 0.553324866209054, 0.91751649786823},
               (const double[]){0.214197484528052, 0.171068009447366, 0.290535141201021});
  check_spread(air, 12, 0.95,
               (const double[]){136.232060259046, 96.5061308794839, 231.305420423086},
               (const double[]){1.26043540717698, 0.667014282123883, INFINITY});
  struct be_summary one;
  struct be_measure measure;
  be_summary_of(wire, 1, &one);
  be_deviation(&one, 0.95, &measure);
  assert_true(isnan(measure.value) && isnan(measure.interval.low));
  be_variation(&one, 0.95, &measure);
  assert_true(isnan(measure.value) && isnan(measure.interval.high));
  const double below[] = {-3.1, 1.2, -0.4};
  be_summary_of(below, 3, &one);
  be_variation(&one, 0.95, &measure);
  assert_true(isnan(measure.value) && isnan(measure.interval.low));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pulls_stand_where_each_type_puts_them),
      cmocka_unit_test(steps_are_where_the_words_say),
      cmocka_unit_test(median_intervals),
      cmocka_unit_test(median_of_few_tells_its_level),
      cmocka_unit_test(median_intervals_are_nested),
      cmocka_unit_test(hodges_lehmann_intervals),
      cmocka_unit_test(signed_rank_level_is_that_of_all_signs),
      cmocka_unit_test(signed_rank_goes_over_to_the_normal),
      cmocka_unit_test(trimmed_means),
      cmocka_unit_test(huber_estimates),
      cmocka_unit_test(mad_agrees_with_sorting),
      cmocka_unit_test(spread_intervals),
  };
  return be_tests("stats: location and spread", tests);
}
