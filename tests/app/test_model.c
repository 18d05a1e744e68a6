/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One model for all pulls: known answers of balanced books, a book with a gap, made books whose
 * truth is known. */
#include "model_books.h"

/* ---- balanced: the modelled mean is the mean of logs ---- */

enum { KNOTS = 3, LINES = 5, PULLS = 4 };

static void balanced(struct answers *answers, const char *name, double logs[KNOTS][LINES][PULLS])
{
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 41, 3);
  for (int line = 0; line < LINES; line++) {
    double of_line = 0.06 * be_random_normal(&random);
    plain_row(&sheet, "nylon", line);
    for (int k = 0; k < KNOTS; k++) {
      double of_cell = 0.05 * be_random_normal(&random);
      for (int i = 0; i < PULLS; i++) {
        logs[k][line][i] = strength[k] + of_line + of_cell + 0.04 * be_random_normal(&random);
        knot_row(&sheet, knots[k], "nylon", line, ",,", logs[k][line][i]);
      }
    }
  }
  open_book(answers, name, &sheet);
}

/* Mean squares of lines, of knots by lines, and within cells. */
struct squares {
  double lines, cells, within, mean[KNOTS];
};

static struct squares squares_of(double logs[KNOTS][LINES][PULLS])
{
  struct squares s = {0};
  double of_line[LINES] = {0}, all = 0;
  for (int k = 0; k < KNOTS; k++)
    for (int l = 0; l < LINES; l++)
      for (int i = 0; i < PULLS; i++) {
        s.mean[k] += logs[k][l][i] / (LINES * PULLS);
        of_line[l] += logs[k][l][i] / (KNOTS * PULLS);
        all += logs[k][l][i] / (KNOTS * LINES * PULLS);
      }
  for (int l = 0; l < LINES; l++) s.lines += KNOTS * PULLS * pow(of_line[l] - all, 2) / (LINES - 1);
  for (int k = 0; k < KNOTS; k++)
    for (int l = 0; l < LINES; l++) {
      double cell = 0;
      for (int i = 0; i < PULLS; i++) cell += logs[k][l][i] / PULLS;
      s.cells += PULLS * pow(cell - s.mean[k] - of_line[l] + all, 2) / ((KNOTS - 1) * (LINES - 1));
      for (int i = 0; i < PULLS; i++)
        s.within += pow(logs[k][l][i] - cell, 2) / (KNOTS * LINES * (PULLS - 1));
    }
  return s;
}

static double deviation(const struct answers *answers, const char *what)
{
  char words[60];
  snprintf(words, sizeof words, "\"varies\":\"%s\"", what);
  return figure(row_of(answers, "model_variance", words, NULL), "relative_percent") / 100;
}

/* All of a balanced book follows from its mean squares (Searle, Casella and McCulloch, Variance
 * Components, 1992, 4.7): REML's variances are those of the analysis of variance, and their df are
 * Satterthwaite's (Biometrics Bull. 2, 1946). 1e-5: the search ends at a fall of 1e-9 or so of the
 * criterion, whose square root is what a deviation is good to. */
