/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "test.h"
#include "units/units.h"

/* b less a. */
static double difference(const char *a, const char *b, char mark)
{
  const char *const texts[] = {a, b};
  double offsets[2] = {NAN, NAN};
  struct be_err err;
  enum be_status status = be_number_offsets(texts, 2, mark, offsets, &err);
  if (status != BE_OK) print_error("%s, %s: %s\n", a, b, err.what);
  assert_int_equal(status, BE_OK);
  assert_true(offsets[0] == 0 && !signbit(offsets[0]));
  return offsets[1];
}

/* The rounding is that of the compiler's own reading of the literal: no tolerance. */
static void differences_are_exact(void **state)
{
  (void)state;
  static const struct {
    const char *a, *b;
    double want;
  } cases[] = {
      {"1000000000000.4", "1000000000000.3", -0.1},
      {"1000000000000.4", "1000000000000.7", 0.3},
      {"1.5e3", "1500.25", 0.25},
      {"1.5e3", "15E+2", 0},
      {"-1000000000000.4", "1000000000000.3", 2000000000000.7},
      {"-7.25", "-7.3", -0.05},
      {"-7.25", "-7.2", 0.05},
      {"+7.25", "-.75", -8},
      {"9.99", "10", 0.01},
      {"10", "9.99", -0.01},
      {"0", "-0.000", 0},
      {"-0", "3.7e-5", 3.7e-5},
      {"0.000", "1e300", 1e300},
      {"0e99999", "2.5", 2.5},
      {"007.50", "8", 0.5},
      {"1234567890123456789012345678901234567890", "1234567890123456789012345678901234567891.25",
       1.25},
      {"0.1234567890123456789012345678901234567891", "0.1234567890123456789012345678901234567890",
       -1e-40},
      {"1e200", "1", -1e200},
      {"1e22", "10000000000000000000000.000000000000000000001", 1e-21},
      {"4.9e-324", "9.8e-324", 4.9e-324},
      {"9007199254740993", "18014398509481986", 9007199254740993.0},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double got = difference(cases[i].a, cases[i].b, '.');
    if (got != cases[i].want) print_error("case %zu: got %.17g\n", i, got);
    assert_true(got == cases[i].want);
    assert_true(difference(cases[i].b, cases[i].a, '.') == -cases[i].want);
  }
  assert_true(difference("1000000,4", "1000000,5", ',') == 0.1);
}

/* Integers over a power of ten, one written with an exponent and one with a mark: their
 * difference is that of the integers, whose text strtod rounds once. */
static void differences_equal_those_of_integers(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 20260304, 0);
  const int64_t most = INT64_C(1000000000000000000);
  for (int i = 0; i < 100000; i++) {
    int64_t a = (int64_t)be_random_below(&random, 2 * (uint64_t)most) - most;
    int64_t b = (int64_t)be_random_below(&random, 2 * (uint64_t)most) - most;
    if (i % 3 == 0) b = a + (int64_t)be_random_below(&random, 2001) - 1000;
    int decimals = 1 + (int)be_random_below(&random, 17);
    int64_t unit = 1;
    for (int k = 0; k < decimals; k++) unit *= 10;
    char first[96], second[96], want[96];
    snprintf(first, sizeof first, "%llde%d", (long long)a, -decimals);
    char digits[32]; /* the leading 1 keeps the zeros after the mark */
    snprintf(digits, sizeof digits, "%lld", (long long)unit + llabs((long long)(b % unit)));
    snprintf(second, sizeof second, "%s%lld.%s", b < 0 ? "-" : "", llabs((long long)(b / unit)),
             digits + 1);
    snprintf(want, sizeof want, "%llde%d", (long long)(b - a), -decimals); /* at most 2e18 */
    double got = difference(first, second, '.'), wanted = strtod(want, NULL);
    if (got != wanted) print_error("%s, %s: got %.17g, want %s\n", first, second, got, want);
    assert_true(got == wanted);
  }
}

static void what_cannot_be_read_is_named(void **state)
{
  (void)state;
  static const char *const bad[] = {"",   "twelve", "1.5 ", " 1.5", "1,5", "1.2.3", "0x10",
                                    "1e", "--2",    "inf",  "nan",  "-",   ".",     "5e+"};
  double offsets[3];
  struct be_err err;
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    const char *const texts[] = {"17.3", "17.4", bad[i]};
    assert_int_equal(be_number_offsets(texts, 3, '.', offsets, &err), BE_BAD_INPUT);
    assert_non_null(strstr(err.what, "text 3"));
    assert_non_null(strstr(err.what, bad[i]));
    assert_int_equal(be_number_offsets(&texts[2], 1, '.', offsets, NULL), BE_BAD_INPUT);
  }
  assert_int_equal(be_number_offsets(NULL, 0, '.', NULL, NULL), BE_OK);
}

static void what_does_not_fit_is_refused(void **state)
{
  (void)state;
  static const char *const pairs[][2] = {{"1", "1e999"},
                                         {"1", "1e-99999999999999999999"},
                                         {"1", "1e-1000"},
                                         {"1e308", "-1e308"},
                                         {"-1.7e308", "1.7e308"}};
  double offsets[2];
  struct be_err err;
  for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
    assert_int_equal(be_number_offsets(pairs[i], 2, '.', offsets, &err), BE_TOO_LARGE);
    assert_non_null(strstr(err.what, "text 2"));
    assert_true(strlen(err.remedy) > 0);
  }
  /* Many digits: a thousand are too many, zeros at either end are none. */
  static char longest[2100];
  memset(longest, '7', 400);
  const char *const texts[] = {longest, longest};
  assert_int_equal(be_number_offsets(texts, 2, '.', offsets, &err), BE_TOO_LARGE); /* 7e399 */
  longest[100] = '.';
  assert_int_equal(be_number_offsets(texts, 2, '.', offsets, &err), BE_OK);
  memset(longest + 101, '7', 1500);
  assert_int_equal(be_number_offsets(texts, 2, '.', offsets, &err), BE_TOO_LARGE);
  memset(longest + 101, '0', 1500);
  assert_int_equal(be_number_offsets(texts, 2, '.', offsets, &err), BE_OK);
  memset(longest, '0', 100);
  longest[500] = '7';
  assert_int_equal(be_number_offsets(texts, 2, '.', offsets, &err), BE_OK);
  assert_true(offsets[1] == 0);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(differences_are_exact),
      cmocka_unit_test(differences_equal_those_of_integers),
      cmocka_unit_test(what_cannot_be_read_is_named),
      cmocka_unit_test(what_does_not_fit_is_refused),
  };
  return be_tests("units: offsets", tests);
}
