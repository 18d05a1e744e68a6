/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One model for all pulls: what goes in, what is said of the rest, and memory that fails. */
#include "fault/failing.h"
#include "model_books.h"

/* ---- what goes in ---- */

/* Also of a bound alone in its cell: its plain line is that of another knot there. */
static void assert_shares_of_own_lines(const struct survey *survey)
{
  struct be_arena *arena = be_arena_create();
  struct model_sample sample;
  assert_int_equal(be_model_sample(survey, 0, survey->combinations_count, 0, arena, &sample, NULL),
                   BE_OK);
  assert_true(sample.by_share);
  assert_int_equal(sample.n, 24);
  for (size_t i = 0; i < sample.n; i++) {
    const struct be_pull *pull = sample.rows[i].pull;
    int line = (int)strtol(survey->record.lines[pull->line_a].name + strlen("nylon "), NULL, 10);
    assert_near(sample.rows[i].y, log(pull->load_N / plain_N[line - 10]), 1e-12);
    assert_int_equal(sample.rows[i].bound, pull->kind == BE_KIND_BOUND);
  }
  be_arena_free(arena);
}

static void bounds_and_what_stands_apart_are_said(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int line = 0; line < 3; line++) {
    plain_row(&sheet, "nylon", line);
    for (int i = 0; i < 4; i++)
      for (int k = 0; k < 2; k++)
        knot_row(&sheet, knots[k], "nylon", line,
                 k == 0 && (i == 3 || line == 2) ? ",,lower bound" : ",,event",
                 strength[k] + 0.01 * (i * i % 5) + 0.02 * line * (k + 1));
  }
  knot_row(&sheet, "carrick", "nylon", 0, ",,lower bound", -0.1);
  plain_row(&sheet, "nylon", 5);
  for (int i = 0; i < 3; i++) knot_row(&sheet, "delta", "nylon", 5, ",,event", -0.1 - 0.02 * i);
  sheet_row(&sheet, "alpha,nylon 11 lb,other,dry,,,lower bound,51");
  sheet_row(&sheet, "none,nylon 11 lb,other,dry,,,event,66");
  open_book(&answers, "model-bounds", &sheet);
  answer(&answers);
  assert_told(&answers, "6 lower bounds are counted in");
  assert_told(&answers, "Left out: 1 lower bound, without an event on the same spool");
  assert_told(&answers, "Left out: 1 knot that gave lower bounds alone.");
  assert_told(&answers, "Left out: 1 knot that shares no line with these");
  assert_not_told(&answers, "delta");
  assert_near(figure(row_of(&answers, "model_cells", "alpha", "nylon 10 lb"), "lower_bounds"), 1,
              0);
  const char *alpha = knot_row_of(&answers, "nylon, dry", "alpha");
  assert_near(figure(alpha, "n"), 12, 0);
  assert_near(figure(alpha, "tied_in_k"), 2, 0);
  assert_near(figure(row_of(&answers, "model_cells", "alpha", "nylon 12 lb"), "lower_bounds"), 4,
              0);
  assert_shares_of_own_lines(&answers.survey);
  answers_close(&answers);
}

/* Up to a tenth of the pulls: beyond, all are compared by load. */
static void a_few_pulls_without_a_plain_line_are_left_out(void **state)
{
  (void)state;
  for (int few = 2; few <= 4; few += 2) {
    struct answers answers;
    struct sheet sheet = sheet_begin(HEAD);
    for (int i = 0; i < 24; i++) {
      if (i < 3) plain_row(&sheet, "nylon", i);
      knot_row(&sheet, knots[i % 2], "nylon", i / 2 % 3, ",,event",
               strength[i % 2] + 0.01 * (i * i % 7));
    }
    for (int i = 0; i < few; i++)
      sheet_row(&sheet, "%s,nylon 19 lb,s9,dry,,,event,%d", knots[i % 2], 51 + i);
    open_book(&answers, "model-few-without", &sheet);
    answer(&answers);
    if (few == 2) {
      assert_told(&answers, "Left out: 2 pulls without a plain line to be divided by.");
      assert_told(&answers, "By one model for all 24 pulls of nylon, dry");
      assert_not_told(&answers, "nylon 19 lb");
    } else {
      assert_told(&answers, "By one model for all 28 pulls of nylon, dry");
      assert_told(&answers, "Of loads, since not every pull has a plain line");
      assert_not_told(&answers, "without a plain line to be divided by");
    }
    answers_close(&answers);
  }
}

