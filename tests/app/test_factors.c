/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Factors held fixed in the one model: made books whose truth is known, balanced books whose answer
 * is exact, and what is refused. */
#include "fault/failing.h"
#include "figures.h"
#include "stats/number/number.h"

#define HEAD                                                                                       \
  "knot,turns,line A,spool A,soak,session,tyer,lubricant,order,speed (mm/min),free length "        \
  "(mm),result,"                                                                                   \
  "load (N)"

static const double plain_N[] = {43.7, 61.3, 88.1, 52.9, 71.7, 97.3};
static const char *const knots[] = {"alpha", "bravo", "carrick"};
static const double strength[] = {-0.21, -0.34, -0.29};

static void ask(struct answers *answers, const char *words)
{
  struct be_doc *doc = NULL;
  answers->survey.how.factors = 0;
  assert_int_equal(be_factors_read(words, &answers->survey.how.factors, NULL), BE_OK);
  assert_int_equal(be_standings_doc(&answers->survey, &doc, NULL), BE_OK);
  answers_print(answers, doc);
}

static void open_book(struct answers *answers, const char *name, struct sheet *sheet)
{
  const struct be_answering how = {.resamples = 400};
  answers_open(answers, name, sheet, NULL, &how);
}

static const char *effect(const struct answers *answers, const char *factor, const char *of)
{
  char first[60], second[60];
  snprintf(first, sizeof first, "\"factor\":\"%s\"", factor);
  snprintf(second, sizeof second, "\"of\":\"%s\"", of);
  return row_of(answers, "model_effects", first, second);
}

/* ---- planted effects are found, others are not claimed ---- */

/* The lines, soaked, hold 12 % less; a knot tied in them 10 % less. */
enum { BOOKS = 40, LINES = 5 };
static const double of_turn = 0.0295588, of_soak = -0.1053605, of_soaked_line = -0.1278334,
                    of_tyer = 0.0392207;

static void made(struct answers *answers, uint64_t seed)
{
  static const char *const tyers[] = {"Wren", "Sorrel"}, *const soaks[] = {"dry", "soaked"},
                           *const lubricants[] = {"water", "spit"};
  char name[40];
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 611, seed);
  for (int line = 0; line < LINES; line++) {
    double of_line = 0.08 * be_random_normal(&random);
    for (int s = 0; s < 2; s++)
      for (int i = 0; i < 3; i++)
        sheet_row(&sheet, "none,,nylon %d lb,s%d,%s,,,,,500,500,event,%.12g", 10 + line, line,
                  soaks[s], plain_N[line] * exp(s * of_soaked_line));
    for (int k = 0; k < 3; k++) {
      double of_cell = 0.03 * be_random_normal(&random);
      for (int i = 0; i < 8; i++) {
        int turns = 3 + (int)be_random_below(&random, 4), s = be_random_unit(&random) < 0.4;
        int tyer = (int)be_random_below(&random, 2), lubricant = (int)be_random_below(&random, 2);
        double y = strength[k] + of_line + of_cell + of_turn * (turns - 4) + s * of_soak +
                   tyer * of_tyer + 0.06 * be_random_normal(&random);
        sheet_row(&sheet, "%s,%d,nylon %d lb,s%d,%s,day %d,%s,%s,%d,500,500,event,%.12g", knots[k],
                  turns, 10 + line, line, soaks[s], i / 4, tyers[tyer], lubricants[lubricant],
                  1 + (int)be_random_below(&random, 30), plain_N[line] * exp(y));
      }
    }
  }
  snprintf(name, sizeof name, "factors-made-%d", (int)seed);
  open_book(answers, name, &sheet);
}

static bool holds(const char *row, double truth)
{
  double value = 100 * expm1(truth);
  return figure(row, "relative_percent_low") < value &&
         value < figure(row, "relative_percent_high");
}

