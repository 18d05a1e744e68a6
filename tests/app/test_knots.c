/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the book says of its knots; and of the specimen at the bench, what it will store. */
#include "app/knots/knots.h"

#include "app/live/live.h"
#include "figures.h"

static const char knots[] = "knot,kind,aliases,crossings A,crossings B,overlap (mm)\n"
                            "uni,hitch,grinner,7,none,13.5\n"
                            "albright,bend,,,,\n";

/* Palomar holds most, then uni, then clinch; snell was tied elsewhere, albright never. */
static struct answers open_book(const char *name)
{
  struct answers answers;
  static const double plain[] = {57.3, 61.9, 59.2, 60.4, 58.7}, uni[] = {47.9, 49.2, 48.3, 50.1},
                      palomar[] = {55.9, 57.2, 56.3, 58.1}, clinch[] = {41.9, 43.1, 42.2, 44.6};
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,what,load (N)");
  sheet_loads(&sheet, "none,nylon 12 lb,S1,dry,B", plain, 5);
  sheet_loads(&sheet, "uni,nylon 12 lb,S1,dry,B", uni, 4);
  sheet_loads(&sheet, "palomar,nylon 12 lb,S1,dry,B", palomar, 4);
  sheet_loads(&sheet, "clinch,nylon 12 lb,S1,dry,S", clinch, 4);
  sheet_loads(&sheet, "snell,nylon 20 lb,S9,dry,B", uni, 2);
  answers_open(&answers, name, &sheet, knots, NULL);
  return answers;
}

static void ask_knots(struct answers *answers)
{
  struct be_doc *doc = NULL;
  assert_int_equal(be_knots_doc(&answers->survey, &doc, NULL), BE_OK);
  answers_print(answers, doc);
}

static void ask_knot(struct answers *answers, const char *name)
{
  struct be_doc *doc = NULL;
  int knot = be_knot_find(&answers->survey, name, NULL);
  assert_true(knot >= 0);
  assert_int_equal(be_knot_doc(&answers->survey, (size_t)knot, 0, &doc, NULL), BE_OK);
  answers_print(answers, doc);
}

/* ---- all of them ---- */

static void the_first_sentence_counts_what_is_known(void **state)
{
  (void)state;
  struct answers answers = open_book("knots-first");
  ask_knots(&answers);
  assert_told(&answers, "The book knows 5 knots: 3 compared with another, 1 pulled but never "
                        "compared, 1 never pulled; 0 with a picture.");
  const char *row = row_of(&answers, "knots", "\"uni\"", NULL);
  assert_non_null(strstr(row, "\"aliases\":\"grinner\""));
  assert_near(figure(row, "crossings_a"), 7, 0);
  assert_near(figure(row, "crossings_b"), 0, 0);
  assert_near(figure(row, "overlap_mm"), 13.5, 1e-9);
  assert_non_null(strstr(row, "\"missing\":\"no picture, no tie\""));
  assert_non_null(strstr(row_of(&answers, "knots", "\"albright\"", NULL),
                         "\"missing\":\"never pulled, no picture, no tie\""));
  assert_non_null(strstr(row_of(&answers, "knots", "\"snell\"", NULL),
                         "\"missing\":\"never compared, no picture, no kind, no tie\""));
  answers_close(&answers);
}

/* What the standings say of the same book. */
static void ranks_are_those_of_the_standings(void **state)
{
  (void)state;
  static const char *const names[] = {"uni", "palomar", "clinch"};
  struct answers answers = open_book("knots-ranks");
  for (size_t i = 0; i < 3; i++) {
    answers_standings(&answers);
    char named[40];
    snprintf(named, sizeof named, "\"%s\"", names[i]);
    const char *theirs = row_of(&answers, "standings", named, NULL);
    ask_knots(&answers);
    const char *ours = row_of(&answers, "ranked", named, NULL);
    assert_near(figure(ours, "rank"), figure(theirs, "rank"), 0);
    assert_near(figure(ours, "rank"), i == 0 ? 2 : i == 1 ? 1 : 3, 0);
    assert_near(figure(ours, "efficiency_percent"), figure(theirs, "efficiency_percent"), 1e-9);
    assert_near(figure(ours, "efficiency_percent_low"), figure(theirs, "efficiency_percent_low"),
                1e-9);
    assert_near(figure(ours, "slipped_out_k"), i == 2 ? 4 : 0, 0);
  }
  assert_non_null(strstr(row_of(&answers, "ranked", "\"snell\"", NULL), "not ranked"));
  answers_close(&answers);
}

static void an_empty_book_has_no_knots(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,load (N)");
  answers_open(&answers, "knots-none", &sheet, NULL, NULL);
  ask_knots(&answers);
  assert_told(&answers, "The book knows no knot yet");
  answers_close(&answers);
}

/* ---- one of them ---- */

