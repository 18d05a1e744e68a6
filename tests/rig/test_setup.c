/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rigs saved under a name, forces by a calibration, the pace of samples; and what is
 * left when memory fails. */
#include "fault/failing.h"
#include "rig/rig.h"
#include "test.h"

static const char kept[] =
    "# two rigs\n[bench rig]\nsource = serial\nsource settings = path=\"/dev/a b\" baud=19200\n"
    "frames = pattern\nframe settings = pattern=\"F= {force}{unit?}\" unit=kg\n"
    "calibration = bench cell\n\n[spare]\nsource = simulated\nframes = timed-s\n";

static void read_and_written(void **state)
{
  (void)state;
  static struct be_rig_setup setup, again;
  struct be_err err = {0};
  struct be_buf text;
  char name[64];
  assert_int_equal(be_rig_setup_parse(kept, strlen(kept), "bench rig", &setup, &err), BE_OK);
  assert_string_equal(setup.source, "serial");
  assert_string_equal(setup.source_settings, "path=\"/dev/a b\" baud=19200");
  assert_string_equal(setup.frame_settings, "pattern=\"F= {force}{unit?}\" unit=kg");
  assert_string_equal(setup.calibration, "bench cell");
  struct be_rig_options options = be_rig_setup_options(&setup);
  assert_ptr_equal(options.source, be_rig_source_find("serial"));
  assert_string_equal(options.frames, "pattern");
  be_buf_init(&text, 10000);
  be_rig_setup_write(&text, &setup);
  assert_int_equal(be_rig_setup_parse(text.data, text.size, NULL, &again, &err), BE_OK);
  assert_memory_equal(&again, &setup, sizeof again);
  be_buf_free(&text);
  assert_int_equal(be_rig_setup_parse(kept, strlen(kept), "spare", &setup, &err), BE_OK);
  assert_string_equal(setup.source_settings, "");
  assert_true(be_rig_name_at(kept, strlen(kept), 1, name));
  assert_string_equal(name, "spare");
  assert_false(be_rig_name_at(kept, strlen(kept), 2, name));
}

static void refused(void **state)
{
  (void)state;
  static const struct {
    const char *text, *says;
    enum be_status status;
    size_t line;
  } cases[] = {
      {"[a]\nsource = serial\nframes = number\ncolour = red\n", "cannot be read", BE_BAD_INPUT, 4},
      {"[a]\n\nsource = a source of too long a name\n", "cannot be read", BE_BAD_INPUT, 3},
      {"[a]\nno sense\n", "cannot be read", BE_BAD_INPUT, 2},
      {"[b]\nsource = serial\n", "there is no rig \"a\"", BE_BAD_INPUT, 0},
      {"", "there is no rig \"a\"", BE_BAD_INPUT, 0},
      {"[a]\nframes = number\n", "has no source \"\"", BE_WRONG_USE, 0},
      {"[a]\nsource = oracle\nframes = number\n", "has no source \"oracle\"", BE_WRONG_USE, 0},
      {"[a]\nsource = tcp\nframes = smoke\n", "\"smoke\" is no kind", BE_WRONG_USE, 0},
      {"[a]\nsource = tcp\nframes = number\nframe settings = unit=ell\n", "\"ell\" is no unit",
       BE_WRONG_USE, 0},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    static struct be_rig_setup setup;
    struct be_err err = {0};
    enum be_status status =
        be_rig_setup_parse(cases[i].text, strlen(cases[i].text), "a", &setup, &err);
    if (!strstr(err.what, cases[i].says)) print_error("%s: %s\n", cases[i].text, err.what);
    assert_int_equal(status, cases[i].status);
    assert_non_null(strstr(err.what, cases[i].says));
    assert_int_equal(err.line, cases[i].line);
    assert_true(strlen(err.remedy) > 10);
  }
}

/* ---- forces ---- */

