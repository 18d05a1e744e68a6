/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the book says of its spools, and a count that goes into it. */
#include "app/lines/lines.h"

#include "figures.h"

static const char lines[] = "line,spool,material,label,size,diameter (mm),lot,on hand (m),counted\n"
                            "nylon 12 lb,S1,nylon,12 lb,#3,0.285,K-7,61.5,2026-03-01\n"
                            "nylon 12 lb,S2,nylon,12 lb,,,,,\n"
                            "braid 20 lb,B1,braid,20 lb,,,,,\n";

static struct answers open_book(const char *name, const struct be_answering *how)
{
  struct answers answers;
  static const double first[] = {57.3, 61.9, 59.2, 60.4, 58.7}, second[] = {52, 55, 53.5};
  struct sheet sheet = sheet_begin("knot,line A,spool A,line B,spool B,soak,session,what,where,"
                                   "load (N)");
  sheet_loads(&sheet, "none,nylon 12 lb,S1,,,dry,may,B,L", first, 5);
  sheet_loads(&sheet, "none,nylon 12 lb,S2,,,dry,may,B,L", second, 3);
  sheet_row(&sheet, "none,nylon 12 lb,S1,,,dry,june,B,G,54.3");
  sheet_row(&sheet, "uni,nylon 12 lb,S1,,,dry,june,B,K,48.1");
  sheet_row(&sheet, "uni,nylon 12 lb,S1,,,dry,june,B,K,50.3");
  sheet_row(&sheet, "uni,nylon 12 lb,S2,braid 20 lb,B1,dry,june,B,K,44.7");
  sheet_row(&sheet, "uni,nylon 12 lb,S2,braid 20 lb,B1,soaked,june,B,K,43.9");
  answers_open(&answers, name, &sheet, lines, how);
  return answers;
}

static void ask_lines(struct answers *answers)
{
  struct be_doc *doc = NULL;
  assert_int_equal(be_lines_doc(&answers->survey, &doc, NULL), BE_OK);
  answers_print(answers, doc);
}

static void ask_line(struct answers *answers, size_t line)
{
  struct be_doc *doc = NULL;
  assert_int_equal(be_line_doc(&answers->survey, line, 0, &doc, NULL), BE_OK);
  answers_print(answers, doc);
}

/* ---- all of them ---- */

static void the_first_sentence_says_which_can_be_divided_by(void **state)
{
  (void)state;
  struct answers answers = open_book("lines-first", NULL);
  ask_lines(&answers);
  assert_told(&answers, "1 of 3 spools can be divided by: it has 5 plain pulls or more");
  assert_told(&answers, "Too few plain pulls, in some soak: nylon 12 lb (S2).");
  assert_told(&answers, "No plain pull that let go at all: braid 20 lb (B1).");
  assert_non_null(strstr(row_of(&answers, "lines", "\"S1\"", NULL), "\"divisible\":\"yes\""));
  assert_non_null(strstr(row_of(&answers, "lines", "\"B1\"", NULL), "\"divisible\":\"no\""));
  answers_close(&answers);
}

static void a_spool_is_told_with_its_label_and_size_as_written(void **state)
{
  (void)state;
  struct answers answers = open_book("lines-record", NULL);
  ask_lines(&answers);
  const char *row = row_of(&answers, "lines", "\"S1\"", NULL);
  assert_non_null(strstr(row, "\"label\":\"12 lb\",\"size\":\"#3\""));
  assert_non_null(strstr(row, "\"lot\":\"K-7\""));
  assert_near(figure(row, "diameter_mm"), 0.285, 1e-12);
  assert_non_null(strstr(row_of(&answers, "lines", "\"S2\"", NULL), "\"lot\":\"not recorded\""));
  answers_close(&answers);
}

