/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace_test.h"
#include "trace/events/events.h"

static struct made made;

/* Slack, then a rise to top with a slip of `share` at each of the loads. */
static void pull_with_slips(double top, const double *loads, size_t slips, double share)
{
  double load = 0, step = top / 600;
  size_t next = 0;
  memset(&made, 0, sizeof made);
  made_ramp(&made, 60, 0, 0);
  while (load < top) {
    made_row(&made, load);
    load += step;
    if (next < slips && load >= loads[next]) {
      made_row(&made, loads[next]);
      load = loads[next++] * (1 - share);
    }
  }
  made_row(&made, top);
  made_ramp(&made, 40, 0, 0);
}

static void noise_makes_no_slips(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 200; seed++) {
    pull_with_slips(40 + (double)seed, NULL, 0, 0);
    made_noise(&made, 0.005 * (40 + (double)seed), seed);
    assert_int_equal(events_of(&made).slips_count, 0);
  }
}

static void slips_of_five_per_cent_are_found(void **state)
{
  (void)state;
  static const double loads[] = {81.5, 95.25, 108};
  for (uint64_t seed = 1; seed <= 200; seed++) {
    pull_with_slips(120, loads, 3, 0.05);
    made_noise(&made, 0.005 * 95, seed);
    struct be_trace_events events = events_of(&made);
    assert_int_equal(events.slips_count, 3);
    for (size_t i = 0; i < 3; i++) {
      assert_near(events.slips[i].from_N, loads[i], 2.2);
      assert_near(events.slips[i].to_N, 0.95 * loads[i], 2.2);
      assert_true(events.slips[i].to_row > events.slips[i].from_row);
      assert_true(events.slips[i].to_row < events.slips[i].from_row + 30);
    }
    assert_true(events.slips[0].recovered_N >= events.slips[1].from_N);
    assert_near(events.slips[2].recovered_N, events.peak_N, 0);
    assert_int_equal(events.slips_after, 0);
    assert_true(events.flags[BE_FLAG_SLIPPED]);
    assert_int_equal(events.flag_rows[BE_FLAG_SLIPPED].first, events.slips[0].from_row);
    assert_int_equal(events.flag_rows[BE_FLAG_SLIPPED].last, events.slips[2].to_row);
  }
}

static void small_and_shallow_drops_are_none(void **state)
{
  (void)state;
  static const double low[] = {2.5}, high[] = {80};
  pull_with_slips(120, low, 1, 0.5); /* at 2 % of the peak */
  assert_int_equal(events_of(&made).slips_count, 0);
  pull_with_slips(120, high, 1, 0.029);
  assert_int_equal(events_of(&made).slips_count, 0);
  pull_with_slips(120, high, 1, 0.031);
  struct be_trace_events events = events_of(&made);
  assert_int_equal(events.slips_count, 1);
  assert_near(events.slips[0].from_N, 80, 0.2);
  assert_near(events.slips[0].to_N, 80 * 0.969, 1e-9);
}

/* Each fall that is followed by re-loading counts, also below the first top. */
static void falls_below_the_first_top_count(void **state)
{
  (void)state;
  memset(&made, 0, sizeof made);
  made_ramp(&made, 100, 0, 60);
  made_ramp(&made, 50, 50, 55);
  made_ramp(&made, 300, 44, 130);
  made_row(&made, 130);
  made_ramp(&made, 30, 0, 0);
  struct be_trace_events events = events_of(&made);
  assert_int_equal(events.slips_count, 2);
  const struct be_slip *first = &events.slips[0], *second = &events.slips[1];
  assert_int_equal(first->from_row, 99);
  assert_int_equal(first->to_row, 100);
  assert_near(first->to_N, 50, 0);
  assert_near(first->fall_s, 0.02, 1e-12);
  assert_int_equal(first->recovered_row, made.n); /* not before the next fall */
  assert_true(isnan(first->recovery_s));
  assert_near(second->to_N, 44, 0);
  assert_near(second->recovered_N, 130, 0);
  assert_near(second->recovery_s, 0.02 * (double)(second->recovered_row - second->to_row), 1e-9);
  assert_true(made.force[second->recovered_row] >= second->from_N);
}

/* The peak comes first; then it slips and climbs three times before it is gone. */
static void slips_after_the_peak_count_apart(void **state)
{
  (void)state;
  memset(&made, 0, sizeof made);
  made_ramp(&made, 60, 0, 0);
  made_ramp(&made, 400, 0, 140);
  for (int i = 0; i < 3; i++) made_ramp(&made, 60, 118 - 5 * i, 132 - 5 * i);
  made_ramp(&made, 60, 0, 0);
  made_noise(&made, 0.3, 12);
  struct be_trace_events events = events_of(&made);
  assert_int_equal(events.slips_count, 0);
  assert_int_equal(events.slips_after, 3);
  for (int i = 0; i < 3; i++) {
    assert_near(events.slips[i].to_N, 118 - 5 * i, 2);
    assert_near(events.slips[i].recovered_N, 132 - 5 * i, 2);
    assert_true(events.slips[i].from_row >= events.peak_row);
  }
  assert_int_equal(events.ending, BE_ENDED_BROKE);
}

