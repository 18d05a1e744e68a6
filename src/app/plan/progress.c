/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The trials of a book, and how one of them goes. Nothing here tells which knot a specimen is. */
#include "app/plan/plan.h"

#include <math.h>

enum { NEXT_SHOWN = 12 };

struct plan_progress be_progress_of(const struct survey *survey, const struct be_trial *trial)
{
  struct plan_progress progress = {.planned = trial->planned_count};
  double block = NAN, left_in = NAN, each = be_rule_number(trial, BE_RULE_MINUTES);
  for (size_t i = 0; i < trial->planned_count; i++) {
    const struct be_planned *planned = &trial->planned[i];
    if (planned->block != block) progress.blocks++;
    block = planned->block;
    if (planned->pull >= 0) {
      progress.pulled++;
      progress.voids += survey->record.pulls[planned->pull].kind == BE_KIND_VOID;
      continue;
    }
    if (planned->block != left_in) progress.blocks_left++;
    left_in = planned->block;
    bool plain = planned->design == BE_DESIGN_PLAIN || planned->knot < 0;
    progress.minutes_left += each * (plain ? be_plain_share_of_minutes() : 1);
  }
  return progress;
}

/* ---- one trial ---- */

/* ": 35 min, 11.9 m of line", as far as the rules tell. */
static const char *cost_words(const struct survey *survey, const struct be_trial *trial,
                              const struct plan_progress *progress)
{
  struct plan_stock stock = be_stock_of(survey, trial);
  bool time = !isnan(progress->minutes_left), line = !isnan(stock.metres);
  const char *metres =
      line ? be_arena_format(survey->arena, "%.1f m of line%s", stock.metres, stock.shortage) : "";
  const char *words = be_arena_format(survey->arena, "%s%s%s%s", time || line ? ": " : "",
                                      time ? be_hours(survey, progress->minutes_left) : "",
                                      time && line ? ", " : "", metres ? metres : "?");
  return words ? words : "?";
}

static void say_state(struct be_doc *doc, const struct survey *survey, const struct be_trial *trial,
                      const struct plan_progress *progress)
{
  size_t left = progress->planned - progress->pulled;
  const char *voids =
      progress->voids ? be_arena_format(survey->arena, ", %zu of them void", progress->voids) : "";
  if (progress->planned == 0)
    be_doc_sentence(doc,
                    "The trial %s has rules, and no specimens yet: it is fixed when its "
                    "trial sheet is entered.",
                    trial->name);
  else if (left == 0)
    be_doc_sentence(doc, "All %zu specimens of the trial %s are pulled%s.", progress->planned,
                    trial->name, voids ? voids : "");
  else {
    be_doc_sentence(doc,
                    "%zu of %zu specimens of the trial %s are pulled%s; %zu %s left, in %zu "
                    "block%s%s.",
                    progress->pulled, progress->planned, trial->name, voids ? voids : "", left,
                    left == 1 ? "is" : "are", progress->blocks_left,
                    progress->blocks_left == 1 ? "" : "s", cost_words(survey, trial, progress));
  }
}

