/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to tie next, in words and tables. */
#include "app/next/next.h"

#include <math.h>

/* Sentences name so many and count the rest. */
enum { NAMED_MAX = 8 };

/* ---- words ---- */

/* "21.3 %", "0.08 %" */
static const char *chance_words(const struct survey *survey, double chance)
{
  double percent = 100 * chance;
  const char *words = percent >= 1      ? be_arena_format(survey->arena, "%.1f %%", percent)
                      : percent >= 0.01 ? be_arena_format(survey->arena, "%.2g %%", percent)
                                        : "less than 0.01 %";
  return words ? words : "?";
}

/* What a wrong answer gets wrong. */
static const char *answer_words(const struct survey *survey, const struct be_question *question)
{
  if (question->kind == BE_QUESTION_PAIR) return "choice between the two";
  if (question->top == 1) return "first place";
  const char *words = be_arena_format(survey->arena, "set of the first %zu", question->top);
  return words ? words : "?";
}

/* The knots that are first now. */
static const char *leader_words(const struct survey *survey, const struct plan *plan)
{
  size_t count = plan->question.kind == BE_QUESTION_PAIR ? 1 : plan->question.top;
  const char *words = "";
  for (size_t i = 0; i < count && i < NAMED_MAX && words; i++) {
    const char *joint = i == 0 ? "" : i + 1 == count ? " and " : ", ";
    words = be_arena_format(survey->arena, "%s%s%s", words, joint,
                            be_knot_name(survey, plan->block.knot[plan->order[i]]));
  }
  if (count > NAMED_MAX && words)
    words = be_arena_format(survey->arena, "%s and %zu more", words, count - NAMED_MAX);
  return words ? words : "?";
}

/* Two sets of one line and soak are told apart by a specimen of each. */
static const char *plain_words(const struct survey *survey, const struct plan *plan,
                               const struct plain_set *set)
{
  const char *spool = survey->record.lines[set->line].spool, *words;
  bool alone = true;
  for (size_t i = 0; i < plan->state.cells; i++) {
    const struct plain_set *other = plan->spots[i].set;
    alone &=
        !other || other == set || other->line != set->line || other->like->soak != set->like->soak;
  }
  const char *of = spool && *spool ? be_arena_format(survey->arena, ", spool %s", spool) : "";
  words = be_arena_format(survey->arena, "plain line%s%s%s", of ? of : "",
                          alone ? "" : ", pulled like ", alone ? "" : set->like->code);
  return words && of ? words : "?";
}

static const char *spot_where(const struct survey *survey, const struct spot *spot)
{
  if (spot->cell) return survey->combinations[spot->cell->combination].name;
  const char *words = be_arena_format(survey->arena, "%s, %s",
                                      survey->line_names[survey->families[spot->set->family].name],
                                      be_soak_word(spot->set->like->soak));
  return words ? words : "?";
}

static const char *spot_what(const struct survey *survey, const struct plan *plan,
                             const struct spot *spot)
{
  return spot->cell ? be_cell_name(survey, spot->cell) : plain_words(survey, plan, spot->set);
}

/* The spot after this place of the list that is tied first, or null. */
static const struct spot *spot_after(const struct plan *plan, size_t place)
{
  const struct spot *found = NULL;
  for (size_t i = 0; i < plan->state.cells; i++) {
    const struct spot *spot = &plan->spots[i];
    if (spot->first > place && (!found || spot->first < found->first)) found = spot;
  }
  return found;
}

static bool together(const struct spot *a, const struct spot *b)
{
  return a->cell && b->cell ? a->cell->combination == b->cell->combination : a == b;
}

/* Whether an earlier one stands for the same combination. */
static bool is_named(const struct plan *plan, const struct spot *spot)
{
  for (size_t i = 0; i < plan->state.cells; i++) {
    const struct spot *other = &plan->spots[i];
    if (other->first && other->first < spot->first && together(other, spot)) return true;
  }
  return false;
}

