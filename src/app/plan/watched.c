/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A trial that stops as soon as its knots are apart: the evidence after every pull, replayed in the
 * order entered. Knots of one combination share its spools, so that the plain line they are
 * divided by cancels: logs of loads say the same as logs of shares. */
#include "app/plan/plan.h"

#include <math.h>
#include <string.h>

/* The size of difference looked for, in deviations of one pull: the rules name none, and it must
 * not come from the pulls. */
static const double EFFECT_USUAL = 1;

/* Knots of one combination. */
struct watch_group {
  size_t first, count; /* cells of the grid */
  struct be_watched_pair *pairs;
  size_t *apart_at; /* of each pair: the pull of the trial after which it was apart; 0: not yet */
};

struct watching {
  const struct survey *survey;
  const struct be_trial *trial;
  struct plan_grid grid;
  size_t *of;
  struct be_summary *now; /* of each cell, of the logs so far */
  double **logs;
  struct watch_group *groups;
  size_t groups_count, pairs, apart, seen, bounds, other;
  struct be_watch watch;
};

static size_t pairs_of(const struct watch_group *group)
{
  return group->count * (group->count - 1) / 2;
}

static enum be_status make_groups(struct watching *w, struct be_err *err)
{
  struct be_arena *arena = w->survey->arena;
  w->groups = be_arena_alloc(arena, (w->grid.count + 1) * sizeof *w->groups);
  if (!w->groups) return be_no_memory(err);
  for (size_t i = 0, next; i < w->grid.count; i = next) {
    for (next = i + 1; next < w->grid.count;) {
      if (!be_plan_together(&w->grid.cells[i], &w->grid.cells[next])) break;
      next++;
    }
    if (be_plan_is_plain(&w->grid.cells[i]) || next - i < 2) continue;
    struct watch_group *group = &w->groups[w->groups_count++];
    *group = (struct watch_group){.first = i, .count = next - i};
    group->pairs = be_arena_alloc(arena, pairs_of(group) * sizeof *group->pairs);
    group->apart_at = be_arena_alloc(arena, pairs_of(group) * sizeof *group->apart_at);
    if (!group->pairs || !group->apart_at) return be_no_memory(err);
    be_watch_start(group->count, group->pairs);
    w->pairs += pairs_of(group);
  }
  return BE_OK;
}

static enum be_status make_room(struct watching *w, struct be_err *err)
{
  struct be_arena *arena = w->survey->arena;
  size_t planned = w->trial->planned_count;
  w->of = be_arena_alloc(arena, (planned + 1) * sizeof *w->of);
  if (!w->of) return be_no_memory(err);
  enum be_status status = be_grid_of_trial(w->survey, w->trial, &w->grid, w->of, err);
  if (status != BE_OK) return status;
  w->now = be_arena_alloc(arena, (w->grid.count + 1) * sizeof *w->now);
  w->logs = be_arena_alloc(arena, (w->grid.count + 1) * sizeof *w->logs);
  if (!w->now || !w->logs) return be_no_memory(err);
  for (size_t c = 0; c < w->grid.count; c++) {
    w->logs[c] = be_arena_alloc(arena, (w->grid.cells[c].n + 1) * sizeof(double));
    if (!w->logs[c]) return be_no_memory(err);
    be_summary_of(w->logs[c], 0, &w->now[c]);
  }
  return make_groups(w, err);
}

static struct watch_group *group_of(struct watching *w, size_t cell)
{
  for (size_t g = 0; g < w->groups_count; g++)
    if (cell >= w->groups[g].first && cell < w->groups[g].first + w->groups[g].count)
      return &w->groups[g];
  return NULL;
}

static enum be_status look(struct watching *w, size_t cell, double load_N, struct be_err *err)
{
  struct watch_group *group = group_of(w, cell);
  struct be_summary *now = &w->now[cell];
  size_t n = now->n;
  if (!group) return BE_OK;
  w->logs[cell][n] = log(load_N);
  be_summary_of(w->logs[cell], n + 1, now);
  enum be_status status = be_watch_pulled(&w->now[group->first], group->count, cell - group->first,
                                          BE_SCATTER_UNLIKE, &w->watch, group->pairs, err);
  for (size_t p = 0; status == BE_OK && p < pairs_of(group); p++)
    if (group->pairs[p].apart && !group->apart_at[p]) {
      group->apart_at[p] = w->seen;
      w->apart++;
    }
  return status;
}

/* planned_at[row]: which specimen a pull of the record is, counted from 1. */
static enum be_status replay(struct watching *w, struct be_err *err)
{
  const struct be_record *record = &w->survey->record;
  size_t *planned_at =
      be_arena_alloc(w->survey->arena, (record->pulls_count + 1) * sizeof *planned_at);
  if (!planned_at) return be_no_memory(err);
  for (size_t i = 0; i < w->trial->planned_count; i++)
    if (w->trial->planned[i].pull >= 0) planned_at[w->trial->planned[i].pull] = i + 1;
  enum be_status status = BE_OK;
  for (size_t p = 0; p < record->pulls_count && status == BE_OK; p++) {
    const struct be_pull *pull = &record->pulls[p];
    if (!planned_at[p]) continue;
    size_t cell = w->of[planned_at[p] - 1];
    w->seen++;
    if (be_plan_is_plain(&w->grid.cells[cell])) continue;
    bool other = !be_plan_matches(&w->grid.cells[cell], pull);
    w->other += other;
    if (other) continue;
    w->bounds += pull->kind == BE_KIND_BOUND;
    if (pull->kind == BE_KIND_EVENT && pull->load_N > 0) status = look(w, cell, pull->load_N, err);
  }
  return status;
}

