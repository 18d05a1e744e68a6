/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first sentence of versus in all its cases, what would settle the rest, and whether one may
 * stop, on small sheets whose answers are known by reasoning. */
#include "figures.h"

#include <math.h>

#define HEAD "knot,line A,spool A,line B,soak,load (N)"

/* Four pulls about a mean that scatter by so much; their relative deviation is known. */
static void pulls(struct sheet *sheet, const char *row, double mean, double spread)
{
  static const double steps[] = {-1.1, 0.7, 1.3, -0.9};
  for (int i = 0; i < 4; i++) sheet_row(sheet, "%s,%.10g", row, mean + spread * steps[i]);
}

/* Of pulls(): the sum of squares of the steps is 4.2. */
static double relative_deviation(double mean, double spread)
{
  return spread * sqrt(4.2 / 3) / mean;
}

static void plain_lines(struct sheet *sheet)
{
  pulls(sheet, "none,nylon 6 lb,S6,,dry", 30, 0.1);
  pulls(sheet, "none,nylon 12 lb,S12,,dry", 60, 0.2);
  pulls(sheet, "none,nylon 20 lb,S20,,dry", 100, 0.3);
}

/* What one knot does in a pull the other does not. */
static struct sheet sheet_of_three(double third)
{
  struct sheet sheet = sheet_begin(HEAD);
  plain_lines(&sheet);
  pulls(&sheet, "alpha,nylon 6 lb,S6,,dry", 24, 0.2);
  pulls(&sheet, "beta,nylon 6 lb,S6,,dry", 21, -0.2);
  pulls(&sheet, "alpha,nylon 12 lb,S12,,dry", 48, 0.4);
  pulls(&sheet, "beta,nylon 12 lb,S12,,dry", 42, -0.4);
  pulls(&sheet, "alpha,nylon 20 lb,S20,,dry", third, 3);
  pulls(&sheet, "beta,nylon 20 lb,S20,,dry", 72, -3);
  return sheet;
}

static void open_three(struct answers *answers, const char *name, double third)
{
  struct sheet sheet = sheet_of_three(third);
  answers_open(answers, name, &sheet, NULL, NULL);
  answers_versus(answers, "beta", "alpha");
}

static const char *third_row(const struct answers *answers)
{
  return row_of(answers, "versus", "nylon 20 lb, dry", NULL);
}

/* ---- the first sentence ---- */

/* 80 less 70 points in the first two, 82 less 72 in the third; the stronger is named first. */
static void more_on_every_line_and_clear(void **state)
{
  (void)state;
  struct answers answers;
  open_three(&answers, "versus-clear", 82);
  assert_told(&answers, "The alpha held more than the beta on every line both were tied in: 10.0 "
                        "pts [");
  assert_told(&answers, "] of the line, n = 12 and 12; clear in each of them.");
  assert_told(&answers, "That is 14.2 % relative [");
  assert_not_told(&answers, "A pair is a specimen of each");
  assert_near(figure(third_row(&answers), "more_pairs"), 0, 0);
  assert_told(&answers, "The alpha holds 10.0 pts more");
  answers_close(&answers);
}

/* The third is not clear: so many pairs reach the power, and one less does not. The plain line
 * cancels, so the scatter is that of the loads. */
static void the_fewest_more_pairs_have_the_power_asked_for(void **state)
{
  (void)state;
  struct answers answers;
  open_three(&answers, "versus-pairs", 74);
  double more = figure(third_row(&answers), "more_pairs");
  double a = relative_deviation(74, 3), b = relative_deviation(72, 3);
  double shift = log(74.0 / 72) / sqrt((a * a + b * b) / 2);
  assert_true(more > 1 && more < 100);
  assert_true(be_power_two(shift, 4 + more, 0.05) >= 0.8);
  assert_true(be_power_two(shift, 3 + more, 0.05) < 0.8);
  char words[200];
  snprintf(words, sizeof words,
           "; clear in 2 of the 3, and %.0f more pairs would tell them apart in nylon 20 lb, dry.",
           more);
  assert_told(&answers, "The alpha held more than the beta on every line both were tied in: ");
  assert_told(&answers, words);
  assert_told(&answers, "A pair is a specimen of each: so many have 80 % power");
  answers_close(&answers);
}

static void more_on_some_of_the_lines(void **state)
{
  (void)state;
  struct answers answers;
  open_three(&answers, "versus-some", 69);
  assert_told(&answers,
              "The alpha held more than the beta on 2 of the 3 lines both were tied in: 5.7 pts [");
  assert_told(&answers, " more pairs would tell them apart in nylon 20 lb, dry.");
  answers_close(&answers);
}

