/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The snap in made sound: found among noises of ten kinds, to within a frame of film; not found
 * where there is none; put where the trace's slips are heard before it. bench_snap has the figures
 * over more tracks and the hard kinds. */
#include "fault/failing.h"
#include "snap_plain.h"
#include "trace_test.h"

enum { FOUND_LEAST = 37, HINTED_LEAST = 38, NONE_LEAST = 35 };
static const double frame_s = 1.0 / 30, half_frame_s = 1.0 / 60;
enum { RATE = 32000, EACH = 4, ALL = EACH * SHED_USUAL };

static struct be_snaps hear(const struct shed *shed, bool hinted)
{
  struct be_snaps snaps;
  assert_int_equal(
      be_snap_find(shed->sound, shed->n, shed->rate_Hz, hinted ? &shed->hint : NULL, &snaps, NULL),
      BE_OK);
  double all = snaps.none;
  for (size_t i = 0; i < snaps.count; i++) {
    all += snaps.snap[i].probability;
    if (i) assert_true(snaps.snap[i].probability <= snaps.snap[i - 1].probability);
    assert_true(snaps.snap[i].at_s >= 0 && snaps.snap[i].at_s * shed->rate_Hz < (double)shed->n);
  }
  assert_true(all <= 1 + 1e-9);
  return snaps;
}

/* Measured over more tracks by bench_snap, with no threshold in mind; here it must not get worse
 * than what chance of so few tracks explains. */
static void found_within_a_frame(void **state)
{
  (void)state;
  size_t right = 0, hinted = 0, exact = 0;
  for (size_t i = 0; i < ALL; i++) {
    struct shed shed;
    shed_make(&shed, (enum shed_kind)(i / EACH), true, 8, RATE, 5000 + i);
    struct be_snaps alone = hear(&shed, false), told = hear(&shed, true);
    double away_s = fabs(told.snap[0].at_s - shed.snap_s);
    right += alone.found && fabs(alone.snap[0].at_s - shed.snap_s) < frame_s;
    hinted += told.found && away_s < frame_s;
    exact += told.found && away_s < half_frame_s / 8;
    be_free(shed.sound);
  }
  print_message("# found %zu, with the trace %zu of %d\n", right, hinted, ALL);
  assert_true(right >= FOUND_LEAST);
  assert_true(hinted >= HINTED_LEAST);
  assert_true(exact + 1 >= hinted);
}

static void none_where_there_is_none(void **state)
{
  (void)state;
  size_t right = 0;
  for (size_t i = 0; i < ALL; i++) {
    struct shed shed;
    shed_make(&shed, (enum shed_kind)(i / EACH), false, 8, RATE, 6000 + i);
    right += !hear(&shed, true).found;
    be_free(shed.sound);
  }
  print_message("# none said of %zu of %d\n", right, ALL);
  assert_true(right >= NONE_LEAST);
}

/* Another make of sound: a burst that fades, 15 dB over even noise, with hum and ringing metal, at
 * all rates, a second from either end, every other track after a silent start. */
static void found_in_plain_noise_at_all_rates(void **state)
{
  (void)state;
  static const double rates[] = {8000, 11025, 22050, 44100, 48000, 96000, 192000};
  enum { RATES = sizeof rates / sizeof rates[0], PLACES = 3 };
  size_t right = 0;
  for (size_t i = 0; i < RATES * PLACES; i++) {
    struct shed shed = {.rate_Hz = rates[i / PLACES],
                        .snap_s = (double[]){1.003, 3.337, 5.991}[i % 3]};
    shed.n = (size_t)(7 * shed.rate_Hz);
    be_random_init(&shed.random, 4321 + i, 7);
    shed.sound = be_alloc_array(shed.n, sizeof *shed.sound);
    assert_non_null(shed.sound);
    plain_floor(&shed, 0.013);
    shed_hum(&shed, 0.031);
    for (int k = 0; k < 4; k++) plain_clank(&shed, shed_between(&shed, 0, 7), 0.06);
    plain_burst(&shed, shed.snap_s, shed_log(&shed, 0.002, 0.015), 0.073);
    if (i % 2) memset(shed.sound, 0, shed.n / 15 * sizeof *shed.sound);
    shed.hint.expected = 0.95;
    struct be_snaps snaps = hear(&shed, true);
    right += snaps.found && fabs(snaps.snap[0].at_s - shed.snap_s) < frame_s;
    be_free(shed.sound);
  }
  print_message("# found in plain noise %zu of %d\n", right, RATES * PLACES);
  assert_true(right + 1 >= RATES * PLACES);
}

