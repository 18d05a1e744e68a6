/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pictures of figures held against those in golden/, which were looked at. GOLDEN_WRITE=1 in the
 * environment makes them anew, to be looked at again. */
#include "press/press.h"

#include "golden.h"

/* What of a figure is changed on purpose. */
enum change { AS_IT_IS, MARK_MOVED, OTHER_TONE, OTHER_PATTERN, OTHER_WORD, LINE_LEFT_OUT };

static struct be_figure *strip(enum change change)
{
  struct be_figure *figure =
      be_figure_create(change == OTHER_WORD ? "The palomar slips" : "The palomar holds",
                       "every pull, its mean and interval", 760, 0);
  be_figure_x(figure, "load (lb)", 0, 15, false);
  be_figure_rule_x(figure, 13.3, "the line itself");
  for (int row = 0; row < 3; row++) {
    static const char *const names[] = {"palomar", "half blood, 5 turns (well tied)", "uni"};
    double y = be_figure_row(figure, names[row], "n = 7 + 1 at least");
    for (int i = 0; i < 8; i++) {
      double x = 11 - 2 * row + 0.37 * (i % 5) + (change == MARK_MOVED && row == 1 && i == 4);
      be_figure_mark(figure, x, y, (enum be_shape)row,
                     i == 6   ? BE_FILL_OPEN
                     : i == 7 ? BE_FILL_CROSS
                              : BE_FILL_SOLID,
                     change == OTHER_TONE && row == 2 && i == 2
                         ? BE_TONE_STOP
                         : (enum be_tone)(BE_TONE_NYLON + row));
    }
    be_figure_bar(figure, 11.6 - 2 * row, y, BE_TONE_INK);
    be_figure_span(figure, 11.1 - 2 * row, 12.1 - 2 * row, y, false, BE_TONE_INK);
  }
  be_figure_bracket(figure, 0, 1);
  return figure;
}

static struct be_figure *boxes(enum change change)
{
  static const char *const words[] = {"broke", "slipped out", "held", "strand", "eye", "unseen"};
  struct be_figure *figure = be_figure_create("What let go", "counts of n pulls", 760, 0);
  be_figure_x(figure, "share (%)", 0, 100, false);
  for (int i = 0; i < 6; i++)
    be_figure_key_box(figure, (enum be_pattern)(i + 1), (enum be_tone)(BE_TONE_NYLON + i % 5),
                      words[i]);
  for (int row = 0; row < 2; row++) {
    double y = be_figure_row(figure, row ? "nylon 12 lb to ring, dry" : "braid 20 lb to ring, dry",
                             "n = 24");
    for (int i = 0; i < 6; i++) {
      int pattern = change == OTHER_PATTERN && row && i == 3 ? BE_PATTERN_RISING : i + 1;
      be_figure_box(figure, 100.0 * i / 6, y - 0.38, 100.0 * (i + 1) / 6, y + 0.38,
                    (enum be_pattern)pattern, (enum be_tone)(BE_TONE_NYLON + i % 5),
                    change == OTHER_WORD && !row && i == 2 ? "7" : "4");
    }
  }
  be_figure_foot(figure, "Two void pulls are left out.");
  return figure;
}

static struct be_figure *slope(enum change change)
{
  static const char *const sides[] = {"as a bend", "on hardware"};
  struct be_figure *figure =
      be_figure_create("It keeps 12 pts more on hardware [8, 16]", "three lines", 760, 480);
  be_figure_x(figure, "", -0.3, 1.15, true);
  be_figure_names_x(figure, sides, 2);
  be_figure_y(figure, "efficiency (% of the line)", 0, 110);
  be_figure_rule_y(figure, 100, "the line itself");
  for (int i = 0; i < 3; i++) {
    static const char *const names[] = {"nylon 12 lb, n = 7, 8", "braid 20 lb to nylon, n = 9, 9",
                                        "fluorocarbon 15 lb, n = 6, 7"};
    const double x[] = {0, 1}, y[] = {62.0 + 4 * i, 74 + 3 * i};
    enum be_tone tone = (enum be_tone)(BE_TONE_NYLON + i);
    if (change != LINE_LEFT_OUT || i != 1)
      be_figure_line(figure, x, y, 2, tone, (enum be_stroke)((i + 1) % 3));
    be_figure_mark(figure, 0, y[0], (enum be_shape)i, BE_FILL_SOLID, tone);
    be_figure_mark(figure, 1, y[1], (enum be_shape)i, BE_FILL_SOLID,
                   change == OTHER_TONE && i == 2 ? BE_TONE_STOP : tone);
    be_figure_label(figure, 1, y[1], names[i], tone);
  }
  return figure;
}

static struct be_figure *chances(enum change change)
{
  double x[9], y[9];
  struct be_figure *figure =
      be_figure_create("One in ten lets go below 41 lb [36, 45]", "Weibull of shape 7", 760, 480);
  be_figure_x(figure, "load (lb)", 35, 80, false);
  be_figure_y(figure, "let go by then (%)", 1, 99);
  be_figure_scaling(figure, BE_SCALING_LOG, BE_SCALING_WEIBULL);
  be_figure_key_line(figure, BE_STROKE_DASH, BE_TONE_INK, "fit");
  for (int i = 0; i < 9; i++) {
    x[i] = 37 * pow(75.0 / 37, i / 8.0);
    y[i] = 100 * (1 - exp(-pow(x[i] / 60, 7)));
    be_figure_mark(figure, x[i] * (1 + 0.02 * (i % 3 - 1)) + 6 * (change == MARK_MOVED && i == 5),
                   y[i], BE_SHAPE_SQUARE, BE_FILL_SOLID, BE_TONE_BRAID);
  }
  if (change != LINE_LEFT_OUT) be_figure_line(figure, x, y, 9, BE_TONE_INK, BE_STROKE_DASH);
  return figure;
}

