/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two tyers in the same knots, spools and ways of pulling: who held more, whose pulls scatter
 * more. */
#include "app/findings/findings.h"

#include <math.h>

/* The pulls of two tyers out of all; x is 1 for the first, 0 for the second. */
static void take_two(const struct sample *all, const char *first, const char *second,
                     struct sample *two)
{
  two->n = 0;
  for (size_t i = 0; i < all->n; i++) {
    bool a = be_same_words(all->pull[i]->tyer, first), b = be_same_words(all->pull[i]->tyer, second);
    if (!a && !b) continue;
    two->pull[two->n] = all->pull[i];
    two->stratum[two->n] = all->stratum[i];
    two->y[two->n] = all->y[i];
    two->x[two->n++] = a;
  }
}

static enum be_status find_level(struct findings *findings, const struct sample *two,
                                 const char *first, const char *second, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  size_t strata;
  be_within(two->x, two->y, two->stratum, two->n, &strata);
  if (strata == 0) return BE_OK;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  be_finding_within(finding, survey, two);
  finding->says = be_arena_format(
      survey->arena, "What %s tied held %s than what %s tied, in the same knots and spools", first,
      finding->value > 0 ? "more" : "less", second);
  finding->asks = be_arena_format(
      survey->arena, "whether what %s tied or what %s tied holds more, in the same knots and spools",
      first, second);
  finding->place = be_arena_format(survey->arena, "%s and %s, %zu place%s alike", first, second,
                                   strata, be_plural(strata));
  return BE_OK;
}

/* ---- scatter ---- */

enum { SCATTER_TYERS_MAX = 6 };

/* Mean squares of both within strata where each has two or more. */
struct scatters {
  double squares[2];
  size_t df[2];
};

static struct scatters scatters_of(const struct sample *two)
{
  struct scatters sum = {{0, 0}, {0, 0}};
  for (size_t i = 0, end; i < two->n; i = end) {
    double mean[2] = {0, 0}, squares[2] = {0, 0};
    size_t n[2] = {0, 0};
    for (end = i; end < two->n && two->stratum[end] == two->stratum[i]; end++) {
      n[two->x[end] > 0]++;
      mean[two->x[end] > 0] += two->y[end];
    }
    if (n[0] < 2 || n[1] < 2) continue;
    for (size_t k = i; k < end; k++) {
      int side = two->x[k] > 0;
      double off = two->y[k] - mean[side] / (double)n[side];
      squares[side] += off * off;
    }
    for (int side = 0; side < 2; side++) {
      sum.squares[side] += squares[side];
      sum.df[side] += n[side] - 1;
    }
  }
  return sum;
}

static double log_ratio(const struct scatters *s)
{
  return 0.5 * log(s->squares[1] / (double)s->df[1] / (s->squares[0] / (double)s->df[0]));
}

/* Who tied what is dealt out anew within each stratum, the difference of the means taken off
 * before: the usual test of two variances takes loads as normal, and is wrong where they are
 * not. Returns p, the seen deal counted in. */
static double deal_out(struct sample *two, double level_apart, double seen,
                       const struct be_answering *how)
{
  struct be_random random;
  be_random_init(&random, how->seed, 0);
  size_t hits = 1;
  for (size_t i = 0; i < two->n; i++) two->y[i] -= level_apart * two->x[i];
  for (size_t t = 0; t < how->resamples; t++) {
    for (size_t i = 0, end; i < two->n; i = end) {
      for (end = i; end < two->n && two->stratum[end] == two->stratum[i];) end++;
      for (size_t k = end - 1; k > i; k--) {
        size_t other = i + (size_t)be_random_below(&random, k - i + 1);
        double held = two->x[k];
        two->x[k] = two->x[other];
        two->x[other] = held;
      }
    }
    struct scatters dealt = scatters_of(two);
    double ratio = log_ratio(&dealt);
    hits += !(fabs(ratio) < fabs(seen) * (1 - 1e-12));
  }
  return (double)hits / (double)(how->resamples + 1);
}

static void drop_slips(struct sample *two)
{
  size_t n = 0;
  for (size_t i = 0; i < two->n; i++) {
    if (two->pull[i]->what == BE_WHAT_SLIPPED_OUT) continue;
    two->pull[n] = two->pull[i];
    two->stratum[n] = two->stratum[i];
    two->y[n] = two->y[i];
    two->x[n++] = two->x[i];
  }
  two->n = n;
}

static void mark_pairs(struct finding *finding, const struct survey *survey,
                       const struct sample *two)
{
  for (size_t i = 0, end; i < two->n; i = end) {
    size_t n[2] = {0, 0};
    for (end = i; end < two->n && two->stratum[end] == two->stratum[i]; end++)
      n[two->x[end] > 0]++;
    for (size_t k = i; k < end && n[0] > 1 && n[1] > 1; k++)
      be_finding_pull(finding, survey, two->pull[k]);
  }
}

/* Takes the sample apart. */
static enum be_status find_scatter(struct findings *findings, struct sample *two,
                                   const char *first, const char *second, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  drop_slips(two);
  struct scatters seen = scatters_of(two);
  if (!(seen.squares[0] > 0) || !(seen.squares[1] > 0)) return BE_OK;
  size_t strata;
  struct be_estimate apart = be_within(two->x, two->y, two->stratum, two->n, &strata);
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  mark_pairs(finding, survey, two);
  double df = (double)seen.df[1], df2 = (double)seen.df[0];
  struct be_measure ratio = be_ratio_deviations(sqrt(seen.squares[1] / df), df,
                                                sqrt(seen.squares[0] / df2), df2,
                                                survey->how.level);
  finding->value = 100 * (ratio.value - 1);
  finding->interval.low = 100 * (ratio.interval.low - 1);
  finding->interval.high = 100 * (ratio.interval.high - 1);
  finding->unit = "% relative";
  finding->least_p = 1 / (double)(survey->how.resamples + 1);
  finding->p = deal_out(two, apart.value, log_ratio(&seen), &survey->how);
  /* The log of a deviation is known by half of one over its pulls. */
  finding->effect = fabs(log(ratio.value)) * sqrt(2);
  finding->says = be_arena_format(survey->arena, "What %s tied scattered %s than what %s tied",
                                  first, ratio.value > 1 ? "more" : "less", second);
  finding->asks = be_arena_format(survey->arena,
                                  "whether what %s tied or what %s tied scatters more", first,
                                  second);
  finding->more = "of the deviation, slips left out";
  finding->place = be_arena_format(survey->arena, "%s and %s", first, second);
  return BE_OK;
}

/* ---- all pairs ---- */

enum be_status be_find_tyers(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct sample all, two;
  const char **tyers;
  size_t count;
  enum be_status status = be_sample_gather(survey, false, false, &all, err);
  if (status == BE_OK) status = be_sample_gather(survey, false, false, &two, err);
  if (status == BE_OK) status = be_sample_tyers(survey, &all, &tyers, &count, err);
  if (status != BE_OK) return status;
  for (size_t a = 0; a < count; a++)
    for (size_t b = a + 1; b < count && status == BE_OK; b++) {
      take_two(&all, tyers[a], tyers[b], &two);
      status = find_level(findings, &two, tyers[a], tyers[b], err);
      if (status == BE_OK && count <= SCATTER_TYERS_MAX)
        status = find_scatter(findings, &two, tyers[a], tyers[b], err);
    }
  return status;
}
