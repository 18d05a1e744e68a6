/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"
#include "test.h"

/* The exit statuses are a contract with scripts: 0 done, 1 no, 2 wrong use,
 * 3 bad input, 4 the machine failed. */
static void each_status_has_words_and_an_exit(void **state)
{
  (void)state;
  static const struct {
    enum be_status status;
    int exits;
  } cases[] = {
      {BE_OK, 0},  {BE_NO, 1},        {BE_WRONG_USE, 2}, {BE_BAD_INPUT, 3},
      {BE_ASK, 3}, {BE_TOO_LARGE, 3}, {BE_NO_MEMORY, 4}, {BE_FAILED, 4},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    assert_int_equal(be_status_exit(cases[i].status), cases[i].exits);
    assert_true(strlen(be_status_words(cases[i].status)) > 3);
    for (size_t k = 0; k < i; k++)
      assert_string_not_equal(be_status_words(cases[i].status), be_status_words(cases[k].status));
  }
}

static void an_error_says_what_where_and_what_to_do(void **state)
{
  (void)state;
  struct be_err err;
  memset(&err, 'x', sizeof err);
  assert_int_equal(be_fail(&err, BE_BAD_INPUT, "row %d has %s", 17, "no load"), BE_BAD_INPUT);
  assert_string_equal(err.what, "row 17 has no load");
  assert_string_equal(err.file, "");
  assert_string_equal(err.remedy, "");
  assert_int_equal(err.line, 0);
  assert_int_equal(be_fail_at(&err, "pulls.csv", 17, 5), BE_BAD_INPUT);
  assert_int_equal(be_fail_at(&err, NULL, 0, 6), BE_BAD_INPUT);
  assert_int_equal(be_fail_remedy(&err, "give it %s", "one"), BE_BAD_INPUT);
  assert_string_equal(err.what, "row 17 has no load");
  assert_string_equal(err.file, "pulls.csv");
  assert_int_equal(err.line, 17);
  assert_int_equal(err.column, 6);
  assert_string_equal(err.remedy, "give it one");
  assert_int_equal(be_fail(&err, BE_ASK, "again"), BE_ASK);
  assert_string_equal(err.file, "");
  assert_int_equal(err.line, 0);
}

static void long_texts_are_cut_to_fit(void **state)
{
  (void)state;
  struct be_err err;
  char text[1000];
  memset(text, 'q', sizeof text - 1);
  text[sizeof text - 1] = '\0';
  be_fail(&err, BE_FAILED, "%s", text);
  be_fail_at(&err, text, 3, 4);
  be_fail_remedy(&err, "%s", text);
  assert_int_equal(strlen(err.what), sizeof err.what - 1);
  assert_int_equal(strlen(err.file), sizeof err.file - 1);
  assert_int_equal(strlen(err.remedy), sizeof err.remedy - 1);
}

static void nobody_need_listen(void **state)
{
  (void)state;
  assert_int_equal(be_fail(NULL, BE_TOO_LARGE, "%d", 3), BE_TOO_LARGE);
  assert_int_not_equal(be_fail_at(NULL, "a", 1, 1), BE_OK);
  assert_int_not_equal(be_fail_remedy(NULL, "%d", 3), BE_OK);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_status_has_words_and_an_exit),
      cmocka_unit_test(an_error_says_what_where_and_what_to_do),
      cmocka_unit_test(long_texts_are_cut_to_fit),
      cmocka_unit_test(nobody_need_listen),
  };
  return be_tests("base: errors", tests);
}
