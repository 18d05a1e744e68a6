/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which rows of the other book come in, and with which of their cells. What this book has stays;
 * what contradicts it is listed. */
#include "app/merge/merge.h"

#include <string.h>

void be_conflict(struct merging *in, const char *what, const char *name, const char *here,
                 const char *there, const char *done)
{
  static const struct be_column columns[] = {{"what", "what", BE_COLUMN_TEXT, false},
                                             {"name", "of", BE_COLUMN_TEXT, false},
                                             {"here", "here", BE_COLUMN_TEXT, false},
                                             {"there", "there", BE_COLUMN_TEXT, false},
                                             {"done", "done", BE_COLUMN_TEXT, false}};
  if (!in->conflicts)
    in->conflicts = be_doc_table(in->doc, "conflicts", "What contradicts", columns, 5);
  be_table_text(in->conflicts, "%s", what);
  be_table_text(in->conflicts, "%s", name);
  be_table_text(in->conflicts, "%s", here);
  be_table_text(in->conflicts, "%s", there);
  be_table_text(in->conflicts, "%s", done);
  in->conflicts_count++;
}

/* A row on its way, by names of here. */
struct coming {
  struct merging *in;
  const struct loaded *there, *here; /* the table on both sides */
  size_t row;
  const char *cells[BE_TABLE_COLUMNS];
};

static const char *const kept_here = "this book's stays";

/* ---- what this book may know already: lines, knots, benches ---- */

static size_t find_known(const struct coming *row, size_t keys)
{
  for (size_t at = 0; at < row->here->rows; at++) {
    char **cells = row->here->cells + at * row->here->table->count;
    size_t same = 0;
    while (same < keys && be_text_same(cells[same], row->cells[same])) same++;
    if (same == keys) return at;
  }
  return BE_NO_ROW;
}

/* Leaves of a row what the book does not have; false when that is nothing. */
static bool leave_new(struct coming *row, size_t known, size_t keys, const char *called)
{
  const struct be_book_table *table = row->there->table;
  bool more = false;
  for (size_t i = keys; i < table->count; i++) {
    const char *here = row->here->cells[known * table->count + i];
    bool key = strcmp(table->columns[i].name, "turns") == 0;
    if (!*here || key || !*row->cells[i]) {
      more = more || (!key && *row->cells[i]);
      continue;
    }
    if (strcmp(here, row->cells[i]) != 0)
      be_conflict(row->in, table->columns[i].name, called, here, row->cells[i], kept_here);
    row->cells[i] = "";
  }
  return more;
}

static bool line_comes(struct coming *row)
{
  size_t known = find_known(row, 2);
  return known == BE_NO_ROW ||
         leave_new(row, known, 2,
                   be_item_called(row->in, ITEM_SPOOL, row->cells[0], row->cells[1]));
}

static bool bench_comes(struct coming *row)
{
  size_t known = find_known(row, 1);
  return known == BE_NO_ROW || leave_new(row, known, 1, row->cells[0]);
}

/* Knots are told apart by turns too. */
static size_t find_knot(const struct coming *row)
{
  enum { AT_TURNS = 3 };
  for (size_t at = 0; at < row->here->rows; at++) {
    char **cells = row->here->cells + at * row->here->table->count;
    if (be_text_same(cells[0], row->cells[0]) && be_text_same(cells[1], row->cells[1]) &&
        strcmp(cells[AT_TURNS], row->cells[AT_TURNS]) == 0)
      return at;
  }
  return BE_NO_ROW;
}

/* Whose name or other name it is here, of another knot than `own`; null: nobody's. */
static const char *owner_of(const struct coming *row, const char *own, const char *name)
{
  char one[256];
  for (size_t at = 0; at < row->here->rows; at++) {
    const char *knot = row->here->cells[at * row->here->table->count];
    if (be_text_same(knot, own)) continue;
    if (be_text_same(knot, name)) return knot;
    const char *aliases = be_loaded_cell(row->here, at, "aliases");
    while (*aliases) {
      size_t length = strcspn(aliases, ","), used = length;
      while (used && aliases[used - 1] == ' ') used--;
      if (used < sizeof one) {
        memcpy(one, aliases, used);
        one[used] = '\0';
        if (used && be_text_same(one, name)) return knot;
      }
      aliases += length;
      aliases += strspn(aliases, ", ");
    }
  }
  return NULL;
}

