/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A look at files before they are entered: every row that does not fit, and the book as it was. */
#include "app_test.h"
#include "fault/failing.h"

static const char rules[] = "specimen = nr\nload (kg) = kg\nwhat = failed\nwhat: snapped = broke\n"
                            "soak = wetted\nsoak: ? = not recorded\npass over: nr = mean";
static const char sheet[] = "nr,knot,line,kg,failed,wetted\n"
                            "k1,uni,nylon 3 kg,2.5,snapped,\n"
                            "k2,uni,nylon 3 kg,two,snapped,?\n"
                            "k3,uni,,2.4,snapped,dry\n"
                            "k4,grinner,nylon 3 kg,2.7,burst,dry\n"
                            "k1,uni,nylon 3 kg,2.8,snapped,dry\n"
                            "k6,uni,nylon 3 kg,2.75,snapped,dry\n"
                            "mean,,,2.65,,\n";

static void new_book(char book[512], const char *name)
{
  test_path(book, name);
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
}

static struct be_buf bytes_of(const char *path)
{
  struct be_buf bytes;
  be_buf_init(&bytes, 1 << 26);
  assert_int_equal(be_file_read(path, &bytes, NULL), BE_OK);
  return bytes;
}

static void every_row_that_does_not_fit_is_told(void **state)
{
  (void)state;
  char book[512], path[512];
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  struct be_entering how = {.mapping = rules, .save_as = "mine"};
  new_book(book, "preview.book");
  test_path(path, "preview.csv");
  test_write(path, sheet);
  struct be_buf before = bytes_of(book);
  const char *const paths[] = {path};
  assert_int_equal(be_app_preview(book, paths, 1, &how, &doc, &err), BE_NO);
  assert_string_equal(err.what, "4 rows would be refused");
  assert_true(says(doc,
                   "of the 6 rows of this pull sheet 2 would be entered and 4 would be refused: "
                   "pulls 2, corrections 0, new lines 1, new knots 1, new benches 0."));
  assert_true(says(doc, "column \"kg\": \"two\" is not a force"));
  assert_true(says(doc, "column \"line\": the line is not named"));
  assert_true(says(doc, "--word 'what: burst = ...'"));
  assert_true(says(doc, "specimen \"k1\" has its result already, on line 2 of this sheet"));
  assert_true(says(doc, "1 row was passed over, as the rules say"));
  assert_true(says(doc, "stays not recorded: design, version, turns, knot B"));
  be_doc_free(doc);
  struct be_buf after = bytes_of(book);
  assert_int_equal(before.size, after.size);
  assert_memory_equal(before.data, after.data, before.size);
  be_buf_free(&before);
  be_buf_free(&after);
}

/* A pull sheet names a spool that only the line sheet before it tells. */
static void files_are_looked_at_as_if_those_before_were_entered(void **state)
{
  (void)state;
  char book[512], lines[512], pulls[512];
  struct be_doc *doc = NULL;
  struct be_entering how = {0};
  new_book(book, "preview-two.book");
  test_path(lines, "preview-lines.csv");
  test_path(pulls, "preview-pulls.csv");
  test_write(lines, "line,spool,material\ngrey 3,G7,nylon\n");
  test_write(pulls, "knot,spool A,load (N)\nuni,G7,31.5\nuni,G7,30.25\n");
  const char *const both[] = {pulls, lines}, *const alone[] = {pulls};
  assert_int_equal(be_app_preview(book, alone, 1, &how, &doc, NULL), BE_NO);
  be_doc_free(doc);
  assert_int_equal(be_app_preview(book, both, 2, &how, &doc, NULL), BE_OK);
  assert_true(says(doc, "of the 2 rows of this pull sheet 2 would be entered"));
  assert_true(says(doc, "Nothing was entered"));
  be_doc_free(doc);
  assert_int_equal(be_app_enter(book, alone, 1, &how, &doc, NULL), BE_BAD_INPUT);
  assert_int_equal(be_app_enter(book, both, 2, &how, &doc, NULL), BE_OK);
  be_doc_free(doc);
  assert_int_equal(be_app_preview(book, alone, 1, &how, &doc, NULL), BE_OK);
  assert_true(says(doc, "was entered before; nothing would be added"));
  be_doc_free(doc);
}

/* Rules of a trial and calibrations stand and fall as a sheet; a trace has no rows. */
static void what_has_no_rows_of_its_own_is_one(void **state)
{
  (void)state;
  char book[512], path[512];
  struct be_doc *doc = NULL;
  struct be_entering how = {0};
  new_book(book, "preview-whole.book");
  test_path(path, "preview-rules.csv");
  test_write(path, "trial,rule,value\nmay,slips,sideways\nmay,voids,kept\n");
  const char *const paths[] = {path};
  assert_int_equal(be_app_preview(book, paths, 1, &how, &doc, NULL), BE_NO);
  assert_true(says(doc, "0 would be entered and 2 would be refused"));
  be_doc_free(doc);
  test_write(path, "\"no sheet at all");
  assert_int_equal(be_app_preview(book, paths, 1, &how, &doc, NULL), BE_BAD_INPUT);
}

