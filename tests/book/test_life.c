/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Creating and opening: what is a book, and what is not. */
#define _POSIX_C_SOURCE 200809L
#include "book/inside.h"
#include "book/book_test.h"

#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static struct be_err open_fails(struct shelf *shelf, bool writable, enum be_status want,
                                const char *what)
{
  struct be_book *book = NULL;
  struct be_err err = {0};
  assert_int_equal(be_book_open(shelf->path, writable, &book, &err), want);
  assert_null(book);
  assert_string_equal(err.file, shelf->path);
  assert_part(err.what, what);
  return err;
}

static void close_shelf(struct shelf *shelf)
{
  be_book_close(shelf->book);
  shelf->book = NULL;
}

static void write_file(const struct shelf *shelf, const char *bytes, size_t size)
{
  assert_int_equal(be_file_write(shelf->path, bytes, size, NULL), BE_OK);
}

static void a_new_book_is_empty_and_sound(void **state)
{
  struct shelf *shelf = *state;
  const struct be_record *record = read_shelf(shelf);
  assert_int_equal(record->pulls_count + record->lines_count + record->knots_count, 0);
  assert_int_equal(record->benches_count, 0);
  assert_string_equal(record->unit, "N");
  struct be_book_check checked = {7, 7, 7};
  assert_int_equal(be_book_check(shelf->book, &checked, NULL), BE_OK);
  assert_int_equal(checked.files + checked.pulls + checked.derived, 0);
  be_book_close(NULL);
}

static void a_book_is_never_overwritten(void **state)
{
  struct shelf *shelf = *state;
  struct be_buf before = book_bytes(shelf);
  struct be_err err = {0};
  assert_int_equal(be_book_create(shelf->path, &err), BE_WRONG_USE);
  assert_part(err.what, "exists already");
  assert_string_equal(err.file, shelf->path);
  struct be_buf after = book_bytes(shelf);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
  char nowhere[200];
  snprintf(nowhere, sizeof nowhere, "%s/none/a.book", shelf->folder);
  assert_int_equal(be_book_create(nowhere, &err), BE_BAD_INPUT);
  assert_part(err.what, "there is no folder \"");
  assert_part(err.what, "/none\"");
  assert_string_equal(err.file, nowhere);
  assert_int_equal(be_book_create("", &err), BE_WRONG_USE);
  assert_part(err.what, "the book has no name");
  assert_int_equal(be_book_create(shelf->folder, &err), BE_BAD_INPUT);
  assert_part(err.what, "this is a folder");
  snprintf(nowhere, sizeof nowhere, "%s/%080d/a.book", shelf->folder, 7);
  struct be_book *book = NULL;
  assert_int_equal(be_book_open(nowhere, false, &book, &err), BE_BAD_INPUT);
  assert_part(err.what, "there is no folder");
}

static void what_is_not_a_book_is_refused(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  remove(shelf->path);
  struct be_err err = open_fails(shelf, true, BE_BAD_INPUT, "there is no such book");
  assert_part(err.remedy, shelf->path);
  write_file(shelf, "knot,line,load\nreef,nylon,7\n", 28);
  open_fails(shelf, true, BE_BAD_INPUT, "this is not a book");
  open_fails(shelf, false, BE_BAD_INPUT, "this is not a book");
  write_file(shelf, "", 0);
  open_fails(shelf, true, BE_BAD_INPUT, "this is not a book");
  struct be_buf empty = book_bytes(shelf);
  assert_int_equal(empty.size, 0);
  be_buf_free(&empty);
  /* Another program's database keeps every byte. */
  tamper(shelf, "CREATE TABLE birds (name TEXT); INSERT INTO birds VALUES ('knot')");
  struct be_buf before = book_bytes(shelf);
  open_fails(shelf, true, BE_BAD_INPUT, "this is not a book");
  open_fails(shelf, false, BE_BAD_INPUT, "this is not a book");
  struct be_buf after = book_bytes(shelf);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
  remove(shelf->path);
  snprintf(shelf->path, sizeof shelf->path, "%s", shelf->folder);
  open_fails(shelf, true, BE_BAD_INPUT, "this is a folder");
  open_fails(shelf, false, BE_BAD_INPUT, "this is a folder");
  snprintf(shelf->path, sizeof shelf->path, "%s/a.book", shelf->folder);
}

