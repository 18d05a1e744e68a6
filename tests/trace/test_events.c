/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace_test.h"

static struct made made;

static void start(void)
{
  memset(&made, 0, sizeof made);
}

/* ---- closed forms ---- */

/* A triangle: 0 to 73.5 N in 300 rows, and down again as fast. */
static void triangle(void)
{
  start();
  made_ramp(&made, 300, 0, 73.5);
  made_ramp(&made, 300, 73.5, 0);
}

static void a_triangle_has_its_slope_and_area(void **state)
{
  (void)state;
  triangle();
  struct be_trace_events events = events_of(&made);
  double rows = 300, travel = rows * 0.9e-4;
  assert_int_equal(events.peak_row, 300);
  assert_near(events.peak_N, 73.5, 0);
  assert_near(events.noise_N, 0, 1e-12);
  assert_near(events.energy_J, 73.5 * travel / 2, 1e-12);
  assert_near(events.stiffness_N_per_m, 73.5 / travel, 1e-6);
  assert_near(events.rate_N_per_s, 73.5 / (rows * 0.02), 1e-9);
  assert_near(events.time_to_peak_s, rows * 0.02, 1e-12);
  assert_near(events.missed_N, 73.5 / rows, 1e-9);
  assert_int_equal(events.slips_count, 0);
  assert_true(isnan(events.zero_N));
  assert_near(events.rise_N, 73.5, 0);
  assert_int_equal(events.ending, BE_ENDED_FADED);
}

/* Half a sine: area A L / 2 up to the top of A sin(pi x / 2 L') with L' the
 * travel to the peak is 2 A L' / pi; the first slope is pi A / (2 L'). */
static void a_half_sine_has_its_area_and_first_slope(void **state)
{
  (void)state;
  const double top = 118.25, pi = acos(-1);
  start();
  for (int i = 0; i <= 1000; i++) made_row(&made, top * sin(pi * i / 1000));
  struct be_trace_events events = events_of(&made);
  double travel = 500 * 0.9e-4;
  assert_int_equal(events.peak_row, 500);
  assert_near(events.energy_J / (2 * top * travel / pi), 1, 1e-5);
  assert_near(events.stiffness_N_per_m / (pi * top / (2 * travel)), 1, 0.005);
  /* From 20 % to 80 %: asin(0.8) - asin(0.2) of pi/2 of the way. */
  double seconds = (asin(0.8) - asin(0.2)) / (pi / 2) * 500 * 0.02;
  assert_near(events.rate_N_per_s / (0.6 * top / seconds), 1, 1e-4);
}

/* ---- properties ---- */

static void random_pull(uint64_t seed)
{
  struct be_random random;
  be_random_init(&random, seed, 2);
  double top = 30 + 220 * be_random_unit(&random), zero = 3 * be_random_unit(&random);
  size_t slack = 40 + be_random_below(&random, 60), rise = 350 + be_random_below(&random, 500);
  double power = 1 + be_random_unit(&random);
  start();
  made_ramp(&made, slack, zero, zero);
  for (size_t i = 1; i <= rise; i++)
    made_row(&made, zero + top * pow((double)i / (double)rise, power));
}

static void scaling_the_force_scales_the_figures(void **state)
{
  (void)state;
  random_pull(11);
  made_ramp(&made, 60, 1.5, 1.5);
  made_noise(&made, 0.3, 5);
  struct be_trace_events one = events_of(&made);
  for (size_t i = 0; i < made.n; i++) made.force[i] *= 4; /* a power of two is exact */
  struct be_trace_events four = events_of(&made);
  assert_near(four.peak_N, 4 * one.peak_N, 0);
  assert_near(four.noise_N, 4 * one.noise_N, 1e-12);
  assert_near(four.zero_N, 4 * one.zero_N, 1e-12);
  assert_near(four.rate_N_per_s, 4 * one.rate_N_per_s, 1e-9);
  assert_near(four.stiffness_N_per_m, 4 * one.stiffness_N_per_m, 1e-6);
  assert_near(four.energy_J, 4 * one.energy_J, 1e-12);
  assert_near(four.missed_N, 4 * one.missed_N, 1e-12);
  assert_int_equal(four.ending, one.ending);
  assert_int_equal(four.slips_count, one.slips_count);
  assert_memory_equal(four.flags, one.flags, sizeof one.flags);
}

static void shifting_the_time_changes_nothing(void **state)
{
  (void)state;
  random_pull(12);
  made_ramp(&made, 60, 1.5, 1.5);
  made_noise(&made, 0.3, 6);
  struct be_trace_events one = events_of(&made);
  for (size_t i = 0; i < made.n; i++) made.time[i] += 8192;
  struct be_trace_events late = events_of(&made);
  assert_near(late.time_to_peak_s, one.time_to_peak_s, 1e-9);
  assert_near(late.rate_N_per_s / one.rate_N_per_s, 1, 1e-9);
  assert_near(late.missed_N, one.missed_N, 1e-9);
  assert_memory_equal(late.flags, one.flags, sizeof one.flags);
}

