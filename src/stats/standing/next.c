/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to tie next.
 *
 * Of each pair (i of the first places, j of the others) the chance to stand the wrong way
 * round is p = P(T > (value i - value j) / se). A wrong answer has the chance 1 - prod (1 - p) at
 * most where the pairs' differences go together, as they do when they share a knot (D. Slepian,
 * Bell Syst. Tech. J. 41, 1962; for t by averaging over the scale); for many pairs far sharper than
 * the sum, and never above 1. What is descended is the sum: one minus the approximate probability
 * of correct selection of Chen, Lin, Yucesan and Chick (Discrete Event Dyn. Syst. 10, 2000), for
 * the first m as Chen, He, Fu and Lee (INFORMS J. Comput. 20, 2008). Their closed-form shares (n_i
 * in proportion to the square of deviation over gap) want knots that do not hang together and ask
 * for one boundary; here a pull of a plain line serves many knots and costs another time, so the
 * sum itself is descended, one pull at a time. The knowledge gradient (Frazier, Powell and Dayanik,
 * SIAM J. Control Optim. 47, 2008) was not taken: the chance that one pull turns an answer over is
 * next to nothing when some are needed, and says nothing then.
 *
 * A gap seen is not the true one: with few pulls a strong knot that was unlucky would never be
 * tied again, nor would two knots that happen to be level. So a pull is chosen by the gap's root
 * mean square over what it may truly be, sqrt(gap^2 + se^2), se as it stands; what is told is by
 * the gap seen. In bench/bench_next.c that saves up to 11 of 100 specimens more than choosing
 * by the gap seen. */
#include "stats/number/number.h"
#include "stats/standing/inside.h"

#include <math.h>

enum { CELLS_MAX = 100000, WEIGHTS_MAX = 10000000 };
/* Cancelled to this share of the variance, what is left is rounding. */
static const double NO_VARIANCE = 1e-12;

struct gap {
  size_t a, b;
  double seen, likely; /* value a - value b; the size it is taken to have */
  double variance;
  double chance, chance_likely;
};

struct plan {
  const struct be_next_state *state;
  const struct be_question *question;
  struct gap *gaps;
  size_t count;
  size_t *n;     /* of each cell, with what is planned */
  bool *bearing; /* whether the cell bears on the question */
};

double be_next_deviation(const struct be_summary *own, double pooled)
{
  if (own->n < 2) return pooled;
  double df = (double)(own->n - 1);
  return sqrt((BE_NEXT_DRAWN * pooled * pooled + df * own->sd * own->sd) / (BE_NEXT_DRAWN + df));
}

static double weight(const struct be_next_state *state, size_t knot, size_t cell)
{
  return state->weights[knot * state->cells + cell];
}

static bool known(const struct be_next_state *state, size_t knot)
{
  if (isnan(state->value[knot])) return false;
  for (size_t c = 0; c < state->cells; c++)
    if (weight(state, knot, c) != 0 && state->cell[c].n == 0) return false;
  return true;
}

static double chance_of(double gap, double variance, double df)
{
  if (variance > 0) return be_t_upper(gap / sqrt(variance), df);
  return gap > 0 ? 0 : 0.5;
}

/* ---- the gaps that the question hangs on ---- */

static double variance_of(const struct be_next_state *state, size_t a, size_t b)
{
  double sum = 0, all = 0;
  for (size_t c = 0; c < state->cells; c++) {
    const struct be_next_cell *cell = &state->cell[c];
    double wa = weight(state, a, c), wb = weight(state, b, c);
    if (wa == 0 && wb == 0) continue;
    double each = cell->deviation * cell->deviation / (double)cell->n;
    sum += (wa - wb) * (wa - wb) * each;
    all += (wa * wa + wb * wb) * each;
  }
  return sum > NO_VARIANCE * all ? sum : 0;
}

static void add_gap(struct plan *plan, size_t a, size_t b)
{
  const struct be_next_state *state = plan->state;
  struct gap *gap = &plan->gaps[plan->count++];
  *gap = (struct gap){a, b, fabs(state->value[a] - state->value[b]), 0, 0, 0, 0};
  gap->variance = variance_of(state, a, b);
  gap->likely = sqrt(gap->seen * gap->seen + gap->variance);
  gap->chance = chance_of(gap->seen, gap->variance, state->df);
  gap->chance_likely = chance_of(gap->likely, gap->variance, state->df);
}

