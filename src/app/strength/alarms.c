/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Alarms: pulls and orders that ask for a look. Nothing is ever left out; each figure
 * stands with and without. */
#include "app/strength/strength.h"

#include <math.h>
#include <string.h>

/* Fewer pulls than this raise an alarm by a rounding step alone (ours). Generalized ESD
 * holds its level from 15 pulls on (Rosner 1983). */
enum { ALARM_FROM = 6, ESD_FROM = 15, ESD_MOST = 10, DIXON_TO = 30 };
/* Of normal sets of ten, 6.7 % raise one by either test, by 200,000 random sets in R. */
enum { ONE_IN = 15 };
static const double alpha = 0.05;

struct raised {
  struct be_alarm grubbs, dixon;
  bool *is; /* of each event */
  size_t count;
};

static enum be_status look(const struct survey *survey, const struct cell *cell,
                           struct raised *raised, struct be_err *err)
{
  *raised = (struct raised){.is = be_arena_alloc(survey->arena, cell->n * sizeof(bool))};
  double *scratch = be_arena_alloc(survey->arena, cell->n * sizeof *scratch);
  if (!raised->is || !scratch) return be_no_memory(err);
  be_grubbs(cell->loads, cell->n, alpha, &raised->grubbs);
  raised->is[raised->grubbs.index] |= raised->grubbs.raised;
  raised->dixon = (struct be_alarm){false, 0, NAN, NAN};
  if (cell->n <= DIXON_TO) be_dixon(cell->loads, cell->n, alpha, &raised->dixon);
  raised->is[raised->dixon.index] |= raised->dixon.raised;
  if (cell->n >= ESD_FROM) {
    struct be_alarm steps[ESD_MOST];
    size_t most = cell->n / 5 < ESD_MOST ? cell->n / 5 : ESD_MOST, found = 0;
    be_esd(cell->loads, cell->n, most, alpha, scratch, steps, &found);
    for (size_t i = 0; i < found; i++) raised->is[steps[i].index] = true;
  }
  for (size_t i = 0; i < cell->n; i++) raised->count += raised->is[i];
  return BE_OK;
}

/* The figures without all pulls that raised an alarm. */
static void summarize_rest(const double *x, const struct raised *raised, size_t n, double *scratch,
                           struct be_summary *rest)
{
  size_t kept = 0;
  for (size_t i = 0; i < n; i++)
    if (!raised->is[i]) scratch[kept++] = x[i];
  be_summary_of(scratch, kept, rest);
}

static void alarm_row(struct be_table *table, const struct survey *survey, const struct cell *cell,
                      const struct raised *raised, size_t which, double *scratch)
{
  const struct be_pull *pull = cell->events[which];
  bool by_grubbs = raised->grubbs.raised && raised->grubbs.index == which;
  bool by_dixon = raised->dixon.raised && raised->dixon.index == which;
  struct be_summary rest, shares, rest_shares;
  int decimals = survey->decimals;
  summarize_rest(cell->loads, raised, cell->n, scratch, &rest);
  be_table_text(table, "%s", pull->code);
  be_table_link(table, "/pull/%lld", (long long)pull->id);
  be_table_text(table, "%s", be_cell_name(survey, cell));
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_number(table, be_shown(survey, pull->load_N), decimals);
  be_table_text(table, "%s",
                by_grubbs && by_dixon ? "Grubbs, Dixon"
                : by_grubbs           ? "Grubbs"
                : by_dixon            ? "Dixon"
                                      : "generalized ESD");
  be_table_number(table, raised->grubbs.statistic, 2);
  be_table_number(table, raised->grubbs.critical, 2);
  be_table_number(table, raised->dixon.statistic, 3);
  be_table_number(table, raised->dixon.critical, 3);
  be_table_number(table, be_shown(survey, cell->summary.mean), decimals + 1);
  be_table_number(table, be_shown(survey, rest.mean), decimals + 1);
  be_table_number(table, be_shown(survey, cell->summary.sd), decimals + 2);
  be_table_number(table, be_shown(survey, rest.sd), decimals + 2);
  be_summary_of(cell->shares, cell->shares ? cell->n : 0, &shares);
  if (cell->shares) summarize_rest(cell->shares, raised, cell->n, scratch, &rest_shares);
  else rest_shares = shares;
  be_table_number(table, 100 * shares.mean, 1);
  be_table_number(table, 100 * rest_shares.mean, 1);
}

static struct be_table *alarm_table(struct be_doc *doc, const struct survey *survey)
{
  const struct be_column columns[] = {
      {"specimen", "specimen", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"load", be_head(survey, "load"), BE_COLUMN_NUMBER, false},
      {"raised_by", "by", BE_COLUMN_TEXT, false},
      {"grubbs", "Grubbs", BE_COLUMN_NUMBER, false},
      {"critical", "critical", BE_COLUMN_NUMBER, false},
      {"dixon", "Dixon", BE_COLUMN_NUMBER, false},
      {"dixon_critical", "critical", BE_COLUMN_NUMBER, false},
      {"mean_with", "mean with", BE_COLUMN_NUMBER, false},
      {"mean_without", "without", BE_COLUMN_NUMBER, false},
      {"sd_with", "s with", BE_COLUMN_NUMBER, false},
      {"sd_without", "without", BE_COLUMN_NUMBER, false},
      {"efficiency_percent_with", "efficiency (%) with", BE_COLUMN_NUMBER, false},
      {"efficiency_percent_without", "without", BE_COLUMN_NUMBER, false},
  };
  return be_doc_table(doc, "alarms", "Two-sided tests at 5 % of sets of six events or more",
                      columns, sizeof columns / sizeof columns[0]);
}