static void other_versions_are_told_apart(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  tamper(shelf, "PRAGMA user_version = 9000");
  struct be_err err = open_fails(shelf, true, BE_BAD_INPUT, "written by a newer version");
  assert_part(err.remedy, "use that version");
  open_fails(shelf, false, BE_BAD_INPUT, "written by a newer version");
  tamper(shelf, "PRAGMA user_version = -1");
  open_fails(shelf, true, BE_BAD_INPUT, "this is not a book");
  tamper(shelf, "PRAGMA user_version = -2147483648");
  open_fails(shelf, false, BE_BAD_INPUT, "this is not a book");
}

/* Version 0 has the mark of a book and no tables yet. */
static void an_older_book_is_brought_up_to_date(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  remove(shelf->path);
  tamper(shelf, "PRAGMA application_id = 1111846500; PRAGMA user_version = 0");
  shelf_reopen(shelf, false);
  assert_int_equal(read_shelf(shelf)->pulls_count, 0);
  shelf_reopen(shelf, true);
  enter_text(shelf, "a.csv", "knot,line,load (N)\nreef,nylon,7.5\n");
  shelf_reopen(shelf, false);
  assert_int_equal(read_shelf(shelf)->pulls_count, 1);
  assert_sound(shelf);
}

/* The tables of version 2, before there were benches and second knots. */
static const char tables_of_version_2[] =
    "PRAGMA application_id = 1111846500; PRAGMA user_version = 2;"
    "CREATE TABLE file ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL, kind TEXT NOT NULL, sha256 TEXT NOT NULL UNIQUE,"
    " bytes BLOB NOT NULL, entered_at TEXT NOT NULL) STRICT;"
    "CREATE TABLE line ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL, spool TEXT, material TEXT, label TEXT,"
    " label_N REAL, size TEXT, diameter_m REAL, lot TEXT,"
    " file INTEGER REFERENCES file) STRICT;"
    "CREATE UNIQUE INDEX line_name ON line"
    " (name COLLATE NOCASE, ifnull(spool, '') COLLATE NOCASE);"
    "CREATE TABLE knot ("
    " id INTEGER PRIMARY KEY, name TEXT NOT NULL, version TEXT, kind TEXT, turns REAL,"
    " doubled TEXT, aliases TEXT, file INTEGER REFERENCES file) STRICT;"
    "CREATE UNIQUE INDEX knot_name ON knot"
    " (name COLLATE NOCASE, ifnull(version, '') COLLATE NOCASE, ifnull(turns, -1));"
    "CREATE TABLE specimen ("
    " id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE COLLATE NOCASE, design TEXT,"
    " knot INTEGER REFERENCES knot, line_a INTEGER REFERENCES line,"
    " line_b INTEGER REFERENCES line, hardware TEXT, soak TEXT, soak_s REAL, speed_m_s REAL,"
    " length_m REAL, tyer TEXT, lubricant TEXT) STRICT;"
    "CREATE TABLE pull ("
    " id INTEGER PRIMARY KEY, specimen INTEGER NOT NULL UNIQUE REFERENCES specimen,"
    " session TEXT, place REAL, trace INTEGER REFERENCES file) STRICT;"
    "CREATE TABLE result ("
    " id INTEGER PRIMARY KEY, pull INTEGER NOT NULL REFERENCES pull,"
    " corrects INTEGER UNIQUE REFERENCES result, why TEXT, kind TEXT NOT NULL,"
    " load_N REAL, load_text TEXT, load_unit TEXT, what TEXT, where_ TEXT, which TEXT,"
    " reason TEXT, note TEXT, file INTEGER NOT NULL REFERENCES file, file_line INTEGER NOT NULL,"
    " CHECK (corrects IS NULL OR why IS NOT NULL)) STRICT;"
    "CREATE INDEX result_pull ON result (pull);"
    "CREATE TABLE derived ("
    " trace INTEGER PRIMARY KEY REFERENCES file, peak_N REAL NOT NULL, zero_N REAL,"
    " rise_N REAL NOT NULL, first_slip_N REAL, time_to_peak_s REAL, bound INTEGER NOT NULL,"
    " ending TEXT NOT NULL, flags TEXT NOT NULL, made_by TEXT NOT NULL) STRICT;"
    "CREATE TABLE mapping (name TEXT PRIMARY KEY, rules TEXT NOT NULL) STRICT;"
    "CREATE TABLE entered ("
    " id INTEGER PRIMARY KEY, file INTEGER NOT NULL UNIQUE REFERENCES file, mapping TEXT,"
    " save_as TEXT, decimal_mark TEXT, specimen TEXT, made_by TEXT NOT NULL) STRICT;"
    "CREATE TABLE layout (file INTEGER PRIMARY KEY REFERENCES file, text TEXT NOT NULL) STRICT;";

