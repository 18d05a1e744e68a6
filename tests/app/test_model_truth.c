/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one model beside the truth: what cells hold on these very lines, whether knots compare alike
 * in all groups, and the demonstration's knots. */
#include "app/demo.h"
#include "model_books.h"
#include "stats/number/number.h"

/* ---- cells on these very lines ---- */

enum { KNOTS = 3, LINES = 5, PULLS = 4 };

/* Means and mean squares of a balanced book. */
struct squares {
  double knot[KNOTS], line[LINES], cell[KNOTS][LINES], all;
  double lines, cells, within;
};

static struct squares squares_of(double y[KNOTS][LINES][PULLS])
{
  struct squares s = {0};
  for (int k = 0; k < KNOTS; k++)
    for (int l = 0; l < LINES; l++)
      for (int i = 0; i < PULLS; i++) {
        s.cell[k][l] += y[k][l][i] / PULLS;
        s.knot[k] += y[k][l][i] / (LINES * PULLS);
        s.line[l] += y[k][l][i] / (KNOTS * PULLS);
        s.all += y[k][l][i] / (KNOTS * LINES * PULLS);
      }
  for (int l = 0; l < LINES; l++)
    s.lines += KNOTS * PULLS * pow(s.line[l] - s.all, 2) / (LINES - 1);
  for (int k = 0; k < KNOTS; k++)
    for (int l = 0; l < LINES; l++) {
      s.cells += PULLS * pow(s.cell[k][l] - s.knot[k] - s.line[l] + s.all, 2) /
                 ((KNOTS - 1) * (LINES - 1));
      for (int i = 0; i < PULLS; i++)
        s.within += pow(y[k][l][i] - s.cell[k][l], 2) / (KNOTS * LINES * (PULLS - 1));
    }
  return s;
}

/* Balanced, the best predictor shrinks what is of the line by 1 - within/lines and what is of the
 * cell by 1 - within/cells, mean squares all (Searle, Casella and McCulloch, Variance Components,
 * 1992, 7.4, worked out for two crossed terms). */
static void balanced_cells_shrink_as_they_should(void **state)
{
  (void)state;
  double y[KNOTS][LINES][PULLS];
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 41, 3);
  for (int line = 0; line < LINES; line++) {
    double of_line = 0.06 * be_random_normal(&random);
    plain_row(&sheet, "nylon", line);
    for (int k = 0; k < KNOTS; k++) {
      double of_cell = 0.05 * be_random_normal(&random);
      for (int i = 0; i < PULLS; i++) {
        y[k][line][i] = strength[k] + of_line + of_cell + 0.04 * be_random_normal(&random);
        knot_row(&sheet, knots[k], "nylon", line, ",,", y[k][line][i]);
      }
    }
  }
  open_book(&answers, "truth-balanced", &sheet);
  answer(&answers);
  struct squares s = squares_of(y);
  assert_true(s.lines > s.cells && s.cells > s.within);
  for (int k = 0; k < KNOTS; k++)
    for (int l = 0; l < LINES; l++) {
      char where[40];
      snprintf(where, sizeof where, "nylon %d lb", 10 + l);
      const char *row = row_of(&answers, "model_cells", knots[k], where);
      double want = s.knot[k] + (1 - s.within / s.lines) * (s.line[l] - s.all) +
                    (1 - s.within / s.cells) * (s.cell[k][l] - s.knot[k] - s.line[l] + s.all);
      assert_near(figure(row, "modelled"), 100 * exp(want), 1e-3);
      assert_near(figure(row, "shift"), figure(row, "modelled") - figure(row, "raw"), 1e-9);
      assert_non_null(strstr(row, "\"borrowed\":null"));
      int rank = 1;
      for (int other = 0; other < KNOTS; other++) {
        const char *beside = row_of(&answers, "model_cells", knots[other], where);
        rank += figure(beside, "modelled") > figure(row, "modelled");
      }
      assert_near(figure(row, "rank_here"), rank, 0);
    }
  answers_close(&answers);
}

enum { BOOKS = 40, MADE_KNOTS = 4, MADE_LINES = 8 };

