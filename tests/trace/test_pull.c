/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole pulls of known shape: closed forms, endings, and what is said of them. */
#include "trace_test.h"

static struct made made;

static void start(void)
{
  memset(&made, 0, sizeof made);
}

static struct be_trace_events found(const struct be_trace_known *known)
{
  struct be_trace trace = {.n = made.n,
                           .force_N = made.force,
                           .time_s = made.time,
                           .extension_m = made.extension,
                           .decimals = 2,
                           .time_decimals = 2};
  struct be_trace_events events;
  assert_int_equal(be_trace_find_with(&trace, known, &events, NULL), BE_OK);
  return events;
}

/* ---- closed forms, with the error that sampling theory allows ---- */

/* A half sine sampled off its top: the reading nearest to it is at most half a
 * row away, which costs A (1 - cos(w dt / 2)); said to be missed is at least that.
 * Trapezoids of step h err by h^2 / 12 * max |f''| * L, with f'' <= A (pi / 2 L)^2
 * over the quarter wave of travel L. */
static void a_half_sine_is_known_to_its_sampling_error(void **state)
{
  (void)state;
  const double top = 118.25, pi = acos(-1);
  for (int rows = 60; rows <= 1500; rows = rows * 2 + 1)
    for (double shift = 0; shift < 1; shift += 0.13) {
      start();
      for (int i = 0; i + shift <= rows; i++) made_row(&made, top * sin(pi * (i + shift) / rows));
      struct be_trace_events events = events_of(&made);
      double step = pi / rows, h = 0.9e-4, travel = h * (rows / 2.0 - shift);
      assert_true(top - events.peak_N >= 0);
      assert_true(top - events.peak_N <= top * (1 - cos(step / 2)) + 1e-9);
      assert_true(events.missed_N + 1e-9 >= top - events.peak_N);
      double a = pi * shift / rows, b = pi * ((double)events.peak_row + shift) / rows;
      double exact = top * (cos(a) - cos(b)) * h / step;
      double bound = h * h / 12 * top * (step / h) * (step / h) * travel;
      assert_near(events.energy_J, exact, 1.01 * bound + 1e-12);
      /* The steepest tenth of the rise begins at the foot, where the slope is
       * A step / h; over it the slope falls by less than 1 %. */
      assert_near(events.stiffness_N_per_m / (top * step / h), 1, 0.015 + 2.0 / rows);
    }
}

/* Up a straight line, then an exponential fall with the time constant tau: it
 * slips out, from 80 % to 20 % in tau ln 4. */
static void an_exponential_fall_is_timed(void **state)
{
  (void)state;
  const double tau = 2.5, top = 84.5;
  start();
  made_ramp(&made, 400, 0, top);
  for (int i = 0; i < 800; i++) made_row(&made, top * exp(-0.02 * i / tau));
  struct be_trace_events events = events_of(&made);
  assert_int_equal(events.peak_row, 400);
  assert_int_equal(events.ending, BE_ENDED_FADED);
  double fell = made.time[events.end_low_row] - made.time[events.end_row];
  assert_near(fell, tau * log(4), 2 * 0.02);
  assert_near(events.time_to_break_s, 8 + tau * log(1 / 0.8), 2 * 0.02);
  assert_int_equal(events.slips_count + events.slips_after, 0);
  assert_near(events.energy_J, top * 400 * 0.9e-4 / 2, 1e-12);
}

