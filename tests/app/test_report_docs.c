/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a report says, part by part, of ordinary books and of odd ones. */
#include "report_told.h"

/* ---- odd books ---- */

static void an_empty_book(void **state)
{
  (void)state;
  struct trial_book book;
  struct told_report told;
  trial_begin(&book, "report-empty");
  trial_read(&book);
  tell(&told, &book.answers.survey);
  says_in(&told, SUMMARY, "Which knot is best cannot be said: the book holds no pulls yet.");
  says_in(&told, TABLES, "No knot was pulled yet.");
  says_in(&told, METHOD, "pulls: 0, knots: 0, spools of line: 0, benches: 0");
  says_in(&told, METHOD, "length of the tag end");
  says_in(&told, DEPARTURES, "there is no plan to depart from");
  says_in(&told, VOIDS, "Void: none of 0 pulls.");
  says_in(&told, RIG, "the book has neither pulls nor calibrations");
  says_in(&told, BUDGET, "No budget");
  says_in(&told, QUESTIONS,
          "Of 25 questions that readers ask, the record answers 0, 0 in part; of "
          "25 nothing is recorded.");
  says_in(&told, CAUTIONS, be_notice);
  forget(&told);
  trial_close(&book);
}

static void one_pull_only(void **state)
{
  (void)state;
  struct survey survey;
  struct told_report told;
  struct be_arena *arena = test_survey(
      "report-one", "specimen,knot,line A,load (lb)\na1,palomar,nylon 12 lb,12.1\n", &survey);
  tell(&told, &survey);
  says_in(&told, SUMMARY, "no two knots were pulled to an event on the same lines");
  says_in(&told, SUMMARY, "No plain line was pulled");
  says_in(&told, TABLES, "the palomar held 12.10 lb, n = 1; no other is ranked against it");
  says_in(&told, METHOD, "0 of 1");
  says_in(&told, SUMMARY, "of these events 1, lower bounds 0, void 0");
  says_in(&told, TABLES, "palomar: one event, which tells nothing of scatter.");
  says_in(&told, QUESTIONS, "In all 1 pull. Knots, each counted once");
  for (int part = 0; part < PARTS; part++) {
    silent_in(&told, part, " 1 pulls");
    silent_in(&told, part, " 1 events");
    silent_in(&told, part, " 1 lines");
    silent_in(&told, part, " 1 knots");
    silent_in(&told, part, " from 1 to 1 ");
    silent_in(&told, part, "highest mean");
  }
  says_in(&told, QUESTIONS, "Not recorded of any pull: dry or soaked; pulls: 1.");
  says_in(&told, QUESTIONS, "by a label nothing is divided");
  forget(&told);
  be_arena_free(arena);
}

static void only_voids(void **state)
{
  (void)state;
  struct survey survey;
  struct told_report told;
  struct be_arena *arena = test_survey(
      "report-voids",
      "specimen,knot,line A,load (lb),result,reason,session\n"
      "a1,palomar,nylon 12 lb,12.1,void,slack line,2026-03-07\n"
      "a2,uni,nylon 12 lb,,void,\"not tied as drawn\",\nb,uni,nylon 12 lb,,void,slack line,\n",
      &survey);
  tell(&told, &survey);
  says_in(&told, VOIDS, "Void: 3 of 3 pulls, 100.0 % [");
  says_in(&told, VOIDS, "Their reasons: slack line (2) and not tied as drawn (1).");
  says_in(&told, VOIDS, "2026-03-07");
  says_in(&told, TABLES, "No event yet in nylon 12 lb");
  says_in(&told, TABLES, "uni: every pull is void.");
  /* They have a part of their own. */
  silent_in(&told, STRENGTH, "slack line");
  forget(&told);
  be_arena_free(arena);
}

