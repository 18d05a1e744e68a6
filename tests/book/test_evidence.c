/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Photos and clips by their names, who judged, and a correction of what one has seen. */
#include "book/book_test.h"

static const char first_day[] = "specimen,knot,line,load (N),judged by,photo,clip\n"
                                "E1,reef,nylon,91.5,Wren,E1-1.jpg; E1-2.jpg ;,E1.mp4\n"
                                "E2,reef,nylon,93.25,,,\n"
                                "E3,none,nylon,140.5,ab,None,\"a, b.mp4\"\n";

static void assert_evidence(const struct be_pull *pull, size_t at, bool clip, const char *name)
{
  assert_in_range(at, 0, pull->evidence_count - 1);
  assert_int_equal(pull->evidence[at].clip, clip);
  assert_string_equal(pull->evidence[at].name, name);
}

static void a_pull_sheet_names_them(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  assert_int_equal(shelf->entered.evidence, 4);
  const struct be_pull *pull = pull_of(shelf, "E1");
  assert_string_equal(pull->judged_by, "Wren");
  assert_int_equal(pull->evidence_count, 3);
  assert_evidence(pull, 0, false, "E1-1.jpg");
  assert_evidence(pull, 1, false, "E1-2.jpg");
  assert_evidence(pull, 2, true, "E1.mp4");
  pull = pull_of(shelf, "E2");
  assert_null(pull->judged_by);
  assert_int_equal(pull->evidence_count, 0);
  pull = pull_of(shelf, "E3");
  assert_evidence(pull, 0, false, "none");
  assert_evidence(pull, 1, true, "a, b.mp4");
  assert_sound(shelf);
}

static void a_sheet_of_its_own_adds_to_them(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  enter_text(shelf, "shown.csv",
             "specimen,photo,clip,note\n"
             "e2,wide.jpg,,from the \"left\"\n"
             "E1,E1-2.jpg;E1-9.jpg,,late\n"
             "E1,E1-1.jpg,E1.mp4,\n");
  assert_string_equal(shelf->entered.kind, "evidence sheet");
  assert_int_equal(shelf->entered.evidence, 2);
  assert_int_equal(shelf->entered.known, 1);
  assert_int_equal(shelf->entered.pulls, 0);
  const struct be_pull *pull = pull_of(shelf, "E1");
  assert_int_equal(pull->evidence_count, 4);
  assert_null(pull->evidence[1].note);
  assert_evidence(pull, 3, false, "E1-9.jpg");
  assert_string_equal(pull->evidence[3].note, "late");
  assert_string_equal(pull_of(shelf, "E2")->evidence[0].note, "from the \"left\"");
  assert_int_equal(pull->corrections, 0);
  enter_text(shelf, "clips.csv", "Code,Clips\nE3,c.mp4\n");
  assert_int_equal(pull_of(shelf, "E3")->evidence_count, 3);
  enter_with(shelf, "mine.csv", "who,picture\nE2,b.png\n",
             &(struct be_entering){.mapping = "specimen = who\nphoto = picture"});
  assert_evidence(pull_of(shelf, "E2"), 1, false, "b.png");
  assert_sound(shelf);
}

static void a_header_tells_the_two_sheets_apart(void **state)
{
  (void)state;
  static const char *const sheets[][2] = {
      {"specimen,photo\nA,a.jpg\n", "evidence sheet"},
      {"specimen,clip,note\nA,a.mp4,x\n", "evidence sheet"},
      {"specimen,clip,load (N)\nA,a.mp4,3\n", "pull sheet"},
      {"specimen,photo,correction\nA,a.jpg,x\n", "pull sheet"},
      {"specimen,photo,judged by,correction\nA,a.jpg,x,y\n", "pull sheet"},
      {"specimen,note,correction\nA,x,y\n", "pull sheet"},
  };
  for (size_t i = 0; i < sizeof sheets / sizeof sheets[0]; i++)
    assert_string_equal(be_book_kind(sheets[i][0], strlen(sheets[i][0]), NULL), sheets[i][1]);
}

static void bad_rows_are_refused(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  struct be_err err = refuse_text(shelf, "specimen,photo\nE1,a.jpg\nE7,b.jpg\n",
                                  "there is no pull of specimen \"E7\" in the book");
  assert_place(&err, 3, 1);
  assert_part(err.remedy, "enter its pull first");
  err = refuse_text(shelf, "specimen,photo,clip\nE1,,\n", "names no photo and no clip");
  assert_place(&err, 2, 2);
  err = refuse_text(shelf, "specimen,clip\nE1,\" ; ;\"\n", "names no photo and no clip");
  assert_place(&err, 2, 2);
  err = refuse_text(shelf, "specimen,photo\n,a.jpg\n", "the specimen is not named");
  assert_place(&err, 2, 1);
  refuse_text(shelf, "photo,clip\na.jpg,\n", "there is no column \"specimen\"");
  refuse_text(shelf, "specimen,photo,camera\nE1,a.jpg,big\n",
              "column \"camera\" is not one that an evidence sheet has");
  err = refuse_text(shelf, "specimen,note,clip\nE1,x,\"a\nb.mp4\"\n", "clip holds a line break");
  assert_place(&err, 2, 3);
  char text[800];
  snprintf(text, sizeof text, "specimen,photo\nE1,%0256d.jpg\n", 7);
  refuse_text(shelf, text, "the name of a photo has more than 255 bytes");
  size_t used = (size_t)snprintf(text, sizeof text, "specimen,photo\nE1,");
  for (int i = 0; i <= 100; i++)
    used += (size_t)snprintf(text + used, sizeof text - used, "p%d;", i);
  snprintf(text + used, sizeof text - used, "z\n");
  refuse_text(shelf, text, "a cell names more than 100 files");
  refuse_text(shelf, "specimen,knot,line,load (N),photo\nE9,reef,nylon,90.5,\"a\nb\"\n",
              "photo holds a line break");
  assert_int_equal(count_of(shelf, "SELECT count(*) FROM evidence"), 5);
}

