/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Several benches, what a bench cannot know, lower bounds in means, and what a knot is divided
 * by. */
#include "figures.h"

/* ---- several benches ---- */

/* ASTM E691, glucose in serum, material A, eight laboratories taken as benches: from memory,
 * verified; h and k derived. */
static void eight_benches(void **state)
{
  (void)state;
  static const double glucose[8][3] = {
      {41.03, 41.45, 41.37}, {41.17, 42.00, 41.15}, {41.01, 40.68, 42.66}, {39.37, 42.37, 42.63},
      {41.88, 41.19, 41.32}, {43.28, 40.50, 42.28}, {41.08, 41.27, 39.02}, {43.36, 42.65, 41.72}};
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,bench,load (N)");
  for (int b = 0; b < 8; b++) {
    char row[80];
    snprintf(row, sizeof row, "uni,nylon 12 lb,dry,Lab%d", b + 1);
    sheet_loads(&sheet, row, glucose[b], 3);
  }
  sheet_row(&sheet, "uni,nylon 12 lb,dry,Lab9,47.3"); /* one pull agrees with nothing */
  answers_open(&answers, "glucose", &sheet, NULL, NULL);
  answers_strength(&answers);
  const char *all = row_of(&answers, "precision", "uni", NULL);
  assert_int_equal((int)figure(all, "benches"), 8);
  assert_int_equal((int)figure(all, "n"), 24);
  assert_near(figure(all, "mean"), 41.5183, 5e-5);
  assert_near(figure(all, "repeatability_sd"), 1.0632, 5e-5);
  assert_near(figure(all, "reproducibility_sd"), 1.0632, 5e-5);
  assert_near(figure(all, "between_sd"), 0, 0);
  assert_near(figure(all, "repeatability_limit"), 2.8 * 1.063224263, 1e-7);
  const char *seven = row_of(&answers, "benches", "Lab7", NULL);
  const char *four = row_of(&answers, "benches", "Lab4", NULL);
  assert_near(figure(seven, "h"), -1.751556839, 1e-7);
  assert_near(figure(four, "k"), 1.704039642, 1e-7);
  assert_near(figure(four, "k_critical"), 2.06, 0.0051); /* as printed for 8 and 3 */
  answers_close(&answers);
}

/* More benches than fit in any fixed list; s r by the obvious sum. */
static void seventy_benches(void **state)
{
  (void)state;
  double squares = 0;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,bench,load (N)");
  for (int i = 0; i < 140; i++)
    sheet_row(&sheet, "uni,nylon 12 lb,dry,bench %02d,%.1f", i % 70, 48 + i * 31 % 17 * 0.3);
  for (int b = 0; b < 70; b++) {
    double apart = b * 31 % 17 * 0.3 - (b + 70) * 31 % 17 * 0.3;
    squares += apart * apart / 2;
  }
  answers_open(&answers, "seventy", &sheet, NULL, NULL);
  answers_strength(&answers);
  const char *all = row_of(&answers, "precision", "uni", NULL);
  assert_int_equal((int)figure(all, "benches"), 70);
  assert_int_equal((int)figure(all, "n"), 140);
  assert_near(figure(all, "repeatability_sd"), sqrt(squares / 70), 1e-9);
  assert_int_equal(count_rows(&answers, "benches"), 70);
  answers_close(&answers);
}

/* ---- one bench ---- */

/* Each part by its own rule (GUM): certificate / 2, step / sqrt 12, half-widths / sqrt 3. */
static void a_budget_by_hand(void **state)
{
  (void)state;
  static const double loads[] = {46, 48.5, 50, 51.5, 54}; /* mean 50, s^2 = 36.5 / 4 */
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,bench,load (N)");
  sheet_loads(&sheet, "uni,nylon 12 lb,dry,west", loads, 5);
  sheet_loads(&sheet, "palomar,nylon 12 lb,dry,none known", loads, 5);
  answers_open(&answers, "budget", &sheet,
               "bench,calibration,resolution,drift,peak missed\nwest,0.6 %,0.5 N,0.2 N,1.5 %\n",
               NULL);
  answers_strength(&answers);
  const char *row = row_of(&answers, "budget", "uni", NULL);
  double u[] = {sqrt(36.5 / 4 / 5), 50 * 0.006 / 2, 0.5 / sqrt(12.0), 0.2 / sqrt(3.0),
                50 * 0.015 / sqrt(3.0)};
  static const char *const names[] = {"sampling", "calibration", "resolution", "drift",
                                      "peak_missed"};
  double squares = 0;
  for (int i = 0; i < 5; i++) squares += u[i] * u[i];
  for (int i = 0; i < 5; i++) {
    char key[60];
    snprintf(key, sizeof key, "u_%s", names[i]);
    assert_near(figure(row, key), u[i], 1e-9);
    snprintf(key, sizeof key, "share_%s_percent", names[i]);
    assert_near(figure(row, key), 100 * u[i] * u[i] / squares, 1e-8);
  }
  double df = squares * squares * 4 / pow(u[0], 4);
  assert_near(figure(row, "u_combined"), sqrt(squares), 1e-9);
  assert_near(figure(row, "df"), df, 1e-7);
  assert_int_equal((int)df, 5);
  assert_near(figure(row, "coverage_factor"), 2.570581836, 1e-8); /* t of 5, table */
  assert_near(figure(row, "expanded"), 2.570581836 * sqrt(squares), 1e-7);
  /* Of the other bench nothing is known but the step in which loads were read, 0.5. */
  const char *other = row_of(&answers, "budget", "palomar", NULL);
  assert_near(figure(other, "u_resolution"), 0.5 / sqrt(12.0), 1e-9);
  assert_near(figure(other, "u_calibration"), NAN, 0);
  assert_told(&answers, "too small: calibration, drift, peak missed. A bench sheet");
  answers_close(&answers);
}

