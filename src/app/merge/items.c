/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of the other book: those of every column that names something. */
#include "app/merge/merge.h"

#include <stdlib.h>
#include <string.h>

const char *const be_item_words[ITEM_KINDS] = {"line",        "spool", "knot",    "bench",
                                               "calibration", "trial", "specimen"};

enum { ITEMS_MAX = 4 * 1000 * 1000 };

const char *be_item_called(const struct merging *in, enum item_kind kind, const char *name,
                           const char *part)
{
  const char *text = NULL;
  if (!*part) return name;
  text = be_arena_format(in->arena, kind == ITEM_SPOOL ? "%s, spool %s" : "%s (%s)", name, part);
  return text ? text : "";
}

/* ---- by kind, name and part, without regard to case ---- */

static int by_name(const void *a, const void *b)
{
  const struct item *x = a, *y = b;
  if (x->kind != y->kind) return x->kind < y->kind ? -1 : 1;
  int order = be_fold(x->name, y->name);
  return order ? order : be_fold(x->part, y->part);
}

struct item *be_item_find(const struct merging *in, enum item_kind kind, const char *name,
                          const char *part)
{
  const struct item key = {.kind = kind, .name = name, .part = part};
  return in->items_count ? bsearch(&key, in->items, in->items_count, sizeof *in->items, by_name)
                         : NULL;
}

/* ---- gathering ---- */

static enum be_status add(struct merging *in, enum item_kind kind, const char *name,
                          const char *part, struct be_err *err)
{
  void *block = in->items;
  enum be_status status =
      be_grow(&block, &in->items_capacity, sizeof *in->items, in->items_count + 1, ITEMS_MAX, err);
  in->items = block;
  if (status == BE_OK)
    in->items[in->items_count++] =
        (struct item){.kind = kind, .name = name, .part = part, .new_name = name, .new_part = part};
  return status;
}

static enum be_status add_cell(struct merging *in, const struct loaded *loaded, size_t row,
                               size_t column, struct be_err *err)
{
  const struct be_book_table *table = loaded->table;
  char **cells = loaded->cells + row * table->count;
  const char *text = cells[column];
  if (!*text || strcmp(text, "none") == 0) return BE_OK;
  enum be_status status = BE_OK;
  switch (table->columns[column].role) {
  case BE_TABLE_LINE:
    status = add(in, ITEM_LINE, text, "", err);
    if (status == BE_OK && *cells[column + 1])
      status = add(in, ITEM_SPOOL, text, cells[column + 1], err);
    return status;
  case BE_TABLE_KNOT: return add(in, ITEM_KNOT, text, cells[column + 1], err);
  case BE_TABLE_BENCH: return add(in, ITEM_BENCH, text, "", err);
  case BE_TABLE_CALIBRATION: return add(in, ITEM_CALIBRATION, text, "", err);
  case BE_TABLE_TRIAL: return add(in, ITEM_TRIAL, text, "", err);
  case BE_TABLE_SPECIMEN: return add(in, ITEM_SPECIMEN, text, "", err);
  default: return BE_OK;
  }
}

enum be_status be_items_gather(struct merging *in, struct be_err *err)
{
  enum be_status status = BE_OK;
  for (size_t t = 0; t < TABLES; t++) {
    const struct loaded *loaded = &in->there.tables[t];
    for (size_t row = 0; row < loaded->rows; row++)
      for (size_t i = 0; i < loaded->table->count && status == BE_OK; i++)
        status = add_cell(in, loaded, row, i, err);
  }
  if (status != BE_OK || !in->items_count) return status;
  qsort(in->items, in->items_count, sizeof *in->items, by_name);
  size_t kept = 1;
  for (size_t i = 1; i < in->items_count; i++)
    if (by_name(&in->items[kept - 1], &in->items[i]) != 0) in->items[kept++] = in->items[i];
  in->items_count = kept;
  return BE_OK;
}

/* ---- here ---- */

static const struct {
  const char *table;
  bool part;
} homes[ITEM_KINDS] = {[ITEM_LINE] = {"lines", false},
                       [ITEM_SPOOL] = {"lines", true},
                       [ITEM_KNOT] = {"knots", true},
                       [ITEM_BENCH] = {"benches", false},
                       [ITEM_CALIBRATION] = {"calibrations", false},
                       [ITEM_TRIAL] = {"rules", false},
                       [ITEM_SPECIMEN] = {"pulls", false}};

static bool table_has(const struct merging *in, const char *table, size_t column, bool part,
                      enum item_kind kind, const char *called, const char **name, const char **of)
{
  const struct loaded *loaded = be_side_table(&in->here, table);
  for (size_t row = 0; row < loaded->rows; row++) {
    char **cells = loaded->cells + row * loaded->table->count + column;
    const char *second = part ? cells[1] : "";
    if (!be_text_same(part ? be_item_called(in, kind, cells[0], second) : cells[0], called))
      continue;
    *name = cells[0];
    *of = second;
    return true;
  }
  return false;
}

bool be_here_has(const struct merging *in, enum item_kind kind, const char *called,
                 const char **name, const char **part)
{
  size_t column = kind == ITEM_CALIBRATION ? 1 : 0;
  if (kind == ITEM_SPECIMEN) {
    *name = called;
    *part = "";
    return be_loaded_of(be_side_table(&in->here, "pulls"), called, 0) != BE_NO_ROW ||
           be_loaded_of(be_side_table(&in->here, "trials"), called, 0) != BE_NO_ROW;
  }
  if (table_has(in, homes[kind].table, column, homes[kind].part, kind, called, name, part))
    return true;
  if (kind == ITEM_TRIAL) return table_has(in, "trials", 0, false, kind, called, name, part);
  return false;
}