/* Fills gaps; none when the question cannot be answered yet. first, rest: knots. */
static void find_gaps(struct plan *plan, double *key, size_t *order)
{
  const struct be_next_state *state = plan->state;
  const struct be_question *question = plan->question;
  if (question->kind == BE_QUESTION_PAIR) {
    if (known(state, question->a) && known(state, question->b))
      add_gap(plan, question->a, question->b);
    return;
  }
  size_t count = 0;
  for (size_t k = 0; k < state->knots; k++) {
    bool is_known = known(state, k);
    key[k] = is_known ? -state->value[k] : INFINITY;
    count += is_known;
  }
  if (count <= question->top) return;
  be_order(key, state->knots, order);
  for (size_t i = 0; i < question->top; i++)
    for (size_t j = question->top; j < count; j++) add_gap(plan, order[i], order[j]);
}

static double wrong_of(const struct plan *plan)
{
  double sum = 0;
  for (size_t i = 0; i < plan->count; i++) sum += log1p(-plan->gaps[i].chance);
  return plan->count ? -expm1(sum) : NAN;
}

/* A cell that all knots asked for have with one weight cancels. */
static bool bears(const struct be_next_state *state, const struct be_question *question, size_t c)
{
  if (question->kind == BE_QUESTION_PAIR)
    return weight(state, question->a, c) != weight(state, question->b, c);
  for (size_t k = 1; k < state->knots; k++)
    if (weight(state, k, c) != weight(state, 0, c)) return true;
  return false;
}

/* ---- one pull at a time ---- */

/* How much of a gap's variance one more pull of a cell takes away. */
static double taken(const struct plan *plan, const struct gap *gap, size_t c)
{
  double w = weight(plan->state, gap->a, c) - weight(plan->state, gap->b, c);
  if (w == 0) return 0;
  double n = (double)plan->n[c], deviation = plan->state->cell[c].deviation;
  return fmin(w * w * deviation * deviation / (n * (n + 1)), gap->variance);
}

static double gain_of(const struct plan *plan, size_t c)
{
  double gain = 0;
  for (size_t i = 0; i < plan->count; i++) {
    const struct gap *gap = &plan->gaps[i];
    double less = taken(plan, gap, c);
    if (less > 0)
      gain += gap->chance_likely - chance_of(gap->likely, gap->variance - less, plan->state->df);
  }
  return gain;
}

static bool affordable(const struct plan *plan, size_t c, double minutes)
{
  const struct be_next_cell *cell = &plan->state->cell[c];
  return plan->bearing[c] && plan->n[c] < cell->most && cell->cost <= minutes;
}

/* The cell furthest from any pull, of those below their least; cells if there is none. */
static size_t first_below_least(const struct plan *plan, double minutes)
{
  const struct be_next_cell *cell = plan->state->cell;
  size_t chosen = plan->state->cells;
  for (size_t c = 0; c < plan->state->cells; c++) {
    if (!affordable(plan, c, minutes) || plan->n[c] >= cell[c].least) continue;
    if (chosen == plan->state->cells || plan->n[c] < plan->n[chosen] ||
        (plan->n[c] == plan->n[chosen] && cell[c].cost < cell[chosen].cost))
      chosen = c;
  }
  return chosen;
}

static size_t greatest_gain(const struct plan *plan, double minutes)
{
  size_t chosen = plan->state->cells;
  double most = 0;
  for (size_t c = 0; c < plan->state->cells; c++) {
    if (!affordable(plan, c, minutes) || plan->n[c] == 0) continue;
    double gain = gain_of(plan, c) / plan->state->cell[c].cost;
    if (gain > most) most = gain, chosen = c;
  }
  return chosen;
}

static void tie(struct plan *plan, size_t c)
{
  double df = plan->state->df;
  for (size_t i = 0; i < plan->count && plan->n[c] > 0; i++) {
    struct gap *gap = &plan->gaps[i];
    double less = taken(plan, gap, c);
    if (less == 0) continue;
    gap->variance -= less;
    gap->chance = chance_of(gap->seen, gap->variance, df);
    gap->chance_likely = chance_of(gap->likely, gap->variance, df);
  }
  plan->n[c]++;
}

static size_t fill_list(struct plan *plan, double minutes, size_t most, struct be_next *list)
{
  for (size_t i = 0; i < most; i++) {
    size_t c = first_below_least(plan, minutes);
    bool minimum = c < plan->state->cells;
    if (!minimum) c = greatest_gain(plan, minutes);
    if (c == plan->state->cells) return i;
    double before = wrong_of(plan);
    tie(plan, c);
    double wrong = wrong_of(plan);
    list[i] = (struct be_next){c, plan->n[c], minimum, minimum ? NAN : before - wrong, wrong};
    minutes -= plan->state->cell[c].cost;
  }
  return most;
}