static void a_plain_line_has_its_mean_and_its_label_beside_it(void **state)
{
  (void)state;
  struct answers answers = open_book("lines-plain", NULL);
  ask_lines(&answers);
  const char *row = row_of(&answers, "plain_lines", "(S2)", "dry");
  assert_near(figure(row, "mean"), 53.5, 1e-9);
  assert_near(figure(row, "cv_df"), 6, 0);
  assert_near(figure(row, "n"), 3, 0);
  assert_near(figure(row, "of_label_percent"), 100 * 53.5 / (12 * 4.4482216152605), 1e-9);
  row = row_of(&answers, "plain_lines", "(S1)", "dry");
  assert_near(figure(row, "n"), 5, 0);
  assert_near(figure(row, "lower_bounds"), 1, 0);
  assert_near(figure(row, "tied"), 2, 0);
  row = row_of(&answers, "plain_lines", "(S2)", "soaked");
  assert_near(figure(row, "n"), 0, 0);
  assert_true(isnan(figure(row, "mean")));
  answers_close(&answers);
}

/* Derived with R 4.2.2: squared relative scatters pooled by degrees of freedom over both spools,
 * then t with 6. */
static void its_interval_is_that_of_the_pooled_scatter(void **state)
{
  (void)state;
  struct answers answers;
  static const double first[] = {57.3, 61.9, 59.2, 60.4, 58.7}, second[] = {52, 55, 53.5};
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,load (N)");
  sheet_loads(&sheet, "none,nylon 12 lb,S1,dry", first, 5);
  sheet_loads(&sheet, "none,nylon 12 lb,S2,dry", second, 3);
  answers_open(&answers, "lines-interval", &sheet, NULL, NULL);
  ask_lines(&answers);
  const char *row = row_of(&answers, "plain_lines", "(S1)", NULL);
  assert_near(figure(row, "mean"), 59.5, 1e-9);
  assert_near(figure(row, "mean_low"), 57.62017575, 1e-7);
  assert_near(figure(row, "mean_high"), 61.37982425, 1e-7);
  assert_near(figure(row, "cv_percent"), 2.887134124, 1e-8);
  assert_told(&answers, "nothing is ever divided by a label");
  answers_close(&answers);
}

static void line_on_hand_stands_beside_what_uses_it(void **state)
{
  (void)state;
  struct answers answers = open_book("lines-stock", NULL);
  ask_lines(&answers);
  const char *row = row_of(&answers, "stock", "(S1)", NULL);
  assert_near(figure(row, "counted_m"), 61.5, 1e-9);
  assert_near(figure(row, "used_since"), 8, 0);
  assert_near(figure(row, "on_hand_m"), 61.5 - 8 * 1.5, 1e-9);
  assert_near(figure(row, "pulls"), 8, 0);
  assert_non_null(strstr(row, "2026-03-01"));
  row = row_of(&answers, "stock", "(S2)", NULL);
  assert_true(isnan(figure(row, "on_hand_m")));
  assert_non_null(strstr(row, "\"never\""));
  answers_close(&answers);
}

/* ---- what asks for a look ---- */

static void few_plain_pulls_are_doubted(void **state)
{
  (void)state;
  struct answers answers = open_book("lines-few", NULL);
  ask_lines(&answers);
  assert_non_null(strstr(row_of(&answers, "doubts", "(S2)", "\"dry\""),
                         "3 plain pulls: pull 2 more, for 5 at least"));
  assert_non_null(strstr(row_of(&answers, "doubts", "(S2)", "\"soaked\""),
                         "no plain pull that let go: 1 pull of knots"));
  assert_int_equal(count_rows(&answers, "doubts"), 4);
  answers_close(&answers);
}

