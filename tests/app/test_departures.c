/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each way to depart from a plan, provoked; and where they are told. */
#include "trial_book.h"

#define PULLS "specimen,session,order,load (lb),what,where,result,reason\n"

/* Nine pulls as planned. */
static const char *const as_planned[] = {
    "a1,may 2,1,12.1,broke,in the knot,,\n",  "b1,may 2,2,10.7,broke,in the knot,,\n",
    "p1,may 2,3,13.3,broke,clear of it,,\n",  "b2,may 9,1,10.2,slipped out,,,\n",
    "p2,may 9,2,13.8,broke,clear of it,,\n",  "a2,may 9,3,12.6,broke,at its entry,,\n",
    "p3,may 16,1,13.1,broke,clear of it,,\n", "a3,may 16,2,11.8,broke,in the knot,,\n",
    "b3,may 16,3,11.1,broke,in the knot,,\n"};

/* Rows of as_planned by their places, "012345678"; an exchanged row goes in for place '*'. */
static void pull(struct trial_book *book, const char *places, const char *other)
{
  char sheet[2000] = PULLS;
  for (; *places; places++) strcat(sheet, *places == '*' ? other : as_planned[*places - '0']);
  trial_enter(book, sheet);
}

static void begin(struct trial_book *book, const char *name)
{
  trial_begin(book, name);
  trial_enter(book, TRIAL_OF_NINE);
}

static void assert_departures(const struct trial_book *book, size_t count)
{
  if (count_rows(&book->answers, "departures") != count)
    fail_msg("not %zu departures:\n%s", count, book->answers.text.data);
}

static void assert_departure(const struct trial_book *book, const char *what, double count,
                             const char *detail)
{
  const char *row = row_of(&book->answers, "departures", what, NULL);
  assert_near(figure(row, "count"), count, 0);
  if (!strstr(row, detail)) fail_msg("not said: %s in %s", detail, row);
}

/* The whole trial with one row of another wording; one departure of it. */
static void one_departure(const char *name, const char *rules, const char *places,
                          const char *other, const char *what, double count, const char *detail)
{
  struct trial_book book;
  begin(&book, name);
  if (rules) trial_enter(&book, rules);
  pull(&book, places, other);
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, what, count, detail);
  assert_told(&book.answers, "The trial spring departs from its plan in 1 way");
  trial_close(&book);
}

static void as_planned_nothing_is_said_but_that(void **state)
{
  (void)state;
  struct trial_book book;
  begin(&book, "departures-none");
  trial_look(&book);
  assert_departures(&book, 0);
  assert_not_told(&book.answers, "as planned so far");
  trial_close(&book);
  pull(&book, "0123", NULL);
  trial_look(&book);
  assert_departures(&book, 0);
  assert_told(&book.answers, "pulled as planned so far: 4 of 9 specimens.");
  trial_close(&book);
  pull(&book, "45678", NULL);
  trial_look(&book);
  assert_departures(&book, 0);
  assert_told(&book.answers, "All 9 specimens of the trial spring are pulled.");
  assert_told(&book.answers, "pulled as planned: 9 of 9 specimens.");
  trial_close(&book);
}

static void the_order_is_that_written_down_or_entered(void **state)
{
  (void)state;
  /* Entered in another order, but numbered as planned. */
  struct trial_book book;
  begin(&book, "departures-sorted");
  pull(&book, "201354687", NULL);
  trial_look(&book);
  assert_departures(&book, 0);
  trial_close(&book);
  /* The first of the second evening came last of it: one moved, two places off. */
  one_departure("departures-moved", NULL, "012*45678", "b2,may 9,4,10.2,slipped out,,,\n",
                "out of the planned order", 1, "at most 2 places off: b2");
  /* Two sessions exchanged: three moved. */
  one_departure("departures-evenings", NULL, "012678345", NULL, "out of the planned order", 3,
                "at most 3 places off");
}

