/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings of tyers, order, slips and the build of knots; what so few pulls cannot show is not
 * said, and all of it is tested together. */
#include "findings.h"

/* ---- tyers ---- */

/* Derived with R 4.2.2: lm(log(load) ~ tyer + factor(knot)), without the pull that slipped and
 * the knot of one tyer. */
static void tyers_knot_by_knot(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,what,tyer,load (N)");
  static const double loads[2][2][4] = {{{50.1, 51.9, 49.7, 52.3}, {46.2, 47.9, 45.1, 47.0}},
                                        {{33.8, 35.1, 34.2, 36.0}, {30.9, 31.4, 32.8, 31.1}}};
  for (int k = 0; k < 2; k++)
    for (int i = 0; i < 4; i++) {
      sheet_row(&sheet, "%s,nylon 12 lb,dry,B,Finch,%.10g", k ? "uni" : "snell", loads[k][0][i]);
      sheet_row(&sheet, "%s,nylon 12 lb,dry,B,Heron,%.10g", k ? "uni" : "snell", loads[k][1][i]);
    }
  sheet_row(&sheet, "uni,nylon 12 lb,dry,S,Heron,11.5");
  sheet_row(&sheet, "clinch,nylon 12 lb,dry,B,Finch,99");
  sheet_row(&sheet, "clinch,nylon 12 lb,dry,B,,12");
  open_and_ask(&answers, "findings-tyers", &sheet, NULL);
  const char *row = said(&answers, "What Finch tied held more than what Heron tied");
  assert_near(figure(row, "value"), 9.88923928964653, 1e-9);
  assert_near(figure(row, "interval_low"), 6.90071152001062, 1e-9);
  assert_near(figure(row, "interval_high"), 12.96131466250128, 1e-9);
  assert_near(figure(row, "p"), 5.27859796288021e-06, 1e-12);
  assert_near(figure(row, "n"), 16, 0);
  row = unsaid(&answers, "slips out more often (0 of 8 against 1 of 9)");
  assert_near(figure(row, "n"), 17, 0);
  row = unsaid(&answers, "scatters more");
  assert_near(figure(row, "n"), 16, 0);
  answers_close(&answers);
}

/* Derived with R 4.2.2: lm(log(load) ~ tyer + factor(knot:session)), no session being one too, of
 * the sessions of both. */
static void a_day_is_no_tyer(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,what,session,tyer,load (N)");
  for (int day = 0; day < 4; day++)
    for (int i = 0; i < 12; i++)
      sheet_row(&sheet, "snell,nylon 12 lb,dry,B,day %d,%s,%.10g", day, day < 2 ? "Finch" : "Heron",
                (day < 2 ? 50 : 40) + 0.37 * i);
  open_and_ask(&answers, "findings-days", &sheet, NULL);
  const char *row = unsaid(&answers, "no session has pulls of both");
  assert_near(figure(row, "n"), 0, 0);
  assert_non_null(strstr(row, "whether what Finch tied or what Heron tied holds more"));
  assert_not_told(&answers, "What Finch tied held more");
  answers_close(&answers);
  sheet = sheet_begin("knot,line A,soak,session,tyer,load (N)");
  static const char *const rows[] = {
      "snell mon Finch 50.1", "snell mon Finch 51.9", "snell mon Heron 46.2",
      "snell mon Heron 47.9", "uni mon Finch 33.8",   "uni mon Heron 30.9",
      "snell tue Finch 60.3", "snell tue Finch 61.9", "snell wed Heron 44.4",
      "uni - Finch 40.2",     "uni - Heron 41.7"};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    char knot[8], session[8], tyer[8], load[8];
    assert_int_equal(sscanf(rows[i], "%7s %7s %7s %7s", knot, session, tyer, load), 4);
    sheet_row(&sheet, "%s,nylon 12 lb,dry,%s,%s,%s", knot, *session == '-' ? "" : session, tyer,
              load);
  }
  open_and_ask(&answers, "findings-one-day", &sheet, NULL);
  row = unsaid(&answers, "whether what Finch tied or what Heron tied holds more");
  assert_near(figure(row, "value"), 5.50400679336781, 1e-9);
  assert_near(figure(row, "interval_low"), -2.65840035415573, 1e-9);
  assert_near(figure(row, "interval_high"), 14.35085811156806, 1e-9);
  assert_near(figure(row, "p"), 0.138403511573928, 1e-12);
  assert_near(figure(row, "n"), 8, 0);
  answers_close(&answers);
}

