/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who slips out: one of two knots more than the other, a knot more in one material than in the
 * rest, and the knots that were never seen to. */
#include "app/findings/findings.h"

#include <math.h>

static void mark_told(struct finding *finding, const struct survey *survey, const struct cell *cell)
{
  for (size_t i = 0; i < cell->n; i++)
    if (cell->events[i]->what != BE_WHAT_UNKNOWN) be_finding_pull(finding, survey, cell->events[i]);
}

/* ---- two knots ---- */

static const struct cell *told_cell(const struct survey *survey, const struct combination *where,
                                    int knot)
{
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    if (survey->cells[i].knot == knot && survey->cells[i].knot_b < 0 && survey->cells[i].told)
      return &survey->cells[i];
  return NULL;
}

struct shared {
  struct be_two_rates *list, all;
  size_t count;
};

static enum be_status gather_shared(const struct survey *survey, int a, int b,
                                    struct shared *shared, struct be_err *err)
{
  *shared = (struct shared){0};
  shared->list =
      be_arena_alloc(survey->arena, (survey->combinations_count + 1) * sizeof *shared->list);
  if (!shared->list) return be_no_memory(err);
  for (size_t c = 0; c < survey->combinations_count; c++) {
    const struct cell *first = told_cell(survey, &survey->combinations[c], a);
    const struct cell *second = told_cell(survey, &survey->combinations[c], b);
    if (!first || !second) continue;
    shared->list[shared->count++] =
        (struct be_two_rates){first->slips, first->told, second->slips, second->told};
    shared->all.ka += first->slips;
    shared->all.na += first->told;
    shared->all.kb += second->slips;
    shared->all.nb += second->told;
  }
  return BE_OK;
}

static void say_between(const struct survey *survey, int a, int b, const struct shared *shared,
                        struct finding *finding)
{
  const struct be_two_rates *all = &shared->all;
  finding->says = be_arena_format(
      survey->arena, "The %s slipped out %s often than the %s: %zu of %zu against %zu of %zu",
      be_knot_name(survey, a), finding->value > 0 ? "more" : "less", be_knot_name(survey, b),
      all->ka, all->na, all->kb, all->nb);
  finding->asks = be_arena_format(
      survey->arena,
      "whether the %s or the %s slips out more often (%zu of %zu against %zu of %zu)",
      be_knot_name(survey, a), be_knot_name(survey, b), all->ka, all->na, all->kb, all->nb);
  finding->place =
      be_arena_format(survey->arena, "%s, %zu combination%s", survey->record.knots[a].name,
                      shared->count, be_plural(shared->count));
}

enum be_status be_find_slips_between(struct findings *findings, int a, int b, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct shared shared;
  struct be_strata strata;
  enum be_status status = gather_shared(survey, a, b, &shared, err);
  if (status != BE_OK || shared.count == 0 || shared.all.ka + shared.all.kb == 0) return status;
  status = be_rates_strata(shared.list, shared.count, survey->how.level, &strata, err);
  if (status != BE_OK) return status;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  for (size_t c = 0; c < survey->combinations_count; c++) {
    const struct cell *first = told_cell(survey, &survey->combinations[c], a);
    const struct cell *second = told_cell(survey, &survey->combinations[c], b);
    if (!first || !second) continue;
    mark_told(finding, survey, first);
    mark_told(finding, survey, second);
  }
  be_finding_rates(finding, shared.list, shared.count, &strata);
  say_between(survey, a, b, &shared, finding);
  return BE_OK;
}

/* ---- one knot in several materials ---- */

struct rate {
  size_t slips, told;
};

/* Two knots on a specimen slip for two, and what was held or cycled is another matter. */
static bool is_single(const struct survey *survey, const struct cell *cell)
{
  return survey->combinations[cell->combination].design == BE_DESIGN_SINGLE;
}

/* Of single knots in combinations of these materials; null: in all. */
static struct rate rate_in(const struct survey *survey, int knot, const struct made_of *made,
                           const char *materials)
{
  struct rate rate = {0, 0};
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    if (cell->knot != knot || !is_single(survey, cell)) continue;
    if (materials && made[cell->combination].both != materials) continue;
    rate.slips += cell->slips;
    rate.told += cell->told;
  }
  return rate;
}

struct odd_one {
  const char *materials;
  struct be_two_rates seen; /* there, and in the rest */
  struct be_strata rates;
  size_t looked_at;
};