/* Of 40 independent intervals of 95 %, 38 hold the truth, with a deviation of 1.4: fewer than 34
 * would come once in 300. Five effects are asked for; two of them are not there, and each may be
 * claimed 2 times of 40, more than 6 times once in 300. */
static void what_was_planted_is_found(void **state)
{
  (void)state;
  int turns = 0, soak = 0, soak_of_line = 0, tyer = 0, claimed_order = 0, claimed_lubricant = 0;
  double error = 0;
  for (uint64_t seed = 1; seed <= BOOKS; seed++) {
    struct answers answers;
    made(&answers, seed);
    ask(&answers, "turns,soak,lubricant,tyer,order");
    assert_told(&answers, "which converged");
    const char *row = effect(&answers, "turns", "share of the line");
    turns += holds(row, of_turn);
    error += log1p(figure(row, "relative_percent") / 100) / BOOKS - of_turn / BOOKS;
    assert_near(figure(row, "n"), 120, 0);
    row = effect(&answers, "soak", "load");
    assert_non_null(strstr(row, "soaked, against dry"));
    soak += holds(row, of_soak);
    soak_of_line += holds(effect(&answers, "soak", "share of the line"), of_soak - of_soaked_line);
    row = effect(&answers, "tyer", "share of the line");
    assert_non_null(strstr(row, "Wren, against Sorrel"));
    tyer += holds(row, -of_tyer);
    claimed_order += figure(effect(&answers, "order", "share of the line"), "p") < 0.05;
    claimed_lubricant += figure(effect(&answers, "lubricant", "share of the line"), "p") < 0.05;
    answers_close(&answers);
  }
  print_message("# of %d: turns %d, soak %d and %d, tyer %d; claimed %d and %d\n", BOOKS, turns,
                soak, soak_of_line, tyer, claimed_order, claimed_lubricant);
  assert_true(turns >= 34 && soak >= 34 && soak_of_line >= 34 && tyer >= 34);
  assert_true(claimed_order <= 6 && claimed_lubricant <= 6);
  /* A slope over 120 pulls of 0.06, of turns that scatter by 1.1: good to 0.005, over 40 books to
   * 0.0008; four times. */
  assert_near(error, 0, 0.0032);
}

static void sentences_say_how_much_and_of_what(void **state)
{
  (void)state;
  struct answers answers;
  made(&answers, 3);
  ask(&answers, "soak");
  ask(&answers, "turns,soak");
  /* The first sentence answers. */
  const char *at = strstr(answers.json.data, "\"sentences\"");
  assert_non_null(at);
  assert_true(strstr(at, "With one more turn, the same knots on the same lines kept ") - at < 60);
  assert_told(&answers, "That is over 120 pulls of nylon.\n");
  assert_told(&answers, " more of the plain line, relative (p");
  assert_told(&answers, "Soaked rather than dry, the same knots on the same lines held ");
  assert_told(&answers, " less load (p");
  assert_told(&answers, "Held fixed: turns at ");
  assert_told(&answers, "; soak, each of 2 counted once; that is where");
  /* Knots that differ by turns alone are one, and so are the combinations. */
  assert_int_equal(count_rows(&answers, "model"), 3);
  assert_non_null(row_of(&answers, "model", "\"knot\":\"alpha\"", "\"place\":\"nylon\""));
  assert_int_equal(count_rows(&answers, "model_cells"), 3 * LINES);
  const char *row =
      row_of(&answers, "model_cells", "\"knot\":\"bravo\"", "\"combination\":\"nylon 12 lb\"");
  assert_near(figure(row, "n"), 8, 0);
  assert_non_null(row_of(&answers, "model_variance", "soak x combination", NULL));
  /* Without factors none of this is said, but the ways to it are. */
  answers.survey.how.factors = 0;
  answers_standings(&answers);
  assert_not_told(&answers, "Soaked rather than dry");
  assert_told(&answers, "with --factor: turns, soak");
  assert_not_told(&answers, ", speed");
  answers_close(&answers);
}