static void what_is_passed_over_is_said_until_the_end(void **state)
{
  (void)state;
  one_departure("departures-passed", NULL, "0245", NULL, "passed over so far", 2, "b1, b2");
  /* Once pulls of another session came after, they were left out. */
  struct trial_book book;
  begin(&book, "departures-left");
  pull(&book, "0245678", NULL);
  trial_enter(&book, "specimen,knot,line A,spool A,soak,session,load (lb)\n"
                     "x1,snell,nylon 12 lb,S1,dry,june 1,9.5\n");
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, "planned and not pulled", 2, "b1, b2");
  trial_close(&book);
  /* A trial that stops early does so when its knots are apart. */
  begin(&book, "departures-stopped");
  trial_enter(&book, "trial,rule,value\nspring,stops,as soon as apart\n");
  pull(&book, "012345", NULL);
  trial_enter(&book, "specimen,knot,line A,spool A,soak,session,load (lb)\n"
                     "x1,snell,nylon 12 lb,S1,dry,june 1,9.5\n");
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, "planned and not pulled, though its knots are not apart", 3,
                   "p3, a3, b3");
  trial_close(&book);
}

static void what_was_tied_is_compared_with_the_plan(void **state)
{
  (void)state;
  struct trial_book book;
  begin(&book, "departures-ties");
  pull(&book, "01278", NULL);
  trial_enter(&book, "specimen,session,order,design,knot,line A,spool A,hardware,soak,load (lb)\n"
                     "b2,may 9,1,single knot,palomar,nylon 12 lb,S1,,dry,10.5\n"
                     "p2,may 9,2,plain line,none,nylon 12 lb,S7,,dry,13.5\n"
                     "a2,may 9,3,single knot,palomar,nylon 12 lb,S1,,soaked,12.5\n"
                     "p3,may 16,1,plain line,none,nylon 12 lb,S1,ring,dry,13.9\n");
  trial_look(&book);
  /* The seventh was pulled after those of the sheet before. */
  assert_departure(&book, "pulled with another knot", 1, "b2");
  assert_departure(&book, "pulled with another line or spool", 1, "p2");
  assert_departure(&book, "pulled with another soak", 1, "a2");
  assert_departure(&book, "pulled with other hardware", 1, "p3");
  trial_close(&book);
}

static void who_tied_is_compared_with_the_plan(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "departures-tyers");
  trial_enter(&book, "trial,specimen,block,order,knot,line A,spool A,soak,tyer\n"
                     "spring,c1,1,1,uni,nylon 12 lb,S1,dry,Wren\n"
                     "spring,c2,1,2,uni,nylon 12 lb,S1,dry,Sorrel\n"
                     "spring,c3,1,3,uni,nylon 12 lb,S1,dry,\n"
                     "spring,c4,1,4,uni,nylon 12 lb,S1,dry,Wren\n");
  trial_enter(&book, "specimen,load (lb),tyer\nc1,11,wren\nc2,12,Wren\nc3,13,Ash\nc4,14,\n");
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, "tied by another than planned", 1, "\"c2\"");
  trial_close(&book);
}

static void extra_pulls_replace_voids_or_are_too_many(void **state)
{
  (void)state;
  struct trial_book book;
  static const char extra[] = "specimen,knot,line A,spool A,soak,session,load (lb)\n"
                              "x1,uni,nylon 12 lb,S1,dry,may 16,10.5\n";
  static const char spoilt[] = "b3,may 16,3,,,,void,not tied as drawn\n";
  static const char voids[] = "trial,rule,value\nspring,void besides,not tied as drawn; wet\n";
  one_departure("departures-void", voids, "01234567*", spoilt,
                "void and not replaced, though the rules replace them", 1,
                "uni in nylon 12 lb (S1), dry");
  begin(&book, "departures-replaced");
  trial_enter(&book, voids);
  pull(&book, "01234567*", spoilt);
  trial_enter(&book, extra);
  trial_look(&book);
  assert_departures(&book, 0);
  trial_close(&book);
  /* A rule that does not replace them, or no void: the extra one is too many. */
  begin(&book, "departures-unreplaced");
  trial_enter(&book, "trial,rule,value\nspring,void besides,not tied as drawn\n"
                     "spring,voids are replaced,no\n");
  pull(&book, "01234567*", spoilt);
  trial_enter(&book, extra);
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, "pulled beyond the plan", 1, "uni in nylon 12 lb (S1), dry");
  trial_close(&book);
  begin(&book, "departures-extra");
  pull(&book, "0123", NULL);
  trial_enter(&book, extra);
  pull(&book, "45678", NULL);
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, "pulled beyond the plan", 1, "uni in nylon 12 lb (S1), dry");
  trial_close(&book);
}

