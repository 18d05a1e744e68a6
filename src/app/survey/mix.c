/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What two knots were tied on: may their loads be compared as they are. */
#include "app/survey/survey.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- kinds ---- */

static int by_number(double a, double b)
{
  if (isnan(a) || isnan(b)) return (int)isnan(a) - (int)isnan(b);
  return a < b ? -1 : a > b;
}

int be_kind_order(const struct be_pull *a, const struct be_pull *b)
{
  if (a->line_a != b->line_a) return a->line_a < b->line_a ? -1 : 1;
  if (a->line_b != b->line_b) return a->line_b < b->line_b ? -1 : 1;
  if (a->bench != b->bench) return a->bench < b->bench ? -1 : 1;
  int order = by_number(a->speed_m_s, b->speed_m_s);
  return order ? order : by_number(a->length_m, b->length_m);
}

static int by_kind(const void *a, const void *b)
{
  return be_kind_order(*(const struct be_pull *const *)a, *(const struct be_pull *const *)b);
}

enum be_status be_kinds_sort(const struct survey *survey, struct cell *cell, struct be_err *err)
{
  const struct be_pull **pulls = be_alloc_array(cell->n, sizeof *pulls);
  if (!pulls) return be_no_memory(err);
  memcpy(pulls, cell->events, cell->n * sizeof *pulls);
  qsort(pulls, cell->n, sizeof *pulls, by_kind);
  size_t count = 1;
  for (size_t i = 1; i < cell->n; i++) count += by_kind(&pulls[i], &pulls[i - 1]) != 0;
  cell->kinds = be_arena_alloc(survey->arena, count * sizeof *cell->kinds);
  for (size_t i = 0; cell->kinds && i < cell->n; i++) {
    if (i == 0 || by_kind(&pulls[i], &pulls[i - 1]) != 0)
      cell->kinds[cell->kinds_count++].like = pulls[i];
    cell->kinds[cell->kinds_count - 1].n++;
  }
  be_free(pulls);
  return cell->kinds ? BE_OK : be_no_memory(err);
}

/* ---- are two cells of the same kinds ---- */

bool be_tied_alike(const struct be_pull *a, const struct be_pull *b)
{
  return a->line_a == b->line_a && a->line_b == b->line_b && be_pulled_alike(a, b);
}

static size_t count_alike(const struct cell *cell, const struct be_pull *like)
{
  size_t count = 0;
  for (size_t i = 0; i < cell->kinds_count; i++)
    if (be_tied_alike(like, cell->kinds[i].like)) count += cell->kinds[i].n;
  return count;
}

/* Voids and bounds unbalance a plan a little; a spool 5 % stronger then shifts
 * the comparison by 0.05 x 0.15, under one per cent. */
static const double mix_apart = 0.15;

static bool kinds_in(const struct cell *a, const struct cell *b)
{
  for (size_t i = 0; i < a->kinds_count; i++) {
    double in_a = (double)count_alike(a, a->kinds[i].like) / (double)a->n;
    double in_b = (double)count_alike(b, a->kinds[i].like) / (double)b->n;
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

bool be_is_gain(const struct survey *survey, const struct cell *hitch, const struct cell *bend)
{
  const struct combination *on = &survey->combinations[hitch->combination];
  const struct combination *between = &survey->combinations[bend->combination];
  return hitch->knot >= 0 && hitch->knot == bend->knot && hitch->knot_b < 0 && bend->knot_b < 0 &&
         hitch->shares && bend->shares && on->line_b < 0 && on->hardware && between->line_b >= 0 &&
         on->soak == between->soak && on->design == between->design &&
         hitch->plain.line == bend->plain.line && hitch->plain.match == MATCH_ALL &&
         bend->plain.match == MATCH_ALL;
}