/* ---- balanced: exact ---- */

/* Soak by lines is the error of soak: a paired test over lines, LINES - 1 df (Searle, Casella and
 * McCulloch, Variance Components, 1992, 4.7, as in test_model.c). */
static void a_balanced_effect_is_the_paired_one(void **state)
{
  (void)state;
  enum { PULLS = 3 };
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 87, 2);
  double difference[LINES] = {0};
  for (int line = 0; line < LINES; line++) {
    double of_soaked = -0.11 + 0.07 * be_random_normal(&random);
    for (int k = 0; k < 3; k++)
      for (int s = 0; s < 2; s++)
        for (int i = 0; i < PULLS; i++) {
          double y =
              4.3 + 0.2 * line + strength[k] + s * of_soaked + 0.03 * be_random_normal(&random);
          difference[line] += (s ? 1 : -1) * y / (3 * PULLS);
          sheet_row(&sheet, "%s,4,nylon %d lb,s%d,%s,,,,,,,event,%.12g", knots[k], 10 + line, line,
                    s ? "soaked" : "dry", exp(y));
        }
  }
  open_book(&answers, "factors-balanced", &sheet);
  ask(&answers, "soak");
  struct be_summary summary;
  be_summary_of(difference, LINES, &summary);
  struct be_estimate mean = be_estimate_mean(&summary);
  struct be_interval want = be_estimate_interval(&mean, 0.95);
  const char *row = effect(&answers, "soak", "load");
  assert_near(figure(row, "relative_percent"), 100 * expm1(mean.value), 1e-6);
  assert_near(figure(row, "df"), LINES - 1, 1e-3);
  assert_near(figure(row, "relative_percent_low"), 100 * expm1(want.low), 1e-3);
  assert_near(figure(row, "relative_percent_high"), 100 * expm1(want.high), 1e-3);
  assert_near(figure(row, "p"), 2 * be_t_upper(fabs(mean.value) / sqrt(mean.variance), LINES - 1),
              1e-6);
  assert_near(figure(row, "n"), 3 * LINES * PULLS, 0);
  /* No line was pulled plain: of shares nothing is said. */
  assert_not_told(&answers, "share of the line");
  answers_close(&answers);
}

/* Speed and length go by doublings: a slope that is exact but for rounding of the sheet. */
static void numbers_are_stated_by_their_step(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 5, 5);
  for (int i = 0; i < 96; i++) {
    int line = i % 4, k = i / 4 % 3, fast = i / 12 % 2, longer = i / 24 % 2;
    double y = 4.1 + 0.1 * line + strength[k] + 0.05 * fast - 0.08 * longer +
               1e-4 * be_random_normal(&random);
    sheet_row(&sheet, "%s,4,nylon %d lb,s%d,dry,,,,,%d,%d,event,%.12g", knots[k], 10 + line, line,
              fast ? 1000 : 250, longer ? 1000 : 500, exp(y));
  }
  open_book(&answers, "factors-numbers", &sheet);
  ask(&answers, "speed,length");
  assert_near(figure(effect(&answers, "speed", "load"), "relative_percent"), 100 * expm1(0.025),
              0.02);
  assert_near(figure(effect(&answers, "length", "load"), "relative_percent"), 100 * expm1(-0.08),
              0.02);
  assert_told(&answers, "At twice the speed, the same knots on the same lines held 2.5 % [");
  assert_told(&answers, "With twice the length, the same knots on the same lines held 7.7 % [");
  assert_told(&answers, "Held fixed: speed at 250 mm/min; length at 500 mm;");
  answers_close(&answers);
}

