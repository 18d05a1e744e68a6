/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The disk fails at each of its operations, and the process dies at each,
 * while a sheet is entered. Afterwards the book opens, is sound, and holds the
 * whole sheet or nothing of it; the whole when it was said to be done. */
#define _POSIX_C_SOURCE 200809L
#include "fault/enter_trial.h"
#include "fault/failing_disk.h"

#include "book/inside.h"

#include <sys/wait.h>
#include <unistd.h>

/* How the sheet is entered: as it should be, or with a bug planted. */
typedef enum be_status entering(struct trial *trial, struct be_book *book, struct be_arena *arena,
                                struct be_err *err);

static enum be_status enter_soundly(struct trial *trial, struct be_book *book,
                                    struct be_arena *arena, struct be_err *err)
{
  struct be_entered entered;
  return trial_enter(trial, book, arena, &entered, err);
}

/* ---- one try ---- */

struct attempt {
  struct trial *trial;
  entering *enter;
  enum be_status status; /* of open and enter */
  bool same_handle_works;
};

/* Opens and enters; then, when told no and the disk is well again, looks at
 * the book through the same handle. */
static void try_entering(struct attempt *attempt, struct be_err *err)
{
  struct be_book *book = NULL;
  struct be_arena *arena = be_arena_create();
  assert_non_null(arena);
  attempt->same_handle_works = true;
  attempt->status = be_book_open(attempt->trial->path, true, &book, err);
  if (attempt->status == BE_OK) {
    attempt->status = attempt->enter(attempt->trial, book, arena, err);
    failing_disk.fail_at = 0;
    enum trial_state want = attempt->status == BE_OK ? TRIAL_AFTER : TRIAL_BEFORE;
    attempt->same_handle_works = trial_state(attempt->trial, book) == want;
  }
  failing_disk.fail_at = 0;
  be_book_close(book);
  be_arena_free(arena);
}

/* What one failure did wrong, or null. */
static const char *judge(const struct attempt *attempt, const struct be_err *err)
{
  enum trial_state state = trial_state_of_file(attempt->trial);
  if (state == TRIAL_NEITHER) return "the book is neither as before nor as after";
  if (attempt->status == BE_OK && state != TRIAL_AFTER) return "said done, but lost";
  if (attempt->status != BE_OK && state != TRIAL_BEFORE) return "refused, but changed";
  if (!attempt->same_handle_works) return "the open book does not show what the file holds";
  if (attempt->status != BE_OK && !err->what[0]) return "the error is not told";
  if (attempt->status == BE_NO_MEMORY || attempt->status == BE_NO) return "the status is wrong";
  return NULL;
}

static const char *enter_again(struct trial *trial)
{
  struct be_book *book = NULL;
  struct be_entered entered;
  struct be_arena *arena = be_arena_create();
  enum be_status status = be_book_open(trial->path, true, &book, NULL);
  if (status == BE_OK) status = trial_enter(trial, book, arena, &entered, NULL);
  be_book_close(book);
  be_arena_free(arena);
  if (status != BE_OK) return "a following enter fails";
  return trial_state_of_file(trial) == TRIAL_AFTER ? NULL : "a following enter is not whole";
}

/* Fails operation 1, 2, ... of a kind until it is not reached any more;
 * *points tells how many there were. The first fault, or null. */
static const char *search(struct trial *trial, entering *enter, enum disk_operation operation,
                          enum disk_end end, size_t *points)
{
  for (*points = 0;; ++*points) {
    struct attempt attempt = {.trial = trial, .enter = enter};
    struct be_err err = {0};
    trial_restore(trial);
    failing_disk = (struct failing_disk){operation, end, *points + 1, {0}, 0, 0};
    try_entering(&attempt, &err);
    bool failed = failing_disk.failed > 0;
    const char *fault = judge(&attempt, &err);
    if (!fault && attempt.status != BE_OK) fault = enter_again(trial);
    if (!fault && !failed && attempt.status != BE_OK) fault = "it fails on a sound disk";
    if (fault || !failed) return fault;
  }
}

/* The same in a process of its own, which is gone at the operation told. What
 * it said before it went is its last act: done, or nothing. */
static const char *search_dying(struct trial *trial, entering *enter, enum disk_operation operation,
                                enum disk_end end, size_t *points)
{
  for (*points = 0;; ++*points) {
    trial_restore(trial);
    failing_disk = (struct failing_disk){operation, end, *points + 1, {0}, 0, 0};
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
      struct attempt attempt = {.trial = trial, .enter = enter};
      struct be_err err = {0};
      try_entering(&attempt, &err);
      _exit(attempt.status == BE_OK ? 0 : 1);
    }
    failing_disk = (struct failing_disk){.fail_at = 0};
    int how = 0;
    assert_int_equal(waitpid(child, &how, 0), child);
    assert_true(WIFEXITED(how));
    enum trial_state state = trial_state_of_file(trial);
    if (state == TRIAL_NEITHER) return "the book is neither as before nor as after";
    if (WEXITSTATUS(how) == 0) return state == TRIAL_AFTER ? NULL : "said done, but lost";
    if (WEXITSTATUS(how) != DISK_DEAD) return "it fails on a sound disk";
    const char *fault = state == TRIAL_BEFORE ? enter_again(trial) : NULL;
    if (fault) return fault;
  }
}

