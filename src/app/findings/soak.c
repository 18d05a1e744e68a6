/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Soaked against dry: plain lines, then knots by load and by the share of a plain line in the same
 * soak. A knot may keep its share of a line that has lost a tenth. */
#include "app/findings/findings.h"

#include <math.h>
#include <string.h>

/* ---- plain lines ---- */

static bool is_pair(const struct plain_set *wet, const struct plain_set *dry)
{
  return wet->like->soak == BE_SOAK_SOAKED && dry->like->soak == BE_SOAK_DRY &&
         wet->line == dry->line && be_pulled_alike(wet->like, dry->like);
}

static const char *material_of(const struct survey *survey, const struct plain_set *set)
{
  const char *material = survey->record.lines[set->line].material;
  return material ? material : "line of unrecorded material";
}

static void mark_set(struct finding *finding, const struct survey *survey,
                     const struct plain_set *set)
{
  const struct be_pull *const *lists[] = {survey->plain, survey->plain_bounds};
  const size_t counts[] = {survey->plain_count, survey->plain_bounds_count};
  for (int l = 0; l < 2; l++)
    for (size_t i = 0; i < counts[l]; i++)
      if (lists[l][i]->line_a == set->line && lists[l][i]->soak == set->like->soak &&
          be_pulled_alike(lists[l][i], set->like))
        be_finding_pull(finding, survey, lists[l][i]);
}

/* Adds log(soaked / dry) of all pairs of sets of one material; the sum is divided after. */
static enum be_status add_sets(const struct survey *survey, const char *material,
                               struct finding *finding, struct form *sum, size_t pairs,
                               size_t *count, struct be_err *err)
{
  enum be_status status = BE_OK;
  size_t soaked_n = 0, dry_n = 0;
  *count = 0;
  for (size_t w = 0; w < survey->sets_count; w++)
    for (size_t d = 0; d < survey->sets_count && status == BE_OK; d++) {
      const struct plain_set *wet = &survey->sets[w], *dry = &survey->sets[d];
      if (!is_pair(wet, dry) || !be_text_same(material_of(survey, wet), material)) continue;
      ++*count;
      if (!finding) continue;
      struct term one = {w, 1}, other = {d, 1};
      const struct form soaked = {.value = log(wet->mean), .terms = &one, .count = 1};
      const struct form plain = {.value = log(dry->mean), .terms = &other, .count = 1};
      status = be_form_add(sum, &soaked, 1 / (double)pairs, err);
      if (status == BE_OK) status = be_form_add(sum, &plain, -1 / (double)pairs, err);
      mark_set(finding, survey, wet);
      mark_set(finding, survey, dry);
      soaked_n += wet->n, dry_n += dry->n;
    }
  if (finding) be_finding_sides(finding, soaked_n, dry_n);
  return status;
}

static enum be_status find_plain(struct findings *findings, const char *material,
                                 struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct form sum = {0};
  size_t pairs = 0;
  enum be_status status = add_sets(survey, material, NULL, NULL, 0, &pairs, err);
  if (pairs == 0) return status;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  status = add_sets(survey, material, finding, &sum, pairs, &pairs, err);
  struct be_estimate estimate = be_form_estimate(survey, &sum);
  be_form_free(&sum);
  be_finding_ratio(finding, survey, &estimate);
  finding->says = be_arena_format(survey->arena, "Plain %s held %s soaked than dry", material,
                                  finding->value < 0 ? "less" : "more");
  finding->asks =
      be_arena_format(survey->arena, "whether plain %s holds as much soaked as dry", material);
  finding->place =
      be_arena_format(survey->arena, "plain %s, %zu spool%s", material, pairs, be_plural(pairs));
  return status;
}

static enum be_status find_plain_lines(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  enum be_status status = BE_OK;
  for (size_t i = 0; i < survey->sets_count && status == BE_OK; i++) {
    bool met = false;
    const char *material = material_of(survey, &survey->sets[i]);
    for (size_t k = 0; k < i; k++)
      met |= be_text_same(material_of(survey, &survey->sets[k]), material);
    if (!met) status = find_plain(findings, material, err);
  }
  return status;
}

/* ---- knots ---- */

static bool is_soaked_twin(const struct combination *wet, const struct combination *dry)
{
  return wet->soak == BE_SOAK_SOAKED && dry->soak == BE_SOAK_DRY && wet->line_a == dry->line_a &&
         wet->line_b == dry->line_b && wet->design == dry->design &&
         be_same_words(wet->hardware, dry->hardware);
}