/* Whether the knot was tied in these materials in a combination before this one. */
static bool was_met(const struct findings *findings, int knot, size_t before)
{
  const struct survey *survey = findings->survey;
  for (size_t k = 0; k < before; k++)
    if (findings->made[k].both == findings->made[before].both &&
        survey->combinations[k].design == BE_DESIGN_SINGLE &&
        told_cell(survey, &survey->combinations[k], knot))
      return true;
  return false;
}

/* The materials that differ the most from the rest. */
static enum be_status find_odd_one(const struct findings *findings, int knot, struct odd_one *odd,
                                   struct be_err *err)
{
  const struct survey *survey = findings->survey;
  const struct made_of *made = findings->made;
  struct rate all = rate_in(survey, knot, made, NULL);
  enum be_status status = BE_OK;
  *odd = (struct odd_one){.looked_at = 0};
  for (size_t c = 0; c < survey->combinations_count && all.slips && status == BE_OK; c++) {
    const struct combination *where = &survey->combinations[c];
    if (where->design != BE_DESIGN_SINGLE || !told_cell(survey, where, knot)) continue;
    if (was_met(findings, knot, c)) continue;
    struct rate in = rate_in(survey, knot, made, made[c].both);
    const struct be_two_rates seen = {in.slips, in.told, all.slips - in.slips, all.told - in.told};
    struct be_strata rates;
    if (seen.nb == 0) continue;
    status = be_rates_strata(&seen, 1, survey->how.level, &rates, err);
    odd->looked_at++;
    if (odd->materials && !(rates.p < odd->rates.p)) continue;
    odd->materials = made[c].both;
    odd->seen = seen;
    odd->rates = rates;
  }
  return status;
}

/* Each against the rest by Fisher, the least p for all that were looked at (Bonferroni). Of two
 * both say the same. */
static enum be_status find_material(struct findings *findings, int knot, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct odd_one odd;
  enum be_status status = find_odd_one(findings, knot, &odd, err);
  if (status != BE_OK || odd.looked_at == 0) return status;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  for (size_t i = 0; i < survey->cells_count; i++)
    if (survey->cells[i].knot == knot && is_single(survey, &survey->cells[i]))
      mark_told(finding, survey, &survey->cells[i]);
  double looks = odd.looked_at == 2 ? 1 : (double)odd.looked_at;
  const struct be_two_rates seen = odd.seen;
  const struct be_strata strata = {fmin(1, looks * odd.rates.p), 0, odd.rates.difference};
  be_finding_rates(finding, &seen, 1, &strata);
  const char *name = be_knot_name(survey, knot);
  finding->says = be_arena_format(
      survey->arena,
      "The %s slipped out %s often in %s than in the rest: %zu of %zu against %zu of %zu", name,
      finding->value > 0 ? "more" : "less", odd.materials, seen.ka, seen.na, seen.kb, seen.nb);
  finding->asks = be_arena_format(
      survey->arena,
      "whether the %s slips out more often in one material than in another (%s: %zu of %zu, the "
      "rest: %zu of %zu)",
      name, odd.materials, seen.ka, seen.na, seen.kb, seen.nb);
  finding->place = be_arena_format(survey->arena, "%s, all combinations", name);
  return BE_OK;
}

enum be_status be_find_slips(struct findings *findings, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t k = 0; k < findings->survey->record.knots_count && status == BE_OK; k++)
    status = find_material(findings, (int)k, err);
  return status;
}

/* ---- never seen to ---- */

void be_say_never_slipped(struct be_doc *doc, const struct survey *survey)
{
  static const struct be_column columns[] = {
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"slipped", "slipped out", BE_COLUMN_COUNT, false},
      {"at_most_percent", "at most (%)", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = NULL;
  double level = survey->how.level;
  for (size_t k = 0; k < survey->record.knots_count; k++) {
    struct rate rate = rate_in(survey, (int)k, NULL, NULL);
    if (rate.told == 0 || rate.slips) continue;
    if (!table) {
      be_doc_heading(doc, "Never seen to slip");
      be_doc_sentence(
          doc,
          "None of these knots slipped out, which does not show that they never do: "
          "with %g %% confidence, of each by itself, no larger share of such pulls does "
          "than the table says; %zu pulls without a slip would show less than 5 %%.",
          100 * level, be_success_run(0.95, level));
      table = be_doc_table(doc, "never_slipped", "Pulls that tell what let go, none slipped out",
                           columns, 3);
    }
    be_table_text(table, "%s", be_knot_name(survey, (int)k));
    be_table_link(table, "/pulls?knot=%zu", k);
    be_table_count(table, 0, rate.told);
    be_table_number(table, 100 * be_rate_upper(0, rate.told, level), 1);
  }
}
