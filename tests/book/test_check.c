/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each case changes the file behind the book's back; the check must see it. */
#include "book/book_test.h"

/* A book with every kind of thing in it: pull 1 (trace, corrected), 2 (typed),
 * 3 (void), 4 (plain line), 5 (two knots, on a bench). */
static void fill(struct shelf *shelf)
{
  static char trace[TRACE_SIZE];
  make_trace(trace, 2.4, 147.3, 0);
  const struct made_file files[] = {{"t.csv", trace}, {NULL, NULL}};
  struct be_entering how = {.fetch = fetch_made, .fetch_context = (void *)(uintptr_t)files};
  enter_text(shelf, "lines.csv", "line,spool,material\nnylon,s1,nylon\n");
  enter_text(shelf, "knots.csv", "knot,kind,crossings A,overlap (mm)\nreef,bend,6,9.5\n");
  enter_with(shelf, "day.csv",
             "specimen,design,knot,line,load (N),trace,result,reason\n"
             "D1,,reef,nylon,,t.csv,,\nD2,,reef,nylon,91.5,,,\n"
             "D3,,reef,nylon,,,void,hook slid\nD4,plain line,none,nylon,210.25,,,\n",
             &how);
  enter_with(shelf, "fix.csv",
             "specimen,knot,line,load (N),where,correction\n"
             "D1,reef,nylon,140.5,k,seen on film\n",
             &how);
  enter_text(shelf, "benches.csv",
             "bench,calibration,resolution,drift,peak missed,certificate,calibrated\n"
             "shed,0.5 %,0.1 N,0.3 N,2 %,C-7,2026-02-01\n");
  enter_text(
      shelf, "two.csv",
      "specimen,knot,knot B,line,bench,load (N),which\nD5,reef,bow,nylon,shed,88.5,knot B\n");
}

/* The same with a trial: D6 of it is pulled, D7 is not; a rule was changed. */
static void fill_trial(struct shelf *shelf)
{
  fill(shelf);
  enter_text(shelf, "rules.csv", "trial,rule,value\nwinter,level,0.9\nwinter,seed,41\n");
  enter_text(shelf, "plan.csv",
             "trial,specimen,order,block,knot,line,hardware,soak,free length,speed,tyer,lubricant\n"
             "winter,D6,1,2,reef,nylon,ring,60 min,350,250,Ann,water\n"
             "winter,D7,2,1,reef,nylon,,,,,,\nspring,D8,1,,none,nylon,,,,,,\n");
  enter_text(shelf, "blind.csv", "specimen,load (N),what\nD6,97.5,broke\n");
  enter_text(shelf, "change.csv", "trial,rule,value,reason\nwinter,level,0.95,agreed\n");
  enter_text(shelf, "count.csv",
             "line,spool,on hand (m),counted\nnylon,s1,41.5,May\nnylon,s1,40.5,June\n");
}

static void a_whole_book_is_counted(void **state)
{
  struct shelf *shelf = *state;
  fill(shelf);
  struct be_book_check checked;
  assert_int_equal(be_book_check(shelf->book, &checked, NULL), BE_OK);
  assert_int_equal(checked.files, 7);
  assert_int_equal(checked.pulls, 5);
  assert_int_equal(checked.derived, 1);
}

struct tampering {
  const char *sql, *fault;
};

static void assert_found(void **state, void (*fill_it)(struct shelf *),
                         const struct tampering *cases, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    struct shelf *shelf = *state;
    struct be_book_check checked;
    struct be_err err = {0};
    fill_it(shelf);
    tamper(shelf, cases[i].sql);
    enum be_status status = be_book_check(shelf->book, &checked, &err);
    if (status != BE_NO) print_error("%s\n", cases[i].sql);
    assert_int_equal(status, BE_NO);
    assert_part(err.what, cases[i].fault);
    assert_string_equal(err.file, shelf->path);
    shelf_teardown(state);
    shelf_setup(state);
  }
}

