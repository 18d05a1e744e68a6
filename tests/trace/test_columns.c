/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace_test.h"

/* Three columns under the given head: even time, travel, load. */
static struct be_trace_file *read_under(const char *head, char delimiter)
{
  char text[4096];
  int length = snprintf(text, sizeof text, "%s\n", head);
  for (int i = 0; i < 40; i++)
    length += snprintf(text + length, sizeof text - (size_t)length, "%.2f%c%.3f%c%d\n", 0.02 * i,
                       delimiter, 0.013 * i, delimiter, i * 3 + i % 2);
  return read_text(text);
}

static void headings_are_read_in_eight_languages(void **state)
{
  (void)state;
  static const struct {
    const char *head, *time, *extension, *force;
  } cases[] = {
      {"Elapsed time (s),Extension (mm),Tensile force (N)", "s", "mm", "N"},
      {"Prüfzeit [s],Traversenweg [mm],Standardkraft [daN]", "s", "mm", "daN"},
      {"Temps (s),Allongement (mm),Effort (daN)", "s", "mm", "daN"},
      {"Tiempo [s],Desplaz. [mm],Fuerza [kN]", "s", "mm", "kN"},
      {"Tempo (s),Posição (mm),Força (kgf)", "s", "mm", "kg"},
      {"Tempo (min),Spostamento (cm),Carico (cN)", "min", "cm", "cN"},
      {"時間(秒),変位（mm）,荷重（kgf）", "s", "mm", "kg"},
      {"时间(ms),位移(毫米),拉力(牛)", "ms", "mm", "N"},
      {"t/s,Weg/mm,F/N", "s", "mm", "N"},
      {"time_m,ext_in,force_ozf", "min", "in", "oz"},
      {"s,mm,g", "s", "mm", "g"},
      {"Zeit in s,Weg in mm,Kraft in kN", "s", "mm", "kN"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_trace_file *file = read_under(cases[i].head, ',');
    const struct be_trace_column *columns = file->tests[0].layout.columns;
    assert_int_equal(columns[0].role, BE_ROLE_TIME);
    assert_int_equal(columns[1].role, BE_ROLE_EXTENSION);
    assert_int_equal(columns[2].role, BE_ROLE_FORCE);
    assert_string_equal(columns[0].unit->name, cases[i].time);
    assert_string_equal(columns[1].unit->name, cases[i].extension);
    assert_string_equal(columns[2].unit->name, cases[i].force);
    assert_near(file->tests[0].force_N[39], 118 * columns[2].unit->factor, 1e-12);
    assert_near(file->tests[0].time_s[39], 0.78 * columns[0].unit->factor, 1e-12);
    be_trace_file_free(file);
  }
}

static void names_that_borrow_a_word_are_passed_over(void **state)
{
  (void)state;
  struct be_trace_file *file =
      read_text("Temperature,Load rate (N/s),Stress (MPa),Strain (%),Max load (N),Load (N)\n"
                "21,1.5,3.4,0,9,2.5\n21,1.5,3.9,0.1,9,7.25\n21,1.5,3.1,0.2,9,5\n");
  const struct be_trace_column *columns = file->tests[0].layout.columns;
  for (size_t c = 0; c < 5; c++) assert_int_equal(columns[c].role, BE_ROLE_NONE);
  assert_int_equal(columns[5].role, BE_ROLE_FORCE);
  assert_string_equal(columns[5].why, "named for force, unit in brackets");
  be_trace_file_free(file);
}

static void shapes_decide_without_names(void **state)
{
  (void)state;
  char text[4096];
  int length = 0;
  for (int i = 0; i < 40; i++) /* count, force, time, travel that turns once */
    length += snprintf(text + length, sizeof text - (size_t)length, "%d;%d;%.2f;%.3f\n", i + 1,
                       20 + (i * 7) % 5 * 3, 0.02 * i, i < 30 ? 9 - 0.1 * i * i : -80.0 + i);
  struct be_trace_file *file = read_text(text);
  const struct be_trace_column *columns = file->tests[0].layout.columns;
  assert_int_equal(columns[0].role, BE_ROLE_NONE);
  assert_int_equal(columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(columns[2].role, BE_ROLE_TIME);
  assert_int_equal(columns[3].role, BE_ROLE_EXTENSION);
  assert_int_equal(columns[1].sureness, BE_GUESS);
  assert_null(columns[1].unit);
  assert_non_null(strstr(columns[1].why, "newtons taken"));
  assert_string_equal(columns[0].why, "it counts the rows");
  be_trace_file_free(file);
}

static void whole_even_steps_are_milliseconds(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("0,2.5\n20,7.25\n40,5.5\n60,1.25\n80,3.5\n");
  assert_string_equal(file->tests[0].layout.columns[0].unit->name, "ms");
  assert_int_equal(file->tests[0].layout.columns[0].sureness, BE_GUESS);
  assert_near(file->tests[0].time_s[3], 0.06, 1e-15);
  be_trace_file_free(file);
}

static void one_column_is_the_force(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("12.5\n17.25\n3\n");
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->layout.columns[0].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout.columns[0].sureness, BE_GUESS);
  assert_string_equal(trace->layout.columns[0].why, "the only column; newtons taken");
  assert_null(trace->time_s);
  assert_int_equal(trace->decimals, 2);
  be_trace_file_free(file);
  file = read_with("12.5\n17.25\n3\n", 13,
                   &(struct be_trace_options){.rate_Hz = 80,
                                              .force_unit = be_unit_find("lb", 2)});
  assert_near(file->tests[0].time_s[2], 0.025, 0);
  assert_near(file->tests[0].force_N[0], 12.5 * 4.4482216152605, 1e-12);
  be_trace_file_free(file);
}

static void two_forces_are_asked(void **state)
{
  (void)state;
  struct be_err err = fail_text("time (s),load A (N),load B (N)\n0,1,2\n1,3,5\n2,9,8\n", BE_ASK,
                                "\"load A (N)\") and 3 (\"load B (N)\")");
  assert_int_equal(err.line, 1);
  assert_int_equal(err.column, 3);
  assert_non_null(strstr(err.remedy, "--columns force=2"));
  fail_text("3,1.5\n1,9.5\n7,2.25\n2,7.5\n8,1.5\n", BE_ASK, "can both be the force");
}

static void signals_side_by_side_give_the_first(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("t (s),Force (N),t (s),Force (N)\n"
                                         "0,1.5,0.5,11.5\n1,2.5,1.5,12.5\n2,3.5,2.5,13.5\n");
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->layout.columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout.columns[0].role, BE_ROLE_TIME);
  assert_int_equal(trace->layout.columns[2].role, BE_ROLE_NONE);
  assert_non_null(strstr(trace->layout.columns[1].why, "side by side"));
  be_trace_file_free(file);
  /* An empty pair in front: the filled one is taken, with its own axis. */
  file = read_text("x (mm);F (N);x (mm);F (N)\n;;0,5;11,5\n;;1,5;12,5\n;;2,5;13,5\n");
  assert_int_equal(file->tests[0].layout.columns[3].role, BE_ROLE_FORCE);
  assert_int_equal(file->tests[0].layout.columns[2].role, BE_ROLE_EXTENSION);
  assert_string_equal(file->tests[0].layout.columns[0].why, "no numbers in it");
  be_trace_file_free(file);
}

