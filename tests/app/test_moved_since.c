/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What moved: since when, and what must hold of any book: the record as it stood gives what a book
 * of the earlier files alone gives, and the parts of a change add up to it. */
#include "app/demo/demo.h"
#include "moved_books.h"

/* ---- since when ---- */

static void enter_three(char book[512], const char *name)
{
  new_book(book, name);
  enter_first(book);
  struct one_sheet sheet = one_sheet("second.csv");
  add_pulls(&sheet, "c", "palomar", NYLON, LOADS(56.3));
  enter_sheet(book, &sheet);
  sheet = one_sheet("other-line.csv");
  add_pulls(&sheet, "o", "none", "braid 20 lb", LOADS(83.7, 84.9));
  enter_sheet(book, &sheet);
  sheet = one_sheet("third.csv");
  add_void(&sheet, "v1", "palomar", NYLON, false);
  enter_sheet(book, &sheet);
}

/* Plain lines and voids that were never more rank nothing: the second sheet is the last that did.
 */
static void by_itself_since_the_last_pulls_that_rank(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  enter_three(book, "moved-usual");
  ask_since(&answers, book, NULL);
  assert_told(&answers, "Since second.csv and what came after it (4 pulls): nobody changed places; "
                        "1 figure moved, by 0.2 pts at most.");
  assert_int_equal(count_rows(&answers, "moved_figures"), 1);
  answers_close(&answers);
}

static void one_sentence_where_nothing_moved(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  enter_three(book, "moved-quiet");
  ask_since(&answers, book, "other-line.csv");
  assert_told(&answers, "Since other-line.csv and what came after it (3 pulls): nothing moved.\n");
  assert_non_null(strstr(answers.json.data, "\"sentences\":[\n   \"Since other-line.csv"));
  assert_not_told(&answers, "What moved");
  assert_null(find_table(&answers, "moved"));
  assert_null(find_table(&answers, "moved_figures"));
  answers_close(&answers);
  ask_since(&answers, book, "2999-12-31");
  assert_told(&answers, "Nothing was entered since 2999-12-31.");
  answers_close(&answers);
  ask_since(&answers, book, "first.csv");
  assert_told(&answers, "Before first.csv the book held no pull: all of this is new since.");
  answers_close(&answers);
  ask_since(&answers, book, "1999-12-31T07:45");
  assert_told(&answers, "Before 1999-12-31T07:45 the book held no pull: all of this is new since.");
  answers_close(&answers);
}

static void a_wrong_moment_is_refused(void **state)
{
  (void)state;
  struct be_answering how = {.since = "2026-02-30"};
  struct be_err err = {0};
  struct be_doc *doc = NULL;
  char book[512];
  enter_three(book, "moved-wrong");
  assert_int_equal(be_app_standings(book, &how, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "\"2026-02-30\" is neither a file that was entered nor a date"));
  how.since = "fourth.csv";
  assert_int_equal(be_app_standings(book, &how, &doc, &err), BE_WRONG_USE);
  how = (struct be_answering){.since = "second.csv", .by = BE_BY_SLIPS};
  assert_int_equal(be_app_standings(book, &how, &doc, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "by strength"));
}

static void a_large_book_waits_until_it_is_asked(void **state)
{
  (void)state;
  struct answers answers;
  char book[512];
  enter_three(book, "moved-large");
  ask_since(&answers, book, "second.csv");
  answers.survey.record.pulls_count = 20001;
  answers.survey.how.since = NULL;
  struct be_doc *doc = be_doc_create("moved", "Moved");
  assert_int_equal(be_say_moved(doc, &answers.survey, NULL, 0, NULL), BE_OK);
  answers_print(&answers, doc);
  assert_told(&answers, "--since: the book holds more than 20000 pulls");
  assert_not_told(&answers, "Since");
  answers_close(&answers);
}

/* ---- the record as it stood ---- */

