/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each case changes the file behind the book's back; the check must see it. */
#include "book/book_test.h"

/* A book with every kind of thing in it: pull 1 (trace, corrected), 2 (typed),
 * 3 (void), 4 (plain line). */
static void fill(struct shelf *shelf)
{
  static char trace[TRACE_SIZE];
  make_trace(trace, 2.4, 147.3, 0);
  const struct made_file files[] = {{"t.csv", trace}, {NULL, NULL}};
  struct be_entering how = {.fetch = fetch_made, .fetch_context = (void *)(uintptr_t)files};
  enter_text(shelf, "lines.csv", "line,spool,material\nnylon,s1,nylon\n");
  enter_text(shelf, "knots.csv", "knot,kind\nreef,bend\n");
  enter_with(shelf, "day.csv",
             "specimen,design,knot,line,load (N),trace,result,reason\n"
             "D1,,reef,nylon,,t.csv,,\nD2,,reef,nylon,91.5,,,\n"
             "D3,,reef,nylon,,,void,hook slid\nD4,plain line,none,nylon,210.25,,,\n",
             &how);
  enter_with(shelf, "fix.csv",
             "specimen,knot,line,load (N),where,correction\n"
             "D1,reef,nylon,140.5,k,seen on film\n",
             &how);
}

static void a_whole_book_is_counted(void **state)
{
  struct shelf *shelf = *state;
  fill(shelf);
  struct be_book_check checked;
  assert_int_equal(be_book_check(shelf->book, &checked, NULL), BE_OK);
  assert_int_equal(checked.files, 5);
  assert_int_equal(checked.pulls, 4);
  assert_int_equal(checked.derived, 1);
}

static void each_tampering_is_found(void **state)
{
  static const struct {
    const char *sql, *fault;
  } cases[] = {
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
      {"UPDATE derived SET time_to_peak_s = 2", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET bound = 1 - bound", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET ending = 'faded'", "the figures kept for trace \"t.csv\""},
      {"UPDATE derived SET flags = ''", "the figures kept for trace \"t.csv\""},
      {"DELETE FROM derived", "no figures are kept for trace: t.csv"},
      {"UPDATE result SET corrects = NULL", "not exactly one standing result for specimen: D1"},
      {"INSERT INTO result SELECT 99, pull, NULL, why, kind, load_N, load_text, load_unit, what,"
       " where_, which, reason, note, file, file_line FROM result WHERE pull = 2",
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
      {"UPDATE specimen SET knot = 77 WHERE code = 'D2'",
       "a row points at nothing, in table: specimen"},
      {"DELETE FROM file WHERE name = 'fix.csv'", "a row points at nothing, in table"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct shelf *shelf = *state;
    struct be_book_check checked;
    struct be_err err = {0};
    fill(shelf);
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

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_whole_book_is_counted),
      on_a_shelf(each_tampering_is_found),
      on_a_shelf(each_flipped_byte_of_a_sheet_is_found),
      on_a_shelf(no_flipped_byte_ends_the_program),
  };
  return be_tests("book: check", tests);
}
