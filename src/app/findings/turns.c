/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One knot tied with several numbers of turns: what a turn more goes with. */
#include "app/findings/findings.h"
#include "app/survey/grid.h"

#include <math.h>

/* Knots of one name and version that tell their turns. */
struct family {
  const int *knot;
  size_t count;
  double least, most; /* turns that were compared */
  size_t combinations;
};

static double turns_of(const struct survey *survey, const struct cell *cell)
{
  return survey->record.knots[cell->knot].turns;
}

/* The cells of the family there whose loads may be compared, and the sum of squares of their
 * turns; 0 where there is but one number of turns. */
static double compared(const struct survey *survey, const struct combination *where,
                       const struct family *family, const struct cell **cells, size_t *count)
{
  double mean = 0, squares = 0;
  *count = 0;
  for (size_t k = 0; k < family->count; k++) {
    const struct cell *cell = be_cell_find(survey, where, family->knot[k]);
    if (!cell || cell->n < 2) continue;
    bool fair = true;
    for (size_t i = 0; i < *count; i++)
      fair &= be_fair(cells[i], cell) && !cells[i]->shares == !cell->shares;
    if (fair) cells[(*count)++] = cell;
  }
  for (size_t i = 0; i < *count; i++) mean += turns_of(survey, cells[i]) / (double)*count;
  for (size_t i = 0; i < *count; i++) {
    double off = turns_of(survey, cells[i]) - mean;
    squares += off * off;
  }
  return squares > 1e-9 ? squares : 0;
}

/* Least squares of log of share (or load) on turns, with a level for each combination: the weight
 * of a cell is its turns less the mean of its combination, over the sum of squares of all. */
static enum be_status sum_slope(struct findings *findings, struct family *family,
                                const struct cell **cells, struct finding *finding,
                                struct form *slope, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  double all = 0;
  size_t count, first = 0;
  enum be_status status = BE_OK;
  for (size_t c = 0; c < survey->combinations_count; c++)
    all += compared(survey, &survey->combinations[c], family, cells, &count);
  for (size_t c = 0; c < survey->combinations_count && status == BE_OK; c++) {
    if (compared(survey, &survey->combinations[c], family, cells, &count) == 0) continue;
    double mean = 0;
    for (size_t i = 0; i < count; i++) mean += turns_of(survey, cells[i]) / (double)count;
    for (size_t i = 0; i < count && status == BE_OK; i++) {
      double turns = turns_of(survey, cells[i]);
      const struct form *form = cells[i]->shares ? &cells[i]->log_share : &cells[i]->log_load;
      status = be_form_add(slope, form, (turns - mean) / all, err);
      be_finding_cell(finding, survey, cells[i]);
      family->least = fmin(family->least, turns);
      family->most = fmax(family->most, turns);
    }
    first += cells[0]->n;
    family->combinations++;
  }
  be_finding_sides(finding, first, finding->n - first);
  return status;
}

static void say_slope(const struct survey *survey, const struct family *family,
                      struct finding *finding)
{
  const struct be_knot *knot = &survey->record.knots[family->knot[0]];
  const char *version = knot->version ? be_arena_format(survey->arena, ", %s,", knot->version) : "";
  if (!version) return;
  finding->says = be_arena_format(
      survey->arena, "In the %s%s each turn more went with %s strength, from %g to %g turns",
      knot->name, version, finding->value > 0 ? "more" : "less", family->least, family->most);
  finding->asks = be_arena_format(survey->arena,
                                  "whether turns go with strength in the %s%s from %g to %g turns",
                                  knot->name, version, family->least, family->most);
  finding->more = "for each turn more";
  finding->place = be_arena_format(survey->arena, "%s, %zu combination%s", knot->name,
                                   family->combinations, be_plural(family->combinations));
}

/* The fewest turns against the most, over the combinations that both were tied in. */
static enum be_status find_slips(struct findings *findings, const struct family *family,
                                 struct be_err *err)
{
  const struct survey *survey = findings->survey;
  int few = family->knot[0], many = family->knot[0];
  const struct be_knot *knots = survey->record.knots;
  for (size_t k = 0; k < family->count; k++) {
    if (knots[family->knot[k]].turns < knots[few].turns) few = family->knot[k];
    if (knots[family->knot[k]].turns > knots[many].turns) many = family->knot[k];
  }
  return be_find_slips_between(findings, few, many, err);
}

static enum be_status find_family(struct findings *findings, struct family *family,
                                  struct be_err *err)
{
  const struct survey *survey = findings->survey;
  const struct cell **cells = be_arena_alloc(survey->arena, family->count * sizeof *cells);
  if (!cells) return be_no_memory(err);
  double any = 0;
  size_t count;
  for (size_t c = 0; c < survey->combinations_count; c++)
    any += compared(survey, &survey->combinations[c], family, cells, &count);
  if (any == 0) return BE_OK;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  struct form slope = {0};
  family->least = INFINITY;
  family->most = -INFINITY;
  enum be_status status = sum_slope(findings, family, cells, finding, &slope, err);
  if (status == BE_OK) {
    struct be_estimate estimate = be_form_estimate(survey, &slope);
    be_finding_ratio(finding, survey, &estimate);
    say_slope(survey, family, finding);
    status = find_slips(findings, family, err);
  }
  be_form_free(&slope);
  return status;
}

static bool is_kin(const struct be_knot *a, const struct be_knot *b)
{
  return be_text_same(a->name, b->name) && be_same_words(a->version, b->version);
}

enum be_status be_find_turns(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  const struct be_knot *knots = survey->record.knots;
  size_t all = survey->record.knots_count;
  int *knot = be_arena_alloc(survey->arena, (all + 1) * sizeof *knot);
  bool *done = be_arena_alloc(survey->arena, all + 1);
  if (!knot || !done) return be_no_memory(err);
  enum be_status status = BE_OK;
  for (size_t i = 0; i < all && status == BE_OK; i++) {
    struct family family = {.knot = knot};
    for (size_t k = i; k < all; k++) {
      if (done[k] || isnan(knots[k].turns) || !is_kin(&knots[i], &knots[k])) continue;
      done[k] = true;
      knot[family.count++] = (int)k;
    }
    if (family.count > 1) status = find_family(findings, &family, err);
  }
  return status;
}