static void print_standings(const struct survey *survey, struct be_buf *json)
{
  struct be_doc *doc = NULL;
  be_buf_init(json, 64 * 1024 * 1024);
  assert_int_equal(be_standings_doc(survey, &doc, NULL), BE_OK);
  assert_int_equal(be_doc_json(doc, json, NULL), BE_OK);
  be_doc_free(doc);
}

static void same_standings(const char *whole, int64_t until, const char *prefix)
{
  const struct be_answering how = {.resamples = 100};
  struct survey then, alone;
  struct be_buf a, b;
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_survey_until(whole, until, &how, arena, &then, NULL), BE_OK);
  assert_int_equal(be_survey_read(prefix, &how, arena, &alone, NULL), BE_OK);
  assert_int_equal(then.record.pulls_count, alone.record.pulls_count);
  print_standings(&then, &a);
  print_standings(&alone, &b);
  assert_int_equal(a.size, b.size);
  assert_memory_equal(a.data, b.data, a.size);
  be_buf_free(&a);
  be_buf_free(&b);
  be_arena_free(arena);
}

static void enter_file(const char *book, const char *path)
{
  const struct be_entering how = {0};
  struct be_doc *doc = NULL;
  const char *const paths[] = {path};
  assert_int_equal(be_app_enter(book, paths, 1, &how, &doc, NULL), BE_OK);
  be_doc_free(doc);
}

static void demonstration(char whole[512], char bench[512])
{
  bool made;
  test_path(whole, "moved-demo.book");
  test_path(bench, "moved-demo-bench");
  assert_int_equal(be_app_demo(whole, bench, &made, NULL), BE_OK);
}

/* Sheet by sheet, the standings of the demonstration as it stood are those of a book that holds
 * nothing but these sheets, byte for byte; what moved before that is in them. */
static void as_it_stood_is_a_book_of_its_first_files(void **state)
{
  (void)state;
  static const char *const first[] = {"lines.csv", "knots.csv", "benches.csv"};
  enum { SESSIONS = 11 };
  char whole[512], prefix[512], bench[512], path[700], name[40];
  demonstration(whole, bench);
  new_book(prefix, "moved-prefix");
  for (int i = 0; i < 3; i++) {
    snprintf(path, sizeof path, "%s/%s", bench, first[i]);
    enter_file(prefix, path);
  }
  for (int i = 1; i < SESSIONS; i++) {
    struct be_book *book = NULL;
    struct be_moment moment;
    struct be_arena *arena = be_arena_create();
    snprintf(path, sizeof path, "%s/session-%d.csv", bench, i);
    enter_file(prefix, path);
    snprintf(name, sizeof name, "session-%d.csv", i + 1);
    assert_int_equal(be_book_open(whole, false, &book, NULL), BE_OK);
    assert_int_equal(be_book_moment(book, name, arena, &moment, NULL), BE_OK);
    be_book_close(book);
    be_arena_free(arena);
    same_standings(whole, moment.id, prefix);
  }
}

/* ---- parts and the whole ---- */

struct tally {
  size_t split, moves;
};

static void check_parts(const struct moved *moved, struct tally *tally)
{
  for (size_t i = 0; i < moved->count; i++)
    for (size_t k = 0; k < moved->places[i].count; k++) {
      const struct move *move = &moved->places[i].moves[k];
      double sum = 0;
      for (int part = 0; part < PARTS; part++) sum += move->part[part];
      tally->moves++;
      if (isnan(sum)) continue;
      tally->split++;
      assert_near(sum, move->is - move->was, 1e-12 * fabs(move->is));
      if (move->pulls == 0) assert_near(move->part[PART_PULLS], 0, 0);
      if (move->corrections == 0) assert_near(move->part[PART_CORRECTIONS], 0, 0);
      if (!moved->places[i].group) assert_near(move->part[PART_BLOCK], 0, 0);
    }
}