static void a_knot_has_its_cells_and_its_neighbours(void **state)
{
  (void)state;
  struct answers answers = open_book("knot-one");
  ask_knot(&answers, "uni");
  assert_told(&answers, "The uni kept 82 % [");
  assert_told(&answers, "Its rank, and in brackets the range: 2 of 3 in nylon 12 lb, dry.");
  const char *row = row_of(&answers, "neighbours", "\"palomar\"", NULL);
  assert_non_null(strstr(row, "\"above\",\"rank\":\"1 of 3\",\"verdict\":\"apart\"") ||
                  strstr(row, "\"side\":\"above\""));
  assert_non_null(strstr(row_of(&answers, "neighbours", "\"clinch\"", NULL), "below"));
  assert_int_equal(count_rows(&answers, "neighbours"), 2);
  row = row_of(&answers, "cells", "nylon 12 lb, dry", NULL);
  assert_near(figure(row, "n"), 4, 0);
  assert_near(figure(row, "mean"), 48.875, 1e-9);
  assert_int_equal(count_rows(&answers, "pulls"), 4);
  answers_close(&answers);
}

static void a_knot_without_pulls_says_so(void **state)
{
  (void)state;
  struct answers answers = open_book("knot-bare");
  struct be_doc *doc = NULL;
  ask_knot(&answers, "albright");
  assert_told(&answers, "The albright was never pulled.");
  assert_int_equal(count_rows(&answers, "cells"), 0);
  ask_knot(&answers, "snell");
  assert_told(&answers, "no efficiency with an interval can be given yet");
  assert_int_equal(be_knot_doc(&answers.survey, 0, 4, &doc, NULL), BE_NO);
  assert_null(doc);
  answers_close(&answers);
}

/* ---- the specimen at the bench ---- */

static void say_energy(struct answers *answers, const struct be_subject *subject)
{
  struct be_doc *doc = be_doc_create("bench", "Bench");
  be_say_energy(doc, &answers->survey, subject);
  answers_print(answers, doc);
}

/* 588 N of nylon store 73 J in a metre, of braid 12 J; 10 J in 5 g are 63 m/s. */
static void what_is_stored_is_half_load_times_stretch(void **state)
{
  (void)state;
  assert_near(be_stored_J(588, 0.25, 1), 73.5, 1e-9);
  assert_near(be_stored_J(588, 0.04, 1), 11.76, 1e-9);
  assert_near(be_stored_J(588, 0.25, 0.3), 22.05, 1e-9);
  assert_near(be_speed_m_s(10, 0.005), 63.245553, 1e-6);
}

static void the_energy_is_told_where_it_can_be(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,free length (mm),load (N)");
  sheet_row(&sheet, "none,nylon 40 lb,N,dry,700,190");
  sheet_row(&sheet, "none,nylon 40 lb,N,soaked,700,170");
  sheet_row(&sheet, "uni,braid 20 lb,B,dry,300,77");
  sheet_row(&sheet, "uni,fluorocarbon 15 lb,F,dry,300,51");
  answers_open(&answers, "knots-energy", &sheet, NULL, NULL);
  struct be_subject subject = {
      .knot = -1, .line_a = 0, .line_b = -1, .soak = BE_SOAK_SOAKED, .length_m = 0.7};
  say_energy(&answers, &subject); /* 170 N x 0.25 x 0.7 m / 2 = 14.9 J; 77 m/s */
  assert_told(&answers, "About 15 J when it lets go: a 5 g swivel would leave at about 77 m/s.");
  assert_told(&answers, "(At 170 N, nylon 40 lb, as its plain line held, and 25 % stretch over "
                        "0.7 m of free length.)");
  subject = (struct be_subject){.knot = 0, .line_a = 1, .line_b = -1, .length_m = NAN};
  say_energy(&answers, &subject); /* 20 lb = 88.96 N x 0.04 x 0.3 m / 2 = 0.53 J */
  assert_told(&answers, "About 0.53 J when it lets go");
  assert_told(&answers, "braid 20 lb, its label, and 4 % stretch over 0.3 m of free length, as the "
                        "pull before.)");
  subject.line_a = 2;
  say_energy(&answers, &subject);
  assert_told(&answers, "does not tell how far its line stretches: take it for much.");
  subject.line_a = -1;
  say_energy(&answers, &subject);
  assert_told(&answers, "does not tell which line it is");
  answers_close(&answers);
}

static void the_weaker_line_tells_the_load(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,line B,soak,load (N)");
  sheet_row(&sheet, "uni,nylon 40 lb,braid 10 lb,dry,39");
  sheet_row(&sheet, "uni,nylon of the shed,,dry,39");
  answers_open(&answers, "knots-weaker", &sheet, NULL, NULL);
  struct be_subject subject = {.knot = 0, .line_a = 0, .line_b = 1, .length_m = 1};
  say_energy(&answers, &subject); /* 44.48 N x 0.145 / 2 = 3.2 J */
  assert_told(&answers, "About 3.2 J when it lets go");
  assert_told(&answers, "braid 10 lb, its label");
  subject = (struct be_subject){.knot = 0, .line_a = 2, .line_b = -1, .length_m = 1};
  say_energy(&answers, &subject);
  assert_told(&answers, "does not tell what its line holds");
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_first_sentence_counts_what_is_known),
      cmocka_unit_test(ranks_are_those_of_the_standings),
      cmocka_unit_test(an_empty_book_has_no_knots),
      cmocka_unit_test(a_knot_has_its_cells_and_its_neighbours),
      cmocka_unit_test(a_knot_without_pulls_says_so),
      cmocka_unit_test(what_is_stored_is_half_load_times_stretch),
      cmocka_unit_test(the_energy_is_told_where_it_can_be),
      cmocka_unit_test(the_weaker_line_tells_the_load),
  };
  return be_tests("app: knots", tests);
}