/* Puts what the book at `from` holds into tables of version 2. */
static void write_as_version_2(struct shelf *shelf, const char *from)
{
  char sql[1600];
  tamper(shelf, tables_of_version_2);
  snprintf(sql, sizeof sql,
           "ATTACH '%s' AS new; BEGIN;"
           "INSERT INTO file SELECT * FROM new.file; INSERT INTO line SELECT id,"
           " name, spool, material, label, label_N, size, diameter_m, lot, file FROM new.line;"
           "INSERT INTO knot SELECT id, name, version, kind, turns, doubled, aliases, file FROM"
           " new.knot; INSERT INTO specimen SELECT id, code, design,"
           " knot, line_a, line_b, hardware, soak, soak_s, speed_m_s, length_m, tyer, lubricant"
           " FROM new.specimen; INSERT INTO pull SELECT id, specimen, session, place, trace FROM"
           " new.pull; INSERT INTO result SELECT id, pull, corrects, why, kind, load_N,"
           " load_text, load_unit, what, where_, which, reason, note, file, file_line FROM"
           " new.result; INSERT INTO derived SELECT"
           " trace, peak_N, zero_N, rise_N, first_slip_N, time_to_peak_s, bound, ending, flags,"
           " '0.1, figures 2' FROM new.derived; INSERT INTO mapping SELECT * FROM new.mapping;"
           "INSERT INTO entered SELECT * FROM new.entered; INSERT INTO layout SELECT * FROM"
           " new.layout; COMMIT",
           from);
  tamper(shelf, sql);
}

