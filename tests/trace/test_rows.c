/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault/failing.h"
#include "trace_test.h"

/* ---- numbers ---- */

/* The fast path must give the same bits as the slow one. */
static void numbers_are_exact(void **state)
{
  (void)state;
  static const char *const numbers[] = {"0.1",
                                        "-0.30000000000000004",
                                        "123456789012345",
                                        "1234567890123456789",
                                        "8.73E-05",
                                        "+2.5",
                                        ".5",
                                        "5.",
                                        "1e3",
                                        "0.000000000000001",
                                        "9.999999",
                                        "00042.50",
                                        "-0",
                                        "258.572",
                                        "7.2057594037927937e16"};
  char text[2048] = "F (N);t (s)\n";
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%s;%zu\n", numbers[i], i * i);
  struct be_trace_file *file = read_text(text);
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->n, sizeof numbers / sizeof numbers[0]);
  for (size_t i = 0; i < trace->n; i++) {
    double want = strtod(numbers[i], NULL);
    assert_memory_equal(&trace->force_N[i], &want, sizeof want);
    assert_int_equal(trace->line[i], i + 2);
  }
  assert_int_equal(trace->decimals, 17);
  be_trace_file_free(file);
}

static void random_numbers_equal_strtod(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 20240917, 3);
  static char text[200000];
  static double want[5000];
  size_t length = 0, n = sizeof want / sizeof want[0];
  for (size_t i = 0; i < n; i++) {
    double value = (be_random_unit(&random) - 0.5) * pow(10, (double)be_random_below(&random, 12));
    int digits = (int)be_random_below(&random, 9);
    size_t start = length;
    length += (size_t)snprintf(text + length, sizeof text - length, "%.*f", digits, value);
    want[i] = strtod(text + start, NULL);
    text[length++] = '\n';
  }
  struct be_trace_file *file = read_with(text, length, NULL);
  assert_int_equal(file->tests[0].n, n);
  assert_memory_equal(file->tests[0].force_N, want, sizeof want);
  be_trace_file_free(file);
}

/* As programs write doubles, and longer than any of them needs. */
static void long_numbers_equal_strtod(void **state)
{
  (void)state;
  enum { NUMBERS = 60000 };
  struct be_random random;
  struct be_buf buf;
  be_random_init(&random, 3307, 1);
  be_buf_init(&buf, (size_t)1 << 30);
  double *want = be_alloc_array(NUMBERS, sizeof *want);
  for (size_t i = 0; i < NUMBERS; i++) {
    char number[64];
    double value = (be_random_unit(&random) - 0.2) * pow(10, (double)be_random_below(&random, 7));
    if (i % 3 == 0) snprintf(number, sizeof number, "%.17g", value);
    else snprintf(number, sizeof number, "%.*f", (int)be_random_below(&random, 19), value);
    want[i] = strtod(number, NULL);
    be_buf_format(&buf, "%s\n", number);
  }
  struct be_trace_options options = {.sign = 1};
  struct be_trace_file *file = read_with(buf.data, buf.size, &options);
  assert_int_equal(file->tests[0].n, NUMBERS);
  for (size_t i = 0; i < NUMBERS; i++)
    if (memcmp(&file->tests[0].force_N[i], &want[i], sizeof want[i])) fail_msg("number %zu", i);
  be_trace_file_free(file);
  be_free(want);
  be_buf_free(&buf);
}

static void thousands_are_read_in_threes(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("t (s),F (N)\n0,\"2.5\"\n1,\"999.5\"\n2,\"1,234.5\"\n"
                                         "3,\"12,345,678.25\"\n");
  assert_near(file->tests[0].force_N[2], 1234.5, 0);
  assert_near(file->tests[0].force_N[3], 12345678.25, 0);
  be_trace_file_free(file);
  fail_text("t (s),F (N)\n0,2.5\n1,9.5\n2,\"1,234\"\n", BE_BAD_INPUT, "\"1,234\"");
  fail_text("t (s),F (N)\n0,2.5\n1,9.5\n2,\"12,34.5\"\n", BE_BAD_INPUT, "\"12,34.5\"");
  fail_text("t (s);F (N)\n0;2.5\n1;9.5\n2;14,5\n", BE_BAD_INPUT, "\"14,5\"");
}