static void each_tampering_is_found(void **state)
{
  static const struct tampering cases[] = {
      {"UPDATE file SET bytes = CAST(replace(bytes, '91.5', '91.6') AS BLOB) WHERE name = "
       "'day.csv'",
       "the bytes of file \"day.csv\" are not those that were entered"},
      {"UPDATE file SET bytes = substr(bytes, 1, length(bytes) - 1) WHERE name = 't.csv'",
       "the bytes of file \"t.csv\" are not those"},
      {"UPDATE file SET bytes = x'' WHERE name = 'knots.csv'", "the bytes of file \"knots.csv\""},
      {"UPDATE file SET sha256 = replace(sha256, substr(sha256, 1, 1), 'x') WHERE id = 1",
       "the bytes of file \"lines.csv\""},
      {"UPDATE derived SET peak_N = peak_N + 0.001", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET zero_N = NULL", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET rise_N = rise_N * 1.0001", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET first_slip_N = 70", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET missed_N = missed_N + 0.001", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET drift_N = 0.25", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET time_to_peak_s = 2", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET bound = 1 - bound", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET ending = 'faded'", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET flags = ''", "the figures kept for trace \"t.csv\""},
      {"UPDATE result SET corrects = NULL", "not exactly one standing result for specimen: D1"},
      {"INSERT INTO result SELECT 99, pull, NULL, why, kind, load_N, load_text, load_unit, what,"
       " where_, which, reason, note, file, file_line, judged_by FROM result WHERE pull = 2",
       "not exactly one standing result for specimen: D2"},
      {"DELETE FROM result WHERE pull = 3", "not exactly one standing result for specimen: D3"},
      {"UPDATE result SET load_N = NULL WHERE pull = 2", "no load for result: 2"},
      {"UPDATE result SET kind = 'event' WHERE pull = 3", "no load for result: 3"},
      {"UPDATE result SET load_N = load_N + 0.001 WHERE pull = 2",
       "the load of result 2 is not the \"91.5\" that was typed"},
      {"UPDATE result SET load_text = '91,6' WHERE pull = 2", "not the \"91,6\" that was typed"},
      {"UPDATE result SET load_unit = 'lb' WHERE pull = 4", "not the \"210.25\" that was typed"},
      {"UPDATE result SET load_unit = NULL WHERE pull = 4", "not the \"210.25\" that was typed"},
      {"UPDATE result SET load_text = '7' WHERE pull = 3", "not the \"7\" that was typed"},
      {"UPDATE specimen SET knot = 1 WHERE code = 'D4'",
       "plain line and knot disagree for specimen: D4"},
      {"UPDATE specimen SET design = 'single knot', knot = NULL WHERE code = 'D2'",
       "plain line and knot disagree for specimen: D2"},
      {"UPDATE specimen SET knot_b = 1 WHERE code = 'D4'",
       "design and knot B disagree for specimen: D4"},
      {"UPDATE specimen SET knot_b = 2, design = 'single knot' WHERE code = 'D2'",
       "design and knot B disagree for specimen: D2"},
      {"UPDATE specimen SET knot_b = 2, design = 'two same' WHERE code = 'D2'",
       "design and knot B disagree for specimen: D2"},
      {"UPDATE specimen SET knot_b = 1, design = 'two different' WHERE code = 'D2'",
       "design and knot B disagree for specimen: D2"},
      {"UPDATE specimen SET knot_b = 2 WHERE code = 'D2'",
       "design and knot B disagree for specimen: D2"},
      {"UPDATE result SET which = 'knot B' WHERE pull = 2",
       "what let go was knot B, but there is none in specimen: D2"},
      {"UPDATE specimen SET knot_b = 77 WHERE code = 'D5'",
       "a row points at nothing, in table: specimen"},
      {"UPDATE pull SET bench = 77 WHERE id = 2", "a row points at nothing, in table: pull"},
      {"UPDATE specimen SET knot = 77 WHERE code = 'D2'",
       "a row points at nothing, in table: specimen"},
      {"DELETE FROM file WHERE name = 'fix.csv'", "a row points at nothing, in table"},
  };
  assert_found(state, fill, cases, sizeof cases / sizeof cases[0]);
}

