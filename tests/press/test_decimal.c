/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers of a page for a reader who writes a comma before decimals. */
#include "sample.h"

static void becomes(const char *page, const char *wanted)
{
  struct be_buf out;
  be_buf_init(&out, 100000);
  be_html_comma(page, strlen(page), &out);
  assert_int_equal(out.status, BE_OK);
  assert_string_equal(out.data ? out.data : "", wanted);
  be_buf_free(&out);
}

static void numbers_that_stand_alone(void **state)
{
  (void)state;
  becomes("<p>It held 62.5 N.</p>", "<p>It held 62,5 N.</p>");
  becomes("<td>12.25</td><td>-3.75</td><td>\xE2\x88\x92"
          "0.5</td>",
          "<td>12,25</td><td>-3,75</td><td>\xE2\x88\x92"
          "0,5</td>");
  becomes("up to 1.5.", "up to 1,5.");
  becomes("(0.05 to 0.95)", "(0,05 to 0,95)");
  becomes("by 3.25% or 1/2.5", "by 3,25% or 1/2,5");
  becomes("10,000 pulls, 1,234,567.5 N", "10\xE2\x80\xAF"
                                         "000 pulls, 1\xE2\x80\xAF"
                                         "234\xE2\x80\xAF"
                                         "567,5 N");
}

static void two_numbers_stay_two(void **state)
{
  (void)state;
  becomes("[72.1, 88.0]", "[72,1; 88,0]");
  becomes("[-0.5, -0.25]", "[-0,5; -0,25]");
  becomes("pulls 3, 4 and 5", "pulls 3; 4 and 5");
  becomes("in 2026, it was", "in 2026, it was");
}

static void names_stay(void **state)
{
  (void)state;
  static const char *const names[] = {"T1.12",       "pull-1.5.csv", "v2.0a", "127.0.0.1",
                                      "12:30:05.25", "2026-11-26",   "1.2.3", "0x1.8",
                                      "A1,000",      "1,0000",       "12,34"};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) becomes(names[i], names[i]);
}

static void tags_stay(void **state)
{
  (void)state;
  becomes("<a href=\"/x?y=1.5\" title=\"a > 2.5\">1.5</a>",
          "<a href=\"/x?y=1.5\" title=\"a > 2.5\">1,5</a>");
  becomes("<input value=\" 1.5 \">", "<input value=\" 1.5 \">");
  becomes("<p 1.5", "<p 1.5");
  becomes("", "");
  becomes("1.5", "1,5");
  becomes("1.", "1.");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(numbers_that_stand_alone),
      cmocka_unit_test(two_numbers_stay_two),
      cmocka_unit_test(names_stay),
      cmocka_unit_test(tags_stay),
  };
  return be_tests("press: decimal", tests);
}
