/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plain lines: what the pulls of knots are divided by, and means in which lower
 * bounds are counted. */
#include "app/survey/survey.h"

#include <math.h>
#include <stdlib.h>

/* Speeds set by hand are met to a tenth at best. */
bool be_same_speed(const struct be_pull *a, const struct be_pull *b)
{
  if (isnan(a->speed_m_s) || isnan(b->speed_m_s)) return isnan(a->speed_m_s) && isnan(b->speed_m_s);
  double faster = fmax(fabs(a->speed_m_s), fabs(b->speed_m_s));
  return fabs(a->speed_m_s - b->speed_m_s) <= 0.1 * faster;
}

/* Free lengths are set by hand too. */
bool be_same_length(const struct be_pull *a, const struct be_pull *b)
{
  if (isnan(a->length_m) || isnan(b->length_m)) return isnan(a->length_m) && isnan(b->length_m);
  return fabs(a->length_m - b->length_m) <= 0.1 * fmax(a->length_m, b->length_m);
}

bool be_pulled_alike(const struct be_pull *a, const struct be_pull *b)
{
  return be_same_speed(a, b) && a->bench == b->bench && be_same_length(a, b);
}

/* ---- means in which lower bounds are counted ---- */

/* Mean and deviation of a normal by maximum likelihood, bounds as right censoring. The
 * normal, because without bounds these are the mean and deviation of all other sets, and
 * because it lies between loads skewed to the right (lognormal) and to the left (Weibull):
 * nobody knows which from five pulls. Likelihood divides squares by n, not n - 1: put right as
 * for complete pulls, with the events as n, for bounds say next to nothing about the scatter
 * (ours; the coverage is in docs/measured.md). Readings that do not scatter at all were read
 * too coarsely for their scatter to be known. */
struct mean be_mean_with_bounds(const struct be_summary *events, const struct be_held *held,
                                size_t count)
{
  struct mean mean = {.estimate = be_estimate_mean(events), .cv2 = NAN};
  if (!(mean.estimate.variance > 0)) {
    mean.estimate.variance = NAN;
    mean.estimate.df = 0;
    return mean;
  }
  double n = (double)events->n;
  mean.cv2 = events->sd * events->sd / (events->mean * events->mean);
  struct be_fit fit;
  if (count > events->n) be_fit_censored(BE_FAMILY_NORMAL, held, count, &fit);
  if (count == events->n || !fit.converged) return mean;
  mean.counted_in = true;
  mean.cv2 = fit.sigma * fit.sigma / (fit.mu * fit.mu) * n / (n - 1);
  mean.estimate.value = fit.mu;
  mean.estimate.variance = fit.se_mu * fit.se_mu * n / (n - 1);
  return mean;
}

/* ---- sets of plain pulls ---- */

static size_t family_of(struct survey *survey, int name, enum be_soak soak)
{
  size_t i = 0;
  while (i < survey->families_count &&
         !(survey->families[i].name == name && survey->families[i].soak == soak))
    i++;
  if (i == survey->families_count)
    survey->families[survey->families_count++] = (struct plain_family){name, soak, 0, 0};
  return i;
}

static bool is_of(const struct plain_set *set, const struct be_pull *pull)
{
  return set->line == pull->line_a && set->like->soak == pull->soak &&
         be_pulled_alike(set->like, pull);
}

static size_t set_of(struct survey *survey, const struct be_pull *pull)
{
  size_t i = 0;
  while (i < survey->sets_count && !is_of(&survey->sets[i], pull)) i++;
  if (i == survey->sets_count)
    survey->sets[survey->sets_count++] = (struct plain_set){
        .line = pull->line_a,
        .like = pull,
        .family = family_of(survey, survey->name_of_line[pull->line_a], pull->soak)};
  return i;
}

static int by_family(const void *a_, const void *b_)
{
  const struct plain_set *a = a_, *b = b_;
  if (a->family != b->family) return a->family < b->family ? -1 : 1;
  return a->like->id < b->like->id ? -1 : a->like->id > b->like->id;
}

/* Room for all plain pulls. */
struct room {
  double *loads;
  struct be_held *held;
};

static struct mean mean_of(const struct survey *survey, const size_t *in, size_t set,
                           const struct room *room, size_t *events)
{
  size_t count = 0;
  for (size_t k = 0; k < survey->plain_count; k++)
    if (in[k] == set) {
      room->loads[count] = survey->plain[k]->load_N;
      room->held[count] = (struct be_held){room->loads[count], false, 1};
      count++;
    }
  *events = count;
  struct be_summary summary;
  be_summary_of(room->loads, count, &summary);
  for (size_t k = 0; k < survey->plain_bounds_count; k++) {
    const struct be_pull *pull = survey->plain_bounds[k];
    if (is_of(&survey->sets[set], pull) && pull->load_N > 0)
      room->held[count++] = (struct be_held){pull->load_N, true, 1};
  }
  return be_mean_with_bounds(&summary, room->held, count);
}

/* Relative scatter of a family: within each set, pooled over its sets. A pull
 * belongs to the one set it was put in: in[i], by the order of making. A mean with
 * lower bounds is worth as many complete pulls as have its variance. */
static void pool_families(struct survey *survey, const size_t *in, const struct room *room)
{
  for (size_t i = 0; i < survey->sets_count; i++) {
    struct plain_set *set = &survey->sets[i];
    struct plain_family *family = &survey->families[set->family];
    struct mean mean = mean_of(survey, in, i, room, &set->n);
    set->mean = mean.estimate.value;
    set->worth = (double)set->n;
    if (set->n < 2) continue;
    if (mean.counted_in) set->worth = mean.cv2 * set->mean * set->mean / mean.estimate.variance;
    if (mean.cv2 > 0) family->cv2 += (double)(set->n - 1) * mean.cv2;
    family->df += (double)(set->n - 1);
  }
  /* Readings that do not scatter at all were read too coarsely to tell. */
  for (size_t i = 0; i < survey->families_count; i++) {
    struct plain_family *family = &survey->families[i];
    if (family->cv2 > 0) family->cv2 /= family->df;
    else *family = (struct plain_family){family->name, family->soak, NAN, 0};
  }
}

enum be_status be_plain_sets(struct survey *survey, struct be_err *err)
{
  size_t events = survey->plain_count, all = events + survey->plain_bounds_count;
  survey->sets = be_arena_alloc(survey->arena, events * sizeof *survey->sets);
  survey->families = be_arena_alloc(survey->arena, events * sizeof *survey->families);
  size_t *in = be_arena_alloc(survey->arena, events * sizeof *in);
  struct room room = {be_arena_alloc(survey->arena, events * sizeof(double)),
                      be_arena_alloc(survey->arena, all * sizeof(struct be_held))};
  if (!survey->sets || !survey->families || !in || !room.loads || !room.held)
    return be_no_memory(err);
  for (size_t i = 0; i < events; i++) in[i] = set_of(survey, survey->plain[i]);
  pool_families(survey, in, &room);
  qsort(survey->sets, survey->sets_count, sizeof *survey->sets, by_family);
  return BE_OK;
}
