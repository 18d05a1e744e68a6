/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The PNG is read back by cairo; the PDF's texts are looked for as fonts with a map back to
 * characters (ISO 32000-1, 9.10), as its streams are packed. */
#include "press/press.h"
#include "test.h"

#include <cairo.h>

static void draw(struct be_buf *svg, enum be_drawn how)
{
  const double x[] = {20, 280}, y[] = {50, 50};
  const struct be_tube tube = {
      .x = x, .y = y, .count = 2, .width = 24, .tone = BE_TONE_NYLON, .texture = BE_TEXTURE_SOLID};
  struct be_drawing *drawing = be_drawing_create("Tube", NULL, 300, 100);
  be_drawing_tube(drawing, &tube);
  be_drawing_text(drawing, 40, 90, 14, "Standing part", BE_ANCHOR_START, BE_TONE_INK, false);
  be_buf_init(svg, 1 << 20);
  assert_int_equal(be_drawing_svg(drawing, how, 1, svg, NULL), BE_OK);
  be_drawing_free(drawing);
}

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

static unsigned pixel(cairo_surface_t *surface, int x, int y)
{
  uint32_t value;
  memcpy(&value,
         cairo_image_surface_get_data(surface) + y * cairo_image_surface_get_stride(surface) +
             4 * x,
         4);
  return value & 0xFFFFFF;
}

static void a_png_shows_the_tube(void **state)
{
  (void)state;
  static const struct {
    enum be_drawn how;
    unsigned paper, tone;
  } cases[] = {{BE_DRAWN_LIGHT, 0xF6F4EE, 0x2273A8},
               {BE_DRAWN_DARK, 0x15181B, 0x5FA9DB},
               {BE_DRAWN_PRINT, 0xFFFFFF, 0x2273A8}};
  for (size_t i = 0; i < 3; i++) {
    struct be_buf svg, png;
    draw(&svg, cases[i].how);
    be_buf_init(&png, 1 << 22);
    assert_int_equal(be_png(svg.data, svg.size, 600, &png, NULL), BE_OK);
    assert_memory_equal(png.data, "\x89PNG\r\n\x1A\n", 8);
    struct reading reading = {&png, 0};
    cairo_surface_t *surface = cairo_image_surface_create_from_png_stream(give, &reading);
    assert_int_equal(cairo_image_surface_get_width(surface), 600);
    /* The drawing is 100 px high below a title of one line: 16 + 28. */
    assert_int_equal(cairo_image_surface_get_height(surface), 2 * (100 + 44));
    int middle = 2 * (44 + 50);
    assert_int_equal(pixel(surface, 6, middle), cases[i].paper);
    assert_int_equal(pixel(surface, 300, middle - 30), cases[i].paper);
    /* Between the rim and the light. */
    assert_int_equal(pixel(surface, 300, middle - 18), cases[i].tone);
    size_t letters = 0;
    for (int x = 80; x < 300; x++)
      for (int y = 2 * (44 + 78); y < 2 * (44 + 92); y++)
        letters += pixel(surface, x, y) != cases[i].paper;
    assert_true(letters > 300);
    cairo_surface_destroy(surface);
    be_buf_free(&svg);
    be_buf_free(&png);
  }
}

static bool holds(const struct be_buf *buf, const char *text)
{
  size_t length = strlen(text);
  for (size_t i = 0; i + length <= buf->size; i++)
    if (memcmp(buf->data + i, text, length) == 0) return true;
  return false;
}

static void a_pdf_has_its_texts(void **state)
{
  (void)state;
  struct be_buf svg, pdf[2];
  draw(&svg, BE_DRAWN_PRINT);
  for (int i = 0; i < 2; i++) {
    be_buf_init(&pdf[i], 1 << 22);
    assert_int_equal(be_pdf(svg.data, svg.size, 400, "A tube", &pdf[i], NULL), BE_OK);
  }
  assert_memory_equal(pdf[0].data, "%PDF-1.", 7);
  assert_true(holds(&pdf[0], "DejaVuSans"));
  assert_true(holds(&pdf[0], "/ToUnicode"));
  assert_true(holds(&pdf[0], "/FontFile2"));
  assert_true(holds(&pdf[0], "(A tube)"));
  assert_true(holds(&pdf[0], "(20000101000000Z)"));
  /* 400 px are 300 points; 192 px are 144. */
  assert_true(holds(&pdf[0], "[ 0 0 300 144 ]"));
  assert_int_equal(pdf[0].size, pdf[1].size);
  assert_memory_equal(pdf[0].data, pdf[1].data, pdf[0].size);
  be_buf_free(&svg);
  for (int i = 0; i < 2; i++) be_buf_free(&pdf[i]);
}

static void check_refused(const char *svg, size_t size, double width, enum be_status want,
                          const char *words)
{
  for (int as_pdf = 0; as_pdf < 2; as_pdf++) {
    struct be_buf out;
    struct be_err err;
    be_buf_init(&out, 1 << 22);
    assert_int_equal(as_pdf ? be_pdf(svg, size, width, "t", &out, &err)
                            : be_png(svg, size, width, &out, &err),
                     want);
    assert_non_null(strstr(err.what, words));
    be_buf_free(&out);
  }
}

static void what_cannot_be_drawn_is_refused(void **state)
{
  (void)state;
  struct be_buf svg;
  draw(&svg, BE_DRAWN_LIGHT);
  check_refused(svg.data, svg.size, 10001, BE_TOO_LARGE, "1 to 10000 px wide");
  check_refused(svg.data, svg.size, 0.5, BE_TOO_LARGE, "1 to 10000 px wide");
  check_refused(svg.data, svg.size, NAN, BE_TOO_LARGE, "1 to 10000 px wide");
  check_refused(svg.data, svg.size / 2, 300, BE_BAD_INPUT, "this is no SVG");
  check_refused("", 0, 300, BE_BAD_INPUT, "this is no SVG");
  static const char tall[] =
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"3\" height=\"90\"/>";
  check_refused(tall, sizeof tall - 1, 500, BE_TOO_LARGE, "10000 px high, not 15000");
  static const char unsized[] = "<svg xmlns=\"http://www.w3.org/2000/svg\" height=\"0\"/>";
  check_refused(unsized, sizeof unsized - 1, 500, BE_BAD_INPUT, "how large it is");
  struct be_buf small;
  be_buf_init(&small, 100);
  assert_int_equal(be_png(svg.data, svg.size, 300, &small, NULL), BE_TOO_LARGE);
  be_buf_free(&small);
  be_buf_init(&small, 100);
  assert_int_equal(be_pdf(svg.data, svg.size, 300, "t", &small, NULL), BE_TOO_LARGE);
  be_buf_free(&small);
  be_buf_free(&svg);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_png_shows_the_tube),
      cmocka_unit_test(a_pdf_has_its_texts),
      cmocka_unit_test(what_cannot_be_drawn_is_refused),
  };
  return be_tests("press: PNG and PDF", tests);
}