/* ---- zeros and noise ---- */

static void noise_and_zero_are_found(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 50; seed++) {
    start();
    made_ramp(&made, 80, 2.25, 2.25);
    made_ramp(&made, 600, 2.25, 150);
    made_ramp(&made, 80, 1.75, 1.75);
    made_noise(&made, 0.4, seed);
    struct be_trace_events events = events_of(&made);
    assert_near(events.noise_N, 0.4, 0.06);
    assert_near(events.zero_N, 2.25, 0.4);
    assert_near(events.zero_after_N, 1.75, 0.4);
    assert_near(events.rise_N, events.peak_N - events.zero_N, 0);
    assert_near(events.time_to_peak_s, 12, 0.5);
    assert_int_equal(events.ending, BE_ENDED_BROKE);
    assert_true(events.flags[BE_FLAG_ZERO_OFF]);
    assert_false(events.flags[BE_FLAG_NOISY]);
    assert_int_equal(events.slips_count, 0);
  }
}

static void a_drift_of_the_zero_is_flagged(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 60, 0, 0);
  made_ramp(&made, 400, 0, 90);
  made_ramp(&made, 60, -4, -4);
  made_noise(&made, 0.2, 3);
  struct be_trace_events events = events_of(&made);
  assert_true(events.flags[BE_FLAG_ZERO_DRIFT]);
  assert_false(events.flags[BE_FLAG_ZERO_OFF]);
  assert_near(events.zero_after_N, -4, 0.2);
  assert_string_equal(be_trace_flag_name(BE_FLAG_ZERO_DRIFT), "zero-drift");
  assert_non_null(strstr(be_trace_flag_words(BE_FLAG_ZERO_DRIFT), "zero after the pull"));
}

static void a_rise_from_the_first_row_has_no_zero(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 400, 12, 90);
  made_ramp(&made, 60, 0, 0);
  made_noise(&made, 0.2, 4);
  struct be_trace_events events = events_of(&made);
  assert_true(isnan(events.zero_N));
  assert_near(events.rise_N, events.peak_N, 0);
  assert_true(events.flags[BE_FLAG_ZERO_OFF]);
}

/* ---- endings ---- */

/* How `trials` seeded pulls with an end of one kind are called; the share
 * called right. */
static void ends(enum be_ending kind, struct be_random *random)
{
  double top = made.force[made.n - 1], zero = made.force[0];
  if (kind == BE_ENDED_BROKE) {
    if (be_random_below(random, 2)) made_row(&made, zero + 0.4 * (top - zero));
    made_ramp(&made, 1 + be_random_below(random, 100), zero, zero);
  } else if (kind == BE_ENDED_PARTLY) {
    made_ramp(&made, 30 + be_random_below(random, 200), zero + 0.5 * (top - zero),
              zero + 0.45 * (top - zero));
  } else if (kind == BE_ENDED_HELD) {
    made_ramp(&made, 100 + be_random_below(random, 300), top, 0.97 * top);
  } else if (kind == BE_ENDED_FADED) {
    size_t teeth = 8 + be_random_below(random, 8);
    for (size_t i = 0; i < teeth; i++) {
      double share = 1 - (double)(i + 1) / (double)teeth;
      double high = zero + (top - zero) * share;
      made_ramp(&made, 25, 0.93 * high, high);
    }
    made_ramp(&made, 30, zero, zero);
  }
}

static void endings_are_told_apart(void **state)
{
  (void)state;
  static const enum be_ending kinds[] = {BE_ENDED_BROKE, BE_ENDED_PARTLY, BE_ENDED_FADED,
                                         BE_ENDED_HELD, BE_ENDED_RISING};
  for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
    for (uint64_t seed = 1; seed <= 200; seed++) {
      struct be_random random;
      be_random_init(&random, seed, 7 + k);
      random_pull(seed);
      ends(kinds[k], &random);
      made_noise(&made, 0.1 + 0.4 * be_random_unit(&random), seed);
      struct be_trace_events events = events_of(&made);
      if (events.ending != kinds[k])
        print_error("seed %d: %s\n", (int)seed, be_ending_words(events.ending));
      assert_int_equal(events.ending, kinds[k]);
      assert_int_equal(events.flags[BE_FLAG_HELD], kinds[k] == BE_ENDED_HELD);
      assert_int_equal(events.flags[BE_FLAG_RISING], kinds[k] == BE_ENDED_RISING);
      assert_false(events.flags[BE_FLAG_SATURATED]);
    }
}