static void balanced_is_the_plain_mean(void **state)
{
  (void)state;
  double logs[KNOTS][LINES][PULLS];
  struct answers answers;
  balanced(&answers, "model-balanced", logs);
  answer(&answers);
  struct squares s = squares_of(logs);
  assert_true(s.lines > s.cells && s.cells > s.within);
  assert_near(deviation(&answers, "one pull"), sqrt(s.within), 1e-5 * sqrt(s.within));
  assert_near(pow(deviation(&answers, "knot x combination"), 2), (s.cells - s.within) / PULLS,
              1e-5 * s.cells);
  assert_near(pow(deviation(&answers, "combination"), 2), (s.lines - s.cells) / (KNOTS * PULLS),
              1e-5 * s.lines);
  double a = s.lines / (KNOTS * LINES * PULLS), b = s.cells * (KNOTS - 1) / (KNOTS * LINES * PULLS),
         variance = a + b;
  double df = variance * variance / (a * a / (LINES - 1) + b * b / ((KNOTS - 1) * (LINES - 1)));
  assert_int_equal(count_rows(&answers, "model"), KNOTS);
  for (int k = 0; k < KNOTS; k++) {
    const char *row = knot_row_of(&answers, "nylon, dry", knots[k]);
    double mean = 0;
    for (int l = 0; l < LINES; l++)
      for (int i = 0; i < PULLS; i++) mean += exp(logs[k][l][i]) / (LINES * PULLS);
    assert_near(figure(row, "n"), LINES * PULLS, 0);
    assert_near(figure(row, "tied_in_k"), LINES, 0);
    assert_near(figure(row, "tied_in_n"), LINES, 0);
    assert_near(figure(row, "raw"), 100 * mean, 1e-8);
    assert_near(figure(row, "modelled"), 100 * exp(s.mean[k]), 1e-7);
    assert_near(figure(row, "shift"), figure(row, "modelled") - figure(row, "raw"), 1e-9);
    assert_near(figure(row, "modelled_df"), df, 1e-3 * df);
    struct be_estimate estimate = {s.mean[k], variance, df, 0};
    struct be_interval want = be_estimate_interval(&estimate, 0.95);
    assert_near(figure(row, "modelled_low"), 100 * exp(want.low), 1e-3);
    assert_near(figure(row, "modelled_high"), 100 * exp(want.high), 1e-3);
    assert_near(figure(row, "rank"), k + 1, 0);
  }
  /* Differences have the df of the knots by lines: 2 x 4. */
  assert_told(&answers, "by the joint t with 8 df");
  assert_told(&answers, "By one model for all 60 pulls of nylon, dry, borrowing strength over 5 "
                        "lines, the alpha leads with");
  assert_told(&answers, "spool (it cannot be told from the combination); day (not recorded)");
  assert_told(&answers, "Fitted by REML, which converged");
  answers_close(&answers);
}

/* Chances add up, letters and ranges go together. */
static void ranks_agree_with_one_another(void **state)
{
  (void)state;
  double logs[KNOTS][LINES][PULLS], first = 0;
  struct answers answers;
  balanced(&answers, "model-ranks", logs);
  answer(&answers);
  for (int k = 0; k < KNOTS; k++) {
    const char *row = knot_row_of(&answers, "nylon, dry", knots[k]);
    first += figure(row, "first_percent");
    assert_near(figure(row, "first_three_percent"), 100, 1e-9);
  }
  /* (hits + 1) / (times + 2) of each would be beyond; hits / times add up to 1. */
  assert_near(first, 100, 0.1);
  const char *last = knot_row_of(&answers, "nylon, dry", "carrick");
  assert_non_null(strstr(last, "\"rank_range\":\"3\""));
  assert_non_null(strstr(last, "\"letters\":\"b\""));
  assert_non_null(
      strstr(knot_row_of(&answers, "nylon, dry", "bravo"), "\"rank_range\":\"1 to 2\""));
  assert_told(&answers, "but cannot be separated from bravo.");
  answers_close(&answers);
}

/* ---- a gap ---- */

static void a_gap_misleads_the_raw_means_but_not_the_model(void **state)
{
  (void)state;
  struct answers answers;
  gap(&answers, "model-gap");
  answer(&answers);
  const char *alpha = knot_row_of(&answers, "nylon, dry", "alpha");
  const char *carrick = knot_row_of(&answers, "nylon, dry", "carrick");
  assert_true(figure(carrick, "raw") > figure(alpha, "raw") + 3);
  assert_near(figure(alpha, "rank"), 1, 0);
  assert_near(figure(carrick, "rank"), 2, 0);
  assert_true(figure(carrick, "shift") < -5);
  /* 25 and 15 pulls of 0.03: the ratio is good to 0.03 sqrt(2 / 15), three times. */
  assert_near(log(figure(alpha, "modelled") / figure(carrick, "modelled")), 0.08, 0.033);
  assert_non_null(strstr(carrick, "\"rank_range\":\"2\""));
  assert_told(&answers, "the alpha leads with");
  assert_told(&answers, "apart from every other.");
  assert_near(figure(row_of(&answers, "model_cells", "carrick", "nylon 14 lb"), "n"), 0, 0);
  assert_near(figure(row_of(&answers, "model_cells", "carrick", "nylon 12 lb"), "n"), 5, 0);
  assert_int_equal(count_rows(&answers, "model_cells"), 18);
  answers_close(&answers);
}

