/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inputs that once went wrong, or were chosen to: each is read, and whatever is
 * read is looked at. Byte sequences found by tests/fuzz/fuzz_trace.c are kept
 * here, cut down. */
#include "trace_test.h"

static void look(const char *bytes, size_t size)
{
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  enum be_status status = be_trace_read(bytes, size, NULL, &file, &err);
  if (status != BE_OK) {
    assert_null(file);
    assert_int_equal(err.status, status);
    assert_int_not_equal(err.what[0], 0);
    return;
  }
  for (size_t k = 0; k < file->count; k++) {
    struct be_trace_events events;
    assert_true(file->tests[k].n > 0);
    assert_int_equal(be_trace_find(&file->tests[k], &events, NULL), BE_OK);
    assert_true(events.peak_row < file->tests[k].n);
  }
  be_trace_file_free(file);
}

static void awkward_inputs_are_survived(void **state)
{
  (void)state;
  static const char *const texts[] = {
      "\"", "\"\n\"\n", "\"1\"\"2\",3\n\"1\"\"2\",3\n", ",,,\n,,,\n", "1\n2", "1,\n2,\n",
      ",1\n,2\n", "-\n-\n1\n2\n", "1e308\n-1e308\n1e308\n-1e308\n", "1;2\n3;4\nx\n5;6\n7;8\n",
      "\t\t\n\t1\t\n\t2\t\n", "#\n# \n1 2\n3 4\n", "(\n1\n2\n", "()\n1\n2\n", "F (\n1\n2\n",
      "0,0\n0,0\n0,0\n", "5\n5\n5\n5\n5\n5\n5\n5\n", "-5\n-5\n-5\n-4\n",
      "t,F\n0,nan\n0,nan\n", "t,F\n0,1\n0,1\n0,1\n0,1\n", "\xFF\xFE", "\xFE\xFF\x00", "\xEF\xBB",
      "12:00\n12:01\n12:02\n", "t;F\n1:00:00;4\n1:00:01;5\n",
  };
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) look(texts[i], strlen(texts[i]));
  look(NULL, 0);
}

static void a_number_past_the_largest_is_refused(void **state)
{
  (void)state;
  struct be_err err = fail_text("t (s),F (N)\n0,1.5\n1,2.5\n2,1e999\n3,1\n", BE_BAD_INPUT, "1e999");
  assert_int_equal(err.line, 4);
}

/* Sixty-four columns are read, more are not. */
static void wide_rows_have_a_ceiling(void **state)
{
  (void)state;
  for (int columns = 64; columns <= 66; columns++) {
    char text[4096] = "";
    for (int row = 0; row < 4; row++)
      for (int c = 0; c < columns; c++)
        snprintf(text + strlen(text), sizeof text - strlen(text), "%d%c", row == 0 ? c : row * c,
                 c + 1 < columns ? ';' : '\n');
    struct be_trace_file *file = NULL;
    struct be_err err;
    struct be_trace_options options = {.force_column = 64};
    enum be_status status = be_trace_read(text, strlen(text), &options, &file, &err);
    assert_int_equal(status, columns == 64 ? BE_OK : BE_BAD_INPUT);
    be_trace_file_free(file);
  }
}

static void many_small_tests_have_a_ceiling(void **state)
{
  (void)state;
  static const char one[] = "t (s),F (N)\n0,1.5\n1,2.5\n";
  size_t size = (BE_TRACE_TESTS_MAX + 1) * (sizeof one - 1);
  char *text = malloc(size);
  struct be_trace_file *file = NULL;
  struct be_err err;
  assert_non_null(text);
  for (size_t i = 0; i <= BE_TRACE_TESTS_MAX; i++)
    memcpy(text + i * (sizeof one - 1), one, sizeof one - 1);
  assert_int_equal(be_trace_read(text, size, NULL, &file, &err), BE_TOO_LARGE);
  free(text);
}

/* Any cut and any changed byte of a good file either reads or says why not. */
static void cut_and_changed_files_are_survived(void **state)
{
  (void)state;
  static const char text[] = "Rig,\"7\"\nTime,Load,Way\n(s),(kgf),(mm)\n\"0.00\",\"1.5\",\"0\"\n"
                             "\"0.05\",\"2.75\",\"0.1\"\n\"0.10\",nan,\"0.2\"\n0.15,9.125,0.3\n";
  char copy[sizeof text];
  struct be_random random;
  be_random_init(&random, 99, 4);
  for (size_t size = 0; size < sizeof text; size++) look(text, size);
  for (int trial = 0; trial < 3000; trial++) {
    static const char bytes[] = ",;\t\n\r\".-+e0195xN \xE7\xFF(:#";
    memcpy(copy, text, sizeof copy);
    for (int k = 0; k < 3; k++)
      copy[be_random_below(&random, sizeof text - 1)] =
          bytes[be_random_below(&random, sizeof bytes - 1)];
    look(copy, sizeof copy - 1);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(awkward_inputs_are_survived),
      cmocka_unit_test(a_number_past_the_largest_is_refused),
      cmocka_unit_test(wide_rows_have_a_ceiling),
      cmocka_unit_test(many_small_tests_have_a_ceiling),
      cmocka_unit_test(cut_and_changed_files_are_survived),
  };
  return be_tests("trace: finds", tests);
}
