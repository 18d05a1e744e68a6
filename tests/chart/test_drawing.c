/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault/failing.h"
#include "svg_check.h"

static const double xs[] = {11.5, 90.25, 171}, ys[] = {70, 13.75, 44};

static struct be_drawing *sample(void)
{
  struct be_drawing *drawing = be_drawing_create("Tubes & <arrows>", "a subtitle", 317, 123);
  for (int texture = BE_TEXTURE_SOLID; texture <= BE_TEXTURE_FAINT; texture++) {
    const struct be_tube tube = {
        xs, ys, 3, 17, 2.5, {3.25, 0}, 41.7, BE_TONE_BRAID, (enum be_texture)texture};
    be_drawing_tube(drawing, &tube);
  }
  be_drawing_stroke(drawing, xs, ys, 3, 2.25, BE_TONE_INK, true);
  be_drawing_rub_out(drawing, xs, ys, 2, 4.5);
  be_drawing_text(drawing, 20, 30, 13, "A < B", BE_ANCHOR_END, BE_TONE_MUTED, true);
  be_drawing_twin(drawing, "%d tubes", 5);
  return drawing;
}

static char *drawn_as(const struct be_drawing *drawing, enum be_drawn how)
{
  static char text[1 << 20];
  struct be_buf svg;
  be_buf_init(&svg, sizeof text - 1);
  assert_int_equal(be_drawing_svg(drawing, how, 23, &svg, NULL), BE_OK);
  memcpy(text, svg.data, svg.size + 1);
  be_buf_free(&svg);
  return text;
}

static void inside_a_page(void **state)
{
  (void)state;
  struct be_drawing *drawing = sample();
  const char *svg = drawn_as(drawing, BE_DRAWN_INLINE);
  assert_well_formed(svg);
  assert_null(strstr(svg, "<style"));
  assert_non_null(strstr(svg, "viewBox=\"0 0 317 123\""));
  assert_non_null(strstr(svg, "<title id=\"figure-23-title\">Tubes &amp; &lt;arrows&gt;</title>"));
  assert_non_null(strstr(svg, "<desc id=\"figure-23-words\">5 tubes</desc>"));
  /* Title and subtitle are the page's. */
  assert_null(strstr(svg, "a subtitle"));
  assert_non_null(strstr(svg, ">A &lt; B</text>"));
  assert_non_null(strstr(svg, "text-anchor=\"end\""));
  /* Each tube has paper beside it, 17 + 2 x 2.5 wide, that starts 3.25 later. */
  assert_int_equal(count_of(svg, "class=\"stroke-paper\" fill=\"none\" stroke-width=\"22.00\""), 5);
  assert_int_equal(count_of(svg, "<path d=\"M11.50 70.00L90.25"), 2); /* stroke, rub-out */
  be_drawing_free(drawing);
}

static void each_texture_is_another(void **state)
{
  (void)state;
  char *seen[5];
  for (int texture = BE_TEXTURE_SOLID; texture <= BE_TEXTURE_FAINT; texture++) {
    struct be_drawing *drawing = be_drawing_create("t", NULL, 200, 100);
    const struct be_tube tube = {.x = xs,
                                 .y = ys,
                                 .count = 3,
                                 .width = 17,
                                 .tone = BE_TONE_NYLON,
                                 .texture = (enum be_texture)texture};
    be_drawing_tube(drawing, &tube);
    seen[texture] = kept(drawn_as(drawing, BE_DRAWN_INLINE));
    for (int other = 0; other < texture; other++)
      assert_string_not_equal(seen[other], seen[texture]);
    be_drawing_free(drawing);
  }
  assert_int_equal(count_of(seen[BE_TEXTURE_DASH], "stroke-dasharray"), 1);
  assert_int_equal(count_of(seen[BE_TEXTURE_SOLID], "stroke-paper"), 0);
  /* Twill: a pair of threads for every 0.92 widths of the tube, which is 183 long. */
  const char *threads = strstr(seen[BE_TEXTURE_TWILL], "stroke-paper");
  assert_non_null(threads);
  const char *path = threads;
  while (strncmp(path, "<path", 5) != 0) path--;
  size_t count = 0;
  for (; path < threads; path++) count += *path == 'M';
  assert_true(count >= 22 && count <= 27);
  for (int texture = BE_TEXTURE_SOLID; texture <= BE_TEXTURE_FAINT; texture++) free(seen[texture]);
}

static void as_a_file(void **state)
{
  (void)state;
  struct be_drawing *drawing = sample();
  static const struct {
    enum be_drawn how;
    const char *paper;
  } plain[] = {
      {BE_DRAWN_LIGHT, "#F6F4EE"}, {BE_DRAWN_DARK, "#15181B"}, {BE_DRAWN_PRINT, "#FFFFFF"}};
  const char *svg = drawn_as(drawing, BE_DRAWN_FILE);
  assert_well_formed(svg);
  assert_non_null(strstr(svg, "prefers-color-scheme:dark"));
  assert_non_null(strstr(svg, ">a subtitle</text>"));
  for (size_t i = 0; i < 3; i++) {
    char rule[60];
    svg = drawn_as(drawing, plain[i].how);
    assert_well_formed(svg);
    assert_null(strstr(svg, "var("));
    assert_null(strstr(svg, "@media"));
    snprintf(rule, sizeof rule, ".figure .fill-paper{fill:%s}", plain[i].paper);
    assert_int_equal(count_of(svg, rule), 1);
    assert_non_null(strstr(svg, ">a subtitle</text>"));
  }
  be_drawing_free(drawing);
}

static enum be_status draw(void *context, struct be_err *err)
{
  (void)context;
  struct be_buf svg;
  be_buf_init(&svg, 1 << 20);
  struct be_drawing *drawing = sample();
  enum be_status status = be_drawing_svg(drawing, BE_DRAWN_FILE, 1, &svg, err);
  if (status == BE_OK) assert_well_formed(svg.data);
  be_drawing_free(drawing);
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
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(inside_a_page),
      cmocka_unit_test(each_texture_is_another),
      cmocka_unit_test(as_a_file),
      cmocka_unit_test(memory_may_fail_anywhere),
  };
  return be_tests("chart: drawings", tests);
}