/* ---- the loops ---- */

static void assert_no_fault(const char *fault, const char *what, size_t points, size_t known)
{
  if (fault) print_error("%s %zu: %s\n", what, points + 1, fault);
  assert_null(fault);
  if (points < known) print_error("%s: only %zu were tried\n", what, points);
  assert_true(points >= known);
}

/* Operations seen when this was written, with SQLite 3.40: 23 reads, 74 writes,
 * 3 syncs, 2 opens, 1 delete. What cannot be taken back needs no truncating, so
 * that comes only after another failure: under "any", 103 in all. */
static const struct {
  enum disk_operation operation;
  const char *word;
  size_t known;
} operations[] = {
    {DISK_READ, "read", 12}, {DISK_WRITE, "write", 50},  {DISK_SYNC, "sync", 3},
    {DISK_OPEN, "open", 2},  {DISK_DELETE, "delete", 1}, {DISK_ANY, "any", 70},
};
enum { KINDS = sizeof operations / sizeof operations[0] };

static void entering_survives_each_failing_operation(void **state)
{
  struct trial *trial = *state;
  static const enum disk_end ends[] = {DISK_FAILS, DISK_FAILS_FOR_EVER, DISK_IS_FULL};
  for (size_t i = 0; i < KINDS; i++)
    for (size_t k = 0; k < 3; k++) {
      size_t points;
      if (ends[k] == DISK_IS_FULL && operations[i].operation != DISK_WRITE) continue;
      const char *fault = search(trial, enter_soundly, operations[i].operation, ends[k], &points);
      print_message("# %s, way %zu: %zu\n", operations[i].word, k, points);
      assert_no_fault(fault, operations[i].word, points, operations[i].known);
    }
}

static void entering_survives_dying_at_each_operation(void **state)
{
  struct trial *trial = *state;
  for (size_t i = 0; i < KINDS; i++)
    for (int tears = 0; tears < 2; tears++) {
      size_t points;
      if (tears && operations[i].operation != DISK_WRITE) continue;
      const char *fault = search_dying(trial, enter_soundly, operations[i].operation,
                                       tears ? DISK_TEARS : DISK_DIES, &points);
      print_message("# dying at %s%s: %zu\n", operations[i].word, tears ? ", torn" : "", points);
      assert_no_fault(fault, operations[i].word, points, operations[i].known);
    }
}

/* A journal that is deleted must stay deleted when the power goes, or what was
 * said to be done is undone: so its folder is synced before "done" is said. */
static void done_is_said_after_the_folder_is_synced(void **state)
{
  struct trial *trial = *state;
  struct attempt attempt = {.trial = trial, .enter = enter_soundly};
  trial_restore(trial);
  failing_disk = (struct failing_disk){.fail_at = 0};
  try_entering(&attempt, NULL);
  assert_int_equal(attempt.status, BE_OK);
  assert_true(failing_disk.calls[DISK_DELETE] >= 1);
  assert_int_equal(failing_disk.undurable, 0);
}

static void a_journal_that_cannot_be_made_is_told(void **state)
{
  struct trial *trial = *state;
  struct attempt attempt = {.trial = trial, .enter = enter_soundly};
  struct be_err err = {0};
  trial_restore(trial);
  failing_disk = (struct failing_disk){DISK_OPEN, DISK_FAILS, 2, {0}, 0, 0};
  try_entering(&attempt, &err);
  assert_int_equal(attempt.status, BE_FAILED);
  assert_part(err.what, "journal beside the book");
  assert_part(err.remedy, "rights of the folder");
}

static void a_full_disk_is_called_so(void **state)
{
  struct trial *trial = *state;
  struct attempt attempt = {.trial = trial, .enter = enter_soundly};
  struct be_err err = {0};
  trial_restore(trial);
  failing_disk = (struct failing_disk){DISK_WRITE, DISK_IS_FULL, 2, {0}, 0, 0};
  try_entering(&attempt, &err);
  assert_int_equal(attempt.status, BE_FAILED);
  assert_part(err.what, "the disk is full");
  assert_part(err.remedy, "make room");
}

/* A book whose making failed is not left behind. */
static void creating_leaves_a_book_or_nothing(void **state)
{
  struct trial *trial = *state;
  for (size_t i = 0; i < KINDS; i++)
    for (int for_ever = 0; for_ever < 2; for_ever++)
      for (size_t at = 1;; at++) {
        enum disk_end end = for_ever ? DISK_FAILS_FOR_EVER : DISK_FAILS;
        struct be_book *book = NULL;
        struct be_err err = {0};
        remove(trial->path);
        failing_disk = (struct failing_disk){operations[i].operation, end, at, {0}, 0, 0};
        enum be_status status = be_book_create(trial->path, &err);
        bool failed = failing_disk.failed > 0;
        failing_disk.fail_at = 0;
        if (status != BE_OK) {
          assert_int_not_equal(err.what[0], 0);
          assert_false(be_file_exists(trial->path));
          assert_int_equal(be_book_create(trial->path, &err), BE_OK);
        }
        assert_int_equal(be_book_open(trial->path, true, &book, NULL), BE_OK);
        be_book_close(book);
        if (!failed) break;
      }
}

