/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Nothing is cut and nothing covers another thing. Works on the numbers in the
 * SVG, as a reader's eye does. */
#include "svg_check.h"

/* The number after `name` at or after *at, which moves on. */
static double number_after(const char **at, const char *name)
{
  const char *found = strstr(*at, name);
  assert_non_null(found);
  *at = found + strlen(name);
  return strtod(*at, NULL);
}

static void every_pull_is_seen(void **state)
{
  (void)state;
  enum { PULLS = 40 };
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  double row = be_figure_row(figure, "r", "n = 40");
  be_figure_x(figure, NULL, 0, 100, false);
  for (int i = 0; i < PULLS; i++)
    be_figure_mark(figure, 61.5 + i % 3 * 0.25, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  const char *svg = drawn(figure, false, false), *at = svg;
  double x[PULLS], y[PULLS];
  for (int i = 0; i < PULLS; i++) {
    x[i] = number_after(&at, "cx=\"");
    y[i] = number_after(&at, "cy=\"");
    for (int k = 0; k < i; k++) assert_true(fabs(x[i] - x[k]) + fabs(y[i] - y[k]) > 0.9);
  }
  char *again = kept(svg);
  assert_string_equal(drawn(figure, false, false), again);
  free(again);
  be_figure_free(figure);
}

static void a_lone_mark_is_not_moved(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  double row = be_figure_row(figure, "r", NULL);
  be_figure_x(figure, NULL, 0, 100, false);
  for (int i = 0; i < 5; i++)
    be_figure_mark(figure, 7 + 19 * i, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  const char *at = drawn(figure, false, false);
  double first = number_after(&at, "cy=\"");
  for (int i = 1; i < 5; i++) assert_near(number_after(&at, "cy=\""), first, 0);
  be_figure_free(figure);
}

static void summaries_stand_below_the_marks(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  double row = be_figure_row(figure, "r", NULL);
  for (int i = 0; i < 9; i++)
    be_figure_mark(figure, 0.47, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  be_figure_span(figure, 0.31, 0.59, row, false, BE_TONE_ACT);
  const char *svg = drawn(figure, false, false), *at = svg;
  double lowest = 0;
  for (int i = 0; i < 9; i++) lowest = fmax(lowest, number_after(&at, "cy=\""));
  at = strstr(at, "<path d=\"M");
  number_after(&at, "M");
  assert_true(number_after(&at, " ") > lowest + 5);
  be_figure_free(figure);
}

static void long_names_widen_the_figure(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  char name[200];
  memset(name, 'm', 60);
  name[60] = '\0';
  be_figure_row(figure, name, "n = 3");
  const char *svg = drawn(figure, false, false), *at = svg;
  assert_non_null(strstr(svg, name));
  /* 60 wide letters of 16 px take at least 0.8 em each, and the plot its share. */
  assert_true(number_after(&at, "viewBox=\"0 0 ") > 60 * 16 * 0.8 + 260);
  assert_well_formed(svg);
  /* A narrow figure breaks it instead and loses no letter. */
  svg = drawn(figure, false, true);
  at = svg;
  assert_near(number_after(&at, "viewBox=\"0 0 "), 360, 0);
  size_t letters = 0;
  while ((at = strstr(at, "class=\"fill-ink"))) {
    for (at = strchr(at, '>') + 1; *at != '<'; at++) letters += *at == 'm';
  }
  assert_int_equal(letters, 60);
  be_figure_free(figure);
}

static void titles_wrap(void **state)
{
  (void)state;
  const char *title =
      "Holds, then slips on braid above twenty pounds of load, in every lot but one";
  struct be_figure *figure = be_figure_create(title, NULL, 401, 200);
  const char *svg = drawn(figure, true, false);
  size_t lines = count_of(svg, "font-weight=\"600\"");
  assert_in_range(lines, 2, 4);
  char joined[200] = "";
  for (const char *at = svg; (at = strstr(at, "font-weight=\"600\""));) {
    at = strchr(at, '>') + 1;
    if (*joined) strcat(joined, " ");
    strncat(joined, at, strcspn(at, "<"));
  }
  assert_string_equal(joined, title);
  be_figure_free(figure);
}

static void brackets_get_lanes(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  for (int i = 0; i < 7; i++) be_figure_row(figure, "row", NULL);
  be_figure_bracket(figure, 0, 3);
  be_figure_bracket(figure, 2, 5);
  be_figure_bracket(figure, 4, 6); /* shares the first lane */
  const char *at = strstr(drawn(figure, false, false), "h7V") - 40;
  double x[3];
  for (int i = 0; i < 3; i++) {
    at = strstr(at, "h7V");
    const char *start = at;
    while (*start != 'M') start--;
    x[i] = strtod(start + 1, NULL);
    at++;
  }
  assert_near(x[1] - x[0], 14, 0);
  assert_near(x[2], x[0], 0);
  assert_true(x[1] + 7 < 613);
  be_figure_free(figure);
}

/* A note near the y axis leaves the tick labels alone. */
static void notes_leave_the_ticks_alone(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  be_figure_y(figure, "load (lb)", 0, 20);
  be_figure_note(figure, 0.02, 10.3, "first slip, 10.3 lb", BE_ANCHOR_END, BE_TONE_STOP);
  const char *svg = drawn(figure, false, false), *tick = strstr(svg, ">10<"), *at = svg;
  assert_non_null(tick);
  while (strncmp(tick, "<text x=", 8) != 0) tick--;
  at = strstr(at, "fill-opacity");
  assert_non_null(at);
  while (strncmp(at, "<rect x=", 8) != 0) at--;
  assert_true(number_after(&at, "x=\"") >= number_after(&tick, "x=\"")); /* a tick ends there */
  be_figure_free(figure);
}

static void notes_make_room(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  for (int i = 0; i < 4; i++)
    be_figure_note(figure, 0.93, 0.61, "peak, 23.7 lb", BE_ANCHOR_START, BE_TONE_STOP);
  be_figure_note(figure, 0.01, 0.2, "a note that would begin outside", BE_ANCHOR_END, BE_TONE_STOP);
  const char *at = drawn(figure, false, false);
  double y[4];
  for (int i = 0; i < 4; i++) {
    at = strstr(at, ">peak, 23.7 lb<") + 1;
    const char *start = at;
    while (strncmp(start, "<text x=", 8) != 0) start--;
    double x = number_after(&start, "x=\"");
    assert_true(x + 13 * 14 * 0.4 < 613);
    y[i] = number_after(&start, " y=\"");
    for (int k = 0; k < i; k++) assert_true(fabs(y[i] - y[k]) >= 16);
  }
  be_figure_free(figure);
}

/* Ticks at 1, 2 or 5 times a power of ten; whole numbers from the low end. */
static void ticks_are_round(void **state)
{
  (void)state;
  static const struct {
    double low, high;
    bool integers;
    const char *some[3], *none;
  } cases[] = {
      {0, 110, false, {">0<", ">20<", ">100<"}, ">30<"},
      {-0.3, 0.3, false, {">-0.2<", ">0.0<", ">0.2<"}, ">-0.0<"},
      {0.00037, 0.00091, false, {">0.0004<", ">0.0005<", ">0.0009<"}, ">0.00037<"},
      {1, 7, true, {">1<", ">2<", ">7<"}, ">1.5<"},
      {3, 3, false, {">2.0<", ">3.0<", ">4.0<"}, ">5.0<"},
      {0, 4e12, false, {">0<", ">1e+12<", ">4e+12<"}, ">5e+12<"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
    be_figure_row(figure, "r", NULL);
    be_figure_x(figure, "x", cases[i].low, cases[i].high, cases[i].integers);
    const char *svg = drawn(figure, false, false);
    for (int k = 0; k < 3; k++) assert_non_null(strstr(svg, cases[i].some[k]));
    assert_null(strstr(svg, cases[i].none));
    be_figure_free(figure);
  }
}

static void axes_grow_to_hold_what_is_drawn(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  be_figure_x(figure, NULL, 0, 10, false);
  be_figure_y(figure, "load (lb)", 0, 10);
  be_figure_mark(figure, 37, 53, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  be_figure_rule_y(figure, -20, "below");
  const char *svg = drawn(figure, false, false);
  assert_non_null(strstr(svg, ">30<"));
  assert_non_null(strstr(svg, ">40<"));
  assert_non_null(strstr(svg, ">-20<"));
  assert_non_null(strstr(svg, ">load (lb)<"));
  be_figure_free(figure);
}

static void rule_names_share_the_strip(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  be_figure_rule_x(figure, 0.5, "the line itself");
  be_figure_rule_x(figure, 0.52, "and its neighbour");
  const char *svg = drawn(figure, false, false);
  double y[2];
  static const char *const names[] = {">the line itself<", ">and its neighbour<"};
  for (int i = 0; i < 2; i++) {
    const char *start = strstr(svg, names[i]);
    assert_non_null(start);
    while (strncmp(start, "<text x=", 8) != 0) start--;
    y[i] = number_after(&start, " y=\"");
  }
  assert_near(fabs(y[0] - y[1]), 19, 0);
  be_figure_free(figure);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_pull_is_seen),
      cmocka_unit_test(a_lone_mark_is_not_moved),
      cmocka_unit_test(summaries_stand_below_the_marks),
      cmocka_unit_test(long_names_widen_the_figure),
      cmocka_unit_test(titles_wrap),
      cmocka_unit_test(brackets_get_lanes),
      cmocka_unit_test(notes_leave_the_ticks_alone),
      cmocka_unit_test(notes_make_room),
      cmocka_unit_test(ticks_are_round),
      cmocka_unit_test(axes_grow_to_hold_what_is_drawn),
      cmocka_unit_test(rule_names_share_the_strip),
  };
  return be_tests("chart: places", tests);
}
