/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What let go first, and on which side of a joint. */
#include "figures.h"

static const char head[] = "design,knot,knot B,line A,line B,soak,what,where,which,load (N)";

static const char *cause(const struct answers *answers, const char *words)
{
  char text[100];
  snprintf(text, sizeof text, "\"let_go\":\"%s\"", words);
  return row_of(answers, "causes", text, NULL);
}

/* Strengths of wire bonds (Nelson, Applied Life Data Analysis, 1982; read): the bond or the wire
 * let go. Complete, so that an incidence is a share; the medians of one alone derived with R
 * 4.2.2 (survreg, the other as lower bounds). */
static void wire_bonds(void **state)
{
  (void)state;
  static const double bond[] = {550, 950, 1150, 1150, 1250, 1250, 1450, 1450, 1550, 2050};
  static const double wire[] = {750, 950, 1150, 1150, 1150, 1350, 1450, 1550, 1550, 1850};
  struct answers answers;
  struct sheet sheet = sheet_begin(head);
  sheet_loads(&sheet, ",uni,,nylon 12 lb,fluorocarbon 10 lb,dry,B,K,line A", bond, 10);
  sheet_loads(&sheet, ",uni,,nylon 12 lb,fluorocarbon 10 lb,dry,B,K,line B", wire, 10);
  answers_open(&answers, "wire-bonds", &sheet, NULL, NULL);
  answers_strength(&answers);
  const char *a = cause(&answers, "in the knot, side of nylon 12 lb");
  const char *b = cause(&answers, "in the knot, side of fluorocarbon 10 lb");
  assert_int_equal((int)figure(a, "let_go_k"), 10);
  assert_int_equal((int)figure(a, "let_go_n"), 20);
  assert_near(figure(a, "incidence_percent"), 50, 1e-9);
  assert_near(figure(b, "incidence_percent"), 50, 1e-9);
  assert_near(figure(a, "up_to"), 2050, 1e-9);
  assert_near(figure(a, "alone_median"), 1529.26419445, 1e-4);
  assert_near(figure(b, "alone_median"), 1532.03725125, 1e-4);
  assert_true(figure(a, "alone_median_low") < 1529 && figure(a, "alone_median_high") > 1530);
  const char *side = row_of(&answers, "sides", "nylon to fluorocarbon", NULL);
  assert_near(figure(side, "parted_percent"), 50, 1e-9);
  assert_not_told(&answers, "It does not show that none");
  answers_close(&answers);
}

/* By hand: 100 A, 120 held, 140 B, 160 A, 180 held. A: 1/5 + 4/5 x 2/3 x 1/2; B: 4/5 x 1/3. */
static void pulls_that_held_count_for_what_they_held(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(head);
  sheet_row(&sheet, ",uni,,nylon 12 lb,,dry,B,K,,160");
  sheet_row(&sheet, ",uni,,nylon 12 lb,,dry,N,,,120");
  sheet_row(&sheet, ",uni,,nylon 12 lb,,dry,S,,,140");
  sheet_row(&sheet, ",uni,,nylon 12 lb,,dry,B,K,line A,100"); /* in one line: no side */
  sheet_row(&sheet, ",uni,,nylon 12 lb,,dry,B,G,,180");
  answers_open(&answers, "held", &sheet, NULL, NULL);
  answers_strength(&answers);
  assert_int_equal(count_rows(&answers, "causes"), 2);
  const char *knot = cause(&answers, "in the knot"), *slip = cause(&answers, "slipped out");
  assert_near(figure(knot, "incidence_percent"), 100 * (0.2 + 0.8 * 2 / 3 / 2), 1e-9);
  assert_near(figure(slip, "incidence_percent"), 100 * 0.8 / 3, 1e-9);
  assert_int_equal((int)figure(knot, "let_go_k"), 2);
  assert_int_equal((int)figure(knot, "let_go_n"), 3);
  assert_null(find_table(&answers, "sides"));
  answers_close(&answers);
}