/* A hold is all noise; the rule must bear its length. */
static void a_long_hold_makes_no_slips(void **state)
{
  (void)state;
  enum { ROWS = 400000 };
  double *force = malloc(ROWS * sizeof *force);
  assert_non_null(force);
  for (uint64_t seed = 1; seed <= 4; seed++) {
    struct be_random random;
    be_random_init(&random, seed, 21);
    for (size_t i = 0; i < ROWS; i++)
      force[i] = fmin((double)i / 40, 100) + 0.5 * be_random_normal(&random);
    struct be_trace trace = {.n = ROWS, .force_N = force};
    struct be_trace_events events;
    assert_int_equal(be_trace_find(&trace, &events, NULL), BE_OK);
    assert_int_equal(events.slips_count + events.slips_after, 0);
    assert_int_equal(events.ending, BE_ENDED_HELD);
  }
  free(force);
}

/* ---- noise that lasts over rows ---- */

enum { LONG_ROWS = 10000 };
static double long_force[LONG_ROWS];

/* Each row's noise keeps so much of that of the row before. */
static void add_lasting_noise(double sd, double correlation, uint64_t seed)
{
  struct be_random random;
  double noise = 0, fresh = sqrt(1 - correlation * correlation);
  be_random_init(&random, seed, 31);
  for (size_t i = 0; i < LONG_ROWS; i++) {
    noise = correlation * noise + fresh * be_random_normal(&random);
    long_force[i] += sd * noise;
  }
}

/* Slack, a rise of a power of the way with slips of `share` at each of the loads, a break. */
static void long_pull(double power, const double *loads, size_t slips, double share)
{
  enum { SLACK = 500 };
  double way = 0, load = 0, step = 1.0 / (LONG_ROWS - 2 * SLACK);
  size_t next = 0;
  for (size_t k = 0; k < slips; k++)
    step += (pow(loads[k] / 120, 1 / power) - pow(loads[k] * (1 - share) / 120, 1 / power)) /
            (LONG_ROWS - 2 * SLACK);
  for (size_t i = 0; i < LONG_ROWS; i++) {
    load = 120 * pow(way, power);
    long_force[i] = i < SLACK || i >= LONG_ROWS - SLACK ? 0 : load;
    if (i >= SLACK) way += step;
    if (next < slips && load >= loads[next])
      way = pow(loads[next++] * (1 - share) / 120, 1 / power);
  }
}

static struct be_trace_events events_of_long(void)
{
  struct be_trace trace = {.n = LONG_ROWS, .rows = LONG_ROWS, .force_N = long_force};
  struct be_trace_events events;
  assert_int_equal(be_trace_find(&trace, &events, NULL), BE_OK);
  return events;
}

static void noise_that_lasts_makes_no_slips(void **state)
{
  (void)state;
  static const double correlations[] = {0.5, 0.9, 0.97};
  for (int c = 0; c < 3; c++)
    for (uint64_t seed = 1; seed <= 12; seed++) {
      long_pull(1.3, NULL, 0, 0);
      add_lasting_noise(0.6, correlations[c], seed);
      struct be_trace_events events = events_of_long();
      assert_int_equal(events.slips_count + events.slips_after, 0);
      for (size_t i = 0; i < LONG_ROWS; i++) long_force[i] = fmin((double)i / 9, 120);
      add_lasting_noise(0.6, correlations[c], seed);
      events = events_of_long();
      assert_int_equal(events.slips_count + events.slips_after, 0);
    }
}

static void slips_stand_out_of_noise_that_lasts(void **state)
{
  (void)state;
  static const double loads[] = {75.5, 91, 112.25};
  for (uint64_t seed = 1; seed <= 12; seed++) {
    long_pull(1.3, loads, 3, 0.12);
    add_lasting_noise(0.6, 0.9, seed);
    struct be_trace_events events = events_of_long();
    assert_int_equal(events.slips_count, 3);
    for (size_t i = 0; i < 3; i++) assert_near(events.slips[i].from_N, loads[i], 3);
  }
}

/* Fifty slips in 10,000 rows are no noise, with noise of their own or without. */
static void a_staircase_of_slips_is_no_noise(void **state)
{
  (void)state;
  double loads[50];
  for (int i = 0; i < 50; i++) loads[i] = 30 + 1.75 * i;
  for (uint64_t seed = 0; seed <= 4; seed++) {
    long_pull(1, loads, 50, seed ? 0.1 : 0.06);
    add_lasting_noise(seed ? 0.2 : 0, 0, seed);
    struct be_trace_events events = events_of_long();
    /* The last one's top is as high as the peak. */
    assert_int_equal(events.slips_count + events.slips_after, 50);
  }
}