/* One pull says nothing of how many more would tell. */
static void one_pull_is_not_reckoned_from(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,tyer,session,load (N)");
  sheet_row(&sheet, "uni,nylon 12 lb,dry,Heron,monday,43.1");
  for (int i = 0; i < 6; i++)
    sheet_row(&sheet, "uni,nylon 12 lb,dry,Finch,monday,%.10g", 40.3 + 0.7 * i);
  open_and_ask(&answers, "findings-one-pull", &sheet, NULL);
  unsaid(&answers, "whether what Heron tied or what Finch tied holds more");
  assert_told(&answers, "n = 7; how many more would tell cannot be reckoned from 1 pull on one "
                        "side: pull 3 of each at least.");
  assert_not_told(&answers, "such pulls in all");
  answers_close(&answers);
}

/* ---- order ---- */

/* Loads fall by 0.4 % a pull, of two knots in turn, each on its own level. */
static void a_drift_is_found(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,session,order,load (N)");
  struct be_random random;
  be_random_init(&random, 21, 0);
  for (int i = 0; i < 40; i++)
    sheet_row(&sheet, "%s,nylon 12 lb,dry,%s,%d,%.10g", i % 2 ? "uni" : "snell",
              i < 20 ? "monday" : "tuesday", i % 20 + 1,
              (i % 2 ? 40 : 55) * exp(-0.004 * (i % 20) + 0.01 * be_random_normal(&random)));
  open_and_ask(&answers, "findings-drift", &sheet, NULL);
  const char *row = said(&answers, "Loads fell with the order of pulling in a session");
  double truth = 100 * expm1(-0.04);
  assert_true(figure(row, "interval_low") < truth && truth < figure(row, "interval_high"));
  assert_near(figure(row, "value"), truth, 1.5);
  assert_near(figure(row, "n"), 40, 0);
  answers_close(&answers);
}

/* Six sessions, each better than the last: 2 of 720 orders are as far out. The other tyer's three
 * sessions allow no p that shows anything. */
static void a_tyer_who_learns(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,tyer,session,load (N)");
  for (int s = 0; s < 6; s++)
    for (int i = 0; i < 4; i++) {
      sheet_row(&sheet, "uni,nylon 12 lb,dry,Finch,2026-05-%02d,%.10g", s + 1,
                40 * (1 + 0.02 * s) + 0.7 * (i % 3));
      if (s % 2) continue;
      sheet_row(&sheet, "uni,nylon 12 lb,dry,Heron,2026-05-%02d,%.10g", s + 1,
                39 + 0.3 * s + 0.9 * (i % 3));
    }
  open_and_ask(&answers, "findings-learning", &sheet, NULL);
  const char *row = said(&answers, "From session to session what Finch tied held more");
  assert_near(figure(row, "p"), 2.0 / 720, 1e-15);
  assert_near(figure(row, "n"), 24, 0);
  assert_told(&answers, "the clearest that so few sessions can show comes by chance alone ");
  assert_told(&answers,
              "from one to the next, over 6 sessions; by chance alone they would stand in an order "
              "as clear as this 1 time in 360 (rho 1.00, exact p 0.0028)");
  answers_close(&answers);
}

/* ---- slips ---- */