/* Two snaps alike; slips stand before the second alone. */
static void slips_tell_which_it_is(void **state)
{
  (void)state;
  static const double clicks[] = {0.413, 1.137, 1.871, 2.553};
  size_t right = 0;
  for (uint64_t seed = 1; seed <= 6; seed++) {
    struct shed shed = {.rate_Hz = RATE, .n = 12 * RATE, .amplitude = 0.4};
    be_random_init(&shed.random, seed, 77);
    shed.sound = be_alloc_array(shed.n, sizeof *shed.sound);
    assert_non_null(shed.sound);
    shed_snap(&shed, 4.201, 0.4, false);
    be_random_init(&shed.random, seed, 77);
    shed_snap(&shed, 8.777, 0.4, false);
    for (size_t i = 0; i < 4; i++) {
      shed_slip(&shed, 8.777 - clicks[i], 0.08, false);
      shed.hint.click_s[shed.hint.clicks++] = clicks[i];
    }
    shed.hint.doubt_s = 0.02;
    shed_floor(&shed, 0.002, -0.5);
    struct be_snaps snaps = hear(&shed, true);
    right += fabs(snaps.snap[0].at_s - 8.777) < half_frame_s && snaps.clicks_met >= 2;
    be_free(shed.sound);
  }
  assert_true(right >= 5);
}

/* What is expected moves the odds of all by the same factor. */
static void what_is_expected_moves_the_odds(void **state)
{
  (void)state;
  struct shed shed;
  shed_make(&shed, SHED_CLACKS, true, 6, RATE, 13);
  struct be_snaps even = hear(&shed, true);
  shed.hint.expected = 0.8;
  struct be_snaps likely = hear(&shed, true);
  assert_near(likely.snap[0].probability / likely.none, 4 * even.snap[0].probability / even.none,
              1e-9 * likely.snap[0].probability / likely.none);
  be_free(shed.sound);
}

static void later_by_what_is_put_in_front(void **state)
{
  (void)state;
  struct shed shed;
  shed_make(&shed, SHED_SPEECH, true, 6, RATE, 11);
  size_t front = 7777;
  float *later = be_alloc_array(shed.n + front, sizeof *later);
  assert_non_null(later);
  memcpy(later + front, shed.sound, shed.n * sizeof *later);
  struct be_snaps first = hear(&shed, false), again = hear(&shed, false), second;
  assert_int_equal(be_snap_find(later, shed.n + front, RATE, NULL, &second, NULL), BE_OK);
  assert_near(second.snap[0].at_s - first.snap[0].at_s, (double)front / RATE, 0.0005);
  assert_memory_equal(&first.snap, &again.snap, sizeof first.snap);
  be_free(later);
  be_free(shed.sound);
}

static void odd_sounds_have_none(void **state)
{
  (void)state;
  static float sound[2 * RATE];
  struct be_snaps snaps;
  struct shed shed = {.sound = sound, .n = 2 * RATE, .rate_Hz = RATE};
  for (size_t i = 0; i < 2 * RATE; i++) sound[i] = 0.7f;
  assert_false(hear(&shed, false).found);
  for (size_t i = 0; i < 2 * RATE; i++) sound[i] = i / 37 % 2 ? 1.0f : -1.0f;
  assert_false(hear(&shed, false).found);
  for (size_t i = 0; i < 2 * RATE; i++) sound[i] = 0.2f * (float)sin(0.1 * (double)i);
  assert_false(hear(&shed, false).found);
  memset(sound, 0, sizeof sound);
  sound[2 * RATE - 1] = 1; /* at the very end, and at the start */
  hear(&shed, false);
  sound[0] = -1;
  hear(&shed, false);
  for (double rate = 8000; rate < 200000; rate *= 1.7)
    assert_int_equal(be_snap_find(sound, 2 * RATE, fmin(rate, 2 * RATE - 1), NULL, &snaps, NULL),
                     BE_OK);
}