/* ---- lower bounds ---- */

/* Derived with R 4.2.2 (survreg, gaussian): mean mu, its variance
 * times n / (n - 1) of the six events, t of five. */
static const double let_go[] = {44.1, 47.5, 49.2, 51.8, 46.3, 52.6};
static const double held[] = {50.0, 53.5, 48.4};

static void bounds_are_counted_in_means(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,what,load (N)");
  sheet_loads(&sheet, "uni,nylon 12 lb,dry,B", let_go, 6);
  sheet_loads(&sheet, "uni,nylon 12 lb,dry,N", held, 3);
  answers_open(&answers, "counted", &sheet, NULL, NULL);
  answers_strength(&answers);
  const char *row = row_of(&answers, "strengths", "uni", NULL);
  assert_near(figure(row, "mean"), 50.2513998852, 1e-6);
  assert_near(figure(row, "mean_low"), 46.4190050327, 1e-5);
  assert_near(figure(row, "mean_high"), 54.0837947376, 1e-5);
  assert_near(figure(row, "mean_of_events"), 48.5833333333, 1e-9);
  const char *shape = row_of(&answers, "families", "uni", NULL);
  assert_near(figure(shape, "kaplan_meier_median"), 51.8, 1e-9); /* survfit: 0.356 there */
  assert_told(&answers, "lower bounds 3 counted for what they held, void 0");
  answers_close(&answers);
}

static void plain_lines_with_bounds(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,what,where,load (N)");
  sheet_loads(&sheet, "none,nylon 12 lb,dry,B,L", let_go, 6);
  sheet_loads(&sheet, "none,nylon 12 lb,dry,B,G", held, 3);
  sheet_loads(&sheet, "uni,nylon 12 lb,dry,B,K", let_go, 3);
  answers_open(&answers, "plain-bounds", &sheet, NULL, NULL);
  answers_strength(&answers);
  const char *row = row_of(&answers, "plain_lines", "nylon", NULL);
  assert_near(figure(row, "mean"), 50.2513998852, 1e-6);
  assert_near(figure(row, "mean_low"), 46.4190050327, 1e-5);
  assert_near(figure(row_of(&answers, "strengths", "uni", NULL), "efficiency_percent"),
              100 * (44.1 + 47.5 + 49.2) / 3 / 50.2513998852, 1e-5);
  assert_told(&answers, "and they are counted so in the means. They");
  answers_close(&answers);
}

/* One event tells no scatter, so bounds beside it are in no mean, and it is not said that they
 * are. */
static void bounds_beside_one_event_stand_apart(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,what,where,load (N)");
  sheet_row(&sheet, "none,nylon 12 lb,dry,B,L,60");
  sheet_loads(&sheet, "none,nylon 12 lb,dry,B,G", held, 3);
  sheet_row(&sheet, "uni,nylon 12 lb,dry,B,K,40");
  answers_open(&answers, "one-event", &sheet, NULL, NULL);
  answers_strength(&answers);
  assert_told(&answers, "(but for 3, beside too few events)");
  assert_told(&answers, "of those lines of which two or more pulls let go at different loads");
  assert_near(figure(row_of(&answers, "plain_lines", "nylon", NULL), "mean"), 60, 1e-12);
  answers_close(&answers);
}

/* ---- what a knot is divided by ---- */