/* "5 palomar and 3 half blood in nylon 12 lb to ring, dry" */
static const char *piece_words(const struct survey *survey, const struct plan *plan,
                               const struct spot *first, size_t *named)
{
  size_t in = 0, all = 0;
  const char *words = "";
  for (const struct spot *s = first; s; s = spot_after(plan, s->first)) all += together(first, s);
  for (const struct spot *s = first; s && words; s = spot_after(plan, s->first)) {
    if (!together(first, s)) continue;
    const char *joint = in == 0 ? "" : in + 1 == all ? " and " : ", ";
    words = be_arena_format(survey->arena, "%s%s%zu %s", words, joint, s->tied,
                            spot_what(survey, plan, s));
    in++;
    *named += s->tied;
  }
  return words ? be_arena_format(survey->arena, "%s in %s", words, spot_where(survey, first))
               : NULL;
}

/* Piece by piece, a combination each, in the order of their first specimens. */
static const char *list_words(const struct survey *survey, const struct plan *plan)
{
  size_t named = 0, pieces = 0;
  const char *words = "";
  for (const struct spot *s = spot_after(plan, 0); s && words && pieces < NAMED_MAX;
       s = spot_after(plan, s->first)) {
    if (is_named(plan, s)) continue;
    const char *piece = piece_words(survey, plan, s, &named);
    words =
        piece ? be_arena_format(survey->arena, "%s%s%s", words, pieces ? "; " : "", piece) : NULL;
    pieces++;
  }
  if (named < plan->count && words)
    words = be_arena_format(survey->arena, "%s; and %zu more", words, plan->count - named);
  return words ? words : "?";
}

/* ---- the answer ---- */

static void say_question(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  size_t over = plan->block.combinations, top = plan->question.top;
  const char *plural = over == 1 ? "" : "s", *leaders = leader_words(survey, plan);
  if (plan->question.kind == BE_QUESTION_PAIR)
    be_doc_sentence(doc,
                    "Asked is which is the stronger, the %s or the %s, over %zu shared "
                    "combination%s: now the %s.",
                    be_knot_name(survey, plan->block.knot[0]),
                    be_knot_name(survey, plan->block.knot[1]), over, plural, leaders);
  else if (top == 1)
    be_doc_sentence(doc,
                    "Asked is who is first in %s, of %zu knots over %zu shared combination%s: now "
                    "the %s.",
                    plan->place, plan->block.knots, over, plural, leaders);
  else
    be_doc_sentence(doc,
                    "Asked is which are the first %zu in %s, of %zu knots over %zu shared "
                    "combination%s: now the %s.",
                    top, plan->place, plan->block.knots, over, plural, leaders);
}

static void say_answer(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  const char *answer = answer_words(survey, &plan->question);
  const char *now = chance_words(survey, plan->wrong);
  bool repeated = false;
  for (size_t i = 0; i < plan->state.cells; i++) repeated |= plan->state.cell[i].n >= 2;
  if (plan->stop.settled) be_say_settled(doc, survey, plan);
  else if (!plan->known)
    be_doc_sentence(doc,
                    "Pull each knot %s first: no two pulls of one knot in one combination "
                    "differ, so that their scatter is not known.",
                    repeated ? "again, and read the load to a finer step," : "twice");
  else if (plan->count == 0 && plan->stock.closed)
    be_doc_sentence(doc,
                    "There is no line left for what would help: the chance of a wrong %s is %s.",
                    answer, now);
  else if (plan->count == 0)
    be_doc_sentence(doc, "Nothing is left to gain: the chance of a wrong %s is %s.", answer, now);
  else
    be_doc_sentence(doc,
                    "Tie %zu: %s; the chance of a wrong %s then falls from %s to %s, if the "
                    "figures stay as they are.",
                    plan->count, list_words(survey, plan), answer, now,
                    chance_words(survey, plan->after));
  say_question(doc, survey, plan);
  be_say_stop(doc, survey, plan);
  if (plan->known && !plan->stop.settled && plan->wrong <= 1 - survey->how.level)
    be_doc_sentence(doc, "That chance is below %g %% already: another question may be worth more.",
                    100 * (1 - survey->how.level));
}

/* ---- tables ---- */