static enum be_status say_pulls(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  size_t count = 0, looked = 0;
  struct be_arena *arena = survey->arena;
  struct raised *raised = be_arena_alloc(arena, survey->cells_count * sizeof *raised);
  double *scratch = be_arena_alloc(arena, survey->record.pulls_count * sizeof *scratch);
  if (!raised || !scratch) return be_no_memory(err);
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->n < ALARM_FROM) continue;
    enum be_status status = look(survey, cell, &raised[i], err);
    if (status != BE_OK) return status;
    count += raised[i].count;
    looked++;
  }
  if (count == 0) return BE_OK;
  be_doc_heading(doc, "Alarms");
  be_doc_sentence(doc,
                  "Standing apart from the rest of their knot: %zu, in %zu sets that were looked "
                  "at; chance alone raises one in some %d. Look at each specimen, sheet and "
                  "trace. Nothing is left out; each figure stands with and without.",
                  count, looked, ONE_IN);
  struct be_table *table = alarm_table(doc, survey);
  for (size_t i = 0; i < survey->cells_count; i++)
    for (size_t k = 0; raised[i].is && k < survey->cells[i].n; k++)
      if (raised[i].is[k]) alarm_row(table, survey, &survey->cells[i], &raised[i], k, scratch);
  return BE_OK;
}

/* ---- over the order of testing ---- */

static enum be_status drift_of(const struct survey *survey, const struct cell *cell,
                               struct be_drift *drift, struct be_err *err)
{
  size_t n = cell->n;
  enum be_status status = BE_OK;
  const struct be_pull **pulls = be_alloc_array(n, sizeof *pulls);
  double *loads = be_alloc_array(n, sizeof *loads);
  double *scratch = be_alloc_array(n * (n - 1) / 2 + n, sizeof *scratch);
  if (!pulls || !loads || !scratch) {
    status = be_no_memory(err);
    goto done;
  }
  memcpy(pulls, cell->events, n * sizeof *pulls);
  be_sort_by_order(pulls, n);
  for (size_t i = 0; i < n; i++) loads[i] = pulls[i]->load_N;
  be_drift_of(loads, n, survey->how.level, scratch, drift);
done:
  be_free(scratch);
  be_free(loads);
  be_free(pulls);
  return status;
}

static void drift_row(struct be_table *table, const struct survey *survey, const struct cell *cell,
                      const struct be_drift *drift)
{
  double of_mean = 100 / cell->summary.mean;
  be_table_text(table, "%s", be_cell_name(survey, cell));
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_number(table, (double)cell->n, 0);
  be_table_number(table, of_mean * drift->slope, 2);
  be_table_interval(table, of_mean * drift->slope_interval.low,
                    of_mean * drift->slope_interval.high, 2);
  be_table_probability(table, drift->slope_p);
  be_table_number(table, (double)drift->runs, 0);
  be_table_probability(table, drift->runs_p);
  be_table_number(table, drift->lag1, 2);
}

static enum be_status say_drifts(struct be_doc *doc, const struct survey *survey,
                                 struct be_err *err)
{
  static const struct be_column columns[] = {
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"slope_percent", "trend (% a pull)", BE_COLUMN_NUMBER, false},
      {"slope_percent", "interval", BE_COLUMN_INTERVAL, false},
      {"slope_p", "p", BE_COLUMN_NUMBER, false},
      {"runs", "runs", BE_COLUMN_NUMBER, false},
      {"runs_p", "p", BE_COLUMN_NUMBER, false},
      {"lag1", "neighbours alike", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = NULL;
  size_t looked = 0, found = 0;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    struct be_drift drift;
    if (cell->n < ALARM_FROM || cell->n > BE_HODGES_LEHMANN_MAX || !(cell->summary.sd > 0))
      continue;
    enum be_status status = drift_of(survey, cell, &drift, err);
    if (status != BE_OK) return status;
    looked++;
    if (!(drift.slope_p < alpha) && !(drift.runs_p < alpha)) continue;
    if (!table) {
      be_doc_heading(doc, "Over the order of testing");
      table = be_doc_table(doc, "drift", "Trend by Theil and Sen, runs about the median", columns,
                           sizeof columns / sizeof columns[0]);
    }
    drift_row(table, survey, cell, &drift);
    found++;
  }
  if (found)
    be_doc_note(doc,
                "A trend or too few runs, p below %.2f: %zu of %zu sets; chance alone gives about "
                "%.0f. Pulls stand by session and order, or as entered.",
                alpha, found, looked, 2 * alpha * (double)looked);
  return BE_OK;
}

enum be_status be_say_alarms(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  enum be_status status = say_pulls(doc, survey, err);
  return status == BE_OK ? say_drifts(doc, survey, err) : status;
}
