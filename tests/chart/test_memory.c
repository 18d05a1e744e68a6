/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point, once and for ever; nothing is lost or leaked. */
#include "fault/failing.h"
#include "svg_check.h"

static enum be_status draw(void *context, struct be_err *err)
{
  (void)context;
  struct be_buf svg;
  be_buf_init(&svg, 1 << 20);
  struct be_figure *figure = be_figure_create("Title of a figure", "subtitle", 613, 0);
  const double x[] = {0.1, 0.7}, y[] = {0.3, 0.9};
  be_figure_twin(figure, "in words: %d", 13);
  be_figure_x(figure, "x", 0, 1, false);
  for (int i = 0; i < 20; i++) be_figure_row(figure, "row", "n = 3");
  for (int i = 0; i < 40; i++)
    be_figure_mark(figure, 0.37, i % 20, BE_SHAPE_SQUARE, BE_FILL_OPEN, BE_TONE_BRAID);
  be_figure_line(figure, x, y, 2, BE_TONE_NYLON, BE_STROKE_TWIN);
  be_figure_rule_x(figure, 0.5, "rule");
  be_figure_bracket(figure, 1, 4);
  be_figure_note(figure, 0.5, 3, "note", BE_ANCHOR_MIDDLE, BE_TONE_INK);
  be_figure_means(figure, "event %d", 7);
  be_figure_box(figure, 0.1, 2.6, 0.3, 3.4, BE_PATTERN_CROSSED, BE_TONE_ACT, "3");
  be_figure_key_box(figure, BE_PATTERN_DOTS, BE_TONE_STOP, "slipped out");
  be_figure_label(figure, 0.7, 2, "name", BE_TONE_INK);
  be_figure_foot(figure, "%d left out.", 13);
  enum be_status status = be_figure_svg(figure, BE_FRAME_SCREEN, BE_DRAWN_FILE, 1, &svg, err);
  if (status == BE_OK) assert_well_formed(svg.data);
  be_figure_free(figure);
  be_buf_free(&svg);
  return status;
}

/* The data and the parts of a figure. */
static enum be_status part(void *context, struct be_err *err)
{
  (void)context;
  static const char *const names[] = {"palomar", "half blood"};
  struct be_data data = {0};
  struct be_figure **parts = NULL;
  size_t count = 0;
  struct be_arena *arena = be_arena_create();
  struct be_figure *figure = be_figure_create("Title", "subtitle", 613, 0);
  be_figure_x(figure, "", -0.5, 1.5, true);
  be_figure_names_x(figure, names, 2);
  be_figure_columns(figure, "combination", "knot", NULL);
  for (int i = 0; i < 12; i++) {
    const double low = 3, high = 4 + i;
    double row = be_figure_row(figure, "row", "n = 3");
    be_figure_means(figure, "pulls");
    be_figure_tell(figure, "specimen", "K7");
    be_figure_tell_number(figure, "n", i);
    be_figure_box(figure, 0.6, row - 0.4, 1.4, row + 0.4, BE_PATTERN_RISING, BE_TONE_INK, "4");
    be_figure_within(figure, true, &low, &high);
  }
  enum be_status status = arena ? be_figure_data(figure, arena, &data) : BE_NO_MEMORY;
  if (status == BE_OK) status = be_figure_parts(figure, BE_FRAME_TALL, &parts, &count, err);
  else be_fail(err, status, "no memory");
  if (status == BE_OK) assert_true(data.rows == 12 && count > 1);
  be_figure_parts_free(parts, count);
  be_figure_free(figure);
  be_arena_free(arena);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  be_fail_loop(draw, NULL, 9);
  be_fail_loop(part, NULL, 9);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(memory_may_fail_anywhere)};
  return be_tests("chart: memory", tests);
}