static void times_of_day_are_seconds(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("Time;Load (N)\n2024-05-01 11:59:59.500;1.5\n"
                                         "2024-05-01 12:00:00.000;2.5\n12:00:01;7.25\n"
                                         "12:01;3\n");
  const struct be_trace *trace = &file->tests[0];
  assert_near(trace->time_s[1] - trace->time_s[0], 0.5, 0);
  assert_near(trace->time_s[2] - trace->time_s[1], 1, 0);
  assert_near(trace->time_s[3], 12 * 60 + 1, 0);
  be_trace_file_free(file);
}

/* ---- rows that lack something ---- */

static void words_for_no_value_are_passed_over(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("t (s),F (N),x (mm)\n0,1.5,0\n1,nan,0.1\n2,OL,0.2\n"
                                         "3,,0.3\n4,--,0.4\n5,N/A,\n6,2.5,\n7,,\n8,3.5,nan\n"
                                         "9,4.5,0.9\n10,5,1\n11,6,1\n12,7,1\n13,8,1\n");
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->skipped_rows, 6);
  assert_int_equal(trace->n, 8);
  assert_int_equal(trace->line[1], 8);
  assert_true(isnan(trace->extension_m[1]));
  assert_near(trace->extension_m[3], 0.9e-3, 1e-18);
  be_trace_file_free(file);
}

static void short_rows_and_empty_columns_are_read(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text(",t (s),,F (N),note,\n,0,,1.5,,\n,1,,2.5,,\n"
                                         ",2,,3.5\n,3,,4.5,a gust came,\n,4,,5.5,,\n,5\n");
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->n, 5);
  assert_int_equal(trace->skipped_rows, 1);
  assert_int_equal(trace->layout->columns[3].role, BE_ROLE_FORCE);
  assert_near(trace->force_N[3], 4.5, 0);
  be_trace_file_free(file);
}

static void a_force_that_stops_is_an_error(void **state)
{
  (void)state;
  struct be_err err = fail_text("t (s),F (N)\n0,1.5\n1,2.5\n2,3.5\n3,\n4,\n5,\n6,\n7,\n",
                                BE_BAD_INPUT, "5 of 8 rows");
  assert_int_equal(err.line, 5);
  assert_int_equal(err.column, 2);
}

/* ---- garbage ---- */

static void garbage_is_named_with_its_place(void **state)
{
  (void)state;
  static const struct {
    const char *text, *what;
    size_t line, column;
  } cases[] = {
      {"t (s),F (N)\n0,1.5\n1,12x4\n2,3.5\n3,4\n", "\"12x4\"", 3, 2},
      {"t (s),F (N)\n0,1.5\n1,2.5\n2x,3.5\n3,4\n4,5\n", "\"2x\"", 4, 1},
      {"t (s),F (N)\n0,1.5\n1,2.5\nabc,3.5\n3,4\n4,5\n", "\"abc\"", 4, 1},
      {"t (s),F (N)\n0,1.5\n1,2.5\n2,abc\n3,4\n", "\"abc\"", 4, 2},
      {"t (s),F (N)\n0,1.5\n1,2.5*\n2,3\n3,4\n4,5\n", "\"2.5*\"", 3, 2},
      {"1.5\n2.5\nbroken\n3.5\n4.5\n", "\"broken\"", 3, 1},
      {"1.5\n2.5\n3.5\n12x4\n4.5\n", "\"12x4\"", 4, 1},
      {"t (s),F (N)\n0,1.5\n1,2.5\nERROR\n2,3.5\n3,4\n", "\"\"", 4, 2},
      {"1.5\n12x4\n4.5\n5.5\n", "\"12x4\"", 2, 1},
      {"t (s),F (N)\n0,1.5,7\n1,2.5\n2,3.5\n3,4\n", "3 columns where", 2, 3},
      {"t (s),F (N)\n0,1.5\n1,2.5\n2,3.5,7\n3,4\n", "3 columns where the rows before have 2", 4, 3},
      {"t (s),F (N)\n0,1.5\n1,2.5\n2,\"3.5\n3,4\n", "\"\"3.5\"", 4, 2},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_err err = fail_text(cases[i].text, BE_BAD_INPUT, cases[i].what);
    assert_int_equal(err.line, cases[i].line);
    assert_int_equal(err.column, cases[i].column);
  }
}

