/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each knot holds in each combination by the model: on these very lines, where the means of
 * knots are for lines like these. A gap has what the knot does elsewhere, on these lines, with the
 * scatter of such cells; it is borrowed, and marked so. */
#include "app/model/model.h"

#include <math.h>
#include <stdlib.h>

/* Intervals take a solve a cell, through the whole factor: so much is about three seconds. */
static const double WORK_MAX = 3e8;

struct told {
  const struct modelled *m;
  size_t knots, wheres;
  size_t *cell_level;          /* knots x wheres; BE_MIXED_NEW for a gap */
  size_t *spool_first, *spool; /* of each combination: levels of the spool term */
  size_t *where_level;         /* of the combination term */
  uint32_t *column;            /* of the fixed part: a knot and the groups */
  double *weight;
  struct be_mixed_part *part;
  bool intervals;
  struct be_mixed_contrast *value; /* knots x wheres */
  size_t *rank;                    /* within the combination; 0 for a gap */
};

static enum be_status make_room(struct told *told, struct be_err *err)
{
  struct be_arena *arena = told->m->arena;
  const struct model_sample *sample = told->m->sample;
  size_t cells = told->knots * told->wheres, spools = sample->term[MODEL_SPOOL].levels;
  told->cell_level = be_arena_alloc(arena, cells * sizeof *told->cell_level);
  told->value = be_arena_alloc(arena, cells * sizeof *told->value);
  told->rank = be_arena_alloc(arena, cells * sizeof *told->rank);
  told->where_level = be_arena_alloc(arena, told->wheres * sizeof *told->where_level);
  told->spool_first = be_arena_alloc(arena, (told->wheres + 1) * sizeof *told->spool_first);
  told->spool = be_arena_alloc(arena, spools * sizeof *told->spool);
  told->column = be_arena_alloc(arena, sample->groups * sizeof *told->column);
  told->weight = be_arena_alloc(arena, sample->groups * sizeof *told->weight);
  told->part = be_arena_alloc(arena, (spools + 2) * sizeof *told->part);
  bool all = told->cell_level && told->value && told->rank && told->where_level &&
             told->spool_first && told->spool && told->column && told->weight && told->part;
  return all ? BE_OK : be_no_memory(err);
}

/* Spools stand in the order of their combinations, as their levels do (rows.c sorts them so). */
static void find_levels(struct told *told)
{
  const struct model_sample *sample = told->m->sample;
  size_t spools = sample->term[MODEL_SPOOL].levels;
  for (size_t i = 0; i < told->knots * told->wheres; i++) told->cell_level[i] = BE_MIXED_NEW;
  for (size_t i = 0; i < sample->n; i++) {
    const struct model_row *row = &sample->rows[i];
    told->cell_level[row->knot * told->wheres + row->where] = sample->term[MODEL_CELL].level[i];
    told->where_level[row->where] = sample->term[MODEL_COMBINATION].level[i];
    told->spool[sample->term[MODEL_SPOOL].level[i]] = row->where;
  }
  for (size_t i = 0; i < spools; i++) told->spool_first[told->spool[i] + 1] = i + 1;
  for (size_t c = 0; c < told->wheres; c++)
    if (told->spool_first[c + 1] < told->spool_first[c])
      told->spool_first[c + 1] = told->spool_first[c];
}

static size_t gather_parts(const struct told *told, size_t knot, size_t where)
{
  const struct modelled *m = told->m;
  const struct model_term *term = m->sample->term;
  size_t count = 0, from = told->spool_first[where], to = told->spool_first[where + 1];
  if (term[MODEL_COMBINATION].in)
    told->part[count++] =
        (struct be_mixed_part){m->of_term[MODEL_COMBINATION], told->where_level[where], 0, 1};
  if (term[MODEL_CELL].in)
    told->part[count++] = (struct be_mixed_part){
        m->of_term[MODEL_CELL], told->cell_level[knot * told->wheres + where], 0, 1};
  for (size_t i = from; i < to && term[MODEL_SPOOL].in; i++)
    told->part[count++] =
        (struct be_mixed_part){m->of_term[MODEL_SPOOL], i, 0, 1 / (double)(to - from)};
  return count;
}

static enum be_status predict(struct told *told, size_t knot, size_t where, struct be_err *err)
{
  const struct modelled *m = told->m;
  const struct model_sample *sample = m->sample;
  size_t effects = sample->groups - 1, count = 0, group = sample->group[where];
  told->column[count] = (uint32_t)knot;
  told->weight[count++] = 1;
  for (size_t g = 0; g < effects; g++) {
    if (group != effects && g != group) continue;
    told->column[count] = (uint32_t)(sample->knots + g);
    told->weight[count++] = group == effects ? -1 : 1;
  }
  size_t parts = gather_parts(told, knot, where);
  struct be_mixed_contrast *value = &told->value[knot * told->wheres + where];
  double level = m->survey->how.level;
  if (told->intervals)
    return be_mixed_predict(m->fit, told->column, told->weight, count, told->part, parts, level,
                            value, err);
  *value = (struct be_mixed_contrast){true, 0, NAN, NAN, NAN, NAN, {NAN, NAN, level}};
  for (size_t i = 0; i < count; i++)
    value->value += told->weight[i] * be_mixed_beta(m->fit)[told->column[i]];
  for (size_t i = 0; i < parts; i++) {
    const struct be_mixed_part *part = &told->part[i];
    if (part->level != BE_MIXED_NEW)
      value->value += part->weight * be_mixed_mode(m->fit, part->term, part->level, 0).value;
  }
  return BE_OK;
}

