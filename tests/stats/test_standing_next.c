/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fault/failing.h"
#include "stats/number/number.h"
#include "stats/stats.h"
#include "test.h"

enum { KNOTS = 4, CELLS = 10, LIST = 60 };

/* Four knots over two spools: cells 0 to 3 on the first, 4 to 7 on the second, 8 and 9 the plain
 * lines. Each knot's figure is the mean over both of knot less plain line. The last knot was
 * only tied on the first, so that the plain lines do not cancel for it. */
struct grid {
  double value[KNOTS], weights[KNOTS * CELLS];
  struct be_next_cell cell[CELLS];
  struct be_next_state state;
};

static void lay(struct grid *grid)
{
  static const double value[KNOTS] = {-0.08, -0.11, -0.31, -0.13};
  memset(grid, 0, sizeof *grid);
  for (size_t k = 0; k < KNOTS; k++) {
    bool one = k == 3;
    grid->value[k] = value[k];
    grid->weights[k * CELLS + k] = one ? 1 : 0.5;
    grid->weights[k * CELLS + 8] = one ? -1 : -0.5;
    if (one) continue;
    grid->weights[k * CELLS + 4 + k] = 0.5;
    grid->weights[k * CELLS + 9] = -0.5;
  }
  for (size_t c = 0; c < CELLS; c++)
    grid->cell[c] = (struct be_next_cell){c < 8 ? 0.07 + 0.004 * (double)c : 0.035, 3 + c % 3, 2,
                                          40, c < 8 ? 6.5 : 3.5};
  grid->state = (struct be_next_state){KNOTS, CELLS, grid->value, grid->weights, grid->cell, 23};
}

static const struct be_question first_two = {BE_QUESTION_TOP, 2, 0, 0};
static const struct be_question pair = {BE_QUESTION_PAIR, 0, 0, 1};

static size_t plan(const struct grid *grid, const struct be_question *question, double minutes,
                   size_t most, struct be_next *list)
{
  size_t count = 99;
  assert_int_equal(be_next_list(&grid->state, question, minutes, most, list, &count, NULL), BE_OK);
  return count;
}

static double wrong_now(const struct grid *grid, const struct be_question *question)
{
  double wrong = -1;
  assert_int_equal(be_next_wrong(&grid->state, question, &wrong, NULL), BE_OK);
  return wrong;
}

/* ---- slow references ---- */

static double variance_at(const struct grid *grid, const size_t *n, size_t a, size_t b)
{
  double sum = 0;
  for (size_t c = 0; c < CELLS; c++) {
    double w = grid->weights[a * CELLS + c] - grid->weights[b * CELLS + c];
    if (w != 0) sum += w * w * grid->cell[c].deviation * grid->cell[c].deviation / (double)n[c];
  }
  return sum;
}

/* Over pairs that the question hangs on: what they come to; or with the gaps as they are likely
 * from the start, their sum, which is what is descended. */
static double slow_wrong(const struct grid *grid, const struct be_question *question,
                         const size_t *n, const size_t *start)
{
  double sum = 0, right = 1;
  for (size_t a = 0; a < KNOTS; a++)
    for (size_t b = 0; b < KNOTS; b++) {
      size_t above_a = 0, above_b = 0;
      for (size_t k = 0; k < KNOTS; k++) {
        above_a += grid->value[k] > grid->value[a];
        above_b += grid->value[k] > grid->value[b];
      }
      bool asked = question->kind == BE_QUESTION_PAIR
                       ? a == question->a && b == question->b
                       : above_a < question->top && above_b >= question->top;
      if (!asked) continue;
      double gap = fabs(grid->value[a] - grid->value[b]);
      if (start) gap = hypot(gap, sqrt(variance_at(grid, start, a, b)));
      double chance = be_t_upper(gap / sqrt(variance_at(grid, n, a, b)), grid->state.df);
      sum += chance, right *= 1 - chance;
    }
  return start ? sum : 1 - right;
}

