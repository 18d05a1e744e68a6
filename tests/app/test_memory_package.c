/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory fails at each point of writing a package, of taking one back and of merging two books:
 * all of it stands, or an error and the book as it was. */
#include "app/merge/merge.h"
#include "app/package/inside.h"
#include "fault/failing.h"
#include "odd_book.h"

/* ---- making ---- */

struct making {
  struct survey survey;
  struct be_arena *arena;
  char book[512];
};

static void drop(struct package *package)
{
  for (size_t i = 0; i < package->count; i++) be_buf_free(&package->pieces[i].bytes);
  be_free(package->pieces);
  be_arena_free(package->arena);
}

static enum be_status begin(struct making *making, struct package *package, struct survey *survey,
                            const struct be_publishing *asked, struct be_err *err)
{
  *survey = making->survey;
  *package = (struct package){.arena = be_arena_create(), .survey = survey, .asked = asked};
  survey->arena = package->arena;
  package->date = "2026-03-01";
  if (!package->arena) return be_no_memory(err);
  return be_package_licence(NULL, &package->licence, err);
}

static const struct be_publishing asked_of = {.authors = "A; B"};

static enum be_status make_tables(void *context, struct be_err *err)
{
  struct making *making = context;
  struct package package;
  struct survey survey;
  struct be_book *book = NULL;
  enum be_status status = begin(making, &package, &survey, &asked_of, err);
  if (status == BE_OK) status = be_book_open(making->book, false, &book, err);
  if (status == BE_OK)
    status = be_book_files(book, package.arena, &package.held, &package.held_count, err);
  if (status == BE_OK) status = be_package_name_files(&package, err);
  if (status == BE_OK) status = be_package_readme(&package, err);
  if (status == BE_OK) status = be_package_entered(&package, err);
  if (status == BE_OK) status = be_package_record(&package, book, err);
  if (status == BE_OK) status = be_package_worked(&package, err);
  if (status == BE_OK) status = be_package_words(&package, err);
  if (status == BE_OK) status = be_package_files(&package, book, err);
  if (status == BE_OK && be_arena_ran_out(package.arena)) status = be_no_memory(err);
  be_book_close(book);
  drop(&package);
  return status;
}

/* Of one table, for jansson asks for much. */
static enum be_status make_metadata(void *context, struct be_err *err)
{
  struct making *making = context;
  struct package package;
  struct survey survey;
  struct be_held_file held = {.entered_at = "2026-03-01T09:30:00Z"};
  enum be_status status = begin(making, &package, &survey, &asked_of, err);
  package.held = &held;
  package.held_count = 1;
  struct piece *piece =
      status == BE_OK ? be_piece_add(&package, "a.csv", "A", "text/csv", err) : NULL;
  if (piece) piece->table = be_book_table("evidence");
  if (status == BE_OK) status = piece ? be_piece_close(&package, piece, err) : be_no_memory(err);
  if (status == BE_OK) status = be_package_metadata(&package, err);
  if (status == BE_OK) status = be_package_crate(&package, err);
  bool whole = status != BE_OK || (strstr(package.pieces[1].bytes.data, "foreignKeys") &&
                                   strstr(package.pieces[2].bytes.data, "#author-2"));
  if (!whole) status = be_fail(err, BE_BAD_INPUT, "metadata that is not whole");
  drop(&package);
  return status;
}

static void a_package_is_made_whole_or_not_at_all(void **state)
{
  (void)state;
  const struct be_answering how = {.resamples = 2};
  struct making making = {.arena = be_arena_create()};
  test_book(making.book, "memory-package", TEST_HEAD "A,none,nylon 12 lb,s1,,dry,,51,broke,,,\n",
            NULL);
  assert_int_equal(be_survey_read(making.book, &how, making.arena, &making.survey, NULL), BE_OK);
  be_fail_loop_apart(make_tables, &making, 100);
  be_fail_loop_apart(make_metadata, &making, 100);
  be_arena_free(making.arena);
}

/* ---- reading one, merging: what the transactions of books are made of ---- */

