/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "test.h"
#include "units/units.h"

static void scan_equals_strtod(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 20260301, 0);
  for (int i = 0; i < 200000; i++) {
    char text[96];
    double wide = be_random_normal(&random) * pow(10, (double)be_random_below(&random, 40) - 20);
    int digits = (int)be_random_below(&random, 18);
    if (i % 3 == 0) snprintf(text, sizeof text, "%.*f", digits, wide);
    else if (i % 3 == 1) snprintf(text, sizeof text, "%.*e", digits, wide);
    else snprintf(text, sizeof text, "%.*g", digits, wide);
    double got = 0;
    size_t length = be_number_scan(text, strlen(text), '.', &got);
    assert_int_equal(length, strlen(text));
    double want = strtod(text, NULL);
    assert_memory_equal(&got, &want, sizeof got);
  }
}

static void scan_reads_what_rigs_write(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    char mark;
    size_t length;
    double value;
  } cases[] = {
      {"258,572\t3", ',', 7, 258.572}, {"-8,52", ',', 5, -8.52},  {"+0001.234kg", '.', 9, 1.234},
      {".5", '.', 2, 0.5},             {"7.", '.', 2, 7},         {"8.73E-05,", '.', 8, 8.73e-5},
      {"12e", '.', 2, 12},             {"3,7", '.', 1, 3},        {"-", '.', 0, 0},
      {".", '.', 0, 0},                {"nan", '.', 0, 0},        {"0x10", '.', 1, 0},
      {"1e400", '.', 5, INFINITY},     {"9007199254740993", '.', 16, 9007199254740992.0},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value = 0;
    assert_int_equal(be_number_scan(cases[i].text, strlen(cases[i].text), cases[i].mark, &value),
                     cases[i].length);
    assert_true(value == cases[i].value);
  }
}

static void parse_follows_the_stated_rule(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    char usual;
    enum be_status status;
    double value;
    enum be_number_style style;
  } cases[] = {
      {"14,5", '.', BE_OK, 14.5, BE_NUMBER_COMMA},
      {"14.5", ',', BE_OK, 14.5, BE_NUMBER_POINT},
      {"14,5", ',', BE_OK, 14.5, BE_NUMBER_PLAIN},
      {"1,234", '.', BE_ASK, 0, BE_NUMBER_PLAIN},
      {"1,234", 0, BE_ASK, 0, BE_NUMBER_PLAIN},
      {"1.234", 0, BE_OK, 1.234, BE_NUMBER_PLAIN},
      {"1.234", ',', BE_ASK, 0, BE_NUMBER_PLAIN},
      {"1,234,567", '.', BE_OK, 1234567, BE_NUMBER_THOUSANDS},
      {"1.234.567", '.', BE_OK, 1234567, BE_NUMBER_THOUSANDS},
      {"1,234.5", '.', BE_OK, 1234.5, BE_NUMBER_THOUSANDS},
      {"1.234,5", '.', BE_OK, 1234.5, BE_NUMBER_THOUSANDS},
      {"1 234.5", '.', BE_OK, 1234.5, BE_NUMBER_THOUSANDS},
      {"1'234'567", '.', BE_OK, 1234567, BE_NUMBER_THOUSANDS},
      {"12\u202F345,6", ',', BE_OK, 12345.6, BE_NUMBER_THOUSANDS},
      {"14,5,6", '.', BE_BAD_INPUT, 0, BE_NUMBER_PLAIN},
      {"1 2", '.', BE_BAD_INPUT, 0, BE_NUMBER_PLAIN},
      {"", '.', BE_BAD_INPUT, 0, BE_NUMBER_PLAIN},
      {"twelve", '.', BE_BAD_INPUT, 0, BE_NUMBER_PLAIN},
      {" 33.5 ", '.', BE_OK, 33.5, BE_NUMBER_PLAIN},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value = 0;
    enum be_number_style style = BE_NUMBER_PLAIN;
    struct be_err err;
    enum be_status status = be_number_parse(cases[i].text, strlen(cases[i].text), cases[i].usual,
                                            &value, &style, &err);
    if (status != cases[i].status) print_error("case %zu: %s\n", i, cases[i].text);
    assert_int_equal(status, cases[i].status);
    if (status != BE_OK) continue;
    assert_true(value == cases[i].value);
    assert_int_equal(style, cases[i].style);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(scan_equals_strtod),
      cmocka_unit_test(scan_reads_what_rigs_write),
      cmocka_unit_test(parse_follows_the_stated_rule),
  };
  return be_tests("units: numbers", tests);
}