/* Two sets of knots in one group, each on lines of its own. */
static void sets_that_share_nothing_stand_by_themselves(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int line = 0; line < 5; line++)
    for (int k = 0; k < 2; k++)
      for (int i = 0; i < 3; i++)
        knot_row(&sheet, knots[line < 2 ? k : 2 + k], "nylon", line, ",,",
                 strength[k] + 0.01 * (i * i + line) - 0.013 * i * k);
  open_book(&answers, "model-sets", &sheet);
  answer(&answers);
  assert_told(&answers, "By one model for all 18 pulls of nylon, dry, borrowing strength over 3 ");
  assert_told(&answers,
              "By one model for all 12 pulls of nylon, dry (set 2), borrowing strength over 2 ");
  assert_near(figure(knot_row_of(&answers, "nylon, dry", "carrick"), "n"), 9, 0);
  assert_near(figure(knot_row_of(&answers, "nylon, dry (set 2)", "bravo"), "n"), 6, 0);
  answers_close(&answers);
}

static void say_nothing_of(const char *name, struct sheet *sheet)
{
  struct answers answers;
  open_book(&answers, name, sheet);
  answer(&answers);
  assert_not_told(&answers, "one model");
  assert_null(find_table(&answers, "model"));
  answers_close(&answers);
}

static void too_little_says_nothing(void **state)
{
  (void)state;
  struct sheet sheet = sheet_begin(HEAD); /* one line */
  for (int i = 0; i < 4; i++)
    for (int k = 0; k < 3; k++) knot_row(&sheet, knots[k], "nylon", 1, ",,", -0.2 - 0.03 * i * k);
  say_nothing_of("model-one-line", &sheet);
  sheet = sheet_begin(HEAD); /* one knot */
  for (int i = 0; i < 8; i++) knot_row(&sheet, "alpha", "nylon", i / 2, ",,", -0.2 - 0.03 * i);
  say_nothing_of("model-one-knot", &sheet);
  sheet = sheet_begin(HEAD); /* each knot on its own line */
  for (int i = 0; i < 8; i++) knot_row(&sheet, knots[i % 2], "nylon", i % 2, ",,", -0.2 - 0.03 * i);
  say_nothing_of("model-no-shared-line", &sheet);
  sheet = sheet_begin(HEAD); /* lower bounds alone */
  for (int i = 0; i < 8; i++)
    knot_row(&sheet, knots[i % 2], "nylon", i / 4, ",,lower bound", -0.2 - 0.03 * i);
  say_nothing_of("model-all-bounds", &sheet);
  sheet = sheet_begin(HEAD); /* plain line */
  plain_row(&sheet, "nylon", 2);
  say_nothing_of("model-plain", &sheet);
}

static void what_does_not_scatter_is_refused_in_words(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin("knot,line A,soak,load (N)");
  for (int i = 0; i < 8; i++)
    sheet_row(&sheet, "%s,nylon %d lb,dry,%d", knots[i % 2], 10 + i / 4, i % 2 ? 41 : 47);
  open_book(&answers, "model-no-scatter", &sheet);
  answer(&answers);
  assert_told(&answers, "No model of nylon, dry: nothing scatters about");
  assert_null(find_table(&answers, "model"));
  answers_close(&answers);
}

