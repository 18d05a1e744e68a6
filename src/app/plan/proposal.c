/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A new plan, in words and tables. */
#include "app/plan/plan.h"

#include <math.h>

enum { FIRST_SHOWN = 12 };

static void say_answer(struct be_doc *doc, const struct survey *survey,
                       const struct proposal *proposal, const struct plan_grid *grid)
{
  struct plan_stock stock = be_stock_of(survey, &proposal->trial);
  const char *plain = grid->plain ? be_arena_format(survey->arena, ", and %zu plain line%s",
                                                    grid->plain, grid->plain == 1 ? "" : "s")
                                  : "";
  be_doc_sentence(doc,
                  "%zu specimen%s: %zu knot%s in %zu combination%s, %zu each%s: %s over %zu "
                  "evening%s, %.4g m of line%s.",
                  grid->knotted + grid->plain, grid->knotted + grid->plain == 1 ? "" : "s",
                  grid->knots, grid->knots == 1 ? "" : "s", grid->combinations,
                  grid->combinations == 1 ? "" : "s", proposal->number.each, plain ? plain : "",
                  be_hours(survey, proposal->minutes), proposal->blocks,
                  proposal->blocks == 1 ? "" : "s", stock.metres, stock.shortage);
}

static void say_scatter(struct be_doc *doc, const char *what, const struct plan_scatter *scatter)
{
  if (scatter->n)
    be_doc_note(doc, "One pull of %s scatters by %.2g %% (relative), %s (%zu degrees of freedom).",
                what, 100 * scatter->cv, scatter->words, scatter->n);
  else
    be_doc_note(doc, "One pull of %s scatters by %.2g %% (relative), %s.", what, 100 * scatter->cv,
                scatter->words);
}

static bool is_plain(const struct be_planned *planned)
{
  return planned->design == BE_DESIGN_PLAIN;
}

static void say_blocks(struct be_doc *doc, const struct be_trial *trial)
{
  static const struct be_column columns[] = {
      {"block", "evening", BE_COLUMN_NUMBER, false},
      {"specimens", "specimens", BE_COLUMN_NUMBER, false},
      {"plain", "of them plain lines", BE_COLUMN_NUMBER, false},
      {"minutes", "minutes", BE_COLUMN_NUMBER, false},
  };
  double each = be_rule_number(trial, BE_RULE_MINUTES);
  struct be_table *table = be_doc_table(doc, "blocks", "Evenings", columns, 4);
  for (size_t i = 0, next; i < trial->planned_count; i = next) {
    size_t plain = 0;
    for (next = i; next < trial->planned_count; next++) {
      if (trial->planned[next].block != trial->planned[i].block) break;
      plain += is_plain(&trial->planned[next]);
    }
    be_table_number(table, trial->planned[i].block, 0);
    be_table_number(table, (double)(next - i), 0);
    be_table_number(table, (double)plain, 0);
    be_table_number(
        table, each * ((double)(next - i - plain) + (double)plain * be_plain_share_of_minutes()),
        0);
  }
}

/* People see the first rows, and no knot beside a code; programs get all. */
static void say_first(struct be_doc *doc, const struct proposal *proposal)
{
  static const struct be_column columns[] = {
      {"order", "pull", BE_COLUMN_NUMBER, false},
      {"block", "evening", BE_COLUMN_NUMBER, false},
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"tyer", "tyer", BE_COLUMN_TEXT, false},
  };
  const struct be_trial *trial = &proposal->trial;
  bool tyers = be_plan_has_tyers(trial);
  struct be_table *table = be_doc_table(doc, "first", "First to pull", columns, tyers ? 4 : 3);
  be_table_people_only(table);
  for (size_t i = 0; i < trial->planned_count && i < FIRST_SHOWN; i++) {
    be_table_number(table, trial->planned[i].order, 0);
    be_table_number(table, trial->planned[i].block, 0);
    be_table_text(table, "%s", trial->planned[i].code);
    if (tyers) be_put_tyer(table, &trial->planned[i]);
  }
}

static void say_order(struct be_doc *doc, const struct survey *survey,
                      const struct proposal *proposal, const struct plan_grid *grid,
                      const size_t *of)
{
  static const struct be_column columns[] = {
      {"order", "", BE_COLUMN_NUMBER, true},     {"block", "", BE_COLUMN_NUMBER, true},
      {"specimen", "", BE_COLUMN_TEXT, true},    {"knot", "", BE_COLUMN_TEXT, true},
      {"combination", "", BE_COLUMN_TEXT, true}, {"tyer", "", BE_COLUMN_TEXT, true},
  };
  const struct be_trial *trial = &proposal->trial;
  struct be_table *table = be_doc_table(doc, "order", "Order of pulling", columns, 6);
  for (size_t i = 0; i < trial->planned_count; i++) {
    const struct plan_cell *cell = &grid->cells[of[i]];
    be_table_number(table, trial->planned[i].order, 0);
    be_table_number(table, trial->planned[i].block, 0);
    be_table_text(table, "%s", trial->planned[i].code);
    be_table_text(table, "%s", be_plan_knot(survey, cell));
    be_table_text(table, "%s", be_plan_where(survey, cell));
    be_put_tyer(table, &trial->planned[i]);
  }
}

