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
    bool a = be_same_words(all->pull[i]->tyer, first),
         b = be_same_words(all->pull[i]->tyer, second);
    if (!a && !b) continue;
    two->pull[two->n] = all->pull[i];
    two->stratum[two->n] = all->stratum[i];
    two->y[two->n] = all->y[i];
    two->x[two->n++] = a;
  }
}

static size_t count_strata(const struct sample *two)
{
  size_t strata;
  be_within(two->x, two->y, two->stratum, two->n, &strata);
  return strata;
}

/* Of the pulls behind it, those of the first or of the second. */
static size_t count_behind(const struct finding *finding, const struct survey *survey,
                           const struct sample *two, bool first)
{
  size_t count = 0;
  for (size_t i = 0; i < two->n; i++)
    count += finding->behind[two->pull[i] - survey->record.pulls] && (two->x[i] > 0) == first;
  return count;
}

/* A day shifts all its pulls alike, and must not pass for a tyer. */
static enum be_status find_level(struct findings *findings, const struct sample *by_day,
                                 const char *first, const char *second, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  size_t strata = count_strata(by_day);
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  if (strata) {
    be_finding_within(finding, survey, by_day);
    be_finding_sides(finding, count_behind(finding, survey, by_day, true),
                     count_behind(finding, survey, by_day, false));
  } else
    finding->settle = "no session has pulls of both in one knot on the same spools, and a day may "
                      "shift all that is pulled on it: such pulls would tell";
  finding->says = be_arena_format(
      survey->arena, "What %s tied held %s than what %s tied, knot by knot on the same spools",
      first, finding->value > 0 ? "more" : "less", second);
  finding->asks = be_arena_format(
      survey->arena,
      "whether what %s tied or what %s tied holds more, knot by knot on the same spools", first,
      second);
  finding->place = be_arena_format(survey->arena, "%s and %s, %zu place%s alike", first, second,
                                   strata, be_plural(strata));
  return BE_OK;
}

/* ---- scatter ---- */

/* Dealing out takes time: pairs of more tyers are not asked about, and so many pulls are looked at
 * in all, a thousand times each at least. */
enum { SCATTER_TYERS_MAX = 4, LOOKS = 4000000, DEALS_LEAST = 999 };

static size_t count_deals(const struct survey *survey, size_t n)
{
  size_t most = n ? LOOKS / n : LOOKS;
  if (most < DEALS_LEAST) most = DEALS_LEAST;
  return most < survey->how.resamples ? most : survey->how.resamples;
}

static void mark_both(struct finding *finding, const struct survey *survey,
                      const struct sample *two)
{
  for (size_t i = 0, end; i < two->n; i = end) {
    size_t n[2] = {0, 0};
    for (end = i; end < two->n && two->stratum[end] == two->stratum[i]; end++) n[two->x[end] > 0]++;
    for (size_t k = i; k < end && n[0] > 1 && n[1] > 1; k++)
      be_finding_pull(finding, survey, two->pull[k]);
  }
}

static void say_scatter(const struct survey *survey, const struct be_scattered *scatter,
                        const char *first, const char *second, struct finding *finding)
{
  finding->value = 100 * (scatter->ratio.value - 1);
  finding->interval.low = 100 * (scatter->ratio.interval.low - 1);
  finding->interval.high = 100 * (scatter->ratio.interval.high - 1);
  finding->unit = "% relative";
  finding->decimals = 1;
  finding->p = scatter->p;
  /* The log of a deviation is known by half of one over its pulls. */
  finding->effect = fabs(log(scatter->ratio.value)) * sqrt(2);
  finding->says =
      be_arena_format(survey->arena, "What %s tied scattered %s than what %s tied, slips left out",
                      first, scatter->ratio.value > 1 ? "more" : "less", second);
  finding->asks = be_arena_format(
      survey->arena, "whether what %s tied or what %s tied scatters more, slips left out", first,
      second);
  finding->more = "of the relative deviation";
  finding->place = be_arena_format(survey->arena, "%s and %s, %zu place%s alike", first, second,
                                   scatter->strata, be_plural(scatter->strata));
}

static enum be_status find_scatter(struct findings *findings, const struct sample *two,
                                   const char *first, const char *second, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct be_scattered scatter;
  bool *is_first = be_alloc_array(two->n + 1, sizeof *is_first);
  if (!is_first) return be_no_memory(err);
  for (size_t i = 0; i < two->n; i++) is_first[i] = two->x[i] > 0;
  const struct be_resampling how = {
      .seed = survey->how.seed, .times = count_deals(survey, two->n), .level = survey->how.level};
  enum be_status status =
      be_scatter_within(two->y, is_first, two->stratum, two->n, &how, &scatter, err);
  be_free(is_first);
  if (status != BE_OK || scatter.strata == 0) return status;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  finding->least_p = 1 / (double)(how.times + 1);
  mark_both(finding, survey, two);
  say_scatter(survey, &scatter, first, second, finding);
  return BE_OK;
}

