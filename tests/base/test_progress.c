/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/base.h"
#include "test.h"

#include <stdatomic.h>

static void words_are(const struct be_progress *progress, const char *want)
{
  char words[BE_PROGRESS_WORDS];
  be_progress_words(progress, words);
  assert_string_equal(words, want);
}

static void what_is_told_is_read(void **state)
{
  (void)state;
  struct be_progress progress = {NULL, NULL, 0, 0};
  words_are(&progress, "");
  assert_null(be_progress_follow(&progress));
  words_are(&progress, "");
  be_progress_step("reading the record", "pulls", 100007);
  words_are(&progress, "reading the record, 0 of 100,007 pulls");
  be_progress_at(40913);
  words_are(&progress, "reading the record, 40,913 of 100,007 pulls");
  be_progress_at(200000);
  words_are(&progress, "reading the record, 100,007 of 100,007 pulls");
  be_progress_step("counting", "knots", 999);
  words_are(&progress, "counting, 0 of 999 knots");
  be_progress_step("fitting the model", NULL, 0);
  be_progress_at(3);
  words_are(&progress, "fitting the model");
  assert_ptr_equal(be_progress_follow(NULL), &progress);
  be_progress_step("nobody follows", "ropes", 7);
  words_are(&progress, "fitting the model");
}

static void tell(void *context, size_t i)
{
  atomic_int *told = context;
  be_progress_at(i);
  struct be_progress *followed = be_progress_follow(NULL);
  be_progress_follow(followed);
  if (followed) atomic_fetch_add(told, 1);
}

static void threads_started_for_it_tell_the_same(void **state)
{
  (void)state;
  struct be_progress progress = {NULL, NULL, 0, 0};
  atomic_int told = 0;
  be_progress_follow(&progress);
  be_progress_step("working", "parts", 57);
  be_parallel(57, 3, tell, &told);
  assert_int_equal(atomic_load(&told), 57);
  be_progress_follow(NULL);
  atomic_store(&told, 0);
  be_parallel(57, 3, tell, &told);
  assert_int_equal(atomic_load(&told), 0);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_told_is_read),
      cmocka_unit_test(threads_started_for_it_tell_the_same),
  };
  return be_tests("base: progress", tests);
}