static void no_plain_line(void **state)
{
  (void)state;
  struct survey survey;
  struct told_report told;
  struct be_arena *arena = test_survey(
      "report-loads",
      "specimen,knot,line A,load (lb)\na1,palomar,nylon 12 lb,12.1\na2,palomar,nylon 12 lb,12.3\n"
      "b1,uni,nylon 12 lb,9.1\nb2,uni,nylon 12 lb,9.3\nb3,uni,nylon 12 lb,9.2\n",
      &survey);
  tell(&told, &survey);
  /* t of 1 df is 12.7062, the standard error 0.1. */
  says_in(&told, SUMMARY,
          "nylon 12 lb, soak not recorded: the palomar, apart from every other, mean "
          "12.20 lb [10.93, 13.47], n = 2.");
  silent_in(&told, SUMMARY, "% of the line");
  says_in(&told, TABLES, "No efficiency: no plain line was pulled in this soak.");
  says_in(&told, BUDGET, "The doubt about each mean load");
  silent_in(&told, STRENGTH, "Where the doubt comes from");
  says_in(&told, RIG, "the book has no bench");
  forget(&told);
  be_arena_free(arena);
}

/* Apart on two of three kinds of line; on the third too few and too wide. */
static void the_best_is_named_where_it_is_apart(void **state)
{
  (void)state;
  struct answers answers;
  struct told_report told;
  struct sheet sheet = sheet_begin("knot,line A,hardware,soak,load (N)");
  for (int i = 0; i < 5; i++) {
    sheet_row(&sheet, "palomar,nylon 12 lb,ring,dry,%d.3", 47 + i % 2);
    sheet_row(&sheet, "uni,nylon 12 lb,ring,dry,%d.1", 31 + i % 3);
    sheet_row(&sheet, "palomar,braid 20 lb,ring,dry,%d.7", 77 + i % 2);
    sheet_row(&sheet, "uni,braid 20 lb,ring,dry,%d.9", 51 + i % 3);
  }
  sheet_row(&sheet, "palomar,fluorocarbon 8 lb,ring,dry,31.7");
  sheet_row(&sheet, "uni,fluorocarbon 8 lb,ring,dry,29.3");
  answers_open(&answers, "report-best", &sheet, NULL, NULL);
  tell(&told, &answers.survey);
  says_in(&told, SUMMARY,
          "On 2 of 3 kinds of line and hardware one knot is the strongest and stands "
          "apart from every other, 95 % sure of all ranks of a table at once: the "
          "palomar on braid 20 lb to ring, dry; nylon 12 lb to ring, dry.");
  says_in(&told, SUMMARY,
          "On the other the first cannot be separated from the next, or not be compared with it.");
  says_in(&told, SUMMARY,
          "fluorocarbon 8 lb to ring, dry: the palomar or the uni, but one pull of a "
          "knot tells nothing of scatter, so which is the stronger is not known; the palomar, mean "
          "31.70 N, n = 1.");
  says_in(&told, QUESTIONS,
          "Combinations where two knots or more are ranked: 3. The first is apart from "
          "every other, at 95 % over all pairs of a table together, in 2; in 0 it");
  forget(&told);
  answers_close(&answers);
}

static void lower_bounds_alone(void **state)
{
  (void)state;
  struct survey survey;
  struct told_report told;
  struct be_arena *arena =
      test_survey("report-bounds",
                  "specimen,knot,line A,load (lb),result\na1,palomar,nylon 12 lb,12.1,lower bound\n"
                  "a2,palomar,nylon 12 lb,12.7,lower bound\n",
                  &survey);
  tell(&told, &survey);
  says_in(&told, TABLES, "palomar: only lower bounds, 2 pulls; the highest held at least 12.7 lb.");
  forget(&told);
  be_arena_free(arena);
}

static void two_trials(void **state)
{
  (void)state;
  struct trial_book book;
  struct told_report told;
  trial_begin(&book, "report-trials");
  trial_enter(&book, TRIAL_OF_NINE);
  trial_enter(&book, "trial,specimen,block,order,design,knot,line A,spool A,soak\n"
                     "autumn,k1,1,1,single knot,palomar,nylon 12 lb,S1,dry\n"
                     "autumn,k2,1,2,single knot,uni,nylon 12 lb,S1,dry\n");
  trial_enter(&book, "specimen,load (lb)\nb1,9.1\na1,12.3\nk2,9.7\n");
  trial_read(&book);
  tell(&told, &book.answers.survey);
  says_in(&told, DEPARTURES, "Trials planned: 2; of 3 pulls 0 belong to none.");
  says_in(&told, DEPARTURES, "The trial spring departs from its plan");
  says_in(&told, DEPARTURES, "autumn");
  says_in(&told, METHOD, "Trial spring, fixed ");
  says_in(&told, METHOD, "2 specimens planned, 1 pulled, 0 of these void.");
  silent_in(&told, STANDINGS, "departs from its plan");
  silent_in(&told, FINDINGS, "departs from its plan");
  forget(&told);
  trial_close(&book);
}