/* ---- truth recovered ---- */

enum { BOOKS = 60, MADE_KNOTS = 4, MADE_LINES = 9 };

/* Gaps by chance, days, cells of 1 to 4 pulls, and lower bounds where the grip let go at random. */
static void made(struct answers *answers, uint64_t seed)
{
  char name[40];
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 2026, seed);
  double day[6];
  for (int d = 0; d < 6; d++) day[d] = 0.03 * be_random_normal(&random);
  for (int line = 0; line < MADE_LINES; line++) {
    double of_line = 0.08 * be_random_normal(&random);
    plain_row(&sheet, "nylon", line);
    for (int k = 0; k < MADE_KNOTS; k++) {
      double of_cell = 0.04 * be_random_normal(&random);
      if (be_random_unit(&random) < 0.25 && line > 1) continue;
      int pulls = 1 + (int)be_random_below(&random, 4);
      for (int i = 0; i < pulls; i++) {
        char more[40];
        int d = (int)be_random_below(&random, 6);
        double y = strength[k] + of_line + of_cell + day[d] + 0.05 * be_random_normal(&random);
        bool bound = i > 0 && be_random_unit(&random) < 0.15;
        snprintf(more, sizeof more, "day %d,,%s", d, bound ? "lower bound" : "event");
        knot_row(&sheet, knots[k], "nylon", line, more,
                 bound ? y - fabs(0.05 * be_random_normal(&random)) : y);
      }
    }
  }
  snprintf(name, sizeof name, "model-made-%d", (int)seed);
  open_book(answers, name, &sheet);
}

/* A book whose intervals are 95 % right misses all of some, since lines are shared: of 60 books the
 * share has a deviation of 0.028 at most, so 0.95 less three of these. Ranges hold at once. */
static void truth_lies_in_the_intervals(void **state)
{
  (void)state;
  static const int true_rank[] = {1, 3, 4, 2};
  int in = 0, ranks = 0;
  double error[MADE_KNOTS] = {0};
  for (uint64_t seed = 1; seed <= BOOKS; seed++) {
    struct answers answers;
    bool all = true;
    made(&answers, seed);
    answer(&answers);
    assert_told(&answers, "which converged");
    assert_told(&answers, "counted in, as at least so much");
    for (int k = 0; k < MADE_KNOTS; k++) {
      const char *row = knot_row_of(&answers, "nylon, dry", knots[k]);
      double want = 100 * exp(strength[k]);
      int low = 0, high = 0;
      in += figure(row, "modelled_low") < want && want < figure(row, "modelled_high");
      error[k] += log(figure(row, "modelled") / want) / BOOKS;
      const char *range = strstr(row, "\"rank_range\":\"");
      int read = sscanf(range, "\"rank_range\":\"%d to %d", &low, &high);
      assert_true(read >= 1);
      if (read == 1) high = low;
      all &= low <= true_rank[k] && true_rank[k] <= high;
    }
    ranks += all;
    answers_close(&answers);
  }
  assert_true(in >= 0.866 * BOOKS * MADE_KNOTS && in < BOOKS * MADE_KNOTS);
  assert_true(ranks >= 0.866 * BOOKS);
  /* The means are right on the average: a mean over 9 lines of 0.08 and some, over 60 books, is
   * good to 0.004; four times, for bounds that are let go by chance lower than they should. */
  for (int k = 0; k < MADE_KNOTS; k++) assert_near(error[k], 0, 0.016);
}

/* ---- groups ---- */

/* As many pulls of each knot on each line: the mean on the grid is the knot's own, moved from the
 * mean of all lines to the mean of the two groups. */
