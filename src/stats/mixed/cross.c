/* SPDX-License-Identifier: GPL-3.0-or-later */
/* U'U column by column (Gustavson 1978): the rows that a node takes part in are gone through,
 * and each other node of such a row is given a block the first time it is met. */
#include "stats/mixed/inside.h"

struct forming {
  const struct be_nodes *nodes;
  const uint32_t *place;
  const double *weights;
  size_t *first; /* of each place: where its rows begin in `rows` */
  uint32_t *rows;
  uint32_t *node; /* of each place */
  size_t *seen;   /* of each place: its block, plus 1 */
  size_t *offset; /* of each place: where its block begins in value */
  struct be_entry *entries;
  struct be_cross *cross;
};

static void list_rows(struct forming *forming)
{
  const struct be_nodes *nodes = forming->nodes;
  size_t *first = forming->first;
  for (int fill = 0; fill < 2; fill++) {
    for (size_t i = 0; i < nodes->data->n; i++) {
      size_t count = be_nodes_row(nodes, i, forming->entries);
      for (size_t e = 0; e < count; e++) {
        size_t place = forming->place[forming->entries[e].node];
        if (fill) forming->rows[first[place + 1]++] = (uint32_t)i;
        else first[place + 2]++;
      }
    }
    for (size_t k = 2; k < nodes->count + 2 && !fill; k++) first[k] += first[k - 1];
  }
  for (size_t k = 0; k < nodes->count; k++) forming->node[forming->place[k]] = (uint32_t)k;
}

struct totals {
  size_t blocks, values;
};

static void add_block(struct forming *forming, const struct be_entry *row,
                      const struct be_entry *column, double weight)
{
  double *value = forming->cross->value + forming->offset[forming->place[row->node]];
  for (size_t c = 0; c < column->width; c++)
    for (size_t r = 0; r < row->width; r++)
      value[c * row->width + r] += weight * column->value[c] * row->value[r];
}

/* A block is met: the first time it gets its place. */
static void meet(struct forming *forming, size_t column, uint32_t width,
                 const struct be_entry *entry, struct totals *totals)
{
  uint32_t place = forming->place[entry->node];
  if (forming->seen[place] > forming->cross->start[column]) return;
  if (forming->cross->row) forming->cross->row[totals->blocks] = place;
  forming->offset[place] = totals->values;
  forming->seen[place] = ++totals->blocks;
  totals->values += (size_t)width * entry->width;
}

static void form_column(struct forming *forming, size_t k, struct totals *totals)
{
  struct be_entry *entries = forming->entries;
  uint32_t width = (uint32_t)be_nodes_width(forming->nodes, forming->node[k]);
  struct be_entry diagonal = {forming->node[k], width, {0}};
  meet(forming, k, width, &diagonal, totals);
  for (size_t at = forming->first[k]; at < forming->first[k + 1]; at++) {
    size_t i = forming->rows[at];
    size_t count = be_nodes_row(forming->nodes, i, entries), own = 0;
    while (entries[own].node != forming->node[k]) own++;
    for (size_t e = 0; e < count; e++) {
      if (forming->place[entries[e].node] < k) continue;
      meet(forming, k, width, &entries[e], totals);
      if (forming->cross->value)
        add_block(forming, &entries[e], &entries[own], forming->weights ? forming->weights[i] : 1);
    }
  }
}

static void form(struct forming *forming, struct totals *totals)
{
  size_t count = forming->nodes->count;
  struct be_cross *cross = forming->cross;
  *totals = (struct totals){0, 0};
  for (size_t k = 0; k < count; k++) forming->seen[k] = 0;
  for (size_t k = 0; k < count; k++) {
    cross->start[k] = totals->blocks;
    cross->values[k] = totals->values;
    form_column(forming, k, totals);
  }
  cross->start[count] = totals->blocks;
  cross->values[count] = totals->values;
}

static bool take_scratch(struct forming *forming)
{
  const struct be_nodes *nodes = forming->nodes;
  const struct be_mixed_data *data = nodes->data;
  size_t entries = data->fixed.start[data->n] - data->fixed.start[0] + data->n * data->term_count;
  forming->first = be_alloc_array(nodes->count + 2, sizeof *forming->first);
  forming->rows = be_alloc_array(entries + 1, sizeof *forming->rows);
  forming->node = be_alloc_array(nodes->count, sizeof *forming->node);
  forming->seen = be_alloc_array(nodes->count, sizeof *forming->seen);
  forming->offset = be_alloc_array(nodes->count, sizeof *forming->offset);
  forming->entries = be_alloc_array(nodes->row_most, sizeof *forming->entries);
  return forming->first && forming->rows && forming->node && forming->seen && forming->offset &&
         forming->entries;
}

enum be_status be_cross_form(const struct be_nodes *nodes, const uint32_t *place,
                             const double *weights, const struct be_cross *like,
                             struct be_arena *arena, struct be_cross *cross, struct be_err *err)
{
  struct forming forming = {.nodes = nodes, .place = place, .weights = weights, .cross = cross};
  enum be_status status = BE_NO_MEMORY;
  struct totals totals;
  *cross = (struct be_cross){0};
  cross->start = be_arena_array(arena, nodes->count + 1, sizeof *cross->start);
  cross->values = be_arena_array(arena, nodes->count + 1, sizeof *cross->values);
  if (!take_scratch(&forming) || !cross->start || !cross->values) goto done;
  list_rows(&forming);
  if (like) totals = (struct totals){like->start[nodes->count], like->values[nodes->count]};
  else form(&forming, &totals);
  cross->row = be_arena_array(arena, totals.blocks, sizeof *cross->row);
  if (like) cross->value = be_arena_array(arena, totals.values, sizeof *cross->value);
  if (!cross->row || (like && !cross->value)) goto done;
  form(&forming, &totals);
  status = BE_OK;
done:
  if (status != BE_OK) be_fail(err, status, "no memory for the cross products of a mixed model");
  be_free(forming.entries);
  be_free(forming.offset);
  be_free(forming.seen);
  be_free(forming.node);
  be_free(forming.rows);
  be_free(forming.first);
  return status;
}

void be_factor_load(struct be_factor *factor, const struct be_nodes *nodes, const uint32_t *place,
                    const double *y, const double *weights, struct be_entry *entries)
{
  double squares = 0, lost = 0;
  for (size_t k = 0; k < factor->columns; k++) factor->right[k] = 0;
  for (size_t i = 0; i < nodes->data->n; i++) {
    double weighted = weights ? weights[i] * y[i] : y[i];
    double term = weighted * y[i] - lost, sum = squares + term;
    lost = (sum - squares) - term;
    squares = sum;
    size_t count = be_nodes_row(nodes, i, entries);
    for (size_t e = 0; e < count; e++) {
      double *right = factor->right + factor->scalar[place[entries[e].node]];
      for (size_t c = 0; c < entries[e].width; c++) right[c] += entries[e].value[c] * weighted;
    }
  }
  factor->square = squares;
}