static void a_trial_of_which_nothing_is_pulled(void **state)
{
  (void)state;
  struct trial_book book;
  struct told_report told;
  trial_begin(&book, "report-unpulled");
  trial_enter(&book, TRIAL_OF_NINE);
  trial_read(&book);
  tell(&told, &book.answers.survey);
  says_in(&told, DEPARTURES, "Nothing of the trial spring is pulled yet.");
  forget(&told);
  trial_close(&book);
}

/* ---- what was recorded ---- */

static void fields_are_counted_where_they_could_be_told(void **state)
{
  (void)state;
  struct survey survey;
  struct told_report told;
  struct be_arena *arena =
      test_survey("report-fields",
                  "specimen,knot,line A,soak,speed (mm/min),tyer,lubricant,session,load (N)\n"
                  "a1,uni,nylon 12 lb,37 min,500,Wren,spit,s1,41\n"
                  "a2,uni,nylon 12 lb,soaked,250,Wren,,s1,42\n"
                  "a3,uni,nylon 12 lb,dry,500,Sorrel,,s2,43\n"
                  "a4,uni,nylon 12 lb,,500,,none,,44\n"
                  "p1,none,nylon 12 lb,dry,,,,,51\n",
                  &survey);
  tell(&told, &survey);
  struct be_buf json;
  be_buf_init(&json, 1 << 22);
  assert_int_equal(be_doc_json(told.report.docs[METHOD], &json, NULL), BE_OK);
  struct answers answers = {.json = json};
  const char *row = row_of(&answers, "recorded", "dry or soaked", NULL);
  assert_near(figure(row, "recorded_k"), 4, 0);
  assert_near(figure(row, "recorded_n"), 5, 0);
  assert_near(figure(row, "not_recorded"), 1, 0);
  assert_non_null(strstr(row, "soaked (2) and dry (2)"));
  row = row_of(&answers, "recorded", "how long it soaked", NULL);
  assert_near(figure(row, "recorded_k"), 1, 0);
  assert_near(figure(row, "recorded_n"), 2, 0);
  assert_non_null(strstr(row, "37 min (1)"));
  row = row_of(&answers, "recorded", "speed", NULL);
  assert_non_null(strstr(row, "500 mm/min (3) and 250 mm/min (1)"));
  row = row_of(&answers, "recorded", "who tied it", NULL);
  assert_near(figure(row, "recorded_n"), 4, 0);
  assert_non_null(strstr(row, "Wren (2) and Sorrel (1)"));
  /* "none" is told; an empty field is not. */
  row = row_of(&answers, "recorded", "wetted", NULL);
  assert_near(figure(row, "recorded_k"), 2, 0);
  be_buf_free(&json);
  says_in(&told, QUESTIONS, "Recorded of 4 of 5 pulls (dry or soaked)");
  says_in(&told, QUESTIONS, "Recorded of 1 of 2 soaked pulls (how long it soaked): 37 min (1).");
  forget(&told);
  be_arena_free(arena);
}