/* ---- before and after ---- */

static enum be_status check(const struct be_next_state *state, const struct be_question *question,
                            double minutes, struct be_err *err)
{
  if (state->knots > BE_KNOTS_MAX || state->cells > CELLS_MAX ||
      state->knots * state->cells > WEIGHTS_MAX)
    return be_fail(err, BE_TOO_LARGE, "at most %d knots in %d cells, %d weights, can be planned",
                   BE_KNOTS_MAX, CELLS_MAX, WEIGHTS_MAX);
  bool pair = question->kind == BE_QUESTION_PAIR;
  if (pair &&
      (question->a >= state->knots || question->b >= state->knots || question->a == question->b))
    return be_fail(err, BE_WRONG_USE, "two different knots of %zu must be named", state->knots);
  if (!pair && (question->top == 0 || question->top >= state->knots))
    return be_fail(err, BE_WRONG_USE, "the first %zu of %zu knots are no question", question->top,
                   state->knots);
  if (isnan(minutes)) return be_fail(err, BE_WRONG_USE, "the minutes to spend are no number");
  if (!(state->df > 0))
    return be_fail(err, BE_BAD_INPUT, "%g degrees of freedom are none", state->df);
  for (size_t c = 0; c < state->cells; c++) {
    const struct be_next_cell *cell = &state->cell[c];
    if (!(cell->deviation > 0 && isfinite(cell->deviation)))
      return be_fail(err, BE_BAD_INPUT, "the deviation of cell %zu is %g", c + 1, cell->deviation);
    if (!(cell->cost > 0 && isfinite(cell->cost)))
      return be_fail(err, BE_BAD_INPUT, "a pull of cell %zu takes %g minutes", c + 1, cell->cost);
  }
  for (size_t k = 0; k < state->knots; k++) {
    if (isinf(state->value[k]))
      return be_fail(err, BE_BAD_INPUT, "the value of knot %zu is infinite", k + 1);
    for (size_t c = 0; c < state->cells; c++)
      if (!isfinite(weight(state, k, c)))
        return be_fail(err, BE_BAD_INPUT, "the weight of cell %zu in knot %zu is no number", c + 1,
                       k + 1);
  }
  return BE_OK;
}

/* The greatest gaps there can be: first places times the others. */
static size_t gaps_most(const struct be_next_state *state, const struct be_question *question)
{
  if (question->kind == BE_QUESTION_PAIR) return 1;
  return question->top * (state->knots - question->top);
}

static enum be_status make_plan(struct plan *plan, struct be_err *err)
{
  const struct be_next_state *state = plan->state;
  size_t cells = state->cells ? state->cells : 1;
  plan->gaps = be_alloc_array(gaps_most(state, plan->question), sizeof *plan->gaps);
  plan->n = be_alloc_array(cells, sizeof *plan->n);
  plan->bearing = be_alloc_array(cells, sizeof *plan->bearing);
  double *key = be_alloc_array(state->knots, sizeof *key);
  size_t *order = be_alloc_array(state->knots, sizeof *order);
  enum be_status status = BE_OK;
  if (plan->gaps && plan->n && plan->bearing && key && order) find_gaps(plan, key, order);
  else status = be_fail(err, BE_NO_MEMORY, "no memory to plan %zu cells", state->cells);
  be_free(order);
  be_free(key);
  for (size_t c = 0; c < state->cells && status == BE_OK; c++) {
    plan->n[c] = state->cell[c].n;
    plan->bearing[c] = bears(state, plan->question, c);
  }
  return status;
}

enum be_status be_next_list(const struct be_next_state *state, const struct be_question *question,
                            double minutes, size_t most, struct be_next *list, size_t *count,
                            struct be_err *err)
{
  *count = 0;
  struct plan plan = {state, question, NULL, 0, NULL, NULL};
  enum be_status status = check(state, question, minutes, err);
  if (status != BE_OK) return status;
  status = make_plan(&plan, err);
  if (status == BE_OK) *count = fill_list(&plan, minutes, most, list);
  be_free(plan.bearing);
  be_free(plan.n);
  be_free(plan.gaps);
  return status;
}

enum be_status be_next_wrong(const struct be_next_state *state, const struct be_question *question,
                             double *wrong, struct be_err *err)
{
  struct plan plan = {state, question, NULL, 0, NULL, NULL};
  enum be_status status = check(state, question, 0, err);
  if (status != BE_OK) return status;
  status = make_plan(&plan, err);
  if (status == BE_OK) *wrong = wrong_of(&plan);
  be_free(plan.bearing);
  be_free(plan.n);
  be_free(plan.gaps);
  return status;
}
