/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings of small books: what was planted is found with the figures that a hand (or R, or another
 * document) gives. */
#include "findings.h"

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
  assert_told(&answers, "the clearest that so few pulls can show comes by chance alone 46 times "
                        "in 100 (p 0.46), and 1 time in 20 (p 0.05) at most is asked for");
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
  };
  return be_tests("app: findings of knots and lines", tests);
}