/* Slack, then a toe, then a straight line of known foot. */
static void toe_and_slack_are_taken_off_the_extension(void **state)
{
  (void)state;
  const double slope = 2.4e3; /* N/m */
  start();
  made_ramp(&made, 60, 1.5, 1.5);
  for (int i = 0; i < 100; i++) made_row(&made, 1.5 + 6e-4 * i * i * 0.9 * slope * 1e-4);
  double foot = made.extension[made.n - 1] - (made.force[made.n - 1] - 1.5) / slope;
  for (int i = 1; i <= 300; i++) made_row(&made, 1.5 + slope * (0.9e-4 * (double)(159 + i) - foot));
  double top = made.force[made.n - 1], end = made.extension[made.n - 1];
  made_ramp(&made, 60, 1.5, 1.5);
  made_noise(&made, 0.02, 3);
  struct be_trace_events events = events_of(&made);
  assert_near(events.stiffness_N_per_m / slope, 1, 0.02);
  assert_near(events.extension_at_peak_m / (end - foot), 1, 0.03);
  assert_near(events.elastic_J / ((top - 1.5) * (top - 1.5) / (2 * slope)), 1, 0.03);
  assert_true(events.stiffness.first >= 150 && events.stiffness.last <= events.peak_row);
  assert_near(events.rate_per_s * events.rise_N, events.rate_N_per_s, 1e-9);
}

/* ---- endings and shapes ---- */

static void a_pull_that_is_let_down_let_nothing_go(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 60, 0, 0);
  made_ramp(&made, 400, 0, 96.5);
  made_ramp(&made, 500, 96.5, 0);
  made_ramp(&made, 40, 0, 0);
  for (size_t i = 460; i < 960; i++)
    made.extension[i] = made.extension[460] * (1 - (double)(i - 460) / 520);
  made_noise(&made, 0.2, 9);
  struct be_trace_events events = found(NULL);
  assert_int_equal(events.ending, BE_ENDED_LET_DOWN);
  assert_int_equal(events.suggestion.result, BE_SUGGEST_BOUND);
  assert_int_equal(events.suggestion.what, BE_LET_GO_NOTHING);
  assert_true(events.flags[BE_FLAG_LET_DOWN] && !events.flags[BE_FLAG_PLATEAU]);
  assert_true(isnan(events.time_to_break_s));
  /* Without an extension the pace alone says so. */
  struct be_trace trace = {.n = made.n, .force_N = made.force, .time_s = made.time};
  assert_int_equal(be_trace_find(&trace, &events, NULL), BE_OK);
  assert_int_equal(events.ending, BE_ENDED_LET_DOWN);
}

/* A knot that slips out lets go tooth by tooth, as fast as a hand lets down. */
static void what_goes_down_by_teeth_slipped_out(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 40; seed++) {
    start();
    made_ramp(&made, 60, 0, 0);
    made_ramp(&made, 150, 0, 21.5);
    for (int i = 0; i < 150; i++)
      made_row(&made, 21.5 * (1 - i / 150.0) * (0.86 + 0.1 * (i % 12) / 12));
    made_ramp(&made, 40, 0, 0);
    made_noise(&made, 0.07, seed);
    struct be_trace trace = {.n = made.n, .force_N = made.force, .time_s = made.time};
    struct be_trace_events events;
    assert_int_equal(be_trace_find(&trace, &events, NULL), BE_OK);
    assert_int_equal(events.ending, BE_ENDED_FADED);
    assert_int_equal(events.suggestion.what, BE_LET_GO_SLIPPED_OUT);
  }
}

static void a_flat_top_has_its_rows(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 40; seed++) {
    start();
    made_ramp(&made, 50, 0, 0);
    for (int i = 0; i < 400; i++) made_row(&made, 80 * (1 - exp(-i / 50.0)));
    made_ramp(&made, 200, 79.97, 79.97);
    made_ramp(&made, 50, 0, 0);
    made_noise(&made, 0.3, seed);
    struct be_trace_events events = events_of(&made);
    assert_true(events.flags[BE_FLAG_PLATEAU]);
    assert_false(events.flags[BE_FLAG_SATURATED]);
    assert_true(events.plateau.first <= events.peak_row && events.plateau.last >= events.peak_row);
    assert_true(events.plateau.last >= 540 && events.plateau.last < 652);
    assert_true(events.plateau.first > 150 && events.plateau.first < 460);
    assert_int_equal(events.flag_rows[BE_FLAG_PLATEAU].last, events.plateau.last);
  }
  start(); /* the same reading several times, without noise */
  made_ramp(&made, 300, 0, 61.5);
  made_ramp(&made, 7, 61.5, 61.5);
  made_ramp(&made, 30, 0, 0);
  struct be_trace_events events = events_of(&made);
  assert_int_equal(events.plateau.first, 300);
  assert_int_equal(events.plateau.last, 306);
}