static enum be_status look(const char *book, const char *path, const struct be_entering *how,
                           struct be_doc **doc, struct be_err *err)
{
  const char *const paths[] = {path};
  return be_app_preview(book, paths, 1, how, doc, err);
}

static void a_sheet_without_rows_is_said_to_be_one(void **state)
{
  (void)state;
  char book[512], path[512];
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  struct be_entering how = {0};
  new_book(book, "preview-bare.book");
  test_path(path, "preview-bare.csv");
  test_write(path, "specimen,knot,line,load (lb)\n,,,\n");
  assert_int_equal(look(book, path, &how, &doc, &err), BE_OK);
  assert_true(says(doc,
                   "preview-bare.csv has the header of a pull sheet and no rows: nothing of it "
                   "would be entered."));
  be_doc_free(doc);
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &how, &doc, &err), BE_OK);
  assert_true(says(doc, "and no rows: nothing of it was added."));
  be_doc_free(doc);
  test_write(path, "specimen,knot,line,load (lb)\nmean,,,7.5\n");
  how.mapping = "pass over: specimen = mean";
  assert_int_equal(look(book, path, &how, &doc, &err), BE_OK);
  assert_true(says(doc, "and no rows that are left: nothing of it would be entered."));
  be_doc_free(doc);
  test_write(path, "");
  assert_int_equal(look(book, path, &how, &doc, &err), BE_BAD_INPUT);
  assert_string_equal(err.what, "the file is empty");
  test_write(path, "\n  \n\n");
  assert_int_equal(look(book, path, &how, &doc, &err), BE_BAD_INPUT);
  assert_string_equal(err.what, "the file has nothing but empty lines and remarks");
}

/* Of several files rules are for those that need them; that they fit none is told. */
static void rules_that_fit_no_file_are_refused(void **state)
{
  (void)state;
  char book[512], one[512], two[512];
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  new_book(book, "preview-fit.book");
  test_path(one, "preview-fit-1.csv");
  test_path(two, "preview-fit-2.csv");
  test_write(one, "specimen,knot,line,load (lb)\nf1,uni,nylon 3,7.25\n");
  test_write(two, "code,knot,line,load (lb)\nf2,uni,nylon 3,7.5\nmean,,,7.5\n");
  const char *const both[] = {one, two};
  struct be_entering how = {.mapping = "pass over: cod = mean"};
  assert_int_equal(look(book, one, &how, &doc, &err), BE_WRONG_USE);
  assert_int_equal(be_app_enter(book, both, 2, &how, &doc, &err), BE_WRONG_USE);
  how.mapping = "pass over: code = mean";
  assert_int_equal(be_app_enter(book, both, 2, &how, &doc, &err), BE_OK);
  assert_true(says(doc, "it was entered without them"));
  be_doc_free(doc);
}

/* ---- when memory runs out ---- */

struct look {
  char book[512], path[512];
};

static enum be_status attempt(void *context, struct be_err *err)
{
  const struct look *look = context;
  struct be_entering how = {.mapping = rules};
  struct be_doc *doc = NULL;
  struct be_buf text;
  const char *const paths[] = {look->path};
  be_buf_init(&text, 1 << 20);
  enum be_status status = be_app_preview(look->book, paths, 1, &how, &doc, err);
  if (status == BE_NO) status = be_doc_text(doc, 0, &text, err);
  be_doc_free(doc);
  if (status == BE_OK && !strstr(text.data, "is not a force"))
    status = be_fail(err, BE_BAD_INPUT, "a look that is not whole");
  be_buf_free(&text);
  return status;
}

static void a_look_is_whole_or_none(void **state)
{
  (void)state;
  struct look look;
  new_book(look.book, "preview-memory.book");
  test_path(look.path, "preview-memory.csv");
  test_write(look.path, sheet);
  be_fail_loop_bearing(attempt, &look, 100);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_row_that_does_not_fit_is_told),
      cmocka_unit_test(files_are_looked_at_as_if_those_before_were_entered),
      cmocka_unit_test(what_has_no_rows_of_its_own_is_one),
      cmocka_unit_test(a_sheet_without_rows_is_said_to_be_one),
      cmocka_unit_test(rules_that_fit_no_file_are_refused),
      cmocka_unit_test(a_look_is_whole_or_none),
  };
  return be_tests("app: a look before entering", tests);
}
