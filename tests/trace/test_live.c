/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pull while it happens. */
#include "base/base.h"
#include "test.h"
#include "trace/trace.h"

/* ---- a rig made of arithmetic ---- */

struct rig {
  struct be_live live;
  struct be_random random;
  double time_s, step_s, noise_N, zero_N;
};

static void start(struct rig *rig, double rate_Hz, double noise_N, double zero_N,
                  const struct be_live_settings *settings)
{
  *rig = (struct rig){.step_s = 1 / rate_Hz, .noise_N = noise_N, .zero_N = zero_N, .time_s = 41.7};
  be_random_init(&rig->random, 11, (uint64_t)rate_Hz);
  be_live_start(&rig->live, settings);
}

static enum be_live_phase give(struct rig *rig, double load_N)
{
  rig->time_s += rig->step_s;
  double noise = rig->noise_N > 0 ? rig->noise_N * be_random_normal(&rig->random) : 0;
  return be_live_take(&rig->live, rig->time_s, rig->zero_N + load_N + noise);
}

/* From one load to another in so many seconds; true once `until` was seen on the way. */
static bool run(struct rig *rig, double seconds, double from, double to, enum be_live_phase until)
{
  size_t rows = (size_t)(seconds / rig->step_s);
  bool seen = false;
  for (size_t i = 0; i < rows; i++)
    seen = give(rig, from + (to - from) * (double)i / (double)rows) == until || seen;
  return seen;
}

static const double rates[] = {2, 10, 80, 1000, 7000};
enum { RATES = sizeof rates / sizeof rates[0] };

/* ---- whole pulls ---- */

static void a_pull_is_seen_from_start_to_end(void **state)
{
  (void)state;
  for (size_t i = 0; i < RATES; i++) {
    struct rig rig;
    start(&rig, rates[i], 0.05, 3.3, NULL);
    assert_int_equal(rig.live.phase, BE_LIVE_UNSTEADY);
    assert_true(run(&rig, 12, 0, 0, BE_LIVE_READY));
    assert_int_equal(rig.live.phase, BE_LIVE_READY);
    assert_near(rig.live.zero_N, 3.3, 0.1);
    size_t before = rig.live.samples;
    assert_true(run(&rig, 20, 0, 61.7, BE_LIVE_PULLING));
    assert_int_equal(rig.live.phase, BE_LIVE_PULLING);
    assert_true(rig.live.began >= before && rig.live.began <= before + 2 + (size_t)(2 * rates[i]));
    assert_near(rig.live.peak_N, 61.7, 61.7 / 20 / rates[i] + 0.4);
    assert_int_equal(give(&rig, 0), BE_LIVE_LET_GO);
    assert_true(run(&rig, 3, 0, 0, BE_LIVE_DONE));
    assert_int_equal(rig.live.phase, BE_LIVE_DONE);
    assert_int_equal(rig.live.touches, 0);
    assert_true(rig.live.let_go > rig.live.began && rig.live.done > rig.live.let_go);
    double peak = rig.live.peak_N;
    run(&rig, 3, 0, 90, BE_LIVE_PULLING); /* nobody has answered yet: nothing changes */
    assert_int_equal(rig.live.phase, BE_LIVE_DONE);
    assert_true(rig.live.peak_N == peak);
    be_live_next(&rig.live);
    assert_true(run(&rig, 12, 0, 0, BE_LIVE_READY));
  }
}

static void slips_do_not_end_a_pull(void **state)
{
  (void)state;
  struct rig rig;
  start(&rig, 100, 0.05, 0, NULL);
  run(&rig, 3, 0, 0, BE_LIVE_READY);
  run(&rig, 8, 0, 40, BE_LIVE_PULLING);
  assert_false(run(&rig, 0.2, 12, 12, BE_LIVE_LET_GO)); /* 30 % of the peak */
  assert_true(run(&rig, 0.2, 5, 5, BE_LIVE_LET_GO));    /* 12 %: looks as if it let go */
  assert_true(run(&rig, 8, 5, 55, BE_LIVE_PULLING));    /* but it was taken up again */
  assert_false(run(&rig, 0.01, 50, 50, BE_LIVE_LET_GO));
  assert_near(rig.live.peak_N, 55, 0.5);
  run(&rig, 0.1, 0, 0, BE_LIVE_LET_GO);
  assert_true(run(&rig, 2, 0, 0, BE_LIVE_DONE));
}

