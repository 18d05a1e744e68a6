/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "fault/failing.h"
#include "knot/points/points.h"
#include "test.h"

static struct be_lines lines_of(const char *text)
{
  struct be_lines lines;
  struct be_err err = {0};
  enum be_status status = be_points_read(text, strlen(text), arena, &lines, &err);
  if (status != BE_OK) print_error("%s: %s\n", text, err.what);
  assert_int_equal(status, BE_OK);
  return lines;
}

static void separators_words_and_remarks(void **state)
{
  (void)state;
  struct be_lines lines = lines_of("# a remark\n\n1 2\t-3.5\n4,5,6 # another\r\n  7;8 ; 9e-1\n\n\n"
                                   "line B closed diameter 0.75\n0 0 0\n1 0 0\n0 .5 0\n"
                                   "Line\n+1 1 1\n# between\n2 2 2\nclosed\n3 1 4\n");
  assert_int_equal(lines.count, 3);
  assert_int_equal(lines.line[0].count, 3);
  assert_false(lines.line[0].closed);
  assert_near(lines.line[0].points[0].z, -3.5, 0);
  assert_near(lines.line[0].points[1].y, 5, 0);
  assert_near(lines.line[0].points[2].z, 0.9, 0);
  assert_near(lines.diameter[0], 1, 0);
  assert_int_equal(lines.line[1].count, 3);
  assert_true(lines.line[1].closed);
  assert_near(lines.diameter[1], 0.75, 0);
  assert_int_equal(lines.line[2].count, 3);
  assert_true(lines.line[2].closed);
}

static void refused(const char *text, enum be_status wanted, size_t row, size_t column,
                    const char *words)
{
  struct be_lines lines;
  struct be_err err = {0};
  assert_int_equal(be_points_read(text, strlen(text), arena, &lines, &err), wanted);
  if (!strstr(err.what, words) || err.line != row || err.column != column)
    print_error("%s: %zu:%zu: %s\n", text, err.line, err.column, err.what);
  assert_non_null(strstr(err.what, words));
  assert_int_equal(err.line, row);
  assert_int_equal(err.column, column);
}

static void faults_are_told_with_their_place(void **state)
{
  (void)state;
  refused("", BE_BAD_INPUT, 0, 0, "no point");
  refused("# only this\n", BE_BAD_INPUT, 0, 0, "no point");
  refused("1 2 3\n1 2 x\n", BE_BAD_INPUT, 2, 5, "no number");
  refused("1 2 3\n4 5\n", BE_BAD_INPUT, 2, 4, "missing");
  refused("1 2 3\n4 5 6 7.5\n", BE_BAD_INPUT, 2, 7, "one more");
  refused("1 2 inf\n", BE_BAD_INPUT, 1, 5, "no number");
  refused("1 2 1e999\n", BE_BAD_INPUT, 1, 5, "no number");
  refused("1 2 0x7\n", BE_BAD_INPUT, 1, 5, "no number");
  refused("line A shut\n", BE_BAD_INPUT, 1, 8, "neither");
  refused("diameter -0.5\n", BE_BAD_INPUT, 1, 10, "above 0");
  refused("diameter\n", BE_BAD_INPUT, 1, 9, "above 0");
  refused("\n1 2 3\n\n4 5 6\n7 8 9\n", BE_BAD_INPUT, 2, 1, "at least 2 points");
  refused("line A\nclosed\n1 2 3\n4 5 6\n", BE_BAD_INPUT, 1, 1, "at least 3 points");
  refused("1 2 3\n1 2 3\n", BE_BAD_INPUT, 1, 1, "the same");
  refused("line\n1 2 3\n4 5 6\nline\nline\n line\n  line\n", BE_TOO_LARGE, 7, 3, "4 lines");
}

static void what_is_written_reads_the_same(void **state)
{
  (void)state;
  struct be_point odd[3] = {{1 / 3.0, -2e-17, 1e300}, {0.1, 0.7, -0.3}, {5e-324, 17, 2.5}};
  struct be_point even[2] = {{0, 1, 2}, {-3.25, 7, 1e-9}};
  struct be_lines lines = {
      .count = 2, .line = {{odd, 3, true}, {even, 2, false}}, .diameter = {1, 2 / 3.0}};
  struct be_buf text;
  be_buf_init(&text, 10000);
  be_points_write(&lines, &text);
  assert_int_equal(be_buf_status(&text, NULL), BE_OK);
  struct be_lines read = lines_of(text.data);
  be_buf_free(&text);
  assert_int_equal(read.count, 2);
  for (size_t l = 0; l < 2; l++) {
    assert_int_equal(read.line[l].count, lines.line[l].count);
    assert_int_equal(read.line[l].closed, lines.line[l].closed);
    assert_near(read.diameter[l], lines.diameter[l], 0);
    assert_memory_equal(read.line[l].points, lines.line[l].points,
                        lines.line[l].count * sizeof(struct be_point));
  }
}

static void many_points_and_no_memory(void **state)
{
  (void)state;
  struct be_buf text;
  struct be_failing failing;
  struct be_lines lines;
  be_buf_init(&text, 10000000);
  for (int i = 0; i < 20011; i++) be_buf_format(&text, "%d %.3f 0.25\n", i, i / 7.0);
  lines = lines_of(text.data);
  assert_int_equal(lines.line[0].count, 20011);
  assert_near(lines.line[0].points[20010].x, 20010, 0);
  struct be_arena *own = be_arena_create();
  assert_non_null(own);
  /* What stands in the arena was taken before, so only reading is inside. */
  be_failing_start(&failing, 1, true);
  enum be_status status = be_points_read(text.data, text.size, own, &lines, NULL);
  be_failing_stop();
  assert_int_equal(status, BE_NO_MEMORY);
  be_arena_free(own);
  be_buf_free(&text);
}

int main(void)
{
#define drawn(test) cmocka_unit_test_setup_teardown(test, start, end)
  const struct CMUnitTest tests[] = {
      drawn(separators_words_and_remarks),
      drawn(faults_are_told_with_their_place),
      drawn(what_is_written_reads_the_same),
      drawn(many_points_and_no_memory),
  };
  return be_tests("knot: points", tests);
}
