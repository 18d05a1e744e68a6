/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulls that differ in nothing recorded but what is asked about. Their loads are compared as they
 * are: on one spool the plain line is the same for both sides. */
#include "app/findings/findings.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct placed {
  const struct be_pull *pull;
  size_t cell;
  bool by_session;
};

static int by_words(const char *a, const char *b)
{
  return strcmp(a ? a : "", b ? b : "");
}

static int by_stratum(const struct placed *a, const struct placed *b)
{
  if (a->cell != b->cell) return a->cell < b->cell ? -1 : 1;
  int order = a->by_session ? by_words(a->pull->session, b->pull->session) : 0;
  return order ? order : be_kind_order(a->pull, b->pull);
}

static int by_place(const void *a_, const void *b_)
{
  const struct placed *a = a_, *b = b_;
  int order = by_stratum(a, b);
  return order ? order : a->pull < b->pull ? -1 : a->pull > b->pull;
}

/* Whether the pull of a cell is asked for. */
static bool is_in(const struct be_pull *pull, unsigned which)
{
  if (!(pull->load_N > 0)) return false;
  if (!(which & SAMPLE_SLIPS) && pull->what == BE_WHAT_SLIPPED_OUT) return false;
  return !(which & SAMPLE_SESSIONS) || (pull->session && !isnan(pull->order));
}

enum be_status be_sample_gather(const struct survey *survey, unsigned which, struct sample *sample,
                                struct be_err *err)
{
  size_t most = survey->record.pulls_count, n = 0;
  struct be_arena *arena = survey->arena;
  struct placed *placed = be_arena_alloc(arena, most * sizeof *placed);
  *sample = (struct sample){.pull = be_arena_alloc(arena, most * sizeof *sample->pull),
                            .stratum = be_arena_alloc(arena, most * sizeof *sample->stratum),
                            .x = be_arena_alloc(arena, most * sizeof *sample->x),
                            .y = be_arena_alloc(arena, most * sizeof *sample->y)};
  if (!placed || !sample->pull || !sample->stratum || !sample->x || !sample->y)
    return be_no_memory(err);
  for (size_t c = 0; c < survey->cells_count; c++) {
    const struct cell *cell = &survey->cells[c];
    if (!(which & SAMPLE_PLAIN) && cell->knot < 0) continue;
    for (size_t i = 0; i < cell->n; i++)
      if (is_in(cell->events[i], which))
        placed[n++] = (struct placed){cell->events[i], c, which & (SAMPLE_SESSIONS | SAMPLE_DAYS)};
  }
  qsort(placed, n, sizeof *placed, by_place);
  for (size_t i = 0; i < n; i++) {
    bool same = i > 0 && by_stratum(&placed[i], &placed[i - 1]) == 0;
    sample->pull[i] = placed[i].pull;
    sample->stratum[i] = i == 0 ? 0 : sample->stratum[i - 1] + !same;
    sample->y[i] = log(placed[i].pull->load_N);
  }
  sample->n = n;
  return BE_OK;
}

size_t be_finding_within(struct finding *finding, const struct survey *survey,
                         const struct sample *sample)
{
  size_t strata;
  struct be_estimate slope = be_within(sample->x, sample->y, sample->stratum, sample->n, &strata);
  for (size_t i = 0, end; i < sample->n; i = end) {
    bool varies = false;
    for (end = i; end < sample->n && sample->stratum[end] == sample->stratum[i]; end++)
      varies |= sample->x[end] != sample->x[i];
    for (size_t k = i; varies && k < end; k++) be_finding_pull(finding, survey, sample->pull[k]);
  }
  be_finding_ratio(finding, survey, &slope);
  return strata;
}

enum be_status be_sample_tyers(const struct survey *survey, const struct sample *sample,
                               const char ***tyers, size_t *count, struct be_err *err)
{
  *tyers = be_arena_alloc(survey->arena, (sample->n + 1) * sizeof **tyers);
  *count = 0;
  if (!*tyers) return be_no_memory(err);
  for (size_t i = 0; i < sample->n; i++) {
    const char *tyer = sample->pull[i]->tyer;
    size_t k = 0;
    while (k < *count && !be_same_words((*tyers)[k], tyer)) k++;
    if (k == *count && tyer) (*tyers)[(*count)++] = tyer;
  }
  return BE_OK;
}