/* ---- slips ---- */

/* Counts of the two in the strata of both. */
static size_t count_slips(const struct survey *survey, const struct sample *two,
                          struct be_two_rates *list, struct finding *finding)
{
  size_t count = 0;
  for (size_t i = 0, end; i < two->n; i = end) {
    struct be_two_rates here = {0, 0, 0, 0};
    for (end = i; end < two->n && two->stratum[end] == two->stratum[i]; end++) {
      enum be_what what = two->pull[end]->what;
      if (what == BE_WHAT_UNKNOWN) continue;
      bool first = two->x[end] > 0;
      *(first ? &here.na : &here.nb) += 1;
      *(first ? &here.ka : &here.kb) += what == BE_WHAT_SLIPPED_OUT;
    }
    if (here.na == 0 || here.nb == 0) continue;
    list[count++] = here;
    for (size_t k = i; finding && k < end; k++)
      if (two->pull[k]->what != BE_WHAT_UNKNOWN) be_finding_pull(finding, survey, two->pull[k]);
  }
  return count;
}

static enum be_status find_slips(struct findings *findings, const struct sample *two,
                                 const char *first, const char *second, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct be_two_rates *list = be_arena_alloc(survey->arena, (two->n + 1) * sizeof *list);
  if (!list) return be_no_memory(err);
  size_t count = count_slips(survey, two, list, NULL), a = 0, b = 0, na = 0, nb = 0;
  for (size_t i = 0; i < count; i++) {
    a += list[i].ka;
    na += list[i].na;
    b += list[i].kb;
    nb += list[i].nb;
  }
  struct be_strata strata;
  if (a + b == 0) return BE_OK;
  enum be_status status = be_rates_strata(list, count, survey->how.level, &strata, err);
  if (status != BE_OK) return status;
  struct finding *finding = be_finding_add(findings, err);
  if (!finding) return BE_NO_MEMORY;
  count_slips(survey, two, list, finding);
  be_finding_rates(finding, list, count, &strata);
  finding->says = be_arena_format(
      survey->arena,
      "What %s tied slipped out %s often than what %s tied: %zu of %zu against %zu of %zu", first,
      finding->value > 0 ? "more" : "less", second, a, na, b, nb);
  finding->asks = be_arena_format(survey->arena,
                                  "whether what %s tied or what %s tied slips out more often (%zu "
                                  "of %zu against %zu of %zu)",
                                  first, second, a, na, b, nb);
  finding->place = be_arena_format(survey->arena, "%s and %s, %zu place%s alike", first, second,
                                   count, be_plural(count));
  return BE_OK;
}

/* ---- all pairs ---- */

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

/* Two tyers with nothing alike are not asked about. */
static enum be_status find_pair(struct findings *findings, struct sample *two,
                                struct sample *by_day, const char *first, const char *second,
                                bool scatter, struct be_err *err)
{
  enum be_status status = find_slips(findings, two, first, second, err);
  drop_slips(two);
  drop_slips(by_day);
  if (status == BE_OK && count_strata(two))
    status = find_level(findings, by_day, first, second, err);
  if (status == BE_OK && scatter) status = find_scatter(findings, two, first, second, err);
  return status;
}

enum be_status be_find_tyers(struct findings *findings, struct be_err *err)
{
  const struct survey *survey = findings->survey;
  struct sample all, two, all_days, two_days;
  const char **tyers;
  size_t count;
  enum be_status status = be_sample_gather(survey, SAMPLE_SLIPS, &all, err);
  if (status == BE_OK) status = be_sample_gather(survey, SAMPLE_SLIPS, &two, err);
  if (status == BE_OK)
    status = be_sample_gather(survey, SAMPLE_SLIPS | SAMPLE_DAYS, &all_days, err);
  if (status == BE_OK)
    status = be_sample_gather(survey, SAMPLE_SLIPS | SAMPLE_DAYS, &two_days, err);
  if (status == BE_OK) status = be_sample_tyers(survey, &all, &tyers, &count, err);
  if (status != BE_OK) return status;
  for (size_t a = 0; a < count; a++)
    for (size_t b = a + 1; b < count && status == BE_OK; b++) {
      take_two(&all, tyers[a], tyers[b], &two);
      take_two(&all_days, tyers[a], tyers[b], &two_days);
      status =
          find_pair(findings, &two, &two_days, tyers[a], tyers[b], count <= SCATTER_TYERS_MAX, err);
    }
  return status;
}