static void too_few_resamples_leave_the_ranks_out(void **state)
{
  (void)state;
  struct answers answers;
  gap(&answers, "model-few-draws");
  answers.survey.how.resamples = 3;
  answer(&answers);
  assert_told(&answers, "whether it can be separated is not known");
  assert_told(&answers, "Not ranked: ");
  assert_true(isnan(figure(knot_row_of(&answers, "nylon, dry", "alpha"), "rank")));
  answers_close(&answers);
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
  struct be_doc *doc = NULL, *section = be_doc_create("model", "Model");
  be_buf_init(&trial->text, 1 << 20);
  survey.arena = be_arena_create();
  if (!survey.arena || !section) {
    be_doc_free(section);
    be_arena_free(survey.arena);
    return be_no_memory(err);
  }
  enum be_status status =
      be_answer_done(&survey, section, be_say_model(section, &survey, err), &doc, err);
  if (status == BE_OK) status = be_doc_text(doc, 0, &trial->text, err);
  if (status == BE_OK && trial->whole && strcmp(trial->text.data, trial->whole->data) != 0)
    status = be_fail(err, BE_BAD_INPUT, "a section that is not whole");
  be_doc_free(doc);
  be_arena_free(survey.arena);
  if (trial->whole) be_buf_free(&trial->text);
  return status;
}

/* Threads and a search that is cut short may be done without; words may not. */
static void bears_the_loss_of_memory(void **state)
{
  (void)state;
  struct answers answers;
  struct sheet sheet = sheet_begin(HEAD);
  for (int line = 0; line < 2; line++) {
    plain_row(&sheet, "nylon", line);
    for (int i = 0; i < 6; i++)
      knot_row(&sheet, knots[i % 2], "nylon", line, i == 4 ? "mon,,lower bound" : "tue,,event",
               strength[i % 2] + 0.013 * (i * i % 7) - 0.03 * line);
  }
  const struct be_answering how = {.resamples = 25};
  answers_open(&answers, "model-memory", &sheet, NULL, &how);
  struct trial plenty = {.survey = &answers.survey};
  assert_int_equal(attempt(&plenty, NULL), BE_OK);
  assert_non_null(strstr(plenty.text.data, "By one model"));
  assert_non_null(strstr(plenty.text.data, "lower bound"));
  struct trial trial = {&answers.survey, &plenty.text, {0}};
  be_fail_loop_bearing(attempt, &trial, 30);
  be_buf_free(&plenty.text);
  answers_close(&answers);
}

/* A day that crosses everything is in the model of 9,996 pulls, and out of that of 10,008. */
static void days_are_left_out_of_large_books(void **state)
{
  (void)state;
  for (int large = 0; large < 2; large++) {
    struct answers answers;
    struct sheet sheet = sheet_begin(HEAD);
    struct be_random random;
    be_random_init(&random, 11, (uint64_t)large);
    for (int line = 0; line < 2; line++) plain_row(&sheet, "nylon", line);
    for (int i = 0; i < (large ? 834 : 833) * 12; i++) {
      char more[40];
      snprintf(more, sizeof more, "day %d,,event", i / 4 % 3);
      knot_row(&sheet, knots[i % 2], "nylon", i / 2 % 2, more,
               strength[i % 2] + 0.05 * be_random_normal(&random));
    }
    open_book(&answers, "model-large", &sheet);
    answer(&answers);
    const char *words = "day (with more than 10,000 pulls it would take too long)";
    if (large) assert_told(&answers, words);
    else assert_not_told(&answers, words);
    answers_close(&answers);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bounds_and_what_stands_apart_are_said),
      cmocka_unit_test(a_few_pulls_without_a_plain_line_are_left_out),
      cmocka_unit_test(sets_that_share_nothing_stand_by_themselves),
      cmocka_unit_test(too_little_says_nothing),
      cmocka_unit_test(what_does_not_scatter_is_refused_in_words),
      cmocka_unit_test(too_few_resamples_leave_the_ranks_out),
      cmocka_unit_test(days_are_left_out_of_large_books),
      cmocka_unit_test(bears_the_loss_of_memory),
  };
  return be_tests("app: one model, what goes in", tests);
}