static const struct golden {
  const char *name;
  struct be_figure *(*make)(enum change change);
  enum be_frame frame;
  enum be_drawn how;
  double width;
  enum change changes[3];
} goldens[] = {
    {"strip", strip, BE_FRAME_COLUMN, BE_DRAWN_PRINT, 360, {MARK_MOVED, OTHER_TONE, OTHER_WORD}},
    {"boxes", boxes, BE_FRAME_SCREEN, BE_DRAWN_DARK, 760, {OTHER_PATTERN, OTHER_WORD}},
    {"slope", slope, BE_FRAME_WIDE, BE_DRAWN_LIGHT, 747, {LINE_LEFT_OUT, OTHER_TONE}},
    {"chances", chances, BE_FRAME_TALL, BE_DRAWN_CLEAR, 360, {MARK_MOVED, LINE_LEFT_OUT}},
};
enum { GOLDENS = sizeof goldens / sizeof goldens[0] };

struct reading {
  const struct be_buf *png;
  size_t at;
};

static cairo_status_t give(void *from, unsigned char *bytes, unsigned size)
{
  struct reading *reading = from;
  if (reading->png->size - reading->at < size) return CAIRO_STATUS_READ_ERROR;
  memcpy(bytes, reading->png->data + reading->at, size);
  reading->at += size;
  return CAIRO_STATUS_SUCCESS;
}

static cairo_surface_t *surface_of(const struct be_buf *png)
{
  struct reading reading = {png, 0};
  cairo_surface_t *surface = cairo_image_surface_create_from_png_stream(give, &reading);
  assert_int_equal(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS);
  return surface;
}

static void draw(const struct golden *golden, enum change change, struct be_buf *png)
{
  struct be_buf svg;
  struct be_figure *figure = golden->make(change);
  be_buf_init(&svg, 1 << 24);
  be_buf_init(png, 1 << 24);
  assert_int_equal(be_figure_svg(figure, golden->frame, golden->how, 1, &svg, NULL), BE_OK);
  assert_int_equal(be_png(svg.data, svg.size, golden->width, png, NULL), BE_OK);
  be_buf_free(&svg);
  be_figure_free(figure);
}

static cairo_surface_t *kept(const struct golden *golden)
{
  char path[600];
  struct be_buf png;
  snprintf(path, sizeof path, "%s/%s.png", GOLDEN, golden->name);
  if (getenv("GOLDEN_WRITE")) {
    draw(golden, AS_IT_IS, &png);
    assert_int_equal(be_file_write(path, png.data, png.size, NULL), BE_OK);
    be_buf_free(&png);
  }
  be_buf_init(&png, 1 << 24);
  assert_int_equal(be_file_read(path, &png, NULL), BE_OK);
  cairo_surface_t *surface = surface_of(&png);
  be_buf_free(&png);
  return surface;
}

static double difference(const struct golden *golden, enum change change)
{
  struct be_buf png;
  draw(golden, change, &png);
  cairo_surface_t *now = surface_of(&png), *before = kept(golden);
  double worst = golden_difference(now, before);
  cairo_surface_destroy(now);
  cairo_surface_destroy(before);
  be_buf_free(&png);
  return worst;
}

static void figures_look_as_they_did(void **state)
{
  (void)state;
  for (size_t i = 0; i < GOLDENS; i++) {
    double worst = difference(&goldens[i], AS_IT_IS);
    if (!(worst <= golden_most)) fail_msg("%s differs by %.1f", goldens[i].name, worst);
  }
}

static void planted_changes_are_seen(void **state)
{
  (void)state;
  for (size_t i = 0; i < GOLDENS; i++)
    for (size_t k = 0; k < 3 && goldens[i].changes[k] != AS_IT_IS; k++) {
      double worst = difference(&goldens[i], goldens[i].changes[k]);
      print_message("%s, change %d: %.1f\n", goldens[i].name, (int)goldens[i].changes[k], worst);
      if (!(worst > golden_most))
        fail_msg("%s: change %zu makes only %.1f", goldens[i].name, k, worst);
    }
}

/* Half a pixel is no difference; black on white is 100 apart. */
static void the_comparison_itself(void **state)
{
  (void)state;
  static const double black[3] = {0, 0, 0}, white[3] = {1, 1, 1};
  assert_near(golden_lab_of(white).l, 100, 0.01);
  assert_near(golden_lab_of(white).a, 0, 0.05);
  assert_near(golden_lab_of(black).l, 0, 1e-9);
  cairo_surface_t *surface[2];
  for (int i = 0; i < 2; i++) {
    surface[i] = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 97, 61);
    cairo_t *cairo = cairo_create(surface[i]);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_paint(cairo);
    cairo_set_source_rgb(cairo, 0, 0, 0);
    cairo_set_line_width(cairo, 1);
    cairo_move_to(cairo, 10, 20.5 + 0.5 * i);
    cairo_line_to(cairo, 90, 20.5 + 0.5 * i);
    cairo_stroke(cairo);
    cairo_destroy(cairo);
  }
  double worst = golden_difference(surface[0], surface[1]);
  print_message("half a pixel: %.1f\n", worst);
  assert_true(worst > 0 && worst <= golden_most);
  assert_near(golden_difference(surface[0], surface[0]), 0, 0);
  for (int i = 0; i < 2; i++) cairo_surface_destroy(surface[i]);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(figures_look_as_they_did),
      cmocka_unit_test(planted_changes_are_seen),
      cmocka_unit_test(the_comparison_itself),
  };
  return be_tests("press: golden pictures", tests);
}