/* Every pull by trying all cells from the beginning. */
static void the_list_agrees_with_trying_all(void **state)
{
  (void)state;
  const struct be_question questions[] = {
      first_two, pair, {BE_QUESTION_TOP, 1, 0, 0}, {BE_QUESTION_PAIR, 0, 3, 2}};
  for (size_t q = 0; q < 4; q++) {
    struct grid grid;
    struct be_next list[LIST];
    size_t n[CELLS], start[CELLS];
    lay(&grid);
    for (size_t c = 0; c < CELLS; c++) n[c] = start[c] = grid.cell[c].n;
    double before = slow_wrong(&grid, &questions[q], n, NULL);
    assert_near(wrong_now(&grid, &questions[q]), before, 1e-14);
    size_t count = plan(&grid, &questions[q], INFINITY, 30, list);
    assert_int_equal(count, 30);
    for (size_t i = 0; i < count; i++) {
      size_t best = 0;
      double most = -1, now = slow_wrong(&grid, &questions[q], n, start);
      for (size_t c = 0; c < CELLS; c++) {
        n[c]++;
        double gain = (now - slow_wrong(&grid, &questions[q], n, start)) / grid.cell[c].cost;
        n[c]--;
        /* More by more than rounding. */
        if (gain > most + 1e-14) most = gain, best = c;
      }
      assert_int_equal(list[i].cell, best);
      n[best]++;
      double wrong = slow_wrong(&grid, &questions[q], n, NULL);
      assert_true(list[i].n == n[best] && !list[i].minimum);
      assert_near(list[i].wrong, wrong, 1e-13);
      assert_near(list[i].gain, before - wrong, 1e-13);
      before = wrong;
    }
  }
}

/* Two knots: no other way to spend the specimens leaves a smaller variance. */
static void a_pair_is_split_as_well_as_can_be(void **state)
{
  (void)state;
  static const double value[2] = {0.4, 0.3}, weights[4] = {1, 0, 0, 1};
  const struct be_next_cell cell[2] = {{0.05, 2, 2, 1000, 4}, {0.13, 2, 2, 1000, 4}};
  const struct be_next_state two = {2, 2, value, weights, cell, INFINITY};
  for (size_t most = 1; most < LIST; most++) {
    struct be_next list[LIST];
    size_t count, split = 0;
    assert_int_equal(be_next_list(&two, &pair, INFINITY, most, list, &count, NULL), BE_OK);
    assert_int_equal(count, most);
    for (size_t i = 0; i < count; i++) split += list[i].cell == 0;
    double least = INFINITY;
    for (size_t i = 0; i <= most; i++) {
      double a = 2 + (double)i, b = 2 + (double)(most - i);
      least = fmin(least, 0.05 * 0.05 / a + 0.13 * 0.13 / b);
    }
    double a = 2 + (double)split, b = 2 + (double)(most - split);
    double variance = 0.05 * 0.05 / a + 0.13 * 0.13 / b;
    assert_near(variance, least, 1e-12 * least);
    assert_near(list[most - 1].wrong, be_normal_upper(0.1 / sqrt(variance)), 1e-14);
    /* Neyman: in proportion to the deviations, to one specimen. */
    if (most > 20) assert_near(a / (a + b), 0.05 / 0.18, 1.0 / (a + b));
  }
}

/* Three knots, twelve more specimens: within a twentieth of the best of all 91 ways to spend
 * them, and far better than equal shares. */
static void the_best_of_three_is_found_nearly_as_well_as_can_be(void **state)
{
  (void)state;
  static const double value[3] = {0.4, 0.33, 0.1}, weights[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};
  static const struct be_question best = {BE_QUESTION_TOP, 1, 0, 0};
  const struct be_next_cell cell[3] = {
      {0.06, 4, 2, 99, 1}, {0.08, 4, 2, 99, 1}, {0.07, 4, 2, 99, 1}};
  const struct be_next_state three = {3, 3, value, weights, cell, INFINITY};
  struct be_next list[12];
  size_t count;
  assert_int_equal(be_next_list(&three, &best, INFINITY, 12, list, &count, NULL), BE_OK);
  double least = 1, equal = 0;
  for (size_t i = 0; i <= 12; i++)
    for (size_t j = 0; i + j <= 12; j++) {
      double first = 0.06 * 0.06 / (4 + (double)i);
      double second = first + 0.08 * 0.08 / (4 + (double)j);
      double third = first + 0.07 * 0.07 / (16 - (double)(i + j));
      double wrong =
          1 - be_normal_upper(-0.07 / sqrt(second)) * be_normal_upper(-0.3 / sqrt(third));
      least = fmin(least, wrong);
      if (i == 4 && j == 4) equal = wrong;
    }
  assert_true(list[11].wrong >= least - 1e-15 && list[11].wrong < 1.05 * least);
  assert_true(list[11].wrong < 0.75 * equal);
}