/* Speeds as read off, no two alike; and more texts than anybody holds apart. */
static void many_values_are_a_slope_or_refused(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  struct be_random random;
  be_random_init(&random, 12, 6);
  for (int i = 0; i < 120; i++) {
    double speed = 200 * exp2(3 * be_random_unit(&random)), y = log2(speed) * 0.02;
    y += 4.1 + 0.1 * (i % 4) + strength[i / 4 % 3] + 0.002 * be_random_normal(&random);
    sheet_row(&sheet, "%s,4,nylon %d lb,s%d,dry,,,l%d,,%.9g,,event,%.12g", knots[i / 4 % 3],
              10 + i % 4, i % 4, i / 2, speed, exp(y));
  }
  open_book(&answers, "factors-many-values", &sheet);
  ask(&answers, "speed,lubricant");
  assert_near(figure(effect(&answers, "speed", "load"), "relative_percent"), 100 * expm1(0.02),
              0.15);
  assert_near(figure(effect(&answers, "speed", "load"), "n"), 120, 0);
  assert_told(&answers, "Not held fixed here: lubricant (more than 50 of them).");
  answers_close(&answers);
}

/* ---- several levels ---- */

static void three_tyers_are_told_at_once(void **state)
{
  (void)state;
  static const char *const tyers[] = {"Wren", "Sorrel", "Teal"};
  for (int differ = 0; differ < 2; differ++) {
    struct answers answers;
    struct sheet sheet = sheet_begin(HEAD);
    struct be_random random;
    be_random_init(&random, 19, 7);
    for (int i = 0; i < 108; i++) {
      int line = i % 4, k = i / 4 % 3, t = i / 12 % 3;
      double y = 4.1 + 0.1 * line + strength[k] + differ * 0.1 * (t == 2) +
                 0.04 * be_random_normal(&random);
      sheet_row(&sheet, "%s,4,nylon %d lb,s%d,dry,,%s,,,,,event,%.12g", knots[k], 10 + line, line,
                tyers[t], exp(y));
    }
    open_book(&answers, "factors-tyers", &sheet);
    ask(&answers, "tyer");
    assert_told(&answers, differ ? "The 3 of tyer differ in load (p < 0.0001, F of 2 and "
                                 : "Between the 3 of tyer no difference in load can be told (p = ");
    assert_int_equal(count_rows(&answers, "model_effects"), 2);
    const char *row = row_of(&answers, "model_effects", "Teal, against Sorrel", NULL);
    if (differ) assert_true(holds(row, 0.1));
    /* Fixed now, it does not vary. */
    assert_null(strstr(find_table(&answers, "model_variance"), "\"varies\":\"tyer\""));
    answers_close(&answers);
  }
}

/* ---- what is refused ---- */

static void bare_row(struct sheet *sheet, int i, const char *soak, const char *tyer, int turns)
{
  sheet_row(sheet, "%s,%d,nylon %d lb,s%d,%s,,%s,,,500,,event,%.12g", knots[i % 2], turns,
            10 + i / 2 % 3, i / 2 % 3, soak, tyer, 47.3 + i % 2 * 3.1 + i * i % 7 * 0.37);
}

static void what_cannot_be_told_is_refused_by_name(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int i = 0; i < 36; i++)
    bare_row(&sheet, i, "dry", i < 12 ? i % 3 ? "Wren" : "Teal" : "", 3 + i % 2);
  open_book(&answers, "factors-refused", &sheet);
  ask(&answers, "turns,soak,lubricant,tyer,speed,length");
  assert_told(&answers, "No effect can be told: nothing that was asked for could be held fixed.");
  assert_told(&answers, "Not held fixed: turns (no knot of one name and version was tied with "
                        "different turns).");
  assert_told(&answers, "Not held fixed: soak (all are dry).");
  assert_told(&answers, "Not held fixed: lubricant (not recorded).");
  assert_told(&answers, "Not held fixed: tyer (recorded of 12 of 36 pulls only).");
  assert_told(&answers, "Not held fixed: speed (all are 500 mm/min).");
  assert_told(&answers, "Not held fixed: length (not recorded).");
  assert_null(find_table(&answers, "model_effects"));
  /* The knots stand all the same. */
  assert_told(&answers, "leads");
  answers_close(&answers);
}