/* The same of a knot there; pull sheets could make one called as another is called too. */
static const char *owner_there(const struct coming *row, const char *name)
{
  const char *own = row->there->cells[row->row * row->there->table->count];
  for (size_t at = 0; at < row->there->rows; at++) {
    const char *knot = row->there->cells[at * row->there->table->count];
    if (be_text_same(knot, name) && !be_text_same(knot, own)) return knot;
  }
  return NULL;
}

/* A name leads to one knot: what another has here is left out. */
static const char *free_aliases(struct coming *row, const char *aliases)
{
  char *left = be_arena_alloc(row->in->arena, strlen(aliases) + 1);
  size_t used = 0;
  if (!left) return "";
  while (*aliases) {
    size_t length = strcspn(aliases, ","), size = length;
    while (size && aliases[size - 1] == ' ') size--;
    const char *name = be_arena_text(row->in->arena, aliases, size);
    const char *owner = name ? owner_of(row, row->cells[0], name) : NULL;
    if (name && !owner) owner = owner_there(row, name);
    bool own = name && be_text_same(name, row->cells[0]);
    if (owner) be_conflict(row->in, "aliases", row->cells[0], owner, name, "left out");
    else if (name && size && !own) {
      if (used) memcpy(left + used, ", ", 2), used += 2;
      memcpy(left + used, name, size);
      used += size;
    }
    aliases += length;
    aliases += strspn(aliases, ", ");
  }
  left[used] = '\0';
  return left;
}

static bool knot_comes(struct coming *row)
{
  enum { AT_ALIASES = 5 };
  size_t known = find_knot(row);
  bool comes =
      known == BE_NO_ROW ||
      leave_new(row, known, 2, be_item_called(row->in, ITEM_KNOT, row->cells[0], row->cells[1]));
  if (comes && *row->cells[AT_ALIASES])
    row->cells[AT_ALIASES] = free_aliases(row, row->cells[AT_ALIASES]);
  return comes;
}

/* ---- what comes in whole or not at all ---- */

static bool calibration_comes(struct coming *row)
{
  const char *name = row->there->cells[row->row * row->there->table->count + 1];
  const struct item *item = be_item_find(row->in, ITEM_CALIBRATION, name, "");
  if (!item || item->answer != ANSWER_YES) return true;
  for (size_t at = 0; at < row->here->rows; at++)
    if (be_same_row(row->in, row->here, at, row->there, row->row, 0)) return false;
  be_conflict(row->in, "calibration", row->cells[1], "has no such reading",
              be_loaded_cell(row->there, row->row, "reading"), "left out");
  return false;
}

static bool weight_comes(struct coming *row)
{
  for (size_t at = 0; at < row->here->rows; at++)
    if (be_same_row(row->in, row->here, at, row->there, row->row, 0)) return false;
  return true;
}

static bool rule_comes(struct coming *row)
{
  const char *trial = row->there->cells[row->row * row->there->table->count], *value = NULL;
  const struct item *item = be_item_find(row->in, ITEM_TRIAL, trial, "");
  if (!item || item->answer != ANSWER_YES) return true;
  for (size_t at = 0; at < row->here->rows; at++) {
    char **cells = row->here->cells + at * row->here->table->count;
    if (!be_text_same(cells[0], row->cells[0]) || strcmp(cells[1], row->cells[1]) != 0) continue;
    value = cells[2];
    if (strcmp(value, row->cells[2]) == 0) return false;
  }
  be_conflict(row->in, row->cells[1], row->cells[0], value ? value : "not told", row->cells[2],
              kept_here);
  return false;
}

static struct item *specimen_of(const struct coming *row, size_t column)
{
  return be_item_find(row->in, ITEM_SPECIMEN,
                      row->there->cells[row->row * row->there->table->count + column], "");
}

static bool plan_comes(struct coming *row)
{
  const struct item *item = specimen_of(row, 1);
  if (item && (item->left_out ||
               (!item->told_apart && be_loaded_of(row->here, item->name, 0) != BE_NO_ROW)))
    return false;
  for (size_t at = 0; at < row->here->rows; at++) {
    char **cells = row->here->cells + at * row->here->table->count;
    if (!be_text_same(cells[0], row->cells[0]) || strcmp(cells[2], row->cells[2]) != 0) continue;
    be_conflict(row->in, "order", row->cells[1], cells[1], row->cells[2], "its plan is left out");
    return false;
  }
  return true;
}

