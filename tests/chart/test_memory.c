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
  enum be_status status = be_figure_svg(figure, BE_FRAME_SCREEN, BE_DRAWN_FILE, 1, &svg, err);
  if (status == BE_OK) assert_well_formed(svg.data);
  be_figure_free(figure);
  be_buf_free(&svg);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  be_fail_loop(draw, NULL, 9);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(memory_may_fail_anywhere)};
  return be_tests("chart: memory", tests);
}
