/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace_test.h"

static void delimiters_and_marks_are_found(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    char delimiter, decimal;
    size_t columns, header_lines;
  } cases[] = {
      {"0.1,2.5\n0.2,7.25\n0.3,5", ',', '.', 2, 0},
      {"t;F\n0,1;2,5\n0,2;7,25\n0,3;5\n", ';', ',', 2, 1},
      {"0,1\t2,5\t\n0,2\t7,25\t\n0,3\t5\t\n", '\t', ',', 3, 0},
      {"  0.1   2.5\n  0.2  7.25\n 10.3  5.00\n", ' ', '.', 2, 0},
      {"0,1 2,5\r\n0,2 7,25\r\n0,3 5\r\n", ' ', ',', 2, 0},
      {"\"0.1\",\"2.5\"\n\"0.2\",\"7.25\"\n\"0.3\",\"5\"\n", ',', '.', 2, 0},
      {"\"t\",\"F\"\n\"0,1\",\"2,5\"\n\"0,2\",\"7,25\"\n", ',', ',', 2, 1},
      {"2.5\n7.25\n5\n", ',', '.', 1, 0},
      {"F\n2,5\n17,25\n5,03\n", ',', ',', 1, 1},
      {"0.1, 2.5\n0.2, 7.25\n0.3, 5\n", ',', '.', 2, 0},
      {"time,force\n1,12\n2,15\n4,17\n", ',', '.', 2, 1},
      {"0,2.05\n20,-3\n40,1e1\n60,5.5\n", ',', '.', 2, 0},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_trace_file *file = read_text(cases[i].text);
    const struct be_trace_layout *layout = file->tests[0].layout;
    assert_int_equal(layout->delimiter, cases[i].delimiter);
    assert_int_equal(layout->decimal, cases[i].decimal);
    assert_int_equal(layout->columns_count, cases[i].columns);
    assert_int_equal(layout->header_lines, cases[i].header_lines);
    be_trace_file_free(file);
  }
}

static void a_comma_that_can_be_both_is_asked(void **state)
{
  (void)state;
  static const char text[] = "0,31\n1,24\n1,76\n3,11\n";
  struct be_trace_file *file;
  struct be_err err = fail_text(text, BE_ASK, "decimal mark");
  assert_int_equal(err.line, 1);
  assert_non_null(strstr(err.remedy, "--decimal"));
  file = read_with(text, sizeof text - 1, &(struct be_trace_options){.decimal = ','});
  assert_near(file->tests[0].force_N[2], 1.76, 0);
  be_trace_file_free(file);
  file = read_with(text, sizeof text - 1,
                   &(struct be_trace_options){.decimal = '.', .force_column = 2});
  assert_near(file->tests[0].force_N[2], 76, 0);
  be_trace_file_free(file);
}

static void a_comma_is_settled_by_what_stands_around(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("0,31\n1,04\n1,76\n3,11\n"); /* "04" */
  assert_int_equal(file->tests[0].layout->decimal, ',');
  be_trace_file_free(file);
  file = read_text("0,31\n20,24\n40,76\n60,11\n"); /* even steps */
  assert_int_equal(file->tests[0].layout->columns_count, 2);
  be_trace_file_free(file);
  fail_text("t,F\n0,5,12,03\n0,6,13,72\n0,7,11,09\n", BE_BAD_INPUT, "both for decimals");
}

static void the_head_is_taken_apart(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("Station: North, Hall 3\r\n"
                                         "Diameter,\"0.34\",(mm)\r\n"
                                         "Speed,\"5\",(mm/min)\r\n"
                                         "Specimen 17\r\n"
                                         "\r\n"
                                         "\"Way\",\"Load\",\"Stress\",\"Clock\",\"\",\"Way 2\"\r\n"
                                         "(mm),(N),(MPa),(s),,(mm)\r\n"
                                         "\"0.00\",\"0.11\",\"1.4\",\"0.00\",\"1\",\"0.0\"\r\n"
                                         "\"0.05\",\"0.27\",\"3.5\",\"0.01\",\"1\",\"0.1\"\r\n");
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->layout->header_lines, 7);
  assert_string_equal(trace->title, "Specimen 17");
  assert_int_equal(trace->layout->columns[0].role, BE_ROLE_EXTENSION);
  assert_int_equal(trace->layout->columns[1].role, BE_ROLE_FORCE);
  assert_int_equal(trace->layout->columns[3].role, BE_ROLE_TIME);
  assert_int_equal(trace->layout->columns[5].role, BE_ROLE_NONE);
  assert_string_equal(trace->layout->columns[2].name, "Stress");
  assert_near(trace->force_N[1], 0.27, 0);
  assert_near(trace->extension_m[1], 0.05e-3, 0);
  assert_near(trace->time_s[1], 0.01, 0);
  assert_int_equal(trace->line[1], 9);
  be_trace_file_free(file);
}

static void names_between_spaces_keep_their_brackets(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("# Time (s) Force (lbf)\n 0.1 2.5\n 0.2 7.25\n");
  assert_string_equal(file->tests[0].layout->columns[0].name, "Time (s)");
  assert_string_equal(file->tests[0].layout->columns[1].unit->name, "lb");
  be_trace_file_free(file);
  file = read_text("Elapsed time   Load  \n 0.1    2.5\n 0.2    7.25\n");
  assert_string_equal(file->tests[0].layout->columns[0].name, "Elapsed time");
  be_trace_file_free(file);
}

static void what_is_no_trace_is_refused(void **state)
{
  (void)state;
  assert_int_equal(fail_text("", BE_BAD_INPUT, "empty").line, 1);
  fail_text(" \n\n\t\n", BE_BAD_INPUT, "empty");
  fail_text("\xEF\xBB\xBF", BE_BAD_INPUT, "empty");
  fail_text("a letter\nabout knots\n", BE_BAD_INPUT, "not a load trace");
  fail_text("load (N)\n12.5\n", BE_BAD_INPUT, "not a load trace");
}

static void text_columns_and_units_beside_are_read(void **state)
{
  (void)state;
  struct be_trace_file *file = read_text("ST,GS,+0001.250,kg\nST,GS,+0003.500,kg\n"
                                         "US,GS,+0002.750,kg\nST,GS,+0009.125,kg\n"
                                         "ST,GS,+0004.000,kg\nST,GS,+0000.000,kg\n");
  const struct be_trace *trace = &file->tests[0];
  assert_int_equal(trace->n, 6);
  assert_near(trace->force_N[3], 9.125 * 9.80665, 1e-12);
  assert_int_equal(trace->layout->columns[2].role, BE_ROLE_FORCE);
  be_trace_file_free(file);
  struct be_err err = fail_text("1.25 lb\n3.50 lb\n2.75 lb\n9.25 lb\n4.50 lb\n1.25 kg\n",
                                BE_BAD_INPUT, "from lb to kg");
  assert_int_equal(err.line, 6);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(delimiters_and_marks_are_found),
      cmocka_unit_test(a_comma_that_can_be_both_is_asked),
      cmocka_unit_test(a_comma_is_settled_by_what_stands_around),
      cmocka_unit_test(the_head_is_taken_apart),
      cmocka_unit_test(names_between_spaces_keep_their_brackets),
      cmocka_unit_test(what_is_no_trace_is_refused),
      cmocka_unit_test(text_columns_and_units_beside_are_read),
  };
  return be_tests("trace: layout", tests);
}
