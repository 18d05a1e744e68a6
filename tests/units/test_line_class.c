/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "test.h"
#include "units/units.h"

static double force(const char *text)
{
  struct be_quantity quantity;
  assert_int_equal(be_quantity_parse(text, strlen(text), BE_FORCE, NULL, '.', &quantity, NULL),
                   BE_OK);
  return quantity.value;
}

/* The published limits in pounds (2.2, 4.4, 6.61, 8.81, 13.22, 17.63, 22.04, 33.06, 52.91, 81.57,
 * 132.27) are those of whole kilograms, cut off: they are in their class, a hundredth more is not.
 */
static void the_published_limits_are_the_last_of_their_class(void **state)
{
  (void)state;
  static const struct {
    const char *limit, *beyond;
    int kg, lb;
  } cases[] = {{"2.20 lb", "2.21 lb", 1, 2},       {"4.40 lb", "4.41 lb", 2, 4},
               {"6.61 lb", "6.62 lb", 3, 6},       {"8.81 lb", "8.82 lb", 4, 8},
               {"13.22 lb", "13.23 lb", 6, 12},    {"17.63 lb", "17.64 lb", 8, 16},
               {"22.04 lb", "22.05 lb", 10, 20},   {"33.06 lb", "33.07 lb", 15, 30},
               {"52.91 lb", "52.92 lb", 24, 50},   {"81.57 lb", "81.58 lb", 37, 80},
               {"132.27 lb", "132.28 lb", 60, 130}};
  size_t count = sizeof cases / sizeof cases[0];
  for (size_t i = 0; i < count; i++) {
    const struct be_line_class *is = be_line_class_of(force(cases[i].limit));
    assert_non_null(is);
    assert_int_equal(is->kg, cases[i].kg);
    assert_int_equal(is->lb, cases[i].lb);
    const struct be_line_class *next = be_line_class_of(force(cases[i].beyond));
    if (i + 1 == count) assert_null(next);
    else assert_int_equal(next->kg, cases[i + 1].kg);
  }
}

static void a_whole_kilogram_is_in_its_class(void **state)
{
  (void)state;
  assert_int_equal(be_line_class_of(force("37 kg"))->kg, 37);
  assert_int_equal(be_line_class_of(force("37000 g"))->kg, 37);
  assert_near(be_line_class_of(force("36.9 kg"))->limit_N, 362.84605, 1e-9);
  assert_int_equal(be_line_class_of(force("37.0001 kg"))->kg, 60);
}

static void what_is_no_load_is_in_no_class(void **state)
{
  (void)state;
  assert_null(be_line_class_of(NAN));
  assert_null(be_line_class_of(0));
  assert_null(be_line_class_of(-17.3));
  assert_null(be_line_class_of(INFINITY));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_published_limits_are_the_last_of_their_class),
      cmocka_unit_test(a_whole_kilogram_is_in_its_class),
      cmocka_unit_test(what_is_no_load_is_in_no_class),
  };
  return be_tests("units: line classes", tests);
}