static void forces_by_calibration(void **state)
{
  (void)state;
  static const struct be_calibration_point points[] = {{0, 0.5, false}, {98.0665, 10.5, false}};
  static struct be_calibration calibration = {.unit = "kg"};
  struct be_calibration_fit fit;
  struct be_err err = {0};
  const struct be_unit *kg = be_unit_find("kg", 2), *lb = be_unit_find("lb", 2),
                       *mV = be_unit_find("mV", 2);
  struct be_rig_sample samples[] = {
      {.value = 5.5, .unit = kg},
      {.value = 5.5 / 0.45359237, .unit = lb},
      {.value = 5.5},
      {.value = 5.5, .unit = mV},
      {.value = NAN, .unit = kg, .force_N = NAN, .flags = BE_SAMPLE_OVER},
  };
  assert_int_equal(be_calibration_fit_points(points, 2, BE_CURVE_STRAIGHT, &fit, &err), BE_OK);
  assert_int_equal(be_rig_calibrate(&calibration, &fit, samples, 5), 2);
  assert_near(samples[0].force_N, 49.03325, 1e-12);
  assert_near(samples[1].force_N, 49.03325, 1e-12);
  for (size_t i = 2; i < 5; i++) assert_true(isnan(samples[i].force_N));
  /* Without points, readings are forces of that unit. */
  assert_int_equal(be_rig_calibrate(&calibration, NULL, samples, 5), 2);
  assert_near(samples[1].force_N, 5.5 * 9.80665, 1e-12);
  /* Bare counts, and a voltage. */
  calibration.unit[0] = '\0';
  assert_int_equal(be_rig_calibrate(&calibration, &fit, samples, 5), 3);
  assert_near(samples[2].force_N, 49.03325, 1e-12);
  assert_int_equal(be_rig_calibrate(&calibration, NULL, samples, 5), 4);
  strcpy(calibration.unit, "mV");
  assert_int_equal(be_rig_calibrate(&calibration, &fit, samples, 5), 3);
  assert_near(samples[3].force_N, 49.03325, 1e-12);
}

/* ---- pace ---- */

static void pace_of_samples(void **state)
{
  (void)state;
  struct be_rig_sample samples[80];
  /* 80 a second, held back by turns to where eight come at once. */
  for (int i = 0; i < 80; i++)
    samples[i] = (struct be_rig_sample){.sequence = 417 + (uint64_t)i,
                                        .rig_time_s = NAN,
                                        .host_ns = 77 + INT64_C(12500000) * (i / 8 * 8 + 7)};
  struct be_sample_pace pace = be_sample_pace_of(samples, 80);
  assert_near(pace.rate_Hz, 80, 1.5);
  assert_near(pace.longest_gap_s, 0.1, 1e-12);
  /* Steps of 0..7 times 12.5 ms: a deviation of 12.5 ms sqrt((64 - 1) / 12). */
  assert_near(pace.jitter_s, 0.0125 * sqrt(63.0 / 12), 0.001);
  assert_false(pace.by_rig);
  /* By its own clock, with three samples lost, the rate is that of the sequence. */
  for (int i = 0; i < 80; i++) samples[i].rig_time_s = 3.5 + 0.0125 * (i + (i > 40 ? 3 : 0));
  for (int i = 41; i < 80; i++) samples[i].sequence += 3;
  pace = be_sample_pace_of(samples, 80);
  assert_true(pace.by_rig);
  assert_near(pace.rate_Hz, 80, 1e-9);
  assert_near(pace.jitter_s, 0, 1e-12);
  assert_near(pace.longest_gap_s, 0.05, 1e-12);
  assert_true(isnan(be_sample_pace_of(samples, 1).rate_Hz));
  assert_true(isnan(be_sample_pace_of(samples, 0).rate_Hz));
  assert_true(isnan(be_sample_pace_of(samples, 2).jitter_s));
  assert_near(be_sample_pace_of(samples, 2).rate_Hz, 80, 1e-9);
}

/* ---- memory ---- */

static enum be_status detect(void *context, struct be_err *err)
{
  static struct be_rate_verdict verdict;
  static const char text[] = "ST,GS,+1.5,kg\nST,GS,+2.5,kg\nST,GS,+3.5,kg\nST,GS,+5.5,kg\n";
  const struct be_rate_try try = {9600, "8N1", text, sizeof text - 1};
  (void)context;
  return be_rate_judge(&try, 1, &verdict, err);
}

static enum be_status parse(void *context, struct be_err *err)
{
  static struct be_rig_setup setup;
  (void)context;
  return be_rig_setup_parse(kept, strlen(kept), "bench rig", &setup, err);
}

static enum be_status find(void *context, struct be_err *err)
{
  static struct be_rig_found found;
  (void)context;
  enum be_status status = be_rig_find(be_rig_source_find("simulated"), "seed=7 speed=0", "number",
                                      "", &be_rig_clock_system, &found, err);
  if (status == BE_OK) assert_string_equal(found.verdict.frames.candidates[0].kind, "timed-s");
  return status;
}

static void memory_fails(void **state)
{
  (void)state;
  be_fail_loop(detect, NULL, 20);
  be_fail_loop(parse, NULL, 3);
  be_fail_loop(find, NULL, 20);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(read_and_written),      cmocka_unit_test(refused),
      cmocka_unit_test(forces_by_calibration), cmocka_unit_test(pace_of_samples),
      cmocka_unit_test(memory_fails),
  };
  return be_tests("rig: setups, forces and pace", tests);
}
