/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many knots on the same lines, and two of them: tests whose answers are known. Cotton:
 * Montgomery, Design and Analysis of Experiments, tensile strength by cotton content, from
 * memory, verified; taken here as five knots on one line. */
#include "figures.h"

#define HEAD "knot,line A,soak,load (N)"
#define LINE "nylon 12 lb,dry"

static const double cotton[5][5] = {{7, 7, 15, 11, 9},
                                    {12, 17, 12, 18, 18},
                                    {14, 18, 18, 19, 19},
                                    {19, 25, 22, 19, 23},
                                    {7, 10, 11, 15, 11}};
static const char *const knots[] = {"k15", "k20", "k25", "k30", "k35"};

static void open_cotton(struct answers *answers, const struct be_answering *how)
{
  struct sheet sheet = sheet_begin(HEAD);
  for (int i = 0; i < 5; i++) {
    char row[60];
    snprintf(row, sizeof row, "%s," LINE, knots[i]);
    sheet_loads(&sheet, row, cotton[i], 5);
  }
  answers_open(answers, "cotton", &sheet, NULL, how);
}

static const char *pair_row(const struct answers *answers, const char *table, const char *a,
                            const char *b)
{
  char first[40], second[40];
  snprintf(first, sizeof first, "\"%s\":\"%s\"", *table == 'p' ? "first" : "knot", a);
  snprintf(second, sizeof second, "\"%s\":\"%s\"", *table == 'p' ? "second" : "against", b);
  return row_of(answers, table, first, second);
}

static void cotton_differs(void **state)
{
  (void)state;
  struct answers answers;
  open_cotton(&answers, NULL);
  answers_strength(&answers);
  const char *all = row_of(&answers, "differ", "nylon", "\"loads\"");
  assert_near(figure(all, "anova_f"), 14.76, 0.005); /* as printed */
  assert_near(figure(all, "anova_f"), 14.7568238213, 1e-8);
  assert_near(figure(all, "anova_between"), 475.76, 1e-9);
  assert_near(figure(all, "anova_within"), 161.20, 1e-9);
  assert_near(figure(all, "anova_p"), 9.12793712406e-06, 1e-13);
  /* Derived with R 4.2.2: oneway.test, and anova of distances from the medians. */
  assert_near(figure(all, "welch_f"), 12.450690811, 1e-7);
  assert_near(figure(all, "welch_df_within"), 9.91644263064, 1e-7);
  assert_near(figure(all, "welch_p"), 0.000698745315777, 1e-11);
  assert_near(figure(all, "levene_p"), 0.862585880776, 1e-9);
  answers_close(&answers);
}

/* Tukey by R's TukeyHSD, Games and Howell by ptukey and qtukey: derived with R 4.2.2. */
static void pairs_of_cotton(void **state)
{
  (void)state;
  static const struct {
    int a, b;
    double p;
  } tukey[] = {{0, 1, 3.85024290636e-02}, {0, 2, 2.59479946681e-03}, {0, 3, 1.90075753281e-05},
               {0, 4, 9.79770870308e-01}, {1, 2, 7.37243767045e-01}, {1, 3, 1.88936380813e-02},
               {1, 4, 1.16297038268e-01}, {2, 3, 2.10108924422e-01}, {2, 4, 9.06463601681e-03},
               {3, 4, 6.24069475896e-05}};
  struct answers answers;
  open_cotton(&answers, NULL);
  answers_strength(&answers);
  assert_int_equal(count_rows(&answers, "pairs"), 10);
  for (int i = 0; i < 10; i++)
    assert_near(
        figure(pair_row(&answers, "pairs", knots[tukey[i].a], knots[tukey[i].b]), "tukey_kramer_p"),
        tukey[i].p, 1e-8);
  const char *first = pair_row(&answers, "pairs", "k15", "k20");
  assert_near(figure(first, "difference"), -5.6, 1e-12);
  assert_near(figure(first, "difference_pooled_low"), -10.972958301308, 1e-6);
  assert_near(figure(first, "difference_pooled_high"), -0.227041698692, 1e-6);
  assert_near(figure(first, "games_howell_p"), 0.134356191573, 1e-7);
  assert_near(figure(first, "games_howell_df"), 7.96460176991, 1e-7);
  assert_near(figure(first, "difference_low"), -12.68782213, 1e-5);
  assert_near(figure(pair_row(&answers, "pairs", "k30", "k35"), "games_howell_p"), 0.00172842327623,
              1e-7);
  answers_close(&answers);
}