/* The mean square with four more pulls' worth of the pooled one. */
static void a_deviation_is_drawn_towards_that_of_all(void **state)
{
  (void)state;
  const struct be_summary own = {6, 3.1, 0.13, NAN, NAN}, one = {1, 3.1, NAN, 3.1, 3.1},
                          none = {0, NAN, NAN, NAN, NAN}, level = {5, 3.1, 0, 3.1, 3.1};
  double square = (4 * 0.07 * 0.07 + 5 * 0.13 * 0.13) / 9;
  assert_near(be_next_deviation(&own, 0.07), sqrt(square), 1e-15);
  assert_near(be_next_deviation(&one, 0.07), 0.07, 0);
  assert_near(be_next_deviation(&none, 0.07), 0.07, 0);
  assert_near(be_next_deviation(&level, 0.07), 0.07 * sqrt(0.5), 1e-15);
}

/* The chance told is no less than that drawn from the same distribution: independent knots, and
 * some that share a plain line. */
static void the_chance_of_a_wrong_answer_is_no_less_than_drawn(void **state)
{
  (void)state;
  struct grid grid;
  double covariance[KNOTS * KNOTS];
  lay(&grid);
  for (size_t a = 0; a < KNOTS; a++)
    for (size_t b = 0; b < KNOTS; b++) {
      covariance[a * KNOTS + b] = 0;
      for (size_t c = 0; c < CELLS; c++) {
        const struct be_next_cell *cell = &grid.cell[c];
        covariance[a * KNOTS + b] += grid.weights[a * CELLS + c] * grid.weights[b * CELLS + c] *
                                     cell->deviation * cell->deviation / (double)cell->n;
      }
    }
  const struct be_standing standing = {KNOTS, grid.value, covariance, grid.state.df};
  const struct be_resampling by = {8, 100000, 0.95, 0};
  const struct be_question best = {BE_QUESTION_TOP, 1, 0, 0};
  struct be_chance chances[KNOTS];
  assert_int_equal(be_chances(&standing, 1, &by, chances, NULL), BE_OK);
  double drawn = 1 - chances[0].best, wrong = wrong_now(&grid, &best);
  assert_true(wrong >= drawn - 4.5 * chances[0].best_error);
  /* And not far above it: two rivals matter, which go together by a half. */
  assert_true(wrong < drawn + 0.1);
}

/* ---- what must not be tied ---- */

/* Knots 0 and 1 share their plain lines: a pull of those tells nothing of the two. */
static void what_cancels_is_never_tied(void **state)
{
  (void)state;
  struct grid grid;
  struct be_next list[LIST];
  lay(&grid);
  grid.cell[8].n = grid.cell[9].n = 1; /* below its least, but not needed */
  size_t count = plan(&grid, &pair, INFINITY, LIST, list);
  assert_int_equal(count, LIST);
  for (size_t i = 0; i < count; i++)
    assert_true(list[i].cell % 4 < 2 && list[i].cell < 6 && !list[i].minimum);
  /* For the first two it is: of 8 alone, because all others but the fourth share 9. */
  count = plan(&grid, &first_two, INFINITY, LIST, list);
  assert_true(list[0].minimum && list[1].minimum && !list[2].minimum);
  size_t plain = 0;
  for (size_t i = 2; i < count; i++) plain += list[i].cell >= 8;
  assert_true(plain > 0);
}

static void minutes_and_line_on_hand_are_kept_to(void **state)
{
  (void)state;
  struct grid grid;
  struct be_next list[LIST];
  lay(&grid);
  size_t count = plan(&grid, &first_two, 47, LIST, list);
  double minutes = 0;
  size_t n[CELLS];
  for (size_t c = 0; c < CELLS; c++) n[c] = grid.cell[c].n;
  for (size_t i = 0; i < count; i++) {
    minutes += grid.cell[list[i].cell].cost;
    assert_int_equal(list[i].n, ++n[list[i].cell]);
  }
  assert_true(minutes <= 47 && minutes > 47 - 3.5);
  assert_int_equal(plan(&grid, &first_two, 3.4, LIST, list), 0);
  assert_int_equal(plan(&grid, &first_two, 0, LIST, list), 0);
  assert_int_equal(plan(&grid, &first_two, INFINITY, 0, list), 0);
  for (size_t c = 0; c < CELLS; c++) grid.cell[c].most = grid.cell[c].n + (c == 1);
  count = plan(&grid, &first_two, INFINITY, LIST, list);
  assert_true(count == 1 && list[0].cell == 1);
  /* What is cheap is tied sooner, all else being alike. */
  lay(&grid);
  grid.cell[0] = grid.cell[1] = grid.cell[4] = grid.cell[5] =
      (struct be_next_cell){0.07, 5, 2, 40, 6};
  assert_int_equal(plan(&grid, &pair, INFINITY, 1, list), 1);
  assert_int_equal(list[0].cell, 0);
  grid.cell[5].cost = 5;
  assert_int_equal(plan(&grid, &pair, INFINITY, 1, list), 1);
  assert_int_equal(list[0].cell, 5);
}