/* The averages are 80 and 77 points: clear, but of no line. */
static void each_the_stronger_somewhere(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  plain_lines(&sheet);
  pulls(&sheet, "alpha,nylon 6 lb,S6,,dry", 27, 0.2);
  pulls(&sheet, "beta,nylon 6 lb,S6,,dry", 21, -0.2);
  pulls(&sheet, "alpha,nylon 12 lb,S12,,dry", 42, 0.4);
  pulls(&sheet, "beta,nylon 12 lb,S12,,dry", 50.4, -0.4);
  answers_open(&answers, "versus-divided", &sheet, NULL, NULL);
  answers_versus(&answers, "alpha", "beta");
  assert_told(&answers, "Which is the stronger depends on the line: the alpha held more in nylon 6 "
                        "lb, dry (20.0 pts [");
  assert_told(&answers, ", n = 4 and 4), the beta in nylon 12 lb, dry (14.0 pts [");
  assert_told(&answers, "Over all 2, first less second is 3.0 pts [");
  assert_told(&answers, "Not asked: evidence is of one difference");
  assert_not_told(&answers, "The alpha held more than the beta");
  assert_not_told(&answers, "clear in");
  assert_not_told(&answers, "the same within");
  assert_not_told(&answers, "You may stop");
  answers_close(&answers);
}

/* The mean of one is less by a thousandth of the deviation. */
static void what_rounds_to_zero_has_no_sign(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  pulls(&sheet, "alpha,nylon 20 lb,S20,,dry", 74.997, 3);
  pulls(&sheet, "beta,nylon 20 lb,S20,,dry", 75, 3);
  answers_open(&answers, "versus-zero", &sheet, NULL, NULL);
  answers_versus(&answers, "alpha", "beta");
  assert_told(&answers, "first less second is 0.0 % relative [");
  assert_not_told(&answers, "-0.0 ");
  answers_close(&answers);
}

/* The third line is clear by itself, not at the level of all three. */
static void the_other_way_is_counted_apart(void **state)
{
  (void)state;
  struct answers answers;
  open_three(&answers, "versus-other-way", 65.2);
  assert_told(&answers,
              "The alpha held more than the beta on 2 of the 3 lines both were tied in: ");
  assert_told(&answers, "; clear in 2 of the 3, the other way in 1.");
  answers_close(&answers);
}

static void a_difference_too_small_to_tie_for(void **state)
{
  (void)state;
  struct answers answers;
  open_three(&answers, "versus-small", 72.3);
  assert_told(&answers, "; clear in 2 of the 3, and no number of pulls worth tying would tell them "
                        "apart in nylon 20 lb, dry.");
  assert_told(&answers, "Worth tying are at most 100 more pairs in one combination");
  assert_true(isnan(figure(third_row(&answers), "more_pairs")));
  assert_true(figure(third_row(&answers), "pulls_needed") > 104);
  answers_close(&answers);
}

/* In one line, without plain pulls: by the loads, and no line is counted. */
static void one_combination_is_named(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  pulls(&sheet, "alpha,nylon 20 lb,S20,,dry", 75, 3);
  pulls(&sheet, "beta,nylon 20 lb,S20,,dry", 72, 3);
  answers_open(&answers, "versus-one", &sheet, NULL, NULL);
  answers_versus(&answers, "alpha", "beta");
  assert_told(&answers, "Cannot separate the alpha and the beta in nylon 20 lb, dry: first less "
                        "second is 4.2 % relative [");
  assert_told(&answers, "], n = 4 and 4; ");
  assert_told(&answers, " more pairs would tell them apart.");
  assert_not_told(&answers, "That is ");
  answers_close(&answers);
}

/* A soak is no line of its own, nor is a joint. */
static void combinations_that_are_no_lines(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  pulls(&sheet, "alpha,nylon 20 lb,S20,,dry", 85, 1);
  pulls(&sheet, "beta,nylon 20 lb,S20,,dry", 72, 1);
  pulls(&sheet, "alpha,nylon 20 lb,S20,,soaked", 75, 1);
  pulls(&sheet, "beta,nylon 20 lb,S20,,soaked", 62, 1);
  pulls(&sheet, "alpha,nylon 6 lb,S6,nylon 12 lb,dry", 25, 1);
  pulls(&sheet, "gamma,nylon 6 lb,S6,nylon 12 lb,dry", 19, 1);
  pulls(&sheet, "alpha,nylon 9 lb,S9,nylon 12 lb,dry", 25, 1);
  pulls(&sheet, "gamma,nylon 9 lb,S9,nylon 12 lb,dry", 19, 1);
  /* On another spool, without its plain line. */
  pulls(&sheet, "alpha,nylon 12 lb,S1,,dry", 35, 1);
  pulls(&sheet, "gamma,nylon 12 lb,S2,,dry", 39, 1);
  answers_open(&answers, "versus-combinations", &sheet, NULL, NULL);
  answers_versus(&answers, "alpha", "beta");
  assert_told(&answers, "The alpha held more than the beta in every combination both were tied in");
  answers_versus(&answers, "alpha", "gamma");
  assert_told(&answers, "in every combination where they can be compared: ");
  assert_told(&answers, "Left out: nylon 12 lb, dry, tied on different spools");
  answers_close(&answers);
}