static void compare_since(const char *book, const char *since, struct tally *tally)
{
  const struct be_answering how = {0};
  struct survey then, now;
  struct place *places;
  size_t count;
  struct moved moved;
  struct be_moment moment;
  struct be_book *opened = NULL;
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_book_open(book, false, &opened, NULL), BE_OK);
  assert_int_equal(be_book_moment(opened, since, arena, &moment, NULL), BE_OK);
  be_book_close(opened);
  assert_int_equal(be_survey_read(book, &how, arena, &now, NULL), BE_OK);
  assert_int_equal(be_survey_until(book, moment.id, &how, arena, &then, NULL), BE_OK);
  then.how.resamples = now.how.resamples = 0;
  assert_int_equal(be_places(&now, &places, &count, NULL), BE_OK);
  assert_int_equal(be_moved_compare(&then, &now, places, count, &moved, NULL), BE_OK);
  check_parts(&moved, tally);
  be_arena_free(arena);
}

static double around(struct be_random *random, double value)
{
  return value * (1 + 0.04 * be_random_normal(random));
}

/* Knots of which not all are in every sheet, on three lines; some results are corrected later. */
static void enter_by_chance(const char *book, int number, struct be_random *random)
{
  static const char *const knots[] = {"none", "palomar", "uni", "snell"};
  static const char *const lines[] = {"nylon 6 lb", "nylon 12 lb", "braid 20 lb"};
  static char name[40];
  snprintf(name, sizeof name, "sheet-%d.csv", number);
  struct one_sheet sheet = one_sheet(name);
  for (int line = 0; line < 3; line++)
    for (int knot = 0; knot < 4; knot++) {
      char code[30];
      double strength = 20.0 * (line + 2) * (knot ? 0.6 + 0.09 * knot : 1);
      snprintf(code, sizeof code, "s%dl%dk%d-", number, line, knot);
      if (number > 1 && be_random_below(random, 3) == 0) continue;
      add_pulls(&sheet, code, knots[knot], lines[line],
                LOADS(around(random, strength), around(random, strength)));
      snprintf(code, sizeof code, "s1l%dk%d-%d", line, knot, number - 1);
      if (number > 1 && number < 4 && be_random_below(random, 2) == 0)
        add_correction(&sheet, code, knots[knot], lines[line], around(random, strength));
    }
  enter_sheet(book, &sheet);
}

static void parts_add_up_to_the_whole(void **state)
{
  (void)state;
  struct tally tally = {0, 0};
  for (uint64_t trial = 1; trial <= 6; trial++) {
    char book[512];
    struct be_random random;
    be_random_init(&random, 97, trial);
    new_book(book, "moved-parts");
    for (int number = 1; number <= 5; number++) enter_by_chance(book, number, &random);
    compare_since(book, "sheet-2.csv", &tally);
    compare_since(book, "sheet-4.csv", &tally);
    compare_since(book, "sheet-5.csv", &tally);
  }
  assert_true(tally.split > 100);
  assert_int_equal(tally.split, tally.moves);
}

/* Of the demonstration, where spools and speeds come and go, most can be split. */
static void parts_of_the_demonstration_add_up(void **state)
{
  (void)state;
  char whole[512], bench[512];
  struct tally tally = {0, 0};
  demonstration(whole, bench);
  for (int i = 2; i <= 11; i++) {
    char name[40];
    snprintf(name, sizeof name, "session-%d.csv", i);
    compare_since(whole, name, &tally);
  }
  assert_true(tally.split > tally.moves / 2);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(by_itself_since_the_last_pulls_that_rank),
      cmocka_unit_test(one_sentence_where_nothing_moved),
      cmocka_unit_test(a_wrong_moment_is_refused),
      cmocka_unit_test(a_large_book_waits_until_it_is_asked),
      cmocka_unit_test(as_it_stood_is_a_book_of_its_first_files),
      cmocka_unit_test(parts_add_up_to_the_whole),
      cmocka_unit_test(parts_of_the_demonstration_add_up),
  };
  return be_tests("app: moved since", tests);
}