static void groups_count_once_each(void **state)
{
  (void)state;
  double mean[2] = {0}, of_group[2] = {0}, all = 0;
  const int lines_of[2] = {4, 2};
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 17, 1);
  for (int g = 0; g < 2; g++)
    for (int line = 0; line < lines_of[g]; line++) {
      plain_row(&sheet, g ? "braid" : "nylon", line);
      double of_line = 0.05 * be_random_normal(&random);
      for (int k = 0; k < 2; k++)
        for (int i = 0; i < 3; i++) {
          double y = strength[k] - 0.2 * g + of_line + 0.04 * be_random_normal(&random);
          knot_row(&sheet, knots[k], g ? "braid" : "nylon", line, ",,", y);
          mean[k] += y / 18;
          of_group[g] += y / (6 * lines_of[g]);
          all += y / 36;
        }
    }
  open_book(&answers, "model-groups", &sheet);
  answer(&answers);
  for (int k = 0; k < 2; k++)
    assert_near(
        figure(knot_row_of(&answers, "2 groups (braid, dry; nylon, dry)", knots[k]), "modelled"),
        100 * exp(mean[k] - all + (of_group[0] + of_group[1]) / 2), 1e-7);
  assert_told(&answers, "on a reference grid of all 2 groups, each counted once");
  assert_told(&answers, "on a reference grid of one group, braid, dry");
  assert_told(&answers, "Over all lines, by one model: 2 groups\n");
  assert_told(&answers, "By one model for all 36 pulls of 2 groups (braid, dry; nylon, dry), "
                        "borrowing strength over 6 lines, the alpha leads");
  answers_close(&answers);
}

static void groups_that_share_one_knot_stay_apart(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int g = 0; g < 2; g++)
    for (int line = 0; line < 2; line++)
      for (int i = 0; i < 3; i++) {
        knot_row(&sheet, "alpha", g ? "braid" : "nylon", line, ",,", -0.2 - 0.013 * i * i);
        knot_row(&sheet, g ? "bravo" : "carrick", g ? "braid" : "nylon", line, ",,",
                 -0.3 + 0.017 * i - 0.01 * line);
      }
  open_book(&answers, "model-one-shared", &sheet);
  answer(&answers);
  assert_told(&answers, "by one model: nylon, dry");
  assert_told(&answers, "by one model: braid, dry");
  assert_not_told(&answers, "2 groups");
  /* No line was pulled plain. */
  assert_told(&answers, "Of loads, since not every pull has a plain line");
  const char *row = knot_row_of(&answers, "braid, dry", "alpha");
  assert_non_null(strstr(row, "\"unit\":\"N\""));
  assert_near(figure(row, "rank"), 1, 0);
  /* A mean over lines of 43.7 and 61.3 N is no figure of a knot. */
  assert_non_null(strstr(row, "\"raw\":null,\"modelled\":null"));
  assert_told(&answers, "the alpha leads");
  assert_not_told(&answers, "the alpha leads with");
  answers_close(&answers);
}

/* ---- what pulls share ---- */

static void shared(struct answers *answers, const char *name, bool own_tyers, int days)
{
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 23, 2);
  for (int line = 0; line < 4; line++) {
    plain_row(&sheet, "nylon", line);
    for (int k = 0; k < 3; k++)
      for (int i = 0; i < 4; i++) {
        char more[40];
        snprintf(more, sizeof more, "day %d,%s,", (line + i) % days,
                 own_tyers ? knots[k]
                 : i % 2   ? "wren"
                           : "sorrel");
        if (k == 2 && i == 3) snprintf(more, sizeof more, ",sorrel,");
        if (own_tyers && k == 2) snprintf(more, sizeof more, "day 0,carrick,");
        knot_row(&sheet, knots[k], "nylon", line, more,
                 strength[k] + 0.03 * (i % 2) + 0.06 * ((line + i) % days) +
                     0.05 * be_random_normal(&random));
      }
  }
  open_book(answers, name, &sheet);
}

static void one_day_is_no_trouble(void **state)
{
  (void)state;
  struct answers answers;
  shared(&answers, "model-one-day", true, 1);
  answer(&answers);
  assert_told(&answers, "which converged");
  assert_told(&answers, "day (there is only one)");
  assert_told(&answers, "tyer (each knot has only one: it cannot be told from the knot)");
  answers_close(&answers);
}