/* Each knot by a tyer of its own; in one of two groups all are dry. */
static void what_hangs_together_with_knots_is_left_out(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int i = 0; i < 48; i++) {
    bare_row(&sheet, i, i / 6 % 2 ? "soaked" : "dry", i % 2 ? "Wren" : "Teal", 4);
    sheet_row(&sheet, "%s,4,braid %d lb,b%d,dry,,%s,,,,,event,%.12g", knots[i % 2], 20 + i / 2 % 3,
              i / 2 % 3, i % 2 ? "Wren" : "Teal", 81.3 + i % 2 * 4.1 + i * i % 11 * 0.53);
  }
  bare_row(&sheet, 5, "", "Wren", 4);
  open_book(&answers, "factors-confounded", &sheet);
  ask(&answers, "soak,tyer");
  assert_told(&answers, "Not held fixed here: tyer (it cannot be told from the knots, the groups "
                        "and what else is fixed).");
  assert_told(&answers, "Not held fixed here: soak (all are dry); tyer");
  assert_told(&answers, "Left out: 1 pull whose soak is not recorded.");
  assert_true(isfinite(figure(effect(&answers, "soak", "load"), "p")));
  assert_null(strstr(find_table(&answers, "model_effects"), "\"factor\":\"tyer\""));
  answers_close(&answers);
}

static void without_a_model_nothing_is_held_fixed(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int i = 0; i < 4; i++)
    sheet_row(&sheet, "alpha,4,nylon 12 lb,s1,%s,,,,,,,event,%d", i % 2 ? "dry" : "soaked", 43 + i);
  open_book(&answers, "factors-no-model", &sheet);
  ask(&answers, "soak");
  assert_told(&answers, "No two knots share two combinations: there is no model yet");
  assert_not_told(&answers, "Not held fixed");
  assert_null(find_table(&answers, "model"));
  answers_close(&answers);
}

/* A knot whose turns were not written down stands by itself, and moves no slope. */
static void a_knot_without_turns_stays(void **state)
{
  (void)state;
  double slope[2] = {0};
  for (int with = 0; with < 2; with++) {
    struct answers answers;
    struct sheet sheet = sheet_begin(HEAD);
    struct be_random random;
    be_random_init(&random, 33, 1);
    for (int i = 0; i < 72; i++) {
      int line = i % 4, k = i / 4 % 2, turns = 3 + i / 8 % 3;
      double y = 4.1 + strength[k] + 0.03 * turns + 0.001 * be_random_normal(&random);
      sheet_row(&sheet, "%s,%d,nylon %d lb,s%d,dry,,,,,,,event,%.12g", knots[k], turns, 10 + line,
                line, exp(y));
      if (with && turns == 4)
        sheet_row(&sheet, "carrick,,nylon %d lb,s%d,dry,,,,,,,event,%.12g", 10 + line, line,
                  exp(4.5 + 0.001 * be_random_normal(&random)));
    }
    open_book(&answers, "factors-no-turns", &sheet);
    ask(&answers, "turns");
    slope[with] = figure(effect(&answers, "turns", "load"), "relative_percent");
    assert_near(figure(effect(&answers, "turns", "load"), "n"), 72, 0);
    assert_int_equal(count_rows(&answers, "model"), with ? 3 : 2);
    answers_close(&answers);
  }
  assert_near(slope[0], 100 * expm1(0.03), 0.05);
  assert_near(slope[1], 100 * expm1(0.03), 0.05);
}

