/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"
#include "test.h"

/* Every code point, written by the table of RFC 3629, section 3. */
static size_t encode(uint32_t code, char *text)
{
  if (code < 0x80) {
    text[0] = (char)code;
    return 1;
  }
  size_t length = code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
  for (size_t i = length - 1; i > 0; i--, code >>= 6) text[i] = (char)(0x80 | (code & 0x3F));
  text[0] = (char)((0xF00u >> length & 0xF0) | code);
  return length;
}

static void every_character_is_read_back(void **state)
{
  (void)state;
  for (uint32_t code = 0; code <= 0x10FFFF; code++) {
    char text[4];
    size_t length = encode(code, text);
    uint32_t got = 7;
    size_t want = code >= 0xD800 && code < 0xE000 ? 0 : length;
    if (be_utf8_next(text, length, &got) != want || got != (want ? code : 0xFFFD))
      fail_msg("code point %X", (unsigned)code);
    if (want && length > 1 && be_utf8_next(text, length - 1, &got) != 0)
      fail_msg("code point %X cut short", (unsigned)code);
  }
}

/* All sequences of up to three bytes: the valid ones must be as many as there
 * are characters of that length, and so no other reading is let through. */
static void no_other_bytes_are_characters(void **state)
{
  (void)state;
  size_t counts[4] = {0};
  uint32_t code;
  for (uint32_t bytes = 0; bytes < 0x1000000; bytes++) {
    const char text[3] = {(char)(bytes >> 16), (char)(bytes >> 8), (char)bytes};
    counts[be_utf8_next(text, 3, &code)]++;
  }
  assert_int_equal(counts[1], 0x80 * 0x10000);
  assert_int_equal(counts[2], (0x800 - 0x80) * 0x100);
  assert_int_equal(counts[3], 0x10000 - 0x800 - 0x800);
}

static void the_end_is_told_from_an_error(void **state)
{
  (void)state;
  uint32_t code = 7;
  assert_int_equal(be_utf8_next("a", 0, &code), 0);
  assert_int_equal(code, 0);
  assert_int_equal(be_utf8_next("\xF8\x88\x80\x80\x80", 5, &code), 0);
  assert_int_equal(code, 0xFFFD);
  assert_int_equal(be_utf8_next("\xF4\x90\x80\x80", 4, &code), 0);
  assert_int_equal(code, 0xFFFD);
}

static void texts_are_valid_or_not(void **state)
{
  (void)state;
  assert_true(be_utf8_valid("", 0));
  assert_true(be_utf8_valid("3 \xC2\xB5m", 5));
  assert_true(be_utf8_valid("a\0b", 3));
  assert_false(be_utf8_valid("3 \xB5m", 4));
  assert_false(be_utf8_valid("3 \xC2\xB5m", 3));
  assert_false(be_utf8_valid("\xC0\xAF", 2));
}

static void widths_are_columns_of_a_terminal(void **state)
{
  (void)state;
  assert_int_equal(be_utf8_width(""), 0);
  assert_int_equal(be_utf8_width("Albright"), 8);
  assert_int_equal(be_utf8_width("\xC5\xBDi\xC5\xA1ka"), 5);
  assert_int_equal(be_utf8_width("e\xCC\x81t\xC3\xA9"), 3);
  assert_int_equal(be_utf8_width("\xE7\xB5\x90\xE3\x81\xB3 a"), 6);
  assert_int_equal(be_utf8_width("\xED\x95\x9C"), 2);
  assert_int_equal(be_utf8_width("a\xFF\xFE" "b"), 4);
}

static void letter_case_is_put_aside(void **state)
{
  (void)state;
  assert_true(be_text_same("", ""));
  assert_true(be_text_same("Palomar-2z", "pALOMAR-2Z"));
  assert_false(be_text_same("Palomar", "Palomar "));
  assert_false(be_text_same("Palomar", "Paloma"));
  assert_false(be_text_same("", "a"));
  assert_false(be_text_same("@[", "`{"));
  assert_false(be_text_same("\xC3\x89", "\xC3\xA9"));
}

static void a_number_is_held_to_what_it_means(void **state)
{
  (void)state;
  const char *const text = "a = 7, 83 % of %";
  for (size_t i = 0; text[i]; i++)
    if (text[i] == ' ') assert_int_equal(be_space_binds(text, i), i == 1 || i == 3 || i == 9);
  assert_false(be_space_binds(" ", 0));
  assert_false(be_space_binds(" %", 0));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_character_is_read_back),
      cmocka_unit_test(no_other_bytes_are_characters),
      cmocka_unit_test(the_end_is_told_from_an_error),
      cmocka_unit_test(texts_are_valid_or_not),
      cmocka_unit_test(widths_are_columns_of_a_terminal),
      cmocka_unit_test(letter_case_is_put_aside),
      cmocka_unit_test(a_number_is_held_to_what_it_means),
  };
  return be_tests("base: text", tests);
}
