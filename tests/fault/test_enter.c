/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory runs out at each call while a sheet is entered and read. SQLite takes
 * its memory from base (src/book/schema.c), so its calls are failed as well;
 * it is shut down after every try, so that each begins with nothing held. */
#include "book/inside.h"
#include "fault/enter_trial.h"
#include "fault/failing.h"

/* Seen when this was written, with SQLite 3.40: 4543 calls for a sheet, 776 for a
 * trace, more than 700 for another sheet; 86 and 214 rooms of the arena. Far fewer, and
 * the loops see nothing. */
enum {
  KNOWN_CALLS = 2500,
  KNOWN_CALLS_OF_A_TRACE = 500,
  KNOWN_CALLS_OF_OTHERS = 700,
  KNOWN_ROOMS = 50
};

/* Bugs planted in the operation, to see that the loop finds them. */
enum bug {
  SOUND,
  FORGETS_THE_ARENA,
  FORGETS_A_STATEMENT,
  SAYS_DONE,
  IGNORES_THE_READING,
  LEAVES_A_ROW
};

struct work {
  struct trial trial;
  enum bug bug;
  size_t notes;      /* said of the sheet when all goes well */
  const char *fault; /* what the loop itself cannot see */
};

static enum be_status fault(struct work *work, const char *what, struct be_err *err)
{
  if (!work->fault) work->fault = what;
  return be_fail(err, BE_FAILED, "%s", what);
}

/* What the failure left behind, now that memory is plenty. */
static enum be_status look(struct work *work, struct be_book *book, bool entered,
                           struct be_err *err)
{
  struct be_arena *arena = be_arena_create();
  struct be_entered again;
  enum trial_state want = entered ? TRIAL_AFTER : TRIAL_BEFORE;
  enum be_status status = BE_OK;
  if (!arena) return fault(work, "memory is not plenty", err);
  if (trial_state(&work->trial, book) != want)
    status = fault(work, entered ? "said done but lost" : "refused but changed", err);
  else if (!entered && trial_enter(&work->trial, book, arena, &again, err) != BE_OK)
    status = fault(work, "a following enter fails", err);
  be_arena_free(arena);
  return status;
}

/* Reads everything; *text must be what it is after the sheet. */
static enum be_status read_all(struct work *work, struct be_book *book, struct be_arena *arena,
                               struct be_err *err)
{
  struct be_buf text;
  be_buf_init(&text, 1 << 20);
  enum be_status status = trial_tell(book, arena, &text, err);
  if (work->bug == IGNORES_THE_READING) status = BE_OK;
  bool whole = text.size == work->trial.after.size &&
               memcmp(text.data, work->trial.after.data, text.size) == 0;
  if (status == BE_OK && !whole) status = fault(work, "what is read is not whole", err);
  be_buf_free(&text);
  return status;
}

static enum be_status enter(struct work *work, struct be_book *book, struct be_arena *arena,
                            struct be_err *err)
{
  struct be_entered entered;
  enum be_status status = trial_enter(&work->trial, book, arena, &entered, err);
  if (work->bug == LEAVES_A_ROW && status != BE_OK) {
    be_failing_relent();
    sqlite3_exec(book->db, "INSERT INTO knot (name) VALUES ('left')", NULL, NULL, NULL);
  }
  return work->bug == SAYS_DONE ? BE_OK : status;
}

/* Keeps what is leaked on purpose within reach, or a leak sanitizer tells too. */
static void remember(void *block)
{
  enum { MOST = 8 };
  static void *volatile leaked[MOST];
  static size_t count;
  assert_true(count < MOST && !leaked[count]);
  leaked[count++] = block;
}

/* A statement that is never finalized keeps its connection, and their memory. */
static void forget_a_statement(struct be_book *book)
{
  sqlite3_stmt *statement = NULL;
  remember(book->db);
  sqlite3_prepare_v2(book->db, "SELECT 1", -1, &statement, NULL);
  sqlite3_step(statement);
  remember(statement);
}

