/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "trace/text/text.h"
#include "trace_test.h"

static struct be_span span(const char *text)
{
  return (struct be_span){text, strlen(text)};
}

static void numbers_are_read_in_every_dress(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    char decimal;
    double value;
  } cases[] = {
      {"12.5", '.', 12.5},
      {"12,5", ',', 12.5},
      {"+0012.34", '.', 12.34},
      {"+   12.34", '.', 12.34},
      {"-  12.34", '.', -12.34},
      {"\u221212.34", '.', -12.34}, /* a typeset minus */
      {"\u20137,5", ',', -7.5},     /* a dash for one */
      {"\u2212.5", '.', -0.5},
      {"1.234,5", ',', 1234.5},
      {"1,234.5", '.', 1234.5},
      {"1'234.5", '.', 1234.5},
      {"1\u2019234.5", '.', 1234.5},
      {"1 234,5", ',', 1234.5},
      {"1\u00A0234,5", ',', 1234.5},
      {"1\u202F234\u202F567,25", ',', 1234567.25},
      {"1\u2009234.5", '.', 1234.5},
      {"1.234.567", ',', 1234567},
      {"-1,234,567.25", '.', -1234567.25},
      {"1,5E+02", ',', 150},
      {"8.73E-05", '.', 8.73e-5},
      {"1.5D+02", '.', 150},
      {"1,5d-02", ',', 0.015},
      {"12.3N", '.', 12.3},
      {"12.3 N", '.', 12.3},
      {"5kg", '.', 5},
      {"1'234,5 kgf", ',', 1234.5},
      {"\u22123.25 lb", '.', -3.25},
      {"7公斤", '.', 7},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value = NAN;
    enum be_cell_kind kind = be_cell_read(span(cases[i].text), cases[i].decimal, &value);
    if (kind != BE_CELL_NUMBER) print_error("%s\n", cases[i].text);
    assert_int_equal(kind, BE_CELL_NUMBER);
    assert_near(value, cases[i].value, 0);
  }
}

static void what_is_no_number_is_told_apart(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    enum be_cell_kind kind;
  } cases[] = {
      {"", BE_CELL_EMPTY},          {"12x4", BE_CELL_BROKEN},
      {"2.5*", BE_CELL_BROKEN},     {"1,234", BE_CELL_BROKEN},
      {"1,5", BE_CELL_BROKEN},      {"12 34.5", BE_CELL_BROKEN},
      {"1.5D02", BE_CELL_BROKEN},   {"15D+02", BE_CELL_BROKEN},
      {"1e999", BE_CELL_BROKEN},    {"5 tonf", BE_CELL_BROKEN},
      {"5 mm/min", BE_CELL_BROKEN}, {"1.5\"", BE_CELL_BROKEN},
      {"1.2.3", BE_CELL_BROKEN},    {"--5", BE_CELL_TEXT},
      {"force", BE_CELL_TEXT},      {"N", BE_CELL_TEXT},
      {"\u22125x", BE_CELL_BROKEN}, {"2026-03-04", BE_CELL_DATE},
      {"03.04.2026", BE_CELL_DATE}, {"3/4/26", BE_CELL_DATE},
      {"4-Mar-2026", BE_CELL_DATE}, {"2026年03月04日", BE_CELL_DATE},
      {"1-2", BE_CELL_BROKEN},      {"12.3.4.5", BE_CELL_BROKEN},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value;
    enum be_cell_kind kind = be_cell_read(span(cases[i].text), '.', &value);
    if (kind != cases[i].kind) print_error("%s\n", cases[i].text);
    assert_int_equal(kind, cases[i].kind);
  }
}

static void words_for_no_value_are_known(void **state)
{
  (void)state;
  static const char *const missing[] = {"nan",  "NaN",   "N/A",        "n.a.", "--",     "---",
                                        "-",    "#N/A",  "no reading", "欠測", "k.A.",   "s/d",
                                        "null", "--.--", "\u2014",     "...",  "1.#QNAN"};
  static const char *const over[] = {"OL",     "O.L.",     "+OL",    "-OL",       "Inf",
                                     "-inf",   "Over",     "^^^",    "****",      "OVLD",
                                     "1.#INF", "Überlast", "超量程", "over range"};
  double value;
  for (size_t i = 0; i < sizeof missing / sizeof missing[0]; i++) {
    assert_int_equal(be_cell_read(span(missing[i]), '.', &value), BE_CELL_MISSING);
    assert_false(be_span_is_over(span(missing[i])));
  }
  for (size_t i = 0; i < sizeof over / sizeof over[0]; i++) {
    assert_int_equal(be_cell_read(span(over[i]), '.', &value), BE_CELL_MISSING);
    assert_true(be_span_is_over(span(over[i])));
  }
}

