/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names as people may type them: nothing leaves the figure, in any frame. Widths are those of
 * be_text_width, which are rather too much than too little. */
#include "svg_check.h"

enum { LETTERS = 120, KINDS = 7, ROWS = 5 };

/* 120 wide letters without a space, Chinese, Hebrew, letters with five accents each, faces, markup,
 * and words. */
static void make_name(char *name, size_t size, int kind)
{
  static const char *const parts[KINDS] = {"W",
                                           "\xE7\xB5\x90",
                                           "\xD7\xA7\xD7\xA9\xD7\xA8 ",
                                           "e\xCC\x81\xCC\x82\xCC\x83\xCC\x84\xCC\x88",
                                           "\xF0\x9F\xAA\xA2",
                                           "<&>\"",
                                           "well tied "};
  size_t used = 0;
  for (int i = 0; i < LETTERS && used + 24 < size; i++)
    used += (size_t)snprintf(name + used, size - used, "%s", parts[kind]);
}

static double number_of(const char *at, const char *name)
{
  const char *found = strstr(at, name);
  assert_non_null(found);
  return strtod(found + strlen(name), NULL);
}

/* Of every text both ends, and its line, between the margins of a share of the figure. */
static void check_inside(const struct be_figure *figure, enum be_frame frame, double margin)
{
  static char svg[1 << 22];
  struct be_buf out;
  be_buf_init(&out, sizeof svg - 1);
  assert_int_equal(be_figure_svg(figure, frame, BE_DRAWN_LIGHT, 7, &out, NULL), BE_OK);
  memcpy(svg, out.data, out.size + 1);
  be_buf_free(&out);
  assert_well_formed(svg);
  double width = 0, height = 0;
  assert_int_equal(sscanf(strstr(svg, "viewBox"), "viewBox=\"0 0 %lf %lf", &width, &height), 2);
  double down = strstr(svg, "translate(0 ") ? number_of(svg, "translate(0 ") : 0;
  for (const char *at = svg; (at = strstr(at, "<text x=")); at++) {
    char text[2000], tag[300];
    snprintf(tag, sizeof tag, "%.*s", (int)strcspn(at, ">"), at);
    svg_text_at(at, text, sizeof text);
    double size = number_of(at, "font-size=\""), x = number_of(at, "x=\"");
    double y = number_of(at, " y=\"") + down;
    double own = be_text_width(text, size) * (strstr(tag, "font-weight") ? 1.12 : 1);
    double left = strstr(tag, "\"end\"") ? x - own : strstr(tag, "\"middle\"") ? x - own / 2 : x;
    if (left < margin * width - 1 || left + own > (1 - margin) * width + 1 ||
        y - 0.75 * size < margin * height - 1 || y > (1 - margin) * height + 1)
      fail_msg("frame %d, %.0f x %.0f: %.1f to %.1f, line %.1f: %.60s", (int)frame, width, height,
               left, left + own, y, text);
  }
}

static void check_parts(const struct be_figure *figure)
{
  static const enum be_frame frames[] = {BE_FRAME_SCREEN, BE_FRAME_COLUMN, BE_FRAME_WIDE,
                                         BE_FRAME_TALL};
  for (size_t f = 0; f < 4; f++) {
    struct be_figure **parts;
    size_t count;
    assert_int_equal(be_figure_parts(figure, frames[f], &parts, &count, NULL), BE_OK);
    for (size_t i = 0; i < count; i++)
      check_inside(parts[i], frames[f], frames[f] >= BE_FRAME_WIDE ? 0.05 : 0);
    be_figure_parts_free(parts, count);
  }
}

static void names_of_rows(void **state)
{
  (void)state;
  for (int kind = 0; kind < KINDS; kind++) {
    char name[4000];
    make_name(name, sizeof name, kind);
    struct be_figure *figure = be_figure_create(name, name, 760, 0);
    be_figure_x(figure, "load (lb)", 0, 17, false);
    be_figure_key_mark(figure, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON, "event");
    be_figure_rule_x(figure, 15, "the line itself");
    for (int row = 0; row < ROWS; row++) {
      double y = be_figure_row(figure, name, "n = 7 + 3 at least");
      be_figure_mark(figure, 3.7 * row, y, BE_SHAPE_ROUND, BE_FILL_OPEN, BE_TONE_NYLON);
      be_figure_bar(figure, 3.3 * row, y, BE_TONE_INK);
    }
    be_figure_bracket(figure, 0, 3);
    check_parts(figure);
    be_figure_free(figure);
  }
}

static void names_of_lines_and_sides(void **state)
{
  (void)state;
  for (int kind = 0; kind < KINDS; kind++) {
    char name[4000];
    make_name(name, sizeof name, kind);
    const char *const sides[] = {name, "palomar"};
    struct be_figure *figure = be_figure_create("One holds more", name, 760, 480);
    be_figure_x(figure, "", -0.3, 1.15, true);
    be_figure_names_x(figure, sides, 2);
    be_figure_y(figure, "efficiency (% of the line)", 0, 110);
    be_figure_rule_y(figure, 100, "the line itself");
    for (int i = 0; i < ROWS; i++) {
      const double x[] = {0, 1}, y[] = {71 + i, 63 + 1.7 * i};
      be_figure_aside(figure, 13 * i);
      be_figure_line(figure, x, y, 2, BE_TONE_BRAID, BE_STROKE_SOLID);
      be_figure_mark(figure, 1, y[1], BE_SHAPE_SQUARE, BE_FILL_SOLID, BE_TONE_BRAID);
      be_figure_label(figure, 1, y[1], name, BE_TONE_BRAID);
    }
    be_figure_note(figure, 0.9, 40, "a note", BE_ANCHOR_START, BE_TONE_INK);
    check_parts(figure);
    be_figure_free(figure);
  }
}

static void names_of_a_grid(void **state)
{
  (void)state;
  for (int kind = 0; kind < KINDS; kind++) {
    char name[4000];
    make_name(name, sizeof name, kind);
    const char *const knots[] = {name, "palomar", name, "uni"};
    struct be_figure *figure = be_figure_create("3 of 12 cells have no pull yet", name, 760, 0);
    be_figure_x(figure, "", -0.5, 3.5, true);
    be_figure_names_x(figure, knots, 4);
    for (int row = 0; row < ROWS; row++) {
      double y = be_figure_row(figure, name, "n = 17");
      for (int k = 0; k < 4; k++)
        be_figure_box(figure, k - 0.44, y - 0.4, k + 0.44, y + 0.4, BE_PATTERN_NONE, BE_TONE_MUTED,
                      "10 + 7");
    }
    be_figure_foot(figure, "%s", name);
    check_parts(figure);
    be_figure_free(figure);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(names_of_rows),
      cmocka_unit_test(names_of_lines_and_sides),
      cmocka_unit_test(names_of_a_grid),
  };
  return be_tests("chart: names", tests);
}