/* Opens a book, enters the sheet, reads all of it and closes it. */
static enum be_status enter_and_read(void *context, struct be_err *err)
{
  struct work *work = context;
  struct be_book *book = NULL;
  trial_restore(&work->trial);
  struct be_arena *arena = be_arena_create();
  enum be_status status = arena ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory");
  if (status == BE_OK) status = be_book_open(work->trial.path, true, &book, err);
  bool opened = status == BE_OK;
  if (opened) status = enter(work, book, arena, err);
  bool entered = opened && status == BE_OK;
  if (entered) status = read_all(work, book, arena, err);
  bool failed = status != BE_OK;
  be_failing_relent();
  struct be_err seen = {0};
  if (opened && look(work, book, entered, &seen) != BE_OK) status = seen.status, *err = seen;
  if (opened && failed && work->bug == FORGETS_A_STATEMENT) forget_a_statement(book);
  be_book_close(book);
  if (opened && !entered && !work->fault && trial_state_of_file(&work->trial) != TRIAL_AFTER)
    status = fault(work, "a following enter is not whole", err);
  if (failed && work->bug == FORGETS_THE_ARENA && arena) remember(arena);
  else be_arena_free(arena);
  sqlite3_shutdown();
  return status;
}

/* A trace on its own, for a specimen that the book has. */
static enum be_status enter_a_trace(void *context, struct be_err *err)
{
  struct work *work = context;
  struct be_book *book = NULL;
  struct be_entered entered = {0};
  struct be_entering how = {.specimen = "P1"};
  const char *trace = work->trial.traces[0];
  trial_restore(&work->trial);
  struct be_arena *arena = be_arena_create();
  enum be_status status = arena ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory");
  if (status == BE_OK) status = be_book_open(work->trial.path, true, &book, err);
  if (status == BE_OK)
    status = be_book_enter(book, "t.csv", trace, strlen(trace), &how, arena, &entered, err);
  if (status == BE_OK && entered.traces != 1) status = fault(work, "no trace", err);
  be_book_close(book);
  be_arena_free(arena);
  sqlite3_shutdown();
  return status;
}

/* One of the other sheets: all of it or nothing, seen through the same handle. */
static enum be_status enter_another(void *context, struct be_err *err)
{
  struct work *work = context;
  struct be_book *book = NULL;
  struct be_entered entered;
  trial_restore(&work->trial);
  struct be_arena *arena = be_arena_create();
  enum be_status status = arena ? BE_OK : be_fail(err, BE_NO_MEMORY, "no memory");
  if (status == BE_OK) status = be_book_open(work->trial.path, true, &book, err);
  if (status == BE_OK) {
    status = trial_enter(&work->trial, book, arena, &entered, err);
    enum trial_state want = status == BE_OK ? TRIAL_AFTER : TRIAL_BEFORE;
    be_failing_relent();
    if (trial_state(&work->trial, book) != want)
      status = fault(work, "neither all of the sheet nor nothing", err);
  }
  be_book_close(book);
  be_arena_free(arena);
  sqlite3_shutdown();
  return status;
}

static void another_sheet_survives_each_lost_call(void **state)
{
  be_fail_loop_bearing(enter_another, *state, KNOWN_CALLS_OF_OTHERS);
}

static void a_trace_alone_survives_each_lost_call(void **state)
{
  be_fail_loop_bearing(enter_a_trace, *state, KNOWN_CALLS_OF_A_TRACE);
}

static int start_with(void **state, enum trial_sheet which)
{
  static struct work work;
  memset(&work, 0, sizeof work);
  trial_start(&work.trial, which);
  work.notes = work.trial.entered.notes_count;
  sqlite3_shutdown();
  *state = &work;
  return 0;
}

static int start(void **state)
{
  return start_with(state, TRIAL_PULLS);
}

static int start_rules(void **state)
{
  return start_with(state, TRIAL_RULES);
}

static int start_plan(void **state)
{
  return start_with(state, TRIAL_PLAN);
}

static int start_calibrations(void **state)
{
  return start_with(state, TRIAL_CALIBRATIONS);
}

static int start_weights(void **state)
{
  return start_with(state, TRIAL_WEIGHTS);
}

static int start_lines(void **state)
{
  return start_with(state, TRIAL_LINES);
}

static int start_knots(void **state)
{
  return start_with(state, TRIAL_KNOTS);
}

static int start_evidence(void **state)
{
  return start_with(state, TRIAL_EVIDENCE);
}

static int stop(void **state)
{
  struct work *work = *state;
  be_failing_stop();
  trial_stop(&work->trial);
  return 0;
}

static void entering_survives_each_lost_call(void **state)
{
  struct work *work = *state;
  for (int for_ever = 0; for_ever < 2; for_ever++) {
    struct be_fail_report report;
    be_fail_search_bearing(enter_and_read, work, for_ever, &report);
    if (report.fault)
      print_error("call %zu %s: %s (%s)\n", report.at, for_ever ? "for ever" : "once", report.fault,
                  work->fault ? work->fault : "");
    print_message("# %zu calls, %zu borne\n", report.points, report.borne);
    assert_null(report.fault);
    assert_true(report.points >= KNOWN_CALLS);
  }
}