/* The furthest from any pull first, then the cheaper; and no gain is told of them. */
static void minimums_come_first(void **state)
{
  (void)state;
  struct grid grid;
  struct be_next list[LIST];
  lay(&grid);
  grid.value[2] = NAN;
  grid.cell[6].n = 0;
  grid.cell[3].n = 1;
  grid.cell[8].n = 1;
  size_t count = plan(&grid, &first_two, INFINITY, 7, list);
  static const size_t cells[] = {6, 8, 3, 6};
  assert_int_equal(count, 7);
  for (size_t i = 0; i < 4; i++) {
    assert_int_equal(list[i].cell, cells[i]);
    assert_true(list[i].minimum && isnan(list[i].gain));
  }
  assert_true(list[0].n == 1 && list[3].n == 2);
  /* Known then are 0, 1 and 3 alone: nothing of the third is planned beyond its minimum. */
  for (size_t i = 4; i < 7; i++)
    assert_true(!list[i].minimum && list[i].gain > 0 && list[i].cell % 4 != 2);
  assert_true(list[3].wrong < list[0].wrong);
  /* Where too few are known only minimums are listed. */
  grid.value[1] = NAN;
  count = plan(&grid, &first_two, INFINITY, LIST, list);
  assert_true(count == 4 && isnan(list[3].wrong));
  assert_true(isnan(wrong_now(&grid, &first_two)));
  assert_true(isnan(wrong_now(&grid, &pair)));
}

/* ---- the same for the same ---- */

/* Knots in another order, all eight times as large, or moved: the same list. */
static void order_scale_and_offset_do_not_show(void **state)
{
  (void)state;
  struct grid grid, other;
  struct be_next list[LIST], turned[LIST];
  lay(&grid);
  lay(&other);
  for (size_t k = 0; k < KNOTS; k++) {
    size_t from = (k + 3) % KNOTS;
    other.value[k] = 8 * grid.value[from];
    memcpy(other.weights + k * CELLS, grid.weights + from * CELLS, CELLS * sizeof(double));
  }
  for (size_t c = 0; c < CELLS; c++) other.cell[c].deviation *= 8;
  size_t count = plan(&grid, &first_two, 200, LIST, list);
  assert_int_equal(plan(&other, &first_two, 200, LIST, turned), count);
  assert_true(count > 30);
  for (size_t i = 0; i < count; i++) {
    assert_int_equal(list[i].cell, turned[i].cell);
    assert_near(list[i].wrong, turned[i].wrong, 1e-15);
  }
  const struct be_question swapped = {BE_QUESTION_PAIR, 0, 1, 0};
  count = plan(&grid, &pair, 100, LIST, list);
  assert_int_equal(plan(&grid, &swapped, 100, LIST, turned), count);
  for (size_t i = 0; i < count; i++) assert_int_equal(list[i].cell, turned[i].cell);
}

/* Level knots are tied on, though no gain by the values seen is in sight. */
static void level_knots_are_tied_on(void **state)
{
  (void)state;
  struct grid grid;
  struct be_next list[LIST];
  lay(&grid);
  grid.value[1] = grid.value[0];
  assert_near(wrong_now(&grid, &pair), 0.5, 1e-15);
  assert_int_equal(plan(&grid, &pair, INFINITY, 5, list), 5);
  for (size_t i = 0; i < 5; i++) assert_true(list[i].gain == 0 && list[i].wrong == 0.5);
  for (size_t k = 0; k < KNOTS; k++) grid.value[k] = 0.2;
  assert_near(wrong_now(&grid, &first_two), 1 - 1.0 / 16, 1e-15);
  /* Two names for the same figure: nothing to gain, nothing to divide by. */
  memcpy(grid.weights + CELLS, grid.weights, CELLS * sizeof(double));
  assert_int_equal(plan(&grid, &pair, INFINITY, 5, list), 0);
  assert_near(wrong_now(&grid, &pair), 0.5, 0);
  grid.value[1] = 0.3;
  assert_near(wrong_now(&grid, &pair), 0, 0);
}