static void a_book_of_version_2_is_brought_up_to_date(void **state)
{
  struct shelf *shelf = *state;
  char trace[TRACE_SIZE], newer[80];
  make_trace(trace, 2.4, 147.3, 0);
  enter_text(shelf, "day.csv",
             "specimen,design,knot,line,load (N),which\nA,two different,reef,nylon,150.5,tag\n"
             "B,,none,nylon,210.5,none\n");
  enter_text(shelf, "A.csv", trace);
  enter_text(shelf, "fix.csv", "specimen,load (N),correction\nA,149.5,misread\n");
  struct be_pull kept = *pull_of(shelf, "A");
  assert_false(isnan(kept.trace_missed_N) || isnan(kept.trace_drift_N));
  close_shelf(shelf);
  snprintf(newer, sizeof newer, "%s.new", shelf->path);
  assert_int_equal(be_file_rename(shelf->path, newer, NULL), BE_OK);
  write_as_version_2(shelf, newer);
  remove(newer);
  /* Who only reads it reads it all the same, and leaves it as it is. */
  struct be_buf before = book_bytes(shelf), after;
  shelf_reopen(shelf, false);
  assert_near(pull_of(shelf, "A")->load_N, 149.5, 0);
  assert_near(pull_of(shelf, "A")->trace_missed_N, kept.trace_missed_N, 0);
  after = book_bytes(shelf);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
  shelf_reopen(shelf, true);
  const struct be_pull *pull = pull_of(shelf, "A");
  assert_near(pull->load_N, 149.5, 0);
  assert_int_equal(pull->corrections, 1);
  assert_int_equal(pull->which, BE_WHICH_UNKNOWN);
  assert_int_equal(pull->design, BE_DESIGN_TWO_DIFFERENT);
  assert_int_equal(pull->knot_b, BE_NO_INDEX);
  assert_int_equal(pull->bench, BE_NO_INDEX);
  assert_near(pull->trace_peak_N, kept.trace_peak_N, 0);
  assert_near(pull->trace_missed_N, kept.trace_missed_N, 0);
  assert_near(pull->trace_drift_N, kept.trace_drift_N, 0);
  assert_int_equal(count_of(shelf, "SELECT count(*) FROM derived"), 1);
  assert_sound(shelf);
  enter_text(shelf, "benches.csv", "bench,calibration\nshed,0.5 %\n");
  enter_text(shelf, "two.csv",
             "specimen,knot,knot B,line,bench,load (N)\nC,reef,bow,nylon,shed,88.5\n");
  enter_text(shelf, "knots.csv", "knot,crossings A\nreef,6\n");
  enter_text(shelf, "rules.csv", "trial,rule,value\nwinter,parts at a grip,void\n");
  enter_text(shelf, "plan.csv", "trial,specimen,order,knot,line\nwinter,D,1,bow,nylon\n");
  enter_text(shelf, "count.csv", "line,on hand (m)\nnylon,7.25\n");
  enter_text(shelf, "blind.csv", "specimen,load (N),where\nD,87.5,grip\n");
  shelf_reopen(shelf, false);
  assert_int_equal(pull_of(shelf, "C")->knot_b, 1);
  assert_int_equal(pull_of(shelf, "C")->bench, 0);
  assert_int_equal(pull_of(shelf, "C")->trial, BE_NO_INDEX);
  assert_int_equal(pull_of(shelf, "D")->trial, 0);
  assert_int_equal(pull_of(shelf, "D")->kind, BE_KIND_VOID);
  assert_near(shelf->record.knots[0].crossings_a, 6, 0);
  assert_near(shelf->record.lines[0].on_hand_m, 5.75, 0);
  assert_sound(shelf);
}

/* A book of the version before it was asked how specimens were handled. */
static void a_book_of_version_9_gets_columns_that_are_empty(void **state)
{
  struct shelf *shelf = *state;
  static const char *const dropped[] = {"seating_N", "seating_s",     "tag_m",
                                        "glue",      "tied",          "water",
                                        "grips",     "temperature_K", "humidity_share"};
  enter_text(shelf, "plan.csv", "trial,specimen,order,knot,line\nwinter,D,1,bow,nylon\n");
  enter_text(shelf, "day.csv", "specimen,knot,line,load (N)\nA,reef,nylon,150.5\n");
  close_shelf(shelf);
  for (size_t i = 0; i < sizeof dropped / sizeof dropped[0]; i++) {
    char sql[160];
    snprintf(sql, sizeof sql,
             "ALTER TABLE specimen DROP COLUMN %s; ALTER TABLE planned DROP"
             " COLUMN %s",
             dropped[i], dropped[i]);
    tamper(shelf, sql);
  }
  tamper(shelf, "ALTER TABLE line DROP COLUMN source; ALTER TABLE line DROP COLUMN opened;"
                "ALTER TABLE line DROP COLUMN construction; ALTER TABLE knot DROP COLUMN tie_s;"
                "ALTER TABLE knot DROP COLUMN guides; DROP TABLE handling;"
                "PRAGMA user_version = 9");
  assert_int_equal(be_book_open(shelf->path, false, &shelf->book, NULL), BE_OK);
  assert_null(read_shelf(shelf)->pulls[0].handling[0].text);
  close_shelf(shelf);
  assert_int_equal(be_book_open(shelf->path, true, &shelf->book, NULL), BE_OK);
  const struct be_record *record = read_shelf(shelf);
  for (int i = 0; i < BE_HANDLINGS; i++) {
    assert_null(record->pulls[0].handling[i].text);
    assert_true(isnan(record->pulls[0].handling[i].number));
    assert_true(isnan(record->trials[0].planned[0].handling[i].number));
  }
  assert_null(record->lines[0].source);
  assert_null(record->lines[0].opened);
  assert_null(record->knots[0].guides);
  assert_true(isnan(record->knots[0].tie_s));
  assert_sound(shelf);
  enter_text(shelf, "told.csv", "specimen,temperature (C),glue\nA,-4.5,none\n");
  enter_text(shelf, "lines.csv", "line,opened,source\nnylon,2019,bought\n");
  enter_text(shelf, "knots.csv", "knot,time to tie\nreef,37 s\n");
  assert_near(pull_of(shelf, "A")->handling[BE_HANDLED_TEMPERATURE].number, 268.65, 1e-9);
  assert_string_equal(shelf->record.lines[0].opened, "2019");
  assert_near(shelf->record.knots[1].tie_s, 37, 0);
  assert_sound(shelf);
}

