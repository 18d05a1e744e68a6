/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "svg_check.h"

static void a_figure_says_what_it_shows(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("Holds & <slips>", "13 \"pulls\"", 613, 0);
  be_figure_twin(figure, "%d pulls, two at 47%%", 13);
  be_figure_x(figure, "load (lb)", 0, 23.7, false);
  be_figure_mark(figure, 17.3, be_figure_row(figure, "D'Arc loop", "n = 13"), BE_SHAPE_ROUND,
                 BE_FILL_SOLID, BE_TONE_NYLON);
  assert_string_equal(be_figure_title(figure), "Holds & <slips>");
  assert_string_equal(be_figure_subtitle(figure), "13 \"pulls\"");
  assert_string_equal(be_figure_words(figure), "13 pulls, two at 47%");
  const char *svg = drawn(figure, true, false);
  assert_well_formed(svg);
  assert_non_null(strstr(svg, "role=\"img\" aria-labelledby=\"figure-7-title\" "
                              "aria-describedby=\"figure-7-words\""));
  assert_non_null(strstr(svg, "<title id=\"figure-7-title\">Holds &amp; &lt;slips&gt;</title>"));
  assert_non_null(strstr(svg, "<desc id=\"figure-7-words\">13 pulls, two at 47%</desc>"));
  assert_non_null(strstr(svg, ">13 &quot;pulls&quot;</text>"));
  assert_non_null(strstr(svg, ">D&#39;Arc loop</text>"));
  assert_non_null(strstr(svg, ">n = 13</text>"));
  assert_non_null(strstr(svg, "viewBox=\"0 0 613 "));
  assert_int_equal(count_of(svg, "<style>"), 1);
  assert_int_equal(count_of(svg, "height=\"100%\" class=\"fill-paper\""), 1);
  be_figure_free(figure);
}

static void inline_figures_leave_style_and_title_to_the_page(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("Odd title", NULL, 613, 299);
  const char *svg = drawn(figure, false, false);
  assert_well_formed(svg);
  assert_null(strstr(svg, "<style>"));
  assert_null(strstr(svg, ">Odd title</text>"));
  assert_non_null(strstr(svg, "class=\"figure wide\""));
  assert_non_null(strstr(svg, "width=\"613\" height=\"299\""));
  assert_non_null(strstr(drawn(figure, false, true), "class=\"figure narrow\""));
  assert_string_equal(be_figure_subtitle(figure), "");
  be_figure_free(figure);
}