/* Of those of a cell whose gain can be told. */
static double mean_gain(const struct plan *plan, size_t cell)
{
  double sum = 0, count = 0;
  for (size_t i = 0; i < plan->count; i++)
    if (plan->list[i].cell == cell && !plan->list[i].minimum) sum += plan->list[i].gain, count++;
  return sum / count;
}

static void table_of_spots(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"what", "knot, or plain line", BE_COLUMN_TEXT, false},
      {"n_have", "n now", BE_COLUMN_NUMBER, false},
      {"tie", "tie", BE_COLUMN_NUMBER, false},
      {"n_then", "n then", BE_COLUMN_NUMBER, false},
      {"first", "first as", BE_COLUMN_NUMBER, false},
      {"minutes", "minutes", BE_COLUMN_NUMBER, false},
      {"gain_points", "gain a specimen (pts)", BE_COLUMN_NUMBER, false},
      {"deviation_percent", "", BE_COLUMN_NUMBER, true},
  };
  struct be_table *table =
      be_doc_table(doc, "next", "What to tie", columns, sizeof columns / sizeof columns[0]);
  for (const struct spot *s = spot_after(plan, 0); s; s = spot_after(plan, s->first)) {
    const struct be_next_cell *cell = &plan->state.cell[s - plan->spots];
    be_table_text(table, "%s", spot_where(survey, s));
    be_table_text(table, "%s", spot_what(survey, plan, s));
    be_table_number(table, (double)cell->n, 0);
    be_table_number(table, (double)s->tied, 0);
    be_table_number(table, (double)(cell->n + s->tied), 0);
    be_table_number(table, (double)s->first, 0);
    be_table_number(table, (double)s->tied * cell->cost, 0);
    be_table_number(table, 100 * mean_gain(plan, (size_t)(s - plan->spots)), 2);
    be_table_number(table, 100 * cell->deviation, 1);
  }
}

static void table_of_steps(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  static const struct be_column columns[] = {
      {"order", "", BE_COLUMN_NUMBER, false},
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"what", "knot, or plain line", BE_COLUMN_TEXT, false},
      {"n_then", "n then", BE_COLUMN_NUMBER, false},
      {"why", "why", BE_COLUMN_TEXT, false},
      {"gain_points", "gain (pts)", BE_COLUMN_NUMBER, false},
      {"wrong_percent", "chance of wrong (%)", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table =
      be_doc_table(doc, "steps", "One by one", columns, sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < plan->count; i++) {
    const struct spot *spot = &plan->spots[plan->list[i].cell];
    be_table_number(table, (double)(i + 1), 0);
    be_table_text(table, "%s", spot_where(survey, spot));
    be_table_text(table, "%s", spot_what(survey, plan, spot));
    be_table_number(table, (double)plan->list[i].n, 0);
    be_table_text(table, "%s", plan->list[i].minimum ? "second pull" : "most gain a minute");
    be_table_number(table, 100 * plan->list[i].gain, 2);
    be_table_number(table, 100 * plan->list[i].wrong, 2);
  }
}

static void table_of_groups(struct be_doc *doc, const struct survey *survey,
                            const struct plans *plans)
{
  static const struct be_column columns[] = {
      {"group", "group", BE_COLUMN_TEXT, false},
      {"combinations", "combinations", BE_COLUMN_NUMBER, false},
      {"knots", "knots", BE_COLUMN_NUMBER, false},
      {"leader", "first now", BE_COLUMN_TEXT, false},
      {"wrong_percent", "chance of wrong now (%)", BE_COLUMN_NUMBER, false},
      {"tie", "tie", BE_COLUMN_NUMBER, false},
      {"minutes", "minutes", BE_COLUMN_NUMBER, false},
      {"wrong_after_percent", "then (%)", BE_COLUMN_NUMBER, false},
      {"settled", "settled", BE_COLUMN_TEXT, false},
  };
  struct be_table *table =
      be_doc_table(doc, "groups", "What the same would bring in each group by itself", columns,
                   sizeof columns / sizeof columns[0]);
  for (size_t i = 0; i < plans->count; i++) {
    const struct plan *plan = &plans->list[i];
    be_table_text(table, "%s", plan->place);
    be_table_number(table, (double)plan->block.combinations, 0);
    be_table_number(table, (double)plan->block.knots, 0);
    be_table_text(table, "%s", leader_words(survey, plan));
    be_table_number(table, 100 * plan->wrong, 2);
    be_table_number(table, (double)plan->count, 0);
    be_table_number(table, plan->minutes, 0);
    be_table_number(table, 100 * plan->after, 2);
    be_table_text(table, "%s", plan->stop.settled ? "yes" : "no");
  }
}

/* ---- doubts, and what was left out ---- */

static void say_only_bounds(struct be_doc *doc, const struct survey *survey,
                            const struct plan *plan)
{
  for (size_t c = 0; c < plan->block.combinations; c++) {
    const struct combination *where = plan->block.where[c];
    for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++) {
      const struct cell *cell = &survey->cells[i];
      if (cell->n || !cell->highest || cell->knot < 0) continue;
      be_doc_note(doc, "Left out: the %s gave only lower bounds in %s, and may be stronger.",
                  be_knot_name(survey, cell->knot), where->name);
    }
  }
}