static void slips_by_material_and_never(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,hardware,soak,what,load (N)");
  for (int i = 0; i < 14; i++) {
    sheet_row(&sheet, "clinch,braid 20 lb,ring,dry,%s,%d", i < 11 ? "S" : "B", 40 + i);
    sheet_row(&sheet, "clinch,nylon 12 lb,ring,dry,B,%d", 40 + i);
    sheet_row(&sheet, "palomar,braid 20 lb,ring,dry,%s,%d", i == 13 ? "" : "B", 70 + i);
  }
  open_and_ask(&answers, "findings-slips", &sheet, NULL);
  const char *row = said(&answers, "The clinch slipped out more often in braid to ring than in the "
                                   "rest: 11 of 14 against 0 of 14");
  struct be_rates rates;
  be_rates_compare(11, 14, 0, 14, 0.95, &rates);
  assert_near(figure(row, "p"), rates.fisher_p, 1e-15);
  assert_near(figure(row, "value"), 100 * 11 / 14.0, 1e-9);
  row = row_of(&answers, "never_slipped", "palomar", NULL);
  assert_near(figure(row, "slipped_n"), 13, 0);
  assert_near(figure(row, "at_most_percent"), 100 * (1 - pow(0.05, 1 / 13.0)), 1e-9);
  assert_near((double)count_rows(&answers, "never_slipped"), 1, 0);
  answers_close(&answers);
}

/* ---- structure ---- */

static const char drawn[] = "knot,crossings A,crossings B,overlap (mm)\n"
                            "k1,9,4,11.5\nk2,3,6,19\nk3,12,7,9.25\nk4,5,9,22\nk5,8,12,14\n"
                            "k6,7,15,16.5\n";
static const double held[] = {60.2, 57.1, 55.3, 50.8, 46.9, 41.4};

static struct sheet sheet_of_knots(int knots, const char *lines)
{
  struct sheet sheet = sheet_begin("knot,line A,line B,soak,load (N)");
  for (int k = 0; k < knots; k++)
    for (int i = 0; i < 3; i++)
      sheet_row(&sheet, "k%d,%s,dry,%.10g", k + 1, lines, held[k] * (1 + 0.01 * i));
  return sheet;
}

/* The braid is line B: its crossings rise as the loads fall, those of line A do not. Of 720 orders
 * two are as far out; the slope is the median of those of the 15 pairs. */
static void crossings_on_the_braid_side(void **state)
{
  (void)state;
  static const double crossings[] = {4, 6, 7, 9, 12, 15};
  struct answers answers;
  struct sheet sheet = sheet_of_knots(6, "nylon 12 lb,braid 20 lb");
  open_and_ask(&answers, "findings-crossings", &sheet, drawn);
  const char *row = said(&answers, "More crossings on the braid side went with less strength in "
                                   "nylon to braid, dry");
  assert_near(figure(row, "p"), 2 / 720.0, 1e-15);
  double slope[15];
  size_t count = 0;
  for (int i = 0; i < 6; i++)
    for (int k = i + 1; k < 6; k++)
      slope[count++] = log(held[k] / held[i]) / (crossings[k] - crossings[i]);
  /* The median: seven below it, seven above. */
  double value = log1p(figure(row, "value") / 100);
  size_t below = 0, above = 0;
  for (int i = 0; i < 15; i++) {
    below += slope[i] < value - 1e-12;
    above += slope[i] > value + 1e-12;
  }
  assert_true(below == 7 && above == 7);
  assert_true(figure(row, "interval_high") < 0);
  assert_near(figure(row, "n"), 18, 0);
  assert_told(&answers,
              "for a crossing more, over 6 knots; by chance alone they would stand in an order as "
              "clear as this 1 time in 360 (rho -1.00, exact p 0.0028); n = 18.");
  row = unsaid(&answers, "whether more overlap of the lines goes");
  assert_true(figure(row, "p") > 0.2);
  row = unsaid(&answers, "whether more turns go with more or less strength: three knots");
  assert_near(figure(row, "n"), 0, 0);
  answers_close(&answers);
}

