/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The same knot in the same line on several benches: how far one bench agrees with itself,
 * and how far the benches agree. */
#include "app/strength/strength.h"

#include <math.h>

static const double alpha = 0.005; /* of h and k, as ASTM E691 takes them */

struct by_bench {
  int *bench;
  struct be_summary *summary;
  double *h, *k;
  size_t count, n;
  struct be_precision precision;
};

/* Room for one cell, used for each in turn. */
struct room {
  double *loads;
  size_t *first; /* of each bench: where its events begin among `loads` */
  struct by_bench by;
};

static enum be_status make_room(const struct survey *survey, struct room *room, struct be_err *err)
{
  size_t pulls = survey->record.pulls_count, benches = survey->record.benches_count;
  struct be_arena *arena = survey->arena;
  room->loads = be_arena_alloc(arena, pulls * sizeof *room->loads);
  room->first = be_arena_alloc(arena, (benches + 1) * sizeof *room->first);
  room->by =
      (struct by_bench){.bench = be_arena_alloc(arena, benches * sizeof(int)),
                        .summary = be_arena_alloc(arena, benches * sizeof(struct be_summary)),
                        .h = be_arena_alloc(arena, benches * sizeof(double)),
                        .k = be_arena_alloc(arena, benches * sizeof(double))};
  bool all =
      room->loads && room->first && room->by.bench && room->by.summary && room->by.h && room->by.k;
  return all ? BE_OK : be_no_memory(err);
}

/* Dealt out by bench: each stretch begins where the one before ends. Then `first` of a bench
 * is that of the next one. */
static void deal(const struct survey *survey, const struct cell *cell, const double *x,
                 struct room *room)
{
  size_t benches = survey->record.benches_count, *first = room->first;
  for (size_t b = 0; b <= benches; b++) first[b] = 0;
  for (size_t i = 0; i < cell->n; i++)
    if (cell->events[i]->bench >= 0) first[cell->events[i]->bench + 1]++;
  for (size_t b = 0; b < benches; b++) first[b + 1] += first[b];
  for (size_t i = 0; i < cell->n; i++)
    if (cell->events[i]->bench >= 0) room->loads[first[cell->events[i]->bench]++] = x[i];
}

/* x goes with the events of the cell. A bench of one pull cannot agree with itself. */
static const struct by_bench *gather(const struct survey *survey, const struct cell *cell,
                                     const double *x, struct room *room)
{
  struct by_bench *by = &room->by;
  by->count = by->n = 0;
  deal(survey, cell, x, room);
  for (size_t b = 0, from = 0; b < survey->record.benches_count; b++) {
    size_t n = room->first[b] - from;
    if (n > 1) {
      be_summary_of(room->loads + from, n, &by->summary[by->count]);
      by->bench[by->count++] = (int)b;
      by->n += n;
    }
    from = room->first[b];
  }
  if (by->count > 1) be_precision_of(by->summary, by->count, &by->precision, by->h, by->k);
  return by;
}

/* Loads in the unit shown; shares in per cent. */
struct scale {
  const char *of;
  double factor;
  int decimals;
};

static void precision_row(struct be_table *table, const struct survey *survey,
                          const struct cell *cell, const struct by_bench *by,
                          const struct scale *scale)
{
  const struct be_precision *p = &by->precision;
  const double figures[] = {p->repeatability, p->between, p->reproducibility, p->limit_r,
                            p->limit_R};
  be_table_text(table, "%s", survey->combinations[cell->combination].name);
  be_table_text(table, "%s", be_cell_name(survey, cell));
  be_table_text(table, "%s", scale->of);
  be_table_number(table, (double)by->count, 0);
  be_table_number(table, (double)by->n, 0);
  be_table_number(table, scale->factor * p->mean, scale->decimals);
  for (int i = 0; i < 5; i++)
    be_table_number(table, scale->factor * figures[i], scale->decimals + 1);
}