static void stages_are_listed_and_the_last_may_be_highest(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 60, 0, 0);
  made_ramp(&made, 200, 0, 70.5);
  made_ramp(&made, 250, 12, 64.25);
  made_ramp(&made, 400, 5, 131.5);
  made_ramp(&made, 100, 0, 0);
  made_ramp(&made, 60, 0, 28);
  made_ramp(&made, 60, 0, 0);
  made_noise(&made, 0.25, 5);
  struct be_trace_events events = events_of(&made);
  static const double tops[] = {70.5, 64.25, 131.5, 28};
  assert_int_equal(events.stages_count, 4);
  for (int i = 0; i < 4; i++) assert_near(events.stages[i].top_N, tops[i], 1.2);
  assert_near(events.stages[1].low_N, 5, 1.2);
  assert_true(events.flags[BE_FLAG_STAGES] && events.flags[BE_FLAG_HUMP]);
  assert_int_equal(events.flag_rows[BE_FLAG_STAGES].first, events.stages[0].top_row);
  assert_int_equal(events.flag_rows[BE_FLAG_HUMP].last, events.stages[3].top_row);
  assert_int_equal(events.suggestion.what, BE_LET_GO_SLIPPED_BROKE);
}

static void a_partial_break_says_from_where_to_where(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 60, 0, 0);
  made_ramp(&made, 400, 0, 90);
  made_ramp(&made, 200, 40.5, 41);
  made_noise(&made, 0.1, 2);
  struct be_trace_events events = events_of(&made);
  assert_int_equal(events.ending, BE_ENDED_PARTLY);
  assert_true(events.flags[BE_FLAG_PARTLY]);
  assert_int_equal(events.suggestion.result, BE_SUGGEST_EVENT);
  assert_int_equal(events.suggestion.what, BE_LET_GO_STRAND);
  assert_non_null(strstr(events.suggestion.evidence, "to 45 % of the rise in 1 row (0.02 s)"));
  assert_string_equal(be_let_go_word(events.suggestion.what), "strand");
}

static void a_record_without_a_pull_is_void(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 500, 0, 0);
  made_noise(&made, 0.4, 6);
  struct be_trace_events events = events_of(&made);
  assert_int_equal(events.suggestion.result, BE_SUGGEST_VOID);
  assert_non_null(strstr(events.suggestion.evidence, "noise"));
  assert_string_equal(be_suggested_word(BE_SUGGEST_BOUND), "lower bound");
}

/* ---- what the rig may have lost ---- */

static void a_slow_filter_lags_by_rate_times_its_constant(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 500, 0, 120); /* 12 N/s */
  made_ramp(&made, 30, 0, 0);
  double tau = 1 / (2 * acos(-1) * 0.8);
  struct be_trace_events events = found(&(struct be_trace_known){.filter_Hz = 0.8});
  assert_near(events.lag_N, 12 * tau, 1e-6);
  assert_true(events.flags[BE_FLAG_SLOW_FILTER]);
  events = found(&(struct be_trace_known){.filter_Hz = 80});
  assert_near(events.lag_N, 12 * tau / 100, 1e-6);
  assert_false(events.flags[BE_FLAG_SLOW_FILTER]);
  assert_true(isnan(found(NULL).lag_N));
  /* What such a filter does to the ramp: it never lags by more. */
  double held = 0, most = 0;
  for (int i = 0; i < 50000; i++) {
    double load = 12 * 0.0002 * i;
    held += (load - held) * 0.0002 / (tau / 100);
    most = fmax(most, load - held);
  }
  assert_near(most, 12 * tau / 100, 0.02 * tau);
}