/* Pulls from before the start, and of another knot, are no part of it. */
static void other_pulls_are_left_alone(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "departures-other");
  trial_enter(&book, "specimen,knot,line A,spool A,soak,session,load (lb)\n"
                     "o1,uni,nylon 12 lb,S1,dry,april 3,10.5\n");
  trial_enter(&book, TRIAL_OF_NINE);
  pull(&book, "012345678", NULL);
  trial_enter(&book, "specimen,knot,line A,spool A,soak,session,load (lb)\n"
                     "x1,snell,nylon 12 lb,S1,dry,may 16,10.5\n"
                     "x2,uni,nylon 12 lb,S1,soaked,may 16,10.5\n");
  trial_look(&book);
  assert_departures(&book, 0);
  trial_close(&book);
}

static void specimens_planned_later_are_said(void **state)
{
  (void)state;
  struct trial_book book;
  begin(&book, "departures-later");
  pull(&book, "0123", NULL);
  trial_enter(&book, "trial,specimen,block,order,design,knot,line A,spool A,soak\n"
                     "spring,a4,3,10,single knot,palomar,nylon 12 lb,S1,dry\n");
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, "planned after the start", 1, "palomar in nylon 12 lb (S1), dry");
  trial_close(&book);
}

/* The usual rules: a part at the grip and one clear of the knot are lower bounds, a slip an event.
 */
static void results_are_held_against_the_rules(void **state)
{
  (void)state;
  one_departure("departures-grip", NULL, "0123456*8", "a3,may 16,2,11.8,broke,grip,event,\n",
                "rule \\\"parts at a grip\\\" says", 1, "a3 (by the rule: lower bound)");
  one_departure("departures-clear", NULL, "01234*678", "a2,may 9,3,12.6,broke,clear of it,event,\n",
                "rule \\\"parts clear of the knot\\\" says", 1, "a2 (by the rule: lower bound)");
  one_departure("departures-slip",
                "trial,rule,value\nspring,slips out,void\nspring,voids are replaced,no\n",
                "012*45678", "b2,may 9,1,10.2,slipped out,,event,\n", "rule \\\"slips out\\\" says",
                1, "b2 (by the rule: void)");
  one_departure("departures-reason",
                "trial,rule,value\nspring,void besides,not tied as drawn\n"
                "spring,voids are replaced,no\n",
                "01234567*", "b3,may 16,3,,,,void,looked weak\n",
                "void for a reason that the rules do not have", 1, "b3 (looked weak)");
}

static void changed_rules_are_said_with_their_reason(void **state)
{
  (void)state;
  struct trial_book book;
  begin(&book, "departures-rule");
  trial_enter(&book, "trial,rule,value\nspring,parts at a grip,void\n");
  /* Taken as the rule then said: the change makes it no departure. */
  pull(&book, "*123", "a1,may 2,1,12.1,broke,grip,,\n");
  trial_enter(&book, "trial,rule,value,reason\n"
                     "spring,parts at a grip,lower bound,\"the bollards were sound, after all\"\n");
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, "rule \\\"parts at a grip\\\" changed after the start", 1,
                   "from \\\"void\\\" to \\\"lower bound\\\", on 20");
  assert_departure(&book, "changed after the start", 1,
                   "after 4 of 9 pulls: the bollards were sound, after all");
  trial_close(&book);
  pull(&book, "*", "p2,may 9,2,13.8,broke,grip,void,grip\n");
  trial_look(&book);
  assert_told(&book.answers, "in force");
  assert_not_told(&book.answers, "fixed as");
  assert_departures(&book, 2);
  assert_departure(&book, "rule \\\"parts at a grip\\\" says", 1,
                   "\"p2 (by the rule: lower bound)\"");
  trial_close(&book);
}

