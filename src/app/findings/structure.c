/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Does the strength of knots go with how they are built: crossings, overlap, turns. The knots of a
 * group, each by its mean over the same combinations, are the units: ranks, and all orders. */
#include "app/findings/findings.h"
#include "app/survey/grid.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

/* ---- what is measured ---- */

static double turns_of(const struct build *build, bool braid_a, bool braid_b)
{
  (void)braid_a;
  (void)braid_b;
  return build->turns;
}

/* On the braid's side where one side is of braid, else on both. */
static double crossings_of(const struct build *build, bool braid_a, bool braid_b)
{
  if (braid_a != braid_b) return braid_a ? build->crossings_a : build->crossings_b;
  return isnan(build->crossings_b) ? build->crossings_a : build->crossings_a + build->crossings_b;
}

static double overlap_of(const struct build *build, bool braid_a, bool braid_b)
{
  (void)braid_a;
  (void)braid_b;
  return build->overlap;
}

static double wraps_of(const struct build *build, bool braid_a, bool braid_b)
{
  (void)braid_a;
  (void)braid_b;
  return build->wraps;
}

static const struct measure {
  const char *more, *on_braid; /* "more turns"; on_braid: where one line is of braid */
  const char *go;              /* the verb with it */
  const char *one;             /* of the slope */
  /* Of the slope by ties alone, which are asked where too few knots tell it: a drawing has no
   * millimetres. Null: a tie stands in for what is not recorded, if it tells it. */
  const char *one_of_ties;
  double (*of)(const struct build *build, bool braid_a, bool braid_b);
  bool in_space;    /* no view of its tie matters */
  const char *none; /* why nothing can be asked in any group */
} measures[] = {
    {"more crossings", "more crossings on the braid side", "go", "a crossing", NULL, crossings_of,
     false,
     "three knots or more with their crossings or their tie recorded, in the same combinations, "
     "would be needed"},
    {"more overlap of the lines", "more overlap of the lines", "goes", "a millimetre", "a diameter",
     overlap_of, false,
     "three knots or more with their overlap or their tie recorded, in the same combinations, "
     "would be needed"},
    {"more turns", "more turns", "go", "a turn", NULL, turns_of, false,
     "three knots or more with their turns recorded, in the same combinations, would be needed"},
    {"more turns of wrap", "more turns of wrap", "go", "a turn of wrap", NULL, wraps_of, true,
     "three knots or more with their tie recorded, in the same combinations, would be needed"},
};
enum { MEASURES = sizeof measures / sizeof measures[0], UNITS_LEAST = 3 };

/* ---- the knots of a group ---- */

struct units {
  const struct grid *block;
  const bool *in; /* of the combinations */
  size_t combinations;
  bool braid_a, braid_b;
  double *x, *y; /* of the knots that tell the measure */
  size_t *knot;
  bool *by_tie; /* worked out of its tie */
  size_t count;
};

/* Whether every knot of the block may be compared there as it is. */
static bool is_fair(const struct grid *block, size_t c)
{
  for (size_t k = 1; k < block->knots; k++)
    if (!be_fair(be_grid_cell(block, 0, c), be_grid_cell(block, k, c))) return false;
  return true;
}

static double mean_log(const struct units *units, size_t knot)
{
  double sum = 0;
  for (size_t c = 0; c < units->block->combinations; c++) {
    if (!units->in[c]) continue;
    const struct cell *cell = be_grid_cell(units->block, knot, c);
    sum += be_grid_by_share(units->block, c) ? cell->log_share.value : cell->log_load.value;
  }
  return sum / (double)units->combinations;
}

/* A knot's record tells it, or its tie does. */
static enum be_status take_units(struct findings *findings, const struct measure *measure,
                                 bool ties_alone, struct units *units, struct be_err *err)
{
  units->count = 0;
  for (size_t k = 0; k < units->block->knots; k++) {
    const size_t knot = (size_t)units->block->knot[k];
    struct build build = be_build_recorded(&findings->survey->record.knots[knot]);
    double x = ties_alone ? NAN : measure->of(&build, units->braid_a, units->braid_b);
    bool by_tie = !isfinite(x) && (ties_alone || !measure->one_of_ties);
    if (by_tie) {
      enum be_status status = be_build_of_tie(findings, knot, &build, err);
      if (status != BE_OK) return status;
      x = measure->of(&build, units->braid_a, units->braid_b);
    }
    if (!isfinite(x)) continue;
    units->x[units->count] = x;
    units->y[units->count] = mean_log(units, k);
    units->by_tie[units->count] = by_tie;
    units->knot[units->count++] = k;
  }
  return BE_OK;
}

/* "; worked out from the tie of uni, in the view with the fewest crossings found" */
static const char *ties_words(const struct survey *survey, const struct measure *measure,
                              const struct units *units)
{
  enum { NAMED_MAX = 3 };
  size_t ties = 0;
  const char *names = "";
  for (size_t i = 0; i < units->count; i++) ties += units->by_tie[i];
  if (ties == 0) return "";
  if (ties == units->count) names = "their ties";
  else if (ties > NAMED_MAX)
    names = be_arena_format(survey->arena, "the ties of %zu of them", ties);
  for (size_t i = 0; ties < units->count && ties <= NAMED_MAX && i < units->count && names; i++)
    if (units->by_tie[i])
      names = be_arena_format(survey->arena, "%s%s%s", names, *names ? ", and of " : "the tie of ",
                              be_knot_name(survey, units->block->knot[units->knot[i]]));
  return names ? be_arena_format(
                     survey->arena, "; worked out from %s%s", names,
                     measure->in_space ? "" : ", in the view with the fewest crossings found")
               : NULL;
}