/* Cells of 1 to 4 pulls and gaps; truth of each, gaps too. */
static void made(struct answers *answers, uint64_t seed, double truth[MADE_KNOTS][MADE_LINES])
{
  char name[40];
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 77, seed);
  for (int line = 0; line < MADE_LINES; line++) {
    double of_line = 0.08 * be_random_normal(&random);
    plain_row(&sheet, "nylon", line);
    for (int k = 0; k < MADE_KNOTS; k++) {
      truth[k][line] = strength[k] + of_line + 0.05 * be_random_normal(&random);
      if (line > 1 && be_random_unit(&random) < 0.25) continue;
      for (int i = 1 + (int)be_random_below(&random, 4); i > 0; i--)
        knot_row(&sheet, knots[k], "nylon", line, ",,event",
                 truth[k][line] + 0.05 * be_random_normal(&random));
    }
  }
  snprintf(name, sizeof name, "truth-made-%d", (int)seed);
  open_book(answers, name, &sheet);
}

/* Cells of a book share what is not known of its deviations and means, so that a book counts as
 * one: of 40 the share has a deviation of 0.034 at most; 0.95 less two of these. Borrowed cells are
 * drawn about their knot and line, which is no nearer than such cells scatter. */
static void cells_and_gaps_cover_their_truth(void **state)
{
  (void)state;
  int tied = 0, tied_in = 0, gaps = 0, gaps_in = 0;
  double raw = 0, modelled = 0;
  for (uint64_t seed = 1; seed <= BOOKS; seed++) {
    double truth[MADE_KNOTS][MADE_LINES];
    struct answers answers;
    made(&answers, seed, truth);
    answer(&answers);
    for (int k = 0; k < MADE_KNOTS; k++)
      for (int l = 0; l < MADE_LINES; l++) {
        char where[40];
        snprintf(where, sizeof where, "nylon %d lb", 10 + l);
        const char *row = row_of(&answers, "model_cells", knots[k], where);
        double want = 100 * exp(truth[k][l]);
        bool gap = figure(row, "n") < 0.5;
        bool in = figure(row, "modelled_low") < want && want < figure(row, "modelled_high");
        assert_true(gap == (strstr(row, "\"borrowed\":\"borrowed\"") != NULL));
        *(gap ? &gaps : &tied) += 1;
        *(gap ? &gaps_in : &tied_in) += in;
        if (gap) continue;
        raw += pow(figure(row, "raw") - want, 2);
        modelled += pow(figure(row, "modelled") - want, 2);
      }
    answers_close(&answers);
  }
  print_message("# %d of %d cells, %d of %d gaps cover their truth\n", tied_in, tied, gaps_in,
                gaps);
  assert_true(tied_in >= 0.88 * tied && tied_in < tied);
  assert_true(gaps > 150 && gaps_in >= 0.88 * gaps && gaps_in < gaps);
  /* Nearer to the truth than raw means: that is what shrinking is for. */
  assert_true(modelled < 0.9 * raw);
}

/* ---- groups ---- */

enum { GROUPS = 2, OF_GROUP = 4, OF_CELL = 3 };

static void grouped(struct answers *answers, const char *name, double differ,
                    double cell[KNOTS][GROUPS][OF_GROUP])
{
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 13, 8);
  for (int g = 0; g < GROUPS; g++)
    for (int l = 0; l < OF_GROUP; l++) {
      double of_line = 0.1 * be_random_normal(&random);
      plain_row(&sheet, g ? "braid" : "nylon", l);
      for (int k = 0; k < KNOTS; k++) {
        double of_cell = 0.05 * be_random_normal(&random);
        cell[k][g][l] = 0;
        for (int i = 0; i < OF_CELL; i++) {
          double y = strength[k] - 0.2 * g + (g && k == 0 ? differ : 0) + of_line + of_cell +
                     0.02 * be_random_normal(&random);
          cell[k][g][l] += y / OF_CELL;
          knot_row(&sheet, knots[k], g ? "braid" : "nylon", l, ",,", y);
        }
      }
    }
  open_book(answers, name, &sheet);
}