/* The record of before has only what was entered by then. */
static void what_came_later_was_not_there_before(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  enter_text(shelf, "shown.csv", "specimen,photo\nE2,wide.jpg\n");
  assert_int_equal(be_book_read_until(shelf->book, 2, shelf->arena, &shelf->record, NULL), BE_OK);
  assert_int_equal(shelf->record.pulls_count, 3);
  assert_int_equal(shelf->record.pulls[1].evidence_count, 0);
  assert_int_equal(shelf->record.pulls[0].evidence_count, 3);
}

static void a_correction_keeps_who_judged_before(void **state)
{
  struct shelf *shelf = *state;
  struct be_result *list;
  size_t count;
  enter_text(shelf, "day.csv", first_day);
  enter_text(shelf, "fix.csv",
             "specimen,load (N),correction,judged by,photo\nE1,90.5,misread,Tern,E1-3.jpg\n");
  const struct be_pull *pull = pull_of(shelf, "E1");
  assert_string_equal(pull->judged_by, "Tern");
  assert_evidence(pull, 3, false, "E1-3.jpg");
  assert_int_equal(be_book_results(shelf->book, pull->id, shelf->arena, &list, &count, NULL),
                   BE_OK);
  assert_int_equal(count, 2);
  assert_string_equal(list[0].judged_by, "Tern");
  assert_string_equal(list[1].judged_by, "Wren");
  assert_sound(shelf);
}

/* Someone corrects what another has corrected since he looked. */
static void only_the_result_that_was_seen_is_corrected(void **state)
{
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  int64_t seen = pull_of(shelf, "E2")->result;
  const struct be_entering how = {.corrects = seen};
  enter_with(shelf, "one.csv", "specimen,load (N),correction\nE2,94.5,misread\n", &how);
  assert_int_not_equal(pull_of(shelf, "E2")->result, seen);
  struct be_err err = refuse_with(shelf, "two.csv", "specimen,load (N),correction\nE2,95.5,mine\n",
                                  &how, BE_WRONG_USE, "\"E2\" was corrected meanwhile");
  assert_part(err.remedy, "look at what it is now");
  assert_near(pull_of(shelf, "E2")->load_N, 94.5, 1e-12);
  assert_sound(shelf);
}

static void a_changed_name_is_found(void **state)
{
  static const struct {
    const char *sql, *said;
  } cases[] = {
      {"UPDATE evidence SET name = 'x.jpg' WHERE id = 2",
       "a photo or clip of specimen \"E1\": name is \"x.jpg\", but entered again"},
      {"UPDATE evidence SET kind = 'photo' WHERE id = 3", "specimen \"E1\": kind is \"photo\""},
      {"UPDATE evidence SET note = 'x' WHERE id = 1", "specimen \"E1\": note is \"x\""},
      {"DELETE FROM evidence WHERE id = 5", "specimen \"E3\" is no longer in the book"},
      {"INSERT INTO evidence VALUES (9, 2, 'clip', 'c', NULL, 1, 2)",
       "specimen \"E2\" is in the book, but no file entered gives it"},
      {"INSERT INTO evidence VALUES (9, 77, 'clip', 'c', NULL, 1, 2)",
       "a row points at nothing, in table: evidence"},
      {"UPDATE result SET judged_by = NULL WHERE pull = 1",
       "specimen \"E1\": judged by is not recorded, but entered again it is \"Wren\""},
  };
  struct shelf *shelf = *state;
  enter_text(shelf, "day.csv", first_day);
  struct be_buf whole = book_bytes(shelf);
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct be_err err = {0};
    struct be_book_check checked;
    be_book_close(shelf->book);
    tamper(shelf, cases[i].sql);
    assert_int_equal(be_book_open(shelf->path, false, &shelf->book, NULL), BE_OK);
    assert_int_equal(be_book_check(shelf->book, &checked, &err), BE_NO);
    assert_part(err.what, cases[i].said);
    assert_int_equal(be_file_write(shelf->path, whole.data, whole.size, NULL), BE_OK);
  }
  be_buf_free(&whole);
  shelf_reopen(shelf, true);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      on_a_shelf(a_pull_sheet_names_them),
      on_a_shelf(a_sheet_of_its_own_adds_to_them),
      cmocka_unit_test(a_header_tells_the_two_sheets_apart),
      on_a_shelf(bad_rows_are_refused),
      on_a_shelf(what_came_later_was_not_there_before),
      on_a_shelf(a_correction_keeps_who_judged_before),
      on_a_shelf(only_the_result_that_was_seen_is_corrected),
      on_a_shelf(a_changed_name_is_found),
  };
  return be_tests("book: evidence", tests);
}
