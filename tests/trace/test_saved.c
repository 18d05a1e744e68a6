/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layouts that the user saved: their text, and files that are recognised. */
#include "fault/failing.h"
#include "trace_test.h"

/* Two columns that can both be the force: without a word of the user it is asked. */
static const char mute[] = "k1;k2;k3\n0;1,5;7\n20;2,5;7,5\n40;3,5;7,25\n60;9,5;7\n80;0,5;7\n";

static const char saved_text[] = "# my rigs\n"
                                 "[deck scale]\n"
                                 "delimiter = semicolon\ndecimal = comma\n"
                                 "column = k1\ncolumn = k2\ncolumn = k3\n"
                                 "force = 2\ntime = 1\nunit = kg\ntime-unit = ms\n"
                                 "sign = positive\n\n"
                                 "[bench, in volts]\n"
                                 "delimiter = tab\ndecimal = point\ncolumn =\n"
                                 "scale = -200\nscale-zero = 0.125\nrate-hz = 2000\n";

static struct be_trace_layouts *parse(const char *text)
{
  struct be_trace_layouts *layouts = NULL;
  struct be_err err = {0};
  enum be_status status = be_trace_layouts_parse(text, strlen(text), &layouts, &err);
  if (status != BE_OK) print_error("%zu: %s\n", err.line, err.what);
  assert_int_equal(status, BE_OK);
  return layouts;
}

static void layouts_are_read_from_their_text(void **state)
{
  (void)state;
  struct be_trace_layouts *layouts = parse(saved_text);
  assert_int_equal(layouts->count, 2);
  const struct be_trace_saved *deck = &layouts->saved[0], *bench = &layouts->saved[1];
  assert_string_equal(deck->name, "deck scale");
  assert_int_equal(deck->delimiter, ';');
  assert_int_equal(deck->columns_count, 3);
  assert_string_equal(deck->columns[2], "k3");
  assert_int_equal(deck->told.force_column, 2);
  assert_string_equal(deck->told.force_unit->name, "kg");
  assert_string_equal(deck->told.time_unit->name, "ms");
  assert_int_equal(deck->told.sign, 1);
  assert_string_equal(bench->name, "bench, in volts");
  assert_string_equal(bench->columns[0], "");
  assert_near(bench->told.force_scale_N, -200, 0);
  assert_near(bench->told.rate_Hz, 2000, 0);
  be_trace_layouts_free(layouts);
  layouts = parse("");
  assert_int_equal(layouts->count, 0);
  be_trace_layouts_free(layouts);
}

static void what_is_written_is_read_again(void **state)
{
  (void)state;
  struct be_trace_options told = {.force_column = 2,
                                  .extension_column = 3,
                                  .force_unit = be_unit_find("lbf", 3),
                                  .extension_unit = be_unit_find("cm", 2),
                                  .sign = -1,
                                  .decimal = ',',
                                  .rate_Hz = 0.1,
                                  .force_zero = 1e-17};
  struct be_trace_file *file = read_with(mute, sizeof mute - 1, &told);
  struct be_trace_saved saved;
  struct be_buf text;
  be_buf_init(&text, 10000);
  be_trace_saved_set(&saved, "a name = with signs", file->tests[0].layout, &told);
  be_trace_saved_write(&text, &saved);
  struct be_trace_layouts *layouts = parse(text.data);
  const struct be_trace_saved *again = &layouts->saved[0];
  assert_int_equal(layouts->count, 1);
  assert_string_equal(again->name, "a name = with signs");
  assert_int_equal(again->columns_count, 3);
  assert_memory_equal(again->columns, saved.columns, 3 * sizeof saved.columns[0]);
  assert_memory_equal(&again->told, &saved.told, sizeof saved.told);
  be_trace_layouts_free(layouts);
  be_buf_free(&text);
  be_trace_file_free(file);
}

static void a_saved_layout_is_recognised(void **state)
{
  (void)state;
  fail_text(mute, BE_ASK, "can both be the force");
  struct be_trace_layouts *layouts = parse(saved_text);
  struct be_trace_options options = {.layouts = layouts};
  struct be_trace_file *file = read_with(mute, sizeof mute - 1, &options);
  assert_string_equal(file->tests[0].layout->saved, "deck scale");
  assert_near(file->tests[0].as_written.peak, 9.5, 0);
  assert_near(file->tests[0].force_N[3], 9.5 * 9.80665, 1e-12);
  assert_near(file->tests[0].time_s[1], 0.02, 1e-15);
  be_trace_file_free(file);
  /* One name is another: then it is another rig. */
  static const char other[] = "k1;k2;kk\n0;1,5;7\n20;2,5;7,5\n40;3,5;7,25\n60;9,5;7\n80;0,5;7\n";
  struct be_err err;
  assert_int_equal(be_trace_read_bytes(other, sizeof other - 1, &options, &file, &err), BE_ASK);
  /* What is told outright goes before. */
  options.force_column = 3;
  file = read_with(mute, sizeof mute - 1, &options);
  assert_string_equal(file->tests[0].layout->saved, "");
  assert_near(file->tests[0].as_written.peak, 7.5, 0);
  be_trace_file_free(file);
  be_trace_layouts_free(layouts);
}

static void other_files_are_read_as_before(void **state)
{
  (void)state;
  static const char plain[] = "time (s),force (N)\n0,1\n1,5.5\n2,9.25\n3,0\n";
  struct be_trace_layouts *layouts = parse(saved_text);
  struct be_trace_options options = {.layouts = layouts};
  struct be_trace_file *file = read_with(plain, sizeof plain - 1, &options);
  assert_string_equal(file->tests[0].layout->saved, "");
  assert_near(file->tests[0].as_written.peak, 9.25, 0);
  be_trace_file_free(file);
  be_trace_layouts_free(layouts);
}

static void a_wrong_line_is_named(void **state)
{
  (void)state;
  static const char *const wrong[] = {
      "[a]\ndelimiter = dash\n", "[a]\nforce = 0\n",  "[a]\nforce = 1.x\n", "[a]\nunit = mm\n",
      "[a]\nsign = up\n",        "[a]\ncolour = 1\n", "[a]\nwords\n",       "\nforce = 2\n",
      "[a]\nscale = 1e999\n"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    struct be_trace_layouts *layouts;
    struct be_err err = {0};
    assert_int_equal(be_trace_layouts_parse(wrong[i], strlen(wrong[i]), &layouts, &err),
                     BE_BAD_INPUT);
    assert_null(layouts);
    assert_int_equal(err.line, 2);
    assert_true(err.remedy[0]);
  }
}

static enum be_status parse_it(void *text, struct be_err *err)
{
  struct be_trace_layouts *layouts;
  enum be_status status = be_trace_layouts_parse(text, strlen(text), &layouts, err);
  be_trace_layouts_free(layouts);
  return status;
}

static void memory_may_fail(void **state)
{
  (void)state;
  char text[sizeof saved_text];
  memcpy(text, saved_text, sizeof text);
  be_fail_loop(parse_it, text, 2);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(layouts_are_read_from_their_text),
      cmocka_unit_test(what_is_written_is_read_again),
      cmocka_unit_test(a_saved_layout_is_recognised),
      cmocka_unit_test(other_files_are_read_as_before),
      cmocka_unit_test(a_wrong_line_is_named),
      cmocka_unit_test(memory_may_fail),
  };
  return be_tests("trace: saved layouts", tests);
}