/* Balanced, F is the mean square of knots by groups over that of knots by lines of a group. */
static void balanced_groups_are_tested_exactly(void **state)
{
  (void)state;
  for (int differ = 0; differ < 2; differ++) {
    double cell[KNOTS][GROUPS][OF_GROUP], knot[KNOTS] = {0}, group[GROUPS] = {0}, all = 0;
    double both[KNOTS][GROUPS] = {{0}}, line[GROUPS][OF_GROUP] = {{0}}, between = 0, within = 0;
    struct answers answers;
    grouped(&answers, differ ? "truth-groups-differ" : "truth-groups", differ * -0.5, cell);
    answer(&answers);
    for (int k = 0; k < KNOTS; k++)
      for (int g = 0; g < GROUPS; g++)
        for (int l = 0; l < OF_GROUP; l++) {
          knot[k] += cell[k][g][l] / (GROUPS * OF_GROUP);
          group[g] += cell[k][g][l] / (KNOTS * OF_GROUP);
          both[k][g] += cell[k][g][l] / OF_GROUP;
          line[g][l] += cell[k][g][l] / KNOTS;
          all += cell[k][g][l] / (KNOTS * GROUPS * OF_GROUP);
        }
    for (int k = 0; k < KNOTS; k++)
      for (int g = 0; g < GROUPS; g++) {
        between +=
            OF_GROUP * pow(both[k][g] - knot[k] - group[g] + all, 2) / ((KNOTS - 1) * (GROUPS - 1));
        for (int l = 0; l < OF_GROUP; l++)
          within += pow(cell[k][g][l] - both[k][g] - line[g][l] + group[g], 2) /
                    ((KNOTS - 1) * GROUPS * (OF_GROUP - 1));
      }
    const char *row = row_of(&answers, "model_group_test", "2 groups", NULL);
    assert_near(figure(row, "F"), between / within, 1e-4 * between / within);
    assert_near(figure(row, "df1"), 2, 0);
    assert_near(figure(row, "df2"), (KNOTS - 1) * GROUPS * (OF_GROUP - 1), 1e-2);
    assert_near(figure(row, "p"), be_f_upper(between / within, 2, 12), 1e-4);
    assert_told(&answers, differ ? "How knots compare differs from group to group"
                                 : "That knots compare otherwise from group to group");
    /* Group by group, against the leader over all. */
    const char *first = differ ? "bravo" : "alpha", *other = differ ? "alpha" : "bravo";
    int a = differ ? 1 : 0, b = 1 - a;
    if (!strstr(knot_row_of(&answers, "2 groups (braid, dry; nylon, dry)", first), "\"rank\":1"))
      fail_msg("%s does not lead", first);
    for (int g = 0; g < GROUPS; g++) {
      row = row_of(&answers, "model_by_group", g ? "\"group\":\"braid, dry\"" : "\"group\":\"nylon",
                   other);
      assert_near(figure(row, "against_first_relative_percent"),
                  100 * expm1(both[b][g] - both[a][g]), 1e-4);
      assert_near(figure(row, "modelled"), 100 * exp(both[b][g]), 1e-4);
      assert_near(figure(row, "n"), OF_GROUP * OF_CELL, 0);
      row = row_of(&answers, "model_by_group", g ? "\"group\":\"braid, dry\"" : "\"group\":\"nylon",
                   first);
      assert_true(isnan(figure(row, "against_first_relative_percent")));
    }
    answers_close(&answers);
  }
}

/* A combination a group: how knots differ by group and by line is one. */
static void one_combination_a_group_cannot_be_tested(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  static const char *const materials[] = {"nylon", "braid", "fluorocarbon"};
  for (int g = 0; g < 3; g++) {
    plain_row(&sheet, materials[g], g);
    for (int i = 0; i < 8; i++)
      knot_row(&sheet, knots[i % 2], materials[g], g, ",,",
               -0.2 - 0.1 * (i % 2) - 0.013 * (i * i % 7));
  }
  open_book(&answers, "truth-one-a-group", &sheet);
  answer(&answers);
  assert_told(&answers,
              "Whether knots compare alike in all groups cannot be tested: within a group "
              "each knot would need more than one combination.");
  assert_null(find_table(&answers, "model_by_group"));
  answers_close(&answers);
}

/* ---- the demonstration ---- */

#define TRIAL_HEAD "knot,version,line A,spool A,line B,spool B,hardware,soak,tyer,result,load (N)"