static enum be_status check_package(void *context, struct be_err *err)
{
  const char *path = context;
  struct pack *pack = NULL;
  size_t files = 0, bytes = 0;
  enum be_status status = be_pack_open(path, &pack, err);
  if (status == BE_OK) status = be_pack_check(pack, &files, &bytes, err);
  if (status == BE_OK && (files < 20 || bytes < 1000))
    status = be_fail(err, BE_BAD_INPUT, "a package that is not whole");
  be_pack_close(pack);
  return status;
}

static void a_package_is_checked_whole_or_not_at_all(void **state)
{
  (void)state;
  char book[512], path[512];
  test_path(path, "memory-checked.zip");
  test_book(book, "memory-checked", TEST_HEAD "A,none,nylon 12 lb,s1,,dry,,51,broke,,,\n", NULL);
  be_file_remove(path, NULL);
  pack(book, path);
  be_fail_loop_apart(check_package, path, 7);
}

struct merging_two {
  char here[512], there[512], same[512];
};

static enum be_status load(const char *path, struct be_arena *arena, struct side *side,
                           struct be_err *err)
{
  struct be_book *book = NULL;
  enum be_status status = be_book_open(path, false, &book, err);
  if (status == BE_OK) status = be_side_load(book, arena, side, err);
  be_book_close(book);
  return status;
}

static enum be_status settle(struct merging *in, const struct merging_two *two, struct be_err *err)
{
  size_t rows = 0, all = 0;
  struct be_buf out;
  be_buf_init(&out, 1 << 20);
  enum be_status status = load(two->here, in->arena, &in->here, err);
  if (status == BE_OK) status = load(two->there, in->arena, &in->there, err);
  if (status == BE_OK) status = be_items_gather(in, err);
  in->same_path = two->same;
  if (status == BE_OK) status = be_same_read(in, err);
  if (status == BE_OK) status = be_same_check(in, err);
  if (status == BE_OK) status = be_matches_settle(in, err);
  if (status == BE_OK) status = be_specimens_settle(in, err);
  for (size_t i = 0; i < TABLES && status == BE_OK; i++) {
    if (be_book_tables[i].sheet) status = be_rows_write(in, i, &out, &rows, err);
    all += rows;
  }
  if (status == BE_OK) status = be_doc_text(in->doc, 0, &out, err);
  if (status == BE_OK && (in->open || all < 5 || !strstr(out.data, "A (other),")))
    status = be_fail(err, BE_BAD_INPUT, "a merging that is not whole");
  be_buf_free(&out);
  return status;
}

static enum be_status merge(void *context, struct be_err *err)
{
  struct merging in = {.tag = "other", .arena = be_arena_create()};
  in.doc = be_doc_create("merge", "Merged");
  enum be_status status = in.arena && in.doc ? settle(&in, context, err) : be_no_memory(err);
  be_doc_free(in.doc);
  be_side_free(&in.here);
  be_side_free(&in.there);
  be_free(in.items);
  be_free(in.matches);
  be_free(in.traces);
  be_arena_free(in.arena);
  return status;
}

static void books_are_brought_together_whole_or_not_at_all(void **state)
{
  (void)state;
  struct merging_two two;
  test_path(two.same, "memory-same.csv");
  test_book(two.here, "memory-here", TEST_HEAD "A,none,nylon 12 lb,s1,,dry,,51,broke,,,\n", NULL);
  test_book(two.there, "memory-there",
            TEST_HEAD
            "A,none,nylon 12 lb,s1,,dry,,52,broke,,,\nB,uni,nylon 12 lb,s2,,dry,,41,broke,"
            ",,\nC,uni,braid 20 lb,,,dry,,41,broke,,,\n",
            NULL);
  test_write(two.same, "kind,here,there,same\nline,nylon 12 lb,nylon 12 lb,yes\nspool,\"nylon 12 "
                       "lb, spool s1\",\"nylon 12 lb, spool s1\",yes\nspecimen,A,A,no\n");
  be_fail_loop_apart(merge, &two, 100);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_package_is_made_whole_or_not_at_all),
      cmocka_unit_test(a_package_is_checked_whole_or_not_at_all),
      cmocka_unit_test(books_are_brought_together_whole_or_not_at_all),
  };
  return be_tests("app: memory fails under packages and merging", tests);
}