static void say_left_out(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  const struct grid *all = &plan->all, *block = &plan->block;
  for (size_t c = 0; c < all->combinations; c++) {
    bool in = false;
    for (size_t i = 0; i < block->combinations; i++) in |= block->where[i] == all->where[c];
    if (!in)
      be_doc_note(doc, "Left out: %s, where not all of these knots have events.",
                  all->where[c]->name);
  }
  for (size_t k = 0; k < all->knots; k++) {
    if (be_grid_has(block, all->knot[k])) continue;
    for (size_t i = 0; i < block->combinations; i++)
      if (!be_cell_find(survey, block->where[i], all->knot[k])) {
        be_doc_note(doc,
                    "Left out: the %s, without an event in %s; two pulls there may bring it in.",
                    be_knot_name(survey, all->knot[k]), block->where[i]->name);
        break;
      }
  }
}

static void say_passed(struct be_doc *doc, const struct plans *plans)
{
  if (plans->passed)
    be_doc_note(doc,
                "Left out: %zu combination%s, where the two were tied on different spools, or "
                "pulled otherwise, without a plain line of each.",
                plans->passed, plans->passed == 1 ? "" : "s");
  if (plans->small)
    be_doc_note(doc, "Left out: %zu group%s, of no more knots than first places.", plans->small,
                plans->small == 1 ? "" : "s");
}

static void say_doubts(struct be_doc *doc, const struct survey *survey, const struct plan *plan)
{
  bool minimum = false;
  for (size_t i = 0; i < plan->count; i++) minimum |= plan->list[i].minimum;
  if (minimum)
    be_doc_note(doc, "What was pulled once comes first, whatever it brings: a single pull says "
                     "nothing of its scatter.");
  if (plan->borrowed && plan->known)
    be_doc_note(doc, "No knot has two pulls here that differ: the scatter is that of all knots of "
                     "the book.");
  if (plan->mixed)
    be_doc_note(doc, "Some of these knots were tied on different spools or pulled otherwise, "
                     "without a plain line of each: the chance of a wrong answer is then greater "
                     "than is said, and more pulls on the same spools do not mend it.");
  say_only_bounds(doc, survey, plan);
  say_left_out(doc, survey, plan);
}

static void say_method(struct be_doc *doc, const struct be_tying *asked)
{
  be_doc_note(
      doc,
      "Each specimen is the one that takes most from the chance of a wrong answer (its gain, "
      "in points of that chance) for its minutes, %g for a knot and %g for a plain line; a plain "
      "line that all knots were "
      "divided by cancels, and is not asked for. It is taken for granted that means and "
      "deviations stay as they are, each deviation drawn towards that of all: so pull "
      "some, enter them, and ask again.",
      asked->minutes_each, be_plain_minutes(asked));
}

