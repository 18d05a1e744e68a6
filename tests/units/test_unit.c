/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "test.h"
#include "units/units.h"

/* NIST SP 811 (2008), appendix B.8: 1 lbf = 4.448 221 615 260 5 N exactly,
 * 1 kgf = 9.806 65 N exactly; 1 ozf is a sixteenth of a pound. */
static void factors_are_the_defined_ones(void **state)
{
  (void)state;
  assert_near(be_unit_find("lbf", 3)->factor, 4.4482216152605, 1e-15);
  assert_near(be_unit_find("kgf", 3)->factor, 9.80665, 0);
  assert_near(be_unit_find("oz", 2)->factor, 0.27801385095378125, 1e-16);
  assert_near(be_unit_find_in(BE_LINEAR_DENSITY, "den", 3)->factor * 9, 1e-6, 1e-20);
}

static void spellings_find_their_unit(void **state)
{
  (void)state;
  static const struct {
    const char *text, *name;
  } cases[] = {{"LB", "lb"},      {"lbs.", "lb"}, {" Kgf ", "kg"},  {"kn", "kN"},
               {"mN", "mN"},      {"DAN", "daN"}, {"Newton", "N"},  {"mm", "mm"},
               {"MM", "mm"},      {"sec", "s"},   {"g", "g"},       {"\xC2\xB5m", "um"},
               {"V", "V"},        {"mv", "mV"},   {"MN", "MN"},     {"mn", "mN"},
               {"kp", "kg"},      {"Lb.", "lb"},  {"gf", "g"},      {"\u00B5s", "us"},
               {"usec", "us"},    {"Ms", "ms"},   {"\u00A0N", "N"}, {"OZF", "oz"},
               {"Sekunden", "s"}, {"h", "h"},     {"cN", "cN"},     {"Zoll", "in"}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const struct be_unit *unit = be_unit_find(cases[i].text, strlen(cases[i].text));
    assert_non_null(unit);
    assert_string_equal(unit->name, cases[i].name);
  }
  assert_null(be_unit_find("stone", 5));
  assert_null(be_unit_find("Mn", 2));
  /* A German pound is half a kilogram to some and 0.454 kg to others. */
  assert_null(be_unit_find("Pfund", 5));
  assert_null(be_unit_find("tonf", 4));
  assert_null(be_unit_find("", 0));
  assert_string_equal(be_unit_find_in(BE_TIME, "m", 1)->name, "min");
  assert_string_equal(be_unit_find_in(BE_LENGTH, "m", 1)->name, "m");
}

static void spellings_of_other_languages_are_known(void **state)
{
  (void)state;
  static const struct {
    const char *text, *name;
  } cases[] = {{"牛", "N"},           {"牛顿", "N"},    {"牛頓", "N"},        {"ニュートン", "N"},
               {"千牛", "kN"},        {"公斤", "kg"},   {"千克", "kg"},       {"公斤力", "kg"},
               {"kg重", "kg"},        {"克", "g"},      {"磅", "lb"},         {"ポンド", "lb"},
               {"libras", "lb"},      {"onzas", "oz"},  {"毫米", "mm"},       {"ミリ", "mm"},
               {"公分", "cm"},        {"pouces", "in"}, {"Millimeter", "mm"}, {"milímetros", "mm"},
               {"segundos", "s"},     {"secondi", "s"}, {"秒", "s"},          {"毫秒", "ms"},
               {"ミリ秒", "ms"},      {"分", "min"},    {"Minuten", "min"},   {"小时", "h"},
               {"quilogramas", "kg"}, {"grammes", "g"}, {"décanewton", "daN"}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const struct be_unit *unit = be_unit_find(cases[i].text, strlen(cases[i].text));
    if (!unit) print_error("%s\n", cases[i].text);
    assert_non_null(unit);
    assert_string_equal(unit->name, cases[i].name);
  }
}