/* Rows that break no rule, and are not what the files give. */
static void each_row_is_entered_again(void **state)
{
  static const struct tampering cases[] = {
      {"UPDATE result SET what = 'broke' WHERE pull = 2",
       "a result of specimen \"D2\": what is \"broke\", but entered again it is not recorded"},
      {"UPDATE result SET where_ = 'grip' WHERE where_ IS NOT NULL",
       "a result of specimen \"D1\": where is \"grip\", but entered again it is \"in the knot\""},
      {"UPDATE result SET note = 'odd' WHERE pull = 4", "specimen \"D4\": note is \"odd\""},
      {"UPDATE result SET kind = 'lower bound' WHERE pull = 2",
       "specimen \"D2\": kind is \"lower bound\", but entered again it is \"event\""},
      {"UPDATE result SET reason = 'late' WHERE pull = 3", "specimen \"D3\": reason is \"late\""},
      {"UPDATE result SET why = 'whim' WHERE why IS NOT NULL", "specimen \"D1\": correction is"},
      {"UPDATE result SET which = 'tag' WHERE pull = 2", "specimen \"D2\": which is \"tag\""},
      {"UPDATE result SET file_line = 9 WHERE pull = 2", "line of its file is 9,"},
      {"UPDATE result SET file = 1 WHERE pull = 2", "specimen \"D2\": file is"},
      {"UPDATE specimen SET knot = NULL, design = 'plain line' WHERE code = 'D2'",
       "specimen \"D2\": design is \"plain line\""},
      {"UPDATE specimen SET tyer = 'me' WHERE code = 'D2'", "specimen \"D2\": tyer is \"me\""},
      {"UPDATE specimen SET code = 'D22' WHERE code = 'D2'",
       "specimen \"D2\" is no longer in the book"},
      {"INSERT INTO knot (name) VALUES ('bob'); UPDATE specimen SET knot = 3 WHERE code = 'D2'",
       "knot \"bob\" is in the book, but no file entered gives it"},
      {"UPDATE knot SET crossings_a = 7 WHERE name = 'reef'", "knot \"reef\": crossings A is 7,"},
      {"UPDATE knot SET crossings_b = 0 WHERE name = 'reef'", "knot \"reef\": crossings B is 0,"},
      {"UPDATE knot SET overlap_m = NULL", "knot \"reef\": overlap is not recorded,"},
      {"UPDATE pull SET session = 'noon' WHERE id = 2", "the pull of specimen \"D2\": session is"},
      {"UPDATE pull SET place = 3 WHERE id = 2", "the pull of specimen \"D2\": order is 3,"},
      {"UPDATE pull SET trace = NULL; UPDATE result SET kind = 'void' WHERE load_N IS NULL",
       "the pull of specimen \"D1\": trace is not recorded, but"},
      {"DELETE FROM result WHERE pull = 2; DELETE FROM pull WHERE id = 2",
       "the pull of specimen \"D2\" is no longer in the book"},
      {"UPDATE line SET lot = 'L7'", "line \"nylon, spool s1\": lot is \"L7\""},
      {"UPDATE line SET label_N = 40.25", "line \"nylon, spool s1\": label_N is 40.25,"},
      {"UPDATE bench SET calibration = 0.25", "bench \"shed\": calibration is 0.25, but"},
      {"UPDATE bench SET resolution_N = 0.25", "bench \"shed\": resolution_N is 0.25, but"},
      {"UPDATE bench SET drift_N = NULL", "bench \"shed\": drift_N is not recorded, but"},
      {"UPDATE bench SET missed = 0.25", "bench \"shed\": missed is 0.25, but"},
      {"UPDATE bench SET certificate = 'C-8'", "bench \"shed\": certificate is \"C-8\", but"},
      {"UPDATE bench SET calibrated = 'today'", "bench \"shed\": calibrated is \"today\", but"},
      {"UPDATE bench SET file = 2", "bench \"shed\": file is"},
      {"UPDATE bench SET name = 'attic'", "bench \"attic\" is in the book, but no file entered"},
      {"UPDATE pull SET bench = NULL",
       "the pull of specimen \"D5\": bench is not recorded, but entered again it is \"shed\""},
      {"UPDATE pull SET bench = 1 WHERE id = 2", "the pull of specimen \"D2\": bench is \"shed\","},
      {"UPDATE specimen SET knot_b = NULL WHERE code = 'D5'; UPDATE result SET which = NULL",
       "specimen \"D5\": knot B is not recorded, but entered again it is \"bow\""},
      {"UPDATE result SET which = 'knot A' WHERE which = 'knot B'",
       "specimen \"D5\": which is \"knot A\", but entered again it is \"knot B\""},
      {"UPDATE knot SET kind = 'loop'", "knot \"bow\": kind is \"loop\""},
      {"UPDATE file SET name = 'T.csv' WHERE name = 't.csv'", "file \"day.csv\", entered with"},
      {"DELETE FROM entered WHERE file = 5", "\"fix.csv\" is in the book, but no file entered"},
      {"UPDATE entered SET mapping = 'note := odd' WHERE file = 3", "note is not recorded, but"},
      {"INSERT INTO mapping VALUES ('mine', 'ignore = x')", "mapping \"mine\" is in the book"},
  };
  assert_found(state, fill, cases, sizeof cases / sizeof cases[0]);
}

