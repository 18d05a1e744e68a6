/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to tie next: as far as there is line, and until it is settled. */
#include "next_test.h"

/* ---- line on hand ---- */

/* The loose rival would get most; its spool, which the steady shares, ends that: 1.5 m a specimen,
 * since no free length is recorded. */
static void no_more_is_listed_than_the_spool_has(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_three();
  answers_open(&answers, "next-spool", &sheet, "line,spool,on hand\nnylon 12 lb,S1,30.2 m\n", NULL);
  const struct be_line *line = &answers.survey.record.lines[0];
  /* The fifteen pulls came after the count. */
  assert_near(line->on_hand_m, 30.2 - 15 * 1.5, 1e-9);
  ask(&answers, (struct be_tying){0});
  assert_near(fact(&answers, "specimens"), 5, 0);
  assert_told(&answers, "nylon 12 lb (spool S1) is used up after 5 more.");
  const char *row = row_of(&answers, "on_hand", "\"S1\"", NULL);
  assert_near(figure(row, "on_hand_m"), 7.7, 1e-9);
  assert_near(figure(row, "specimens"), 5, 0);
  assert_near(figure(row, "taken_m"), 7.5, 1e-9);
  assert_near(figure(row, "left_m"), 0.2, 1e-9);
  ask(&answers, (struct be_tying){.metres_each = 0.7});
  assert_near(fact(&answers, "specimens"), 11, 0);
  assert_told(&answers, "is used up after 11 more.");
  assert_told(&answers, "A specimen takes 0.7 m of each of its lines.");
  ask(&answers, (struct be_tying){.specimens = 3});
  assert_near(fact(&answers, "specimens"), 3, 0);
  assert_not_told(&answers, "is used up");
  ask(&answers, (struct be_tying){.metres_each = 7.8});
  assert_told(&answers, "There is no line left for what would help: the chance of a wrong first");
  assert_told(&answers, "nylon 12 lb (spool S1) is used up.");
  refused(&answers, (struct be_tying){.metres_each = 0.05}, "takes from 0.1 to 1000 m of line");
  refused(&answers, (struct be_tying){.metres_each = NAN}, "takes from 0.1 to 1000 m of line");
  answers_close(&answers);
}

/* When one spool is used up, the list goes on where there is line, on another spool of the knot. */
static void the_list_goes_on_with_another_spool(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  static const double half[] = {24.9, 25.4, 25.1, 24.6}, rough[] = {21.4, 26.9, 24.2, 25.3};
  sheet_loads(&sheet, "steady,nylon 6 lb,S6,dry", half, 4);
  sheet_loads(&sheet, "loose,nylon 6 lb,S6,dry", rough, 4);
  sheet_loads(&sheet, "steady,nylon 6 lb,S7,dry", half, 4);
  sheet_loads(&sheet, "loose,nylon 6 lb,S7,dry", rough, 4);
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
  sheet_loads(&sheet, "loose,nylon 12 lb,S1,dry", loose, 5);
  answers_open(&answers, "next-spools-shared", &sheet,
               "line,spool,on hand\nnylon 6 lb,S6,15.5 m\nnylon 6 lb,S7,13.6 m\n", NULL);
  ask(&answers, (struct be_tying){.specimens = 30});
  /* S6 has 3.5 m left, two specimens; S7 1.6 m, one; nylon 12 lb was never counted. */
  assert_told(&answers, "nylon 6 lb (spool S6) is used up after 2 more.");
  assert_told(&answers, "nylon 6 lb (spool S7) is used up after 1 more.");
  double six = 0;
  if (has_row(&answers, "next", "\"nylon 6 lb, dry\",\"what\":\"steady\""))
    six += figure(row_of(&answers, "next", "nylon 6 lb, dry", "steady"), "tie");
  if (has_row(&answers, "next", "\"nylon 6 lb, dry\",\"what\":\"loose\""))
    six += figure(row_of(&answers, "next", "nylon 6 lb, dry", "loose"), "tie");
  assert_near(six, 3, 0);
  assert_near(fact(&answers, "specimens"), 30, 0);
  assert_told(&answers, "Spools that were never counted are taken to have enough.");
  /* Step by step the chance falls on, across what was asked anew. */
  double before = 100;
  for (int i = 1; i <= 30; i++) {
    double now = figure(step(&answers, i), "wrong_percent");
    assert_true(now < before);
    if (i > 1) assert_near(figure(step(&answers, i), "gain_points"), before - now, 1e-9);
    before = now;
  }
  answers_close(&answers);
}