static void words_are_read(void **state)
{
  (void)state;
  unsigned factors = 0;
  struct be_err err = {0};
  assert_int_equal(be_factors_read("turns", &factors, NULL), BE_OK);
  assert_int_equal(be_factors_read("order,soak", &factors, NULL), BE_OK);
  assert_int_equal(factors, 1U << BE_FACTOR_TURNS | 1U << BE_FACTOR_SOAK | 1U << BE_FACTOR_ORDER);
  for (int i = 0; i < 4; i++) {
    const char *const wrong[] = {"", "turn", "turnsoak", "soak,"};
    assert_int_equal(be_factors_read(wrong[i], &factors, &err), BE_WRONG_USE);
    assert_non_null(strstr(err.what, "a factor is turns, soak, lubricant, tyer, speed, length or "
                                     "order, not \""));
  }
}

/* ---- memory fails ---- */

struct trial {
  const struct survey *survey;
  struct be_buf *whole; /* null: write it to text */
  struct be_buf text;
};

static enum be_status attempt(void *context, struct be_err *err)
{
  struct trial *trial = context;
  struct survey survey = *trial->survey;
  struct be_doc *doc = NULL;
  be_buf_init(&trial->text, 1 << 20);
  survey.arena = be_arena_create();
  if (!survey.arena) return be_no_memory(err);
  enum be_status status = be_standings_doc(&survey, &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &trial->text, err);
  if (status == BE_OK && trial->whole && strcmp(trial->text.data, trial->whole->data) != 0)
    status = be_fail(err, BE_BAD_INPUT, "a document that is not whole");
  be_doc_free(doc);
  be_arena_free(survey.arena);
  if (trial->whole) be_buf_free(&trial->text);
  return status;
}

/* Two groups, soaked lines of their own, three tyers: every sentence there is. */
static void bears_the_loss_of_memory(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  static const char *const tyers[] = {"Wren", "Sorrel", "Teal"};
  for (int line = 0; line < 4; line++) {
    for (int i = 0; i < 4; i++)
      sheet_row(&sheet, "none,,%s %d lb,s%d,%s,,,,,,,event,60.5", line / 2 ? "braid" : "nylon",
                10 + line, line, i % 2 ? "soaked" : "dry");
    for (int i = 0; i < 12; i++)
      sheet_row(&sheet, "%s,4,%s %d lb,s%d,%s,,%s,,,,,event,%.6g", knots[i % 2],
                line / 2 ? "braid" : "nylon", 10 + line, line, i / 2 % 2 ? "soaked" : "dry",
                tyers[i % 3], 41.3 + 3.1 * (i % 2) + 0.37 * (i * i % 7) + line);
  }
  const struct be_answering how = {.resamples = 25};
  answers_open(&answers, "factors-memory", &sheet, NULL, &how);
  assert_int_equal(be_factors_read("soak,tyer,turns", &answers.survey.how.factors, NULL), BE_OK);
  struct trial plenty = {.survey = &answers.survey};
  assert_int_equal(attempt(&plenty, NULL), BE_OK);
  assert_non_null(strstr(plenty.text.data, "Soaked rather than dry"));
  assert_non_null(strstr(plenty.text.data, "the 3 of tyer"));
  assert_non_null(strstr(plenty.text.data, "from group to group"));
  struct trial trial = {&answers.survey, &plenty.text, {0}};
  be_fail_loop_bearing(attempt, &trial, 30);
  be_buf_free(&plenty.text);
  answers_close(&answers);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_was_planted_is_found),
      cmocka_unit_test(sentences_say_how_much_and_of_what),
      cmocka_unit_test(a_balanced_effect_is_the_paired_one),
      cmocka_unit_test(numbers_are_stated_by_their_step),
      cmocka_unit_test(many_values_are_a_slope_or_refused),
      cmocka_unit_test(three_tyers_are_told_at_once),
      cmocka_unit_test(what_cannot_be_told_is_refused_by_name),
      cmocka_unit_test(what_hangs_together_with_knots_is_left_out),
      cmocka_unit_test(without_a_model_nothing_is_held_fixed),
      cmocka_unit_test(a_knot_without_turns_stays),
      cmocka_unit_test(words_are_read),
      cmocka_unit_test(bears_the_loss_of_memory),
  };
  return be_tests("app: factors held fixed", tests);
}