static void enter_trace_of(struct shelf *shelf, const char *sheet, double peak_N)
{
  static char trace[TRACE_SIZE];
  make_trace(trace, 2.4, peak_N, 0);
  const struct made_file files[] = {{"t.csv", trace}, {NULL, NULL}};
  struct be_entering how = {.fetch = fetch_made, .fetch_context = (void *)(uintptr_t)files};
  enter_with(shelf, "day.csv", sheet, &how);
}

/* All that bears on how a file is read is kept, and used again. */
static void every_way_of_entering_is_gone_through_again(void **state)
{
  struct shelf *shelf = *state;
  char trace[TRACE_SIZE];
  struct be_entering how = {.decimal = '.'};
  enter_with(shelf, "a.csv", "specimen,knot,line,load (N)\nA,reef,nylon,\"1,234\"\n", &how);
  assert_near(pull_of(shelf, "A")->load_N, 1234, 0);
  how = (struct be_entering){.mapping = "load (N) = kraft\ntyer := me", .save_as = "mine"};
  enter_with(shelf, "b.csv", "specimen,knot,line,kraft\nB,reef,nylon,71.5\n", &how);
  how = (struct be_entering){.mapping_of = "mine", .mapping = "note := late", .save_as = "mine"};
  enter_with(shelf, "c.csv", "specimen,knot,line,kraft\nC,reef,nylon,72.5\n", &how);
  make_trace(trace, 2.4, 70.3, 0);
  how = (struct be_entering){.specimen = "B"};
  enter_with(shelf, "any.csv", trace, &how);
  /* The same name from two folders: each sheet had its own. */
  enter_trace_of(shelf, "specimen,knot,line,trace\nT1,reef,nylon,t.csv\n", 150.5);
  enter_trace_of(shelf, "specimen,knot,line,trace\nT2,reef,nylon,t.csv\n", 141.5);
  assert_sound(shelf);
  tamper(shelf, "UPDATE entered SET decimal_mark = ',' WHERE file = 1");
  struct be_book_check checked;
  struct be_err err = {0};
  assert_int_equal(be_book_check(shelf->book, &checked, &err), BE_NO);
  assert_part(err.what, "specimen \"A\": load is 1234, but entered again it is 1.234");
  assert_part(err.remedy, "go back to a copy");
}

/* What is derived can be thrown away at any time, and made again. */
static void figures_of_traces_are_made_again(void **state)
{
  struct shelf *shelf = *state;
  struct be_book_check checked;
  fill(shelf);
  enter_trace_of(shelf, "specimen,knot,line,trace\nT1,reef,nylon,t.csv\n", 150.5);
  struct be_pull kept = *pull_of(shelf, "T1");
  static const char *const spoils[] = {"DELETE FROM derived",
                                       "UPDATE derived SET peak_N = 7, made_by = '0.0.1'"};
  for (size_t i = 0; i < 2; i++) {
    tamper(shelf, spoils[i]);
    shelf_reopen(shelf, false);
    const struct be_pull *pull = pull_of(shelf, "T1");
    if (i == 0) {
      assert_near(pull->trace_peak_N, kept.trace_peak_N, 0);
      assert_near(pull->trace_zero_N, kept.trace_zero_N, 0);
      assert_near(pull->trace_missed_N, kept.trace_missed_N, 0);
      assert_near(pull->trace_drift_N, kept.trace_drift_N, 0);
      assert_near(pull->load_N, kept.load_N, 0);
      assert_int_equal(be_book_check(shelf->book, &checked, NULL), BE_OK);
      assert_int_equal(checked.derived, 0);
    } else {
      struct be_err err = {0};
      assert_int_equal(be_book_check(shelf->book, &checked, &err), BE_NO);
      assert_part(err.remedy, "next opened for writing");
    }
    shelf_reopen(shelf, true);
    assert_int_equal(be_book_check(shelf->book, &checked, NULL), BE_OK);
    assert_int_equal(checked.derived, 2);
    assert_near(pull_of(shelf, "T1")->trace_peak_N, kept.trace_peak_N, 0);
    assert_near(pull_of(shelf, "T1")->trace_missed_N, kept.trace_missed_N, 0);
    assert_near(pull_of(shelf, "T1")->trace_drift_N, kept.trace_drift_N, 0);
  }
  tamper(shelf, "UPDATE derived SET peak_N = 7");
  struct be_err err = {0};
  assert_int_equal(be_book_check(shelf->book, &checked, &err), BE_NO);
  assert_part(err.remedy, "DELETE FROM derived WHERE trace = 4");
}

