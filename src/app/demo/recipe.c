/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The recipe is a few plain tables: no quotes, one header row, commas. */
#include "app/demo/demo.h"

#include "assets/assets.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CELLS_MAX = 12, CELL_MAX = 64 };

struct table_reader {
  const char *at;
  char cells[CELLS_MAX][CELL_MAX];
};

static void next_row(struct table_reader *in)
{
  memset(in->cells, 0, sizeof in->cells);
  for (int cell = 0; *in->at && *in->at != '\n'; cell++) {
    size_t length = strcspn(in->at, ",\n");
    if (cell < CELLS_MAX)
      snprintf(in->cells[cell], sizeof in->cells[cell], "%.*s", (int)length, in->at);
    in->at += length + (in->at[length] == ',');
  }
  in->at += *in->at == '\n';
}

static enum be_status open_table(const char *name, struct table_reader *in, struct be_err *err)
{
  const struct be_asset *asset = be_asset_find(name);
  if (!asset) return be_fail(err, BE_FAILED, "the program lacks its part \"%s\"", name);
  in->at = asset->text;
  next_row(in);
  return BE_OK;
}

static double number(const char *cell)
{
  double value = 0;
  be_number_scan(cell, strlen(cell), '.', &value);
  return value;
}

static void copy(char to[32], const char *cell)
{
  snprintf(to, 32, "%.31s", cell);
}

static void read_spool(struct recipe *recipe, char cells[CELLS_MAX][CELL_MAX])
{
  struct spool_truth *spool = &recipe->spools[recipe->spools_count++];
  copy(spool->spool, cells[0]);
  spool->mean_N = number(cells[1]);
  spool->cv = number(cells[2]) / 100;
  spool->soaked_share = number(cells[3]);
  spool->seconds = number(cells[4]);
}

static void read_knot(struct recipe *recipe, char cells[CELLS_MAX][CELL_MAX])
{
  struct knot_truth *knot = &recipe->knots[recipe->knots_count++];
  copy(knot->knot, cells[0]);
  copy(knot->version, cells[1]);
  for (int i = 0; i < MATERIALS; i++) knot->efficiency[i] = number(cells[2 + i]);
  knot->cv = number(cells[5]) / 100;
  for (int i = 0; i < MATERIALS; i++) knot->slip[i] = number(cells[6 + i]);
}

static void read_bench(struct recipe *recipe, char cells[CELLS_MAX][CELL_MAX])
{
  struct bench_truth *bench = &recipe->benches[recipe->benches_count++];
  copy(bench->bench, cells[0]);
  bench->bias = number(cells[1][0] == '-' ? cells[1] + 1 : cells[1]) / 100;
  if (cells[1][0] == '-') bench->bias = -bench->bias;
}

static void read_row(struct recipe *recipe, char cells[CELLS_MAX][CELL_MAX])
{
  struct trial_row *row = &recipe->rows[recipe->rows_count++];
  copy(row->knot, cells[0]);
  copy(row->version, cells[1]);
  copy(row->spool_a, cells[2]);
  copy(row->spool_b, cells[3]);
  copy(row->hardware, cells[4]);
  copy(row->soak, cells[5]);
  copy(row->design, cells[6]);
  row->speed_mm_min = number(cells[7]);
  row->n = (int)number(cells[8]);
  copy(row->bench, recipe->benches[0].bench);
  row->length_mm = USUAL_LENGTH_MM;
}

/* Dry and at the usual speed. */
static void read_series_row(struct recipe *recipe, char cells[CELLS_MAX][CELL_MAX])
{
  struct trial_row *row = &recipe->rows[recipe->rows_count++];
  copy(row->knot, cells[0]);
  copy(row->version, cells[1]);
  copy(row->knot_b, cells[2]);
  copy(row->version_b, cells[3]);
  copy(row->spool_a, cells[4]);
  copy(row->spool_b, cells[5]);
  copy(row->hardware, cells[6]);
  copy(row->bench, cells[7]);
  row->length_mm = (int)number(cells[8]);
  copy(row->design, cells[9]);
  row->n = (int)number(cells[10]);
  copy(row->soak, "dry");
  row->speed_mm_min = 500;
  row->in_series = true;
}

