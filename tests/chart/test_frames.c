/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frames of video, and the parts of figures that came with them. Margins of 5 % are EBU R 95's
 * graphics safe area; the least sizes of text are those that chart.h promises. */
#include "svg_check.h"

static char *framed(const struct be_figure *figure, enum be_frame frame, enum be_drawn how)
{
  static char text[1 << 22];
  struct be_buf svg;
  be_buf_init(&svg, sizeof text - 1);
  assert_int_equal(be_figure_svg(figure, frame, how, 7, &svg, NULL), BE_OK);
  memcpy(text, svg.data, svg.size + 1);
  be_buf_free(&svg);
  assert_well_formed(text);
  return text;
}

static double after(const char *at, const char *name)
{
  const char *found = strstr(at, name);
  assert_non_null(found);
  return strtod(found + strlen(name), NULL);
}

static struct be_figure *of_rows(size_t rows)
{
  struct be_figure *figure = be_figure_create("Seven of the nineteen hold more than the others do",
                                              "every pull; nylon 12 lb to ring, dry", 613, 0);
  be_figure_x(figure, "load (lb)", 0, 23.7, false);
  for (size_t i = 0; i < rows; i++) {
    char name[60];
    snprintf(name, sizeof name, "half blood, %zu turns (along the line)", i + 3);
    double row = be_figure_row(figure, name, "n = 13");
    be_figure_means(figure, "event, specimen %zu", i);
    be_figure_mark(figure, 7.25 + (double)i, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
    be_figure_means(figure, "mean");
    be_figure_bar(figure, 8.5 + (double)i / 2, row, BE_TONE_INK);
  }
  be_figure_rule_x(figure, 21.3, "the line itself");
  be_figure_bracket(figure, 1, (double)rows - 2);
  be_figure_foot(figure, "%d void pulls are left out.", 3);
  return figure;
}

/* The parts of a figure in a frame, and how many rows they hold together. */
struct parts {
  struct be_figure **list;
  size_t count, rows;
};

static struct parts parts_of(const struct be_figure *figure, enum be_frame frame)
{
  struct parts parts = {0};
  assert_int_equal(be_figure_parts(figure, frame, &parts.list, &parts.count, NULL), BE_OK);
  for (size_t i = 0; i < parts.count; i++) parts.rows += be_figure_rows(parts.list[i]);
  return parts;
}

/* Of every text: large enough, and inside the margins in both directions. */
static void check_texts(const char *svg, double width, double height, double least)
{
  double box_width = after(svg, "viewBox=\"0 0 ");
  double zoom = width / box_width, down = 0;
  size_t texts = 0;
  assert_near(after(svg, "\" width=\""), width, 0.5);
  assert_near(after(svg, "\" height=\""), height, 0.5);
  if (strstr(svg, "translate(0 ")) down = after(svg, "translate(0 ");
  for (const char *at = svg; (at = strstr(at, "<text x=")); at++, texts++) {
    double x = zoom * after(at, "x=\""), y = zoom * (after(at, " y=\"") + down);
    double size = zoom * after(at, "font-size=\"");
    assert_true(size >= least - 0.01);
    assert_true(x >= 0.05 * width - 1 && x <= 0.95 * width + 1);
    assert_true(y - 0.75 * size >= 0.05 * height - 1 && y <= 0.95 * height + 1);
  }
  assert_true(texts > 8);
}

static void frames_keep_margins_and_sizes(void **state)
{
  (void)state;
  struct be_figure *figure = of_rows(3);
  assert_near(be_frame_text(1920), 64, 1e-9);
  check_texts(framed(figure, BE_FRAME_WIDE, BE_DRAWN_LIGHT), 1920, 1080, 36);
  struct parts parts = parts_of(figure, BE_FRAME_TALL);
  check_texts(framed(parts.list[0], BE_FRAME_TALL, BE_DRAWN_DARK), 1080, 1920, 48);
  be_figure_parts_free(parts.list, parts.count);
  be_figure_free(figure);
  figure = be_figure_create("One holds more", "all of it", 613, 299);
  be_figure_x(figure, "load (lb)", 0, 23.7, false);
  for (int i = 0; i < 3; i++) {
    double row = be_figure_row(figure, "palomar", "n = 7");
    be_figure_mark(figure, 7.25 + i, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  }
  check_texts(framed(figure, BE_FRAME_TALL, BE_DRAWN_DARK), 1080, 1920, 64);
  be_figure_free(figure);
}

static void grounds_are_plain(void **state)
{
  (void)state;
  struct be_figure *figure = of_rows(3);
  static const struct {
    enum be_drawn how;
    const char *paper;
  } cases[] = {{BE_DRAWN_LIGHT, ".fill-paper{fill:#F6F4EE}"},
               {BE_DRAWN_DARK, ".fill-paper{fill:#15181B}"},
               {BE_DRAWN_PRINT, ".fill-paper{fill:#FFFFFF}"},
               {BE_DRAWN_CLEAR, ".fill-paper{fill:#15181B}"}};
  for (size_t i = 0; i < 4; i++) {
    const char *svg = framed(figure, BE_FRAME_WIDE, cases[i].how);
    assert_non_null(strstr(svg, cases[i].paper));
    assert_null(strstr(svg, "var("));
    bool clear = cases[i].how == BE_DRAWN_CLEAR;
    assert_int_equal(count_of(svg, "<rect width=\"100%\" height=\"100%\""), clear ? 0 : 1);
    assert_int_equal(count_of(svg, ".figure text{stroke:#15181B"), clear ? 1 : 0);
  }
  be_figure_free(figure);
}

/* A letter without its words is none, so lines go on in parts, on the axes of the whole. */
static void lines_with_long_names_go_on_in_parts(void **state)
{
  (void)state;
  enum { LINES = 8 };
  static const char *const sides[] = {"barrel knot, 5 turns (well tied)", "grinner bend, 4 turns"};
  struct be_figure *figure =
      be_figure_create("The barrel knot, 5 turns (well tied) and the grinner bend, 4 turns cannot "
                       "be separated: 1.6 pts [-0.3, 3.4]",
                       "8 combinations that both were tied in; 95 % intervals", 760, 480);
  be_figure_x(figure, "", -0.3, 1.15, true);
  be_figure_names_x(figure, sides, 2);
  be_figure_y(figure, "efficiency (% of the line)", 0, 110);
  be_figure_rule_y(figure, 100, "the line itself");
  for (int i = 0; i < LINES; i++) {
    const double x[] = {0, 1}, y[] = {71 + i, 63 + 1.7 * i};
    char name[80];
    be_figure_line(figure, x, y, 2, BE_TONE_BRAID, BE_STROKE_SOLID);
    be_figure_mark(figure, 0, y[0], BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_BRAID);
    snprintf(name, sizeof name, "braid %d lb to fluorocarbon 15 lb, dry, n = 13, 17", 20 + i);
    be_figure_label(figure, 1, y[1], name, BE_TONE_BRAID);
  }
  assert_int_equal(be_figure_rows(figure), LINES);
  struct parts parts = parts_of(figure, BE_FRAME_TALL);
  size_t from = 0;
  for (size_t p = 0; p < parts.count; p++) {
    const char *svg = framed(parts.list[p], BE_FRAME_TALL, BE_DRAWN_LIGHT);
    size_t fit = be_figure_rows(parts.list[p]);
    /* Marks of one look are told apart by what is cut out of them, beside their names too. */
    assert_int_equal(count_of(svg, "<circle"), fit > 1 ? 2 * fit : fit);
    assert_int_equal(count_of(svg, "m-7 0h14\" class=\"stroke-paper\""), fit > 1 ? 2 : 0);
    assert_null(strstr(svg, "..."));
    assert_int_equal(count_of(svg, "</text>") > 8, true);
    for (size_t i = 0; i < LINES; i++) {
      char name[40];
      snprintf(name, sizeof name, "braid %zu lb", 20 + i);
      assert_int_equal(strstr(strstr(svg, "</desc>"), name) != NULL, i >= from && i < from + fit);
    }
    assert_non_null(strstr(svg, ">the line itself</text>"));
    check_texts(svg, 1080, 1920, 48);
    from += fit;
  }
  assert_int_equal(parts.rows, LINES);
  assert_true(parts.count > 1 && parts.count < LINES);
  be_figure_parts_free(parts.list, parts.count);
  be_figure_free(figure);
}

/* All rows come, each once, on the axes of the whole. */
static void long_figures_go_on_in_parts(void **state)
{
  (void)state;
  enum { ROWS = 19 };
  struct be_figure *figure = of_rows(ROWS);
  struct parts screen = parts_of(figure, BE_FRAME_SCREEN);
  assert_int_equal(screen.count, 1);
  assert_string_equal(be_figure_title(screen.list[0]), be_figure_title(figure));
  be_figure_parts_free(screen.list, screen.count);
  struct parts parts = parts_of(figure, BE_FRAME_WIDE);
  size_t from = 0;
  for (size_t p = 0; p < parts.count; p++) {
    char name[60], told[100];
    const struct be_figure *part = parts.list[p];
    size_t fit = be_figure_rows(part);
    const char *svg = framed(part, BE_FRAME_WIDE, BE_DRAWN_LIGHT);
    assert_int_equal(count_of(svg, "<circle"), fit);
    for (size_t i = 0; i < ROWS; i++) {
      snprintf(name, sizeof name, ">half blood, %zu turns (along", i + 3);
      assert_int_equal(count_of(svg, name) > 0, i >= from && i < from + fit);
    }
    /* Which part it is, and what of all it holds. */
    snprintf(told, sizeof told, "Part %zu of %zu; every pull", p + 1, parts.count);
    assert_non_null(strstr(be_figure_subtitle(part), told));
    snprintf(told, sizeof told, "which shows half blood, %zu turns", from + 3);
    assert_non_null(strstr(be_figure_words(part), told));
    /* The axis of the whole ends at 7.25 + 18. */
    assert_non_null(strstr(svg, ">20</text>"));
    check_texts(svg, 1920, 1080, 36);
    from += fit;
  }
  assert_int_equal(parts.rows, ROWS);
  assert_true(parts.count > 1 && parts.count < 10);
  for (size_t p = 1; p < parts.count; p++) /* as many in each */
    assert_in_range(be_figure_rows(parts.list[p - 1]), be_figure_rows(parts.list[p]),
                    be_figure_rows(parts.list[p]) + 1);
  be_figure_parts_free(parts.list, parts.count);
  assert_int_equal(be_figure_parts(NULL, BE_FRAME_WIDE, &parts.list, &parts.count, NULL),
                   BE_NO_MEMORY);
  be_figure_free(figure);
}

#define LONG_NAME "a name that goes on for long enough to need three lines or four of a tall frame"

/* One part has names of four lines and must set its text smaller: then so do the others. */
static void parts_have_text_of_one_size(void **state)
{
  (void)state;
  enum { ROWS = 17 };
  struct be_figure *figure =
      be_figure_create("One of them holds more than the others that were tied on the same line do",
                       "all of it", 613, 0);
  be_figure_x(figure, "load (lb)", 0, 23.7, false);
  for (int i = 0; i < ROWS; i++) {
    char name[300];
    snprintf(name, sizeof name, "%s knot, %d turns", i == 0 ? LONG_NAME : "half", i);
    double row = be_figure_row(figure, name, "n = 7");
    for (int k = 0; k < (i == 0 ? 60 : 1); k++)
      be_figure_mark(figure, 7.25 + i, row, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_NYLON);
  }
  struct parts parts = parts_of(figure, BE_FRAME_TALL);
  assert_true(parts.count > 1);
  double width = 0;
  for (size_t p = 0; p < parts.count; p++) {
    const char *svg = framed(parts.list[p], BE_FRAME_TALL, BE_DRAWN_LIGHT);
    double own = after(svg, "viewBox=\"0 0 ");
    if (p > 0) assert_near(own, width, 0);
    width = own;
  }
  /* 1080 px at the largest text, 64 px for 14. */
  assert_true(width > 1080 * 14 / 64.0 + 1);
  be_figure_parts_free(parts.list, parts.count);
  be_figure_free(figure);
}

/* A ranking of four is seen at once, its text no smaller than it may be. */
static void smaller_text_comes_before_another_part(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("The first cannot be separated from 2 others",
                                              "ranks at 95 %: one line, dry", 760, 0);
  be_figure_x(figure, "rank (1 = strongest)", 0.5, 4.5, true);
  for (int i = 0; i < 4; i++) {
    double row =
        be_figure_row(figure, i % 3 ? "halved, 4 turns" : "a knot, 5 turns (badly tied)", "n = 10");
    be_figure_span(figure, 1 + i, 2 + i, row, true, BE_TONE_ACT);
  }
  struct parts parts = parts_of(figure, BE_FRAME_TALL);
  assert_int_equal(parts.count, 1);
  check_texts(framed(parts.list[0], BE_FRAME_TALL, BE_DRAWN_LIGHT), 1080, 1920, 1920 / 40.0);
  be_figure_parts_free(parts.list, parts.count);
  be_figure_free(figure);
}

/* A PNG of a column is 2008 px wide and at most 10000 high. */
static void long_columns_go_on_on_another_page(void **state)
{
  (void)state;
  enum { ROWS = 67 };
  struct be_figure *figure = of_rows(ROWS);
  struct parts parts = parts_of(figure, BE_FRAME_COLUMN);
  for (size_t p = 0; p < parts.count; p++) {
    double width = 0, height = 0;
    const char *svg = framed(parts.list[p], BE_FRAME_COLUMN, BE_DRAWN_PRINT);
    const char *box = strstr(svg, "viewBox=\"0 0 ");
    assert_int_equal(box ? sscanf(box, "viewBox=\"0 0 %lf %lf", &width, &height) : 0, 2);
    assert_true(height <= 240.0 / 85 * width);
  }
  assert_int_equal(parts.rows, ROWS);
  assert_true(parts.count > 1 && parts.count < ROWS);
  be_figure_parts_free(parts.list, parts.count);
  be_figure_free(figure);
}

static void names_of_lines_keep_apart(void **state)
{
  (void)state;
  enum { LINES = 9 };
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  be_figure_y(figure, "y", 0, 100);
  for (int i = 0; i < LINES; i++) {
    char name[60];
    snprintf(name, sizeof name, "line%d", i);
    be_figure_label(figure, 1, 50 + 0.2 * i, name, BE_TONE_INK);
  }
  const char *svg = framed(figure, BE_FRAME_SCREEN, BE_DRAWN_INLINE);
  double last = INFINITY;
  for (int i = 0; i < LINES; i++) {
    char name[60];
    snprintf(name, sizeof name, ">line%d</text>", i);
    const char *at = strstr(svg, name);
    assert_non_null(at);
    while (strncmp(at, "<text", 5) != 0) at--;
    double y = after(at, " y=\"");
    assert_true(last - y >= 16); /* higher values stand higher */
    last = y;
  }
  be_figure_free(figure);
}

/* Long names of lines become letters in a frame, with a list below. */
static void a_frame_letters_long_names(void **state)
{
  (void)state;
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  for (int i = 0; i < 8; i++)
    be_figure_label(figure, 1, 0.1 * i, "braid 40 lb to fluorocarbon 25 lb, soaked for an hour",
                    BE_TONE_INK);
  const char *svg = framed(figure, BE_FRAME_TALL, BE_DRAWN_LIGHT);
  assert_non_null(strstr(svg, ">A</text>"));
  assert_non_null(strstr(svg, ">H</text>"));
  assert_non_null(strstr(svg, ">A: braid 40 lb"));
  assert_null(strstr(framed(figure, BE_FRAME_SCREEN, BE_DRAWN_LIGHT), ">A</text>"));
  be_figure_free(figure);
}

/* A name of 120 letters fits, if need be cut in its row.
 */
static void long_names_leave_no_frame(void **state)
{
  (void)state;
  char name[121], title[200];
  static const enum be_frame frames[] = {BE_FRAME_WIDE, BE_FRAME_TALL};
  memset(name, 'e', 120);
  for (int i = 9; i < 120; i += 10) name[i] = ' ';
  name[120] = '\0';
  snprintf(title, sizeof title, "The %s holds 13.37 lb [12.9, 13.8]", name);
  struct be_figure *figure = be_figure_create(title, name, 760, 0);
  be_figure_x(figure, "load (lb)", 0, 17, false);
  double y = be_figure_row(figure, name, "n = 7");
  for (int i = 0; i < 7; i++)
    be_figure_mark(figure, 13 + 0.1 * i, y, BE_SHAPE_SQUARE, BE_FILL_SOLID, BE_TONE_BRAID);
  be_figure_bar(figure, 13.37, y, BE_TONE_INK);
  for (int i = 0; i < 2; i++) {
    const char *svg = framed(figure, frames[i], BE_DRAWN_LIGHT);
    check_texts(svg, i ? 1080 : 1920, i ? 1920 : 1080, i ? 48 : 36);
  }
  be_figure_free(figure);
}

/* Where names take two lines and rows are drawn close, and where a box is a sliver. */
static void counts_in_boxes_are_kept(void **state)
{
  (void)state;
  size_t from = 0;
  char word[20];
  struct be_figure *figure = be_figure_create("What let go", "counts", 760, 0);
  be_figure_x(figure, "share (%)", 0, 100, false);
  for (int i = 0; i < 12; i++) {
    double y = be_figure_row(figure, "barrel knot, 7 turns (badly tied)", "n = 37");
    for (int k = 0; k < 3; k++) {
      static const double edges[] = {0, 61, 67, 100};
      snprintf(word, sizeof word, "%d", 7 * i + k);
      be_figure_box(figure, edges[k], y - 0.38, edges[k + 1], y + 0.38, BE_PATTERN_DOTS,
                    BE_TONE_INK, word);
    }
  }
  struct parts parts = parts_of(figure, BE_FRAME_TALL);
  assert_true(parts.count < 12);
  for (size_t p = 0; p < parts.count; p++) {
    const char *svg = framed(parts.list[p], BE_FRAME_TALL, BE_DRAWN_LIGHT);
    for (size_t i = 0; i < be_figure_rows(parts.list[p]); i++, from++)
      for (size_t k = 0; k < 3; k++) {
        snprintf(word, sizeof word, ">%zu</text>", 7 * from + k);
        assert_non_null(strstr(svg, word));
      }
  }
  assert_int_equal(from, 12);
  be_figure_parts_free(parts.list, parts.count);
  be_figure_free(figure);
}

static void names_of_an_axis_fit_or_are_numbered(void **state)
{
  (void)state;
  static const char *const names[] = {"palomar", "half blood", "improved incontrovertibility"};
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  be_figure_x(figure, "", -0.5, 2.5, true);
  be_figure_names_x(figure, names, 3);
  double row = be_figure_row(figure, "nylon", "n = 7");
  be_figure_means(figure, "events");
  be_figure_box(figure, 0.6, row - 0.4, 1.4, row + 0.4, BE_PATTERN_NONE, BE_TONE_INK, "47");
  const char *svg = framed(figure, BE_FRAME_SCREEN, BE_DRAWN_INLINE);
  assert_non_null(strstr(svg, ">half blood</text>"));
  assert_non_null(strstr(svg, ">47</text>"));
  svg = framed(figure, BE_FRAME_COLUMN, BE_DRAWN_INLINE);
  assert_null(strstr(svg, ">half blood</text>"));
  assert_non_null(strstr(svg, ">2</text>"));
  assert_non_null(strstr(svg, "2: half blood;"));
  be_figure_free(figure);
}

/* Of 40 columns each third or so has its number, none is broken. */
static void many_numbers_keep_apart(void **state)
{
  (void)state;
  enum { COLUMNS = 40 };
  char texts[COLUMNS][40];
  const char *names[COLUMNS];
  for (int i = 0; i < COLUMNS; i++) {
    snprintf(texts[i], sizeof texts[i], "grinner bend, %d turns", i);
    names[i] = texts[i];
  }
  struct be_figure *figure = be_figure_create("t", NULL, 613, 0);
  be_figure_x(figure, "", -0.5, COLUMNS - 0.5, true);
  be_figure_names_x(figure, names, COLUMNS);
  be_figure_row(figure, "nylon", "n = 7");
  const char *svg = framed(figure, BE_FRAME_COLUMN, BE_DRAWN_INLINE), *at = svg;
  double last = -INFINITY;
  size_t numbers = 0;
  for (int i = 1; i <= COLUMNS; i++) {
    char number[40];
    snprintf(number, sizeof number, " class=\"fill-ink\">%d</text>", i);
    const char *found = strstr(at, number);
    if (!found) continue;
    while (strncmp(found, "<text x=", 8) != 0) found--;
    double x = after(found, "x=\"");
    assert_true(x - last >= 18);
    last = x;
    at = found;
    numbers++;
  }
  assert_in_range(numbers, 6, 20);
  be_figure_free(figure);
}

/* log(-log(1 - p)) of a Weibull of shape 7, scale 60 is a straight line over log load. */
static void a_weibull_is_straight_on_its_axes(void **state)
{
  (void)state;
  enum { POINTS = 9 };
  double x[POINTS], y[POINTS];
  struct be_figure *figure = be_figure_create("t", NULL, 613, 413);
  be_figure_x(figure, "load (N)", 35, 80, false);
  be_figure_y(figure, "let go (%)", 1, 99);
  be_figure_scaling(figure, BE_SCALING_LOG, BE_SCALING_WEIBULL);
  for (int i = 0; i < POINTS; i++) {
    x[i] = 37 * pow(75.0 / 37, i / 8.0);
    y[i] = 100 * (1 - exp(-pow(x[i] / 60, 7)));
    be_figure_mark(figure, x[i], y[i], BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  }
  /* What the scaling cannot take lies at the end of the axis. */
  be_figure_mark(figure, 47, 100, BE_SHAPE_ROUND, BE_FILL_SOLID, BE_TONE_INK);
  const char *svg = framed(figure, BE_FRAME_SCREEN, BE_DRAWN_INLINE), *at = svg;
  double px[POINTS], py[POINTS];
  for (int i = 0; i < POINTS; i++) {
    at = strstr(at + 1, "<circle");
    assert_non_null(at);
    px[i] = after(at, "cx=\"");
    py[i] = after(at, "cy=\"");
  }
  for (int i = 1; i + 1 < POINTS; i++) {
    assert_near(px[i], px[0] + (px[8] - px[0]) * i / 8, 0.1);
    assert_near(py[i], py[0] + (py[8] - py[0]) * i / 8, 0.1);
  }
  assert_non_null(strstr(svg, ">50</text>"));
  be_figure_free(figure);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(frames_keep_margins_and_sizes),
      cmocka_unit_test(grounds_are_plain),
      cmocka_unit_test(lines_with_long_names_go_on_in_parts),
      cmocka_unit_test(long_figures_go_on_in_parts),
      cmocka_unit_test(parts_have_text_of_one_size),
      cmocka_unit_test(smaller_text_comes_before_another_part),
      cmocka_unit_test(long_columns_go_on_on_another_page),
      cmocka_unit_test(names_of_lines_keep_apart),
      cmocka_unit_test(a_frame_letters_long_names),
      cmocka_unit_test(long_names_leave_no_frame),
      cmocka_unit_test(counts_in_boxes_are_kept),
      cmocka_unit_test(names_of_an_axis_fit_or_are_numbered),
      cmocka_unit_test(many_numbers_keep_apart),
      cmocka_unit_test(a_weibull_is_straight_on_its_axes),
  };
  return be_tests("chart: frames", tests);
}
