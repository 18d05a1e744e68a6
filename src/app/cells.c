/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figures of a cell: strength, and the plain line it is divided by.
 *
 * The denominator is the plain line of the same spools, weighted as the
 * knot's own pulls are: sum over spools of (share of pulls) x (plain mean of
 * that spool). Where a spool has no plain pulls of the same soak and speed,
 * the match falls back in steps, and the worst step is said. */
#include "app/survey.h"

#include <math.h>
#include <string.h>

const char *be_match_words(enum match match)
{
  static const char *const words[] = {
      "no plain line was pulled in this soak",
      "matched by spool, soak and speed",
      "matched by spool and soak, but pulled at another speed",
      "matched by soak, but partly from another spool",
  };
  return words[match];
}

static bool same_speed(const struct be_pull *a, const struct be_pull *b)
{
  if (isnan(a->speed_m_s) || isnan(b->speed_m_s)) return isnan(a->speed_m_s) && isnan(b->speed_m_s);
  /* Speeds set by hand are met to a tenth at best. */
  return fabs(a->speed_m_s - b->speed_m_s) <= 0.1 * fabs(a->speed_m_s);
}

static bool matches(const struct survey *survey, const struct be_pull *plain,
                    const struct be_pull *pull, int line, enum match match)
{
  if (plain->soak != pull->soak) return false;
  bool spool = plain->line_a == line;
  if (match == MATCH_LINE) return survey->name_of_line[plain->line_a] == survey->name_of_line[line];
  return spool && (match == MATCH_SPOOL || same_speed(plain, pull));
}

/* The pulls of one spool at one speed, and the plain pulls they are matched with. */
struct stratum {
  const struct be_pull *like;
  int line;
  size_t n;
  enum match match;
  struct be_summary plain;
  size_t first_plain; /* tells sets of plain pulls apart */
};

enum { STRATA_MAX = 64 };

static int line_of(const struct be_pull *pull, int side)
{
  return side == 0 ? pull->line_a : pull->line_b;
}

static size_t find_strata(const struct cell *cell, int side, struct stratum *strata)
{
  size_t count = 0;
  for (size_t i = 0; i < cell->n; i++) {
    const struct be_pull *pull = cell->events[i];
    size_t k = 0;
    while (k < count &&
           !(strata[k].line == line_of(pull, side) && same_speed(strata[k].like, pull)))
      k++;
    if (k == STRATA_MAX) k = STRATA_MAX - 1;
    else if (k == count)
      strata[count++] = (struct stratum){.like = pull, .line = line_of(pull, side)};
    strata[k].n++;
  }
  return count;
}

static void match_stratum(const struct survey *survey, struct stratum *stratum, double *scratch)
{
  for (size_t least = 2; least >= 1; least--)
    for (int match = MATCH_ALL; match <= MATCH_LINE; match++) {
      size_t n = 0;
      for (size_t i = 0; i < survey->plain_count; i++) {
        if (!matches(survey, survey->plain[i], stratum->like, stratum->line, (enum match)match))
          continue;
        if (n == 0) stratum->first_plain = i;
        scratch[n++] = survey->plain[i]->load_N;
      }
      if (n < least) continue;
      stratum->match = (enum match)match;
      be_summary_of(scratch, n, &stratum->plain);
      return;
    }
}

/* Strata that share one set of plain pulls are one part of the sum. */
static struct be_estimate weighted_plain(const struct stratum *strata, size_t count, size_t n)
{
  struct be_estimate parts[STRATA_MAX];
  double weights[STRATA_MAX];
  size_t first[STRATA_MAX], sizes[STRATA_MAX], used = 0;
  for (size_t i = 0; i < count; i++) {
    size_t k = 0;
    while (k < used && (first[k] != strata[i].first_plain || sizes[k] != strata[i].plain.n)) k++;
    if (k == used) {
      first[k] = strata[i].first_plain;
      sizes[k] = strata[i].plain.n;
      parts[k] = be_estimate_mean(&strata[i].plain);
      weights[k] = 0;
      used++;
    }
    weights[k] += (double)strata[i].n / (double)n;
  }
  return be_estimate_combine(parts, weights, used);
}

static size_t count_plain_bounds(const struct survey *survey, const struct cell *cell, int side)
{
  size_t count = 0;
  for (size_t i = 0; i < survey->plain_bounds_count; i++)
    count += matches(survey, survey->plain_bounds[i], cell->events[0],
                     line_of(cell->events[0], side), MATCH_LINE);
  return count;
}