static void a_rule_changed_before_the_first_pull_is_said_so(void **state)
{
  (void)state;
  struct trial_book book;
  begin(&book, "departures-early-rule");
  trial_enter(&book, "trial,rule,value\nspring,slips out,void\n");
  trial_enter(&book, "trial,rule,value,reason\nspring,slips out,event,they are results\n");
  trial_look(&book);
  assert_departures(&book, 1);
  assert_departure(&book, "rule \\\"slips out\\\" changed before the first pull", 1,
                   "after 0 of 9 pulls: they are results");
  trial_close(&book);
}

static size_t count_told(const char *text, const char *words)
{
  size_t count = 0;
  for (; (text = strstr(text, words)) != NULL; text++) count++;
  return count;
}

static void every_report_has_them_once(void **state)
{
  (void)state;
  struct trial_book book;
  static const char words[] = "The trial spring departs from its plan in 1 way";
  begin(&book, "departures-reports");
  pull(&book, "012*45678", "b2,may 9,4,10.2,slipped out,,,\n");
  trial_read(&book);
  answers_strength(&book.answers);
  assert_told(&book.answers, words);
  assert_departure(&book, "out of the planned order", 1, "b2");
  answers_standings(&book.answers);
  assert_told(&book.answers, words);
  answers_versus(&book.answers, "uni", "palomar");
  assert_told(&book.answers, words);
  struct be_doc *doc = NULL;
  assert_int_equal(be_findings_doc(&book.answers.survey, &doc, NULL), BE_OK);
  answers_print(&book.answers, doc);
  assert_told(&book.answers, words);
  book.answers.survey.how.by = BE_BY_SLIPS;
  assert_int_equal(be_standings_doc(&book.answers.survey, &doc, NULL), BE_OK);
  answers_print(&book.answers, doc);
  assert_told(&book.answers, words);
  trial_close(&book);
  char path[512];
  struct be_buf page;
  test_path(path, "departures-report.html");
  be_file_remove(path, NULL);
  assert_int_equal(be_app_publish(book.path, &(const struct be_publishing){.report_path = path},
                                  &(const struct be_answering){.resamples = 50}, &doc, NULL),
                   BE_OK);
  be_doc_free(doc);
  be_buf_init(&page, 64 * 1024 * 1024);
  assert_int_equal(be_file_read(path, &page, NULL), BE_OK);
  assert_true(count_told(page.data, words) == 1);
  be_buf_free(&page);
}

/* Nor does one whose trial was not begun. */
static void a_book_without_a_trial_says_nothing_of_it(void **state)
{
  (void)state;
  struct trial_book book;
  trial_begin(&book, "departures-without");
  trial_enter(&book, "specimen,knot,line A,spool A,soak,load (lb)\n"
                     "o1,uni,nylon 12 lb,S1,dry,10.5\no2,uni,nylon 12 lb,S1,dry,10.9\n");
  trial_read(&book);
  answers_strength(&book.answers);
  assert_not_told(&book.answers, "trial");
  assert_null(find_table(&book.answers, "departures"));
  trial_close(&book);
  trial_enter(&book, TRIAL_OF_NINE);
  trial_read(&book);
  answers_strength(&book.answers);
  assert_not_told(&book.answers, "Departures");
  trial_close(&book);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(as_planned_nothing_is_said_but_that),
      cmocka_unit_test(the_order_is_that_written_down_or_entered),
      cmocka_unit_test(what_is_passed_over_is_said_until_the_end),
      cmocka_unit_test(what_was_tied_is_compared_with_the_plan),
      cmocka_unit_test(who_tied_is_compared_with_the_plan),
      cmocka_unit_test(extra_pulls_replace_voids_or_are_too_many),
      cmocka_unit_test(other_pulls_are_left_alone),
      cmocka_unit_test(specimens_planned_later_are_said),
      cmocka_unit_test(results_are_held_against_the_rules),
      cmocka_unit_test(changed_rules_are_said_with_their_reason),
      cmocka_unit_test(a_rule_changed_before_the_first_pull_is_said_so),
      cmocka_unit_test(every_report_has_them_once),
      cmocka_unit_test(a_book_without_a_trial_says_nothing_of_it),
  };
  return be_tests("app: departures", tests);
}