static void scatter_and_label_out_of_the_usual_are_doubted(void **state)
{
  (void)state;
  struct answers answers;
  static const double wild[] = {40, 58.3, 66, 49, 71.7}, tame[] = {80.1, 80.2, 80.1, 80.3, 80.2},
                      weak[] = {20.3, 21.1, 20.8, 21.9, 20.1};
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,load (N)");
  sheet_loads(&sheet, "none,nylon 12 lb,W,dry", wild, 5);
  sheet_loads(&sheet, "none,nylon 20 lb,T,dry", tame, 5);
  sheet_loads(&sheet, "none,nylon 25 lb,L,dry", weak, 5);
  answers_open(&answers, "lines-usual", &sheet, NULL, NULL);
  ask_lines(&answers);
  assert_non_null(strstr(row_of(&answers, "doubts", "(W)", NULL), "look at the grips"));
  assert_non_null(strstr(row_of(&answers, "doubts", "(T)", NULL), "how finely loads are read"));
  assert_non_null(strstr(row_of(&answers, "doubts", "(L)", NULL), "0.19 times its label"));
  assert_int_equal(count_rows(&answers, "doubts"), 3);
  answers_close(&answers);
}

static void where_none_can_be_divided_by_that_is_said(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,load (N)");
  sheet_row(&sheet, "uni,nylon 12 lb,S1,dry,47.3");
  sheet_row(&sheet, "uni,nylon 12 lb,S2,dry,46.1");
  answers_open(&answers, "lines-nothing", &sheet, NULL, NULL);
  ask_lines(&answers);
  assert_told(&answers, "No spool can be divided by yet, of 2: it takes 5 plain pulls or more");
  assert_told(&answers, "No plain pull that let go at all: nylon 12 lb (S1), nylon 12 lb (S2).");
  answers_close(&answers);
}

static void an_empty_book_has_no_lines(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,load (N)");
  answers_open(&answers, "lines-none", &sheet, NULL, NULL);
  ask_lines(&answers);
  assert_told(&answers, "The book knows no line yet");
  answers_close(&answers);
}

/* ---- one of them ---- */

static void one_line_has_its_sessions_and_its_joints(void **state)
{
  (void)state;
  struct answers answers = open_book("line-one", NULL);
  ask_line(&answers, 0);
  assert_told(&answers, "Plain nylon 12 lb (S1), dry, held ");
  assert_told(&answers, "Plain nylon 12 lb (S1), session by session");
  assert_told(&answers, "june, dry: n = 0; may, dry: mean 59.5");
  const char *row = row_of(&answers, "joints", "\"uni\"", NULL);
  assert_near(figure(row, "on_this_k"), 2, 0);
  assert_near(figure(row, "on_this_n"), 2, 0);
  assert_int_equal(count_rows(&answers, "joints"), 1);
  assert_int_equal(count_rows(&answers, "pulls"), 8);
  ask_line(&answers, 2);
  assert_told(&answers, "Nothing can be divided by braid 20 lb (B1): no plain pull of it let go.");
  assert_int_equal(count_rows(&answers, "joints"), 2);
  answers_close(&answers);
}

static void sets_are_said_in_the_order_of_their_table(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,load (N)");
  sheet_row(&sheet, "none,nylon 12 lb,S1,soaked,47.3");
  sheet_row(&sheet, "none,nylon 12 lb,S1,dry,53.9");
  answers_open(&answers, "line-order", &sheet, NULL, NULL);
  ask_line(&answers, 0);
  const char *dry = strstr(answers.json.data, "Plain nylon 12 lb (S1), dry, held ");
  const char *soaked = strstr(answers.json.data, "Plain nylon 12 lb (S1), soaked, held ");
  assert_non_null(dry);
  assert_non_null(soaked);
  assert_true(dry < soaked);
  answers_close(&answers);
}

/* Loads that fall steadily: Kendall's p of 8 in order is 2 / 8!. */
static void a_line_that_gets_weaker_is_told(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,session,order,load (N)");
  for (int i = 0; i < 8; i++)
    sheet_row(&sheet, "none,nylon 12 lb,dry,s%d,%d,%.1f", i / 3, i, 61.3 - 0.9 * i);
  answers_open(&answers, "line-drift", &sheet, NULL, NULL);
  ask_line(&answers, 0);
  assert_told(&answers, "Over its 8 pulls (dry, speed not recorded) the plain line fell by 1.55 %");
  assert_told(&answers, "p = 5e-05");
  answers_close(&answers);
}