static void each_mark_has_its_form(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  double row = be_figure_row(figure, "r", NULL);
  be_figure_x(figure, NULL, 0, 90, false);
  be_figure_mark(figure, 13, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  be_figure_mark(figure, 37, row, BE_SHAPE_SQUARE, BE_FILL_OPEN, BE_TONE_BRAID);
  be_figure_mark(figure, 71, row, BE_SHAPE_TRIANGLE, BE_FILL_CROSS, BE_TONE_FLUOROCARBON);
  const char *svg = drawn(figure, false, false);
  assert_well_formed(svg);
  assert_int_equal(count_of(svg, "<circle"), 1);
  assert_int_equal(count_of(svg, "<rect"), 1);
  assert_int_equal(count_of(svg, "fill-nylon stroke-paper"), 1);
  assert_int_equal(count_of(svg, "fill-paper stroke-braid"), 1);
  assert_int_equal(count_of(svg, "m-3.5 -3.5l3.5 3.5l-3.5 3.5\" class=\"stroke-braid\""), 1);
  assert_int_equal(count_of(svg, "l11 11m0 -11l-11 11\" class=\"stroke-fluorocarbon\""), 1);
  be_figure_free(figure);

  figure = be_figure_create("t", NULL, 613, 299); /* without rows the arrow points up */
  be_figure_mark(figure, 0.3, 0.7, BE_SHAPE_ROUND, BE_FILL_OPEN, BE_TONE_INK);
  assert_int_equal(count_of(drawn(figure, false, false), "m-3.5 3.5l3.5 -3.5l3.5 3.5"), 1);
  be_figure_free(figure);
}

static void strokes_differ_without_tone(void **state)
{
  (void)state;
  const double x[] = {0.1, 0.5, 0.93}, y[] = {0.3, 0.7, 0.2};
  static const size_t paths[] = {1, 1, 2};
  for (int stroke = BE_STROKE_SOLID; stroke <= BE_STROKE_TWIN; stroke++) {
    struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
    be_figure_line(figure, x, y, 3, BE_TONE_STOP, (enum be_stroke)stroke);
    const char *svg = drawn(figure, false, false);
    assert_int_equal(count_of(svg, "stroke-linejoin"), paths[stroke]);
    assert_int_equal(count_of(svg, "stroke-dasharray"), stroke == BE_STROKE_DASH);
    assert_int_equal(count_of(svg, "stroke-paper"), stroke == BE_STROKE_TWIN);
    be_figure_free(figure);
  }
}

static size_t points_of(const char *svg)
{
  const char *end = strstr(svg, "\" class=\"stroke-nylon\""), *start = end;
  while (strncmp(start, "d=\"", 3) != 0) start--;
  size_t points = 0;
  for (; start < end; start++) points += *start == 'M' || *start == 'L';
  return points;
}

/* How many points of the nylon line are written with this y. */
static size_t points_at(const char *svg, const char *y)
{
  const char *end = strstr(svg, "\" class=\"stroke-nylon\""), *start = end;
  while (strncmp(start, "d=\"", 3) != 0) start--;
  size_t points = 0;
  for (; start < end; start++)
    points += strncmp(start, y, strlen(y)) == 0 && strchr("L\"", start[strlen(y)]) != NULL;
  return points;
}

static void a_long_line_keeps_its_extremes(void **state)
{
  (void)state;
  enum { N = 100003 };
  static const int peaks[] = {7001, 23456, 41234, 61547, 87654};
  static const int dips[] = {1234, 34567, 55555, 78901};
  double *x = malloc(N * sizeof *x), *y = malloc(N * sizeof *y);
  for (int i = 0; i < N; i++) {
    x[i] = i;
    y[i] = 40 + (i * 7919 % 13);
  }
  for (size_t i = 0; i < 5; i++) y[peaks[i]] = 97; /* one sample wide */
  for (size_t i = 0; i < 4; i++) y[dips[i]] = 0;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  be_figure_x(figure, NULL, 0, N, false);
  be_figure_y(figure, NULL, 0, 97);
  be_figure_line(figure, x, y, N, BE_TONE_NYLON, BE_STROKE_SOLID);
  const char *svg = drawn(figure, false, false);
  assert_in_range(points_of(svg), 600, 4 * 613);
  /* The plot of this figure reaches from 12 px to 28 px above its 299 px. */
  assert_int_equal(points_at(svg, " 12.0"), 5);
  assert_int_equal(points_at(svg, " 271.0"), 4);
  be_figure_free(figure);
  free(x);
  free(y);
}

static void a_gap_breaks_a_line(void **state)
{
  (void)state;
  const double x[] = {0, 0.2, 0.4, 0.6, 0.8}, y[] = {0.1, 0.3, NAN, 0.2, INFINITY};
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  be_figure_line(figure, x, y, 5, BE_TONE_NYLON, BE_STROKE_SOLID);
  const char *svg = drawn(figure, false, false);
  assert_well_formed(svg);
  assert_int_equal(points_of(svg), 3);
  be_figure_free(figure);
}

static void what_is_no_number_is_not_drawn(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  double row = be_figure_row(figure, "r", "n = 0");
  char *before = kept(drawn(figure, false, false));
  be_figure_mark(figure, NAN, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  be_figure_bar(figure, INFINITY, row, BE_TONE_INK);
  be_figure_span(figure, NAN, 0.7, row, false, BE_TONE_INK);
  be_figure_rule_x(figure, NAN, "rule");
  be_figure_rule_y(figure, NAN, "rule");
  be_figure_bracket(figure, NAN, 1);
  be_figure_note(figure, NAN, row, "note", BE_ANCHOR_END, BE_TONE_INK);
  be_figure_line(figure, NULL, NULL, 0, BE_TONE_INK, BE_STROKE_SOLID);
  assert_string_equal(drawn(figure, false, false), before);
  /* An infinite end reaches the end of the axis. */
  be_figure_span(figure, 0.31, INFINITY, row, false, BE_TONE_ACT);
  assert_well_formed(drawn(figure, false, false));
  assert_int_equal(count_of(drawn(figure, false, false), "class=\"stroke-act\""), 1);
  free(before);
  be_figure_free(figure);
}

static void a_null_figure_takes_nothing(void **state)
{
  (void)state;
  be_figure_twin(NULL, "x");
  be_figure_x(NULL, "x", 0, 1, false);
  be_figure_y(NULL, "y", 0, 1);
  assert_true(be_figure_row(NULL, "r", NULL) == 0);
  be_figure_mark(NULL, 0, 0, BE_SHAPE_ROUND, BE_FILL_OPEN, BE_TONE_INK);
  be_figure_line(NULL, NULL, NULL, 3, BE_TONE_INK, BE_STROKE_TWIN);
  be_figure_bar(NULL, 0, 0, BE_TONE_INK);
  be_figure_span(NULL, 0, 1, 0, true, BE_TONE_INK);
  be_figure_rule_x(NULL, 0, "r");
  be_figure_rule_y(NULL, 0, "r");
  be_figure_bracket(NULL, 0, 1);
  be_figure_note(NULL, 0, 0, "n", BE_ANCHOR_END, BE_TONE_INK);
  be_figure_free(NULL);
  assert_string_equal(be_figure_title(NULL), "");
  assert_string_equal(be_figure_subtitle(NULL), "");
  assert_string_equal(be_figure_words(NULL), "");
  struct be_buf svg;
  be_buf_init(&svg, 999);
  struct be_err err;
  assert_int_equal(be_figure_status(NULL), BE_NO_MEMORY);
  assert_int_equal(be_figure_svg(NULL, BE_FRAME_SCREEN, BE_DRAWN_FILE, 1, &svg, &err),
                   BE_NO_MEMORY);
  assert_int_equal(err.status, BE_NO_MEMORY);
}

static void ceilings_hold(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("Much", NULL, 613, 299);
  struct be_buf svg;
  struct be_err err;
  be_buf_init(&svg, 1234);
  assert_int_equal(be_figure_svg(figure, BE_FRAME_SCREEN, BE_DRAWN_FILE, 1, &svg, &err),
                   BE_TOO_LARGE);
  assert_int_equal(err.status, BE_TOO_LARGE);
  be_buf_free(&svg);
  const double one = 0.37;
  be_figure_line(figure, &one, &one, ((size_t)1 << 24) + 1, BE_TONE_INK, BE_STROKE_SOLID);
  be_buf_init(&svg, 1 << 20);
  assert_int_equal(be_figure_status(figure), BE_TOO_LARGE);
  assert_int_equal(be_figure_svg(figure, BE_FRAME_SCREEN, BE_DRAWN_FILE, 1, &svg, &err),
                   BE_TOO_LARGE);
  assert_non_null(strstr(err.what, "\"Much\""));
  be_buf_free(&svg);
  be_figure_free(figure);
}

static void markup_is_escaped(void **state)
{
  (void)state;
  static const struct {
    const char *text, *markup;
  } cases[] = {
      {"", ""},
      {"plain \xC2\xBD\xC5\xBD", "plain \xC2\xBD\xC5\xBD"},
      {"a<b>&\"c\"'d'", "a&lt;b&gt;&amp;&quot;c&quot;&#39;d&#39;"},
      {"&amp;", "&amp;amp;"},
      {"tab\tline\n", "tab\tline\n"},
      {"bell\a esc\x1B del\x7F", "bell\xEF\xBF\xBD esc\xEF\xBF\xBD del\xEF\xBF\xBD"},
      {"\xC2\x85", "\xEF\xBF\xBD"},     /* a control character of two bytes */
      {"\xEF\xBF\xBE", "\xEF\xBF\xBD"}, /* U+FFFE is no character */
      {"\xFFx\xC3", "\xEF\xBF\xBDx\xEF\xBF\xBD"},
      {"\xED\xA0\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"}, /* half a surrogate pair */
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_buf markup;
    be_buf_init(&markup, 999);
    be_markup_text(&markup, cases[i].text);
    assert_int_equal(be_buf_status(&markup, NULL), BE_OK);
    assert_string_equal(markup.data, cases[i].markup);
    be_buf_free(&markup);
  }
}

static void a_line_does_not_end_at_an_equals_sign(void **state)
{
  (void)state;
  const char *const text = "half blood, n = 4, palomar [81, 94], n = 12";
  for (double width = 120; width < 400; width += 3.7) {
    size_t skip;
    for (const char *at = text; *at; at += skip) {
      size_t length = be_text_line(at, 13, width, &skip);
      assert_true(length > 0 && at[0] != '=' && at[length - 1] != '=');
      if (length > 1 && at[length]) assert_memory_not_equal(at + length - 2, " n", 2);
    }
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_line_does_not_end_at_an_equals_sign),
      cmocka_unit_test(a_figure_says_what_it_shows),
      cmocka_unit_test(inline_figures_leave_style_and_title_to_the_page),
      cmocka_unit_test(each_mark_has_its_form),
      cmocka_unit_test(strokes_differ_without_tone),
      cmocka_unit_test(a_long_line_keeps_its_extremes),
      cmocka_unit_test(a_gap_breaks_a_line),
      cmocka_unit_test(what_is_no_number_is_not_drawn),
      cmocka_unit_test(a_null_figure_takes_nothing),
      cmocka_unit_test(ceilings_hold),
      cmocka_unit_test(markup_is_escaped),
  };
  return be_tests("chart: figures", tests);
}