static void line_words(const char *spool, char words[60])
{
  static const char *const names[] = {"nylon", "fluorocarbon", "braid"};
  if (*spool)
    snprintf(words, 60, "%s %d lb,%s", names[be_spool_material(spool)], atoi(spool + 1), spool);
  else snprintf(words, 60, ",");
}

static double draw(struct be_random *random, double mean, double cv)
{
  return mean * (1 + cv * be_random_normal(random));
}

/* The trial drawn anew, as the simulated bench draws it, without its troubles. */
static void draw_row(struct sheet *sheet, const struct recipe *recipe, const struct trial_row *row,
                     struct be_random *random)
{
  bool soaked = strcmp(row->soak, "soaked") == 0, plain = !row->knot[0];
  const struct spool_truth *a = be_recipe_spool(recipe, row->spool_a);
  const struct spool_truth *b = row->spool_b[0] ? be_recipe_spool(recipe, row->spool_b) : NULL;
  double of_a = a->mean_N * (soaked ? a->soaked_share : 1);
  double of_b = b ? b->mean_N * (soaked ? b->soaked_share : 1) : INFINITY;
  enum material weaker = be_spool_material(of_a <= of_b ? row->spool_a : row->spool_b);
  char words_a[60], words_b[60];
  line_words(row->spool_a, words_a);
  line_words(row->spool_b, words_b);
  for (int i = 0; i < row->n; i++) {
    double line = draw(random, of_a, a->cv), load = line;
    if (b) line = fmin(line, draw(random, of_b, b->cv));
    if (!plain) {
      const struct knot_truth *knot = be_recipe_knot(recipe, row->knot, row->version);
      load = draw(random, fmin(of_a, of_b) * knot->efficiency[weaker] * (i % 2 ? 0.99 : 1.01),
                  knot->cv);
    }
    bool bound = load > line;
    sheet_row(sheet, "%s,%s,%s,%s,%s,%s,%s,%s,%.8g", plain ? "none" : row->knot, row->version,
              words_a, words_b, row->hardware, row->soak, i % 2 ? "Sorrel" : "Wren",
              bound ? "lower bound" : "event", bound ? line : load);
  }
}

static void draw_trial(struct answers *answers, const struct recipe *recipe, uint64_t seed)
{
  char name[40];
  struct sheet sheet = sheet_begin(TRIAL_HEAD);
  struct be_random random;
  be_random_init(&random, 409, seed);
  for (size_t i = 0; i < recipe->rows_count; i++) {
    const struct trial_row *row = &recipe->rows[i];
    bool plain = strcmp(row->design, "plain line") == 0;
    if (row->in_series || (!plain && strcmp(row->design, "single knot") != 0)) continue;
    draw_row(&sheet, recipe, row, &random);
  }
  snprintf(name, sizeof name, "truth-trial-%d", (int)seed);
  open_book(answers, name, &sheet);
}

/* The mean of ln(1 + cv Z), to second order. */
static double log_truth(const struct knot_truth *knot, enum material weaker)
{
  return log(knot->efficiency[weaker]) - knot->cv * knot->cv / 2;
}

struct counts {
  int intervals, covered, pairs, in_order;
};

struct name {
  const char *knot, *turns, *version;
};

/* Pairs whose truths are 12 % apart are clearly different. */
static void compare_group(const struct answers *answers, const struct recipe *recipe,
                          const char *group, enum material weaker, const struct name names[],
                          int count, bool turns, struct counts *counts)
{
  double truth[8], modelled[8];
  for (int k = 0; k < count; k++) {
    const struct name name = names[k];
    char words[100], place[60];
    snprintf(words, sizeof words, "\"knot\":\"%s%s%s%s%s\"", name.knot, turns ? name.turns : "",
             *name.version ? " (" : "", name.version, *name.version ? ")" : "");
    snprintf(place, sizeof place, "{\"place\":\"%.40s\"", group);
    const char *row = row_of(answers, "model", place, words);
    truth[k] = log_truth(be_recipe_knot(recipe, name.knot, name.version), weaker);
    modelled[k] = log(figure(row, "modelled") / 100);
    counts->intervals++;
    counts->covered += log(figure(row, "modelled_low") / 100) < truth[k] &&
                       truth[k] < log(figure(row, "modelled_high") / 100);
  }
  for (int a = 0; a < count; a++)
    for (int b = 0; b < count; b++) {
      if (truth[a] < truth[b] + log(1.12)) continue;
      counts->pairs++;
      counts->in_order += modelled[a] > modelled[b];
    }
}