static void the_devices_peak_stands_beside(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 500, 0, 120);
  made_row(&made, 120);
  made_ramp(&made, 30, 0, 0);
  struct be_trace_events events = found(&(struct be_trace_known){.device_peak_N = 123.6});
  assert_near(events.device_more, 0.03, 1e-12);
  assert_true(events.flags[BE_FLAG_DEVICE]);
  events = found(&(struct be_trace_known){.device_peak_N = 120.6});
  assert_false(events.flags[BE_FLAG_DEVICE]);
  assert_true(isnan(found(NULL).device_more));
}

static void the_lowest_trustworthy_force_is_200_steps(void **state)
{
  (void)state;
  start();
  made_ramp(&made, 60, 0, 0);
  made_ramp(&made, 700, 0, 55);
  made_ramp(&made, 40, 0, 0);
  made_noise(&made, 0.2, 4);
  for (size_t i = 0; i < made.n; i++) made.force[i] = 0.5 * nearbyint(made.force[i] / 0.5);
  struct be_trace_events events = found(NULL);
  assert_near(events.resolution_N, 0.5, 1e-12);
  assert_false(events.resolution_declared);
  assert_near(events.written_N, 0.01, 1e-12);
  assert_near(events.lowest_N, 100, 1e-9);
  assert_true(events.flags[BE_FLAG_COARSE] && events.flags[BE_FLAG_LOW_FORCE]);
  events = found(&(struct be_trace_known){.resolution_N = 0.05});
  assert_true(events.resolution_declared);
  assert_near(events.lowest_N, 10, 1e-12);
  assert_false(events.flags[BE_FLAG_COARSE] || events.flags[BE_FLAG_LOW_FORCE]);
}

/* ---- properties ---- */

static void wavy_pull(uint64_t seed)
{
  start();
  made_ramp(&made, 80, 2, 2);
  made_ramp(&made, 300, 2, 64);
  made_ramp(&made, 200, 58, 97);
  made_ramp(&made, 60, 1, 1);
  made_noise(&made, 0.25, seed);
}

/* The force column negated, read as negative pulls, is the same pull. */
static void reversing_the_sign_changes_nothing(void **state)
{
  (void)state;
  static char plain[80000], turned[80000];
  size_t a = 0, b = 0;
  wavy_pull(3);
  a += (size_t)sprintf(plain, "time (s),force (N),extension (mm)\n");
  b += (size_t)sprintf(turned, "time (s),force (N),extension (mm)\n");
  for (size_t i = 0; i < made.n; i++) {
    double x = 1e3 * made.extension[i];
    a += (size_t)sprintf(plain + a, "%.2f,%.3f,%.3f\n", made.time[i], made.force[i], x);
    b += (size_t)sprintf(turned + b, "%.2f,%.3f,%.3f\n", made.time[i], -made.force[i], x);
  }
  struct be_trace_file *one = read_with(plain, a, NULL);
  struct be_trace_file *two = read_with(turned, b, &(struct be_trace_options){.sign = -1});
  static struct be_trace_events first, second;
  assert_int_equal(be_trace_find(&one->tests[0], &first, NULL), BE_OK);
  assert_int_equal(be_trace_find(&two->tests[0], &second, NULL), BE_OK);
  assert_memory_equal(&first, &second, sizeof first);
  assert_true(first.slips_count == 1);
  be_trace_file_free(one);
  be_trace_file_free(two);
}