/* The same knot on the same spools, dry, whose loads (or shares) may be compared with it. */
static const struct cell *dry_twin(const struct survey *survey, const struct cell *wet,
                                   bool by_share)
{
  const struct combination *where = &survey->combinations[wet->combination];
  if (wet->knot < 0 || wet->n < 2 || where->soak != BE_SOAK_SOAKED) return NULL;
  for (size_t c = 0; c < survey->combinations_count; c++) {
    const struct combination *other = &survey->combinations[c];
    if (!is_soaked_twin(where, other)) continue;
    for (size_t i = other->first_cell; i < other->first_cell + other->cells_count; i++) {
      const struct cell *dry = &survey->cells[i];
      if (dry->knot != wet->knot || dry->knot_b != wet->knot_b || dry->n < 2) continue;
      if (!by_share) return be_same_mix(wet, dry) ? dry : NULL;
      return wet->shares && dry->shares && be_fair(wet, dry) ? dry : NULL;
    }
  }
  return NULL;
}

struct twins {
  const char *materials;
  bool by_share;
  size_t count;
};

static enum be_status add_twins(const struct findings *findings, const struct twins *twins,
                                struct finding *finding, struct form *sum, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  enum be_status status = BE_OK;
  double weight = 1 / (double)twins->count;
  size_t soaked_n = 0, dry_n = 0;
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; i++) {
    const struct cell *wet = &survey->cells[i];
    const struct cell *dry = dry_twin(survey, wet, twins->by_share);
    if (!dry || findings->made[wet->combination].both != twins->materials) continue;
    const struct form *soaked = twins->by_share ? &wet->log_share : &wet->log_load;
    const struct form *plain = twins->by_share ? &dry->log_share : &dry->log_load;
    status = be_form_add(sum, soaked, weight, err);
    if (status == BE_OK) status = be_form_add(sum, plain, -weight, err);
    be_finding_cell(finding, survey, wet);
    be_finding_cell(finding, survey, dry);
    soaked_n += wet->n, dry_n += dry->n;
  }
  be_finding_sides(finding, soaked_n, dry_n);
  return status;
}

static enum be_status find_twins(struct findings *findings, struct twins twins, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  for (size_t i = 0; i < survey->cells_count; i++)
    twins.count += dry_twin(survey, &survey->cells[i], twins.by_share) != NULL &&
                   findings->made[survey->cells[i].combination].both == twins.materials;
  if (twins.count == 0) return BE_OK;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  struct form sum = {0};
  enum be_status status = add_twins(findings, &twins, finding, &sum, err);
  struct be_estimate estimate = be_form_estimate(survey, &sum);
  be_form_free(&sum);
  be_finding_ratio(finding, survey, &estimate);
  const char *more = finding->value < 0 ? "less" : "more";
  if (twins.by_share) {
    finding->says = be_arena_format(
        survey->arena,
        "Soaked, knots in %s kept %s of the soaked line than dry ones of the dry line",
        twins.materials, more);
    finding->asks = be_arena_format(
        survey->arena,
        "whether knots in %s keep as much of the soaked line as dry ones of the dry line",
        twins.materials);
  } else {
    finding->says = be_arena_format(survey->arena, "Knots in %s held %s soaked than dry",
                                    twins.materials, more);
    finding->asks = be_arena_format(survey->arena, "whether knots in %s hold as much soaked as dry",
                                    twins.materials);
  }
  finding->place = be_arena_format(survey->arena, "%s, %zu knot%s, each in a combination",
                                   twins.materials, twins.count, be_plural(twins.count));
  return status;
}

enum be_status be_find_soak(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  enum be_status status = find_plain_lines(findings, err);
  for (size_t c = 0; c < survey->combinations_count && status == BE_OK; c++) {
    const struct combination *where = &survey->combinations[c];
    if (where->soak != BE_SOAK_SOAKED || be_is_plain(where)) continue;
    struct twins twins = {findings->made[c].both, false, 0};
    bool met = false;
    for (size_t k = 0; k < c; k++)
      met |= survey->combinations[k].soak == BE_SOAK_SOAKED &&
             !be_is_plain(&survey->combinations[k]) && findings->made[k].both == twins.materials;
    if (met) continue;
    status = find_twins(findings, twins, err);
    twins.by_share = true;
    if (status == BE_OK) status = find_twins(findings, twins, err);
  }
  return status;
}
