/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A rig with a calibration: its readings become forces live, in the trace and after a crash. */
#define _POSIX_C_SOURCE 200809L
#include "live_test.h"

/* Readings are 0.4 N and twice the force: what breaks at 61.7 by the readings breaks at 30.65 N. */
static const struct be_calibration cell = {
    .name = "cell 9",
    .unit = "N",
    .reference_percent = NAN,
    .resolution_N = NAN,
    .points_count = 3,
    .points = {{0, 0.4, false}, {17, 34.4, false}, {35, 70.4, false}}};

static const struct be_reckoning *calibrate(const struct be_calibration *by)
{
  static struct be_reckoning made;
  assert_int_equal(be_reckoning_set(&made, by, NULL), BE_OK);
  return &made;
}

/* The trace of the only pull, as it was entered. */
static void read_kept_trace(const struct be_pull *pull, struct be_buf *text)
{
  struct be_book *opened = NULL;
  be_buf_init(text, 1 << 24);
  assert_int_equal(be_book_open(book, false, &opened, NULL), BE_OK);
  assert_int_equal(be_book_file(opened, pull->trace, text, NULL), BE_OK);
  be_book_close(opened);
}

static void readings_become_forces_by_the_calibration(void **state)
{
  (void)state;
  reckoning = calibrate(&cell);
  bench = "shed";
  struct be_session *session = open_session(PULL, NULL);
  begin(session);
  assert_string_equal(view.calibration, "cell 9");
  assert_true(go_on(session, BE_STEP_ANSWER, 30));
  assert_near(view.suggested_N, 61.7 / 2, 0.5);
  assert_int_equal(be_session_answer(session, view.step_number, &broke, NULL), BE_OK);
  be_session_close(session);
  const struct be_pull *pull = only_pull();
  struct be_buf text;
  assert_near(pull->load_N, 61.7 / 2, 0.5);
  assert_string_equal(pull->calibration_told, "cell 9");
  assert_int_equal(pull->calibration, BE_NO_INDEX); /* the book does not have it */
  assert_string_equal(record.benches[pull->bench].name, "shed");
  assert_near(pull->zero_before_N, -0.2, 0.02);
  assert_near(pull->zero_after_N, -0.2, 0.02);
  read_kept_trace(pull, &text);
  static const char head[] = "time (s),load (N),reading,rig time (s),as received\n";
  assert_memory_equal(text.data, head, strlen(head));
  /* A row as it stands: the force is that of its reading. */
  double time_s = 0, force_N = 0, reading = 0;
  const char *row = text.data + strlen(head);
  for (int i = 0; i < 900; i++) row = strchr(row, '\n') + 1;
  assert_int_equal(sscanf(row, "%lf,%lf,%lf N,", &time_s, &force_N, &reading), 3);
  assert_true(reading > 10);
  assert_near(force_N, (reading - 0.4) / 2, 1e-6);
  be_buf_free(&text);
  be_arena_free(arena);
}

static void without_one_the_rows_are_as_they_were(void **state)
{
  (void)state;
  struct be_session *session = open_session(PULL, NULL);
  begin(session);
  assert_string_equal(view.calibration, "");
  assert_true(go_on(session, BE_STEP_ANSWER, 30));
  assert_int_equal(be_session_answer(session, view.step_number, &broke, NULL), BE_OK);
  be_session_close(session);
  const struct be_pull *pull = only_pull();
  struct be_buf text;
  assert_null(pull->calibration_told);
  assert_int_equal(pull->bench, BE_NO_INDEX);
  assert_near(pull->zero_before_N, 0, 0.04);
  assert_near(pull->zero_after_N, 0, 0.04);
  read_kept_trace(pull, &text);
  static const char head[] = "time (s),load (N),rig time (s),as received\n";
  assert_memory_equal(text.data, head, strlen(head));
  be_buf_free(&text);
  be_arena_free(arena);
}

/* Readings in volts, or bare ones, are no force without a calibration that is in their unit. */
static void a_reading_in_another_unit_is_no_force(void **state)
{
  (void)state;
  struct be_calibration volts = cell;
  strcpy(volts.unit, "mV");
  reckoning = calibrate(&volts);
  struct be_session *session = open_session(PULL, NULL);
  begin(session);
  go_on(session, BE_STEP_ANSWER, 6);
  assert_int_equal(view.step, BE_STEP_PULL);
  assert_true(view.unusable);
  struct be_buf events;
  be_buf_init(&events, 1024 * 1024);
  be_session_tell(session, &events);
  assert_non_null(strstr(events.data, "\"phase\":\"the rig sends no unit of force\""));
  be_buf_free(&events);
  be_session_close(session);
}

static void a_calibrated_rig_is_one_bench(void **state)
{
  (void)state;
  struct be_err err = {0};
  reckoning = calibrate(&cell);
  bench = "shed";
  struct be_session *session = open_session(PULL, NULL);
  struct be_told elsewhere = specimen;
  assert_int_equal(be_told_set(&elsewhere, "bench", "boat", NULL), BE_OK);
  assert_int_equal(be_session_choose(session, number_of(session), &elsewhere, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "calibrated as bench \"shed\""));
  assert_int_equal(be_told_set(&elsewhere, "bench", "SHED", NULL), BE_OK);
  assert_int_equal(be_session_choose(session, number_of(session), &elsewhere, NULL), BE_OK);
  be_session_close(session);
}

/* Read by the calibration that it was pulled with, whatever the rig has now. */
static void an_interrupted_pull_keeps_its_calibration(void **state)
{
  (void)state;
  reckoning = calibrate(&cell);
  pull_and_die(30, false);
  struct be_calibration other = cell;
  strcpy(other.name, "cell 10");
  other.points[2].reading = 700;
  reckoning = calibrate(&other);
  struct be_session *session = open_session(PULL, NULL);
  be_session_look(session, &view);
  assert_true(view.interrupted);
  assert_near(view.suggested_N, 61.7 / 2, 0.5);
  assert_int_equal(be_session_answer(session, view.step_number, &broke, NULL), BE_OK);
  be_session_close(session);
  assert_string_equal(only_pull()->calibration_told, "cell 9");
  assert_near(record.pulls[0].load_N, 61.7 / 2, 0.5);
  assert_near(record.pulls[0].zero_before_N, -0.2, 0.02);
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      alone(readings_become_forces_by_the_calibration),
      alone(without_one_the_rows_are_as_they_were),
      alone(a_reading_in_another_unit_is_no_force),
      alone(a_calibrated_rig_is_one_bench),
      alone(an_interrupted_pull_keeps_its_calibration),
  };
  return be_tests("app: live, calibrated", tests);
}