/* Two alike knots are told by letter, two different ones by name; in one line they are no
 * sides of a joint. */
static void knots_of_one_specimen_have_names(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(head);
  for (int i = 0; i < 4; i++) {
    const char *which = i % 2 ? "knot B" : "knot A";
    sheet_row(&sheet, ",uni,uni,nylon 12 lb,,dry,B,K,%s,%d", which, 40 + i);
    sheet_row(&sheet, ",uni,palomar,nylon 12 lb,,dry,B,K,%s,%d", which, 50 + i);
    sheet_row(&sheet, ",twist,twist,nylon 12 lb,braid 20 lb,dry,B,K,%s,%d", which, 60 + i);
  }
  sheet_row(&sheet, ",uni,uni,nylon 12 lb,,dry,B,K,,47");
  sheet_row(&sheet, ",uni,palomar,nylon 12 lb,,dry,B,L,,57");
  answers_open(&answers, "two-knots", &sheet, NULL, NULL);
  answers_strength(&answers);
  assert_int_equal((int)figure(row_of(&answers, "causes", "\"knot A\"", "\"uni\""), "let_go_k"), 2);
  assert_int_equal((int)figure(row_of(&answers, "causes", "\"knot B\"", "\"uni\""), "let_go_k"), 2);
  assert_int_equal((int)figure(cause(&answers, "a knot, not told which"), "let_go_k"), 1);
  assert_int_equal((int)figure(cause(&answers, "the uni"), "let_go_k"), 2);
  assert_int_equal((int)figure(cause(&answers, "the palomar"), "let_go_k"), 2);
  assert_int_equal((int)figure(cause(&answers, "clear of both knots"), "let_go_k"), 1);
  assert_null(find_table(&answers, "sides"));
  answers_close(&answers);
}

/* 400 of 400: the intervals derived with R 4.2.2; one-sided 0.05^(1/400). */
static void all_on_one_side(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(head);
  for (int i = 0; i < 400; i++)
    sheet_row(&sheet, ",join,,nylon 12 lb,braid 20 lb,dry,B,K,line A,%g", 40 + i % 17 * 0.3);
  sheet_row(&sheet, ",join,,nylon 12 lb,braid 20 lb,dry,S,,,33"); /* parted nowhere */
  sheet_row(&sheet, ",join,,nylon 9 lb,nylon 12 lb,dry,B,K,line B,31");
  answers_open(&answers, "sides", &sheet, NULL, NULL);
  answers_strength(&answers);
  const char *side = row_of(&answers, "sides", "nylon to braid", NULL);
  assert_int_equal((int)figure(side, "parted_k"), 400);
  assert_int_equal((int)figure(side, "parted_n"), 400);
  assert_near(figure(side, "clopper_pearson_percent_low"), 99.08201954, 1e-7);
  assert_near(figure(side, "clopper_pearson_percent_high"), 100, 0);
  assert_near(figure(side, "wilson_percent_low"), 99.04877057, 1e-7);
  assert_near(figure(side, "jeffreys_percent_low"), 99.37437205, 1e-7);
  assert_near(figure(side, "at_least_percent"), 100 * pow(0.05, 1.0 / 400), 1e-9);
  assert_told(&answers, "All 400 joints of nylon to braid");
  assert_told(&answers,
              "on the nylon side: with 95 % confidence at least 99.3 % of such joints do");
  /* One joint is no such claim; lines of one material are told by letter. */
  assert_not_told(&answers, "All 1 joints");
  assert_non_null(strstr(row_of(&answers, "sides", "nylon to nylon", NULL), "\"line B\""));
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(wire_bonds),
      cmocka_unit_test(pulls_that_held_count_for_what_they_held),
      cmocka_unit_test(knots_of_one_specimen_have_names),
      cmocka_unit_test(all_on_one_side),
  };
  return be_tests("app: what let go first", tests);
}
