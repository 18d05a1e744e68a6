/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "press/inside.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static void add(struct be_table *table, struct cell cell)
{
  void *cells = table->cells;
  enum be_status status = be_grow(&cells, &table->cell_capacity, sizeof *table->cells,
                                  table->cell_count + 1, TABLE_CELLS_MAX, NULL);
  table->cells = cells;
  if (status != BE_OK) be_doc_fail(table->doc, status);
  else table->cells[table->cell_count++] = cell;
}

/* The column that the next cell goes to. */
static enum be_column_kind next_kind(const struct be_table *table)
{
  return table->columns[table->cell_count % table->column_count].kind;
}

void be_table_text(struct be_table *table, const char *format, ...)
{
  if (!table) return;
  va_list list;
  va_start(list, format);
  const char *text = be_doc_format(table->doc, format, list);
  va_end(list);
  size_t width = text ? be_text_columns(text, strlen(text)) : 0;
  size_t *widest = &table->widest[table->cell_count % table->column_count];
  if (width > *widest) *widest = width;
  add(table, (struct cell){.kind = CELL_TEXT, .text = text});
}

static bool has_decimals(const struct cell *cell)
{
  bool number = cell->kind == CELL_NUMBER && isfinite(cell->a) && !cell->below;
  return number || (cell->kind == CELL_INTERVAL && (isfinite(cell->a) || isfinite(cell->b)));
}

/* The cells above are set right again where the new one has more: columns rise but once or twice.
 */
static void even_decimals(struct be_table *table, struct cell *cell)
{
  size_t columns = table->column_count, at = table->cell_count % columns;
  if (table->unlike_units || !has_decimals(cell)) return;
  int *most = &table->decimals[at];
  if (cell->decimals > *most) {
    *most = cell->decimals;
    for (size_t i = at; i < table->cell_count; i += columns)
      if (has_decimals(&table->cells[i])) table->cells[i].decimals = *most;
  }
  cell->decimals = *most;
}

static void add_number(struct be_table *table, struct cell cell)
{
  assert(table->doc->status != BE_OK || next_kind(table) == BE_COLUMN_NUMBER ||
         next_kind(table) == BE_COLUMN_TEXT);
  even_decimals(table, &cell);
  size_t *tail = &table->tails[table->cell_count % table->column_count];
  if (be_cell_tail(&cell) > *tail) *tail = be_cell_tail(&cell);
  add(table, cell);
}

void be_table_number(struct be_table *table, double value, int decimals)
{
  assert(decimals >= 0 && decimals <= 17);
  if (table) add_number(table, (struct cell){CELL_NUMBER, .a = value, .decimals = decimals});
}

void be_table_probability(struct be_table *table, double p)
{
  if (table) add_number(table, (struct cell){CELL_NUMBER, .a = p, .decimals = 4, .below = true});
}

void be_table_interval(struct be_table *table, double low, double high, int decimals)
{
  if (!table) return;
  assert(decimals >= 0 && decimals <= 17);
  assert(table->doc->status != BE_OK || next_kind(table) == BE_COLUMN_INTERVAL);
  struct cell cell = {.kind = CELL_INTERVAL, .a = low, .b = high, .decimals = decimals};
  even_decimals(table, &cell);
  add(table, cell);
}

void be_table_count(struct be_table *table, size_t k, size_t n)
{
  if (!table) return;
  assert(table->doc->status != BE_OK || next_kind(table) == BE_COLUMN_COUNT);
  add(table, (struct cell){.kind = CELL_COUNT, .k = k, .n = n});
}

void be_table_none(struct be_table *table)
{
  if (table) add(table, (struct cell){.kind = CELL_NONE});
}

void be_table_link(struct be_table *table, const char *format, ...)
{
  if (!table) return;
  assert(table->doc->status != BE_OK || table->cell_count > 0);
  va_list list;
  va_start(list, format);
  const char *link = be_doc_format(table->doc, format, list);
  va_end(list);
  if (table->cell_count > 0) table->cells[table->cell_count - 1].link = link;
}

void be_table_symbol(struct be_table *table, const struct be_symbol *symbol)
{
  if (!table || table->doc->status != BE_OK) return;
  assert(table->cell_count > 0);
  struct cell *cell = &table->cells[table->cell_count - 1];
  struct drawn *drawn = be_arena_alloc(table->doc->arena, sizeof *drawn);
  if (!drawn) {
    be_doc_fail(table->doc, BE_NO_MEMORY);
    return;
  }
  *drawn = (struct drawn){*symbol, cell->drawn};
  cell->drawn = drawn;
}

void be_table_unlike_units(struct be_table *table)
{
  if (!table) return;
  assert(table->cell_count == 0);
  table->unlike_units = true;
}

void be_table_people_only(struct be_table *table)
{
  if (table) table->people_only = true;
}

void be_table_by_hand(struct be_table *table)
{
  if (table) table->by_hand = true;
}

void be_table_labels(struct be_table *table)
{
  if (table) table->labels = true;
}

void be_table_fold_long(struct be_table *table)
{
  if (table) table->folded_long = true;
}

void be_table_fold(struct be_table *table)
{
  if (table) table->folded = true;
}

size_t be_table_rows(const struct be_table *table)
{
  assert(table->cell_count % table->column_count == 0); /* the last row is done */
  return table->cell_count / table->column_count;
}

/* ---- cells as people read them ---- */

static int print_end(char *room, size_t size, double value, int decimals)
{
  if (isnan(value)) return snprintf(room, size, "-");
  if (isinf(value)) return snprintf(room, size, value < 0 ? "-\xE2\x88\x9E" : "\xE2\x88\x9E");
  int length = snprintf(room, size, "%.*f", decimals, value);
  /* What rounds to zero is printed without a sign. */
  if (room[0] == '-' && strspn(room + 1, "0.") == strlen(room + 1)) {
    memmove(room, room + 1, (size_t)length);
    length--;
  }
  return length;
}

const char *be_cell_text(const struct cell *cell, char room[CELL_ROOM])
{
  const size_t half = CELL_ROOM / 2 - 4;
  switch (cell->kind) {
  case CELL_NONE: return "";
  case CELL_TEXT: return cell->text;
  case CELL_NUMBER:
    if (cell->below && cell->a < 0.00005) return "<0.0001";
    print_end(room, CELL_ROOM, cell->a, cell->decimals);
    break;
  case CELL_COUNT: snprintf(room, CELL_ROOM, "%zu of %zu", cell->k, cell->n); break;
  case CELL_INTERVAL: {
    if (isnan(cell->a) && isnan(cell->b)) return "-";
    size_t at = 0;
    room[at++] = '[';
    at += (size_t)print_end(room + at, half, cell->a, cell->decimals);
    room[at++] = ',';
    room[at++] = ' ';
    at += (size_t)print_end(room + at, half, cell->b, cell->decimals);
    room[at++] = ']';
    room[at] = '\0';
    break;
  }
  }
  return room;
}

size_t be_cell_tail(const struct cell *cell)
{
  if (cell->kind != CELL_NUMBER || !isfinite(cell->a) || cell->decimals == 0) return 0;
  return (size_t)cell->decimals + 1;
}

bool be_table_named_above(const struct be_doc *doc, size_t i)
{
  const char *title = doc->blocks[i].table->title, *above = doc->title;
  for (size_t k = 0; k < i; k++)
    if (doc->blocks[k].kind == BLOCK_HEADING) above = doc->blocks[k].text;
  return above && strcmp(title, above) == 0;
}