static struct be_held_file *file_of(struct side *side, const char *sha256)
{
  for (size_t i = 0; i < side->files_count; i++)
    if (strcmp(side->files[i].sha256, sha256) == 0) return &side->files[i];
  return NULL;
}

static enum be_status name_trace(struct coming *row, size_t column, struct be_err *err)
{
  struct merging *in = row->in;
  struct be_held_file *file = file_of(&in->there, row->cells[column]);
  void *block = in->traces;
  enum be_status status = be_grow(&block, &in->traces_capacity, sizeof *in->traces,
                                  in->traces_count + 1, SIZE_MAX / 64, err);
  in->traces = block;
  if (status != BE_OK) return status;
  if (!file) return be_fail(err, BE_BAD_INPUT, "the trace of \"%s\" is missing", row->cells[0]);
  in->traces[in->traces_count++] = file;
  row->cells[column] = file->name;
  return BE_OK;
}

static enum be_status pull_comes(struct coming *row, bool *comes, struct be_err *err)
{
  struct item *item = specimen_of(row, 0);
  size_t column = 0;
  *comes = !item || !item->left_out;
  while (row->there->table->columns[column].role != BE_TABLE_TRACE) column++;
  if (!*comes || !*row->cells[column]) return BE_OK;
  struct be_held_file *here = file_of(&row->in->here, row->cells[column]);
  if (!here) return name_trace(row, column, err);
  be_conflict(row->in, "trace", row->cells[0], here->name, "the same bytes",
              "left out: a trace is of one pull");
  if (item) item->left_out = true;
  *comes = false;
  return BE_OK;
}

static bool of_pull_comes(const struct coming *row)
{
  const struct item *item = specimen_of(row, 0);
  return !item || !item->left_out;
}

/* Line counted here goes on as it was counted here. */
static bool count_comes(const struct coming *row)
{
  const struct loaded *lines = be_side_table(&row->in->here, "lines");
  for (size_t at = 0; at < lines->rows; at++) {
    char **cells = lines->cells + at * lines->table->count;
    if (be_text_same(cells[0], row->cells[0]) && be_text_same(cells[1], row->cells[1]))
      return false;
  }
  return true;
}

static enum be_status row_comes(struct coming *row, bool *comes, struct be_err *err)
{
  const char *name = row->there->table->name;
  *comes = true;
  if (strcmp(name, "lines") == 0) *comes = line_comes(row);
  else if (strcmp(name, "knots") == 0) *comes = knot_comes(row);
  else if (strcmp(name, "benches") == 0) *comes = bench_comes(row);
  else if (strcmp(name, "calibrations") == 0) *comes = calibration_comes(row);
  else if (strcmp(name, "check-weights") == 0) *comes = weight_comes(row);
  else if (strcmp(name, "rules") == 0) *comes = rule_comes(row);
  else if (strcmp(name, "trials") == 0) *comes = plan_comes(row);
  else if (strcmp(name, "pulls") == 0) return pull_comes(row, comes, err);
  else if (strcmp(name, "counts") == 0) *comes = count_comes(row);
  else *comes = of_pull_comes(row);
  return BE_OK;
}

enum be_status be_rows_write(struct merging *in, size_t table, struct be_buf *out, size_t *rows,
                             struct be_err *err)
{
  struct coming row = {
      .in = in, .there = &in->there.tables[table], .here = &in->here.tables[table]};
  size_t columns = row.there->table->count;
  for (size_t i = 0; i < columns; i++) {
    if (i) be_buf_char(out, ',');
    be_csv_text(out, row.there->table->columns[i].name);
  }
  be_buf_text(out, "\r\n");
  enum be_status status = BE_OK;
  for (*rows = 0; row.row < row.there->rows && status == BE_OK; row.row++) {
    bool comes = true;
    for (size_t i = 0; i < columns; i++) row.cells[i] = be_cell_here(in, row.there, row.row, i);
    status = row_comes(&row, &comes, err);
    if (status != BE_OK || !comes) continue;
    for (size_t i = 0; i < columns; i++) {
      if (i) be_buf_char(out, ',');
      be_csv_text(out, row.cells[i]);
    }
    be_buf_text(out, "\r\n");
    ++*rows;
  }
  if (status == BE_OK && be_arena_ran_out(in->arena)) return be_no_memory(err);
  return status == BE_OK ? be_buf_status(out, err) : status;
}