/* Without braid all crossings count, and they rise with no strength: 13, 9, 19, 14, 20, 22 (rho by
 * hand: ranks 2 1 4 3 5 6 against 6 to 1, sum of d^2 66, 1 - 6 66 / 210). */
static void crossings_without_braid(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_knots(6, "nylon 12 lb,nylon 20 lb");
  open_and_ask(&answers, "findings-plain-crossings", &sheet, drawn);
  assert_not_told(&answers, "braid side");
  assert_told(&answers, "(rho -0.89, exact p ");
  answers_close(&answers);
}

static void four_knots_show_nothing(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_of_knots(4, "nylon 12 lb,braid 20 lb");
  open_and_ask(&answers, "findings-four", &sheet, drawn);
  const char *row = unsaid(&answers, "whether more crossings on the braid side go");
  assert_near(figure(row, "p"), 2 / 24.0, 1e-15);
  assert_true(isnan(figure(row, "p_adjusted")));
  assert_told(&answers, "over 4 knots; by chance alone");
  assert_told(&answers, "the clearest that so few knots can show comes by chance alone 1 time "
                        "in 12 (p 0.083), and 1 time in 20 (p 0.05) at most is asked for.");
  assert_near(fact(&answers, "tested"), 0, 0);
  answers_close(&answers);
}

/* A spool of its own for each knot, no plain line: a strong spool may pass for a strong knot. */
static void unlike_spools_are_not_asked(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,line B,soak,load (N)");
  for (int k = 0; k < 6; k++)
    for (int i = 0; i < 3; i++)
      sheet_row(&sheet, "k%d,nylon 12 lb,S%d,braid 20 lb,dry,%.10g", k + 1, k,
                held[k] * (1 + 0.01 * i));
  open_and_ask(&answers, "findings-unlike", &sheet, drawn);
  assert_near(fact(&answers, "tested"), 0, 0);
  assert_told(&answers, "whether more crossings go with more or less strength: three knots");
  answers_close(&answers);
}

/* ---- what so few pulls cannot say ---- */

static void every_kind_says_what_it_lacks(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,load (N)");
  sheet_row(&sheet, "uni,nylon 12 lb,dry,40.5");
  open_and_ask(&answers, "findings-one", &sheet, NULL);
  assert_told(&answers, "Nothing that is asked here can be said of this one pull");
  assert_near(fact(&answers, "said"), 0, 0);
  assert_near(fact(&answers, "tested"), 0, 0);
  assert_near(fact(&answers, "not_said"), 12, 0);
  static const char *const kinds[] = {"failure side", "turns", "version", "hitch or bend", "soak",
                                      "tyer",         "order", "slips",   "structure"};
  for (size_t i = 0; i < 9; i++) {
    char about[40];
    snprintf(about, sizeof about, "\"about\":\"%s\"", kinds[i]);
    const char *row = unsaid(&answers, about);
    assert_near(figure(row, "n"), 0, 0);
    assert_true(isnan(figure(row, "p")));
    assert_non_null(strstr(row, "\"verdict\":\"too few\""));
  }
  assert_not_told(&answers, "Never seen to slip");
  answers_close(&answers);
}

static void an_empty_book_says_nothing(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,load (N)");
  open_and_ask(&answers, "findings-empty", &sheet, "line,material\nnylon 12 lb,nylon\n");
  assert_told(&answers, "Nothing can be said yet: the book holds no pulls.");
  answers_close(&answers);
}