static void compare_trial(const struct answers *answers, const struct recipe *recipe, bool turns,
                          struct counts *counts)
{
  static const struct name bends[] = {{"barrel knot", ", 5 turns", "well tied"},
                                      {"barrel knot", ", 5 turns", "badly tied"},
                                      {"grinner bend", ", 4 turns", ""},
                                      {"surgeon's join", ", 2 turns", ""}};
  static const struct name hitches[] = {{"half blood", ", 5 turns", ""}, {"palomar", "", ""}};
  compare_group(answers, recipe, "braid to fluorocarbon, dry", MATERIAL_FLUOROCARBON, bends, 4,
                turns, counts);
  compare_group(answers, recipe, "braid to ring, dry", MATERIAL_BRAID, hitches, 2, turns, counts);
  compare_group(answers, recipe, "fluorocarbon to ring, dry", MATERIAL_FLUOROCARBON, hitches, 2,
                turns, counts);
  compare_group(answers, recipe, "nylon to ring, dry", MATERIAL_NYLON, hitches, 2, turns, counts);
}

/* Ten intervals a trial share spools and plain lines, so that a trial may miss several at once: if
 * all of one missed together, the share of 30 trials would have a deviation of 0.04, and 85 of
 * 100 lie two and a half of these below 95. */
static void the_demonstrations_truth_is_found(void **state)
{
  (void)state;
  struct recipe recipe;
  struct counts counts = {0};
  assert_int_equal(be_recipe_read(&recipe, NULL), BE_OK);
  for (uint64_t seed = 1; seed <= 30; seed++) {
    struct answers answers;
    draw_trial(&answers, &recipe, seed);
    answer(&answers);
    compare_trial(&answers, &recipe, false, &counts);
    answers_close(&answers);
  }
  print_message("# %d of %d intervals cover the truth; %d of %d clear pairs in order\n",
                counts.covered, counts.intervals, counts.in_order, counts.pairs);
  assert_int_equal(counts.intervals, 300);
  assert_true(counts.covered >= 255);
  assert_true(counts.pairs > 150);
  assert_int_equal(counts.in_order, counts.pairs);
}

/* The book itself, troubles and all: of ten intervals, 9.5 should hold. */
static void so_it_is_in_the_book_as_made(void **state)
{
  (void)state;
  char path[512], bench[512];
  bool fresh;
  struct recipe recipe;
  struct counts counts = {0};
  struct answers answers = {.arena = be_arena_create()};
  const struct be_answering how = {0};
  test_path(path, "truth-demo.book");
  test_path(bench, "truth-demo-bench");
  be_file_remove(path, NULL);
  assert_int_equal(be_app_demo(path, bench, &fresh, NULL), BE_OK);
  assert_int_equal(be_recipe_read(&recipe, NULL), BE_OK);
  be_buf_init(&answers.json, 1 << 24);
  be_buf_init(&answers.text, 1 << 24);
  assert_int_equal(be_survey_read(path, &how, answers.arena, &answers.survey, NULL), BE_OK);
  answer(&answers);
  compare_trial(&answers, &recipe, true, &counts);
  print_message("# the book: %d of %d, %d of %d\n", counts.covered, counts.intervals,
                counts.in_order, counts.pairs);
  assert_true(counts.intervals == 10 && counts.covered >= 8);
  assert_int_equal(counts.in_order, counts.pairs);
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(balanced_cells_shrink_as_they_should),
      cmocka_unit_test(cells_and_gaps_cover_their_truth),
      cmocka_unit_test(balanced_groups_are_tested_exactly),
      cmocka_unit_test(one_combination_a_group_cannot_be_tested),
      cmocka_unit_test(the_demonstrations_truth_is_found),
      cmocka_unit_test(so_it_is_in_the_book_as_made),
  };
  return be_tests("app: one model, beside the truth", tests);
}
