/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What two knots were tied on: may their loads be compared as they are. */
#include "app/survey.h"

#include <math.h>

static bool alike(const struct be_pull *a, const struct be_pull *b)
{
  return a->line_a == b->line_a && a->line_b == b->line_b && be_pulled_alike(a, b);
}

static size_t count_alike(const struct cell *cell, const struct be_pull *like)
{
  size_t count = 0;
  for (size_t i = 0; i < cell->n; i++) count += alike(like, cell->events[i]);
  return count;
}

/* Voids and bounds unbalance a plan a little; a spool 5 % stronger then shifts
 * the comparison by 0.05 x 0.15, under one per cent. */
static const double mix_apart = 0.15;

static bool kinds_in(const struct cell *a, const struct cell *b)
{
  for (size_t i = 0; i < a->n; i++) {
    if (i > 0 && alike(a->events[i], a->events[i - 1])) continue;
    double in_a = (double)count_alike(a, a->events[i]) / (double)a->n;
    double in_b = (double)count_alike(b, a->events[i]) / (double)b->n;
    if (in_b == 0 || fabs(in_a - in_b) > mix_apart) return false;
  }
  return true;
}

bool be_same_mix(const struct cell *a, const struct cell *b)
{
  return kinds_in(a, b) && kinds_in(b, a);
}

bool be_fair(const struct cell *a, const struct cell *b)
{
  bool own_lines = a->plain.match == MATCH_ALL && b->plain.match == MATCH_ALL;
  return own_lines || be_same_mix(a, b);
}

const char *be_match_words(const struct survey *survey, const struct cell *cell)
{
  static const char *const words[] = {
      "no plain line was pulled in this soak",
      "matched by spool, soak and speed",
      "matched by spool, soak and speed, but pulled on another bench or at another length",
      "matched by spool and soak, but pulled at another speed",
      "matched by line and soak only, partly from another spool",
  };
  if (cell->plain.match == MATCH_NONE) return words[MATCH_NONE];
  bool spool = survey->record.lines[cell->plain.line_row].spool != NULL;
  bool speed = !isnan(cell->events[0]->speed_m_s);
  const char *missing = !spool && !speed ? " (spool and speed were not recorded)"
                        : !spool         ? " (the spool was not recorded)"
                        : !speed         ? " (the speed was not recorded)"
                                         : "";
  const char *text = be_arena_format(survey->arena, "%s%s", words[cell->plain.match], missing);
  return text ? text : words[cell->plain.match];
}