static void a_page_of_pulls_that_is_not_there_is_said(void **state)
{
  (void)state;
  struct answers answers = open_book("line-from", NULL);
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  assert_int_equal(be_line_doc(&answers.survey, 0, 8, &doc, &err), BE_NO);
  assert_null(doc);
  assert_non_null(strstr(err.what, "so many pulls of this line"));
  answers_close(&answers);
}

/* ---- a count ---- */

static double on_hand(const char *book, size_t line)
{
  struct be_answering how = {0};
  struct survey survey;
  struct be_arena *arena = be_arena_create();
  assert_int_equal(be_survey_read(book, &how, arena, &survey, NULL), BE_OK);
  double metres = survey.record.lines[line].on_hand_m;
  be_arena_free(arena);
  return metres;
}

static void a_count_is_entered_and_the_last_one_holds(void **state)
{
  (void)state;
  struct answers answers = open_book("lines-count", NULL);
  const char *book = answers.survey.book_path;
  const struct be_line *line = &answers.survey.record.lines[1];
  struct be_err err = {0};
  assert_true(isnan(on_hand(book, 1)));
  assert_int_equal(be_line_count(book, line, "41.5", "2026-11-26", &err), BE_OK);
  assert_near(on_hand(book, 1), 41.5, 1e-9);
  assert_int_equal(be_line_count(book, line, "37 ft", NULL, &err), BE_OK);
  assert_near(on_hand(book, 1), 37 * 0.3048, 1e-9);
  assert_int_equal(be_line_count(book, line, "none", "\"to-day\", at noon", &err), BE_OK);
  assert_near(on_hand(book, 1), 0, 0);
  assert_near(on_hand(book, 0), 61.5 - 8 * 1.5, 1e-9);
  answers_close(&answers);
}

static void what_is_no_count_is_refused(void **state)
{
  (void)state;
  static const char *const wrong[][3] = {
      {NULL, "2026-11-26", "how much line there is"},
      {"", "2026-11-26", "how much line there is"},
      {"much", "2026-11-26", "much"},
      {"-3", "", "-3"},
      {"3 lb", "", "not a unit of length"},
      {"41.5\n\"x\"", "", "on one line"},
      {"41.5", "now\r\nnylon 12 lb,S1,9000,", "on one line"},
      {"4111111111111111111111111111111111111111111111111111111111111.5", "", "60 bytes"},
  };
  struct answers answers = open_book("lines-no-count", NULL);
  const char *book = answers.survey.book_path;
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    struct be_err err = {0};
    assert_int_equal(
        be_line_count(book, &answers.survey.record.lines[1], wrong[i][0], wrong[i][1], &err),
        BE_BAD_INPUT);
    if (!strstr(err.what, wrong[i][2])) fail_msg("%s: not \"%s\"", err.what, wrong[i][2]);
  }
  assert_true(isnan(on_hand(book, 1)));
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_first_sentence_says_which_can_be_divided_by),
      cmocka_unit_test(a_spool_is_told_with_its_label_and_size_as_written),
      cmocka_unit_test(a_plain_line_has_its_mean_and_its_label_beside_it),
      cmocka_unit_test(its_interval_is_that_of_the_pooled_scatter),
      cmocka_unit_test(line_on_hand_stands_beside_what_uses_it),
      cmocka_unit_test(few_plain_pulls_are_doubted),
      cmocka_unit_test(scatter_and_label_out_of_the_usual_are_doubted),
      cmocka_unit_test(where_none_can_be_divided_by_that_is_said),
      cmocka_unit_test(an_empty_book_has_no_lines),
      cmocka_unit_test(one_line_has_its_sessions_and_its_joints),
      cmocka_unit_test(sets_are_said_in_the_order_of_their_table),
      cmocka_unit_test(a_line_that_gets_weaker_is_told),
      cmocka_unit_test(a_page_of_pulls_that_is_not_there_is_said),
      cmocka_unit_test(a_count_is_entered_and_the_last_one_holds),
      cmocka_unit_test(what_is_no_count_is_refused),
  };
  return be_tests("app: lines", tests);
}