/* Dunnett: d(4, 20) is 2.65 as printed; it and p derived with R 4.2.2 by integrate over the
 * pooled deviation and the reference's mean. */
static void each_against_one(void **state)
{
  (void)state;
  struct answers answers;
  const struct be_answering how = {.relative_to = "k15"};
  open_cotton(&answers, &how);
  answers_strength(&answers);
  assert_int_equal(count_rows(&answers, "against"), 4);
  const char *row = pair_row(&answers, "against", "k20", "k15");
  double half = 2.65102958957 * sqrt(8.06 * 2 / 5);
  assert_near(figure(row, "difference"), 5.6, 1e-12);
  assert_near(figure(row, "difference_low"), 5.6 - half, 1e-6);
  assert_near(figure(row, "difference_high"), 5.6 + half, 1e-6);
  assert_near(figure(row, "dunnett_p"), 0.0184565226812, 1e-7);
  assert_near(figure(pair_row(&answers, "against", "k35", "k15"), "dunnett_p"), 0.94690508859,
              1e-7);
  const char *ratio = row_of(&answers, "relative", "\"k30\"", NULL);
  assert_near(figure(ratio, "ratio_percent"), 100 * 21.6 / 9.8, 1e-9);
  answers_close(&answers);
}

/* The letters of the standings' judgement: Welch on logs, by Holm over all pairs. Derived with R
 * 4.2.2: only k15 with k30 (p 0.0414) and k30 with k35 (0.0224) are apart. */
static void letters_are_shared_by_what_cannot_be_separated(void **state)
{
  (void)state;
  char letters[5][30];
  struct answers answers;
  open_cotton(&answers, NULL);
  answers_strength(&answers);
  for (int i = 0; i < 5; i++) {
    char name[20];
    snprintf(name, sizeof name, "\"%s\"", knots[i]);
    const char *at = strstr(row_of(&answers, "strengths", name, NULL), "\"letters\":\"") + 11;
    snprintf(letters[i], sizeof letters[i], "%.*s", (int)strcspn(at, "\""), at);
  }
  for (int a = 0; a < 5; a++)
    for (int b = a + 1; b < 5; b++) {
      bool apart = (a == 0 && b == 3) || (a == 3 && b == 4);
      assert_true((strpbrk(letters[a], letters[b]) == NULL) == apart);
    }
  answers_close(&answers);
}

/* Scholz and Stephens (1987), smoothness of paper by four laboratories, read. */
static void four_laboratories(void **state)
{
  (void)state;
  static const double paper[4][8] = {{38.7, 41.5, 43.8, 44.5, 45.5, 46, 47.7, 58},
                                     {39.2, 39.3, 39.7, 41.4, 41.8, 42.9, 43.3, 45.8},
                                     {34, 35, 39, 40, 43, 43, 44, 45},
                                     {34, 34.8, 34.8, 35.4, 37.2, 37.8, 41.2, 42.8}};
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int i = 0; i < 4; i++) {
    char row[60];
    snprintf(row, sizeof row, "lab %c," LINE, 'a' + i);
    sheet_loads(&sheet, row, paper[i], 8);
  }
  answers_open(&answers, "paper", &sheet, NULL, NULL);
  answers_strength(&answers);
  const char *row = row_of(&answers, "differ", "nylon", NULL);
  assert_near(figure(row, "anderson_darling"), 4.480, 5e-4);
  assert_told(&answers, "is known from 0.001 to 0.25");
  answers_close(&answers);
}

/* ---- beyond the alphabet ---- */