static void clocks_are_read_in_every_form(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    double seconds;
  } cases[] = {
      {"12:03:07", 43387},
      {"12:03:07.25", 43387.25},
      {"12:03:07,25", 43387.25},
      {"12:03:07:250", 43387.25},
      {"0:00:01:007", 1.007},
      {"3:07.25", 187.25},
      {"12:01", 721},
      {"120:05.5", 7205.5},
      {"2026-03-04 10:11:12.5", 36672.5},
      {"2026-03-04T10:11:12.5Z", 36672.5},
      {"2026-03-04T10:11:12.5+02:00", 36672.5},
      {"2026-03-04T10:11:12-0500", 36672},
      {"04.03.2026 10:11:12", 36672},
      {"4 Mar 2026 10:11:12", 36672},
      {"3/4/2026 10:11:12 AM", 36672},
      {"3/4/2026 10:11:12 PM", 79872},
      {"12:00:05 AM", 5},
      {"12:00:05 p.m.", 43205},
      {"下午 1:00:05", 46805},
      {"2026-03-04 10:11", 36660},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value = NAN;
    enum be_cell_kind kind = be_cell_read(span(cases[i].text), '.', &value);
    if (kind != BE_CELL_CLOCK) print_error("%s\n", cases[i].text);
    assert_int_equal(kind, BE_CELL_CLOCK);
    assert_near(value, cases[i].seconds, 1e-12 * cases[i].seconds);
  }
  static const char *const wrong[] = {"12:61:00",    "12:00:61",     "13:00:05 PM", "1:2:3:4:5",
                                      "at 12:00:05", "12:",          ":30",         "12:00:05 CET?",
                                      "a:b:c",       "12:03:07:2500"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    double value;
    if (be_cell_read(span(wrong[i]), '.', &value) == BE_CELL_CLOCK) print_error("%s\n", wrong[i]);
    assert_int_not_equal(be_cell_read(span(wrong[i]), '.', &value), BE_CELL_CLOCK);
  }
}

static void a_clock_goes_on_past_midnight(void **state)
{
  (void)state;
  struct be_clock_run run = {0};
  assert_near(be_clock_go_on(&run, 86399.5), 86399.5, 0);
  assert_near(be_clock_go_on(&run, 0.25), 86400.25, 0);
  assert_near(be_clock_go_on(&run, 1.25), 86401.25, 0);
  run = (struct be_clock_run){0}; /* 12:59:59 to 1:00:00 */
  be_clock_go_on(&run, 46799);
  assert_near(be_clock_go_on(&run, 3600), 46800, 0);
  run = (struct be_clock_run){0}; /* a clock set back, or another test */
  be_clock_go_on(&run, 50000);
  assert_near(be_clock_go_on(&run, 40000), 40000, 0);
}

static void units_behind_numbers_are_told(void **state)
{
  (void)state;
  assert_string_equal(be_cell_unit(span("12.3N"), '.')->name, "N");
  assert_string_equal(be_cell_unit(span("12,3 Kgf"), ',')->name, "kg");
  assert_string_equal(be_cell_unit(span("1.5E+02 lb"), '.')->name, "lb");
  assert_null(be_cell_unit(span("12.3"), '.'));
  assert_null(be_cell_unit(span("12.3 tonf"), '.'));
  assert_null(be_cell_unit(span("N"), '.'));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(numbers_are_read_in_every_dress),
      cmocka_unit_test(what_is_no_number_is_told_apart),
      cmocka_unit_test(words_for_no_value_are_known),
      cmocka_unit_test(clocks_are_read_in_every_form),
      cmocka_unit_test(a_clock_goes_on_past_midnight),
      cmocka_unit_test(units_behind_numbers_are_told),
  };
  return be_tests("trace: cells", tests);
}