static void read_trouble(struct recipe *recipe, char cells[CELLS_MAX][CELL_MAX])
{
  struct trouble *trouble = &recipe->troubles[recipe->troubles_count++];
  copy(trouble->name, cells[0]);
  copy(trouble->on, cells[1]);
  trouble->count = (int)number(cells[2]);
}

static void read_planned(struct recipe *recipe, char cells[CELLS_MAX][CELL_MAX])
{
  struct planned_trial *planned = &recipe->planned;
  copy(planned->trial, cells[0]);
  copy(planned->knots, cells[1]);
  copy(planned->on, cells[2]);
  planned->specimens = (int)number(cells[3]);
  planned->plain = (int)number(cells[4]);
  planned->minutes = number(cells[5]);
  copy(planned->changed_rule, cells[6]);
  snprintf(planned->changed_to, sizeof planned->changed_to, "%s", cells[7]);
  snprintf(planned->reason, sizeof planned->reason, "%s", cells[8]);
  snprintf(planned->interests, sizeof planned->interests, "%s", cells[9]);
  recipe->planned_count++;
}

enum be_status be_recipe_read(struct recipe *recipe, struct be_err *err)
{
  memset(recipe, 0, sizeof *recipe);
  const struct {
    const char *name;
    void (*read)(struct recipe *recipe, char cells[CELLS_MAX][CELL_MAX]);
    const size_t *count;
    size_t most;
  } tables[] = {
      {"demo/truth-lines.csv", read_spool, &recipe->spools_count, SPOOLS_MAX},
      {"demo/truth-knots.csv", read_knot, &recipe->knots_count, TIES_MAX},
      {"demo/truth-benches.csv", read_bench, &recipe->benches_count, RIGS_MAX},
      {"demo/trial.csv", read_row, &recipe->rows_count, ROWS_MAX},
      {"demo/series.csv", read_series_row, &recipe->rows_count, ROWS_MAX},
      {"demo/troubles.csv", read_trouble, &recipe->troubles_count, TROUBLES_MAX},
      {"demo/planned.csv", read_planned, &recipe->planned_count, 1},
  };
  for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
    struct table_reader in;
    enum be_status status = open_table(tables[i].name, &in, err);
    if (status != BE_OK) return status;
    while (*in.at) {
      if (*tables[i].count == tables[i].most)
        return be_fail(err, BE_TOO_LARGE, "%s has more than %zu rows", tables[i].name,
                       tables[i].most);
      next_row(&in);
      tables[i].read(recipe, in.cells);
    }
  }
  return BE_OK;
}

const struct spool_truth *be_recipe_spool(const struct recipe *recipe, const char *spool)
{
  for (size_t i = 0; i < recipe->spools_count; i++)
    if (strcmp(recipe->spools[i].spool, spool) == 0) return &recipe->spools[i];
  return NULL;
}

const struct knot_truth *be_recipe_knot(const struct recipe *recipe, const char *knot,
                                        const char *version)
{
  for (size_t i = 0; i < recipe->knots_count; i++)
    if (strcmp(recipe->knots[i].knot, knot) == 0 && strcmp(recipe->knots[i].version, version) == 0)
      return &recipe->knots[i];
  return NULL;
}

const struct bench_truth *be_recipe_bench(const struct recipe *recipe, const char *bench)
{
  for (size_t i = 0; i < recipe->benches_count; i++)
    if (strcmp(recipe->benches[i].bench, bench) == 0) return &recipe->benches[i];
  return NULL;
}

enum material be_spool_material(const char *spool)
{
  return spool[0] == 'B'   ? MATERIAL_BRAID
         : spool[0] == 'F' ? MATERIAL_FLUOROCARBON
                           : MATERIAL_NYLON;
}