static void sixty_knots(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int k = 0; k < 60; k++)
    for (int i = 0; i < 4; i++)
      sheet_row(&sheet, "knot %02d," LINE ",%.1f", k, 30 + 2 * k + (i * 7 + k * 3) % 5 * 0.4);
  answers_open(&answers, "sixty", &sheet, NULL, NULL);
  answers_strength(&answers);
  assert_int_equal(count_rows(&answers, "pairs"), 60 * 59 / 2);
  const char *letters =
      strstr(row_of(&answers, "strengths", "\"knot 00\"", NULL), "\"letters\":\"");
  assert_true(letters[12] == '2' || letters[12] == '3'); /* "d2": the lowest is past z */
  answers_standings(&answers);
  assert_told(&answers, "knot 59");
  answers_close(&answers);
}

/* ---- two different knots ---- */

static void two_different_knots_stand_as_a_pair(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,knot B,line A,soak,what,load (N)");
  for (int i = 0; i < 5; i++) {
    sheet_row(&sheet, "uni,palomar," LINE ",B,%.1f", 44 + i * 0.7);
    sheet_row(&sheet, "uni,clinch," LINE ",B,%.1f", 41 + i * 0.9);
    sheet_row(&sheet, "uni,," LINE ",B,%.1f", 50 + i * 0.8);
    sheet_row(&sheet, "palomar,," LINE ",B,%.1f", 52 + i * 0.6);
  }
  sheet_row(&sheet, "uni,palomar," LINE ",N,70");
  const struct be_answering how = {.relative_to = "uni"};
  answers_open(&answers, "pair", &sheet, NULL, &how);
  answers_strength(&answers);
  const char *pair = row_of(&answers, "strengths", "\"uni against palomar\"", NULL);
  assert_near(figure(pair, "mean_of_events"), 45.4, 1e-9);
  assert_int_equal((int)figure(pair, "lower_bounds"), 1);
  assert_non_null(strstr(pair, "\"letters\":\"\""));
  assert_non_null(row_of(&answers, "lower_bounds", "uni against palomar", NULL));
  /* The ratio is that of knots by themselves. */
  assert_int_equal(count_rows(&answers, "relative"), 1);
  assert_near(figure(row_of(&answers, "relative", "\"palomar\"", NULL), "ratio_percent"),
              100 * 53.2 / 51.6, 1e-9);
  answers_standings(&answers);
  assert_not_told(&answers, "against");
  assert_not_told(&answers, "clinch");
  answers_versus(&answers, "palomar", "uni");
  assert_int_equal(count_rows(&answers, "versus"), 1);
  assert_near(figure(row_of(&answers, "versus", "nylon", NULL), "difference"), 1.6, 1e-9);
  assert_not_told(&answers, "70"); /* what the two held together is not the uni's */
  answers_close(&answers);
}

/* ---- versus ---- */

static const double first[] = {51.2, 48.7, 53.9, 50.4, 55.1};
static const double second[] = {47.3, 49.9, 46.1, 48.2, 50.8};

static void open_two(struct answers *answers, const struct be_answering *how)
{
  struct sheet sheet = sheet_begin("knot,line A,soak,what,load (N)");
  sheet_loads(&sheet, "alpha," LINE ",B", first, 5);
  sheet_loads(&sheet, "beta," LINE ",B", second, 5);
  answers_open(answers, "two", &sheet, NULL, how);
}

