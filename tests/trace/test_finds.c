/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inputs that once went wrong, or were chosen to: each is read, and whatever is
 * read is looked at. Byte sequences found by tests/fuzz/fuzz_trace.c are kept
 * here, cut down. */
#include "trace/rows/rows.h"
#include "trace_test.h"

#include <stdarg.h>

static void look(const char *bytes, size_t size)
{
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  enum be_status status = be_trace_read_bytes(bytes, size, NULL, &file, &err);
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
      "\"",
      "\"\n\"\n",
      "\"1\"\"2\",3\n\"1\"\"2\",3\n",
      ",,,\n,,,\n",
      "1\n2",
      "1,\n2,\n",
      ",1\n,2\n",
      "-\n-\n1\n2\n",
      "1e308\n-1e308\n1e308\n-1e308\n",
      "1;2\n3;4\nx\n5;6\n7;8\n",
      "\t\t\n\t1\t\n\t2\t\n",
      "#\n# \n1 2\n3 4\n",
      "(\n1\n2\n",
      "()\n1\n2\n",
      "F (\n1\n2\n",
      "0,0\n0,0\n0,0\n",
      "5\n5\n5\n5\n5\n5\n5\n5\n",
      "-5\n-5\n-5\n-4\n",
      "t,F\n0,nan\n0,nan\n",
      "t,F\n0,1\n0,1\n0,1\n0,1\n",
      "\xFF\xFE",
      "\xFE\xFF\x00",
      "\xEF\xBB",
      "sep=|\n1|2\n3|4\n",
      "12:00\n12:01\n12:02\n",
      "t;F\n1:00:00;4\n1:00:01;5\n",
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
    enum be_status status = be_trace_read_bytes(text, strlen(text), &options, &file, &err);
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
  assert_int_equal(be_trace_read_bytes(text, size, NULL, &file, &err), BE_TOO_LARGE);
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

/* ---- long texts ---- */

static void put(struct be_buf *buf, const char *format, ...) BE_PRINTF(2, 3);

static void put(struct be_buf *buf, const char *format, ...)
{
  char text[256];
  va_list list;
  va_start(list, format);
  vsnprintf(text, sizeof text, format, list);
  va_end(list);
  be_buf_text(buf, text);
}

static void fill(struct be_buf *buf, size_t size, char c)
{
  for (size_t i = 0; i < size; i++) be_buf_char(buf, c);
}

static enum be_status read_buf(const struct be_buf *buf, unsigned threads,
                               struct be_trace_file **file, struct be_err *err)
{
  struct be_trace_options options = {.threads = threads};
  return be_trace_read_bytes(buf->data, buf->size, &options, file, err);
}

/* The reader once looked at the same text for ever. */
static void a_long_line_after_text_is_an_error(void **state)
{
  (void)state;
  for (unsigned threads = 1; threads <= 3; threads += 2) {
    struct be_buf buf;
    struct be_trace_file *file = NULL;
    struct be_err err = {0};
    be_buf_init(&buf, (size_t)1 << 30);
    put(&buf, "t (s),F (N)\n");
    for (int i = 0; i < 50; i++) put(&buf, "%d.5,%d.25\n", i, 3 * i);
    put(&buf, "the end\n");
    fill(&buf, (size_t)5 << 20, 'x');
    assert_int_equal(read_buf(&buf, threads, &file, &err), BE_BAD_INPUT);
    assert_int_equal(err.line, 53);
    assert_non_null(strstr(err.what, "longer than"));
    be_buf_free(&buf);
  }
}

/* A lone sign where a travel should be is no empty cell. */
static void a_lone_sign_is_no_number(void **state)
{
  (void)state;
  struct be_buf buf;
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  be_buf_init(&buf, 1 << 20);
  put(&buf, "t (s),F (N),x (mm)\n");
  for (int i = 0; i < 100; i++)
    if (i == 70) put(&buf, "%d.5,%d.25,+\n", i, i);
    else put(&buf, "%d.5,%d.25,%d.75\n", i, i, i);
  assert_int_equal(read_buf(&buf, 1, &file, &err), BE_BAD_INPUT);
  assert_int_equal(err.line, 72);
  assert_int_equal(err.column, 3);
  be_buf_free(&buf);
}

/* Tests that start again in one block are written alike. */
static void tests_of_a_block_share_their_decimals(void **state)
{
  (void)state;
  struct be_buf buf;
  struct be_trace_file *file = NULL;
  be_buf_init(&buf, 1 << 20);
  put(&buf, "t (s),F (N)\n");
  for (int i = 0; i < 40; i++) put(&buf, "%d.5,%d.%03d\n", i, i, 7 * i);
  for (int i = 0; i < 40; i++) put(&buf, "%d.5,%d.5\n", i, i);
  assert_int_equal(read_buf(&buf, 1, &file, NULL), BE_OK);
  assert_int_equal(file->count, 2);
  for (size_t k = 0; k < 2; k++) {
    assert_int_equal(file->tests[k].decimals, 3);
    assert_int_equal(file->tests[k].time_decimals, 1);
  }
  be_trace_file_free(file);
  be_buf_free(&buf);
}

/* An empty time just before the time starts again once hid the new test. */
static void an_empty_time_hides_no_restart(void **state)
{
  (void)state;
  static const int empty[] = {0, 20, 38, 39};
  for (size_t e = 0; e < sizeof empty / sizeof empty[0]; e++) {
    struct be_buf buf;
    struct be_trace_file *file = NULL;
    be_buf_init(&buf, 1 << 20);
    put(&buf, "t (s),F (N)\n");
    for (int i = 0; i < 80; i++) {
      if (i == empty[e]) put(&buf, ",%d.25\n", i);
      else put(&buf, "%d.5,%d.25\n", i % 40, i);
    }
    assert_int_equal(read_buf(&buf, 1, &file, NULL), BE_OK);
    assert_int_equal(file->count, 2);
    assert_int_equal(file->tests[0].n, 40);
    be_trace_file_free(file);
    be_buf_free(&buf);
  }
}

/* Lanes that start again at odd places, end early and have empty rows. `before`
 * stands before the numbers of the second lane. */
static void write_lanes(struct be_buf *buf, int rows, const char *before)
{
  put(buf, "Time (s),Force (N),Time (s),Force (N)\n");
  for (int i = 0; i < rows; i++) {
    if (i % 501 == 0) {
      put(buf, ",,,\n");
      continue;
    }
    if (i % 600 > 430) put(buf, ",,");
    else if (i % 97 == 3) put(buf, "%d.5,,", i % 200);
    else put(buf, "%d.5,%d.5,", i % 200, i % 83);
    put(buf, "%s%d.5,%d.25\n", before, i % 150, i % 71);
  }
}

/* A tab before a number is for the judge: what is kept may not depend on which
 * rows he sees. */
static void lanes_are_kept_alike_by_rows_and_by_runs(void **state)
{
  (void)state;
  struct be_trace_file *file[2] = {NULL, NULL};
  for (int k = 0; k < 2; k++) {
    struct be_buf buf;
    be_buf_init(&buf, 1 << 24);
    write_lanes(&buf, 6000, k ? "\t" : "");
    assert_int_equal(read_buf(&buf, 1, &file[k], NULL), BE_OK);
    be_buf_free(&buf);
  }
  assert_true(file[0]->count > 20);
  assert_int_equal(file[0]->count, file[1]->count);
  for (size_t k = 0; k < file[0]->count; k++) {
    const struct be_trace *a = &file[0]->tests[k], *b = &file[1]->tests[k];
    assert_int_equal(a->n, b->n);
    assert_int_equal(a->lane, b->lane);
    assert_int_equal(a->skipped_rows, b->skipped_rows);
    assert_memory_equal(a->line, b->line, a->n * sizeof *a->line);
    assert_memory_equal(a->force_N, b->force_N, a->n * sizeof *a->force_N);
    if (k) assert_true(a->line[0] >= a[-1].line[0]);
  }
  be_trace_file_free(file[0]);
  be_trace_file_free(file[1]);
}

/* Bytes that are no UTF-8 may be in sight or not when a second head is read: by
 * how much was read ahead it once changed its coding. */
static void how_far_ahead_was_read_changes_no_coding(void **state)
{
  (void)state;
  for (unsigned threads = 1; threads <= 4; threads++) {
    struct be_buf buf;
    struct be_trace_file *file = NULL;
    be_buf_init(&buf, (size_t)1 << 30);
    put(&buf, "t (s),F (N),x\n");
    for (int i = 0; buf.size < 700000; i++) put(&buf, "%d,%d.5,7\n", i, i % 61);
    put(&buf, "t (s),F (N),Gr\xC3\xB6\xC3\x9F"
              "e\n");
    for (int i = 0; i < 33000; i++) put(&buf, "%d,%d.25,7\n", i, i % 61);
    put(&buf, "# caf\xE9\n");
    for (int i = 33000; i < 34000; i++) put(&buf, "%d,%d.25,7\n", i, i % 61);
    assert_int_equal(read_buf(&buf, threads, &file, NULL), BE_OK);
    assert_int_equal(file->count, 2);
    assert_int_equal(file->tests[1].rows, 34000);
    assert_string_equal(file->tests[1].layout->columns[2].name, "Gr\xC3\xB6\xC3\x9F"
                                                                "e");
    be_trace_file_free(file);
    be_buf_free(&buf);
  }
}

/* The rest of a file whose end was never written is zeros. */
static void zeros_in_or_behind_the_rows_are_an_error(void **state)
{
  (void)state;
  struct be_buf buf;
  struct be_trace_file *file = NULL;
  struct be_err err = {0};
  for (int inside = 0; inside < 2; inside++) {
    be_buf_init(&buf, (size_t)1 << 30);
    put(&buf, "t (s),F (N)\n");
    for (int i = 0; i < 30000; i++) put(&buf, "%d,%d.5\n", i, i % 61);
    if (inside) put(&buf, "30000,5");
    fill(&buf, 5000, '\0');
    assert_int_equal(read_buf(&buf, 2, &file, &err), BE_BAD_INPUT);
    assert_int_equal(err.line, 30002);
    assert_non_null(strstr(err.what, "is 0"));
    be_buf_free(&buf);
  }
}

/* A row too long for the window is an error also where more is in sight. */
static void a_long_row_is_an_error_wherever_it_stands(void **state)
{
  (void)state;
  static const int before[] = {10, 100000};
  for (size_t k = 0; k < 4; k++) {
    struct be_buf buf;
    struct be_trace_file *file = NULL;
    struct be_err err = {0};
    int rows = before[k % 2];
    be_buf_init(&buf, (size_t)1 << 30);
    put(&buf, "t (s),F (N),remark\n");
    for (int i = 0; i < rows; i++) put(&buf, "%d,%d.5,so\n", i, i % 61);
    put(&buf, "%d,3.5,", rows);
    fill(&buf, BE_WINDOW, k < 2 ? 'o' : '"');
    put(&buf, "\n");
    for (int i = rows; i < rows + 10; i++) put(&buf, "%d,%d.5,so\n", i, i % 61);
    assert_int_equal(read_buf(&buf, 2, &file, &err), BE_BAD_INPUT);
    assert_int_equal(err.line, rows + 2);
    assert_non_null(strstr(err.what, "longer than"));
    be_buf_free(&buf);
  }
}

/* Short tests are thinned where there are very many. What is known of all their
 * rows once took 100 KB a test, and more room than the events had for it. */
static void many_thinned_tests_stay_small(void **state)
{
  (void)state;
  struct be_buf buf;
  struct be_trace_file *file = NULL;
  size_t triples = 0, thinned = 0;
  be_buf_init(&buf, (size_t)1 << 30);
  put(&buf, "t (s),F (N)\n");
  for (int test = 0; test < 6000; test++)
    for (int i = 0; i < 100; i++) put(&buf, "%d,%d.5\n", i, (7 * i + test) % 61);
  assert_int_equal(read_buf(&buf, 2, &file, NULL), BE_OK);
  assert_int_equal(file->count, 6000);
  for (size_t k = 0; k < file->count; k++) {
    struct be_trace_events events;
    assert_int_equal(file->tests[k].rows, 100);
    assert_int_equal(be_trace_find(&file->tests[k], &events, NULL), BE_OK);
    thinned += file->tests[k].whole != NULL;
    triples += file->tests[k].whole ? file->tests[k].whole->triples : 0;
  }
  assert_true(thinned > 100 && triples > 0 && triples < 64 * thinned);
  be_trace_file_free(file);
  be_buf_free(&buf);
}

/* Each test may have names of its own: its layout is as large as they are. */
static void layouts_are_no_larger_than_their_columns(void **state)
{
  (void)state;
  struct be_buf buf;
  struct be_trace_file *file = NULL;
  size_t size = 0;
  be_buf_init(&buf, (size_t)1 << 30);
  for (int test = 0; test < 300; test++)
    put(&buf, "t (s),F run %d (N)\n0,1.5\n1,2.5\n2,0.25\n", test / 2);
  assert_int_equal(read_buf(&buf, 1, &file, NULL), BE_OK);
  assert_int_equal(file->count, 300);
  assert_int_equal(file->layouts_count, 150);
  for (size_t k = 0; k < file->layouts_count; k++) {
    char name[96];
    snprintf(name, sizeof name, "F run %zu (N)", k);
    assert_string_equal(file->layouts[k]->columns[1].name, name);
    size += be_block_size(file->layouts[k]);
  }
  assert_true(size < file->layouts_count * 2000);
  be_trace_file_free(file);
  be_buf_free(&buf);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(awkward_inputs_are_survived),
      cmocka_unit_test(a_number_past_the_largest_is_refused),
      cmocka_unit_test(wide_rows_have_a_ceiling),
      cmocka_unit_test(many_small_tests_have_a_ceiling),
      cmocka_unit_test(cut_and_changed_files_are_survived),
      cmocka_unit_test(a_lone_sign_is_no_number),
      cmocka_unit_test(tests_of_a_block_share_their_decimals),
      cmocka_unit_test(an_empty_time_hides_no_restart),
      cmocka_unit_test(lanes_are_kept_alike_by_rows_and_by_runs),
      cmocka_unit_test(how_far_ahead_was_read_changes_no_coding),
      cmocka_unit_test(zeros_in_or_behind_the_rows_are_an_error),
      cmocka_unit_test(a_long_row_is_an_error_wherever_it_stands),
      cmocka_unit_test(layouts_are_no_larger_than_their_columns),
      cmocka_unit_test(many_thinned_tests_stay_small),
      cmocka_unit_test(a_long_line_after_text_is_an_error),
  };
  return be_tests("trace: finds", tests);
}
