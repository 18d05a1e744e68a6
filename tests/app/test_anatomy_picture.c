/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/anatomy/picture.h"
#include "fault/failing.h"
#include "knot/picture_lines.h"
#include "chart/svg_check.h"

static const bool loaded[BE_LINES_MAX][2] = {{true, false}, {true, false}};

static char *drawn_as(int shape, const struct be_anatomy_asked *asked)
{
  struct be_arena *arena = be_arena_create();
  struct be_lines lines;
  struct be_buf svg;
  make_lines(shape, arena, &lines);
  be_buf_init(&svg, 1 << 22);
  assert_int_equal(be_anatomy_svg(&lines, &shapes[shape].view, asked, &svg, NULL), BE_OK);
  char *copy = kept(svg.data);
  assert_well_formed(copy);
  be_buf_free(&svg);
  be_arena_free(arena);
  return copy;
}

static void a_knot_is_drawn(void **state)
{
  (void)state;
  const struct be_anatomy_asked asked = {
      .title = "Reef", .loaded = loaded, .numbered = true, .number = 31};
  char *svg = drawn_as(REEF, &asked);
  assert_non_null(strstr(svg, "id=\"figure-31-title\">Reef<"));
  assert_non_null(strstr(svg, ">2 lines, 6 crossings in this view.</desc>"));
  assert_non_null(strstr(svg, "viewBox=\"0 0 640 "));
  for (char number = '1'; number <= '6'; number++) {
    const char text[] = {'>', number, '<', '/', 't', '\0'};
    assert_int_equal(count_of(svg, text), 1);
  }
  assert_int_equal(count_of(svg, ">A</text>"), 1);
  assert_int_equal(count_of(svg, ">B</text>"), 1);
  /* The first line is nylon, the second braid, in twill. */
  assert_true(count_of(svg, "stroke-nylon") > 0 && count_of(svg, "stroke-braid") > 0);
  assert_int_equal(count_of(svg, "stroke-fluorocarbon"), 0);
  assert_int_equal(count_of(svg, "stroke-dasharray"), 0);
  /* Two arrows. */
  assert_int_equal(count_of(svg, "class=\"fill-ink stroke-ink\""), 2);
  free(svg);
}

static void lines_take_their_materials(void **state)
{
  (void)state;
  static const enum be_tone material[] = {BE_TONE_FLUOROCARBON, BE_TONE_INK};
  static const bool hardware[] = {false, true};
  const struct be_anatomy_asked asked = {.title = "Wraps",
                                         .material = material,
                                         .hardware = hardware,
                                         .words = "A line round a shank",
                                         .how = BE_DRAWN_DARK,
                                         .width = 320};
  char *svg = drawn_as(WRAPS, &asked);
  assert_true(count_of(svg, "stroke-dasharray") > 0);
  assert_int_equal(count_of(svg, "class=\"stroke-nylon\""), 0);
  assert_true(count_of(svg, "class=\"stroke-ink\"") > 0 &&
              count_of(svg, "class=\"stroke-hairline\"") > 0);
  assert_non_null(strstr(svg, ">A line round a shank</desc>"));
  assert_non_null(strstr(svg, "viewBox=\"0 0 320 "));
  assert_int_equal(count_of(svg, ">B</text>"), 0);
  free(svg);
}

static void a_strip_shows_every_step(void **state)
{
  (void)state;
  const struct be_anatomy_asked asked = {.title = "Reef", .loaded = loaded, .steps = 5};
  char *svg = drawn_as(REEF, &asked);
  for (char number = '1'; number <= '5'; number++) {
    const char text[] = {'>', number, '<', '/', 't', '\0'};
    assert_int_equal(count_of(svg, text), 1);
  }
  /* In the first step the second line is still to come. */
  const char *second = strstr(svg, ">2</text>");
  assert_non_null(second);
  const char *braid = strstr(svg, "class=\"stroke-braid\"");
  assert_true(braid && braid > second);
  assert_true(count_of(svg, "class=\"stroke-hairline\"") > 0);
  assert_non_null(strstr(svg, "in 5 steps"));
  free(svg);
}

static void what_cannot_be_drawn_is_refused(void **state)
{
  (void)state;
  struct be_arena *arena = be_arena_create();
  struct be_lines lines;
  struct be_buf svg;
  struct be_err err;
  struct be_anatomy_asked asked = {.title = "t", .width = 199};
  make_lines(TREFOIL, arena, &lines);
  be_buf_init(&svg, 1 << 20);
  assert_int_equal(be_anatomy_svg(&lines, &be_view_top, &asked, &svg, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "200 to 4000 px"));
  asked.width = 0;
  asked.steps = BE_ANATOMY_STEPS_MAX + 1;
  assert_int_equal(be_anatomy_svg(&lines, &be_view_top, &asked, &svg, &err), BE_TOO_LARGE);
  asked.steps = 0;
  /* A cross whose strands meet. */
  struct be_point a[] = {{-3, 0.1, 0}, {3, 0.1, 0}}, b[] = {{0.1, -3, 0}, {0.1, 3, 0}};
  lines = (struct be_lines){2, {{a, 2, false}, {b, 2, false}}, {1, 1}};
  assert_int_equal(be_anatomy_svg(&lines, &be_view_top, &asked, &svg, &err), BE_BAD_INPUT);
  assert_string_equal(err.what, "the lines meet in space");
  /* A corner of one lies over the other: turned a little, it can be drawn. */
  struct be_point bent[] = {{-3, 1, 2}, {0.1, 0, 2}, {3, 1, 2}};
  lines.line[0] = (struct be_curve){bent, 3, false};
  b[0] = (struct be_point){0.1, -3, 0}, b[1] = (struct be_point){0.1, 3, 0};
  assert_int_equal(be_anatomy_svg(&lines, &be_view_top, &asked, &svg, &err), BE_OK);
  be_buf_free(&svg);
  be_arena_free(arena);
}

static enum be_status draw(void *context, struct be_err *err)
{
  (void)context;
  struct be_point a[] = {{-3, 0.1, 2}, {3, 0.1, 2}}, b[] = {{0.1, -3, 0}, {0.1, 3, 0}};
  const struct be_lines lines = {2, {{a, 2, false}, {b, 2, false}}, {1, 1}};
  struct be_buf svg;
  enum be_status status = BE_OK;
  for (size_t steps = 0; steps < 3 && status == BE_OK; steps += 2) {
    const struct be_anatomy_asked asked = {
        .title = "t", .loaded = loaded, .numbered = true, .steps = steps};
    be_buf_init(&svg, 1 << 20);
    status = be_anatomy_svg(&lines, &be_view_top, &asked, &svg, err);
    be_buf_free(&svg);
  }
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  be_fail_loop(draw, NULL, 20);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_knot_is_drawn),          cmocka_unit_test(lines_take_their_materials),
      cmocka_unit_test(a_strip_shows_every_step), cmocka_unit_test(what_cannot_be_drawn_is_refused),
      cmocka_unit_test(memory_may_fail_anywhere),
  };
  return be_tests("app: pictures of knots", tests);
}