/* ---- several tests ---- */

static void repeated_heads_part_tests(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("Rig 4\n\nSpecimen A\nt (s),F (N)\n0,1.5\n1,2.5\n2,3.5\n\n"
                                         "Specimen B\nt (s),F (N)\n0,11.5\n1,12.5\n\n\n"
                                         "Specimen C\n0,21.5\n1,22.5\n2,23.5\n3,9\n");
  assert_int_equal(file->count, 3);
  assert_string_equal(file->tests[0].title, "Specimen A");
  assert_string_equal(file->tests[1].title, "Specimen B");
  assert_string_equal(file->tests[2].title, "Specimen C");
  assert_int_equal(file->tests[0].n, 3);
  assert_int_equal(file->tests[1].n, 2);
  assert_int_equal(file->tests[2].n, 4);
  assert_int_equal(file->tests[1].line[0], 11);
  assert_near(file->tests[2].force_N[2], 23.5, 0);
  assert_near(file->tests[2].time_s[2], 2, 0);
  be_trace_file_free(file);
}

static void a_head_parts_even_rows_that_go_on(void **state)
{
  (void)state;
  struct be_trace_file *file =
      read_text("t (s),F (N)\n0,1.5\n1,2.5\nt (s),F (N)\n2,3.5\n3,4.5\n4,1\n");
  assert_int_equal(file->count, 2);
  assert_int_equal(file->tests[1].n, 3);
  be_trace_file_free(file);
}