static void quantities_carry_their_unit(void **state)
{
  (void)state;
  const struct be_unit *lb = be_unit_find("lb", 2);
  struct be_quantity q;
  struct be_err err;
  assert_int_equal(be_quantity_parse("20 lb", 5, BE_FORCE, NULL, '.', &q, &err), BE_OK);
  assert_near(q.value, 88.964432305210, 1e-12);
  assert_int_equal(be_quantity_parse("14,5", 4, BE_FORCE, lb, '.', &q, &err), BE_OK);
  assert_near(q.value, 14.5 * lb->factor, 0);
  assert_int_equal(q.style, BE_NUMBER_COMMA);
  assert_int_equal(be_quantity_parse("6.2kg", 5, BE_FORCE, lb, '.', &q, &err), BE_OK);
  assert_string_equal(q.unit->name, "kg");
  assert_int_equal(be_quantity_parse("1e3 N", 5, BE_FORCE, lb, '.', &q, &err), BE_OK);
  assert_near(q.value, 1000, 0);
  assert_int_equal(be_quantity_parse("7", 1, BE_FORCE, NULL, '.', &q, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "no unit"));
  assert_int_equal(be_quantity_parse("7 mm", 4, BE_FORCE, lb, '.', &q, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "not a unit of force"));
  assert_int_equal(be_quantity_parse("abc", 3, BE_FORCE, lb, '.', &q, &err), BE_BAD_INPUT);
}

/* The steam point: 100 degrees Celsius are 212 degrees Fahrenheit and 373.15 K. */
static void temperatures_have_zeros_of_their_own(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    double kelvin;
  } cases[] = {{"100 C", 373.15},
               {"212 F", 373.15},
               {"373.15 K", 373.15},
               {"-40\u00B0C", 233.15},
               {"-40 \u00B0F", 233.15},
               {"21 deg C", 294.15},
               {"0 degrees F", 255.372222222222},
               {"4,5 \u2103", 277.65},
               {"0 celsius", 273.15}};
  struct be_quantity q;
  struct be_err err;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const char *text = cases[i].text;
    assert_int_equal(be_quantity_parse(text, strlen(text), BE_TEMPERATURE, NULL, 0, &q, &err),
                     BE_OK);
    assert_near(q.value, cases[i].kelvin, 1e-10);
    assert_near(be_unit_to_si(be_unit_from_si(q.value, q.unit), q.unit), q.value, 1e-12);
  }
  assert_int_equal(be_quantity_parse("21 N", 4, BE_TEMPERATURE, NULL, 0, &q, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "not a unit of temperature"));
  assert_int_equal(be_quantity_parse("21 deg", 6, BE_TEMPERATURE, NULL, 0, &q, &err), BE_BAD_INPUT);
  assert_null(be_unit_find("C", 1));
  assert_null(be_unit_find("K", 1));
  assert_string_equal(be_unit_si(BE_TEMPERATURE)->name, "K");
  char text[32];
  be_quantity_print(text, sizeof text, 294.15, be_unit_find_in(BE_TEMPERATURE, "f", 1), 1);
  assert_string_equal(text, "69.8");
}

static void pounds_and_ounces_are_one_weight(void **state)
{
  (void)state;
  const struct be_unit *lb = be_unit_find("lb", 2);
  static const char *const good[] = {"12lb4oz", "12 lb 4 oz", "12 lbs 4.0oz"};
  static const char *const bad[] = {"12lb17oz", "12.5lb4oz", "-1lb4oz", "12kg4oz", "12lb4",
                                    "12lb4kg",  "12lb oz",   "12oz4lb", "12lb-4oz"};
  struct be_quantity q;
  struct be_err err;
  for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
    if (be_quantity_parse(good[i], strlen(good[i]), BE_FORCE, NULL, '.', &q, &err) != BE_OK)
      fail_msg("%s: %s", good[i], err.what);
    assert_near(q.value, 12.25 * lb->factor, 1e-12);
    assert_ptr_equal(q.unit, lb);
  }
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
    if (be_quantity_parse(bad[i], strlen(bad[i]), BE_FORCE, lb, '.', &q, NULL) == BE_OK)
      fail_msg("taken: %s", bad[i]);
}

static void printing_converts_at_the_edge(void **state)
{
  (void)state;
  char text[32];
  be_quantity_print(text, sizeof text, 141.89826952681, be_unit_find("lb", 2), 1);
  assert_string_equal(text, "31.9");
  be_quantity_print(text, sizeof text, NAN, be_unit_find("lb", 2), 1);
  assert_string_equal(text, "-");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(factors_are_the_defined_ones),
      cmocka_unit_test(spellings_find_their_unit),
      cmocka_unit_test(spellings_of_other_languages_are_known),
      cmocka_unit_test(quantities_carry_their_unit),
      cmocka_unit_test(temperatures_have_zeros_of_their_own),
      cmocka_unit_test(pounds_and_ounces_are_one_weight),
      cmocka_unit_test(printing_converts_at_the_edge),
  };
  return be_tests("units: units", tests);
}