static const char volts[] = "2021-03-04 10:11:12\r\nInterval,0.0005\r\n"
                            "\"Time\",\"Input 0\",\"Time\",\"Input 1\"\r\n"
                            "\"s\",\"V\",\"s\",\"V\"\r\n"
                            "0,-0.125,0,0.31\r\n0.0005,-0.625,0.0005,0.29\r\n"
                            "0.001,0.25,0.001,0.3\r\n";

static void volts_need_a_scale(void **state)
{
  (void)state;
  struct be_err err = fail_text(volts, BE_ASK, "volts");
  assert_int_equal(err.line, 3);
  assert_int_equal(err.column, 2);
  struct be_trace_options options = {.force_scale_N = -200, .force_zero = -0.125, .sign = 1};
  struct be_trace_file *file = read_with(volts, sizeof volts - 1, &options);
  assert_near(file->tests[0].force_N[1], 100, 1e-12);
  assert_near(file->tests[0].force_N[2], -75, 1e-12);
  assert_near(file->tests[0].force_as_written[1], -0.625, 0);
  assert_int_equal(file->tests[0].layout.columns[0].role, BE_ROLE_TIME);
  be_trace_file_free(file);
}

static void strange_units_are_not_guessed(void **state)
{
  (void)state;
  struct be_err err =
      fail_text("t (s),Load (tonf)\n0,1.5\n1,2.5\n2,0.5\n", BE_BAD_INPUT, "\"tonf\"");
  assert_int_equal(err.column, 2);
  assert_non_null(strstr(err.remedy, "--unit"));
  struct be_trace_file *file = read_text("t (ticks),Load (N)\n0,1.5\n1,2.5\n2,0.5\n");
  assert_null(file->tests[0].time_s);
  be_trace_file_free(file);
}

