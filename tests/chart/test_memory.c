/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point, once and for ever; nothing is lost or leaked. */
#include "svg_check.h"

struct host {
  size_t calls, fail_at;
  bool for_ever;
  size_t blocks;
};

static void *failing_resize(void *context, void *block, size_t old_size, size_t new_size)
{
  (void)old_size;
  struct host *host = context;
  if (new_size == 0) {
    if (block) host->blocks--;
    free(block);
    return NULL;
  }
  host->calls++;
  bool fails = host->for_ever ? host->calls >= host->fail_at : host->calls == host->fail_at;
  if (fails) return NULL;
  void *moved = realloc(block, new_size);
  if (moved && !block) host->blocks++;
  return moved;
}

static enum be_status draw(void)
{
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
  struct be_err err;
  enum be_status status = be_figure_svg(figure, true, 1, &svg, &err);
  if (status == BE_OK) assert_well_formed(svg.data);
  else assert_int_equal(err.status, status);
  be_figure_free(figure);
  be_buf_free(&svg);
  return status;
}

static void memory_may_fail_anywhere(void **state)
{
  (void)state;
  for (int for_ever = 0; for_ever < 2; for_ever++) {
    enum be_status status = BE_NO_MEMORY;
    size_t failures = 0;
    for (size_t n = 1; status != BE_OK; n++) {
      assert_true(n < 10000);
      struct host host = {.fail_at = n, .for_ever = for_ever};
      const struct be_allocator table = {failing_resize, &host};
      be_allocator_install(&table);
      status = draw();
      be_allocator_install(NULL);
      assert_int_equal(host.blocks, 0);
      assert_true(status == BE_OK || status == BE_NO_MEMORY);
      failures += status != BE_OK;
    }
    assert_true(failures > 8);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(memory_may_fail_anywhere)};
  return be_tests("chart: memory", tests);
}