/* Two alike loads a side: their scatter is not known, so no test and no claim. */
static void loads_that_do_not_scatter(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,turns,line A,soak,load (N)");
  for (int i = 0; i < 3; i++) {
    sheet_row(&sheet, "uni,3,nylon 12 lb,dry,40");
    sheet_row(&sheet, "uni,5,nylon 12 lb,dry,48");
  }
  open_and_ask(&answers, "findings-flat", &sheet, NULL);
  const char *row = unsaid(&answers, "whether turns go with strength in the uni from 3 to 5 turns");
  assert_true(isnan(figure(row, "p")) && isnan(figure(row, "interval_low")));
  assert_near(figure(row, "value"), 100 * expm1(log(1.2) / 2), 1e-9);
  assert_told(&answers, "their scatter is not known");
  answers_close(&answers);
}

/* ---- together ---- */

/* Holm by hand: three tests, the least p times 3, the next times 2. And every finding has as
 * many pulls on its page as it says. */
static void tested_together_and_traced_back(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,line B,soak,what,where,which,load (N)");
  for (int i = 0; i < 10; i++) {
    sheet_row(&sheet, "uni,braid 20 lb,nylon 12 lb,dry,B,K,%s,%d", i < 10 ? "M" : "D", 40 + i);
    sheet_row(&sheet, "uni,braid 20 lb,fluorocarbon 15 lb,dry,B,K,%s,%d", i < 9 ? "M" : "D",
              50 + i);
    sheet_row(&sheet, "uni,fluorocarbon 15 lb,nylon 12 lb,dry,B,K,%s,%d", i < 6 ? "M" : "D",
              30 + i);
  }
  open_and_ask(&answers, "findings-holm", &sheet, NULL);
  assert_near(fact(&answers, "tested"), 3, 0);
  double p10 = 2 / 1024.0, p9 = 22 / 1024.0, p6 = 772 / 1024.0;
  const char *row = said(&answers, "10 of 10");
  assert_near(figure(row, "p"), p10, 1e-15);
  assert_near(figure(row, "p_adjusted"), 3 * p10, 1e-15);
  row = said(&answers, "9 of 10");
  assert_near(figure(row, "p"), p9, 1e-15);
  assert_near(figure(row, "p_adjusted"), 2 * p9, 1e-15);
  row = unsaid(&answers, "6 of 10");
  assert_near(figure(row, "p_adjusted"), p6, 1e-13);
  assert_non_null(strstr(row, "\"verdict\":\"not told apart\""));
  size_t all = (size_t)(fact(&answers, "said") + fact(&answers, "not_said"));
  for (size_t at = 0; at < all; at++) {
    struct be_doc *doc = NULL;
    assert_int_equal(be_finding_doc(&answers.survey, at, 0, &doc, NULL), BE_OK);
    answers_print(&answers, doc);
    double n = figure(row_of(&answers, "finding", "number", NULL), "n");
    assert_near((double)count_rows(&answers, "pulls"), n, 0);
  }
  struct be_doc *doc = NULL;
  assert_int_equal(be_finding_doc(&answers.survey, all, 0, &doc, NULL), BE_NO);
  assert_int_equal(be_finding_doc(&answers.survey, 0, 10, &doc, NULL), BE_NO);
  assert_null(doc);
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(tyers_knot_by_knot),
      cmocka_unit_test(a_day_is_no_tyer),
      cmocka_unit_test(one_pull_is_not_reckoned_from),
      cmocka_unit_test(a_drift_is_found),
      cmocka_unit_test(a_tyer_who_learns),
      cmocka_unit_test(slips_by_material_and_never),
      cmocka_unit_test(crossings_on_the_braid_side),
      cmocka_unit_test(crossings_without_braid),
      cmocka_unit_test(four_knots_show_nothing),
      cmocka_unit_test(unlike_spools_are_not_asked),
      cmocka_unit_test(every_kind_says_what_it_lacks),
      cmocka_unit_test(an_empty_book_says_nothing),
      cmocka_unit_test(loads_that_do_not_scatter),
      cmocka_unit_test(tested_together_and_traced_back),
  };
  return be_tests("app: findings of tyers, slips and structure", tests);
}
