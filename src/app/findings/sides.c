/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which of two unlike materials lets go, and whether that hangs on the combination. */
#include "app/findings/findings.h"

#include <math.h>
#include <string.h>

/* Joints of two materials, named in the order of the alphabet. */
struct joint {
  const char *first, *second;
  size_t k, n;                     /* k: parted on the side of the first */
  size_t in_knot, at_entry, clear; /* in_knot, at_entry: on either side */
  size_t combinations;
};

/* The two materials of a combination; false for alike or unrecorded ones. */
static bool names_joint(const struct findings *findings, const struct combination *where,
                        struct joint *joint, bool *turned)
{
  const char *a = be_made_of(findings, where)->a, *b = be_made_of(findings, where)->b;
  if (!a || !b || be_text_same(a, b)) return false;
  *turned = strcmp(a, b) > 0;
  *joint = (struct joint){.first = *turned ? b : a, .second = *turned ? a : b};
  return true;
}

static void count_pull(const struct be_pull *pull, bool turned, struct joint *joint)
{
  if (be_tells_side(pull)) {
    joint->n++;
    joint->k += pull->which == (turned ? BE_WHICH_B : BE_WHICH_A);
    joint->in_knot += pull->where == BE_WHERE_KNOT;
    joint->at_entry += pull->where == BE_WHERE_ENTRY;
  }
  joint->clear += pull->kind != BE_KIND_VOID && pull->where == BE_WHERE_CLEAR;
}

/* Counts of one combination, if its joints are of these two. */
static bool count_there(const struct findings *findings, const struct combination *where,
                        const struct joint *like, struct joint *joint)
{
  const struct survey *survey = findings->survey;
  bool turned;
  if (!names_joint(findings, where, joint, &turned)) return false;
  if (!be_text_same(joint->first, like->first) || !be_text_same(joint->second, like->second))
    return false;
  for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
    for (size_t k = 0; k < survey->cells[i].count; k++)
      count_pull(survey->cells[i].pulls[k], turned, joint);
  joint->combinations = joint->n > 0;
  return true;
}

static void mark(struct finding *finding, const struct findings *findings, const struct joint *like)
{
  const struct survey *survey = findings->survey;
  for (size_t c = 0; c < survey->combinations_count; c++) {
    const struct combination *where = &survey->combinations[c];
    struct joint there;
    if (!count_there(findings, where, like, &there)) continue;
    for (size_t i = where->first_cell; i < where->first_cell + where->cells_count; i++)
      for (size_t k = 0; k < survey->cells[i].count; k++)
        if (be_tells_side(survey->cells[i].pulls[k]))
          be_finding_pull(finding, survey, survey->cells[i].pulls[k]);
  }
}

/* "30 in the knot, 8 at its entry, 2 do not say (3 more parted clear of it)" */
static const char *where_words(const struct survey *survey, const struct joint *joint)
{
  size_t untold = joint->n - joint->in_knot - joint->at_entry;
  const char *rest = untold ? be_arena_format(survey->arena, ", %zu do not say", untold) : "";
  const char *clear =
      joint->clear ? be_arena_format(survey->arena, " (%zu more parted clear of it)", joint->clear)
                   : "";
  return be_arena_format(survey->arena, "%zu in the knot, %zu at its entry%s%s", joint->in_knot,
                         joint->at_entry, rest ? rest : "", clear ? clear : "");
}

static enum be_status find_side(struct findings *findings, const struct joint *joint,
                                struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  bool first = 2 * joint->k >= joint->n;
  size_t k = first ? joint->k : joint->n - joint->k;
  const char *side = first ? joint->first : joint->second;
  struct be_interval share = be_rate_exact(k, joint->n, survey->how.level);
  mark(finding, findings, joint);
  finding->value = 100 * (double)k / (double)joint->n;
  finding->interval.low = 100 * share.low;
  finding->interval.high = 100 * share.high;
  finding->unit = "%";
  finding->decimals = 1;
  finding->p = be_rate_against(k, joint->n, 0.5);
  finding->least_p = be_rate_against(joint->n, joint->n, 0.5);
  /* Of one sample against a half: half the variance of a difference, and half the pulls. */
  finding->effect = 2 * fabs(2 * asin(sqrt((double)k / (double)joint->n)) - 2 * asin(sqrt(0.5)));
  finding->says = be_arena_format(
      survey->arena, "Where a joint of %s and %s parted at the knot, the %s let go in %zu of %zu",
      joint->first, joint->second, side, k, joint->n);
  finding->asks = be_arena_format(
      survey->arena, "which line lets go in joints of %s and %s (the %s in %zu of %zu that tell)",
      joint->first, joint->second, side, k, joint->n);
  finding->more = where_words(survey, joint);
  finding->place =
      be_arena_format(survey->arena, "%s and %s, %zu combination%s", joint->first, joint->second,
                      joint->combinations, be_plural(joint->combinations));
  return BE_OK;
}