/* A trace whose bytes no longer are one neither hides nor stops the opening. */
static void a_spoilt_trace_is_named(void **state)
{
  struct shelf *shelf = *state;
  struct be_err err = {0};
  enter_trace_of(shelf, "specimen,knot,line,trace\nT1,reef,nylon,t.csv\n", 150.5);
  tamper(shelf, "DELETE FROM derived; UPDATE file SET bytes = x'4142' WHERE kind = 'trace'");
  shelf_reopen(shelf, true);
  assert_int_equal(be_book_read(shelf->book, shelf->arena, &shelf->record, &err), BE_BAD_INPUT);
  assert_part(err.what, "trace \"t.csv\" gives no figures: ");
  assert_string_equal(err.file, shelf->path);
}

static enum be_status look(struct shelf *shelf, const struct be_buf *whole, struct be_err *err)
{
  struct be_book_check checked;
  *err = (struct be_err){0};
  assert_int_equal(be_file_write(shelf->path, whole->data, whole->size, NULL), BE_OK);
  enum be_status status = be_book_open(shelf->path, false, &shelf->book, err);
  if (status == BE_OK) status = be_book_check(shelf->book, &checked, err);
  be_book_close(shelf->book);
  shelf->book = NULL;
  return status;
}

static size_t place_of(const struct be_buf *whole, const char *text)
{
  size_t size = strlen(text), at = 0;
  while (at + size < whole->size && memcmp(whole->data + at, text, size) != 0) at++;
  assert_true(at + size < whole->size);
  return at;
}

/* Every byte of a sheet, as it lies in the file, is flipped in turn. */
static void each_flipped_byte_of_a_sheet_is_found(void **state)
{
  struct shelf *shelf = *state;
  struct be_err err;
  fill(shelf);
  be_book_close(shelf->book);
  shelf->book = NULL;
  struct be_buf whole = book_bytes(shelf);
  const char *start = "specimen,knot,line,load (N),where,correction\n";
  size_t at = place_of(&whole, start), end = at + strlen(start);
  for (; at < end; at++) {
    whole.data[at] ^= 0x04;
    assert_int_equal(look(shelf, &whole, &err), BE_NO);
    assert_part(err.what, "the bytes of file \"fix.csv\"");
    whole.data[at] ^= 0x04;
  }
  assert_int_equal(look(shelf, &whole, &err), BE_OK);
  be_buf_free(&whole);
}

/* Much of a file is room to spare and names that nothing vouches for, so not
 * all is found; but nothing is opened that cannot be looked through. */
static void no_flipped_byte_ends_the_program(void **state)
{
  struct shelf *shelf = *state;
  struct be_err err;
  size_t found = 0;
  fill(shelf);
  be_book_close(shelf->book);
  shelf->book = NULL;
  struct be_buf whole = book_bytes(shelf);
  for (size_t at = 0; at < whole.size; at += 487) {
    whole.data[at] ^= 0x40;
    enum be_status status = look(shelf, &whole, &err);
    assert_true(status == BE_OK || err.what[0] != '\0');
    found += status != BE_OK;
    whole.data[at] ^= 0x40;
  }
  assert_int_equal(look(shelf, &whole, &err), BE_OK);
  be_buf_free(&whole);
  assert_true(found > 0);
}