static void the_match_falls_back_step_by_step(void **state)
{
  (void)state;
  static const struct {
    const char *tied; /* spool, bench, length, speed */
    double plain;
    const char *words;
  } steps[] = {
      {"S1,west,500,200", 60, "matched by spool, soak, speed, bench and free length"},
      {"S1,east,500,200", 60,
       "matched by spool, soak, speed and free length, but on another bench"},
      {"S1,west,900,200", 60,
       "matched by spool, soak, speed and bench, but at another free length"},
      {"S1,west,500,900", 65,
       "matched by spool, soak, bench and free length, but at another speed"},
      {"S9,west,500,200", 65,
       "matched by line, soak, bench and free length, but from another spool and at another "
       "speed"},
      {"S1,,,200", 60,
       "matched by spool, soak and speed; recorded of one side alone: bench and free length"},
  };
  for (int i = 0; i < 6; i++) {
    struct answers answers;
    struct sheet sheet =
        sheet_begin("knot,line A,soak,spool A,bench,free length (mm),speed (mm/min),load (N)");
    sheet_row(&sheet, "none,nylon 12 lb,dry,S1,west,500,200,59");
    sheet_row(&sheet, "none,nylon 12 lb,dry,S1,west,500,200,61");
    sheet_row(&sheet, "none,nylon 12 lb,dry,S1,west,500,400,69");
    sheet_row(&sheet, "none,nylon 12 lb,dry,S1,west,500,400,71");
    sheet_row(&sheet, "uni,nylon 12 lb,dry,%s,47", steps[i].tied);
    sheet_row(&sheet, "uni,nylon 12 lb,dry,%s,50", steps[i].tied);
    answers_open(&answers, "steps", &sheet, NULL, NULL);
    answers_strength(&answers);
    const char *row = row_of(&answers, "strengths", "uni", NULL);
    assert_near(figure(row, "plain_mean"), steps[i].plain, 1e-9);
    assert_near(figure(row, "efficiency_percent"), 100 * 48.5 / steps[i].plain, 1e-9);
    char words[200];
    snprintf(words, sizeof words, "\"plain_match\":\"%s\"", steps[i].words);
    if (!strstr(row, words)) fail_msg("not %s in %s", words, row);
    answers_close(&answers);
  }
}

/* ---- kinds, the fast way and the obvious one ---- */

static bool same_kind(const struct be_pull *a, const struct be_pull *b)
{
  return a->line_a == b->line_a && a->line_b == b->line_b && be_pulled_alike(a, b);
}

/* Every pull against every pull: shares of each kind differ by no more than 0.15. */
static bool same_mix_slowly(const struct cell *a, const struct cell *b)
{
  for (size_t i = 0; i < a->n + b->n; i++) {
    const struct be_pull *like = i < a->n ? a->events[i] : b->events[i - a->n];
    size_t in_a = 0, in_b = 0;
    for (size_t k = 0; k < a->n; k++) in_a += same_kind(like, a->events[k]);
    for (size_t k = 0; k < b->n; k++) in_b += same_kind(like, b->events[k]);
    double apart = (double)in_a / (double)a->n - (double)in_b / (double)b->n;
    if (in_a == 0 || in_b == 0 || fabs(apart) > 0.15) return false;
  }
  return true;
}

static void mixes_are_found_as_the_obvious_way_finds_them(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,spool A,bench,speed (mm/min),load (N)");
  for (int k = 0; k < 12; k++)
    for (int i = 0; i < 9 + k % 3; i++)
      sheet_row(&sheet, "knot %02d,nylon 12 lb,dry,S%d,%s,%s,%d", k,
                k % 4 == 3 ? 1 : i % (1 + k % 2), k % 3 ? "west" : "", i == k ? "" : "200", 40 + i);
  answers_open(&answers, "mixes", &sheet, NULL, NULL);
  size_t same = 0, other = 0;
  for (size_t a = 0; a < answers.survey.cells_count; a++)
    for (size_t b = 0; b < answers.survey.cells_count; b++) {
      const struct cell *first = &answers.survey.cells[a], *second = &answers.survey.cells[b];
      bool want = same_mix_slowly(first, second);
      assert_int_equal(be_same_mix(first, second), want);
      same += want && a != b;
      other += !want;
    }
  assert_true(same > 0 && other > 0);
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(eight_benches),
      cmocka_unit_test(seventy_benches),
      cmocka_unit_test(a_budget_by_hand),
      cmocka_unit_test(bounds_are_counted_in_means),
      cmocka_unit_test(plain_lines_with_bounds),
      cmocka_unit_test(bounds_beside_one_event_stand_apart),
      cmocka_unit_test(the_match_falls_back_step_by_step),
      cmocka_unit_test(mixes_are_found_as_the_obvious_way_finds_them),
  };
  return be_tests("app: benches, bounds and plain lines", tests);
}