static void say_cells(struct be_doc *doc, const struct survey *survey, const struct be_trial *trial,
                      const struct plan_grid *grid, const size_t *of)
{
  static const struct be_column columns[] = {
      {"combination", "lines", BE_COLUMN_TEXT, false},
      {"knot", "knot, or plain line", BE_COLUMN_TEXT, false},
      {"pulled", "pulled", BE_COLUMN_COUNT, false},
      {"events", "events", BE_COLUMN_NUMBER, false},
      {"bounds", "lower bounds", BE_COLUMN_NUMBER, false},
      {"voids", "void", BE_COLUMN_NUMBER, false},
      {"otherwise", "not as planned", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = be_doc_table(doc, "progress", "Cell by cell", columns, 7);
  for (size_t c = 0; c < grid->count; c++) {
    size_t kinds[4] = {0}, pulled = 0, otherwise = 0;
    for (size_t i = 0; i < trial->planned_count; i++) {
      if (of[i] != c || trial->planned[i].pull < 0) continue;
      const struct be_pull *pull = &survey->record.pulls[trial->planned[i].pull];
      pulled++;
      if (be_plan_matches(&grid->cells[c], pull)) kinds[pull->kind]++;
      else otherwise++;
    }
    be_table_text(table, "%s", be_plan_where(survey, &grid->cells[c]));
    be_table_text(table, "%s", be_plan_knot(survey, &grid->cells[c]));
    be_table_count(table, pulled, grid->cells[c].n);
    be_table_number(table, (double)kinds[BE_KIND_EVENT], 0);
    be_table_number(table, (double)kinds[BE_KIND_BOUND], 0);
    be_table_number(table, (double)kinds[BE_KIND_VOID], 0);
    be_table_number(table, (double)otherwise, 0);
  }
}

static void say_next(struct be_doc *doc, const struct be_trial *trial)
{
  static const struct be_column columns[] = {
      {"order", "pull", BE_COLUMN_NUMBER, false},
      {"block", "block", BE_COLUMN_NUMBER, false},
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
  };
  struct be_table *table = be_doc_table(doc, "next", "Next to pull", columns, 3);
  size_t shown = 0;
  for (size_t i = 0; i < trial->planned_count && shown < NEXT_SHOWN; i++) {
    if (trial->planned[i].pull >= 0) continue;
    be_table_number(table, trial->planned[i].order, 0);
    be_table_number(table, trial->planned[i].block, 0);
    be_table_text(table, "%s", trial->planned[i].code);
    shown++;
  }
}

static void say_paper(struct be_doc *doc, const struct survey *survey, const struct be_trial *trial)
{
  static const struct be_column columns[] = {
      {"paper", "to print, and to pull", BE_COLUMN_TEXT, false},
      {"how", "with", BE_COLUMN_TEXT, false}};
  struct be_table *table = be_doc_table(doc, "paper", "Paper and bench", columns, 2);
  be_table_text(table, "labels, and what to tie");
  be_table_link(table, "/labels?trial=%zu", (size_t)(trial - survey->record.trials));
  be_table_text(table, "plan --labels FILE");
  be_table_text(table, "the next specimen, at the bench");
  be_table_link(table, "/bench");
  be_table_text(table, "pull");
  be_table_people_only(table);
}

static enum be_status write_trial(struct be_doc *doc, const struct survey *survey,
                                  const struct be_trial *trial, struct be_err *err)
{
  struct plan_grid grid;
  struct plan_progress progress = be_progress_of(survey, trial);
  size_t *of = be_arena_alloc(survey->arena, (trial->planned_count + 1) * sizeof *of);
  if (!of) return be_no_memory(err);
  say_state(doc, survey, trial, &progress);
  enum be_status status = be_grid_of_trial(survey, trial, &grid, of, err);
  if (status == BE_OK) status = be_say_watched(doc, survey, trial, err);
  if (status == BE_OK) status = be_say_departures_of(doc, survey, trial, err);
  if (status != BE_OK) return status;
  if (progress.planned) {
    say_paper(doc, survey, trial);
    say_cells(doc, survey, trial, &grid, of);
  }
  if (progress.pulled < progress.planned) {
    say_next(doc, trial);
    be_say_line_needed(doc, survey, trial);
  }
  be_say_rules(doc, survey, trial);
  be_doc_fact(doc, "trial", "Trial", "%s", trial->name);
  be_doc_fact(doc, "fixed", "Fixed", "%s", trial->fixed_at ? trial->fixed_at : "not yet");
  be_doc_fact(doc, "planned", "Planned", "%zu", progress.planned);
  be_doc_fact(doc, "pulled", "Pulled", "%zu", progress.pulled);
  be_doc_fact(doc, "voids", "Void", "%zu", progress.voids);
  return BE_OK;
}

enum be_status be_trial_doc(const struct survey *survey, const struct be_trial *trial,
                            struct be_doc **out, struct be_err *err)
{
  const char *title = be_arena_format(survey->arena, "Trial %s", trial->name);
  struct be_doc *doc = title ? be_doc_create("plan", title) : NULL;
  if (!doc) return be_no_memory(err);
  return be_answer_done(survey, doc, write_trial(doc, survey, trial, err), out, err);
}

/* ---- all trials ---- */

static enum be_status say_trials(struct be_doc *doc, const struct survey *survey,
                                 struct be_err *err)
{
  static const struct be_column columns[] = {
      {"trial", "trial", BE_COLUMN_TEXT, false},
      {"fixed", "fixed", BE_COLUMN_TEXT, false},
      {"pulled", "pulled", BE_COLUMN_COUNT, false},
      {"voids", "void", BE_COLUMN_NUMBER, false},
      {"departures", "departures", BE_COLUMN_NUMBER, false},
  };
  struct departures *departures = be_arena_alloc(survey->arena, sizeof *departures);
  if (!departures) return be_no_memory(err);
  struct be_table *table = be_doc_table(doc, "trials", "Trials", columns, 5);
  for (size_t i = 0; i < survey->record.trials_count; i++) {
    const struct be_trial *trial = &survey->record.trials[i];
    struct plan_progress progress = be_progress_of(survey, trial);
    enum be_status status = be_departures_of(survey, trial, departures, err);
    if (status != BE_OK) return status;
    be_table_text(table, "%s", trial->name);
    be_table_link(table, "/plan?trial=%zu", i);
    be_table_text(table, "%s", trial->fixed_at ? trial->fixed_at : "not yet");
    be_table_count(table, progress.pulled, progress.planned);
    be_table_number(table, (double)progress.voids, 0);
    be_table_number(table, (double)(departures->count + departures->passed), 0);
  }
  return BE_OK;
}

static void say_what_could_be(struct be_doc *doc, const struct survey *survey)
{
  static const struct be_column lines[] = {
      {"line", "line", BE_COLUMN_TEXT, false},
      {"spool", "spool", BE_COLUMN_TEXT, false},
      {"on_hand_m", "on hand (m)", BE_COLUMN_NUMBER, false},
      {"used_since", "specimens since the count", BE_COLUMN_NUMBER, false},
  };
  static const struct be_column knots[] = {{"knot", "knot", BE_COLUMN_TEXT, false}};
  be_doc_heading(doc, "What can be planned");
  struct be_table *table = be_doc_table(doc, "knots", "Knots", knots, 1);
  for (size_t i = 0; i < survey->record.knots_count; i++)
    be_table_text(table, "%s", be_knot_name(survey, (int)i));
  table = be_doc_table(doc, "lines", "Lines", lines, 4);
  for (size_t i = 0; i < survey->record.lines_count; i++) {
    const struct be_line *line = &survey->record.lines[i];
    be_table_text(table, "%s", line->name);
    be_table_text(table, "%s", line->spool ? line->spool : "not recorded");
    be_table_number(table, line->on_hand_m, 1);
    if (isnan(line->counted_m)) be_table_text(table, "never counted");
    else be_table_number(table, (double)line->used_since, 0);
  }
}

static enum be_status write_trials(struct be_doc *doc, const struct survey *survey,
                                   struct be_err *err)
{
  size_t count = survey->record.trials_count, open = 0;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < count; i++) {
    struct plan_progress progress = be_progress_of(survey, &survey->record.trials[i]);
    open += progress.pulled < progress.planned;
  }
  if (count == 0)
    be_doc_sentence(doc, "The book has no trial yet: the page Plan, or `bitterend plan` with "
                         "--trial, --knots and --on, works one out.");
  else
    be_doc_sentence(doc, "Trials in the book: %zu; not pulled to the end yet: %zu.", count, open);
  if (count) status = say_trials(doc, survey, err);
  say_what_could_be(doc, survey);
  return status;
}

enum be_status be_trials_doc(const struct survey *survey, struct be_doc **out, struct be_err *err)
{
  struct be_doc *doc = be_doc_create("plan", "Plan");
  if (!doc) return be_no_memory(err);
  return be_answer_done(survey, doc, write_trials(doc, survey, err), out, err);
}