/* The deviation of one pull by the engine, asked directly: a pull without a day has none. */
static double without_a_day(const struct survey *survey)
{
  enum { MOST = 60 };
  struct be_arena *arena = be_arena_create();
  struct model_sample sample;
  assert_int_equal(be_model_sample(survey, 0, survey->combinations_count, 0, arena, &sample, NULL),
                   BE_OK);
  double y[MOST], has_day[MOST];
  size_t start[MOST + 1] = {0}, count = 0;
  uint32_t column[MOST];
  struct be_mixed_term terms[MODEL_TERMS];
  assert_true(sample.n <= MOST);
  for (size_t i = 0; i < sample.n; i++) {
    y[i] = sample.rows[i].y;
    has_day[i] = sample.rows[i].pull->session ? 1 : 0;
    column[i] = sample.rows[i].knot;
    start[i + 1] = i + 1;
  }
  for (size_t kind = 0; kind < MODEL_TERMS; kind++) {
    const struct model_term *term = &sample.term[kind];
    if (!term->in) continue;
    terms[count] = (struct be_mixed_term){term->name, term->level, term->levels, 1, {NULL}};
    terms[count++].z[0] = kind == MODEL_SESSION ? has_day : NULL;
  }
  const struct be_mixed_data data = {sample.n, y,    NULL, {sample.knots, start, column, NULL},
                                     terms,    count};
  struct be_mixed *fit = NULL;
  assert_int_equal(be_mixed_fit(&data, BE_MIXED_REML, &fit, NULL), BE_OK);
  double sigma = be_mixed_summary(fit)->sigma;
  be_mixed_free(fit);
  be_arena_free(arena);
  return sigma;
}

static void days_and_tyers_vary(void **state)
{
  (void)state;
  struct answers answers;
  shared(&answers, "model-days", false, 3);
  answer(&answers);
  assert_told(&answers, "which converged");
  assert_near(figure(row_of(&answers, "model_variance", "\"day\"", NULL), "levels"), 3, 0);
  assert_near(figure(row_of(&answers, "model_variance", "\"tyer\"", NULL), "levels"), 2, 0);
  assert_told(&answers, "4 of 48 pulls have no recorded day, and enter without.");
  double share = 0;
  const char *const what[] = {"combination", "knot x combination", "day", "tyer", "one pull"};
  for (int i = 0; i < 5; i++) {
    char words[60];
    snprintf(words, sizeof words, "\"varies\":\"%s\"", what[i]);
    share += figure(row_of(&answers, "model_variance", words, NULL), "share_percent");
  }
  assert_near(share, 100, 1e-9);
  assert_true(deviation(&answers, "day") > 0);
  double sigma = without_a_day(&answers.survey);
  assert_near(deviation(&answers, "one pull"), sigma, 1e-12 * sigma);
  answers_close(&answers);
}

/* Two spools a line, all knots on both. */
static void spools_vary_within_their_line(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 29, 4);
  for (int spool = 0; spool < 8; spool++) {
    double of_spool = 0.1 * be_random_normal(&random);
    for (int i = 0; i < 2; i++)
      sheet_row(&sheet, "none,nylon %d lb,s%d,dry,,,,60.5", 10 + spool / 2, spool);
    for (int k = 0; k < 2; k++)
      for (int i = 0; i < 3; i++)
        sheet_row(&sheet, "%s,nylon %d lb,s%d,dry,,,,%.12g", knots[k], 10 + spool / 2, spool,
                  60.5 * exp(strength[k] + of_spool + 0.02 * be_random_normal(&random)));
  }
  open_book(&answers, "model-spools", &sheet);
  answer(&answers);
  assert_near(figure(row_of(&answers, "model_variance", "\"spool\"", NULL), "levels"), 8, 0);
  assert_true(deviation(&answers, "spool") > 0.04 && deviation(&answers, "one pull") < 0.03);
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(balanced_is_the_plain_mean),
      cmocka_unit_test(ranks_agree_with_one_another),
      cmocka_unit_test(a_gap_misleads_the_raw_means_but_not_the_model),
      cmocka_unit_test(truth_lies_in_the_intervals),
      cmocka_unit_test(groups_count_once_each),
      cmocka_unit_test(groups_that_share_one_knot_stay_apart),
      cmocka_unit_test(one_day_is_no_trouble),
      cmocka_unit_test(days_and_tyers_vary),
      cmocka_unit_test(spools_vary_within_their_line),
  };
  return be_tests("app: one model", tests);
}