static void a_curve_is_no_noise(void **state)
{
  (void)state;
  static const double loads[] = {30, 71.5};
  static const double powers[] = {0.4, 2, 3};
  for (int i = 0; i < 3; i++) {
    long_pull(powers[i], loads, 2, 0.032);
    assert_int_equal(events_of_long().slips_count, 2);
  }
}

/* The chance that any of m^2 / 2 pairs passes is what the rule says it is. */
static void the_reach_of_noise_grows_with_the_rows(void **state)
{
  (void)state;
  for (double pairs = 30; pairs < 1e13; pairs *= 7) {
    double z = be_noise_reach(pairs, 1e-4), tail = 0.5 * erfc(z / sqrt(2.0));
    assert_near(tail * pairs / 1e-4, 1, 1e-9);
  }
  assert_near(be_noise_reach(1e3 * 1e3 / 2, 8e-5), 6.2, 0.1);
  assert_near(be_noise_reach(1e6 * 1e6 / 2, 3e-5), 8.2, 0.1);
  assert_near(be_noise_reach(1e6 * 8, 3e-5), 6.8, 0.1);
}

static void a_lone_reading_is_no_slip(void **state)
{
  (void)state;
  pull_with_slips(120, NULL, 0, 0);
  made.force[400] *= 0.8;
  assert_int_equal(events_of(&made).slips_count, 0);
}

static void slips_have_a_ceiling(void **state)
{
  (void)state;
  static double loads[100];
  for (int i = 0; i < 100; i++) loads[i] = 20 + i;
  pull_with_slips(125, loads, 100, 0.08);
  assert_int_equal(events_of(&made).slips_count, BE_SLIPS_MAX);
}

/* ---- what the search stands on ---- */

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void medians_equal_those_of_a_sort(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 77, 1);
  for (int trial = 0; trial < 500; trial++) {
    double x[64], y[64];
    size_t n = 1 + be_random_below(&random, 64);
    for (size_t i = 0; i < n; i++)
      x[i] = y[i] = trial % 3 ? be_random_normal(&random) : (double)be_random_below(&random, 4);
    qsort(y, n, sizeof y[0], ascending);
    double want = n % 2 ? y[n / 2] : y[n / 2 - 1] / 2 + y[n / 2] / 2;
    assert_near(be_median(x, n), want, 0);
  }
  assert_true(isnan(be_median(NULL, 0)));
}

static void smoothing_takes_the_middle_of_three(void **state)
{
  (void)state;
  const double x[] = {3.5, 9, 4, 4.5, -7, 5, 5.5};
  const double want[] = {3.5, 4, 4.5, 4, 4.5, 5, 5.5};
  double out[7];
  be_smooth(x, 7, out);
  assert_memory_equal(out, want, sizeof want);
}

/* Readings rounded to steps of 0.763 that mostly repeat. */
static void rounding_is_noise_too(void **state)
{
  (void)state;
  double x[300], scratch[300], step;
  for (int i = 0; i < 300; i++) x[i] = 0.763 * floor(i / 7.0);
  assert_near(be_noise(x, 300, scratch, &step), 0.763 / sqrt(12), 1e-12);
  assert_near(step, 0.763, 1e-12);
  for (int i = 0; i < 300; i++) x[i] = 0.31 * i;
  assert_near(be_noise(x, 300, scratch, &step), 0, 1e-12);
  assert_near(step, 0, 0); /* a clean slope shows no step */
  assert_near(be_noise(x, 2, scratch, &step), 0, 0);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(noise_makes_no_slips),
      cmocka_unit_test(slips_of_five_per_cent_are_found),
      cmocka_unit_test(small_and_shallow_drops_are_none),
      cmocka_unit_test(falls_below_the_first_top_count),
      cmocka_unit_test(slips_after_the_peak_count_apart),
      cmocka_unit_test(a_long_hold_makes_no_slips),
      cmocka_unit_test(noise_that_lasts_makes_no_slips),
      cmocka_unit_test(slips_stand_out_of_noise_that_lasts),
      cmocka_unit_test(a_staircase_of_slips_is_no_noise),
      cmocka_unit_test(a_curve_is_no_noise),
      cmocka_unit_test(the_reach_of_noise_grows_with_the_rows),
      cmocka_unit_test(a_lone_reading_is_no_slip),
      cmocka_unit_test(slips_have_a_ceiling),
      cmocka_unit_test(medians_equal_those_of_a_sort),
      cmocka_unit_test(smoothing_takes_the_middle_of_three),
      cmocka_unit_test(rounding_is_noise_too),
  };
  return be_tests("trace: slips", tests);
}