static void scaling_the_extension_scales_what_it_is_in(void **state)
{
  (void)state;
  wavy_pull(4);
  struct be_trace_events one = events_of(&made);
  for (size_t i = 0; i < made.n; i++) made.extension[i] *= 8;
  struct be_trace_events eight = events_of(&made);
  assert_near(eight.energy_J, 8 * one.energy_J, 1e-12);
  assert_near(eight.stiffness_N_per_m, one.stiffness_N_per_m / 8, 1e-9);
  assert_near(eight.elastic_J, 8 * one.elastic_J, 1e-9);
  assert_near(eight.extension_at_peak_m, 8 * one.extension_at_peak_m, 1e-12);
  assert_int_equal(eight.slips_count, one.slips_count);
  assert_near(eight.rate_N_per_s, one.rate_N_per_s, 0);
  assert_memory_equal(eight.flags, one.flags, sizeof one.flags);
}

/* More slack at either end moves rows, and changes no figure but by its noise. */
static void slack_at_the_ends_changes_nothing_but_flags(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 60; seed++) {
    wavy_pull(seed);
    struct be_trace_events one = events_of(&made);
    struct made old = made;
    start();
    made_ramp(&made, 400, 2, 2);
    made_noise(&made, 0.25, seed + 1000);
    for (size_t i = 0; i < old.n; i++) made_row(&made, old.force[i]);
    size_t end = made.n;
    made_ramp(&made, 400, 1, 1);
    struct be_random random;
    be_random_init(&random, seed, 17);
    for (size_t i = end; i < made.n; i++) made.force[i] += 0.25 * be_random_normal(&random);
    struct be_trace_events two = events_of(&made);
    assert_int_equal(two.peak_row, one.peak_row + 400);
    assert_near(two.peak_N, one.peak_N, 0);
    assert_int_equal(two.ending, one.ending);
    assert_int_equal(two.slips_count, 1);
    assert_int_equal(two.slips_after, 0);
    assert_int_equal(two.slips[0].from_row, one.slips[0].from_row + 400);
    assert_near(two.rate_N_per_s / one.rate_N_per_s, 1, 0.02);
    assert_near(two.stiffness_N_per_m / one.stiffness_N_per_m, 1, 0.05);
    assert_near(two.zero_N, one.zero_N, 0.2);
  }
}

/* Every raised flag says where, inside the trace. */
static void flags_name_their_rows(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 20; seed++) {
    wavy_pull(seed);
    made.time[200] = made.time[199];
    struct be_trace_events events = events_of(&made);
    assert_true(events.flags[BE_FLAG_REPEATED]);
    assert_int_equal(events.flag_rows[BE_FLAG_REPEATED].first, 199);
    assert_int_equal(events.flag_rows[BE_FLAG_REPEATED].last, 200);
    for (int i = 0; i < BE_TRACE_FLAGS; i++) {
      if (events.flags[i]) assert_true(events.flag_rows[i].last < made.n);
      assert_int_equal(events.flags[i], be_rows_any(events.flag_rows[i]));
      assert_int_not_equal(be_trace_flag_words((enum be_trace_flag)i)[0], 0);
    }
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_half_sine_is_known_to_its_sampling_error),
      cmocka_unit_test(an_exponential_fall_is_timed),
      cmocka_unit_test(toe_and_slack_are_taken_off_the_extension),
      cmocka_unit_test(a_pull_that_is_let_down_let_nothing_go),
      cmocka_unit_test(what_goes_down_by_teeth_slipped_out),
      cmocka_unit_test(a_flat_top_has_its_rows),
      cmocka_unit_test(stages_are_listed_and_the_last_may_be_highest),
      cmocka_unit_test(a_partial_break_says_from_where_to_where),
      cmocka_unit_test(a_record_without_a_pull_is_void),
      cmocka_unit_test(a_slow_filter_lags_by_rate_times_its_constant),
      cmocka_unit_test(the_devices_peak_stands_beside),
      cmocka_unit_test(the_lowest_trustworthy_force_is_200_steps),
      cmocka_unit_test(reversing_the_sign_changes_nothing),
      cmocka_unit_test(scaling_the_extension_scales_what_it_is_in),
      cmocka_unit_test(slack_at_the_ends_changes_nothing_but_flags),
      cmocka_unit_test(flags_name_their_rows),
  };
  return be_tests("trace: pull", tests);
}