static void slips_are_counted_when_half_is_taken_up_again(void **state)
{
  (void)state;
  for (size_t i = 2; i < RATES; i++) {
    struct rig rig;
    start(&rig, rates[i], 0.05, 1.7, NULL);
    run(&rig, 3, 0, 0, BE_LIVE_READY);
    run(&rig, 8, 0, 40, BE_LIVE_PULLING);
    double fell_s = rig.time_s;
    assert_int_equal(rig.live.slips, 0);
    run(&rig, 1, 36, 37.1, BE_LIVE_PULLING); /* 10 % down, less than half of it up again */
    assert_int_equal(rig.live.slips, 0);
    run(&rig, 1, 37.1, 39.2, BE_LIVE_PULLING);
    assert_int_equal(rig.live.slips, 1);
    assert_near(rig.live.slip_N, 40, 0.4);
    assert_near(rig.live.slip_s, fell_s, 0.1);
    run(&rig, 1, 39.2, 38.4, BE_LIVE_PULLING); /* 2 % */
    run(&rig, 8, 38.4, 61, BE_LIVE_PULLING);
    assert_int_equal(rig.live.slips, 1);
    run(&rig, 0.5, 30, 31, BE_LIVE_PULLING);
    run(&rig, 2, 31, 58, BE_LIVE_PULLING);
    assert_int_equal(rig.live.slips, 2);
    assert_near(rig.live.slip_N, 61, 0.4);
    assert_near(rig.live.peak_N, 61, 0.4);
    run(&rig, 2, 0, 0, BE_LIVE_DONE); /* what let go is no slip */
    assert_int_equal(rig.live.phase, BE_LIVE_DONE);
    assert_int_equal(rig.live.slips, 2);
    be_live_next(&rig.live);
    assert_int_equal(rig.live.slips, 0);
  }
}

static void a_strand_that_still_carries_keeps_it_open(void **state)
{
  (void)state;
  struct rig rig;
  start(&rig, 50, 0.05, 0, NULL);
  run(&rig, 3, 0, 0, BE_LIVE_READY);
  run(&rig, 8, 0, 70, BE_LIVE_PULLING);
  assert_true(run(&rig, 10, 9, 9, BE_LIVE_LET_GO));
  assert_int_equal(rig.live.phase, BE_LIVE_LET_GO);
  assert_false(run(&rig, 1, 9, 0.9, BE_LIVE_DONE));
  assert_true(run(&rig, 2, 0, 0, BE_LIVE_DONE));
}

static void touching_the_line_is_no_pull(void **state)
{
  (void)state;
  struct rig rig;
  start(&rig, 80, 0.02, 0, NULL);
  run(&rig, 3, 0, 0, BE_LIVE_READY);
  run(&rig, 0.3, 2.1, 2.1, BE_LIVE_PULLING);
  run(&rig, 4, 0, 0, BE_LIVE_READY);
  assert_int_equal(rig.live.phase, BE_LIVE_READY);
  assert_int_equal(rig.live.touches, 1);
  give(&rig, 30); /* one sample alone is a spike */
  assert_int_equal(give(&rig, 0), BE_LIVE_READY);
  run(&rig, 8, 0, 44, BE_LIVE_PULLING);
  run(&rig, 3, 0, 0, BE_LIVE_DONE);
  assert_int_equal(rig.live.phase, BE_LIVE_DONE);
  assert_near(rig.live.peak_N, 44, 0.3);
}

/* ---- zero ---- */

static void what_hangs_on_it_is_no_zero(void **state)
{
  (void)state;
  struct rig rig;
  const struct be_live_settings settings = {.zero_most_N = 5};
  start(&rig, 80, 0.02, 0, &settings);
  assert_false(run(&rig, 6, 18, 18, BE_LIVE_READY));
  assert_int_equal(rig.live.phase, BE_LIVE_LOADED);
  assert_true(run(&rig, 6, 0.7, 0.7, BE_LIVE_READY));
  assert_near(rig.live.zero_N, 0.7, 0.02);
}

static void a_slow_ramp_is_not_steady(void **state)
{
  (void)state;
  for (size_t i = 1; i < RATES; i++) {
    struct rig rig;
    start(&rig, rates[i], 0.01, 0, NULL);
    assert_false(run(&rig, 20, 0, 40, BE_LIVE_READY)); /* 2 N/s */
  }
}

