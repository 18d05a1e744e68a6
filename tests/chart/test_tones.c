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

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(text_is_legible),
      cmocka_unit_test(every_tone_has_its_rules),
  };
  return be_tests("chart: tones", tests);
}