static void how_specimens_were_handled_is_told(void **state)
{
  (void)state;
  struct trial_book book;
  struct told_report told;
  trial_begin(&book, "report-handled");
  trial_enter(&book, "line,spool,source,opened\nnylon 12 lb,s1,given by its maker,2024-05\n"
                     "nylon 12 lb,s2,,\n");
  trial_enter(&book, "knot,kind,time to tie,passes guides\nuni,hitch,38 s,yes\nreef,bend,,\n");
  trial_enter(&book, "trial,rule,value\nwinter,interests,the maker gave s1\n");
  trial_enter(&book,
              "specimen,knot,spool A,soak,water,seating load (N),glue,grips,temperature (C),load "
              "(N)\n"
              "h1,uni,s1,soaked,salt,20,none,bollards,8.5,41\n"
              "h2,uni,s1,soaked,,20,PVA,clamps,21,42\n"
              "h3,uni,s1,soaked,salt,none,none,bollards,22.25,43\n"
              "h4,uni,s1,soaked,,,none,bollards,9,44\n"
              "h5,uni,s1,soaked,,,,bollards,9.5,44.5\n"
              "h6,uni,s1,soaked,,,,bollards,10,44.25\n"
              "p1,none,s1,soaked,fresh,,none,,17,51\n");
  trial_read(&book);
  tell(&told, &book.answers.survey);
  says_in(&told, METHOD,
          "Temperatures differ most within nylon 12 lb, soaked: from 8.5 \u00B0C to");
  says_in(&told, METHOD,
          "In 1 of 2 combinations (1 of knots, 1 of plain line) the ends were gripped in "
          "more than one way");
  says_in(&told, METHOD, "from 8.5 \u00B0C to 22.25 \u00B0C: ");
  says_in(&told, METHOD, "how long that load was held (pulls of knots)");
  says_in(&told, QUESTIONS,
          "Recorded of 3 of 7 soaked pulls (which water): salt (2) and fresh (1).");
  says_in(&told, QUESTIONS,
          "Recorded of 3 of 6 pulls of knots (load it was drawn up with): 20 N (2) and none (1).");
  says_in(&told, QUESTIONS,
          "Not recorded of any pull of a knot: how long that load was held; pulls of knots: 6.");
  says_in(&told, QUESTIONS,
          "Recorded of 6 of 7 pulls (what gripped the ends): bollards (5) and clamps (1).");
  says_in(&told, QUESTIONS, "Recorded of 1 of 2 spools (when the spool was opened): 2024-05 (1).");
  says_in(&told, QUESTIONS, "Recorded of 1 of 2 knots (time to tie): 38 s (1).");
  says_in(&told, QUESTIONS, "Recorded of 1 of 2 knots (whether it passes guides): yes (1).");
  says_in(&told, QUESTIONS, "Recorded of 4 of 6 pulls of knots (glue): none (3) and PVA (1).");
  says_in(&told, QUESTIONS, "Pulls of knots with glue: 1, told to be without: 3.");
  says_in(&told, QUESTIONS, "Trial winter, of who paid and other interests: the maker gave s1.");
  says_in(&told, QUESTIONS,
          "Recorded of 1 of 2 spools (where the line came from): given by its maker (1).");
  silent_in(&told, METHOD, "who paid, and other interests");
  forget(&told);
  trial_close(&book);
}

static void many_values_are_counted_not_listed(void **state)
{
  (void)state;
  struct answers answers;
  struct told_report told;
  struct sheet sheet = sheet_begin("knot,line A,session,load (N)");
  for (int i = 0; i < 300; i++) sheet_row(&sheet, "uni,nylon 12 lb,s%d,%d.3", i / 2, 40 + i % 7);
  for (int i = 0; i < 260; i++) sheet_row(&sheet, "uni,nylon 12 lb,t%d,%d.3", i, 40 + i % 7);
  answers_open(&answers, "report-many", &sheet, NULL, NULL);
  tell(&told, &answers.survey);
  says_in(&told, METHOD, "s0 (2), s1 (2), s2 (2), s3 (2) and at least 252 more");
  forget(&told);
  answers_close(&answers);
}

/* ---- what stands in the way of markup ---- */

static const char markup_sheet[] =
    "specimen,knot,line A,hardware,soak,load (N),result,reason,what\n"
    "a1,\"a<b>&|c\",\"n|y<l>on & *x* 20 lb\",\"ring <i>\",dry,37.9,,,broke\n"
    "a2,\"a<b>&|c\",\"n|y<l>on & *x* 20 lb\",\"ring <i>\",dry,39.9,,,broke\n"
    "b1,\"d<script>alert(17)</script>\",\"n|y<l>on & *x* 20 lb\",\"ring <i>\",dry,31,,,broke\n"
    "b2,\"d<script>alert(17)</script>\",\"n|y<l>on & *x* 20 lb\",\"ring <i>\",dry,33,,,broke\n"
    "v,\"a<b>&|c\",\"n|y<l>on & *x* 20 lb\",\"ring <i>\",dry,31,void,\"<u>slack</u>\",broke\n";

