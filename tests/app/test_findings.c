/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings of small books: what was planted is found with the figures that a hand (or R, or another
 * document) gives, and what so few pulls cannot show is not said. */
#include "figures.h"

static void ask(struct answers *answers)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  if (be_findings_doc(&answers->survey, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  answers_print(answers, doc);
}

static void open_and_ask(struct answers *answers, const char *name, struct sheet *sheet,
                         const char *before)
{
  answers_open(answers, name, sheet, before, NULL);
  ask(answers);
}

/* A finding, supported or open, of this kind whose sentence has these words. */
static const char *said(const struct answers *answers, const char *words)
{
  return row_of(answers, "findings", words, NULL);
}

static const char *unsaid(const struct answers *answers, const char *words)
{
  return row_of(answers, "open", words, NULL);
}

static double fact(const struct answers *answers, const char *key)
{
  char name[60];
  snprintf(name, sizeof name, "\"%s\":\"", key);
  const char *facts = strstr(answers->json.data, "\"facts\":");
  const char *at = facts ? strstr(facts, name) : NULL;
  if (!at) fail_msg("no fact %s", key);
  return strtod(at + strlen(name), NULL);
}

/* ---- failure side ---- */

#define JOINTS "knot,line A,line B,soak,what,where,which,load (N)"

/* Common practice, no source: barrel bends of braid to nylon part on the braid's side, 400 of 400
 * in one long series. 0.025^(1/400) = 0.99082. */
static void all_of_a_long_series(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(JOINTS);
  for (int i = 0; i < 400; i++)
    sheet_row(&sheet, "barrel,braid 20 lb,nylon 12 lb,dry,B,%s,M,%d", i % 8 ? "E" : "K",
              40 + i % 7);
  open_and_ask(&answers, "findings-series", &sheet, NULL);
  const char *row = said(&answers, "the braid let go in 400 of 400");
  assert_near(figure(row, "value"), 100, 0);
  assert_near(figure(row, "interval_low"), 99.08, 5e-3);
  assert_near(figure(row, "interval_high"), 100, 0);
  assert_near(figure(row, "n"), 400, 0);
  assert_told(&answers, "100.0 % [99.1, 100.0], 50 in the knot, 350 at its entry; n = 400.");
  answers_close(&answers);
}

/* Lines the other way round in one combination; slips, grips, voids and untold sides do not
 * count, a part clear of the knot stands beside. */
static void sides_are_those_of_the_material(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("reason,result," JOINTS);
  for (int i = 0; i < 19; i++)
    sheet_row(&sheet, ",,barrel,braid 20 lb,nylon 12 lb,dry,B,K,%s,%d", i < 2 ? "D" : "M", 40 + i);
  for (int i = 0; i < 6; i++)
    sheet_row(&sheet, ",,uni,nylon 20 lb,braid 40 lb,soaked,B,,D,%d", 60 + i);
  sheet_row(&sheet, ",,uni,nylon 20 lb,braid 40 lb,soaked,S,,D,33");
  sheet_row(&sheet, ",,uni,nylon 20 lb,braid 40 lb,soaked,B,G,M,51");
  sheet_row(&sheet, ",,uni,nylon 20 lb,braid 40 lb,soaked,B,K,,62");
  sheet_row(&sheet, ",,uni,nylon 20 lb,braid 40 lb,soaked,B,L,M,70");
  sheet_row(&sheet, "crept,void,uni,nylon 20 lb,braid 40 lb,soaked,B,K,M,20");
  open_and_ask(&answers, "findings-sides", &sheet, NULL);
  const char *row = said(&answers, "joint of braid and nylon parted at the knot, the braid let go "
                                   "in 23 of 25");
  struct be_interval share = be_rate_exact(23, 25, 0.95);
  assert_near(figure(row, "value"), 92, 1e-12);
  assert_near(figure(row, "interval_low"), 100 * share.low, 1e-9);
  assert_near(figure(row, "n"), 25, 0);
  /* 2 (1 + 25 + 300) / 2^25 */
  assert_near(figure(row, "p"), 652 / 33554432.0, 1e-16);
  assert_told(&answers, "19 in the knot, 0 at its entry, 6 do not say (1 more parted clear of it)");
  row = unsaid(&answers, "whether it differs by combination which line lets go");
  assert_near(figure(row, "p"), 1, 0);
  answers_close(&answers);
}

/* On one line set the nylon goes, elsewhere the braid. */
static void combinations_that_disagree_are_told(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(JOINTS);
  for (int i = 0; i < 12; i++) {
    sheet_row(&sheet, "uni,braid 20 lb,nylon 12 lb,dry,B,K,D,%d", 40 + i);
    sheet_row(&sheet, "uni,braid 20 lb,nylon 20 lb,dry,B,K,M,%d", 50 + i);
    sheet_row(&sheet, "uni,braid 20 lb,nylon 25 lb,dry,B,K,M,%d", 55 + i);
  }
  open_and_ask(&answers, "findings-disagree", &sheet, NULL);
  const char *row = said(&answers, "differs by combination: in braid 20 lb to nylon 12 lb, dry the "
                                   "braid in 0 of 12, elsewhere in 24 of 24");
  struct be_rates rates;
  be_rates_compare(0, 12, 24, 24, 0.95, &rates);
  assert_near(figure(row, "p"), 3 * rates.fisher_p, 1e-15);
  assert_told(&answers, "Cannot say which line lets go in joints of braid and nylon (the braid in "
                        "24 of 36 that tell)");
  answers_close(&answers);
}

/* ---- turns and versions: the figures of versus ---- */

static const double low[] = {41.2, 42.9, 40.3, 43.1, 41.7, 42.2};
static const double high[] = {47.3, 49.1, 48.2, 46.9, 48.8, 47.7};
static const double top[] = {53.9, 52.1, 54.4, 53.2, 55.1, 52.8};

static void turns_are_those_of_versus(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,turns,line A,soak,load (N)");
  sheet_loads(&sheet, "barrel,3,nylon 12 lb,dry", low, 6);
  sheet_loads(&sheet, "barrel,7,nylon 12 lb,dry", high, 6);
  sheet_loads(&sheet, "snell,7,nylon 12 lb,dry", top, 6);
  open_and_ask(&answers, "findings-turns", &sheet, NULL);
  const char *row = said(&answers, "In the barrel each turn more went with more strength, from 3 "
                                   "to 7 turns");
  double value = figure(row, "value"), least = figure(row, "interval_low");
  assert_near(figure(row, "n"), 12, 0);
  answers_versus(&answers, "barrel, 7 turns", "barrel, 3 turns");
  row = row_of(&answers, "versus", "nylon 12 lb, dry", NULL);
  assert_near(value, 100 * (pow(1 + figure(row, "relative_percent") / 100, 0.25) - 1), 1e-9);
  assert_near(least, 100 * (pow(1 + figure(row, "relative_percent_low") / 100, 0.25) - 1), 1e-9);
  answers_close(&answers);
}

/* By hand: logs of means at 3, 5 and 7 turns, in two combinations of which one lacks the middle:
 * (2 (l7 - l3) + 2 (l7' - l3')) / (8 + 8); and turns that differ by combination are not mixed. */
static void turns_within_combinations(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,turns,line A,soak,load (N)");
  sheet_loads(&sheet, "barrel,3,nylon 12 lb,dry", low, 6);
  sheet_loads(&sheet, "barrel,5,nylon 12 lb,dry", high, 6);
  sheet_loads(&sheet, "barrel,7,nylon 12 lb,dry", top, 6);
  sheet_loads(&sheet, "barrel,3,nylon 20 lb,dry", high, 6);
  sheet_loads(&sheet, "barrel,7,nylon 20 lb,dry", top, 6);
  sheet_loads(&sheet, "barrel,5,nylon 40 lb,dry", (const double[]){200, 210}, 2);
  open_and_ask(&answers, "findings-slopes", &sheet, NULL);
  struct be_summary at[3];
  be_summary_of(low, 6, &at[0]);
  be_summary_of(high, 6, &at[1]);
  be_summary_of(top, 6, &at[2]);
  double slope = (2 * log(at[2].mean / at[0].mean) + 2 * log(at[2].mean / at[1].mean)) / 16;
  const char *row = said(&answers, "each turn more");
  assert_near(figure(row, "value"), 100 * expm1(slope), 1e-9);
  assert_near(figure(row, "n"), 30, 0);
  assert_told(&answers, "barrel, 2 combinations");
  answers_close(&answers);
}

static void versions_by_their_own_words(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,version,line A,soak,what,load (N)");
  sheet_loads(&sheet, "barrel,wet fingers,nylon 12 lb,dry,B", high, 6);
  sheet_loads(&sheet, "barrel,dry fingers,nylon 12 lb,dry,B", low, 6);
  sheet_row(&sheet, "barrel,dry fingers,nylon 12 lb,dry,S,41.9");
  sheet_loads(&sheet, "none,,nylon 12 lb,dry,B", (const double[]){60, 61, 62}, 3);
  open_and_ask(&answers, "findings-versions", &sheet, NULL);
  const char *row =
      said(&answers, "The barrel (wet fingers) held more than the barrel (dry fingers) "
                     "over 1 combination: ");
  double value = figure(row, "value"), least = figure(row, "interval_low");
  assert_told(&answers, "pts [");
  row = unsaid(&answers, "whether the barrel (wet fingers) or the barrel (dry fingers) slips out "
                         "more often (0 of 6 against 1 of 7)");
  assert_near(figure(row, "p"), 1, 1e-12);
  assert_told(&answers, "so few pulls allow no p below 0.46");
  answers_versus(&answers, "barrel (wet fingers)", "barrel (dry fingers)");
  row = row_of(&answers, "versus", "nylon 12 lb, dry", NULL);
  assert_near(value, figure(row, "relative_percent"), 1e-9);
  assert_near(least, figure(row, "relative_percent_low"), 1e-9);
  answers_close(&answers);
}

/* Common practice, no source: plain nylon to itself keeps some 60 % in a barrel bend, and on a
 * swivel some 27 points more, 45 % relative. */
static void on_a_swivel_and_as_a_bend(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,line B,hardware,soak,load (N)");
  static const double around_1[] = {0.97, 1.04, 0.99, 1.02, 0.98, 1.0};
  for (int i = 0; i < 6; i++) {
    sheet_row(&sheet, "none,nylon 12 lb,S1,,,dry,%.10g", 70 * around_1[i]);
    sheet_row(&sheet, "barrel,nylon 12 lb,S1,nylon 12 lb,,dry,%.10g", 42 * around_1[(i + 2) % 6]);
    sheet_row(&sheet, "barrel,nylon 12 lb,S1,,swivel,dry,%.10g", 60.9 * around_1[(i + 4) % 6]);
  }
  open_and_ask(&answers, "findings-hitch", &sheet, NULL);
  const char *row = said(&answers, "On hardware knots kept more of the line than the same knots "
                                   "between two lines");
  assert_near(figure(row, "value"), 45, 1e-9);
  assert_near(figure(row, "n"), 12, 0);
  assert_told(&answers, ", 27.0 pts [");
  double least = figure(row, "interval_low");
  answers_strength(&answers);
  row = row_of(&answers, "gain", "barrel", NULL);
  assert_near(least, figure(row, "gain_relative_percent_low"), 1e-9);
  answers_close(&answers);
}

/* ---- soak ---- */

static void scaled(struct sheet *sheet, const char *row, const double *loads, size_t n, double by)
{
  for (size_t i = 0; i < n; i++) sheet_row(sheet, "%s,%.10g", row, loads[i] * by);
}

/* Everything soaked holds 0.85 of the dry: the line, the knot, and so the share is as it was. */
static void soaking_takes_load_and_no_share(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,load (N)");
  scaled(&sheet, "none,nylon 12 lb,S1,dry", top, 6, 1);
  scaled(&sheet, "none,nylon 12 lb,S1,soaked", top, 6, 0.85);
  scaled(&sheet, "uni,nylon 12 lb,S1,dry", high, 6, 1);
  scaled(&sheet, "uni,nylon 12 lb,S1,soaked", high, 6, 0.85);
  open_and_ask(&answers, "findings-soak", &sheet, NULL);
  const char *row = said(&answers, "Plain nylon held less soaked than dry");
  assert_near(figure(row, "value"), -15, 1e-9);
  assert_near(figure(row, "n"), 12, 0);
  row = said(&answers, "Knots in nylon held less soaked than dry");
  assert_near(figure(row, "value"), -15, 1e-9);
  assert_near(figure(row, "n"), 12, 0);
  row = unsaid(&answers, "whether knots in nylon keep as much of the soaked line");
  assert_near(figure(row, "value"), 0, 1e-9);
  assert_near(figure(row, "p"), 1, 1e-9);
  answers_close(&answers);
}

/* Another spool is another line: nothing is said of soaking. */
static void other_spools_tell_nothing_of_soaking(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,spool A,soak,load (N)");
  scaled(&sheet, "none,nylon 12 lb,S1,dry", top, 6, 1);
  scaled(&sheet, "none,nylon 12 lb,S2,soaked", top, 6, 0.85);
  scaled(&sheet, "uni,nylon 12 lb,S1,dry", high, 6, 1);
  scaled(&sheet, "uni,nylon 12 lb,S3,soaked", high, 6, 0.85);
  open_and_ask(&answers, "findings-spools", &sheet, NULL);
  assert_told(&answers, "Cannot say what soaking does: no spool was pulled both soaked and dry");
  answers_close(&answers);
}

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
  assert_told(&answers, "so few sessions allow no p below ");
  assert_told(&answers, "a session, rho 1.00 over 6 sessions");
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
  assert_near(fact(&answers, "not_said"), 11, 0);
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
  struct sheet sheet = sheet_begin(JOINTS);
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
      cmocka_unit_test(all_of_a_long_series),
      cmocka_unit_test(sides_are_those_of_the_material),
      cmocka_unit_test(combinations_that_disagree_are_told),
      cmocka_unit_test(turns_are_those_of_versus),
      cmocka_unit_test(turns_within_combinations),
      cmocka_unit_test(versions_by_their_own_words),
      cmocka_unit_test(on_a_swivel_and_as_a_bend),
      cmocka_unit_test(soaking_takes_load_and_no_share),
      cmocka_unit_test(other_spools_tell_nothing_of_soaking),
      cmocka_unit_test(tyers_knot_by_knot),
      cmocka_unit_test(a_drift_is_found),
      cmocka_unit_test(a_tyer_who_learns),
      cmocka_unit_test(slips_by_material_and_never),
      cmocka_unit_test(every_kind_says_what_it_lacks),
      cmocka_unit_test(an_empty_book_says_nothing),
      cmocka_unit_test(loads_that_do_not_scatter),
      cmocka_unit_test(tested_together_and_traced_back),
  };
  return be_tests("app: findings", tests);
}
