/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stats/stats.h"
#include "fault/failing.h"
#include "test.h"

enum { MOST = 14 };

static void set_apart(bool *apart, size_t count, size_t a, size_t b)
{
  apart[a * count + b] = apart[b * count + a] = true;
}

/* Two share a letter exactly where they are not apart, and each has one; no letter could be
 * left out. */
static void check_display(const bool *apart, size_t count, const uint64_t *letters)
{
  uint64_t used = 0;
  for (size_t a = 0; a < count; a++) {
    used |= letters[a];
    assert_true(letters[a] != 0);
    for (size_t b = 0; b < count; b++)
      if (a != b) assert_true(((letters[a] & letters[b]) != 0) == !apart[a * count + b]);
  }
  assert_true((used & (used + 1)) == 0); /* from a on without a gap */
  for (uint64_t bit = 1; bit & used; bit <<= 1) {
    bool needed = false;
    for (size_t a = 0; a < count; a++)
      for (size_t b = a; b < count; b++) needed = needed || (letters[a] & letters[b]) == bit;
    assert_true(needed);
  }
}

static void letters_say_what_is_apart(void **state)
{
  (void)state;
  struct be_random random;
  be_random_init(&random, 41, 3);
  for (int trial = 0; trial < 3000; trial++) {
    size_t count = 1 + (size_t)be_random_below(&random, MOST);
    double share = be_random_unit(&random), order[MOST];
    bool apart[MOST * MOST] = {0};
    uint64_t letters[MOST];
    for (size_t a = 0; a < count; a++) {
      order[a] = be_random_normal(&random);
      for (size_t b = 0; b < a; b++)
        if (be_random_unit(&random) < share) set_apart(apart, count, a, b);
    }
    assert_int_equal(be_letters(apart, order, count, letters, NULL), BE_OK);
    check_display(apart, count, letters);
    size_t highest = 0;
    for (size_t a = 0; a < count; a++)
      if (order[a] > order[highest]) highest = a;
    assert_true(letters[highest] & 1);
  }
}

/* Sets in a row, apart where more than two steps lie between: a chain of letters. */
static void letters_of_a_row_run_along_it(void **state)
{
  (void)state;
  bool apart[36] = {0};
  double order[6];
  uint64_t letters[6];
  for (size_t a = 0; a < 6; a++) {
    order[a] = 100 - 7.3 * (double)a;
    for (size_t b = 0; b < a; b++)
      if (a - b > 2) set_apart(apart, 6, a, b);
  }
  assert_int_equal(be_letters(apart, order, 6, letters, NULL), BE_OK);
  static const char *const want[] = {"a", "ab", "abc", "bcd", "cd", "d"};
  for (size_t a = 0; a < 6; a++) {
    char text[160];
    be_letters_text(letters[a], text, sizeof text);
    assert_string_equal(text, want[a]);
  }
  for (size_t a = 0; a < 6; a++) order[a] = -order[a]; /* the other end is now the highest */
  order[2] = NAN;                                      /* unknown: last */
  assert_int_equal(be_letters(apart, order, 6, letters, NULL), BE_OK);
  assert_true(letters[5] == 1 && letters[0] == 8);
}

static void too_many_letters_are_refused(void **state)
{
  (void)state;
  enum { ROW = 65 };
  static bool apart[ROW * ROW];
  double order[ROW];
  uint64_t letters[ROW];
  for (size_t a = 0; a < ROW; a++) {
    order[a] = (double)a;
    for (size_t b = 0; b < a; b++) set_apart(apart, ROW, a, b);
  }
  struct be_err err;
  assert_int_equal(be_letters(apart, order, ROW, letters, &err), BE_TOO_LARGE);
  assert_non_null(strstr(err.what, "65 sets"));
  /* One fewer just fits. */
  static bool fewer[64 * 64];
  for (size_t a = 0; a < 64; a++)
    for (size_t b = 0; b < 64; b++) fewer[a * 64 + b] = a != b;
  assert_int_equal(be_letters(fewer, order, 64, letters, NULL), BE_OK);
  assert_true(letters[63] == 1 && letters[0] == UINT64_C(1) << 63);
  /* Ten pairs apart make a thousand columns. */
  static bool pairs[20 * 20];
  for (size_t a = 0; a < 20; a += 2) set_apart(pairs, 20, a, a + 1);
  assert_int_equal(be_letters(pairs, order, 20, letters, NULL), BE_TOO_LARGE);
  assert_int_equal(be_letters(NULL, NULL, 0, NULL, NULL), BE_OK);
}

static void letters_are_written(void **state)
{
  (void)state;
  char text[160];
  be_letters_text(0xB, text, sizeof text);
  assert_string_equal(text, "abd");
  be_letters_text(UINT64_C(1) << 25 | UINT64_C(1) << 26 | UINT64_C(1) << 63, text, sizeof text);
  assert_string_equal(text, "za2l3");
  be_letters_text(UINT64_MAX, text, sizeof text);
  assert_int_equal(strlen(text), 26 + 38 * 2);
  be_letters_text(0xB, text, 3);
  assert_string_equal(text, "ab");
  be_letters_text(0, text, sizeof text);
  assert_string_equal(text, "");
}

static enum be_status letters_trial(void *context, struct be_err *err)
{
  (void)context;
  static const bool apart[] = {false, true, true, false};
  static const double order[] = {3.3, 4.4};
  uint64_t letters[2];
  return be_letters(apart, order, 2, letters, err);
}

static void memory_may_fail(void **state)
{
  (void)state;
  be_fail_loop(letters_trial, NULL, 3);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(letters_say_what_is_apart),
      cmocka_unit_test(letters_of_a_row_run_along_it),
      cmocka_unit_test(too_many_letters_are_refused),
      cmocka_unit_test(letters_are_written),
      cmocka_unit_test(memory_may_fail),
  };
  return be_tests("stats: letters", tests);
}