static void write_page(const struct survey *survey, const char *path)
{
  struct be_report report;
  assert_int_equal(be_report_docs(survey, &report, NULL), BE_OK);
  assert_int_equal(be_report_write(&report, survey->own_path, false, path, NULL), BE_OK);
  be_report_free(&report);
}

static void names_are_names_in_every_edition(void **state)
{
  (void)state;
  struct survey survey;
  struct be_buf page, markdown;
  char path[512];
  struct be_arena *arena = test_survey("report-names", markup_sheet, &survey);
  test_path(path, "report-names.html");
  be_file_remove(path, NULL);
  write_page(&survey, path);
  be_buf_init(&page, 1 << 24);
  assert_int_equal(be_file_read(path, &page, NULL), BE_OK);
  assert_null(strstr(page.data, "<script"));
  assert_null(strstr(page.data, "<u>"));
  assert_null(strstr(page.data, "a<b>"));
  assert_non_null(strstr(page.data, "a&lt;b&gt;&amp;|c"));
  assert_non_null(strstr(page.data, "&lt;u&gt;slack&lt;/u&gt;"));
  be_buf_free(&page);
  struct be_doc *doc = NULL;
  assert_int_equal(be_tables_doc(&survey, &doc, NULL), BE_OK);
  be_buf_init(&markdown, 1 << 24);
  assert_int_equal(be_doc_markdown(doc, &markdown, NULL), BE_OK);
  assert_null(strstr(markdown.data, "a<b>"));
  assert_non_null(strstr(markdown.data, "| a&lt;b&gt;&\\|c "));
  be_doc_free(doc);
  be_buf_free(&markdown);
  be_arena_free(arena);
}

/* ---- the file ---- */

static void the_same_book_gives_the_same_bytes(void **state)
{
  (void)state;
  struct be_buf first, second;
  char path[512];
  be_buf_init(&first, 1 << 24);
  be_buf_init(&second, 1 << 24);
  struct survey survey;
  struct be_arena *arena = test_survey("report-same", markup_sheet, &survey);
  test_path(path, "report-same.html");
  for (int i = 0; i < 2; i++) {
    be_file_remove(path, NULL);
    write_page(&survey, path);
    assert_int_equal(be_file_read(path, i ? &second : &first, NULL), BE_OK);
  }
  be_arena_free(arena);
  assert_int_equal(first.size, second.size);
  assert_memory_equal(first.data, second.data, first.size);
  /* Asked for nothing outside, and readable on paper. */
  assert_null(strstr(first.data, "http://www.example"));
  assert_null(strstr(first.data, "<script"));
  assert_null(strstr(first.data, "<link rel=\"stylesheet\""));
  assert_null(strstr(first.data, "@import"));
  assert_null(strstr(first.data, "url("));
  assert_non_null(strstr(first.data, "@page { size: A4 landscape"));
  assert_non_null(strstr(first.data, "<a href=\"#part-11\">What readers ask</a>"));
  be_buf_free(&first);
  be_buf_free(&second);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_empty_book),
      cmocka_unit_test(one_pull_only),
      cmocka_unit_test(only_voids),
      cmocka_unit_test(no_plain_line),
      cmocka_unit_test(the_best_is_named_where_it_is_apart),
      cmocka_unit_test(lower_bounds_alone),
      cmocka_unit_test(two_trials),
      cmocka_unit_test(a_trial_of_which_nothing_is_pulled),
      cmocka_unit_test(fields_are_counted_where_they_could_be_told),
      cmocka_unit_test(how_specimens_were_handled_is_told),
      cmocka_unit_test(many_values_are_counted_not_listed),
      cmocka_unit_test(names_are_names_in_every_edition),
      cmocka_unit_test(the_same_book_gives_the_same_bytes),
  };
  return be_tests("app: report, part by part", tests);
}
