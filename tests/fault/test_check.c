/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory runs out at each call while a book is checked, which enters all of it
 * again. */
#include "book/inside.h"
#include "fault/enter_trial.h"
#include "fault/failing.h"

/* Seen when this was written, with SQLite 3.40: 18720 calls. Far fewer, and the
 * loop sees nothing. */
enum { KNOWN_CALLS = 7000 };

struct work {
  struct trial trial;
  bool calls_it_damaged; /* a bug planted: what memory had no room for is a fault */
};

/* A sound book is found sound, or memory is out; it is never called damaged. */
static enum be_status check_a_book(void *context, struct be_err *err)
{
  struct work *work = context;
  struct be_book *book = NULL;
  struct be_book_check checked;
  enum be_status status = be_book_open(work->trial.path, false, &book, err);
  if (status == BE_OK) status = be_book_check(book, &checked, err);
  if (status == BE_OK && (checked.files != 10 || checked.pulls != 5 || checked.derived != 2))
    status = be_fail(err, BE_FAILED, "not all was checked");
  if (work->calls_it_damaged && status == BE_NO_MEMORY) status = BE_NO;
  be_book_close(book);
  sqlite3_shutdown();
  return status;
}

static int start(void **state)
{
  static struct work work;
  memset(&work, 0, sizeof work);
  trial_start(&work.trial, TRIAL_PULLS);
  sqlite3_shutdown();
  /* A copy of the process cannot enter again what a mutex of SQLite guards: it is not its owner. */
  sqlite3_config(SQLITE_CONFIG_SINGLETHREAD);
  *state = &work;
  return 0;
}

static int stop(void **state)
{
  struct work *work = *state;
  be_failing_stop();
  trial_stop(&work->trial);
  return 0;
}

static void checking_survives_each_lost_call(void **state)
{
  for (int for_ever = 0; for_ever < 2; for_ever++) {
    struct be_fail_report report;
    be_fail_search_apart(check_a_book, *state, for_ever, &report);
    if (report.fault) print_error("call %zu: %s\n", report.at, report.fault);
    print_message("# %zu calls, %zu borne\n", report.points, report.borne);
    assert_null(report.fault);
    assert_true(report.points >= KNOWN_CALLS);
  }
}

static void a_planted_bug_is_caught(void **state)
{
  struct work *work = *state;
  struct be_fail_report report;
  work->calls_it_damaged = true;
  be_fail_search_apart(check_a_book, work, false, &report);
  assert_non_null(report.fault);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(checking_survives_each_lost_call, start, stop),
      cmocka_unit_test_setup_teardown(a_planted_bug_is_caught, start, stop),
  };
  return be_tests("fault: memory while checking", tests);
}