/* ---- refused ---- */

static enum be_status refuse(const struct grid *grid, const struct be_question *question,
                             double minutes, const char *what)
{
  struct be_next list[1];
  size_t count = 99;
  struct be_err err;
  enum be_status status = be_next_list(&grid->state, question, minutes, 1, list, &count, &err);
  assert_true(status != BE_OK && count == 0);
  assert_non_null(strstr(err.what, what));
  if (!isnan(minutes)) {
    double wrong;
    assert_int_equal(be_next_wrong(&grid->state, question, &wrong, NULL), status);
  }
  return status;
}

static void what_cannot_be_planned_is_refused(void **state)
{
  (void)state;
  struct grid grid;
  lay(&grid);
  static const struct be_question bad[] = {{BE_QUESTION_TOP, 0, 0, 0},
                                           {BE_QUESTION_TOP, 4, 0, 0},
                                           {BE_QUESTION_PAIR, 0, 2, 2},
                                           {BE_QUESTION_PAIR, 0, 2, 4},
                                           {BE_QUESTION_PAIR, 0, 4, 2}};
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
    assert_int_equal(refuse(&grid, &bad[i], 9, "knots"), BE_WRONG_USE);
  assert_int_equal(refuse(&grid, &pair, NAN, "minutes"), BE_WRONG_USE);
  static const double not_above_0[] = {0, -1, NAN, INFINITY};
  for (size_t i = 0; i < 4; i++) {
    grid.cell[7].deviation = not_above_0[i];
    assert_int_equal(refuse(&grid, &pair, 9, "deviation of cell 8"), BE_BAD_INPUT);
    grid.cell[7].deviation = 0.07;
    grid.cell[2].cost = not_above_0[i];
    assert_int_equal(refuse(&grid, &pair, 9, "cell 3 takes"), BE_BAD_INPUT);
    grid.cell[2].cost = 5;
    grid.state.df = not_above_0[i];
    if (i < 3) assert_int_equal(refuse(&grid, &pair, 9, "degrees of freedom"), BE_BAD_INPUT);
    grid.state.df = 23;
  }
  grid.weights[2 * CELLS + 1] = NAN;
  assert_int_equal(refuse(&grid, &pair, 9, "weight of cell 2 in knot 3"), BE_BAD_INPUT);
  grid.weights[2 * CELLS + 1] = 0;
  grid.value[1] = INFINITY;
  assert_int_equal(refuse(&grid, &pair, 9, "value of knot 2"), BE_BAD_INPUT);
  grid.state.knots = 1001;
  assert_int_equal(refuse(&grid, &pair, 9, "at most 1000 knots"), BE_TOO_LARGE);
  grid.state.knots = 4;
  grid.state.cells = 100001;
  assert_int_equal(refuse(&grid, &pair, 9, "100000 cells"), BE_TOO_LARGE);
}

static enum be_status plan_once(void *context, struct be_err *err)
{
  struct be_next list[3];
  size_t count;
  double wrong;
  enum be_status status = be_next_list(context, &first_two, INFINITY, 3, list, &count, err);
  if (status == BE_OK) return be_next_wrong(context, &first_two, &wrong, err);
  assert_int_equal(count, 0);
  return status;
}

static void without_memory(void **state)
{
  (void)state;
  struct grid grid;
  lay(&grid);
  be_fail_loop(plan_once, &grid.state, 10);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_list_agrees_with_trying_all),
      cmocka_unit_test(a_pair_is_split_as_well_as_can_be),
      cmocka_unit_test(the_best_of_three_is_found_nearly_as_well_as_can_be),
      cmocka_unit_test(the_chance_of_a_wrong_answer_is_no_less_than_drawn),
      cmocka_unit_test(a_deviation_is_drawn_towards_that_of_all),
      cmocka_unit_test(what_cancels_is_never_tied),
      cmocka_unit_test(minutes_and_line_on_hand_are_kept_to),
      cmocka_unit_test(minimums_come_first),
      cmocka_unit_test(order_scale_and_offset_do_not_show),
      cmocka_unit_test(level_knots_are_tied_on),
      cmocka_unit_test(what_cannot_be_planned_is_refused),
      cmocka_unit_test(without_memory),
  };
  return be_tests("stats: what to tie next", tests);
}