/* What a trial fixed, and what was counted, cannot be changed afterwards unseen. */
static void trials_and_counts_are_entered_again(void **state)
{
  static const struct tampering cases[] = {
      {"UPDATE trial SET name = 'summer' WHERE name = 'winter'",
       "trial \"summer\" is in the book,"},
      {"INSERT INTO trial (name, file) VALUES ('autumn', 1)", "trial \"autumn\" is in the book,"},
      {"UPDATE trial SET file = 1 WHERE name = 'spring'", "trial \"spring\": file is"},
      {"UPDATE rule SET value = '42' WHERE rule = 'seed'",
       "a rule of trial \"winter, seed\": value is \"42\", but entered again it is \"41\""},
      {"UPDATE rule SET reason = 'none' WHERE reason IS NOT NULL",
       "a rule of trial \"winter, level\": reason is \"none\""},
      {"UPDATE rule SET pulled = 0", "\"winter, level\": pulled by then is 0,"},
      {"UPDATE rule SET file_line = 9 WHERE rule = 'seed'",
       "\"winter, seed\": line of its file is 9"},
      {"UPDATE rule SET file = 1 WHERE rule = 'seed'", "\"winter, seed\": file is"},
      {"DELETE FROM rule WHERE reason IS NOT NULL",
       "a rule of trial \"winter, level\" is no longer in the book"},
      {"UPDATE rule SET trial = 77 WHERE rule = 'seed'", "a row points at nothing, in table: rule"},
      {"DELETE FROM planned WHERE code = 'D7'", "planned specimen \"D7\" is no longer in the book"},
      {"UPDATE planned SET trial = 2, place = 7 WHERE code = 'D7'",
       "planned specimen \"D7\": trial is \"spring\""},
      {"UPDATE planned SET place = 7 WHERE code = 'D7'", "specimen \"D7\": order is 7,"},
      {"UPDATE planned SET block = 3 WHERE code = 'D7'", "specimen \"D7\": block is 3,"},
      {"UPDATE planned SET design = 'proof hold' WHERE code = 'D7'", "\"D7\": design is"},
      {"UPDATE planned SET knot = 2 WHERE code = 'D6'", "planned specimen \"D6\": knot is \"bow\""},
      {"UPDATE planned SET knot_b = 1 WHERE code = 'D7'", "specimen \"D7\": knot B is \"reef\""},
      {"UPDATE planned SET line_b = 1 WHERE code = 'D7'", "specimen \"D7\": line B is"},
      {"UPDATE planned SET hardware = 'hook' WHERE code = 'D6'", "specimen \"D6\": hardware is"},
      {"UPDATE planned SET soak_s = 60 WHERE code = 'D6'", "\"D6\": time of soak is 60,"},
      {"UPDATE planned SET speed_m_s = NULL", "\"D6\": speed is not recorded,"},
      {"UPDATE planned SET length_m = 1 WHERE code = 'D6'", "\"D6\": free length is 1,"},
      {"UPDATE planned SET tyer = 'Bo' WHERE code = 'D6'", "planned specimen \"D6\": tyer is"},
      {"UPDATE planned SET lubricant = NULL", "planned specimen \"D6\": lubricant is not"},
      {"UPDATE planned SET pulled = 5 WHERE code = 'D7'", "\"D7\": pulled by then is 5,"},
      {"UPDATE planned SET file_line = 9 WHERE code = 'D7'", "\"D7\": line of its file is 9,"},
      {"UPDATE specimen SET tyer = NULL WHERE code = 'D6'",
       "specimen \"D6\": tyer is not recorded"},
      {"UPDATE stock SET on_hand_m = 39 WHERE counted = 'June'",
       "a count of line \"nylon, spool s1\": on hand is 39,"},
      {"UPDATE stock SET counted = 'July' WHERE counted = 'May'", "counted is \"July\""},
      {"DELETE FROM stock WHERE counted = 'June'", "is no longer in the book, but its file"},
      {"UPDATE stock SET line = 77", "a row points at nothing, in table: stock"},
  };
  struct shelf *shelf = *state;
  fill_trial(shelf);
  assert_sound(shelf);
  shelf_teardown(state);
  shelf_setup(state);
  assert_found(state, fill_trial, cases, sizeof cases / sizeof cases[0]);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_whole_book_is_counted),
      on_a_shelf(each_tampering_is_found),
      on_a_shelf(each_row_is_entered_again),
      on_a_shelf(trials_and_counts_are_entered_again),
      on_a_shelf(every_way_of_entering_is_gone_through_again),
      on_a_shelf(figures_of_traces_are_made_again),
      on_a_shelf(a_spoilt_trace_is_named),
      on_a_shelf(each_flipped_byte_of_a_sheet_is_found),
      on_a_shelf(no_flipped_byte_ends_the_program),
  };
  return be_tests("book: check", tests);
}