static void refuses(const float *sound, size_t n, double rate_Hz, enum be_status want,
                    const char *words)
{
  struct be_snaps snaps;
  struct be_err err = {0};
  assert_int_equal(be_snap_find(sound, n, rate_Hz, NULL, &snaps, &err), want);
  if (!strstr(err.what, words)) print_error("got: %s\n", err.what);
  assert_non_null(strstr(err.what, words));
  assert_false(snaps.found);
  assert_int_equal(snaps.count, 0);
}

static void what_cannot_be_heard_is_refused(void **state)
{
  (void)state;
  static float sound[9000];
  sound[5] = 0.3f;
  refuses(sound, 9000, 7999, BE_BAD_INPUT, "8,000 to 192,000");
  refuses(sound, 9000, NAN, BE_BAD_INPUT, "8,000 to 192,000");
  refuses(sound, 8999, 9000, BE_BAD_INPUT, "shorter than a second");
  refuses(sound, (size_t)BE_SNAP_SAMPLES_MAX + 1, 9000, BE_TOO_LARGE, "the most is");
  sound[4711] = NAN;
  refuses(sound, 9000, 8500, BE_BAD_INPUT, "sample 4711");
  memset(sound, 0, sizeof sound);
  refuses(sound, 9000, 8500, BE_BAD_INPUT, "silent throughout");
}

/* A pull at 50 rows a second that slips twice: what it tells of the sound. */
static void a_trace_tells_its_slips(void **state)
{
  (void)state;
  struct made made = {0};
  struct be_snap_hint hint;
  made_ramp(&made, 60, 0, 0);
  made_ramp(&made, 150, 0, 41);
  made_ramp(&made, 4, 41, 33);
  made_ramp(&made, 170, 33, 62);
  made_ramp(&made, 3, 62, 51);
  made_ramp(&made, 200, 51, 93);
  made_ramp(&made, 60, 0, 0);
  made_noise(&made, 0.05, 3);
  struct be_trace_events events = events_of(&made);
  struct be_trace trace = {.n = made.n, .force_N = made.force, .time_s = made.time};
  be_snap_hint_of(&trace, &events, &hint);
  assert_int_equal(hint.clicks, 2);
  /* Rows from each top to the last row before the fall: 577 and 203 before it less the ramp up. */
  assert_near(hint.click_s[0], 0.02 * (4 + 170 + 3 + 200 - 1), 0.04);
  assert_near(hint.click_s[1], 0.02 * (3 + 200 - 1), 0.04);
  assert_near(hint.rise_s, 0.02 * (150 + 4 + 170 + 3 + 200), 0.2);
  assert_near(hint.doubt_s, 0.04, 1e-9);
  trace.time_s = NULL;
  be_snap_hint_of(&trace, &events, &hint);
  assert_int_equal(hint.clicks, 0);
  assert_near(hint.rise_s, 0, 0);
}

static enum be_status attempt(void *context, struct be_err *err)
{
  const struct shed *shed = context;
  struct be_snaps snaps;
  return be_snap_find(shed->sound, shed->n, shed->rate_Hz, &shed->hint, &snaps, err);
}

static void memory_may_fail(void **state)
{
  (void)state;
  struct shed shed;
  shed_make(&shed, SHED_QUIET, true, 2, 16000, 3);
  be_fail_loop(attempt, &shed, 1);
  be_free(shed.sound);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(found_within_a_frame),
      cmocka_unit_test(none_where_there_is_none),
      cmocka_unit_test(found_in_plain_noise_at_all_rates),
      cmocka_unit_test(slips_tell_which_it_is),
      cmocka_unit_test(what_is_expected_moves_the_odds),
      cmocka_unit_test(later_by_what_is_put_in_front),
      cmocka_unit_test(odd_sounds_have_none),
      cmocka_unit_test(what_cannot_be_heard_is_refused),
      cmocka_unit_test(a_trace_tells_its_slips),
      cmocka_unit_test(memory_may_fail),
  };
  return be_tests("trace: snap", tests);
}
