/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Contrast by the formula of WCAG 2.2 (relative luminance, contrast ratio;
 * https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio; formula from memory). */
#include "svg_check.h"

static double channel(unsigned value)
{
  double c = value / 255.0;
  return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

static double luminance(const char *css, const char *name)
{
  char property[40];
  snprintf(property, sizeof property, "--%s:#", name);
  const char *at = strstr(css, property);
  assert_non_null(at);
  unsigned long rgb = strtoul(at + strlen(property), NULL, 16);
  return 0.2126 * channel(rgb >> 16 & 255) + 0.7152 * channel(rgb >> 8 & 255) +
         0.0722 * channel(rgb & 255);
}

static double contrast(const char *css, const char *name)
{
  double a = luminance(css, name) + 0.05, b = luminance(css, "paper") + 0.05;
  return a > b ? a / b : b / a;
}

static void text_is_legible(void **state)
{
  (void)state;
  const char *light = be_figure_style();
  const char *dark = strstr(light, "prefers-color-scheme:dark");
  const char *print = strstr(light, "@media print");
  assert_true(dark && print && print > dark);
  static const char *const names[] = {"ink",          "muted", "nylon", "braid",
                                      "fluorocarbon", "act",   "stop"};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    assert_true(contrast(light, names[i]) >= 4.5);
    assert_true(contrast(dark, names[i]) >= 4.5);
    assert_true(contrast(print, names[i]) >= 4.5);
  }
  /* The formula itself: black on white is 21 : 1. */
  assert_near(contrast(print, "ink"), 21, 1e-9);
}

static void every_tone_has_its_rules(void **state)
{
  (void)state;
  const char *style = be_figure_style();
  static const char *const names[] = {"ink",   "muted",        "hairline", "nylon",
                                      "braid", "fluorocarbon", "act",      "stop"};
  for (int tone = BE_TONE_INK; tone <= BE_TONE_STOP; tone++) {
    char rule[60];
    snprintf(rule, sizeof rule, ".figure .fill-%s{fill:#", names[tone]);
    assert_int_equal(count_of(style, rule), 1);
    snprintf(rule, sizeof rule, ";stroke:var(--%s)}", names[tone]);
    assert_int_equal(count_of(style, rule), 1);
    struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
    be_figure_note(figure, 0.3, 0.3, "n", BE_ANCHOR_END, (enum be_tone)tone);
    snprintf(rule, sizeof rule, "class=\"fill-%s stroke-paper\"", names[tone]);
    assert_int_equal(count_of(drawn(figure, false, false), rule), 1);
    be_figure_free(figure);
  }
}

/* The strokes of a box of a pattern, all in one tone: how many rise, fall, lie and stand. */
struct strokes {
  size_t rising, falling, level, upright, dots;
  bool solid;
};

static struct strokes strokes_of(enum be_pattern pattern)
{
  struct strokes strokes = {0};
  struct be_figure *figure = be_figure_create("t", NULL, 613, 299);
  be_figure_means(figure, "events");
  be_figure_box(figure, 0.1, 0.2, 0.9, 0.7, pattern, BE_TONE_STOP, NULL);
  const char *svg = drawn(figure, false, false), *at = strstr(svg, "stroke-stop\" fill=\"none\"");
  assert_well_formed(svg);
  strokes.solid = strstr(svg, "fill-stop stroke-stop") != NULL;
  while (at && at > svg && strncmp(at, "d=\"", 3) != 0) at--;
  for (; at && *at && strncmp(at, "\" class", 7) != 0; at++) {
    double x1, y1, x2, y2;
    char how;
    if (*at != 'M' || sscanf(at, "M%lf %lf%c%lf %lf", &x1, &y1, &how, &x2, &y2) < 4) continue;
    strokes.level += how == 'H';
    strokes.upright += how == 'V';
    strokes.dots += how == 'h';
    strokes.rising += how == 'L' && (x2 - x1) * (y2 - y1) < 0;
    strokes.falling += how == 'L' && (x2 - x1) * (y2 - y1) > 0;
  }
  be_figure_free(figure);
  return strokes;
}

/* In grey, and to whoever sees tones otherwise, direction tells patterns apart. */
static void patterns_need_no_tone(void **state)
{
  (void)state;
  struct strokes all[BE_PATTERNS];
  for (int i = 0; i < BE_PATTERNS; i++) all[i] = strokes_of((enum be_pattern)i);
  assert_true(!all[BE_PATTERN_NONE].solid && all[BE_PATTERN_SOLID].solid);
  assert_true(all[BE_PATTERN_RISING].rising > 20 && all[BE_PATTERN_RISING].falling == 0);
  assert_true(all[BE_PATTERN_FALLING].falling > 20 && all[BE_PATTERN_FALLING].rising == 0);
  assert_true(all[BE_PATTERN_CROSSED].falling > 20 && all[BE_PATTERN_CROSSED].rising > 20);
  assert_true(all[BE_PATTERN_LEVEL].level > 10 && all[BE_PATTERN_UPRIGHT].upright > 20);
  assert_true(all[BE_PATTERN_DOTS].dots > 200);
  for (int i = 0; i < BE_PATTERNS; i++)
    for (int k = 0; k < i; k++) assert_memory_not_equal(&all[i], &all[k], sizeof all[i]);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(text_is_legible),
      cmocka_unit_test(every_tone_has_its_rules),
      cmocka_unit_test(patterns_need_no_tone),
  };
  return be_tests("chart: tones", tests);
}