static void a_record_cut_in_its_fall_has_no_end(void **state)
{
  (void)state;
  random_pull(31);
  double top = made.force[made.n - 1];
  made_row(&made, 0.7 * top);
  made_noise(&made, 0.2, 31);
  struct be_trace_events events = events_of(&made);
  assert_int_equal(events.ending, BE_ENDED_UNSEEN);
  assert_string_equal(be_ending_words(BE_ENDED_BROKE), "fell to near zero at once");
}

/* A load that relaxes while the travel stands still is held, however far. */
static void a_relaxing_hold_is_held(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 100, 0, 26.5);
  for (int i = 0; i < 1800; i++) {
    made_row(&made, 13.5 + 13 * exp(-i / 300.0));
    made.extension[made.n - 1] = made.extension[100];
  }
  made_noise(&made, 0.05, 8);
  assert_int_equal(events_of(&made).ending, BE_ENDED_HELD);
}

/* ---- flags ---- */

static void a_flat_top_is_saturated(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 50; seed++) {
    random_pull(seed);
    double range = 0.8 * made.force[made.n - 1];
    made_ramp(&made, 40, 1, 1);
    made_noise(&made, 0.3, seed);
    for (size_t i = 0; i < made.n; i++) made.force[i] = fmin(made.force[i], range);
    struct be_trace_events events = events_of(&made);
    assert_true(events.flags[BE_FLAG_SATURATED]);
    assert_near(events.peak_N, range, 0);
  }
}

/* Readings in coarse steps that level off before they let go are no end of the
 * range: the plateau is reached slowly. */
static void a_plateau_is_not_saturated(void **state)
{
  (void)state;
  start();
  for (int i = 0; i < 600; i++) made_row(&made, floor(150 * (1 - exp(-i / 60.0))));
  made_ramp(&made, 40, 0, 0);
  assert_false(events_of(&made).flags[BE_FLAG_SATURATED]);
}

static void slow_sampling_may_miss_the_peak(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 25, 0, 110); /* 4 % a row */
  made_ramp(&made, 10, 0, 0);
  struct be_trace_events events = events_of(&made);
  assert_true(events.flags[BE_FLAG_MISSED_PEAK]);
  assert_near(events.missed_N, 4.4, 1e-9);
  start();
  made_ramp(&made, 500, 0, 110);
  made_ramp(&made, 10, 0, 0);
  assert_false(events_of(&made).flags[BE_FLAG_MISSED_PEAK]);
}

static void times_that_repeat_are_uneven(void **state)
{
  (void)state;
  random_pull(17);
  made_ramp(&made, 60, 1, 1);
  assert_false(events_of(&made).flags[BE_FLAG_UNEVEN]);
  for (size_t i = 0; i < made.n; i++) made.time[i] = 0.1 * floor(made.time[i] * 10);
  struct be_trace_events events = events_of(&made);
  assert_true(events.flags[BE_FLAG_UNEVEN]);
}

static void what_is_not_there_is_not_a_number(void **state)
{
  (void)state;
  double force[] = {0.5, 7.25, 3.5};
  struct be_trace trace = {.n = 3, .force_N = force, .skipped_rows = 2};
  struct be_trace_events events;
  struct be_err err;
  assert_int_equal(be_trace_find(&trace, &events, NULL), BE_OK);
  assert_near(events.peak_N, 7.25, 0);
  assert_true(isnan(events.energy_J) && isnan(events.stiffness_N_per_m));
  assert_true(isnan(events.rate_N_per_s) && isnan(events.time_to_peak_s));
  assert_true(events.flags[BE_FLAG_NO_TIME] && events.flags[BE_FLAG_FEW_ROWS]);
  assert_true(events.flags[BE_FLAG_GAPS]);
  trace.n = 0;
  assert_int_equal(be_trace_find(&trace, &events, &err), BE_BAD_INPUT);
  for (size_t n = 1; n <= 3; n++) {
    trace.n = n;
    assert_int_equal(be_trace_find(&trace, &events, NULL), BE_OK);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_triangle_has_its_slope_and_area),
      cmocka_unit_test(a_half_sine_has_its_area_and_first_slope),
      cmocka_unit_test(scaling_the_force_scales_the_figures),
      cmocka_unit_test(shifting_the_time_changes_nothing),
      cmocka_unit_test(noise_and_zero_are_found),
      cmocka_unit_test(a_drift_of_the_zero_is_flagged),
      cmocka_unit_test(a_rise_from_the_first_row_has_no_zero),
      cmocka_unit_test(endings_are_told_apart),
      cmocka_unit_test(a_record_cut_in_its_fall_has_no_end),
      cmocka_unit_test(a_relaxing_hold_is_held),
      cmocka_unit_test(a_flat_top_is_saturated),
      cmocka_unit_test(a_plateau_is_not_saturated),
      cmocka_unit_test(slow_sampling_may_miss_the_peak),
      cmocka_unit_test(times_that_repeat_are_uneven),
      cmocka_unit_test(what_is_not_there_is_not_a_number),
  };
  return be_tests("trace: events", tests);
}