/* Derived with R 4.2.2: wilcox.test exact, mean over combn(10, 5), t.test. */
static void two_knots_without_a_normal_distribution(void **state)
{
  (void)state;
  struct answers answers;
  open_two(&answers, NULL);
  answers_versus(&answers, "alpha", "beta");
  const char *tests = row_of(&answers, "tests", "nylon", NULL);
  assert_near(figure(tests, "mann_whitney_u"), 22, 1e-12);
  assert_near(figure(tests, "mann_whitney_p"), 0.0555555555556, 1e-10);
  assert_non_null(strstr(tests, "\"mann_whitney_by\":\"exact\""));
  assert_near(figure(tests, "first_higher_percent"), 100 * 22.0 / 25, 1e-9);
  assert_near(figure(tests, "shift"), 3.1, 1e-9);
  assert_near(figure(tests, "shift_low"), -0.4, 1e-9);
  assert_near(figure(tests, "shift_high"), 7.8, 1e-9);
  assert_non_null(strstr(tests, "\"permutation_splits\":\"all 252\""));
  assert_near(figure(tests, "permutation_p"), 12.0 / 252, 1e-10);
  const char *welch = row_of(&answers, "versus", "nylon", NULL);
  assert_near(figure(welch, "welch_t"), 2.35340614981, 1e-8);
  assert_near(figure(welch, "welch_df"), 7.32421083984, 1e-7);
  assert_near(figure(welch, "welch_p"), 0.0492666559129, 1e-9);
  assert_near(figure(welch, "relative_percent"), 7.01609574907, 1e-8);
  assert_near(figure(welch, "relative_percent_low"), 0.129353855082, 1e-7);
  assert_near(figure(welch, "relative_percent_high"), 14.3764970855, 1e-6);
  answers_close(&answers);
}

static double fact(const struct answers *answers, const char *key)
{
  char name[60];
  snprintf(name, sizeof name, "\"%s\":\"", key);
  const char *at = strstr(answers->json.data, name);
  if (!at) fail_msg("no fact %s", key);
  return strtod(at + strlen(name), NULL);
}

/* Two one-sided tests of the log ratio within log 1.1, by R's pt; the n of power.t.test with the
 * mean of the two relative variances. */
static void the_same_within_a_margin(void **state)
{
  (void)state;
  struct answers answers;
  struct be_answering how = {.within = 0.10, .power = 0.9};
  open_two(&answers, &how);
  answers_versus(&answers, "alpha", "beta");
  assert_near(fact(&answers, "same_p"), 0.182631920377, 1e-4); /* four digits are printed */
  assert_told(&answers, "same within 10 per cent relative is not shown");
  assert_told(&answers, "the 90 % interval of the difference is [1.4, 12.9]");
  assert_near(figure(row_of(&answers, "versus", "nylon", NULL), "pulls_needed"), 11, 1e-12);
  answers_close(&answers);
  how = (struct be_answering){.within = 0.15};
  open_two(&answers, &how);
  answers_versus(&answers, "alpha", "beta");
  assert_told(&answers, "They are the same within 15 per cent relative: the 90 % interval");
  assert_near(figure(row_of(&answers, "versus", "nylon", NULL), "pulls_needed"), 9, 1e-12);
  answers_close(&answers);
}

/* 6 of 10 and 1 of 10; Fisher by R 4.2.2. */
static void slips_are_rates(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,what,load (N)");
  for (int i = 0; i < 10; i++) {
    sheet_row(&sheet, "alpha," LINE ",%s,%.1f", i < 6 ? "S" : "B", 40 + i * 0.7);
    sheet_row(&sheet, "beta," LINE ",%s,%.1f", i < 1 ? "S" : "B", 40.5 + i * 0.6);
  }
  answers_open(&answers, "slip-rates", &sheet, NULL, NULL);
  answers_versus(&answers, "alpha", "beta");
  assert_near(fact(&answers, "slips_fisher_p"), 0.0572755417957, 5e-6);
  assert_told(&answers, "Slip rates, first less second: 50 pts");
  assert_told(&answers, "The alpha slipped out in 6 of 10 [26, 88] %.");
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cotton_differs),
      cmocka_unit_test(pairs_of_cotton),
      cmocka_unit_test(each_against_one),
      cmocka_unit_test(letters_are_shared_by_what_cannot_be_separated),
      cmocka_unit_test(four_laboratories),
      cmocka_unit_test(sixty_knots),
      cmocka_unit_test(two_different_knots_stand_as_a_pair),
      cmocka_unit_test(two_knots_without_a_normal_distribution),
      cmocka_unit_test(the_same_within_a_margin),
      cmocka_unit_test(slips_are_rates),
  };
  return be_tests("app: many knots, and two", tests);
}