static void what_the_user_says_stands(void **state)
{
  (void)state;
  static const char text[] = "t (s),load A (N),load B (N)\n0,1.5,2\n1,3,5\n2,9,8.25\n";
  struct be_err err;
  struct be_trace_file *file = read_with(
      text, sizeof text - 1,
      &(struct be_trace_options){.force_column = 3, .force_unit = be_unit_find("kg", 2)});
  assert_string_equal(file->tests[0].layout.columns[2].why, "as told");
  assert_near(file->tests[0].force_N[2], 8.25 * 9.80665, 1e-12);
  be_trace_file_free(file);
  static const struct {
    struct be_trace_options options;
    enum be_status status;
    const char *what;
  } wrong[] = {
      {{.force_column = 7}, BE_BAD_INPUT, "no column 7"},
      {{.force_column = 2, .time_column = 2}, BE_WRONG_USE, "two roles"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    assert_int_equal(be_trace_read(text, sizeof text - 1, &wrong[i].options, &file, &err),
                     wrong[i].status);
    assert_non_null(strstr(err.what, wrong[i].what));
  }
  struct be_trace_options length = {.force_column = 2, .force_unit = be_unit_find("mm", 2)};
  assert_int_equal(be_trace_read(text, sizeof text - 1, &length, &file, &err), BE_WRONG_USE);
}

/* ---- sign ---- */

static int sign_of(const char *text, const char *why)
{
  struct be_trace_file *file = read_text(text);
  int sign = file->tests[0].layout.sign;
  if (!strstr(file->tests[0].layout.sign_why, why))
    print_error("%s\n", file->tests[0].layout.sign_why);
  assert_non_null(strstr(file->tests[0].layout.sign_why, why));
  assert_near(file->tests[0].force_N[1], sign * file->tests[0].force_as_written[1], 0);
  be_trace_file_free(file);
  return sign;
}

static void the_pull_has_a_sign(void **state)
{
  (void)state;
  assert_int_equal(sign_of("t,F (N)\n0,0.5\n1,14\n2,28\n3,-1\n", "positive"), 1);
  assert_int_equal(sign_of("t,F (N)\n0,-0.5\n1,-14\n2,-28.5\n3,1\n", "-28.5"), -1);
  assert_int_equal(sign_of("t,F (N)\n0,0.5\n1,-14\n2,-28\n3,20\n", "a guess"), 1);
  assert_int_equal(sign_of("t,F (N)\n0,0.5\n1,14\n2,28\n3,-20\n", "larger"), 1);
  assert_int_equal(sign_of("t,compressive load (N)\n0,0.5\n1,-14\n2,3\n", "pressing"), -1);
  assert_int_equal(sign_of("t,tensile load (N)\n0,-0.5\n1,-14\n2,-28\n", "pulling"), 1);
  /* Loads that start far below zero and rise are no pressing. */
  assert_int_equal(sign_of("t,F (N)\n0,-80\n1,-54\n2,-20\n3,-79\n", ""), 1);
  /* Pressing closes the gap: 20 N of push, 0.4 N of pull. */
  assert_int_equal(sign_of("t,Gap (mm),F (N)\n0,9,0\n1,7,0\n2,5,20\n3,5,20\n4,8,-0.4\n5,9,0\n",
                           "as the gap closes"),
                   -1);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(headings_are_read_in_eight_languages),
      cmocka_unit_test(names_that_borrow_a_word_are_passed_over),
      cmocka_unit_test(shapes_decide_without_names),
      cmocka_unit_test(whole_even_steps_are_milliseconds),
      cmocka_unit_test(one_column_is_the_force),
      cmocka_unit_test(two_forces_are_asked),
      cmocka_unit_test(signals_side_by_side_give_the_first),
      cmocka_unit_test(volts_need_a_scale),
      cmocka_unit_test(strange_units_are_not_guessed),
      cmocka_unit_test(what_the_user_says_stands),
      cmocka_unit_test(the_pull_has_a_sign),
  };
  return be_tests("trace: columns", tests);
}
