/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/strength/strength.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum be_status be_say_section(struct be_doc *doc, const struct survey *survey,
                              const struct section *section, bool *any, struct be_err *err)
{
  struct be_table *table = NULL;
  enum be_status status = BE_OK;
  *any = false;
  for (size_t i = 0; i < survey->cells_count && status == BE_OK; i++) {
    const struct cell *cell = &survey->cells[i];
    if (!section->has(cell)) continue;
    if (!*any) {
      be_doc_heading(doc, "%s", section->heading);
      table = be_doc_table(doc, section->name, section->title, section->columns,
                           section->columns_count);
      be_table_fold_long(table);
    }
    *any = true;
    be_table_text(table, "%s", survey->combinations[cell->combination].name);
    be_table_text(table, "%s", be_cell_name(survey, cell));
    be_table_link(table, "/cell?at=%zu", i);
    status = section->row(table, survey, cell, section->context, err);
  }
  return status;
}

static int by_load(const void *a_, const void *b_)
{
  double a = *(const double *)a_, b = *(const double *)b_;
  return a < b ? -1 : a > b;
}

double *be_sorted_loads(const struct survey *survey, const struct cell *cell)
{
  double *loads = be_arena_alloc(survey->arena, cell->n * sizeof *loads);
  if (!loads) return NULL;
  memcpy(loads, cell->loads, cell->n * sizeof *loads);
  qsort(loads, cell->n, sizeof *loads, by_load);
  return loads;
}

struct be_held *be_held_of(const struct survey *survey, const struct cell *cell)
{
  size_t count = cell->n + cell->lower_count;
  struct be_held *held = be_arena_alloc(survey->arena, count * sizeof *held);
  if (!held) return NULL;
  for (size_t i = 0; i < cell->n; i++) held[i] = (struct be_held){cell->loads[i], false, 1};
  for (size_t i = 0; i < cell->lower_count; i++)
    held[cell->n + i] = (struct be_held){cell->lower[i]->load_N, true, 1};
  return held;
}

void be_table_measure(struct be_table *table, const struct survey *survey,
                      const struct be_measure *measure, int decimals)
{
  be_table_number(table, be_shown(survey, measure->value), decimals);
  be_table_interval(table, be_shown(survey, measure->interval.low),
                    be_shown(survey, measure->interval.high), decimals);
}

static int by_load_held(const void *a_, const void *b_)
{
  const struct be_held *a = a_, *b = b_;
  if (a->load != b->load) return a->load < b->load ? -1 : 1;
  return (int)a->bound - (int)b->bound;
}

void be_sort_held(struct be_held *held, size_t count)
{
  qsort(held, count, sizeof *held, by_load_held);
}

static int by_order(const void *a_, const void *b_)
{
  const struct be_pull *a = *(const struct be_pull *const *)a_,
                       *b = *(const struct be_pull *const *)b_;
  int order = strcmp(a->session ? a->session : "", b->session ? b->session : "");
  /* Without an order they stand after those that have one. */
  double first = isnan(a->order) ? INFINITY : a->order;
  double second = isnan(b->order) ? INFINITY : b->order;
  if (order == 0 && first != second) order = first < second ? -1 : 1;
  return order ? order : a->id < b->id ? -1 : a->id > b->id;
}

void be_sort_by_order(const struct be_pull **pulls, size_t count)
{
  qsort(pulls, count, sizeof *pulls, by_order);
}