/* A step that fails leaves the older book as it was. */
static void a_failed_step_changes_nothing(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  remove(shelf->path);
  tamper(shelf, "PRAGMA application_id = 1111846500; CREATE TABLE derived (x)");
  struct be_buf before = book_bytes(shelf);
  open_fails(shelf, true, BE_FAILED, "the book failed");
  struct be_buf after = book_bytes(shelf);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
}

static void a_failed_later_step_changes_nothing(void **state)
{
  struct shelf *shelf = *state;
  close_shelf(shelf);
  remove(shelf->path);
  tamper(shelf, tables_of_version_2);
  tamper(shelf, "ALTER TABLE specimen ADD COLUMN knot_b TEXT");
  struct be_buf before = book_bytes(shelf);
  open_fails(shelf, true, BE_FAILED, "the book failed: duplicate column name: knot_b");
  struct be_buf after = book_bytes(shelf);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
}

static void a_book_opened_for_reading_is_not_written(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "a.csv", "knot,line,load (N)\nreef,nylon,7.5\n");
  shelf_reopen(shelf, false);
  struct be_err err = refuse_with(shelf, "b.csv", "knot,line,load (N)\nreef,nylon,8.5\n", NULL,
                                  BE_FAILED, "the book cannot be written");
  assert_part(err.remedy, "rights of the file");
  assert_int_equal(read_shelf(shelf)->pulls_count, 1);
  assert_sound(shelf);
}