static void say_facts(struct be_doc *doc, const struct survey *survey, const struct be_tying *asked,
                      const struct plan *plan)
{
  bool pair = plan->question.kind == BE_QUESTION_PAIR;
  if (pair) {
    be_doc_fact(doc, "between", "Between", "%s", be_knot_name(survey, plan->block.knot[0]));
    be_doc_fact(doc, "and", "And", "%s", be_knot_name(survey, plan->block.knot[1]));
  } else {
    be_doc_fact(doc, "group", "Group", "%s", plan->place);
    be_doc_fact(doc, "top", "First places asked for", "%zu", plan->question.top);
  }
  be_doc_fact(doc, "specimens", "Specimens", "%zu", plan->count);
  be_doc_fact(doc, "minutes", "Minutes", "%.10g", plan->minutes);
  be_doc_fact(doc, "minutes_each", "Minutes of a specimen", "%.10g", asked->minutes_each);
  be_stop_facts(doc, survey, plan);
  if (!plan->known) return;
  be_doc_fact(doc, "wrong_percent", "Chance of a wrong answer now (%)", "%.4g", 100 * plan->wrong);
  be_doc_fact(doc, "wrong_after_percent", "After these (%)", "%.4g", 100 * plan->after);
  be_doc_fact(doc, "df", "Degrees of freedom of the scatter", "%.10g", plan->state.df);
}

/* ---- the page ---- */

static enum be_status check_asked(const struct survey *survey, const struct be_tying *asked,
                                  const struct plans *plans, struct be_err *err)
{
  if (asked->group && !plans->named && survey->combinations_count) {
    be_fail(err, BE_WRONG_USE, "no group of knots has \"%s\" in its name", asked->group);
    be_fail_remedy(err, "`bitterend next` without --group lists the groups");
    return BE_WRONG_USE;
  }
  if (plans->count == 0 && plans->small) {
    be_fail(err, BE_WRONG_USE, "the first %zu cannot be asked for: the largest group has %zu knots",
            asked->top, plans->small_knots);
    be_fail_remedy(err, "ask for fewer with --top");
    return BE_WRONG_USE;
  }
  return BE_OK;
}

static void write_next(struct be_doc *doc, const struct survey *survey,
                       const struct be_tying *asked, const struct plans *plans)
{
  if (plans->count == 0) {
    be_doc_sentence(doc, "%s: tie two knots in one line, each twice.",
                    asked->a ? "The two have no combination in which their events can be compared"
                             : "No two knots have events in the same combination");
    say_passed(doc, plans);
    return;
  }
  const struct plan *plan = &plans->list[0];
  say_answer(doc, survey, plan);
  if (plan->count) {
    table_of_spots(doc, survey, plan);
    table_of_steps(doc, survey, plan);
  }
  if (plan->known && !plan->stop.settled) be_say_stock(doc, survey, plan);
  table_of_groups(doc, survey, plans);
  say_doubts(doc, survey, plan);
  say_passed(doc, plans);
  say_method(doc, asked);
  be_say_stop_method(doc, survey, plan);
  say_facts(doc, survey, asked, plan);
}

static enum be_status find_pair(const struct survey *survey, const struct be_tying *asked, int *a,
                                int *b, struct be_err *err)
{
  *a = *b = -1;
  if (!asked->a) return BE_OK;
  *a = be_knot_find(survey, asked->a, err);
  if (*a >= 0) *b = be_knot_find(survey, asked->b, err);
  if (*b < 0) return BE_WRONG_USE;
  if (*a != *b) return BE_OK;
  be_fail(err, BE_WRONG_USE, "both names mean the same knot");
  be_fail_remedy(err, "name two different knots");
  return BE_WRONG_USE;
}

enum be_status be_next_doc(const struct survey *survey, const struct be_tying *asked,
                           struct be_doc **out, struct be_err *err)
{
  struct be_tying usual = *asked;
  struct plans plans;
  int a, b;
  be_progress_step("working out what to tie", NULL, 0);
  enum be_status status = be_next_usual(&usual, err);
  if (status == BE_OK) status = find_pair(survey, &usual, &a, &b, err);
  if (status == BE_OK) status = be_plans_make(survey, &usual, a, b, &plans, err);
  if (status == BE_OK) status = check_asked(survey, &usual, &plans, err);
  if (status != BE_OK) return status;
  struct be_doc *doc = be_doc_create("next", "What to tie next");
  if (!doc) return be_no_memory(err);
  write_next(doc, survey, &usual, &plans);
  return be_answer_done(survey, doc, BE_OK, out, err);
}