/* Of those that were tied there. */
static void rank(struct told *told, size_t where)
{
  for (size_t k = 0; k < told->knots; k++) {
    size_t at = k * told->wheres + where;
    if (told->cell_level[at] == BE_MIXED_NEW || isnan(told->value[at].value)) continue;
    told->rank[at] = 1;
    for (size_t i = 0; i < told->knots; i++) {
      size_t other = i * told->wheres + where;
      if (told->cell_level[other] != BE_MIXED_NEW)
        told->rank[at] += told->value[other].value > told->value[at].value;
    }
  }
}

/* ---- the table ---- */

static struct be_table *begin(struct be_doc *doc, const struct modelled *m)
{
  const char *raw = be_arena_format(m->arena, "raw mean (%s)", be_model_unit(m));
  const struct be_column columns[] = {
      {"place", "", BE_COLUMN_TEXT, true},
      {"knot", "knot", BE_COLUMN_TEXT, false},
      {"combination", "combination", BE_COLUMN_TEXT, false},
      {"n", "n", BE_COLUMN_NUMBER, false},
      {"lower_bounds", "at least", BE_COLUMN_NUMBER, false},
      {"unit", "", BE_COLUMN_TEXT, true},
      {"raw", raw ? raw : "raw mean", BE_COLUMN_NUMBER, false},
      {"modelled", "modelled", BE_COLUMN_NUMBER, false},
      {"modelled", "interval", BE_COLUMN_INTERVAL, false},
      {"modelled_df", "", BE_COLUMN_NUMBER, true},
      {"shift", "shift from raw", BE_COLUMN_NUMBER, false},
      {"borrowed", "", BE_COLUMN_TEXT, false},
      {"rank_here", "rank here", BE_COLUMN_NUMBER, false},
  };
  struct be_table *table = be_doc_table(doc, "model_cells",
                                        "What was tied, the gaps (0), and what each holds on these "
                                        "very lines",
                                        columns, sizeof columns / sizeof columns[0]);
  be_table_fold(table);
  return table;
}

static void row(struct be_table *table, const struct told *told, size_t knot, size_t where)
{
  const struct modelled *m = told->m;
  const struct model_sample *sample = m->sample;
  size_t at = knot * told->wheres + where;
  const struct cell *cell = sample->cell[at];
  const struct be_mixed_contrast *value = &told->value[at];
  int decimals = be_model_decimals(m);
  double raw = NAN;
  if (cell && cell->n)
    raw = sample->by_share ? 100 * cell->efficiency.value : be_shown(m->survey, cell->load.value);
  double modelled = be_model_shown(m, value->value);
  be_table_text(table, "%s", m->place);
  be_table_text(table, "%s", be_knot_name(m->survey, sample->knot[knot]));
  be_table_text(table, "%s", sample->where[where]->name);
  be_table_number(table, cell ? (double)cell->n : 0, 0);
  be_table_number(table, cell ? (double)cell->lower_count : 0, 0);
  be_table_text(table, "%s", be_model_unit(m));
  be_table_number(table, raw, decimals);
  be_table_number(table, modelled, decimals);
  be_table_interval(table, be_model_shown(m, value->interval.low),
                    be_model_shown(m, value->interval.high), decimals);
  be_table_number(table, value->df, 1);
  be_table_number(table, modelled - raw, decimals);
  if (told->cell_level[at] == BE_MIXED_NEW) be_table_text(table, "borrowed");
  else be_table_none(table);
  if (told->rank[at]) be_table_number(table, (double)told->rank[at], 0);
  else be_table_none(table);
}

enum be_status be_say_cells(struct be_doc *doc, const struct modelled *m, struct be_err *err)
{
  const struct model_sample *sample = m->sample;
  struct told told = {.m = m, .knots = sample->knots, .wheres = sample->wheres};
  enum be_status status = make_room(&told, err);
  if (status != BE_OK) return status;
  find_levels(&told);
  double work = (double)be_mixed_summary(m->fit)->factor_size * (double)(told.knots * told.wheres);
  told.intervals = work <= WORK_MAX;
  for (size_t k = 0; k < told.knots; k++)
    for (size_t c = 0; c < told.wheres && status == BE_OK; c++) status = predict(&told, k, c, err);
  if (status != BE_OK) return status;
  for (size_t c = 0; c < told.wheres; c++) rank(&told, c);
  struct be_table *table = begin(doc, m);
  for (size_t i = 0; i < told.knots; i++)
    for (size_t c = 0; c < told.wheres; c++) row(table, &told, m->order[i], c);
  if (!told.intervals) be_doc_note(doc, "So many cells that they have no intervals.");
  return BE_OK;
}