static void say_order(const struct survey *survey, const struct measure *measure,
                      const struct units *units, const char *one, const struct be_rank_order *order,
                      struct finding *finding)
{
  const char *group = units->block->where[0]->group;
  const char *more = units->braid_a != units->braid_b ? measure->on_braid : measure->more;
  finding->value = 100 * expm1(order->slope.value);
  finding->interval.low = 100 * expm1(order->slope.interval.low);
  finding->interval.high = 100 * expm1(order->slope.interval.high);
  finding->unit = "% relative";
  finding->decimals = 1;
  finding->p = order->p;
  finding->least_p = order->least_p;
  finding->says = be_arena_format(survey->arena, "%c%s went with %s strength in %s",
                                  toupper((unsigned char)more[0]), more + 1,
                                  order->rho < 0 ? "less" : "more", group);
  finding->asks = be_arena_format(survey->arena, "whether %s %s with more or less strength in %s",
                                  more, measure->go, group);
  const char *ties = ties_words(survey, measure, units);
  const char *chance = be_order_words(survey, order);
  finding->more = be_arena_format(survey->arena, "for %s more, over %zu knots; %s%s", one,
                                  units->count, chance ? chance : "", ties ? ties : "");
  finding->place =
      be_arena_format(survey->arena, "%s, %zu knots in %zu combination%s", group, units->count,
                      units->combinations, be_plural(units->combinations));
  finding->units = "knots";
  finding->settle = "more knots that differ in it would tell, not more pulls of these";
}

static enum be_status find_order(struct findings *findings, const struct measure *measure,
                                 struct units *units, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct be_rank_order order;
  const char *one = measure->one;
  enum be_status status = take_units(findings, measure, false, units, err);
  if (status == BE_OK && units->count < UNITS_LEAST && measure->one_of_ties) {
    one = measure->one_of_ties;
    status = take_units(findings, measure, true, units, err);
  }
  if (status != BE_OK || units->count < UNITS_LEAST || units->count > BE_RANK_ORDER_MAX)
    return status;
  const struct be_resampling how = {
      .seed = survey->how.seed, .times = survey->how.resamples, .level = survey->how.level};
  status = be_permute_rank(units->x, units->y, units->count, &how, &order, err);
  if (status != BE_OK || isnan(order.rho)) return status;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  for (size_t i = 0; i < units->count; i++)
    for (size_t c = 0; c < units->block->combinations; c++)
      if (units->in[c])
        be_finding_cell(finding, survey, be_grid_cell(units->block, units->knot[i], c));
  say_order(survey, measure, units, one, &order, finding);
  return BE_OK;
}

/* ---- group by group ---- */

static bool is_braid(const char *material)
{
  return material && strcmp(material, "braid") == 0;
}

/* Combinations from..to of one group; false when there is no block to ask about. */
static enum be_status make_units(const struct findings *findings, size_t from, size_t to,
                                 struct grid *block, struct units *units, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct grid all;
  struct be_arena *arena = survey->arena;
  const struct combination **where = be_arena_alloc(arena, (to - from) * sizeof *where);
  if (!where) return be_no_memory(err);
  for (size_t c = from; c < to; c++) where[c - from] = &survey->combinations[c];
  enum be_status status = be_grid_make(survey, where, to - from, &all, err);
  if (status == BE_OK) status = be_grid_block(survey, &all, block, err);
  if (status != BE_OK) return status;
  bool *in = be_arena_alloc(arena, block->combinations + 1);
  *units = (struct units){.block = block,
                          .in = in,
                          .x = be_arena_alloc(arena, (block->knots + 1) * sizeof(double)),
                          .y = be_arena_alloc(arena, (block->knots + 1) * sizeof(double)),
                          .knot = be_arena_alloc(arena, (block->knots + 1) * sizeof(size_t)),
                          .by_tie = be_arena_alloc(arena, block->knots + 1)};
  if (!in || !units->x || !units->y || !units->knot || !units->by_tie) return be_no_memory(err);
  for (size_t c = 0; c < block->combinations; c++) {
    in[c] = is_fair(block, c);
    units->combinations += in[c];
  }
  units->braid_a = is_braid(findings->made[from].a);
  units->braid_b = is_braid(findings->made[from].b);
  return BE_OK;
}

/* A measure that no group can be asked about is said once. */
static enum be_status say_none(struct findings *findings, const struct measure *measure,
                               struct be_err *err)
{
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  finding->asks =
      be_arena_format(findings->survey->arena, "whether %s %s with more or less strength",
                      measure->more, measure->go);
  finding->settle = measure->none;
  return BE_OK;
}

enum be_status be_find_structure(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  size_t found[MEASURES] = {0};
  enum be_status status = BE_OK;
  for (size_t c = 0, to; c < survey->combinations_count && status == BE_OK; c = to) {
    const struct combination *first = &survey->combinations[c];
    for (to = c; to < survey->combinations_count &&
                 strcmp(survey->combinations[to].group, first->group) == 0;)
      to++;
    if (be_is_plain(first)) continue;
    struct grid block;
    struct units units = {0};
    status = make_units(findings, c, to, &block, &units, err);
    if (status != BE_OK || units.combinations == 0) continue;
    for (size_t m = 0; m < MEASURES && status == BE_OK; m++) {
      size_t before = findings->count;
      status = find_order(findings, &measures[m], &units, err);
      found[m] += findings->count - before;
    }
  }
  for (size_t m = 0; m < MEASURES && status == BE_OK; m++)
    if (found[m] == 0) status = say_none(findings, &measures[m], err);
  return status;
}