static struct denominator find_denominator(const struct survey *survey, const struct cell *cell,
                                           int side, double *scratch)
{
  struct stratum strata[STRATA_MAX];
  struct denominator plain = {.match = MATCH_NONE};
  size_t count = find_strata(cell, side, strata);
  for (size_t i = 0; i < count; i++) {
    match_stratum(survey, &strata[i], scratch);
    if (strata[i].match == MATCH_NONE) return (struct denominator){.match = MATCH_NONE};
    if (strata[i].match > plain.match) plain.match = strata[i].match;
  }
  if (count == 0) return plain;
  plain.estimate = weighted_plain(strata, count, cell->n);
  plain.line_row = line_of(cell->events[0], side);
  plain.line = survey->name_of_line[plain.line_row];
  plain.bounds = count_plain_bounds(survey, cell, side);
  return plain;
}

static bool same_spools(const struct be_pull *a, const struct be_pull *b)
{
  return a->line_a == b->line_a && a->line_b == b->line_b;
}

/* The scatter of a knot is taken within spools, so that a strong spool is not
 * counted as an erratic knot. */
static struct be_estimate estimate_cell(const struct cell *cell, double *scratch)
{
  const struct be_pull *like[STRATA_MAX];
  struct be_summary groups[STRATA_MAX];
  size_t count = 0;
  for (size_t i = 0; i < cell->n; i++) {
    size_t k = 0;
    while (k < count && !same_spools(like[k], cell->events[i])) k++;
    if (k == STRATA_MAX) return be_estimate_mean(&cell->summary);
    if (k == count) like[count++] = cell->events[i];
  }
  for (size_t k = 0; k < count; k++) {
    size_t n = 0;
    for (size_t i = 0; i < cell->n; i++)
      if (same_spools(like[k], cell->events[i])) scratch[n++] = cell->loads[i];
    be_summary_of(scratch, n, &groups[k]);
  }
  struct be_estimate pooled = be_estimate_pooled(groups, count);
  return pooled.df > 0 ? pooled : be_estimate_mean(&cell->summary);
}

static void choose_weaker(const struct survey *survey, struct cell *cell, double *scratch)
{
  struct denominator a = find_denominator(survey, cell, 0, scratch);
  cell->plain = a;
  if (survey->combinations[cell->combination].line_b < 0) return;
  struct denominator b = find_denominator(survey, cell, 1, scratch);
  if (a.match == MATCH_NONE || b.match == MATCH_NONE) {
    cell->other_missing = a.match != b.match;
    cell->plain = (struct denominator){.match = MATCH_NONE};
    return;
  }
  cell->plain = a.estimate.value <= b.estimate.value ? a : b;
  if (a.line == b.line) return;
  struct be_difference apart;
  be_welch(&a.estimate, &b.estimate, survey->how.level, &apart);
  cell->weaker_uncertain = !(apart.interval.low > 0 || apart.interval.high < 0);
}

static void work_out(const struct survey *survey, struct cell *cell, double *scratch)
{
  size_t held = 0;
  be_summary_of(cell->loads, cell->n, &cell->summary);
  for (size_t i = 0; i < cell->n; i++)
    if (cell->events[i]->what != BE_WHAT_SLIPPED_OUT) scratch[held++] = cell->loads[i];
  be_summary_of(scratch, held, &cell->held);
  be_grubbs(cell->loads, cell->n, 0.05, &cell->alarm);
  const struct be_interval unknown = {NAN, NAN, survey->how.level};
  cell->efficiency = cell->fieller =
      (struct be_ratio){.value = NAN, .df = NAN, .shape = BE_RATIO_UNKNOWN, .interval = unknown};
  if (cell->n == 0) return;
  cell->estimate = estimate_cell(cell, scratch);
  if (be_is_plain(&survey->combinations[cell->combination])) return;
  choose_weaker(survey, cell, scratch);
  if (cell->plain.match == MATCH_NONE) return;
  be_ratio_log(&cell->estimate, &cell->plain.estimate, survey->how.level, &cell->efficiency);
  be_ratio_fieller(&cell->estimate, &cell->plain.estimate, survey->how.level, &cell->fieller);
}

enum be_status be_cells_work_out(struct survey *survey, struct be_err *err)
{
  double *scratch = be_arena_alloc(survey->arena, survey->record.pulls_count * sizeof *scratch);
  if (!scratch) return be_no_memory(err);
  for (size_t i = 0; i < survey->cells_count; i++) work_out(survey, &survey->cells[i], scratch);
  return BE_OK;
}