static void a_zero_that_drifts_is_followed(void **state)
{
  (void)state;
  struct rig rig;
  start(&rig, 80, 0.02, 0, NULL);
  run(&rig, 3, 0, 0, BE_LIVE_READY);
  assert_false(run(&rig, 600, 0, 6, BE_LIVE_PULLING)); /* 0.01 N/s */
  assert_int_equal(rig.live.phase, BE_LIVE_READY);
  assert_near(rig.live.zero_N, 6, 0.05);
}

static void noise_never_starts_a_pull(void **state)
{
  (void)state;
  struct rig rig;
  start(&rig, 1000, 0.8, 0, NULL);
  assert_false(run(&rig, 300, 0, 0, BE_LIVE_PULLING));
  assert_near(rig.live.noise_N, 0.8, 0.3);
  assert_int_equal(rig.live.phase, BE_LIVE_READY);
}

/* ---- what goes wrong ---- */

static void silence_is_told_and_borne(void **state)
{
  (void)state;
  struct rig rig;
  start(&rig, 80, 0.02, 0, NULL);
  assert_int_equal(be_live_tick(&rig.live, 1000), BE_LIVE_UNSTEADY); /* nothing came yet */
  run(&rig, 3, 0, 0, BE_LIVE_READY);
  assert_int_equal(be_live_tick(&rig.live, rig.time_s + 1.9), BE_LIVE_READY);
  assert_int_equal(be_live_tick(&rig.live, rig.time_s + 2.1), BE_LIVE_SILENT);
  assert_int_equal(rig.live.silences, 0);
  rig.time_s += 7;
  assert_int_equal(give(&rig, 0), BE_LIVE_READY);
  run(&rig, 8, 0, 44, BE_LIVE_PULLING);
  assert_int_equal(be_live_tick(&rig.live, rig.time_s + 2.1), BE_LIVE_SILENT);
  assert_int_equal(be_live_tick(&rig.live, rig.time_s + 9.1), BE_LIVE_SILENT);
  assert_int_equal(rig.live.silences, 1);
  rig.time_s += 11;
  assert_int_equal(give(&rig, 45), BE_LIVE_PULLING);
  run(&rig, 3, 0, 0, BE_LIVE_DONE);
  assert_int_equal(rig.live.phase, BE_LIVE_DONE);
  assert_int_equal(be_live_tick(&rig.live, rig.time_s + 99), BE_LIVE_DONE);
}

static void a_rig_at_its_end_gives_a_least_peak(void **state)
{
  (void)state;
  struct rig rig;
  start(&rig, 80, 0.02, 0, NULL);
  run(&rig, 3, 0, 0, BE_LIVE_READY);
  assert_int_equal(give(&rig, INFINITY), BE_LIVE_READY);
  assert_false(rig.live.over);
  run(&rig, 8, 0, 98, BE_LIVE_PULLING);
  assert_int_equal(give(&rig, NAN), BE_LIVE_PULLING);
  assert_false(rig.live.over);
  for (int i = 0; i < 9; i++) assert_int_equal(give(&rig, INFINITY), BE_LIVE_PULLING);
  run(&rig, 3, 0, 0, BE_LIVE_DONE);
  assert_int_equal(rig.live.phase, BE_LIVE_DONE);
  assert_true(rig.live.over);
  assert_near(rig.live.peak_N, 98, 0.3);
  be_live_next(&rig.live);
  assert_false(rig.live.over);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_pull_is_seen_from_start_to_end),
      cmocka_unit_test(slips_do_not_end_a_pull),
      cmocka_unit_test(slips_are_counted_when_half_is_taken_up_again),
      cmocka_unit_test(a_strand_that_still_carries_keeps_it_open),
      cmocka_unit_test(touching_the_line_is_no_pull),
      cmocka_unit_test(what_hangs_on_it_is_no_zero),
      cmocka_unit_test(a_slow_ramp_is_not_steady),
      cmocka_unit_test(a_zero_that_drifts_is_followed),
      cmocka_unit_test(noise_never_starts_a_pull),
      cmocka_unit_test(silence_is_told_and_borne),
      cmocka_unit_test(a_rig_at_its_end_gives_a_least_peak),
  };
  return be_tests("trace: live", tests);
}