static void another_program_may_hold_the_book(void **state)
{
  struct shelf *shelf = *state;
  sqlite3 *other = NULL;
  assert_int_equal(sqlite3_open(shelf->path, &other), SQLITE_OK);
  assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
  sqlite3_busy_timeout(shelf->book->db, 3);
  struct be_err err = {0};
  const char *text = "knot,line,load (N)\nreef,nylon,7.5\n";
  assert_int_equal(enter_bytes(shelf, "a.csv", text, strlen(text), NULL, &err), BE_FAILED);
  assert_part(err.what, "another program is writing");
  assert_part(err.remedy, "wait until it has finished");
  assert_string_equal(err.file, shelf->path);
  assert_int_equal(sqlite3_exec(other, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
  sqlite3_close(other);
  enter_text(shelf, "a.csv", text);
  assert_int_equal(read_shelf(shelf)->pulls_count, 1);
}

/* SQLite has names of its own; a book is always a file. */
static void a_name_is_that_of_a_file(void **state)
{
  (void)state;
  static const char *const names[] = {":memory:", "file:be-a-book?mode=memory"};
  for (size_t i = 0; i < 2; i++) {
    assert_int_equal(be_book_create(names[i], NULL), BE_OK);
    assert_true(be_file_exists(names[i]));
    remove(names[i]);
  }
}

/* ---- a writing that was cut short ---- */

/* Leaves the book as a writer does that is killed in the middle: pages of it
 * written, and the journal that takes them back. */
static void cut_a_writing_short(struct shelf *shelf, char journal[80])
{
  sqlite3 *db = NULL;
  struct be_buf half, back;
  snprintf(journal, 80, "%s-journal", shelf->path);
  close_shelf(shelf);
  assert_int_equal(sqlite3_open(shelf->path, &db), SQLITE_OK);
  assert_int_equal(
      sqlite3_exec(db,
                   "PRAGMA cache_size = 1; BEGIN IMMEDIATE; UPDATE knot SET name = 'x';"
                   "WITH RECURSIVE n(i) AS (VALUES (1) UNION ALL SELECT i + 1 FROM n"
                   " LIMIT 5000) INSERT INTO knot (name) SELECT hex(randomblob(90))"
                   " FROM n",
                   NULL, NULL, NULL),
      SQLITE_OK);
  be_buf_init(&half, 1 << 30);
  be_buf_init(&back, 1 << 30);
  assert_int_equal(be_file_read(shelf->path, &half, NULL), BE_OK);
  assert_int_equal(be_file_read(journal, &back, NULL), BE_OK);
  sqlite3_close(db);
  assert_int_equal(be_file_write(shelf->path, half.data, half.size, NULL), BE_OK);
  assert_int_equal(be_file_write(journal, back.data, back.size, NULL), BE_OK);
  be_buf_free(&half);
  be_buf_free(&back);
}

static void a_writing_cut_short_is_taken_back(void **state)
{
  for (int writable = 0; writable < 2; writable++) {
    struct shelf *shelf = *state;
    char journal[80];
    enter_text(shelf, "a.csv", "knot,line,load (N)\nreef,nylon,7.5\n");
    cut_a_writing_short(shelf, journal);
    shelf_reopen(shelf, writable);
    assert_false(be_file_exists(journal));
    assert_int_equal(read_shelf(shelf)->knots_count, 1);
    assert_string_equal(shelf->record.knots[0].name, "reef");
    assert_sound(shelf);
    shelf_teardown(state);
    shelf_setup(state);
  }
}

/* As another user, where neither file nor folder may be written. */
static int open_as_a_guest(struct shelf *shelf)
{
  struct be_book *book = NULL;
  struct be_err err = {0};
  if (geteuid() == 0 && setuid(65534) != 0) return 1;
  if (be_book_open(shelf->path, false, &book, &err) != BE_FAILED) return 2;
  if (!strstr(err.what, "a writing was cut short; the book must be opened once where it can be"))
    return 3;
  return strstr(err.remedy, "rights") ? 0 : 4;
}

static void a_writing_cut_short_where_nothing_may_be_written(void **state)
{
  struct shelf *shelf = *state;
  char journal[80];
  int how = -1;
  cut_a_writing_short(shelf, journal);
  assert_int_equal(chmod(shelf->path, 0444) | chmod(journal, 0444) | chmod(shelf->folder, 0555), 0);
  pid_t child = fork();
  if (child == 0) _exit(open_as_a_guest(shelf));
  assert_int_equal(waitpid(child, &how, 0), child);
  assert_int_equal(how, 0);
  assert_int_equal(chmod(shelf->folder, 0755) | chmod(shelf->path, 0644) | chmod(journal, 0644), 0);
  shelf_reopen(shelf, true);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_new_book_is_empty_and_sound),
      on_a_shelf(a_book_is_never_overwritten),
      on_a_shelf(what_is_not_a_book_is_refused),
      on_a_shelf(other_versions_are_told_apart),
      on_a_shelf(an_older_book_is_brought_up_to_date),
      on_a_shelf(a_book_of_version_9_gets_columns_that_are_empty),
      on_a_shelf(a_book_of_version_2_is_brought_up_to_date),
      on_a_shelf(a_failed_step_changes_nothing),
      on_a_shelf(a_failed_later_step_changes_nothing),
      on_a_shelf(a_book_opened_for_reading_is_not_written),
      on_a_shelf(another_program_may_hold_the_book),
      on_a_shelf(a_name_is_that_of_a_file),
      on_a_shelf(a_writing_cut_short_is_taken_back),
      on_a_shelf(a_writing_cut_short_where_nothing_may_be_written),
  };
  return be_tests("book: life", tests);
}