/* Nothing anywhere is clear by itself, and the whole is not either. */
static void nothing_is_clear(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  pulls(&sheet, "alpha,nylon 6 lb,S6,,dry", 24, 3);
  pulls(&sheet, "beta,nylon 6 lb,S6,,dry", 22, 3);
  pulls(&sheet, "alpha,nylon 12 lb,S12,,dry", 48, 3);
  pulls(&sheet, "beta,nylon 12 lb,S12,,dry", 49, 3);
  answers_open(&answers, "versus-nothing", &sheet, NULL, NULL);
  answers_versus(&answers, "alpha", "beta");
  assert_told(&answers,
              "Cannot separate the alpha and the beta on the 2 lines both were tied in: ");
  assert_told(&answers, "; clear in none of the 2, and ");
  assert_told(&answers, " more pairs would tell them apart in nylon 6 lb, dry.");
  answers_close(&answers);
}

/* More pulls of knots do not mend plain lines that were hardly pulled, each knot on its own. */
static void plain_lines_that_do_not_cancel_stay_unsure(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  pulls(&sheet, "none,nylon 20 lb,S1,,dry", 100, 9);
  pulls(&sheet, "none,nylon 20 lb,S2,,dry", 101, 9);
  pulls(&sheet, "alpha,nylon 20 lb,S1,,dry", 75, 2);
  pulls(&sheet, "beta,nylon 20 lb,S2,,dry", 72, 2);
  answers_open(&answers, "versus-lines", &sheet, NULL, NULL);
  answers_versus(&answers, "alpha", "beta");
  assert_told(&answers, "; no number of pulls worth tying would tell them apart.");
  const char *row = third_row(&answers);
  assert_true(figure(row, "pulls_needed") < 20 && isnan(figure(row, "more_pairs")));
  answers_close(&answers);
}

/* ---- looked at after every pull ---- */

static void a_clear_difference_may_stop(void **state)
{
  (void)state;
  struct answers answers;
  open_three(&answers, "versus-stop", 82);
  assert_told(&answers, "You may stop now: that the alpha is the stronger had the evidence needed, "
                        "20, from pair ");
  assert_told(&answers, " of 12 on (specimen t");
  const char *always = row_of(&answers, "looks", "at every look", NULL);
  const char *once = row_of(&answers, "looks", "at one look", NULL);
  assert_true(figure(always, "relative_percent_low") > 0);
  assert_true(figure(always, "relative_percent_low") < figure(once, "relative_percent_low"));
  assert_true(figure(always, "relative_percent_high") > figure(once, "relative_percent_high"));
  assert_near(figure(once, "relative_percent"), 100 * (pow(82.0 / 72 * 64 / 49, 1.0 / 3) - 1),
              1e-9);
  assert_not_told(&answers, "Pulls that wait for a partner");
  answers_close(&answers);
}

static void a_small_difference_may_not(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  pulls(&sheet, "alpha,nylon 20 lb,S20,,dry", 75, 3);
  pulls(&sheet, "beta,nylon 20 lb,S20,,dry", 74, 4);
  pulls(&sheet, "beta,nylon 20 lb,S20,,dry", 74, 4);
  sheet_row(&sheet, "gamma,nylon 20 lb,S20,,dry,61");
  sheet_row(&sheet, "delta,nylon 20 lb,S20,,dry,61");
  sheet_row(&sheet, "delta,nylon 20 lb,S20,,dry,64");
  answers_open(&answers, "versus-not-yet", &sheet, NULL, NULL);
  answers_versus(&answers, "alpha", "beta");
  assert_told(&answers, "Not yet: evidence ");
  assert_told(&answers, " of the 20 needed, over 4 pairs of pulls.");
  assert_told(&answers, "Pulls that wait for a partner: 4.");
  assert_told(&answers, "Not covered: a record entered in another order than pulled");
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(more_on_every_line_and_clear),
      cmocka_unit_test(the_fewest_more_pairs_have_the_power_asked_for),
      cmocka_unit_test(each_the_stronger_somewhere),
      cmocka_unit_test(what_rounds_to_zero_has_no_sign),
      cmocka_unit_test(the_other_way_is_counted_apart),
      cmocka_unit_test(more_on_some_of_the_lines),
      cmocka_unit_test(a_difference_too_small_to_tie_for),
      cmocka_unit_test(one_combination_is_named),
      cmocka_unit_test(combinations_that_are_no_lines),
      cmocka_unit_test(nothing_is_clear),
      cmocka_unit_test(plain_lines_that_do_not_cancel_stay_unsure),
      cmocka_unit_test(a_clear_difference_may_stop),
      cmocka_unit_test(a_small_difference_may_not),
  };
  return be_tests("app: versus", tests);
}
