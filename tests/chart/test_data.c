/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The data of a figure: clear names with units, a row a mark, intervals and what was told beside
 * them. */
#include "svg_check.h"

struct read {
  struct be_arena *arena;
  struct be_data data;
};

static struct read read_data(const struct be_figure *figure)
{
  struct read read = {.arena = be_arena_create()};
  assert_int_equal(be_figure_data(figure, read.arena, &read.data), BE_OK);
  return read;
}

static const struct be_datum *cell(const struct read *read, size_t row, const char *key)
{
  for (size_t i = 0; i < read->data.columns; i++)
    if (strcmp(read->data.keys[i], key) == 0)
      return &read->data.cells[row * read->data.columns + i];
  fail_msg("no column %s", key);
  return NULL;
}

static bool has_column(const struct read *read, const char *key)
{
  bool found = false;
  for (size_t i = 0; i < read->data.columns; i++) found |= strcmp(read->data.keys[i], key) == 0;
  return found;
}

static void a_row_a_mark_with_what_was_told(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  const double low = 11.25, high = 13.75;
  be_figure_x(figure, "load (kN)", 0, 23.7, false);
  be_figure_columns(figure, "knot", NULL, NULL);
  double y = be_figure_row(figure, "palomar", "n = 3");
  be_figure_key_mark(figure, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON, "event");
  for (int i = 0; i < 3; i++) {
    char code[8];
    snprintf(code, sizeof code, "K%d", i);
    be_figure_means(figure, "event");
    be_figure_tell(figure, "specimen", code);
    be_figure_mark(figure, 12 + 0.7 * i, y, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  }
  be_figure_tell(figure, "specimen", NULL);
  be_figure_tell_number(figure, "n", 3);
  be_figure_means(figure, "mean");
  be_figure_bar(figure, 12.7, y, BE_TONE_INK);
  be_figure_within(figure, true, &low, &high);
  be_figure_means(figure, NULL);
  be_figure_span(figure, low, high, y, false, BE_TONE_INK);
  be_figure_tell_nothing(figure);
  be_figure_rule_x(figure, 21.3, "the line itself");
  be_figure_bracket(figure, 0, 0);
  struct read read = read_data(figure);
  assert_int_equal(read.data.rows, 5);
  assert_string_equal(read.data.keys[0], "what");
  assert_string_equal(read.data.keys[1], "knot");
  assert_string_equal(cell(&read, 1, "what")->text, "event");
  assert_string_equal(cell(&read, 1, "knot")->text, "palomar");
  assert_string_equal(cell(&read, 1, "specimen")->text, "K1");
  assert_near(cell(&read, 1, "load_kN")->number, 12.7, 1e-9);
  assert_true(isnan(cell(&read, 1, "n")->number) && isnan(cell(&read, 1, "load_kN_low")->number));
  assert_string_equal(cell(&read, 3, "what")->text, "mean");
  assert_null(cell(&read, 3, "specimen")->text);
  assert_near(cell(&read, 3, "n")->number, 3, 0);
  assert_near(cell(&read, 3, "load_kN_low")->number, 11.25, 0);
  assert_near(cell(&read, 3, "load_kN_high")->number, 13.75, 0);
  assert_string_equal(cell(&read, 4, "what")->text, "the line itself");
  assert_true(isnan(cell(&read, 4, "n")->number));
  be_arena_free(read.arena);
  be_figure_free(figure);
}

static void lines_have_a_row_a_point(void **state)
{
  (void)state;
  double x[] = {0.3, 0.7}, y[] = {13, 47}, low[] = {11, 43}, high[] = {17, 53};
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  be_figure_y(figure, "efficiency (% of the line)", 0, 110);
  be_figure_means(figure, "palomar");
  be_figure_aside(figure, 17);
  be_figure_line(figure, x, y, 2, BE_TONE_NYLON, BE_STROKE_TWIN);
  be_figure_within(figure, false, low, high);
  struct read read = read_data(figure);
  assert_int_equal(read.data.rows, 2);
  assert_near(cell(&read, 1, "x")->number, 0.7, 0); /* not moved aside */
  assert_near(cell(&read, 1, "efficiency_percent")->number, 47, 0);
  assert_near(cell(&read, 0, "efficiency_percent_low")->number, 11, 0);
  assert_near(cell(&read, 1, "efficiency_percent_high")->number, 53, 0);
  be_arena_free(read.arena);
  be_figure_free(figure);
}

/* A share that is drawn where others end, and a row that two columns name. */
static void what_is_told_stands_for_rows_and_axes(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  const double low = 3, high = 61;
  be_figure_x(figure, "share of the pulls (%)", 0, 100, false);
  be_figure_columns(figure, "knot", "share", NULL);
  double y = be_figure_row(figure, "palomar, nylon 6 lb", "n = 7");
  be_figure_tell(figure, "knot", "palomar");
  be_figure_tell_number(figure, "share_percent", 28.5);
  be_figure_box(figure, 71.5, y - 0.38, 100, y + 0.38, BE_PATTERN_DOTS, BE_TONE_INK, "2");
  be_figure_within(figure, true, &low, &high);
  struct read read = read_data(figure);
  assert_int_equal(read.data.rows, 1);
  assert_string_equal(cell(&read, 0, "knot")->text, "palomar");
  assert_near(cell(&read, 0, "share_percent")->number, 28.5, 0);
  assert_near(cell(&read, 0, "share_percent_high")->number, 61, 0);
  assert_false(has_column(&read, "share_of_the_pulls_percent"));
  be_arena_free(read.arena);
  be_figure_free(figure);
}

static void axes_are_named_with_their_units(void **state)
{
  (void)state;
  static const struct {
    const char *label, *name, *key;
  } cases[] = {{"load (N)", NULL, "load_N"},
               {"rank (1 = strongest)", NULL, "rank"},
               {"time from the peak (s)", NULL, "time_from_the_peak_s"},
               {"measured diameter (mm)", "diameter", "diameter_mm"},
               {"difference (pts of the line)", NULL, "difference_pts"},
               {"turns", NULL, "turns"},
               {"", NULL, "x"},
               {"", "tied", "tied"}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
    be_figure_x(figure, cases[i].label, 0, 9, false);
    be_figure_columns(figure, NULL, cases[i].name, NULL);
    be_figure_mark(figure, 3, 0.5, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
    struct read read = read_data(figure);
    assert_near(cell(&read, 0, cases[i].key)->number, 3, 0);
    be_arena_free(read.arena);
    be_figure_free(figure);
  }
}

static void a_null_figure_has_none(void **state)
{
  (void)state;
  struct be_data data;
  struct be_arena *arena = be_arena_create();
  const double end = 3;
  be_figure_tell(NULL, "knot", "palomar");
  be_figure_tell_number(NULL, "n", 3);
  be_figure_tell_nothing(NULL);
  be_figure_within(NULL, true, &end, &end);
  be_figure_columns(NULL, "knot", NULL, NULL);
  assert_int_equal(be_figure_data(NULL, arena, &data), BE_NO_MEMORY);
  be_arena_free(arena);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_row_a_mark_with_what_was_told),
      cmocka_unit_test(lines_have_a_row_a_point),
      cmocka_unit_test(what_is_told_stands_for_rows_and_axes),
      cmocka_unit_test(axes_are_named_with_their_units),
      cmocka_unit_test(a_null_figure_has_none),
  };
  return be_tests("chart: data", tests);
}