static void a_time_that_starts_again_parts_tests(void **state)
{
  (void)state;
  char text[4096] = "t (s);F (N)\n";
  for (int i = 0; i < 36; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%.2f;%d\n", 0.05 * (i % 12), i);
  struct be_trace_file *file = read_text(text);
  assert_int_equal(file->count, 3);
  assert_int_equal(file->tests[1].n, 12);
  assert_near(file->tests[1].force_N[0], 12, 0);
  be_trace_file_free(file);
  /* One time out of place starts nothing. */
  snprintf(text, sizeof text, "t (s);F (N)\n");
  for (int i = 0; i < 36; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%.2f;%d\n", i == 20 ? 0 : 0.05 * i,
             i);
  file = read_text(text);
  assert_int_equal(file->count, 1);
  be_trace_file_free(file);
}

static void blank_lines_and_remarks_do_not_part(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("t (s),F (N)\n0,1.5\n\n1,2.5\n# a gust\n\n\n2,3.5\n3,4\n");
  assert_int_equal(file->count, 1);
  assert_int_equal(file->tests[0].n, 4);
  be_trace_file_free(file);
  file = read_text("1.5\n2.5\n\n3.5\n\n\n11.5\n12.5\n"); /* nothing but force: two blanks do */
  assert_int_equal(file->count, 2);
  assert_int_equal(file->tests[0].n, 3);
  be_trace_file_free(file);
}

static void summaries_are_no_tests(void **state)
{
  (void)state;
  struct be_trace_file *file =
      read_text("t (s),F (N)\n0,1.5\n1,2.5\n2,3.5\n\nSummary\nSpecimen,Max load (N)\n1,3.5\n2,9\n");
  assert_int_equal(file->count, 1);
  assert_int_equal(file->tests[0].n, 3);
  be_trace_file_free(file);
  file = read_text("t (s),F (N)\n0,1.5\n1,2.5\n2,3.5\nPeak,3.5\nBreak at,2\nEnd of record\n");
  assert_int_equal(file->count, 1);
  be_trace_file_free(file);
  file = read_text("t (s),F (N)\n0,1.5\n1,2.5\n\nPart,Max load (N),Site\n1,3.5,4\n2,9,4\n\n"
                   "t (s),F (N)\n0,11.5\n1,12.5\n");
  assert_int_equal(file->count, 2);
  assert_near(file->tests[1].force_N[0], 11.5, 0);
  be_trace_file_free(file);
}

/* The layout of a pad pressed on and pulled off: banner, then blocks with a
 * title, names, units and an empty first column; no end on the last line. */
static void blocks_with_an_empty_column_are_read(void **state)
{
  (void)state;
  static char text[64 * 1024];
  size_t length = 0;
#define ADD(...) length += (size_t)snprintf(text + length, sizeof text - length, __VA_ARGS__)
  ADD("Project:,pads\r\nTest:,demo\r\nUser:,none\r\nRig:,5\r\nDate:,1/2/2021\r\nRemark:,\r\n");
  double t = 0, gap = 13;
  for (int block = 0; block < 25; block++) {
    ADD("\r\nResult:,Step %d\r\nInterval data:,Point,Normal Force,Gap,Time\r\n,,[N],[mm],[s]\r\n",
        block + 1);
    for (int i = 0; i < 20; i++) {
      int phase = block % 5;
      double force = phase == 1 ? 0.9 * (i + 1) : phase == 2 ? 18.5 : phase == 3 ? 18 - 0.9 * i : 0;
      gap += phase == 0 ? -0.3 : phase == 1 ? -0.05 : phase == 3 ? 0.05 : phase == 4 ? 0.3 : 0;
      if (phase == 4) force = i == 13 ? -0.1375 - 0.001 * block : -8.73e-05;
      ADD(",%d,%g,%.4f,%.4g\r\n", i + 1, force, gap, t += 0.45);
    }
  }
#undef ADD
  length -= 2;
  struct be_trace_file *file = read_with(text, length, NULL);
  assert_int_equal(file->count, 25);
  assert_int_equal(file->tests[0].layout->sign, -1);
  for (size_t k = 4; k < 25; k += 5) {
    struct be_trace_events events;
    assert_int_equal(be_trace_find(&file->tests[k], &events, NULL), BE_OK);
    assert_int_equal(events.peak_row, 13);
    assert_near(events.peak_N, 0.1375 + 0.001 * (double)k, 1e-12);
    assert_int_equal(file->tests[k].line[13], 6 + 4 * (k + 1) + 20 * k + 14);
  }
  assert_string_equal(file->tests[7].title, "Result: Step 8");
  be_trace_file_free(file);
}

/* ---- memory ---- */

static void no_memory_is_survived_anywhere(void **state)
{
  (void)state;
  static const char text[] = "t (s);For\xE7"
                             "a (N);x (mm)\n0;1,5;0\n1;2,5;1\n2;nan;2\n3;3,5;3\n"
                             "\nt (s);For\xE7"
                             "a (N);x (mm)\n0;1,5;0\n1;2,5;1\n";
  bool done = false;
  for (size_t limit = 0; !done && limit < 1000; limit++) {
    struct be_trace_file *file = NULL;
    struct be_trace_events events;
    struct be_failing failing = {0};
    be_failing_start(&failing, limit + 1, true);
    enum be_status status = be_trace_read_bytes(text, sizeof text - 1, NULL, &file, NULL);
    if (status == BE_OK) status = be_trace_find(&file->tests[0], &events, NULL);
    be_trace_file_free(file);
    be_failing_stop();
    assert_int_equal(failing.blocks + failing.broken, 0);
    assert_true(status == BE_OK || status == BE_NO_MEMORY);
    done = status == BE_OK;
    assert_true(done || limit < 200);
  }
  assert_true(done);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(numbers_are_exact),
      cmocka_unit_test(random_numbers_equal_strtod),
      cmocka_unit_test(long_numbers_equal_strtod),
      cmocka_unit_test(thousands_are_read_in_threes),
      cmocka_unit_test(times_of_day_are_seconds),
      cmocka_unit_test(words_for_no_value_are_passed_over),
      cmocka_unit_test(short_rows_and_empty_columns_are_read),
      cmocka_unit_test(a_force_that_stops_is_an_error),
      cmocka_unit_test(garbage_is_named_with_its_place),
      cmocka_unit_test(repeated_heads_part_tests),
      cmocka_unit_test(a_head_parts_even_rows_that_go_on),
      cmocka_unit_test(a_time_that_starts_again_parts_tests),
      cmocka_unit_test(blank_lines_and_remarks_do_not_part),
      cmocka_unit_test(summaries_are_no_tests),
      cmocka_unit_test(blocks_with_an_empty_column_are_read),
      cmocka_unit_test(no_memory_is_survived_anywhere),
  };
  return be_tests("trace: rows", tests);
}
