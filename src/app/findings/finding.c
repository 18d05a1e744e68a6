/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Putting one finding together. */
#include "app/findings/findings.h"

#include <math.h>

/* ---- what lines are made of ---- */

static const char *material_of(const struct survey *survey, int name)
{
  for (size_t i = 0; name >= 0 && i < survey->record.lines_count; i++)
    if (survey->name_of_line[i] == name && survey->record.lines[i].material)
      return survey->record.lines[i].material;
  return NULL;
}

static const char *both_words(const struct survey *survey, const struct combination *where,
                              const struct made_of *made)
{
  static const char unknown[] = "line of unrecorded material";
  const char *a = made->a ? made->a : unknown, *b = made->b;
  if (!b) b = where->line_b < 0 ? where->hardware : unknown;
  return b ? be_arena_format(survey->arena, "%s to %s", a, b) : a;
}

enum be_status be_findings_begin(struct findings *findings, const struct survey *survey,
                                 struct be_err *err)
{
  size_t count = survey->combinations_count;
  struct made_of *made = be_arena_alloc(survey->arena, (count + 1) * sizeof *made);
  *findings = (struct findings){.survey = survey, .made = made};
  if (!made) return be_no_memory(err);
  for (size_t c = 0; c < count; c++) {
    const struct combination *where = &survey->combinations[c];
    made[c].a = material_of(survey, where->line_a);
    made[c].b = material_of(survey, where->line_b);
    made[c].both = both_words(survey, where, &made[c]);
    if (!made[c].both) return be_no_memory(err);
    for (size_t k = 0; k < c; k++)
      if (be_text_same(made[k].both, made[c].both)) made[c].both = made[k].both;
  }
  return BE_OK;
}

const struct made_of *be_made_of(const struct findings *findings, const struct combination *where)
{
  return &findings->made[where - findings->survey->combinations];
}

/* ---- one finding ---- */

struct finding *be_finding_add(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct finding *finding = be_arena_alloc(survey->arena, sizeof *finding);
  bool *behind = be_arena_alloc(survey->arena, survey->record.pulls_count + 1);
  if (!finding || !behind) {
    be_no_memory(err);
    return NULL;
  }
  *finding = (struct finding){.kind = findings->kind,
                              .place = "",
                              .units = "pulls",
                              .value = NAN,
                              .unit = "",
                              .interval = {NAN, NAN, survey->how.level},
                              .p = NAN,
                              .adjusted = NAN,
                              .effect = NAN,
                              .needed = NAN,
                              .behind = behind};
  if (findings->last) findings->last->next = finding;
  else findings->first = finding;
  findings->last = finding;
  findings->count++;
  return finding;
}

void be_finding_pull(struct finding *finding, const struct survey *survey,
                     const struct be_pull *pull)
{
  size_t at = (size_t)(pull - survey->record.pulls);
  finding->n += !finding->behind[at];
  finding->behind[at] = true;
}

void be_finding_cell(struct finding *finding, const struct survey *survey, const struct cell *cell)
{
  for (size_t i = 0; i < cell->n; i++) be_finding_pull(finding, survey, cell->events[i]);
  if (!cell->counted_in) return;
  for (size_t i = 0; i < cell->lower_count; i++) be_finding_pull(finding, survey, cell->lower[i]);
}

/* The pulls are thought of as two halves, each mean known by its n / 2: then a difference of
 * `value` with this variance is one of value / deviation = |t| 2 / sqrt(n). */
void be_finding_ratio(struct finding *finding, const struct survey *survey,
                      const struct be_estimate *log_ratio)
{
  finding->value = 100 * expm1(log_ratio->value);
  finding->unit = "% relative";
  finding->decimals = 1;
  finding->p = be_estimate_p(log_ratio);
  if (isnan(finding->p)) return;
  struct be_interval logs = be_estimate_interval(log_ratio, survey->how.level);
  finding->interval.low = 100 * expm1(logs.low);
  finding->interval.high = 100 * expm1(logs.high);
  finding->effect = 2 * fabs(log_ratio->value) / sqrt(log_ratio->variance * (double)finding->n);
}

void be_finding_sides(struct finding *finding, size_t first, size_t second)
{
  finding->fewest = first < second ? first : second;
}

const char *be_chance_words(const struct survey *survey, double p)
{
  if (p > 0.995) return "every time";
  if (p >= 0.1) return be_arena_format(survey->arena, "%.0f times in 100", 100 * p);
  double step = pow(10, fmax(0, floor(log10(1 / p)) - 1));
  return be_arena_format(survey->arena, "1 time in %.0f", step * nearbyint(1 / p / step));
}

const char *be_order_words(const struct survey *survey, const struct be_rank_order *order)
{
  const char *chance = be_chance_words(survey, order->p);
  return chance
             ? be_arena_format(survey->arena,
                               "by chance alone they would stand in an order as clear as this "
                               "%s (rho %.2f, %s p %.2g)",
                               chance, order->rho, order->exact ? "exact" : "permutation", order->p)
             : NULL;
}

/* The difference of two rates in deviations, by the arcsine (Cohen, Statistical Power Analysis,
 * 1988, 6.2). */
void be_finding_rates(struct finding *finding, const struct be_two_rates *list, size_t count,
                      const struct be_strata *strata)
{
  struct be_two_rates all = {0, 0, 0, 0};
  for (size_t i = 0; i < count; i++) {
    all.ka += list[i].ka;
    all.na += list[i].na;
    all.kb += list[i].kb;
    all.nb += list[i].nb;
  }
  be_finding_sides(finding, all.na, all.nb);
  finding->value = 100 * strata->difference.value;
  finding->interval.low = 100 * strata->difference.interval.low;
  finding->interval.high = 100 * strata->difference.interval.high;
  finding->unit = "pts";
  finding->decimals = 1;
  finding->p = strata->p;
  finding->least_p = strata->least_p;
  finding->effect = fabs(2 * asin(sqrt((double)all.ka / (double)all.na)) -
                         2 * asin(sqrt((double)all.kb / (double)all.nb)));
}

bool be_same_words(const char *a, const char *b)
{
  return a == b || (a && b && be_text_same(a, b));
}