static void say_pairs(struct be_doc *doc, const struct watching *w)
{
  static const struct be_column columns[] = {
      {"combination", "lines", BE_COLUMN_TEXT, false},
      {"first", "first", BE_COLUMN_TEXT, false},
      {"second", "second", BE_COLUMN_TEXT, false},
      {"first_n", "n", BE_COLUMN_NUMBER, false},
      {"second_n", "n", BE_COLUMN_NUMBER, false},
      {"difference_percent", "difference (relative %)", BE_COLUMN_NUMBER, false},
      {"difference_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"p", "p", BE_COLUMN_NUMBER, false},
      {"apart_after", "apart after pull", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = be_doc_table(doc, "watched", "Pair by pair", columns, 9);
  for (size_t g = 0; g < w->groups_count; g++)
    for (size_t p = 0; p < pairs_of(&w->groups[g]); p++) {
      const struct watch_group *group = &w->groups[g];
      const struct be_watched_pair *pair = &group->pairs[p];
      size_t a = group->first + pair->a, b = group->first + pair->b;
      const struct be_interval *interval = &pair->now.interval;
      be_table_text(table, "%s", be_plan_where(w->survey, &w->grid.cells[a]));
      be_table_text(table, "%s", be_plan_knot(w->survey, &w->grid.cells[a]));
      be_table_text(table, "%s", be_plan_knot(w->survey, &w->grid.cells[b]));
      be_table_number(table, (double)w->now[a].n, 0);
      be_table_number(table, (double)w->now[b].n, 0);
      be_table_number(table, 100 * (exp(pair->now.value) - 1), 1);
      be_table_interval(table, 100 * (exp(interval->low) - 1), 100 * (exp(interval->high) - 1), 1);
      be_table_probability(table, pair->p);
      if (group->apart_at[p]) be_table_number(table, (double)group->apart_at[p], 0);
      else be_table_text(table, "not yet");
    }
}

static void say_outcome(struct be_doc *doc, const struct watching *w)
{
  struct plan_progress progress = be_progress_of(w->survey, w->trial);
  if (w->apart < w->pairs && progress.pulled == progress.planned)
    be_doc_sentence(doc, "It is at its end, with %zu of %zu pairs of knots apart: %s.", w->apart,
                    w->pairs, w->apart ? "the others it cannot separate" : "it separates none");
  else if (w->apart == w->pairs)
    be_doc_sentence(doc, "It may stop now: %s.",
                    w->pairs == 1 ? "the two knots are apart" : "every pair of knots is apart");
  else
    be_doc_sentence(doc, "It may not stop yet: %zu of %zu pairs of knots are apart.", w->apart,
                    w->pairs);
}

static double level_of(const struct watching *w)
{
  double level = be_rule_number(w->trial, BE_RULE_LEVEL);
  return level > 0.5 && level < 1 ? level : w->survey->how.level;
}

static enum be_status watch(struct watching *w, struct be_err *err)
{
  enum be_status status = make_room(w, err);
  if (status != BE_OK || w->groups_count == 0) return status;
  w->watch = (struct be_watch){EFFECT_USUAL, 1 - (1 - level_of(w)) / (double)w->groups_count};
  return replay(w, err);
}

bool be_stops_early(const struct survey *survey, const struct be_trial *trial)
{
  const char *stop = be_rule_in_force(survey, trial, BE_RULE_STOP);
  return stop && strcmp(stop, "as soon as apart") == 0;
}

enum be_status be_are_apart(const struct survey *survey, const struct be_trial *trial, bool *apart,
                            struct be_err *err)
{
  struct watching w = {.survey = survey, .trial = trial};
  enum be_status status = watch(&w, err);
  *apart = status == BE_OK && w.pairs && w.apart == w.pairs;
  return status;
}

enum be_status be_say_watched(struct be_doc *doc, const struct survey *survey,
                              const struct be_trial *trial, struct be_err *err)
{
  struct watching w = {.survey = survey, .trial = trial};
  if (!be_stops_early(survey, trial)) return BE_OK;
  enum be_status status = watch(&w, err);
  if (status != BE_OK || w.groups_count == 0) return status;
  say_outcome(doc, &w);
  say_pairs(doc, &w);
  be_doc_note(doc,
              "Evidence that may be looked at after every pull: it finds a difference that is not "
              "there in at most %.3g %% of trials, over all pairs and all looks together (Holm in "
              "a combination%s). Each knot has a scatter of its own; the difference looked for is "
              "%g deviation of one pull, for the rules name none, and sets how soon, never how "
              "often wrongly, knots are found apart. Pulls are taken in the order entered, events "
              "alone.",
              100 * (1 - level_of(&w)), w.groups_count > 1 ? ", Bonferroni over combinations" : "",
              EFFECT_USUAL);
  if (w.bounds)
    be_doc_note(doc,
                "%zu lower bound%s not in it: a knot that held more than its line looks "
                "weaker than it is.",
                w.bounds, w.bounds == 1 ? " is" : "s are");
  if (w.other)
    be_doc_note(doc, "%zu pull%s otherwise than planned: not in it.", w.other,
                w.other == 1 ? " was" : "s were");
  be_doc_fact(doc, "may_stop", "May stop", "%s", w.apart == w.pairs ? "yes" : "no");
  return BE_OK;
}