static void bench_rows(struct be_table *table, const struct survey *survey, const struct cell *cell,
                       const struct by_bench *by, const struct scale *scale)
{
  for (size_t i = 0; i < by->count; i++) {
    double k_critical = be_k_critical(by->count, by->summary[i].n, alpha);
    bool far = fabs(by->h[i]) > by->precision.h_critical, wide = by->k[i] > k_critical;
    be_table_text(table, "%s", survey->combinations[cell->combination].name);
    be_table_text(table, "%s", be_cell_name(survey, cell));
    be_table_text(table, "%s", scale->of);
    be_table_text(table, "%s", survey->record.benches[by->bench[i]].name);
    be_table_number(table, (double)by->summary[i].n, 0);
    be_table_number(table, scale->factor * by->summary[i].mean, scale->decimals);
    be_table_number(table, scale->factor * by->summary[i].sd, scale->decimals + 1);
    be_table_number(table, by->h[i], 2);
    be_table_number(table, by->precision.h_critical, 2);
    be_table_number(table, by->k[i], 2);
    be_table_number(table, k_critical, 2);
    be_table_text(table, "%s",
                  far && wide ? "stands apart, scatters more"
                  : far       ? "stands apart"
                  : wide      ? "scatters more"
                              : "");
  }
}

static struct be_table *precision_table(struct be_doc *doc)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"of", "of", BE_COLUMN_TEXT, false},
      {"benches", "benches", BE_COLUMN_NUMBER, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"mean", "mean", BE_COLUMN_NUMBER, false},
      {"repeatability_sd", "s r", BE_COLUMN_NUMBER, false},
      {"between_sd", "s L", BE_COLUMN_NUMBER, false},
      {"reproducibility_sd", "s R", BE_COLUMN_NUMBER, false},
      {"repeatability_limit", "limit r", BE_COLUMN_NUMBER, false},
      {"reproducibility_limit", "limit R", BE_COLUMN_NUMBER, false},
  };
  be_doc_heading(doc, "Several benches");
  struct be_table *table = be_doc_table(doc, "precision", "Repeatability and reproducibility",
                                        columns, sizeof columns / sizeof columns[0]);
  be_table_unlike_units(table);
  return table;
}

static struct be_table *bench_table(struct be_doc *doc)
{
  static const struct be_column columns[] = {
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"of", "of", BE_COLUMN_TEXT, false},
      {"bench", "bench", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"mean", "mean", BE_COLUMN_NUMBER, false},
      {"sd", "s", BE_COLUMN_NUMBER, false},
      {"h", "h", BE_COLUMN_NUMBER, false},
      {"h_critical", "critical", BE_COLUMN_NUMBER, false},
      {"k", "k", BE_COLUMN_NUMBER, false},
      {"k_critical", "critical", BE_COLUMN_NUMBER, false},
      {"remark", "", BE_COLUMN_TEXT, false},
  };
  struct be_table *table =
      be_doc_table(doc, "benches", "Bench by bench", columns, sizeof columns / sizeof columns[0]);
  be_table_unlike_units(table);
  return table;
}

/* The table of all first, then that of the benches: so the cells are gone through twice. */
static bool say_table(struct be_doc *doc, const struct survey *survey, struct room *room,
                      bool each_bench)
{
  struct be_table *table = NULL;
  for (size_t i = 0; i < survey->cells_count; i++) {
    const struct cell *cell = &survey->cells[i];
    const struct scale scales[] = {
        {survey->how.unit->name, 1 / survey->how.unit->factor, survey->decimals + 1},
        {"% of the line", 100, 1}};
    for (int k = 0; k < (cell->shares ? 2 : 1); k++) {
      const struct by_bench *by = gather(survey, cell, k ? cell->shares : cell->loads, room);
      if (by->count < 2) continue;
      if (!table) table = each_bench ? bench_table(doc) : precision_table(doc);
      if (each_bench) bench_rows(table, survey, cell, by, &scales[k]);
      else precision_row(table, survey, cell, by, &scales[k]);
    }
  }
  return table != NULL;
}

enum be_status be_say_benches(struct be_doc *doc, const struct survey *survey, struct be_err *err)
{
  struct room room;
  enum be_status status = make_room(survey, &room, err);
  if (status != BE_OK || !say_table(doc, survey, &room, false)) return status;
  say_table(doc, survey, &room, true);
  be_doc_note(doc,
              "s r is the scatter on one bench, s R that of a pull on a bench taken at random, s L "
              "what the benches differ by; two pulls differ by more than the limit in one of "
              "twenty pairs. h tells how far a bench stands from the others, k how much more it "
              "scatters (ASTM E691, critical at %g %%). Precision wants six benches or more; of "
              "fewer it is a hint.",
              100 * alpha);
  return BE_OK;
}