/* Each combination against all others of the two materials, by Fisher; the least p counts for
 * all that were looked at (Bonferroni). */
static enum be_status find_odd_one(struct findings *findings, const struct joint *joint,
                                   struct be_err *err)
{
  const struct survey *survey = findings->survey;
  const struct combination *odd = NULL;
  struct be_two_rates seen = {0, 0, 0, 0};
  struct be_strata rates = {.p = NAN};
  for (size_t c = 0; c < survey->combinations_count; c++) {
    struct joint there;
    struct be_strata own;
    if (!count_there(findings, &survey->combinations[c], joint, &there) || there.n == 0) continue;
    const struct be_two_rates against = {there.k, there.n, joint->k - there.k, joint->n - there.n};
    enum be_status status = be_rates_strata(&against, 1, survey->how.level, &own, err);
    if (status != BE_OK) return status;
    if (odd && !(own.p < rates.p)) continue;
    odd = &survey->combinations[c];
    rates = own;
    seen = against;
  }
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  mark(finding, findings, joint);
  finding->value = 100 * rates.difference.value;
  finding->interval.low = 100 * rates.difference.interval.low;
  finding->interval.high = 100 * rates.difference.interval.high;
  finding->unit = "pts";
  finding->decimals = 1;
  finding->p = fmin(1, rates.p * (double)joint->combinations);
  finding->says = be_arena_format(
      survey->arena,
      "Which line lets go in joints of %s and %s differs by combination: in %s the %s in %zu of "
      "%zu, elsewhere in %zu of %zu",
      joint->first, joint->second, odd->name, joint->first, seen.ka, seen.na, seen.kb, seen.nb);
  finding->asks = be_arena_format(
      survey->arena, "whether it differs by combination which line lets go in joints of %s and %s",
      joint->first, joint->second);
  finding->place = be_arena_format(survey->arena, "%s and %s, %zu combinations", joint->first,
                                   joint->second, joint->combinations);
  finding->settle = "the combinations agree as far as these pulls tell";
  return BE_OK;
}

static bool was_met(const struct findings *findings, size_t before, const struct joint *joint)
{
  bool turned;
  for (size_t c = 0; c < before; c++) {
    struct joint other;
    if (names_joint(findings, &findings->survey->combinations[c], &other, &turned) &&
        be_text_same(other.first, joint->first) && be_text_same(other.second, joint->second))
      return true;
  }
  return false;
}

enum be_status be_find_sides(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  enum be_status status = BE_OK;
  for (size_t c = 0; c < survey->combinations_count && status == BE_OK; c++) {
    struct joint joint, there;
    bool turned;
    if (!names_joint(findings, &survey->combinations[c], &joint, &turned)) continue;
    if (was_met(findings, c, &joint)) continue;
    for (size_t k = c; k < survey->combinations_count; k++) {
      if (!count_there(findings, &survey->combinations[k], &joint, &there)) continue;
      joint.k += there.k;
      joint.n += there.n;
      joint.in_knot += there.in_knot;
      joint.at_entry += there.at_entry;
      joint.clear += there.clear;
      joint.combinations += there.combinations;
    }
    if (joint.n == 0) continue;
    status = find_side(findings, &joint, err);
    bool mixed = joint.k > 0 && joint.k < joint.n && joint.combinations > 1;
    if (status == BE_OK && mixed) status = find_odd_one(findings, &joint, err);
  }
  return status;
}
