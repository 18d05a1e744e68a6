/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What two knots were tied on: may their loads be compared as they are. */
#include "app/survey.h"

#include <math.h>

static bool alike(const struct be_pull *a, const struct be_pull *b)
{
  return a->line_a == b->line_a && a->line_b == b->line_b && be_same_speed(a, b);
}

static size_t count_alike(const struct cell *cell, const struct be_pull *like)
{
  size_t count = 0;
  for (size_t i = 0; i < cell->n; i++) count += alike(like, cell->events[i]);
  return count;
}

/* Every kind of pull in a makes the same share of a and of b; nearly always
 * there is one kind, so only the first of each is looked at twice. */
bool be_same_mix(const struct cell *a, const struct cell *b)
{
  for (size_t i = 0; i < a->n; i++) {
    if (i > 0 && alike(a->events[i], a->events[i - 1])) continue;
    if (count_alike(a, a->events[i]) * b->n != count_alike(b, a->events[i]) * a->n) return false;
  }
  return true;
}

const char *be_match_words(const struct survey *survey, const struct cell *cell)
{
  static const char *const words[] = {
      "no plain line was pulled in this soak",
      "matched by spool, soak and speed",
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