/* A joint takes of both lines, a plain line of one. */
static void a_joint_takes_of_both_lines(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet =
      sheet_begin("knot,line A,spool A,line B,spool B,soak,free length (mm),load (N)");
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,braid 20 lb,B1,dry,250", steady, 5);
  sheet_loads(&sheet, "loose,nylon 12 lb,S1,braid 20 lb,B1,dry,250", loose, 5);
  answers_open(&answers, "next-joint", &sheet,
               "line,spool,on hand\nnylon 12 lb,S1,17.6 m\nbraid 20 lb,B1,100 m\n", NULL);
  ask(&answers, (struct be_tying){0});
  /* 1.25 m a specimen: ten are pulled, four more may be of the nylon. */
  assert_told(&answers, "nylon 12 lb (spool S1) is used up after 4 more.");
  const char *braid = row_of(&answers, "on_hand", "\"B1\"", NULL);
  assert_near(figure(braid, "on_hand_m"), 87.5, 1e-9);
  assert_near(figure(braid, "taken_m"), 5, 1e-9);
  assert_near(fact(&answers, "specimens"), 4, 0);
  answers_close(&answers);
}

/* ---- settled ---- */

/* Two that are far apart in pulls enough, a third that is not far from the first. */
static void what_is_settled_is_said(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int i = 0; i < 3; i++) {
    sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
    sheet_loads(&sheet, "loose,nylon 12 lb,S1,dry", loose, 5);
    sheet_loads(&sheet, "poor,nylon 12 lb,S1,dry", poor, 5);
  }
  answers_open(&answers, "next-settled", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 2});
  assert_told(&answers, "Not settled: looked at after every pull, that the steady is stronger than "
                        "the loose has evidence ");
  assert_told(&answers, " of the 40 needed, over 15 pairs of pulls.");
  assert_told(&answers,
              "Still in it are the steady and the loose: to settle it soonest, pull these "
              "in turn.");
  assert_near(fact(&answers, "evidence_needed"), 40, 1e-9);
  assert_near(fact(&answers, "still_in"), 2, 0);
  assert_non_null(strstr(row_of(&answers, "groups", "nylon, dry", NULL), "\"settled\":\"no\""));
  /* The first two are: the third is weaker than both. 2 (3 - 2) + 1 pairs may be wrong. */
  ask(&answers, (struct be_tying){.top = 2, .specimens = 2});
  assert_told(&answers,
              "Tie nothing more for this: which are the first 2 is settled at 95 %, however "
              "often one looked.");
  assert_null(find_table(&answers, "steps"));
  assert_near(fact(&answers, "specimens"), 0, 0);
  assert_told(&answers, "each with evidence of 60, which keeps a wrong answer to 5 %");
  assert_not_told(&answers, "Still in it");
  assert_non_null(strstr(row_of(&answers, "groups", "nylon, dry", NULL), "\"settled\":\"yes\""));
  ask(&answers, (struct be_tying){.a = "steady", .b = "poor", .specimens = 2});
  assert_told(&answers, "Tie nothing more for this: which is the stronger is settled at 95 %");
  assert_not_told(&answers, "then falls from");
  answers_close(&answers);
}

/* What was found once, and then turned over, is not settled. */
static void what_turned_is_not_settled(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int i = 0; i < 30; i++) {
    sheet_row(&sheet, "early,nylon 12 lb,S1,dry,%.10g", (i < 10 ? 50 : 41) + 0.3 * (i % 4));
    sheet_row(&sheet, "late,nylon 12 lb,S1,dry,%.10g", (i < 10 ? 43 : 48) + 0.5 * (i % 3));
  }
  answers_open(&answers, "next-turned", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 2});
  assert_told(&answers, "now the late.");
  assert_told(&answers, "Not settled: looked at after every pull, other knots were once found "
                        "stronger than some that stand first now.");
  assert_near(fact(&answers, "still_in"), 1, 0);
  answers_close(&answers);
}

static void one_pull_each_is_no_evidence(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  sheet_loads(&sheet, "steady,nylon 12 lb,S1,dry", steady, 5);
  sheet_row(&sheet, "single,nylon 12 lb,S1,dry,47.5");
  answers_open(&answers, "next-single", &sheet, NULL, NULL);
  ask(&answers, (struct be_tying){.specimens = 2});
  assert_told(&answers,
              "Not settled: before two pairs of pulls there is no evidence that the steady "
              "is stronger than the single.");
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_more_is_listed_than_the_spool_has),
      cmocka_unit_test(the_list_goes_on_with_another_spool),
      cmocka_unit_test(a_joint_takes_of_both_lines),
      cmocka_unit_test(what_is_settled_is_said),
      cmocka_unit_test(what_turned_is_not_settled),
      cmocka_unit_test(one_pull_each_is_no_evidence),
  };
  return be_tests("app: line on hand, and when to stop", tests);
}