static void say_notes(struct be_doc *doc, const struct proposal *proposal,
                      const struct plan_grid *grid)
{
  const struct plan_number *number = &proposal->number;
  say_scatter(doc, "a knot", &number->knotted);
  if (grid->plain) {
    say_scatter(doc, "a plain line", &number->plain);
    be_doc_note(doc, "Every spool has its plain lines, for which of two lines is the weaker is "
                     "only known when both were pulled. Unless told, they are as many as make the "
                     "interval of each efficiency narrowest for all specimens together, n of a "
                     "knot times the ratio of the scatters times the root of how many cells "
                     "share the line, and at least 5.");
  }
  if (!isnan(number->reached))
    be_doc_note(doc,
                "An efficiency of %.0f %% was reckoned with: the highest that these knots "
                "have on these lines in the book, or 100 %% where it has none. What is expected "
                "holds on average: about half of such trials find a greater scatter, and wider "
                "intervals.",
                100 * number->share);
  be_doc_note(doc,
              "Every evening holds each kind of specimen as equally as can be; within it the "
              "order is drawn by lot, and so are the codes. A code is %d characters, of which "
              "no wrong one and no two that changed places go unnoticed. Which knot it is "
              "stands in the trial sheet and in the list after the labels. A plain line is "
              "reckoned to take %.0f %% of the minutes of a knot.",
              CODE_LENGTH, 100 * be_plain_share_of_minutes());
}

static void say_facts(struct be_doc *doc, const struct survey *survey,
                      const struct proposal *proposal)
{
  const struct plan_number *number = &proposal->number;
  be_doc_fact(doc, "trial", "Trial", "%s", proposal->trial.name);
  be_doc_fact(doc, "specimens", "Specimens", "%zu", proposal->trial.planned_count);
  be_doc_fact(doc, "evenings", "Evenings", "%zu", proposal->blocks);
  be_doc_fact(doc, "minutes", "Minutes", "%.10g", proposal->minutes);
  be_doc_fact(doc, "each", "Specimens of each knot in each combination", "%zu", number->each);
  if (!isnan(number->reached))
    be_doc_fact(doc, "reached", number->reached_words, "%.4g", number->reached);
  be_doc_fact(doc, "cv_percent", "Scatter of one pull (relative %)", "%.4g",
              100 * number->knotted.cv);
  be_doc_fact(doc, "plain_cv_percent", "Scatter of a plain pull (relative %)", "%.4g",
              100 * number->plain.cv);
  be_doc_fact(doc, "seed", "Seed", "%llu", (unsigned long long)survey->how.seed);
}

static enum be_status write_proposal(struct be_doc *doc, const struct survey *survey,
                                     const struct proposal *proposal, const char *done,
                                     struct be_err *err)
{
  const struct be_trial *trial = &proposal->trial;
  struct plan_grid grid;
  size_t *of = be_arena_alloc(survey->arena, (trial->planned_count + 1) * sizeof *of);
  if (!of) return be_no_memory(err);
  enum be_status status = be_grid_of_trial(survey, trial, &grid, of, err);
  if (status != BE_OK) return status;
  say_answer(doc, survey, proposal, &grid);
  be_doc_sentence(doc, "So many specimens: %s.", proposal->number.why);
  be_doc_sentence(doc, "%s", done);
  be_say_grid(doc, survey, &grid);
  be_say_line_needed(doc, survey, trial);
  say_blocks(doc, trial);
  say_first(doc, proposal);
  say_order(doc, survey, proposal, &grid, of);
  be_say_rules(doc, survey, trial);
  say_notes(doc, proposal, &grid);
  say_facts(doc, survey, proposal);
  return BE_OK;
}

enum be_status be_proposal_doc(const struct survey *survey, const struct proposal *proposal,
                               const char *done, struct be_doc **out, struct be_err *err)
{
  const char *title = be_arena_format(survey->arena, "Plan of %s", proposal->trial.name);
  struct be_doc *doc = title ? be_doc_create("plan", title) : NULL;
  if (!doc) return be_no_memory(err);
  return be_answer_done(survey, doc, write_proposal(doc, survey, proposal, done, err), out, err);
}