/* ---- planted bugs ---- */

static const char *const bare_rows[] = {"INSERT INTO knot (name) VALUES ('one')",
                                        "INSERT INTO knot (name) VALUES ('two')",
                                        "INSERT INTO knot (name) VALUES ('three')"};

/* Enters nothing of the sheet, but rows of its own, each in a transaction of
 * its own; the sheet itself comes last. */
static enum be_status enter_without_transaction(struct trial *trial, struct be_book *book,
                                                struct be_arena *arena, struct be_err *err)
{
  for (size_t i = 0; i < 3; i++) {
    enum be_status status = be_sql_run(book->db, bare_rows[i], err);
    if (status != BE_OK) return status;
  }
  enum be_status status = enter_soundly(trial, book, arena, err);
  if (status == BE_OK)
    be_sql_run(book->db, "DELETE FROM knot WHERE name IN ('one','two','three')", err);
  return status;
}

static enum be_status enter_and_say_done(struct trial *trial, struct be_book *book,
                                         struct be_arena *arena, struct be_err *err)
{
  enter_soundly(trial, book, arena, err);
  return BE_OK;
}

/* Without a journal a write that fails half way cannot be taken back. */
static enum be_status enter_without_journal(struct trial *trial, struct be_book *book,
                                            struct be_arena *arena, struct be_err *err)
{
  enum be_status status = be_sql_run(book->db, "PRAGMA journal_mode = OFF", err);
  return status == BE_OK ? enter_soundly(trial, book, arena, err) : status;
}

static void planted_bugs_are_caught(void **state)
{
  struct trial *trial = *state;
  size_t points;
  const char *fault;
  fault = search(trial, enter_without_transaction, DISK_WRITE, DISK_FAILS_FOR_EVER, &points);
  assert_non_null(fault);
  assert_string_equal(fault, "the book is neither as before nor as after");
  fault = search_dying(trial, enter_without_transaction, DISK_WRITE, DISK_DIES, &points);
  assert_non_null(fault);
  assert_string_equal(fault, "the book is neither as before nor as after");
  fault = search(trial, enter_and_say_done, DISK_SYNC, DISK_FAILS, &points);
  assert_non_null(fault);
  assert_string_equal(fault, "said done, but lost");
  assert_non_null(search(trial, enter_without_journal, DISK_WRITE, DISK_FAILS, &points));
  assert_non_null(search_dying(trial, enter_without_journal, DISK_WRITE, DISK_DIES, &points));
  assert_non_null(search_dying(trial, enter_without_journal, DISK_WRITE, DISK_TEARS, &points));
}

/* The other sheets: the same transaction around other rows. */
static void other_sheets_survive_each_failing_operation(void **state)
{
  struct trial *trial = *state;
  for (int which = TRIAL_RULES; which <= TRIAL_WEIGHTS; which++) {
    size_t points;
    trial_restore(trial);
    trial_stop(trial);
    trial_start(trial, (enum trial_sheet)which);
    const char *fault = search(trial, enter_soundly, DISK_ANY, DISK_FAILS, &points);
    print_message("# sheet %d: %zu\n", which, points);
    assert_no_fault(fault, "any", points, 30);
    fault = search_dying(trial, enter_soundly, DISK_WRITE, DISK_TEARS, &points);
    assert_no_fault(fault, "write", points, 12);
  }
}

static int start(void **state)
{
  static struct trial trial;
  failing_disk = (struct failing_disk){.fail_at = 0};
  failing_disk_install();
  trial_start(&trial, TRIAL_PULLS);
  *state = &trial;
  return 0;
}

static int stop(void **state)
{
  failing_disk.fail_at = 0;
  trial_restore(*state);
  trial_stop(*state);
  return 0;
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(entering_survives_each_failing_operation, start, stop),
      cmocka_unit_test_setup_teardown(entering_survives_dying_at_each_operation, start, stop),
      cmocka_unit_test_setup_teardown(other_sheets_survive_each_failing_operation, start, stop),
      cmocka_unit_test_setup_teardown(done_is_said_after_the_folder_is_synced, start, stop),
      cmocka_unit_test_setup_teardown(a_journal_that_cannot_be_made_is_told, start, stop),
      cmocka_unit_test_setup_teardown(a_full_disk_is_called_so, start, stop),
      cmocka_unit_test_setup_teardown(creating_leaves_a_book_or_nothing, start, stop),
      cmocka_unit_test_setup_teardown(planted_bugs_are_caught, start, stop),
  };
  return be_tests("fault: the disk while entering", tests);
}