/* The arena holds 64 KiB before it asks for more, so the loop above sees few of
 * its calls. Here it has ever more room left, and no more can be had. */
static void the_arena_runs_dry_at_each_of_its_calls(void **state)
{
  enum { CHUNK = 64 * 1024, STEP = 16 };
  struct work *work = *state;
  size_t dry[2] = {0};
  for (int reading = 0; reading < 2; reading++)
    for (size_t room = 0, done = 0; !done; room += STEP) {
      struct be_failing failing;
      struct be_book *book = NULL;
      struct be_entered entered;
      struct be_err err = {0};
      trial_restore(&work->trial);
      be_failing_start(&failing, 0, true);
      assert_int_equal(be_book_open(work->trial.path, true, &book, NULL), BE_OK);
      struct be_arena *arena = be_arena_create();
      if (reading) assert_int_equal(trial_enter(&work->trial, book, arena, &entered, NULL), BE_OK);
      be_arena_free(arena);
      arena = be_arena_create();
      size_t before = failing.bytes;
      assert_non_null(be_arena_alloc(arena, CHUNK - room));
      failing.at_least = failing.at_most = failing.bytes - before;
      failing.fail_at = failing.calls + 1;
      enum be_status status = reading ? read_all(work, book, arena, &err)
                                      : trial_enter(&work->trial, book, arena, &entered, &err);
      if (failing.failed == 0) done = 1;
      else dry[reading]++;
      be_failing_relent();
      if (done || status != BE_NO_MEMORY) assert_int_equal(status, BE_OK);
      if (!reading)
        assert_int_equal(trial_state(&work->trial, book), status ? TRIAL_BEFORE : TRIAL_AFTER);
      if (!reading && status == BE_OK)
        assert_int_equal(entered.notes_count + entered.notes_dropped, work->notes);
      be_arena_free(arena);
      be_book_close(book);
      sqlite3_shutdown();
      be_failing_stop();
      assert_int_equal(failing.blocks + failing.broken, 0);
    }
  print_message("# %zu rooms while entering, %zu while reading\n", dry[0], dry[1]);
  assert_true(dry[0] >= KNOWN_ROOMS && dry[1] >= KNOWN_ROOMS);
}

static void planted_bugs_are_caught(void **state)
{
  struct work *work = *state;
  static const struct {
    enum bug bug;
    const char *fault, *seen;
  } cases[] = {
      {FORGETS_THE_ARENA, "memory leaked", NULL},
      {FORGETS_A_STATEMENT, "memory leaked", NULL},
      {SAYS_DONE, NULL, "what is read is not whole"},
      {IGNORES_THE_READING, NULL, "what is read is not whole"},
      {LEAVES_A_ROW, NULL, "refused but changed"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_fail_report report;
    work->bug = cases[i].bug;
    work->fault = NULL;
    be_fail_search_bearing(enter_and_read, work, false, &report);
    work->bug = SOUND;
    assert_non_null(report.fault);
    if (cases[i].fault) assert_string_equal(report.fault, cases[i].fault);
    if (cases[i].seen) assert_string_equal(work->fault ? work->fault : "", cases[i].seen);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(entering_survives_each_lost_call, start, stop),
      cmocka_unit_test_setup_teardown(another_sheet_survives_each_lost_call, start_rules, stop),
      cmocka_unit_test_setup_teardown(another_sheet_survives_each_lost_call, start_plan, stop),
      cmocka_unit_test_setup_teardown(another_sheet_survives_each_lost_call, start_lines, stop),
      cmocka_unit_test_setup_teardown(another_sheet_survives_each_lost_call, start_knots, stop),
      cmocka_unit_test_setup_teardown(another_sheet_survives_each_lost_call, start_evidence, stop),
      cmocka_unit_test_setup_teardown(another_sheet_survives_each_lost_call, start_calibrations,
                                      stop),
      cmocka_unit_test_setup_teardown(another_sheet_survives_each_lost_call, start_weights, stop),
      cmocka_unit_test_setup_teardown(a_trace_alone_survives_each_lost_call, start, stop),
      cmocka_unit_test_setup_teardown(the_arena_runs_dry_at_each_of_its_calls, start, stop),
      cmocka_unit_test_setup_teardown(planted_bugs_are_caught, start, stop),
  };
  return be_tests("fault: memory while entering", tests);
}
